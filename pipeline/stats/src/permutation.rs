//! Permutation tests: p values from the randomisation itself, with no assumption on distributions.
//!
//! The hypothesis is that treatment changes no value at all, so that every way of assigning it that
//! could have happened was as likely as the one that did. A test counts the assignments whose
//! statistic is at least as extreme as the one observed (Fisher 1935, The Design of Experiments;
//! Pitman 1937, Supplement to the Journal of the Royal Statistical Society 4, 119–130). Statistics
//! that differ by rounding alone count as equal.
//!
//! | Function | Statistic | Assignments |
//! |---|---|---|
//! | [`mean_difference`] | mean of the first sample less that of the second | all splits of the values |
//! | [`paired`] | mean of the differences | all signs of the differences |
//! | [`within_blocks`] | weighted mean of the differences within blocks | all assignments that leave the number treated in each block |

use crate::error::{StatsError, require_finite, require_length};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Most assignments that an exact test goes through.
pub const MOST_ASSIGNMENTS: f64 = 2e7;

/// Statistics closer than this part of their possible size count as equal, and those that the
/// rounding of the values themselves may have parted.
const ROUNDING: f64 = 1e-12;

/// Which assignments are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Assignments {
    /// All of them, at most [`MOST_ASSIGNMENTS`].
    All,
    /// Random ones, with replacement. The assignment observed counts as one more, so that no p
    /// value is zero and none is too small (Phipson & Smyth 2010, "Permutation p-values should never
    /// be zero", Statistical Applications in Genetics and Molecular Biology 9, article 39).
    Random {
        /// How many to draw.
        draws: u32,
        /// Seed of the generator; the same seed gives the same p values on every machine.
        seed: u64,
    },
}

/// Result of a permutation test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PermutationTest {
    /// The observed statistic, in the unit of the values.
    pub statistic: f64,
    /// Assignments counted, the observed one among them.
    pub assignments: u64,
    /// Assignments with a statistic at least as far from zero.
    pub as_far: u64,
    /// Assignments with a statistic at most as large.
    pub as_small: u64,
    /// Assignments with a statistic at least as large.
    pub as_large: u64,
}

/// P values of one test against its three alternatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PValues {
    /// Against a difference in either direction.
    pub two_sided: f64,
    /// Against smaller values.
    pub less: f64,
    /// Against larger values.
    pub greater: f64,
}

impl PermutationTest {
    /// The p values; "greater" means a positive statistic.
    pub fn p(&self) -> PValues {
        let share = |count: u64| count as f64 / self.assignments as f64;
        PValues {
            two_sided: share(self.as_far),
            less: share(self.as_small),
            greater: share(self.as_large),
        }
    }
}

/// Permutation test of the difference of two means, first − second.
///
/// # Errors
/// An empty sample, a value that is not finite, no draws, or for [`Assignments::All`] too many
/// splits ([`StatsError::TooMany`]).
///
/// ```
/// use stats::permutation::{Assignments, mean_difference};
///
/// let test = mean_difference(&[6.0, 7.0, 8.0], &[1.0, 2.0, 3.0, 4.0], Assignments::All)?;
/// assert_eq!((test.assignments, test.as_large, test.as_far), (35, 1, 1));
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn mean_difference(
    x: &[f64],
    y: &[f64],
    assignments: Assignments,
) -> Result<PermutationTest, StatsError> {
    require_finite("the first sample", x)?;
    require_finite("the second sample", y)?;
    let values: Vec<f64> = x.iter().chain(y).copied().collect();
    run(&[Block::new(&values, x.len(), 1.0)], assignments)
}

/// Permutation test of the mean of paired differences, by their signs. Zero differences stay in.
///
/// # Errors
/// As [`mean_difference`].
pub fn paired(
    differences: &[f64],
    assignments: Assignments,
) -> Result<PermutationTest, StatsError> {
    require_finite("the differences", differences)?;
    let n = differences.len() as f64;
    let blocks: Vec<Block> =
        differences.iter().map(|&d| Block::new(&[0.5 * d, -0.5 * d], 1, 1.0 / n)).collect();
    run(&blocks, assignments)
}

