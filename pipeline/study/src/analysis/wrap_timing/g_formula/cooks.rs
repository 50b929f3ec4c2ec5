//! The cooks degree by degree, and what was known of each at the beginning of every degree.

use super::super::cooks::{Cook, Cooks, End};
use crate::degrees::{Degree, Degrees};
use crate::error::StudyError;
use crate::result::LeftOut;
use crate::table::MeasureTable;
use columns::measures;
use cook::WrapMethod;

/// The reference coefficient is made of the core up to here, °C: a wrap before it has moved it.
const REFERENCE_TO_C: f64 = 60.0;
/// A step of which less was logged is not learnt from.
const LEAST_SEEN: f64 = 0.5;
/// A part of a degree narrower than this is not learnt from, °C: what is left of a degree where it is
/// wrapped is known to the noise of the core.
const NARROWEST_C: f64 = 0.15;
/// The dose is not taken for less than this, in times `k_ref`: what rounding leaves of nothing.
const LEAST_DOSE: f64 = 0.02;
/// Beyond its log a pit is taken as in the log's last two hours, min.
const LAST_MIN: f64 = 120.0;
/// The lag of the pit where the history does not say it, min.
const LAG_MIN: f64 = 25.0;
/// How many doses make the running dose.
const RUNNING: usize = 5;

/// A wrap that is on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct On {
    /// Place of the method among the levels.
    pub(super) level: usize,
    pub(super) at_min: f64,
    pub(super) at_core_c: f64,
    /// Running dose before it.
    pub(super) before: f64,
    /// How slowly the degree went in which it was wrapped, up to there, in logs.
    pub(super) there: f64,
    /// Doses since, for their running mean.
    pub(super) since: Running,
}

/// The mean of the last doses, in logs.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Running {
    last: [f64; RUNNING],
    count: usize,
}

impl Running {
    pub(super) fn push(&mut self, y: f64) {
        self.last[self.count % RUNNING] = y;
        self.count += 1;
    }

    pub(super) fn last(&self) -> Option<f64> {
        (self.count > 0).then(|| self.last[(self.count - 1) % RUNNING])
    }

    pub(super) fn mean(&self) -> Option<f64> {
        let held = self.count.min(RUNNING);
        (held > 0).then(|| self.last[..held].iter().sum::<f64>() / held as f64)
    }
}

/// What is known of a cook at the beginning of a step: all that its next dose may hang on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct State {
    /// Highest core so far, °C.
    pub(super) core_c: f64,
    /// Minute of the study clock.
    pub(super) minute: f64,
    /// Doses while it was not wrapped.
    pub(super) bare: Running,
    /// The minute at which the core reached 60 °C, if it has.
    pub(super) at_60_min: Option<f64>,
    /// Doses since, times `k_ref`.
    pub(super) dose_since_60: f64,
    pub(super) wrap: Option<On>,
    /// Bark as last noted.
    pub(super) bark: Option<f64>,
}

impl State {
    pub(super) fn at_zero() -> Self {
        Self {
            core_c: 55.0,
            minute: 0.0,
            bare: Running::default(),
            at_60_min: None,
            dose_since_60: 0.0,
            wrap: None,
            bark: None,
        }
    }

    /// The running dose of the way that it is in now.
    pub(super) fn running(&self) -> Option<f64> {
        match &self.wrap {
            Some(on) => on.since.mean(),
            None => self.bare.mean(),
        }
    }

    /// Wrapped from now on. Of its degree `spent`, times `k_ref`, was offered before.
    pub(super) fn wrapped(mut self, level: usize, spent: f64) -> Self {
        let done = self.core_c - self.core_c.floor();
        self.wrap = Some(On {
            level,
            at_min: self.minute,
            at_core_c: self.core_c,
            before: self.bare.mean().unwrap_or(0.0),
            there: ((spent + 0.5) / (done + 0.5)).ln(),
            since: Running::default(),
        });
        self
    }

    /// After a step to `core_c` at `minute` that took `dose` times `k_ref`.
    pub(super) fn step(&mut self, core_c: f64, minute: f64, dose: f64) {
        if let Some(since) = self.at_60_min {
            debug_assert!(since <= minute + 1e-6);
            self.dose_since_60 += dose;
        } else if core_c >= REFERENCE_TO_C {
            self.at_60_min = Some(minute);
        }
        self.core_c = core_c;
        self.minute = minute;
    }

