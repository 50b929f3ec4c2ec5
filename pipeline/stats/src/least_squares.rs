//! Linear least squares with classical, heteroscedasticity-consistent and cluster-robust standard
//! errors.

use crate::cluster_robust::{Adjustment, ClusterRobust};
use crate::design::Design;
use crate::double_double::{DoubleDouble, ROUNDING, dot, inverse_power_of_two};
use crate::error::{StatsError, require_finite, require_length};
use crate::estimates::Estimates;
use crate::orthogonal::{Orthogonal, norm};
use nalgebra::DVector;
use std::collections::HashMap;
use std::f64::consts::PI;
use std::sync::Arc;

/// What is assumed of the errors, hence how standard errors are computed.
///
/// With eᵢ the residuals, hᵢ the leverages, n rows and k terms, the covariance is (X′X)⁻¹ M (X′X)⁻¹
/// with the middle M given for each kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ErrorKind<'a> {
    /// Independent errors of one variance: covariance s²(X′X)⁻¹ with s² = Σeᵢ²/(n − k).
    Classical,
    /// Independent errors of any variance, for small samples: M = Σ eᵢ²/(1 − hᵢ)² xᵢxᵢ′. MacKinnon
    /// & White (1985), "Some heteroskedasticity-consistent covariance matrix estimators with improved
    /// finite sample properties", Journal of Econometrics 29, 305–325; name and advice as in Long &
    /// Ervin (2000), The American Statistician 54, 217–224.
    Hc3,
    /// Errors free to depend on each other within a cluster (one label a row): CR2, with degrees of
    /// freedom of its own for every term and combination: Bell & McCaffrey (2002), Survey
    /// Methodology 28, 169–181; Pustejovsky & Tipton (2018), Journal of Business & Economic
    /// Statistics 36, 672–683. Where these fall below some five, the t distribution carries no
    /// more: see [`LeastSquares::wild_bootstrap`].
    Clustered(&'a [usize]),
    /// The same under the working covariance of rows that share a part of their errors with their cluster,
    /// how large a part by analysis of variance of the residuals: where none shows, it is the same. With few
    /// and unequal clusters it is nearer to what it says.
    Exchangeable(&'a [usize]),
}

/// A fitted linear regression y = Xβ + e.
///
/// ```
/// use stats::{Design, ErrorKind, LeastSquares};
///
/// let hours = [1.0, 2.0, 3.0, 4.0, 5.0];
/// let degrees = [11.0, 19.0, 32.0, 40.0, 48.0];
/// let design = Design::new(5).intercept()?.numeric("hours", &hours)?;
/// let fit = LeastSquares::fit(&design, &degrees, ErrorKind::Classical)?;
/// let slope = fit.estimates.term("hours")?;
/// assert!((slope.estimate - 9.5).abs() < 1e-12);
/// let interval = slope.interval(0.95)?;
/// assert!(interval.lo < 9.5 && 9.5 < interval.hi);
/// let at_six = &fit.estimates.predict(&[[1.0, 6.0]])?[0];
/// assert!((at_six.estimate - 58.5).abs() < 1e-12);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquares {
    /// Coefficients, covariance, predictions. The log-likelihood is that of independent normal
    /// errors at the maximum-likelihood variance Σe²/n.
    pub estimates: Estimates,
    /// Number of rows.
    pub n: usize,
    /// Clusters, if the errors are clustered.
    pub clusters: Option<usize>,
    /// Residual variance Σe²/(n − k).
    pub residual_variance: f64,
    /// Share of the variance explained, 1 − Σe²/Σ(y − ȳ)²; without an intercept 1 − Σe²/Σy². Zero
    /// for an outcome that never varies.
    pub r_squared: f64,
    /// Observed minus fitted, one a row.
    pub residuals: Vec<f64>,
    /// Where the errors are clustered.
    pub(crate) robust: Option<Robust>,
}

