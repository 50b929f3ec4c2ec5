//! Proportional-hazards regression.

mod basis;
mod curves;
mod maximum;
mod pass;
mod proportional_hazards;
mod residuals;
mod risk_sets;

pub use curves::Baseline;
pub use maximum::Penalty;
pub use proportional_hazards::{ProportionalHazardsTest, TimeTransform};
pub use risk_sets::Ties;

use super::chi_square::ChiSquareTest;
use super::followup::{Followup, Labels, case_weights};
use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_length};
use crate::estimates::Estimates;
use crate::least_squares::Clusters;
use basis::Basis;
use maximum::{Failure, maximum};
use nalgebra::{DMatrix, DVector};
use pass::Pass;
use risk_sets::RiskSets;

/// How the covariance of the coefficients is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CoxErrors<'a> {
    /// Inverse of the observed information: right if hazards are proportional and rows independent
    /// given the past.
    #[default]
    Model,
    /// The sandwich of Lin & Wei (1989), "The robust inference for the Cox proportional hazards
    /// model", JASA 84, 1074–1078: Σ dᵢdᵢ′ with dᵢ the change of the coefficients by row i (`dfbeta`).
    /// Only where every subject has one row.
    Robust,
    /// The same with d summed over the rows of a cluster (one label a row): rows of one subject, or
    /// subjects that depend on each other. No small-sample factor; with few clusters it errs
    /// towards standard errors that are too small.
    Clustered(&'a [usize]),
}

/// What may be set in a fit; `CoxOptions::default()` is Efron's ties, one stratum, no weights,
/// model-based errors, no penalty.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CoxOptions<'a> {
    /// How tied events share a risk set.
    pub ties: Ties,
    /// One label a row; every stratum has a baseline hazard of its own.
    pub strata: Option<&'a [usize]>,
    /// Case weights, one a row, not negative. A row of weight zero is left out.
    pub weights: Option<&'a [f64]>,
    /// How the covariance is computed.
    pub errors: CoxErrors<'a>,
    /// What is added to the likelihood.
    pub penalty: Penalty,
}

/// A fitted proportional-hazards regression: the hazard of a row at time t is h₀(t)·exp(x′β), with
/// h₀ free, and of its own in every stratum.
///
/// Cox (1972), "Regression models and life-tables", JRSS B 34, 187–220; with rows `(start, stop]`
/// as counting processes Andersen & Gill (1982), Annals of Statistics 10, 1100–1120. The design
/// needs no intercept (it is constant and refused as such). Coefficients are log hazard ratios.
///
/// Assumes that hazards are proportional, which a
/// [test](Self::proportional_hazards_test) asks the data, and that censoring tells nothing of the
/// event given the covariates. A covariate may vary in time, but must be known before each event:
/// "ever treated" as a fixed covariate of people who had to live long enough to be treated is the
/// classic error.
///
/// ```
/// use stats::{Cox, CoxOptions, Design, Followup};
///
/// let weeks = [6.0, 6.0, 7.0, 10.0, 13.0, 16.0, 1.0, 2.0, 4.0, 8.0, 11.0, 12.0];
/// let relapse = [true, false, true, false, true, true, true, true, true, true, true, true];
/// let placebo = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0];
/// let design = Design::new(12).numeric("placebo", &placebo)?;
/// let followup = Followup::right_censored(&weeks, &relapse)?;
/// let fit = Cox::fit(&design, &followup, &CoxOptions::default())?;
/// let log_hazard_ratio = fit.estimates.term("placebo")?;
/// assert!(log_hazard_ratio.estimate > 0.0 && log_hazard_ratio.p_value() < 0.5);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Cox {
    /// Coefficients (log hazard ratios) with covariance as asked for, log partial likelihood
    /// (penalised if the fit is). Degrees of freedom are infinite (the normal).
    pub estimates: Estimates,
    /// Rows.
    pub n: usize,
    /// Events.
    pub events: usize,
    /// Clusters, if the covariance is clustered.
    pub clusters: Option<usize>,
    /// Log partial likelihood with all coefficients zero (penalised if the fit is).
    pub null_log_likelihood: f64,
    /// Newton steps made.
    pub iterations: usize,
    model_covariance: DMatrix<f64>,
    score_statistic: f64,
    rows_at_risk: Fitted,
}

/// The pieces from which residuals, curves and tests are computed.
#[derive(Clone, PartialEq)]
struct Fitted {
    followup: Followup,
    sets: RiskSets,
    basis: Basis,
    pass: Pass,
    gamma: DVector<f64>,
    /// Inverse information in the coordinates of Q.
    inverse: DMatrix<f64>,
}

impl std::fmt::Debug for Fitted {
    /// The size only: a fit is not readable when every row is printed with it.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Fitted").field("rows", &self.sets.rows.len()).finish_non_exhaustive()
    }
}