    /// The bark that is to be expected so much later, while it is not wrapped.
    pub(super) fn ripen(&mut self, per_min: f64, minutes: f64) {
        self.bark = self.bark.map(|bark| (bark + per_min * minutes).min(1.0));
    }

    /// Takes a whole degree's dose, in logs, into the running ones.
    pub(super) fn learn(&mut self, y: f64) {
        match &mut self.wrap {
            Some(on) => on.since.push(y),
            None => self.bare.push(y),
        }
    }
}

/// A step of a cook: a degree, or what a wrap left of one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Step {
    /// At its beginning.
    pub(super) state: State,
    /// Gap at its beginning, K.
    pub(super) gap_c: f64,
    pub(super) minutes: f64,
    /// Times `k_ref`, for all of it.
    pub(super) dose: f64,
    /// What part of a degree there was to go.
    pub(super) part: f64,
    pub(super) passed: bool,
    /// Whether models may learn from it.
    pub(super) is_learnt: bool,
    /// What it weighs there.
    pub(super) weight: f64,
}

impl Step {
    /// The dose of a whole degree at this pace, in logs; a lower bound where it was not passed.
    pub(super) fn y(&self) -> f64 {
        (self.dose.max(LEAST_DOSE) / self.part).ln()
    }
}

/// The lagged pit in time.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Pit {
    /// Every ten minutes from clock zero.
    at_10_min: Vec<f64>,
    beyond_c: f64,
}

impl Pit {
    pub(super) fn at(&self, minute: f64) -> f64 {
        let place = (minute / 10.0).max(0.0);
        let row = place as usize;
        match (self.at_10_min.get(row), self.at_10_min.get(row + 1)) {
            (Some(here), Some(next)) => here + (place - row as f64) * (next - here),
            _ => self.beyond_c,
        }
    }

    fn of(cook: &Cook<'_>, steps: &[Degree]) -> Self {
        let (minutes, lagged) = cook.course.lagged_pit();
        let rows = minutes.len();
        let mut known: Vec<(f64, f64)> = Vec::with_capacity(rows);
        if lagged.iter().all(|value| value.is_finite()) {
            known.extend(minutes.iter().copied().zip(lagged.iter().copied()));
        } else {
            let mut value = steps.first().map_or(f64::NAN, |step| step.lagged_pit_c);
            let mut before = 0.0;
            for &minute in minutes {
                let pit = cook.course.at(minute).pit_c;
                let start = if value.is_finite() { value } else { pit };
                value = pit + (start - pit) * (-(minute - before) / LAG_MIN).exp();
                before = minute;
                known.push((minute, value));
            }
        }
        let last = known.last().map_or(0.0, |(minute, _)| *minute);
        let late: Vec<f64> = known
            .iter()
            .filter(|(minute, _)| *minute >= last - LAST_MIN)
            .map(|(_, value)| *value)
            .collect();
        let beyond_c = late.iter().sum::<f64>() / late.len().max(1) as f64;
        let mut at_10_min = Vec::with_capacity(rows);
        let mut place = 0;
        for row in 0..=(last / 10.0) as usize {
            let minute = 10.0 * row as f64;
            while place + 1 < known.len() && known[place + 1].0 <= minute {
                place += 1;
            }
            at_10_min.push(match (known.get(place), known.get(place + 1)) {
                (Some(a), Some(b)) if b.0 > a.0 => {
                    a.1 + (b.1 - a.1) * ((minute - a.0) / (b.0 - a.0)).clamp(0.0, 1.0)
                }
                (Some(a), _) => a.1,
                _ => beyond_c,
            });
        }
        Self { at_10_min, beyond_c }
    }
}

/// A cook degree by degree.
#[derive(Debug, Clone)]
pub(super) struct Paced {
    /// Place of its fire among those in use.
    pub(super) fire: usize,
    pub(super) log_weight: f64,
    pub(super) k_ref_per_h: f64,
    /// Minute and place of the method of its first wrap.
    pub(super) wrap: Option<(f64, usize)>,
    pub(super) end_min: f64,
    /// Whether the core was seen to reach the finish.
    pub(super) finished: bool,
    /// Whether its wrap was taken off again.
    pub(super) was_taken_off: bool,
    pub(super) steps: Vec<Step>,
    pub(super) pit: Pit,
}

