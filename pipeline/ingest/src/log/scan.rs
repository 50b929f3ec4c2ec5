//! Where the table of a log begins and how its cells are parted.

use super::words;
use crate::layout::{Delimiter, Layout, TimeFormat};
use crate::number;
use crate::text::{Record, Splitter, Text};
use crate::time;

/// Records that are looked at to find the header.
const HEAD: usize = 400;
/// Rows on which a log without a header is judged.
const JUDGED: usize = 60;

/// What a cell looks like on its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Empty,
    Missing,
    Number,
    /// A date with a clock time.
    DateTime,
    /// A date alone.
    Date,
    /// `h:mm` or `h:mm:ss`, of the day or elapsed.
    Clock,
    Text,
}

const DATED: [TimeFormat; 5] = [
    TimeFormat::Iso,
    TimeFormat::DayFirst,
    TimeFormat::MonthFirst,
    TimeFormat::YearFirst,
    TimeFormat::MonthName,
];

pub(super) fn kind(cell: &[u8]) -> Kind {
    if cell.is_empty() {
        return Kind::Empty;
    }
    if number::parse_with_unit(cell, b'.').is_some()
        || number::parse_with_unit(cell, b',').is_some()
    {
        return Kind::Number;
    }
    if DATED.iter().any(|&format| time::parse(format, cell, None).is_some()) {
        return Kind::DateTime;
    }
    if DATED.iter().any(|&f| time::parse_date(f, cell).is_some_and(|(_, rest)| rest.is_empty())) {
        return Kind::Date;
    }
    if time::parse_clock_only(cell).is_some()
        || [TimeFormat::ElapsedHms, TimeFormat::ElapsedMs]
            .iter()
            .any(|&format| time::parse(format, cell, None).is_some())
    {
        return Kind::Clock;
    }
    if number::is_missing(cell, &[]) { Kind::Missing } else { Kind::Text }
}

/// One record of the head, under a delimiter.
pub(super) struct HeadRow<'t> {
    pub(super) record: Record<'t>,
    pub(super) cells: Vec<String>,
    pub(super) kinds: Vec<Kind>,
    pub(super) blank: bool,
}

pub(super) fn head<'t>(text: &'t Text<'_>, delimiter: Delimiter) -> Vec<HeadRow<'t>> {
    let mut splitter = Splitter::new(delimiter.byte());
    text.records(delimiter.byte())
        .take(HEAD)
        .map(|record| {
            let cells = splitter.split(&record).texts();
            let kinds = cells.iter().map(|cell| kind(cell.as_bytes())).collect();
            HeadRow { record, cells, kinds, blank: record.is_blank(delimiter.byte()) }
        })
        .collect()
}

/// The table's beginning.
pub(super) struct Found<'t> {
    pub(super) delimiter: Delimiter,
    /// Column names as in the file (without trailing empty ones), or made up.
    pub(super) names: Vec<String>,
    /// Index of the header among the records; `None` for a log without one.
    pub(super) header: Option<usize>,
    /// The layout that matched.
    pub(super) layout: Option<Layout>,
    pub(super) because: String,
    pub(super) head: Vec<HeadRow<'t>>,
}

fn without_trailing_empty(cells: &[String]) -> Vec<String> {
    let used = cells.iter().rposition(|cell| !cell.is_empty()).map_or(0, |last| last + 1);
    cells[..used].to_vec()
}

