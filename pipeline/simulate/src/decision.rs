//! When somebody wraps, pulls, slices.

use crate::error::{SimulateError, within};
use crate::meat::Meat;
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

/// What is known when a trigger is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Now {
    pub(crate) elapsed_min: f64,
    pub(crate) core_c: f64,
    pub(crate) moisture_left: f64,
    pub(crate) tested_tender: bool,
}

impl Trigger {
    pub(crate) fn is_met(self, now: Now) -> bool {
        match self {
            Self::Elapsed(minutes) => now.elapsed_min >= minutes,
            Self::Core(core) => now.core_c >= core.value(),
            Self::Bark { core, moisture_left } => {
                now.core_c >= core.value() && now.moisture_left <= moisture_left
            }
            Self::Tender => now.tested_tender,
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

/// Where the meat rests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RestPlace {
    /// On the counter.
    Counter,
    /// In an insulated box.
    Cooler,
    /// In a holding cabinet at 65 °C.
    HoldingBox,
}

impl RestPlace {
    /// The word in the sheet.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Counter => "counter",
            Self::Cooler => "cooler",
            Self::HoldingBox => "holding box",
        }
    }
}

/// The rest after the pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// Where.
    pub place: RestPlace,
    /// How long, min.
    pub minutes: f64,
}

/// What is done with one piece of meat.
#[derive(Debug, Clone, PartialEq)]
pub struct CookPlan {
    /// The meat.
    pub meat: Meat,
    /// When it goes on, seconds since the fire was lit.
    pub meat_on_s: i64,
    /// Wraps, in order.
    pub wraps: Vec<WrapStep>,
    /// Pulled at the first of these to be met.
    pub pull: Vec<Trigger>,
    /// Sprayed so often until the first wrap, min.
    pub spritz_every_min: Option<f64>,
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
            pull: vec![Trigger::Tender, Trigger::Elapsed(1_800.0)],
            spritz_every_min: None,
            rest: Rest { place: RestPlace::Cooler, minutes: 60.0 },
        }
    }

    /// The same cook wrapped once.
    #[must_use]
    pub fn wrapped(mut self, method: WrapMethod, when: Trigger) -> Self {
        self.wraps.push(WrapStep { when: vec![when], delay_min: 0.0, method });
        self
    }

    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        self.meat.check()?;
        within("plan.meat_on_s", self.meat_on_s as f64, 0.0, 86_400.0)?;
        within("plan.rest.minutes", self.rest.minutes, 0.0, 1_440.0)?;
        if let Some(minutes) = self.spritz_every_min {
            within("plan.spritz_every_min", minutes, 5.0, 1_440.0)?;
        }
        self.wraps
            .iter()
            .try_for_each(|wrap| within("plan.wraps.delay_min", wrap.delay_min, 0.0, 1_440.0))
    }
}