/// Where a cook is on its own path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// At the beginning of the step that it is in.
    pub(super) state: State,
    pub(super) minute: f64,
    /// What of the step is behind it, times `k_ref`.
    pub(super) spent: f64,
    /// What part of the step is behind it.
    share: f64,
    part: f64,
}

impl Place {
    /// Wrapped right there.
    pub(super) fn wrapped(self, level: usize) -> State {
        let mut state = self.state;
        state.step(state.core_c + self.share * self.part, self.minute, self.spent);
        state.wrapped(level, self.spent)
    }
}

impl Paced {
    /// Where it was at a minute. Inside a step that was passed the core is taken to rise with the heat on
    /// offer; where a step was cut, nothing is known of how far it had come.
    pub(super) fn at(&self, minute: f64) -> Place {
        let after = self.steps.partition_point(|step| step.state.minute <= minute + 1e-6);
        let step = &self.steps[after.max(1) - 1];
        let into = ((minute - step.state.minute) / step.minutes.max(1e-6)).clamp(0.0, 1.0);
        let share = if step.passed { into } else { 0.0 };
        Place { state: step.state, minute, spent: into * step.dose, share, part: step.part }
    }

    /// Where it was when it was first wrapped, still unwrapped.
    pub(super) fn before_wrap(&self) -> Option<Place> {
        let first = self.steps.iter().position(|step| step.state.wrap.is_some())?;
        let wrapped = &self.steps[first];
        let minute = wrapped.state.minute;
        match first.checked_sub(1).map(|before| &self.steps[before]) {
            Some(step) if !step.passed => Some(Place {
                state: step.state,
                minute,
                spent: step.dose,
                share: 0.0,
                part: step.part,
            }),
            _ => {
                let state = State { wrap: None, ..wrapped.state };
                Some(Place { state, minute, spent: 0.0, share: 0.0, part: wrapped.part })
            }
        }
    }

    /// Where its log ended.
    pub(super) fn end(&self) -> Place {
        self.at(self.end_min)
    }

    /// The minute of its own path at which the core was first at a temperature.
    pub(super) fn first_at(&self, core_c: f64) -> Option<f64> {
        let step = self
            .steps
            .iter()
            .find(|step| step.passed && step.state.core_c + step.part > core_c + 1e-9)?;
        let share = ((core_c - step.state.core_c) / step.part).clamp(0.0, 1.0);
        Some(step.state.minute + share * step.minutes)
    }
}

/// All cooks that can be followed so.
#[derive(Debug)]
pub(super) struct Pace {
    pub(super) cooks: Vec<Paced>,
    pub(super) fires: usize,
    /// Methods that were used, in order; their places are the levels.
    pub(super) methods: Vec<WrapMethod>,
    /// How far a bark that is not set yet comes on a minute, as noted on unwrapped cooks.
    pub(super) bark_per_min: f64,
    pub(super) left_out: Vec<LeftOut>,
}

/// By the notes of two degrees that follow each other. A run without a wrap goes through hours in which the bark
/// would have come on; the models must not be asked about one that stands still.
fn bark_per_min(cooks: &[Paced]) -> f64 {
    let (mut made, mut minutes) = (0.0, 0.0);
    let unwrapped = |step: &&Step| step.state.wrap.is_none();
    for cook in cooks {
        let steps: Vec<&Step> = cook.steps.iter().take_while(unwrapped).collect();
        for pair in steps.windows(2) {
            if let (Some(bark), Some(next)) = (pair[0].state.bark, pair[1].state.bark)
                && bark < 1.0
            {
                made += next - bark;
                minutes += pair[0].minutes;
            }
        }
    }
    if minutes > 0.0 { f64::max(made / minutes, 0.0) } else { 0.0 }
}

