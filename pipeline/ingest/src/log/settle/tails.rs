//! Lines and cells that lost their end.

use crate::code::Code;
use crate::log::finding::{Finding, Findings};
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::CellAt;
use crate::log::rows::tails::decimals;
use crate::number;
use crate::text::Splitter;
use std::collections::{BTreeSet, HashMap};

/// Widths of short lines that occur this often, or in this share of lines, are the
/// logger's way; others are lines that lost something.
const SHORT_LINES: usize = 3;
const SHORT_SHARE: usize = 100;

/// Rejects cells that lost decimals, then lines that lost cells, then the last cell of
/// a log that ends within it.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let cut: BTreeSet<(usize, usize, usize)> = rows.ends.tails.cut().into_iter().collect();
    let cut_rows: BTreeSet<(usize, usize)> = cut.iter().map(|&(s, row, _)| (s, row)).collect();
    for &(series, row, channel) in &cut {
        cut_cell(rows, series, row, channel);
    }
    let used = plan.names.len();
    let last = match plan.long {
        Some(long) => (long.value + 1 == used).then_some(0),
        None => plan.channels.iter().position(|ch| ch.column + 1 == used),
    };
    for (series, row, cells) in rows.ends.tails.without_end() {
        if let Some(channel) = last.filter(|_| cells == used) {
            cut_cell(rows, series, row, channel);
        }
    }
    let findings = short_lines(plan, rows, &cut_rows);
    last_cell(plan, rows);
    findings
}

fn cut_cell(rows: &mut Rows<'_>, series: usize, row: usize, channel: usize) {
    let values = &mut rows.series[series].values[channel];
    if !values.at(row).is_nan() {
        values.set(row, f32::NAN);
        rows.series[series].cells_out.push((row, channel, Code::TruncatedCell));
        rows.suspects.retain(|s| s.at != CellAt { series, row, channel });
    }
}

/// Short lines: of a usual width they lack only trailing values; else they lost some
/// cell and nobody knows which.
fn short_lines(
    plan: &Plan<'_>,
    rows: &mut Rows<'_>,
    cut_rows: &BTreeSet<(usize, usize)>,
) -> Findings {
    let all: usize = rows.series.iter().map(|series| series.ms.len()).sum();
    let mut widths: HashMap<usize, usize> = HashMap::new();
    for &(_, _, width) in &rows.ends.short {
        *widths.entry(width).or_default() += 1;
    }
    let usual = |width: usize| {
        let count = widths.get(&width).copied().unwrap_or(0);
        count >= SHORT_LINES && count * SHORT_SHARE >= all
    };
    // No full line ends in an empty cell, and a fifth of all end early: the logger leaves
    // trailing empty cells out, whichever they are.
    let short: usize = widths.values().filter(|&&count| count >= SHORT_LINES).sum();
    let ragged = rows.ends.empty == 0 && short * 5 >= all;
    // Where spaces part cells, an empty cell cannot be seen: any may be the missing one.
    let spaced = matches!(plan.delimiter, b' ' | crate::text::GAP);
    let mut accepted = 0_u64;
    let mut out = Vec::new();
    for &(series, row, width) in &rows.ends.short {
        let record = rows.record_of(&rows.series[series], row);
        if !record.is_some_and(|kept| kept.record().ended) {
            out.push((series, row, Code::TruncatedLine));
        } else if (usual(width) || ragged)
            && !spaced
            && !cut_rows.contains(&(series, row))
            && !is_cut(plan, rows, series, row, width - 1)
        {
            accepted += 1;
        } else {
            out.push((series, row, Code::TooFewCells));
        }
    }
    for (series, row, code) in out {
        rows.series[series].out.push((row, code));
    }
    let mut findings = Findings::default();
    if accepted > 0 {
        findings.note(Finding::ShortLines { lines: accepted });
    }
    findings
}

/// Whether the last cell of a short line has fewer decimals than the cells of the same
/// column above or below, or is less than half of both.
fn is_cut(plan: &Plan<'_>, rows: &Rows<'_>, series: usize, row: usize, column: usize) -> bool {
    let series = &rows.series[series];
    let mut splitter = Splitter::new(plan.delimiter);
    let mut cell = |row: usize| -> Option<(usize, f64)> {
        let kept = rows.record_of(series, row)?;
        let cell = splitter.split(&kept.record()).get(column).to_vec();
        let value = number::parse_with_unit(&cell, plan.decimal.sign)?.0;
        Some((decimals(&cell, plan.decimal.sign)?, value.abs()))
    };
    let holds_values = match plan.long {
        Some(long) => long.value == column,
        None => plan.channels.iter().any(|channel| channel.column == column),
    };
    if !holds_values {
        return false;
    }
    let Some((own, value)) = cell(row) else { return false };
    let near: Vec<(usize, f64)> = [row.checked_sub(1), Some(row + 1)]
        .into_iter()
        .flatten()
        .filter(|&other| other < series.ms.len())
        .filter_map(cell)
        .collect();
    near.iter().any(|&(decimals, _)| own < decimals)
        || (!near.is_empty() && near.iter().all(|&(_, other)| value < other / 2.0))
}

/// The last cell of a log that ends without a line end may be cut: it is rejected
/// where it is empty, has fewer decimals or is less than half of the one above.
fn last_cell(plan: &Plan<'_>, rows: &mut Rows<'_>) {
    let latest = (0..rows.series.len()).filter(|&s| !rows.series[s].ms.is_empty());
    let Some(index) = latest.max_by_key(|&s| rows.series[s].start.last()) else {
        return;
    };
    let series = &rows.series[index];
    let Some(row) = series.ms.len().checked_sub(1).filter(|&row| row > 0) else { return };
    let (Some(above), Some(last)) = (rows.record_of(series, row - 1), rows.record_of(series, row))
    else {
        return;
    };
    let (channel, at) = match plan.long {
        Some(long) if long.value + 1 == plan.names.len() => (0, long.value),
        Some(_) => return,
        None => {
            let end = plan.names.len();
            let Some(c) = plan.channels.iter().position(|ch| ch.column + 1 == end) else {
                return;
            };
            (c, end - 1)
        }
    };
    let (above, last) = (above.record(), last.record());
    if last.ended {
        return;
    }
    let mut splitter = Splitter::new(plan.delimiter);
    let above = splitter.split(&above).get(at).to_vec();
    let cut = splitter.split(&last).get(at).to_vec();
    let value = |cell: &[u8]| number::parse_with_unit(cell, plan.decimal.sign).map(|v| v.0);
    match (value(&above), value(&cut)) {
        (Some(_), None) if cut.is_empty() => {
            rows.series[index].cells_out.push((row, channel, Code::TruncatedCell));
        }
        (Some(higher), Some(lower))
            if lower.abs() < higher.abs() / 2.0
                || decimals(&cut, plan.decimal.sign) < decimals(&above, plan.decimal.sign) =>
        {
            cut_cell(rows, index, row, channel);
        }
        _ => {}
    }
}
