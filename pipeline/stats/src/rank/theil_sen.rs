//! The Theil–Sen line.

use crate::describe::median;
use crate::distribution::normal_quantile;
use crate::error::{StatsError, require_finite, require_length, require_level};
use crate::estimates::Interval;

/// Most pairs of rows whose slopes are kept: 10 000 rows, 400 MB.
const MOST_PAIRS: usize = 50_000_000;

/// How Sen's interval reads an order statistic at a rank that is no whole number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RankRule {
    /// By linear interpolation between the slopes next to it.
    #[default]
    Interpolated,
    /// At the nearest whole rank.
    Rounded,
}

/// A straight line through the median of all slopes (Theil 1950, Indagationes Mathematicae 12,
/// 85–91; Sen 1968, "Estimates of the regression coefficient based on Kendall's tau", Journal of the
/// American Statistical Association 63, 1379–1389). A wild point in four does not move it far.
///
/// Pairs of rows with equal x have no slope and are dropped.
///
/// ```
/// use stats::rank::{RankRule, TheilSen};
///
/// let line = TheilSen::fit(&[1.0, 2.0, 3.0, 4.0, 5.0], &[2.1, 3.9, 6.0, 8.2, 99.0])?;
/// assert!((line.slope() - 2.175).abs() < 1e-12);
/// assert!(line.interval(0.9, RankRule::Interpolated)?.lo > 1.8);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct TheilSen {
    slopes: Vec<f64>,
    slope: f64,
    intercept: f64,
    median_residual_intercept: f64,
    sigma: f64,
}

impl TheilSen {
    /// Fits the line of `y` on `x`. Time and memory grow with the square of the rows.
    ///
    /// # Errors
    /// Columns that are empty, differ in length or hold a value that is not finite; fewer than two
    /// rows; a constant `x`; more than 50 million pairs of rows ([`StatsError::TooMany`]).
    pub fn fit(x: &[f64], y: &[f64]) -> Result<Self, StatsError> {
        require_finite("x", x)?;
        require_length("y", x.len(), y.len())?;
        require_finite("y", y)?;
        let n = x.len();
        if n < 2 {
            let what = "a Theil–Sen line".to_owned();
            return Err(StatsError::TooFewRows { what, needed: 2, found: n });
        }
        let pairs = n * (n - 1) / 2;
        if pairs > MOST_PAIRS {
            return Err(StatsError::TooMany {
                what: "pairs of rows for a Theil–Sen line".to_owned(),
                most: MOST_PAIRS as f64,
                found: pairs as f64,
                instead: "thin the rows",
            });
        }
        let mut slopes = Vec::with_capacity(pairs);
        for (row, (x1, y1)) in x.iter().zip(y).enumerate() {
            for (x2, y2) in x[row + 1..].iter().zip(&y[row + 1..]) {
                if x1 != x2 {
                    slopes.push((y2 - y1) / (x2 - x1));
                }
            }
        }
        if slopes.is_empty() {
            return Err(StatsError::ConstantColumn { term: "x".to_owned() });
        }
        if slopes.iter().any(|slope| !slope.is_finite()) {
            return Err(StatsError::Overflow { what: "a slope between two rows".to_owned() });
        }
        slopes.sort_unstable_by(f64::total_cmp);
        let middle = slopes.len() / 2;
        let (low, high) = (slopes[(slopes.len() - 1) / 2], slopes[middle]);
        let slope = low + 0.5 * (high - low);
        let residuals: Vec<f64> = x.iter().zip(y).map(|(x, y)| y - slope * x).collect();
        if residuals.iter().any(|residual| !residual.is_finite() || residual.abs() > 1e60) {
            return Err(StatsError::Overflow { what: "a residual".to_owned() });
        }
        let count = n as f64;
        let untied = count * (count - 1.0) * (2.0 * count + 5.0);
        let variance = (untied - tie_term(x) - tie_term(y)) / 18.0;
        Ok(Self {
            slope,
            intercept: median(y)? - slope * median(x)?,
            median_residual_intercept: median(&residuals)?,
            sigma: variance.max(0.0).sqrt(),
            slopes,
        })
    }

    /// The slope: median of the slopes of all pairs.
    pub fn slope(&self) -> f64 {
        self.slope
    }

    /// The intercept median(y) − slope · median(x), Conover's choice.
    pub fn intercept(&self) -> f64 {
        self.intercept
    }

    /// The intercept median(y − slope · x), which leaves as many points above the line as below.
    pub fn median_residual_intercept(&self) -> f64 {
        self.median_residual_intercept
    }

    /// Slopes of all pairs with different x, sorted.
    pub fn slopes(&self) -> &[f64] {
        &self.slopes
    }

    /// Standard deviation of Kendall's score under independence, with its correction for ties in x
    /// and y: √((n(n − 1)(2n + 5) − Σt(t − 1)(2t + 5))/18).
    pub fn kendall_sd(&self) -> f64 {
        self.sigma
    }

    /// The outcome on the line, with [`intercept`](Self::intercept), at a new `x`.
    pub fn predict(&self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }

    /// Sen's interval of the slope: with N slopes and C = z · [`kendall_sd`](Self::kendall_sd), the
    /// slopes of ranks (N − C)/2 and (N + C)/2 + 1. An end is infinite where there are too few
    /// slopes for the level.
    ///
    /// # Errors
    /// A level outside 0 to 1.
    pub fn interval(&self, level: f64, rule: RankRule) -> Result<Interval, StatsError> {
        require_level(level)?;
        let n = self.slopes.len() as f64;
        let reach = normal_quantile(0.5 + 0.5 * level) * self.sigma;
        let lower = 0.5 * (n - reach);
        if lower < 1.0 {
            return Ok(Interval { lo: f64::NEG_INFINITY, hi: f64::INFINITY });
        }
        // The upper rank mirrors the lower one.
        let at = |rank: f64| {
            let rank = match rule {
                RankRule::Interpolated => rank,
                RankRule::Rounded => rank.round(),
            };
            let below = (rank.floor() as usize).clamp(1, self.slopes.len());
            let above = (below + 1).min(self.slopes.len());
            let (low, high) = (self.slopes[below - 1], self.slopes[above - 1]);
            low + (rank - below as f64) * (high - low)
        };
        Ok(Interval { lo: at(lower), hi: at(n + 1.0 - lower) })
    }
}

/// Σ t(t − 1)(2t + 5) over the ties of t values.
fn tie_term(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted
        .chunk_by(|a, b| a == b)
        .map(|tied| {
            let t = tied.len() as f64;
            t * (t - 1.0) * (2.0 * t + 5.0)
        })
        .sum()
}
