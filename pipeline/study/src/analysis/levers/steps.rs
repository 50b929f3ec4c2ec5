//! The ten-minute steps of the cooks, what was done in each, and what was known before.

use crate::analysis::wrap_timing::cooks::Cook;
use crate::analysis::wrap_timing::decisions::EVENTS_PER_COLUMN;
use crate::result::lever::LeverKind;
use columns::history;
use stats::{CubicSpline, Design, StatsError, quantile_knots};

/// Length of a step, min.
pub(super) const STEP_MIN: f64 = 10.0;

/// The rise of the core is over so long, min.
const RISE_MIN: f64 = 20.0;

/// One step of a cook.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    /// Position of the cook.
    pub(super) cook: usize,
    /// Its beginning, minutes on the study clock.
    pub(super) minute: f64,
    /// What was given in it.
    pub(super) dose: f64,
    /// What was given before it.
    pub(super) so_far: f64,
    /// Minutes since the step of the last dose; two hours where there is none or it is longer ago.
    pub(super) since_min: f64,
    /// Whether one could be given: the meat not wrapped before a spray, the set-point not raised
    /// before it is raised, the core not lower than this team ever does it.
    pub(super) open: bool,
}

/// Longest that is looked back for a dose, min.
const LOOK_BACK_MIN: f64 = 120.0;

/// The dose of a cook in the step that begins at a minute; `None` where the history does not say.
pub(super) fn dose(kind: LeverKind, cook: &Cook<'_>, minute: f64) -> Option<f64> {
    let within = |at: f64| at > minute && at <= minute + STEP_MIN;
    let handled = cook.course.handled(minute);
    let wraps = cook.wrap.as_ref().is_some_and(|(wrap, _)| within(*wrap));
    match kind {
        LeverKind::SetpointRaised => {
            let states = cook.course.states_setpoint();
            states.then(|| f64::from(cook.bump_min.is_some_and(within)))
        }
        LeverKind::Spritz => handled.spritzes,
        LeverKind::LidOpened if wraps => Some(0.0),
        LeverKind::LidOpened => {
            let noted = handled.lid_noted_min.map(|minutes| minutes > 0.0);
            let seen = handled.lid_falls.map(|falls| falls > 0.0);
            let opened = noted.unwrap_or(false) || seen.unwrap_or(false);
            (noted.is_some() || seen.is_some()).then(|| f64::from(opened))
        }
        LeverKind::LidMinutes => handled.lid_noted_min,
    }
}

