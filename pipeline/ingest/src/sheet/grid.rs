//! A sheet's rows of cells, whatever kind of file they come from.

use super::cell::Cell;
use super::headings;
use super::row::GridRow;
use super::workbook::{self, Worksheet, WorksheetRow};
use crate::error::{IngestError, Place, shown};
use crate::layout::Delimiter;
use crate::question::{Asked, Settles};
use crate::text::{Splitter, Text};
use cook::{Answers, QuestionCode};

/// A header stands among the first so many rows.
const HEADER_ROWS: usize = 50;

/// Rows, and where among them the header is.
#[derive(Debug)]
pub(super) struct Grid {
    /// The file; of a workbook, `file#Worksheet`.
    pub(super) shown_as: String,
    pub(super) rows: Vec<GridRow>,
    /// Index of the header.
    pub(super) header: usize,
    /// Whether columns have letters.
    pub(super) has_letters: bool,
    /// Whether bare numbers can be serial dates, and if so, of the 1904 system.
    pub(super) serial_1904: Option<bool>,
    /// Why this worksheet was taken, where there were others.
    pub(super) because: Option<String>,
}

/// What makes a table the wanted one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    /// Columns that it must have.
    pub(super) columns: &'static [&'static str],
    /// Columns that, where it has them all, make it another kind of table.
    pub(super) unless: &'static [&'static str],
}

impl Wanted {
    fn has(&self, names: &[String]) -> bool {
        let every = |wanted: &[&str]| {
            wanted.iter().all(|wanted| names.iter().any(|name| headings::is_column(name, wanted)))
        };
        every(self.columns) && (self.unless.is_empty() || !every(self.unless))
    }
}

/// A column's name in lower case, `_` between words, without any other sign:
/// `Raw weight (lb)` is `raw_weight_lb`.
pub(super) fn normal(name: &str) -> String {
    name.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect::<Vec<_>>()
        .join("_")
}

fn names(row: &GridRow) -> Vec<String> {
    row.cells.iter().map(|cell| normal(&cell.text())).collect()
}

impl Grid {
    /// Rows of a CSV file or of the fitting worksheet of a workbook. `worksheet` is the one
    /// that the user names.
    pub(super) fn read(
        bytes: &[u8],
        shown_as: &str,
        worksheet: Option<&str>,
        wanted: Wanted,
        answers: &Answers,
    ) -> Result<Self, IngestError> {
        if workbook::is_zip(bytes) {
            choose(workbook::read(bytes, shown_as)?, shown_as, worksheet, wanted, answers)
        } else {
            from_text(&Text::decode(bytes, shown_as)?, shown_as, wanted)
        }
    }

    fn find_header(rows: &[GridRow], wanted: Wanted) -> Option<usize> {
        rows.iter().take(HEADER_ROWS).position(|row| wanted.has(&names(row)))
    }
}

fn from_text(text: &Text<'_>, shown_as: &str, wanted: Wanted) -> Result<Grid, IngestError> {
    for delimiter in Delimiter::ALL {
        let head = text_rows(text, delimiter, HEADER_ROWS);
        let header = Grid::find_header(&head, wanted).filter(|header| {
            // Blanks part the words of a name, where another sign parts the names.
            !matches!(delimiter, Delimiter::Spaces | Delimiter::Gaps)
                || !head[*header].text.contains([',', ';', '\t', '|'])
        });
        if let Some(header) = header {
            return Ok(Grid {
                shown_as: shown_as.to_owned(),
                rows: text_rows(text, delimiter, usize::MAX),
                header,
                has_letters: false,
                serial_1904: None,
                because: None,
            });
        }
    }
    let heads: Vec<Vec<GridRow>> =
        Delimiter::ALL.map(|delimiter| text_rows(text, delimiter, HEADER_ROWS)).into();
    Err(no_header(heads.iter().flatten(), shown_as, wanted))
}

fn text_rows(text: &Text<'_>, delimiter: Delimiter, most: usize) -> Vec<GridRow> {
    let mut splitter = Splitter::new(delimiter.byte());
    text.records(delimiter.byte())
        .take(most)
        .map(|record| {
            let cells: Vec<Cell> = splitter
                .split(&record)
                .iter()
                .map(|cell| Cell::from_text(&String::from_utf8_lossy(cell)))
                .collect();
            GridRow {
                line: record.line.into(),
                lines: record.lines.into(),
                byte: text.file_offset(record.start),
                text: shown(record.raw),
                unclosed: record.unclosed,
                remark: record.raw.trim_ascii_start().starts_with(b"#")
                    && !matches!(cells.first(), Some(Cell::Error(_))),
                cells,
            }
        })
        .collect()
}

