//! Plans: when to light the fire and put the meat on, so that it is rested and ready in time.

mod cards;
mod conflicts;
mod milestones;

use super::past::{Which, past};
use super::words::{self, ToCome, usage};
use super::{CAUTION, REST_MIN};
use crate::QUESTIONS;
use crate::error::StageError;
use crate::pit::{PlannedMilestone, write_planned_pit_page};
use cards::{ToPlan, cards};
use conflicts::{crowded, unlike_setpoints};
use cook::{Card, Celsius, Kilograms, Questions, Season, WrapMethod};
use milestones::{milestones, people, table};
use outlook::{Hours, Planned, Range, WrapClass};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use store::Table;

/// Level of the ranges of milestones.
const LEVEL: f64 = 0.8;
/// From the slice to the turn-in, min. Common practice, no source.
const SLICE_MIN: f64 = 15.0;
/// From lighting to meat-on where `[pits.NAME]` does not say, min. Common practice, no source.
const LIGHT_MIN: f64 = 60.0;

/// What to plan.
#[derive(Debug, Clone)]
pub struct PlanRequest {
    /// Season folder: the past in its store.
    pub folder: PathBuf,
    /// Its settings.
    pub season: Season,
    /// Season sheets with the cooks to plan.
    pub sheets: Vec<String>,
    /// Cooks of the sheets; none is those with a turn-in to come.
    pub cooks: Vec<String>,
    /// The turn-in, in place of the sheet's.
    pub turn_in: Option<String>,
    /// How sure to be, per cent.
    pub certainty: u8,
    /// Weight as it goes on, in place of the sheet's.
    pub weight: Option<String>,
    /// Which pit.
    pub pit: Option<String>,
    /// Its set-point.
    pub setpoint: Option<String>,
    /// The wrap: `foil@165F`.
    pub wrap: Option<String>,
    /// Whether the bundled simulated cooks stand in.
    pub bundled: bool,
    /// The moment of planning.
    pub now: Option<String>,
    /// The computer's clock, ms UTC.
    pub clock_ms: i64,
    /// Whether to say how often such plans would have been on time.
    pub check: bool,
    /// Whether the milestones go into the season's `pit.html`.
    pub pit_page: bool,
}

/// The plans.
#[derive(Debug, Clone)]
pub struct PlanSummary {
    /// One row a milestone; SI, instants UTC.
    pub table: Table,
    /// The same for people.
    pub people: Table,
    /// What is to be said beside them.
    pub notes: Vec<String>,
    /// Whether a plan cannot be kept.
    pub conflicts: bool,
    /// The page for the pit that has the milestones now.
    pub pit_page: Option<PathBuf>,
}

/// One cook's plan.
struct Plan {
    cook: String,
    pit: Option<String>,
    weight_kg: Option<f64>,
    setpoint_c: Option<f64>,
    /// Hours from meat-on to the planned wrap.
    wrap: Option<Range>,
    turn_in_ms: i64,
    light_ms: i64,
    meat_on_ms: i64,
    hours: Hours,
    hold_min: f64,
    conflict: Option<String>,
}

