//! The instants of a plan, as rows for programs and for people.

use super::{Plan, SLICE_MIN, hours_ms, minutes_ms};
use crate::outlook_stage::words;
use jiff::tz::TimeZone;
use outlook::Range;
use store::{Column, Table};

/// A milestone's instant with its range.
pub(super) struct Milestone {
    pub(super) name: &'static str,
    pub(super) at_ms: i64,
    pub(super) ends_ms: Option<(i64, i64)>,
}

pub(super) fn milestones(plan: &Plan) -> Vec<Milestone> {
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

pub(super) fn table(plans: &[Plan], certainty: f64) -> Table {
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

pub(super) fn people(plans: &[Plan], zone: &TimeZone, now_ms: i64) -> Table {
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
