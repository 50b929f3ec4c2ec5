//! Who is at risk at each event, and the sums over them that the partial likelihood is made of.
//!
//! A slot stands for each event time, in order; one closing slot without events comes after the last.
//! A row is at risk in the slots `first..end`. One walk from the last slot to the first lets every
//! row in once and out once.
//!
//! Tied events share a risk set as by Efron (1977), "The efficiency of Cox's likelihood function for
//! censored data", JASA 72, 557–565: the l-th of d tied events sees the others of them with weight
//! 1 − l/d, which is close to the likelihood of events in unknown order.

use crate::survival::followup::Followup;

#[derive(Debug, Clone, PartialEq)]
pub(super) struct RiskSets {
    /// Events in each slot.
    deaths: Vec<usize>,
    /// The rows that are at risk in some slot, by `end`, last first; what follows is in this order.
    pub(super) rows: Vec<usize>,
    pub(super) first: Vec<usize>,
    pub(super) end: Vec<usize>,
    pub(super) event: Vec<bool>,
    /// Positions of the rows by `first`, last first.
    leaving: Vec<usize>,
}

/// Sums over the rows at risk in a slot: of their risks, then of risk times covariate.
pub(super) struct Sums<'a> {
    total: &'a [f64],
    dying: &'a [f64],
}

/// One risk set as one event sees it.
pub(super) struct Share<'a> {
    /// What the dying count in this set.
    pub(super) own: f64,
    /// Sum of the risks.
    pub(super) risk: f64,
    /// Means of the covariates by risk.
    pub(super) mean: &'a [f64],
}

impl RiskSets {
    pub(super) fn new(followup: &Followup) -> Self {
        let ends_in_event = |row: &usize| followup.event[*row];
        let mut times: Vec<f64> =
            (0..followup.rows()).filter(ends_in_event).map(|row| followup.stop[row]).collect();
        times.sort_unstable_by(f64::total_cmp);
        times.dedup();
        let slots = times.len() + 1;

        let mut spans: Vec<(usize, usize, usize)> = Vec::with_capacity(followup.rows());
        let mut deaths = vec![0_usize; slots];
        for row in 0..followup.rows() {
            let end = times.partition_point(|&t| t <= followup.stop[row]);
            let first = match &followup.start {
                None => 0,
                Some(start) => times.partition_point(|&t| t <= start[row]),
            };
            if first < end {
                spans.push((first, end, row));
            }
            if followup.event[row] {
                deaths[end - 1] += 1;
            }
        }
        let by_end = in_descending_order(slots + 1, spans.iter().map(|span| span.1));
        let spans: Vec<_> = by_end.into_iter().map(|position| spans[position]).collect();
        let leaving = in_descending_order(slots + 1, spans.iter().map(|span| span.0));
        Self {
            deaths,
            rows: spans.iter().map(|span| span.2).collect(),
            first: spans.iter().map(|span| span.0).collect(),
            end: spans.iter().map(|span| span.1).collect(),
            event: spans.iter().map(|span| followup.event[span.2]).collect(),
            leaving,
        }
    }

    pub(super) fn slots(&self) -> usize {
        self.deaths.len()
    }

    /// Number of events in a slot.
    pub(super) fn events_in(&self, slot: usize) -> usize {
        self.deaths[slot]
    }

    /// Number of all events.
    pub(super) fn events(&self) -> usize {
        self.deaths.iter().sum()
    }

