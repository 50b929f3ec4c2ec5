//! The partial likelihood at given coefficients, with all that follows from one walk over the risk
//! sets.

use super::basis::Basis;
use super::risk_sets::RiskSets;
use nalgebra::{DMatrix, DVector};

/// The log partial likelihood and its parts at one vector of coefficients (coordinates of Q).
///
/// With rᵢ = exp(ηᵢ) the risks, the second derivative of the likelihood is Σ over events of
/// Σ rᵢxᵢxᵢ′/Σ rᵢ − x̄x̄′. Summed by rows instead of by events the first part is Σ rᵢΛᵢ xᵢxᵢ′ with
/// Λᵢ the hazard that row i lived through, so that no matrix need be carried from event to event;
/// the score is Σ (eventᵢ − rᵢΛᵢ) xᵢ.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Pass {
    pub(super) log_likelihood: f64,
    /// exp(ηᵢ − largest η), a row: the largest is taken off so that nothing overflows.
    pub(super) relative_risk: Vec<f64>,
    /// Increment of the cumulative hazard in a slot.
    hazard: Vec<f64>,
    /// The part of it that a row dying in the slot lives through.
    own_hazard: Vec<f64>,
    /// Cumulative hazard before a slot.
    cumulative: Vec<f64>,
    /// Mean covariates of the risk sets of a slot, averaged over its events; k a slot.
    pub(super) mean: Vec<f64>,
    /// Hazard times mean covariates in a slot; k a slot.
    mean_hazard: Vec<f64>,
    own_mean_hazard: Vec<f64>,
    cumulative_mean: Vec<f64>,
    pub(super) score: DVector<f64>,
    pub(super) information: DMatrix<f64>,
    k: usize,
}

impl Pass {
    /// `None` where the likelihood is not finite.
    pub(super) fn new(sets: &RiskSets, basis: &Basis, gamma: &DVector<f64>) -> Option<Self> {
        let k = basis.len();
        let slots = sets.slots();
        let mut eta: Vec<f64> = basis
            .q
            .chunks_exact(k)
            .map(|q| q.iter().zip(gamma.iter()).map(|(q, g)| q * g).sum())
            .collect();
        let largest = eta.iter().fold(f64::NEG_INFINITY, |top: f64, e| top.max(*e));
        let mut log_likelihood = 0.0;
        for (eta, &event) in eta.iter_mut().zip(&sets.event) {
            *eta -= largest;
            if event {
                log_likelihood += *eta;
            }
        }
        let risk: Vec<f64> = eta.iter().map(|e| e.exp()).collect();

        let mut pass = Self {
            log_likelihood,
            relative_risk: Vec::new(),
            hazard: vec![0.0; slots],
            own_hazard: vec![0.0; slots],
            cumulative: vec![0.0; slots],
            mean: vec![0.0; slots * k],
            mean_hazard: vec![0.0; slots * k],
            own_mean_hazard: vec![0.0; slots * k],
            cumulative_mean: vec![0.0; slots * k],
            score: DVector::zeros(k),
            information: DMatrix::zeros(k, k),
            k,
        };
        let mut outer = Packed::new(k);
        let mut scratch = vec![0.0; k];
        let mut sound = true;
        sets.walk(&risk, &basis.q, k, |slot, sums| {
            sets.shares(slot, sums, &mut scratch, |share| {
                sound &= share.risk > 0.0;
                let hazard = 1.0 / share.risk;
                let own = share.own * hazard;
                pass.log_likelihood -= share.risk.ln();
                pass.hazard[slot] += hazard;
                pass.own_hazard[slot] += own;
                outer.add(1.0, share.mean);
                let at = slot * k..(slot + 1) * k;
                let means = &mut pass.mean_hazard[at.clone()];
                means.iter_mut().zip(share.mean).for_each(|(sum, m)| *sum += hazard * m);
                let means = &mut pass.own_mean_hazard[at.clone()];
                means.iter_mut().zip(share.mean).for_each(|(sum, m)| *sum += own * m);
                let means = &mut pass.mean[at];
                means.iter_mut().zip(share.mean).for_each(|(sum, m)| *sum += m);
            });
        });
        for slot in 0..slots - 1 {
            pass.cumulative[slot + 1] = pass.cumulative[slot] + pass.hazard[slot];
            let events = sets.events_in(slot) as f64;
            for j in 0..k {
                let at = slot * k + j;
                pass.cumulative_mean[at + k] = pass.cumulative_mean[at] + pass.mean_hazard[at];
                pass.mean[at] /= events;
            }
        }
        let mut inner = Packed::new(k);
        let mut score = vec![0.0; k];
        for (row, q) in basis.q.chunks_exact(k).enumerate() {
            let expected = risk[row] * pass.lived_hazard(sets, row);
            let residual = f64::from(u8::from(sets.event[row])) - expected;
            score.iter_mut().zip(q).for_each(|(sum, q)| *sum += residual * q);
            inner.add(expected, q);
        }
        pass.relative_risk = risk;
        pass.score.copy_from_slice(&score);
        pass.information = inner.minus(&outer);
        let finite = sound
            && pass.log_likelihood.is_finite()
            && pass.score.iter().chain(pass.information.iter()).all(|x| x.is_finite());
        finite.then_some(pass)
    }

    /// The hazard Λᵢ that a row lived through, at relative risk one.
    pub(super) fn lived_hazard(&self, sets: &RiskSets, row: usize) -> f64 {
        let (first, end) = (sets.first[row], sets.end[row]);
        let lived = self.cumulative[end] - self.cumulative[first];
        let tied =
            if sets.event[row] { self.hazard[end - 1] - self.own_hazard[end - 1] } else { 0.0 };
        lived - tied
    }

    /// Σ hazard · mean covariates over the slots that a row lived through: element `j`.
    pub(super) fn lived_mean(&self, sets: &RiskSets, row: usize, j: usize) -> f64 {
        let at = |slot: usize| slot * self.k + j;
        let (first, end) = (sets.first[row], sets.end[row]);
        let lived = self.cumulative_mean[at(end)] - self.cumulative_mean[at(first)];
        let tied = if sets.event[row] {
            self.mean_hazard[at(end - 1)] - self.own_mean_hazard[at(end - 1)]
        } else {
            0.0
        };
        lived - tied
    }
}

/// Sum of outer products, lower triangle row by row.
struct Packed {
    k: usize,
    sums: Vec<f64>,
}

impl Packed {
    fn new(k: usize) -> Self {
        Self { k, sums: vec![0.0; k * (k + 1) / 2] }
    }

    fn add(&mut self, weight: f64, x: &[f64]) {
        let mut rest = self.sums.as_mut_slice();
        for (row, &a) in x.iter().enumerate() {
            let (own, after) = rest.split_at_mut(row + 1);
            let scaled = weight * a;
            own.iter_mut().zip(x).for_each(|(sum, b)| *sum += scaled * b);
            rest = after;
        }
    }

    fn minus(&self, other: &Self) -> DMatrix<f64> {
        DMatrix::from_fn(self.k, self.k, |row, column| {
            let (row, column) = (row.max(column), row.min(column));
            let at = row * (row + 1) / 2 + column;
            self.sums[at] - other.sums[at]
        })
    }
}
