//! The studentized range: the range of k independent normal means over an independent estimate of
//! their standard error, the yardstick of all pairwise comparisons.
//!
//! With R the range of k standard normals and S = √(χ²/ν) independent of it,
//!
//! P(R ≤ w) = k ∫ φ(z) (Φ(z) − Φ(z − w))ᵏ⁻¹ dz and P(R/S ≤ q) = E P(R ≤ qS)
//!
//! (Hartley 1942, "The range in random samples", Biometrika 32, 334–348; Copenhaver & Holland 1988,
//! "Computation of the distribution of the maximum studentized range statistic with application to
//! multiple significance testing of simple effects", Journal of Statistical Computation and
//! Simulation 30, 1–15). Both integrals are taken by the trapezoidal rule, which converges
//! exponentially for such integrands. The upper tail has an integrand of its own,
//! k φ(z) (Φ(z)ᵏ⁻¹ − (Φ(z) − Φ(z − w))ᵏ⁻¹), so that small p values keep their relative precision.

use crate::distribution::normal_cdf;
use crate::error::StatsError;
use crate::root::find_root;
use crate::scale_mixture::{Monotone, expectation_over_scale};
use std::f64::consts::PI;

/// Ranges beyond this have probability below the smallest double.
const LARGEST_RANGE: f64 = 60.0;
/// Normal deviates beyond this have a density below rounding of its maximum.
const LARGEST_DEVIATE: f64 = 8.75;
/// Most groups accepted.
const MOST_GROUPS: usize = 10_000;

/// The distribution of the studentized range.
///
/// ```
/// use stats::StudentizedRange;
///
/// // Critical value 3.77 at 5 % for 3 groups and 12 degrees of freedom, as in printed tables.
/// let range = StudentizedRange::new(3, 12.0)?;
/// assert!((range.quantile(0.95)? - 3.77).abs() < 0.005);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone)]
pub struct StudentizedRange {
    groups: f64,
    df: f64,
    step: f64,
    nodes: Vec<Node>,
    /// The first node that counts for the upper tail.
    first: usize,
}

/// A node of the inner integral.
#[derive(Debug, Clone, Copy)]
struct Node {
    z: f64,
    /// k φ(z) times the step.
    weight: f64,
    /// Φ(z).
    below: f64,
    /// k φ(z) Φ(z)ᵏ⁻¹ times the step.
    weight_of_largest: f64,
}

impl StudentizedRange {
    /// The studentized range of `groups` means with `df` degrees of freedom of the error variance;
    /// infinite `df` is the range of standard normals.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] for fewer than 2 or more than 10 000 groups, or degrees of
    /// freedom below 1.
    pub fn new(groups: usize, df: f64) -> Result<Self, StatsError> {
        if !(2..=MOST_GROUPS).contains(&groups) {
            return Err(StatsError::BadArgument {
                name: "groups",
                value: groups as f64,
                expected: "a studentized range has 2 to 10000 groups",
            });
        }
        if df.is_nan() || df < 1.0 {
            return Err(StatsError::BadArgument {
                name: "df",
                value: df,
                expected: "degrees of freedom of a studentized range are at least 1",
            });
        }
        let k = groups as f64;
        // The largest of k normals has a density of width 1/√(2 ln k) with exponential flanks. At
        // this step, and this sharpness below, finer ones change no result by more than 2e-13.
        let step = 0.4 / (2.0 * k.ln() + 1.0).sqrt();
        let count = ((0.5 * LARGEST_RANGE + 2.0 * LARGEST_DEVIATE) / step).ceil() as u32;
        let nodes: Vec<Node> = (0..=count)
            .map(|position| {
                let z = f64::from(position) * step - LARGEST_DEVIATE;
                let weight = k * step * (-0.5 * z * z).exp() / (2.0 * PI).sqrt();
                let below = normal_cdf(z);
                Node { z, weight, below, weight_of_largest: weight * below.powf(k - 1.0) }
            })
            .collect();
        let counts = |node: &Node| node.weight_of_largest > 1e-24;
        let first = nodes.iter().position(counts).unwrap_or(0);
        Ok(Self { groups: k, df, step, nodes, first })
    }

