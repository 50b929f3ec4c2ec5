//! Proportional-hazards regression.

mod basis;
mod maximum;
mod pass;
mod risk_sets;

use super::followup::Followup;
use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_length};
use crate::estimates::Estimates;
use crate::least_squares::Clusters;
use basis::Basis;
use maximum::{Failure, Maximum, maximum};
use nalgebra::{DMatrix, DVector};
use risk_sets::RiskSets;

/// How the covariance of the coefficients is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CoxErrors<'a> {
    /// Inverse of the observed information: right if hazards are proportional and rows independent
    /// given the past.
    #[default]
    Model,
    /// The sandwich of Lin & Wei (1989), "The robust inference for the Cox proportional hazards
    /// model", JASA 84, 1074–1078: Σ dₘdₘ′ with dₘ the change of the coefficients by the rows of
    /// cluster m (one label a row): rows of one subject, or subjects that depend on each other. No
    /// small-sample factor; with few clusters it errs towards standard errors that are too small.
    Clustered(&'a [usize]),
}

/// A fitted proportional-hazards regression: the hazard of a row at time t is h₀(t)·exp(x′β), with
/// h₀ free.
///
/// Cox (1972), "Regression models and life-tables", JRSS B 34, 187–220; with rows `(start, stop]`
/// as counting processes Andersen & Gill (1982), Annals of Statistics 10, 1100–1120. The design
/// needs no intercept (it is constant and refused as such). Coefficients are log hazard ratios. Tied
/// events share their risk set by Efron's rule (1977, JASA 72, 557–565).
///
/// Assumes that hazards are proportional, and that censoring tells nothing of the event given the
/// covariates. A covariate may vary in time, but must be known before each event:
/// "ever treated" as a fixed covariate of people who had to live long enough to be treated is the
/// classic error.
///
/// ```
/// use stats::{Cox, CoxErrors, Design, Followup};
///
/// let weeks = [6.0, 6.0, 7.0, 10.0, 13.0, 16.0, 1.0, 2.0, 4.0, 8.0, 11.0, 12.0];
/// let relapse = [true, false, true, false, true, true, true, true, true, true, true, true];
/// let placebo = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0];
/// let design = Design::new(12).numeric("placebo", &placebo)?;
/// let followup = Followup::right_censored(&weeks, &relapse)?;
/// let fit = Cox::fit(&design, &followup, CoxErrors::Model)?;
/// let log_hazard_ratio = fit.estimates.term("placebo")?;
/// assert!(log_hazard_ratio.estimate > 0.0 && log_hazard_ratio.p_value() < 0.5);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Cox {
    /// Coefficients (log hazard ratios) with covariance as asked for, log partial likelihood.
    /// Degrees of freedom are infinite (the normal).
    pub estimates: Estimates,
    /// Number of rows, those that are at risk at no event too.
    pub n: usize,
    /// Number of rows that end with the event.
    pub events: usize,
}

impl Cox {
    /// Fits by Newton's method on the centred, orthogonalised columns. Time is proportional to rows
    /// × terms² an iteration, plus one sort.
    ///
    /// # Errors
    /// Wrong lengths; no terms; a column that is constant or collinear; [`StatsError::AllCensored`];
    /// [`StatsError::NoMaximum`] where no risk set holds rows that differ in some term;
    /// [`StatsError::MonotoneLikelihood`] where a coefficient is infinite; [`StatsError::Overflow`];
    /// fewer than two clusters.
    pub fn fit(
        design: &Design,
        followup: &Followup,
        errors: CoxErrors<'_>,
    ) -> Result<Self, StatsError> {
        let n = design.rows();
        require_length("the follow-up", n, followup.rows())?;
        let clusters = match errors {
            CoxErrors::Model => None,
            CoxErrors::Clustered(labels) => Some(Clusters::new(labels, n)?),
        };
        let sets = RiskSets::new(followup);
        let events = sets.events();
        if events == 0 {
            return Err(StatsError::AllCensored { rows: n });
        }
        let basis = Basis::new(design, &sets)?;
        let named = |direction| design.terms()[basis.leading_term(&direction)].clone();
        let maximum = maximum(&sets, &basis).map_err(|failure| match failure {
            Failure::Flat(direction) => StatsError::NoMaximum { term: named(direction) },
            Failure::Monotone(direction) => {
                StatsError::MonotoneLikelihood { term: named(direction) }
            }
            Failure::Slow => {
                StatsError::NoConvergence { what: "the proportional-hazards fit".to_owned() }
            }
        })?;
        let coefficients = &basis.r_inverse * &maximum.gamma;
        let covariance = match &clusters {
            None => &basis.r_inverse * &maximum.inverse * basis.r_inverse.transpose(),
            Some(clusters) => sandwich(&sets, &basis, &maximum, clusters),
        };
        let k = design.terms().len();
        Ok(Self {
            estimates: Estimates::new(
                design.terms().to_vec(),
                coefficients.iter().map(|&value| DoubleDouble::from(value)).collect(),
                (0..k * k).map(|i| DoubleDouble::from(covariance[(i / k, i % k)])).collect(),
                f64::INFINITY,
                maximum.last.log_likelihood,
            )?,
            n,
            events,
        })
    }
}

/// Σ over clusters of DD′, with D the sum of what each row of the cluster changes in the coefficients
/// (dfbeta): its score residual times the model-based covariance.
fn sandwich(
    sets: &RiskSets,
    basis: &Basis,
    maximum: &Maximum,
    clusters: &Clusters,
) -> DMatrix<f64> {
    let k = basis.len();
    let mut scores = vec![0.0; clusters.count * k];
    for (position, &row) in sets.rows.iter().enumerate() {
        let score = score_residual(sets, basis, maximum, position);
        let cluster = clusters.positions[row];
        let sums = &mut scores[cluster * k..(cluster + 1) * k];
        sums.iter_mut().zip(score.iter()).for_each(|(sum, s)| *sum += s);
    }
    let mut middle = DMatrix::zeros(k, k);
    for score in scores.chunks_exact(k) {
        let score = DVector::from_column_slice(score);
        middle.ger(1.0, &score, &score, 1.0);
    }
    let bread = &basis.r_inverse * &maximum.inverse;
    &bread * middle * bread.transpose()
}

/// Score residual of a row at risk in the coordinates of Q: event · (x − x̄) − r Σ hazard · (x − x̄).
fn score_residual(
    sets: &RiskSets,
    basis: &Basis,
    maximum: &Maximum,
    position: usize,
) -> DVector<f64> {
    let pass = &maximum.last;
    let k = basis.len();
    let q = &basis.q[position * k..(position + 1) * k];
    let risk = pass.relative_risk[position];
    let lived = pass.lived_hazard(sets, position);
    DVector::from_fn(k, |j, _| {
        let expected = risk * (lived * q[j] - pass.lived_mean(sets, position, j));
        let observed = if sets.event[position] {
            q[j] - pass.mean[(sets.end[position] - 1) * k + j]
        } else {
            0.0
        };
        observed - expected
    })
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
