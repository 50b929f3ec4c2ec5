//! Brant's test of proportional odds.

use crate::design::Design;
use crate::distribution::f_upper_tail;
use crate::error::{StatsError, require_finite, require_length};
use crate::likelihood_errors::weights_or_ones;
use crate::logistic::{Logistic, LogisticOptions};
use nalgebra::{DMatrix, DVector};

/// Wald's test that the slopes of the binary logistic regressions of "score above the threshold"
/// are the same at every threshold: Brant (1990), "Assessing proportionality in the proportional
/// odds model for ordinal logistic regression", Biometrics 46, 1171–1178.
///
/// A small p value says that some term does more at one threshold than at another. It is an
/// asymptotic test: with few rows in an outer category it rejects too often.
#[derive(Debug, Clone, PartialEq)]
pub struct ProportionalOddsTest {
    /// Wald's statistic for all terms together, χ² if odds are proportional.
    pub chi_squared: f64,
    /// Its degrees of freedom, terms × (categories − 2).
    pub df: f64,
    /// Probability of a statistic at least as large.
    pub p_value: f64,
}

pub(super) fn test(
    design: &Design,
    scores: &[f64],
    weights: Option<&[f64]>,
) -> Result<ProportionalOddsTest, StatsError> {
    let n = design.rows();
    require_length("the scores", n, scores.len())?;
    require_finite("the scores", scores)?;
    let weight = weights_or_ones(weights, n)?;
    let full = match design.intercept_position() {
        Some(_) => design.clone(),
        None => design.clone().intercept()?,
    };
    let intercept = full.intercept_position().unwrap_or(0);
    let slopes: Vec<usize> = (0..full.terms().len()).filter(|&j| j != intercept).collect();
    let count = slopes.len();
    if count == 0 {
        return Err(StatsError::Empty { what: "the list of terms to test".to_owned() });
    }
    let mut categories: Vec<f64> =
        scores.iter().zip(&weight).filter(|(_, w)| **w > 0.0).map(|(s, _)| *s).collect();
    categories.sort_unstable_by(f64::total_cmp);
    categories.dedup();
    if categories.len() < 3 {
        return Err(StatsError::BadArgument {
            name: "the number of categories",
            value: categories.len() as f64,
            expected: "proportional odds can be tested with three or more",
        });
    }
    let borders = categories.len() - 1;
    let fits = categories[..borders]
        .iter()
        .map(|&below| {
            let above: Vec<bool> = scores.iter().map(|&score| score > below).collect();
            Logistic::fit(&full, &above, LogisticOptions { weights, ..Default::default() })
        })
        .collect::<Result<Vec<Logistic>, StatsError>>()?;

    // Columns are brought to spread one about their means, which leaves the statistic as it is.
    let columns: Vec<Vec<f64>> = full
        .columns()
        .iter()
        .enumerate()
        .map(|(position, column)| {
            if position == intercept {
                return column.clone();
            }
            let (mean, spread) = mean_and_spread(column);
            column.iter().map(|x| (x - mean) / spread).collect()
        })
        .collect();
    let spreads: Vec<f64> = slopes.iter().map(|&j| mean_and_spread(&full.columns()[j]).1).collect();
    let product = |left: usize, right: usize| {
        let (low, high) = (&fits[left].fitted, &fits[right].fitted);
        let bend: Vec<f64> = (0..n).map(|i| weight[i] * high[i] * (1.0 - low[i])).collect();
        DMatrix::from_fn(columns.len(), columns.len(), |a, b| {
            (0..n).map(|i| bend[i] * columns[a][i] * columns[b][i]).sum::<f64>()
        })
    };
    let bread = (0..borders)
        .map(|border| {
            product(border, border)
                .cholesky()
                .map(|factor| factor.inverse())
                .ok_or_else(|| StatsError::SingularCovariance { terms: full.terms().to_vec() })
        })
        .collect::<Result<Vec<DMatrix<f64>>, StatsError>>()?;
    let mut covariance = DMatrix::zeros(borders * count, borders * count);
    let mut slope = DVector::zeros(borders * count);
    for left in 0..borders {
        let own = fits[left].estimates.coefficients();
        for (position, &j) in slopes.iter().enumerate() {
            slope[left * count + position] = own[j] * spreads[position];
        }
        for right in left..borders {
            let block = &bread[left] * product(left, right) * &bread[right];
            for (a, &i) in slopes.iter().enumerate() {
                for (b, &j) in slopes.iter().enumerate() {
                    covariance[(left * count + a, right * count + b)] = block[(i, j)];
                    covariance[(right * count + b, left * count + a)] = block[(i, j)];
                }
            }
        }
    }
    // Slope at the first threshold less slope at each other.
    let mut contrast = DMatrix::zeros((borders - 1) * count, borders * count);
    for border in 1..borders {
        for position in 0..count {
            let row = (border - 1) * count + position;
            contrast[(row, position)] = 1.0;
            contrast[(row, border * count + position)] = -1.0;
        }
    }
    let difference = &contrast * &slope;
    let factor = (&contrast * &covariance * contrast.transpose())
        .cholesky()
        .ok_or_else(|| StatsError::SingularCovariance { terms: full.terms().to_vec() })?;
    let chi_squared = difference.dot(&factor.solve(&difference));
    let df = (count * (borders - 1)) as f64;
    let p_value = f_upper_tail(chi_squared / df, df, f64::INFINITY);
    Ok(ProportionalOddsTest { chi_squared, df, p_value })
}

/// Mean and standard deviation (divisor n); columns that vary only.
fn mean_and_spread(column: &[f64]) -> (f64, f64) {
    let n = column.len() as f64;
    let mean = column.iter().sum::<f64>() / n;
    let square = column.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n;
    (mean, square.sqrt())
}
