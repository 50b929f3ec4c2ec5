//! Where the table of a log begins and how its cells are parted.

use super::cells::{HeadRow, Kind, head, used_width};
use super::header::{best_header, headerless_width, headless_first, most_end_at, spread_column};
use super::score::{self, Score};
use crate::error::{IngestError, Place};
use crate::layout::{Delimiter, Layout};
use crate::log::question::{Asks, Parted, Question};
use crate::log::reason::Reason;
use crate::text::Text;

/// A second reading with this share of the best one's score is close to it.
const CLOSE: f64 = 0.8;

/// The table's beginning.
pub(crate) struct Grid<'t> {
    pub(crate) delimiter: Delimiter,
    /// Column names as in the file (without trailing empty ones), or made up.
    pub(crate) names: Vec<String>,
    /// Index of the header among the records; `None` for a log without one.
    pub(crate) header: Option<usize>,
    /// Index of the first record of a table without a header.
    pub(crate) first: usize,
    /// The layout that matched.
    pub(crate) layout: Option<Layout>,
    pub(crate) because: Reason,
    pub(crate) head: Vec<HeadRow<'t>>,
}

/// Finds the table by a layout's header (a built-in one only where it knows every column,
/// since a column that it does not know may be the date), else by trying every delimiter
/// and taking the reading that scores best. Where a question was answered, only the delimiter
/// `answered` is tried.
///
/// # Errors
/// [`IngestError::NoTable`] where no reading has a time and numbers,
/// [`IngestError::NeedsAnswer`] where two score alike and give different values.
pub(crate) fn find<'t>(
    text: &'t Text<'_>,
    user: &[Layout],
    built_in: &[Layout],
    answered: Option<Delimiter>,
    shown_as: &str,
) -> Result<Grid<'t>, IngestError> {
    let mut heads: Vec<(Delimiter, Vec<HeadRow<'t>>)> = Delimiter::ALL
        .into_iter()
        .filter(|delimiter| answered.is_none_or(|answered| answered == *delimiter))
        .filter_map(|delimiter| Some((delimiter, head(text, delimiter)?)))
        .collect();
    if let Some((i, at, layout)) = by_layout(&heads, user, built_in) {
        let (delimiter, head) = heads.swap_remove(i);
        let names = head[at].cells[..used_width(&head[at].cells)].to_vec();
        let because = Reason::HeaderHas(layout.header.clone());
        let layout = Some(layout.clone());
        return Ok(spread(Grid {
            delimiter,
            names,
            header: Some(at),
            first: 0,
            layout,
            because,
            head,
        }));
    }
    let mut candidates: Vec<Candidate> = heads
        .iter()
        .enumerate()
        .filter_map(|(i, (_, rows))| Candidate::of(i, rows))
        .filter(|candidate| candidate.score.product() > 0.0)
        .collect();
    // The best first; of equals the one with more cells, then the delimiter tried first.
    candidates.sort_by(|a, b| {
        let rank = |c: &Candidate| (c.header.is_some(), c.score.product());
        let ((a_named, a_score), (b_named, b_score)) = (rank(a), rank(b));
        b_named
            .cmp(&a_named)
            .then(b_score.total_cmp(&a_score))
            .then(b.width.cmp(&a.width))
            .then(a.index.cmp(&b.index))
    });
    let Some(best) = candidates.first() else {
        return Err(IngestError::NoTable {
            place: Place::file(shown_as).into(),
            what: "no header followed by lines of times and numbers was found".to_owned(),
            try_this:
                "an export as CSV with a header line, or a layout that says what the log looks like"
                    .to_owned(),
        });
    };
    for other in &candidates[1..] {
        let alike = other.header.is_some() == best.header.is_some();
        if alike && other.score.product() >= CLOSE * best.score.product() {
            ask_where_different(&heads, best, other, shown_as)?;
        }
    }
    let (i, at, width, score) = (best.index, best.header, best.width, best.score);
    let (delimiter, head) = heads.swap_remove(i);
    let Some(at) = at else {
        let layout = user
            .iter()
            .find(|layout| {
                layout.delimiter.is_none_or(|d| d == delimiter)
                    && layout.columns.len() <= width
                    && !layout.columns.is_empty()
                    && most_end_at(&head, layout.columns.len())
            })
            .cloned();
        let names = match &layout {
            Some(layout) => layout.columns.clone(),
            None => (1..=width).map(|i| format!("column-{i}")).collect(),
        };
        let because = Reason::NoHeaderLine(score);
        let first = headless_first(&head, width);
        return Ok(Grid { delimiter, names, header: None, first, layout, because, head });
    };
    let names = head[at].cells[..used_width(&head[at].cells)].to_vec();
    let because = Reason::NamesColumns { line: head[at].record.line, score };
    Ok(spread(Grid { delimiter, names, header: Some(at), first: 0, layout: None, because, head }))
}

