//! Effects of several studies, combined: random-effects meta-analysis.

use crate::distribution::two_sided_quantile;
use crate::error::{StatsError, require_finite, require_length, require_level};
use crate::estimates::{Estimate, Interval};
use crate::root::find_root;

/// Fewest studies that can be combined, and fewest that foretell a further one.
const FEWEST: usize = 2;
const FEWEST_TO_FORETELL: usize = 3;
/// Points between which the likelihood is looked for its highest maximum, and how far they reach down from the
/// largest variance that there can be. It has more than one maximum in rare cases.
const POINTS: i32 = 240;
const REACH: f64 = 1e-10;

/// Studies whose true effects scatter around a mean: yᵢ ~ N(μ, vᵢ + τ²), the vᵢ taken as known.
///
/// τ² is estimated by restricted maximum likelihood (Viechtbauer 2005, Journal of Educational and Behavioral
/// Statistics 30, 261–293). The standard error of the mean is that of Hartung & Knapp (2001), Statistics in
/// Medicine 20, 3875–3889, with t of k − 1 degrees of freedom, its factor never below one: with few studies
/// that happen to agree it would else be narrower than if nothing scattered (Knapp & Hartung 2003, Statistics in
/// Medicine 22, 2693–2710; Röver, Knapp & Friede 2015, BMC Medical Research Methodology 15, 99).
///
/// ```
/// use stats::meta::RandomEffects;
///
/// let found = RandomEffects::fit(&[10.0, 12.0, 31.0], &[3.0, 4.0, 5.0])?;
/// assert!(found.tau2 > 0.0 && found.mean.df == 2.0);
/// let new = found.new_study(0.9)?.expect("three studies foretell a fourth");
/// assert!(new.lo < 10.0 && new.hi > 31.0);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RandomEffects {
    /// The mean of the true effects.
    pub mean: Estimate,
    /// Variance of the true effects between studies.
    pub tau2: f64,
    /// Hartung and Knapp's factor as it comes out, before it is kept from falling below one.
    pub factor: f64,
    /// Share of each study in the mean, in the order given; they sum to one.
    pub weights: Vec<f64>,
}

/// What weights 1 / (vᵢ + τ²) make of the studies.
struct Weighed {
    weights: Vec<f64>,
    sum: f64,
    mean: f64,
}

impl Weighed {
    fn at(tau2: f64, y: &[f64], v: &[f64]) -> Self {
        let weights: Vec<f64> = v.iter().map(|v| 1.0 / (v + tau2)).collect();
        let sum: f64 = weights.iter().sum();
        let mean = weights.iter().zip(y).map(|(w, y)| w * y).sum::<f64>() / sum;
        Self { weights, sum, mean }
    }

    fn squares(&self, y: &[f64], power: i32) -> f64 {
        let each = self.weights.iter().zip(y);
        each.map(|(w, y)| w.powi(power) * (y - self.mean).powi(2)).sum()
    }

    /// The restricted log-likelihood, without its constant.
    fn log_likelihood(&self, y: &[f64]) -> f64 {
        let logs: f64 = self.weights.iter().map(|w| w.ln()).sum();
        0.5 * (logs - self.sum.ln() - self.squares(y, 1))
    }

    /// Twice its slope in τ²: y′PPy − tr P.
    fn slope(&self, y: &[f64]) -> f64 {
        let squared: f64 = self.weights.iter().map(|w| w * w).sum();
        self.squares(y, 2) - (self.sum - squared / self.sum)
    }
}

