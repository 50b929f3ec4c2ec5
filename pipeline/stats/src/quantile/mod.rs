//! Quantile regression.

mod errors;
mod rank;
mod simplex;

use crate::design::Design;
use crate::distribution::two_sided_quantile;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_finite, require_length};
use crate::estimates::{Estimates, Interval};
use crate::least_squares::Clusters;
use crate::orthogonal::{Orthogonal, norm};
use nalgebra::{DMatrix, DVector};
use simplex::{Problem, Rows, Vertex, break_ties};

/// What is assumed of the errors of a quantile regression.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum QuantileErrors<'a> {
    /// Independent errors of one distribution: covariance τ(1 − τ)s²(X′X)⁻¹ with s the inverse
    /// density of the errors at the quantile, from the residuals nearest zero (Siddiqui 1960,
    /// Journal of Research of the NBS 64B, 145–150; Koenker 2005, Quantile Regression, section 3.4).
    Identical,
    /// Independent errors whose density may differ between rows: the sandwich of Hendricks & Koenker
    /// (1992), Journal of the American Statistical Association 87, 58–68.
    Sandwich,
    /// Rows drawn with replacement: any independent errors.
    PairsBootstrap {
        /// Draws; 1000 and more for intervals.
        draws: usize,
        /// Seed of the `ChaCha8` generator.
        seed: u64,
    },
    /// Whole clusters drawn with replacement: errors free to depend on each other within a cluster.
    /// Student's t has G − 1 degrees of freedom for G clusters.
    ClusterBootstrap {
        /// Label of the cluster of each row.
        labels: &'a [usize],
        /// Draws; 1000 and more for intervals.
        draws: usize,
        /// Seed of the `ChaCha8` generator.
        seed: u64,
    },
}

/// A fitted regression of a quantile: share τ of outcomes lies below Xβ.
///
/// Koenker & Bassett (1978), "Regression quantiles", Econometrica 46, 33–50. The check loss Σ ρ(y −
/// xβ), `ρ(r) = r(τ − [r < 0])`, is minimised exactly, at a vertex of the linear programme. Time grows
/// with rows × terms for each of some tens of steps.
///
/// ```
/// use stats::{Design, QuantileErrors, QuantileRegression};
///
/// let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
/// let y = [2.0, 4.1, 5.9, 8.0, 10.2, 11.8, 99.0]; // the last does not move a median
/// let design = Design::new(7).intercept()?.numeric("x", &x)?;
/// let fit = QuantileRegression::fit(&design, &y, 0.5, QuantileErrors::Identical)?;
/// assert!((fit.estimates.term("x")?.estimate - 2.0).abs() < 0.1);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct QuantileRegression {
    /// Coefficients, covariance, predictions. The log-likelihood is that of asymmetric Laplace
    /// errors. Degrees of freedom are n − k, or G − 1 for clusters.
    pub estimates: Estimates,
    /// The quantile, in (0, 1).
    pub tau: f64,
    /// Rows.
    pub n: usize,
    /// Check loss Σ ρ, in the unit of the outcome.
    pub check_loss: f64,
    /// Rows that the fit meets, one a term.
    pub met: Vec<usize>,
    /// False where other coefficients may have the same loss.
    pub unique: bool,
    /// Outcome minus fitted quantile, one a row; zero for the rows met.
    pub residuals: Vec<f64>,
}

/// Design and outcome made ready.
struct Prepared {
    basis: Orthogonal,
    rows: Rows,
    coordinates: Vec<DoubleDouble>,
    spread: f64,
    /// What least squares leaves of the outcome, in units of `spread`.
    y: Vec<f64>,
    broken: Vec<f64>,
    weights: Vec<f64>,
}

