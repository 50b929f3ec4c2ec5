//! One cook on a regular grid, each value made from what came before it alone.

use crate::error::OutlookError;
use crate::wrap::WrapClass;
use cook::{Card, Celsius, CookReadings, Event, EventKind, Kilograms, PhaseDefinition, WrapMethod};
use phases::segment::LONGEST_GAP_MS;
use phases::{Channels, CleaningReport, Marks, OwnedSamples, clean, find_marks, lead_channel};

/// Step of the grid, min.
pub const STEP_MIN: f64 = 5.0;
/// A value is held over a gap of the log of this length, min; longer ones are on the straight line
/// between their ends once the log goes on.
const HELD_MIN: f64 = 20.0;
/// Half window of the slope that the reference is made of, steps: the definition's 10 min.
const HALF_WINDOW: usize = 2;

/// What a card says of a cook that bears on how long it takes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct About {
    /// The cook.
    pub cook: String,
    /// Its fire: cooks of one fire are not independent.
    pub fire: String,
    /// Weight as it goes on (trimmed, else raw), kg.
    pub weight_kg: Option<f64>,
    /// The cut.
    pub cut: Option<String>,
    /// Which pit.
    pub pit: Option<String>,
}

impl About {
    /// What a card says.
    pub fn of(card: &Card) -> Self {
        let fire = if card.fire.is_empty() { &card.cook } else { &card.fire };
        Self {
            cook: card.cook.clone(),
            fire: format!("{}/{fire}", card.season),
            weight_kg: card
                .trimmed_weight
                .or(card.raw_weight)
                .map(Kilograms::value)
                .filter(|weight| *weight > 0.0),
            cut: card.cut.as_deref().map(|cut| cut.trim().to_lowercase()),
            pit: card.pit.clone(),
        }
    }
}

/// One cook from meat-on on a grid of [`STEP_MIN`]; times are minutes since meat-on, temperatures °C.
///
/// A value of the grid is made from readings up to its instant, so that a course cut at an instant is
/// the course of the log cut there.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// What the card says.
    pub about: About,
    /// Meat-on, ms UTC.
    pub meat_on_ms: i64,
    /// Core; not a number before its first reading.
    pub core_c: Vec<f64>,
    /// Pit, the mean over each step; not a number where there is none.
    pub pit_c: Vec<f64>,
    /// Lagged pit.
    pub lagged_c: Vec<f64>,
    /// Set-points: since when, and what.
    pub setpoints: Vec<(f64, f64)>,
    /// Wraps and unwrappings: when, and into what.
    pub wraps: Vec<(f64, WrapMethod)>,
    /// When the core was first at the finish.
    pub finish_min: Option<f64>,
    /// When it was pulled.
    pub pull_min: Option<f64>,
    /// Probe tests: when, and whether it was tender.
    pub probe_tests: Vec<(f64, bool)>,
    /// Readings typed by hand hold no more than a pace between them.
    pub typed: bool,
    /// The reference coefficient of the whole course, 1/h, and the first step at which it is known.
    pub(crate) reference: Option<(usize, f64)>,
    /// Minutes in stall up to each step; `None` without a reference.
    pub(crate) stall_min: Vec<f64>,
}

/// A course and what the log tells of its marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Followed {
    /// The course, up to the pull.
    pub course: Course,
    /// The marks.
    pub marks: Marks,
    /// Last reading of the core, ms UTC.
    pub last_ms: i64,
}