/// Permutation test of a treatment that was randomised within blocks. The statistic is the mean of
/// the blocks' differences, treated − untreated, weighted by t·u/(t + u) for t treated and u
/// untreated, which is the least-squares estimate with one intercept a block.
///
/// A block in which all or none are treated says nothing and is left out.
///
/// # Errors
/// Inputs that differ in length, no block with both kinds of rows ([`StatsError::ConstantColumn`]),
/// and as [`mean_difference`].
///
/// ```
/// use stats::permutation::{Assignments, within_blocks};
///
/// let values = [5.0, 3.0, 9.0, 6.0, 4.0, 3.5];
/// let treated = [true, false, true, false, true, false];
/// let blocks = ["may", "may", "june", "june", "july", "july"];
/// let test = within_blocks(&values, &treated, &blocks, Assignments::All)?;
/// assert_eq!((test.assignments, test.as_far), (8, 2));
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn within_blocks<B: Ord>(
    values: &[f64],
    treated: &[bool],
    blocks: &[B],
    assignments: Assignments,
) -> Result<PermutationTest, StatsError> {
    require_finite("the values", values)?;
    require_length("the treatment", values.len(), treated.len())?;
    require_length("the blocks", values.len(), blocks.len())?;
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| blocks[a].cmp(&blocks[b]).then(treated[b].cmp(&treated[a])));
    let mut found = Vec::new();
    for rows in order.chunk_by(|&a, &b| blocks[a] == blocks[b]) {
        let in_block: Vec<f64> = rows.iter().map(|&row| values[row]).collect();
        let number_treated = rows.iter().filter(|&&row| treated[row]).count();
        if number_treated > 0 && number_treated < rows.len() {
            let (t, u) = (number_treated as f64, (rows.len() - number_treated) as f64);
            found.push((in_block, number_treated, t * u / (t + u)));
        }
    }
    if found.is_empty() {
        return Err(StatsError::ConstantColumn { term: "treatment within blocks".to_owned() });
    }
    let total: f64 = found.iter().map(|(_, _, weight)| weight).sum();
    let found: Vec<Block> = found
        .iter()
        .map(|(values, treated, weight)| Block::new(values, *treated, weight / total))
        .collect();
    run(&found, assignments)
}

/// Values among which a fixed number is treated: the first ones were.
#[derive(Debug)]
struct Block {
    /// Centred, so that a large common part does not cost digits.
    values: Vec<f64>,
    treated: usize,
    /// The share of this block in the statistic is `factor` · Σ treated + `offset`.
    factor: f64,
    offset: f64,
    /// What rounding may do to its share.
    guard: f64,
}

impl Block {
    fn new(values: &[f64], treated: usize, weight: f64) -> Self {
        let n = values.len() as f64;
        let base = values[0];
        let centre = values.iter().map(|v| v - base).sum::<f64>() / n;
        let size: f64 = values.iter().map(|v| v.abs()).sum();
        let values: Vec<f64> = values.iter().map(|v| v - base - centre).collect();
        // Mean of the treated less mean of the others, T/t − (S − T)/u, in terms of T alone.
        let (t, u) = (treated as f64, n - treated as f64);
        let sum: f64 = values.iter().sum();
        let factor = weight * (1.0 / t + 1.0 / u);
        let spread: f64 = values.iter().map(|v| v.abs()).sum();
        let guard = factor * (ROUNDING * spread + 2.0 * f64::EPSILON * size);
        Self { treated, factor, offset: -weight * sum / u, guard, values }
    }

    fn share(&self, sum_of_treated: f64) -> f64 {
        self.factor * sum_of_treated + self.offset
    }

    fn observed(&self) -> f64 {
        self.share(self.values[..self.treated].iter().sum())
    }

    /// Number of ways to choose the treated.
    fn ways(&self) -> f64 {
        let (n, t) = (self.values.len(), self.treated.min(self.values.len() - self.treated));
        (0..t).fold(1.0, |ways, i| ways * (n - i) as f64 / (i + 1) as f64).round()
    }

