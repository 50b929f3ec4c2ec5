//! Whether a log that was read is worth anything.

use crate::code::Code;
use crate::error::{IngestError, Place};
use crate::log::finding::{Findings, Warning};
use crate::log::finished::LogChannel;
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use cook::{RejectedRow, Role};

/// Refuses a log of which more lines are rejected than used ([`IngestError::MostLinesRejected`]) or
/// no reading is left ([`IngestError::NoTable`]), and warns of one without a pit or meat.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let unusable: Vec<&RejectedRow> = rows
        .rejected
        .iter()
        .filter(|row| row.column.is_none())
        // These lines were understood.
        .filter(|row| {
            ![Code::DuplicateTime, Code::ClockReset].iter().any(|code| code.as_str() == row.code)
        })
        .collect();
    let lines = rows.account.data + rows.account.rejected;
    if unusable.len() as u64 * 2 > lines {
        let mut counts: Vec<(&str, u64)> = Vec::new();
        for row in &unusable {
            match counts.iter_mut().find(|(code, _)| *code == row.code) {
                Some((_, count)) => *count += 1,
                None => counts.push((&row.code, 1)),
            }
        }
        let code = counts.iter().max_by_key(|(_, count)| *count).map_or("", |(code, _)| code);
        let first = unusable.iter().filter(|row| row.code == code).min_by_key(|row| row.line);
        return Err(IngestError::MostLinesRejected {
            place: first
                .map_or_else(
                    || Place::file(plan.shown_as),
                    |row| Place::line(plan.shown_as, row.line, row.text.as_bytes()),
                )
                .into(),
            rejected: unusable.len() as u64,
            lines,
            code: code.to_owned(),
            try_this:
                "`cookstudy inspect` to see how the log was read, and a layout that says it right"
                    .to_owned(),
        });
    }
    if rows.readings.iter().all(LogChannel::is_empty) {
        return Err(IngestError::NoTable {
            place: Place::file(plan.shown_as).into(),
            what: "the log has no reading".to_owned(),
            try_this:
                "look at the file: every cell says that no probe is there, or its rows are missing"
                    .to_owned(),
        });
    }
    let mut findings = Findings::default();
    let lacks = |role: Role| !rows.readings.iter().any(|channel| channel.role == role);
    match (lacks(Role::Pit), lacks(Role::Meat)) {
        (true, true) => findings.warn(Warning::NoRoles {
            headers: rows.readings.iter().map(|channel| channel.header.clone()).collect(),
        }),
        (true, false) => findings.warn(Warning::NoChannel(Role::Pit)),
        (false, true) => findings.warn(Warning::NoChannel(Role::Meat)),
        (false, false) => {}
    }
    Ok(findings)
}
