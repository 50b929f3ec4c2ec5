//! A clock that was never set.

use crate::error::IngestError;
use crate::log::finding::{Finding, Findings};
use crate::log::plan::decide::Plan;
use crate::log::question::{Asks, Question};
use crate::log::rows::ledger::Rows;
use crate::log::settle::resets::NEVER_SET_MS;
use crate::time;
use crate::time::TimeFormat;
use columns::Packed;

/// Whether no time of a log is of a clock that was set.
fn never_set(ms: &Packed<i64>) -> bool {
    !ms.is_empty() && ms.iter().all(|ms| ms < NEVER_SET_MS)
}

/// Where all times are of a clock that was never set, the layout gives the instant of the first
/// line, or nobody can tell when it was.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let mut findings = Findings::default();
    if plan.format.is_elapsed() || plan.format == TimeFormat::Clock {
        return Ok(findings);
    }
    let first = rows.series.iter().flat_map(|series| series.ms.iter()).min();
    let Some(first_ms) = first else { return Ok(findings) };
    if !rows.series.iter().all(|series| series.ms.is_empty() || never_set(&series.ms)) {
        return Ok(findings);
    }
    let answered = &plan.options.answered;
    if answered.as_dated {
        return Ok(findings);
    }
    let layout = plan.layout.time.start.as_deref();
    let start = layout.or(answered.start.as_deref());
    let stamp = start.and_then(|start| time::parse_iso(start.as_bytes()));
    let (Some(start), Some(stamp)) = (start, stamp) else {
        let place = rows.place_of_first();
        return Err(Question { place, asks: Asks::ClockNeverSet { first_ms } }.into());
    };
    let shift = stamp.ms - i64::from(stamp.offset.unwrap_or(0)) * 1000 - first_ms;
    for series in &mut rows.series {
        series.ms.map(|_, ms| ms + shift);
        series.local.map(|_, _| stamp.offset.is_none());
        series.retimed = (0..series.ms.len()).collect();
    }
    findings.note(Finding::ClockNeverSet { start: start.to_owned() });
    Ok(findings)
}
