//! Which log belongs to which cook, where the sheet does not say.

use crate::error::{IngestError, Place};
use crate::log::{Log, TimeBase};
use crate::question::{Asked, Settles};
use crate::sheet::{EventsReading, SheetReading};
use cook::{Answers, Card, EventKind, Evidence, QuestionCode, Role};
use jiff::tz::TimeZone;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

const HOUR_MS: i64 = 3_600_000;
/// How long a cook whose end nobody wrote down may take.
const LONGEST_COOK_MS: i64 = 24 * HOUR_MS;
/// A log whose share in a cook's time (or the cook's in its) is smaller touches it only.
const LEAST_SHARE: f64 = 0.5;

/// The time that a log spans.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogSpan {
    /// The log, as shown.
    pub shown_as: String,
    /// Its first reading, ms UTC.
    pub first_ms: i64,
    /// Its last reading, ms UTC.
    pub last_ms: i64,
    /// Whether it has a meat channel.
    pub has_meat: bool,
}

impl LogSpan {
    /// The span of a log; `None` where it counts from its own zero or has no reading.
    pub fn of(shown_as: &str, log: &Log) -> Option<Self> {
        if log.time != TimeBase::Absolute {
            return None;
        }
        let read = || log.channels.iter().filter(|channel| !channel.is_empty());
        Some(Self {
            shown_as: shown_as.to_owned(),
            first_ms: read().filter_map(|channel| channel.at_ms.first()).min()?,
            last_ms: read().filter_map(|channel| channel.at_ms.last()).max()?,
            has_meat: read().any(|channel| channel.role == Role::Meat),
        })
    }

    fn overlaps(&self, other: &Self) -> bool {
        self.first_ms <= other.last_ms && other.first_ms <= self.last_ms
    }
}

/// What [`match_by_time`] finds.
#[derive(Debug, Default)]
pub struct Matching {
    /// Logs of each cook, as shown; by cook.
    pub logs: BTreeMap<String, Vec<String>>,
    /// What speaks for each.
    pub evidence: Vec<Evidence>,
    /// Cooks whose logs only the user can tell, and what is to be answered.
    pub questions: Vec<(String, IngestError)>,
    /// Logs that fit no card and are in no question, as shown.
    pub left_over: Vec<String>,
}

/// When a cook was, as far as its card and events tell.
#[derive(Debug, Clone, Copy)]
enum Time {
    /// From meat-on to slice, pull, or [`LONGEST_COOK_MS`] later.
    Known { from: i64, until: i64 },
    /// On a local day: its first and last instant.
    Day { from: i64, until: i64 },
}

/// Marks of a cook that its events state.
#[derive(Debug, Clone, Copy, Default)]
struct Stated {
    meat_on: Option<i64>,
    pull: Option<i64>,
    slice: Option<i64>,
}

impl Stated {
    /// Of every cook, the first event of each kind.
    fn by_cook(events: &[EventsReading]) -> HashMap<&str, Self> {
        let mut by_cook: HashMap<&str, Self> = HashMap::new();
        for event in events.iter().flat_map(|reading| &reading.events) {
            let stated = by_cook.entry(&event.cook).or_default();
            let mark = match event.kind {
                EventKind::MeatOn => &mut stated.meat_on,
                EventKind::Pull => &mut stated.pull,
                EventKind::Slice => &mut stated.slice,
                _ => continue,
            };
            mark.get_or_insert(event.at_ms);
        }
        by_cook
    }
}

impl Time {
    fn of(card: &Card, stated: Stated, zone: &TimeZone) -> Option<Self> {
        if let Some(from) = card.marks.meat_on_ms.or(stated.meat_on) {
            let until = card
                .marks
                .slice_ms
                .or(card.marks.pull_ms)
                .or(stated.slice)
                .or(stated.pull)
                .filter(|until| *until > from)
                .unwrap_or(from + LONGEST_COOK_MS);
            return Some(Self::Known { from, until });
        }
        let day = crate::time::parse_iso_date(card.date.as_ref()?.as_bytes())?;
        let midnight = |day: i64| crate::zone::instant_of(zone, day * crate::time::DAY_MS);
        Some(Self::Day { from: midnight(day), until: midnight(day + 1) })
    }