impl Prepared {
    fn new(design: &Design, y: &[f64], tau: f64) -> Result<Self, StatsError> {
        let n = design.rows();
        let k = design.terms().len();
        require_length("the outcome", n, y.len())?;
        require_finite("the outcome", y)?;
        if !(tau > 0.0 && tau < 1.0) {
            return Err(StatsError::BadArgument {
                name: "tau",
                value: tau,
                expected: "a quantile lies strictly between 0 and 1",
            });
        }
        if n < k + 1 {
            return Err(StatsError::TooFewRows {
                what: format!("quantile regression with {k} terms"),
                needed: k + 1,
                found: n,
            });
        }
        let basis = Orthogonal::new(design)?;
        let mut rest: Vec<DoubleDouble> = y.iter().map(|&v| DoubleDouble::from(v)).collect();
        let coordinates = basis.project_out(&mut rest);
        let root = (n as f64).sqrt();
        let spread = norm(&rest).value() / root;
        let largest = y.iter().fold(0.0, |size: f64, v| size.max(v.abs()));
        if spread <= 1e-14 * largest {
            return Err(StatsError::ExactFit);
        }
        let columns: Vec<Vec<f64>> =
            basis.q.iter().map(|q| q.iter().map(|v| v.value() * root).collect()).collect();
        let y: Vec<f64> = rest.iter().map(|v| v.value() / spread).collect();
        Ok(Self {
            rows: Rows::new(&columns),
            broken: break_ties(&y),
            weights: vec![1.0; n],
            basis,
            coordinates,
            spread,
            y,
        })
    }

    fn problem(&self, tau: f64) -> Problem<'_> {
        Problem { rows: &self.rows, y: &self.broken, weights: &self.weights, tau }
    }

    /// Factor from parameters in the columns to coordinates in Q, in the unit of the outcome.
    fn scale(&self) -> f64 {
        self.spread * (self.rows.count as f64).sqrt()
    }

    /// Parameters of a vertex by the outcomes themselves, ties and all.
    fn parameters(&self, vertex: &Vertex) -> DVector<f64> {
        &vertex.inverse * DVector::from_fn(vertex.basis.len(), |a, _| self.y[vertex.basis[a]])
    }

    fn coefficients(&self, parameters: &DVector<f64>) -> Vec<DoubleDouble> {
        let moved: Vec<DoubleDouble> = self
            .coordinates
            .iter()
            .zip(parameters)
            .map(|(&c, &p)| c + DoubleDouble::from(p * self.scale()))
            .collect();
        self.basis.coefficients(&moved)
    }
}

impl QuantileRegression {
    /// Fits the quantile `tau`; one outcome a row.
    ///
    /// # Errors
    /// Those of [`crate::LeastSquares::fit`]; [`StatsError::BadArgument`] for `tau` outside (0, 1)
    /// or too few draws; [`StatsError::ExactFit`] where all outcomes lie on the fit;
    /// [`StatsError::NoConvergence`] where the density cannot be judged, or bootstrap draws mostly
    /// miss the rows that bear on some term.
    pub fn fit(
        design: &Design,
        y: &[f64],
        tau: f64,
        errors: QuantileErrors<'_>,
    ) -> Result<Self, StatsError> {
        let n = design.rows();
        let k = design.terms().len();
        let clusters = match errors {
            QuantileErrors::ClusterBootstrap { labels, .. } => Some(Clusters::new(labels, n)?),
            _ => None,
        };
        let prepared = Prepared::new(design, y, tau)?;
        let problem = prepared.problem(tau);
        let vertex = problem.solve(problem.first_basis())?;
        let parameters = prepared.parameters(&vertex);
        let mut residuals: Vec<f64> =
            (0..n).map(|row| prepared.y[row] - prepared.rows.along(row, &parameters)).collect();
        for &row in &vertex.basis {
            residuals[row] = 0.0;
        }
        let covariance = match errors {
            QuantileErrors::Identical => {
                let inverse_density = errors::sparsity(&residuals, tau, k)?;
                DMatrix::identity(k, k)
                    * (inverse_density * inverse_density * tau * (1.0 - tau) / n as f64)
            }
            QuantileErrors::Sandwich => errors::sandwich(&problem, &vertex, &prepared.y)?,
            QuantileErrors::PairsBootstrap { draws, seed }
            | QuantileErrors::ClusterBootstrap { draws, seed, .. } => {
                errors::bootstrap(&problem, &vertex, &prepared.y, clusters.as_ref(), draws, seed)?
            }
        };
        let square = prepared.scale() * prepared.scale();
        let block: Vec<DoubleDouble> =
            (0..k * k).map(|i| DoubleDouble::from(square * covariance[(i / k, i % k)])).collect();
        let loss: f64 =
            residuals.iter().map(|&r| if r < 0.0 { (tau - 1.0) * r } else { tau * r }).sum();
        let check_loss = loss * prepared.spread;
        let rows = n as f64;
        let log_likelihood = rows * ((tau * (1.0 - tau)).ln() - 1.0 - (check_loss / rows).ln());
        let df = clusters.as_ref().map_or((n - k) as f64, |c| (c.count - 1) as f64);
        // A balance at its bound: along some edge the loss is level.
        let margin = (1e-9 * rows).min(1e-6);
        let unique =
            vertex.pull.iter().all(|&pull| pull < 1.0 - tau - margin && pull > -tau + margin);
        Ok(Self {
            estimates: Estimates::new(
                design.terms().to_vec(),
                prepared.coefficients(&parameters),
                prepared.basis.covariance(&block),
                df,
                log_likelihood,
            )?,
            tau,
            n,
            check_loss,
            met: vertex.basis,
            unique,
            residuals: residuals.into_iter().map(|r| r * prepared.spread).collect(),
        })
    }