impl LeastSquares {
    /// Fits by an orthogonal decomposition in double-double arithmetic, so results are correct to
    /// nearly the last digit of a double whatever the collinearity that the rank test lets pass.
    /// Time is proportional to rows × terms².
    ///
    /// `y` and, for [`ErrorKind::Clustered`], the labels have one value a row of the design. Labels
    /// need not be consecutive.
    ///
    /// # Errors
    /// Wrong lengths, a value that is not finite, no terms, fewer than k + 1 rows, a constant or
    /// collinear column, fewer than two clusters; for HC3 and clusters
    /// [`StatsError::FullLeverage`], where one row or cluster alone determines a coefficient.
    pub fn fit(design: &Design, y: &[f64], errors: ErrorKind<'_>) -> Result<Self, StatsError> {
        let n = design.rows();
        let k = design.terms().len();
        require_length("the outcome", n, y.len())?;
        require_finite("the outcome", y)?;
        if n < k + 1 {
            return Err(StatsError::TooFewRows {
                what: format!("least squares with {k} terms"),
                needed: k + 1,
                found: n,
            });
        }
        let clusters = match errors {
            ErrorKind::Clustered(labels) | ErrorKind::Exchangeable(labels) => {
                Some(Clusters::new(labels, n)?)
            }
            ErrorKind::Classical | ErrorKind::Hc3 => None,
        };
        let basis = Orthogonal::new(design)?;

        let largest = y.iter().fold(0.0, |size: f64, value| size.max(value.abs()));
        let y_scale = inverse_power_of_two(largest);
        let unscale = 1.0 / y_scale;
        let outcome: Vec<DoubleDouble> =
            y.iter().map(|&value| DoubleDouble::from(value).scale(y_scale)).collect();
        let whole = norm(&outcome).value();
        let mut residuals = outcome.clone();
        let mut coordinates = basis.project_out(&mut residuals);
        // What is below the rounding of the arithmetic is zero: an exact fit is then exact, and a
        // coefficient that is zero is not set against a standard error that is zero.
        for coordinate in &mut coordinates {
            if coordinate.value().abs() <= ROUNDING * whole {
                *coordinate = DoubleDouble::ZERO;
            }
        }
        if norm(&residuals).value() <= ROUNDING * whole {
            residuals.fill(DoubleDouble::ZERO);
        }
        let rss = dot(&residuals, &residuals);

        let residual_df = n - k;
        let variance = rss / DoubleDouble::from(residual_df as f64);
        let mut robust = None;
        let inner = match (&clusters, errors) {
            (Some(clusters), _) => {
                // A column of ones must be in the span of the design.
                let exchangeable = matches!(errors, ErrorKind::Exchangeable(_))
                    && design.intercept_position().is_some();
                let tau = if exchangeable { shared(&residuals, clusters, k) } else { 0.0 };
                let own = Robust::new(&basis, clusters, &residuals, tau)?;
                let inner = own.clusters.middle(&own.scores);
                robust = Some(own);
                inner.iter().map(|&value| DoubleDouble::from(value)).collect()
            }
            (None, ErrorKind::Hc3) => hc3_middle(&basis, &residuals)?,
            (None, _) => {
                let mut inner = vec![DoubleDouble::ZERO; k * k];
                inner.iter_mut().step_by(k + 1).for_each(|own| *own = variance);
                inner
            }
        };
        let coefficients = basis
            .coefficients(&coordinates)
            .into_iter()
            .map(|coefficient| coefficient.scale(unscale))
            .collect();
        let covariance = basis
            .covariance(&inner)
            .into_iter()
            .map(|value| value.scale(unscale).scale(unscale))
            .collect();

        let total = match design.intercept_position() {
            Some(_) => {
                let sum = outcome.iter().fold(DoubleDouble::ZERO, |sum, &v| sum + v);
                let mean = sum / DoubleDouble::from(n as f64);
                outcome.iter().fold(DoubleDouble::ZERO, |sum, &v| sum + (v - mean) * (v - mean))
            }
            None => dot(&outcome, &outcome),
        };
        let r_squared = if total.value() <= (ROUNDING * whole).powi(2) {
            0.0
        } else {
            (DoubleDouble::from(1.0) - rss / total).value()
        };
        let residual_sum_of_squares = rss.scale(unscale).scale(unscale).value();
        let mut estimates = Estimates::new(
            design.terms().to_vec(),
            coefficients,
            covariance,
            residual_df as f64,
            normal_log_likelihood(residual_sum_of_squares, n),
        )?;
        if let Some(robust) = &robust {
            estimates = estimates.with_clusters(robust.clusters.clone(), basis.to_coordinates());
        }
        Ok(Self {
            estimates,
            n,
            clusters: clusters.map(|c| c.count),
            residual_variance: variance.scale(unscale).scale(unscale).value(),
            r_squared,
            residuals: residuals.into_iter().map(|e| e.scale(unscale).value()).collect(),
            robust: robust.map(|robust| Robust { unscale, ..robust }),
        })
    }
}

/// What the wild cluster bootstrap starts from.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Robust {
    pub(crate) clusters: Arc<ClusterRobust>,
    /// Q′e of each cluster, in units of the scaled outcome.
    pub(crate) scores: Vec<DVector<f64>>,
    /// From the scaled outcome to its own unit.
    pub(crate) unscale: f64,
}

