//! The table of the scores sheets.

use crate::Store;
use crate::error::StoreError;
use crate::table::TypedColumns;
use crate::tables::{TableName, required};
use columns::tables::scores;
use columns::{Column, Table};
use cook::{Panel, Score};
use std::path::Path;

impl Store {
    /// Reads the scores; none where the store is of before they were kept.
    ///
    /// # Errors
    /// As [`Store::read_table`].
    pub fn read_scores(&self) -> Result<Vec<Score>, StoreError> {
        let path = self.table_path(TableName::Scores);
        if !path.is_file() {
            return Ok(Vec::new());
        }
        scores_from_table(&self.read_table(TableName::Scores)?, &path)
    }
}

/// Reads the table of scores back; `path` is for messages.
///
/// # Errors
/// A column that is missing, of another kind, or without a value that it must have.
pub fn scores_from_table(table: &Table, path: &Path) -> Result<Vec<Score>, StoreError> {
    let text = |column| table.text(path, column);
    let team = text(scores::TEAM)?;
    let (season, contest) = (text(scores::SEASON)?, text(scores::CONTEST)?);
    let (date, category) = (text(scores::DATE)?, text(scores::CATEGORY)?);
    let (cook, panel) = (text(scores::COOK)?, text(scores::PANEL)?);
    let (judge, attribute) = (text(scores::JUDGE)?, text(scores::ATTRIBUTE)?);
    let value = table.numbers(path, scores::POINTS)?;
    let (blind, note) = (table.flags(path, scores::BLIND)?, text(scores::NOTE)?);
    (0..table.rows())
        .map(|row| {
            let word = required(path, scores::PANEL, panel[row].as_ref())?;
            Ok(Score {
                team: team[row].clone(),
                season: required(path, scores::SEASON, season[row].clone())?,
                contest: contest[row].clone(),
                date: date[row].clone(),
                category: category[row].clone(),
                cook: cook[row].clone(),
                panel: Panel::parse(word).ok_or_else(|| {
                    let said = format!("`{word}` is neither judges nor tasters");
                    StoreError::column(path, scores::PANEL.name, said)
                })?,
                judge: judge[row].clone(),
                attribute: required(path, scores::ATTRIBUTE, attribute[row].clone())?,
                value: required(path, scores::POINTS, value[row])?,
                blind: blind[row],
                note: note[row].clone(),
            })
        })
        .collect()
}

pub(crate) fn scores_to_table(rows: &[Score]) -> Table {
    let text = |of: fn(&Score) -> Option<String>| Column::Text(rows.iter().map(of).collect());
    Table::new()
        .with(scores::TEAM, text(|s| s.team.clone()))
        .with(scores::SEASON, text(|s| Some(s.season.clone())))
        .with(scores::CONTEST, text(|s| s.contest.clone()))
        .with(scores::DATE, text(|s| s.date.clone()))
        .with(scores::CATEGORY, text(|s| s.category.clone()))
        .with(scores::COOK, text(|s| s.cook.clone()))
        .with(scores::ENTRY, text(|s| Some(s.entry())))
        .with(scores::PANEL, text(|s| Some(s.panel.as_str().to_owned())))
        .with(scores::JUDGE, text(|s| s.judge.clone()))
        .with(scores::ATTRIBUTE, text(|s| Some(s.attribute.clone())))
        .with(scores::POINTS, Column::Float(rows.iter().map(|s| Some(s.value)).collect()))
        .with(scores::BLIND, Column::Bool(rows.iter().map(|s| s.blind).collect()))
        .with(scores::NOTE, text(|s| s.note.clone()))
}
