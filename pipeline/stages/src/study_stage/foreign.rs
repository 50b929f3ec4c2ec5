//! A table of measures that no store made: its columns known however they are spelt, in stored units.

use crate::error::StageError;
use crate::export::{CsvKind, read_csv};
use columns::Kind;
use std::path::Path;
use store::{Column, StoreError, Table, read_parquet_table};
use study::Claims;
use study::claims::ClaimKind;

/// Reads a foreign table by its ending, with the known columns under their own names and in their
/// stored units. A column with a cell that cannot be read is left out, and told, where no claim asks
/// for it.
pub(super) fn read_table(
    path: &Path,
    claims: &Claims,
    left_out: &mut Vec<String>,
) -> Result<Table, StageError> {
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase();
    let table = match ending.as_str() {
        "parquet" => read_parquet_table(path).map_err(|error| match error {
            StoreError::Parquet { path, message } => StageError::Usage {
                message: format!("{}: not a readable Parquet file ({message})", path.display()),
            },
            other => other.into(),
        })?,
        "csv" | "tsv" | "txt" => read_with_bad_cells(path, claims, left_out)?,
        _ => {
            return Err(StageError::Usage {
                message: format!(
                    "{}: a table is read from .csv, .tsv or .parquet; save it as one of these",
                    path.display()
                ),
            });
        }
    };
    let mut named = Table::new();
    for (own, column) in table.columns() {
        let known = known_name(own);
        // Two columns that would bear one name both keep their own.
        let others = table.columns().iter().filter(|(other, _)| known_name(other) == known);
        if others.count() > 1 {
            named.push(own.clone(), column.clone());
        } else {
            named.push(known, in_stored_unit(own, column));
        }
    }
    Ok(named)
}

/// A CSV table; columns that no claim asks for and that have a cell which is not of their kind are left
/// out, and told.
fn read_with_bad_cells(
    path: &Path,
    claims: &Claims,
    left_out: &mut Vec<String>,
) -> Result<Table, StageError> {
    let mut bad: Vec<String> = Vec::new();
    let table = loop {
        let kind = |column: &str| {
            let is_bad = bad.iter().any(|own| own == column);
            if is_bad { Some(CsvKind::Text) } else { kind_of(&known_name(column)) }
        };
        match read_csv(path, kind) {
            Ok(table) => break table,
            Err(StageError::Table { line, column, message, .. })
                if line > 1 && !column.is_empty() && !is_asked(claims, &known_name(&column)) =>
            {
                left_out.push(format!(
                    "{}:{line}, column `{column}`: {message}; no claim asks for the column, and it is left out",
                    path.display()
                ));
                bad.push(column);
            }
            Err(error) => return Err(error),
        }
    };
    let mut kept = Table::new();
    for (name, column) in table.columns().iter().filter(|(name, _)| !bad.contains(name)) {
        kept.push(name.clone(), column.clone());
    }
    Ok(kept)
}

/// Whether a claim, or every study, needs a column.
fn is_asked(claims: &Claims, column: &str) -> bool {
    let is = |name: &String| name == column;
    column == columns::measures::COOK.name
        || column == columns::measures::FIRE.name
        || claims.claims.iter().any(|claim| {
            is(&claim.outcome)
                || claim.by.as_ref().is_some_and(is)
                || claim.adjust.iter().chain(&claim.group).any(is)
                || (claim.kind == ClaimKind::WrapTiming
                    && columns::names::derived_from_wrap(column))
        })
}

/// A name in the form of column names: `Raw weight (lb)` is `raw_weight_lb`.
fn spelt(column: &str) -> String {
    let plain = column.trim().to_lowercase().replace(['°', '(', ')', '[', ']'], " ");
    let words: Vec<&str> = plain.split([' ', '-', '_']).filter(|word| !word.is_empty()).collect();
    words.join("_")
}

/// The name of a known column however it is spelt, and in the stored unit: `Raw Weight kg` and
/// `Raw weight (lb)` are `raw_weight_kg`; scores are known by their beginning. Any other name stays as
/// it is.
fn known_name(column: &str) -> String {
    let spelt = spelt(column);
    let is_known =
        spelt == "meat_on" || spelt.starts_with("score_") || columns::names::is_measure(&spelt);
    if is_known {
        return spelt;
    }
    study::claims::stored_name(&spelt)
        .filter(|own| columns::names::is_measure(own))
        .unwrap_or_else(|| column.to_owned())
}

/// The values of a column that was stated in an American unit, in the stored one.
fn in_stored_unit(written: &str, column: &Column) -> Column {
    let spelt = spelt(written);
    let conversion = (!columns::names::is_measure(&spelt))
        .then(|| study::claims::stored_name(&spelt))
        .flatten()
        .and_then(|own| columns::sheet::american(columns::names::find(&own)?.quantity?));
    match (conversion, column) {
        (Some((_, _, convert)), Column::Float(values)) => {
            Column::Float(values.iter().map(|value| value.map(convert)).collect())
        }
        (Some((_, _, convert)), Column::Int(values)) => {
            Column::Float(values.iter().map(|value| value.map(|v| convert(v as f64))).collect())
        }
        _ => column.clone(),
    }
}

/// Kinds of the columns whose names are known.
pub(crate) fn kind_of(column: &str) -> Option<CsvKind> {
    columns::measures::columns().find(|known| known.name == column).map(|known| match known.kind {
        Kind::Bool => CsvKind::YesNo,
        Kind::Int | Kind::Float => CsvKind::Number,
        Kind::Text | Kind::Instant => CsvKind::Text,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_columns_are_known_however_they_are_spelt() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.tsv");
        std::fs::write(&path, "Cook\tRaw Weight kg\tScore-Taste\tMy Rub\na\t5,5\t7\tx\n").unwrap();
        let none = Claims::default();
        let read = |path: &Path| read_table(path, &none, &mut Vec::new()).unwrap();
        let table = read(&path);
        let names: Vec<&str> = table.columns().iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["cook", "raw_weight_kg", "score_taste", "My Rub"]);
        std::fs::write(&path, "cook\tTrimmed weight (lb)\tpit_early_f\na\t11.0231\t212\n").unwrap();
        let table = read(&path);
        let value = |name: &str| match table.column(name) {
            Some(Column::Float(values)) => values[0].unwrap(),
            other => panic!("{name}: {other:?}"),
        };
        // 1 lb is 0.45359237 kg (International Yard and Pound, 1959); water boils at 212 °F.
        assert!((value("trimmed_weight_kg") - 5.0).abs() < 1e-4);
        assert!((value("pit_early_c") - 100.0).abs() < 1e-9);
        std::fs::write(&path, "cook\tpit\tPit\na\tb\tc\n").unwrap();
        let table = read(&path);
        let names: Vec<&str> = table.columns().iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["cook", "pit", "Pit"]);
        // A bad cell of a column that nobody asks for leaves that column out.
        std::fs::write(&path, "cook\tstall_min\tyield_fraction\na\t90\tgood\nb\t80\t0.6\n")
            .unwrap();
        let mut told = Vec::new();
        let table = read_table(&path, &none, &mut told).unwrap();
        assert!(table.column("yield_fraction").is_none() && table.column("stall_min").is_some());
        assert!(told[0].contains("t.tsv:2") && told[0].contains("`good`"), "{told:?}");
    }
}
