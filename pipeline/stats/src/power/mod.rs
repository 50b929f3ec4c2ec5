//! Power and sample size: how likely a study of a given size finds an effect of a given size.
//!
//! | Function | Test |
//! |---|---|
//! | [`t_test_power`], [`two_sample_t_power`], [`t_test_sample_size`], [`t_test_detectable_effect`] | t tests, by the noncentral t distribution |
//! | [`log_rank_power`], [`log_rank_events`] | log-rank test, by its normal approximation |
//! | [`simulated_power`], [`simulated_sample_size`] | any test, by simulation |

mod log_rank;
mod simulation;
mod t_tests;

pub use log_rank::{LogRankFormula, log_rank_events, log_rank_power};
pub use simulation::{SimulatedPower, simulated_power, simulated_sample_size};
pub use t_tests::{
    TTestDesign, t_test_detectable_effect, t_test_power, t_test_sample_size, two_sample_t_power,
};

use crate::error::StatsError;

/// Whether a test looks for effects in one direction or both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// Rejects for an effect in the direction of the one given.
    One,
    /// Rejects for an effect in either direction.
    Two,
}

impl Sides {
    /// Probability of a false rejection on the side of the effect.
    fn tail(self, alpha: f64) -> f64 {
        match self {
            Self::One => alpha,
            Self::Two => 0.5 * alpha,
        }
    }
}

/// The significance level of a test that is to have power.
fn require_alpha(alpha: f64) -> Result<(), StatsError> {
    if alpha > 0.0 && alpha < 0.5 {
        return Ok(());
    }
    Err(StatsError::BadArgument {
        name: "alpha",
        value: alpha,
        expected: "a significance level lies strictly between 0 and 0.5",
    })
}

fn require_target(power: f64, alpha: f64) -> Result<(), StatsError> {
    if power > alpha && power < 1.0 {
        return Ok(());
    }
    Err(StatsError::BadArgument {
        name: "power",
        value: power,
        expected: "a power to be reached lies strictly between alpha and 1",
    })
}

#[cfg(test)]
mod tests;
