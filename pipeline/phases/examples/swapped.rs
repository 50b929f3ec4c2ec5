//! Scores exchanges of two meats' probes, and writes them into `docs/accuracy.md`.
//!
//! ```sh
//! cargo run -p phases --example swapped -- 200          # the table of 200 fires
//! cargo run -p phases --example swapped -- write 1000   # docs/accuracy.md, on held-out fires
//! ```

#[path = "../tests/swapped/mod.rs"]
mod swapped;

use std::fmt::Write as _;
use std::path::Path;
use swapped::{APART, LOGGERS, score};

const SEED: u64 = 20;
/// Fires numbered from here on are held out.
const HELD_OUT: usize = 1_000;
const BEGIN: &str = "<!-- made by the example `swapped`: begin -->\n";
const END: &str = "<!-- made by the example `swapped`: end -->";

fn table(fires: std::ops::Range<usize>) -> String {
    let count = fires.len();
    let scores = score(SEED, fires);
    let mut out = format!("{count} fires, of which {} have two meats.\n\n", scores.clean[0].0);
    out += "| logger |";
    for (least, most) in APART {
        let _ = match most {
            100.0 => write!(out, " over {least:.0} °C |"),
            _ => write!(out, " {least:.0}–{most:.0} °C |"),
        };
    }
    out += " something else | said of pairs without one |\n|---|";
    out += &"--:|".repeat(APART.len() + 2);
    for (at, (quantum, interval_s)) in LOGGERS.iter().enumerate() {
        let _ = write!(out, "\n| {quantum} °C every {interval_s:.0} s |");
        for tally in scores.tallies[at] {
            let _ = write!(out, " {} of {} |", tally.found, tally.pairs);
        }
        let wrong: usize = scores.tallies[at].iter().map(|tally| tally.wrong).sum();
        let (pairs, said) = scores.clean[at];
        let _ = write!(out, " {wrong} | {said} of {pairs} |");
    }
    out + "\n"
}

fn main() -> std::io::Result<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize| arguments.get(at).and_then(|text| text.parse().ok()).unwrap_or(200);
    if arguments.first().is_none_or(|first| first != "write") {
        print!("{}", table(0..number(0)));
        return Ok(());
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/accuracy.md");
    let page = std::fs::read_to_string(&path)?;
    let parts = page
        .split_once(BEGIN)
        .and_then(|(before, rest)| rest.split_once(END).map(|(_, after)| (before, after)));
    let (before, after) = parts.expect("the page has both markers");
    let made = table(HELD_OUT..HELD_OUT + number(1));
    std::fs::write(path, format!("{before}{BEGIN}{made}{END}{after}"))
}