/// The first layout that fits, with the delimiter's index and the header's.
fn by_layout<'l>(
    heads: &[(Delimiter, Vec<HeadRow<'_>>)],
    user: &'l [Layout],
    built_in: &'l [Layout],
) -> Option<(usize, usize, &'l Layout)> {
    let layouts = user.iter().map(|layout| (layout, false));
    for (layout, whole) in layouts.chain(built_in.iter().map(|layout| (layout, true))) {
        for (i, (delimiter, rows)) in heads.iter().enumerate() {
            if layout.delimiter.is_some_and(|wanted| wanted != *delimiter) {
                continue;
            }
            let at = rows.iter().position(|row| {
                could_name(row)
                    && layout.matches(&row.cells)
                    && (!whole || layout.knows_all(&row.cells))
                    && layout.preamble_lines.is_none_or(|lines| row.record.line == lines + 1)
            });
            if let Some(at) = at {
                return Some((i, at, layout));
            }
        }
    }
    None
}

/// Whether a row can hold names: words, and nothing that looks like a time.
fn could_name(row: &HeadRow<'_>) -> bool {
    row.kinds.contains(&Kind::Text)
        && !row.kinds.iter().any(|k| matches!(k, Kind::DateTime | Kind::Date | Kind::Clock))
}

/// One way to part the cells.
struct Candidate {
    /// Of the delimiter.
    index: usize,
    header: Option<usize>,
    width: usize,
    score: Score,
}

impl Candidate {
    fn of(index: usize, rows: &[HeadRow<'_>]) -> Option<Self> {
        let header = best_header(rows);
        let width = match header {
            Some(at) => used_width(&rows[at].cells),
            None => headerless_width(rows)?,
        };
        let score = score::of(rows, header, width);
        Some(Self { index, header, width, score })
    }
}

/// # Errors
/// [`IngestError::NeedsAnswer`] on the first line that two readings read differently.
fn ask_where_different(
    heads: &[(Delimiter, Vec<HeadRow<'_>>)],
    best: &Candidate,
    other: &Candidate,
    shown_as: &str,
) -> Result<(), IngestError> {
    let ((one, rows), (two, other_rows)) = (&heads[best.index], &heads[other.index]);
    for (row, same) in rows.iter().zip(other_rows) {
        let (Some(a), Some(b)) = (score::values(row, best.width), score::values(same, other.width))
        else {
            continue;
        };
        if a == b {
            continue;
        }
        let parted = |delimiter: Delimiter, values: Vec<f64>, score: Score| Parted {
            delimiter,
            values,
            score,
        };
        return Err(Question {
            place: Place::line(shown_as, row.record.line.into(), row.record.raw),
            asks: Asks::Delimiter([parted(*one, a, best.score), parted(*two, b, other.score)]),
        }
        .into());
    }
    Ok(())
}

/// Where one name stands over a date and a clock that a space parts, it becomes two names.
fn spread(mut grid: Grid<'_>) -> Grid<'_> {
    if grid.delimiter != Delimiter::Spaces {
        return grid;
    }
    let Some(at) = grid.header else { return grid };
    let rows: Vec<&HeadRow<'_>> = grid.head[at + 1..].iter().filter(|row| !row.blank).collect();
    if let Some(column) = spread_column(&grid.names, &rows) {
        let name = grid.names[column].clone();
        grid.names[column] = format!("{name} date");
        grid.names.insert(column + 1, format!("{name} clock"));
    }
    grid
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(text: &str) -> (Delimiter, Option<usize>, Vec<String>) {
        let text = Text::decode(text.as_bytes(), "t").unwrap();
        let grid = find(&text, &[], &[], None, "t").unwrap();
        (grid.delimiter, grid.header, grid.names)
    }

    #[test]
    fn the_header_is_found_behind_a_preamble_and_before_a_corrupt_row() {
        let text = "Time zone,America/Chicago\nFirmware,1.2\n\nTime,Pit (F),Meat (F)\n\
                    garbage,x,y\n2026-05-02T06:00,225,40\n2026-05-02T06:01,226,41\n\
                    Time,Pit (F),Meat (F)\n2026-05-02T06:02,226,41\n";
        let (delimiter, header, names) = grid(text);
        assert_eq!((delimiter, header), (Delimiter::Comma, Some(3)));
        assert_eq!(names, ["Time", "Pit (F)", "Meat (F)"]);
    }

    #[test]
    fn every_delimiter_is_grid() {
        for (sign, delimiter) in [
            (",", Delimiter::Comma),
            (";", Delimiter::Semicolon),
            ("\t", Delimiter::Tab),
            ("|", Delimiter::Pipe),
            ("  ", Delimiter::Gaps),
        ] {
            let text =
                "Local time,Pit 1,Meat\n2026-05-02 06:00,103.5,4.0\n2026-05-02 06:01,103.5,4.0\n";
            let (seen, header, names) = grid(&text.replace(',', sign));
            assert_eq!((seen, header), (delimiter, Some(0)));
            assert_eq!(names, ["Local time", "Pit 1", "Meat"]);
        }
        let (seen, _, names) =
            grid("Time Pit Meat\n2026-05-02 06:00 103.5 4.0\n2026-05-02 06:01 103.5 4.0\n");
        assert_eq!(seen, Delimiter::Spaces);
        assert_eq!(names, ["Time date", "Time clock", "Pit", "Meat"]);
    }

    #[test]
    fn a_decimal_comma_is_no_delimiter() {
        let text = "Zeit;Pit;Meat\n02.05.2026 06:00;103,5;4,0\n02.05.2026 06:01;103,5;4,0\n";
        assert_eq!(grid(text).0, Delimiter::Semicolon);
        let text = "time\tpit\n2026-05-02 06:00\t103,5\n2026-05-02 06:01\t103,5\n";
        assert_eq!(grid(text).0, Delimiter::Tab);
    }

    #[test]
    fn a_log_without_header() {
        let (_, header, names) = grid("2026-05-02 06:00,103,4\n2026-05-02 06:01,103,4\n");
        assert_eq!(header, None);
        assert_eq!(names, ["column-1", "column-2", "column-3"]);
        let (_, header, names) = grid("1777701600;103,5;4\n1777701660;103;4\n1777701720;103;4\n");
        assert_eq!((header, names.len()), (None, 3));
    }
}
