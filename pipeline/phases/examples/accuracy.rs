//! How well the segmenter does on simulated cooks, category by category.
//!
//! ```text
//! cargo run -p phases --example accuracy -- 20 noisy paper     a few categories, printed
//! cargo run -p phases --example accuracy -- write 120          docs/accuracy.md, on held-out cooks
//! cargo run -p phases --example accuracy -- worst 60 noisy     the cooks more than 10 min off
//! cargo run -p phases --example accuracy -- export FOLDER 4    curves for other segmenters
//! ```

#[path = "../tests/accuracy/mod.rs"]
mod accuracy;

use accuracy::HELD_OUT;
use accuracy::cooks::Category;
use accuracy::score::{Score, line, table};
use std::path::{Path, PathBuf};

const DRAWS: u32 = 60;
/// A boundary further off than this makes a cook one of the worst, min.
const FAR_OFF_MIN: f64 = 10.0;

fn scores(categories: &[Category], first: u64, count: u64, card: bool) -> Vec<(Category, Score)> {
    categories
        .iter()
        .map(|&category| {
            let draws = if card { DRAWS } else { 0 };
            let score = accuracy::score(category, first, count, card, |_, logged| {
                accuracy::segmented(logged, card, draws)
            });
            eprint!("{}", line(category.name(), &score));
            (category, score)
        })
        .collect()
}

fn docs() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/accuracy.md")
}

/// The tables go between the markers of the page; what is written around them stays.
fn write(count: u64) -> std::io::Result<()> {
    const BEGIN: &str = "<!-- made by the example `accuracy`: begin -->\n";
    const END: &str = "<!-- made by the example `accuracy`: end -->";
    let with_card = table(&scores(&Category::ALL, HELD_OUT, count, true));
    let alone = table(&scores(&Category::ALL, HELD_OUT, count, false));
    let page = std::fs::read_to_string(docs())?;
    let parts = page
        .split_once(BEGIN)
        .and_then(|(before, rest)| rest.split_once(END).map(|(_, after)| (before, after)));
    let (before, after) = parts.expect("the page has both markers");
    let peers = peers();
    let made = format!(
        "{count} cooks a category, {DRAWS} draws.\n\n### With the card's marks\n\n{with_card}\n\
         ### From the log alone\n\n{alone}\n### Other methods on such cooks\n\n{peers}"
    );
    std::fs::write(docs(), format!("{before}{BEGIN}{made}{END}{after}"))
}

/// The results that `tests/peers/segmenters.py` keeps, as a table.
fn peers() -> String {
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/peers/results.csv");
    let text = std::fs::read_to_string(kept).expect("the results of the other methods");
    let mut lines = text.lines().map(|line| format!("| {} |\n", line.replace(',', " | ")));
    let head = lines.next().unwrap_or_default();
    let rule = "|---".repeat(head.matches('|').count() - 1) + "|\n";
    head + &rule + &lines.collect::<String>()
}

/// The categories whose names hold one of the words; all of them for no word.
fn named(words: &[String]) -> Vec<Category> {
    let wanted = |category: &Category| {
        words.is_empty() || words.iter().any(|word| category.name().contains(word.as_str()))
    };
    Category::ALL.into_iter().filter(wanted).collect()
}

fn main() -> std::io::Result<()> {
    let mut arguments = std::env::args().skip(1).peekable();
    let number = |text: Option<String>, otherwise| {
        text.and_then(|text| text.parse().ok()).unwrap_or(otherwise)
    };
    match arguments.peek().map(String::as_str) {
        Some("export") => {
            let folder = arguments.nth(1).expect("a folder to write to");
            let count = number(arguments.next(), 4);
            accuracy::export::export(folder.as_ref(), &Category::ALL, HELD_OUT, count)
        }
        Some("write") => write(number(arguments.nth(1), 60)),
        Some("worst") => {
            let count = number(arguments.nth(1), 60);
            for category in named(&arguments.collect::<Vec<_>>()) {
                let cooks = accuracy::each(category, 0, count, |_, logged| {
                    accuracy::segmented(logged, true, 0)
                });
                let lines = cooks.iter().zip(0..).filter_map(|(cook, index)| {
                    accuracy::worst::line(category.name(), index, cook, FAR_OFF_MIN)
                });
                lines.for_each(|line| println!("{line}"));
            }
            Ok(())
        }
        _ => {
            let count = number(arguments.next(), 20);
            let categories = named(&arguments.collect::<Vec<_>>());
            for card in [true, false] {
                let found = table(&scores(&categories, 0, count, card));
                println!("\n{}\n\n{found}", if card { "With the card" } else { "Log alone" });
            }
            Ok(())
        }
    }
}
