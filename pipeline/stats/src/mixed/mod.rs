//! Linear mixed models with one or two random intercepts, by restricted maximum likelihood.

mod groups;
mod links;
mod maximum;
mod sums;

use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_finite, require_length};
use crate::estimates::{Estimates, Satterthwaite};
use crate::orthogonal::{Orthogonal, norm};
use groups::Groups;
use maximum::Deviance;
use nalgebra::DMatrix;
use sums::{Profile, Sums};

/// A grouping of the rows whose groups have intercepts drawn from one normal distribution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grouping<'a> {
    /// Name, for results and errors.
    pub name: &'a str,
    /// Label of the group of each row; labels need not be consecutive.
    pub labels: &'a [usize],
}

/// The intercepts of one grouping in a fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct RandomIntercept {
    /// Name of the grouping.
    pub name: String,
    /// Variance of the intercepts, in the squared unit of the outcome. Exactly zero where the
    /// likelihood is largest there: the data then give no sign of differences between these groups
    /// beyond the residual scatter.
    pub variance: f64,
}

/// A fitted linear mixed model y = Xβ + Z₁b₁ + Z₂b₂ + e with independent b₁ ~ N(0, τ₁²), b₂ ~ N(0,
/// τ₂²), e ~ N(0, σ²).
///
/// By restricted maximum likelihood (REML), so that the variances allow for the coefficients
/// estimated: Patterson & Thompson (1971), Biometrika 58, 545–554. The profiled deviance of Bates, Mächler, Bolker & Walker (2015), "Fitting linear mixed-effects
/// models using lme4", Journal of Statistical Software 67(1), 1–48, eq. 35 and 42, here minimised
/// with its exact derivatives. One grouping costs rows × terms² once and then groups × terms² a
/// step. With two, a step adds the cube of the largest set of levels of the coarser grouping that
/// are linked through the finer: single levels where the finer is nested, all of them where both
/// are crossed, and the square of that in memory; two crossed groupings of 10 000 each are beyond
/// it.
///
/// Degrees of freedom are Satterthwaite's, from the observed information about the variances:
/// Giesbrecht & Burns (1985), Biometrics 41, 477–486; Kuznetsova, Brockhoff & Christensen (2017),
/// Journal of Statistical Software 82(13). A variance of zero counts as known.
///
/// ```
/// use stats::{Design, Grouping, LinearMixed};
///
/// let x = [1.0, 2.0, 3.0, 1.0, 2.0, 3.0, 1.0, 2.0, 3.0];
/// let y = [3.1, 5.2, 6.8, 6.0, 7.9, 10.2, 1.2, 2.8, 5.1];
/// let fire = [0, 0, 0, 1, 1, 1, 2, 2, 2];
/// let design = Design::new(9).intercept()?.numeric("x", &x)?;
/// let groupings = [Grouping { name: "fire", labels: &fire }];
/// let fit = LinearMixed::fit(&design, &y, &groupings)?;
/// let slope = fit.estimates.term("x")?;
/// assert!((slope.estimate - 1.967).abs() < 0.001 && (slope.df - 5.0).abs() < 1e-6);
/// assert!(fit.random[0].variance > 20.0 * fit.residual_variance);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LinearMixed {
    /// Coefficients, covariance, predictions for a group not seen before, restricted log-likelihood,
    /// which compares models of the same terms only.
    pub estimates: Estimates,
    /// Number of rows.
    pub n: usize,
    /// Intercepts of each grouping, in the order given.
    pub random: Vec<RandomIntercept>,
    /// Residual variance σ².
    pub residual_variance: f64,
}

