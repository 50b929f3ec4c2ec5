//! Exact distributions of sums of scores: of a random subset, or of scores with random signs.

use crate::p_values::PValues;

/// The distribution of a sum of whole-number scores.
#[derive(Debug, Clone)]
pub(super) struct SumDistribution {
    /// Probability of the sum `least` + position · `unit`.
    probabilities: Vec<f64>,
    least: u64,
    unit: u64,
    /// Twice the mean of the sum, in the units of the scores.
    doubled_mean: u64,
}

/// Scores less the smallest, over their greatest common divisor, sorted.
struct Reduced {
    scores: Vec<usize>,
    smallest: u64,
    unit: u64,
}

impl Reduced {
    fn new(scores: &[u64], smallest: u64) -> Self {
        let unit =
            scores.iter().fold(0, |divisor, score| common_divisor(divisor, score - smallest));
        let unit = unit.max(1);
        let mut scores: Vec<usize> =
            scores.iter().map(|score| ((score - smallest) / unit) as usize).collect();
        scores.sort_unstable();
        Self { scores, smallest, unit }
    }
}

fn common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { common_divisor(b, a % b) }
}

impl SumDistribution {
    /// Steps that [`of_subset`](Self::of_subset) takes, at most.
    pub(super) fn steps_of_subset(scores: &[u64], size: usize) -> f64 {
        let reduced = Reduced::new(scores, scores.iter().copied().min().unwrap_or(0));
        let largest: usize = reduced.scores.iter().rev().take(size).sum();
        scores.len() as f64 * size as f64 * (largest + 1) as f64
    }

    /// The sum of a random subset of `size` of the scores.
    ///
    /// Scores are taken one by one; each enters the subset with the probability that it has given
    /// how many are in already, (size − chosen)/(scores left). All terms are positive, so nothing
    /// cancels, and nothing overflows.
    pub(super) fn of_subset(scores: &[u64], size: usize) -> Self {
        let reduced = Reduced::new(scores, scores.iter().copied().min().unwrap_or(0));
        let largest: usize = reduced.scores.iter().rev().take(size).sum();
        // One row for each number of scores chosen so far, with the largest sum it can have yet.
        let mut rows = vec![vec![0.0; largest + 1]; size + 1];
        let mut reach = vec![0; size + 1];
        rows[0][0] = 1.0;
        for (taken, &score) in reduced.scores.iter().enumerate() {
            let left = (scores.len() - taken) as f64;
            for chosen in (0..=taken.min(size)).rev() {
                let enters = (size - chosen) as f64 / left;
                let (lower, upper) = rows.split_at_mut(chosen + 1);
                let row = &mut lower[chosen][..=reach[chosen]];
                if chosen < size && enters > 0.0 {
                    let next = &mut upper[0][score..=score + reach[chosen]];
                    for (to, from) in next.iter_mut().zip(row.iter()) {
                        *to += enters * from;
                    }
                    // Scores come sorted, so the newest sum is the largest.
                    reach[chosen + 1] = score + reach[chosen];
                }
                // Rounding must not leave a trace of what cannot be.
                let stays = (1.0 - enters).max(0.0);
                for probability in row {
                    *probability *= stays;
                }
            }
        }
        let total: u64 = scores.iter().sum();
        Self {
            probabilities: rows.swap_remove(size),
            least: reduced.smallest * size as u64,
            unit: reduced.unit,
            // Midranks sum to half of n(n + 1), so for them the division leaves no remainder.
            doubled_mean: 2 * total * size as u64 / scores.len().max(1) as u64,
        }
    }

    /// Steps that [`of_signs`](Self::of_signs) takes.
    pub(super) fn steps_of_signs(scores: &[u64]) -> f64 {
        let reduced = Reduced::new(scores, 0);
        scores.len() as f64 * (reduced.scores.iter().sum::<usize>() + 1) as f64
    }

    /// The sum of the scores that a fair coin picks.
    pub(super) fn of_signs(scores: &[u64]) -> Self {
        let reduced = Reduced::new(scores, 0);
        let mut probabilities = vec![0.0; reduced.scores.iter().sum::<usize>() + 1];
        probabilities[0] = 1.0;
        let mut reach = 0;
        for &score in &reduced.scores {
            reach += score;
            for sum in (0..=reach).rev() {
                let with = if sum >= score { probabilities[sum - score] } else { 0.0 };
                probabilities[sum] = 0.5 * (with + probabilities[sum]);
            }
        }
        Self { probabilities, least: 0, unit: reduced.unit, doubled_mean: scores.iter().sum() }
    }

    /// P values of an observed sum. Two-sided is the probability of a sum at least as far from the
    /// mean.
    pub(super) fn p_values(&self, observed: u64) -> PValues {
        let sum = |position: usize| self.least + position as u64 * self.unit;
        let distance = |sum: u64| (2 * sum).abs_diff(self.doubled_mean);
        let tail = |holds: &dyn Fn(u64) -> bool| {
            let inside = (0..self.probabilities.len()).filter(|&position| holds(sum(position)));
            inside.map(|position| self.probabilities[position]).sum::<f64>().min(1.0)
        };
        PValues {
            two_sided: tail(&|sum| distance(sum) >= distance(observed)),
            less: tail(&|sum| sum <= observed),
            greater: tail(&|sum| sum >= observed),
        }
    }

    /// P(sum ≤ s) for s from the smallest possible sum upwards.
    pub(super) fn cumulative(&self) -> impl Iterator<Item = f64> + '_ {
        let possible = self.probabilities.iter().skip_while(|probability| **probability == 0.0);
        possible.scan(0.0, |sum, probability| {
            *sum += probability;
            Some(*sum)
        })
    }
}
