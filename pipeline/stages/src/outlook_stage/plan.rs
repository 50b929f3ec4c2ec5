//! Plans: when to light the fire and put the meat on, so that it is rested and ready in time.

use super::past::{Which, past};
use super::words::{self, ToCome, usage};
use crate::QUESTIONS;
use crate::error::StageError;
use crate::ingest_stage::{IngestRequest, read_sheets};
use crate::pit::{PlannedMilestone, write_planned_pit_page};
use columns::Quantity;
use cook::{Answers, Card, Celsius, Kilograms, Question, Questions, Season, WrapMethod};
use ingest::CardRow;
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

/// The column of the turn-in.
const TURN_IN: &str = columns::card::TURN_IN_AT.stated_as();

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
    notes.push(super::CAUTION.into());
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

/// What is to be planned.
struct ToPlan {
    cards: Vec<Card>,
    /// What the sheets leave open of them.
    notes: Vec<String>,
    /// Whether a cook has a turn-in to come that cannot be placed.
    left_out: bool,
}

/// The cooks to plan: those named, the one typed, else those of the sheets with a turn-in to come.
fn cards(
    request: &PlanRequest,
    season: &Season,
    answers: &Answers,
    now_ms: i64,
    zone: &TimeZone,
) -> Result<ToPlan, StageError> {
    let typed = request.weight.is_some() || request.setpoint.is_some();
    if request.cooks.is_empty() && typed {
        let cards = vec![Card { cook: "typed".into(), ..Card::default() }];
        return Ok(ToPlan { cards, notes: Vec::new(), left_out: false });
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
    let rows = || sheets.cards.cards.iter().zip(&sheets.cards.rows);
    let today = jiff::Timestamp::from_millisecond(now_ms)
        .map_or_else(|_| String::new(), |at| at.to_zoned_datetime(zone.clone()).date().to_string());
    // A turn-in that is written and not known: a clock time without a meat-on to count from, or no time.
    let unplaced = |card: &Card, row: &CardRow| {
        let is_it = |cell: &&ingest::StatedCell| cell.field == TURN_IN;
        let cell = row.cells().iter().find(is_it).map(|cell| &cell.text);
        let refused = sheets.cards.rejected.iter().find(|rejected| {
            rejected.source == row.sheet
                && rejected.line == row.line
                && rejected.column.as_deref() == Some(TURN_IN)
        });
        let text = cell.or(refused.map(|rejected| &rejected.text));
        let text = text.filter(|_| card.turn_in_ms.is_none())?;
        let why = match ingest::WrittenTime::parse(text, zone) {
            Some(ingest::WrittenTime::Instant(_)) => {
                "does not fit its `meat_on`: mend one of them".to_owned()
            }
            _ => format!(
                "cannot be placed: write date and time, such as {} 12:00",
                card.date.as_deref().unwrap_or(&today)
            ),
        };
        Some(format!("cook `{}`: its `{TURN_IN}` `{text}` {why}", card.cook))
    };
    let mut plan = ToPlan { cards: Vec::new(), notes: Vec::new(), left_out: false };
    let mut take = |card: &Card, row: &CardRow| {
        plan.cards.push(card.clone());
        let place = format!("{}:{} ", row.sheet, row.line);
        let own = |question: &&Question| question.places.iter().any(|at| at.starts_with(&place));
        plan.notes.extend(sheets.cards.questions.iter().filter(own).map(super::asked::open));
        let own = sheets
            .cards
            .rejected
            .iter()
            .filter(|rejected| rejected.source == row.sheet && rejected.line == row.line);
        plan.notes.extend(own.filter_map(|rejected| sheets.cards.explain(rejected)));
    };
    if request.cooks.is_empty() {
        let mut left_out = Vec::new();
        for (card, row) in rows() {
            if card.turn_in_ms.is_some_and(|at_ms| at_ms > now_ms) {
                take(card, row);
            } else if card.date.as_ref().is_none_or(|date| *date >= today) {
                left_out.extend(unplaced(card, row));
            }
        }
        plan.left_out = !left_out.is_empty();
        if plan.cards.is_empty() {
            let first = left_out.into_iter().next();
            return Err(usage(first.unwrap_or_else(|| {
                "no cook of the sheets has a `turn_in_at` to come: name cooks with --turn-in, or type --weight, --setpoint and --turn-in".into()
            })));
        }
        plan.notes.extend(left_out);
        return Ok(plan);
    }
    for name in &request.cooks {
        let named = rows().find(|(card, _)| card.cook == *name);
        let Some((card, row)) = named else {
            return Err(usage(format!("no row of a season sheet names the cook `{name}`")));
        };
        if let Some(why) = unplaced(card, row).filter(|_| request.turn_in.is_none()) {
            return Err(usage(why));
        }
        take(card, row);
    }
    Ok(plan)
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
