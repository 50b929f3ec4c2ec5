//! Clock times that say neither morning nor afternoon.
//!
//! A row on which one time says am or pm was written on a 12-hour clock, and its other times may be
//! of either half. So may be the times of a row that would keep the meat on, or at rest, for longer
//! than people do. The ways to read such a row are held against what a cook can be, and later
//! against the log; what neither decides is asked, once for all rows of a sheet.

use super::CardRow;
use super::marks::{self, resolve_card};
use super::stated::{self, Time};
use crate::folded::folded;
use columns::card;
use cook::{Answer, Answers, Card, LONGEST_REST_MS, Question, QuestionCode};
use jiff::tz::TimeZone;
use serde::Serialize;

const HOUR_MS: i64 = 3_600_000;
const HALF_MS: i64 = 12 * HOUR_MS;
const DAY_MS: i64 = 2 * HALF_MS;
/// No cook is on the pit for longer, ms; common practice, no source.
pub(super) const LONGEST_MS: i64 = 20 * HOUR_MS;
/// A rest that nobody wonders at, ms; common practice, no source.
pub(super) const USUAL_REST_MS: i64 = 8 * HOUR_MS;
/// A mark lies within its log, or as much beside it: clocks differ, and loggers are switched off
/// before the meat is sliced.
pub(super) const BESIDE_LOG_MS: i64 = HOUR_MS;

const MEAT_ON: &str = card::MEAT_ON_AT.stated_as();
/// The answer that it is one half in some rows and the other in others.
const EACH: &str = "each";

/// Whether a text says which half of the day it means.
pub(super) fn says_half(text: &str) -> bool {
    let plain = stated::without_remark(text);
    let word: String = plain.chars().filter(|c| c.is_alphabetic()).collect();
    matches!(word.to_lowercase().as_str(), "am" | "pm" | "a" | "p" | "noon" | "midnight")
}

/// Whether a clock time is of one to twelve and says neither half of the day, so that it may be
/// twelve hours later, or earlier, than it would be on a 24-hour clock. A zero before the hour is of a
/// 24-hour clock.
pub(super) fn is_bare(time: Time, text: &str) -> bool {
    let Time::Clock(ms) = time else { return false };
    (HOUR_MS..13 * HOUR_MS).contains(&ms) && !text.trim().starts_with('0') && !says_half(text)
}

/// Whether a clock time may be of either half of the day: a bare one, and in a sheet where nothing is of a 24-hour clock
/// for certain also one with a zero before its hour.
fn may_be_either(time: Time, text: &str, padded_too: bool) -> bool {
    let Time::Clock(ms) = time else { return false };
    let is_padded = padded_too && (HOUR_MS..13 * HOUR_MS).contains(&ms) && !says_half(text);
    is_padded || is_bare(time, text)
}

/// Whether a clock time can only be of a 24-hour clock.
pub(super) fn is_of_24_hours(time: Time, text: &str) -> bool {
    matches!(time, Time::Clock(_)) && !says_half(text) && !is_bare(time, text)
}

/// The same time in the other half of the day.
pub(super) fn other_half(clock_ms: i64) -> i64 {
    (clock_ms + HALF_MS) % DAY_MS
}

/// The ways in which a row with bare clock times can be read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Halves {
    /// Column, time and text of each stated time, as written.
    as_written: Vec<(&'static str, Time, String)>,
    /// Each way: the times in the order of `as_written`.
    ways: Vec<Vec<Time>>,
    /// Where among `as_written` the ways that a cook can be differ.
    open: Vec<usize>,
    /// Id of the question of all such rows of the sheet, and of this row alone.
    ids: [String; 2],
    #[serde(skip)]
    question: Question,
}

/// A row's times, resolved: meat-on, wrap, pull, slice, turn-in, planned pull.
type Instants = [Option<i64>; 6];

