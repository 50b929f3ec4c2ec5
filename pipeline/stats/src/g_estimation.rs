//! What a dose does that people give again and again because of how things are going.

use crate::design::Design;
use crate::error::{StatsError, require_finite, require_length};
use crate::estimates::Estimate;
use crate::least_squares::Clusters;
use crate::likelihood_errors::weights_or_ones;
use crate::logistic::maximum::scaled_rows;
use crate::logistic::{Logistic, LogisticOptions};
use crate::orthogonal::Orthogonal;
use nalgebra::{DMatrix, DVector};

/// The effect of a dose by g-estimation of a structural nested mean model.
///
/// A row is a moment of a subject at which a dose could be given. If none were given from there on,
/// the outcome would on average be what it was less ψ for each unit of dose given from there on; and
/// that must not go with whether one is given at this moment, once the history up to it is accounted
/// for. ψ is the number for which it does not:
///
/// ψ = Σ w(a − p)y / Σ w(a − p)d,
///
/// a being whether a dose is given, p its probability given the history (pooled logistic
/// regression), y the outcome, d all the dose from the moment on, w a weight. Who lives longer has
/// more moments and more doses, and that biases nothing: each moment compares only subjects who have
/// come that far.
///
/// It is right if the history holds all that decides both on the dose and on the outcome, if the
/// effect of a unit is the same at every moment, and if either the logistic model is right or the
/// outcome without doses is a linear function of the history: the score equations of the logistic
/// model take any such function out (doubly robust).
///
/// Robins (1994), Communications in Statistics – Theory and Methods 23, 2379–2412; Vansteelandt &
/// Joffe (2014), Statistical Science 29, 707–731; Hernán & Robins (2020), Causal Inference: What If,
/// sections 14.5 and 21.4. Standard errors from the estimating equations of ψ and of the logistic model
/// together (Stefanski & Boos 2002, The American Statistician 56, 29–38), summed by cluster, times
/// G/(G − 1) for G clusters; weights count as known.
///
/// ```
/// use stats::{Design, Doses, GEstimation};
///
/// // Twelve subjects with one moment each; a dose adds two, and is given to those of high x.
/// let x = [1.0, 1.0, 2.0, 2.0, 3.0, 3.0, 4.0, 4.0, 5.0, 5.0, 6.0, 6.0];
/// let given = [false, false, false, true, false, true, true, false, true, false, true, true];
/// let dose: Vec<f64> = given.iter().map(|&given| f64::from(u8::from(given))).collect();
/// let y: Vec<f64> = x.iter().zip(&dose).map(|(x, dose)| 10.0 * x + 2.0 * dose).collect();
/// let history = Design::new(12).intercept()?.numeric("x", &x)?;
/// let subject: Vec<usize> = (0..12).collect();
/// let doses = Doses { given: &given, dose: &dose, outcome: &y, weights: None, clusters: &subject };
/// let fit = GEstimation::fit(&history, &doses)?;
/// assert!((fit.effect.estimate - 2.0).abs() < 1e-9);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct GEstimation {
    /// ψ, per unit of dose; degrees of freedom are G − 1.
    pub effect: Estimate,
    /// Rows in which a dose was given.
    pub given: usize,
    /// Number of clusters.
    pub clusters: usize,
    /// The logistic model of whether a dose is given, its errors clustered.
    pub decision: Logistic,
}

/// What was given and what came of it; one value a row of the history.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doses<'a> {
    /// Whether a dose was given at the moment.
    pub given: &'a [bool],
    /// All the dose from the moment on, that of the moment with it.
    pub dose: &'a [f64],
    /// The outcome, the same or less a known number for every moment of a subject.
    pub outcome: &'a [f64],
    /// Weights; one each if there are none.
    pub weights: Option<&'a [f64]>,
    /// Cluster of each row; a subject's rows are of one.
    pub clusters: &'a [usize],
}