/// Plans cooks.
///
/// # Errors
/// What is typed cannot be read, a cook that no sheet names, nothing to plan, or no past to plan from.
pub fn plan(request: &PlanRequest) -> Result<PlanSummary, StageError> {
    let answers = Questions::read(&request.folder.join(QUESTIONS))?.answers();
    let (season, zone, zone_note) = words::zoned(&request.season, &answers);
    let season = &season;
    if !(50..=99).contains(&request.certainty) {
        return Err(usage(format!("--certainty {} must lie between 50 and 99", request.certainty)));
    }
    let certainty = f64::from(request.certainty) / 100.0;
    let instant = |text: &str| words::instant(text, &zone, request.clock_ms);
    let now_ms = request.now.as_deref().map(instant).transpose()?.unwrap_or(request.clock_ms);
    let ToPlan { cards, mut notes, left_out } = cards(request, season, &answers, now_ms, &zone)?;
    let asked: BTreeSet<String> = cards.iter().map(|card| card.cook.clone()).collect();
    let which = Which { asked: &asked, ended_by_ms: now_ms };
    let past = past(&request.folder, season, &which, request.bundled)?;
    let no_past = |error: outlook::OutlookError| usage(error.to_string());
    if request.check {
        let (on_time, all, wait_h) = past.check_plans(certainty).map_err(no_past)?;
        notes.push(if all == 0 {
            "No past cook of yours to check plans on.".to_owned()
        } else {
            format!(
                "On your past, plans at {} % would have been on time {on_time} of {all} times, waiting {} at the median; each cook was planned without its own fire.",
                request.certainty,
                words::minutes(60.0 * wait_h)
            )
        });
    }
    let mut plans = Vec::new();
    for card in &cards {
        let turn_in = request.turn_in.as_deref();
        let turn_in = turn_in.map(|text| words::instant(text, &zone, now_ms)).transpose()?;
        let Some(turn_in_ms) = turn_in.or(card.turn_in_ms) else {
            return Err(usage(format!(
                "cook `{}` has no turn-in: fill in `turn_in_at`, or say --turn-in",
                card.cook
            )));
        };
        let planned = planned(request, card)?;
        notes.extend(unlike_past(&planned, card, &past));
        check_pit(&planned, card, season)?;
        if planned.weight_kg.is_none() {
            notes.push(format!(
                "{}: no weight is known, so its hours are those of a usual one of its kind; --weight or the sheet tells.",
                card.cook
            ));
        }
        let hours = past.hours(&planned, LEVEL, certainty, None).map_err(no_past)?;
        let even = past.hours(&planned, LEVEL, 0.5, None).map_err(no_past)?;
        notes.push(format!(
            "{}: to be in time {} times in 100 it goes on {} earlier than for an even chance, and mostly rests and is held {} before it is sliced, one time in ten over {}.",
            card.cook,
            request.certainty,
            words::minutes(60.0 * (hours.pull_by - even.pull_by)),
            words::minutes(60.0 * (hours.pull_by - hours.pull.hours) + REST_MIN),
            words::minutes(60.0 * (hours.pull_by - hours.pull.lo) + REST_MIN),
        ));
        let pull_by_ms = turn_in_ms - minutes_ms(REST_MIN + SLICE_MIN);
        let meat_on_ms = pull_by_ms - hours_ms(hours.pull_by);
        let pit = planned.pit.as_deref().and_then(|pit| season.pits.get(pit));
        let light_min = pit.and_then(|pit| pit.light_min).unwrap_or(LIGHT_MIN);
        let light_ms = meat_on_ms - minutes_ms(light_min);
        let unlikely = planned.weight_kg.and_then(|kilograms| {
            words::unlikely_weight(kilograms, planned.cut.as_deref(), season.units)
        });
        let late = (light_ms < now_ms).then(|| {
            format!(
                "too late by {}: the fire had to be lit at {}",
                words::minutes((now_ms - light_ms) as f64 / 60_000.0),
                words::clock(light_ms, now_ms, &zone)
            )
        });
        let conflict = [unlikely, late].into_iter().flatten().reduce(|a, b| format!("{a}; {b}"));
        plans.push(Plan {
            cook: card.cook.clone(),
            pit: planned.pit,
            weight_kg: planned.weight_kg,
            setpoint_c: planned.setpoint_c,
            wrap: hours.wrap,
            turn_in_ms,
            light_ms,
            meat_on_ms,
            hold_min: (hours.pull_by - hours.pull.hours) * 60.0 + REST_MIN,
            hours,
            conflict,
        });
    }
    crowded(&mut plans, season);
    unlike_setpoints(&mut plans, season);
    let pit_page = request.pit_page.then(|| planned_pit_page(&request.folder, &plans, season));
    let pit_page = pit_page.transpose()?;
    if past.own() == 0 {
        notes.push("These are not your cooks: none of yours is in a store here, so that simulated ones stand in.".into());
    }
    notes.extend(zone_note);
    notes.push(CAUTION.into());
    Ok(PlanSummary {
        table: table(&plans, certainty),
        people: people(&plans, &zone, now_ms),
        notes,
        conflicts: left_out || plans.iter().any(|plan| plan.conflict.is_some()),
        pit_page,
    })
}

