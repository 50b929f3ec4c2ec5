//! The claims against the columns of the table.

use super::{ClaimKind, ClaimProblem, Claims};
use crate::error::StudyError;
use crate::table::MeasureTable;
use columns::{measures, names};
use std::path::Path;

impl Claims {
    /// Checks the claims against the table that they are to be asked of; `path` is only for
    /// messages.
    ///
    /// # Errors
    /// [`StudyError::Claims`]: columns that the table does not have (with the nearest name),
    /// and outcomes or trend columns that hold no numbers. `arm`, `wrap_method` and `fire`
    /// need not be in the table: without them a claim is refused or each cook is its own
    /// fire.
    pub fn check_columns(&self, table: &MeasureTable, path: &Path) -> Result<(), StudyError> {
        let mut found = Vec::new();
        for claim in &self.claims {
            let mut named: Vec<(&'static str, &str)> = vec![("outcome", &claim.outcome)];
            named.extend(claim.by.as_deref().map(|by| ("by", by)));
            named.extend(claim.adjust.iter().map(|column| ("adjust", column.as_str())));
            named.extend(claim.group.iter().map(|column| ("group", column.as_str())));
            for (key, column) in named {
                let refused_anyway = key == "by" && names::derived_from_wrap(column);
                let may_be_missing =
                    column == measures::FIRE.name || (key == "by" && column == measures::ARM.name);
                if table.has(column) || refused_anyway || may_be_missing {
                    continue;
                }
                found.push(ClaimProblem::UnknownColumn {
                    id: claim.id.clone(),
                    key,
                    column: column.to_owned(),
                    nearest: Some(format!("score_{column}"))
                        .filter(|score| table.has(score))
                        .or_else(|| cook::settings::nearest(column, table.column_names())),
                });
            }
            let mut numeric = vec![("outcome", claim.outcome.as_str())];
            if claim.kind == ClaimKind::Trend {
                let by = claim.by.as_deref().filter(|by| !names::derived_from_wrap(by));
                numeric.extend(by.map(|by| ("by", by)));
            }
            for (key, column) in numeric {
                if let Some(Err(error)) = table.has(column).then(|| table.numbers(column)) {
                    found.push(ClaimProblem::NotNumeric {
                        id: claim.id.clone(),
                        key,
                        column: column.to_owned(),
                        found: match error {
                            StudyError::ColumnValue { row, text, .. } => {
                                format!("has `{text}` at row {row}")
                            }
                            StudyError::ColumnType { found, .. } => format!("is of type {found}"),
                            other => other.to_string(),
                        },
                    });
                }
            }
        }
        if found.is_empty() {
            Ok(())
        } else {
            Err(StudyError::Claims { path: path.to_owned(), problems: found })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::{COMPARE, TREND};
    use super::*;

    fn parse(text: &str) -> Result<Claims, StudyError> {
        Claims::parse(text, Path::new("claims.toml"))
    }

    #[test]
    fn columns_are_checked_against_the_table() {
        let table = MeasureTable::new(&columns::table!(
            "cook" => ["a", "b"],
            "score_taste" => [8.0, 9.0],
            "wood" => ["oak", "hickory"],
            "stall_delay_min" => ["90", "a while"],
            "pit_early" => [110.0, 120.0],
            "trimmed_weight_kg" => [5.0, 6.0],
        ))
        .unwrap();
        let path = Path::new("claims.toml");
        parse(COMPARE).unwrap().check_columns(&table, path).unwrap();
        let message = parse(TREND).unwrap().check_columns(&table, path).unwrap_err().to_string();
        assert!(
            message.contains("`by` names column `pit_early_c`, which the table does not have; did you mean `pit_early`?"),
            "{message}"
        );
        assert!(
            message.contains(
                "`outcome` needs numbers, but column `stall_delay_min` has `a while` at row 2"
            ),
            "{message}"
        );
    }
}
