//! What a season knows of its cooks when something is written down: their names, when each began and
//! ended, and its clock.

use super::NotedEvent;
use crate::error::StageError;
use crate::folder::{QUESTIONS, read_season};
use crate::outside::{LONGEST_MS, OnThePit, on_clock};
use cook::{Answers, EventKind, Question, Questions, Season, Units};
use ingest::{CardRow, SheetOptions, SheetReading, WrittenTime};
use jiff::tz::TimeZone;
use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};

/// When a cook began and ended, as far as cards and events tell.
#[derive(Debug, Clone, Default)]
struct Span {
    date: Option<String>,
    on: OnThePit,
    /// Its question that is open, where its times hang on one.
    asks: Option<Question>,
}

/// So far ahead of this computer's clock an event is believed, ms (a day).
const AHEAD_MS: i64 = 86_400_000;

pub(super) struct NotedSeason {
    pub(super) folder: PathBuf,
    /// The first events sheet, as season.toml names it.
    pub(super) events_name: String,
    pub(super) units: Units,
    pub(super) zone: TimeZone,
    pub(super) now_ms: i64,
    sheets: String,
    cooks: HashMap<String, Span>,
}

impl NotedSeason {
    pub(super) fn read(folder: &Path) -> Result<Self, StageError> {
        let season = read_season(folder)?;
        let Some(name) = season.events.first() else {
            return Err(StageError::Usage {
                message: "season.toml names no events sheet; add `events = [\"events.csv\"]`"
                    .into(),
            });
        };
        let answers = Questions::read(&folder.join(QUESTIONS))?.answers();
        // Without a zone of the season's, the clock of the hand that notes is this machine's.
        let zone = season.zone(&answers).unwrap_or_else(TimeZone::system);
        Ok(Self {
            folder: folder.to_owned(),
            events_name: name.clone(),
            units: season.units,
            now_ms: jiff::Timestamp::now().as_millisecond(),
            sheets: season.sheets.join(", "),
            cooks: cooks(folder, &season, &zone, answers)?,
            zone,
        })
    }

    /// A typing slip at 3 a.m. must not make an event of a cook that does not exist.
    pub(super) fn known_cook(&self, cook: &str) -> Result<(), StageError> {
        if self.cooks.contains_key(cook) {
            return Ok(());
        }
        let mut known: Vec<&str> = self.cooks.keys().map(String::as_str).collect();
        known.sort_unstable();
        let hint = cook::settings::nearest(cook, known).map_or_else(
            || format!("add its row to {} first", self.sheets),
            |name| format!("did you mean `{name}`?"),
        );
        Err(StageError::Usage {
            message: format!("no sheet of this season has a cook `{cook}`; {hint}"),
        })
    }