impl Course {
    /// Follows a cook's lead channel, or the one that `channel` names, from meat-on to the pull, or to
    /// the last reading before `until_ms`. `setpoints` are all events that bear on the pit.
    ///
    /// # Errors
    /// No meat channel; no reading before `until_ms`; marks that contradict the log.
    pub fn follow(
        readings: &CookReadings,
        card: &Card,
        events: &[Event],
        on_fire: &[Event],
        until_ms: i64,
        definition: &PhaseDefinition,
    ) -> Result<Followed, OutlookError> {
        let readings = until(readings, until_ms);
        let events: Vec<Event> =
            events.iter().filter(|event| event.at_ms <= until_ms).cloned().collect();
        let mut card = card.clone();
        let not_yet = |at: Option<i64>| at.filter(|at_ms| *at_ms <= until_ms);
        card.marks.wrap_ms = not_yet(card.marks.wrap_ms);
        card.marks.pull_ms = not_yet(card.marks.pull_ms);
        card.marks.slice_ms = not_yet(card.marks.slice_ms);
        let Channels { pit, meats, .. } = Channels::of(&readings, &card);
        let fullest = meats
            .iter()
            .max_by_key(|channel| channel.samples.at_ms.len())
            .filter(|channel| !channel.samples.at_ms.is_empty())
            .ok_or(OutlookError::NoCore)?;
        let no_pit = OwnedSamples::default();
        let pit = pit.as_ref().map_or(no_pit.view(), |pit| pit.samples.view());
        let marks_of =
            |core: &phases::Channel| find_marks(&card.marks, &events, core.samples.view(), pit);
        let bounds = marks_of(fullest)?.bounds;
        let span = (bounds.meat_on_ms, bounds.pull_ms);
        let lead = lead_channel(&meats, card.lead_channel.as_deref(), span, definition.finish_c)?;
        let core = meats[lead.index].samples.view();
        let marks = marks_of(&meats[lead.index])?;
        let bounds = marks.bounds;
        let mut report = CleaningReport::default();
        let inside = core.within(bounds.meat_on_ms, bounds.pull_ms + 1);
        let core = clean::clean_core(inside, &marks.wraps_ms, LONGEST_GAP_MS, &mut report);
        let around = pit.within(bounds.meat_on_ms - LONGEST_GAP_MS, bounds.pull_ms + 1);
        let pit = clean::clean_pit(around, LONGEST_GAP_MS, &mut report);
        let last_ms = *core.at_ms.last().ok_or(OutlookError::NoCore)?;
        let minute = |at_ms: i64| (at_ms - bounds.meat_on_ms) as f64 / 60_000.0;

        let steps = (minute(last_ms) / STEP_MIN).floor().max(0.0) as usize + 1;
        let grid = |samples: &OwnedSamples, last_of: bool| -> Vec<f64> {
            let value = |step: usize| {
                let at_ms = bounds.meat_on_ms + (step as f64 * STEP_MIN * 60_000.0) as i64;
                let from = at_ms - (STEP_MIN * 60_000.0) as i64;
                let block = samples.view().within(from + 1, at_ms + 1);
                if block.is_empty() {
                    return f64::NAN;
                }
                if last_of { edge(block.at_ms, block.temp_c, at_ms) } else { mean(block.temp_c) }
            };
            filled((0..steps).map(value).collect())
        };
        let core_c = grid(&core, true);
        let pit_c = grid(&pit, false);
        let mut wraps: Vec<(f64, WrapMethod)> = events
            .iter()
            .filter_map(|event| match event.kind {
                EventKind::Wrap => {
                    let method = event.value.as_deref().and_then(WrapMethod::parse);
                    let method = method.or_else(|| card.wrap_method.clone());
                    Some((minute(event.at_ms), method?))
                }
                EventKind::Unwrap => Some((minute(event.at_ms), WrapMethod::None)),
                _ => None,
            })
            .collect();
        if wraps.is_empty()
            && let (Some(at_ms), Some(method)) = (card.marks.wrap_ms, &card.wrap_method)
        {
            wraps.push((minute(at_ms), method.clone()));
        }
        wraps.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut setpoints: Vec<(f64, f64)> = card
            .pit_setpoint
            .map(|setpoint| (f64::NEG_INFINITY, setpoint.value()))
            .into_iter()
            .chain(events.iter().chain(on_fire).filter_map(|event| {
                let is_known = event.kind == EventKind::Setpoint && event.at_ms <= until_ms;
                let to = is_known.then(|| event.temperature()).flatten().map(Celsius::value)?;
                Some((minute(event.at_ms), to))
            }))
            .collect();
        setpoints.sort_by(|a, b| a.0.total_cmp(&b.0));
        let probe_tests = events
            .iter()
            .filter(|event| event.kind == EventKind::ProbeTest)
            .filter_map(|event| match event.value.as_deref().map(str::trim) {
                Some("tender") => Some((minute(event.at_ms), true)),
                Some("not") => Some((minute(event.at_ms), false)),
                _ => None,
            })
            .collect();
        let course = Self {
            about: About::of(&card),
            meat_on_ms: bounds.meat_on_ms,
            core_c,
            pit_c,
            setpoints,
            wraps,
            probe_tests,
            pull_min: bounds.pull_known.then(|| minute(bounds.pull_ms)),
            ..Self::empty()
        };
        Ok(Followed { course: course.completed(definition), marks, last_ms })
    }