    /// Shares of all ways to choose the treated.
    fn shares(&self) -> Vec<f64> {
        fn choose(values: &[f64], left: usize, sum: f64, shares: &mut impl FnMut(f64)) {
            if left == 0 {
                return shares(sum);
            }
            // The first chosen value leaves enough behind it for the rest.
            for first in 0..=values.len() - left {
                choose(&values[first + 1..], left - 1, sum + values[first], shares);
            }
        }
        let mut all = Vec::with_capacity(self.ways() as usize);
        choose(&self.values, self.treated, 0.0, &mut |sum| all.push(self.share(sum)));
        all
    }
}

/// Counts of statistics against the observed one.
struct Counter {
    test: PermutationTest,
    guard: f64,
}

impl Counter {
    fn count(&mut self, statistic: f64) {
        let observed = self.test.statistic;
        self.test.assignments += 1;
        self.test.as_far += u64::from(statistic.abs() >= observed.abs() - self.guard);
        self.test.as_small += u64::from(statistic <= observed + self.guard);
        self.test.as_large += u64::from(statistic >= observed - self.guard);
    }
}

fn run(blocks: &[Block], assignments: Assignments) -> Result<PermutationTest, StatsError> {
    let statistic: f64 = blocks.iter().map(Block::observed).sum();
    let guard = blocks.iter().map(|block| block.guard).sum();
    let test = PermutationTest { statistic, assignments: 0, as_far: 0, as_small: 0, as_large: 0 };
    let mut counter = Counter { test, guard };
    match assignments {
        Assignments::All => {
            let ways: f64 = blocks.iter().map(Block::ways).product();
            if ways > MOST_ASSIGNMENTS {
                return Err(StatsError::TooMany {
                    what: "assignments of a permutation test".to_owned(),
                    most: MOST_ASSIGNMENTS,
                    found: ways,
                    instead: "draw random ones",
                });
            }
            let shares: Vec<Vec<f64>> = blocks.iter().map(Block::shares).collect();
            combine(&shares, 0.0, &mut counter);
        }
        Assignments::Random { draws: 0, .. } => {
            return Err(StatsError::BadArgument {
                name: "draws",
                value: 0.0,
                expected: "a random permutation test needs draws",
            });
        }
        Assignments::Random { draws, seed } => {
            let mut random = ChaCha8Rng::seed_from_u64(seed);
            let mut pools: Vec<Vec<f64>> = blocks.iter().map(|b| b.values.clone()).collect();
            counter.count(statistic);
            for _ in 0..draws {
                let mut drawn = 0.0;
                for (block, pool) in blocks.iter().zip(&mut pools) {
                    let mut sum = 0.0;
                    for chosen in 0..block.treated {
                        // Through u32, for the numbers drawn must not depend on the machine.
                        let other = random.random_range(chosen as u32..pool.len() as u32);
                        pool.swap(chosen, other as usize);
                        sum += pool[chosen];
                    }
                    drawn += block.share(sum);
                }
                counter.count(drawn);
            }
        }
    }
    Ok(counter.test)
}