/// What a plan rests on that no past cook of the team had.
fn unlike_past(planned: &Planned, card: &Card, past: &outlook::Past) -> Vec<String> {
    let cook = &card.cook;
    let mut notes = Vec::new();
    if planned.setpoint_c.is_none() {
        notes.push(format!(
            "{cook}: no set-point is known, so its hours are those of a usual one; --setpoint or the sheet tells."
        ));
    }
    if past.own() == 0 {
        return notes;
    }
    let is_new = |said: Option<&String>, of: fn(&outlook::About) -> Option<&String>| {
        let meaning = |text: &String| cook::trade::meaning(text);
        let said = said?;
        let mut known = past.own_courses().filter_map(|course| of(&course.about));
        let is_known = known.any(|known| meaning(known) == meaning(said));
        (!is_known).then(|| said.clone())
    };
    if let Some(pit) = is_new(planned.pit.as_ref(), |about| about.pit.as_ref()) {
        notes.push(format!(
            "{cook}: no past cook of yours was on `{pit}`; its hours are those of your other pits."
        ));
    }
    if let Some(cut) = is_new(planned.cut.as_ref(), |about| about.cut.as_ref()) {
        notes.push(format!(
            "{cook}: no past cook of yours is a {cut}; its hours are those of your other cuts, and may be far off."
        ));
    }
    if let Some(method) = card.wrap_method.as_ref().filter(|method| **method != WrapMethod::None) {
        let is_in = |course: &outlook::Course| course.wraps.iter().any(|wrap| wrap.1 == *method);
        if !past.own_courses().any(is_in) {
            notes.push(format!(
                "{cook}: no past cook of yours was wrapped in {method}; it is planned as {}.",
                WrapClass::of(method)
            ));
        }
    }
    notes
}

/// The hottest pit that big cuts are smoked in, °C (400 °F). Common practice, no source.
const HOTTEST_PIT_C: f64 = 205.0;

/// A pit that never brings the core to the finish, or that burns it, is a slip.
fn check_pit(planned: &Planned, card: &Card, season: &Season) -> Result<(), StageError> {
    let Some(setpoint_c) = planned.setpoint_c else { return Ok(()) };
    let shown = |celsius: f64| words::degrees(celsius, season.units);
    let finish_c = season.phases.finish_c;
    if setpoint_c <= finish_c {
        return Err(usage(format!(
            "cook `{}`: a pit at {} will not bring the core to {}\n  try: the set-point with its unit, such as 250F or 121C",
            card.cook,
            shown(setpoint_c),
            shown(finish_c)
        )));
    }
    if setpoint_c > HOTTEST_PIT_C {
        return Err(usage(format!(
            "cook `{}`: no big cut is smoked at {}\n  try: the set-point with its unit, such as 250F or 121C",
            card.cook,
            shown(setpoint_c)
        )));
    }
    Ok(())
}

/// What is known of a cook to plan; what is typed goes before the card.
fn planned(request: &PlanRequest, card: &Card) -> Result<Planned, StageError> {
    let weight = request.weight.as_deref().map(words::weight).transpose()?;
    let setpoint = request.setpoint.as_deref().map(words::temperature).transpose()?;
    let (wrap, wrap_core_c) = match request.wrap.as_deref() {
        Some("none") => (Some(WrapClass::Open), None),
        Some(text) => match ToCome::parse(text)? {
            ToCome::AtCore(class, core_c) => (Some(class), Some(core_c)),
            ToCome::AtMinute(..) => {
                return Err(usage("a planned wrap goes by its core: --wrap foil@165F".into()));
            }
        },
        None => (card.wrap_method.as_ref().map(WrapClass::of), None),
    };
    let on_card = card.trimmed_weight.or(card.raw_weight).map(Kilograms::value);
    Ok(Planned {
        weight_kg: weight.or(on_card),
        setpoint_c: setpoint.or(card.pit_setpoint.map(Celsius::value)),
        wrap,
        wrap_core_c,
        cut: card.cut.as_deref().map(|cut| cut.trim().to_lowercase()),
        pit: request.pit.clone().or_else(|| card.pit.clone()),
    })
}

/// Writes the milestones of cooks of the season's sheets into the page for the pit.
fn planned_pit_page(folder: &Path, plans: &[Plan], season: &Season) -> Result<PathBuf, StageError> {
    let finish = format!("Core at {}", words::degrees(season.phases.finish_c, season.units));
    let label = |name: &str| -> String {
        match name {
            "light" => "Light the fire".into(),
            "meat_on" => "Meat on".into(),
            "finish" => finish.clone(),
            "turn_in" => "Turn-in".into(),
            "wrap" => "Wrap".into(),
            "pull" => "Pull".into(),
            _ => "Slice".into(),
        }
    };
    let milestones: Vec<PlannedMilestone> = plans
        .iter()
        .flat_map(|plan| {
            milestones(plan).into_iter().map(|m| PlannedMilestone {
                cook: plan.cook.clone(),
                label: label(m.name),
                at_ms: m.at_ms,
                ends_ms: m.ends_ms,
            })
        })
        .collect();
    write_planned_pit_page(folder, &milestones)
}

fn minutes_ms(minutes: f64) -> i64 {
    (minutes.round() as i64) * 60_000
}

fn hours_ms(hours: f64) -> i64 {
    minutes_ms(60.0 * hours)
}
