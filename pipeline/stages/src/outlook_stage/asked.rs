//! The cooks that are asked about: in logs that still grow, or typed.
#![allow(
    clippy::struct_field_names,
    clippy::naive_bytecount,
    reason = "fields say what is asked; a log is short"
)]

use super::words::{self, usage};
use crate::error::StageError;
use crate::ingest_stage::{IngestRequest, Sheets, ingest_sheets, read_sheets};
use crate::progress::Silent;
use cook::spot::is_spot_channel;
use cook::{
    Answers, Card, Celsius, CookReadings, Event, EventKind, Question, Role, Season, WrapMethod,
};
use ingest::{EventsReading, IngestError, LogNames};
use jiff::tz::TimeZone;
use outlook::{Course, OutlookError, Typed};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use store::Store;

/// One cook that is asked about.
pub(super) struct Asked {
    /// As the sheet names it, else `file#Channel`.
    pub(super) name: String,
    /// The cook's name in the store.
    pub(super) cook: String,
    /// Its first reading, ms UTC.
    pub(super) first_ms: i64,
    pub(super) asked_at_ms: i64,
    pub(super) course: Result<Course, String>,
    pub(super) card: Card,
}

/// A log whose last reading is older than this has ended, ms (2 h).
const ENDED_AFTER_MS: i64 = 2 * 3_600_000;
/// Readings by hand are farther apart, ms (6 h).
const BY_HAND_ENDED_AFTER_MS: i64 = 6 * 3_600_000;
/// A log may run ahead of the clock by this, ms (5 min).
const AHEAD_MS: i64 = 300_000;

pub(super) struct Logs<'a> {
    /// The season's folder, absolute.
    pub(super) base: &'a Path,
    /// None: cooks that are read by hand alone.
    pub(super) logs: &'a [PathBuf],
    pub(super) sheets: &'a [String],
    pub(super) events: &'a [String],
    /// Settings, the zone among them.
    pub(super) season: &'a Season,
    pub(super) zone: &'a TimeZone,
    pub(super) answers: &'a Answers,
    /// The instant asked for.
    pub(super) now_ms: Option<i64>,
    /// The computer's clock.
    pub(super) clock_ms: i64,
}

/// Reads logs as `ingest` does, into a store of their own that is thrown away.
pub(super) fn of_logs(logs: &Logs<'_>) -> Result<(Vec<Asked>, Vec<String>), StageError> {
    let folder =
        tempfile::tempdir().map_err(|e| StageError::io(Path::new("temporary folder"), e))?;
    let request = request(logs, folder.path().join("store"))?;
    let mut sheets = read_sheets(&request)?;
    keep_asked(&mut sheets, &request)?;
    let named: BTreeSet<String> = sheets.cards.cards.iter().map(|card| card.cook.clone()).collect();
    let summary = ingest_sheets(&request, &sheets, &Silent)?;
    let mut notes: Vec<String> = summary.refusals.iter().map(|r| r.message.clone()).collect();
    notes.extend(summary.questions.iter().map(open));
    let store = Store::open(&request.store)?;
    let records = store.read_cooks()?;
    let events = store.read_events()?;
    let mut asked = Vec::new();
    for record in records.iter().filter(|record| record.log_start_ms.is_some()) {
        let card = &record.card;
        let mut readings = store.read_readings(&card.season, &card.cook)?;
        without_half_line(&mut readings, logs.base);
        let of_fire = |event: &&Event| {
            event.kind == EventKind::Setpoint
                && event.cook != card.cook
                && records
                    .iter()
                    .any(|other| other.card.cook == event.cook && other.card.fire == card.fire)
        };
        let cook = OnNow {
            logs,
            own: events.iter().filter(|event| event.cook == card.cook).cloned().collect(),
            fire: events.iter().filter(of_fire).cloned().collect(),
        };
        let meats: Vec<&str> = readings
            .channels
            .iter()
            .filter(|c| c.role == Role::Meat && !c.is_empty() && !is_spot_channel(&c.name))
            .map(|channel| channel.name.as_str())
            .collect();
        if named.contains(&card.cook) {
            let name = card.cook.clone();
            let one = if meats.is_empty() {
                cook.by_hand(name, &readings, card)
            } else {
                cook.logged(name, &readings, card.clone())
            };
            asked.push(one);
            continue;
        }
        // A log that no card names may hold several meats: each is asked about.
        let log = readings.sources.first().map_or(card.cook.as_str(), String::as_str);
        let log = Path::new(log).file_name().map_or(log.into(), |name| name.to_string_lossy());
        for channel in &meats {
            let card = Card { lead_channel: Some((*channel).to_owned()), ..card.clone() };
            asked.push(cook.logged(format!("{log}#{channel}"), &readings, card));
        }
        if meats.is_empty() {
            asked.push(cook.logged(log.into_owned(), &readings, card.clone()));
        }
    }
    if logs.logs.is_empty() {
        let all = asked.len();
        asked.retain(|asked| asked.course.is_ok());
        if asked.is_empty() {
            return Err(usage(format!(
                "no log was named, and none of the season's {all} cooks that are read by hand alone is on: name a log, or note readings (`cookstudy note COOK core 165F`)"
            )));
        }
    } else if asked.is_empty() && notes.is_empty() {
        notes.push("No log has a reading of meat.".into());
    }
    Ok((asked, notes))
}

