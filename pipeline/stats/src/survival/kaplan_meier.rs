//! The product-limit estimator.

use super::curve::{IntervalScale, SurvivalCurve, SurvivalPoint};
use super::followup::{Followup, case_weights};
use crate::error::StatsError;
use crate::estimates::Estimate;

/// What happened at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalStep {
    /// The time.
    pub time: f64,
    /// Sum of the weights of the rows at risk just before it.
    pub at_risk: f64,
    /// Sum of the weights of the events.
    pub events: f64,
    /// Sum of the weights of the rows that end without event. Of a subject in several rows each but
    /// the last ends so.
    pub censored: f64,
    /// Kaplan–Meier estimate of P(T > time).
    pub survival: f64,
    /// Its standard error by Greenwood's formula; zero where survival is zero.
    pub std_error: f64,
    /// Nelson–Aalen estimate of the cumulative hazard, Σ events/at risk.
    pub cumulative_hazard: f64,
}

/// A quantile of the time to the event. An end is `None` where the curve does not come down so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalQuantile {
    /// Earliest time at which the curve is at or below 1 − p.
    pub estimate: Option<f64>,
    /// Lower end of its interval.
    pub lo: Option<f64>,
    /// Upper end of its interval.
    pub hi: Option<f64>,
}

/// The Kaplan–Meier estimate of a survival curve, S(t) = Π (1 − dⱼ/nⱼ) over event times up to t.
///
/// Kaplan & Meier (1958), "Nonparametric estimation from incomplete observations", JASA 53,
/// 457–481; variance S² Σ d/(n(n − d)) by Greenwood (1926). Rows may enter late (left truncation)
/// and have weights; Greenwood's variance takes a weight as that many like rows, so for weights of
/// another kind (inverse probabilities) take standard errors from a bootstrap. With late entry a
/// risk set of one at the start brings the curve to zero for good: look at `at_risk`.
///
/// Assumes that censoring and entry tell nothing of the time to the event.
///
/// ```
/// use stats::{Followup, IntervalScale, KaplanMeier};
///
/// let minutes = [200.0, 230.0, 230.0, 260.0, 300.0, 310.0];
/// let finished = [true, true, false, true, true, false];
/// let curve = KaplanMeier::fit(&Followup::right_censored(&minutes, &finished)?, None)?;
/// assert_eq!(curve.at_risk(&[229.0, 230.0, 231.0]), [5.0, 5.0, 3.0]);
/// let median = curve.quantile(0.5, 0.95, IntervalScale::LogLog)?;
/// assert_eq!(median.estimate, Some(260.0));
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct KaplanMeier {
    /// Every time at which a row ends, in order.
    pub steps: Vec<SurvivalStep>,
    /// Rows.
    pub n: usize,
    /// Rows that end with the event.
    pub events: usize,
    curve: SurvivalCurve,
    /// Σ d/(n(n − d)) of each step alone; zero at the step that brings the curve to zero.
    greenwood: Vec<f64>,
    stops: Accumulated,
    starts: Accumulated,
}

/// Times in order with the sum of the weights from each to the last.
#[derive(Debug, Clone, PartialEq)]
struct Accumulated {
    times: Vec<f64>,
    weight_from: Vec<f64>,
}

impl Accumulated {
    fn new(mut pairs: Vec<(f64, f64)>) -> Self {
        pairs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let mut weight_from = vec![0.0; pairs.len() + 1];
        for (position, pair) in pairs.iter().enumerate().rev() {
            weight_from[position] = weight_from[position + 1] + pair.1;
        }
        Self { times: pairs.into_iter().map(|pair| pair.0).collect(), weight_from }
    }

    /// Sum of the weights of times that are not before `time`, and how many they are.
    fn from(&self, time: f64) -> (f64, usize) {
        let position = self.times.partition_point(|&t| t < time);
        (self.weight_from[position], self.times.len() - position)
    }
}

/// S within this of 1 − p counts as equal to it: 1 − 1/3 − 1/3 is not 1/3 in doubles.
const SAME_PROBABILITY: f64 = 1e-9;

impl KaplanMeier {
    /// Estimates from all rows; `weights` (one a row, not negative) default to one.
    ///
    /// # Errors
    /// Bad weights. All rows censored is no error: the curve stays at one.
    pub fn fit(followup: &Followup, weights: Option<&[f64]>) -> Result<Self, StatsError> {
        let n = followup.rows();
        let weights = case_weights(weights, n)?;
        let mut order: Vec<usize> = (0..n).filter(|&row| weights[row] > 0.0).collect();
        order.sort_unstable_by(|&a, &b| followup.stop[a].total_cmp(&followup.stop[b]));
        let stops =
            Accumulated::new(order.iter().map(|&row| (followup.stop[row], weights[row])).collect());
        let starts = Accumulated::new(match &followup.start {
            None => Vec::new(),
            Some(start) => order.iter().map(|&row| (start[row], weights[row])).collect(),
        });

        let mut steps = Vec::new();
        let mut greenwood = Vec::new();
        let (mut survival, mut variance, mut cumulative_hazard) = (1.0, 0.0, 0.0);
        for rows in order.chunk_by(|&a, &b| followup.stop[a] == followup.stop[b]) {
            let time = followup.stop[rows[0]];
            let (mut events, mut censored, mut dying) = (0.0, 0.0, 0);
            for &row in rows {
                if followup.event[row] {
                    events += weights[row];
                    dying += 1;
                } else {
                    censored += weights[row];
                }
            }
            let (ending, ending_rows) = stops.from(time);
            let (entering, entering_rows) = starts.from(time);
            // Rows that enter later also end later, so this is the weight of those at risk now; the
            // counts are exact where the difference of the sums has rounded.
            let last_die = ending_rows - entering_rows == dying;
            let at_risk = if last_die { events } else { ending - entering };
            let mut part = 0.0;
            if dying > 0 {
                cumulative_hazard += events / at_risk;
                if last_die {
                    survival = 0.0;
                } else {
                    survival *= 1.0 - events / at_risk;
                    part = events / (at_risk * (at_risk - events));
                }
            }
            variance += part;
            greenwood.push(part);
            let std_error = survival * f64::sqrt(variance);
            steps.push(SurvivalStep {
                time,
                at_risk,
                events,
                censored,
                survival,
                std_error,
                cumulative_hazard,
            });
        }
        let points = steps
            .iter()
            .map(|step| SurvivalPoint {
                time: step.time,
                survival: step.survival,
                std_error: step.std_error,
            })
            .collect();
        let last = steps.last().map_or(f64::NEG_INFINITY, |step| step.time);
        Ok(Self {
            steps,
            n,
            events: followup.events(),
            curve: SurvivalCurve::new(points, last),
            greenwood,
            stops,
            starts,
        })
    }

