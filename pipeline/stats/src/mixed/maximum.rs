//! The ratios of variances γ = variance of the intercepts / σ² at which the profiled deviance is
//! least.
//!
//! The deviance may have more than one minimum and its least value often lies at γ = 0. One ratio is
//! scanned over its whole range, and every sign change of the derivative is followed to its root.
//! For two ratios Newton's method in the roots θ = √γ (in which the deviance is smooth at zero)
//! starts from the best of several points, and what it finds is held against the minima on the
//! borders γ₁ = 0 and γ₂ = 0.

use super::sums::{Profile, Sums};
use crate::error::StatsError;

/// γ times the mean group size at the ends of the scan. Below the first, γ is followed linearly to
/// zero; beyond the second, the intercepts explain all but 1e-12 of the variance.
const LEAST: f64 = 1e-6;
const MOST: f64 = 1e12;
/// Points a decade of the scan.
const POINTS: i32 = 2;
const MOST_STEPS: usize = 100;
/// Levels of the second grouping up to which Newton's method starts from several points.
const SMALL: f64 = 30.0;

/// The objective, of sums that hold an outcome.
#[derive(Clone, Copy)]
pub(super) struct Deviance<'a> {
    pub(super) sums: &'a Sums,
}

impl Deviance<'_> {
    /// # Errors
    /// [`StatsError::ExactFit`]: only an outcome without residual scatter breaks the arithmetic.
    pub(super) fn at(self, ratios: &[f64]) -> Result<Profile, StatsError> {
        self.sums.profile(ratios, true).ok_or(StatsError::ExactFit)
    }

    fn value(self, ratios: &[f64]) -> f64 {
        self.sums.profile(ratios, false).map_or(f64::INFINITY, |p| p.deviance)
    }

    /// The best single ratio.
    ///
    /// # Errors
    /// [`StatsError::ExactFit`] if the deviance falls without end.
    pub(super) fn minimum_of_one(self) -> Result<f64, StatsError> {
        let size = self.sums.mean_size(0);
        let decades = (MOST / LEAST).log10().round() as i32;
        let point = |step: i32| LEAST / size * 10f64.powf(f64::from(step) / f64::from(POINTS));
        let mut best = (0.0, self.at(&[0.0])?);
        let mut last = (0.0, best.1.gradient[0]);
        for step in 0..=decades * POINTS {
            let ratio = point(step);
            let profile = match self.at(&[ratio]) {
                Ok(profile) => profile,
                // Far beyond the minimum rounding may break down; before it, it may not.
                Err(_) if last.1 > 0.0 => break,
                Err(error) => return Err(error),
            };
            let gradient = profile.gradient[0];
            if last.1 < 0.0 && gradient >= 0.0 {
                let found = self.root(last, (ratio, gradient))?;
                let profile = self.at(&[found])?;
                if profile.deviance < best.1.deviance {
                    best = (found, profile);
                }
            }
            last = (ratio, gradient);
        }
        // It must not lie lower beyond the scan than at the best point within.
        if last.1 < 0.0 && self.value(&[last.0]) < best.1.deviance {
            return Err(StatsError::ExactFit);
        }
        Ok(best.0)
    }

    /// Root of the derivative between a point where it is negative and one where it is not, by
    /// regula falsi with halving of the stale end ("Illinois": Dowell & Jarratt 1971, BIT 11,
    /// 168–174), kept in check by bisection.
    fn root(self, mut low: (f64, f64), mut high: (f64, f64)) -> Result<f64, StatsError> {
        let mut side = 0;
        for step in 0..MOST_STEPS {
            if high.0 - low.0 <= 1e-15 * high.0 || high.1 == 0.0 {
                break;
            }
            let mut middle = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
            if step % 8 == 7 || middle <= low.0 || middle >= high.0 {
                middle = 0.5 * (low.0 + high.0);
            }
            let gradient = self.at(&[middle])?.gradient[0];
            if gradient < 0.0 {
                low = (middle, gradient);
                if side == -1 {
                    high.1 *= 0.5;
                }
                side = -1;
            } else {
                high = (middle, gradient);
                if side == 1 {
                    low.1 *= 0.5;
                }
                side = 1;
            }
        }
        Ok(if high.1.abs() < low.1.abs() { high.0 } else { low.0 })
    }

    /// The best pair of ratios; `alone` holds the best of each grouping without the other.
    ///
    /// # Errors
    /// [`StatsError::ExactFit`] if the deviance falls without end.
    pub(super) fn minimum_of_two(self, alone: [f64; 2]) -> Result<[f64; 2], StatsError> {
        let sizes = [self.sums.mean_size(0), self.sums.mean_size(1)];
        let floor = |k: usize| alone[k].max(0.1 / sizes[k]);
        let mut starts = vec![
            [floor(0), floor(1)],
            [floor(0), 0.1 / sizes[1]],
            [0.1 / sizes[0], floor(1)],
            [1.0, 1.0],
        ];
        let cheap = self.sums.rows as f64 / sizes[1] <= SMALL;
        if !cheap {
            let mut values: Vec<(f64, [f64; 2])> =
                starts.iter().map(|start| (self.value(start), *start)).collect();
            values.sort_by(|a, b| a.0.total_cmp(&b.0));
            starts = vec![values[0].1];
        }
        let mut candidates = vec![[0.0, 0.0], [alone[0], 0.0], [0.0, alone[1]]];
        for start in &starts {
            candidates.push(self.newton(*start, sizes)?);
        }
        let mut best: Option<([f64; 2], f64)> = None;
        for candidate in candidates {
            let value = self.value(&candidate);
            // The border comes first and is kept unless the inner point is truly lower.
            let better = best.is_none_or(|(_, least)| value < least - 1e-10 * least.abs().max(1.0));
            if better && value.is_finite() {
                best = Some((candidate, value));
            }
        }
        best.map(|(ratios, _)| ratios).ok_or(StatsError::ExactFit)
    }

    /// Newton's method with differences of the exact gradient, in θ.
    fn newton(self, start: [f64; 2], sizes: [f64; 2]) -> Result<[f64; 2], StatsError> {
        let squares = |theta: [f64; 2]| [theta[0] * theta[0], theta[1] * theta[1]];
        let gradient = |profile: &Profile, theta: [f64; 2]| {
            [2.0 * theta[0] * profile.gradient[0], 2.0 * theta[1] * profile.gradient[1]]
        };
        let mut theta = [start[0].sqrt(), start[1].sqrt()];
        let mut profile = self.at(&squares(theta))?;
        for _ in 0..MOST_STEPS {
            if (0..2).any(|k| theta[k] * theta[k] * sizes[k] > MOST) {
                return Err(StatsError::ExactFit);
            }
            let slope = gradient(&profile, theta);
            let mut hessian = [[0.0; 2]; 2];
            for k in 0..2 {
                let step = 1e-5 * theta[k].max(1e-3 / sizes[k].sqrt());
                let mut moved = theta;
                moved[k] += step;
                let there = gradient(&self.at(&squares(moved))?, moved);
                for j in 0..2 {
                    hessian[k][j] = (there[j] - slope[j]) / step;
                }
            }
            let step = descent(hessian, slope, theta, sizes);
            let decrease = slope[0] * step[0] + slope[1] * step[1];
            let mut part = 1.0;
            let moved = loop {
                let trial = [theta[0] + part * step[0], theta[1] + part * step[1]];
                let noise = 1e-13 * profile.deviance.abs().max(1.0);
                let bound = profile.deviance + 1e-4 * part * decrease + noise;
                if let Some(there) = self.at(&squares(trial)).ok().filter(|p| p.deviance <= bound) {
                    break Some((trial, there));
                }
                part *= 0.5;
                if part < 1e-10 {
                    break None;
                }
            };
            let Some((moved, there)) = moved else { break };
            let change = (0..2).fold(0.0, |most: f64, k| {
                most.max((moved[k] - theta[k]).abs() / theta[k].abs().max(1e-4 / sizes[k].sqrt()))
            });
            theta = [moved[0].abs(), moved[1].abs()];
            profile = there;
            if change < 1e-9 {
                break;
            }
        }
        Ok(squares(theta))
    }
}

/// −|H|⁻¹g with the absolute values of H's eigenvalues, so that it always leads down; no component
/// may more than quadruple, or change by more than one typical size.
fn descent(hessian: [[f64; 2]; 2], slope: [f64; 2], theta: [f64; 2], sizes: [f64; 2]) -> [f64; 2] {
    let symmetric = nalgebra::Matrix2::new(
        hessian[0][0],
        0.5 * (hessian[0][1] + hessian[1][0]),
        0.5 * (hessian[0][1] + hessian[1][0]),
        hessian[1][1],
    );
    let eigen = symmetric.symmetric_eigen();
    let largest = eigen.eigenvalues.amax().max(f64::MIN_POSITIVE);
    let mut step = nalgebra::Vector2::zeros();
    for (value, vector) in eigen.eigenvalues.iter().zip(eigen.eigenvectors.column_iter()) {
        let along = vector[0] * slope[0] + vector[1] * slope[1];
        step -= vector * (along / value.abs().max(1e-10 * largest));
    }
    let excess = (0..2).fold(1.0, |most: f64, k| {
        most.max(step[k].abs() / (3.0 * theta[k].max(1.0 / sizes[k].sqrt())))
    });
    [step[0] / excess, step[1] / excess]
}
