//! Summaries of one sample: centre, spread, quantiles.
//!
//! Every function refuses an empty sample ([`StatsError::Empty`]) and a value that is not finite
//! ([`StatsError::NonFinite`], with its position).

use crate::error::{StatsError, require_finite};

/// The factor by which the median absolute deviation of normal data estimates their standard
/// deviation, 1/Φ⁻¹(3/4).
pub const MAD_TO_NORMAL_SD: f64 = 1.482_602_218_505_602;

const SAMPLE: &str = "the sample";

/// Arithmetic mean.
pub fn mean(values: &[f64]) -> Result<f64, StatsError> {
    require_finite(SAMPLE, values)?;
    let n = values.len() as f64;
    let first = values.iter().sum::<f64>() / n;
    // A second pass takes out the rounding of the first.
    Ok(first + values.iter().map(|v| v - first).sum::<f64>() / n)
}

/// Sample standard deviation, √(Σ(x − x̄)²/(n − 1)).
///
/// # Errors
/// [`StatsError::TooFewRows`] for a single value, besides those of the module.
pub fn standard_deviation(values: &[f64]) -> Result<f64, StatsError> {
    let centre = mean(values)?;
    if values.len() < 2 {
        return Err(StatsError::TooFewRows {
            what: "a standard deviation".to_owned(),
            needed: 2,
            found: values.len(),
        });
    }
    let squares: f64 = values.iter().map(|v| (v - centre).powi(2)).sum();
    Ok((squares / (values.len() - 1) as f64).sqrt())
}

/// Median: the middle value, or the mean of the two in the middle.
pub fn median(values: &[f64]) -> Result<f64, StatsError> {
    quantile(values, 0.5)
}

/// Quantile at `probability` in [0, 1] by linear interpolation between order statistics: with the
/// values sorted and numbered from zero, the one at position (n − 1)·p. Type 7 of Hyndman & Fan
/// (1996), "Sample quantiles in statistical packages", The American Statistician 50, 361–365.
///
/// # Errors
/// [`StatsError::BadArgument`] for a probability outside [0, 1], besides those of the module.
pub fn quantile(values: &[f64], probability: f64) -> Result<f64, StatsError> {
    Ok(quantiles(values, &[probability])?[0])
}

/// Several quantiles of one sample, sorted once; see [`quantile`].
///
/// # Errors
/// As [`quantile`].
pub fn quantiles(values: &[f64], probabilities: &[f64]) -> Result<Vec<f64>, StatsError> {
    require_finite(SAMPLE, values)?;
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    probabilities
        .iter()
        .map(|&probability| {
            if !(0.0..=1.0).contains(&probability) {
                return Err(StatsError::BadArgument {
                    name: "probability",
                    value: probability,
                    expected: "a probability lies in 0 to 1",
                });
            }
            let position = (sorted.len() - 1) as f64 * probability;
            let below = position.floor() as usize;
            let above = (below + 1).min(sorted.len() - 1);
            let fraction = position - below as f64;
            let (low, high) = (sorted[below], sorted[above]);
            // Clamped, for rounding must not carry it past the next value.
            Ok((low + fraction * (high - low)).clamp(low, high))
        })
        .collect()
}

/// Median absolute deviation from the median, not scaled; times [`MAD_TO_NORMAL_SD`] it estimates
/// the standard deviation of normal data. Hampel (1974), Journal of the American Statistical
/// Association 69, 383–393.
pub fn median_absolute_deviation(values: &[f64]) -> Result<f64, StatsError> {
    let centre = median(values)?;
    let deviations: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    median(&deviations)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// R 4.2.2: `quantile(c(3, 1, 4, 1, 5, 9, 2, 6), c(0, .1, .25, .5, .75, 1))`, type 7.
    #[test]
    fn quantiles_agree_with_r() {
        let values = [3.0, 1.0, 4.0, 1.0, 5.0, 9.0, 2.0, 6.0];
        let found = quantiles(&values, &[0.0, 0.1, 0.25, 0.5, 0.75, 1.0]).unwrap();
        assert_eq!(found, [1.0, 1.0, 1.75, 3.5, 5.25, 9.0]);
    }

    #[test]
    fn summaries_of_a_sample_worked_by_hand() {
        let values = [2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0];
        assert_eq!(mean(&values).unwrap(), 5.0);
        assert_eq!(standard_deviation(&values).unwrap(), (32.0f64 / 7.0).sqrt());
        assert_eq!(median(&values).unwrap(), 4.5);
        // Deviations from 4.5: 2.5 0.5 0.5 0.5 0.5 0.5 2.5 4.5.
        assert_eq!(median_absolute_deviation(&values).unwrap(), 0.5);
        assert_eq!(median(&[7.0]).unwrap(), 7.0);
    }

    #[test]
    fn bad_samples_are_named() {
        for summary in [mean, median, standard_deviation, median_absolute_deviation] {
            assert!(matches!(summary(&[]), Err(StatsError::Empty { .. })));
            assert!(matches!(
                summary(&[1.0, 2.0, f64::NAN]),
                Err(StatsError::NonFinite { row: 2, .. })
            ));
        }
        assert!(standard_deviation(&[1.0]).is_err());
        for probability in [-0.1, 1.1, f64::NAN] {
            assert!(quantile(&[1.0, 2.0], probability).is_err());
        }
    }

    proptest! {
        #[test]
        fn quantile_is_monotone_and_within_the_sample(
            values in prop::collection::vec(-1e9f64..1e9, 1..40),
            a in 0.0f64..=1.0, b in 0.0f64..=1.0,
        ) {
            let (low, high) = (a.min(b), a.max(b));
            let found = quantiles(&values, &[0.0, low, high, 1.0]).unwrap();
            prop_assert!(found.windows(2).all(|pair| pair[0] <= pair[1]), "{found:?}");
            prop_assert_eq!(found[0], values.iter().copied().fold(f64::INFINITY, f64::min));
            prop_assert_eq!(found[3], values.iter().copied().fold(f64::NEG_INFINITY, f64::max));
        }

        #[test]
        fn summaries_follow_shift_and_scale(
            values in prop::collection::vec(-1e3f64..1e3, 2..40),
            shift in -1e3f64..1e3, scale in -9.0f64..9.0,
        ) {
            let moved: Vec<f64> = values.iter().map(|v| shift + scale * v).collect();
            let near = |found: f64, expected: f64| (found - expected).abs() < 1e-8;
            prop_assert!(near(mean(&moved).unwrap(), shift + scale * mean(&values).unwrap()));
            prop_assert!(near(median(&moved).unwrap(), shift + scale * median(&values).unwrap()));
            prop_assert!(near(
                standard_deviation(&moved).unwrap(),
                scale.abs() * standard_deviation(&values).unwrap()
            ));
            prop_assert!(near(
                median_absolute_deviation(&moved).unwrap(),
                scale.abs() * median_absolute_deviation(&values).unwrap()
            ));
        }
    }
}
