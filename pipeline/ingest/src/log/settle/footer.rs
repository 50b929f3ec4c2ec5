//! What follows the last row with a time.

use crate::code::Code;
use crate::log::facts::preamble::key_and_value;
use crate::log::finding::Findings;
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use crate::log::words;
use crate::number;
use crate::text::Splitter;

/// Remarks and summaries are a footer, all else is rejected.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let mut splitter = Splitter::new(plan.delimiter);
    for pending in std::mem::take(&mut rows.pending) {
        let Some(kept) = rows.record_at(pending.record) else { continue };
        let (record, code) = (kept.record(), pending.code);
        let cells = splitter.split(&record);
        let first = cells.iter().find(|cell| !cell.is_empty()).unwrap_or(b"");
        let first = String::from_utf8_lossy(first);
        let letter = first.starts_with(|c: char| c.is_alphabetic() || "-=*_~<".contains(c));
        let is_number =
            |column: usize| number::parse_with_unit(cells.get(column), plan.decimal.sign).is_some();
        let numbers = match plan.long {
            Some(long) => is_number(long.value),
            None => plan.channels.iter().any(|channel| is_number(channel.column)),
        };
        let remark = letter && (words::is_footer(&first) || !numbers);
        if code == Code::BadTime && remark && rows.account.data > 0 {
            rows.account.footer += u64::from(record.lines);
            rows.remarks.push(key_and_value(record.raw, record.line, plan.delimiter));
        } else {
            rows.reject_line(&record, code);
        }
    }
    Findings::default()
}
