//! What is known of a cook at one moment, and the columns that the regression has of it.

use crate::course::{Course, STEP_MIN, first_at};
use crate::error::OutlookError;
use crate::wrap::WrapClass;
use cook::PhaseDefinition;

/// Share of the set-point in the pit to come; the rest is the mean of the last hour. Set on simulated
/// cooks.
const SETPOINT_SHARE: f64 = 0.6;
/// A pit to come of less than this over the finish is taken as so much, °C.
const LEAST_OVER_FINISH_C: f64 = 6.0;
/// A coefficient below this is taken as this, 1/h: the core stands.
const LEAST_K_PER_H: f64 = 0.004;
/// Core from which the time counts that the stall may have used up, °C.
const COUNTED_FROM_C: f64 = 60.0;

/// What is known of a cook at one moment.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Moment {
    pub(crate) minute: f64,
    pub(crate) core_c: f64,
    /// The pit to come, °C.
    pub(crate) pit_c: f64,
    /// How far the lagged pit is behind it, °C.
    pub(crate) behind_c: f64,
    /// ln of ln((P − T)/(P − finish)): Newton's time but for the coefficient.
    pub(crate) log_span: f64,
    pub(crate) log_k_ref: Option<f64>,
    /// ln of the coefficient over the last hour and half hour.
    pub(crate) log_k60: Option<f64>,
    pub(crate) log_k30: Option<f64>,
    /// Hours since the core was first at 60 °C.
    pub(crate) above_h: Option<f64>,
    pub(crate) stall_h: Option<f64>,
    pub(crate) wrap: WrapClass,
    /// Hours since it was wrapped.
    pub(crate) wrapped_h: Option<f64>,
    pub(crate) log_weight: Option<f64>,
}

/// What is planned of a wrap that is still to come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PlannedWrap {
    /// At a core, °C.
    AtCore(WrapClass, f64),
    /// In so many hours.
    In(WrapClass, f64),
}

impl PlannedWrap {
    /// Into what.
    pub fn class(self) -> WrapClass {
        match self {
            Self::AtCore(class, _) | Self::In(class, _) => class,
        }
    }
}

impl Moment {
    /// The moment at a step of a course.
    ///
    /// # Errors
    /// No core, no pit, a pit that is too cold, a core that is done.
    pub(crate) fn at(
        course: &Course,
        step: usize,
        definition: &PhaseDefinition,
    ) -> Result<Self, OutlookError> {
        let minute = step as f64 * STEP_MIN;
        let core_c = course.core_c.get(step).copied().filter(|core| core.is_finite());
        let core_c = core_c.ok_or(OutlookError::NoCore)?;
        if core_c >= definition.finish_c {
            return Err(OutlookError::Done);
        }
        let back = step.saturating_sub((60.0 / STEP_MIN) as usize);
        let seen: Vec<f64> =
            course.pit_c[back..=step].iter().copied().filter(|pit| pit.is_finite()).collect();
        let recent = stats::describe::mean(&seen).ok();
        let pit_c = match (course.setpoint_at(minute), recent) {
            (Some(setpoint), Some(recent)) => {
                SETPOINT_SHARE * setpoint + (1.0 - SETPOINT_SHARE) * recent
            }
            (Some(only), None) | (None, Some(only)) => only,
            (None, None) => return Err(OutlookError::NoPit),
        };
        let known = course.reference.filter(|(known, _)| *known <= step).map(|(_, k)| k);
        let log_k = |minutes: f64| {
            Some(course.coefficient(step, minutes, definition)?.max(LEAST_K_PER_H).ln())
        };
        // Before an hour of readings the last half hour has to do, and the other way round where
        // readings are typed.
        let (k60, k30) = (log_k(60.0), log_k(30.0));
        let k60 =
            k60.or_else(|| if course.typed { log_k(40.0).or_else(|| log_k(20.0)) } else { None });
        let (wrap, since) = course.wrap_at(minute);
        let above = first_at(&course.core_c[..=step], COUNTED_FROM_C)
            .filter(|at| *at > 0.0)
            .map(|at| (minute - at).max(0.0) / 60.0);
        let mut moment = Self {
            minute,
            core_c,
            pit_c,
            behind_c: 0.0,
            log_span: 0.0,
            log_k_ref: known.map(f64::ln),
            log_k60: k60,
            log_k30: if course.typed { None } else { k30 },
            above_h: if core_c < COUNTED_FROM_C { Some(0.0) } else { above },
            stall_h: known.and_then(|_| course.stall_min.get(step)).map(|minutes| minutes / 60.0),
            wrap,
            wrapped_h: since.map(|since| (minute - since) / 60.0),
            log_weight: course.about.weight_kg.map(f64::ln),
        };
        let lagged = course.lagged_c[step];
        moment.behind_c =
            if lagged.is_finite() { (pit_c - lagged).clamp(-40.0, 40.0) } else { 0.0 };
        moment.set_pit(pit_c, definition);
        Ok(moment)
    }

