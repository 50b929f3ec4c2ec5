//! Linear mixed models with one or two random intercepts, by restricted or plain maximum
//! likelihood.

mod bootstrap;
mod groups;
mod links;
mod maximum;
mod sums;

pub use bootstrap::{LikelihoodRatioTest, ParametricBootstrap};
pub use groups::nest;

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

/// Which likelihood is made largest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Likelihood {
    /// Restricted maximum likelihood (REML): variances allow for the coefficients estimated. The
    /// one for variances and standard errors; its log-likelihoods compare models of the same terms
    /// only. Patterson & Thompson (1971), Biometrika 58, 545–554.
    Restricted,
    /// Plain maximum likelihood: variances come out too small, but log-likelihoods compare models
    /// of different terms.
    Full,
}

/// The intercepts of one grouping in a fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct RandomIntercept {
    /// Name of the grouping.
    pub name: String,
    /// Labels of the groups, in ascending order.
    pub labels: Vec<usize>,
    /// Variance of the intercepts, in the squared unit of the outcome. Exactly zero where the
    /// likelihood is largest there.
    pub variance: f64,
    /// Best linear unbiased prediction of each group's intercept, in the order of `labels`.
    pub effects: Vec<f64>,
    /// Standard deviation of each intercept given the data, coefficients and variances taken as
    /// known.
    pub effect_sds: Vec<f64>,
}

/// A fitted linear mixed model y = Xβ + Z₁b₁ + Z₂b₂ + e with independent b₁ ~ N(0, τ₁²), b₂ ~ N(0,
/// τ₂²), e ~ N(0, σ²).
///
/// The profiled deviance of Bates, Mächler, Bolker & Walker (2015), "Fitting linear mixed-effects
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
/// use stats::{Design, Grouping, Likelihood, LinearMixed};
///
/// let x = [1.0, 2.0, 3.0, 1.0, 2.0, 3.0, 1.0, 2.0, 3.0];
/// let y = [3.1, 5.2, 6.8, 6.0, 7.9, 10.2, 1.2, 2.8, 5.1];
/// let fire = [0, 0, 0, 1, 1, 1, 2, 2, 2];
/// let design = Design::new(9).intercept()?.numeric("x", &x)?;
/// let groupings = [Grouping { name: "fire", labels: &fire }];
/// let fit = LinearMixed::fit(&design, &y, &groupings, Likelihood::Restricted)?;
/// let slope = fit.estimates.term("x")?;
/// assert!((slope.estimate - 1.967).abs() < 0.001 && (slope.df - 5.0).abs() < 1e-6);
/// assert!(fit.random[0].variance > 20.0 * fit.residual_variance);
/// assert!(fit.random[0].effects[1] > 0.0);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LinearMixed {
    /// Coefficients, covariance, predictions for a group not seen before. The log-likelihood is the
    /// restricted or full one, as asked for.
    pub estimates: Estimates,
    /// Rows.
    pub n: usize,
    /// Which likelihood was made largest.
    pub likelihood: Likelihood,
    /// Intercepts of each grouping, in the order given.
    pub random: Vec<RandomIntercept>,
    /// Residual variance σ².
    pub residual_variance: f64,
    /// Whether the likelihood is largest with some variance of zero: the data give no sign of
    /// differences between these groups beyond the residual scatter.
    pub singular: bool,
    /// Fitted values of the rows, with the intercepts of their groups.
    pub fitted: Vec<f64>,
}

