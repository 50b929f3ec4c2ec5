//! The other levers as a table: one row a lever and quantity.

use crate::study_stage::word;
use store::{Column, Table};
use study::result::StudyResult;
use study::result::lever::{Lever, LeverEffect, Quartiles};

/// A quantity of a lever. Ends are those of a 95 % interval for an effect, and the quartiles for what
/// is described.
struct Row {
    lever: Option<String>,
    quantity: String,
    /// `described`, `naive` or `effect`.
    standing: &'static str,
    estimate: Option<f64>,
    lo: Option<f64>,
    hi: Option<f64>,
    unit: &'static str,
    cooks: Option<usize>,
    reason: Option<String>,
}

impl Row {
    fn new(
        quantity: &str,
        standing: &'static str,
        (estimate, lo, hi): (Option<f64>, Option<f64>, Option<f64>),
        unit: &'static str,
        cooks: Option<usize>,
    ) -> Self {
        let (lever, reason) = (None, None);
        Self {
            lever,
            quantity: quantity.to_owned(),
            standing,
            estimate,
            lo,
            hi,
            unit,
            cooks,
            reason,
        }
    }

    fn described(quantity: &str, values: Option<&Quartiles>, unit: &'static str) -> Self {
        let ends = (values.map(|v| v.median), values.map(|v| v.lower), values.map(|v| v.upper));
        Self::new(quantity, "described", ends, unit, values.map(|v| v.n))
    }

    fn effect(quantity: &str, effect: Option<&LeverEffect>, unit: &'static str) -> Self {
        let ends = (effect.map(|e| e.estimate), effect.map(|e| e.lo), effect.map(|e| e.hi));
        Self::new(quantity, "effect", ends, unit, effect.map(|e| e.cooks))
    }

    fn number(quantity: &str, value: Option<f64>, unit: &'static str, cooks: usize) -> Self {
        Self::new(quantity, "described", (value, None, None), unit, Some(cooks))
    }
}

/// The unit of a measure in cooks with a lever and without.
fn unit(measure: &str) -> &'static str {
    const FUEL: &str = columns::derived::FUEL_KG_PER_H.name;
    match measure {
        FUEL => "kg/h",
        column => columns::names::unit(column),
    }
}

fn rows(lever: &Lever) -> Vec<Row> {
    let used = &lever.used;
    let mut rows = vec![
        Row::number("cooks with it", Some(used.cooks_with as f64), "cooks", lever.n),
        Row::number("doses of all cooks", Some(used.doses), "doses", lever.n),
        Row::described("doses of a cook with any", used.per_cook.as_ref(), "doses"),
        Row::described("time on the study clock", used.minute.as_ref(), "min"),
        Row::described("core at a dose", used.core_c.as_ref(), "°C"),
        Row::number("share in stall", used.in_stall, "share", used.cooks_with),
        Row::number("share of all time in stall", used.in_stall_at_all, "share", lever.n),
        Row {
            standing: "naive",
            ..Row::number("minutes a dose, naive slope", lever.naive_min, "min", lever.n)
        },
        Row {
            reason: lever.per_dose_reason.clone(),
            ..Row::effect("minutes a dose", lever.per_dose_min.as_ref(), "min")
        },
        Row::effect("rise of the core in half an hour", lever.half_hour_c.as_ref(), "°C"),
        Row::described("fall of the pit", lever.pit_fall_c.as_ref(), "°C"),
        Row::described("time to half of it made up", lever.pit_back_min.as_ref(), "min"),
    ];
    for measure in &lever.described {
        let name = |part: &str| format!("{} {part}", measure.measure);
        let unit = unit(&measure.measure);
        rows.push(Row::described(&name("with it"), measure.with.as_ref(), unit));
        rows.push(Row::described(&name("without it"), measure.without.as_ref(), unit));
    }
    let strategies = lever.strategies.as_ref();
    if strategies.is_some() || lever.strategies_reason.is_some() {
        let quantity = strategies.map_or_else(
            || "as two strategies".to_owned(),
            |s| format!("{} against {}", s.strategies[0], s.strategies[1]),
        );
        let ends = (
            strategies.map(|s| s.difference_min),
            strategies.map(|s| s.lo),
            strategies.map(|s| s.hi),
        );
        rows.push(Row {
            reason: lever.strategies_reason.clone(),
            ..Row::new(&quantity, "effect", ends, "min", strategies.map(|s| s.eligible))
        });
    }
    for row in &mut rows {
        row.lever = word(&lever.lever);
    }
    rows
}

/// One row a lever and quantity; what could not be estimated has its reason.
pub(crate) fn levers(result: &StudyResult) -> Table {
    let rows: Vec<Row> = result.levers.iter().flat_map(rows).collect();
    let text = |of: &dyn Fn(&Row) -> Option<String>| Column::Text(rows.iter().map(of).collect());
    let float = |of: &dyn Fn(&Row) -> Option<f64>| Column::Float(rows.iter().map(of).collect());
    let count = |row: &Row| row.cooks.and_then(|cooks| i64::try_from(cooks).ok());
    Table::new()
        .with("lever", text(&|row| row.lever.clone()))
        .with("quantity", text(&|row| Some(row.quantity.clone())))
        .with("standing", text(&|row| Some(row.standing.to_owned())))
        .with("estimate", float(&|row| row.estimate))
        .with("lo", float(&|row| row.lo))
        .with("hi", float(&|row| row.hi))
        .with("unit", text(&|row| Some(row.unit.to_owned())))
        .with("cooks", Column::Int(rows.iter().map(count).collect()))
        .with("reason", text(&|row| row.reason.clone()))
}
