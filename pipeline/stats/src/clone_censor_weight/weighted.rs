//! An arm with its weights: curves, restricted means, incidences, effective sizes.

use super::arm::Arm;

/// An arm with a weight for each period: the product over the copy's periods up to and including
/// this one of one over the probability of what the strategy required.
#[derive(Debug, Clone)]
pub struct WeightedArm<'a> {
    arm: &'a Arm,
    /// Of each period, truncated, times how often its subject counts.
    weights: Vec<f64>,
    /// Of each period, before truncation, of the subject counted once.
    whole: Vec<f64>,
    /// How often each subject counts.
    times: Vec<f64>,
    cut: Option<f64>,
}

/// How the weights of an arm lie, over its periods.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightSummary {
    /// Sum of the weights as used, cut and counted.
    pub sum: f64,
    /// The same over the number of periods.
    pub mean: f64,
    /// Median before they are cut.
    pub median: f64,
    /// 95th percentile before they are cut.
    pub percentile_95: f64,
    /// 99th percentile before they are cut.
    pub percentile_99: f64,
    /// Largest before truncation.
    pub largest: f64,
    /// What weights were cut down to, if they were.
    pub cut: Option<f64>,
    /// Periods whose weight was cut.
    pub periods_cut: usize,
    /// Number of periods.
    pub periods: usize,
}

impl<'a> WeightedArm<'a> {
    pub(super) fn new(
        arm: &'a Arm,
        probabilities: &[Vec<f64>],
        times: &[f64],
        truncate_at: Option<f64>,
    ) -> Self {
        let mut whole = Vec::with_capacity(arm.periods.len());
        let mut before: Option<(usize, f64)> = None;
        for period in &arm.periods {
            let so_far = before.filter(|b| b.0 == period.subject).map_or(1.0, |b| b.1);
            let stays: f64 =
                period.requirements.iter().map(|r| r.probability(probabilities)).product();
            let weight = so_far / stays;
            before = Some((period.subject, weight));
            whole.push(weight);
        }
        let cut = truncate_at.and_then(|quantile| {
            let counted = whole.iter().zip(&arm.periods);
            weighted_quantile(counted.map(|(w, p)| (*w, times[p.subject])).collect(), quantile)
        });
        let weights = whole
            .iter()
            .zip(&arm.periods)
            .map(|(weight, period)| match times[period.subject] {
                // So that an infinite weight of a subject that was not drawn is nothing.
                0.0 => 0.0,
                often => cut.map_or(*weight, |cut| weight.min(cut)) * often,
            })
            .collect();
        Self { arm, weights, whole, times: times.to_vec(), cut }
    }

    /// Name of the strategy.
    pub fn name(&self) -> &str {
        &self.arm.name
    }

    /// Goes through every instant at which an end of a kind that `counts` comes: its time, the
    /// weight at risk just before, and the weight of those ends, by kind.
    fn sweep(
        &self,
        counts: impl Fn(usize) -> bool,
        mut visit: impl FnMut(f64, f64, &[(usize, f64)]),
    ) {
        let periods = &self.arm.periods;
        let mut starts = self.arm.by_start.iter().peekable();
        let mut stops = self.arm.by_stop.iter().peekable();
        let mut at_risk = 0.0;
        let mut ends: Vec<(usize, f64)> = Vec::new();
        let mut place = 0;
        while place < self.arm.by_stop.len() {
            let time = periods[self.arm.by_stop[place]].stop;
            ends.clear();
            while let Some(&position) = self.arm.by_stop.get(place)
                && periods[position].stop == time
            {
                place += 1;
                let weight = self.weights[position];
                if let Some(kind) = periods[position].end.filter(|kind| counts(*kind))
                    && weight > 0.0
                {
                    ends.push((kind, weight));
                }
            }
            if ends.is_empty() {
                continue;
            }
            while let Some(position) = starts.next_if(|p| periods[**p].start < time) {
                at_risk += self.weights[*position];
            }
            while let Some(position) = stops.next_if(|p| periods[**p].stop < time) {
                at_risk -= self.weights[*position];
            }
            visit(time, at_risk, &ends);
        }
    }

    /// The weighted product-limit curve of the ends of kinds that `counts` lists, other ends taken as censored: time
    /// and survival at each step.
    pub fn survival(&self, counts: &[usize]) -> Vec<(f64, f64)> {
        let mut curve = Vec::new();
        let mut survival = 1.0;
        self.sweep(
            |kind| counts.contains(&kind),
            |time, at_risk, ends| {
                let ended: f64 = ends.iter().map(|(_, weight)| weight).sum();
                survival *= (1.0 - ended / at_risk).max(0.0);
                curve.push((time, survival));
            },
        );
        curve
    }

    /// Area under that curve from zero to `horizon`: the mean of the time to the end, or of the
    /// horizon where that comes first. Beyond the last period at risk the curve is held.
    pub fn restricted_mean(&self, horizon: f64, counts: &[usize]) -> f64 {
        let (mut area, mut from, mut height) = (0.0, 0.0, 1.0);
        for (time, survival) in self.survival(counts) {
            if time >= horizon {
                break;
            }
            area += (time - from) * height;
            (from, height) = (time, survival);
        }
        area + (horizon - from) * height
    }

