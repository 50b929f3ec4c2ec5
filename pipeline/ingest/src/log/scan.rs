//! Where the table of a log begins and how its cells are parted.

use super::head::{HeadRow, Kind, head, used_width};
use super::score::{self, Score};
use super::words;
use crate::error::{IngestError, Place};
use crate::layout::{Delimiter, Layout};
use crate::question::QuestionCode;
use crate::text::Text;

/// Rows on which a log without a header is judged.
const JUDGED: usize = 60;
/// A second reading with this share of the best one's score is close to it.
const CLOSE: f64 = 0.8;

/// The table's beginning.
pub(super) struct Found<'t> {
    pub(super) delimiter: Delimiter,
    /// Column names as in the file (without trailing empty ones), or made up.
    pub(super) names: Vec<String>,
    /// Index of the header among the records; `None` for a log without one.
    pub(super) header: Option<usize>,
    /// Index of the first record of a table without a header.
    pub(super) first: usize,
    /// The layout that matched.
    pub(super) layout: Option<Layout>,
    pub(super) because: String,
    pub(super) head: Vec<HeadRow<'t>>,
}

/// Finds the table by a layout's header (a built-in one only where it knows every column,
/// since a column that it does not know may be the date), else by trying every delimiter
/// and taking the reading that scores best.
///
/// # Errors
/// [`IngestError::NoTable`] where no reading has a time and numbers,
/// [`IngestError::NeedsAnswer`] where two score alike and give different values.
pub(super) fn find<'t>(
    text: &'t Text<'_>,
    user: &[Layout],
    built_in: &[Layout],
    shown_as: &str,
) -> Result<Found<'t>, IngestError> {
    let mut heads: Vec<(Delimiter, Vec<HeadRow<'t>>)> = Delimiter::ALL
        .into_iter()
        .filter_map(|delimiter| Some((delimiter, head(text, delimiter)?)))
        .collect();
    if let Some((i, at, layout)) = by_layout(&heads, user, built_in) {
        let (delimiter, head) = heads.swap_remove(i);
        let names = head[at].cells[..used_width(&head[at].cells)].to_vec();
        let because = format!("the header has {}", layout.header.join(", "));
        let layout = Some(layout.clone());
        return Ok(spread(Found {
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
        let because = format!("the log has no header line; {score}");
        let first = headless_first(&head, width);
        return Ok(Found { delimiter, names, header: None, first, layout, because, head });
    };
    let names = head[at].cells[..used_width(&head[at].cells)].to_vec();
    let because = format!("line {} names columns; {score}", head[at].record.line);
    Ok(spread(Found { delimiter, names, header: Some(at), first: 0, layout: None, because, head }))
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
        let shown =
            |values: &[f64]| values.iter().map(ToString::to_string).collect::<Vec<_>>().join(" | ");
        let reading = |delimiter: Delimiter, values: &[f64], score: Score| {
            format!("{} (delimiter = \"{}\"; {score})", shown(values), delimiter.as_str())
        };
        return Err(IngestError::NeedsAnswer {
            place: Place::line(shown_as, row.record.line.into(), row.record.raw).into(),
            code: QuestionCode::Delimiter,
            question: "two delimiters give different numbers".to_owned(),
            readings: [reading(*one, &a, best.score), reading(*two, &b, other.score)],
            setting: format!("a layout with delimiter = \"{}\"", one.as_str()),
        });
    }
    Ok(())
}

/// Where one name stands over a date and a clock that a space parts, it becomes two names.
fn spread(mut found: Found<'_>) -> Found<'_> {
    if found.delimiter != Delimiter::Spaces {
        return found;
    }
    let Some(at) = found.header else { return found };
    let rows: Vec<&HeadRow<'_>> = found.head[at + 1..].iter().filter(|row| !row.blank).collect();
    if let Some(column) = spread_column(&found.names, &rows) {
        let name = found.names[column].clone();
        found.names[column] = format!("{name} date");
        found.names.insert(column + 1, format!("{name} clock"));
    }
    found
}

/// The time column whose date and clock are two cells, where most rows have one cell more
/// than there are names.
fn spread_column(names: &[String], rows: &[&HeadRow<'_>]) -> Option<usize> {
    let column = names.iter().position(|name| words::is_time(name))?;
    let two = rows
        .iter()
        .filter(|row| {
            row.cells.len() == names.len() + 1
                && row.kinds[column] == Kind::Date
                && row.kinds[column + 1] == Kind::Clock
        })
        .count();
    (two * 2 > rows.len()).then_some(column)
}

/// The row that names the columns, and the share of the rows after it that it fits.
///
/// It has text and no number or date. It fits a row where a time column of its own (or,
/// where no name is one of a time, any column) looks like a time, and another column
/// holds a number or a word for none. A row that names a time wins over one that does
/// not; then the one with the most fitting rows over others after it, then the earliest,
/// so that neither a corrupt row nor a repeated header wins over the first.
fn best_header(rows: &[HeadRow<'_>]) -> Option<usize> {
    let used: Vec<usize> = (0..rows.len()).filter(|&i| !rows[i].blank).collect();
    let mut best: Option<((bool, isize), usize)> = None;
    for (position, &at) in used.iter().enumerate() {
        let row = &rows[at];
        let texts = row.kinds.iter().filter(|kind| **kind == Kind::Text).count();
        let dated =
            row.kinds.iter().any(|k| matches!(k, Kind::DateTime | Kind::Date | Kind::Clock));
        if texts == 0 || dated {
            continue;
        }
        let times: Vec<usize> =
            (0..row.cells.len()).filter(|&c| words::is_time(&row.cells[c])).collect();
        let remark = row.cells[0].starts_with('#');
        let numbered = row.kinds.contains(&Kind::Number);
        let names = texts >= 2 || (texts == 1 && numbered && times == [0]);
        if !names || (times.is_empty() && (numbered || remark)) {
            continue;
        }
        let mut width = used_width(&row.cells);
        let judged = &used[position + 1..];
        let below: Vec<&HeadRow<'_>> = judged.iter().map(|&i| &rows[i]).collect();
        if spread_column(&row.cells, &below).is_some() {
            width += 1;
        }
        let good = judged.iter().filter(|&&i| fits(&rows[i], &times, width)).count();
        // Lines of a table before it: it is a remark among them, or its header comes again.
        let earlier = used[..position].iter().filter(|&&i| fits(&rows[i], &[], usize::MAX)).count();
        if earlier >= 2 && earlier * 20 > good {
            continue;
        }
        if good == 0 || good * 2 < judged.len() {
            continue;
        }
        let score = (!times.is_empty(), 2 * good as isize - judged.len() as isize);
        if best.is_none_or(|(other, _)| score > other) {
            best = Some((score, at));
        }
    }
    best.map(|(_, at)| at)
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

/// The usual number of cells of a log whose lines hold a time and numbers and have no
/// header: a time that says so itself in one of the first three cells, or a number that
/// grows from line to line in the first.
fn headerless_width(rows: &[HeadRow<'_>]) -> Option<usize> {
    let used: Vec<&HeadRow<'_>> = rows.iter().filter(|row| !row.blank).take(JUDGED).collect();
    let timed = |row: &HeadRow<'_>| {
        let time = row
            .kinds
            .iter()
            .take(3)
            .position(|kind| matches!(kind, Kind::DateTime | Kind::Date | Kind::Clock));
        time.is_some_and(|at| row.kinds[at + 1..].contains(&Kind::Number))
    };
    let counted =
        |row: &HeadRow<'_>| row.kinds[0] == Kind::Number && row.kinds[1..].contains(&Kind::Number);
    // Numbers in the first cells are times where they go one way.
    let first: Vec<f64> = used.iter().filter_map(|row| score::number(&row.cells[0])).collect();
    let up = first.windows(2).filter(|pair| pair[1] >= pair[0]).count();
    let down = first.windows(2).filter(|pair| pair[1] <= pair[0]).count();
    let moves = first.windows(2).any(|pair| pair[0] != pair[1]);
    let one_way = moves && up.max(down) * 10 >= first.len().saturating_sub(1) * 9;
    // The widest that a tenth of the lines have: two lines run into one are wider.
    let widths = |good: Vec<&&HeadRow<'_>>| {
        let of = |width: usize| good.iter().filter(|row| row.cells.len() == width).count();
        (good.len() * 2 >= used.len() && !good.is_empty()).then(|| {
            let usual = good.iter().map(|row| row.cells.len());
            usual.filter(|&width| of(width) * 10 >= good.len()).max().unwrap_or(0)
        })
    };
    widths(used.iter().filter(|row| timed(row)).collect()).or_else(|| {
        let good: Vec<&&HeadRow<'_>> = used.iter().filter(|row| counted(row)).collect();
        (one_way && good.len() >= 3 && good.len() * 5 >= used.len() * 4).then(|| widths(good))?
    })
}

/// Whether most lines of a table without a header have so many cells, empty ones at the
/// end left out, or fewer.
fn most_end_at(rows: &[HeadRow<'_>], width: usize) -> bool {
    let used = rows.iter().filter(|row| !row.blank);
    let widths: Vec<usize> = used.map(|row| used_width(&row.cells)).collect();
    let within = widths.iter().filter(|&&own| own <= width).count();
    within * 10 >= widths.len() * 9 && widths.iter().filter(|&&own| own == width).count() > 0
}

/// Where a table without a header begins: behind lines that have not its cells, or no
/// number. A line of its width with numbers is its own, whatever is wrong with it.
fn headless_first(rows: &[HeadRow<'_>], width: usize) -> usize {
    let own = |row: &HeadRow<'_>| {
        used_width(&row.cells) >= width.min(2)
            && row.cells.len() >= width
            && row.kinds[1..].contains(&Kind::Number)
    };
    rows.iter().position(|row| !row.blank && own(row)).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> (Delimiter, Option<usize>, Vec<String>) {
        let text = Text::decode(text.as_bytes(), "t").unwrap();
        let found = find(&text, &[], &[], "t").unwrap();
        (found.delimiter, found.header, found.names)
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
    fn every_delimiter_is_found() {
        for (sign, delimiter) in [
            (",", Delimiter::Comma),
            (";", Delimiter::Semicolon),
            ("\t", Delimiter::Tab),
            ("|", Delimiter::Pipe),
            ("  ", Delimiter::Gaps),
        ] {
            let text =
                "Local time,Pit 1,Meat\n2026-05-02 06:00,103.5,4.0\n2026-05-02 06:01,103.5,4.0\n";
            let (seen, header, names) = found(&text.replace(',', sign));
            assert_eq!((seen, header), (delimiter, Some(0)));
            assert_eq!(names, ["Local time", "Pit 1", "Meat"]);
        }
        let (seen, _, names) =
            found("Time Pit Meat\n2026-05-02 06:00 103.5 4.0\n2026-05-02 06:01 103.5 4.0\n");
        assert_eq!(seen, Delimiter::Spaces);
        assert_eq!(names, ["Time date", "Time clock", "Pit", "Meat"]);
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
        let (_, header, names) = found("1777701600;103,5;4\n1777701660;103;4\n1777701720;103;4\n");
        assert_eq!((header, names.len()), (None, 3));
    }
}
