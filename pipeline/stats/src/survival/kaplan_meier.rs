//! The product-limit estimator.

use super::followup::Followup;
use crate::distribution::two_sided_quantile;
use crate::error::{StatsError, require_level};
use crate::estimates::Interval;

/// What happened at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalStep {
    /// The time, in the unit of the follow-up.
    pub time: f64,
    /// Rows at risk just before it.
    pub at_risk: usize,
    /// Rows that end with the event.
    pub events: usize,
    /// Rows that end without event. Of a subject in several rows each but the last ends so.
    pub censored: usize,
    /// Kaplan–Meier estimate of P(T > time).
    pub survival: f64,
    /// Its standard error by Greenwood's formula; zero where survival is zero.
    pub std_error: f64,
}

impl SurvivalStep {
    /// Two-sided interval S^exp(± z·se/(S ln S)); `level` is 0.95 for 95 %. Symmetric in ln(−ln S), it
    /// stays between zero and one and keeps its level best in small samples: Borgan & Liestøl (1990),
    /// Scandinavian Journal of Statistics 17, 35–41.
    ///
    /// `None` where survival is zero: the variance then has nothing to say. Where it is one the
    /// interval has no width, which says that no event was seen so far, not that none can come.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `level` lies strictly between 0 and 1.
    pub fn interval(&self, level: f64) -> Result<Option<Interval>, StatsError> {
        require_level(level)?;
        let z = two_sided_quantile(level, f64::INFINITY);
        let Self { survival: s, std_error: se, .. } = *self;
        if s <= 0.0 {
            return Ok(None);
        }
        if se == 0.0 {
            return Ok(Some(Interval { lo: s, hi: s }));
        }
        // At S = 1 − ε the exponent is z·se/ε: finite, as se falls with ε.
        let stretch = (z * se / (s * -s.ln())).exp();
        let (lo, hi) = (s.powf(stretch), s.powf(1.0 / stretch));
        Ok(Some(Interval { lo: lo.max(0.0), hi: hi.min(1.0) }))
    }
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
/// 457–481; variance S² Σ d/(n(n − d)) by Greenwood (1926). Rows may enter late (left truncation);
/// a risk set of one at the start then brings the curve to zero for good: look at `at_risk`.
///
/// Assumes that censoring and entry tell nothing of the time to the event.
///
/// ```
/// use stats::{Followup, KaplanMeier};
///
/// let minutes = [200.0, 230.0, 230.0, 260.0, 300.0, 310.0];
/// let finished = [true, true, false, true, true, false];
/// let curve = KaplanMeier::fit(&Followup::right_censored(&minutes, &finished)?);
/// assert_eq!(curve.at_risk(&[229.0, 230.0, 231.0]), [5, 5, 3]);
/// let median = curve.quantile(0.5, 0.95)?;
/// assert_eq!(median.estimate, Some(260.0));
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct KaplanMeier {
    /// Every time at which a row ends, in order. The curve is one before the first and constant
    /// between them; nothing is known beyond the last.
    pub steps: Vec<SurvivalStep>,
    /// When rows end and when they start (empty: all from the very beginning), in order.
    stops: Vec<f64>,
    starts: Vec<f64>,
}

/// S within this of 1 − p counts as equal to it: 1 − 1/3 − 1/3 is not 1/3 in doubles.
const SAME_PROBABILITY: f64 = 1e-9;

impl KaplanMeier {
    /// Estimates from all rows. All rows censored is no error: the curve stays at one.
    pub fn fit(followup: &Followup) -> Self {
        let in_order = |times: &[f64]| {
            let mut times = times.to_vec();
            times.sort_unstable_by(f64::total_cmp);
            times
        };
        let mut curve = Self {
            steps: Vec::new(),
            stops: in_order(&followup.stop),
            starts: followup.start.as_deref().map_or(Vec::new(), in_order),
        };
        let mut order: Vec<usize> = (0..followup.rows()).collect();
        order.sort_unstable_by(|&a, &b| followup.stop[a].total_cmp(&followup.stop[b]));
        let (mut survival, mut variance) = (1.0, 0.0);
        for rows in order.chunk_by(|&a, &b| followup.stop[a] == followup.stop[b]) {
            let time = followup.stop[rows[0]];
            let events = rows.iter().filter(|&&row| followup.event[row]).count();
            let at_risk = curve.at_risk_at(time);
            if events == at_risk {
                survival = 0.0;
            } else {
                let (d, n) = (events as f64, at_risk as f64);
                survival *= 1.0 - d / n;
                variance += d / (n * (n - d));
            }
            curve.steps.push(SurvivalStep {
                time,
                at_risk,
                events,
                censored: rows.len() - events,
                survival,
                std_error: survival * f64::sqrt(variance),
            });
        }
        curve
    }

