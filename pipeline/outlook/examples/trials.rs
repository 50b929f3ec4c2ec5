//! Trials against known truth: `trials PAIRS SHAPE TRIALS` prints rows of the table of `docs/trial.md`.

#[path = "../tests/lots/mod.rs"]
mod lots;

use lots::{MATTERS, Played, Shape, planned, play};
use outlook::trial::{Variation, offer};
use study::lock::TrialKind;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if arguments.first().is_some_and(|word| word == "fires") {
        return fires();
    }
    let (Some(pairs), Some(shape), Some(trials)) = (
        arguments.first().and_then(|text| text.parse().ok()),
        arguments.get(1).and_then(|word| shape(word)),
        arguments.get(2).and_then(|text| text.parse::<u64>().ok()),
    ) else {
        eprintln!("trials PAIRS normal|skewed|censored TRIALS, or trials fires");
        std::process::exit(2);
    };
    let (offer, sd) = planned(pairs);
    for truth in [0.0, 1.0, 2.0, 3.0] {
        let minutes = truth * MATTERS;
        let mut all = Played::default();
        for seed in 0..trials {
            // Other seeds for each truth: rows do not lean together.
            let seed = seed + trials * (truth as u64) + 1_000_000 * pairs as u64;
            all.add(&play(&offer, sd, shape, minutes, seed), minutes);
        }
        row(pairs, &arguments[1], truth, &all, minutes);
    }
}

fn shape(word: &str) -> Option<Shape> {
    match word {
        "normal" => Some(Shape::Normal),
        "skewed" => Some(Shape::Skewed),
        "censored" => Some(Shape::Censored),
        _ => None,
    }
}

fn row(pairs: usize, shape: &str, truth: f64, all: &Played, minutes: f64) {
    let share = |count: usize, of: usize| {
        if of == 0 { "–".to_owned() } else { format!("{:.1}", 100.0 * count as f64 / of as f64) }
    };
    let of = |count: usize| share(count, all.trials);
    println!(
        "| {pairs} | {shape} | {truth} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {:.1} |",
        all.trials,
        of(all.wrong(minutes)),
        of(all.shown),
        of(all.yes),
        of(all.too_small),
        of(all.stopped),
        of(all.covered),
        share(all.stopped_covered, all.stopped),
        of(all.above),
        all.pairs as f64 / all.trials as f64
    );
}

/// Fires that a trial takes, paired and single, by how much of the scatter lies within a fire.
fn fires() {
    for (total, within) in [(60.0, 0.25), (60.0, 0.5), (60.0, 1.0), (40.0, 0.25), (40.0, 0.5)] {
        let variation = Variation {
            within_sd: total * f64::sqrt(within),
            total_sd: total,
            cooks: 40,
            fires_of_two: 20,
            is_assumed: false,
            minutes: None,
            kg: None,
        };
        let of = |kind| offer(kind, &variation, MATTERS, 1.0).unwrap();
        let shown = |count: Option<usize>| count.map_or("more".to_owned(), |n| n.to_string());
        println!(
            "| {total} | {:.0} | {} | {} |",
            100.0 * within,
            shown(of(TrialKind::Pairs).map(|offer| offer.fires())),
            shown(of(TrialKind::Blocks).map(|offer| offer.fires()))
        );
    }
}
