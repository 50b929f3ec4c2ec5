//! The Savitzky–Golay filter: at every reading of an evenly spaced series, the value or a derivative
//! of the least-squares polynomial through the window around it.
//!
//! Savitzky & Golay (1964), "Smoothing and differentiation of data by simplified least squares
//! procedures", Analytical Chemistry 36, 1627–1639. Coefficients are sums over Gram polynomials,
//! found by their recursion, which needs no matrix (Gorry 1990, "General least-squares smoothing and
//! differentiation by the convolution (Savitzky–Golay) method", Analytical Chemistry 62, 570–573).

use crate::error::{StatsError, require_finite};

/// Longest window accepted.
const LONGEST_WINDOW: usize = 100_001;
/// Highest degree accepted; beyond it the weights of a window swing too wildly to be of use.
const HIGHEST_DEGREE: usize = 20;

/// What stands in for readings beyond the ends of the series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Edge {
    /// Nothing: near an end the polynomial of the outermost full window is read off there.
    #[default]
    Interpolate,
    /// The first and the last reading, repeated.
    Nearest,
    /// The readings in reverse, the first and last not repeated.
    Mirror,
}

/// A Savitzky–Golay filter of a given window, degree and derivative.
///
/// ```
/// use stats::SavitzkyGolay;
///
/// // The published smoother of 5 readings: (−3, 12, 17, 12, −3)/35.
/// let smoother = SavitzkyGolay::new(5, 2)?;
/// let weights = smoother.coefficients();
/// assert!((weights[2] - 17.0 / 35.0).abs() < 1e-15);
///
/// // Slope per minute of readings five minutes apart.
/// let slope = SavitzkyGolay::new(5, 2)?.derivative(1, 5.0)?;
/// let line: Vec<f64> = (0..9).map(|i| 20.0 + 0.4 * 5.0 * f64::from(i)).collect();
/// assert!(slope.filter(&line, Default::default())?.iter().all(|s| (s - 0.4).abs() < 1e-12));
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SavitzkyGolay {
    half: usize,
    degree: usize,
    derivative: usize,
    spacing: f64,
}

impl SavitzkyGolay {
    /// A smoother: windows of `window` readings, polynomials of `degree`.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] for a window that is even or beyond 100 001, or a degree that is
    /// not below the window or beyond 20.
    pub fn new(window: usize, degree: usize) -> Result<Self, StatsError> {
        if window.is_multiple_of(2) || window > LONGEST_WINDOW {
            return Err(StatsError::BadArgument {
                name: "window",
                value: window as f64,
                expected: "a window is odd, so that it has a middle, and at most 100001 long",
            });
        }
        if degree >= window || degree > HIGHEST_DEGREE {
            return Err(StatsError::BadArgument {
                name: "degree",
                value: degree as f64,
                expected: "a degree is below the window and at most 20",
            });
        }
        Ok(Self { half: window / 2, degree, derivative: 0, spacing: 1.0 })
    }

    /// The same for a derivative, of readings `spacing` apart; its unit is that of the readings over
    /// that of the spacing, once for each derivation.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] for a derivative beyond the degree, which is zero everywhere, or
    /// a spacing that is not positive.
    pub fn derivative(self, derivative: usize, spacing: f64) -> Result<Self, StatsError> {
        if derivative > self.degree {
            return Err(StatsError::BadArgument {
                name: "derivative",
                value: derivative as f64,
                expected: "a derivative beyond the degree is zero everywhere: raise the degree",
            });
        }
        // A range in which its powers stay within the doubles.
        if !(1e-10..=1e10).contains(&spacing) {
            return Err(StatsError::BadArgument {
                name: "spacing",
                value: spacing,
                expected: "a spacing lies in 1e-10 to 1e10: choose another unit",
            });
        }
        Ok(Self { derivative, spacing, ..self })
    }

    /// Weights of the readings of a window, in time order, for its middle.
    pub fn coefficients(&self) -> Vec<f64> {
        self.weights_at(0)
    }

    /// Weights of the readings of a window for one of them, counted from zero.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] for a position beyond the window.
    pub fn coefficients_at(&self, position: usize) -> Result<Vec<f64>, StatsError> {
        if position > 2 * self.half {
            return Err(StatsError::BadArgument {
                name: "position",
                value: position as f64,
                expected: "a position lies in the window",
            });
        }
        Ok(self.weights_at(position as i64 - self.half as i64))
    }

