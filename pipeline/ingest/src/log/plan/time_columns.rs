//! Which columns are the time of a log.

use super::missing;
use crate::error::{IngestError, Place};
use crate::layout::{Layout, alike};
use crate::log::grid::cells::{HeadRow, Kind, majority};
use crate::log::grid::score;
use crate::log::words;

/// 1970-01-01 to 2099-12-31 as a spreadsheet's serial dates: clocks start at the first that were
/// never set.
pub(crate) const SERIAL_DATES: std::ops::Range<f64> = 25_569.0..73_051.0;

/// The time column, or the date column and the clock column.
pub(crate) fn columns(
    names: &[String],
    rows: &[&HeadRow<'_>],
    layout: &Layout,
    named_header: bool,
    place: &Place,
) -> Result<Vec<usize>, IngestError> {
    if !layout.time.columns.is_empty() {
        return layout
            .time
            .columns
            .iter()
            .map(|wanted| {
                names
                    .iter()
                    .position(|name| alike(wanted, name))
                    .ok_or_else(|| missing::column(wanted, names, place))
            })
            .collect();
    }
    let named: Vec<usize> = (0..names.len()).filter(|&c| words::is_time(&names[c])).collect();
    let all: Vec<usize> = (0..names.len()).collect();
    for among in [&named, &all] {
        let of_kind = |kind: Kind| among.iter().copied().find(|&c| majority(rows, c) == Some(kind));
        if let Some(column) = of_kind(Kind::DateTime) {
            return Ok(vec![column]);
        }
        if let (Some(date), Some(clock)) = (of_kind(Kind::Date), of_kind(Kind::Clock)) {
            return Ok(vec![date, clock]);
        }
        // A date column named in the header may have its clock under any name.
        if let (Some(date), Some(clock)) = (
            of_kind(Kind::Date),
            all.iter().copied().find(|&c| majority(rows, c) == Some(Kind::Clock)),
        ) {
            return Ok(vec![date, clock]);
        }
        if let Some(column) = of_kind(Kind::Clock) {
            return Ok(vec![column]);
        }
    }
    let number = |&c: &usize| majority(rows, c) == Some(Kind::Number);
    named
        .iter()
        .copied()
        .filter(number)
        .max_by_key(|&c| words::is_duration(&names[c]))
        // Without a header the first column is the time; scanning has seen it grow.
        .or_else(|| {
            let dated = |&c: &usize| {
                let first = rows.iter().find_map(|row| score::number(row.cells.get(c)?));
                let serial = |value: f64| SERIAL_DATES.contains(&value) && value.fract() != 0.0;
                number(&c) && first.is_some_and(|value| value >= 1e9 || serial(value))
            };
            let counted = (0..names.len().min(3)).find(dated);
            if named_header { None } else { counted.or_else(|| number(&0).then_some(0)) }
        })
        .map(|column| vec![column])
        .ok_or_else(|| IngestError::NoTable {
            place: Box::new(place.clone()),
            what: "no column holds times".to_owned(),
            try_this: "a layout with `time.columns` and `time.format`".to_owned(),
        })
}
