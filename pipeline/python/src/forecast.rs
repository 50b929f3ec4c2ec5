//! When cooks that are on will be done.

use crate::cooks::Cooks;
use crate::errors::{guarded, no_past, of_table};
use crate::given::{self, Problem};
use crate::table::Table;
use columns::{Column, iso_instant};
use cook::{CookReadings, Event, PhaseDefinition};
use outlook::course::STEP_MIN;
use outlook::{Answer, Ask, Course, Past};
use pyo3::prelude::*;
use rows::readings::{BatchCook, CooksOfBatches};
use std::collections::HashSet;

const MS_PER_MIN: f64 = 60_000.0;

/// A row a cook: when its core will be at the finish.
#[pyfunction]
#[pyo3(signature = (readings, cooks, past_readings, past_cooks, at_ms, level, bundled))]
pub(crate) fn forecast(
    py: Python<'_>,
    readings: &Bound<'_, PyAny>,
    cooks: &Cooks,
    past_readings: Option<&Bound<'_, PyAny>>,
    past_cooks: Option<&Cooks>,
    at_ms: Option<i64>,
    level: u8,
    bundled: bool,
) -> PyResult<Table> {
    guarded(|| {
        let on = cooks_of(py, readings, cooks, "readings")?;
        let before = match (past_readings, past_cooks) {
            (Some(readings), Some(cooks)) => Some((cooks_of(py, readings, cooks, "past")?, cooks)),
            _ => None,
        };
        forecasted(py, &on, cooks, before.as_ref(), (at_ms, level, bundled))
    })
}

fn forecasted(
    py: Python<'_>,
    on: &[BatchCook],
    cooks: &Cooks,
    before: Option<&(Vec<BatchCook>, &Cooks)>,
    (at_ms, level, bundled): (Option<i64>, u8, bool),
) -> PyResult<Table> {
    let definition = &cooks.season.phases;
    let first_ms = on.iter().filter_map(|cook| cook.readings.as_ref().ok()?.first_ms()).min();
    let asked = Cooked { cooks, definition };
    let names: HashSet<&str> = on.iter().map(|cook| cook.cook.as_str()).collect();
    let past = py.detach(|| {
        let own: Vec<Course> = before.map_or(Vec::new(), |(before, cooks)| {
            Cooked { cooks, definition }.past(before, &names, first_ms.unwrap_or(i64::MAX))
        });
        let bundled = if bundled { outlook::prior::bundled(definition) } else { Vec::new() };
        Past::new(&own, &bundled, definition)
    });
    if past.is_empty() {
        return Err(no_past());
    }
    let mut rows = Vec::new();
    for cook in on {
        rows.push(py.detach(|| asked.row(cook, &past, at_ms, f64::from(level) / 100.0)));
        py.check_signals()?;
    }
    Table::of(&table(&rows, level))
}

fn cooks_of(
    py: Python<'_>,
    readings: &Bound<'_, PyAny>,
    cooks: &Cooks,
    name: &str,
) -> PyResult<Vec<BatchCook>> {
    let coming = CooksOfBatches::new(given::readings(readings, name)?);
    let accepted = coming.map(|cook| cooks.accepted(cook?));
    py.detach(|| accepted.collect::<Result<Vec<_>, Problem>>())
        .map_err(|problem| of_table(name, &problem))
}

/// Cooks as the courses that forecasts are made of.
struct Cooked<'a> {
    cooks: &'a Cooks,
    definition: &'a PhaseDefinition,
}

/// One cook's answer, or why there is none.
struct Row {
    cook: String,
    asked_at_ms: Option<i64>,
    /// What its hours count from, ms UTC.
    from_ms: i64,
    answer: Result<Answer, String>,
}

