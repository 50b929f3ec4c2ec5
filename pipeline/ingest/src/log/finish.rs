//! The steps from bytes to a log.

use super::facts::head::Facts;
use super::finding::Findings;
use super::finished::{Log, UnitSaid};
use super::grid::find::find;
use super::options::ReadOptions;
use super::physics::{self, Change, Scale};
use super::plan::decide::{self, Plan};
use super::question::{Asks, Question};
use super::rows::ledger::Rows;
use super::rows::pass;
use super::settle::{passes, scale};
use super::shown::letter;
use super::{siblings, sketch, suggest};
use crate::error::{IngestError, Place};
use crate::layout::Layout;
use crate::question::Setting;
use crate::text::{Text, content_hash};
use crate::time::TimeFormat;
use cook::season::{DateOrder, TemperatureUnit};
use cook::{Evidence, QuestionCode, SourceRecord};

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
    read_hashed(&Text::decode(bytes, shown_as)?, &content_hash(bytes), shown_as, options)
}

/// Reads a log of which the hash is known already.
pub(crate) fn read_hashed(
    text: &Text<'_>,
    content_hash: &str,
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    let read = read_answered(text, content_hash, shown_as, options);
    text.check(shown_as)?;
    read
}

/// Reads a log by the answers to what it asks.
fn read_answered(
    text: &Text<'_>,
    content_hash: &str,
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    let mut error = match read_checked(text, content_hash, shown_as, options) {
        Err(error) if error.needs_answer() => error,
        read => return read,
    };
    // An answer may lead to the next question. None is asked twice.
    let mut options = options.clone();
    let mut given: Vec<(String, String)> = Vec::new();
    while let IngestError::NeedsAnswer { asked, .. } = &mut error {
        if asked.question.code == QuestionCode::UnitOfTemperatures
            && options.answers.to(&asked.question).is_none()
            && let Some(next) = in_tenths(text, content_hash, shown_as, &options)
        {
            error = next;
            continue;
        }
        let id = &asked.question.id;
        let answer = options.answers.to(&asked.question).map(str::to_owned);
        let Some(answer) = answer.filter(|_| given.iter().all(|(known, _)| known != id)) else {
            if asked.question.code == QuestionCode::UnitOfTemperatures
                && let Some(log) = by_physics(text, content_hash, shown_as, &options)
            {
                return Ok(log);
            }
            asked.tell(|setting, value| {
                let answered = options.answered.clone().with(setting, value);
                let options = ReadOptions { answered, ..options.clone() };
                let log = read_once(text, content_hash, shown_as, &options).ok()?;
                Some(sketch::of(&log, &options))
            });
            return Err(error);
        };
        if let Some((setting, value)) = asked.settled_by(&answer) {
            options.answered = options.answered.with(setting, &value);
        }
        given.push((id.clone(), answer));
        match read_checked(text, content_hash, shown_as, &options) {
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

/// Reads a log with the likeliest answer to each question, for a layout to begin with; `None` where
/// no answer lets it be read.
pub(crate) fn read_likeliest(
    text: &Text<'_>,
    content_hash: &str,
    shown_as: &str,
    options: &ReadOptions,
) -> Option<Log> {
    let mut options = options.clone();
    let mut given: Vec<String> = Vec::new();
    loop {
        let read = read_hashed(text, content_hash, shown_as, &options);
        let question = match &read {
            Ok(_) => return read.ok(),
            Err(error) => error.question()?,
        };
        let answer = question.answers.iter().find(|answer| !answer.take.starts_with('<'))?;
        if given.contains(&question.id) {
            return None;
        }
        options.answers = options.answers.with(&question.id, &answer.take);
        given.push(question.id.clone());
    }
}

/// What a log asks behind its first question, were that answered in the likeliest way: all of it can be
/// asked at once. A question that another answer would not raise may be among it.
pub(crate) fn further_questions(
    text: &Text<'_>,
    shown_as: &str,
    options: &ReadOptions,
) -> Vec<cook::Question> {
    // Stand-ins for a day and a time that nobody has told yet.
    const DAY: &str = "2024-06-01";
    const TIME: &str = "2024-06-01 12:00";
    let mut options = options.clone();
    let mut asked: Vec<cook::Question> = Vec::new();
    while let Err(error) = read_hashed(text, "", shown_as, &options) {
        let Some(question) = error.question() else { break };
        if asked.iter().any(|known| known.id == question.id) {
            break;
        }
        options.zone_known |= question.code == cook::QuestionCode::TimeZone;
        let take = match question.answers.first().map(|answer| answer.take.as_str()) {
            Some("<date>") => DAY,
            Some("<time>") => TIME,
            Some(take) => take,
            None => break,
        };
        options.answers = options.answers.with(&question.id, take);
        asked.push(question.clone());
    }
    asked.drain(..asked.len().min(1));
    asked
}

/// Reads a log of which nothing says the unit in the only one in which it is a cook.
fn by_physics(
    text: &Text<'_>,
    content_hash: &str,
    shown_as: &str,
    options: &ReadOptions,
) -> Option<Log> {
    let read = |unit: &str| {
        let answered = options.answered.clone().with(Setting::Unit, unit);
        let options = ReadOptions { answered, ..options.clone() };
        let log = read_checked(text, content_hash, shown_as, &options).ok()?;
        physics::is_cook(&log).then_some(log)
    };
    let (mut log, unit, other) = match (read("F"), read("C")) {
        (Some(log), None) => (log, TemperatureUnit::Fahrenheit, "°C"),
        (None, Some(log)) => (log, TemperatureUnit::Celsius, "°F"),
        _ => return None,
    };
    for evidence in &mut log.record.evidence {
        if evidence.what.starts_with("unit where") {
            evidence.because =
                format!("only so is it a cook; in {other} no meat and pit are like that");
        }
    }
    log.unit_said = UnitSaid::Log;
    log.unit_by_physics = Some(unit);
    Some(log)
}

/// The question about a log of which nothing says the unit and that is a cook only in tenths of a degree, or
/// in kelvins.
fn in_tenths(
    text: &Text<'_>,
    content_hash: &str,
    shown_as: &str,
    options: &ReadOptions,
) -> Option<IngestError> {
    let answered = options.answered.clone().with(Setting::Unit, "F");
    // No hour of a zone makes a degree of it.
    let as_read = ReadOptions { answered, zone_known: true, ..options.clone() };
    let log = read_once(text, content_hash, shown_as, &as_read).ok()?;
    let likely: Vec<(&str, Scale)> =
        Scale::ALL.into_iter().filter(|(_, scale)| physics::is_cook_on(&log, *scale)).collect();
    if likely.is_empty() || likely.iter().any(|(_, scale)| !scale.is_unusual()) {
        return None;
    }
    let line = log.first_line.as_ref().map_or(0, |(line, _)| *line);
    let place = Place { line: line.into(), ..Place::file(shown_as) };
    let likely = likely.iter().map(|(word, _)| *word).collect();
    let asks = Asks::UnitAgainstPhysics { as_read: "F", likely };
    Some(IngestError::from(Question { place, asks }).of_kind(&log.kind))
}

/// Reads a log, and holds its temperatures against those of a cook: a default gives way to them,
/// and where the log itself says a unit that cannot be, it is asked.
fn read_checked(
    text: &Text<'_>,
    content_hash: &str,
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    let log = read_once(text, content_hash, shown_as, options)?;
    let ask = |log: &Log, line: u32, asks: Asks| {
        let place = Place { line: line.into(), ..Place::file(shown_as) };
        let error = IngestError::from(Question { place, asks });
        Err(error.of_kind(&log.kind))
    };
    if let Some(Change { at_ms, line, to }) = physics::change(&log)
        && options.answered.changes.iter().all(|(known, _)| *known != at_ms)
    {
        return ask(&log, line, Asks::UnitChanges { at_ms, to });
    }
    let is_settled = options.answered.scale.is_some() || log.unit_said == UnitSaid::User;
    let unit = log.channels.iter().find_map(|channel| log.unit_of(channel));
    let Some(unit) = unit.filter(|_| !is_settled && !physics::is_cook(&log)) else {
        return Ok(log);
    };
    let mut likely: Vec<(&str, Scale)> =
        Scale::ALL.into_iter().filter(|(_, scale)| physics::is_cook_on(&log, *scale)).collect();
    // A part of a cook is told by its pit alone.
    if likely.is_empty() && physics::is_impossible(&log) {
        let is_part = |(_, scale): &(&str, Scale)| physics::is_part_on(&log, *scale);
        likely = Scale::ALL.into_iter().filter(is_part).collect();
    }
    match likely[..] {
        [(word, only)] if log.unit_said == UnitSaid::Default && !only.is_unusual() => {
            let answered = options.answered.clone().with(Setting::Scale, word);
            let options = ReadOptions { answered, ..options.clone() };
            let mut log = read_once(text, content_hash, shown_as, &options)?;
            log.record.evidence.push(Evidence {
                what: "unit of the log".to_owned(),
                taken_as: letter(only.unit).to_owned(),
                because: "only so is it a cook, whatever the season's default".to_owned(),
                setting: "layout `unit`".to_owned(),
            });
            Ok(log)
        }
        [] => Ok(log),
        _ => {
            let line = log.first_line.as_ref().map_or(0, |(line, _)| *line);
            let as_read = letter(unit);
            let likely = likely.iter().map(|(word, _)| *word).collect();
            ask(&log, line, Asks::UnitAgainstPhysics { as_read, likely })
        }
    }
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
    kind_of(&Text::decode(bytes, shown_as).ok()?, shown_as, options)
}

/// The kind of a log, from its text.
pub(crate) fn kind_of(text: &Text<'_>, shown_as: &str, options: &ReadOptions) -> Option<String> {
    let delimiter = options.answered.delimiter;
    let grid = find(text, &options.layouts, &Layout::built_in(), delimiter, shown_as).ok()?;
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
    let own = &plan.layout;
    let unit_said =
        if own.unit.is_some() || !own.units.is_empty() || plan.options.answered.unit.is_some() {
            UnitSaid::User
        } else if plan.unit_by_default && plan.channels.iter().all(|channel| channel.unit.is_none())
        {
            UnitSaid::Default
        } else {
            UnitSaid::Log
        };
    let read_in = plan.options.answered.scale.map(|scale| scale.unit);
    let unit_in_cells = scale::unit_in_cells(&plan, &rows).map(|unit| read_in.unwrap_or(unit));
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
        unit_in_cells,
        unit_said,
        unit_by_physics: None,
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