/// The worksheet with the wanted columns.
fn choose(
    worksheets: Vec<Worksheet>,
    shown_as: &str,
    named: Option<&str>,
    wanted: Wanted,
    given: &Answers,
) -> Result<Grid, IngestError> {
    let all: Vec<String> = worksheets.iter().map(|sheet| sheet.name.clone()).collect();
    let is_named = |name: &str| {
        named.is_none_or(|named| name.trim().to_lowercase() == named.trim().to_lowercase())
    };
    let mut fitting = Vec::new();
    let mut others = Vec::new();
    let mut hidden = None;
    for worksheet in worksheets.into_iter().filter(|sheet| is_named(&sheet.name)) {
        // A hidden worksheet is read where it is named: nobody sees what is in it.
        let is_hidden = worksheet.hidden && named.is_none();
        let grid = from_worksheet(worksheet, shown_as);
        match Grid::find_header(&grid.rows, wanted) {
            Some(_) if is_hidden => hidden = Some(grid),
            Some(header) => fitting.push(Grid { header, ..grid }),
            None => others.push(grid),
        }
    }
    if let (Some(named), true) = (named, fitting.is_empty() && others.is_empty()) {
        let near = cook::settings::nearest(named, all.iter().map(String::as_str));
        return Err(IngestError::NoTable {
            place: Place { text: named.to_owned(), ..Place::file(shown_as) }.into(),
            what: "the workbook has no worksheet of this name".to_owned(),
            try_this: near.unwrap_or_else(|| format!("one of {}", all.join(", "))),
        });
    }
    if let [first, _, ..] = &fitting[..] {
        let asks =
            format!("{} worksheets have the columns {}", fitting.len(), wanted.columns.join(", "));
        let answers = fitting
            .iter()
            .map(|grid| {
                let rows = format!("{} rows", grid.rows.len().saturating_sub(grid.header + 1));
                (worksheet_of(&grid.shown_as).to_owned(), rows, Settles::elsewhere())
            })
            .collect();
        let setting = format!(
            "the worksheet's name behind the file's, `{}`, or delete the column `{}` in the other",
            first.shown_as, wanted.columns[0]
        );
        let place = Place::file(shown_as);
        let evidence = vec![shown_as.to_owned()];
        let asked = Asked::new(QuestionCode::Worksheet, &place, evidence, asks, answers, setting);
        let answer = given.to(&asked.question).map(str::to_owned);
        let Some(answer) = answer else {
            return Err(IngestError::NeedsAnswer { place: place.into(), asked: asked.into() });
        };
        fitting.retain(|grid| worksheet_of(&grid.shown_as).eq_ignore_ascii_case(&answer));
    }
    match (fitting.pop(), hidden) {
        (Some(mut grid), _) => {
            if all.len() > 1 {
                grid.because = Some(match named {
                    Some(_) => "it is named".to_owned(),
                    None => format!(
                        "the only visible one of {} worksheets with the columns {}",
                        all.len(),
                        wanted.columns.join(", ")
                    ),
                });
            }
            Ok(grid)
        }
        (None, Some(grid)) => Err(IngestError::NoTable {
            place: Place::file(&grid.shown_as).into(),
            what: "only a hidden worksheet has the wanted columns".to_owned(),
            try_this: format!("unhide it, or name it: `{}`", grid.shown_as),
        }),
        (None, None) => Err(no_header(others.iter().flat_map(|grid| &grid.rows), shown_as, wanted)),
    }
}

/// The worksheet's name in `file#Worksheet`.
fn worksheet_of(shown_as: &str) -> &str {
    shown_as.split_once('#').map_or(shown_as, |(_, name)| name)
}

fn from_worksheet(worksheet: Worksheet, file: &str) -> Grid {
    let mut rows = Vec::with_capacity(worksheet.rows.len());
    let mut next = 1;
    for WorksheetRow { number, cells } in worksheet.rows {
        // Empty rows between count as lines, so that the account is that of the sheet.
        if number > next {
            rows.push(GridRow {
                line: next.into(),
                lines: u64::from(number - next),
                ..GridRow::default()
            });
        }
        next = number.saturating_add(1);
        let width = cells.last().map_or(0, |cell| cell.0 as usize + 1);
        let mut row = GridRow {
            line: number.into(),
            lines: 1,
            cells: vec![Cell::Empty; width],
            ..GridRow::default()
        };
        for (column, cell) in cells {
            row.cells[column as usize] = cell;
        }
        let texts: Vec<String> = row.cells.iter().map(Cell::text).collect();
        row.text = shown(texts.join(", ").as_bytes());
        row.remark = matches!(
            &row.cells.iter().filter(|cell| !cell.is_empty()).collect::<Vec<_>>()[..],
            [Cell::Text(text)] if text.starts_with('#')
        );
        rows.push(row);
    }
    Grid {
        shown_as: format!("{file}#{}", worksheet.name),
        rows,
        header: 0,
        has_letters: true,
        serial_1904: worksheet.serial_1904,
        because: None,
    }
}

/// What is missing, by the longest row that might have been the header.
fn no_header<'r>(
    rows: impl Iterator<Item = &'r GridRow>,
    shown_as: &str,
    wanted: Wanted,
) -> IngestError {
    let filled = |row: &GridRow| row.cells.iter().filter(|cell| !cell.is_empty()).count();
    let longest = rows.filter(|row| !row.remark && filled(row) > 0).fold(
        None,
        |longest: Option<&GridRow>, row| match longest {
            Some(longest) if filled(longest) >= filled(row) => Some(longest),
            _ => Some(row),
        },
    );
    let (line, found) = longest.map_or((0, Vec::new()), |row| (row.line, names(row)));
    let has = |wanted: &str| found.iter().any(|name| name == wanted);
    let missing = wanted.columns.iter().find(|w| !has(w)).copied().unwrap_or(wanted.columns[0]);
    let near = cook::settings::nearest(missing, found.iter().map(String::as_str));
    let text = longest.map_or_else(String::new, |row| {
        let texts: Vec<String> = row.cells.iter().map(Cell::text).collect();
        let length = texts.iter().rposition(|text| !text.is_empty()).map_or(0, |last| last + 1);
        texts[..length].join(", ")
    });
    IngestError::NoTable {
        place: Place::cell(shown_as, line, missing, text.as_bytes()).into(),
        what: format!("the sheet has no column `{missing}`"),
        try_this: match near {
            Some(near) => format!("rename the column `{near}` to `{missing}`"),
            None => format!("a header line with the columns {}", wanted.columns.join(", ")),
        },
    }
}
