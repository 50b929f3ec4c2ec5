//! The bootstrap: intervals for any statistic of rows that depend on each other within clusters, by
//! resampling whole clusters.
//!
//! A statistic is a closure over the rows of a resample (repeated as drawn), so that data may have
//! any shape. The same seed gives the same resamples on every machine.
//!
//! ```
//! use stats::bootstrap::Bootstrap;
//! use stats::describe::median;
//!
//! let minutes = [12.0, 45.0, 31.0, 22.0, 80.0, 41.0, 38.0, 19.0, 27.0, 33.0];
//! let fire = [1, 1, 2, 2, 3, 3, 4, 4, 5, 5];
//! let statistic = |rows: &[usize]| {
//!     median(&rows.iter().map(|&row| minutes[row]).collect::<Vec<f64>>())
//! };
//! let bootstrap = Bootstrap::clusters(&fire, 2000, 1, statistic)?;
//! let interval = bootstrap.percentile_interval(0.9)?;
//! assert!(interval.lo < 32.0 && interval.hi > 32.0);
//! # Ok::<(), stats::StatsError>(())
//! ```

use crate::error::{StatsError, require_level};
use crate::estimates::Interval;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A bootstrapped statistic: its estimate, and its value in every resample. Efron (1979), "Bootstrap
/// methods: another look at the jackknife", Annals of Statistics 7, 1–26.
#[derive(Debug, Clone, PartialEq)]
pub struct Bootstrap {
    estimate: f64,
    /// In ascending order.
    replicates: Vec<f64>,
}

impl Bootstrap {
    /// Resamples whole clusters with replacement, for rows that are independent between clusters
    /// but not within (Davison & Hinkley 1997, Bootstrap Methods and their Application, section
    /// 3.8). `clusters` has one label a row. The statistic is evaluated on all rows and on every
    /// resample; intervals at 95 % want some thousand.
    ///
    /// A resample has as many clusters as there are, not always as many rows; a cluster drawn twice
    /// gives its rows twice. With few clusters (below some thirty) intervals come out too short.
    ///
    /// # Errors
    /// Fewer than two rows, clusters or resamples, an error of the statistic, or a value of it that
    /// is not finite ([`StatsError::UndefinedStatistic`]).
    pub fn clusters<C: Ord>(
        clusters: &[C],
        resamples: usize,
        seed: u64,
        mut statistic: impl FnMut(&[usize]) -> Result<f64, StatsError>,
    ) -> Result<Self, StatsError> {
        if clusters.len() < 2 {
            let what = "a bootstrap".to_owned();
            return Err(StatsError::TooFewRows { what, needed: 2, found: clusters.len() });
        }
        let mut order: Vec<usize> = (0..clusters.len()).collect();
        order.sort_by(|&a, &b| clusters[a].cmp(&clusters[b]));
        let members: Vec<&[usize]> = order.chunk_by(|&a, &b| clusters[a] == clusters[b]).collect();
        if members.len() < 2 {
            return Err(StatsError::TooFewClusters { found: members.len() });
        }
        if resamples < 2 {
            return Err(StatsError::BadArgument {
                name: "resamples",
                value: resamples as f64,
                expected: "a bootstrap needs at least two resamples, an interval a thousand",
            });
        }
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut drawn = vec![0; members.len()];
        let mut rows = Vec::with_capacity(clusters.len());
        let replicates = (0..resamples).map(|resample| {
            draw(&mut random, &mut drawn);
            rows.clear();
            rows.extend(drawn.iter().flat_map(|&cluster| members[cluster]));
            defined(statistic(&rows)?, Some(resample))
        });
        let replicates = replicates.collect::<Result<Vec<f64>, StatsError>>()?;
        let all: Vec<usize> = (0..clusters.len()).collect();
        Ok(Self::new(defined(statistic(&all)?, None)?, replicates))
    }

    fn new(estimate: f64, mut replicates: Vec<f64>) -> Self {
        replicates.sort_unstable_by(f64::total_cmp);
        Self { estimate, replicates }
    }

    /// The statistic on all rows.
    pub fn estimate(&self) -> f64 {
        self.estimate
    }

    /// Quantiles of the replicates; `level` is 0.95 for 95 %. They lie at position (B + 1)p of the B
    /// sorted replicates, linear between them: type 6 of Hyndman & Fan (1996), The American
    /// Statistician 50, 361–365. Efron & Tibshirani (1993), An Introduction to the Bootstrap,
    /// chapter 13.
    ///
    /// # Errors
    /// A level outside 0 to 1.
    pub fn percentile_interval(&self, level: f64) -> Result<Interval, StatsError> {
        require_level(level)?;
        let lower = 0.5 * (1.0 - level);
        Ok(Interval { lo: self.quantile(lower), hi: self.quantile(1.0 - lower) })
    }

