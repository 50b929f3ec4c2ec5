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
use super::{siblings, sketch, suggest};
use crate::error::IngestError;
use crate::layout::Layout;
use crate::text::{Text, content_hash};
use crate::time::TimeFormat;
use cook::season::DateOrder;
use cook::{Evidence, SourceRecord};

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
    let hash = content_hash.as_str();
    let mut error = match read_once(&text, hash, shown_as, options) {
        Err(error) if error.needs_answer() => error,
        read => return read,
    };
    // An answer may lead to the next question. None is asked twice.
    let mut options = options.clone();
    let mut given: Vec<(String, String)> = Vec::new();
    while let IngestError::NeedsAnswer { asked, .. } = &mut error {
        let id = &asked.question.id;
        let answer = options.answers.to(&asked.question).map(str::to_owned);
        let Some(answer) = answer.filter(|_| given.iter().all(|(known, _)| known != id)) else {
            asked.tell(|setting, value| {
                let answered = options.answered.clone().with(setting, value);
                let options = ReadOptions { answered, ..options.clone() };
                let log = read_once(&text, hash, shown_as, &options).ok()?;
                Some(sketch::of(&log, &options))
            });
            return Err(error);
        };
        if let Some((setting, value)) = asked.settled_by(&answer) {
            options.answered = options.answered.with(setting, &value);
        }
        given.push((id.clone(), answer));
        match read_once(&text, hash, shown_as, &options) {
            Ok(mut log) => {
                log.record.evidence.extend(given.iter().map(|(id, answer)| Evidence {
                    what: "answer".to_owned(),
                    taken_as: answer.clone(),
                    because: format!("it is the answer to {id}"),
                    setting: "questions.toml".to_owned(),
                }));
                log.answers = given;
                return Ok(log);
            }
            Err(next) => error = next,
        }
    }
    Err(error)
}

/// Reads a log by what is known of it now.
fn read_once(
    text: &Text<'_>,
    content_hash: &str,
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    let delimiter = options.answered.delimiter;
    let grid = find(text, &options.layouts, &Layout::built_in(), delimiter, shown_as)?;
    let read = || {
        let facts = Facts::of(text, &grid, shown_as);
        let plan = decide::decide(&facts, options)?;
        let mut rows = pass::read(text, &plan)?;
        let settled = passes::settle(&plan, &mut rows)?;
        Ok(finish(&facts, plan, rows, settled, content_hash.to_owned()))
    };
    read().map_err(|error: IngestError| error.of_kind(&siblings::kind(&grid)))
}

/// The kind of a log ([`Log::kind`]) without reading it through; `None` for what is no log.
pub fn log_kind(bytes: &[u8], shown_as: &str, options: &ReadOptions) -> Option<String> {
    let text = Text::decode(bytes, shown_as).ok()?;
    let delimiter = options.answered.delimiter;
    let grid = find(&text, &options.layouts, &Layout::built_in(), delimiter, shown_as).ok()?;
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
        answers: Vec::new(),
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
