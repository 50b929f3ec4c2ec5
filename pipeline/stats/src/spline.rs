//! Cubic splines with straight tails, as columns of a design.

use crate::describe::quantiles;
use crate::error::{StatsError, require_finite};
use nalgebra::DMatrix;

/// A cubic spline that is a straight line before its first knot and after its last: natural (de
/// Boor 1978, A Practical Guide to Splines), or restricted (Stone & Koo 1985, Proceedings of the
/// Statistical Computing Section, ASA, 45–48). These are two bases of the same curves, of one
/// column fewer than there are knots beside an intercept; a fit has the same fitted values in
/// either, its coefficients mean different things.
///
/// ```
/// use stats::{CubicSpline, Design, ErrorKind, LeastSquares, Value, quantile_knots};
///
/// let hours: Vec<f64> = (0..30).map(f64::from).collect();
/// let degrees: Vec<f64> = hours.iter().map(|h| 20.0 + 60.0 * (h / 30.0).powi(2)).collect();
/// let spline = CubicSpline::restricted(&quantile_knots(&hours, 4)?)?;
/// let design = Design::new(30).intercept()?.spline("hours", &spline, &hours)?;
/// assert_eq!(design.terms(), ["(intercept)", "hours[1]", "hours[2]", "hours[3]"]);
///
/// let fit = LeastSquares::fit(&design, &degrees, ErrorKind::Hc3)?;
/// let at = design.encode(&[("hours", Value::Number(15.0))])?;
/// assert!((fit.estimates.predict(&[at])?[0].estimate - 35.0).abs() < 0.5);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CubicSpline {
    knots: Vec<f64>,
    basis: Basis,
}

#[derive(Debug, Clone, PartialEq)]
enum Basis {
    Restricted,
    /// Second derivatives at the knots of the curves that are one at one knot and zero at the
    /// others; row: knot, column: curve.
    Natural(DMatrix<f64>),
}

impl CubicSpline {
    /// The truncated power basis of Harrell (2015), Regression Modeling Strategies, 2nd ed., section
    /// 2.4.5: the value itself, then for each knot tⱼ but the last two
    /// [(x−tⱼ)₊³ − (x−t₋₂)₊³(t₋₁−tⱼ)/(t₋₁−t₋₂) + (x−t₋₁)₊³(t₋₂−tⱼ)/(t₋₁−t₋₂)]/(t₋₁−t₁)², with t₋₂
    /// and t₋₁ the last two. A joint test of all columns but the first is a test of linearity.
    ///
    /// # Errors
    /// Fewer than three knots, or knots that do not increase.
    pub fn restricted(knots: &[f64]) -> Result<Self, StatsError> {
        require_knots(knots)?;
        Ok(Self { knots: knots.to_vec(), basis: Basis::Restricted })
    }

    /// The basis of heights at the knots: beside an intercept, the coefficient of column j is the
    /// height of the curve at knot j + 1 above that at the first. Better conditioned than the
    /// truncated powers.
    ///
    /// # Errors
    /// Fewer than three knots, or knots that do not increase.
    pub fn natural(knots: &[f64]) -> Result<Self, StatsError> {
        require_knots(knots)?;
        Ok(Self { knots: knots.to_vec(), basis: Basis::Natural(second_derivatives(knots)) })
    }

    /// The knots.
    pub fn knots(&self) -> &[f64] {
        &self.knots
    }

    /// Number of columns: one fewer than knots.
    pub fn columns(&self) -> usize {
        self.knots.len() - 1
    }

    /// The columns at one value.
    ///
    /// # Errors
    /// [`StatsError::NonFinite`].
    pub fn evaluate(&self, x: f64) -> Result<Vec<f64>, StatsError> {
        require_finite("the value of a spline", &[x])?;
        Ok(match &self.basis {
            Basis::Restricted => self.restricted_at(x),
            Basis::Natural(curvature) => self.natural_at(x, curvature),
        })
    }

    fn restricted_at(&self, x: f64) -> Vec<f64> {
        let t = &self.knots;
        let last = t[t.len() - 1];
        let before = t[t.len() - 2];
        let cube = |knot: f64| (x - knot).max(0.0).powi(3);
        let unit = (last - t[0]).powi(2);
        let mut columns = vec![x];
        if x <= last {
            columns.extend(
                t[..t.len() - 2].iter().map(|&knot| {
                    (cube(knot) - cube(before) * (last - knot) / (last - before)) / unit
                }),
            );
        } else {
            // Beyond the last knot the cubes cancel to a line; written out, no digits are lost:
            // height and slope at the last knot.
            columns.extend(t[..t.len() - 2].iter().map(|&knot| {
                let (far, near) = (last - knot, last - before);
                let height = far.powi(3) - near.powi(2) * far;
                let slope = 3.0 * (far * far - near * far);
                (height + slope * (x - last)) / unit
            }));
        }
        columns
    }