    fn bounds(self) -> (i64, i64) {
        match self {
            Self::Known { from, until } | Self::Day { from, until } => (from, until),
        }
    }

    /// A log fits a cook with a meat-on if it shares at least half of the shorter of both
    /// times; a cook with a date only, if it begins on that day.
    fn fits(self, log: &LogSpan) -> bool {
        match self {
            Self::Known { from, until } => {
                let shared = (log.last_ms.min(until) - log.first_ms.max(from)) as f64;
                let shorter = (log.last_ms - log.first_ms).min(until - from) as f64;
                shared > 0.0 && shared >= LEAST_SHARE * shorter
            }
            Self::Day { from, until } => (from..until).contains(&log.first_ms),
        }
    }

    /// Whether two cooks cannot have been on together.
    fn is_apart(self, other: Self) -> bool {
        match (self, other) {
            (Self::Known { from: a, until: b }, Self::Known { from: c, until: d }) => {
                b <= c || d <= a
            }
            _ => false,
        }
    }
}

/// The times of cards in the order of their beginnings, to find those that a log meets.
struct Times {
    /// Beginning, end, card, and time.
    by_start: Vec<(i64, i64, usize, Time)>,
    /// The latest end of each range of `by_start` that [`Times::visit`] halves its way to.
    latest: HashMap<(usize, usize), i64>,
}

impl Times {
    fn new(times: impl Iterator<Item = (usize, Time)>) -> Self {
        let bounded = times.map(|(card, time)| {
            let (from, until) = time.bounds();
            (from, until, card, time)
        });
        let mut by_start: Vec<_> = bounded.collect();
        by_start.sort_by_key(|(from, _, card, _)| (*from, *card));
        let mut this = Self { by_start, latest: HashMap::new() };
        if !this.by_start.is_empty() {
            this.measure(0, this.by_start.len());
        }
        this
    }

    fn measure(&mut self, from: usize, to: usize) -> i64 {
        let latest = if to - from == 1 {
            self.by_start[from].1
        } else {
            let middle = usize::midpoint(from, to);
            self.measure(from, middle).max(self.measure(middle, to))
        };
        self.latest.insert((from, to), latest);
        latest
    }

    /// The cards whose time a log fits, in the sheet's order.
    fn fitting(&self, log: &LogSpan) -> Vec<usize> {
        let mut found = Vec::new();
        // What begins after the log's end cannot fit.
        let end = self.by_start.partition_point(|(from, ..)| *from <= log.last_ms);
        if end > 0 {
            self.visit(0, self.by_start.len(), end, log, &mut found);
        }
        found.sort_unstable();
        found
    }

    /// Looks at what of a range lies before `end`, and leaves out what is over before the log.
    fn visit(&self, from: usize, to: usize, end: usize, log: &LogSpan, found: &mut Vec<usize>) {
        if from >= end || self.latest.get(&(from, to)).is_none_or(|latest| *latest < log.first_ms) {
            return;
        }
        if to - from == 1 {
            let (_, _, card, time) = self.by_start[from];
            if time.fits(log) {
                found.push(card);
            }
            return;
        }
        let middle = usize::midpoint(from, to);
        self.visit(from, middle, end, log, found);
        self.visit(middle, to, end, log, found);
    }
}