    /// Gives the moment another pit to come.
    pub(crate) fn set_pit(&mut self, pit_c: f64, definition: &PhaseDefinition) {
        self.pit_c = pit_c;
        let over = (pit_c - definition.finish_c).max(LEAST_OVER_FINISH_C);
        let to_go = (definition.finish_c - self.core_c).max(0.05);
        self.log_span = ((over + to_go) / over).ln().ln();
    }

    /// How far another moment is from this one; `None` where they are of different wraps.
    pub(crate) fn distance(&self, other: &Self) -> Option<f64> {
        if self.wrap != other.wrap {
            return None;
        }
        // Near the finish a degree is much of what is left.
        let width = CORE_WIDTH_C.min(0.5 + 0.35 * (88.0 - self.core_c).max(0.0));
        let mut squared = ((other.core_c - self.core_c) / width).powi(2);
        let mut add = |a: Option<f64>, b: Option<f64>, width: f64| {
            if let (Some(a), Some(b)) = (a, b) {
                squared += ((a - b) / width).powi(2);
            }
        };
        let log = |hours: Option<f64>| hours.map(|hours| (hours + 0.7).ln());
        add(log(self.above_h), log(other.above_h), ABOVE_WIDTH);
        add(log(self.wrapped_h), log(other.wrapped_h), WRAPPED_WIDTH);
        let relative = |moment: &Self| Some(moment.log_k60?.max(-4.0) - moment.log_k_ref?);
        add(relative(self), relative(other), PACE_WIDTH);
        Some(squared)
    }

    /// The columns of the regression; see [`COLUMNS`].
    pub(crate) fn columns(&self, with_reference: bool) -> [Option<f64>; COLUMNS.len()] {
        let k_ref = self.log_k_ref.filter(|_| with_reference);
        let relative = |log_k: Option<f64>| {
            let value = log_k? - if with_reference { k_ref? } else { LEVEL_LOG_K };
            Some(value.clamp(-2.5, 1.0))
        };
        [
            Some(self.log_span),
            k_ref.map(|k| -k),
            relative(self.log_k60),
            relative(self.log_k30),
            self.log_weight,
            Some(self.pit_c / 10.0),
            Some(self.behind_c / 10.0),
            self.above_h.map(|hours| (hours + 0.7).ln()),
            self.stall_h,
            self.wrapped_h.map(|hours| (hours + 0.7).ln()).or(Some(0.0)),
        ]
    }
}

/// Coefficients without a reference of their own are set against this, ln 1/h: any constant does.
const LEVEL_LOG_K: f64 = -2.0;
/// Widths of the kernel; set on simulated cooks. Core, °C.
const CORE_WIDTH_C: f64 = 5.0;
/// ln of the hours since 60 °C and 0.7.
const ABOVE_WIDTH: f64 = 0.6;
/// ln of the hours since the wrap and 0.7.
const WRAPPED_WIDTH: f64 = 0.7;
/// ln of the coefficient over the reference.
const PACE_WIDTH: f64 = 1.2;

/// A column of the regression: its name for people, the slope of Newton's law, and how strongly it is
/// held there (weights of a cook are at most 1).
pub(crate) struct ColumnRule {
    pub(crate) name: &'static str,
    pub(crate) slope: f64,
    pub(crate) penalty: f64,
}

const fn column(name: &'static str, slope: f64, penalty: f64) -> ColumnRule {
    ColumnRule { name, slope, penalty }
}

/// The columns, in order. Penalties are set on simulated cooks.
pub(crate) const COLUMNS: [ColumnRule; 10] = [
    column("heat on offer", 1.0, 3.0),
    column("how fast it heated before the stall", 1.0, 2.0),
    column("pace of the last hour", 0.0, 3.0),
    column("pace of the last half hour", 0.0, 3.0),
    column("weight", 0.0, 2.0),
    column("pit", 0.0, 10.0),
    column("pit still coming up", 0.0, 5.0),
    column("time above 60 °C", 0.0, 5.0),
    column("time in the stall", 0.0, 5.0),
    column("time since the wrap", 0.0, 5.0),
];
