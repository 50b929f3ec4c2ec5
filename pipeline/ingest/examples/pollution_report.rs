//! Reads polluted logs and reports how they were read, by family of pollution.
//!
//! ```sh
//! cargo run --release -p ingest --example pollution_report -- 5000
//! cargo run --release -p ingest --example pollution_report -- 5000 --seed 3 --show 10
//! cargo run --release -p ingest --example pollution_report -- --file 17 --out folder
//! ```
//!
//! A file is in the row of every family that it has. The first columns count files that can
//! be read without asking; then come files that hint at an answer, and files that are
//! ambiguous by construction, where asking is the only right answer. Files that asked are
//! read again with the answer given.

#[path = "../tests/judge/mod.rs"]
mod judge;

use judge::{Fate, Table, judge};
use samples::dialect::Expected;
use samples::polluted;
use std::path::PathBuf;

struct Arguments {
    files: u64,
    seed: u64,
    show: usize,
    file: Option<u64>,
    out: PathBuf,
}

fn arguments() -> Result<Arguments, String> {
    let mut read = Arguments { files: 300, seed: 1, show: 3, file: None, out: PathBuf::from(".") };
    let mut given = std::env::args().skip(1);
    while let Some(argument) = given.next() {
        let mut number = |name: &str| -> Result<u64, String> {
            let text = given.next().ok_or(format!("{name} needs a number"))?;
            text.parse().map_err(|_| format!("{name}: `{text}` is no number"))
        };
        match argument.as_str() {
            "--seed" => read.seed = number("--seed")?,
            "--show" => read.show = number("--show")? as usize,
            "--file" => read.file = Some(number("--file")?),
            "--out" => read.out = given.next().ok_or("--out needs a folder")?.into(),
            count => {
                read.files = count.parse().map_err(|_| format!("`{count}` is no number"))?;
            }
        }
    }
    Ok(read)
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments = arguments()?;
    if let Some(index) = arguments.file {
        let file = polluted(arguments.seed, index);
        let path = arguments.out.join(format!("{index}-{}", file.name));
        std::fs::write(&path, &file.bytes)?;
        let judgement = judge(&file);
        println!("{}: {:?} in {}", path.display(), file.families, file.zone);
        println!("leaves open {:?}", file.logs[0].truth.questions);
        println!("{judgement:#?}");
        return Ok(());
    }
    let mut table = Table::default();
    let mut shown: [usize; 4] = [0; 4];
    for index in 0..arguments.files {
        let file = polluted(arguments.seed, index);
        let judgement = judge(&file);
        table.add(&file, &judgement);
        let mut show = |kind: usize, what: &str, said: &str| {
            shown[kind] += 1;
            if shown[kind] <= arguments.show {
                let families: Vec<&str> = file.families.iter().map(|f| f.name()).collect();
                eprintln!(
                    "{what}: file {index} ({}, {})\n  {said}",
                    file.name,
                    families.join(", ")
                );
            }
        };
        let parts = [Some(&judgement), judgement.answered.as_deref()];
        for part in parts.into_iter().flatten().filter(|part| !part.sound()) {
            for (what, found) in
                [("WRONG", &part.wrong), ("UNCLOSED", &part.unclosed), ("VANISHED", &part.vanished)]
            {
                if let Some(first) = found.first() {
                    show(0, what, first);
                }
            }
        }
        if judgement.expected == Expected::Ask && judgement.fate == Fate::Read {
            let open = format!("{:?}", file.logs[0].truth.questions);
            show(1, "GUESSED", &open);
        }
        if judgement.expected == Expected::Read && judgement.fate != Fate::Read {
            show(2, &format!("{:?}", judgement.fate).to_uppercase(), &judgement.said);
        }
        if let Some(answered) = &judgement.answered
            && answered.fate != Fate::Read
        {
            show(3, "ANSWERED, NOT READ", &answered.said);
        }
    }
    println!("{table}");
    println!(
        "{} files, seed {}: {:.2} % of those that are not ambiguous read without asking",
        arguments.files,
        arguments.seed,
        100.0 * table.read_share()
    );
    Ok(())
}