impl Cox {
    /// Fits by Newton's method on the centred, orthogonalised columns. Time is proportional to rows
    /// × terms² an iteration, plus one sort.
    ///
    /// # Errors
    /// Wrong lengths; bad weights; no terms; a column that is constant within every stratum or
    /// collinear; [`StatsError::AllCensored`]; [`StatsError::NoMaximum`] where no risk set holds
    /// rows that differ in some term; [`StatsError::MonotoneLikelihood`] where a coefficient is
    /// infinite; [`StatsError::Overflow`]; fewer than two clusters.
    pub fn fit(
        design: &Design,
        followup: &Followup,
        options: &CoxOptions<'_>,
    ) -> Result<Self, StatsError> {
        let n = design.rows();
        require_length("the follow-up", n, followup.rows())?;
        let weights = case_weights(options.weights, n)?;
        let strata = match options.strata {
            None => Labels::one(n),
            Some(labels) => Labels::new("the strata", labels, n)?,
        };
        let clusters = match options.errors {
            CoxErrors::Clustered(labels) => Some(Clusters::new(labels, n)?),
            _ => None,
        };
        let sets = RiskSets::new(followup, &strata, &weights, options.ties);
        let events = sets.deaths.iter().sum();
        if events == 0 {
            return Err(StatsError::AllCensored { rows: n });
        }
        let basis = Basis::new(design, &sets)?;
        let named = |direction| design.terms()[basis.leading_term(&direction)].clone();
        let found = maximum(&sets, &basis, options.penalty).map_err(|failure| match failure {
            Failure::Flat(direction) => StatsError::NoMaximum { term: named(direction) },
            Failure::Monotone(direction) => {
                StatsError::MonotoneLikelihood { term: named(direction) }
            }
            Failure::Slow => {
                StatsError::NoConvergence { what: "the proportional-hazards fit".to_owned() }
            }
        })?;
        let score_statistic = found.null.score.dot(&(&found.null_inverse * &found.null.score));
        // ½ ln |information| of the coefficients themselves: I(β) = R′ I(γ) R.
        let log_scale = match options.penalty {
            Penalty::None => 0.0,
            Penalty::Firth => basis.r.diagonal().iter().map(|r| r.ln()).sum(),
        };
        let log_likelihood = found.last.log_likelihood + found.penalties.1 + log_scale;
        let null_log_likelihood = found.null.log_likelihood + found.penalties.0 + log_scale;

        let coefficients = &basis.r_inverse * &found.gamma;
        let model_covariance = &basis.r_inverse * &found.inverse * basis.r_inverse.transpose();
        let rows_at_risk = Fitted {
            followup: followup.clone(),
            sets,
            basis,
            pass: found.last,
            gamma: found.gamma,
            inverse: found.inverse,
        };
        let covariance = match options.errors {
            CoxErrors::Model => model_covariance.clone(),
            CoxErrors::Robust => rows_at_risk.sandwich(None),
            CoxErrors::Clustered(_) => rows_at_risk.sandwich(clusters.as_ref()),
        };
        let k = design.terms().len();
        Ok(Self {
            estimates: Estimates::new(
                design.terms().to_vec(),
                coefficients.iter().map(|&value| DoubleDouble::from(value)).collect(),
                (0..k * k).map(|i| DoubleDouble::from(covariance[(i / k, i % k)])).collect(),
                f64::INFINITY,
                log_likelihood,
            )?,
            n,
            events,
            clusters: clusters.map(|c| c.count),
            null_log_likelihood,
            iterations: found.iterations,
            model_covariance,
            score_statistic,
            rows_at_risk,
        })
    }

    /// Inverse observed information, terms × terms, whatever covariance was asked for.
    pub fn model_covariance(&self) -> &DMatrix<f64> {
        &self.model_covariance
    }

    /// Twice the gain in log-likelihood over no covariates, against χ². Of a penalised fit it is
    /// the penalised likelihood ratio. Not valid where rows depend on each other or are weighted.
    pub fn likelihood_ratio_test(&self) -> ChiSquareTest {
        let gain = self.estimates.log_likelihood() - self.null_log_likelihood;
        ChiSquareTest { statistic: (2.0 * gain).max(0.0), df: self.terms() }
    }

    /// Score test of all coefficients zero, U′I⁻¹U at zero; with one binary term and Breslow's ties
    /// close to the log-rank test.
    pub fn score_test(&self) -> ChiSquareTest {
        ChiSquareTest { statistic: self.score_statistic, df: self.terms() }
    }

    /// Wald test of all coefficients zero, β′V⁻¹β with the covariance that was asked for.
    ///
    /// # Errors
    /// [`StatsError::TooFewClusters`] where a robust covariance of fewer clusters than terms cannot
    /// be inverted.
    pub fn wald_test(&self) -> Result<ChiSquareTest, StatsError> {
        // In the coordinates of Q, where the covariance is well scaled.
        let r = &self.rows_at_risk.basis.r;
        let scaled = r * self.estimates.covariance() * r.transpose();
        let gamma = &self.rows_at_risk.gamma;
        let size = scaled.diagonal().max();
        let eigen = scaled.symmetric_eigen();
        if eigen.eigenvalues.min() <= 1e-12 * size {
            return Err(StatsError::TooFewClusters { found: self.clusters.unwrap_or(self.n) });
        }
        let along = eigen.eigenvectors.transpose() * gamma;
        let statistic = along.iter().zip(eigen.eigenvalues.iter()).map(|(a, v)| a * a / v).sum();
        Ok(ChiSquareTest { statistic, df: self.terms() })
    }

    fn terms(&self) -> usize {
        self.estimates.names().len()
    }
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