impl Robust {
    fn new(
        basis: &Orthogonal,
        clusters: &Clusters,
        residuals: &[DoubleDouble],
        tau: f64,
    ) -> Result<Self, StatsError> {
        let k = basis.len();
        let columns: Vec<Vec<f64>> =
            basis.q.iter().map(|column| column.iter().map(|x| x.value()).collect()).collect();
        let mut sums = vec![vec![DoubleDouble::ZERO; k]; clusters.count];
        for (j, column) in basis.q.iter().enumerate() {
            for ((&cluster, &x), &e) in clusters.positions.iter().zip(column).zip(residuals) {
                sums[cluster][j] += x * e;
            }
        }
        let scores = sums
            .into_iter()
            .map(|sum| DVector::from_iterator(k, sum.into_iter().map(DoubleDouble::value)))
            .collect();
        let mut own = ClusterRobust::of_basis(&columns, clusters, Adjustment::BiasReduced)?;
        if tau > 0.0 {
            let ones = columns.iter().map(|column| column.iter().sum());
            own = own.exchangeable(tau, &DVector::from_iterator(k, ones), clusters)?;
        }
        Ok(Self { clusters: Arc::new(own), scores, unscale: 1.0 })
    }
}

/// The most that errors of a cluster are taken to share, as a multiple of what each row has of its own.
const MOST_SHARED: f64 = 99.0;

/// Variance that rows of a cluster share over that which each has of its own, by analysis of variance of the
/// residuals of `k` terms, not below zero: Searle, Casella & `McCulloch` (1992), Variance Components, section 3.6.
fn shared(residuals: &[DoubleDouble], clusters: &Clusters, k: usize) -> f64 {
    let (n, groups) = (residuals.len() as f64, clusters.count as f64);
    let mut sums = vec![(0.0, 0.0); clusters.count];
    let mut total = 0.0;
    for (&cluster, e) in clusters.positions.iter().zip(residuals) {
        let e = e.value();
        sums[cluster].0 += e;
        sums[cluster].1 += 1.0;
        total += e * e;
    }
    let between: f64 = sums.iter().map(|(sum, size)| sum * sum / size).sum();
    if n <= groups || groups <= k as f64 {
        return 0.0;
    }
    let within = (total - between) / (n - groups);
    let size = (n - sums.iter().map(|(_, size)| size * size).sum::<f64>() / n) / (groups - 1.0);
    let more = (between / (groups - k as f64) - within) / size;
    if more <= 0.0 { 0.0 } else { (more / within).min(MOST_SHARED) }
}

/// Log-likelihood of independent normal errors at the variance that maximises it, Σe²/n.
fn normal_log_likelihood(rss: f64, n: usize) -> f64 {
    let n = n as f64;
    -0.5 * n * ((2.0 * PI * rss / n).ln() + 1.0)
}

/// The middle of the HC3 sandwich in the coordinates of Q, row by row.
fn hc3_middle(
    basis: &Orthogonal,
    residuals: &[DoubleDouble],
) -> Result<Vec<DoubleDouble>, StatsError> {
    let k = basis.len();
    let mut inner = vec![DoubleDouble::ZERO; k * k];
    let one = DoubleDouble::from(1.0);
    let mut weights = Vec::with_capacity(residuals.len());
    for (row, (&e, h)) in residuals.iter().zip(basis.leverages()).enumerate() {
        let rest = one - h;
        if rest.value() < 1e-12 {
            return Err(StatsError::FullLeverage { rows: vec![row] });
        }
        weights.push(e * e / (rest * rest));
    }
    for a in 0..k {
        let weighted: Vec<DoubleDouble> =
            basis.q[a].iter().zip(&weights).map(|(&x, &w)| x * w).collect();
        for b in 0..=a {
            let value = dot(&weighted, &basis.q[b]);
            inner[a * k + b] = value;
            inner[b * k + a] = value;
        }
    }
    Ok(inner)
}

/// Cluster labels turned into positions 0..count.
#[derive(Debug, Clone)]
pub(crate) struct Clusters {
    pub(crate) positions: Vec<usize>,
    pub(crate) count: usize,
}

impl Clusters {
    /// # Errors
    /// Wrong length, or fewer than two clusters.
    pub(crate) fn new(labels: &[usize], rows: usize) -> Result<Self, StatsError> {
        require_length("the cluster labels", rows, labels.len())?;
        let mut seen = HashMap::new();
        let positions = labels
            .iter()
            .map(|&label| {
                let next = seen.len();
                *seen.entry(label).or_insert(next)
            })
            .collect();
        let count = seen.len();
        if count < 2 {
            return Err(StatsError::TooFewClusters { found: count });
        }
        Ok(Self { positions, count })
    }

    /// The rows of each cluster.
    pub(crate) fn members(&self) -> Vec<Vec<usize>> {
        let mut members = vec![Vec::new(); self.count];
        for (row, &cluster) in self.positions.iter().enumerate() {
            members[cluster].push(row);
        }
        members
    }
}

#[cfg(test)]
#[path = "least_squares_tests.rs"]
mod tests;
