//! What the first lines of a log look like, cell by cell.

use crate::layout::Delimiter;
use crate::number;
use crate::text::{HEAD_RECORDS, Record, Splitter, Text};
use crate::time;
use crate::time::TimeFormat;

/// What a cell looks like on its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
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

pub(crate) fn kind(cell: &[u8]) -> Kind {
    if cell.is_empty() {
        return Kind::Empty;
    }
    // Nine of ten cells end in the first lines; every cell of the head is asked under every
    // delimiter.
    if !cell.iter().any(u8::is_ascii_digit) {
        return if number::is_missing(cell, &[]) { Kind::Missing } else { Kind::Text };
    }
    if number::parse_with_unit(cell, b'.').is_some()
        || (cell.contains(&b',') && number::parse_with_unit(cell, b',').is_some())
    {
        return Kind::Number;
    }
    let parted = |b: &&u8| matches!(b, b'-' | b'/' | b'.' | b' ' | b'T');
    let words = cell.iter().filter(|b| b.is_ascii_alphabetic()).count() >= 3;
    if cell.iter().filter(parted).count() >= 1 {
        let formats = || DATED.iter().filter(|format| words || **format != TimeFormat::MonthName);
        let date = formats().find_map(|&format| Some((format, time::parse_date(format, cell)?.1)));
        match date {
            Some((_, [])) => return Kind::Date,
            Some(_) if formats().any(|&f| time::parse(f, cell, None).is_some()) => {
                return Kind::DateTime;
            }
            _ => {}
        }
    }
    if time::parse_clock_with_offset(cell).is_some()
        || [TimeFormat::ElapsedHms, TimeFormat::ElapsedMs]
            .iter()
            .any(|&format| time::parse(format, cell, None).is_some())
    {
        return Kind::Clock;
    }
    if number::is_missing(cell, &[]) { Kind::Missing } else { Kind::Text }
}

/// One record of the head, under a delimiter.
pub(crate) struct HeadRow<'t> {
    pub(crate) record: Record<'t>,
    pub(crate) cells: Vec<String>,
    pub(crate) kinds: Vec<Kind>,
    pub(crate) blank: bool,
}

/// The head of a log under a delimiter; `None` where fewer than a fifth of its lines have it.
pub(crate) fn head<'t>(text: &'t Text<'_>, delimiter: Delimiter) -> Option<Vec<HeadRow<'t>>> {
    let has = |raw: &[u8]| match delimiter {
        Delimiter::Gaps => memchr::memmem::find(raw, b"  ").is_some(),
        _ => memchr::memchr(delimiter.byte(), raw).is_some(),
    };
    let (mut lines, mut with) = (0, 0);
    for record in text.records(delimiter.byte()).take(HEAD_RECORDS) {
        if !record.is_blank(delimiter.byte()) {
            lines += 1;
            with += usize::from(has(record.raw));
        }
    }
    if with * 5 < lines || with == 0 {
        return None;
    }
    let mut splitter = Splitter::new(delimiter.byte());
    let rows = text
        .records(delimiter.byte())
        .take(HEAD_RECORDS)
        .map(|record| {
            let cells = splitter.split(&record).texts();
            let kinds = cells.iter().map(|cell| kind(cell.as_bytes())).collect();
            HeadRow { record, cells, kinds, blank: record.is_blank(delimiter.byte()) }
        })
        .collect();
    Some(rows)
}

/// Cells up to the last that is not empty.
pub(crate) fn used_width(cells: &[String]) -> usize {
    cells.iter().rposition(|cell| !cell.is_empty()).map_or(0, |last| last + 1)
}

/// The commonest kind of a column's cells that are neither empty nor words for none.
pub(crate) fn majority(rows: &[&HeadRow<'_>], column: usize) -> Option<Kind> {
    let kinds = [Kind::Number, Kind::DateTime, Kind::Date, Kind::Clock, Kind::Text];
    let counts =
        kinds.map(|kind| rows.iter().filter(|row| row.kinds.get(column) == Some(&kind)).count());
    let best = (0..kinds.len()).max_by_key(|&i| (counts[i], std::cmp::Reverse(i)))?;
    (counts[best] > 0).then_some(kinds[best])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_of_cells() {
        assert_eq!(kind(b"103,5"), Kind::Number);
        assert_eq!(kind(b"2026-05-02"), Kind::Date);
        assert_eq!(kind(b"02.05.2026 06:00"), Kind::DateTime);
        assert_eq!(kind(b"06:00:30"), Kind::Clock);
        assert_eq!(kind(b"1d 06:00:30"), Kind::Clock);
        assert_eq!(kind(b"---"), Kind::Missing);
        assert_eq!(kind(b"Pit"), Kind::Text);
    }
}
