//! Outcomes that are known exactly, or only to lie above, below or between given values.

use crate::error::{StatsError, require_finite, require_length};

/// What is known of each outcome: exactly, or an interval `(lower, upper]` that holds it.
///
/// ```
/// use stats::CensoredTimes;
///
/// // Seen at 3; known to lie between two looks; still to come at 9; already there at 2.
/// let times = CensoredTimes::intervals(
///     &[3.0, 4.0, 9.0, f64::NEG_INFINITY],
///     &[3.0, 6.0, f64::INFINITY, 2.0],
/// )?;
/// assert_eq!((times.rows(), times.exact()), (4, 1));
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CensoredTimes {
    pub(super) lower: Vec<f64>,
    pub(super) upper: Vec<f64>,
}

/// What is known of one outcome.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Knowledge {
    Exact,
    Above,
    Below,
    Between,
}

impl CensoredTimes {
    /// Outcomes seen exactly at `time` where `observed`, and known to be later where not.
    ///
    /// # Errors
    /// No rows, wrong lengths, or a value that is not finite.
    pub fn right_censored(time: &[f64], observed: &[bool]) -> Result<Self, StatsError> {
        require_finite("the outcome", time)?;
        require_length("the flags of observation", time.len(), observed.len())?;
        let upper = time.iter().zip(observed);
        let upper: Vec<f64> =
            upper.map(|(&t, &seen)| if seen { t } else { f64::INFINITY }).collect();
        Self::intervals(time, &upper)
    }

    /// Outcomes in `(lower, upper]`. Equal bounds are an outcome seen exactly; an upper bound of
    /// infinity one that is still to come, a lower bound of minus infinity one that came before.
    ///
    /// # Errors
    /// No rows, wrong lengths, a NaN or beyond ±1e60, or [`StatsError::CrossedBounds`].
    pub fn intervals(lower: &[f64], upper: &[f64]) -> Result<Self, StatsError> {
        if lower.is_empty() {
            return Err(StatsError::Empty { what: "the outcome".to_owned() });
        }
        require_length("the upper bounds", lower.len(), upper.len())?;
        for (what, values) in [("the lower bounds", lower), ("the upper bounds", upper)] {
            let bad = |v: f64| v.is_nan() || (v.is_finite() && v.abs() > 1e60);
            if let Some(row) = values.iter().position(|&v| bad(v)) {
                return Err(StatsError::NonFinite {
                    what: what.to_owned(),
                    row,
                    value: values[row],
                });
            }
        }
        for (row, (&lower, &upper)) in lower.iter().zip(upper).enumerate() {
            let nowhere = lower == f64::INFINITY || upper == f64::NEG_INFINITY;
            let anywhere = lower.is_infinite() && upper.is_infinite();
            if lower > upper || nowhere || anywhere {
                return Err(StatsError::CrossedBounds { row, lower, upper });
            }
        }
        Ok(Self { lower: lower.to_vec(), upper: upper.to_vec() })
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.lower.len()
    }

    /// Number of outcomes seen exactly.
    pub fn exact(&self) -> usize {
        (0..self.rows()).filter(|&row| self.knowledge(row) == Knowledge::Exact).count()
    }

    pub(super) fn knowledge(&self, row: usize) -> Knowledge {
        let (lower, upper) = (self.lower[row], self.upper[row]);
        if lower == upper {
            Knowledge::Exact
        } else if upper == f64::INFINITY {
            Knowledge::Above
        } else if lower == f64::NEG_INFINITY {
            Knowledge::Below
        } else {
            Knowledge::Between
        }
    }
}