fn instants(row: &CardRow, stated: &[(&'static str, Time, String)], zone: &TimeZone) -> Instants {
    let mut card = Card::default();
    // Without a date, any day shows how the times follow each other.
    let row =
        CardRow { day: row.day.or(Some(0)), stated: stated.to_vec(), halves: None, ..row.clone() };
    resolve_card(&mut card, &row, zone, None, false, None);
    let marks = card.marks;
    [
        marks.meat_on_ms,
        marks.wrap_ms,
        marks.pull_ms,
        marks.slice_ms,
        card.turn_in_ms,
        card.planned_pull_ms,
    ]
}

/// Whether times follow each other as they do on a cook, with rests of up to `rest_ms`.
fn is_a_cook(times: &Instants, rest_ms: i64) -> bool {
    let [meat_on, wrap, pull, slice, turn_in, planned] = *times;
    let Some(meat_on) = meat_on else { return false };
    let within = |from: i64, to: Option<i64>, most: i64| {
        to.is_none_or(|to| (0..=most).contains(&(to - from)))
    };
    let off = pull.or(wrap).unwrap_or(meat_on);
    within(meat_on, wrap, LONGEST_MS)
        && within(meat_on, pull, LONGEST_MS)
        && within(off, slice, if pull.is_some() { rest_ms } else { LONGEST_MS })
        && within(slice.or(pull).unwrap_or(meat_on), turn_in, LONGEST_REST_MS)
        && within(meat_on, planned, LONGEST_MS)
        && pull.zip(planned).is_none_or(|(pull, planned)| (pull - planned).abs() < HALF_MS)
}

/// Column, time and text of each stated time.
type Stated = Vec<(&'static str, Time, String)>;

/// Stated times with the bare ones in each half of the day; as written first.
pub(super) fn in_each_half(stated: &Stated, padded_too: bool) -> impl Iterator<Item = Stated> + '_ {
    let times = stated.iter().enumerate();
    let bare = times.filter(|(_, (_, time, text))| may_be_either(*time, text, padded_too));
    let bare: Vec<usize> = bare.map(|(at, _)| at).collect();
    (0..1_u32 << bare.len()).map(move |chosen| {
        let mut stated = stated.clone();
        for (bit, at) in bare.iter().enumerate() {
            if let (1, Time::Clock(ms)) = (chosen >> bit & 1, stated[*at].1) {
                stated[*at].1 = Time::Clock(other_half(ms));
            }
        }
        stated
    })
}

/// A row with its bare times in each half of the day, as far as its marks then follow each other.
fn ways(row: &CardRow, zone: &TimeZone) -> Vec<(Vec<Time>, Instants)> {
    let mut ways: Vec<(Vec<Time>, Instants)> = Vec::new();
    for stated in in_each_half(&row.stated, row.padded_too) {
        let times = instants(row, &stated, zone);
        let all_there = marks::COLUMNS.iter().zip(&times).all(|(column, time)| {
            time.is_some() || !stated.iter().any(|(name, ..)| name == column)
        });
        if all_there && ways.iter().all(|(_, known)| *known != times) {
            ways.push((stated.into_iter().map(|(_, time, _)| time).collect(), times));
        }
    }
    ways
}

/// Settles the bare clock times of a sheet's rows as far as they tell themselves, or are answered.
/// Times that are neither are taken out of their row, which keeps the ways to read it.
/// `cooks` are the names of the rows' cooks.
pub(super) fn settle(rows: &mut [CardRow], cooks: &[&str], zone: &TimeZone, answers: &Answers) {
    let mut unsettled: Vec<(usize, Halves)> = Vec::new();
    let times = || rows.iter().flat_map(|row| &row.stated);
    let is_certain = |(_, time, text): &(&'static str, Time, String)| {
        matches!(time, Time::Clock(ms) if !(HOUR_MS..13 * HOUR_MS).contains(ms)) && !says_half(text)
    };
    let says_halves = |(_, time, text): &(&'static str, Time, String)| {
        matches!(time, Time::Clock(_)) && says_half(text)
    };
    let of_24_hours = times().any(is_certain);
    // `%I:%M` writes a zero before the hour as well.
    let padded_too = !of_24_hours && !times().any(says_halves);
    let is_written_so = times().any(|(_, time, text)| is_of_24_hours(*time, text));
    for row in rows.iter_mut() {
        (row.of_24_hours, row.padded_too) = (is_written_so, padded_too);
    }
    let of_24_hours = of_24_hours || (is_written_so && !padded_too);
    let mut as_written: Vec<usize> = Vec::new();
    for (at, row) in rows.iter_mut().enumerate() {
        match suspects(row, zone, false) {
            // As written it is a cook: only the log, or the other rows, may say otherwise.
            Some(halves) if halves.open.is_empty() => {
                row.halves = Some(halves);
                as_written.push(at);
            }
            Some(halves) => unsettled.push((at, halves)),
            None => {}
        }
    }
    // A sheet with rows that no 24-hour clock wrote, and with none that one did, is of a 12-hour clock.
    if !unsettled.is_empty() && !of_24_hours {
        for at in as_written {
            let halves = suspects(&mut rows[at], zone, true);
            unsettled.extend(halves.filter(|halves| !halves.open.is_empty()).map(|own| (at, own)));
        }
        unsettled.sort_by_key(|(at, _)| *at);
    }
    for of_meat_on in [true, false] {
        let alike: Vec<&(usize, Halves)> =
            unsettled.iter().filter(|(_, halves)| halves.asks_of_meat_on() == of_meat_on).collect();
        let texts: Vec<String> = alike.iter().map(|(_, halves)| halves.texts()).collect();
        for (at, halves) in &alike {
            let mut halves = halves.clone();
            halves.question = halves.ask(&rows[*at], &texts, zone);
            let alone = halves.ask(&rows[*at], &[halves.texts()], zone);
            halves.ids = [halves.question.id.clone(), alone.id.clone()];
            if answers.to(&halves.question).is_some_and(|take| take.eq_ignore_ascii_case(EACH)) {
                halves.ids[0].clone_from(&alone.id);
                halves.question = alone;
            }
            let given = halves.answer(answers).map(str::to_owned);
            match given.as_deref().map(|given| halves.half_of(given, cooks[*at], cooks)) {
                Some(Err(unknown)) => {
                    halves.question.because.push_str(&format!(
                        "; the answer names `{unknown}`, and no cook of the sheet has that name"
                    ));
                    halves.take_answer(&mut rows[*at], zone, None);
                }
                Some(Ok(take)) => halves.take_answer(&mut rows[*at], zone, Some(&take)),
                None => halves.take_answer(&mut rows[*at], zone, None),
            }
            rows[*at].halves = Some(halves);
        }
    }
}

/// The ways to read a row whose bare times are in doubt; those that only one way of being a cook
/// leaves are settled. `of_12_hours` is whether the sheet is known to be of such a clock.
fn suspects(row: &mut CardRow, zone: &TimeZone, of_12_hours: bool) -> Option<Halves> {
    let is_open =
        |(_, time, text): &(&'static str, Time, String)| may_be_either(*time, text, row.padded_too);
    if !row.stated.iter().any(is_open) {
        return None;
    }
    let says_halves =
        row.stated.iter().any(|(_, time, text)| matches!(time, Time::Clock(_)) && says_half(text));
    let as_written = instants(row, &row.stated, zone);
    let is_usual = !(says_halves || of_12_hours) && is_a_cook(&as_written, USUAL_REST_MS);
    let mut ways = ways(row, zone);
    if ways.len() < 2 {
        return None;
    }
    if is_usual {
        ways.retain(|(_, times)| is_a_cook(times, LONGEST_REST_MS));
        return Some(Halves {
            as_written: row.stated.clone(),
            ways: ways.into_iter().map(|(way, _)| way).collect(),
            open: Vec::new(),
            ids: Default::default(),
            question: Question::time_zone(),
        });
    }
    let can_be: Vec<&Vec<Time>> = ways
        .iter()
        .filter(|(_, times)| is_a_cook(times, LONGEST_REST_MS))
        .map(|(way, _)| way)
        .collect();
    // Nothing to choose from: what is wrong with the row is another thing.
    let first = can_be.first()?;
    if can_be.len() == 1 && says_halves {
        for ((_, time, _), settled) in row.stated.iter_mut().zip(first.iter()) {
            *time = *settled;
        }
        return None;
    }
    let as_stated: Vec<Time> = row.stated.iter().map(|(_, time, _)| *time).collect();
    let differs = |at: &usize| {
        can_be.iter().any(|way| way[*at] != first[*at])
            || (!says_halves && can_be.iter().any(|way| way[*at] != as_stated[*at]))
    };
    let open: Vec<usize> = (0..row.stated.len()).filter(differs).collect();
    if open.is_empty() {
        return None;
    }
    let as_written = row.stated.clone();
    for (at, (_, time, _)) in row.stated.iter_mut().enumerate() {
        if !open.contains(&at) {
            *time = first[at];
        }
    }
    let settled = row.stated.clone();
    ways.retain(|(way, _)| (0..way.len()).all(|at| open.contains(&at) || way[at] == settled[at].1));
    Some(Halves {
        as_written,
        ways: ways.into_iter().map(|(way, _)| way).collect(),
        open,
        ids: Default::default(),
        question: Question::time_zone(),
    })
}

/// The first few of many.
fn some_of(texts: &[String]) -> String {
    const SHOWN: usize = 4;
    let shown = texts.iter().take(SHOWN).map(String::as_str).collect::<Vec<_>>().join("; ");
    if texts.len() > SHOWN { format!("{shown}; and {} more", texts.len() - SHOWN) } else { shown }
}

impl Halves {
    fn asks_of_meat_on(&self) -> bool {
        self.open.iter().any(|at| self.as_written[*at].0 == MEAT_ON)
    }

    fn texts(&self) -> String {
        let texts: Vec<&str> = self.as_written.iter().map(|(_, _, text)| text.as_str()).collect();
        texts.join(", ")
    }

    fn stated(&self, way: &[Time]) -> Vec<(&'static str, Time, String)> {
        let times = self.as_written.iter().zip(way);
        times.map(|((column, _, text), time)| (*column, *time, text.clone())).collect()
    }

    /// The way that an answer takes: the one of that half whose marks come soonest after each other.
    fn way_of(&self, take: &str, row: &CardRow, zone: &TimeZone) -> Option<&Vec<Time>> {
        if take == "as-written" {
            return self.ways.iter().find(|way| {
                way.iter().zip(&self.as_written).all(|(time, (_, as_is, _))| time == as_is)
            });
        }
        let meat_on = |way: &[Time]| {
            let at = self.as_written.iter().position(|(column, ..)| *column == MEAT_ON)?;
            Some(way[at])
        };
        let is_meant = |way: &&Vec<Time>| match (take, meat_on(way)) {
            ("am", Some(Time::Clock(ms))) => ms < HALF_MS,
            ("pm", Some(Time::Clock(ms))) => ms >= HALF_MS,
            _ => true,
        };
        let mut meant: Vec<(Instants, &Vec<Time>)> = self
            .ways
            .iter()
            .filter(is_meant)
            .map(|way| (instants(row, &self.stated(way), zone), way))
            .collect();
        meant.sort_by_key(|(times, _)| *times);
        match take {
            // The next but the first: of the last time alone that is in doubt, the other half.
            "later" => meant.get(1).map(|(_, way)| *way),
            _ => meant.first().map(|(_, way)| *way),
        }
    }

    fn takes(&self) -> &'static [&'static str] {
        if self.asks_of_meat_on() { &["am", "pm", "as-written"] } else { &["next", "later"] }
    }

    fn ask(&self, row: &CardRow, all: &[String], zone: &TimeZone) -> Question {
        let mut answers: Vec<Answer> = self
            .takes()
            .iter()
            .filter_map(|take| {
                let way = self.way_of(take, row, zone)?;
                Some(Answer::new(*take, self.tell(way, row, zone)))
            })
            .collect();
        if let ([one, other, ..], true) = (self.takes(), all.len() > 1) {
            let by_cook = [
                (other, format!("{other} for the cooks named, {one} for the others")),
                (one, format!("{one} for the cooks named, {other} for the others")),
            ];
            let by_cook =
                by_cook.map(|(take, then)| Answer::new(format!("{take} in <cooks>"), then));
            answers.extend(by_cook);
            answers.push(Answer::new(EACH, "it differs: each row is asked about alone"));
        }
        let texts = self.texts();
        let place = self.open.first().map_or(MEAT_ON, |at| self.as_written[*at].0);
        let first = self.open.first().map_or("", |at| self.as_written[*at].2.as_str());
        let asks = match all.len() {
            1 => format!("{texts}: is {first} in the morning or in the afternoon?"),
            more => {
                format!(
                    "{more} rows have clock times without am or pm ({}): is the first of each that has neither in the morning or in the afternoon?",
                    some_of(all)
                ) + &by_cook_told(self.takes())
            }
        };
        let because = if self.asks_of_meat_on() {
            let written = self.way_of("as-written", row, zone);
            let told = written.map(|way| self.tell(way, row, zone)).unwrap_or_default();
            format!("on a 24-hour clock that is {told}")
        } else {
            "the row does not say, and both can be".to_owned()
        };
        let mut evidence: Vec<&str> = if all.len() == 1 {
            self.as_written.iter().map(|(_, _, text)| text.as_str()).collect()
        } else {
            // One habit of a sheet: a row more leaves the answer what it was.
            vec![row.sheet.as_str()]
        };
        if !self.asks_of_meat_on() {
            evidence.push("after meat-on");
        }
        Question::new(QuestionCode::ClockWithoutAmPm, &evidence, asks, because, answers)
            .at(format!("{}:{} {place}", row.sheet, row.line))
    }

    /// What a way makes of the cook: when meat went on or came off, and for how long.
    fn tell(&self, way: &[Time], row: &CardRow, zone: &TimeZone) -> String {
        let times = instants(row, &self.stated(way), zone);
        let [meat_on, wrap, pull, slice, turn_in, planned] = times;
        let spoken = |ms: i64| format!("{} h {:02}", ms / HOUR_MS, ms / 60_000 % 60);
        let at = self.open.first().copied().unwrap_or(0);
        let (column, half) = match way.get(at) {
            Some(Time::Clock(ms)) => {
                (self.as_written[at].0, if *ms < HALF_MS { "am" } else { "pm" })
            }
            _ => (MEAT_ON, ""),
        };
        let mut said = Vec::new();
        if !half.is_empty() {
            said.push(format!("{column} {} {half}", self.as_written[at].2.trim()));
        }
        let last = pull.or(wrap);
        if let Some((from, to)) = meat_on.zip(last) {
            said.push(format!(
                "{} from meat-on to the {}",
                spoken(to - from),
                if pull.is_some() { "pull" } else { "wrap" }
            ));
        }
        for (name, time) in [("slice", slice), ("turn-in", turn_in), ("planned pull", planned)] {
            if let Some((from, to)) = last.or(meat_on).zip(time)
                && to >= from
            {
                said.push(format!("{} on to the {name}", spoken(to - from)));
            }
        }
        said.join("; ")
    }

    fn answer<'a>(&self, answers: &'a Answers) -> Option<&'a str> {
        let given = self.ids.iter().find_map(|id| answers.get(id))?.trim();
        self.question.answer(given).map(|_| given)
    }

    /// The half that an answer says of one cook; the name that it gives and no cook of the sheet has.
    fn half_of(&self, given: &str, cook: &str, cooks: &[&str]) -> Result<String, String> {
        let Some(names) = self.question.answer(given).and_then(|answer| answer.names_in(given))
        else {
            return Ok(given.to_lowercase());
        };
        let named = named(names, cooks)?;
        let said = given.trim().split(' ').next().unwrap_or_default().to_lowercase();
        let is_named = named.contains(&folded(cook));
        let others = self.takes().iter().take(2).find(|take| **take != said);
        Ok(if is_named { said } else { others.map_or(said, |take| (*take).to_owned()) })
    }

    fn take_answer(&self, row: &mut CardRow, zone: &TimeZone, take: Option<&str>) {
        if let Some(way) = take.and_then(|take| self.way_of(take, row, zone)) {
            row.stated = self.stated(way);
        } else {
            let open: Vec<&str> = self.open.iter().map(|at| self.as_written[*at].0).collect();
            row.stated.retain(|(column, ..)| !open.contains(column));
        }
    }
}

