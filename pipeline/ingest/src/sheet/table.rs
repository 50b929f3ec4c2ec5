//! A sheet as rows of named cells.

use super::cell::Cell;
use super::code::SheetCode;
use super::grid::{self, Grid, Wanted};
use super::headings::{self, Cells, Meant};
use super::row::GridRow;
use super::vocabulary::{Holds, SheetColumn};
use super::writing::{self, Writing};
use super::{SheetHeader, SheetOptions};
use crate::error::{IngestError, Place};
use crate::time::TimeFormat;
use cook::{Answer, Answers, Evidence, LineAccount, Question, QuestionCode, RejectedRow};
use std::path::Path;

/// Why a column is what it is where that was answered.
const ANSWERED: &str = "it is the answer in questions.toml";
/// Largest file of a sheet, bytes.
const LARGEST_FILE: u64 = 64 << 20;

/// A sheet's rows, and what was not one.
pub(super) struct Sheet {
    /// The file; of a workbook, `file#Worksheet`.
    pub(super) shown_as: String,
    /// Column names: lower case, `_` between words.
    pub(super) names: Vec<String>,
    /// Column names as written.
    pub(super) written: Vec<String>,
    pub(super) header_line: u64,
    pub(super) rows: Vec<GridRow>,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) account: LineAccount,
    pub(super) content_hash: String,
    pub(super) evidence: Vec<Evidence>,
    pub(super) warnings: Vec<String>,
    pub(super) questions: Vec<Question>,
    /// How it writes dates and numbers.
    pub(super) writing: Writing,
    has_letters: bool,
    /// Whether bare numbers can be serial dates, and if so, of the 1904 system.
    pub(super) serial_1904: Option<bool>,
}

impl Sheet {
    /// Reads a sheet whose header has the wanted columns. Rows before the header are
    /// preamble, rows that begin with `#` remarks. `path` may name a worksheet behind `#`.
    pub(super) fn read(
        path: &Path,
        shown_as: &str,
        wanted: Wanted,
        columns: &[SheetColumn],
        options: &SheetOptions,
    ) -> Result<Self, IngestError> {
        let (bytes, shown_as, worksheet) = read_bytes(path, shown_as)?;
        let grid = Grid::read(&bytes, shown_as, worksheet, wanted, &options.answers)?;
        let mut sheet = Self {
            names: Vec::new(),
            written: Vec::new(),
            header_line: 0,
            rows: Vec::new(),
            rejected: Vec::new(),
            account: LineAccount::default(),
            content_hash: crate::text::content_hash(&bytes),
            evidence: Vec::new(),
            warnings: Vec::new(),
            questions: Vec::new(),
            writing: Writing::default(),
            has_letters: grid.has_letters,
            serial_1904: grid.serial_1904,
            shown_as: grid.shown_as,
        };
        if let Some(because) = grid.because {
            sheet.evidence.push(Evidence {
                what: format!("worksheet of {shown_as}"),
                taken_as: sheet.shown_as.clone(),
                because,
                setting: format!("the worksheet's name behind the file's, as in `{shown_as}#Name`"),
            });
        }
        for (index, row) in grid.rows.into_iter().enumerate() {
            sheet.account.lines += row.lines;
            if row.cells.iter().all(Cell::is_empty) {
                sheet.account.blank += row.lines;
            } else if index < grid.header {
                sheet.account.preamble += row.lines;
            } else if index == grid.header {
                sheet.account.header += row.lines;
                sheet.take_header(&row)?;
            } else if row.remark {
                sheet.account.footer += row.lines;
            } else if row.unclosed {
                sheet.reject_row(&row, SheetCode::UnclosedQuote);
            } else if row.cells.iter().skip(sheet.names.len()).any(|cell| !cell.is_empty()) {
                sheet.reject_row(&row, SheetCode::TooManyCells);
            } else {
                sheet.account.data += row.lines;
                sheet.rows.push(row);
            }
        }
        sheet.name_columns(columns, &options.answers);
        sheet.learn(columns, &options.answers);
        Ok(sheet)
    }

