//! Covariance of estimates that maximise a likelihood: from the model, or robust.

use crate::cluster_robust::{Adjustment, ClusterRobust};
use crate::error::{StatsError, require_finite, require_length};
use crate::least_squares::Clusters;
use nalgebra::{DMatrix, DVector};
use std::sync::Arc;

/// How standard errors of a maximum-likelihood estimate are computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LikelihoodErrors<'a> {
    /// From the model: the inverse of the information H.
    Model,
    /// The sandwich H⁻¹(Σ sᵢsᵢ′)H⁻¹ of independent rows, sᵢ the score of a row: Huber (1967),
    /// Proceedings of the Fifth Berkeley Symposium 1, 221–233. For a linear model it is HC0.
    Sandwich,
    /// The sandwich with scores summed by cluster (one label a row), times G/(G − 1) for G clusters:
    /// Liang & Zeger (1986), Biometrika 73, 13–22. Tests and intervals take Student's t with G − 1
    /// degrees of freedom. With few clusters it errs towards standard errors that are too small.
    Clustered(&'a [usize]),
    /// The jackknife that leaves out one cluster (one label a row) at a time, by one Newton step from
    /// the maximum, with degrees of freedom of its own for every term and combination; see
    /// [`crate::ErrorKind::Clustered`]. It errs on the wide side.
    Jackknife(&'a [usize]),
}

/// The same, with labels checked.
pub(crate) enum Middle {
    Model,
    Rows,
    Clusters(Clusters),
    Jackknife(Clusters),
}

/// A covariance of the parameters, and what its degrees of freedom are.
pub(crate) struct Robust {
    pub(crate) covariance: DMatrix<f64>,
    /// Degrees of freedom of all alike; infinite means the normal.
    pub(crate) df: f64,
    /// Where every combination has its own: the clusters, and the matrix that takes weights of the
    /// parameters to their coordinates.
    pub(crate) clusters: Option<(Arc<ClusterRobust>, DMatrix<f64>)>,
}

impl Middle {
    pub(crate) fn new(errors: LikelihoodErrors<'_>, rows: usize) -> Result<Self, StatsError> {
        Ok(match errors {
            LikelihoodErrors::Model => Self::Model,
            LikelihoodErrors::Sandwich => Self::Rows,
            LikelihoodErrors::Clustered(labels) => Self::Clusters(Clusters::new(labels, rows)?),
            LikelihoodErrors::Jackknife(labels) => Self::Jackknife(Clusters::new(labels, rows)?),
        })
    }

    pub(crate) fn clusters(&self) -> Option<usize> {
        match self {
            Self::Clusters(clusters) | Self::Jackknife(clusters) => Some(clusters.count),
            _ => None,
        }
    }

    /// The covariance from the inverse information, the score of each row, and the information of
    /// some rows.
    ///
    /// # Errors
    /// For the jackknife [`StatsError::FullLeverage`].
    pub(crate) fn covariance(
        &self,
        bread: DMatrix<f64>,
        rows: usize,
        score: impl Fn(usize) -> DVector<f64>,
        information: impl Fn(&[usize]) -> DMatrix<f64>,
    ) -> Result<Robust, StatsError> {
        let parameters = bread.nrows();
        let mut middle = DMatrix::zeros(parameters, parameters);
        let mut df = f64::INFINITY;
        match self {
            Self::Model => return Ok(Robust { covariance: bread, df, clusters: None }),
            Self::Rows => {
                for row in 0..rows {
                    let score = score(row);
                    middle.ger(1.0, &score, &score, 1.0);
                }
            }
            Self::Clusters(clusters) => {
                let sums = summed(clusters, parameters, score);
                let groups = clusters.count as f64;
                middle = &sums * sums.transpose() * (groups / (groups - 1.0));
                df = groups - 1.0;
            }
            Self::Jackknife(clusters) => {
                let sums = summed(clusters, parameters, score);
                return jackknife(clusters, &bread, &sums, information);
            }
        }
        let half = &bread * middle;
        Ok(Robust { covariance: half * bread, df, clusters: None })
    }
}

/// Scores summed by cluster, one a column.
fn summed(
    clusters: &Clusters,
    parameters: usize,
    score: impl Fn(usize) -> DVector<f64>,
) -> DMatrix<f64> {
    let mut sums = DMatrix::zeros(parameters, clusters.count);
    for (row, &cluster) in clusters.positions.iter().enumerate() {
        sums.column_mut(cluster).axpy(1.0, &score(row), 1.0);
    }
    sums
}

fn jackknife(
    clusters: &Clusters,
    bread: &DMatrix<f64>,
    scores: &DMatrix<f64>,
    information: impl Fn(&[usize]) -> DMatrix<f64>,
) -> Result<Robust, StatsError> {
    let parts: Vec<DMatrix<f64>> =
        clusters.members().iter().map(|rows| information(rows)).collect();
    let whole: DMatrix<f64> = parts.iter().sum();
    let Some(factor) = whole.cholesky() else {
        return Err(StatsError::Overflow { what: "the information".to_owned() });
    };
    let own = ClusterRobust::of_information(parts, &factor, clusters, Adjustment::Jackknife)?;
    let lower = factor.l();
    let to_own = |matrix: &DMatrix<f64>| {
        lower.solve_lower_triangular(matrix).unwrap_or_else(|| matrix.clone())
    };
    let whitened = to_own(scores);
    let scores: Vec<DVector<f64>> =
        (0..clusters.count).map(|g| whitened.column(g).into_owned()).collect();
    let middle = own.middle(&scores);
    let map = to_own(&DMatrix::identity(bread.nrows(), bread.nrows()));
    let covariance = map.transpose() * middle * &map;
    Ok(Robust { covariance, df: f64::INFINITY, clusters: Some((Arc::new(own), map)) })
}

/// Weights given or one for every row.
///
/// # Errors
/// Wrong length, a weight that is negative or not finite, or all of them zero.
pub(crate) fn weights_or_ones(
    weights: Option<&[f64]>,
    rows: usize,
) -> Result<Vec<f64>, StatsError> {
    let Some(weights) = weights else { return Ok(vec![1.0; rows]) };
    require_length("the weights", rows, weights.len())?;
    require_finite("the weights", weights)?;
    if let Some(&value) = weights.iter().find(|&&weight| weight < 0.0) {
        return Err(StatsError::BadArgument {
            name: "a weight",
            value,
            expected: "weights are not negative",
        });
    }
    if weights.iter().all(|&weight| weight == 0.0) {
        return Err(StatsError::BadArgument {
            name: "the sum of the weights",
            value: 0.0,
            expected: "some row must count",
        });
    }
    Ok(weights.to_vec())
}

/// ln(1 + eˣ) without overflow.
pub(crate) fn ln_one_plus_exp(x: f64) -> f64 {
    x.max(0.0) + (-x.abs()).exp().ln_1p()
}

/// 1/(1 + e⁻ˣ), exact in both tails.
pub(crate) fn logistic(x: f64) -> f64 {
    if x >= 0.0 {
        1.0 / (1.0 + (-x).exp())
    } else {
        let odds = x.exp();
        odds / (1.0 + odds)
    }
}

/// The terms that a direction of the coefficients moves the fit by most: at least a thousandth of
/// the largest. A column counts with its range, so the intercept only if nothing else moves.
pub(crate) fn moved_terms(
    direction: &[f64],
    columns: &[Vec<f64>],
    terms: &[String],
    intercept: Option<usize>,
) -> Vec<String> {
    let reach: Vec<f64> = direction
        .iter()
        .zip(columns)
        .map(|(coefficient, column)| {
            let low = column.iter().copied().fold(f64::INFINITY, f64::min);
            let high = column.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            coefficient.abs() * (high - low)
        })
        .collect();
    let most = reach.iter().copied().fold(0.0, f64::max);
    if most == 0.0 {
        return intercept.map(|position| terms[position].clone()).into_iter().collect();
    }
    reach
        .iter()
        .zip(terms)
        .filter(|(reach, _)| **reach > 1e-3 * most)
        .map(|(_, term)| term.clone())
        .collect()
}
