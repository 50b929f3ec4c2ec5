//! Reads untidy seasons of known truth, and says what became of every value.
//!
//! ```sh
//! cargo run -p stages --example untidy -- run 1 0 10 FOLDER   # seasons 0 to 9 of seed 1
//! cargo run -p stages --example untidy -- table FOLDER        # writes docs/untidy.md
//! cargo run -p stages --example untidy -- show 1 7 FOLDER     # one season, its files kept there
//! ```
#![allow(clippy::format_collect, reason = "a table of a few lines")]

#[path = "../tests/untidy/mod.rs"]
mod judge;

use judge::{Fate, Judged, Rounds};
use samples::{Slip, untidy};
use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

/// Where the figures stand, and what is left alone there.
const DOCS: &str = "docs/untidy.md";
const BEGIN: &str = "<!-- figures: written by the example -->\n";
const END: &str = "<!-- end of figures -->\n";

fn main() -> Result<(), Box<dyn Error>> {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = given.iter().map(String::as_str).collect();
    match words[..] {
        ["run", seed, from, count, folder] => {
            run(seed.parse()?, from.parse()?, count.parse()?, Path::new(folder))
        }
        ["table", folder] => table(Path::new(folder)),
        ["show", seed, index, folder] => show(seed.parse()?, index.parse()?, Path::new(folder)),
        _ => Err("run SEED FROM COUNT FOLDER | table FOLDER | show SEED INDEX FOLDER".into()),
    }
}

/// Judges seasons and keeps a line a fact: what, how many.
fn run(seed: u64, from: u64, count: u64, folder: &Path) -> Result<(), Box<dyn Error>> {
    fs::create_dir_all(folder)?;
    let mut facts: BTreeMap<String, usize> = BTreeMap::new();
    for index in from..from + count {
        let place = tempfile::tempdir()?;
        let rounds = judge::judge(&untidy(seed, index), place.path())?;
        add(&rounds, &mut facts);
        for (round, judged) in [("as it is", &rounds.first), ("answered", &rounds.answered)] {
            for silent in &judged.silent {
                eprintln!("season {index}, {round}: SILENT {silent}");
            }
        }
    }
    let lines: String = facts.iter().map(|(what, many)| format!("{many}\t{what}\n")).collect();
    fs::write(folder.join(format!("seed-{seed}-from-{from}.txt")), &lines)?;
    print!("{lines}");
    Ok(())
}

fn add(rounds: &Rounds, facts: &mut BTreeMap<String, usize>) {
    let mut count = |what: String, many: usize| *facts.entry(what).or_default() += many;
    count("seasons".into(), 1);
    for (round, judged) in [("first", &rounds.first), ("answered", &rounds.answered)] {
        count(format!("{round}: cooks"), judged.cooks);
        count(format!("{round}: cooks right"), judged.right);
        count(format!("{round}: questions"), judged.questions.len());
        for (fate, many) in &judged.fates {
            count(format!("{round}: values {fate:?}"), *many);
        }
        for (said, many) in &judged.said {
            count(format!("{round}: said {said}"), *many);
        }
        for ((slip, fate), many) in &judged.slips {
            count(format!("{round}: slip {} {fate:?}", slip.name()), *many);
        }
    }
    let causes: std::collections::BTreeSet<&str> =
        rounds.first.questions.iter().map(code).collect();
    count("causes".into(), causes.len());
    for question in &rounds.first.questions {
        count(format!("asked {}", code(question)), 1);
    }
    for question in &rounds.unanswered {
        count(format!("unanswered {}", question.split('/').next().unwrap_or_default()), 1);
    }
    count("seasons with a wrong value in silence".into(), usize::from(is_silent(rounds)));
}

fn is_silent(rounds: &Rounds) -> bool {
    !rounds.first.silent.is_empty() || !rounds.answered.silent.is_empty()
}

fn code(question: &cook::Question) -> &str {
    question.id.split('/').next().unwrap_or_default()
}

