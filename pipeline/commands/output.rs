//! Printing: data to stdout, prose to stderr, a closed pipe ends quietly.

use super::{Failure, Format};
use stages::{Column, Table, to_csv, to_json};
use std::io::{self, ErrorKind, IsTerminal, Write};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Says something to the person, on stderr.
pub(crate) fn say(text: &str) {
    // A closed stderr leaves nobody to tell.
    let _ = writeln!(io::stderr(), "{text}");
}

/// Prints data on stdout. A reader that has gone away (`| head`) is no failure.
pub(crate) fn print(text: &str) -> Result<(), Failure> {
    let mut stdout = io::stdout().lock();
    match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(()),
    }
}

/// Prints a table in the form asked for.
pub(crate) fn print_table(table: &Table, format: Format) -> Result<(), Failure> {
    print(&match format {
        Format::Table => {
            let filled: Vec<&str> = table
                .columns()
                .iter()
                .filter(|(_, column)| column.missing() < column.len())
                .map(|(name, _)| name.as_str())
                .collect();
            aligned(&table.select(&filled), room())
        }
        Format::Json => to_json(table),
        Format::Csv => to_csv(table),
    })
}

/// Prints a table for people with every column, also where no row has a value.
pub(crate) fn print_aligned(table: &Table) -> Result<(), Failure> {
    print(&aligned(table, room()))
}

/// Columns between two columns.
const GAP: usize = 2;
/// No terminal is taken for narrower: tables folded further could not be read.
const NARROWEST: usize = 40;

/// How wide the terminal is; `None` where stdout leads into a file or another program, which take a
/// line of any length.
fn room() -> Option<usize> {
    let (terminal_size::Width(wide), _) =
        terminal_size::terminal_size_of(io::stdout()).filter(|_| io::stdout().is_terminal())?;
    Some(usize::from(wide).max(NARROWEST))
}

/// A column as text: its name, then its cells.
struct Shown {
    right: bool,
    cells: Vec<String>,
    width: usize,
}

impl Shown {
    fn of(name: &str, column: &Column, rows: usize) -> Self {
        let mut cells = vec![name.to_owned()];
        cells.extend((0..rows).map(|row| rounded(column, row)));
        let width = cells.iter().map(|cell| cell.width()).max().unwrap_or(0);
        Self { right: matches!(column, Column::Float(_) | Column::Int(_)), cells, width }
    }

    /// The lines of a cell, padded to the width where that is wider than the widest cell.
    fn lines(&self, row: usize, room: usize) -> Vec<String> {
        let width = self.width.min(room);
        let pad = |line: String| {
            let pad = " ".repeat(width.saturating_sub(line.width()));
            if self.right { pad + &line } else { line + &pad }
        };
        folded(&self.cells[row], width).into_iter().map(pad).collect()
    }
}

/// Columns aligned for reading: numbers to the right and rounded, text to the left. A table wider than
/// the room is folded: as many columns as fit stand side by side, and the others follow below, the
/// first column standing before each part again.
fn aligned(table: &Table, room: Option<usize>) -> String {
    let mut columns =
        table.columns().iter().map(|(name, column)| Shown::of(name, column, table.rows()));
    let Some(first) = columns.next() else { return String::from("\n") };
    let others: Vec<Shown> = columns.collect();
    let room = room.unwrap_or(usize::MAX);
    // Half of the room is left to what is said of the names.
    let beside = room - GAP - first.width.min(room / 2);
    let mut parts: Vec<Vec<&Shown>> = vec![Vec::new()];
    let mut taken = 0;
    for column in &others {
        let width = column.width.min(beside);
        if taken > 0 && width + GAP > beside - taken {
            parts.push(Vec::new());
            taken = 0;
        }
        taken += width + if taken > 0 { GAP } else { 0 };
        parts.last_mut().expect("never empty").push(column);
    }
    let mut out = String::new();
    for (place, part) in parts.iter().enumerate() {
        if place > 0 {
            out.push('\n');
        }
        for row in 0..=table.rows() {
            let cells = std::iter::once(first.lines(row, room / 2))
                .chain(part.iter().map(|column| column.lines(row, beside)))
                .collect::<Vec<_>>();
            let high = cells.iter().map(Vec::len).max().unwrap_or(0);
            for line in 0..high {
                let blank = |cell: &Vec<String>| " ".repeat(cell[0].width());
                let texts: Vec<String> = cells
                    .iter()
                    .map(|cell| cell.get(line).cloned().unwrap_or_else(|| blank(cell)))
                    .collect();
                out.push_str(texts.join(&" ".repeat(GAP)).trim_end());
                out.push('\n');
            }
        }
    }
    out
}