/// How an answer by cook is written, in words.
fn by_cook_told(takes: &[&str]) -> String {
    let of = |take: &&str| format!("; where it differs, `{take} in` and the names of those cooks");
    takes.get(1).map(of).unwrap_or_default()
}

/// The cooks that a list of names gives, folded; else the name that is no cook's. A comma may be of a name.
fn named(list: &str, cooks: &[&str]) -> Result<Vec<String>, String> {
    let known: Vec<String> = cooks.iter().map(|cook| folded(cook)).collect();
    let parts: Vec<&str> = list.split_inclusive([',', ';']).collect();
    let (mut named, mut from) = (Vec::new(), 0);
    while from < parts.len() {
        // The longest run of parts that is a name.
        let name =
            |until: usize| folded(parts[from..until].concat().trim().trim_end_matches([',', ';']));
        let until = (from + 1..=parts.len()).rev().find(|until| known.contains(&name(*until)));
        let Some(until) = until else { return Err(name(from + 1)) };
        named.push(name(until));
        from = until;
    }
    Ok(named)
}

/// What one way to read a row has before others.
type IsBetter<'a> = &'a dyn Fn(&&Vec<Time>) -> bool;

/// What a cook's logs show of when it was, ms UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Logged {
    /// The first reading.
    pub first_ms: i64,
    /// The last.
    pub last_ms: i64,
    /// When the meat is seen to go on.
    pub meat_on_ms: Option<i64>,
    /// When it is seen to come off.
    pub pull_ms: Option<i64>,
}

