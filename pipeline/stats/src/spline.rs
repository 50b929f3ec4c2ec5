//! Cubic splines with straight tails, as columns of a design.

use crate::describe::quantiles;
use crate::error::{StatsError, require_finite};

/// A restricted cubic spline: a cubic spline that is a straight line before its first knot and after
/// its last (Stone & Koo 1985, Proceedings of the Statistical Computing Section, ASA, 45–48). It has
/// one column fewer than there are knots, beside an intercept.
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
        Ok(Self { knots: knots.to_vec() })
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
        Ok(columns)
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

fn require_knots(knots: &[f64]) -> Result<(), StatsError> {
    require_finite("the knots", knots)?;
    if knots.len() < 3 {
        return Err(StatsError::BadArgument {
            name: "the number of knots",
            value: knots.len() as f64,
            expected: "a spline that can bend needs at least three",
        });
    }
    match knots.windows(2).position(|pair| pair[1] <= pair[0]) {
        None => Ok(()),
        Some(position) => {
            Err(StatsError::NotIncreasing { what: "the knots".to_owned(), row: position + 1 })
        }
    }
}

#[cfg(test)]
#[path = "spline_tests.rs"]
mod tests;