/// A text in lines of so many columns, parted between words where words are short enough.
fn folded(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut taken = 0;
    for word in text.split_inclusive(' ') {
        if taken > 0 && taken + word.trim_end().width() > width {
            lines.push(String::new());
            taken = 0;
        }
        for letter in word.chars() {
            let wide = letter.width().unwrap_or(0);
            if taken + wide > width && letter != ' ' {
                lines.push(String::new());
                taken = 0;
            }
            lines.last_mut().expect("never empty").push(letter);
            taken += wide;
        }
    }
    for line in &mut lines {
        line.truncate(line.trim_end().len());
    }
    lines
}

fn rounded(column: &Column, row: usize) -> String {
    match column {
        Column::Float(values) => values[row].map_or("–".into(), |x| {
            let decimals = if x.abs() < 10.0 { 3 } else { 1 };
            format!("{x:.decimals$}")
        }),
        _ => Some(stages::cell(column, row)).filter(|c| !c.is_empty()).unwrap_or("–".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn columns_align_and_missing_values_are_dashes() {
        let table = Table::new()
            .with("cook", Column::Text(vec![Some("früh".into()), Some("b".into())]))
            .with("stall_min", Column::Float(vec![Some(123.456), None]))
            .with("stalls", Column::Int(vec![Some(1), Some(12)]))
            .with("arm", Column::Text(vec![None, None]));
        assert_eq!(
            aligned(&table, None),
            "cook  stall_min  stalls  arm\nfrüh      123.5       1  –\nb             –      12  –\n"
        );
    }

    #[test]
    fn a_table_wider_than_the_terminal_is_folded_and_nothing_is_lost() {
        let text =
            |cells: [&str; 2]| Column::Text(cells.map(|cell| Some(cell.to_owned())).to_vec());
        let table = Table::new()
            .with("claim", text(["oak", "foil-or-paper"]))
            .with("verdict", text(["open", "yes"]))
            .with("effect", Column::Float(vec![Some(-12.25), None]))
            .with("reason", text(["too few cooks of oak to tell them apart yet", "–"]));
        insta::assert_snapshot!(aligned(&table, Some(40)), @r"
        claim          verdict  effect
        oak            open      -12.2
        foil-or-paper  yes           –

        claim          reason
        oak            too few cooks of oak to
                       tell them apart yet
        foil-or-paper  –
        ");
        let wide = aligned(&table, None);
        assert_eq!(wide.lines().count(), 3);
        // Every width keeps its word, and every cell is there.
        for room in 40..120 {
            let folded = aligned(&table, Some(room));
            assert!(folded.lines().all(|line| line.width() <= room), "{room}: {folded}");
            let words =
                |text: &str| text.split_whitespace().map(str::to_owned).collect::<BTreeSet<_>>();
            assert_eq!(words(&folded), words(&wide), "{room}");
        }
    }

    #[test]
    fn a_word_wider_than_its_column_is_parted() {
        assert_eq!(folded("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(folded("", 3), [""]);
        // Letters that are two columns wide.
        assert_eq!(folded("焼肉焼肉", 5), ["焼肉", "焼肉"]);
    }
}