    /// Gives columns whose headings are other words for known ones those names; asks where a
    /// heading may be one or another.
    fn name_columns(&mut self, columns: &[SheetColumn], answers: &Answers) {
        let mut weights: Vec<(usize, String, Question)> = Vec::new();
        for at in 0..self.names.len() {
            let taken = |column: &str| self.names.iter().any(|name| name == column);
            let name = self.names[at].clone();
            let meant = headings::meaning(&name).filter(|meant| {
                columns.iter().any(|column| column.name == *meant) && !taken(meant)
            });
            let (column, because) = if let Some(meant) = meant {
                (meant.to_owned(), "its name means that")
            } else {
                let cells = Cells { rows: &self.rows, at };
                match headings::meant(&name, &self.written[at], &cells, columns, taken) {
                    Meant::Nothing => continue,
                    Meant::Column(column, because) => (column, because),
                    Meant::Asked(question, by_size) => match (answers.to(&question), by_size) {
                        (Some("as-is"), _) => continue,
                        (Some(answer), _) => (answer.to_owned(), ANSWERED),
                        (None, Some(by_size)) => by_size,
                        (None, None) => {
                            let question = question.at(self.heading_at(at));
                            match headings::weight_without_unit(&question).map(str::to_owned) {
                                Some(weight) => weights.push((at, weight, question)),
                                None => self.questions.push(question),
                            }
                            continue;
                        }
                    },
                }
            };
            self.take_as(at, column, because);
        }
        self.name_weights(weights, answers);
    }

    /// Names columns of weights of which the unit alone is open: one habit, and one question, of the sheet.
    fn name_weights(&mut self, weights: Vec<(usize, String, Question)>, answers: &Answers) {
        let columns: Vec<(&str, String)> = weights
            .iter()
            .map(|(at, ..)| {
                let cells = Cells { rows: &self.rows, at: *at };
                (self.written[*at].as_str(), cells.shown())
            })
            .collect();
        let mut question = headings::unit_of_weights(&self.shown_as, &columns);
        match answers.to(&question).map(str::to_lowercase).as_deref() {
            _ if weights.len() < 2 => {
                self.questions.extend(weights.into_iter().map(|(.., own)| own));
            }
            None => {
                for (at, ..) in &weights {
                    question = question.at(self.heading_at(*at));
                }
                self.questions.push(question);
            }
            Some(headings::EACH) => {
                self.questions.extend(weights.into_iter().map(|(.., own)| own));
            }
            Some(unit) => {
                for (at, weight, own) in weights {
                    let column = format!("{weight}_{unit}");
                    if self.names.contains(&column) {
                        self.questions.push(own);
                    } else {
                        self.take_as(at, column, ANSWERED);
                    }
                }
            }
        }
    }

    /// Where a heading stands.
    fn heading_at(&self, at: usize) -> String {
        format!("{}:{} {}", self.shown_as, self.header_line, self.written[at])
    }

    fn take_as(&mut self, at: usize, column: String, because: &str) {
        self.evidence.push(Evidence {
            what: format!("column `{}` of {}", self.written[at], self.shown_as),
            taken_as: column.clone(),
            because: because.to_owned(),
            setting: "the column's name".to_owned(),
        });
        self.names[at] = column;
    }

    /// Learns how the sheet writes dates and numbers.
    fn learn(&mut self, columns: &[SheetColumn], answers: &Answers) {
        let of = |fits: fn(Holds) -> bool| -> Vec<usize> {
            let known = |name: &String| {
                let column = columns.iter().find(|column| column.name == name);
                let is_score = name.starts_with("score_") && fits(Holds::Number);
                is_score || column.is_some_and(|column| fits(column.holds))
            };
            (0..self.names.len()).filter(|&i| known(&self.names[i])).collect()
        };
        let dates = of(|kind| matches!(kind, Holds::Date | Holds::Time));
        let numbers = of(|kind| kind == Holds::Number);
        let mut writing = Writing::of(
            writing::texts(&self.rows, &dates),
            &writing::typed(&self.rows, &dates),
            writing::texts(&self.rows, &numbers),
        );
        for evidence in &mut writing.evidence {
            evidence.what = format!("{} of {}", evidence.what, self.shown_as);
        }
        self.evidence.append(&mut writing.evidence);
        self.writing = writing;
        self.ask_date_order(&dates, answers);
    }

