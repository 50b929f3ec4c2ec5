//! Prints how well the segmenter does on simulated cooks, category by category.
//!
//! `cargo run -p phases --example accuracy -- [COOKS] [CATEGORY…]`

#[path = "../tests/accuracy/mod.rs"]
mod accuracy;

use accuracy::cooks::Category;
use accuracy::score::{line, table};

fn main() {
    let mut arguments = std::env::args().skip(1).peekable();
    if arguments.next_if(|word| word == "export").is_some() {
        let folder = arguments.next().expect("a folder to write to");
        let count = arguments.next().and_then(|text| text.parse().ok()).unwrap_or(10);
        accuracy::export::export(folder.as_ref(), &Category::ALL, count).expect("a folder");
        return;
    }
    let count = arguments.next().and_then(|text| text.parse().ok()).unwrap_or(20);
    let wanted: Vec<String> = arguments.collect();
    let categories: Vec<Category> = Category::ALL
        .into_iter()
        .filter(|category| {
            wanted.is_empty() || wanted.iter().any(|word| category.name().contains(word))
        })
        .collect();
    for with_card in [true, false] {
        println!("\n{}\n", if with_card { "With the card's marks" } else { "From the log alone" });
        let scores: Vec<_> = categories
            .iter()
            .map(|&category| {
                let score = accuracy::score(category, count, with_card, |_, logged| {
                    accuracy::segmented(logged, with_card, if with_card { 60 } else { 0 })
                });
                eprint!("{}", line(category.name(), &score));
                (category, score)
            })
            .collect();
        print!("{}", table(&scores));
    }
}