/// Finds the table by a layout's header (a built-in one only where it knows every column,
/// since a column that it does not know may be the date), else by what the head looks like.
pub(super) fn find<'t>(
    text: &'t Text<'_>,
    user: &[Layout],
    built_in: &[Layout],
) -> Option<Found<'t>> {
    let mut heads: Vec<(Delimiter, Vec<HeadRow<'t>>)> =
        Delimiter::ALL.into_iter().map(|delimiter| (delimiter, head(text, delimiter))).collect();
    let layouts = user.iter().map(|layout| (layout, false));
    for (layout, whole) in layouts.chain(built_in.iter().map(|layout| (layout, true))) {
        for i in 0..heads.len() {
            let (delimiter, rows) = &heads[i];
            if layout.delimiter.is_some_and(|wanted| wanted != *delimiter) {
                continue;
            }
            let at = rows.iter().position(|row| {
                layout.matches(&row.cells)
                    && (!whole || layout.knows_all(&row.cells))
                    && layout.preamble_lines.is_none_or(|lines| row.record.line == lines + 1)
            });
            if let Some(at) = at {
                let (delimiter, head) = heads.swap_remove(i);
                return Some(Found {
                    delimiter,
                    names: without_trailing_empty(&head[at].cells),
                    header: Some(at),
                    because: format!("the header has {}", layout.header.join(", ")),
                    layout: Some(layout.clone()),
                    head,
                });
            }
        }
    }
    let best = heads
        .iter()
        .enumerate()
        .filter_map(|(i, (_, rows))| {
            best_header(rows).map(|(at, score)| (i, at, score, rows[at].cells.len()))
        })
        .max_by(|a, b| a.2.total_cmp(&b.2).then(a.3.cmp(&b.3)).then(b.0.cmp(&a.0)));
    if let Some((i, at, score, _)) = best {
        let (delimiter, head) = heads.swap_remove(i);
        return Some(Found {
            delimiter,
            names: without_trailing_empty(&head[at].cells),
            header: Some(at),
            layout: None,
            because: format!(
                "line {} names columns, and {:.0} % of the lines after it hold a time and numbers",
                head[at].record.line,
                score * 100.0
            ),
            head,
        });
    }
    let (i, width) = heads
        .iter()
        .enumerate()
        .filter_map(|(i, (_, rows))| headerless_width(rows).map(|width| (i, width)))
        .max_by_key(|&(i, width)| (width, std::cmp::Reverse(i)))?;
    let (delimiter, head) = heads.swap_remove(i);
    let layout = user
        .iter()
        .find(|layout| {
            layout.columns.len() == width && layout.delimiter.is_none_or(|d| d == delimiter)
        })
        .cloned();
    let names = match &layout {
        Some(layout) => layout.columns.clone(),
        None => (1..=width).map(|i| format!("column-{i}")).collect(),
    };
    Some(Found {
        delimiter,
        names,
        header: None,
        layout,
        because: "the log has no header line; its first cells are times".to_owned(),
        head,
    })
}