impl GEstimation {
    /// Estimates. `history` has what was known at each moment, and an intercept.
    ///
    /// # Errors
    /// As [`Logistic::fit`], with which whether a dose is given is modelled; wrong lengths; fewer
    /// than two clusters; doses that do not go with being given.
    pub fn fit(history: &Design, doses: &Doses<'_>) -> Result<Self, StatsError> {
        let rows = history.rows();
        let Doses { given, dose, outcome, weights, clusters } = *doses;
        for (name, values) in [("the dose", dose), ("the outcome", outcome)] {
            require_length(name, rows, values.len())?;
            require_finite(name, values)?;
        }
        if history.intercept_position().is_none() {
            return Err(StatsError::BadArgument {
                name: "the history",
                value: 0.0,
                expected: "it has an intercept",
            });
        }
        let groups = Clusters::new(clusters, rows)?;
        let decision = Logistic::fit(
            history,
            given,
            LogisticOptions {
                weights,
                errors: crate::LikelihoodErrors::Clustered(clusters),
                firth: false,
            },
        )?;
        let weights = weights_or_ones(weights, rows)?;
        let surprise: Vec<f64> = (0..rows)
            .map(|row| weights[row] * (f64::from(u8::from(given[row])) - decision.fitted[row]))
            .collect();
        // The constant goes into the intercept; without it digits would be lost.
        let middle = outcome.iter().sum::<f64>() / rows as f64;
        let sum = |value: &dyn Fn(usize) -> f64| -> f64 {
            surprise.iter().enumerate().map(|(row, surprise)| surprise * value(row)).sum()
        };
        let slope = sum(&|row| dose[row]);
        let scale = surprise.iter().zip(dose).map(|(s, d)| (s * d).abs()).sum::<f64>();
        if slope.abs() <= 1e-9 * scale || slope == 0.0 {
            return Err(StatsError::BadArgument {
                name: "the dose",
                value: slope,
                expected: "it goes with whether one is given",
            });
        }
        let effect = sum(&|row| outcome[row] - middle) / slope;
        let left: Vec<f64> =
            (0..rows).map(|row| outcome[row] - middle - effect * dose[row]).collect();
        let fitted = Self::explained(history, &decision.fitted, &weights, &left)?;
        let mut sums = vec![0.0; groups.count];
        for (row, &cluster) in groups.positions.iter().enumerate() {
            sums[cluster] += surprise[row] * (left[row] - fitted[row]);
        }
        let count = groups.count as f64;
        let variance = sums.iter().map(|sum| sum * sum).sum::<f64>() * count / (count - 1.0);
        Ok(Self {
            effect: Estimate {
                estimate: effect,
                std_error: variance.sqrt() / slope.abs(),
                df: count - 1.0,
            },
            given: given.iter().filter(|given| **given).count(),
            clusters: groups.count,
            decision,
        })
    }

    /// What the history explains of the outcome without doses, by least squares with weights
    /// w·p(1 − p): the part that estimating the logistic model takes out.
    fn explained(
        history: &Design,
        probability: &[f64],
        weights: &[f64],
        left: &[f64],
    ) -> Result<Vec<f64>, StatsError> {
        let basis = Orthogonal::new(history)?;
        let terms = basis.len();
        let columns = scaled_rows(&basis);
        let mut information = DMatrix::zeros(terms, terms);
        let mut right = DVector::zeros(terms);
        for (row, x) in columns.chunks_exact(terms).enumerate() {
            let x = DVector::from_column_slice(x);
            let weight = weights[row] * probability[row] * (1.0 - probability[row]);
            information.syger(weight, &x, &x, 1.0);
            right.axpy(weight * left[row], &x, 1.0);
        }
        information.fill_upper_triangle_with_lower_triangle();
        let Some(factor) = information.cholesky() else {
            return Err(StatsError::NoConvergence { what: "the model of the doses".to_owned() });
        };
        let coefficients = factor.solve(&right);
        Ok(columns
            .chunks_exact(terms)
            .map(|x| x.iter().zip(coefficients.iter()).map(|(x, b)| x * b).sum())
            .collect())
    }
}

#[cfg(test)]
#[path = "g_estimation_tests.rs"]
mod tests;
