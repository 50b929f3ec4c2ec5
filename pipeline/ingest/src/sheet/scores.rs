//! The scores sheet: a row a score, of judges and of one's own tasters.

use super::cell::{Cell, NOT_AVAILABLE};
use super::code::SheetCode;
use super::grid::Wanted;
use super::quantity;
use super::row::GridRow;
use super::stated::date_text;
use super::table::Sheet;
use super::vocabulary::SCORES_COLUMNS;
use super::{SheetHeader, SheetOptions, explain};
use crate::error::IngestError;
use cook::season::ScoreScale;
use cook::{Card, Evidence, LineAccount, Panel, Question, RejectedRow, Score, trade};
use std::collections::{BTreeMap, HashMap};
use std::path::Path;

/// A scores sheet, read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ScoresReading {
    /// The scores, in the sheet's order.
    pub scores: Vec<Score>,
    /// Where each stands, `sheet:line`; parallel to `scores`.
    pub places: Vec<String>,
    /// Rows and cells that could not be used.
    pub rejected: Vec<RejectedRow>,
    /// What became of the sheet's lines.
    pub account: LineAccount,
    /// What was decided: which worksheet, how numbers are to be understood.
    pub evidence: Vec<Evidence>,
    /// What a reader should be told although the sheet was read.
    pub warnings: Vec<String>,
    /// What it leaves open and nobody answered yet.
    pub questions: Vec<Question>,
    headers: Vec<SheetHeader>,
    /// Names of the season sheet's cooks, and of the scales.
    cooks: Vec<String>,
    scales: Vec<String>,
}

impl ScoresReading {
    /// The attributes without a scale in season.toml, each with the first place of it and how many rows
    /// were not used for want of it.
    pub fn without_scale(&self) -> BTreeMap<String, (String, usize)> {
        let mut found: BTreeMap<String, (String, usize)> = BTreeMap::new();
        let rows = self.rejected.iter().filter(|row| row.code == SheetCode::NoScale.as_str());
        for row in rows {
            let place = format!("{}:{}", row.source, row.line);
            found.entry(attribute_name(&row.text)).or_insert((place, 0)).1 += 1;
        }
        found
    }

    /// As [`super::SheetReading::explain`]; a score without a scale comes with the nearest that has
    /// one.
    pub fn explain(&self, row: &RejectedRow) -> Option<String> {
        let said = explain(&self.headers, &self.cooks, None, row)?;
        if row.code != SheetCode::NoScale.as_str() {
            return Some(said);
        }
        let scales = self.scales.iter().map(String::as_str);
        Some(match cook::settings::nearest(&row.text, scales) {
            Some(scale) => format!("{said}\n  try: `{scale}`"),
            None => format!("{said}\n  try: add `[scores.{}]` to season.toml", row.text),
        })
    }
}

/// The columns of a scores sheet that must be there.
const SCORES_SHEET: Wanted = Wanted { columns: &["attribute", "value"], unless: &[] };

/// Reads a scores sheet from CSV, XLSX or ODS with the columns of [`SCORES_COLUMNS`]; other columns
/// join the note. `scales` says what each attribute may be, `codes` which cook a code of a blind tasting stands for.
///
/// A score's season, contest and category are those of its cook's card where the row does not say
/// them; its panel is `judges` where there is a contest then, else `tasters`.
///
/// # Errors
/// As [`super::read_events_sheet`].
pub fn read_scores_sheet(
    path: &Path,
    shown_as: &str,
    options: &SheetOptions,
    cards: &[Card],
    scales: &BTreeMap<String, ScoreScale>,
    codes: &BTreeMap<String, String>,
) -> Result<ScoresReading, IngestError> {
    let mut sheet = Sheet::read(path, shown_as, SCORES_SHEET, SCORES_COLUMNS, options)?;
    let known: HashMap<&str, &Card> = cards.iter().map(|card| (card.cook.as_str(), card)).collect();
    let mut reading = ScoresReading {
        cooks: cards.iter().map(|card| card.cook.clone()).collect(),
        scales: scales.keys().cloned().collect(),
        headers: vec![sheet.header()],
        ..ScoresReading::default()
    };
    for row in std::mem::take(&mut sheet.rows) {
        let mut cells = Cells { sheet: &sheet, row: &row, rejected: Vec::new() };
        let score = cells.score(&known, scales, codes);
        let rejected = cells.rejected;
        match score {
            Ok(score) => {
                sheet.account.rejected_cells += rejected.len() as u64;
                sheet.rejected.extend(rejected);
                reading.scores.push(score);
                reading.places.push(format!("{}:{}", sheet.shown_as, row.line));
            }
            Err((column, code, text)) => {
                sheet.account.data -= row.lines;
                sheet.account.rejected += row.lines;
                let row = rejected_cell(&sheet, &row, column, code, &text);
                sheet.rejected.push(row);
            }
        }
    }
    reading.rejected = sheet.rejected;
    reading.account = sheet.account;
    reading.evidence = sheet.evidence;
    reading.warnings = sheet.warnings;
    reading.questions = sheet.questions;
    Ok(reading)
}

