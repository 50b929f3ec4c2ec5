//! What would come of a strategy, from subjects who were free to follow it or not.
//!
//! Who starts a treatment late has lived long enough to do so, and often starts it because of how
//! things were going. To set the early against the late as they turned out is wrong twice over
//! (immortal time; confounding by what happened on the way). **Clone, censor, weight**: every
//! subject is copied into every strategy that is compared; a copy is censored in the period in
//! which its subject does something the strategy forbids; and copies that stay are weighted by the
//! inverse of the probability, given their history up to then, of having stayed, so that they stand
//! for those who left. The weighted survival curve is that of all subjects under the strategy if
//! the history holds everything that decides both on staying and on the outcome, if everybody could
//! have followed the strategy, and if the models of the decisions are right.
//!
//! Hernán & Robins (2016), American Journal of Epidemiology 183, 758–764; Cain et al. (2010),
//! International Journal of Biostatistics 6(2), article 18; Maringe et al. (2020), International
//! Journal of Epidemiology 49, 1719–1729; inverse probability of censoring weights: Robins &
//! Finkelstein (2000), Biometrics 56, 779–788.
//!
//! The caller describes time in **periods** of a subject, in which a [`Decision`] may be made; each
//! [`Decision`] is a pooled logistic regression over such periods. An [`Arm`] lists the periods
//! that the copies of its strategy stay in, each with what the strategy [requires](Requirement)
//! of the period. [`CloneCensorWeight`] fits the decisions, weights the arms, and resamples whole
//! clusters, fitting all anew each time.

mod arm;
mod decision;
mod weighted;

pub use arm::{Arm, Kind, Period, Requirement};
pub use decision::Decision;
pub use weighted::{WeightSummary, WeightedArm};

use crate::bootstrap::draw;
use crate::describe::standard_deviation;
use crate::error::{StatsError, require_length};
use decision::Fit;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Share of resamples that may fail (a decision model without a finite fit) before the whole
/// bootstrap counts as failed.
const MAY_FAIL: f64 = 0.1;

/// Subjects, decisions and arms, ready to be weighted.
#[derive(Debug, Clone)]
pub struct CloneCensorWeight {
    /// Cluster of each subject, numbered from zero.
    cluster: Vec<usize>,
    clusters: usize,
    decisions: Vec<Decision>,
    arms: Vec<Arm>,
    weighting: Weighting,
    fits: Vec<Fit>,
    /// Of each decision, by fold of those left out; one on all where there are no folds.
    held_out: Vec<Vec<Fit>>,
}

/// How copies are weighted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighting {
    /// The quantile of an arm's weights, over all its periods, above which weights are cut down to
    /// it (0.99 for the 99th percentile); `None` leaves them alone.
    pub truncate_at: Option<f64>,
    /// Into how many parts the clusters are divided so that a subject's probabilities come from
    /// models that have not seen its cluster; 1: all models see everybody.
    ///
    /// A model that has seen a subject finds what that subject did more probable than it was, the
    /// more so the more terms it has; the weights come out too small, and confounding stays.
    /// Chernozhukov et al. (2018), Econometrics Journal 21, C1–C68, call this cross-fitting.
    pub folds: usize,
}

impl Weighting {
    /// No weight is cut and no fold left out.
    pub const PLAIN: Self = Self { truncate_at: None, folds: 1 };
}

/// Statistics with their standard errors from a bootstrap over clusters.
#[derive(Debug, Clone, PartialEq)]
pub struct Resampled {
    /// Each statistic on all subjects.
    pub estimates: Vec<f64>,
    /// Standard deviation of each over the resamples.
    pub std_errors: Vec<f64>,
    /// Their values in every resample that could be fitted, in the order drawn.
    pub replicates: Vec<Vec<f64>>,
    /// Resamples that could not.
    pub failed: usize,
    /// Number of clusters that were resampled.
    pub clusters: usize,
}

