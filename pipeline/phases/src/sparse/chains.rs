//! Draws from the model as the readings leave it possible: differential evolution Markov chains (ter
//! Braak 2006, "A Markov Chain Monte Carlo version of the genetic algorithm Differential Evolution",
//! Statistics and Computing 16, 239–249). Chains that learn from each other need no tuning where the
//! numbers hang together, as a stall's beginning and its depth do.

use super::model::{Model, NUMBERS, Scores};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

const CHAINS: usize = 30;
/// Generations that forget where the chains began, and those that draws are taken from.
const FORGET: usize = 400;
const TAKE: usize = 400;
/// A draw of each chain is taken every so many generations.
const EVERY: usize = 80;
/// First guesses of which the best begin the chains.
const GUESSES: usize = 20 * CHAINS;
/// Every tenth generation leaps the whole way to another chain, from one mode to the next (ter Braak).
const LEAP_EVERY: usize = 10;
/// What is added to every proposal, in the numbers' standard deviations.
const JITTER: f64 = 0.02;
/// The same readings give the same draws.
const SEED: u64 = 0x70_69_74;

/// The drawn numbers: as many draws as `CHAINS · TAKE / EVERY`.
pub(super) fn draw(model: &Model<'_>) -> Vec<Scores> {
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    let mut guesses: Vec<(f64, Scores)> = (0..GUESSES)
        .map(|_| {
            let guess: Scores = std::array::from_fn(|_| rng.sample(StandardNormal));
            (model.log_density(&guess), guess)
        })
        .collect();
    guesses.sort_by(|a, b| b.0.total_cmp(&a.0));
    guesses.truncate(CHAINS);
    let mut chains = guesses;
    let usual = 2.38 / (2.0 * NUMBERS as f64).sqrt();
    let mut taken = Vec::with_capacity(CHAINS * TAKE / EVERY);
    for generation in 0..FORGET + TAKE {
        let reach = if generation % LEAP_EVERY == 0 { 1.0 } else { usual };
        for place in 0..CHAINS {
            let mut other = || loop {
                let other = rng.random_range(0..CHAINS);
                if other != place {
                    return other;
                }
            };
            let (one, two) = (other(), other());
            let (one, two) = (chains[one].1, chains[two].1);
            let proposed: Scores = std::array::from_fn(|number| {
                let jitter: f64 = rng.sample(StandardNormal);
                chains[place].1[number] + reach * (one[number] - two[number]) + JITTER * jitter
            });
            let density = model.log_density(&proposed);
            if rng.random::<f64>().ln() < density - chains[place].0 {
                chains[place] = (density, proposed);
            }
        }
        if generation >= FORGET && (generation - FORGET) % EVERY == EVERY - 1 {
            taken.extend(chains.iter().map(|chain| chain.1));
        }
    }
    taken
}