/// Matches the cards that name no log to the logs that no card names, by time: a log
/// belongs to the cook that it fits; to several, one after the other, where their times do
/// not overlap (each then gets the readings of its own time, see
/// [`crate::share_out`]). Several logs belong to one cook where they follow each other, or
/// where no more than one of those that overlap has a meat channel. Anything else is a
/// question.
pub fn match_by_time(
    sheet: &SheetReading,
    events: &[EventsReading],
    zone: &TimeZone,
    logs: &[LogSpan],
    answers: &Answers,
) -> Matching {
    let stated = Stated::by_cook(events);
    let time_of = |card: &Card| {
        let stated = stated.get(card.cook.as_str()).copied().unwrap_or_default();
        Time::of(card, stated, zone)
    };
    let times: Vec<Option<Time>> = sheet
        .cards
        .iter()
        .map(|card| card.logs.is_empty().then(|| time_of(card)).flatten())
        .collect();
    let index =
        Times::new(times.iter().enumerate().filter_map(|(card, time)| Some((card, (*time)?))));
    let mut matching = Matching::default();
    let mut asked: BTreeSet<usize> = BTreeSet::new();
    let mut matched: BTreeMap<usize, Vec<&LogSpan>> = BTreeMap::new();
    for log in logs {
        let cooks = index.fitting(log);
        let clash = cooks.iter().enumerate().find_map(|(n, &i)| {
            let other = cooks[n + 1..].iter().find(|&&j| match (times[i], times[j]) {
                (Some(one), Some(other)) => !one.is_apart(other),
                _ => false,
            })?;
            Some((i, *other))
        });
        if cooks.is_empty() {
            matching.left_over.push(log.shown_as.clone());
        } else if let Some((one, other)) = clash {
            let question = format!(
                "the log {} was running during several cooks, and no row names it",
                log.shown_as
            );
            let name = |i: usize| sheet.cards[i].cook.clone();
            let then = |i: usize| format!("it is the log of `{}` alone", name(i));
            let offered: Vec<_> =
                cooks.iter().map(|&i| (name(i), then(i), Settles::elsewhere())).collect();
            let which = |i| which(sheet, i, &log.shown_as, question.clone(), offered.clone());
            if let Some(answer) = answers.to(&which(one).1.question) {
                let meant = cooks.iter().find(|&&i| name(i).eq_ignore_ascii_case(answer));
                matched.entry(*meant.unwrap_or(&other)).or_default().push(log);
                continue;
            }
            for &i in &cooks {
                ask(&mut matching, &mut asked, sheet, i, which(i));
            }
        } else {
            for i in cooks {
                matched.entry(i).or_default().push(log);
            }
        }
    }
    for (i, mut logs) in matched {
        let clash = logs.iter().enumerate().find_map(|(n, one)| {
            let other = logs[n + 1..]
                .iter()
                .find(|other| one.overlaps(other) && one.has_meat && other.has_meat)?;
            Some([one.shown_as.clone(), other.shown_as.clone()])
        });
        if let Some(both) = clash {
            let cook = &sheet.cards[i].cook;
            let question = format!("two logs were running during the cook `{cook}`");
            let offered = both
                .map(|log| {
                    let then = format!("`{cook}` is {log}; the other is no log of this cook");
                    (log, then, Settles::elsewhere())
                })
                .into();
            let which = which(sheet, i, cook, question, offered);
            let Some(answer) = answers.to(&which.1.question) else {
                ask(&mut matching, &mut asked, sheet, i, which);
                continue;
            };
            let is_meant = |log: &&LogSpan| log.shown_as.eq_ignore_ascii_case(answer);
            let others = logs.iter().filter(|log| !is_meant(log));
            matching.left_over.extend(others.map(|log| log.shown_as.clone()));
            logs.retain(|log| is_meant(log));
        }
        if !asked.contains(&i) {
            let cook = &sheet.cards[i].cook;
            for log in &logs {
                matching.evidence.push(Evidence {
                    what: format!("cook of {}", log.shown_as),
                    taken_as: cook.clone(),
                    because: match times[i] {
                        Some(Time::Day { .. }) => "it begins on the card's date".to_owned(),
                        _ => "it was running between the card's marks".to_owned(),
                    },
                    setting: "`logs` in the sheet".to_owned(),
                });
            }
            let names = logs.iter().map(|log| log.shown_as.clone()).collect();
            matching.logs.insert(cook.clone(), names);
        }
    }
    matching
}

