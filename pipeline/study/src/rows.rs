//! Which cooks a question uses, and why it leaves the others out.

use crate::error::StudyError;
use crate::outcome::Outcome;
use crate::result::LeftOut;
use crate::result::flow::FlowStage;
use crate::table::{ColumnKind, MeasureTable};
use stats::Design;
use std::collections::BTreeSet;

/// Cooks still in use, as positions in the table's order of cooks.
#[derive(Debug, Clone)]
pub(crate) struct Rows {
    pub(crate) used: Vec<usize>,
    pub(crate) left_out: Vec<LeftOut>,
    /// The same cook by cook, with the step at which they were lost.
    pub(crate) lost: Vec<Lost>,
}

/// Cooks that were left out for one reason.
#[derive(Debug, Clone)]
pub(crate) struct Lost {
    pub(crate) stage: FlowStage,
    pub(crate) reason: String,
    pub(crate) rows: Vec<usize>,
}

impl Rows {
    /// All cooks.
    pub(crate) fn all(table: &MeasureTable) -> Self {
        Self { used: (0..table.len()).collect(), left_out: Vec::new(), lost: Vec::new() }
    }

    /// Leaves out the cooks for which `keep` is false, counted under `reason`.
    pub(crate) fn keep(&mut self, reason: &str, keep: impl Fn(usize) -> bool) {
        self.keep_for(FlowStage::Used, reason, keep);
    }

    /// Leaves out the cooks that nothing is asked of, counted under `reason`.
    pub(crate) fn keep_asked(&mut self, reason: &str, keep: impl Fn(usize) -> bool) {
        self.keep_for(FlowStage::Eligible, reason, keep);
    }

    fn keep_for(&mut self, stage: FlowStage, reason: &str, keep: impl Fn(usize) -> bool) {
        let (kept, rows): (Vec<usize>, Vec<usize>) =
            self.used.iter().partition(|&&position| keep(position));
        self.used = kept;
        if !rows.is_empty() {
            let reason = reason.to_owned();
            self.left_out.push(LeftOut { reason: reason.clone(), cooks: rows.len() });
            self.lost.push(Lost { stage, reason, rows });
        }
    }

    /// Leaves out excluded cooks.
    pub(crate) fn keep_included(&mut self, table: &MeasureTable) -> Result<(), StudyError> {
        let exclusions = table.exclusions()?;
        self.keep_asked("excluded on the card", |position| exclusions[position].is_none());
        Ok(())
    }

    /// Leaves out cooks without a value of the outcome or of its flag.
    pub(crate) fn keep_outcome(&mut self, column: &str, outcome: &Outcome) {
        self.keep(&format!("no `{column}`"), |position| outcome.values[position].is_some());
        if let Some(flag) = outcome.flag {
            self.keep(&format!("no `{flag}`"), |position| outcome.censored[position].is_some());
        }
    }

    /// The names of the cooks in use.
    pub(crate) fn cooks(&self, table: &MeasureTable) -> Vec<String> {
        self.used.iter().map(|&position| table.cooks()[position].clone()).collect()
    }

    /// The fire of each cook in use.
    pub(crate) fn fires_used(&self, table: &MeasureTable) -> Vec<usize> {
        self.used.iter().map(|&position| table.fires()[position]).collect()
    }

    /// Number of fires in use.
    pub(crate) fn fires(&self, table: &MeasureTable) -> usize {
        self.used.iter().map(|&position| table.fires()[position]).collect::<BTreeSet<_>>().len()
    }

    /// The values of the cooks in use; a missing one is NaN, which the estimators refuse.
    pub(crate) fn take(&self, values: &[Option<f64>]) -> Vec<f64> {
        self.used.iter().map(|&position| values[position].unwrap_or(f64::NAN)).collect()
    }

    /// Whether each outcome in use was observed to its end.
    pub(crate) fn observed(&self, outcome: &Outcome) -> Vec<bool> {
        self.used.iter().map(|&position| outcome.censored[position] != Some(true)).collect()
    }

    /// How many outcomes in use are lower bounds.
    pub(crate) fn censored(&self, outcome: &Outcome) -> usize {
        self.observed(outcome).into_iter().filter(|observed| !observed).count()
    }
}

/// A column as a regression uses it.
#[derive(Debug, Clone)]
pub(crate) enum Covariate {
    /// Numbers enter as they are.
    Numeric(String, Vec<Option<f64>>),
    /// Texts enter as treatment contrasts.
    Factor(String, Vec<Option<String>>),
}

impl Covariate {
    /// Reads a column.
    pub(crate) fn read(table: &MeasureTable, column: &str) -> Result<Self, StudyError> {
        Ok(match table.kind(column)? {
            ColumnKind::Numeric => Self::Numeric(column.to_owned(), table.numbers(column)?),
            ColumnKind::Text => Self::Factor(column.to_owned(), table.texts(column)?),
        })
    }

    /// The column's name.
    pub(crate) fn name(&self) -> &str {
        match self {
            Self::Numeric(name, _) | Self::Factor(name, _) => name,
        }
    }

    /// Whether a cook has a value.
    pub(crate) fn is_present(&self, position: usize) -> bool {
        match self {
            Self::Numeric(_, values) => values[position].is_some(),
            Self::Factor(_, values) => values[position].is_some(),
        }
    }

    /// Whether all cooks in use have the same value.
    pub(crate) fn is_constant(&self, rows: &Rows) -> bool {
        let Some((&first, rest)) = rows.used.split_first() else {
            return true;
        };
        match self {
            Self::Numeric(_, values) => rest.iter().all(|&row| values[row] == values[first]),
            Self::Factor(_, values) => rest.iter().all(|&row| values[row] == values[first]),
        }
    }

    /// Adds the column to a design of the cooks in use.
    pub(crate) fn add_to(&self, design: Design, rows: &Rows) -> Result<Design, stats::StatsError> {
        match self {
            Self::Numeric(name, values) => design.numeric(name, &rows.take(values)),
            Self::Factor(name, values) => {
                let levels: Vec<&str> = rows
                    .used
                    .iter()
                    .map(|&position| values[position].as_deref().unwrap_or(""))
                    .collect();
                design.factor(name, &levels)
            }
        }
    }
}