/// Counts every sum of one share from each block.
fn combine(shares: &[Vec<f64>], sum: f64, counter: &mut Counter) {
    match shares {
        [] => counter.count(sum),
        [block, rest @ ..] => block.iter().for_each(|share| combine(rest, sum + share, counter)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reference::{Table, close, expected, number};
    use proptest::prelude::*;

    /// R 4.2.2, every split enumerated (`hollander_permeability.json`, `student_sleep_ties.json`).
    #[test]
    fn all_splits_agree_with_r() {
        for (set, values, labels) in
            [("hollander_permeability", "value", "group"), ("student_sleep_ties", "extra", "group")]
        {
            let (results, relative) = expected(set);
            let r = &results["permutation_mean_difference"];
            let table = Table::read(set);
            let (values, labels) = (table.numbers(values), table.text(labels));
            // The first group in the order of the alphabet less the second.
            let first = labels.iter().min().unwrap();
            let of = |wanted: bool| -> Vec<f64> {
                let rows = labels.iter().zip(&values);
                rows.filter(|(label, _)| (*label == first) == wanted).map(|(_, v)| *v).collect()
            };
            let (x, y) = (&of(true), &of(false));
            let test = mean_difference(x, y, Assignments::All).unwrap();
            close("difference", test.statistic, number(&r["observed"]), relative);
            assert_eq!(test.assignments as f64, number(&r["permutations"]));
            assert_eq!(test.as_far as f64, number(&r["count_abs_ge"]));
            assert_eq!(test.as_large as f64, number(&r["count_ge"]));
            close("p", test.p().two_sided, number(&r["p_two_sided"]), relative);
            close("less", test.p().less, number(&r["p_less"]), relative);
            close("greater", test.p().greater, number(&r["p_greater"]), relative);

            let draws = Assignments::Random { draws: 40_000, seed: 7 };
            let random = mean_difference(x, y, draws).unwrap();
            let p = test.p().two_sided;
            let error = (p * (1.0 - p) / 40_000.0).sqrt();
            assert!((random.p().two_sided - p).abs() < 4.0 * error);
            assert_eq!(random, mean_difference(x, y, draws).unwrap());
            let reseeded = Assignments::Random { draws: 40_000, seed: 8 };
            assert_ne!(random, mean_difference(x, y, reseeded).unwrap());
        }
    }

    /// Fisher (1935, section 21): of the 2¹⁵ signs of Darwin's fifteen differences in the height of
    /// maize, 863 give a total of at least the observed 314, and as many at most its negative.
    #[test]
    fn signs_agree_with_fisher() {
        let darwin = [
            49.0, -67.0, 8.0, 16.0, 6.0, 23.0, 28.0, 41.0, 14.0, 29.0, 56.0, 24.0, 75.0, 60.0,
            -48.0,
        ];
        let test = paired(&darwin, Assignments::All).unwrap();
        assert!((test.statistic - 314.0 / 15.0).abs() < 1e-12);
        assert_eq!((test.assignments, test.as_large, test.as_far), (32_768, 863, 1_726));
    }

    #[test]
    fn blocks_of_two_are_pairs_and_one_block_is_two_samples() {
        let (x, y) = ([3.1, 4.0, 9.2, 5.5], [2.0, 4.4, 7.7, 1.0]);
        let differences: Vec<f64> = x.iter().zip(&y).map(|(a, b)| a - b).collect();
        let values: Vec<f64> = x.iter().chain(&y).copied().collect();
        let treated: Vec<bool> = (0..8).map(|row| row < 4).collect();
        let pairs: Vec<usize> = (0..8).map(|row| row % 4).collect();
        let by_pairs = within_blocks(&values, &treated, &pairs, Assignments::All).unwrap();
        let signs = paired(&differences, Assignments::All).unwrap();
        assert!((by_pairs.statistic - signs.statistic).abs() < 1e-12);
        assert_eq!(by_pairs.as_far, signs.as_far);
        assert_eq!(by_pairs.assignments, 16);
        let together = within_blocks(&values, &treated, &[0; 8], Assignments::All).unwrap();
        assert_eq!(together.as_far, mean_difference(&x, &y, Assignments::All).unwrap().as_far);
        assert_eq!(together.assignments, 70);
    }

    /// Least squares with an intercept a block gives the same statistic.
    #[test]
    fn unequal_blocks_are_weighted_like_least_squares() {
        let values = [5.0, 3.0, 4.0, 9.0, 6.0, 7.0, 2.0, 2.5];
        let treated = [true, false, false, true, true, false, true, false];
        let blocks = ["a", "a", "a", "b", "b", "b", "c", "c"];
        let column: Vec<f64> = treated.iter().map(|&t| f64::from(u8::from(t))).collect();
        let design = crate::Design::new(8)
            .intercept()
            .unwrap()
            .numeric("treated", &column)
            .unwrap()
            .factor("block", &blocks)
            .unwrap();
        let fit = crate::LeastSquares::fit(&design, &values, crate::ErrorKind::Classical).unwrap();
        let slope = fit.estimates.term("treated").unwrap().estimate;
        let test = within_blocks(&values, &treated, &blocks, Assignments::All).unwrap();
        assert!((test.statistic - slope).abs() < 1e-12);
        assert_eq!(test.assignments, 3 * 3 * 2);
    }

    /// Under the hypothesis a p value of at most α comes at most every 1/α-th time.
    #[test]
    fn random_tests_hold_their_level() {
        let mut random = ChaCha8Rng::seed_from_u64(2);
        let mut rejected = 0;
        for trial in 0..1_000 {
            let values: Vec<f64> = (0..14).map(|_| random.random::<f64>()).collect();
            let draws = Assignments::Random { draws: 99, seed: trial };
            let test = mean_difference(&values[..6], &values[6..], draws).unwrap();
            rejected += u32::from(test.p().two_sided <= 0.05);
        }
        // 50 expected, standard deviation 6.9.
        assert!((25..=75).contains(&rejected), "{rejected}");
    }

    #[test]
    fn hard_samples() {
        let flat = mean_difference(&[2.0; 3], &[2.0; 4], Assignments::All).unwrap();
        assert_eq!((flat.statistic, flat.p().two_sided), (0.0, 1.0));
        let one = mean_difference(&[1.0], &[2.0], Assignments::All).unwrap();
        assert_eq!((one.assignments, one.as_far, one.as_small), (2, 2, 1));
        assert_eq!(paired(&[3.0], Assignments::All).unwrap().p().two_sided, 1.0);
        // A common part of 1e9 leaves the counts alone.
        let (x, y) = ([0.8, 0.83, 1.89, 1.04], [1.15, 0.88, 0.9]);
        let far = |v: &[f64]| -> Vec<f64> { v.iter().map(|v| v + 1e9).collect() };
        let near = mean_difference(&x, &y, Assignments::All).unwrap();
        assert_eq!(
            mean_difference(&far(&x), &far(&y), Assignments::All).unwrap().as_far,
            near.as_far
        );

        let draws = Assignments::Random { draws: 0, seed: 1 };
        assert!(mean_difference(&x, &y, draws).is_err());
        assert!(matches!(
            mean_difference(&[], &y, Assignments::All),
            Err(StatsError::Empty { .. })
        ));
        assert!(paired(&[1.0, f64::NAN], Assignments::All).is_err());
        assert!(matches!(paired(&[1.0; 40], Assignments::All), Err(StatsError::TooMany { .. })));
        let treated = [true, true, false];
        assert!(within_blocks(&y, &treated, &[0, 0], Assignments::All).is_err());
        assert!(within_blocks(&y, &treated[..2], &[0, 0, 0], Assignments::All).is_err());
        assert!(matches!(
            within_blocks(&y, &treated, &[0, 0, 1], Assignments::All),
            Err(StatsError::ConstantColumn { .. })
        ));
    }

    proptest! {
        #[test]
        fn order_shift_and_scale_leave_the_counts(
            mut x in prop::collection::vec((-40i32..40).prop_map(f64::from), 1..7),
            y in prop::collection::vec((-40i32..40).prop_map(f64::from), 1..7),
            shift in -1000i32..1000, scale in prop::sample::select(vec![0.1, 3.0, 1e9]),
        ) {
            let counts = |t: PermutationTest| (t.assignments, t.as_far, t.as_small, t.as_large);
            let test = mean_difference(&x, &y, Assignments::All).unwrap();
            let swapped = mean_difference(&y, &x, Assignments::All).unwrap();
            prop_assert!((test.statistic + swapped.statistic).abs() < 1e-9);
            prop_assert_eq!(
                counts(swapped),
                (test.assignments, test.as_far, test.as_large, test.as_small)
            );
            x.reverse();
            let moved = |v: &[f64]| -> Vec<f64> {
                v.iter().map(|v| scale * (v + f64::from(shift))).collect()
            };
            let found = mean_difference(&moved(&x), &moved(&y), Assignments::All).unwrap();
            prop_assert_eq!(counts(found), counts(test));
            prop_assert!(test.as_far >= 1 && test.as_small + test.as_large > test.assignments);
        }
    }
}
