//! What `pit.html` exports: a line an event, its parts with tabs between.

use super::season::NotedSeason;
use super::{NotedEvent, checked_value, event_kind};
use cook::EventKind;
use ingest::WrittenTime;

/// The first line of an export.
pub(super) const SCHEMA: &str = "cookstudy/pit/1";

/// Whether a text is an export: its first line that is not blank says so.
pub(super) fn is_export(text: &str) -> bool {
    text.lines().map(str::trim).find(|line| !line.is_empty()).is_some_and(|line| line == SCHEMA)
}

/// The events, by their lines; or why a line is none.
pub(super) fn events(text: &str, season: &NotedSeason) -> Vec<(usize, Result<NotedEvent, String>)> {
    let lines = text.lines().enumerate().map(|(index, line)| (index + 1, line));
    let lines = lines.filter(|(_, line)| !line.trim().is_empty() && line.trim() != SCHEMA);
    lines.map(|(line, text)| (line, event(text, season))).collect()
}

fn event(line: &str, season: &NotedSeason) -> Result<NotedEvent, String> {
    let parts: Vec<&str> = line.split('\t').map(str::trim).collect();
    let [id, cook, time, word, rest @ ..] = &parts[..] else {
        return Err(
            "not a line of an export: id, cook, time, event, value and note with tabs between\n  try: export it anew as a file, not through a program that changes tabs"
                .into(),
        );
    };
    let text = |place: usize| rest.get(place).copied().filter(|text| !text.is_empty());
    if id.is_empty() {
        return Err("the event has no id, by which it would be taken once only".into());
    }
    season.known_cook(cook).map_err(|error| error.to_string())?;
    let kind: EventKind = event_kind(word).map_err(|error| error.to_string())?;
    let Some(WrittenTime::Instant(at_ms)) = WrittenTime::parse(time, &season.zone) else {
        return Err(format!("`{time}` is no date and time"));
    };
    let value = checked_value(kind, text(0)).map_err(|error| error.to_string())?;
    Ok(NotedEvent {
        cook: (*cook).to_owned(),
        at_ms,
        kind,
        value,
        note: text(1).map(str::to_owned),
        id: (*id).to_owned(),
        behind_ms: None,
    })
}