    fn natural_at(&self, x: f64, curvature: &DMatrix<f64>) -> Vec<f64> {
        let t = &self.knots;
        let last = t.len() - 1;
        // The piece, the point on it, and what goes on beyond the ends as a line.
        let inside = x.clamp(t[0], t[last]);
        let piece = t.partition_point(|&knot| knot <= inside).clamp(1, last) - 1;
        let width = t[piece + 1] - t[piece];
        let (left, right) = ((t[piece + 1] - inside) / width, (inside - t[piece]) / width);
        let beyond = x - inside;
        let square = width * width / 6.0;
        (1..=last)
            .map(|curve| {
                let at = |knot: usize| f64::from(u8::from(knot == curve));
                let (low, high) = (curvature[(piece, curve)], curvature[(piece + 1, curve)]);
                let value = left * at(piece)
                    + right * at(piece + 1)
                    + square * ((left.powi(3) - left) * low + (right.powi(3) - right) * high);
                let slope = (at(piece + 1) - at(piece)) / width
                    + width / 6.0
                        * ((1.0 - 3.0 * left * left) * low + (3.0 * right * right - 1.0) * high);
                if beyond == 0.0 { value } else { value + slope * beyond }
            })
            .collect()
    }
}

/// Knots at the quantiles of `values` that Harrell (2015), table 2.3, recommends for 3 to 7 knots;
/// quantiles of type 7.
///
/// # Errors
/// An empty sample or one with a value that is not finite; another number of knots;
/// [`StatsError::NotIncreasing`] where so many values are equal that knots coincide.
pub fn quantile_knots(values: &[f64], knots: usize) -> Result<Vec<f64>, StatsError> {
    let probabilities: &[f64] = match knots {
        3 => &[0.1, 0.5, 0.9],
        4 => &[0.05, 0.35, 0.65, 0.95],
        5 => &[0.05, 0.275, 0.5, 0.725, 0.95],
        6 => &[0.05, 0.23, 0.41, 0.59, 0.77, 0.95],
        7 => &[0.025, 0.1833, 0.3417, 0.5, 0.6583, 0.8167, 0.975],
        _ => {
            return Err(StatsError::BadArgument {
                name: "the number of knots",
                value: knots as f64,
                expected: "3 to 7 knots; give others by hand",
            });
        }
    };
    let found = quantiles(values, probabilities)?;
    require_knots(&found)?;
    Ok(found)
}

/// Knots at the least and greatest value and at evenly spaced quantiles (type 7) between, which is
/// what a natural spline of `knots` − 1 degrees of freedom commonly takes.
///
/// # Errors
/// As [`quantile_knots`], for any number of knots from three.
pub fn spanning_knots(values: &[f64], knots: usize) -> Result<Vec<f64>, StatsError> {
    if knots < 3 {
        return Err(too_few(knots));
    }
    let probabilities: Vec<f64> = (0..knots).map(|knot| knot as f64 / (knots - 1) as f64).collect();
    let found = quantiles(values, &probabilities)?;
    require_knots(&found)?;
    Ok(found)
}

fn too_few(knots: usize) -> StatsError {
    StatsError::BadArgument {
        name: "the number of knots",
        value: knots as f64,
        expected: "a spline that can bend needs at least three",
    }
}

fn require_knots(knots: &[f64]) -> Result<(), StatsError> {
    require_finite("the knots", knots)?;
    if knots.len() < 3 {
        return Err(too_few(knots.len()));
    }
    match knots.windows(2).position(|pair| pair[1] <= pair[0]) {
        None => Ok(()),
        Some(position) => {
            Err(StatsError::NotIncreasing { what: "the knots".to_owned(), row: position + 1 })
        }
    }
}

/// Solves the tridiagonal system of the natural interpolating spline (de Boor 1978, chapter IV) for
/// every curve that is one at one knot.
fn second_derivatives(knots: &[f64]) -> DMatrix<f64> {
    let k = knots.len();
    let width = |piece: usize| knots[piece + 1] - knots[piece];
    let mut right = DMatrix::zeros(k, k);
    let mut diagonal = vec![1.0; k];
    let mut above = vec![0.0; k];
    for row in 1..k - 1 {
        let (before, after) = (width(row - 1), width(row));
        // In units of the widths, so that far-off scales do no harm.
        let unit = before + after;
        let below = if row == 1 { 0.0 } else { before / unit };
        diagonal[row] = 2.0;
        above[row] = if row == k - 2 { 0.0 } else { after / unit };
        right[(row, row - 1)] = 6.0 / (before * unit);
        right[(row, row)] = -6.0 / (before * after);
        right[(row, row + 1)] = 6.0 / (after * unit);
        if row > 1 {
            let factor = below / diagonal[row - 1];
            diagonal[row] -= factor * above[row - 1];
            for curve in 0..k {
                let earlier = right[(row - 1, curve)];
                right[(row, curve)] -= factor * earlier;
            }
        }
    }
    for row in (1..k - 1).rev() {
        for curve in 0..k {
            let later = if row + 1 < k - 1 { right[(row + 1, curve)] } else { 0.0 };
            right[(row, curve)] = (right[(row, curve)] - above[row] * later) / diagonal[row];
        }
    }
    right
}

#[cfg(test)]
#[path = "spline_tests.rs"]
mod tests;
