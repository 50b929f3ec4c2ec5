//! What is done with a piece of meat, and when.

use crate::error::{SimulateError, within};
use crate::habit::{Habit, History, Restlessness};
use crate::meat::Meat;
use crate::rest::{Rest, RestPlace};
use crate::strategy::{BumpStep, Strategy};
use cook::{Celsius, WrapMethod};

/// Something that is waited for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trigger {
    /// Minutes since meat-on.
    Elapsed(f64),
    /// The core reaches a temperature.
    Core(Celsius),
    /// The bark is there: the core is past a temperature and at most this share of the
    /// surface's moisture is left.
    Bark {
        /// Core from which the bark is looked at.
        core: Celsius,
        /// Share of the surface's moisture left, 0–1.
        moisture_left: f64,
    },
    /// A probe test finds it tender; tests are made every 15 min from a core of 89 °C.
    Tender,
}

impl Trigger {
    pub(crate) fn is_met(self, history: &History, tested_tender: bool) -> bool {
        match self {
            Self::Elapsed(minutes) => history.elapsed_min >= minutes,
            Self::Core(core) => history.core_c >= core.value(),
            Self::Bark { core, moisture_left } => {
                history.core_c >= core.value() && history.moisture_left <= moisture_left
            }
            Self::Tender => tested_tender,
        }
    }

    pub(crate) fn check(self) -> Result<(), SimulateError> {
        match self {
            Self::Elapsed(minutes) => within("trigger.elapsed (min)", minutes, -1e6, 1e6),
            Self::Core(core) => within("trigger.core (°C)", core.value(), -50.0, 300.0),
            Self::Bark { core, moisture_left } => {
                within("trigger.bark.core (°C)", core.value(), -50.0, 300.0)?;
                within("trigger.bark.moisture_left", moisture_left, 0.0, 1.0)
            }
            Self::Tender => Ok(()),
        }
    }
}

/// A wrap, a change of wrap or an unwrapping ([`WrapMethod::None`]).
#[derive(Debug, Clone, PartialEq)]
pub struct WrapStep {
    /// Done at the first of these to be met, after the step before.
    pub when: Vec<Trigger>,
    /// So long after it was met, min.
    pub delay_min: f64,
    /// Into what.
    pub method: WrapMethod,
}

/// What is done with one piece of meat.
///
/// Wraps come from `wraps`, a script, or where it is empty from `habit`; bumps from both.
/// `strategy` may overrule either.
#[derive(Debug, Clone, PartialEq)]
pub struct CookPlan {
    /// The meat.
    pub meat: Meat,
    /// When it goes on, seconds since the fire was lit; rounded to the grid.
    pub meat_on_s: i64,
    /// Wraps, in order.
    pub wraps: Vec<WrapStep>,
    /// Set-points asked for, each once.
    pub bumps: Vec<BumpStep>,
    /// What else is done by habit.
    pub habit: Option<Habit>,
    /// What else is done out of restlessness.
    pub restlessness: Restlessness,
    /// What is done whatever script and habit say.
    pub strategy: Strategy,
    /// Pulled at the first of these to be met.
    pub pull: Vec<Trigger>,
    /// Sprayed so often until the first wrap, min.
    pub spritz_every_min: Option<f64>,
    /// From a core of 60 °C on the bark is looked at so often and noted, until it is set or wrapped, min. A glance through the
    /// gap of the lid: the heat that it lets out is left out.
    pub bark_noted_every_min: Option<f64>,
    /// The rest.
    pub rest: Rest,
}

impl CookPlan {
    /// A cook without a wrap, pulled when tender or after thirty hours, with an hour's rest
    /// in a cooler.
    pub fn unwrapped(meat: Meat, meat_on_s: i64) -> Self {
        Self {
            meat,
            meat_on_s,
            wraps: Vec::new(),
            bumps: Vec::new(),
            habit: None,
            restlessness: Restlessness::default(),
            strategy: Strategy::any(),
            pull: vec![Trigger::Tender, Trigger::Elapsed(1_800.0)],
            spritz_every_min: None,
            bark_noted_every_min: None,
            rest: Rest { place: RestPlace::cooler(), minutes: 60.0 },
        }
    }

    /// The same cook wrapped once.
    #[must_use]
    pub fn wrapped(mut self, method: WrapMethod, when: Trigger) -> Self {
        self.wraps.push(WrapStep { when: vec![when], delay_min: 0.0, method });
        self
    }

    /// The same cook under a strategy.
    #[must_use]
    pub fn under(mut self, strategy: &Strategy) -> Self {
        self.strategy = strategy.clone();
        self
    }

    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        self.meat.check()?;
        self.rest.check()?;
        self.strategy.check()?;
        within("plan.meat_on_s", self.meat_on_s as f64, 0.0, 86_400.0)?;
        if let Some(minutes) = self.spritz_every_min {
            within("plan.spritz_every_min", minutes, 5.0, 1_440.0)?;
        }
        if let Some(minutes) = self.bark_noted_every_min {
            within("plan.bark_noted_every_min", minutes, 5.0, 1_440.0)?;
        }
        if let Some(habit) = &self.habit {
            habit.check()?;
        }
        self.restlessness.check()?;
        for wrap in &self.wraps {
            within("plan.wraps.delay_min", wrap.delay_min, 0.0, 1_440.0)?;
            wrap.when.iter().try_for_each(|trigger| trigger.check())?;
        }
        self.bumps.iter().try_for_each(BumpStep::check)?;
        self.pull.iter().try_for_each(|trigger| trigger.check())
    }
}