impl RandomEffects {
    /// Combines estimates with their standard errors.
    ///
    /// # Errors
    /// Fewer than two studies, unequal lengths, a number that is not finite, a standard error that is not above 0.
    pub fn fit(estimates: &[f64], std_errors: &[f64]) -> Result<Self, StatsError> {
        require_finite("the estimates", estimates)?;
        require_finite("the standard errors", std_errors)?;
        require_length("the standard errors", estimates.len(), std_errors.len())?;
        if estimates.len() < FEWEST {
            return Err(StatsError::TooFewRows {
                what: "a random-effects mean".into(),
                needed: FEWEST,
                found: estimates.len(),
            });
        }
        if let Some(row) = std_errors.iter().position(|error| *error <= 0.0) {
            let what = "the standard errors".to_owned();
            return Err(StatsError::NotPositive { what, row, value: std_errors[row] });
        }
        // In units of the largest number, around the first estimate: so that no size overflows or is lost.
        let origin = estimates[0];
        let distance = estimates.iter().map(|y| (y - origin).abs()).fold(0.0, f64::max);
        let unit = std_errors.iter().copied().fold(distance, f64::max);
        let y: Vec<f64> = estimates.iter().map(|y| (y - origin) / unit).collect();
        let v: Vec<f64> = std_errors.iter().map(|error| (error / unit).powi(2)).collect();

        let tau2 = restricted_maximum(&y, &v);
        let weighed = Weighed::at(tau2, &y, &v);
        let df = (y.len() - 1) as f64;
        let factor = weighed.squares(&y, 1) / df;
        let std_error = (factor.max(1.0) / weighed.sum).sqrt();
        Ok(Self {
            mean: Estimate {
                estimate: origin + weighed.mean * unit,
                std_error: std_error * unit,
                df,
            },
            tau2: tau2 * unit * unit,
            factor,
            weights: weighed.weights.iter().map(|w| w / weighed.sum).collect(),
        })
    }

    /// Standard deviation of the true effects between studies.
    pub fn tau(&self) -> f64 {
        self.tau2.sqrt()
    }

    /// Where the true effect of a further study lies: the mean ± t(k − 2) · √(τ² + its variance). `None` below
    /// three studies, which say nothing of a further one.
    ///
    /// Higgins, Thompson & Spiegelhalter (2009), Journal of the Royal Statistical Society A 172, 137–159. With few
    /// studies it holds less often than it says where their standard errors differ much (Partlett & Riley 2017,
    /// Statistics in Medicine 36, 301–317).
    ///
    /// # Errors
    /// A level that does not lie strictly between 0 and 1.
    pub fn new_study(&self, level: f64) -> Result<Option<Interval>, StatsError> {
        require_level(level)?;
        if self.weights.len() < FEWEST_TO_FORETELL {
            return Ok(None);
        }
        let spread = (self.tau2 + self.mean.std_error.powi(2)).sqrt();
        let reach = two_sided_quantile(level, self.mean.df - 1.0) * spread;
        let estimate = self.mean.estimate;
        Ok(Some(Interval { lo: estimate - reach, hi: estimate + reach }))
    }
}

/// The τ² ≥ 0 at which the restricted likelihood is highest.
fn restricted_maximum(y: &[f64], v: &[f64]) -> f64 {
    let likelihood = |tau2: f64| Weighed::at(tau2, y, v).log_likelihood(y);
    let slope = |tau2: f64| Weighed::at(tau2, y, v).slope(y);
    // Beyond the sum of squares the slope is negative: each square is below its own variance then.
    let highest = y.iter().map(|y| y * y).sum::<f64>().max(1.0) * 2.0;
    let at = |point: i32| match point {
        0 => 0.0,
        point => highest * REACH.powf(f64::from(POINTS - point) / f64::from(POINTS)),
    };
    let best = (0..=POINTS)
        .max_by(|a, b| likelihood(at(*a)).total_cmp(&likelihood(at(*b))))
        .unwrap_or_default();
    let (below, above) = (at((best - 1).max(0)), at((best + 1).min(POINTS)));
    let found = if slope(below) <= 0.0 && best == 0 {
        0.0
    } else {
        // Sizes of τ² differ by many powers of ten, and the root is found relative to one.
        let scale = above;
        scale * find_root(below / scale, 1.0, 1e-15, |share| slope(share * scale))
    };
    if likelihood(found) >= likelihood(0.0) { found } else { 0.0 }
}

#[cfg(test)]
mod tests;
