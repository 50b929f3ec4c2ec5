//! The instant from which the times of an elapsed log count.

use crate::error::{IngestError, Place};
use crate::log::finding::{Finding, Findings};
use crate::log::finished::TimeBase;
use crate::log::plan::decide::Plan;
use crate::log::question::{Asks, Question};
use crate::log::reason::Reason;
use crate::log::rows::ledger::Rows;
use crate::log::words;
use crate::time::{self, TimeFormat};
use crate::zone;

/// Elapsed zero, from the layout or a remark; where neither speaks of one, times stay elapsed.
///
/// # Errors
/// A remark that names a start in words that cannot be read: whatever else the zero would be
/// taken from, the log itself says it lies elsewhere.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let mut findings = Findings::default();
    if !plan.format.is_elapsed() {
        return Ok(findings);
    }
    let zero = zero(plan, rows)?;
    if zero.is_none() && plan.options.asks_start {
        return Err(Question { place: rows.place_of_first(), asks: Asks::StartOfElapsed }.into());
    }
    if let Some((ms, because, is_local)) = zero {
        if is_local && !plan.options.zone_known {
            return Err(Question { place: rows.place_of_first(), asks: Asks::TimeZone }.into());
        }
        rows.zero_ms = Some(ms);
        rows.time = TimeBase::Absolute;
        findings.note(Finding::ElapsedZero { ms, because });
    }
    Ok(findings)
}

/// Elapsed zero, and whether it hangs on the zone.
fn zero(plan: &Plan<'_>, rows: &Rows<'_>) -> Result<Option<(i64, Reason, bool)>, IngestError> {
    let zone = &plan.options.zone;
    let instant = |stamp: time::Stamp| match stamp.offset {
        Some(offset) => stamp.ms - i64::from(offset) * 1000,
        None => zone::instant_of(zone, stamp.ms),
    };
    if let Some(start) = &plan.layout.time.start {
        let stamp = time::parse_iso(start.as_bytes());
        return Ok(stamp.map(|stamp| (instant(stamp), Reason::Layout, stamp.offset.is_none())));
    }
    let remarks = || plan.preamble.iter().chain(&rows.remarks);
    let starts = || remarks().filter(|(key, _)| words::is_start(key));
    let whole = starts().find_map(|(key, value)| {
        let stamp = time::parse_iso(value.as_bytes())
            .or_else(|| time::parse(TimeFormat::MonthName, value.as_bytes(), None))?;
        let because = Reason::Preamble { key: key.clone(), value: value.clone() };
        Some((instant(stamp), because, stamp.offset.is_none()))
    });
    let parts = || {
        let day = remarks()
            .filter(|(key, _)| words::is_date(key))
            .find_map(|(_, value)| time::parse_iso_date(value.as_bytes()))?;
        let (key, value, clock) = starts().find_map(|(key, value)| {
            Some((key, value, time::parse_clock_only(value.as_bytes())?))
        })?;
        let because = Reason::PreambleDateAnd { key: key.clone(), value: value.clone() };
        Some((zone::instant_of(zone, day * time::DAY_MS + clock), because, true))
    };
    if let Some(found) = whole.or_else(parts) {
        return Ok(Some(found));
    }
    let answered = plan.options.answered.start.as_deref();
    if let Some(stamp) = answered.and_then(|start| time::parse_iso(start.as_bytes())) {
        return Ok(Some((instant(stamp), Reason::Answer, stamp.offset.is_none())));
    }
    let Some((key, value)) = starts().next() else { return Ok(None) };
    Err(IngestError::Contradiction {
        place: Place { text: format!("{key}: {value}"), ..Place::file(plan.shown_as) }.into(),
        what: "times are elapsed, and the preamble's start is no date and time that can be read"
            .to_owned(),
        try_this: "layout `time.start`, an ISO 8601 date and time".to_owned(),
    })
}