    /// Interval of each coefficient by inverting a rank test, for independent errors of one
    /// distribution: Gutenbrunner, Jurečková, Koenker & Portnoy (1993), Journal of Nonparametric
    /// Statistics 2, 307–331; Koenker (1994), in Asymptotic Statistics, 349–359. It needs no estimate
    /// of a density and need not be symmetric; an end is infinite where no value is rejected.
    /// Quantiles are Student's with n − k degrees of freedom; `level` is 0.95 for 95 %.
    ///
    /// # Errors
    /// Those of [`fit`](Self::fit), and a level outside (0, 1).
    pub fn rank_intervals(
        design: &Design,
        y: &[f64],
        tau: f64,
        level: f64,
    ) -> Result<Vec<Interval>, StatsError> {
        if !(level > 0.0 && level < 1.0) {
            return Err(StatsError::BadArgument {
                name: "level",
                value: level,
                expected: "a level lies strictly between 0 and 1",
            });
        }
        let prepared = Prepared::new(design, y, tau)?;
        let problem = prepared.problem(tau);
        let vertex = problem.solve(problem.first_basis())?;
        let n = prepared.rows.count;
        let k = prepared.rows.terms;
        let cutoff = two_sided_quantile(level, (n - k) as f64);
        let least_squares = prepared.coefficients(&DVector::zeros(k));
        // Column by column, what a parameter does to the coefficients.
        let images: Vec<Vec<DoubleDouble>> = (0..k)
            .map(|column| {
                let mut unit = vec![DoubleDouble::ZERO; k];
                unit[column] = DoubleDouble::from(prepared.scale());
                prepared.basis.coefficients(&unit)
            })
            .collect();
        (0..k)
            .map(|term| {
                let functional = DVector::from_fn(k, |column, _| images[column][term].value());
                // The walk is in units in which the coefficient moves by one.
                let size = functional.norm();
                let unit = functional / size;
                // t is the column's product with the rank scores, of variance τ(1 − τ) times the sum
                // of squares of what the other terms leave of it: n in these units.
                let limit = cutoff * (tau * (1.0 - tau) * n as f64).sqrt();
                let ends = rank::interval(&problem, &vertex, &unit, limit)?;
                let centre = least_squares[term];
                let place = |end: f64| {
                    if end.is_infinite() {
                        return end;
                    }
                    (centre + DoubleDouble::from(end * size)).value()
                };
                Ok(Interval { lo: place(ends.lo), hi: place(ends.hi) })
            })
            .collect()
    }
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