/// Reads the cooks of a claim.
pub(super) fn read(
    table: &MeasureTable,
    cooks: &Cooks<'_>,
    degrees: &Degrees,
) -> Result<Pace, StudyError> {
    let k_ref = table.numbers_or_missing(measures::K_REF_PER_H.name)?;
    let mut methods: Vec<WrapMethod> = cooks
        .all
        .iter()
        .filter_map(|cook| cook.wrap.as_ref().map(|(_, method)| method.clone()))
        .collect();
    methods.sort();
    methods.dedup();
    let (mut found, mut fires) = (Vec::new(), Vec::new());
    let (mut without, mut early) = (0, 0);
    for (cook, &row) in cooks.all.iter().zip(&cooks.rows.used) {
        let rows = degrees.of(&table.cooks()[row]);
        let k_ref_per_h = k_ref[row].filter(|k| *k > 0.0);
        let (Some(k_ref_per_h), false) = (k_ref_per_h, rows.is_empty()) else {
            without += 1;
            continue;
        };
        let wrapped_early = rows
            .iter()
            .find(|row| row.method.is_some())
            .is_some_and(|row| row.from_core_c < REFERENCE_TO_C);
        if wrapped_early {
            early += 1;
            continue;
        }
        let level = |method: &WrapMethod| methods.iter().position(|known| known == method);
        let mut paced = Paced {
            fire: 0,
            log_weight: cook.weight_kg.ln(),
            k_ref_per_h,
            wrap: cook.wrap.as_ref().and_then(|(minute, method)| Some((*minute, level(method)?))),
            end_min: cook.end_min,
            finished: cook.end == End::Finish,
            was_taken_off: false,
            steps: Vec::new(),
            pit: Pit::of(cook, rows),
        };
        paced.steps = steps(rows, k_ref_per_h, &|method| level(method));
        paced.was_taken_off = paced
            .steps
            .windows(2)
            .any(|pair| pair[0].state.wrap.is_some() && pair[1].state.wrap.is_none());
        fires.push(cook.fire);
        found.push(paced);
    }
    let mut known = fires.clone();
    known.sort_unstable();
    known.dedup();
    for (cook, fire) in found.iter_mut().zip(&fires) {
        cook.fire = known.partition_point(|other| other < fire);
    }
    let mut left_out = Vec::new();
    for (cooks, reason) in [
        (without, "no reference heating coefficient, or no pit to tell the heat on offer"),
        (early, "wrapped before 60 °C, while its reference was still being taken"),
    ] {
        if cooks > 0 {
            left_out.push(LeftOut { reason: reason.into(), cooks });
        }
    }
    let bark_per_min = bark_per_min(&found);
    Ok(Pace { cooks: found, fires: known.len(), methods, bark_per_min, left_out })
}

/// The steps of one cook, each with what was known before it.
fn steps(
    rows: &[Degree],
    k_ref_per_h: f64,
    level: &dyn Fn(&WrapMethod) -> Option<usize>,
) -> Vec<Step> {
    let mut state = State::at_zero();
    let mut out: Vec<Step> = Vec::with_capacity(rows.len());
    let mut was_unwrapped = false;
    // What the degree that it is in was offered before this part of it.
    let mut spent = 0.0;
    for row in rows {
        state.core_c = row.from_core_c;
        state.minute = row.start_min;
        if state.wrap.is_none() {
            state.bark = row.bark;
        }
        if !row.is_later_part {
            spent = 0.0;
        }
        let now = row.method.as_ref().and_then(level);
        match (state.wrap, now) {
            (None, Some(level)) => {
                let since = row.since_wrap_min.unwrap_or(0.0);
                state = state.wrapped(level, spent);
                if let Some(on) = &mut state.wrap {
                    on.at_min -= since;
                }
            }
            (Some(_), None) => {
                was_unwrapped = true;
                state.wrap = None;
            }
            _ => {}
        }
        let part = (row.degree_c + 1.0 - row.from_core_c).clamp(0.01, 1.0);
        let step = Step {
            state,
            gap_c: row.lagged_pit_c - row.from_core_c,
            minutes: row.minutes,
            dose: k_ref_per_h * row.dose_k_h,
            part,
            passed: row.passed,
            is_learnt: row.seen >= LEAST_SEEN && part >= NARROWEST_C && !was_unwrapped,
            weight: 1.0,
        };
        let ends_c = if row.passed { row.degree_c + 1.0 } else { row.from_core_c };
        state.step(ends_c, row.start_min + row.minutes, step.dose);
        // What is left of a split degree, and what was cut, says little of the pace by itself.
        if row.passed && !row.is_later_part && row.seen >= LEAST_SEEN {
            state.learn(step.y());
        }
        spent += step.dose;
        out.push(step);
    }
    out
}
