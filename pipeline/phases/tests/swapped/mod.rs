//! Two meats of one fire whose probes change places for a while, under loggers of several steps: which of
//! the exchanges are found, by how far apart the cores are.
#![allow(dead_code, reason = "each program uses its own part")]

use cook::season::TemperatureUnit;
use phases::{Samples, exchanged_meats};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use simulate::measured::{Logger, Probe, Stretch, Swap, record};
use simulate::team::TeamModel;

/// Steps of loggers, °C, each with its interval, s.
pub(crate) const LOGGERS: [(f64, f64); 4] = [(0.1, 30.0), (0.5, 60.0), (1.0, 60.0), (1.0, 120.0)];
/// How far apart the two cores are where they change places, °C: from, to.
pub(crate) const APART: [(f64, f64); 5] =
    [(0.0, 2.0), (2.0, 4.0), (4.0, 7.0), (7.0, 12.0), (12.0, 100.0)];
/// An exchange is found if both its ends are to within this, ms (5 min).
const WITHIN_MS: i64 = 300_000;

/// What became of exchanges of one distance under one logger.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Tally {
    /// Exchanges.
    pub(crate) pairs: usize,
    /// Found with both ends.
    pub(crate) found: usize,
    /// Something else was found.
    pub(crate) wrong: usize,
}

/// All that was scored.
#[derive(Debug, Clone, Default)]
pub(crate) struct Scores {
    /// By logger and distance.
    pub(crate) tallies: [[Tally; APART.len()]; LOGGERS.len()],
    /// Pairs without an exchange, by logger: how many, and how many of them are said to have one.
    pub(crate) clean: [(usize, usize); LOGGERS.len()],
}

/// Scores the fires of a middling team from a number on that have two meats, each once as it is and once with
/// the meats exchanged, under every logger. A fire's exchange is drawn where both are on.
pub(crate) fn score(seed: u64, fires: std::ops::Range<usize>) -> Scores {
    let model = TeamModel::middling();
    let mut scores = Scores::default();
    for number in fires {
        let plan = model.fire(seed, number).expect("the middling team is in range");
        if plan.cooks.len() < 2 {
            continue;
        }
        let truth = plan.run().expect("its fires are in range");
        let (one, other) = (&truth.cooks[0], &truth.cooks[1]);
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(number as u64);
        let on = one.meat_on_s.max(other.meat_on_s) + 1_800;
        let off = one.pull_s.min(other.pull_s) - 1_800;
        let long = random.random_range(1_200..14_400).min(off - on - 600);
        if long < 1_200 {
            continue;
        }
        let from_s = random.random_range(on..off - long);
        let until_s = from_s + long;
        let core = |of: &[f64], second: i64| of[(second / 10) as usize];
        let apart = |second| (core(&one.core_c, second) - core(&other.core_c, second)).abs();
        // Both ends have to be seen.
        let apart = apart(from_s).min(apart(until_s));
        let bin = APART.iter().position(|(least, most)| (*least..*most).contains(&apart));
        let bin = bin.unwrap_or(APART.len() - 1);
        for (which, (quantum, interval_s)) in LOGGERS.into_iter().enumerate() {
            let end_s = one.pull_s.min(other.pull_s);
            let mut logger = Logger::sound(interval_s, TemperatureUnit::Celsius, quantum, end_s);
            logger.noise_c = 0.15;
            logger.from_s = on - 1_800;
            let found = |logger: &Logger, random: &mut ChaCha8Rng| {
                let probes =
                    [Probe::sound("Meat", &one.core_c), Probe::sound("Meat 2", &other.core_c)];
                let set = record(&probes, logger, 0, random).expect("the logger is in range");
                let column = |at: usize| -> (Vec<i64>, Vec<f64>) {
                    let rows = set.rows.iter();
                    rows.filter_map(|row| Some((row.at_ms, row.values[at].value()?))).unzip()
                };
                let ((a_ms, a), (b_ms, b)) = (column(0), column(1));
                exchanged_meats(
                    Samples { at_ms: &a_ms, temp_c: &a },
                    Samples { at_ms: &b_ms, temp_c: &b },
                )
            };
            let clean = found(&logger, &mut random.clone());
            scores.clean[which].0 += 1;
            scores.clean[which].1 += usize::from(!clean.is_empty());
            logger.swaps.push(Swap { channels: (0, 1), during: Stretch::new(from_s, until_s) });
            let tally = &mut scores.tallies[which][bin];
            tally.pairs += 1;
            match found(&logger, &mut random.clone())[..] {
                [] => {}
                [(start_ms, end_ms)]
                    if (start_ms - from_s * 1_000).abs() <= WITHIN_MS
                        && (end_ms - until_s * 1_000).abs() <= WITHIN_MS =>
                {
                    tally.found += 1;
                }
                _ => tally.wrong += 1,
            }
        }
    }
    scores
}
