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
    /// exp(ηᵢ − shift), a row.
    pub(super) relative_risk: Vec<f64>,
    /// Largest η of a stratum, taken off so that nothing overflows.
    pub(super) shift: Vec<f64>,
    /// Increment of the cumulative hazard in a slot.
    pub(super) hazard: Vec<f64>,
    /// The part of it that a row dying in the slot lives through.
    own_hazard: Vec<f64>,
    /// Cumulative hazard in the stratum before a slot.
    cumulative: Vec<f64>,
    /// Increment of the variance of the cumulative hazard in a slot, given the coefficients.
    pub(super) hazard_variance: Vec<f64>,
    /// Mean covariates of the risk sets of a slot, averaged over its events; k a slot.
    pub(super) mean: Vec<f64>,
    /// Hazard times mean covariates in a slot; k a slot.
    pub(super) mean_hazard: Vec<f64>,
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
        let mut log_likelihood = 0.0;
        let mut shift = Vec::with_capacity(sets.members.len());
        for members in &sets.members {
            let own = &mut eta[members.clone()];
            let top = own.iter().fold(f64::NEG_INFINITY, |top: f64, e| top.max(*e));
            for eta in own {
                *eta -= top;
            }
            shift.push(if members.is_empty() { 0.0 } else { top });
        }
        for ((eta, &event), weight) in eta.iter().zip(&sets.event).zip(&sets.weight) {
            if event {
                log_likelihood += weight * eta;
            }
        }
        let relative_risk: Vec<f64> = eta.iter().map(|e| e.exp()).collect();
        let risk = weighted(&relative_risk, sets);

        let mut pass = Self {
            log_likelihood,
            relative_risk,
            shift,
            hazard: vec![0.0; slots],
            own_hazard: vec![0.0; slots],
            cumulative: vec![0.0; slots],
            hazard_variance: vec![0.0; slots],
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
                let hazard = share.weight / share.risk;
                let own = share.own * hazard;
                pass.log_likelihood -= share.weight * share.risk.ln();
                pass.hazard[slot] += hazard;
                pass.own_hazard[slot] += own;
                pass.hazard_variance[slot] += hazard / share.risk;
                outer.add(share.weight, share.mean);
                let at = slot * k..(slot + 1) * k;
                let means = &mut pass.mean_hazard[at.clone()];
                means.iter_mut().zip(share.mean).for_each(|(sum, m)| *sum += hazard * m);
                let means = &mut pass.own_mean_hazard[at.clone()];
                means.iter_mut().zip(share.mean).for_each(|(sum, m)| *sum += own * m);
                let means = &mut pass.mean[at];
                means.iter_mut().zip(share.mean).for_each(|(sum, m)| *sum += share.weight * m);
            });
        });
        for slots in &sets.strata {
            for slot in slots.clone() {
                pass.cumulative[slot + 1] = pass.cumulative[slot] + pass.hazard[slot];
                let weight = sets.event_weight_of(slot);
                for j in 0..k {
                    let at = slot * k + j;
                    pass.cumulative_mean[at + k] = pass.cumulative_mean[at] + pass.mean_hazard[at];
                    pass.mean[at] /= weight;
                }
            }
        }
        let mut inner = Packed::new(k);
        let mut score = vec![0.0; k];
        for (row, q) in basis.q.chunks_exact(k).enumerate() {
            let expected = risk[row] * pass.lived_hazard(sets, row);
            let residual = if sets.event[row] { sets.weight[row] } else { 0.0 } - expected;
            score.iter_mut().zip(q).for_each(|(sum, q)| *sum += residual * q);
            inner.add(expected, q);
        }
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

    /// Information of each event times a factor of its slot, summed.
    pub(super) fn weighted_information(
        &self,
        sets: &RiskSets,
        basis: &Basis,
        factor: &[f64],
    ) -> DMatrix<f64> {
        let k = self.k;
        let mut outer = Packed::new(k);
        let mut scratch = vec![0.0; k];
        let risk = weighted(&self.relative_risk, sets);
        sets.walk(&risk, &basis.q, k, |slot, sums| {
            sets.shares(slot, sums, &mut scratch, |share| {
                outer.add(share.weight * factor[slot], share.mean);
            });
        });
        let mut cumulative = vec![0.0; sets.slots()];
        for slots in &sets.strata {
            for slot in slots.clone() {
                cumulative[slot + 1] = cumulative[slot] + factor[slot] * self.hazard[slot];
            }
        }
        let mut inner = Packed::new(k);
        for (row, q) in basis.q.chunks_exact(k).enumerate() {
            let (first, end) = (sets.first[row], sets.end[row]);
            let mut lived = cumulative[end] - cumulative[first];
            if sets.event[row] {
                lived -= factor[end - 1] * (self.hazard[end - 1] - self.own_hazard[end - 1]);
            }
            inner.add(risk[row] * lived, q);
        }
        inner.minus(&outer)
    }

    /// Half the derivative of ln |information|, by each coefficient.
    ///
    /// It is ½ tr(V ∂I/∂γ) with V the inverse information, and ∂I/∂γⱼ the third central moments of
    /// the covariates over the risk sets. Written out and summed by rows:
    /// ½ Σ rᵢ [Λᵢ sᵢ xᵢ − sᵢ Gᵢ − 2 xᵢ xᵢ′V Gᵢ] + Σ over events of x̄ · x̄′Vx̄, where sᵢ = xᵢ′Vxᵢ and
    /// Gᵢ the hazard times mean covariates that row i lived through.
    pub(super) fn penalty_score(
        &self,
        sets: &RiskSets,
        basis: &Basis,
        inverse: &DMatrix<f64>,
    ) -> DVector<f64> {
        let k = self.k;
        let risk = weighted(&self.relative_risk, sets);
        let mut sum = DVector::zeros(k);
        let mut lived_mean = DVector::zeros(k);
        for (row, q) in basis.q.chunks_exact(k).enumerate() {
            let x = DVector::from_column_slice(q);
            for j in 0..k {
                lived_mean[j] = self.lived_mean(sets, row, j);
            }
            let along = inverse * &x;
            let size = along.dot(&x);
            let lived = self.lived_hazard(sets, row);
            let own = risk[row];
            sum.axpy(0.5 * own * (lived * size - 2.0 * along.dot(&lived_mean)), &x, 1.0);
            sum.axpy(-0.5 * own * size, &lived_mean, 1.0);
        }
        let mut scratch = vec![0.0; k];
        sets.walk(&risk, &basis.q, k, |slot, sums| {
            sets.shares(slot, sums, &mut scratch, |share| {
                let mean = DVector::from_column_slice(share.mean);
                let size = mean.dot(&(inverse * &mean));
                sum.axpy(share.weight * size, &mean, 1.0);
            });
        });
        sum
    }
}

fn weighted(relative_risk: &[f64], sets: &RiskSets) -> Vec<f64> {
    relative_risk.iter().zip(&sets.weight).map(|(risk, weight)| risk * weight).collect()
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
