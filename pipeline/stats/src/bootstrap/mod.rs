//! The bootstrap: standard errors and intervals for any statistic, by resampling rows or clusters.
//!
//! A statistic is a closure over the rows of a resample (repeated as drawn), so that data may have
//! any shape. The same seed gives the same resamples on every machine.
//!
//! ```
//! use stats::bootstrap::{Bootstrap, IntervalKind, QuantileRule};
//! use stats::describe::median;
//!
//! let minutes = [12.0, 45.0, 31.0, 22.0, 80.0, 41.0, 38.0, 19.0, 27.0, 33.0];
//! let statistic = |rows: &[usize]| {
//!     median(&rows.iter().map(|&row| minutes[row]).collect::<Vec<f64>>())
//! };
//! let bootstrap = Bootstrap::rows(minutes.len(), 2000, 1, statistic)?;
//! let interval = bootstrap.interval(IntervalKind::Bca, 0.9, QuantileRule::Type6)?;
//! assert!(interval.ends.lo < 32.0 && interval.ends.hi > 32.0);
//! # Ok::<(), stats::StatsError>(())
//! ```

mod interval;

pub use interval::{BootstrapInterval, IntervalKind, QuantileRule};

use crate::describe::{mean, standard_deviation};
use crate::error::{StatsError, require_length};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A bootstrapped statistic: its estimate, its value in every resample, and its jackknife values.
#[derive(Debug, Clone, PartialEq)]
pub struct Bootstrap {
    estimate: f64,
    replicates: Vec<f64>,
    sorted: Vec<f64>,
    jackknife: Vec<f64>,
}

impl Bootstrap {
    /// Resamples `rows` independent rows with replacement (Efron 1979, "Bootstrap methods: another
    /// look at the jackknife", Annals of Statistics 7, 1–26).
    ///
    /// The statistic is evaluated on all rows, on every resample and on all rows but one. Intervals
    /// at 95 % want some thousand resamples, [`IntervalKind::Bca`] more than percentile.
    ///
    /// # Errors
    /// Fewer than two rows or resamples, an error of the statistic, or a value of it that is not
    /// finite ([`StatsError::UndefinedStatistic`]).
    pub fn rows(
        rows: usize,
        resamples: usize,
        seed: u64,
        mut statistic: impl FnMut(&[usize]) -> Result<f64, StatsError>,
    ) -> Result<Self, StatsError> {
        require_rows(rows)?;
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut drawn = vec![0; rows];
        let replicates = (0..resamples).map(|resample| {
            draw(&mut random, &mut drawn);
            defined(statistic(&drawn)?, Some(resample))
        });
        let replicates = replicates.collect::<Result<Vec<f64>, StatsError>>()?;
        let all: Vec<usize> = (0..rows).collect();
        Self::finish(&all, replicates, leave_one_out(rows), statistic)
    }

    /// Uses resamples given as rows from zero, each as long as there are rows.
    ///
    /// # Errors
    /// As [`rows`](Self::rows), and a resample of another length or with a row that there is not.
    pub fn from_resamples<R: AsRef<[usize]>>(
        rows: usize,
        resamples: &[R],
        mut statistic: impl FnMut(&[usize]) -> Result<f64, StatsError>,
    ) -> Result<Self, StatsError> {
        require_rows(rows)?;
        let replicates = resamples.iter().enumerate().map(|(position, resample)| {
            let resample = resample.as_ref();
            require_length(&format!("resample {position}"), rows, resample.len())?;
            if let Some(&row) = resample.iter().find(|&&row| row >= rows) {
                return Err(StatsError::BadArgument {
                    name: "row of a resample",
                    value: row as f64,
                    expected: "rows count from zero to one less than there are",
                });
            }
            defined(statistic(resample)?, Some(position))
        });
        let replicates = replicates.collect::<Result<Vec<f64>, StatsError>>()?;
        let all: Vec<usize> = (0..rows).collect();
        Self::finish(&all, replicates, leave_one_out(rows), statistic)
    }

