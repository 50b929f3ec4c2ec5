//! Outcomes of which some are only known to be larger: which column says so.

use crate::error::StudyError;
use crate::table::MeasureTable;

/// The columns that say whether an outcome was observed to its end: outcome, flag, and the
/// value of the flag that means "only a lower bound".
const FLAGS: [(&str, &str, bool); 3] = [
    ("stall_min", "stall_min_censored", true),
    ("stall_delay_min", "stall_delay_censored", true),
    ("clock_to_finish_min", "finish_reached", false),
];

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
        let Some((_, flag, when)) = FLAGS.into_iter().find(|(outcome, ..)| *outcome == column)
        else {
            return Ok(Self { values, censored: all_observed, flag: None, missing_flag: None });
        };
        if !table.has(flag) {
            return Ok(Self {
                values,
                censored: all_observed,
                flag: None,
                missing_flag: Some(flag),
            });
        }
        let censored =
            table.flags(flag)?.into_iter().map(|set| set.map(|set| set == when)).collect();
        Ok(Self { values, censored, flag: Some(flag), missing_flag: None })
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
