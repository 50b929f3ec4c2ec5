//! Names of columns that stand in two lines, and the line of units.

use crate::layout::Layout;
use crate::log::grid::cells::{HeadRow, Kind, used_width};
use crate::log::grid::find::Grid;
use crate::log::words;
use crate::number;
use cook::season::TemperatureUnit;

/// The lines that name a log's columns.
pub(crate) struct Header {
    /// Indices of the lines with names, in the order of the file.
    pub(crate) rows: Vec<usize>,
    /// Index of the line of units.
    pub(crate) units: Option<usize>,
    /// One name a column.
    pub(crate) names: Vec<String>,
}

/// Finds the second line of names, above or below the one that was found, and the units.
pub(crate) fn header(grid: &Grid<'_>, layout: &Layout) -> Header {
    let mut names = grid.names.clone();
    let Some(at) = grid.header else { return Header { rows: Vec::new(), units: None, names } };
    let mut rows = vec![at];
    let wanted = layout.header_rows.unwrap_or(2);
    let above = at.checked_sub(1).filter(|&i| wanted > 1 && is_names(&grid.head[i], &names));
    let mut next = following(grid, at + 1);
    if let Some(above) = above {
        let filled = filled(&grid.head[above].cells, &names);
        join(&mut names, |i| filled.get(i).map_or("", String::as_str), true);
        rows.insert(0, above);
    } else if let Some(below) =
        next.filter(|&i| wanted > 1 && !has_units(&grid.head[i]) && is_names(&grid.head[i], &names))
    {
        let cells = &grid.head[below].cells;
        join(&mut names, |i| cells.get(i).map_or("", String::as_str), false);
        rows.push(below);
        next = following(grid, below + 1);
    }
    let units = match layout.units_row {
        Some(false) => None,
        Some(true) => next,
        None => next.filter(|&i| has_units(&grid.head[i])),
    };
    for (i, name) in names.iter_mut().enumerate() {
        if name.is_empty() {
            *name = format!("column-{}", i + 1);
        }
    }
    Header { rows, units, names }
}

fn following(grid: &Grid<'_>, from: usize) -> Option<usize> {
    (from..grid.head.len()).find(|&i| !grid.head[i].blank)
}

/// Whether a line holds units: words and blanks only, and a unit of temperature among them.
fn has_units(row: &HeadRow<'_>) -> bool {
    let plain = row.kinds.iter().all(|k| matches!(k, Kind::Text | Kind::Empty | Kind::Missing));
    plain && row.cells.iter().any(|cell| unit(cell).is_some())
}

/// The unit in a cell of a units line: `°F`, `[C]`, `(degF)`.
pub(crate) fn unit(cell: &str) -> Option<TemperatureUnit> {
    number::unit_word(cell.trim_matches(|c: char| "[](){}".contains(c)).as_bytes())
}

/// Whether a line is a second line of names: words, blanks and small numbers under or over
/// at least two columns, and over the time column nothing or its name.
fn is_names(row: &HeadRow<'_>, names: &[String]) -> bool {
    if row.blank || used_width(&row.cells) > names.len() {
        return false;
    }
    let Some(time) = names.iter().position(|name| words::is_time(name)) else { return false };
    let nothing =
        |i: usize| row.kinds.get(i).is_none_or(|kind| matches!(kind, Kind::Empty | Kind::Missing));
    if !nothing(time) && !row.cells[time].eq_ignore_ascii_case(&names[time]) {
        return false;
    }
    let small = |cell: &str| cell.parse::<u8>().is_ok_and(|number| number <= 32);
    let named = |i: usize| row.kinds[i] == Kind::Text || small(&row.cells[i]);
    let all = (0..row.cells.len()).all(|i| i == time || nothing(i) || named(i));
    let texts = row.kinds.iter().filter(|kind| **kind == Kind::Text).count();
    let count = (0..row.cells.len()).filter(|&i| i != time && named(i)).count();
    all && texts > 0 && count >= 2
}

/// A line above names in groups: where the names below repeat, a group's name holds until
/// the next one's.
fn filled(cells: &[String], names: &[String]) -> Vec<String> {
    let repeated = (0..names.len()).any(|i| {
        !names[i].is_empty() && names[..i].iter().any(|n| n.eq_ignore_ascii_case(&names[i]))
    });
    let mut last = String::new();
    (0..names.len())
        .map(|i| {
            let cell = cells.get(i).cloned().unwrap_or_default();
            if !repeated || words::is_time(&names[i]) {
                return cell;
            }
            if !cell.is_empty() {
                last = cell;
            }
            last.clone()
        })
        .collect()
}

fn join<'c>(names: &mut [String], other: impl Fn(usize) -> &'c str, above: bool) {
    for (i, name) in names.iter_mut().enumerate() {
        let more = other(i);
        if number::is_missing(more.as_bytes(), &[]) || more.eq_ignore_ascii_case(name) {
            continue;
        }
        *name = match (name.is_empty(), above) {
            (true, _) => more.to_owned(),
            (false, true) => format!("{more} {name}"),
            (false, false) => format!("{name} {more}"),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::grid::find::find;
    use crate::text::Text;

    fn names(text: &str) -> (Vec<String>, usize, bool) {
        let text = Text::decode(text.as_bytes(), "t").unwrap();
        let grid = find(&text, &[], &[], None, "t").unwrap();
        let header = header(&grid, &Layout::default());
        (header.names, header.rows.len(), header.units.is_some())
    }

    #[test]
    fn names_in_two_lines_are_joined() {
        const ROWS: &str = "2026-05-02 06:00,225,41\n2026-05-02 06:01,226,41\n";
        let (joined, rows, units) =
            names(&format!(",Probe 1,Probe 2\nTime,Pit,Meat\n,°F,°F\n{ROWS}"));
        assert_eq!(joined, ["Time", "Probe 1 Pit", "Probe 2 Meat"]);
        assert_eq!((rows, units), (2, true));
        let (joined, rows, _) = names(&format!("Time,Probe 1,Probe 2\n,Pit,Flat\n{ROWS}"));
        assert_eq!((joined[1].as_str(), rows), ("Probe 1 Pit", 2));
        let (joined, rows, _) = names(&format!("Time,Channel,Channel\n,1,Flat\n{ROWS}"));
        assert_eq!((joined[1].as_str(), rows), ("Channel 1", 2));
    }

    #[test]
    fn a_preamble_and_a_corrupt_line_are_no_names() {
        const ROWS: &str = "2026-05-02 06:00,225,41\n2026-05-02 06:01,226,41\n";
        assert_eq!(names(&format!("Logger,seven,\nTime,Pit,Meat\n{ROWS}")).1, 1);
        assert_eq!(names(&format!("Time,Pit,Meat\nx,y,z\n{ROWS}")).1, 1);
        assert_eq!(names(&format!("Time,Pit,Meat\n,OPEN,OPEN\n{ROWS}")).1, 1);
    }
}
