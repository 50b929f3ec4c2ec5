//! Times to an event, of which some are only known to lie beyond, before or between given times.

mod chi_square;
mod cox;
mod curve;
mod followup;
mod kaplan_meier;
mod log_rank;

pub use chi_square::ChiSquareTest;
pub use cox::{
    Baseline, Cox, CoxErrors, CoxOptions, Penalty, ProportionalHazardsTest, Ties, TimeTransform,
};
pub use curve::{IntervalScale, SurvivalCurve, SurvivalPoint};
pub use followup::Followup;
pub use kaplan_meier::{KaplanMeier, SurvivalQuantile, SurvivalStep};
pub use log_rank::{EventWeight, GroupEvents, LogRank};

#[cfg(test)]
mod reference;