impl Cooked<'_> {
    fn course(&self, readings: &CookReadings, until_ms: i64) -> Result<Course, String> {
        let noted = &self.cooks.noted;
        let place = noted.place_of(&readings.cook).ok_or("No card names it.")?;
        let record = &noted.records()[place];
        let log_ms = readings.first_ms().zip(readings.last_ms());
        let on_fire: Vec<Event> = noted.on_fire(&record.card, log_ms);
        let own = noted.events_of(&readings.cook);
        let followed =
            Course::follow(readings, &record.card, own, &on_fire, until_ms, self.definition)
                .map_err(|error| error.to_string())?;
        Ok(followed.course)
    }

    /// The courses of cooks that are over and share no fire with those asked about.
    fn past(&self, cooks: &[BatchCook], asked: &HashSet<&str>, ended_by_ms: i64) -> Vec<Course> {
        let records = self.cooks.noted.records();
        let fires: HashSet<(&str, &str)> = records
            .iter()
            .map(|record| &record.card)
            .filter(|card| asked.contains(card.cook.as_str()) && !card.fire.is_empty())
            .map(|card| (card.season.as_str(), card.fire.as_str()))
            .collect();
        let is_past = |readings: &&CookReadings| {
            let place = self.cooks.noted.place_of(&readings.cook);
            place.is_some_and(|place| {
                let card = &records[place].card;
                card.exclude.is_none()
                    && !asked.contains(card.cook.as_str())
                    && !fires.contains(&(card.season.as_str(), card.fire.as_str()))
                    && readings.last_ms().is_some_and(|end_ms| end_ms <= ended_by_ms)
            })
        };
        let readings = cooks.iter().filter_map(|cook| cook.readings.as_ref().ok());
        let mut courses: Vec<Course> = readings
            .filter(is_past)
            .filter_map(|readings| self.course(readings, i64::MAX).ok())
            .collect();
        courses.sort_by(|a, b| (a.meat_on_ms, &a.about.cook).cmp(&(b.meat_on_ms, &b.about.cook)));
        courses
    }

    fn row(&self, cook: &BatchCook, past: &Past, at_ms: Option<i64>, level: f64) -> Row {
        let mut row = Row {
            cook: cook.cook.clone(),
            asked_at_ms: at_ms,
            from_ms: 0,
            answer: Err(String::new()),
        };
        row.answer = (|| {
            let readings = cook.readings.as_ref().map_err(ToString::to_string)?;
            let at_ms = at_ms.or(readings.last_ms()).ok_or("It has no readings.")?;
            row.asked_at_ms = Some(at_ms);
            let course = self.course(readings, at_ms)?;
            if let Some(pull_min) = course.pull_min {
                let at = iso_instant(course.meat_on_ms + (pull_min * MS_PER_MIN) as i64);
                return Err(format!("It came off at {at}: there is nothing to forecast."));
            }
            // Hours count from the last reading, which the moment asked about may be minutes after.
            let last = course.core_c.iter().rposition(|core| core.is_finite()).unwrap_or(0);
            row.from_ms = course.meat_on_ms + (last as f64 * STEP_MIN * MS_PER_MIN) as i64;
            let ask = Ask { course: &course, planned: None, without_fire: None, level };
            outlook::forecast(past, &ask).map_err(|error| error.to_string())
        })();
        row
    }
}

fn table(rows: &[Row], level: u8) -> columns::Table {
    let at = |of: fn(&Answer) -> f64| {
        let at = |row: &Row| {
            let hours = of(row.answer.as_ref().ok()?);
            // Whole minutes: no forecast is known to the second.
            let minutes = row.from_ms as f64 / MS_PER_MIN + 60.0 * hours;
            Some(minutes.round() as i64 * MS_PER_MIN as i64)
        };
        Column::Instant(rows.iter().map(at).collect())
    };
    let answer = |row: &Row| row.answer.as_ref().ok().cloned();
    let text = |of: &dyn Fn(&Row) -> Option<String>| Column::Text(rows.iter().map(of).collect());
    columns::Table::new()
        .with("cook", text(&|row| Some(row.cook.clone())))
        .with("asked_at", Column::Instant(rows.iter().map(|row| row.asked_at_ms).collect()))
        .with("finish_at", at(|answer| answer.to_go.hours))
        .with(format!("finish_at_lo{level}"), at(|answer| answer.to_go.lo))
        .with(format!("finish_at_hi{level}"), at(|answer| answer.to_go.hi))
        .with("phase", text(&|row| Some(answer(row)?.phase.as_str().to_owned())))
        .with("basis", text(&|row| Some(answer(row)?.basis.as_str().to_owned())))
        .with(
            "alike",
            Column::Int(rows.iter().map(|row| Some(answer(row)?.alike as i64)).collect()),
        )
        .with("unlike", Column::Bool(rows.iter().map(|row| Some(answer(row)?.unlike)).collect()))
        .with("reason", text(&|row| row.answer.as_ref().err().cloned()))
}
