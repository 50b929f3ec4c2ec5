//! Cooks, fires, pits and logs of several teams under names that are the team's own.

use super::inputs::{Source, TEAM};
use super::selection::Selection;
use crate::error::StageError;
use cook::{Event, RejectedRow, Score, SourceRecord};
use std::collections::{BTreeSet, HashMap};
use std::path::PathBuf;
use store::CookRecord;

/// One cook, and where its readings lie.
#[derive(Debug, Clone)]
pub(super) struct MergedCook {
    pub(super) team: String,
    /// Its record under its new names.
    pub(super) record: CookRecord,
    /// Place of its store among the inputs.
    pub(super) source: usize,
    /// Season and name in that store.
    pub(super) was: (String, String),
    /// Whether its channels are named by their role, in place of their own names.
    pub(super) rename_channels: bool,
    /// New paths of its logs, by their old ones.
    pub(super) logs: HashMap<String, String>,
    /// Added to every instant, ms.
    pub(super) shift_ms: i64,
}

/// All that a merged store holds, but the readings.
#[derive(Debug, Default)]
pub(super) struct Merged {
    pub(super) cooks: Vec<MergedCook>,
    pub(super) events: Vec<Event>,
    pub(super) scores: Vec<Score>,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) sources: Vec<SourceRecord>,
}

/// A name with its team in front; a store merged before has it there already.
pub(super) fn of_team(source: &Source, team: &str, name: &str) -> String {
    let begins = name.strip_prefix(team).is_some_and(|rest| rest.starts_with('.'));
    if source.says_teams && begins { name.to_owned() } else { format!("{team}.{name}") }
}

/// A log's path with its store's label in front.
fn labelled(source: &Source, path: &str) -> String {
    format!("{}/{path}", source.label)
}

/// Joins what the stores hold and the selection leaves in. Always with the team in front, so that another
/// store never renames a cook.
///
/// # Errors
/// Two cooks that would bear one name.
pub(super) fn join(
    sources: &[Source],
    selection: &Selection,
    without: &BTreeSet<String>,
) -> Result<Merged, StageError> {
    let mut merged = Merged::default();
    let mut first: HashMap<String, PathBuf> = HashMap::new();
    for (place, source) in sources.iter().enumerate() {
        let mut names: HashMap<String, String> = HashMap::new();
        let mut teams: HashMap<String, String> = HashMap::new();
        let logs: HashMap<String, String> = source
            .sources
            .iter()
            .map(|log| (log.path.clone(), labelled(source, &log.path)))
            .collect();
        // Whatever cannot be told to be of a team by a cook is told by the label of its store, or by that of the
        // store that was merged before.
        let own = |path: &str| {
            let of_team =
                |team: &String| path.strip_prefix(team).is_some_and(|p| p.starts_with('/'));
            let whole = source.teams.iter().all(|team| without.contains(team));
            !source.teams.is_empty() && whole || source.says_teams && without.iter().any(of_team)
        };
        let has_log = |path: &str| selection.has_log(place, path) && !own(path);
        let cooks = source.records.iter().zip(&source.teams).enumerate();
        for (at, (record, team)) in cooks {
            if !selection.has_cook(place, at) {
                continue;
            }
            let mut record = record.clone();
            let was = (record.card.season.clone(), record.card.cook.clone());
            let name = of_team(source, team, &record.card.cook);
            if let Some(other) = first.insert(name.clone(), source.shown.clone()) {
                return Err(StageError::Usage {
                    message: format!(
                        "the cook `{name}` is in {} and in {}; if they are two cooks, name one of them otherwise on its sheet and run that season again, else merge only one of the two stores",
                        other.display(),
                        source.shown.display()
                    ),
                });
            }
            record.card.cook.clone_from(&name);
            if !record.card.fire.is_empty() {
                record.card.fire = of_team(source, team, &record.card.fire);
            }
            record.card.pit = record.card.pit.map(|pit| of_team(source, team, &pit));
            record.card.extra.retain(|(name, _)| name != TEAM);
            record.card.extra.insert(0, (TEAM.to_owned(), team.clone()));
            teams.insert(name.clone(), team.clone());
            names.insert(was.1.clone(), name);
            merged.cooks.push(MergedCook {
                team: team.clone(),
                record,
                source: place,
                was,
                rename_channels: false,
                logs: logs.clone(),
                shift_ms: 0,
            });
        }
        // Events of cooks that the sheet does not have were rejected when the store was made.
        merged.events.extend(source.events.iter().filter_map(|event| {
            Some(Event { cook: names.get(&event.cook)?.clone(), ..event.clone() })
        }));
        merged.scores.extend(source.scores.iter().filter_map(|score| {
            let cook = match &score.cook {
                Some(cook) => Some(names.get(cook)?.clone()),
                None => None,
            };
            let own = || source.teams.first().cloned();
            let of_cook = cook.as_ref().and_then(|cook| teams.get(cook).cloned());
            let team = score.team.clone().or(of_cook).or_else(own);
            let is_withdrawn = team.as_ref().is_some_and(|team| without.contains(team));
            (!is_withdrawn).then(|| Score { cook, team, ..score.clone() })
        }));
        merged.rejected.extend(
            source
                .rejected
                .iter()
                .filter(|row| has_log(&row.source))
                .map(|row| RejectedRow { source: labelled(source, &row.source), ..row.clone() }),
        );
        merged.sources.extend(
            source
                .sources
                .iter()
                .filter(|log| has_log(&log.path))
                .map(|log| SourceRecord { path: labelled(source, &log.path), ..log.clone() }),
        );
    }
    Ok(merged)
}
