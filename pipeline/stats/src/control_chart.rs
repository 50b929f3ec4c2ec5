//! Individuals charts: which values of a series lie outside what its own
//! scatter from one to the next explains.

use crate::error::{StatsError, require_finite};

/// d₂ for ranges of two, the mean range of two standard normal values: 2/√π.
const D2: f64 = std::f64::consts::FRAC_2_SQRT_PI;
/// Fewest values for limits.
pub const FEWEST: usize = 8;

/// Limits of a series of single values.
///
/// Centre x̄, limits x̄ ± 3·M̄R/d₂ (2.66 M̄R), M̄R the mean of |xᵢ − xᵢ₋₁|. Montgomery, Introduction to Statistical Quality
/// Control, "The Shewhart control chart for individual measurements"; ISO 7870-2.
///
/// About 3 in 1000 values of an undisturbed normal series lie outside; a skewed series has more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IndividualsChart {
    /// The mean.
    pub centre: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

impl IndividualsChart {
    /// Limits of a series in its order.
    ///
    /// # Errors
    /// Fewer than [`FEWEST`] values; a value that is not finite.
    pub fn new(values: &[f64]) -> Result<Self, StatsError> {
        require_finite("the series", values)?;
        if values.len() < FEWEST {
            return Err(StatsError::TooFewRows {
                what: "the limits of a control chart".to_owned(),
                needed: FEWEST,
                found: values.len(),
            });
        }
        let centre = crate::describe::mean(values)?;
        let ranges: Vec<f64> = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
        let mean_range = crate::describe::mean(&ranges)?;
        let reach = 3.0 * mean_range / D2;
        Ok(Self { centre, lower: centre - reach, upper: centre + reach })
    }

    /// Whether a value lies outside the limits.
    pub fn is_outside(&self, value: f64) -> bool {
        value < self.lower || value > self.upper
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_textbook_series_gives_its_printed_limits() {
        // Montgomery, costs of processing loan applications over 20 weeks: x̄ 300.5, M̄R 7.79,
        // limits 279.78 and 321.22 (data and figures from memory; mean and mean range recomputed by
        // hand agree).
        let costs = [
            310.0, 288.0, 297.0, 298.0, 307.0, 303.0, 294.0, 297.0, 308.0, 306.0, 294.0, 299.0,
            297.0, 299.0, 314.0, 295.0, 293.0, 306.0, 301.0, 304.0,
        ];
        let chart = IndividualsChart::new(&costs).unwrap();
        assert!((chart.centre - 300.5).abs() < 1e-9);
        // The printed limits rest on d₂ = 1.128.
        assert!((chart.lower - 279.78).abs() < 0.02 && (chart.upper - 321.22).abs() < 0.02);
        assert!(costs.iter().all(|cost| !chart.is_outside(*cost)));
        assert!(chart.is_outside(330.0));
    }

    #[test]
    fn too_few_values_have_no_limits() {
        assert!(IndividualsChart::new(&[1.0; 7]).is_err());
        assert!(IndividualsChart::new(&[f64::NAN; 9]).is_err());
    }

    proptest! {
        #[test]
        fn limits_follow_a_change_of_unit(
            values in prop::collection::vec(-50.0f64..50.0, 8..40),
            factor in 0.1f64..10.0,
            shift in -100.0f64..100.0,
        ) {
            let other: Vec<f64> = values.iter().map(|v| v * factor + shift).collect();
            let (one, two) = (IndividualsChart::new(&values).unwrap(), IndividualsChart::new(&other).unwrap());
            prop_assert!((one.upper * factor + shift - two.upper).abs() < 1e-8 * (1.0 + two.upper.abs()));
            prop_assert!((one.lower * factor + shift - two.lower).abs() < 1e-8 * (1.0 + two.lower.abs()));
        }
    }
}