/// One season in full.
fn show(seed: u64, index: u64, folder: &Path) -> Result<(), Box<dyn Error>> {
    let season = untidy(seed, index);
    println!("{:#?}", season.habits);
    let rounds = judge::judge(&season, folder)?;
    let told = |judged: &Judged| {
        println!("{} of {} right; {:?}", judged.right, judged.cooks, judged.fates);
        println!("said {:#?}\nsilent {:#?}", judged.said, judged.silent);
        for question in &judged.questions {
            println!("{}: {} at {:?}", question.id, question.asks, question.places.first());
        }
    };
    told(&rounds.first);
    println!("unanswered {:#?}", rounds.unanswered);
    told(&rounds.answered);
    Ok(())
}

/// Writes the figures of all runs in a folder.
fn table(folder: &Path) -> Result<(), Box<dyn Error>> {
    let mut facts: BTreeMap<String, usize> = BTreeMap::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.file_name().is_none_or(|name| !name.to_string_lossy().starts_with("seed-")) {
            continue;
        }
        for line in fs::read_to_string(path)?.lines() {
            let (many, what) = line.split_once('\t').ok_or("a line is no fact")?;
            *facts.entry(what.to_owned()).or_default() += many.parse::<usize>()?;
        }
    }
    let docs = fs::read_to_string(DOCS)?;
    let (before, rest) = docs.split_once(BEGIN).ok_or("no place for the figures")?;
    let (_, after) = rest.split_once(END).ok_or("no end of the figures")?;
    fs::write(DOCS, format!("{before}{BEGIN}{}{END}{after}", figures(&facts)))?;
    Ok(())
}

fn figures(facts: &BTreeMap<String, usize>) -> String {
    let of = |what: &str| facts.get(what).copied().unwrap_or(0);
    let share = |part: usize, whole: usize| 100.0 * part as f64 / whole.max(1) as f64;
    let mut text = String::new();
    let seasons = of("seasons");
    let _ = writeln!(
        text,
        "\n{seasons} seasons of 25 cooks.\n\n| | as it is | one round answered |\n|---|---|---|"
    );
    let both = |what: &str| (of(&format!("first: {what}")), of(&format!("answered: {what}")));
    let (cooks, _) = both("cooks");
    let (first, answered) = both("cooks right");
    let _ = writeln!(
        text,
        "| cooks of which every value is right | {first} ({:.1} %) | {answered} ({:.1} %) |",
        share(first, cooks),
        share(answered, cooks)
    );
    for fate in [Fate::Right, Fate::Asked, Fate::Told, Fate::Rejected, Fate::Silent] {
        let (first, answered) = both(&format!("values {fate:?}"));
        let name = match fate {
            Fate::Right => "values right",
            Fate::Asked => "values asked about",
            Fate::Told => "values told with exit 1",
            Fate::Rejected => "values rejected and printed",
            Fate::Silent => "values wrong in silence",
        };
        let _ = writeln!(text, "| {name} | {first} | {answered} |");
    }
    let (first, answered) = both("questions");
    let _ = writeln!(text, "| questions | {first} | {answered} |");
    let _ = writeln!(
        text,
        "\nSeasons with a value wrong in silence: {} of {seasons}. Kinds of question a season: {:.1}; questions: {:.1}.\n",
        of("seasons with a wrong value in silence"),
        of("causes") as f64 / seasons.max(1) as f64,
        first as f64 / seasons.max(1) as f64,
    );
    let _ = writeln!(text, "| question | times | not to be answered as it is put |\n|---|---|---|");
    for (what, many) in facts.iter().filter(|(what, _)| what.starts_with("asked ")) {
        let code = &what["asked ".len()..];
        let _ = writeln!(text, "| `{code}` | {many} | {} |", of(&format!("unanswered {code}")));
    }
    let _ = writeln!(
        text,
        "\nCooks with a slip, by the worst that became of a value of theirs once questions are answered:\n"
    );
    let _ = writeln!(
        text,
        "| slip | right | asked | told | rejected | silent |\n|---|---|---|---|---|---|"
    );
    for slip in Slip::ALL {
        let fates = [Fate::Right, Fate::Asked, Fate::Told, Fate::Rejected, Fate::Silent];
        let many = fates.map(|fate| of(&format!("answered: slip {} {fate:?}", slip.name())));
        let cells: Vec<String> = many.iter().map(usize::to_string).collect();
        let _ = writeln!(text, "| {} | {} |", slip.name(), cells.join(" | "));
    }
    text.push('\n');
    text
}
