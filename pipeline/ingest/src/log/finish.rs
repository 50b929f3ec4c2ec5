//! The steps from bytes to a log.

use super::facts::head::Facts;
use super::finding::Findings;
use super::finished::Log;
use super::grid::find::find;
use super::options::ReadOptions;
use super::plan::decide::{self, Plan};
use super::rows::ledger::Rows;
use super::rows::pass;
use super::settle::passes;
use super::{siblings, suggest};
use crate::error::IngestError;
use crate::layout::Layout;
use crate::text::{Text, content_hash};
use crate::time::TimeFormat;
use cook::SourceRecord;
use cook::season::DateOrder;

/// Reads a log from its bytes. `shown_as` is the path that messages and records use.
///
/// # Errors
/// See [`IngestError`]: another encoding, no table, a question that only the user can
/// answer, a contradiction, or more lines rejected than used.
pub fn read_log_bytes(
    bytes: &[u8],
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    read_hashed(bytes, content_hash(bytes), shown_as, options)
}

/// Reads a log of which the hash is known already.
pub(crate) fn read_hashed(
    bytes: &[u8],
    content_hash: String,
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    let text = Text::decode(bytes, shown_as)?;
    let grid = find(&text, &options.layouts, &Layout::built_in(), shown_as)?;
    let facts = Facts::of(&text, &grid, shown_as);
    let plan = decide::decide(&facts, options)?;
    let mut rows = pass::read(&text, &plan)?;
    let settled = passes::settle(&plan, &mut rows)?;
    Ok(finish(&facts, plan, rows, settled, content_hash))
}

/// The kind of a log ([`Log::kind`]) without reading it through; `None` for what is no log.
pub fn log_kind(bytes: &[u8], shown_as: &str, options: &ReadOptions) -> Option<String> {
    let text = Text::decode(bytes, shown_as).ok()?;
    let grid = find(&text, &options.layouts, &Layout::built_in(), shown_as).ok()?;
    Some(siblings::kind(&grid))
}

/// The log, from all that the steps found.
fn finish(
    facts: &Facts<'_>,
    plan: Plan<'_>,
    mut rows: Rows<'_>,
    settled: Findings,
    content_hash: String,
) -> Log {
    let layout = suggest::layout(facts, &plan, &rows.channels, &rows.guessed);
    let mut findings = plan.findings;
    findings.extend(rows.findings);
    findings.extend(settled);
    let mut metadata = plan.preamble;
    metadata.extend(rows.remarks);
    rows.rejected.sort_by(|a, b| (a.line, &a.column).cmp(&(b.line, &b.column)));
    Log {
        channels: rows.readings,
        time: rows.time,
        record: SourceRecord {
            path: plan.shown_as.to_owned(),
            content_hash,
            layout: layout.name.clone(),
            evidence: findings.evidence(),
            account: rows.account,
        },
        rejected: rows.rejected,
        metadata,
        warnings: findings.warnings(),
        kind: siblings::kind(facts.grid),
        first_line: rows.first_line,
        layout,
        date_order: plan.order_proven.then(|| proven(plan.format)).flatten(),
    }
}

/// The order of day and month that a format has.
fn proven(format: TimeFormat) -> Option<DateOrder> {
    match format {
        TimeFormat::DayFirst => Some(DateOrder::DayFirst),
        TimeFormat::MonthFirst => Some(DateOrder::MonthFirst),
        TimeFormat::YearFirst => Some(DateOrder::YearFirst),
        _ => None,
    }
}
