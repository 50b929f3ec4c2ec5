//! Reads what nobody would write: inputs changed at random, those kept that the reader answers in a new way.
//!
//! ```sh
//! cargo run --example fuzz -- log 600 fuzz/corpus FOUND        # ten minutes of logs
//! cargo run --example fuzz -- log 0 FILE…                      # what these files come to
//! ```
//!
//! Targets are `log`, `sheet`, `settings`, `claims` and `questions`. An input is kept in `CORPUS/TARGET` if its answer (the
//! evidence, codes and messages, without numbers and names) was not met before; one that breaks what must hold, or takes
//! seconds, is written to FOUND. `fuzz/` has the same targets for a fuzzer that sees the branches taken, which
//! needs a nightly compiler.

mod mutate;
mod targets;

use mutate::{Random, mutated};
use std::collections::BTreeSet;
use std::error::Error;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Inputs are no longer than this, bytes.
const LONGEST: usize = 16 << 10;
/// Inputs that are kept on the disk are no longer than this, bytes, and no more than so many a target.
const LONGEST_KEPT: usize = 2 << 10;
const MOST_KEPT: usize = 60;
/// An input takes no longer than this.
const SLOW: Duration = Duration::from_secs(3);

fn main() -> Result<(), Box<dyn Error>> {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = given.iter().map(String::as_str).collect();
    match words[..] {
        [target, "0", ref files @ ..] => {
            for file in files {
                println!("{file}: {}", targets::answer(target, &fs::read(file)?)?);
            }
            Ok(())
        }
        [target, seconds, corpus, found] => {
            let time = Duration::from_secs(seconds.parse()?);
            fuzz(target, time, &Path::new(corpus).join(target), Path::new(found))
        }
        _ => Err("TARGET SECONDS CORPUS FOUND | TARGET 0 FILE…".into()),
    }
}

fn fuzz(target: &str, time: Duration, corpus: &Path, found: &Path) -> Result<(), Box<dyn Error>> {
    fs::create_dir_all(corpus)?;
    let mut inputs: Vec<Vec<u8>> = Vec::new();
    for seed in targets::seeds(target) {
        let folder = seed.is_dir();
        let files = if folder { files_in(&seed)? } else { vec![seed] };
        for file in files {
            inputs.extend(fs::read(file).ok().filter(|bytes| bytes.len() <= LONGEST));
        }
    }
    let kept = files_in(corpus)?;
    let mut on_disk = kept.len();
    for file in kept {
        inputs.push(fs::read(file)?);
    }
    if inputs.is_empty() {
        inputs.push(Vec::new());
    }
    // What is broken is told once, not by every panic on the way.
    std::panic::set_hook(Box::new(|_| {}));
    let mut met: BTreeSet<String> = BTreeSet::new();
    let mut broken: BTreeSet<String> = BTreeSet::new();
    let words = targets::words(target);
    let seeds = inputs.len();
    let seed =
        std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH)?.as_nanos() as u64;
    let mut random = Random::new(seed);
    let begun = Instant::now();
    let mut runs = 0_u64;
    let mut next = 0;
    while next < seeds || begun.elapsed() < time {
        // Every input that there is comes once as it is.
        let input = match inputs.get(next).filter(|_| next < seeds) {
            Some(input) => input.clone(),
            None => mutated(&inputs, &words, LONGEST, &mut random),
        };
        next += 1;
        runs += 1;
        let one = Instant::now();
        let answer = catch_unwind(AssertUnwindSafe(|| targets::answer(target, &input)));
        let complaint = match answer {
            Ok(Ok(answer)) if one.elapsed() > SLOW => Some(format!("slow: {answer}")),
            Ok(Ok(answer)) => {
                if met.insert(answer) && next > seeds {
                    if input.len() <= LONGEST_KEPT && on_disk < MOST_KEPT {
                        fs::write(corpus.join(format!("{:016x}", mutate::hash(&input))), &input)?;
                        on_disk += 1;
                    }
                    inputs.push(input.clone());
                }
                None
            }
            Ok(Err(broken)) => Some(broken),
            Err(panic) => {
                let said = panic.downcast_ref::<String>().cloned();
                let said = said.or_else(|| panic.downcast_ref::<&str>().map(|s| (*s).to_owned()));
                Some(format!("panic: {}", said.unwrap_or_default()))
            }
        };
        if let Some(complaint) = complaint
            && broken.insert(targets::without_particulars(&complaint))
        {
            fs::create_dir_all(found)?;
            let file = found.join(format!("{target}-{:016x}", mutate::hash(&input)));
            fs::write(&file, &input)?;
            println!("{}: {complaint}", file.display());
        }
    }
    println!(
        "| fuzzing of `{target}` | {runs} inputs in {} min, {} answers | {} that break what must hold |",
        time.as_secs() / 60,
        met.len(),
        broken.len()
    );
    if broken.is_empty() {
        Ok(())
    } else {
        Err(format!("{target}: see {}", found.display()).into())
    }
}

/// The files in a folder, in order of their names.
fn files_in(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut files: Vec<PathBuf> = fs::read_dir(folder)?
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<_, _>>()?;
    files.retain(|path| path.is_file());
    files.sort();
    Ok(files)
}