    /// The curve, with Greenwood's standard errors.
    pub fn curve(&self) -> &SurvivalCurve {
        &self.curve
    }

    /// Sum of the weights of the rows at risk just before each time: started before it and not
    /// ended before it.
    pub fn at_risk(&self, times: &[f64]) -> Vec<f64> {
        let at = |&time: &f64| self.stops.from(time).0 - self.starts.from(time).0;
        times.iter().map(at).collect()
    }

    /// Survival just before a time, S(t−).
    pub(super) fn survival_before(&self, time: f64) -> f64 {
        let before = self.steps.partition_point(|step| step.time < time);
        before.checked_sub(1).map_or(1.0, |position| self.steps[position].survival)
    }

    /// The time by which a share `p` has had the event (0.5 for the median), with the interval of
    /// Brookmeyer & Crowley (1982), Biometrics 38, 29–41: the times at which the pointwise interval
    /// of the curve, on the scale given, crosses 1 − p.
    ///
    /// Where the curve is flat at exactly 1 − p the middle of the flat stretch is taken, as the
    /// median of an even number of times is the middle of two.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `p` and `level` lie strictly between 0 and 1.
    pub fn quantile(
        &self,
        p: f64,
        level: f64,
        scale: IntervalScale,
    ) -> Result<SurvivalQuantile, StatsError> {
        if !(p > 0.0 && p < 1.0) {
            return Err(StatsError::BadArgument {
                name: "p",
                value: p,
                expected: "the probability of a quantile lies strictly between 0 and 1",
            });
        }
        let mut curves = [const { Vec::new() }; 3];
        for point in self.curve.points() {
            let interval = point.interval(level, scale)?;
            curves[0].push(point.survival);
            // At zero only the estimate is known to be there.
            curves[1].push(interval.map_or(0.0, |ends| ends.lo));
            let before = curves[2].last().copied().unwrap_or(1.0);
            curves[2].push(interval.map_or(before, |ends| ends.hi));
        }
        let [estimate, lo, hi] = curves.map(|values| self.crossing(&values, 1.0 - p));
        Ok(SurvivalQuantile { estimate, lo, hi })
    }

    /// Where a curve, one value a step, comes down to `level`.
    fn crossing(&self, values: &[f64], level: f64) -> Option<f64> {
        let first = values.iter().position(|&value| value <= level + SAME_PROBABILITY)?;
        let time = self.steps[first].time;
        if values[first] < level - SAME_PROBABILITY {
            return Some(time);
        }
        let next = values.iter().position(|&value| value < level - SAME_PROBABILITY);
        let end = next.map_or(self.curve.last(), |position| self.steps[position].time);
        Some(0.5 * (time + end))
    }

    /// Restricted mean survival time: the area under the curve from zero to `tau`, in the unit of
    /// the times, with standard error √Σ Aⱼ² dⱼ/(nⱼ(nⱼ − dⱼ)), Aⱼ the area from the event time to
    /// `tau`. Royston & Parmar (2013), "Restricted mean survival time: an alternative to the hazard
    /// ratio", BMC Medical Research Methodology 13, 152.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `tau` is positive; [`StatsError::BeyondObservation`] if
    /// it is later than anything observed while survival is not yet zero;
    /// [`StatsError::NotPositive`] if a row ends at a negative time.
    pub fn restricted_mean(&self, tau: f64) -> Result<Estimate, StatsError> {
        let estimate = self.curve.restricted_mean(tau)?;
        let mut variance = 0.0;
        let mut area = 0.0;
        let mut end = tau;
        for (step, part) in self.steps.iter().zip(&self.greenwood).rev() {
            if step.time > tau {
                continue;
            }
            area += (end - step.time) * step.survival;
            end = step.time;
            variance += area * area * part;
        }
        Ok(Estimate { estimate, std_error: variance.sqrt(), df: f64::INFINITY })
    }

    /// Restricted mean of this curve less that of another, of independent rows.
    ///
    /// # Errors
    /// Those of [`restricted_mean`](Self::restricted_mean) for either curve.
    pub fn restricted_mean_difference(
        &self,
        other: &Self,
        tau: f64,
    ) -> Result<Estimate, StatsError> {
        let (own, other) = (self.restricted_mean(tau)?, other.restricted_mean(tau)?);
        Ok(Estimate {
            estimate: own.estimate - other.estimate,
            std_error: own.std_error.hypot(other.std_error),
            df: f64::INFINITY,
        })
    }
}

#[cfg(test)]
#[path = "kaplan_meier_tests.rs"]
mod tests;