/// An attribute as it is named in season.toml.
fn attribute_name(text: &str) -> String {
    let named = text.trim().to_lowercase().replace([' ', '-'], "_");
    named.strip_prefix("score_").map_or_else(|| named.clone(), str::to_owned)
}

fn rejected_cell(
    sheet: &Sheet,
    row: &GridRow,
    column: &str,
    code: SheetCode,
    text: &str,
) -> RejectedRow {
    RejectedRow {
        source: sheet.shown_as.clone(),
        line: row.line,
        byte: row.byte,
        column: Some(column.to_owned()),
        code: code.as_str().to_owned(),
        text: text.to_owned(),
    }
}

/// Column, reason and text of a row that cannot be used.
type Refused = (&'static str, SheetCode, String);

/// One row, its cells read by name.
struct Cells<'s> {
    sheet: &'s Sheet,
    row: &'s GridRow,
    /// Cells that could not be used although the row could.
    rejected: Vec<RejectedRow>,
}

impl Cells<'_> {
    fn text(&self, column: &'static str) -> Result<Option<String>, Refused> {
        match self.sheet.cell(self.row, column) {
            None | Some(Cell::Empty) => Ok(None),
            Some(Cell::Error(error)) if error == NOT_AVAILABLE => Ok(None),
            Some(Cell::Error(error)) => Err((column, SheetCode::FormulaError, error.clone())),
            Some(cell) => Ok(Some(cell.text()).filter(|text| !trade::is_missing(text))),
        }
    }

    fn reject(&mut self, column: &str, code: SheetCode, text: &str) {
        self.rejected.push(rejected_cell(self.sheet, self.row, column, code, text));
    }

    /// The date; one that cannot be read is rejected, and the row with it where nothing else tells the
    /// season.
    fn date(&mut self, season_is_known: bool) -> Result<Option<String>, Refused> {
        let Some(mut text) = self.text("date")? else { return Ok(None) };
        if let Some(Cell::Number(value)) = self.sheet.cell(self.row, "date") {
            text = self.sheet.serial(*value).map_or(text, |cell| cell.text());
        }
        match self.sheet.writing.date(&text) {
            Ok(day) => Ok(Some(date_text(day))),
            Err(code) if season_is_known => {
                self.reject("date", code, &text);
                Ok(None)
            }
            Err(code) => Err(("date", code, text)),
        }
    }

    fn score(
        &mut self,
        known: &HashMap<&str, &Card>,
        scales: &BTreeMap<String, ScoreScale>,
        codes: &BTreeMap<String, String>,
    ) -> Result<Score, Refused> {
        let cook = match (self.text("cook")?, self.text("code")?) {
            (None, Some(code)) => {
                let cook = codes.get(&code.trim().to_uppercase()).cloned();
                Some(cook.ok_or(("code", SheetCode::UnknownCook, code))?)
            }
            (cook, _) => cook,
        };
        let card = match &cook {
            None => None,
            Some(name) => Some(
                *known
                    .get(name.as_str())
                    .ok_or_else(|| ("cook", SheetCode::UnknownCook, name.clone()))?,
            ),
        };
        let attribute =
            self.text("attribute")?.ok_or(("attribute", SheetCode::NoAttribute, String::new()))?;
        let named = attribute_name(&attribute);
        let Some(scale) = scales.get(&named) else {
            return Err(("attribute", SheetCode::NoScale, attribute));
        };
        let written = self.text("value")?.ok_or(("value", SheetCode::NoScore, String::new()))?;
        let value = quantity::score(&written, &self.sheet.writing)
            .map_err(|code| ("value", code, written.clone()))?;
        if !(scale.lowest..=scale.highest).contains(&value) {
            return Err(("value", SheetCode::OutOfRange, written));
        }
        let contest = self.text("contest")?.or_else(|| card?.contest.clone());
        let panel = match self.text("panel")? {
            Some(word) => {
                Panel::parse(&word).ok_or_else(|| ("panel", SheetCode::BadValue, word.clone()))?
            }
            None if contest.is_some() => Panel::Judges,
            None => Panel::Tasters,
        };
        let season = self.text("season")?;
        let date = self.date(card.is_some() || season.is_some())?;
        let season = match (card, season, &date) {
            (Some(card), ..) => card.season.clone(),
            (None, Some(season), _) => season,
            (None, None, Some(date)) => date[..4].to_owned(),
            (None, None, None) => return Err(("season", SheetCode::NoSeason, String::new())),
        };
        let blind = match self.text("blind")? {
            None => None,
            Some(text) => {
                let blind = trade::yes_or_no(&text);
                if blind.is_none() {
                    self.reject("blind", SheetCode::BadValue, &text);
                }
                blind
            }
        };
        let category = self.text("category")?.map(|text| text.to_lowercase());
        Ok(Score {
            team: None,
            season,
            contest,
            date: date.or_else(|| card?.date.clone()),
            category: category.or_else(|| Some(card?.cut.as_ref()?.to_lowercase())),
            cook,
            panel,
            judge: self.text("judge")?,
            attribute: named,
            value,
            blind,
            note: self.note()?,
        })
    }

    /// The note, and the columns that nobody knows.
    fn note(&self) -> Result<Option<String>, Refused> {
        let mut note: Vec<String> = self.text("note")?.into_iter().collect();
        for (at, name) in self.sheet.names.iter().enumerate() {
            let known = SCORES_COLUMNS.iter().any(|column| column.name == name);
            if let Some(cell) = self.row.cells.get(at).filter(|cell| !known && !cell.is_empty()) {
                note.push(format!("{}: {}", self.sheet.written[at], cell.text()));
            }
        }
        Ok((!note.is_empty()).then(|| note.join("; ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::season::Better;
    use jiff::tz::TimeZone;

    fn read(rows: &str) -> ScoresReading {
        read_under("contest,date,category,cook,panel,judge,attribute,value,blind", rows)
    }

    fn read_under(header: &str, rows: &str) -> ScoresReading {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("scores.csv");
        std::fs::write(&path, format!("{header}\n{rows}")).unwrap();
        let card = Card {
            cook: "may-3".into(),
            season: "2025".into(),
            date: Some("2025-05-03".into()),
            contest: Some("Fair".into()),
            cut: Some("Brisket".into()),
            ..Card::default()
        };
        let scale =
            ScoreScale { lowest: 1.0, highest: 9.0, better: Better::Higher, weight: 1.0, drop: 0 };
        let scales = BTreeMap::from([("taste".to_owned(), scale)]);
        let options = (&TimeZone::UTC).into();
        let codes = BTreeMap::from([("K7QM".to_owned(), "may-3".to_owned())]);
        read_scores_sheet(&path, "scores.csv", &options, &[card], &scales, &codes).unwrap()
    }

    #[test]
    fn a_code_stands_for_its_cook() {
        let reading = read_under("attribute,value,code", "taste,8,k7qm\ntaste,7,ZZZZ\n");
        assert_eq!(reading.scores[0].cook.as_deref(), Some("may-3"));
        let said = reading.explain(&reading.rejected[0]).unwrap();
        assert!(said.contains("column `code`") && said.contains("ZZZZ"), "{said}");
    }

    #[test]
    fn a_score_takes_from_its_card_what_the_row_leaves_out() {
        let reading = read(
            ",,,may-3,,2,Taste,8/9,yes\nFair,2025-05-04,Chicken,,,2,score_taste,7.5,\n,2025-06-01,ribs,,,Vera,taste,6,no\n",
        );
        assert_eq!(reading.rejected, []);
        let [own, chicken, ribs] = &reading.scores[..] else { panic!("{:?}", reading.scores) };
        assert_eq!((own.panel, own.season.as_str(), own.value), (Panel::Judges, "2025", 8.0));
        assert_eq!(
            (own.category.as_deref(), own.date.as_deref(), own.contest.as_deref(), own.blind),
            (Some("brisket"), Some("2025-05-03"), Some("Fair"), Some(true))
        );
        assert_eq!(
            (chicken.entry().as_str(), chicken.panel),
            ("Fair, 2025-05-04, chicken", Panel::Judges)
        );
        assert_eq!((ribs.panel, ribs.blind), (Panel::Tasters, Some(false)));
    }

    #[test]
    fn bad_rows_are_named_with_a_remedy() {
        for (row, words) in [
            (",,,may-4,,2,taste,8,", ["scores.csv:2, column `cook`", "try: `may-3`"]),
            ("Fair,2025-05-04,ribs,,,2,tast,8,", ["`tast`", "try: `taste`"]),
            ("Fair,2025-05-04,ribs,,,2,smoke,8,", ["no-scale", "add `[scores.smoke]`"]),
            ("Fair,2025-05-04,ribs,,,2,taste,12,", ["`12`", "out-of-range"]),
            ("Fair,2025-05-04,ribs,,,2,taste,good,", ["`good`", "bad-number"]),
            ("Fair,2025-05-04,ribs,,,2,taste,,", ["no-score", "no points"]),
            ("Fair,2025-05-04,ribs,,,2,,8,", ["no-attribute", "what was scored"]),
            ("Fair,4/5/2025,ribs,,,2,taste,8,", ["ambiguous-date", "column `date`"]),
            ("Fair,,ribs,,,2,taste,8,", ["no-season", "neither a cook, a date nor a season"]),
            ("Fair,2025-05-04,ribs,,jury,2,taste,8,", ["`jury`", "judges, tasters"]),
        ] {
            let reading = read(&format!("{row}\n"));
            assert_eq!((reading.scores.len(), reading.rejected.len()), (0, 1), "{row}");
            let said = reading.explain(&reading.rejected[0]).unwrap();
            assert!(words.iter().all(|word| said.contains(word)), "{row}: {said}");
        }
        // A cell alone: the score stays.
        let reading = read("Fair,2025-05-04,ribs,,,2,taste,8,perhaps\n");
        assert_eq!((reading.scores.len(), reading.rejected.len()), (1, 1));
        assert_eq!(reading.scores[0].blind, None);
    }
}
