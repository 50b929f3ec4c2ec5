//! Parametric bootstrap of a mixed model: outcomes drawn from the fitted model and fitted again.
//!
//! Davison & Hinkley (1997), Bootstrap Methods and their Application, sections 4.2.3 (tests) and
//! 5.3.1 (percentile intervals). Every draw has a stream of its own of the `ChaCha8` generator, so
//! that it depends on the seed and its number only.

use super::{Likelihood, LinearMixed, MixedModel, Work};
use crate::describe::quantiles;
use crate::double_double::DoubleDouble;
use crate::error::StatsError;
use crate::estimates::Interval;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Estimates from outcomes drawn from a fitted model; each list has one value a draw.
#[derive(Debug, Clone, PartialEq)]
pub struct ParametricBootstrap {
    /// Coefficients, a list for each term in the order of the design.
    pub coefficients: Vec<Vec<f64>>,
    /// Variances of the random intercepts, a list for each grouping in the order given.
    pub variances: Vec<Vec<f64>>,
    /// Residual variances.
    pub residual_variances: Vec<f64>,
    /// Draws in which some variance was zero.
    pub singular: usize,
}

impl ParametricBootstrap {
    /// Percentile interval of each term; `level` is 0.95 for 95 %.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `level` lies strictly between 0 and 1.
    pub fn coefficient_intervals(&self, level: f64) -> Result<Vec<Interval>, StatsError> {
        self.coefficients.iter().map(|draws| percentile(draws, level)).collect()
    }

    /// Percentile interval of the variance of each grouping's intercepts.
    ///
    /// # Errors
    /// As [`coefficient_intervals`](Self::coefficient_intervals).
    pub fn variance_intervals(&self, level: f64) -> Result<Vec<Interval>, StatsError> {
        self.variances.iter().map(|draws| percentile(draws, level)).collect()
    }

    /// Percentile interval of the residual variance.
    ///
    /// # Errors
    /// As [`coefficient_intervals`](Self::coefficient_intervals).
    pub fn residual_variance_interval(&self, level: f64) -> Result<Interval, StatsError> {
        percentile(&self.residual_variances, level)
    }
}

fn percentile(draws: &[f64], level: f64) -> Result<Interval, StatsError> {
    if !(level > 0.0 && level < 1.0) {
        return Err(StatsError::BadArgument {
            name: "level",
            value: level,
            expected: "a level lies strictly between 0 and 1",
        });
    }
    let tail = 0.5 * (1.0 - level);
    let ends = quantiles(draws, &[tail, 1.0 - tail])?;
    Ok(Interval { lo: ends[0], hi: ends[1] })
}

/// A likelihood-ratio test whose reference distribution is drawn from the smaller model.
#[derive(Debug, Clone, PartialEq)]
pub struct LikelihoodRatioTest {
    /// Twice the difference of the full log-likelihoods, at least zero.
    pub statistic: f64,
    /// (1 + draws at least as large) / (1 + draws).
    pub p_value: f64,
    /// The statistic in each draw.
    pub draws: Vec<f64>,
}

/// Draws of b and e from a fitted model, without its fixed part.
struct Noise<'a> {
    model: &'a MixedModel,
    sds: Vec<f64>,
    residual_sd: f64,
    seed: u64,
}

impl<'a> Noise<'a> {
    fn new(model: &'a MixedModel, fit: &LinearMixed, seed: u64) -> Result<Self, StatsError> {
        let same = fit.n == model.rows
            && fit.estimates.names() == model.names
            && fit.random.len() == model.groups.len()
            && fit.random.iter().zip(&model.groups).all(|(a, b)| a.labels == b.labels);
        if !same {
            return Err(StatsError::LengthMismatch {
                what: "the fit, which is not one of this model,".to_owned(),
                expected: model.rows,
                found: fit.n,
            });
        }
        Ok(Self {
            model,
            sds: fit.random.iter().map(|r| r.variance.sqrt()).collect(),
            residual_sd: fit.residual_variance.sqrt(),
            seed,
        })
    }

    fn draw(&self, number: usize) -> Vec<f64> {
        let mut generator = ChaCha8Rng::seed_from_u64(self.seed);
        generator.set_stream(number as u64);
        let mut standard = || -> f64 { StandardNormal.sample(&mut generator) };
        let mut y: Vec<f64> = (0..self.model.rows).map(|_| standard() * self.residual_sd).collect();
        for (groups, sd) in self.model.groups.iter().zip(&self.sds) {
            let effects: Vec<f64> = (0..groups.count()).map(|_| standard() * sd).collect();
            for (value, &group) in y.iter_mut().zip(&groups.positions) {
                *value += effects[group];
            }
        }
        y
    }
}

/// What a refit of one draw gives.
struct Refit {
    coefficients: Vec<f64>,
    variances: Vec<f64>,
    residual_variance: f64,
    log_likelihood: f64,
}