    /// Probability that an end of `kind` comes by `horizon`, the kinds `competing` being ends
    /// as well (Aalen & Johansen 1978, weighted).
    pub fn incidence(&self, kind: usize, horizon: f64, competing: &[usize]) -> f64 {
        let (mut incidence, mut survival) = (0.0, 1.0);
        self.sweep(
            |end| end == kind || competing.contains(&end),
            |time, at_risk, ends| {
                if time > horizon {
                    return;
                }
                let all: f64 = ends.iter().map(|(_, weight)| weight).sum();
                let own: f64 = ends.iter().filter(|e| e.0 == kind).map(|(_, weight)| weight).sum();
                incidence += survival * own / at_risk;
                survival *= (1.0 - all / at_risk).max(0.0);
            },
        );
        incidence
    }

    /// Copies at risk just before a time: how many, and their effective size (Σw)²/Σw² (Kish 1965,
    /// Survey Sampling).
    pub fn at_risk(&self, time: f64) -> (usize, f64) {
        let weights = self.arm.periods.iter().zip(&self.weights);
        let present = weights.filter(|(p, w)| p.start < time && p.stop >= time && **w > 0.0);
        effective(present.map(|(_, weight)| *weight))
    }

    /// The largest stop of a period before which the effective size at risk is at least `size`;
    /// zero if there is none.
    pub fn last_with_effective(&self, size: f64) -> f64 {
        let mut stops: Vec<f64> =
            self.arm.by_stop.iter().map(|&p| self.arm.periods[p].stop).collect();
        stops.dedup();
        stops.into_iter().rev().find(|&time| self.at_risk(time).1 >= size).unwrap_or(0.0)
    }

    /// The last period of each copy that `stays`, by subject: weight before truncation, weight
    /// used, and how it ended.
    fn last_periods(&self, stays: &[bool]) -> Vec<usize> {
        let periods = &self.arm.periods;
        (0..periods.len())
            .filter(|&place| {
                let last =
                    periods.get(place + 1).is_none_or(|n| n.subject != periods[place].subject);
                last && stays[periods[place].subject] && self.times[periods[place].subject] > 0.0
            })
            .collect()
    }

    /// Of the subjects for whom `stays` is true (whose copies were never censored): how many, and
    /// the effective size of their last weights.
    pub fn stayed(&self, stays: &[bool]) -> (usize, f64) {
        effective(self.last_periods(stays).into_iter().map(|place| self.weights[place]))
    }

    /// Mean probability of following the strategy to the end, over all subjects, as the
    /// untruncated weights of those who did have it: their number over the sum of their weights.
    pub fn probability_of_staying(&self, stays: &[bool]) -> f64 {
        let last = self.last_periods(stays);
        let total: f64 = last.iter().map(|&place| self.whole[place]).sum();
        if total > 0.0 { last.len() as f64 / total } else { 0.0 }
    }

    /// Of the subjects who followed the strategy, the smallest probability of that.
    pub fn least_probability(&self, stays: &[bool]) -> f64 {
        let last = self.last_periods(stays);
        last.iter().map(|&place| 1.0 / self.whole[place]).fold(1.0, f64::min)
    }

    /// Ends of a kind among the copies.
    pub fn ends(&self, kind: usize) -> usize {
        self.arm.periods.iter().filter(|period| period.end == Some(kind)).count()
    }

    /// How the weights lie.
    pub fn summary(&self) -> WeightSummary {
        let mut sorted = self.whole.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        let n = sorted.len();
        let at = |q: f64| {
            weighted_quantile(sorted.iter().map(|w| (*w, 1.0)).collect(), q).unwrap_or(1.0)
        };
        let sum: f64 = self.weights.iter().sum();
        WeightSummary {
            sum,
            mean: sum / n.max(1) as f64,
            median: at(0.5),
            percentile_95: at(0.95),
            percentile_99: at(0.99),
            largest: sorted.last().copied().unwrap_or(1.0),
            cut: self.cut,
            periods_cut: self.cut.map_or(0, |cut| self.whole.iter().filter(|w| **w > cut).count()),
            periods: n,
        }
    }
}

/// How many weights, and (Σw)²/Σw².
fn effective(weights: impl Iterator<Item = f64>) -> (usize, f64) {
    let (mut n, mut sum, mut squares) = (0, 0.0, 0.0);
    for weight in weights {
        n += 1;
        sum += weight;
        squares += weight * weight;
    }
    (n, if squares > 0.0 { sum * sum / squares } else { 0.0 })
}

/// The smallest value at or below which a share of the counted total lies (the inverse of the
/// distribution function); `None` where nothing counts.
fn weighted_quantile(mut values: Vec<(f64, f64)>, quantile: f64) -> Option<f64> {
    values.retain(|(_, times)| *times > 0.0);
    values.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let wanted = quantile * values.iter().map(|(_, times)| times).sum::<f64>();
    let mut so_far = 0.0;
    for (value, times) in &values {
        so_far += times;
        if so_far >= wanted {
            return Some(*value);
        }
    }
    values.last().map(|(value, _)| *value)
}
