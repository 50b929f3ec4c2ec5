//! What can be wrong with what the simulator is told.

use thiserror::Error;

/// Why nothing was simulated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SimulateError {
    /// A setting that is not a number in its range.
    #[error("{setting} is {value}; it must lie between {lowest} and {highest}")]
    OutOfRange {
        /// Which setting.
        setting: &'static str,
        /// The value given.
        value: f64,
        /// Lowest value allowed.
        lowest: f64,
        /// Highest value allowed.
        highest: f64,
    },
    /// A fire without a cook on it.
    #[error("a fire needs at least one cook; give `run_fire` a plan")]
    NoCook,
    /// A cook that is never pulled within the longest fire.
    #[error(
        "cook {cook} (from 0) is not pulled within {hours} h; add a `Trigger::Elapsed` to its `pull`"
    )]
    NeverPulled {
        /// Index of the cook in the plans.
        cook: usize,
        /// Longest fire simulated, h.
        hours: i64,
    },
    /// A channel that is not there.
    #[error("channel {channel} (from 0) is not among the {channels} channels")]
    NoChannel {
        /// The channel asked for.
        channel: usize,
        /// Channels that there are.
        channels: usize,
    },
}

/// `value` if it lies in `lowest..=highest`.
pub(crate) fn within(
    setting: &'static str,
    value: f64,
    lowest: f64,
    highest: f64,
) -> Result<(), SimulateError> {
    if (lowest..=highest).contains(&value) {
        Ok(())
    } else {
        Err(SimulateError::OutOfRange { setting, value, lowest, highest })
    }
}