    /// Rows at risk just before each time: started before it and not ended before it.
    pub fn at_risk(&self, times: &[f64]) -> Vec<usize> {
        times.iter().map(|&time| self.at_risk_at(time)).collect()
    }

    fn at_risk_at(&self, time: f64) -> usize {
        // Rows that start at the time or later also end later, so this is their difference.
        let from = |times: &[f64]| times.len() - times.partition_point(|&t| t < time);
        from(&self.stops) - from(&self.starts)
    }

    /// Last time at which anything was observed.
    fn last(&self) -> f64 {
        self.stops[self.stops.len() - 1]
    }

    /// The time by which a share `p` has had the event (0.5 for the median), with the interval of
    /// Brookmeyer & Crowley (1982), Biometrics 38, 29–41: the times at which the pointwise interval
    /// of the curve crosses 1 − p.
    ///
    /// Where the curve is flat at exactly 1 − p the middle of the flat stretch is taken, as the
    /// median of an even number of times is the middle of two.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `p` and `level` lie strictly between 0 and 1.
    pub fn quantile(&self, p: f64, level: f64) -> Result<SurvivalQuantile, StatsError> {
        if !(p > 0.0 && p < 1.0) {
            return Err(StatsError::BadArgument {
                name: "p",
                value: p,
                expected: "the probability of a quantile lies strictly between 0 and 1",
            });
        }
        let mut curves = [const { Vec::new() }; 3];
        for step in &self.steps {
            let interval = step.interval(level)?;
            curves[0].push(step.survival);
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
        let end = next.map_or(self.last(), |position| self.steps[position].time);
        Some(0.5 * (time + end))
    }

    /// Restricted mean survival time: the area under the curve from zero to `tau`, in the unit of
    /// the times. Royston & Parmar (2013), "Restricted mean survival time: an alternative to the
    /// hazard ratio", BMC Medical Research Methodology 13, 152.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `tau` is positive; [`StatsError::BeyondObservation`] if
    /// it is later than anything observed while survival is not yet zero;
    /// [`StatsError::NotPositive`] if a row ends at a negative time.
    pub fn restricted_mean(&self, tau: f64) -> Result<f64, StatsError> {
        if tau.is_nan() || tau <= 0.0 {
            return Err(StatsError::BadArgument {
                name: "tau",
                value: tau,
                expected: "the horizon of a restricted mean is positive",
            });
        }
        let ended = self.steps.last().is_some_and(|step| step.survival <= 0.0);
        if tau > self.last() && !ended {
            return Err(StatsError::BeyondObservation { time: tau, last: self.last() });
        }
        if let Some(first) = self.steps.first().filter(|first| first.time < 0.0) {
            return Err(StatsError::NotPositive {
                what: "the times under a restricted mean".to_owned(),
                row: 0,
                value: first.time,
            });
        }
        let (mut area, mut from, mut height) = (0.0, 0.0, 1.0);
        for step in self.steps.iter().take_while(|step| step.time < tau) {
            area += (step.time - from) * height;
            (from, height) = (step.time, step.survival);
        }
        Ok(area + (tau - from) * height)
    }
}

#[cfg(test)]
#[path = "kaplan_meier_tests.rs"]
mod tests;
