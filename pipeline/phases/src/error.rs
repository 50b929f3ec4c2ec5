//! The one error type of the crate.

use thiserror::Error;

/// Why a cook could not be segmented at all. What can be said of a cook without its
/// stalls is not an error: see [`crate::NotJudged`].
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum PhasesError {
    /// The constants of the definition contradict each other.
    #[error("the phase definition cannot be used: {problem}")]
    Definition {
        /// Which key and why.
        problem: String,
    },
    /// The log has no meat channel.
    #[error("the log has no meat channel: give one the role `meat` in `[log.roles]`")]
    NoMeatChannel,
    /// The card names a lead channel that the log does not have.
    #[error("the card's lead channel `{wanted}` is no meat channel of the log (it has {})", present.join(", "))]
    NoSuchChannel {
        /// The channel that the card names.
        wanted: String,
        /// The meat channels of the log.
        present: Vec<String>,
    },
    /// Too few usable core readings between meat-on and pull.
    #[error("{found} usable core readings between meat-on and pull: at least {needed} are needed")]
    TooFewReadings {
        /// Usable readings.
        found: usize,
        /// Readings needed.
        needed: usize,
    },
    /// Two columns of one channel differ in length.
    #[error("{what}: {instants} instants and {temperatures} temperatures")]
    LengthMismatch {
        /// The channel.
        what: &'static str,
        /// Number of instants.
        instants: usize,
        /// Number of temperatures.
        temperatures: usize,
    },
    /// Instants are not strictly increasing.
    #[error("{what}: the instant of reading {index} ({at_ms} ms) is not after the one before it")]
    NotIncreasing {
        /// The channel.
        what: &'static str,
        /// The reading, from 0.
        index: usize,
        /// Its instant, ms UTC.
        at_ms: i64,
    },
    /// The pull is not after meat-on.
    #[error(
        "the pull ({pull_ms} ms UTC) is not after meat-on ({meat_on_ms} ms UTC): correct the card's times"
    )]
    PullBeforeMeatOn {
        /// Meat-on, ms UTC.
        meat_on_ms: i64,
        /// Pull, ms UTC.
        pull_ms: i64,
    },
    /// The cook's marks lie wholly outside its log.
    #[error(
        "the cook runs from {meat_on_ms} to {pull_ms} ms UTC, its log from {log_start_ms} to {log_end_ms}: \
         they do not overlap; check the card's date and the season's time zone"
    )]
    OutsideLog {
        /// Meat-on, ms UTC.
        meat_on_ms: i64,
        /// Pull, ms UTC.
        pull_ms: i64,
        /// First reading, ms UTC.
        log_start_ms: i64,
        /// Last reading, ms UTC.
        log_end_ms: i64,
    },
    /// The grid has no positive step, or its two curves differ in length.
    #[error("a grid of step {step_ms} ms with {core} core and {pit} pit samples cannot be judged")]
    Grid {
        /// Step, ms.
        step_ms: i64,
        /// Core samples.
        core: usize,
        /// Pit samples.
        pit: usize,
    },
    /// The smoother could not be fitted.
    #[error("smoothing the {what}: {problem}")]
    Smoothing {
        /// Which channel.
        what: &'static str,
        /// What the smoother said.
        problem: String,
    },
}