impl LinearMixed {
    /// Fits; one or two groupings, crossed or (see [`nest`]) nested. None fits least squares by
    /// maximum likelihood.
    ///
    /// # Errors
    /// Those of [`MixedModel::new`] and [`MixedModel::fit`].
    pub fn fit(
        design: &Design,
        y: &[f64],
        groupings: &[Grouping<'_>],
        likelihood: Likelihood,
    ) -> Result<Self, StatsError> {
        MixedModel::new(design, groupings)?.fit(y, likelihood)
    }

    /// Number of parameters: coefficients, variances and σ².
    pub fn parameters(&self) -> usize {
        self.estimates.names().len() + self.random.len() + 1
    }

    /// Akaike's information criterion, 2 · parameters − 2 · log-likelihood.
    pub fn aic(&self) -> f64 {
        2.0 * self.parameters() as f64 - 2.0 * self.estimates.log_likelihood()
    }

    /// Schwarz's information criterion, ln n · parameters − 2 · log-likelihood.
    pub fn bic(&self) -> f64 {
        (self.n as f64).ln() * self.parameters() as f64 - 2.0 * self.estimates.log_likelihood()
    }
}

/// Design and groupings of a mixed model, prepared so that several outcomes can be fitted to it.
#[derive(Debug, Clone)]
pub struct MixedModel {
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

/// An outcome made ready: what the design leaves of it.
struct Outcome {
    /// Coordinates in Q.
    coordinates: Vec<DoubleDouble>,
    /// Root mean square of what is left.
    spread: f64,
    /// What is left, in units of `spread`.
    rest: Vec<f64>,
}

impl MixedModel {
    /// Prepares; at most two groupings.
    ///
    /// # Errors
    /// No terms, a constant or collinear column, wrong lengths, fewer than k + 2 rows,
    /// [`StatsError::TooFewGroups`], [`StatsError::GroupPerRow`], [`StatsError::GroupingFollows`]
    /// where the terms of the design, or the other grouping, explain all that a grouping could, and
    /// [`StatsError::BadArgument`] for more than two groupings.
    pub fn new(design: &Design, groupings: &[Grouping<'_>]) -> Result<Self, StatsError> {
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

    /// Fits an outcome.
    ///
    /// # Errors
    /// Wrong length, a value that is not finite, or [`StatsError::ExactFit`] where coefficients and
    /// intercepts leave no residual scatter.
    pub fn fit(&self, y: &[f64], likelihood: Likelihood) -> Result<LinearMixed, StatsError> {
        let outcome = self.prepare(y)?;
        let mut work = Work::new(self);
        let ratios = work.minimise(self, &outcome.rest, likelihood)?;
        let restricted = likelihood == Likelihood::Restricted;
        let deviance = Deviance { sums: &work.sums, restricted };
        let profile = deviance.at(&ratios)?;
        let mut fit = self.result(&outcome, &ratios, &profile, deviance, likelihood)?;
        for ((value, y), rest) in fit.fitted.iter_mut().zip(y).zip(&outcome.rest) {
            *value += y - rest * outcome.spread;
        }
        Ok(fit)
    }

    fn prepare(&self, y: &[f64]) -> Result<Outcome, StatsError> {
        require_length("the outcome", self.rows, y.len())?;
        require_finite("the outcome", y)?;
        let mut rest: Vec<DoubleDouble> = y.iter().map(|&v| DoubleDouble::from(v)).collect();
        let coordinates = self.basis.project_out(&mut rest);
        let spread = norm(&rest).value() / (self.rows as f64).sqrt();
        let largest = y.iter().fold(0.0, |size: f64, v| size.max(v.abs()));
        if spread <= 1e-14 * largest {
            return Err(StatsError::ExactFit);
        }
        Ok(Outcome { coordinates, spread, rest: rest.iter().map(|v| v.value() / spread).collect() })
    }

    /// Residual degrees of freedom of the likelihood.
    fn df(&self, likelihood: Likelihood) -> f64 {
        match likelihood {
            Likelihood::Restricted => (self.rows - self.names.len()) as f64,
            Likelihood::Full => self.rows as f64,
        }
    }

    fn log_likelihood(&self, deviance: f64, spread: f64, likelihood: Likelihood) -> f64 {
        let mut total = deviance + 2.0 * self.df(likelihood) * spread.ln();
        if likelihood == Likelihood::Restricted {
            // The columns are Q√n: ln |X′X| = ln |(Q√n)′(Q√n)| − k ln n + 2 ln |R|.
            total += 2.0 * self.basis.ln_determinant()
                - self.names.len() as f64 * (self.rows as f64).ln();
        }
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

    fn result(
        &self,
        outcome: &Outcome,
        ratios: &[f64],
        profile: &Profile,
        deviance: Deviance<'_>,
        likelihood: Likelihood,
    ) -> Result<LinearMixed, StatsError> {
        let n = self.rows as f64;
        let terms = self.names.len();
        let square = outcome.spread * outcome.spread;
        let variance = profile.rss / self.df(likelihood);
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
            self.log_likelihood(profile.deviance, outcome.spread, likelihood),
        )?;
        let (gradients, parameters) =
            variance_information(ratios, profile, deviance, variance, self.df(likelihood))?;
        let satterthwaite = Satterthwaite {
            gradients: gradients.iter().map(|matrix| inner(matrix, square)).collect(),
            parameters,
        };
        let estimates = estimates.with_satterthwaite(satterthwaite);

        // What the likelihood adds to the least-squares fit.
        let mut fitted = vec![0.0; self.rows];
        for (column, &coefficient) in self.columns.iter().zip(&profile.coefficients) {
            for (value, &x) in fitted.iter_mut().zip(column) {
                *value += x * coefficient * outcome.spread;
            }
        }
        let mut random: Vec<Option<RandomIntercept>> = vec![None; self.groups.len()];
        for (place, &position) in self.order.iter().enumerate() {
            let groups = &self.groups[position];
            let ratio = ratios[place];
            let effects: Vec<f64> = profile.scores[place]
                .iter()
                .map(|score| if ratio == 0.0 { 0.0 } else { ratio * score * outcome.spread })
                .collect();
            for (value, &group) in fitted.iter_mut().zip(&groups.positions) {
                *value += effects[group];
            }
            random[position] = Some(RandomIntercept {
                name: groups.name.clone(),
                labels: groups.labels.clone(),
                variance: ratio * variance * square,
                effects,
                effect_sds: profile.evaluation.conditional_variances[place]
                    .iter()
                    .map(|v| (v.max(0.0) * variance).sqrt() * outcome.spread)
                    .collect(),
            });
        }
        Ok(LinearMixed {
            estimates,
            n: self.rows,
            likelihood,
            random: random.into_iter().flatten().collect(),
            residual_variance: variance * square,
            singular: ratios.contains(&0.0),
            fitted,
        })
    }
}

/// The sums, with room for an outcome.
struct Work {
    sums: Sums,
    alone: Vec<Sums>,
}

impl Work {
    fn new(model: &MixedModel) -> Self {
        Self { sums: model.sums.clone(), alone: model.alone.clone() }
    }

    /// Ratios of variances, in the order of `sums`.
    fn minimise(
        &mut self,
        model: &MixedModel,
        rest: &[f64],
        likelihood: Likelihood,
    ) -> Result<Vec<f64>, StatsError> {
        let restricted = likelihood == Likelihood::Restricted;
        self.sums.set_outcome(&model.columns, rest);
        for sums in &mut self.alone {
            sums.set_outcome(&model.columns, rest);
        }
        let deviance = Deviance { sums: &self.sums, restricted };
        match model.groups.len() {
            0 => Ok(Vec::new()),
            1 => Ok(vec![deviance.minimum_of_one()?]),
            _ => {
                let single = |place: usize| {
                    Deviance { sums: &self.alone[place], restricted }.minimum_of_one()
                };
                Ok(deviance.minimum_of_two([single(0)?, single(1)?])?.to_vec())
            }
        }
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