/// Which log is a cook's, or which cook a log's.
fn which(
    sheet: &SheetReading,
    i: usize,
    about: &str,
    question: String,
    answers: Vec<(String, String, Settles)>,
) -> (Place, Asked) {
    let row = &sheet.rows[i];
    let place = Place::cell(&row.sheet, row.line, "logs", sheet.cards[i].cook.as_bytes());
    let setting = "`logs` in the sheet".to_owned();
    let code = QuestionCode::LogOfCook;
    let asked = Asked::new(code, &place, vec![about.to_owned()], question, answers, setting);
    (place, asked)
}

fn ask(
    matching: &mut Matching,
    asked: &mut BTreeSet<usize>,
    sheet: &SheetReading,
    i: usize,
    (place, which): (Place, Asked),
) {
    if asked.insert(i) {
        let error = IngestError::NeedsAnswer { place: place.into(), asked: which.into() };
        matching.questions.push((sheet.cards[i].cook.clone(), error));
    }
}

/// Names that cooks bear already.
#[derive(Debug)]
pub struct TakenNames {
    taken: HashSet<String>,
    /// Of each name the number to try next: all below are taken.
    next: HashMap<String, u32>,
}

impl TakenNames {
    /// These are taken.
    pub fn new(names: impl Iterator<Item = String>) -> Self {
        Self { taken: names.collect(), next: HashMap::new() }
    }

    /// Takes a name, with the first number behind it that makes it unlike all others.
    pub fn take(&mut self, name: &str) -> String {
        let mut free = name.to_owned();
        let number = self.next.entry(name.to_owned()).or_insert(2);
        while !self.taken.insert(free.clone()) {
            free = format!("{name}-{number}");
            *number += 1;
        }
        free
    }
}

/// What is left of a log's path without its folders and its endings.
pub fn stem_of(path: &str) -> &str {
    let file = path.rsplit('/').next().unwrap_or(path);
    let plain = crate::find::COMPRESSED.iter().find_map(|e| file.strip_suffix(e)).unwrap_or(file);
    plain.rsplit_once('.').map_or(plain, |(stem, _)| stem)
}

