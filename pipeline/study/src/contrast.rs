//! Effects on the scale that people read, averaged over the cooks: each cook as it would be with
//! the one value and with the other, everything else its own. Standard errors are by the delta
//! method with the gradient of that average, the cooks' covariates taken as given.

use crate::inference::Combination;
use stats::{Estimate, Estimates, Logistic, Ordinal, StatsError};

/// A cook's row of the design moved up, and moved down.
pub(crate) type Pair = [Vec<f64>; 2];

/// How the rows are moved.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Change<'a> {
    /// Half a step up against half a step down.
    Step(f64),
    /// This level of a factor against its base; the positions of all its levels.
    Level(&'a [usize]),
}

/// Every row moved both ways at a position of the design.
pub(crate) fn pairs(rows: &[Vec<f64>], position: usize, change: Change<'_>) -> Vec<Pair> {
    let moved = |row: &Vec<f64>, up: bool| {
        let mut row = row.clone();
        match change {
            Change::Step(step) => row[position] += if up { step / 2.0 } else { -step / 2.0 },
            Change::Level(levels) => {
                for &level in levels {
                    row[level] = f64::from(u8::from(up && level == position));
                }
            }
        }
        row
    };
    rows.iter().map(|row| [moved(row, true), moved(row, false)]).collect()
}

/// Average of exp(x₁β) − exp(x₂β). Infinite, with a standard error of zero, where it is too large
/// to be written.
pub(crate) fn medians(estimates: &Estimates, pairs: &[Pair]) -> Result<Combination, StatsError> {
    let value = |row: &[f64]| {
        let median = estimates.linear_combination(row)?.estimate.exp();
        Ok((median, median))
    };
    let (total, gradient) = averaged(estimates.names().len(), pairs, value)?;
    if !(total.is_finite() && gradient.iter().all(|value| value.is_finite())) {
        let estimate = Estimate { estimate: f64::INFINITY, std_error: 0.0, df: f64::INFINITY };
        return Ok(Combination { estimate, weights: vec![0.0; gradient.len()] });
    }
    let delta = estimates.linear_combination(&gradient)?;
    Ok(Combination { estimate: Estimate { estimate: total, ..delta }, weights: gradient })
}

/// Average change of a probability.
pub(crate) fn probabilities(fit: &Logistic, pairs: &[Pair]) -> Result<Estimate, StatsError> {
    let value = |row: &[f64]| {
        let probability = fit.probabilities(&[row])?[0].probability;
        Ok((probability, probability * (1.0 - probability)))
    };
    let (total, gradient) = averaged(fit.estimates.names().len(), pairs, value)?;
    let delta = fit.estimates.linear_combination(&gradient)?;
    Ok(Estimate { estimate: total, ..delta })
}

/// Average difference of a function of xβ; `value` gives the function and its derivative.
fn averaged(
    terms: usize,
    pairs: &[Pair],
    value: impl Fn(&[f64]) -> Result<(f64, f64), StatsError>,
) -> Result<(f64, Vec<f64>), StatsError> {
    let n = pairs.len() as f64;
    let mut total = 0.0;
    let mut gradient = vec![0.0; terms];
    for [up, down] in pairs {
        for (sign, row) in [(1.0, up), (-1.0, down)] {
            let (value, slope) = value(row)?;
            total += sign * value / n;
            for (sum, x) in gradient.iter_mut().zip(row) {
                *sum += sign * slope * x / n;
            }
        }
    }
    Ok((total, gradient))
}

/// Average change of Σ weightⱼ · P(score ≤ j), one weight a threshold; the rows begin with the
/// intercept. With minus the gaps between the scores as weights it is that of the expected score.
pub(crate) fn cumulative(
    fit: &Ordinal,
    pairs: &[Pair],
    weights: &[f64],
) -> Result<Estimate, StatsError> {
    let n = pairs.len() as f64;
    let slopes = fit.estimates.coefficients();
    let borders = fit.thresholds.len();
    let mut total = 0.0;
    let mut gradient = vec![0.0; borders + slopes.len()];
    for [up, down] in pairs {
        for (sign, row) in [(1.0, up), (-1.0, down)] {
            let shift: f64 = slopes.iter().zip(&row[1..]).map(|(slope, x)| slope * x).sum();
            for (border, (threshold, weight)) in fit.thresholds.iter().zip(weights).enumerate() {
                let below = 1.0 / (1.0 + (shift - threshold.estimate.estimate).exp());
                total += sign * weight * below / n;
                let slope = sign * weight * below * (1.0 - below) / n;
                gradient[border] += slope;
                for (sum, x) in gradient[borders..].iter_mut().zip(&row[1..]) {
                    *sum -= slope * x;
                }
            }
        }
    }
    fit.delta(total, &gradient)
}

#[cfg(test)]
mod tests {
    use super::*;
    use stats::{Design, OrdinalOptions};

    /// The average change of the expected score is the difference of the averages of the expected
    /// scores, which `stats` computes in another way.
    #[test]
    fn the_change_of_the_expected_score_is_that_of_the_fit() {
        let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0];
        let score = [1.0, 2.0, 1.0, 5.0, 2.0, 5.0, 2.0, 5.0, 2.0, 5.0];
        let design = Design::new(10).intercept().unwrap().numeric("x", &x).unwrap();
        let fit = Ordinal::fit(&design, &score, OrdinalOptions::default()).unwrap();
        let rows: Vec<Vec<f64>> = (0..10).map(|row| design.row(row).unwrap()).collect();
        let moved = pairs(&rows, 1, Change::Step(2.0));
        let gaps: Vec<f64> = fit.thresholds.iter().map(|t| t.below - t.above).collect();
        let change = cumulative(&fit, &moved, &gaps).unwrap();
        let mean = |side: usize| {
            let rows: Vec<&Vec<f64>> = moved.iter().map(|pair| &pair[side]).collect();
            fit.expected_scores(&rows).unwrap().iter().map(|e| e.estimate).sum::<f64>() / 10.0
        };
        assert!((change.estimate - (mean(0) - mean(1))).abs() < 1e-12);
        // One row alone: the standard error against a numerical gradient's, by moving the outcome
        // of the delta method to a single expected score less a constant.
        let far = vec![[rows[4].clone(), vec![1.0, -1e6]]];
        let single = cumulative(&fit, &far, &gaps).unwrap();
        let own = fit.expected_scores(&[&rows[4]]).unwrap()[0];
        assert!((single.estimate - (own.estimate - 1.0)).abs() < 1e-9);
        assert!((single.std_error - own.std_error).abs() < 1e-9);
    }

    #[test]
    fn a_level_is_set_against_the_base_whatever_the_cook_had() {
        let rows = vec![vec![1.0, 1.0, 0.0, 5.0], vec![1.0, 0.0, 1.0, 6.0]];
        let moved = pairs(&rows, 2, Change::Level(&[1, 2]));
        assert_eq!(moved[0], [vec![1.0, 0.0, 1.0, 5.0], vec![1.0, 0.0, 0.0, 5.0]]);
        assert_eq!(moved[1], [vec![1.0, 0.0, 1.0, 6.0], vec![1.0, 0.0, 0.0, 6.0]]);
    }
}
