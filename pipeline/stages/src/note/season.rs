//! What a season knows of its cooks when something is written down: their names, when each began and
//! ended, and its clock.

use super::NotedEvent;
use crate::error::StageError;
use crate::folder::read_season;
use crate::outside::{OnThePit, on_clock};
use cook::{Season, Units};
use ingest::{SheetReading, WrittenTime};
use jiff::tz::TimeZone;
use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};

/// When a cook began and ended, as far as cards and events tell.
#[derive(Debug, Clone, Default)]
struct Span {
    date: Option<String>,
    on: OnThePit,
}

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
        // Without a zone of the season's, the clock of the hand that notes is this machine's.
        let zone = match season.time_zone {
            Some(_) => season.shown_zone(),
            None => TimeZone::system(),
        };
        Ok(Self {
            folder: folder.to_owned(),
            events_name: name.clone(),
            units: season.units,
            now_ms: jiff::Timestamp::now().as_millisecond(),
            sheets: season.sheets.join(", "),
            cooks: cooks(folder, &season, &zone)?,
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

    pub(super) fn meat_on_ms(&self, cook: &str) -> Option<i64> {
        self.cooks.get(cook)?.on.meat_on_ms
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
                "`{at}` counts from meat-on, and nobody wrote when the meat of {cook} went on; write a clock time"
            ))
        })
    }

    /// An instant as it stands in the sheet: local, with its offset.
    pub(super) fn written(&self, at_ms: i64) -> String {
        on_clock(at_ms, &self.zone)
    }

    /// A warning where an event lies outside its cook: nothing in it can rest on that event.
    pub(super) fn outside(&self, event: &NotedEvent) -> Option<String> {
        let span = self.cooks.get(&event.cook)?;
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
) -> Result<HashMap<String, Span>, StageError> {
    let mut cards = SheetReading::default();
    for name in &season.sheets {
        cards.append(ingest::read_season_sheet(&folder.join(name), name, &zone.into())?)?;
    }
    let mut events = Vec::new();
    for name in &season.events {
        // One that is missing or that a slip has spoilt is answered where it is written to.
        let reading =
            ingest::read_events_sheet(&folder.join(name), name, &zone.into(), &cards.cards);
        events.extend(reading.ok());
    }
    ingest::resolve_marks(&mut cards, &mut events, &BTreeSet::new(), zone);
    let span = |card: &cook::Card| Span { date: card.date.clone(), on: OnThePit::of(card) };
    Ok(cards.cards.iter().map(|card| (card.cook.clone(), span(card))).collect())
}
