//! Test of proportional hazards.

use super::{Cox, Fitted};
use crate::error::StatsError;
use crate::survival::chi_square::ChiSquareTest;
use crate::survival::kaplan_meier::KaplanMeier;
use nalgebra::DVector;

/// The function g of time in the alternative that a coefficient is β + θ·g(t).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeTransform {
    /// g(t) = t. Sensitive to a few late events.
    Identity,
    /// g(t) = ln t.
    Log,
    /// Rank of t among the stops of all rows, ties in the middle. Depends on how subjects are split
    /// into rows.
    Rank,
    /// One less the Kaplan–Meier estimate of all rows, just before t: robust against long tails,
    /// the usual choice.
    KaplanMeier,
}

/// Score test of proportional hazards.
#[derive(Debug, Clone, PartialEq)]
pub struct ProportionalHazardsTest {
    /// For each term, in the order of the design, whether its coefficient changes with g(t); one
    /// degree of freedom.
    pub terms: Vec<(String, ChiSquareTest)>,
    /// Whether any coefficient does; as many degrees of freedom as terms.
    pub global: ChiSquareTest,
}

impl Cox {
    /// Score test that θ = 0 where the coefficients are β + θ·g(t): Grambsch & Therneau (1994),
    /// "Proportional hazards tests and diagnostics based on weighted residuals", Biometrika 81,
    /// 515–526, in its exact form (the covariance of the score at θ = 0, not its average over
    /// events). With robust errors too it uses the model-based covariance.
    ///
    /// # Errors
    /// [`StatsError::NotPositive`] for the logarithm of an event time that is not positive;
    /// [`StatsError::TooFewRows`] where there are too few events at different times.
    pub fn proportional_hazards_test(
        &self,
        transform: TimeTransform,
    ) -> Result<ProportionalHazardsTest, StatsError> {
        let Fitted { sets, basis, pass, .. } = &self.rows_at_risk;
        let factor = self.transformed_times(transform)?;
        let k = basis.len();
        let squares: Vec<f64> = factor.iter().map(|g| g * g).collect();
        let cross = pass.weighted_information(sets, basis, &factor);
        let own = pass.weighted_information(sets, basis, &squares);
        let efficient = own - &cross * &self.rows_at_risk.inverse * cross.transpose();

        let mut score = DVector::zeros(k);
        for (row, q) in basis.q.chunks_exact(k).enumerate() {
            if sets.event[row] {
                let slot = sets.end[row] - 1;
                let mean = &pass.mean[slot * k..(slot + 1) * k];
                for j in 0..k {
                    score[j] += sets.weight[row] * factor[slot] * (q[j] - mean[j]);
                }
            }
        }
        // Back to the columns of the design, each with its own scale, for the single terms.
        let term_score = basis.r.transpose() * &score;
        let term_variance = basis.r.transpose() * &efficient * &basis.r;
        let eigen = efficient.symmetric_eigen();
        if eigen.eigenvalues.min() < 1e-9 * sets.event_weight() {
            return Err(too_few(k, self.events));
        }
        let along = eigen.eigenvectors.transpose() * &score;
        let global = along.iter().zip(eigen.eigenvalues.iter()).map(|(a, v)| a * a / v).sum();
        let terms = self
            .estimates
            .names()
            .iter()
            .enumerate()
            .map(|(j, name)| {
                let statistic = term_score[j] * (term_score[j] / term_variance[(j, j)]);
                (name.clone(), ChiSquareTest { statistic, df: 1 })
            })
            .collect();
        Ok(ProportionalHazardsTest { terms, global: ChiSquareTest { statistic: global, df: k } })
    }

    /// g at each slot, less its mean over the events and in units of its spread; the test does not
    /// depend on either.
    fn transformed_times(&self, transform: TimeTransform) -> Result<Vec<f64>, StatsError> {
        let Fitted { sets, followup, .. } = &self.rows_at_risk;
        let mut values = match transform {
            TimeTransform::Identity => sets.times.clone(),
            TimeTransform::Log => {
                if let Some(row) =
                    (0..self.n).find(|&row| followup.event[row] && followup.stop[row] <= 0.0)
                {
                    return Err(StatsError::NotPositive {
                        what: "the event times under a logarithm".to_owned(),
                        row,
                        value: followup.stop[row],
                    });
                }
                sets.times.iter().map(|t| t.ln()).collect()
            }
            TimeTransform::Rank => {
                let mut stops = followup.stop.clone();
                stops.sort_unstable_by(f64::total_cmp);
                let rank = |t: &f64| {
                    let before = stops.partition_point(|s| s < t);
                    let until = stops.partition_point(|s| s <= t);
                    0.5 * (before + until) as f64
                };
                sets.times.iter().map(rank).collect()
            }
            TimeTransform::KaplanMeier => {
                let curve = KaplanMeier::fit(followup, None)?;
                sets.times.iter().map(|&t| 1.0 - curve.survival_before(t)).collect()
            }
        };
        let events = self.events as f64;
        let sum = |values: &[f64], centre: f64, power: i32| -> f64 {
            let deaths = sets.deaths.iter().zip(values).filter(|(deaths, _)| **deaths > 0);
            deaths.map(|(&deaths, value)| deaths as f64 * (value - centre).powi(power)).sum()
        };
        let largest = sets
            .deaths
            .iter()
            .zip(&values)
            .filter(|(deaths, _)| **deaths > 0)
            .fold(0.0, |size: f64, (_, value)| size.max(value.abs()));
        let centre = sum(&values, 0.0, 1) / events;
        let spread = (sum(&values, centre, 2) / events).sqrt();
        if spread <= 8.0 * f64::EPSILON * largest {
            return Err(too_few(sets.strata.len(), self.events));
        }
        for (value, &deaths) in values.iter_mut().zip(&sets.deaths) {
            *value = if deaths > 0 { (*value - centre) / spread } else { 0.0 };
        }
        Ok(values)
    }
}

fn too_few(terms: usize, events: usize) -> StatsError {
    StatsError::TooFewRows {
        what: "a test of proportional hazards by events at different times".to_owned(),
        needed: terms + 2,
        found: events,
    }
}