impl LinearMixed {
    /// Fits; one or two groupings, crossed or nested. None fits least squares by maximum likelihood.
    ///
    /// # Errors
    /// No terms, a constant or collinear column, wrong lengths, fewer than k + 2 rows, a value that
    /// is not finite; [`StatsError::TooFewGroups`], [`StatsError::GroupPerRow`],
    /// [`StatsError::GroupingFollows`] where the terms of the design, or the other grouping, explain
    /// all that a grouping could; [`StatsError::BadArgument`] for more than two groupings;
    /// [`StatsError::ExactFit`] where coefficients and intercepts leave no residual scatter.
    pub fn fit(design: &Design, y: &[f64], groupings: &[Grouping<'_>]) -> Result<Self, StatsError> {
        let mut model = Model::new(design, groupings)?;
        let outcome = model.set_outcome(y)?;
        let ratios = model.best_ratios()?;
        model.result(&outcome, &ratios)
    }
}

/// Design, groupings and outcome as the likelihood needs them.
struct Model {
    names: Vec<String>,
    basis: Orthogonal,
    /// Columns of Q times √n.
    columns: Vec<Vec<f64>>,
    /// As given; the finer first in `sums`.
    groups: Vec<Groups>,
    /// Positions in `groups` of those of `sums`.
    order: Vec<usize>,
    sums: Sums,
    /// With two groupings, those with the first or second alone.
    alone: Vec<Sums>,
    rows: usize,
}

/// An outcome split into what the design explains and what it leaves.
struct Outcome {
    /// Coordinates in Q.
    coordinates: Vec<DoubleDouble>,
    /// Root mean square of what is left.
    spread: f64,
}

impl Model {
    fn new(design: &Design, groupings: &[Grouping<'_>]) -> Result<Self, StatsError> {
        let rows = design.rows();
        let terms = design.terms().len();
        if rows < terms + 2 {
            return Err(StatsError::TooFewRows {
                what: format!("a mixed model with {terms} terms"),
                needed: terms + 2,
                found: rows,
            });
        }
        if groupings.len() > 2 {
            return Err(StatsError::BadArgument {
                name: "the number of groupings",
                value: groupings.len() as f64,
                expected: "a mixed model has at most two",
            });
        }
        let groups = groupings
            .iter()
            .map(|grouping| Groups::new(grouping, rows))
            .collect::<Result<Vec<Groups>, StatsError>>()?;
        if let [first, second] = &groups[..]
            && first.divides_like(second)
        {
            return Err(StatsError::GroupingFollows {
                grouping: second.name.clone(),
                from: first.name.clone(),
            });
        }
        let basis = Orthogonal::new(design)?;
        let root = (rows as f64).sqrt();
        let columns: Vec<Vec<f64>> =
            basis.q.iter().map(|q| q.iter().map(|v| v.value() * root).collect()).collect();
        let mut order: Vec<usize> = (0..groups.len()).collect();
        order.sort_by_key(|&position| usize::MAX - groups[position].count());
        let at = |place: usize| order.get(place).map(|&position| &groups[position]);
        let sums = Sums::new(&columns, rows, at(0), at(1));
        let alone: Vec<Sums> = if groups.len() == 2 {
            (0..2).map(|place| Sums::new(&columns, rows, at(place), None)).collect()
        } else {
            Vec::new()
        };
        for (place, single) in
            (if alone.is_empty() { std::slice::from_ref(&sums) } else { &alone[..] })
                .iter()
                .enumerate()
                .take(groups.len())
        {
            let left = single.trace_beyond_terms();
            if left <= 1e-9 * rows as f64 {
                return Err(StatsError::GroupingFollows {
                    grouping: groups[order[place]].name.clone(),
                    from: "the terms of the design".to_owned(),
                });
            }
        }
        Ok(Self {
            names: design.terms().to_vec(),
            basis,
            columns,
            groups,
            order,
            sums,
            alone,
            rows,
        })
    }

    /// Takes an outcome into the sums, in units of what the design leaves of it.
    fn set_outcome(&mut self, y: &[f64]) -> Result<Outcome, StatsError> {
        require_length("the outcome", self.rows, y.len())?;
        require_finite("the outcome", y)?;
        let mut rest: Vec<DoubleDouble> = y.iter().map(|&v| DoubleDouble::from(v)).collect();
        let coordinates = self.basis.project_out(&mut rest);
        let spread = norm(&rest).value() / (self.rows as f64).sqrt();
        let largest = y.iter().fold(0.0, |size: f64, v| size.max(v.abs()));
        if spread <= 1e-14 * largest {
            return Err(StatsError::ExactFit);
        }
        let rest: Vec<f64> = rest.iter().map(|v| v.value() / spread).collect();
        for sums in std::iter::once(&mut self.sums).chain(&mut self.alone) {
            sums.set_outcome(&self.columns, &rest);
        }
        Ok(Outcome { coordinates, spread })
    }

    /// The ratios of variances at which the likelihood is largest, in the order of `sums`.
    fn best_ratios(&self) -> Result<Vec<f64>, StatsError> {
        let deviance = Deviance { sums: &self.sums };
        match self.groups.len() {
            0 => Ok(Vec::new()),
            1 => Ok(vec![deviance.minimum_of_one()?]),
            _ => {
                let single = |place: usize| Deviance { sums: &self.alone[place] }.minimum_of_one();
                Ok(deviance.minimum_of_two([single(0)?, single(1)?])?.to_vec())
            }
        }
    }

    /// Residual degrees of freedom of the likelihood.
    fn df(&self) -> f64 {
        (self.rows - self.names.len()) as f64
    }

    fn log_likelihood(&self, deviance: f64, spread: f64) -> f64 {
        // The columns are Q√n: ln |X′X| = ln |(Q√n)′(Q√n)| − k ln n + 2 ln |R|.
        let mut total = deviance + 2.0 * self.df() * spread.ln();
        total +=
            2.0 * self.basis.ln_determinant() - self.names.len() as f64 * (self.rows as f64).ln();
        -0.5 * total
    }

    /// Coefficients from an outcome's coordinates and what the likelihood adds to them.
    fn coefficients(
        &self,
        coordinates: &[DoubleDouble],
        added: &[f64],
        scale: f64,
    ) -> Vec<DoubleDouble> {
        let moved: Vec<DoubleDouble> = coordinates
            .iter()
            .zip(added)
            .map(|(&c, &a)| c + DoubleDouble::from(a * scale))
            .collect();
        self.basis.coefficients(&moved)
    }

    fn result(&self, outcome: &Outcome, ratios: &[f64]) -> Result<LinearMixed, StatsError> {
        let deviance = Deviance { sums: &self.sums };
        let profile = deviance.at(ratios)?;
        let n = self.rows as f64;
        let terms = self.names.len();
        let square = outcome.spread * outcome.spread;
        let variance = profile.rss / self.df();
        // Coordinates in Q are √n times those in the columns.
        let inner = |matrix: &DMatrix<f64>, factor: f64| -> Vec<DoubleDouble> {
            let block: Vec<DoubleDouble> = (0..terms * terms)
                .map(|i| DoubleDouble::from(factor * n * matrix[(i / terms, i % terms)]))
                .collect();
            self.basis.covariance(&block)
        };
        let estimates = Estimates::new(
            self.names.clone(),
            self.coefficients(
                &outcome.coordinates,
                profile.coefficients.as_slice(),
                outcome.spread * n.sqrt(),
            ),
            inner(&profile.inverse, square * variance),
            f64::INFINITY,
            self.log_likelihood(profile.deviance, outcome.spread),
        )?;
        let (gradients, parameters) =
            variance_information(ratios, &profile, deviance, variance, self.df())?;
        let satterthwaite = Satterthwaite {
            gradients: gradients.iter().map(|matrix| inner(matrix, square)).collect(),
            parameters,
        };
        let estimates = estimates.with_satterthwaite(satterthwaite);

        let variances = |position: usize| {
            let place = self.order.iter().position(|&other| other == position);
            place.map_or(0.0, |place| ratios[place] * variance * square)
        };
        let random = self.groups.iter().enumerate().map(|(position, groups)| RandomIntercept {
            name: groups.name.clone(),
            variance: variances(position),
        });
        Ok(LinearMixed {
            estimates,
            n: self.rows,
            random: random.collect(),
            residual_variance: variance * square,
        })
    }
}

/// Derivatives of (X′V⁻¹X)⁻¹ by the variance parameters that are not zero (ratios, then σ²), and the
/// covariance of these, twice the inverse Hessian of the deviance.
fn variance_information(
    ratios: &[f64],
    profile: &Profile,
    deviance: Deviance<'_>,
    variance: f64,
    df: f64,
) -> Result<(Vec<DMatrix<f64>>, DMatrix<f64>), StatsError> {
    let free: Vec<usize> = (0..ratios.len()).filter(|&k| ratios[k] > 0.0).collect();
    let terms = profile.inverse.nrows();
    let mut gradients = Vec::with_capacity(free.len() + 1);
    for &k in &free {
        let groups = profile.evaluation.by_group[k].columns(0, terms);
        gradients.push(&profile.inverse * groups.tr_mul(&groups) * &profile.inverse * variance);
    }
    gradients.push(profile.inverse.clone());
    // In units in which each parameter is one, so that the inverse is well conditioned.
    let count = free.len() + 1;
    let last = free.len();
    let mut hessian = DMatrix::zeros(count, count);
    hessian[(last, last)] = df;
    let slope = |at: &Profile, k: usize| at.traces[k] - at.scores[k].norm_squared() / variance;
    for (a, &k) in free.iter().enumerate() {
        let cross = ratios[k] * profile.scores[k].norm_squared() / variance;
        hessian[(a, last)] = cross;
        hessian[(last, a)] = cross;
        let step = 1e-4;
        let mut moved = ratios.to_vec();
        moved[k] = ratios[k] * (1.0 + step);
        let above = deviance.at(&moved)?;
        moved[k] = ratios[k] * (1.0 - step);
        let below = deviance.at(&moved)?;
        for (b, &j) in free.iter().enumerate() {
            hessian[(a, b)] = ratios[j] * (slope(&above, j) - slope(&below, j)) / (2.0 * step);
        }
    }
    let symmetric = (&hessian + hessian.transpose()) * 0.5;
    let eigen = symmetric.symmetric_eigen();
    let largest = eigen.eigenvalues.amax();
    let mut covariance = DMatrix::zeros(count, count);
    for (value, vector) in eigen.eigenvalues.iter().zip(eigen.eigenvectors.column_iter()) {
        // A direction the data say nothing about is left out, as a variance of zero is.
        if *value > 1e-8 * largest {
            covariance.ger(2.0 / value, &vector, &vector, 1.0);
        }
    }
    for a in 0..count {
        for b in 0..count {
            let unit = |i: usize| if i == last { variance } else { ratios[free[i]] };
            covariance[(a, b)] *= unit(a) * unit(b);
        }
    }
    Ok((gradients, covariance))
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