    /// A course without anything in it.
    pub(crate) fn empty() -> Self {
        Self {
            about: About::default(),
            meat_on_ms: 0,
            core_c: Vec::new(),
            pit_c: Vec::new(),
            lagged_c: Vec::new(),
            setpoints: Vec::new(),
            wraps: Vec::new(),
            finish_min: None,
            pull_min: None,
            probe_tests: Vec::new(),
            typed: false,
            reference: None,
            stall_min: Vec::new(),
        }
    }

    /// Works out what follows from core and pit.
    pub(crate) fn completed(mut self, definition: &PhaseDefinition) -> Self {
        self.lagged_c = lagged(&self.pit_c, definition.pit_lag_min);
        self.finish_min = first_at(&self.core_c, definition.finish_c);
        self.reference = if self.typed { None } else { self.own_reference(definition) };
        self.stall_min = self.minutes_in_stall(definition);
        self
    }

    /// The course as it was known at step `step`.
    #[must_use]
    pub fn cut(&self, step: usize, definition: &PhaseDefinition) -> Self {
        let end = (step + 1).min(self.core_c.len());
        let now = (end - 1) as f64 * STEP_MIN;
        let mut cut = self.clone();
        cut.core_c.truncate(end);
        cut.pit_c.truncate(end);
        cut.wraps.retain(|(at, _)| *at <= now);
        cut.setpoints.retain(|(at, _)| *at <= now);
        cut.probe_tests.retain(|(at, _)| *at <= now);
        cut.pull_min = cut.pull_min.filter(|at| *at <= now);
        cut.completed(definition)
    }

    /// The last step.
    pub fn last_step(&self) -> usize {
        self.core_c.len().saturating_sub(1)
    }

    /// The wrap at a minute, and since when.
    pub fn wrap_at(&self, minute: f64) -> (WrapClass, Option<f64>) {
        match self.wraps.iter().rev().find(|(at, _)| *at <= minute) {
            Some((at, method)) => (WrapClass::of(method), Some(*at)),
            None => (WrapClass::Open, None),
        }
    }

    /// The first wrap after a minute.
    pub fn next_wrap(&self, minute: f64) -> Option<(f64, WrapClass)> {
        let later =
            self.wraps.iter().find(|(at, method)| *at > minute && *method != WrapMethod::None);
        later.map(|(at, method)| (*at, WrapClass::of(method)))
    }

    /// The set-point in force at a minute.
    pub fn setpoint_at(&self, minute: f64) -> Option<f64> {
        self.setpoints.iter().rev().find(|(at, _)| *at <= minute).map(|(_, to)| *to)
    }

    /// Heating coefficient over the last `minutes` before a step, 1/h: the rise of the core over the
    /// heat on offer. `None` where the core or the pit was not seen for as long.
    pub fn coefficient(
        &self,
        step: usize,
        minutes: f64,
        definition: &PhaseDefinition,
    ) -> Option<f64> {
        let back = (minutes / STEP_MIN).round() as usize;
        let from = step.checked_sub(back)?;
        let rise = self.core_c[step] - self.core_c[from];
        let offer: f64 = (from..step)
            .map(|at| (self.lagged_c[at] - self.core_c[at]).max(definition.minimum_gap_c))
            .sum();
        let k = rise / (offer * STEP_MIN / 60.0);
        k.is_finite().then_some(k)
    }

    /// The 0.75 quantile of k on the way through the reference span, as the phase definition has it,
    /// from slopes on this grid; with the first step at which the whole span was seen.
    fn own_reference(&self, definition: &PhaseDefinition) -> Option<(usize, f64)> {
        let first = self.core_c.iter().find(|core| core.is_finite())?;
        if *first >= definition.reference_first_sample_below_c {
            return None;
        }
        let from = self.core_c.iter().position(|&core| core >= definition.reference_from_c)?;
        let until = self.core_c.iter().position(|&core| core >= definition.reference_to_c)?;
        let known = until + HALF_WINDOW;
        if known >= self.core_c.len() {
            return None;
        }
        let mut inside: Vec<f64> = (from.max(HALF_WINDOW)..=until)
            .filter_map(|step| {
                let gap = self.lagged_c[step] - self.core_c[step];
                let rise = self.core_c[step + HALF_WINDOW] - self.core_c[step - HALF_WINDOW];
                let hours = 2.0 * HALF_WINDOW as f64 * STEP_MIN / 60.0;
                let k = rise / hours / gap;
                (gap > definition.minimum_gap_c && k.is_finite()).then_some(k)
            })
            .collect();
        inside.sort_by(f64::total_cmp);
        let k = stats::describe::quantile(&inside, definition.reference_quantile).ok()?;
        (k > 0.0).then_some((known, k))
    }