fn request(logs: &Logs<'_>, store: PathBuf) -> Result<IngestRequest, StageError> {
    let absolute = |path: &PathBuf| -> Result<String, StageError> {
        let path = std::path::absolute(path).map_err(|e| StageError::io(path, e))?;
        Ok(path.to_string_lossy().into_owned())
    };
    Ok(IngestRequest {
        base: logs.base.to_owned(),
        logs: logs.logs.iter().map(absolute).collect::<Result<_, _>>()?,
        sheets: logs.sheets.to_vec(),
        events: logs.events.to_vec(),
        score_sheets: Vec::new(),
        layouts: logs.season.layouts.clone(),
        store,
        season: logs.season.clone(),
        answers: logs.answers.clone(),
        whole: true,
        prune: true,
    })
}

/// Leaves the cards that the logs asked about can be of: those that name one of them, and those that name
/// none. Without logs, those that are read by hand alone.
fn keep_asked(sheets: &mut Sheets, request: &IngestRequest) -> Result<(), StageError> {
    let files = ingest::list_logs(&request.logs, &request.base)?.files;
    let names = LogNames::new(&files);
    let by_hand: BTreeSet<String> = sheets
        .events
        .iter()
        .flat_map(EventsReading::cooks_read_by_hand)
        .map(str::to_owned)
        .collect();
    let cards = std::mem::take(&mut sheets.cards.cards);
    let rows = std::mem::take(&mut sheets.cards.rows);
    for (card, row) in cards.into_iter().zip(rows) {
        let is_by_hand = by_hand.contains(&card.cook);
        let asked = match names.find(&card, &row, &request.answers) {
            Ok(found) if found.is_empty() => is_by_hand == request.logs.is_empty(),
            // One that cannot be told from another is asked about, and said.
            Ok(_) | Err(IngestError::NeedsAnswer { .. }) => true,
            Err(_) => false,
        };
        if asked {
            sheets.cards.cards.push(card);
            sheets.cards.rows.push(row);
        }
    }
    Ok(())
}

pub(super) fn open(question: &Question) -> String {
    format!(
        "open: {} {} (answer it in questions.toml: `run` writes it there)",
        question.asks, question.because
    )
}

/// Drops the readings of a last line that a logger is still writing: half a number is another number.
fn without_half_line(readings: &mut CookReadings, base: &Path) {
    for (source, name) in readings.sources.iter().enumerate() {
        let Ok(bytes) = std::fs::read(base.join(name)) else { continue };
        let is_text = !bytes.contains(&0) && std::str::from_utf8(&bytes).is_ok();
        if !is_text || matches!(bytes.last(), None | Some(b'\n' | b'\r')) {
            continue;
        }
        let last_line = 1 + bytes.iter().filter(|byte| **byte == b'\n').count() as u32;
        for channel in &mut readings.channels {
            let is_half = |at: &usize| {
                channel.source[*at] as usize == source && channel.line[*at] == last_line
            };
            let Some(at) = channel.at_ms.len().checked_sub(1).filter(is_half) else { continue };
            channel.at_ms.truncate(at);
            channel.temp_c.truncate(at);
            channel.flag.truncate(at);
            channel.source.truncate(at);
            channel.line.truncate(at);
        }
    }
}

