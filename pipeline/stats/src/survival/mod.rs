//! Times to an event, of which some are only known to lie beyond, before or between given times.

mod aft;
mod censored_times;
mod chi_square;
mod cox;
mod cumulative_incidence;
mod curve;
mod followup;
mod kaplan_meier;
mod log_rank;
#[cfg(test)]
mod reference;
mod turnbull;

pub use aft::{AcceleratedFailureTime, TimeDistribution};
pub use censored_times::CensoredTimes;
pub use chi_square::ChiSquareTest;
pub use cox::{
    Baseline, Cox, CoxErrors, CoxOptions, Penalty, ProportionalHazardsTest, Ties, TimeTransform,
};
pub use cumulative_incidence::{CauseIncidence, CumulativeIncidence, IncidencePoint};
pub use curve::{IntervalScale, SurvivalCurve, SurvivalPoint};
pub use followup::Followup;
pub use kaplan_meier::{KaplanMeier, SurvivalQuantile, SurvivalStep};
pub use log_rank::{EventWeight, GroupEvents, LogRank};
pub use turnbull::{Turnbull, TurnbullInterval};
