//! Plans: when to light the fire and put the meat on, so that it is rested and ready in time.

use super::past::{Which, past};
use super::words::{self, ToCome, usage};
use crate::QUESTIONS;
use crate::error::StageError;
use crate::ingest_stage::{IngestRequest, read_sheets};
use crate::pit::{PlannedMilestone, write_planned_pit_page};
use columns::Quantity;
use cook::{Answers, Card, Celsius, Kilograms, Questions, Season};
use jiff::tz::TimeZone;
use outlook::{Hours, Planned, Range, WrapClass};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use store::{Column, Table};

/// Level of the ranges of milestones.
const LEVEL: f64 = 0.8;
/// From the pull to the slice at least, min. Common practice, no source.
const REST_MIN: f64 = 60.0;
/// From the slice to the turn-in, min. Common practice, no source.
const SLICE_MIN: f64 = 15.0;
/// Set-points closer than this are one, °C.
const SAME_SETPOINT_C: f64 = 3.0;
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
    let cards = cards(request, season, &answers, now_ms)?;
    let asked: BTreeSet<String> = cards.iter().map(|card| card.cook.clone()).collect();
    let which = Which { asked: &asked, ended_by_ms: now_ms };
    let past = past(&request.folder, season, &which, request.bundled)?;
    let no_past = |error: outlook::OutlookError| usage(error.to_string());
    let mut notes = Vec::new();
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
        let conflict = (light_ms < now_ms).then(|| {
            format!(
                "too late by {}: the fire had to be lit at {}",
                words::minutes((now_ms - light_ms) as f64 / 60_000.0),
                words::clock(light_ms, now_ms, &zone)
            )
        });
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
    notes.push(super::CAUTION.into());
    Ok(PlanSummary {
        table: table(&plans, certainty),
        people: people(&plans, &zone, now_ms),
        notes,
        conflicts: plans.iter().any(|plan| plan.conflict.is_some()),
        pit_page,
    })
}

/// The cooks to plan: those named, the one typed, else those of the sheets with a turn-in to come.
fn cards(
    request: &PlanRequest,
    season: &Season,
    answers: &Answers,
    now_ms: i64,
) -> Result<Vec<Card>, StageError> {
    let typed = request.weight.is_some() || request.setpoint.is_some();
    if request.cooks.is_empty() && typed {
        return Ok(vec![Card { cook: "typed".into(), ..Card::default() }]);
    }
    let sheets = read_sheets(&IngestRequest {
        base: request.folder.clone(),
        logs: Vec::new(),
        sheets: request.sheets.clone(),
        events: Vec::new(),
        score_sheets: Vec::new(),
        layouts: Vec::new(),
        store: PathBuf::new(),
        season: season.clone(),
        answers: answers.clone(),
        whole: true,
        prune: false,
    })?;
    let cards = sheets.cards.cards;
    if request.cooks.is_empty() {
        let to_come: Vec<Card> = cards
            .into_iter()
            .filter(|card| card.turn_in_ms.is_some_and(|at_ms| at_ms > now_ms))
            .collect();
        if to_come.is_empty() {
            return Err(usage(
                "no cook of the sheets has a `turn_in_at` to come: name cooks with --turn-in, or type --weight, --setpoint and --turn-in".into(),
            ));
        }
        return Ok(to_come);
    }
    let named = |name: &String| {
        cards
            .iter()
            .find(|card| card.cook == *name)
            .cloned()
            .ok_or_else(|| usage(format!("no row of a season sheet names the cook `{name}`")))
    };
    request.cooks.iter().map(named).collect()
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

/// Names the pits that are asked to hold more than they do.
fn crowded(plans: &mut [Plan], season: &Season) {
    let mut by_pit: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, plan) in plans.iter().enumerate() {
        if let Some(pit) = &plan.pit {
            by_pit.entry(pit.clone()).or_default().push(index);
        }
    }
    for (pit, on_it) in by_pit {
        let Some(holds_kg) = season.pits.get(&pit).and_then(|pit| pit.holds_kg) else { continue };
        for &index in &on_it {
            let plan = &plans[index];
            let at_once = on_it.iter().filter(|&&other| overlap(plan, &plans[other]));
            let kilograms: f64 = at_once.filter_map(|&other| plans[other].weight_kg).sum();
            if kilograms > holds_kg {
                let shown = |kg: f64| Quantity::Mass.show(kg, season.units);
                let said = format!(
                    "{pit} holds {} and would have {} on it",
                    shown(holds_kg),
                    shown(kilograms)
                );
                add_conflict(&mut plans[index], said);
            }
        }
    }
}

