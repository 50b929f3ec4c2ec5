//! The book of what was rejected and what is missing.

use crate::log::finding::Findings;
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use crate::text::Splitter;
use std::collections::HashSet;

/// Books the rows and cells that were rejected, and the missing cells.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let mut splitter = Splitter::new(plan.delimiter);
    for index in 0..rows.series.len() {
        let mut gone: HashSet<usize> = HashSet::new();
        for (row, code) in std::mem::take(&mut rows.series[index].out) {
            if gone.insert(row) {
                rows.reject_row(index, row, code);
            }
        }
        let mut cells_out = 0;
        for (row, c, code) in std::mem::take(&mut rows.series[index].cells_out) {
            if gone.contains(&row) {
                continue;
            }
            let Some(kept) = rows.record_of(&rows.series[index], row) else { continue };
            let record = kept.record();
            let channel = &rows.channels[plan.long.map_or(c, |_| index)];
            let column = plan.long.map_or(channel.column, |long| long.value);
            let header = channel.header.clone();
            let text = splitter.split(&record).get(column);
            rows.reject(&record, code, Some(&header), text);
            cells_out += 1;
        }
        let values = &rows.series[index].values;
        let kept = rows.series[index].ms.len() - gone.len();
        let readings: usize = values
            .iter()
            .map(|values| {
                let is_kept = |row: &usize| gone.is_empty() || !gone.contains(row);
                values.iter().enumerate().filter(|(row, v)| !v.is_nan() && is_kept(row)).count()
            })
            .sum();
        rows.account.rejected_cells += cells_out;
        rows.account.missing += (kept * values.len() - readings) as u64 - cells_out;
    }
    Findings::default()
}
