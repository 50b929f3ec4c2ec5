//! Phases of every cook of a store; a cook whose input is the same keeps its rows.

use crate::derive_stage::{Asked, Pass, StageDone, derive};
use crate::error::StageError;
use crate::progress::Progress;
use columns::tables::warnings::WarningRow;
use cook::Season;
use rows::{CookCleaning, CookPhases, phases_to_table};
use std::collections::BTreeMap;
use std::path::Path;
use store::{Store, Table};

/// What a stage over the cooks of a store did.
#[derive(Debug, Clone)]
pub struct TableSummary {
    /// The listing.
    pub table: Table,
    /// Cooks worked on in this run.
    pub computed: usize,
    /// Cooks in the listing.
    pub cooks: usize,
    /// Whether any file changed.
    pub changed: bool,
    /// Things to know.
    pub notes: Vec<String>,
}

impl StageDone {
    /// What it did, in a line for people.
    pub(crate) fn line(&self, stage: &str) -> String {
        if self.computed == 0 {
            format!("{stage}: up to date")
        } else {
            format!("{stage}: {} of {} cooks", self.computed, self.cooks)
        }
    }
}

/// Segments every cook of a store.
///
/// # Errors
/// No store, or one without cooks. A cook that cannot be segmented is `unknown`, with the
/// reason.
pub fn phases(
    store: &Path,
    season: &Season,
    progress: &dyn Progress,
) -> Result<TableSummary, StageError> {
    let store = Store::open(store)?;
    let _lock = store.lock()?;
    let pass = derive(&store, season, Asked::Phases, progress)?;
    let mut notes = pass.notes.clone();
    notes.extend(phases_notes(&pass));
    Ok(TableSummary {
        table: phases_to_table(&pass.all_phases).select(&LISTED),
        computed: pass.phases.computed,
        cooks: pass.all_phases.len(),
        changed: pass.phases.changed,
        notes,
    })
}

/// The columns that a listing shows; the store has more.
const LISTED: [&str; 9] = [
    "cook",
    "phase",
    "start_s",
    "end_s",
    "start_at",
    "end_at",
    "start_core_c",
    "end_core_c",
    "complete",
];

/// Cooks that were not judged, and what is odd about others.
pub(crate) fn phases_notes(pass: &Pass) -> Vec<String> {
    let mut notes = not_judged(&pass.all_phases);
    notes.extend(odd(&pass.all_cleaning));
    notes
}

fn not_judged(cooks: &[CookPhases]) -> Vec<String> {
    let mut reasons: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for cook in cooks {
        if let Some(reason) = &cook.not_judged_reason {
            reasons.entry(reason).or_default().push(&cook.cook);
        }
    }
    reasons
        .into_iter()
        .map(|(reason, cooks)| format!("not judged: {}: {reason}", cooks.join(", ")))
        .collect()
}

/// Warnings of all cooks in few lines for people: one a kind, with the cooks it is about.
fn odd(cooks: &[CookCleaning]) -> Vec<String> {
    /// Cooks named in a line; more are counted.
    const NAMED: usize = 6;
    let mut kinds: BTreeMap<&str, Vec<(&str, &WarningRow)>> = BTreeMap::new();
    for cook in cooks {
        for warning in &cook.warnings {
            kinds.entry(&warning.code).or_default().push((&cook.cook, warning));
        }
    }
    kinds
        .into_iter()
        .map(|(code, found)| match &found[..] {
            [(cook, warning)] => {
                format!("{code}: {cook} ({}): {}", warning.about, warning.sentence)
            }
            found => {
                let mut names: Vec<&str> = found.iter().map(|(cook, _)| *cook).collect();
                names.dedup();
                let more = names.len().saturating_sub(NAMED);
                names.truncate(NAMED);
                let more = if more > 0 { format!(" and {more} more") } else { String::new() };
                format!("{code}: {}{more}; their pages say more", names.join(", "))
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_single_warning_is_told_in_full_and_many_are_named() {
        let cook = |name: &str| CookCleaning {
            cook: name.into(),
            warnings: vec![WarningRow {
                code: "no-sign-of-mark".into(),
                about: "wrap".into(),
                sentence: "The log shows nothing of it.".into(),
                ..WarningRow::default()
            }],
            ..CookCleaning::default()
        };
        assert_eq!(odd(&[cook("a")]), ["no-sign-of-mark: a (wrap): The log shows nothing of it."]);
        let many: Vec<CookCleaning> = ["a", "b", "c", "d", "e", "f", "g", "h"].map(cook).into();
        assert_eq!(
            odd(&many),
            ["no-sign-of-mark: a, b, c, d, e, f and 2 more; their pages say more"]
        );
    }
}