    fn quantile(&self, probability: f64) -> f64 {
        let count = self.replicates.len();
        let position = (count as f64 + 1.0) * probability;
        if position < 1.0 {
            return self.replicates[0];
        }
        let below = position.floor() as usize;
        if below >= count {
            return self.replicates[count - 1];
        }
        let (low, high) = (self.replicates[below - 1], self.replicates[below]);
        (low + (position - below as f64) * (high - low)).clamp(low, high)
    }
}

/// Fills `drawn` with positions below its length.
pub(crate) fn draw(random: &mut ChaCha8Rng, drawn: &mut [usize]) {
    // Through u32, for the numbers drawn must not depend on the machine.
    let end = drawn.len() as u32;
    for row in drawn {
        *row = random.random_range(0..end) as usize;
    }
}

fn defined(value: f64, resample: Option<usize>) -> Result<f64, StatsError> {
    // As everywhere: sums of squares of larger values could overflow.
    if value.abs() <= 1e60 {
        Ok(value)
    } else {
        Err(StatsError::UndefinedStatistic { resample, value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::describe::{median, standard_deviation};
    use crate::reference::{Table, close, expected, number, numbers};
    use proptest::prelude::*;

    fn correlation(rows: &[usize], x: &[f64], y: &[f64]) -> f64 {
        let n = rows.len() as f64;
        let centre = |v: &[f64]| rows.iter().map(|&row| v[row]).sum::<f64>() / n;
        let (mx, my) = (centre(x), centre(y));
        let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
        for &row in rows {
            let (dx, dy) = (x[row] - mx, y[row] - my);
            xx += dx * dx;
            yy += dy * dy;
            xy += dx * dy;
        }
        xy / (xx * yy).sqrt()
    }

    fn mean_of(values: &[f64]) -> impl FnMut(&[usize]) -> Result<f64, StatsError> + '_ {
        move |rows| {
            // From the first value, so that shifts and order of rows cost no digits.
            let base = values[0];
            let sum: f64 = rows.iter().map(|&row| values[row] - base).sum();
            Ok(base + sum / rows.len() as f64)
        }
    }

    /// R 4.2.2 on 4000 given resamples of the law school data (`law_school.json`). Efron & Tibshirani
    /// (1993) print the correlation 0.776.
    #[test]
    fn given_resamples_agree_with_r() {
        let (r, relative) = expected("law_school");
        let table = Table::read("law_school");
        let (x, y) = (table.numbers("lsat"), table.numbers("gpa"));
        let resamples = Table::read("law_school_resamples");
        let drawn: Vec<Vec<usize>> =
            resamples.names().iter().map(|name| resamples.labels(name)).collect();
        let replicates: Vec<f64> = (0..resamples.rows())
            .map(|resample| {
                let rows: Vec<usize> = drawn.iter().map(|column| column[resample]).collect();
                correlation(&rows, &x, &y)
            })
            .collect();
        for (replicate, expected) in replicates.iter().zip(numbers(&r["first_replicates"])) {
            close("replicate", *replicate, expected, relative);
        }
        let all: Vec<usize> = (0..x.len()).collect();
        let bootstrap = Bootstrap::new(correlation(&all, &x, &y), replicates);
        close("estimate", bootstrap.estimate(), number(&r["estimate"]), relative);
        for case in r["intervals"].as_array().unwrap() {
            let interval = bootstrap.percentile_interval(number(&case["level"])).unwrap();
            let ends = numbers(&case["percentile_type6"]);
            close("lo", interval.lo, ends[0], relative);
            close("hi", interval.hi, ends[1], relative);
        }
    }

    #[test]
    fn resamples_are_seeded_and_estimate_the_error_of_a_mean() {
        let values: Vec<f64> = (0..60).map(|i| f64::from(i * i % 37)).collect();
        let each: Vec<usize> = (0..60).collect();
        let run = |seed| Bootstrap::clusters(&each, 10_000, seed, mean_of(&values)).unwrap();
        let one = run(3);
        assert_eq!(one, run(3));
        assert_ne!(one, run(4));
        // The bootstrap variance of a mean is known: Σ(x − x̄)²/n².
        let sd = standard_deviation(&values).unwrap();
        let exact = sd * (59.0f64 / 60.0).sqrt() / 60.0f64.sqrt();
        let found = standard_deviation(&one.replicates).unwrap();
        assert!((found / exact - 1.0).abs() < 0.03);
    }

    /// Each cluster is drawn equally often.
    #[test]
    fn draws_are_uniform() {
        let mut counts = [0u32; 7];
        let statistic = |rows: &[usize]| {
            for &row in rows {
                counts[row] += 1;
            }
            Ok(rows[0] as f64)
        };
        Bootstrap::clusters(&[4, 2, 9, 1, 7, 3, 8], 20_000, 5, statistic).unwrap();
        // 20 000 expected; standard deviation 131. The estimate adds 1.
        assert!(counts.iter().all(|&count| (19_500..20_500).contains(&count)), "{counts:?}");
    }

    /// Rows that repeat within a cluster add nothing.
    #[test]
    fn clusters_are_what_is_resampled() {
        let values: Vec<f64> = (0..12).map(|i| f64::from(i * 7 % 11)).collect();
        let labels: Vec<usize> = (0..12).collect();
        let single = Bootstrap::clusters(&labels, 500, 9, mean_of(&values)).unwrap();
        let repeated: Vec<f64> = values.iter().flat_map(|v| [*v, *v]).collect();
        let labels: Vec<usize> = (0..24).map(|row| row / 2).collect();
        let doubled = Bootstrap::clusters(&labels, 500, 9, mean_of(&repeated)).unwrap();
        for (a, b) in doubled.replicates.iter().zip(&single.replicates) {
            assert!((a - b).abs() < 1e-12);
        }
        let each: Vec<usize> = (0..24).collect();
        let rowwise = Bootstrap::clusters(&each, 500, 9, mean_of(&repeated)).unwrap();
        let spread = |of: &Bootstrap| standard_deviation(&of.replicates).unwrap();
        assert!(spread(&rowwise) < 0.85 * spread(&doubled));
    }

    #[test]
    fn hard_samples() {
        let labels = [0, 1, 2, 3, 4];
        let run = |rows: usize, resamples, values: &[f64]| {
            Bootstrap::clusters(&labels[..rows], resamples, 1, mean_of(values))
        };
        let flat = run(5, 100, &[4.0; 5]).unwrap().percentile_interval(0.95).unwrap();
        assert_eq!((flat.lo, flat.hi), (4.0, 4.0));
        for (rows, resamples) in [(0, 100), (1, 100), (5, 0), (5, 1)] {
            assert!(run(rows, resamples, &[1.0; 5]).is_err());
        }
        let undefined = |rows: &[usize]| Ok(if rows[0] == 2 { f64::NAN } else { 1.0 });
        assert!(matches!(
            Bootstrap::clusters(&labels[..3], 50, 1, undefined),
            Err(StatsError::UndefinedStatistic { resample: Some(_), .. })
        ));
        let fails = |rows: &[usize]| median(&[f64::INFINITY, rows[0] as f64]);
        assert!(matches!(
            Bootstrap::clusters(&labels[..3], 50, 1, fails),
            Err(StatsError::NonFinite { .. })
        ));
        assert!(matches!(
            Bootstrap::clusters(&["a"; 9], 50, 1, mean_of(&[1.0; 9])),
            Err(StatsError::TooFewClusters { found: 1 })
        ));
        let two = run(2, 400, &[1.0, 3.0]).unwrap();
        for level in [0.0, 1.0, f64::NAN] {
            assert!(two.percentile_interval(level).is_err());
        }
        // 400 replicates cannot tell a level of 99.99 %: the outermost stand for it.
        let ends = two.percentile_interval(0.9999).unwrap();
        assert_eq!((ends.lo, ends.hi), (1.0, 3.0));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        #[test]
        fn intervals_follow_shift_and_scale(
            values in prop::collection::vec(-100.0f64..100.0, 5..25),
            shift in -1e3f64..1e3, scale in prop::sample::select(vec![-3.0, 0.01, 250.0]),
        ) {
            let moved: Vec<f64> = values.iter().map(|v| shift + scale * v).collect();
            let labels: Vec<usize> = (0..values.len()).collect();
            let run = |values: &[f64]| {
                let bootstrap = Bootstrap::clusters(&labels, 400, 1, mean_of(values)).unwrap();
                bootstrap.percentile_interval(0.9).unwrap()
            };
            let (near, far) = (run(&values), run(&moved));
            let ends = (shift + scale * near.lo, shift + scale * near.hi);
            let (lo, hi) = if scale > 0.0 { ends } else { (ends.1, ends.0) };
            let close = |a: f64, b: f64| (a - b).abs() < 1e-8 * (1e3 + scale.abs());
            prop_assert!(close(far.lo, lo) && close(far.hi, hi));
        }
    }
}