impl CloneCensorWeight {
    /// Fits the decisions. `clusters` has one label a subject; decisions and arms name subjects by
    /// their position in it.
    ///
    /// # Errors
    /// No subjects; fewer than two clusters; a subject, decision or asked row that there is not;
    /// periods out of order; a quantile not strictly between 0 and 1; no folds; a decision without a finite
    /// fit even with Firth's penalty.
    pub fn new<C: Ord>(
        clusters: &[C],
        decisions: Vec<Decision>,
        arms: Vec<Arm>,
        weighting: Weighting,
    ) -> Result<Self, StatsError> {
        if clusters.is_empty() {
            return Err(StatsError::Empty { what: "the list of subjects".to_owned() });
        }
        require_quantile(weighting.truncate_at)?;
        if weighting.folds == 0 {
            return Err(StatsError::BadArgument {
                name: "folds",
                value: 0.0,
                expected: "one fold is all subjects",
            });
        }
        let mut labels: BTreeMap<&C, usize> = clusters.iter().map(|label| (label, 0)).collect();
        for (position, number) in labels.values_mut().enumerate() {
            *number = position;
        }
        if labels.len() < 2 {
            return Err(StatsError::TooFewClusters { found: labels.len() });
        }
        let cluster: Vec<usize> = clusters.iter().map(|label| labels[label]).collect();
        let subjects = cluster.len();
        for decision in &decisions {
            decision.check(subjects)?;
        }
        for arm in &arms {
            arm.check(subjects, &decisions)?;
        }
        let ones = vec![1.0; subjects];
        let fits =
            decisions.iter().map(|d| d.fit(&ones, None)).collect::<Result<Vec<_>, StatsError>>()?;
        let clusters = labels.len();
        let weighting = Weighting { folds: weighting.folds.min(clusters), ..weighting };
        let mut engine =
            Self { cluster, clusters, decisions, arms, weighting, fits, held_out: Vec::new() };
        engine.held_out = if weighting.folds == 1 {
            engine.fits.iter().map(|fit| vec![fit.clone()]).collect()
        } else {
            let decisions = engine.decisions.iter().zip(&engine.fits);
            decisions
                .map(|(decision, fit)| engine.fit_held_out(decision, &ones, fit))
                .collect::<Result<_, StatsError>>()?
        };
        Ok(engine)
    }

    /// The fold of a subject: clusters are dealt out in the order of their labels.
    fn fold(&self, subject: usize) -> usize {
        self.cluster[subject] % self.weighting.folds
    }

    /// Fits a decision without each fold in turn, with each subject counted so many times.
    fn fit_held_out(
        &self,
        decision: &Decision,
        times: &[f64],
        near: &Fit,
    ) -> Result<Vec<Fit>, StatsError> {
        let without = |fold: usize| {
            let counted = times.iter().enumerate();
            let counted: Vec<f64> = counted
                .map(|(subject, &times)| if self.fold(subject) == fold { 0.0 } else { times })
                .collect();
            decision.fit(&counted, Some(near))
        };
        (0..self.weighting.folds).map(without).collect()
    }

    /// Fits every decision on a resample: without each fold to one Newton step, which is near
    /// enough for a standard error.
    fn refit(&self, times: &[f64]) -> Result<Vec<Vec<Fit>>, StatsError> {
        let folds = self.weighting.folds;
        let refit = |(decision, near): (&Decision, &Fit)| {
            let all = decision.fit(times, Some(near))?;
            if folds == 1 {
                return Ok(vec![all]);
            }
            match decision.step_without(times, &all, |subject| self.fold(subject), folds) {
                Some(fits) => Ok(fits),
                None => self.fit_held_out(decision, times, &all),
            }
        };
        self.decisions.iter().zip(&self.fits).map(refit).collect()
    }

