//! Strategies: what one does about the wrap and the set-point, whatever one's habit.
//!
//! The same cook with the same seed can be run under several strategies. Meat, weather, the
//! wander of the pit and the cook's latent draws stay; only what was decided differs. That
//! gives the counterfactual truth against which statistics of wrap timing are judged.

use crate::decision::Trigger;
use crate::error::{SimulateError, within};
use cook::{Celsius, CelsiusDifference, WrapMethod};

/// What is done about wrapping.
#[derive(Debug, Clone, PartialEq)]
pub enum WrapRule {
    /// As the team does: the plan's own wraps, and its habit.
    AsTheTeam,
    /// Never wrapped.
    Never,
    /// Wrapped once, in a method, between the first moment that `opens` is met and
    /// `grace_min` later. Not before, not in another method; where `opens` is never met the
    /// cook stays unwrapped, and complies.
    ///
    /// When within the window is drawn from the team's habit: at each moment the habit's rate
    /// for this method alone applies, and who is still unwrapped as the window closes wraps
    /// then. A cook that wraps by habit in the window and in the method therefore runs the
    /// same under this rule. Without a habit the moment is uniform over the window.
    Within {
        /// Into what.
        method: WrapMethod,
        /// What opens the window: a core temperature, a time, the bark.
        opens: Trigger,
        /// How long the window stays open, min.
        grace_min: f64,
    },
}

/// What is done about the fire's set-point.
#[derive(Debug, Clone, PartialEq)]
pub enum SetpointRule {
    /// As the team does: the plan's own bumps, its habit, and the fire's programme.
    AsTheTeam,
    /// Left where it was at the start.
    Unchanged,
    /// Raised once for this cook, and neither by script nor by habit.
    Raise(BumpStep),
}

/// When a set-point is raised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BumpWhen {
    /// When a trigger is met.
    At(Trigger),
    /// With the first wrap.
    WithWrap,
}

/// A set-point that a cook asks for. A fire has one set-point and several cooks may ask: it
/// goes to the highest that was asked for or set, and nobody's asking lowers it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BumpStep {
    /// When.
    pub when: BumpWhen,
    /// How far above the fire's first set-point.
    pub by: CelsiusDifference,
}

/// A rule for the wrap and one for the set-point.
#[derive(Debug, Clone, PartialEq)]
pub struct Strategy {
    /// The wrap.
    pub wrap: WrapRule,
    /// The set-point.
    pub setpoint: SetpointRule,
}

impl Default for Strategy {
    fn default() -> Self {
        Self::any()
    }
}

impl Strategy {
    /// What the team does: no restriction.
    pub fn any() -> Self {
        Self { wrap: WrapRule::AsTheTeam, setpoint: SetpointRule::AsTheTeam }
    }

    /// Never wrapped; the fire as the team does.
    pub fn never() -> Self {
        Self { wrap: WrapRule::Never, ..Self::any() }
    }

    /// Wrapped in a method within `grace_min` of the first moment that the core is at or
    /// above a temperature; the fire as the team does.
    pub fn wrap(method: WrapMethod, at_core: Celsius, grace_min: f64) -> Self {
        Self::wrap_when(method, Trigger::Core(at_core), grace_min)
    }

    /// The same with any trigger: an elapsed time, the bark.
    pub fn wrap_when(method: WrapMethod, opens: Trigger, grace_min: f64) -> Self {
        Self { wrap: WrapRule::Within { method, opens, grace_min }, ..Self::any() }
    }

    /// The same with the fire's set-point left alone.
    #[must_use]
    pub fn setpoint_unchanged(mut self) -> Self {
        self.setpoint = SetpointRule::Unchanged;
        self
    }

    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        if let WrapRule::Within { opens, grace_min, .. } = &self.wrap {
            opens.check()?;
            within("strategy.grace_min", *grace_min, 0.0, 1_440.0)?;
        }
        match &self.setpoint {
            SetpointRule::Raise(step) => step.check(),
            _ => Ok(()),
        }
    }
}

impl BumpStep {
    pub(crate) fn check(&self) -> Result<(), SimulateError> {
        if let BumpWhen::At(trigger) = self.when {
            trigger.check()?;
        }
        within("bump.by (K)", self.by.value(), 0.0, 100.0)
    }
}
