//! An ask and its answer.

use crate::course::{Course, STEP_MIN};
use crate::error::OutlookError;
use crate::local::{Counted, Local, Range};
use crate::moment::{Moment, PlannedWrap};
use crate::past::Past;
use crate::wrap::WrapClass;
use cook::{PhaseDefinition, PhaseKind};

/// Column of the heat on offer.
const SPAN: usize = 0;
/// How far the errors of a cook as it is and under a change go together. Set on simulated cooks.
const TOGETHER: f64 = 0.7;
/// Share of a change of the set-point that the meat has from the pit to come, the way up counted.
/// Set on simulated cooks.
const RAISE_SHARE: f64 = 0.9;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Ask<'a> {
    /// The cook up to the moment.
    pub course: &'a Course,
    /// A wrap that is still to come.
    pub planned: Option<PlannedWrap>,
    /// A fire that must not be looked at: that of the cook itself, where it is among the past.
    pub without_fire: Option<usize>,
    /// Level of the ranges, 0 to 1.
    pub level: f64,
}

/// Something that could be done now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WhatIf {
    /// Wrapped now.
    Wrap(WrapClass),
    /// The set-point raised now, by so many °C.
    Raise(f64),
}

/// What the answer rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// The team's own cooks.
    Own,
    /// Its own and the bundled ones.
    OwnAndBundled,
    /// The bundled simulated cooks alone: not your cooks.
    Bundled,
}

impl Basis {
    /// A short stable word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Own => "own",
            Self::OwnAndBundled => "own+bundled",
            Self::Bundled => "bundled",
        }
    }
}

/// The answer: when the core will be at the finish.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Hours to go.
    pub to_go: Range,
    /// The phase that the cook is in, as far as that can be told now.
    pub phase: PhaseKind,
    /// What the answer rests on.
    pub basis: Basis,
    /// How many of the team's own past cooks stood alike.
    pub alike: usize,
    /// Whether it is unlike them.
    pub unlike: bool,
    /// Which past cooks count how much, the most first.
    pub counted: Vec<Counted>,
    /// What makes it longer or shorter than theirs: the logarithm of the factor, by what is known.
    pub shares: Vec<(&'static str, f64)>,
}

/// What a change does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// Hours to go under it.
    pub to_go: Range,
    /// Minutes later (negative: sooner) than as it is; `None` where the data cannot tell.
    pub minus_as_is_min: Option<Range>,
}

/// Answers an ask.
///
/// # Errors
/// See [`OutlookError`].
pub fn forecast(past: &Past, ask: &Ask) -> Result<Answer, OutlookError> {
    let moment = moment_of(past, ask)?;
    let local = Local::usual(past, &moment, ask.course, ask.planned, ask.without_fire)?;
    let to_go = local.range(ask.level)?;
    let basis = match (local.own_weight >= 0.5, local.bundled_weight > 0.0) {
        (true, true) => Basis::OwnAndBundled,
        (true, false) => Basis::Own,
        (false, _) => Basis::Bundled,
    };
    let mut counted = local.counted.clone();
    counted.sort_by(|a, b| b.weight.total_cmp(&a.weight).then_with(|| a.cook.cmp(&b.cook)));
    Ok(Answer {
        to_go,
        phase: phase(past, ask.course, &moment),
        basis,
        alike: local.own_alike,
        unlike: local.unlike(),
        counted,
        shares: local.shares(),
    })
}