    /// The longest name of a cook that the text begins with, and what is behind it.
    pub(super) fn named_first<'t>(&self, text: &'t str) -> Option<(&str, &'t str)> {
        let known = self.cooks.keys().filter_map(|name| {
            let rest = text.strip_prefix(name.as_str())?;
            (rest.is_empty() || rest.starts_with(char::is_whitespace)).then_some((name, rest))
        });
        known.max_by_key(|(name, _)| name.len()).map(|(name, rest)| (name.as_str(), rest.trim()))
    }

    /// The season's one cook, where it has no more.
    pub(super) fn only_cook(&self) -> Option<&str> {
        let mut names = self.cooks.keys();
        names.next().filter(|_| names.next().is_none()).map(String::as_str)
    }

    /// What is noted has happened; a computer whose clock runs behind gets a day.
    pub(super) fn not_to_come(&self, at_ms: i64) -> Result<(), String> {
        if at_ms - self.now_ms <= AHEAD_MS {
            return Ok(());
        }
        Err(format!(
            "{} is still to come by this computer's clock, {}\n  try: mend the time, or the clock",
            self.written(at_ms),
            self.written(self.now_ms)
        ))
    }

    pub(super) fn meat_on_ms(&self, cook: &str) -> Option<i64> {
        self.cooks.get(cook)?.on.meat_on_ms
    }

    pub(super) fn end_ms(&self, cook: &str) -> Option<i64> {
        self.cooks.get(cook)?.on.end_ms
    }

    /// The id of the question that a cook's times hang on.
    #[cfg(test)]
    pub(super) fn open_id(&self, cook: &str) -> Option<&str> {
        self.cooks.get(cook)?.asks.as_ref().map(|question| question.id.as_str())
    }

    /// Why a cook's clock times have no day, and what to do.
    pub(super) fn why_unplaced(&self, cook: &str) -> String {
        match self.cooks.get(cook).and_then(|span| span.asks.as_ref()) {
            Some(Question { asks, .. }) => format!(
                "{asks}\n  try: answer it in {}, or write the date before the time, 2026-05-02 3:12",
                self.folder.join(QUESTIONS).display()
            ),
            None => format!(
                "nobody wrote when the meat of {cook} went on\n  try: write its `meat_on` in the season sheet, or the date before the time, 2026-05-02 3:12"
            ),
        }
    }

    pub(super) fn date(&self, cook: &str) -> Option<&str> {
        self.cooks.get(cook)?.date.as_deref()
    }

    /// The instant of a time that somebody says now of what was.
    pub(super) fn up_to_now(&self, cook: &str, at: &str) -> Result<i64, StageError> {
        let refused = |message: String| StageError::Usage { message };
        let time = WrittenTime::parse(at, &self.zone).ok_or_else(|| {
            refused(format!(
                "`{at}` is no time; write 3:10, 5:40 pm, 2026-05-02T03:10 or +6:30 (since meat-on)"
            ))
        })?;
        time.up_to(self.now_ms, self.meat_on_ms(cook), &self.zone).ok_or_else(|| {
            refused(format!(
                "`{at}` counts from meat-on: {}; or a clock time",
                self.why_unplaced(cook)
            ))
        })
    }

    /// An instant as it stands in the sheet: local, with its offset.
    pub(super) fn written(&self, at_ms: i64) -> String {
        on_clock(at_ms, &self.zone)
    }

    /// A warning where an event is days from the date of its cook.
    fn far_from_date(&self, span: &Span, event: &NotedEvent) -> Option<String> {
        let date = span.date.as_deref()?;
        let noon_ms = WrittenTime::parse("12:00", &self.zone)?.on(date, &self.zone)?;
        if (event.at_ms - noon_ms).abs() <= LONGEST_MS {
            return None;
        }
        Some(format!(
            "{} at {} is not of {}, whose date is {date}; it was written down all the same\n  try: mend its time in {}, or say the date: --at \"{date} 9:30\"",
            event.kind,
            self.written(event.at_ms),
            event.cook,
            self.events_name,
        ))
    }

    /// A warning where an event lies outside its cook: nothing in it can rest on that event.
    pub(super) fn outside(&self, event: &NotedEvent) -> Option<String> {
        let span = self.cooks.get(&event.cook)?;
        if event.kind == EventKind::MeatOn || span.on.meat_on_ms.is_none() {
            return self.far_from_date(span, event);
        }
        let side = span.on.side(event.kind, event.at_ms)?;
        let meat_on_ms = span.on.meat_on_ms?;
        Some(format!(
            "{} at {} lies {side} {}, which was on from {}{}; it was written down all the same\n  try: mend its time in {}",
            event.kind,
            self.written(event.at_ms),
            event.cook,
            self.written(meat_on_ms),
            span.on.end_ms.map_or_else(String::new, |end| format!(" to {}", self.written(end))),
            self.events_name,
        ))
    }
}

fn cooks(
    folder: &Path,
    season: &Season,
    zone: &TimeZone,
    answers: Answers,
) -> Result<HashMap<String, Span>, StageError> {
    let options =
        SheetOptions { zone: zone.clone(), zone_known: true, answers, units: season.units };
    let mut cards = SheetReading::default();
    for name in &season.sheets {
        cards.append(ingest::read_season_sheet(&folder.join(name), name, &options)?)?;
    }
    let mut events = Vec::new();
    for name in &season.events {
        // One that is missing or that a slip has spoilt is answered where it is written to.
        let reading = ingest::read_events_sheet(&folder.join(name), name, &options, &cards.cards);
        events.extend(reading.ok());
    }
    ingest::resolve_marks(&mut cards, &mut events, &BTreeSet::new(), zone);
    let span = |card: &cook::Card, row: &CardRow| Span {
        date: card.date.clone(),
        on: OnThePit::of(card),
        asks: row.open_halves(card),
    };
    let rows = cards.cards.iter().zip(&cards.rows);
    Ok(rows.map(|(card, row)| (card.cook.clone(), span(card, row))).collect())
}