impl CardRow {
    /// Whether clock times without am or pm can be read in two ways.
    pub fn has_halves(&self) -> bool {
        self.halves.is_some()
    }

    /// Settles bare clock times by the cook's logs: one way alone lies within them, and has meat-on and pull where they
    /// show them. A log is believed before an answer that was given for all rows.
    pub fn settle_halves(&mut self, zone: &TimeZone, logged: &Logged) {
        let Some(halves) = &self.halves else { return };
        if self.day.is_none() {
            return;
        }
        let within = (logged.first_ms - BESIDE_LOG_MS)..=(logged.last_ms + BESIDE_LOG_MS);
        let times = |way: &[Time]| instants(self, &halves.stated(way), zone);
        let lies_within = |way: &&Vec<Time>| {
            let [meat_on, wrap, pull, ..] = times(way);
            [meat_on, wrap, pull].into_iter().flatten().all(|time| within.contains(&time))
        };
        let mut fitting: Vec<&Vec<Time>> = halves.ways.iter().filter(lies_within).collect();
        let is_seen = |way: &&Vec<Time>| {
            let [meat_on, _, pull, ..] = times(way);
            let near = |said: Option<i64>, seen: Option<i64>| {
                said.zip(seen).is_none_or(|(said, seen)| (said - seen).abs() <= BESIDE_LOG_MS)
            };
            near(meat_on, logged.meat_on_ms) && near(pull, logged.pull_ms)
        };
        // A log says nothing of a slice; half a day of rest more is no way to read one.
        let is_usual = |way: &&Vec<Time>| is_a_cook(&times(way), USUAL_REST_MS);
        let rests = |way: &&Vec<Time>| {
            let [_, _, pull, slice, ..] = times(way);
            pull.zip(slice).is_none_or(|(pull, slice)| slice - pull <= USUAL_REST_MS)
        };
        let better: [IsBetter<'_>; 3] = [&is_seen, &is_usual, &rests];
        for is_better in better {
            if fitting.iter().any(is_better) {
                fitting.retain(is_better);
            }
        }
        // Of a row that is a cook as written, and lies outside its log, the one way that lies within it.
        if halves.open.is_empty() {
            let as_written = halves.way_of("as-written", self, zone);
            let settled = match fitting[..] {
                [only] => as_written.filter(|way| *way != only).map(|_| halves.stated(only)),
                _ => None,
            };
            if let Some(settled) = settled {
                self.stated = settled;
            }
            return;
        }
        let Some(first) = fitting.first() else { return };
        let agreed: Vec<usize> = (0..first.len())
            .filter(|at| fitting.iter().all(|way| way[*at] == first[*at]))
            .collect();
        for at in agreed {
            let (column, _, text) = &halves.as_written[at];
            match self.stated.iter_mut().find(|(name, ..)| name == column) {
                Some(stated) => stated.1 = first[at],
                None => self.stated.push((column, first[at], text.clone())),
            }
        }
    }

    /// The question of bare clock times that are open still: `marks` has the marks that are known.
    pub fn open_halves(&self, card: &Card) -> Option<Question> {
        let halves = self.halves.as_ref()?;
        let known = |column: &str| match marks::COLUMNS.iter().position(|name| *name == column) {
            Some(0) => card.marks.meat_on_ms.is_some(),
            Some(1) => card.marks.wrap_ms.is_some(),
            Some(2) => card.marks.pull_ms.is_some(),
            Some(3) => card.marks.slice_ms.is_some(),
            Some(4) => card.turn_in_ms.is_some(),
            _ => card.planned_pull_ms.is_some(),
        };
        let is_open = halves.open.iter().any(|at| !known(halves.as_written[*at].0));
        is_open.then(|| halves.question.clone())
    }
}

#[cfg(test)]
mod tests;