/// A cook that is on: its events, and those of its fire that bear on the pit.
struct OnNow<'a> {
    logs: &'a Logs<'a>,
    own: Vec<Event>,
    fire: Vec<Event>,
}

impl OnNow<'_> {
    /// From its log.
    fn logged(&self, name: String, readings: &CookReadings, card: Card) -> Asked {
        let last_ms = last_meat_ms(readings, self.logs.now_ms);
        let asked_at_ms = self.logs.now_ms.or(last_ms).unwrap_or(self.logs.clock_ms);
        let course =
            self.seen_in_time(readings, last_ms, asked_at_ms, ENDED_AFTER_MS).and_then(|_| {
                let definition = &self.logs.season.phases;
                let (own, fire) = (&self.own, &self.fire);
                let followed = Course::follow(readings, &card, own, fire, asked_at_ms, definition)
                    .map_err(|error| error.to_string())?;
                if followed.marks.bounds.pull_known {
                    return Err(self.came_off(followed.marks.bounds.pull_ms));
                }
                Ok(followed.course)
            });
        Asked {
            name,
            cook: card.cook.clone(),
            first_ms: readings.first_ms().unwrap_or(asked_at_ms),
            asked_at_ms,
            course,
            card,
        }
    }

    /// From `core` events alone: of several places the one that was read most often, unless the card names
    /// the lead.
    fn by_hand(&self, name: String, readings: &CookReadings, card: &Card) -> Asked {
        let last_ms = last_meat_ms(readings, self.logs.now_ms);
        let asked_at_ms =
            self.logs.now_ms.or(last_ms).unwrap_or(self.logs.clock_ms).max(last_ms.unwrap_or(0));
        let now_ms = self.logs.now_ms.unwrap_or(self.logs.clock_ms);
        let until = |at_ms: i64| at_ms <= asked_at_ms;
        let course = (|| {
            let last_ms =
                self.seen_in_time(readings, last_ms, asked_at_ms, BY_HAND_ENDED_AFTER_MS)?;
            // Nobody asks of readings by hand that are long over but means those of today.
            if now_ms - last_ms > BY_HAND_ENDED_AFTER_MS && self.logs.now_ms.is_none() {
                return Err(self.ended(last_ms, now_ms));
            }
            let pulled = self.own.iter().find(|event| event.kind == EventKind::Pull);
            let pull_ms = card.marks.pull_ms.or(pulled.map(|event| event.at_ms));
            if let Some(at_ms) = pull_ms.filter(|at_ms| until(*at_ms)) {
                return Err(self.came_off(at_ms));
            }
            self.typed_course(readings, card, asked_at_ms)
        })();
        Asked {
            name,
            cook: card.cook.clone(),
            first_ms: readings.first_ms().unwrap_or(asked_at_ms),
            asked_at_ms,
            course,
            card: card.clone(),
        }
    }

    fn typed_course(
        &self,
        readings: &CookReadings,
        card: &Card,
        asked_at_ms: i64,
    ) -> Result<Course, String> {
        let until = |at_ms: i64| at_ms <= asked_at_ms;
        let meats = || readings.channels.iter().filter(|c| c.role == Role::Meat && !c.is_empty());
        let lead = card.lead_channel.as_deref();
        let channel = meats()
            .find(|c| lead.is_some_and(|lead| c.name == lead || c.name == format!("spot:{lead}")))
            .or_else(|| meats().max_by_key(|channel| channel.at_ms.len()))
            .ok_or_else(|| OutlookError::NoCore.to_string())?;
        let of = |kind: EventKind| {
            self.own.iter().filter(move |event| event.kind == kind && until(event.at_ms))
        };
        let meat_on_ms = card
            .marks
            .meat_on_ms
            .or_else(|| of(EventKind::MeatOn).map(|event| event.at_ms).next())
            .unwrap_or(channel.at_ms[0]);
        let minute = |at_ms: i64| (at_ms - meat_on_ms) as f64 / 60_000.0;
        let method = |event: &Event| {
            let said = event.value.as_deref().and_then(WrapMethod::parse);
            said.or_else(|| card.wrap_method.clone())
        };
        let mut wraps: Vec<(f64, WrapMethod)> = of(EventKind::Wrap)
            .filter_map(|event| Some((minute(event.at_ms), method(event)?)))
            .chain(of(EventKind::Unwrap).map(|event| (minute(event.at_ms), WrapMethod::None)))
            .collect();
        let on_card = card.marks.wrap_ms.filter(|at_ms| until(*at_ms));
        if let (true, Some(at_ms), Some(method)) = (wraps.is_empty(), on_card, &card.wrap_method) {
            wraps.push((minute(at_ms), method.clone()));
        }
        let setpoints = of(EventKind::Setpoint)
            .chain(self.fire.iter().filter(|event| until(event.at_ms)))
            .filter_map(|event| Some((event.at_ms, event.temperature()?.value())));
        let setpoint_c = setpoints
            .max_by_key(|(at_ms, _)| *at_ms)
            .map(|(_, to)| to)
            .or(card.pit_setpoint.map(Celsius::value));
        let core = channel.at_ms.iter().zip(&channel.temp_c).filter(|(at_ms, _)| until(**at_ms));
        let typed = Typed {
            pit_c: None,
            setpoint_c,
            core: core.map(|(at_ms, temp_c)| (minute(*at_ms), f64::from(*temp_c))).collect(),
            wraps,
            about: outlook::About::of(card),
        };
        let mut course =
            typed.course(&self.logs.season.phases).map_err(|error| error.to_string())?;
        course.meat_on_ms = meat_on_ms;
        course.probe_tests = of(EventKind::ProbeTest)
            .map(|event| (minute(event.at_ms), event.value.as_deref() == Some("tender")))
            .collect();
        Ok(course)
    }

    /// The last reading of the meat, where it is neither of the future nor long past.
    fn seen_in_time(
        &self,
        readings: &CookReadings,
        last_ms: Option<i64>,
        asked_at_ms: i64,
        ended_after_ms: i64,
    ) -> Result<i64, String> {
        let first_ms = readings.first_ms().unwrap_or(i64::MAX);
        let Some(last_ms) = last_ms else {
            return Err(if first_ms > asked_at_ms {
                format!(
                    "Its first reading, {}, is after the moment asked about: check the logger's clock, or --now.",
                    self.said(first_ms)
                )
            } else {
                OutlookError::NoCore.to_string()
            });
        };
        let ahead_ms = last_ms - self.logs.clock_ms;
        if self.logs.now_ms.is_none() && ahead_ms > AHEAD_MS {
            return Err(format!(
                "Its last reading, {}, is {} ahead of this computer's clock: set the logger's clock, or say the moment with --now.",
                self.said(last_ms),
                words::minutes(ahead_ms as f64 / 60_000.0)
            ));
        }
        match self.logs.now_ms {
            Some(now_ms) if now_ms - last_ms > ended_after_ms => Err(self.ended(last_ms, now_ms)),
            _ => Ok(last_ms),
        }
    }

    fn ended(&self, last_ms: i64, now_ms: i64) -> String {
        format!(
            "The log ended at {}, {} before the moment asked about: there is nothing to go on.",
            self.said(last_ms),
            words::minutes((now_ms - last_ms) as f64 / 60_000.0)
        )
    }

    fn came_off(&self, pull_ms: i64) -> String {
        format!("It came off at {}: there is nothing to forecast.", self.said(pull_ms))
    }

    fn said(&self, at_ms: i64) -> String {
        words::clock(at_ms, self.logs.now_ms.unwrap_or(self.logs.clock_ms), self.logs.zone)
    }
}

/// The last reading of any meat up to an instant.
fn last_meat_ms(readings: &CookReadings, until_ms: Option<i64>) -> Option<i64> {
    let last = |channel: &cook::ChannelReadings| {
        let end = channel.at_ms.partition_point(|&at| until_ms.is_none_or(|until| at <= until));
        end.checked_sub(1).map(|last| channel.at_ms[last])
    };
    readings.channels.iter().filter(|channel| channel.role == Role::Meat).filter_map(last).max()
}
