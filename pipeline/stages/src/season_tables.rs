//! Seasons and teams against each other as a table.

use store::{Column, Table};
use study::result::StudyResult;
use study::result::compare::{ComparedDifference, Comparison};

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
