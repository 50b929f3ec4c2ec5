//! How often intervals and verdicts are wrong, cell by cell, in shards that can be resumed.
//!
//! `honesty cells` prints how many cells there are; `honesty run CELL TABLES FOLDER` judges so many tables
//! of one and writes `FOLDER/CELL.json`, a cell that is there already is left alone; `honesty table
//! FOLDER` prints the tables of `docs/honesty.md` from whatever is there.

#[path = "../tests/honesty/mod.rs"]
mod honesty;

use honesty::{Asked, By, Cell, wrong};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

/// What came of the tables of a cell, by claim and family.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Tally {
    by: By,
    family: usize,
    level: f64,
    /// Tables with one true value.
    tables: usize,
    refused: usize,
    /// Why, without the numbers.
    reasons: BTreeMap<String, usize>,
    /// The truth below the interval, and above it.
    below: usize,
    above: usize,
    /// Verdicts that contradict the truth, and tables, at 0, +δ, −δ.
    wrong: [usize; 3],
    of: [usize; 3],
}

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["cells"] => println!("{}", Cell::all().len()),
        ["run", cell, tables, folder] => run(cell.parse()?, tables.parse()?, Path::new(folder))?,
        ["table", folder] => print!("{}", table(Path::new(folder))?),
        _ => {
            return Err("usage: honesty cells | run CELL TABLES FOLDER | table FOLDER".into());
        }
    }
    Ok(())
}

fn run(number: usize, tables: u64, folder: &Path) -> Result<(), Box<dyn Error>> {
    let cells = Cell::all();
    let cell = *cells.get(number).ok_or_else(|| format!("cells are 0 to {}", cells.len() - 1))?;
    fs::create_dir_all(folder)?;
    let path = folder.join(format!("{number:03}.json"));
    if path.exists() {
        return Ok(());
    }
    let asked = Asked::of(cell)?;
    let mut tallies: Vec<Tally> = Vec::new();
    for table in 0..tables {
        // A stream of its own for each cell.
        for own in asked.judged(((number as u64) << 32) + table)? {
            let known = tallies.iter().position(|t| t.by == own.by && t.family == own.family);
            let at = known.unwrap_or_else(|| {
                tallies.push(Tally {
                    by: own.by,
                    family: own.family,
                    level: own.level,
                    tables: 0,
                    refused: 0,
                    reasons: BTreeMap::new(),
                    below: 0,
                    above: 0,
                    wrong: [0; 3],
                    of: [0; 3],
                });
                tallies.len() - 1
            });
            let tally = &mut tallies[at];
            let side = [0, 1, -1].iter().position(|side| *side == own.side).unwrap_or(0);
            tally.of[side] += 1;
            tally.wrong[side] += usize::from(wrong(own.verdict, own.side));
            let Some(truth) = own.truth else { continue };
            tally.tables += 1;
            match own.interval {
                None => {
                    tally.refused += 1;
                    *tally.reasons.entry(without_numbers(own.reason.as_deref())).or_default() += 1;
                }
                Some((lo, hi)) => {
                    tally.below += usize::from(truth < lo);
                    tally.above += usize::from(truth > hi);
                }
            }
        }
    }
    // Whole or not there at all.
    let beside = path.with_extension("part");
    fs::write(&beside, serde_json::to_string(&tallies)?)?;
    fs::rename(beside, path)?;
    Ok(())
}

/// A reason without its numbers, so that alike ones count as one.
fn without_numbers(reason: Option<&str>) -> String {
    reason.unwrap_or_default().chars().filter(|letter| !letter.is_ascii_digit()).collect()
}

/// Standard errors of a binomial share by which a count lies above what is allowed.
fn over(count: usize, of: usize, allowed: f64) -> f64 {
    let n = of as f64;
    (count as f64 / n - allowed) / (allowed * (1.0 - allowed) / n).sqrt()
}

fn table(folder: &Path) -> Result<String, Box<dyn Error>> {
    let mut text = String::from(
        "| cell | claim | level | refused | holds the truth | below, above | wrong at 0, +δ, −δ |\n\
         |---|---|--:|--:|--:|--:|--:|\n",
    );
    let (mut cells, mut two, mut worst) = (0, 0, f64::NEG_INFINITY);
    let (mut verdicts, mut wrong_many, mut worst_wrong) = (0, 0, f64::NEG_INFINITY);
    for (number, cell) in Cell::all().into_iter().enumerate() {
        let path = folder.join(format!("{number:03}.json"));
        if !path.exists() {
            continue;
        }
        let tallies: Vec<Tally> = serde_json::from_str(&fs::read_to_string(&path)?)?;
        for own in tallies {
            let answered = own.tables - own.refused;
            let missed = own.below + own.above;
            let percent =
                |count: usize, of: usize| format!("{:.1}", 100.0 * count as f64 / of.max(1) as f64);
            let holds = if answered == 0 {
                "–".to_owned()
            } else {
                // Over all tables: a table that is refused misses nothing.
                let z = over(missed, own.tables, 1.0 - own.level);
                cells += 1;
                two += usize::from(z > 2.0);
                worst = f64::max(worst, z);
                percent(answered - missed, answered)
            };
            let tail = (1.0 - own.level) / 2.0;
            for side in 0..3 {
                // At 0 either side can be wrong, at ±δ one.
                let allowed = if side == 0 { 2.0 * tail } else { tail };
                verdicts += 1;
                let share = own.wrong[side] as f64 / own.of[side].max(1) as f64;
                wrong_many += usize::from(share > allowed + 0.01);
                worst_wrong = f64::max(worst_wrong, share - allowed);
            }
            writeln!(
                text,
                "| {} | {} | {:.2} | {} | {holds} | {}, {} | {}, {}, {} |",
                cell.name(),
                own.by.name(),
                100.0 * own.level,
                percent(own.refused, own.tables),
                percent(own.below, answered),
                percent(own.above, answered),
                percent(own.wrong[0], own.of[0]),
                percent(own.wrong[1], own.of[1]),
                percent(own.wrong[2], own.of[2]),
            )?;
        }
    }
    writeln!(
        text,
        "\nOf {cells} rows with one true value {two} ({:.1} %) miss the truth by more than two standard errors \
         oftener than their level says; the worst by {worst:.1}. Of {verdicts} shares of wrong verdicts \
         {wrong_many} lie more than one point above the level's; the worst by {:.1} points.",
        100.0 * f64::from(two as u32) / f64::from(cells.max(1) as u32),
        100.0 * worst_wrong,
    )?;
    Ok(text)
}
