//! Times to an event, of which some are only known to lie beyond, before or between given times.

mod censored_gaussian;
mod censored_times;
mod chi_square;
mod cox;
mod followup;
mod kaplan_meier;
mod normal;
mod scale_gaussian;
mod turnbull;

pub use censored_gaussian::CensoredGaussian;
pub use censored_times::CensoredTimes;
pub use chi_square::ChiSquareTest;
pub use cox::{Cox, CoxErrors};
pub use followup::Followup;
pub use kaplan_meier::{KaplanMeier, SurvivalQuantile, SurvivalStep};
pub use scale_gaussian::ScaleGaussian;
pub use turnbull::{Turnbull, TurnbullInterval};