/// The steps of every cook, in order; `None` where no cook's history says what was done.
pub(super) fn steps(kind: LeverKind, cooks: &[Cook<'_>]) -> Option<Vec<Step>> {
    let mut steps = Vec::new();
    let mut told = false;
    for (position, cook) in cooks.iter().enumerate() {
        let (mut so_far, mut last) = (0.0, f64::NEG_INFINITY);
        let minutes = (0..).map(|step| f64::from(step) * STEP_MIN);
        for minute in minutes.take_while(|minute| *minute < cook.end_min) {
            let known = dose(kind, cook, minute);
            told |= known.is_some();
            let given = known.unwrap_or(0.0);
            let wrapped = cook.wrap.as_ref().is_some_and(|(wrap, _)| *wrap <= minute);
            let open = known.is_some()
                && match kind {
                    LeverKind::SetpointRaised => so_far == 0.0,
                    LeverKind::Spritz => !wrapped,
                    LeverKind::LidOpened | LeverKind::LidMinutes => true,
                };
            let since_min = (minute - last).min(LOOK_BACK_MIN);
            steps.push(Step { cook: position, minute, dose: given, so_far, since_min, open });
            so_far += given;
            if given > 0.0 {
                last = minute;
            }
        }
    }
    // Below the lowest core at which it was ever done there was nothing to decide.
    let core_c = |step: &Step| cooks[step.cook].course.at(step.minute).core_c;
    let done = steps.iter().filter(|step| step.open && step.dose > 0.0).map(core_c);
    let least = done.fold(f64::INFINITY, f64::min);
    if least.is_finite() {
        for step in &mut steps {
            step.open &= core_c(step) >= least;
        }
    }
    told.then_some(steps)
}

/// What is known of a cook at the beginning of a step, as columns of a model.
#[derive(Debug, Clone)]
pub(super) struct History {
    spline: Option<CubicSpline>,
    names: Vec<String>,
    /// Positions of the columns in use.
    used: Vec<usize>,
}

/// What was known: heating coefficient, pit and stall of the row before, since a smoothed curve
/// knows a little of what comes.
fn known(spline: Option<&CubicSpline>, cook: &Cook<'_>, step: &Step) -> Vec<f64> {
    let now = cook.course.at(step.minute);
    let before = cook.course.at((step.minute - STEP_MIN).max(0.0));
    let since = step.minute.min(RISE_MIN);
    let rise = if since > 0.0 {
        (now.core_c - cook.course.at(step.minute - since).core_c) * 60.0 / since
    } else {
        before.k_per_h * (before.pit_c - before.core_c)
    };
    let wrapped = cook.wrap.as_ref().is_some_and(|(wrap, _)| *wrap <= step.minute);
    let raised = cook.bump_min.is_some_and(|bump| bump <= step.minute);
    let hours = step.minute / 60.0;
    let mut values = vec![
        now.core_c,
        rise,
        hours,
        cook.weight_kg,
        f64::from(wrapped),
        before.pit_c,
        step.since_min,
        step.so_far,
        before.k_per_h,
        f64::from(before.in_stall),
        f64::from(raised),
        hours * hours,
        now.core_c * hours,
    ];
    // The first column of a restricted spline is the number itself.
    let bend = spline.and_then(|spline| spline.evaluate(now.core_c).ok());
    values.extend(bend.iter().flatten().skip(1));
    values
}

/// What tells when the last dose was: where doses are given by the clock it decides on the next alone.
pub(super) const BY_THE_CLOCK: [&str; 2] = ["since_last_min", "doses_so_far"];

const NAMES: [&str; 13] = [
    history::CORE_C.name,
    "rise_c_per_h",
    "clock_h",
    "weight_kg",
    history::WRAPPED.name,
    history::PIT_C.name,
    "since_last_min",
    "doses_so_far",
    history::K_PER_H.name,
    history::IN_STALL.name,
    "setpoint_raised",
    "clock_h²",
    "core_c × clock_h",
];

impl History {
    /// A design of the steps with as many columns as `events` can bear, those that matter most first.
    /// Constant and collinear columns are left out, and those of `but`.
    pub(super) fn design(
        cooks: &[Cook<'_>],
        steps: &[&Step],
        events: usize,
        but: &[&str],
    ) -> Result<(Self, Design), StatsError> {
        let cores: Vec<f64> =
            steps.iter().map(|step| cooks[step.cook].course.at(step.minute).core_c).collect();
        let spline = quantile_knots(&cores, 4).ok().and_then(|k| CubicSpline::restricted(&k).ok());
        let mut names: Vec<String> = NAMES.map(str::to_owned).to_vec();
        let bends = spline.as_ref().map_or(1, CubicSpline::columns);
        names.extend((1..bends).map(|bend| format!("core_c[{bend}]")));
        let values: Vec<Vec<f64>> =
            steps.iter().map(|step| known(spline.as_ref(), &cooks[step.cook], step)).collect();
        let varies = |place: &usize| values.iter().any(|row| row[*place] != values[0][*place]);
        let mut used: Vec<usize> = (0..names.len())
            .filter(|&place| varies(&place) && !but.contains(&names[place].as_str()))
            .collect();
        used.truncate(events / EVENTS_PER_COLUMN);
        loop {
            let mut design = Design::new(steps.len()).intercept()?;
            for &place in &used {
                let column: Vec<f64> = values.iter().map(|row| row[place]).collect();
                design = design.numeric(&names[place], &column)?;
            }
            match design.require_independent() {
                Ok(()) => return Ok((Self { spline, names, used }, design)),
                Err(
                    StatsError::CollinearColumn { term, .. } | StatsError::ConstantColumn { term },
                ) if !used.is_empty() => used.retain(|&place| names[place] != term),
                Err(error) => return Err(error),
            }
        }
    }

    /// The row of another step, the intercept first.
    pub(super) fn row(&self, cook: &Cook<'_>, step: &Step) -> Vec<f64> {
        let all = known(self.spline.as_ref(), cook, step);
        std::iter::once(1.0).chain(self.used.iter().map(|&place| all[place])).collect()
    }

    /// Its columns in words.
    pub(super) fn in_words(&self) -> String {
        let names: Vec<&str> = self.used.iter().map(|&place| self.names[place].as_str()).collect();
        names.join(", ")
    }
}