    /// P(Q ≤ q).
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] if `q` is NaN.
    pub fn cdf(&self, q: f64) -> Result<f64, StatsError> {
        require_number(q)?;
        if q <= 0.0 {
            return Ok(0.0);
        }
        Ok(self.mix(Monotone::Increasing, |s| self.range_below(q * s)))
    }

    /// P(Q > q), with its relative precision where it is small.
    ///
    /// # Errors
    /// As [`cdf`](Self::cdf).
    pub fn upper_tail(&self, q: f64) -> Result<f64, StatsError> {
        require_number(q)?;
        if q <= 0.0 {
            return Ok(1.0);
        }
        Ok(self.mix(Monotone::Decreasing, |s| self.range_above(q * s)))
    }

    /// The q with P(Q ≤ q) = `probability`.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `probability` lies strictly between 0 and 1.
    pub fn quantile(&self, probability: f64) -> Result<f64, StatsError> {
        if !(probability > 0.0 && probability < 1.0) {
            return Err(StatsError::BadArgument {
                name: "probability",
                value: probability,
                expected: "a probability lies strictly between 0 and 1",
            });
        }
        // Sought on the tail that is the smaller, in ln q, with logarithms of probabilities: both
        // tails are then close to straight lines.
        let excess = |ln_q: f64| {
            let q = ln_q.exp();
            let (found, wanted) = if probability < 0.5 {
                (self.mix(Monotone::Increasing, |s| self.range_below(q * s)), probability)
            } else {
                (self.mix(Monotone::Decreasing, |s| self.range_above(q * s)), 1.0 - probability)
            };
            let difference = found.max(f64::MIN_POSITIVE).ln() - wanted.ln();
            if probability < 0.5 { difference } else { -difference }
        };
        let (mut low, mut high) = (0.0, 2.0);
        while excess(low) > 0.0 {
            (low, high) = (low - 2.0, low);
        }
        while excess(high) < 0.0 {
            (low, high) = (high, high + 2.0);
        }
        Ok(find_root(low, high, 1e-13, excess).exp())
    }

    fn mix(&self, monotone: Monotone, f: impl Fn(f64) -> f64) -> f64 {
        // The range of k normals is near 2√(2 ln k) with flanks 1/√(2 ln k) wide.
        let sharpness = 2.0 * self.groups.ln() + 2.0;
        expectation_over_scale(self.df, sharpness, monotone, f)
    }

    fn range_below(&self, w: f64) -> f64 {
        let power = self.groups - 1.0;
        let count = (2.0 * LARGEST_DEVIATE / self.step) as usize;
        let sum: f64 = self.nodes[..count]
            .iter()
            .map(|node| {
                let lower = node.z - w;
                // The difference is taken on the side where both are small.
                let between = if lower > 0.0 {
                    normal_cdf(-lower) - normal_cdf(-node.z)
                } else {
                    node.below - normal_cdf(lower)
                };
                node.weight * between.powf(power)
            })
            .sum();
        sum.min(1.0)
    }

    fn range_above(&self, w: f64) -> f64 {
        if w > LARGEST_RANGE {
            return 0.0;
        }
        let power = self.groups - 1.0;
        let count = ((0.5 * w + 2.0 * LARGEST_DEVIATE) / self.step) as usize;
        let sum: f64 = self.nodes[self.first..count]
            .iter()
            .map(|node| {
                let share = normal_cdf(node.z - w) / node.below;
                node.weight_of_largest * -(power * (-share).ln_1p()).exp_m1()
            })
            .sum();
        sum.min(1.0)
    }
}

fn require_number(q: f64) -> Result<(), StatsError> {
    if q.is_nan() {
        return Err(StatsError::BadArgument {
            name: "q",
            value: q,
            expected: "a studentized range is a number",
        });
    }
    Ok(())
}

#[cfg(test)]
#[path = "studentized_range_tests.rs"]
mod tests;
