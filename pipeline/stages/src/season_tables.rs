//! The season as a whole as tables: glance, control charts, time to the finish by wrap.

use store::{Column, Table};
use study::result::StudyResult;
use study::result::chart::ControlChart;
use study::result::compare::{ComparedDifference, Comparison};
use study::result::season::{Glance, Median};

/// One row a season, and one for all of them.
pub(crate) fn glance(result: &StudyResult) -> Table {
    let rows = &result.season.glance;
    let count = |of: &dyn Fn(&Glance) -> usize| {
        Column::Int(rows.iter().map(|g| Some(of(g) as i64)).collect())
    };
    let float = |of: &dyn Fn(&Glance) -> Option<f64>| Column::Float(rows.iter().map(of).collect());
    let mut table = Table::new()
        .with("season", Column::Text(rows.iter().map(|g| g.season.clone()).collect()))
        .with("cooks", count(&|g| g.cooks))
        .with("fires", count(&|g| g.fires))
        .with("hours", float(&|g| g.hours))
        .with("fuel_kg", float(&|g| g.fuel_kg))
        .with("fuel_fires", count(&|g| g.fuel_fires))
        .with("past_turn_in", count(&|g| g.past_turn_in));
    let mut add = |name: &str, of: &dyn Fn(&Glance) -> Option<Median>| {
        table.push(
            name.to_owned(),
            Column::Float(rows.iter().map(|g| Some(of(g)?.median)).collect()),
        );
        let cooks = rows.iter().map(|g| Some(of(g)?.cooks as i64)).collect();
        table.push(format!("{name}_cooks"), Column::Int(cooks));
    };
    add("yield_fraction", &|g| g.yield_fraction);
    add("cost_per_served_kg", &|g| g.cost_per_served_kg);
    add("late_min", &|g| g.late_min);
    add("turn_in_margin_min", &|g| g.turn_in_margin_min);
    let mut scores: Vec<&str> =
        rows.iter().flat_map(|g| &g.scores).map(|score| score.score.as_str()).collect();
    scores.sort_unstable();
    scores.dedup();
    for name in scores {
        add(name, &|g| g.scores.iter().find(|score| score.score == name).map(|score| score.points));
    }
    table
}

/// One row a point of a control chart.
pub(crate) fn charts(result: &StudyResult) -> Table {
    let charts = &result.season.charts;
    let points = || charts.iter().flat_map(|chart| chart.points.iter().map(move |p| (chart, p)));
    let shifted = |chart: &ControlChart, cook: &str| {
        chart.shifts.iter().find(|shift| shift.cook == cook).map(|shift| shift.p)
    };
    Table::new()
        .with("measure", Column::Text(points().map(|(c, _)| Some(c.measure.clone())).collect()))
        .with("cook", Column::Text(points().map(|(_, p)| Some(p.cook.clone())).collect()))
        .with("cooks", Column::Int(points().map(|(_, p)| Some(p.cooks as i64)).collect()))
        .with("value", Column::Float(points().map(|(_, p)| Some(p.value)).collect()))
        .with("outside", Column::Bool(points().map(|(_, p)| Some(p.outside)).collect()))
        .with("centre", Column::Float(points().map(|(c, _)| Some(c.centre)).collect()))
        .with("lower", Column::Float(points().map(|(c, _)| Some(c.lower)).collect()))
        .with("upper", Column::Float(points().map(|(c, _)| Some(c.upper)).collect()))
        .with("shift_p", Column::Float(points().map(|(c, p)| shifted(c, &p.cook)).collect()))
}

/// One row a step of a curve.
pub(crate) fn finish(result: &StudyResult) -> Table {
    let curves = result.season.finish_by_wrap.iter().flat_map(|found| &found.curves);
    let steps: Vec<_> =
        curves.flat_map(|curve| curve.steps.iter().map(move |step| (curve, step))).collect();
    Table::new()
        .with("wrap", Column::Text(steps.iter().map(|(c, _)| Some(c.wrap.clone())).collect()))
        .with("min", Column::Float(steps.iter().map(|(_, s)| Some(s.min)).collect()))
        .with("share", Column::Float(steps.iter().map(|(_, s)| Some(s.share)).collect()))
        .with("lo", Column::Float(steps.iter().map(|(_, s)| s.lo).collect()))
        .with("hi", Column::Float(steps.iter().map(|(_, s)| s.hi).collect()))
        .with("censored", Column::Int(steps.iter().map(|(_, s)| Some(s.censored as i64)).collect()))
}

/// One row a difference between seasons or teams.
pub(crate) fn comparisons(result: &StudyResult) -> Table {
    let of_all = &result.season.comparisons;
    let rows: Vec<(&str, &Comparison)> = of_all
        .iter()
        .flat_map(|found| found.rows.iter().map(move |row| (found.by.as_str(), row)))
        .collect();
    let text = |of: &dyn Fn(&Comparison) -> Option<String>| {
        Column::Text(rows.iter().map(|(_, row)| of(row)).collect())
    };
    let float = |of: &dyn Fn(&Comparison) -> Option<f64>| {
        Column::Float(rows.iter().map(|(_, row)| of(row)).collect())
    };
    let count = |of: &dyn Fn(&Comparison) -> usize| {
        Column::Int(rows.iter().map(|(_, row)| i64::try_from(of(row)).ok()).collect())
    };
    let mut table = Table::new()
        .with("by", Column::Text(rows.iter().map(|(by, _)| Some((*by).to_owned())).collect()))
        .with("outcome", text(&|row| Some(row.outcome.clone())))
        .with("unit", text(&|row| Some(row.unit.clone()).filter(|unit| !unit.is_empty())))
        .with("first", text(&|row| Some(row.first.clone())))
        .with("second", text(&|row| row.second.clone()))
        .with("first_cooks", count(&|row| row.first_cooks))
        .with("second_cooks", count(&|row| row.second_cooks))
        .with("censored", count(&|row| row.censored));
    let mut add = |name: &str, of: &dyn Fn(&Comparison) -> Option<ComparedDifference>| {
        table.push(name.to_owned(), float(&|row| Some(of(row)?.estimate)));
        table.push(format!("{name}_lo"), float(&|row| of(row)?.lo));
        table.push(format!("{name}_hi"), float(&|row| of(row)?.hi));
    };
    add("as_they_are", &|row| row.as_they_are);
    add("adjusted", &|row| row.adjusted);
    table
        .with("adjusted_for", text(&|row| Some(row.adjusted_for.join(" + "))))
        .with("adjusted_cooks", count(&|row| row.adjusted_cooks))
        .with("p", float(&|row| row.p))
        .with("p_adjusted", float(&|row| row.p_adjusted))
        .with("told", text(&|row| crate::study_stage::word(&row.told)))
        .with("reason", text(&|row| row.reason.clone()))
}