    /// Asks for the order of day and month where a date could be either and no other tells.
    fn ask_date_order(&mut self, dates: &[usize], answers: &Answers) {
        // Dates of both orders are no habit that one answer could settle.
        let tells = |(_, text): (u64, &str)| writing::order_of(text).is_some();
        if writing::texts(&self.rows, dates).any(tells) {
            return;
        }
        let mut doubtful = writing::texts(&self.rows, dates)
            .filter_map(|(line, text)| Some((line, text, writing::both_dates(text)?)))
            .filter(|(.., [one, other])| one != other);
        let Some((line, text, [day_first, month_first])) = doubtful.next() else { return };
        let file = self.shown_as.rsplit('/').next().unwrap_or(&self.shown_as);
        let question = Question::new(
            QuestionCode::DateOrder,
            &[file, "dates of the sheet"],
            format!("`{text}`: does the day or the month stand first in this sheet's dates?"),
            "no date of the sheet tells",
            vec![
                Answer::new("day-first", format!("{text} is {day_first}")),
                Answer::new("month-first", format!("{text} is {month_first}")),
            ],
        )
        .at(format!("{}:{line}", self.shown_as));
        match answers.to(&question).map(str::to_lowercase).as_deref() {
            Some("day-first") => self.writing.set_order(TimeFormat::DayFirst),
            Some(_) => self.writing.set_order(TimeFormat::MonthFirst),
            None => self.questions.push(question),
        }
    }

    /// Whether the order of day and month is asked.
    pub(super) fn asks_date_order(&self) -> bool {
        self.questions.iter().any(|question| question.code == QuestionCode::DateOrder)
    }

    /// What is kept of the header.
    pub(super) fn header(&self) -> SheetHeader {
        SheetHeader {
            source: self.shown_as.clone(),
            names: self.names.clone(),
            has_letters: self.has_letters,
        }
    }

    fn take_header(&mut self, row: &GridRow) -> Result<(), IngestError> {
        self.header_line = row.line;
        self.written = row.cells.iter().map(Cell::text).collect();
        while self.written.last().is_some_and(String::is_empty) {
            self.written.pop();
        }
        self.names = self.written.iter().map(|name| grid::normal(name)).collect();
        for (i, name) in self.names.iter().enumerate() {
            if !name.is_empty() && self.names[..i].contains(name) {
                return Err(IngestError::Contradiction {
                    place: Place::cell(&self.shown_as, self.header_line, name, b"").into(),
                    what: format!("two columns are called `{name}`"),
                    try_this: "rename or delete one of them".to_owned(),
                });
            }
        }
        Ok(())
    }

    /// A cell of a row by its column's name.
    pub(super) fn cell<'r>(&self, row: &'r GridRow, column: &str) -> Option<&'r Cell> {
        let at = self.names.iter().position(|name| name == column)?;
        row.cells.get(at)
    }

    /// A bare number of an XLSX workbook as the date and time that it can only be: from
    /// 2000 to 2099.
    pub(super) fn serial(&self, value: f64) -> Option<Cell> {
        let is_1904 = self.serial_1904?;
        let offset = if is_1904 { 1462.0 } else { 0.0 };
        // 1 January 2000 and 2100 in the 1900 system.
        let is_date = (36_526.0..73_051.0).contains(&(value + offset));
        is_date.then(|| Cell::from_serial(value, is_1904, false))?
    }

    /// Rejects a row that is not among [`Self::rows`] (or is about to leave them).
    pub(super) fn reject_row(&mut self, row: &GridRow, code: SheetCode) {
        self.account.rejected += row.lines;
        self.rejected.push(RejectedRow {
            source: self.shown_as.clone(),
            line: row.line,
            byte: row.byte,
            column: None,
            code: code.as_str().to_owned(),
            text: row.text.clone(),
        });
    }
}

/// A file's bytes, its name as shown, and the worksheet that its name picks with `#`; a
/// `#` that is part of the file's name is none.
fn read_bytes<'n>(
    path: &Path,
    shown_as: &'n str,
) -> Result<(Vec<u8>, &'n str, Option<&'n str>), IngestError> {
    if !path.exists()
        && let Some((file, worksheet)) = shown_as.rsplit_once('#')
        && let Some(text) = path.to_str()
        && let Some(file_path) = text.strip_suffix(worksheet).and_then(|p| p.strip_suffix('#'))
    {
        return Ok((
            crate::disk::read(Path::new(file_path), file, LARGEST_FILE)?,
            file,
            Some(worksheet),
        ));
    }
    Ok((crate::disk::read(path, shown_as, LARGEST_FILE)?, shown_as, None))
}
