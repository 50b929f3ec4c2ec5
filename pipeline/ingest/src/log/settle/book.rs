//! The book of what was rejected and what is missing.

use crate::log::finding::Findings;
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use crate::text::Splitter;

/// Books the rows and cells that were rejected, and the missing cells.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let mut splitter = Splitter::new(plan.delimiter);
    for index in 0..rows.series.len() {
        let mut gone = vec![false; rows.series[index].ms.len()];
        for (row, code) in std::mem::take(&mut rows.series[index].out) {
            if !std::mem::replace(&mut gone[row], true) {
                rows.reject_row(index, row, code);
            }
        }
        let mut cells_out = 0;
        for (row, c, code) in std::mem::take(&mut rows.series[index].cells_out) {
            if gone[row] {
                continue;
            }
            let Some(record) = rows.record_of(&rows.series[index], row) else { continue };
            let channel = &rows.channels[plan.long.map_or(c, |_| index)];
            let column = plan.long.map_or(channel.column, |long| long.value);
            let header = channel.header.clone();
            let text = splitter.split(&record).get(column);
            rows.reject(&record, code, Some(&header), text);
            cells_out += 1;
        }
        let kept = gone.iter().filter(|gone| !**gone).count();
        let values = &rows.series[index].values;
        let readings: usize = values
            .iter()
            .map(|values| {
                values.iter().zip(&gone).filter(|(v, gone)| !v.is_nan() && !**gone).count()
            })
            .sum();
        rows.account.rejected_cells += cells_out;
        rows.account.missing += (kept * values.len() - readings) as u64 - cells_out;
    }
    Findings::default()
}