    /// Visits every slot that has events, last first, with the sums over its rows at risk. `risk`
    /// has one value a row, `covariates` k values a row.
    pub(super) fn walk(
        &self,
        risk: &[f64],
        covariates: &[f64],
        k: usize,
        mut visit: impl FnMut(usize, &Sums<'_>),
    ) {
        let mut sums = Compensated::new(k + 1);
        let mut total = vec![0.0; k + 1];
        let mut dying = vec![0.0; k + 1];
        let (mut entering, mut leaving, mut at_risk) = (0, 0, 0_usize);
        for slot in (0..self.slots()).rev() {
            while let Some(&row) = self.leaving.get(leaving) {
                if self.first[row] <= slot {
                    break;
                }
                sums.add(-risk[row], &covariates[row * k..(row + 1) * k]);
                leaving += 1;
                at_risk -= 1;
            }
            if at_risk == 0 {
                sums.clear();
            }
            dying.fill(0.0);
            while entering < self.rows.len() && self.end[entering] > slot {
                let own = &covariates[entering * k..(entering + 1) * k];
                sums.add(risk[entering], own);
                if self.event[entering] {
                    dying[0] += risk[entering];
                    for (sum, x) in dying[1..].iter_mut().zip(own) {
                        *sum += risk[entering] * x;
                    }
                }
                entering += 1;
                at_risk += 1;
            }
            if self.deaths[slot] > 0 {
                sums.values(&mut total);
                visit(slot, &Sums { total: &total, dying: &dying });
            }
        }
    }

    /// Visits the risk sets that the events of a slot see. `mean` is scratch space of k values.
    pub(super) fn shares(
        &self,
        slot: usize,
        sums: &Sums<'_>,
        mean: &mut [f64],
        mut visit: impl FnMut(Share<'_>),
    ) {
        let deaths = self.deaths[slot];
        for event in 0..deaths {
            let gone = event as f64 / deaths as f64;
            let risk = sums.total[0] - gone * sums.dying[0];
            for ((mean, total), dying) in
                mean.iter_mut().zip(&sums.total[1..]).zip(&sums.dying[1..])
            {
                *mean = (total - gone * dying) / risk;
            }
            visit(Share { own: 1.0 - gone, risk, mean });
        }
    }
}

/// Positions of keys below `bound` in descending order of the keys, by counting.
fn in_descending_order(bound: usize, keys: impl Iterator<Item = usize> + Clone) -> Vec<usize> {
    let mut place = vec![0_usize; bound + 1];
    let mut count = 0;
    for key in keys.clone() {
        place[bound - 1 - key + 1] += 1;
        count += 1;
    }
    for i in 1..place.len() {
        place[i] += place[i - 1];
    }
    let mut order = vec![0; count];
    for (position, key) in keys.enumerate() {
        let next = &mut place[bound - 1 - key];
        order[*next] = position;
        *next += 1;
    }
    order
}

/// Running sums that keep what rounding takes off: a large risk that leaves a risk set must not
/// take the small ones with it. Knuth, The Art of Computer Programming 2, 4.2.2, theorem B.
struct Compensated {
    high: Vec<f64>,
    low: Vec<f64>,
}

impl Compensated {
    fn new(len: usize) -> Self {
        Self { high: vec![0.0; len], low: vec![0.0; len] }
    }

    fn clear(&mut self) {
        self.high.fill(0.0);
        self.low.fill(0.0);
    }

    fn values(&self, into: &mut [f64]) {
        for ((value, high), low) in into.iter_mut().zip(&self.high).zip(&self.low) {
            *value = high + low;
        }
    }

    /// Adds `risk`, then `risk` times each covariate.
    fn add(&mut self, risk: f64, covariates: &[f64]) {
        fn one(high: &mut f64, low: &mut f64, x: f64) {
            let sum = *high + x;
            let part = sum - *high;
            *low += (*high - (sum - part)) + (x - part);
            *high = sum;
        }
        one(&mut self.high[0], &mut self.low[0], risk);
        for ((high, low), x) in self.high[1..].iter_mut().zip(&mut self.low[1..]).zip(covariates) {
            one(high, low, risk * x);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_at_risk_from_after_their_start_until_their_stop() {
        let followup = Followup::start_stop(
            &[0.0, 3.0, 0.0, 1.0],
            &[3.0, 5.0, 5.0, 2.0],
            &[true, true, false, false],
        )
        .unwrap();
        let sets = RiskSets::new(&followup);
        assert_eq!(sets.deaths, [1, 1, 0]);
        // The last row is at risk at no event.
        let mut spans: Vec<_> =
            (0..3).map(|i| (sets.rows[i], sets.first[i], sets.end[i])).collect();
        spans.sort_unstable();
        assert_eq!(spans, [(0, 0, 1), (1, 1, 2), (2, 0, 2)]);
        let mut seen = Vec::new();
        sets.walk(&[1.0; 3], &[], 0, |slot, sums| seen.push((slot, sums.total[0])));
        assert_eq!(seen, [(1, 2.0), (0, 2.0)]);
    }

    #[test]
    fn a_large_risk_that_leaves_does_not_take_the_small_with_it() {
        let mut sums = Compensated::new(1);
        for risk in [1e-12, 1e15, 3e-12, -1e15] {
            sums.add(risk, &[]);
        }
        let mut value = [0.0];
        sums.values(&mut value);
        assert!((value[0] - 4e-12).abs() < 1e-26);
    }
}
