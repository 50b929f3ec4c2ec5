#[path = "../tests/accuracy/mod.rs"]
mod accuracy;
use accuracy::cooks::*;
use cook::Role;
use phases::{OwnedSamples, find_marks};
fn main() {
    for category in Category::ALL {
        for index in 0..8 {
            let truth = true_cook(category, index);
            let logged = accuracy::logger::log(category, &truth, index);
            let of = |role| {
                OwnedSamples::usable(
                    logged.readings.channels.iter().find(|c| c.role == role).unwrap(),
                    0.0,
                )
            };
            let (core, pit) = (of(Role::Meat), of(Role::Pit));
            let marks = find_marks(&Default::default(), &[], core.view(), pit.view()).unwrap();
            let p = truth.bounds.pull_ms;
            let c = |m: i64| core.view().at(p + m * 60_000).unwrap_or(0.0) as i64;
            let q = |m: i64| pit.view().at(p + m * 60_000).unwrap_or(0.0) as i64;
            println!(
                "{category} {index}: {} min int {} end +{} {} | on {} | core {:?} pit {:?}",
                (marks.pull.at_ms - p) as f64 / 6e4,
                logged.logging.interval_s,
                (logged.logging.until_ms - p) / 60000,
                marks.pull.because.chars().skip(45).take(40).collect::<String>(),
                (marks.meat_on.at_ms - truth.bounds.meat_on_ms) as f64 / 6e4,
                [-60, -30, -10, -2, 0, 2, 5, 10, 20, 30, 45, 60].map(c),
                [-60, -30, -10, -2, 0, 1, 2, 5, 10, 20, 30, 60].map(q)
            );
        }
    }
}
