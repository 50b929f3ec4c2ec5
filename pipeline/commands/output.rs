//! Printing: data to stdout, prose to stderr, a closed pipe ends quietly.

use super::{Failure, Format};
use stages::{Column, Table, to_csv, to_json};
use std::io::{self, ErrorKind, Write};

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
            aligned(&table.select(&filled))
        }
        Format::Json => to_json(table),
        Format::Csv => to_csv(table),
    })
}

/// Prints a table for people with every column, also where no row has a value.
pub(crate) fn print_aligned(table: &Table) -> Result<(), Failure> {
    print(&aligned(table))
}

/// Columns aligned for reading: numbers to the right and rounded, text to the left.
fn aligned(table: &Table) -> String {
    let mut columns: Vec<(bool, Vec<String>)> = Vec::new();
    for (name, column) in table.columns() {
        let right = matches!(column, Column::Float(_) | Column::Int(_));
        let mut cells = vec![name.clone()];
        cells.extend((0..table.rows()).map(|row| rounded(column, row)));
        let width = cells.iter().map(|cell| cell.chars().count()).max().unwrap_or(0);
        for cell in &mut cells {
            let pad = " ".repeat(width - cell.chars().count());
            *cell = if right { pad + cell } else { format!("{cell}{pad}") };
        }
        columns.push((right, cells));
    }
    let mut out = String::new();
    for row in 0..=table.rows() {
        let line: Vec<&str> = columns.iter().map(|(_, cells)| cells[row].as_str()).collect();
        out.push_str(line.join("  ").trim_end());
        out.push('\n');
    }
    out
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

    #[test]
    fn columns_align_and_missing_values_are_dashes() {
        let table = Table::new()
            .with("cook", Column::Text(vec![Some("früh".into()), Some("b".into())]))
            .with("stall_min", Column::Float(vec![Some(123.456), None]))
            .with("stalls", Column::Int(vec![Some(1), Some(12)]))
            .with("arm", Column::Text(vec![None, None]));
        assert_eq!(
            aligned(&table),
            "cook  stall_min  stalls  arm\nfrüh      123.5       1  –\nb             –      12  –\n"
        );
    }
}