    /// The arms, in order, weighted on all subjects.
    pub fn weighted(&self) -> Vec<WeightedArm<'_>> {
        self.weigh(&self.held_out, &vec![1.0; self.cluster.len()])
    }

    /// Coefficients of a decision's model on all subjects, in the order of its design; `None` where the decision
    /// was always or never made, so that there is nothing to fit.
    pub fn coefficients(&self, decision: usize) -> Option<&[f64]> {
        self.fits.get(decision).and_then(Fit::coefficients)
    }

    /// The same copies and models with weights cut at another quantile, or not at all.
    ///
    /// # Errors
    /// A quantile not strictly between 0 and 1.
    pub fn truncated_at(mut self, quantile: Option<f64>) -> Result<Self, StatsError> {
        require_quantile(quantile)?;
        self.weighting.truncate_at = quantile;
        Ok(self)
    }

    fn weigh(&self, fits: &[Vec<Fit>], times: &[f64]) -> Vec<WeightedArm<'_>> {
        let asked = |(decision, fits): (&Decision, &Vec<Fit>)| {
            decision.asked(|subject| &fits[self.fold(subject)])
        };
        let probabilities: Vec<Vec<f64>> = self.decisions.iter().zip(fits).map(asked).collect();
        let cut = self.weighting.truncate_at;
        self.arms.iter().map(|arm| WeightedArm::new(arm, &probabilities, times, cut)).collect()
    }

    /// Statistics of the weighted arms, with standard errors from `resamples` draws of whole
    /// clusters with replacement; decisions, weights and truncation are computed anew in each
    /// (Davison & Hinkley 1997, Bootstrap Methods and their Application, section 3.8). All draws are made
    /// first and then worked out side by side: the same seed gives the same on every machine, whatever
    /// the number of its cores.
    ///
    /// `statistics` must give as many numbers every time. A draw on which it gives one that is not
    /// finite, or whose decisions cannot be fitted, is left out and counted.
    ///
    /// # Errors
    /// Fewer than two draws; a statistic of all subjects that is not finite; more than a tenth of
    /// the draws failed.
    pub fn bootstrap(
        &self,
        resamples: usize,
        seed: u64,
        statistics: &(dyn Fn(&[WeightedArm<'_>]) -> Vec<f64> + Sync),
    ) -> Result<Resampled, StatsError> {
        if resamples < 2 {
            return Err(StatsError::BadArgument {
                name: "resamples",
                value: resamples as f64,
                expected: "a bootstrap needs at least two resamples",
            });
        }
        let estimates = statistics(&self.weighted());
        if let Some(&value) = estimates.iter().find(|value| !value.is_finite()) {
            return Err(StatsError::UndefinedStatistic { resample: None, value });
        }
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut drawn = vec![0; self.clusters];
        let draws: Vec<Vec<u32>> = (0..resamples)
            .map(|_| {
                draw(&mut random, &mut drawn);
                let mut times = vec![0; self.clusters];
                for &cluster in &drawn {
                    times[cluster] += 1;
                }
                times
            })
            .collect();
        let resample = |times: &Vec<u32>| -> Option<Vec<f64>> {
            let times: Vec<f64> =
                self.cluster.iter().map(|&cluster| f64::from(times[cluster])).collect();
            let fits = self.refit(&times).ok()?;
            let values = statistics(&self.weigh(&fits, &times));
            values.iter().all(|value| value.is_finite()).then_some(values)
        };
        let worked_out: Vec<Option<Vec<f64>>> = draws.par_iter().map(resample).collect();
        let replicates: Vec<Vec<f64>> = worked_out.into_iter().flatten().collect();
        for values in &replicates {
            require_length("the statistics of a resample", estimates.len(), values.len())?;
        }
        let failed = resamples - replicates.len();
        if failed as f64 > MAY_FAIL * resamples as f64 {
            return Err(StatsError::NoConvergence {
                what: format!("the weighting in {failed} of {resamples} resamples"),
            });
        }
        let std_errors = (0..estimates.len())
            .map(|place| {
                let values: Vec<f64> = replicates.iter().map(|values| values[place]).collect();
                standard_deviation(&values)
            })
            .collect::<Result<Vec<_>, StatsError>>()?;
        Ok(Resampled { estimates, std_errors, replicates, failed, clusters: self.clusters })
    }
}

fn require_quantile(truncate_at: Option<f64>) -> Result<(), StatsError> {
    match truncate_at.filter(|quantile| !(*quantile > 0.0 && *quantile < 1.0)) {
        None => Ok(()),
        Some(value) => Err(StatsError::BadArgument {
            name: "truncate_at",
            value,
            expected: "a quantile lies strictly between 0 and 1",
        }),
    }
}

#[cfg(test)]
mod tests;