/// The row that names the columns, and the share of the rows after it that it fits.
///
/// It has text and no number or date. It fits a row where a time column of its own (or,
/// where no name is one of a time, any column) looks like a time, and another column
/// holds a number or a word for none. A row that names a time wins over one that does
/// not; then the one with the most fitting rows over others after it, then the earliest,
/// so that neither a corrupt row nor a repeated header wins over the first.
fn best_header(rows: &[HeadRow<'_>]) -> Option<(usize, f64)> {
    let used: Vec<usize> = (0..rows.len()).filter(|&i| !rows[i].blank).collect();
    let mut best: Option<((bool, isize), usize, f64)> = None;
    for (position, &at) in used.iter().enumerate() {
        let row = &rows[at];
        let texts = row.kinds.iter().filter(|kind| **kind == Kind::Text).count();
        let times: Vec<usize> =
            (0..row.cells.len()).filter(|&c| words::is_time(&row.cells[c])).collect();
        let remark = row.cells[0].starts_with('#');
        let numbered = row.kinds.contains(&Kind::Number);
        let dated =
            row.kinds.iter().any(|k| matches!(k, Kind::DateTime | Kind::Date | Kind::Clock));
        let names = texts >= 2 || (texts == 1 && numbered && times == [0]);
        if !names || dated || (times.is_empty() && (numbered || remark)) {
            continue;
        }
        let width = without_trailing_empty(&row.cells).len();
        let judged = &used[position + 1..];
        let good = judged.iter().filter(|&&i| fits(&rows[i], &times, width)).count();
        if good == 0 || good * 2 < judged.len() {
            continue;
        }
        let score = (!times.is_empty(), 2 * good as isize - judged.len() as isize);
        if best.is_none_or(|(other, _, _)| score > other) {
            best = Some((score, at, good as f64 / judged.len() as f64));
        }
    }
    best.map(|(_, at, share)| (at, share))
}

fn fits(row: &HeadRow<'_>, times: &[usize], width: usize) -> bool {
    let is_time =
        |kind: Kind| matches!(kind, Kind::DateTime | Kind::Date | Kind::Clock | Kind::Number);
    let time = if times.is_empty() {
        row.kinds.iter().position(|kind| matches!(kind, Kind::DateTime | Kind::Date | Kind::Clock))
    } else {
        times.iter().copied().find(|&c| row.kinds.get(c).is_some_and(|kind| is_time(*kind)))
    };
    let Some(time) = time else { return false };
    row.kinds.iter().take(width).enumerate().any(|(c, kind)| {
        c != time && !times.contains(&c) && matches!(kind, Kind::Number | Kind::Missing)
    }) && row.kinds.iter().skip(width).all(|kind| *kind == Kind::Empty)
}

/// The usual number of cells of a log whose lines begin with a time and have no header.
fn headerless_width(rows: &[HeadRow<'_>]) -> Option<usize> {
    let used: Vec<&HeadRow<'_>> = rows.iter().filter(|row| !row.blank).take(JUDGED).collect();
    let good: Vec<usize> = used
        .iter()
        .filter(|row| {
            matches!(row.kinds[0], Kind::DateTime | Kind::Date | Kind::Clock)
                && row.kinds[1..].contains(&Kind::Number)
        })
        .map(|row| row.cells.len())
        .collect();
    if good.len() * 2 < used.len() || good.is_empty() {
        return None;
    }
    good.into_iter().max()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> (Delimiter, Option<usize>, Vec<String>) {
        let text = Text::decode(text.as_bytes(), "t").unwrap();
        let found = find(&text, &[], &[]).unwrap();
        (found.delimiter, found.header, found.names)
    }

    #[test]
    fn kinds_of_cells() {
        assert_eq!(kind(b"103,5"), Kind::Number);
        assert_eq!(kind(b"2026-05-02"), Kind::Date);
        assert_eq!(kind(b"02.05.2026 06:00"), Kind::DateTime);
        assert_eq!(kind(b"06:00:30"), Kind::Clock);
        assert_eq!(kind(b"---"), Kind::Missing);
        assert_eq!(kind(b"Pit"), Kind::Text);
    }

    #[test]
    fn the_header_is_found_behind_a_preamble_and_before_a_corrupt_row() {
        let text = "Time zone,America/Chicago\nFirmware,1.2\n\nTime,Pit (F),Meat (F)\n\
                    garbage,x,y\n2026-05-02T06:00,225,40\n2026-05-02T06:01,226,41\n\
                    Time,Pit (F),Meat (F)\n2026-05-02T06:02,226,41\n";
        let (delimiter, header, names) = found(text);
        assert_eq!((delimiter, header), (Delimiter::Comma, Some(3)));
        assert_eq!(names, ["Time", "Pit (F)", "Meat (F)"]);
    }

    #[test]
    fn a_decimal_comma_is_no_delimiter() {
        let text = "Zeit;Pit;Meat\n02.05.2026 06:00;103,5;4,0\n02.05.2026 06:01;103,5;4,0\n";
        assert_eq!(found(text).0, Delimiter::Semicolon);
        let text = "time\tpit\n2026-05-02 06:00\t103,5\n2026-05-02 06:01\t103,5\n";
        assert_eq!(found(text).0, Delimiter::Tab);
    }

    #[test]
    fn a_log_without_header() {
        let (_, header, names) = found("2026-05-02 06:00,103,4\n2026-05-02 06:01,103,4\n");
        assert_eq!(header, None);
        assert_eq!(names, ["column-1", "column-2", "column-3"]);
    }
}
