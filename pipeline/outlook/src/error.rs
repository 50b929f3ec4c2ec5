//! Why there is no forecast, plan or trial.

use phases::PhasesError;
use stats::StatsError;
use thiserror::Error;

/// Why there is no answer: a sentence for people.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum OutlookError {
    /// No reading of the meat.
    #[error("There is no reading of the meat up to the moment asked about.")]
    NoCore,
    /// No reading of the pit, and no set-point.
    #[error(
        "There is no pit reading and no set-point, so the heat on offer is unknown: name the set-point on the card (`pit_setpoint_f` or `pit_setpoint_c`)."
    )]
    NoPit,
    /// The pit is too cold to ever get there.
    #[error("The pit is at {pit_c:.0} °C: it will not bring the core to {finish_c:.0} °C.")]
    PitTooCold {
        /// The pit to come, °C.
        pit_c: f64,
        /// The finish, °C.
        finish_c: f64,
    },
    /// The core is at the finish already.
    #[error("The core has been at the finish already: there is nothing to forecast.")]
    Done,
    /// Nothing to forecast from.
    #[error(
        "No past cook can be used: none has a pit, a core and a finish. Without `--prior none` the bundled simulated cooks are used."
    )]
    NoPast,
    /// One fire has no other to be held against.
    #[error(
        "Only one past fire can be used, and one tells no range. Without `--prior none` the bundled simulated cooks stand beside it."
    )]
    OneFire,
    /// More certainty than the errors of so few cooks can tell.
    #[error(
        "So few past cooks cannot promise {asked} %, at most {most} %: ask for less with --certainty."
    )]
    TooSure {
        /// What was asked, per cent.
        asked: u32,
        /// What can be promised, per cent.
        most: u32,
    },
    /// Too few cooks to see how much an outcome scatters.
    #[error(
        "Only {found} past cooks have a usable `{outcome}`: at least 6 are needed to see how much it scatters. Cook some more first, or say how many pairs you mean to cook with --pairs."
    )]
    TooFewForATrial {
        /// The outcome.
        outcome: String,
        /// Cooks with it.
        found: usize,
    },
    /// What is asked of a trial cannot be.
    #[error("{0}")]
    Trial(String),
    /// Claims or tables that cannot be used.
    #[error("{0}")]
    Study(String),
    /// The log could not be followed.
    #[error(transparent)]
    Log(#[from] PhasesError),
    /// The numbers could not be worked with.
    #[error(transparent)]
    Numbers(#[from] StatsError),
}

impl From<study::StudyError> for OutlookError {
    fn from(error: study::StudyError) -> Self {
        Self::Study(error.to_string())
    }
}
