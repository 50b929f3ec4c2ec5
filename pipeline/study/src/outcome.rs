//! Outcomes of which some are only known to be larger: which column says so.

use crate::error::StudyError;
use crate::table::MeasureTable;
use columns::names;

/// An outcome, one value a cook in the table's order of cooks.
#[derive(Debug, Clone)]
pub(crate) struct Outcome {
    /// The values; those of censored cooks are lower bounds.
    pub(crate) values: Vec<Option<f64>>,
    /// Whether a value is a lower bound; `None` where the flag is empty.
    pub(crate) censored: Vec<Option<bool>>,
    /// The column of the flag, if this outcome has one and the table does too.
    pub(crate) flag: Option<&'static str>,
    /// The column of the flag that the table should have but has not.
    pub(crate) missing_flag: Option<&'static str>,
}

impl Outcome {
    /// Reads an outcome and its flag.
    pub(crate) fn read(table: &MeasureTable, column: &str) -> Result<Self, StudyError> {
        let values = table.numbers(column)?;
        let all_observed = vec![Some(false); values.len()];
        let Some(bound) = names::find(column).and_then(|column| column.bound) else {
            return Ok(Self { values, censored: all_observed, flag: None, missing_flag: None });
        };
        if !table.has(bound.by) {
            return Ok(Self {
                values,
                censored: all_observed,
                flag: None,
                missing_flag: Some(bound.by),
            });
        }
        let flags = table.flags(bound.by)?;
        let censored =
            flags.into_iter().map(|flag| flag.map(|flag| bound.is_bound(flag))).collect();
        Ok(Self { values, censored, flag: Some(bound.by), missing_flag: None })
    }

    /// What to say where the flag is missing.
    pub(crate) fn note(&self, column: &str) -> Option<String> {
        self.missing_flag.map(|flag| {
            format!(
                "the table has no column `{flag}`: every `{column}` is taken as observed to its end"
            )
        })
    }
}