/// The card of a log that has none: named after the file, unlike any in `taken`, which it
/// joins; in the season of the year (in the zone) in which the log begins.
pub fn card_for_log(log: &LogSpan, zone: &TimeZone, taken: &mut TakenNames) -> Card {
    let cook = taken.take(stem_of(&log.shown_as));
    let day = crate::zone::local_ms(zone, log.first_ms).div_euclid(crate::time::DAY_MS);
    let date = crate::sheet::date_text(day);
    Card {
        cook,
        season: date.get(..4).unwrap_or("undated").to_owned(),
        logs: vec![log.shown_as.clone()],
        date: Some(date),
        ..Card::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sheet(rows: &str) -> SheetReading {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.csv");
        std::fs::write(&path, format!("cook,date,meat_on,pull,logs\n{rows}")).unwrap();
        crate::read_season_sheet(&path, "s.csv", &(&TimeZone::UTC).into()).unwrap()
    }

    fn log(name: &str, from: &str, to: &str) -> LogSpan {
        let ms = |text: &str| crate::time::parse_iso(text.as_bytes()).unwrap().ms;
        LogSpan { shown_as: name.to_owned(), first_ms: ms(from), last_ms: ms(to), has_meat: true }
    }

    fn matched(rows: &str, logs: &[LogSpan]) -> (Vec<String>, Vec<String>, Vec<String>) {
        let found = match_by_time(&sheet(rows), &[], &TimeZone::UTC, logs, &Answers::default());
        let pairs =
            found.logs.iter().map(|(cook, logs)| format!("{cook}: {}", logs.join(" "))).collect();
        (pairs, found.questions.into_iter().map(|q| q.0).collect(), found.left_over)
    }

    #[test]
    fn a_log_belongs_to_the_cook_that_it_covers() {
        let logs = [
            log("a.csv", "2026-05-02 21:00", "2026-05-03 09:00"),
            log("b.csv", "2026-05-09 05:00", "2026-05-09 12:00"),
            log("b2.csv", "2026-05-09 12:05", "2026-05-09 18:00"),
            log("c.csv", "2026-05-20 05:00", "2026-05-20 18:00"),
        ];
        let rows = "a,2026-05-02,22:00,08:00,\nb,2026-05-09,,,\nd,2026-06-01,06:00,,\ne,2026-05-20,06:00,,x.csv\n";
        let (pairs, questions, left) = matched(rows, &logs);
        assert_eq!(pairs, ["a: a.csv", "b: b.csv b2.csv"]);
        assert!(questions.is_empty());
        assert_eq!(left, ["c.csv"], "a card that names its log takes no other");
    }

    #[test]
    fn two_that_fit_are_a_question() {
        let one = [log("a.csv", "2026-05-02 05:00", "2026-05-02 18:00")];
        let rows = "a,2026-05-02,06:00,17:00,\nb,2026-05-02,07:00,16:00,\n";
        let (pairs, questions, left) = matched(rows, &one);
        assert_eq!((pairs.len(), questions, left.len()), (0, vec!["a".into(), "b".into()], 0));
        let mut two = [
            log("a.csv", "2026-05-02 05:00", "2026-05-02 18:00"),
            log("b.csv", "2026-05-02 05:30", "2026-05-02 17:30"),
        ];
        let rows = "a,2026-05-02,06:00,17:00,\n";
        assert_eq!(matched(rows, &two).1, ["a"]);
        // A second logger that watched the pit only.
        two[1].has_meat = false;
        assert_eq!(matched(rows, &two).0, ["a: a.csv b.csv"]);
    }

    proptest! {
        #[test]
        fn the_cards_that_a_log_fits_are_those_that_a_look_at_each_finds(
            times in prop::collection::vec((0..500_i64, 1..60_i64, any::<bool>()), 0..40),
            (first_ms, length) in (0..500_i64, 0..90_i64),
        ) {
            let time = |&(from, length, known): &(i64, i64, bool)| if known { Time::Known { from, until: from + length } } else { Time::Day { from, until: from + length } };
            let times: Vec<Time> = times.iter().map(time).collect();
            let log = LogSpan {
                shown_as: "a.csv".to_owned(),
                first_ms,
                last_ms: first_ms + length,
                has_meat: true,
            };
            let found = Times::new(times.iter().copied().enumerate()).fitting(&log);
            let wanted: Vec<usize> = (0..times.len()).filter(|&i| times[i].fits(&log)).collect();
            prop_assert_eq!(found, wanted);
        }
    }

    #[test]
    fn cooks_one_after_the_other_share_a_log() {
        let logs = [log("weekend.csv", "2026-05-02 05:00", "2026-05-03 20:00")];
        let rows = "a,2026-05-02,06:00,17:00,\nb,2026-05-03,07:00,16:00,\n";
        assert_eq!(matched(rows, &logs).0, ["a: weekend.csv", "b: weekend.csv"]);
    }

    #[test]
    fn a_log_that_only_touches_a_cook_is_not_its_log() {
        let logs = [log("a.csv", "2026-05-02 16:00", "2026-05-03 20:00")];
        assert_eq!(matched("a,2026-05-02,06:00,17:00,\n", &logs).2, ["a.csv"]);
    }

    #[test]
    fn a_card_for_a_log_has_a_name_of_its_own() {
        let zone = TimeZone::get("America/Chicago").unwrap();
        let log = log("logs/runs.zip/pit.a.csv.gz", "2026-01-01 03:00", "2026-01-01 09:00");
        let card = card_for_log(&log, &zone, &mut TakenNames::new(std::iter::empty()));
        assert_eq!((card.cook.as_str(), card.season.as_str()), ("pit.a", "2025"));
        assert_eq!(card.date.as_deref(), Some("2025-12-31"));
        let mut taken = TakenNames::new(["pit.a", "pit.a-2"].map(str::to_owned).into_iter());
        assert_eq!(card_for_log(&log, &zone, &mut taken).cook, "pit.a-3");
        assert_eq!(card_for_log(&log, &zone, &mut taken).cook, "pit.a-4");
    }
}
