//! Power of the log-rank test.

use super::{Sides, require_alpha, require_target};
use crate::distribution::{normal_cdf, normal_quantile};
use crate::error::StatsError;

/// Which approximation of the log-rank statistic is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogRankFormula {
    /// Mean √(d p(1 − p)) ln θ for d events, a share p in one arm and hazard ratio θ (Schoenfeld
    /// 1983, "Sample-size formula for the proportional-hazards regression model", Biometrics 39,
    /// 499–503). The one to use unless a protocol says otherwise.
    Schoenfeld,
    /// Mean √(d φ) (θ − 1)/(1 + φθ) with φ = p/(1 − p) (Freedman 1982, "Tables of the number of
    /// patients required in clinical trials using the logrank test", Statistics in Medicine 1,
    /// 121–129). It asks for more events where θ is far from 1.
    Freedman,
}

impl LogRankFormula {
    /// Size of the mean of the statistic, over √events.
    fn drift(self, hazard_ratio: f64, share: f64) -> f64 {
        match self {
            Self::Schoenfeld => (share * (1.0 - share)).sqrt() * hazard_ratio.ln().abs(),
            Self::Freedman => {
                let odds = share / (1.0 - share);
                odds.sqrt() * (hazard_ratio - 1.0).abs() / (1.0 + odds * hazard_ratio)
            }
        }
    }
}

/// Events that a log-rank test needs for a power, not rounded: round up. Divide by the chance that a
/// subject has an event in the study to get subjects.
///
/// `share` is the share of subjects in the arm whose hazard is `hazard_ratio` times that of the
/// other. It assumes proportional hazards; the other tail is left out, as both authors do.
///
/// # Errors
/// A hazard ratio that is not positive or is 1, a share outside 0 to 1, `alpha` outside 0 to 0.5 or a
/// power outside `alpha` to 1.
///
/// ```
/// use stats::power::{LogRankFormula, Sides, log_rank_events};
///
/// let events = log_rank_events(2.0, 0.5, 0.05, 0.9, Sides::Two, LogRankFormula::Schoenfeld)?;
/// assert_eq!(events.ceil(), 88.0);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn log_rank_events(
    hazard_ratio: f64,
    share: f64,
    alpha: f64,
    wanted: f64,
    sides: Sides,
    formula: LogRankFormula,
) -> Result<f64, StatsError> {
    require_arms(hazard_ratio, share)?;
    require_alpha(alpha)?;
    require_target(wanted, alpha)?;
    let reach = normal_quantile(1.0 - sides.tail(alpha)) + normal_quantile(wanted);
    let events = (reach / formula.drift(hazard_ratio, share)).powi(2);
    if !events.is_finite() {
        return Err(StatsError::BadArgument {
            name: "hazard_ratio",
            value: hazard_ratio,
            expected: "a hazard ratio of 1 is never found; give one that differs",
        });
    }
    Ok(events)
}

/// Power of a log-rank test with a number of events; see [`log_rank_events`].
///
/// # Errors
/// As [`log_rank_events`], or events that are negative or not finite.
pub fn log_rank_power(
    hazard_ratio: f64,
    share: f64,
    alpha: f64,
    events: f64,
    sides: Sides,
    formula: LogRankFormula,
) -> Result<f64, StatsError> {
    require_arms(hazard_ratio, share)?;
    require_alpha(alpha)?;
    if !(events >= 0.0 && events.is_finite()) {
        return Err(StatsError::BadArgument {
            name: "events",
            value: events,
            expected: "a number of events is zero or more",
        });
    }
    let critical = normal_quantile(1.0 - sides.tail(alpha));
    Ok(normal_cdf(events.sqrt() * formula.drift(hazard_ratio, share) - critical))
}

fn require_arms(hazard_ratio: f64, share: f64) -> Result<(), StatsError> {
    if !(hazard_ratio > 0.0 && hazard_ratio.is_finite()) {
        return Err(StatsError::BadArgument {
            name: "hazard_ratio",
            value: hazard_ratio,
            expected: "a hazard ratio is above 0",
        });
    }
    if !(share > 0.0 && share < 1.0) {
        return Err(StatsError::BadArgument {
            name: "share",
            value: share,
            expected: "the share of an arm lies strictly between 0 and 1",
        });
    }
    Ok(())
}
