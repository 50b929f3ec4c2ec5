//! What can be wrong with the arguments of a formula.

use thiserror::Error;

/// Why a formula was not evaluated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PhysicsError {
    /// A quantity outside the range in which the formula holds.
    #[error(
        "{quantity} is {value} {unit}; the formula holds from {lowest} to {highest} {unit}: check the unit"
    )]
    OutOfRange {
        /// What the quantity is.
        quantity: &'static str,
        /// The value given.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Lowest value allowed.
        lowest: f64,
        /// Highest value allowed.
        highest: f64,
    },
    /// Mass fractions that are negative or do not add up to one.
    #[error(
        "mass fractions must lie between 0 and 1 and add up to 1 within 1e-6; they add up to {sum}"
    )]
    Fractions {
        /// What they add up to.
        sum: f64,
    },
    /// A history whose instants do not follow one another.
    #[error(
        "point {index} of the history (from 0) is before the one in front of it: sort the points by time"
    )]
    Backwards {
        /// Which point, from 0.
        index: usize,
    },
}

/// `value` if it lies in `lowest..=highest`.
pub(crate) fn within(
    quantity: &'static str,
    unit: &'static str,
    value: f64,
    lowest: f64,
    highest: f64,
) -> Result<f64, PhysicsError> {
    if (lowest..=highest).contains(&value) {
        Ok(value)
    } else {
        Err(PhysicsError::OutOfRange { quantity, value, unit, lowest, highest })
    }
}
