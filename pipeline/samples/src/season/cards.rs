//! The season sheets: one row a cook, as the team wrote them.
//!
//! The first season's is a CSV file with clock times, the second's an XLSX workbook with typed
//! dates, the third's an ODS one in which some times are of the clock and some since meat-on.

use crate::dialect::local;
use crate::season::draw::{SampleCook, SampleFire, zone};
use crate::season::programme::Quirk;
use crate::sheet::Cell;
use cook::Kilograms;
use jiff::civil::DateTime;
use jiff::{RoundMode, Unit, civil::DateTimeRound};
use simulate::rest::RestPlace;
use simulate::truth::CookTruth;

const COLUMNS: [&str; 41] = [
    "cook",
    "season",
    "date",
    "logs",
    "kind",
    "contest",
    "turn_in_at",
    "planned_pull",
    "place",
    "pit",
    "cooker",
    "cut",
    "grade",
    "supplier",
    "lot",
    "cost",
    "raw_weight_lb",
    "trimmed_weight_lb",
    "cooked_weight_lb",
    "served_weight_lb",
    "thickness_in",
    "pit_setpoint_f",
    "wood",
    "fuel_lb",
    "water_pan",
    "altitude_ft",
    "weather",
    "wrap_method",
    "hold_kind",
    "meat_on",
    "wrap_at",
    "pull",
    "slice",
    "target_core_f",
    "score_bark",
    "score_tenderness",
    "score_taste",
    "arm",
    "block",
    "end_reason",
    "exclude",
];

/// A season's sheet, header first. `logs` names every fire's logs.
pub(crate) fn cards(fires: &[SampleFire], logs: &[Vec<String>], season: i16) -> Vec<Vec<Cell>> {
    let mut rows = vec![COLUMNS.map(Cell::from).to_vec()];
    for (fire, logs) in fires.iter().zip(logs) {
        if fire.season() != season || fire.quirk() == Quirk::NoCard {
            continue;
        }
        for (cook, truth) in fire.cooks.iter().zip(&fire.truth.cooks) {
            rows.push(card(fire, logs, cook, truth).to_vec());
        }
    }
    rows
}

/// Local date and time, to the minute, as somebody would write it down.
pub(crate) fn to_the_minute(at_ms: i64) -> DateTime {
    let minute = DateTimeRound::new().smallest(Unit::Minute).mode(RoundMode::Floor);
    local(at_ms, &zone())
        .expect("the programme's dates are in the calendar")
        .datetime()
        .round(minute)
        .expect("a minute can be rounded to")
}

/// A number as a person rounds it.
fn rounded(value: f64, places: i32) -> Cell {
    let scale = 10_f64.powi(places);
    Cell::Number((value * scale).round() / scale)
}

fn card(fire: &SampleFire, logs: &[String], cook: &SampleCook, truth: &CookTruth) -> [Cell; 41] {
    let contest = fire.plan.contest;
    let pounds = |kilograms: f64| rounded(Kilograms(kilograms).pounds(), 1);
    let date_time = |at_ms: i64| Cell::DateTime(to_the_minute(at_ms));
    let meat_on = to_the_minute(fire.at_ms(truth.meat_on_s));
    // How the team wrote times down: by the clock, as date and time, and by both the clock and
    // the time since meat-on.
    let clock = |second: i64| Cell::Time(to_the_minute(fire.at_ms(second)).time());
    let mark = |second: i64| match fire.season() {
        2025 => date_time(fire.at_ms(second)),
        _ => clock(second),
    };
    let wrap_s = truth.wraps.first().map(|wrap| wrap.0).filter(|_| cook.wrap_time_written);
    let wrap_at = wrap_s.map_or(Cell::Empty, |second| match fire.season() {
        2026 => {
            let minutes = (second - truth.meat_on_s) / 60;
            Cell::Text(format!("+{}:{:02}", minutes / 60, minutes % 60))
        }
        _ => mark(second),
    });
    let logs: Vec<String> = if fire.cooks.len() == 1 {
        logs.to_vec()
    } else {
        logs.iter().map(|name| format!("{name}#{}", cook.channel)).collect()
    };
    let method = truth.wraps.first().map_or("none".to_owned(), |wrap| wrap.1.to_string());
    let planned = fire.turn_in_ms.map(|turn_in| turn_in - 120 * 60_000);
    // Where the logger stopped nobody stayed to write down a reason.
    let end_reason = if fire.quirk() == Quirk::LogEndsInStall { "" } else { cook.end_reason };
    let score = |index: usize| rounded(cook.scores[index], 1);
    let hold = match cook.plan.rest.place {
        RestPlace::HoldingBox { .. } => "holding box",
        place => place.as_str(),
    };
    [
        Cell::text(&cook.id),
        Cell::Number(f64::from(fire.season())),
        Cell::Date(meat_on.date()),
        Cell::text(logs.join(";")),
        contest.map_or("practice", |_| "contest").into(),
        contest.unwrap_or("").into(),
        fire.turn_in_ms.map_or(Cell::Empty, date_time),
        planned.map_or(Cell::Empty, date_time),
        contest.map_or("home yard", |_| "fair ground").into(),
        fire.team_pit().name().into(),
        fire.team_pit().cooker().into(),
        cook.cut.into(),
        cook.grade.into(),
        cook.supplier.into(),
        Cell::text(&cook.lot),
        rounded(cook.cost, 2),
        rounded(cook.raw_lb, 1),
        pounds(cook.plan.meat.weight.value()),
        pounds(truth.cooked_kg),
        pounds(truth.cooked_kg * cook.served_share),
        rounded(cook.thickness_in, 1),
        rounded(fire.pit.setpoint.fahrenheit(), 0),
        fire.wood.into(),
        rounded(fire.fuel_lb, 1),
        if fire.water_pan { "yes" } else { "no" }.into(),
        rounded(fire.pit.altitude.value() / 0.3048, 0),
        fire.weather.into(),
        method.into(),
        hold.into(),
        Cell::DateTime(meat_on),
        wrap_at,
        mark(truth.pull_s),
        mark(truth.slice_s),
        Cell::Number(203.0),
        score(0),
        score(1),
        score(2),
        cook.arm.unwrap_or("").into(),
        if cook.arm.is_some() { fire.stem() } else { String::new() }.into(),
        end_reason.into(),
        cook.exclude.into(),
    ]
}
