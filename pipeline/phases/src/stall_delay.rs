//! Stall delay: how much longer the core took than steady heating would have taken.
//!
//! The minutes from the core's first 60 °C to its first 88 °C, less those that
//! `y' = k_ref · max(0, L − y)` needs from 60 to 88 °C under the same lagged pit L. It has no
//! threshold, so nothing in it hangs on where a stall is taken to begin.

use crate::definition::Judgement;
use cook::PhaseDefinition;
use std::fmt;

/// A stall delay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StallDelay {
    /// Minutes; a lower bound where censored. It may be slightly negative.
    pub minutes: f64,
    /// Whether the core did not reach the finish before the pull or the log's end.
    pub censored: bool,
}

/// Why there is no stall delay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoStallDelay {
    /// Stalls were not judged: there is no reference.
    NotJudged,
    /// The core did not reach the temperature from which it counts.
    NotReached,
    /// The log begins with the core past the temperature from which it counts.
    BeginsAbove,
    /// Steady heating under this pit would not have reached the finish either.
    ModelNeverFinishes,
}

impl NoStallDelay {
    /// A short stable word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::NotJudged => "not-judged",
            Self::NotReached => "start-not-reached",
            Self::BeginsAbove => "log-begins-above",
            Self::ModelNeverFinishes => "model-never-finishes",
        }
    }
}

impl fmt::Display for NoStallDelay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// The stall delay of a judged cook. `end_ms` is the pull, or the log's end, ms UTC.
///
/// The model goes in Euler steps of the grid; past the last sample L stays at its last value.
///
/// # Errors
/// Why there is none.
pub fn stall_delay(
    judgement: &Judgement,
    definition: &PhaseDefinition,
    end_ms: i64,
) -> Result<StallDelay, NoStallDelay> {
    let heating = &judgement.heating;
    let reference = judgement.reference.ok_or(NoStallDelay::NotJudged)?;
    if heating.first_index_at(definition.delay_from_c) == Some(0) {
        return Err(NoStallDelay::BeginsAbove);
    }
    let from = heating.first_index_at(definition.delay_from_c).ok_or(NoStallDelay::NotReached)?;
    let model_min = model_minutes(
        &heating.lagged_pit_c[from..],
        reference.k_per_h,
        heating.step_ms as f64 / 3_600_000.0,
        definition,
    )
    .ok_or(NoStallDelay::ModelNeverFinishes)?;
    let finish_ms = heating.first_reaches_ms(definition.finish_c);
    let took_ms = finish_ms.unwrap_or(end_ms) - heating.at_ms(from);
    Ok(StallDelay { minutes: took_ms as f64 / 60_000.0 - model_min, censored: finish_ms.is_none() })
}

/// Minutes that the model needs, or `None` beyond the limit.
fn model_minutes(
    lagged_pit_c: &[f64],
    k_per_h: f64,
    step_h: f64,
    definition: &PhaseDefinition,
) -> Option<f64> {
    let steps = (definition.delay_model_limit_h / step_h).round() as usize;
    let last = *lagged_pit_c.last()?;
    let mut core = definition.delay_from_c;
    for step in 0..=steps {
        if core >= definition.finish_c {
            return Some(step as f64 * step_h * 60.0);
        }
        let pit = lagged_pit_c.get(step).copied().unwrap_or(last);
        core += k_per_h * (pit - core).max(0.0) * step_h;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_model_under_a_level_pit_is_newtons_law() {
        let definition = PhaseDefinition::default();
        let step_h = 10.0 / 3600.0;
        let minutes = model_minutes(&[120.0], 0.15, step_h, &definition).unwrap();
        // Newton's law of cooling: t = ln((120 − 60)/(120 − 88))/k; Euler's error is about
        // k·step/2 of it, and the answer is a whole step.
        let exact = (60.0_f64 / 32.0).ln() / 0.15 * 60.0;
        assert!((minutes - exact).abs() < 0.25, "{minutes} {exact}");
    }

    #[test]
    fn a_pit_below_the_finish_never_gets_there() {
        let definition = PhaseDefinition::default();
        assert_eq!(model_minutes(&[85.0], 0.15, 10.0 / 3600.0, &definition), None);
    }
}