    fn minutes_in_stall(&self, definition: &PhaseDefinition) -> Vec<f64> {
        let Some((known, k_ref)) = self.reference else { return Vec::new() };
        let mut minutes = 0.0;
        (0..self.core_c.len())
            .map(|step| {
                let in_window = step >= known
                    && (definition.stall_from_c..definition.stall_until_c)
                        .contains(&self.core_c[step]);
                let k = in_window.then(|| self.coefficient(step, 20.0, definition)).flatten();
                if k.is_some_and(|k| k < definition.stall_fraction * k_ref) {
                    minutes += STEP_MIN;
                }
                minutes
            })
            .collect()
    }
}

/// The value at a block's end from its readings: their mean, carried on to the end by their slope where
/// there are enough to tell one.
fn edge(at_ms: &[i64], temp_c: &[f64], end_ms: i64) -> f64 {
    let count = at_ms.len() as f64;
    let x = |at: i64| (at - end_ms) as f64 / 60_000.0;
    let (mean_x, mean_y) = (at_ms.iter().map(|&at| x(at)).sum::<f64>() / count, mean(temp_c));
    if at_ms.len() < 4 {
        return temp_c[temp_c.len() - 1];
    }
    let pairs = at_ms.iter().zip(temp_c).map(|(&at, y)| (x(at) - mean_x, y - mean_y));
    let (sxx, sxy) = pairs.fold((0.0, 0.0), |sums, (x, y)| (sums.0 + x * x, sums.1 + x * y));
    if sxx <= 0.0 { mean_y } else { mean_y - sxy / sxx * mean_x }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Gaps on the straight line between their ends; level for [`HELD_MIN`] at the end, then not a number.
fn filled(mut values: Vec<f64>) -> Vec<f64> {
    let mut last: Option<usize> = None;
    for index in 0..values.len() {
        if values[index].is_nan() {
            continue;
        }
        if let Some(before) = last {
            let (a, b) = (values[before], values[index]);
            for (after, value) in values[before + 1..index].iter_mut().enumerate() {
                *value = a + (after + 1) as f64 / (index - before) as f64 * (b - a);
            }
        }
        last = Some(index);
    }
    if let Some(before) = last {
        let until = (before + 1 + (HELD_MIN / STEP_MIN) as usize).min(values.len());
        let level = values[before];
        values[before + 1..until].fill(level);
    }
    values
}

fn lagged(pit_c: &[f64], lag_min: f64) -> Vec<f64> {
    let gain = 1.0 - (-STEP_MIN / lag_min).exp();
    let mut level = f64::NAN;
    pit_c
        .iter()
        .map(|&pit| {
            if level.is_nan() {
                level = pit;
            } else if pit.is_finite() {
                level += gain * (pit - level);
            }
            level
        })
        .collect()
}

/// The first instant at which values on the grid are at a level, min, on the straight line.
pub(crate) fn first_at(values: &[f64], level: f64) -> Option<f64> {
    let at = values.iter().position(|&value| value >= level)?;
    let share = match at.checked_sub(1).map(|before| values[before]) {
        Some(before) if before.is_finite() => (level - before) / (values[at] - before),
        _ => 1.0,
    };
    Some((at as f64 - 1.0 + share).max(0.0) * STEP_MIN)
}

/// The readings up to an instant.
fn until(readings: &CookReadings, until_ms: i64) -> CookReadings {
    let mut cut = readings.clone();
    for channel in &mut cut.channels {
        let end = channel.at_ms.partition_point(|&at| at <= until_ms);
        channel.at_ms.truncate(end);
        channel.temp_c.truncate(end);
        channel.flag.truncate(end);
        channel.source.truncate(end);
        channel.line.truncate(end);
    }
    cut
}