    /// Filters a series of evenly spaced readings.
    ///
    /// # Errors
    /// A series shorter than the window, or a value that is not finite.
    pub fn filter(&self, values: &[f64], edge: Edge) -> Result<Vec<f64>, StatsError> {
        require_finite("the series", values)?;
        let (n, half) = (values.len(), self.half);
        let window = 2 * half + 1;
        if n < window {
            let what = "a Savitzky–Golay window".to_owned();
            return Err(StatsError::TooFewRows { what, needed: window, found: n });
        }
        // A large common part would cost digits.
        let base = values[n / 2];
        let added = if self.derivative == 0 { base } else { 0.0 };
        let product = |weights: &[f64], reading: &dyn Fn(usize) -> f64| {
            let sum: f64 =
                weights.iter().enumerate().map(|(at, weight)| weight * (reading(at) - base)).sum();
            added + sum
        };
        let middle = self.coefficients();
        let filtered = (0..n).map(|at| {
            let (start, inside) =
                (at.saturating_sub(half).min(n - window), at >= half && at + half < n);
            if inside {
                return product(&middle, &|offset| values[start + offset]);
            }
            match edge {
                Edge::Interpolate => {
                    let weights = self.weights_at(at as i64 - (start + half) as i64);
                    product(&weights, &|offset| values[start + offset])
                }
                Edge::Nearest => product(&middle, &|offset| {
                    values[(at + offset).saturating_sub(half).min(n - 1)]
                }),
                Edge::Mirror => product(&middle, &|offset| {
                    let reflected = (at + offset).abs_diff(half);
                    values[if reflected < n { reflected } else { 2 * (n - 1) - reflected }]
                }),
            }
        });
        let filtered: Vec<f64> = filtered.collect();
        if filtered.iter().any(|value| !value.is_finite()) {
            return Err(StatsError::Overflow { what: "the filtered series".to_owned() });
        }
        Ok(filtered)
    }

    /// Weights for the reading at `t` from the middle: Σₖ (2k + 1) (2m)⁽ᵏ⁾/(2m + k + 1)⁽ᵏ⁺¹⁾ Pₖ(i)
    /// Pₖ⁽ˢ⁾(t), with falling factorials (Gorry 1990, eq. 8).
    fn weights_at(&self, t: i64) -> Vec<f64> {
        let m = self.half as f64;
        let of_t = self.gram(t as f64);
        let mut factor = 1.0 / (2.0 * m + 1.0);
        let mut factors = Vec::with_capacity(self.degree + 1);
        for (k, polynomial) in of_t[self.derivative].iter().enumerate() {
            let order = k as f64;
            factors.push((2.0 * order + 1.0) * factor * polynomial);
            factor *= (2.0 * m - order) / (2.0 * m + order + 2.0);
        }
        let scale = self.spacing.powi(self.derivative as i32);
        let half = self.half as i64;
        (-half..=half)
            .map(|i| {
                let values = Self { derivative: 0, ..*self }.gram(i as f64).swap_remove(0);
                values.iter().zip(&factors).map(|(p, f)| p * f).sum::<f64>() / scale
            })
            .collect()
    }

