//! A rate that goes with covariates: ridge Poisson regression of events on exposure.
//!
//! Maximises Σ w(y·η − t·exp η) − ½ λ Σⱼ βⱼ² over η = xβ, the first column (the intercept's) not
//! penalised: a rate that is level within each row (Holford 1980, "The analysis of rates and of
//! survivorship using log-linear models", Biometrics 36, 299–305).

use crate::error::{StatsError, require_finite, require_length};
use nalgebra::{Cholesky, DMatrix, DVector};

/// Most steps of Newton's method.
const STEPS: usize = 60;
/// Longest step of a coefficient.
const LONGEST: f64 = 2.0;
/// Logs of the rate are not taken beyond these.
const BOUNDS: (f64, f64) = (-30.0, 10.0);

/// A row: so many events over so long.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposed {
    /// Columns; the first is the intercept's.
    pub x: Vec<f64>,
    /// How long, above 0.
    pub time: f64,
    /// Events.
    pub events: f64,
    /// Weight, not below 0.
    pub weight: f64,
}

/// A fitted rate.
#[derive(Debug, Clone, PartialEq)]
pub struct RateRidge {
    coefficients: Vec<f64>,
}

impl RateRidge {
    /// Fits the rate.
    ///
    /// # Errors
    /// No rows, rows of unequal length, a value that is not finite, a time that is not above 0.
    pub fn fit(rows: &[Exposed], penalty: f64) -> Result<Self, StatsError> {
        let what = "a rate";
        let columns = rows.first().map_or(0, |row| row.x.len());
        if columns == 0 {
            return Err(StatsError::Empty { what: what.into() });
        }
        for (place, row) in rows.iter().enumerate() {
            require_length(what, columns, row.x.len())?;
            require_finite(what, &row.x)?;
            require_finite(what, &[row.events, row.weight])?;
            if !(row.time.is_finite() && row.time > 0.0) {
                return Err(StatsError::NotPositive {
                    what: what.into(),
                    row: place,
                    value: row.time,
                });
            }
        }
        let sum = |of: &dyn Fn(&Exposed) -> f64| rows.iter().map(|r| r.weight * of(r)).sum::<f64>();
        let (events, time) = (sum(&|row| row.events), sum(&|row| row.time));
        let mut beta = DVector::zeros(columns);
        beta[0] = ((events + 0.5) / time.max(f64::MIN_POSITIVE)).ln().clamp(BOUNDS.0, BOUNDS.1);
        for _ in 0..STEPS {
            let mut gradient = DVector::zeros(columns);
            let mut bend = DMatrix::zeros(columns, columns);
            for row in rows.iter().filter(|row| row.weight > 0.0) {
                let x = DVector::from_column_slice(&row.x);
                let expected = row.time * beta.dot(&x).clamp(BOUNDS.0, BOUNDS.1).exp();
                gradient.axpy(row.weight * (row.events - expected), &x, 1.0);
                bend.ger(row.weight * expected, &x, &x, 1.0);
            }
            bend[(0, 0)] += 1e-9;
            for column in 1..columns {
                gradient[column] -= penalty * beta[column];
                bend[(column, column)] += penalty;
            }
            let Some(factor) = Cholesky::new(bend) else {
                return Err(StatsError::NoConvergence { what: what.into() });
            };
            let mut step = factor.solve(&gradient);
            let longest = step.amax();
            if longest > LONGEST {
                step *= LONGEST / longest;
            }
            beta += &step;
            beta[0] = beta[0].clamp(BOUNDS.0, BOUNDS.1);
            if longest < 1e-9 {
                break;
            }
        }
        Ok(Self { coefficients: beta.as_slice().to_vec() })
    }

    /// The rate at a row.
    pub fn at(&self, x: &[f64]) -> f64 {
        let log = self.coefficients.iter().zip(x).map(|(b, x)| b * x).sum::<f64>();
        log.clamp(BOUNDS.0, BOUNDS.1).exp()
    }

    /// The coefficients.
    pub fn coefficients(&self) -> &[f64] {
        &self.coefficients
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(x: f64, time: f64, events: f64) -> Exposed {
        Exposed { x: vec![1.0, x], time, events, weight: 1.0 }
    }

    #[test]
    fn two_groups_have_the_rates_of_their_events() {
        let rows = [row(0.0, 10.0, 2.0), row(0.0, 30.0, 6.0), row(1.0, 20.0, 1.0)];
        let rate = RateRidge::fit(&rows, 1e-9).unwrap();
        assert!((rate.at(&[1.0, 0.0]) - 0.2).abs() < 1e-6);
        assert!((rate.at(&[1.0, 1.0]) - 0.05).abs() < 1e-6);
        assert!((rate.coefficients()[1] - 0.25f64.ln()).abs() < 1e-6);
        // Penalised they come together.
        let drawn = RateRidge::fit(&rows, 1e6).unwrap();
        assert!((drawn.at(&[1.0, 0.0]) - 9.0 / 60.0).abs() < 1e-4);
    }

    #[test]
    fn what_is_no_rate_is_an_error_and_no_event_is_a_low_one() {
        assert!(RateRidge::fit(&[], 1.0).is_err());
        assert!(RateRidge::fit(&[row(0.0, 0.0, 1.0)], 1.0).is_err());
        let none = RateRidge::fit(&[row(0.0, 10.0, 0.0)], 1.0).unwrap();
        assert!(none.at(&[1.0, 0.0]) < 1e-6);
    }
}