    /// Resamples whole clusters with replacement, for rows that are independent between clusters
    /// but not within (Davison & Hinkley 1997, Bootstrap Methods and their Application, section
    /// 3.8); the jackknife leaves out a cluster at a time. `clusters` has one label a row.
    ///
    /// A resample has as many clusters as there are, not always as many rows; a cluster drawn twice
    /// gives its rows twice. With few clusters (below some thirty) intervals come out too short.
    ///
    /// # Errors
    /// As [`rows`](Self::rows), or fewer than two clusters.
    pub fn clusters<C: Ord>(
        clusters: &[C],
        resamples: usize,
        seed: u64,
        mut statistic: impl FnMut(&[usize]) -> Result<f64, StatsError>,
    ) -> Result<Self, StatsError> {
        require_rows(clusters.len())?;
        let mut order: Vec<usize> = (0..clusters.len()).collect();
        order.sort_by(|&a, &b| clusters[a].cmp(&clusters[b]));
        let members: Vec<&[usize]> = order.chunk_by(|&a, &b| clusters[a] == clusters[b]).collect();
        if members.len() < 2 {
            return Err(StatsError::TooFewClusters { found: members.len() });
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
        let left_out = (0..members.len()).map(|out| {
            let kept = members.iter().enumerate().filter(|(position, _)| *position != out);
            kept.flat_map(|(_, rows)| rows.iter().copied()).collect()
        });
        let all: Vec<usize> = (0..clusters.len()).collect();
        Self::finish(&all, replicates, left_out, statistic)
    }

    fn finish(
        all: &[usize],
        replicates: Vec<f64>,
        left_out: impl Iterator<Item = Vec<usize>>,
        mut statistic: impl FnMut(&[usize]) -> Result<f64, StatsError>,
    ) -> Result<Self, StatsError> {
        if replicates.len() < 2 {
            return Err(StatsError::BadArgument {
                name: "resamples",
                value: replicates.len() as f64,
                expected: "a bootstrap needs at least two resamples, an interval a thousand",
            });
        }
        let estimate = defined(statistic(all)?, None)?;
        let jackknife = left_out.map(|rows| defined(statistic(&rows)?, None));
        let jackknife = jackknife.collect::<Result<Vec<f64>, StatsError>>()?;
        let mut sorted = replicates.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        Ok(Self { estimate, replicates, sorted, jackknife })
    }

    /// The statistic on all rows.
    pub fn estimate(&self) -> f64 {
        self.estimate
    }

    /// The statistic in each resample, in the order drawn.
    pub fn replicates(&self) -> &[f64] {
        &self.replicates
    }

    /// The statistic on all rows (or clusters) but one, one left out after the other.
    pub fn jackknife(&self) -> &[f64] {
        &self.jackknife
    }

    /// Standard error: standard deviation of the replicates.
    pub fn standard_error(&self) -> f64 {
        standard_deviation(&self.replicates).unwrap_or(f64::INFINITY)
    }

    /// Bias: mean of the replicates less the estimate.
    pub fn bias(&self) -> f64 {
        mean(&self.replicates).map_or(0.0, |mean| mean - self.estimate)
    }

    /// Standard error by the jackknife, √((n − 1)/n Σ(tᵢ − t̄)²) (Tukey 1958).
    pub fn jackknife_standard_error(&self) -> f64 {
        let n = self.jackknife.len() as f64;
        let squares: f64 = self.jackknife_deviations().map(|d| d * d).sum();
        ((n - 1.0) / n * squares).sqrt()
    }

    /// Bias by the jackknife, (n − 1)(t̄ − t) (Quenouille 1949).
    pub fn jackknife_bias(&self) -> f64 {
        let n = self.jackknife.len() as f64;
        (n - 1.0) * (self.jackknife_mean() - self.estimate)
    }

    /// Acceleration, Σd³/(6 (Σd²)^(3/2)) with d = t̄ − tᵢ over the jackknife values: how fast the
    /// standard error changes with the parameter (Efron & Tibshirani 1993, An Introduction to the
    /// Bootstrap, eq. 14.15). Zero where the jackknife values are all equal.
    pub fn acceleration(&self) -> f64 {
        let largest = self.jackknife_deviations().fold(0.0, |size: f64, d| size.max(d.abs()));
        if largest == 0.0 {
            return 0.0;
        }
        let (mut squares, mut cubes) = (0.0, 0.0);
        for deviation in self.jackknife_deviations().map(|d| d / largest) {
            squares += deviation * deviation;
            cubes -= deviation.powi(3);
        }
        cubes / (6.0 * squares.powf(1.5))
    }

    fn jackknife_mean(&self) -> f64 {
        mean(&self.jackknife).unwrap_or(self.estimate)
    }

    fn jackknife_deviations(&self) -> impl Iterator<Item = f64> + '_ {
        let centre = self.jackknife_mean();
        self.jackknife.iter().map(move |value| value - centre)
    }
}

fn require_rows(rows: usize) -> Result<(), StatsError> {
    if rows < 2 {
        let what = "a bootstrap".to_owned();
        return Err(StatsError::TooFewRows { what, needed: 2, found: rows });
    }
    Ok(())
}

/// Fills `drawn` with positions below its length.
pub(crate) fn draw(random: &mut ChaCha8Rng, drawn: &mut [usize]) {
    // Through u32, for the numbers drawn must not depend on the machine.
    let end = drawn.len() as u32;
    for row in drawn {
        *row = random.random_range(0..end) as usize;
    }
}

fn leave_one_out(rows: usize) -> impl Iterator<Item = Vec<usize>> {
    (0..rows).map(move |out| (0..rows).filter(|&row| row != out).collect())
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
mod tests;