    /// Gram polynomials of the window and their derivatives at `t`: one list for each derivative up
    /// to the one wanted, one value for each degree (Gorry 1990, eq. 11).
    fn gram(&self, t: f64) -> Vec<Vec<f64>> {
        let m = self.half as f64;
        let mut table: Vec<Vec<f64>> = Vec::with_capacity(self.derivative + 1);
        for s in 0..=self.derivative {
            let mut row = Vec::with_capacity(self.degree + 1);
            row.push(if s == 0 { 1.0 } else { 0.0 });
            for k in 1..=self.degree {
                let order = k as f64;
                let scale = order * (2.0 * m - order + 1.0);
                let lower = if s == 0 { 0.0 } else { s as f64 * table[s - 1][k - 1] };
                let before = if k == 1 { 0.0 } else { row[k - 2] };
                row.push(
                    (4.0 * order - 2.0) / scale * (t * row[k - 1] + lower)
                        - (order - 1.0) * (2.0 * m + order) / scale * before,
                );
            }
            table.push(row);
        }
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reference::{close, close_or_zero, column, expected, number, numbers};
    use proptest::prelude::*;
    use serde_json::Value as Json;

    fn filter_of(case: &Json) -> SavitzkyGolay {
        let whole = |key: &str| case[key].as_u64().unwrap() as usize;
        let spacing = case.get("delta").map_or(1.0, number);
        SavitzkyGolay::new(whole("window"), whole("poly"))
            .unwrap()
            .derivative(whole("deriv"), spacing)
            .unwrap()
    }

    /// scipy 1.17.1 `savgol_coeffs` and `savgol_filter` (`savgol.json`).
    #[test]
    fn agrees_with_scipy() {
        let (results, relative) = expected("savgol");
        let series = column("savgol_series", "value");
        for case in results["coefficients"].as_array().unwrap() {
            let found = filter_of(case).coefficients();
            for (found, expected) in found.iter().zip(numbers(&case["coeffs"])) {
                close_or_zero("coefficient", *found, expected, relative);
            }
        }
        for case in results["edge_coefficients"].as_array().unwrap() {
            let position = case["pos"].as_u64().unwrap() as usize;
            let found = filter_of(case).coefficients_at(position).unwrap();
            for (found, expected) in found.iter().zip(numbers(&case["coeffs"])) {
                close("edge coefficient", *found, expected, relative);
            }
        }
        for case in results["filtered"].as_array().unwrap() {
            let edge = match case["mode"].as_str().unwrap() {
                "interp" => Edge::Interpolate,
                "nearest" => Edge::Nearest,
                "mirror" => Edge::Mirror,
                other => panic!("{other}"),
            };
            let found = filter_of(case).filter(&series, edge).unwrap();
            let expected = numbers(&case["values"]);
            assert_eq!(found.len(), expected.len());
            for (found, expected) in found.iter().zip(expected) {
                close_or_zero("filtered", *found, expected, relative);
            }
        }
    }

    /// Savitzky & Golay (1964), tables I and III: smoothing by 5 points, quadratic, and first
    /// derivative by 5 points, quadratic.
    #[test]
    fn agrees_with_the_printed_tables() {
        let smooth = SavitzkyGolay::new(5, 2).unwrap();
        for (found, table) in smooth.coefficients().iter().zip([-3.0, 12.0, 17.0, 12.0, -3.0]) {
            close("weight", *found, table / 35.0, 1e-14);
        }
        let slope = smooth.derivative(1, 1.0).unwrap();
        for (found, table) in slope.coefficients().iter().zip([-2.0, -1.0, 0.0, 1.0, 2.0]) {
            assert!((found - table / 10.0).abs() < 1e-15);
        }
    }

    #[test]
    fn hard_series() {
        let smooth = SavitzkyGolay::new(5, 2).unwrap();
        let slope = smooth.derivative(1, 2.0).unwrap();
        for edge in [Edge::Interpolate, Edge::Nearest, Edge::Mirror] {
            assert_eq!(smooth.filter(&[1e9 + 0.25; 7], edge).unwrap(), [1e9 + 0.25; 7]);
            assert_eq!(slope.filter(&[-1e9; 5], edge).unwrap(), [0.0; 5]);
            assert!(matches!(smooth.filter(&[], edge), Err(StatsError::Empty { .. })));
            assert!(matches!(
                smooth.filter(&[1.0; 4], edge),
                Err(StatsError::TooFewRows { needed: 5, found: 4, .. })
            ));
            assert!(smooth.filter(&[1.0, 2.0, f64::NAN, 4.0, 5.0], edge).is_err());
        }
        let same = SavitzkyGolay::new(1, 0).unwrap();
        assert_eq!(same.filter(&[3.0, 1.0], Edge::Mirror).unwrap(), [3.0, 1.0]);
        for (window, degree) in [(0, 0), (4, 2), (5, 5), (100_003, 2), (101, 21)] {
            assert!(SavitzkyGolay::new(window, degree).is_err(), "{window} {degree}");
        }
        assert!(smooth.derivative(3, 1.0).is_err());
        for spacing in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(smooth.derivative(1, spacing).is_err());
        }
        assert!(smooth.coefficients_at(5).is_err());
    }

    proptest! {
        /// A polynomial of the filter's degree passes unchanged, to the ends, and so does its slope.
        #[test]
        fn polynomials_pass(
            a in -5.0f64..5.0, b in -5.0f64..5.0, c in -5.0f64..5.0,
            half in 2usize..15, extra in 0usize..20, spacing in 0.1f64..10.0,
        ) {
            let at = |i: usize| i as f64 * spacing / 10.0;
            let n = 2 * half + 1 + extra;
            let values: Vec<f64> = (0..n).map(|i| a + at(i) * (b + at(i) * c)).collect();
            let size = values.iter().fold(1.0, |size: f64, v| size.max(v.abs()));
            let smooth = SavitzkyGolay::new(2 * half + 1, 2).unwrap();
            let found = smooth.filter(&values, Edge::Interpolate).unwrap();
            prop_assert!(found.iter().zip(&values).all(|(f, v)| (f - v).abs() < 1e-11 * size));
            let slope = smooth.derivative(1, spacing / 10.0).unwrap();
            let found = slope.filter(&values, Edge::Interpolate).unwrap();
            for (i, found) in found.iter().enumerate() {
                let expected = b + 2.0 * c * at(i);
                prop_assert!((found - expected).abs() < 1e-10 * size * 10.0 / spacing);
            }
        }

        #[test]
        fn turning_time_mirrors_the_weights(half in 1usize..12, degree in 0usize..5, derivative in 0usize..4) {
            prop_assume!(degree <= 2 * half && derivative <= degree);
            let filter = SavitzkyGolay::new(2 * half + 1, degree).unwrap();
            let filter = filter.derivative(derivative, 1.0).unwrap();
            let sign = if derivative % 2 == 0 { 1.0 } else { -1.0 };
            for position in 0..=2 * half {
                let one = filter.coefficients_at(position).unwrap();
                let other = filter.coefficients_at(2 * half - position).unwrap();
                for (a, b) in one.iter().zip(other.iter().rev()) {
                    prop_assert!((a - sign * b).abs() < 1e-9 * (1.0 + a.abs()));
                }
            }
            // Weights of a value sum to one, of a derivative to zero.
            let sum: f64 = filter.coefficients().iter().sum();
            prop_assert!((sum - f64::from(u8::from(derivative == 0))).abs() < 1e-9);
        }
    }
}