impl MixedModel {
    /// Draws `draws` outcomes from `fit`, a fit of this model, and fits each by the same
    /// likelihood.
    ///
    /// The estimators move with the coefficients, so only the scatter is drawn and the coefficients
    /// of `fit` are added afterwards.
    ///
    /// # Errors
    /// No draws, or a fit of another model.
    pub fn bootstrap(
        &self,
        fit: &LinearMixed,
        draws: usize,
        seed: u64,
    ) -> Result<ParametricBootstrap, StatsError> {
        require_draws(draws)?;
        let noise = Noise::new(self, fit, seed)?;
        let mut work = Work::new(self);
        let centre = fit.estimates.coefficients();
        let mut result = ParametricBootstrap {
            coefficients: vec![Vec::with_capacity(draws); centre.len()],
            variances: vec![Vec::with_capacity(draws); self.groups.len()],
            residual_variances: Vec::with_capacity(draws),
            singular: 0,
        };
        for number in 0..draws {
            let refit = self.refit(&mut work, &noise.draw(number), fit.likelihood)?;
            for ((list, own), centre) in
                result.coefficients.iter_mut().zip(&refit.coefficients).zip(&centre)
            {
                list.push(centre + own);
            }
            for (list, own) in result.variances.iter_mut().zip(&refit.variances) {
                list.push(*own);
            }
            result.residual_variances.push(refit.residual_variance);
            result.singular += usize::from(refit.variances.contains(&0.0));
        }
        Ok(result)
    }

    /// Tests this model against `larger`, which has all its terms and groupings and more, by the
    /// likelihood-ratio statistic of full maximum likelihood; what is expected under this model is
    /// drawn from its fit. Tests of terms and tests of variances alike: the chi-squared
    /// distribution, which is wrong for a variance at its border and for few groups, is not used.
    ///
    /// # Errors
    /// Those of [`fit`](Self::fit); no draws; [`StatsError::NotNested`].
    pub fn likelihood_ratio_test(
        &self,
        larger: &MixedModel,
        y: &[f64],
        draws: usize,
        seed: u64,
    ) -> Result<LikelihoodRatioTest, StatsError> {
        require_draws(draws)?;
        self.require_within(larger)?;
        let own = self.fit(y, Likelihood::Full)?;
        let other = larger.fit(y, Likelihood::Full)?;
        let ratio = |small: f64, large: f64| (2.0 * (large - small)).max(0.0);
        let statistic = ratio(own.estimates.log_likelihood(), other.estimates.log_likelihood());
        let noise = Noise::new(self, &own, seed)?;
        let (mut work, mut larger_work) = (Work::new(self), Work::new(larger));
        let mut values = Vec::with_capacity(draws);
        for number in 0..draws {
            let y = noise.draw(number);
            let small = self.refit(&mut work, &y, Likelihood::Full)?;
            let large = larger.refit(&mut larger_work, &y, Likelihood::Full)?;
            values.push(ratio(small.log_likelihood, large.log_likelihood));
        }
        // Statistics that differ by rounding only count as equal.
        let reached = values.iter().filter(|&&v| v >= statistic - 1e-9 * statistic.max(1.0));
        let p_value = (1 + reached.count()) as f64 / (1 + draws) as f64;
        Ok(LikelihoodRatioTest { statistic, p_value, draws: values })
    }

    fn require_within(&self, larger: &Self) -> Result<(), StatsError> {
        if self.rows != larger.rows {
            return Err(StatsError::LengthMismatch {
                what: "the larger model".to_owned(),
                expected: self.rows,
                found: larger.rows,
            });
        }
        for (position, column) in self.basis.q.iter().enumerate() {
            let mut rest = column.clone();
            larger.basis.project_out(&mut rest);
            if crate::orthogonal::norm(&rest).value() > 1e-7 {
                return Err(StatsError::NotNested { what: self.basis.term(position, &self.names) });
            }
        }
        for groups in &self.groups {
            if !larger.groups.iter().any(|other| groups.divides_like(other)) {
                return Err(StatsError::NotNested { what: groups.name.clone() });
            }
        }
        Ok(())
    }

    fn refit(
        &self,
        work: &mut Work,
        y: &[f64],
        likelihood: Likelihood,
    ) -> Result<Refit, StatsError> {
        let n = self.rows as f64;
        // Plain arithmetic will do for what is random anyhow.
        let mut rest = y.to_vec();
        let mut coordinates = Vec::with_capacity(self.columns.len());
        for column in &self.columns {
            let projection = column.iter().zip(&rest).map(|(x, r)| x * r).sum::<f64>() / n;
            for (value, x) in rest.iter_mut().zip(column) {
                *value -= projection * x;
            }
            coordinates.push(DoubleDouble::from(projection * n.sqrt()));
        }
        let spread = (rest.iter().map(|r| r * r).sum::<f64>() / n).sqrt();
        if spread <= 0.0 {
            return Err(StatsError::ExactFit);
        }
        for value in &mut rest {
            *value /= spread;
        }
        let ratios = work.minimise(self, &rest, likelihood)?;
        let restricted = likelihood == Likelihood::Restricted;
        let profile = work.sums.profile(&ratios, restricted, false).ok_or(StatsError::ExactFit)?;
        let variance = profile.rss / self.df(likelihood) * spread * spread;
        let mut variances = vec![0.0; self.groups.len()];
        for (place, &position) in self.order.iter().enumerate() {
            variances[position] = ratios[place] * variance;
        }
        let added = profile.coefficients.as_slice();
        Ok(Refit {
            coefficients: self
                .coefficients(&coordinates, added, spread * n.sqrt())
                .into_iter()
                .map(DoubleDouble::value)
                .collect(),
            variances,
            residual_variance: variance,
            log_likelihood: self.log_likelihood(profile.deviance, spread, likelihood),
        })
    }
}

fn require_draws(draws: usize) -> Result<(), StatsError> {
    if draws == 0 {
        return Err(StatsError::BadArgument {
            name: "draws",
            value: 0.0,
            expected: "a bootstrap needs at least one draw",
        });
    }
    Ok(())
}