/// What a change now would do.
///
/// # Errors
/// See [`OutlookError`]; [`OutlookError::NoPast`] where no past cook was wrapped so.
pub fn what_if(past: &Past, ask: &Ask, change: WhatIf) -> Result<Effect, OutlookError> {
    let moment = moment_of(past, ask)?;
    let as_is = Local::usual(past, &moment, ask.course, ask.planned, ask.without_fire)?;
    let before = as_is.range(ask.level)?;
    let (to_go, sd_min) = match change {
        WhatIf::Wrap(class) => {
            let after = Local::wrapped_now(past, &moment, ask.course, class, ask.without_fire)?;
            let to_go = after.range(ask.level)?;
            let (a, b) = (before.hours * as_is.sd()?, to_go.hours * after.sd()?);
            (to_go, 60.0 * (a * a + b * b - 2.0 * TOGETHER * a * b).max(0.0).sqrt())
        }
        WhatIf::Raise(by) => {
            let mut raised = moment.clone();
            raised.set_pit(moment.pit_c + RAISE_SHARE * by, &past.definition);
            let ratio = as_is.hours_at(&raised) / before.hours;
            let to_go =
                Range { hours: before.hours * ratio, lo: before.lo * ratio, hi: before.hi * ratio };
            // The effect is as long as the cook is, and as sure as the slope.
            let (_, slope_se) = as_is.slope(SPAN).unwrap_or((1.0, 0.0));
            let change = (raised.log_span - moment.log_span).abs();
            let of_slope = to_go.hours * change * slope_se * as_is.sd()?;
            let of_length = (1.0 - ratio).abs() * before.hours * as_is.sd()?;
            (to_go, 60.0 * of_slope.hypot(of_length))
        }
    };
    let effect = 60.0 * (to_go.hours - before.hours);
    let reach = stats_normal(ask.level) * sd_min;
    let minus_as_is_min = (effect.abs() > reach).then_some(Range {
        hours: effect,
        lo: effect - reach,
        hi: effect + reach,
    });
    Ok(Effect { to_go, minus_as_is_min })
}

/// The course carried on for so many minutes at the pace of its last hour, nothing done to it. `None`
/// where the core would be at the finish, or has no pace yet.
pub fn later(course: &Course, minutes: f64, definition: &PhaseDefinition) -> Option<Course> {
    let steps = (minutes / STEP_MIN).round() as usize;
    let mut on = course.clone();
    let last = on.core_c.iter().rposition(|core| core.is_finite())?;
    on.core_c.truncate(last + 1);
    on.pit_c.truncate(last + 1);
    let k = [60.0, 30.0].iter().find_map(|&span| course.coefficient(last, span, definition))?;
    let pit = *on.pit_c.last()?;
    let mut core = on.core_c[last];
    for _ in 0..steps {
        core += k.max(0.0) * (pit - core).max(definition.minimum_gap_c) * STEP_MIN / 60.0;
        on.core_c.push(core);
        on.pit_c.push(pit);
    }
    (core < definition.finish_c).then(|| on.completed(definition))
}

/// Two-sided normal quantile of a level, by the rational approximation of Abramowitz & Stegun 26.2.23
/// (error below 4.5e-4).
fn stats_normal(level: f64) -> f64 {
    let tail = (0.5 - 0.5 * level).clamp(1e-9, 0.5);
    let t = (-2.0 * tail.ln()).sqrt();
    let above = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let below = 1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308));
    t - above / below
}

fn moment_of(past: &Past, ask: &Ask) -> Result<Moment, OutlookError> {
    if ask.course.finish_min.is_some() {
        return Err(OutlookError::Done);
    }
    let last = ask.course.core_c.iter().rposition(|core| core.is_finite());
    let moment = Moment::at(ask.course, last.ok_or(OutlookError::NoCore)?, &past.definition)?;
    let finish_c = past.definition.finish_c;
    if moment.pit_c < finish_c + 2.0 {
        return Err(OutlookError::PitTooCold { pit_c: moment.pit_c, finish_c });
    }
    if past.is_empty() {
        return Err(OutlookError::NoPast);
    }
    Ok(moment)
}

/// The phase that a cook is in: in a stall where the last half hour's coefficient is below the
/// definition's share of its reference, past one where it was in one for 20 min before.
fn phase(past: &Past, course: &Course, moment: &Moment) -> PhaseKind {
    let definition = &past.definition;
    let Some(k_ref) = moment.log_k_ref else {
        let early = moment.core_c < definition.stall_from_c;
        return if early { PhaseKind::Ramp } else { PhaseKind::Unknown };
    };
    let slow = moment.log_k30.is_some_and(|k| k - k_ref < definition.stall_fraction.ln());
    let stalled_s = course.stall_min.last().copied().unwrap_or(0.0) * 60.0;
    if moment.core_c >= definition.stall_from_c && slow {
        PhaseKind::Stall
    } else if stalled_s >= definition.minimum_stall_s {
        PhaseKind::Push
    } else {
        PhaseKind::Ramp
    }
}