/// Names the pits that are asked to be at two set-points at once.
fn unlike_setpoints(plans: &mut [Plan], season: &Season) {
    for index in 0..plans.len() {
        let plan = &plans[index];
        let (Some(pit), Some(own_c)) = (&plan.pit, plan.setpoint_c) else { continue };
        let unlike = plans.iter().find_map(|other| {
            let other_c = other.setpoint_c?;
            let is_unlike = other.pit.as_ref() == Some(pit)
                && overlap(plan, other)
                && (other_c - own_c).abs() > SAME_SETPOINT_C;
            is_unlike.then(|| (other.cook.clone(), other_c))
        });
        let Some((cook, other_c)) = unlike else { continue };
        let units = season.units;
        let said = format!(
            "{pit} is to be at {} for it and at {} for {cook}",
            words::degrees(own_c, units),
            words::degrees(other_c, units)
        );
        add_conflict(&mut plans[index], said);
    }
}

/// Whether two cooks are on at once.
fn overlap(one: &Plan, other: &Plan) -> bool {
    let off_ms = |plan: &Plan| plan.meat_on_ms + hours_ms(plan.hours.pull_by);
    other.meat_on_ms < off_ms(one) && one.meat_on_ms < off_ms(other)
}

fn add_conflict(plan: &mut Plan, said: String) {
    plan.conflict = Some(match plan.conflict.take() {
        Some(before) => format!("{before}; {said}"),
        None => said,
    });
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

/// A milestone's instant with its range.
struct Milestone {
    name: &'static str,
    at_ms: i64,
    ends_ms: Option<(i64, i64)>,
}

fn milestones(plan: &Plan) -> Vec<Milestone> {
    let exact = |name, at_ms| Milestone { name, at_ms, ends_ms: None };
    let ranged = |name, range: Range| {
        let at = |hours: f64| plan.meat_on_ms + hours_ms(hours);
        Milestone { name, at_ms: at(range.hours), ends_ms: Some((at(range.lo), at(range.hi))) }
    };
    [exact("light", plan.light_ms), exact("meat_on", plan.meat_on_ms)]
        .into_iter()
        .chain(plan.wrap.map(|range| ranged("wrap", range)))
        .chain([
            ranged("finish", plan.hours.finish),
            ranged("pull", plan.hours.pull),
            exact("slice", plan.turn_in_ms - minutes_ms(SLICE_MIN)),
            exact("turn_in", plan.turn_in_ms),
        ])
        .collect()
}

fn table(plans: &[Plan], certainty: f64) -> Table {
    let rows: Vec<(&Plan, Milestone)> = plans
        .iter()
        .flat_map(|plan| milestones(plan).into_iter().map(move |m| (plan, m)))
        .collect();
    let instant = |of: &dyn Fn(&(&Plan, Milestone)) -> Option<i64>| {
        Column::Instant(rows.iter().map(of).collect())
    };
    let text = |of: &dyn Fn(&(&Plan, Milestone)) -> Option<String>| {
        Column::Text(rows.iter().map(of).collect())
    };
    Table::new()
        .with("cook", text(&|row| Some(row.0.cook.clone())))
        .with("turn_in_at", instant(&|row| Some(row.0.turn_in_ms)))
        .with("light_at", instant(&|row| Some(row.0.light_ms)))
        .with("meat_on_at", instant(&|row| Some(row.0.meat_on_ms)))
        .with("milestone", text(&|row| Some(row.1.name.to_owned())))
        .with("at", instant(&|row| Some(row.1.at_ms)))
        .with("at_lo80", instant(&|row| Some(row.1.ends_ms?.0)))
        .with("at_hi80", instant(&|row| Some(row.1.ends_ms?.1)))
        .with(
            "hold_min",
            Column::Float(rows.iter().map(|row| Some(row.0.hold_min.round())).collect()),
        )
        .with("certainty", Column::Float(rows.iter().map(|_| Some(certainty)).collect()))
        .with("conflict", text(&|row| row.0.conflict.clone()))
}

fn people(plans: &[Plan], zone: &TimeZone, now_ms: i64) -> Table {
    let rows: Vec<(&Plan, Milestone)> = plans
        .iter()
        .flat_map(|plan| milestones(plan).into_iter().map(move |m| (plan, m)))
        .collect();
    let text = |of: &dyn Fn(&(&Plan, Milestone)) -> Option<String>| {
        Column::Text(rows.iter().map(of).collect())
    };
    let clock = |at_ms: i64| words::clock(at_ms, now_ms, zone);
    Table::new()
        .with("cook", text(&|row| Some(row.0.cook.clone())))
        .with("milestone", text(&|row| Some(row.1.name.replace('_', "-"))))
        .with("at", text(&|row| Some(clock(row.1.at_ms))))
        .with(
            "80 in 100",
            text(&|row| row.1.ends_ms.map(|(lo, hi)| format!("{} – {}", clock(lo), clock(hi)))),
        )
        .with(
            "rest and hold",
            text(&|row| (row.1.name == "slice").then(|| words::minutes(row.0.hold_min))),
        )
        .with("conflict", text(&|row| row.0.conflict.clone()))
}
