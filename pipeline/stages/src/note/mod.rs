//! Events written down by hand into a season's events sheet: one from the command line, or those of a
//! file.

mod export;
mod lines;
mod season;
mod sheet;

pub(crate) use sheet::is_spreadsheet;

use crate::error::StageError;
use cook::{EventKind, WrapMethod};
use rows::Fingerprint;
use season::NotedSeason;
use sheet::{EventsSheet, Row};
use std::collections::HashMap;
use std::fs;
use std::path::Path;

/// One event from the command line.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoteRequest<'a> {
    /// The cook, as the season sheet names it.
    pub cook: &'a str,
    /// The event's word.
    pub event: &'a str,
    /// Its value.
    pub value: Option<&'a str>,
    /// A remark to keep with it.
    pub remark: Option<&'a str>,
    /// When, as written; now where nothing is said.
    pub at: Option<&'a str>,
}

/// What was written down.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Noted {
    /// The rows added to the events sheet.
    pub rows: Vec<String>,
    /// Events of the file that the sheet has already, by their ids.
    pub already: usize,
    /// Lines of the file that could not be used, and why.
    pub refused: Vec<String>,
    /// Things to know although all was written down.
    pub warnings: Vec<String>,
}

/// An event as a person wrote it, read.
#[derive(Debug, Clone, PartialEq)]
struct NotedEvent {
    cook: String,
    at_ms: i64,
    kind: EventKind,
    value: Option<String>,
    note: Option<String>,
    /// What it is known by; empty for one from the command line.
    id: String,
    /// The instant of a line before it that is later.
    behind_ms: Option<i64>,
}

impl NotedEvent {
    fn row(&self, season: &NotedSeason) -> Row {
        Row {
            cook: self.cook.clone(),
            time: season.written(self.at_ms),
            event: self.kind.as_str(),
            value: self.value.clone().unwrap_or_default(),
            note: self.note.clone().unwrap_or_default(),
            id: self.id.clone(),
        }
    }
}

/// Adds an event to the first events sheet of a season folder.
///
/// # Errors
/// An event, value or time that is none; a cook that no sheet names; an events sheet that is a
/// spreadsheet or has other columns than `cook,time,event,value,note`.
pub fn note(folder: &Path, request: &NoteRequest<'_>) -> Result<Noted, StageError> {
    let season = NotedSeason::read(folder)?;
    let kind = event_kind(request.event)?;
    let value = checked_value(kind, request.value)?;
    let mut sheet = EventsSheet::read(&season)?;
    season.known_cook(request.cook)?;
    let at_ms = match request.at {
        None => season.now_ms,
        Some(at) => season.up_to_now(request.cook, at)?,
    };
    season.not_to_come(at_ms).map_err(|message| StageError::Usage { message })?;
    let event = NotedEvent {
        cook: request.cook.to_owned(),
        at_ms,
        kind,
        value,
        note: request.remark.map(str::to_owned),
        id: String::new(),
        behind_ms: None,
    };
    let rows = vec![sheet.append(&event.row(&season))?];
    sheet.write()?;
    let warnings = season.outside(&event).into_iter().collect();
    Ok(Noted { rows, warnings, ..Noted::default() })
}

/// Adds the events of a file, an export of `pit.html` or plain lines, to the first events sheet of a
/// season folder: each once, however often the file is given. `cook` is whose the plain lines are that
/// name no cook.
///
/// # Errors
/// As [`note`]; a file that cannot be read. A line that cannot be used is no error: it is among the
/// refused.
pub fn note_from(folder: &Path, file: &Path, cook: Option<&str>) -> Result<Noted, StageError> {
    let season = NotedSeason::read(folder)?;
    if let Some(cook) = cook {
        season.known_cook(cook)?;
    }
    let bytes = fs::read(file).map_err(|e| StageError::io(file, e))?;
    let text = String::from_utf8_lossy(&bytes);
    let text = text.trim_start_matches('\u{feff}');
    let mut noted = Noted::default();
    let read = if export::is_export(text) {
        export::events(text, &season)
    } else {
        with_ids(lines::events(text, &season, cook))
    };
    let mut sheet = EventsSheet::read(&season)?;
    let mut new = Vec::new();
    for (line, event) in read {
        let event = event.and_then(|event| season.not_to_come(event.at_ms).map(|()| event));
        match event {
            Err(why) => noted.refused.push(format!("{}:{line}: {why}", file.display())),
            Ok(event) => match sheet.of_id(&event.id) {
                None => {
                    noted.warnings.extend(event.behind_ms.map(|behind_ms| {
                        format!(
                            "{}:{line}: {} is earlier than a line before it, which is of {}: taken as {} of the same night\n  try: write the date before the time if it is of another day",
                            file.display(),
                            event.kind,
                            season.written(behind_ms),
                            season.written(event.at_ms)
                        )
                    }));
                    new.push(event);
                }
                Some(row) => {
                    noted.already += 1;
                    if !row.says(&event.row(&season)) {
                        noted.warnings.push(format!(
                            "{}:{line}: {} has this event already, but not as it stands here; {0} was left as it is\n  try: mend {0}, where its id is {}",
                            file.display(),
                            season.events_name,
                            event.id
                        ));
                    }
                }
            },
        }
    }
    for event in &new {
        noted.warnings.extend(season.outside(event));
        noted.rows.push(sheet.append(&event.row(&season))?);
    }
    if !new.is_empty() {
        sheet.write()?;
    }
    Ok(noted)
}

/// Gives plain lines ids by what they say, so that the same file adds nothing when it is read again.
fn with_ids(
    lines: Vec<(usize, Result<NotedEvent, String>)>,
) -> Vec<(usize, Result<NotedEvent, String>)> {
    let mut seen: HashMap<String, usize> = HashMap::new();
    let named = |mut event: NotedEvent| {
        let mut hash = Fingerprint::new("a line written at the pit", 1);
        hash.json(&(&event.cook, event.at_ms, event.kind, &event.value, &event.note));
        let id = format!("line-{}", &hash.finish()[..12]);
        let times = seen.entry(id.clone()).or_insert(0);
        *times += 1;
        event.id = if *times == 1 { id } else { format!("{id}-{times}") };
        event
    };
    let mut named = named;
    lines.into_iter().map(|(line, event)| (line, event.map(&mut named))).collect()
}

fn event_kind(word: &str) -> Result<EventKind, StageError> {
    word.parse().map_err(|known| StageError::Usage {
        message: format!("`{word}` is no event; known are {known}"),
    })
}

/// The value in its usual writing, if it is one for that event: what `run` would reject
/// later is answered now, while the hand that wrote it is there.
fn checked_value(kind: EventKind, value: Option<&str>) -> Result<Option<String>, StageError> {
    let wanted = match kind {
        EventKind::Wrap => "its method, such as paper or foil",
        EventKind::Setpoint => "what a pit is set to, with its unit, such as 275F or 135C",
        EventKind::Fuel => "a mass with its unit, such as 5lb or 2kg",
        EventKind::ProbeTest => "tender or not",
        EventKind::Lid => "open, close, or for how many seconds it was open",
        EventKind::Core => {
            "what meat can have, with its unit and perhaps the place, such as 165F or \"165F flat\""
        }
        EventKind::Bark => "not-yet, nearly, set, or a number from 1 to 5",
        _ if value.is_some() => "no value; use --remark for a remark",
        _ => return Ok(None),
    };
    let usual = match (kind, value) {
        (EventKind::Lid, None) => Some("open".to_owned()),
        (_, Some(text)) if kind.takes_value() => ingest::event_value(kind, text),
        _ => None,
    };
    let method = usual.as_deref().filter(|_| kind == EventKind::Wrap).and_then(WrapMethod::parse);
    let slip = match method.as_ref().map(|method| (method, method.meant())) {
        Some((_, Some(meant))) => Some(format!("; did you mean `{meant}`?")),
        // `foil 165` and `foil 3` hold a core or a time that would be lost in a method's name.
        Some((WrapMethod::Other(word), None)) if word.contains(|c: char| c.is_ascii_digit()) => {
            Some("\n  try: the method alone, and a remark for the rest".to_owned())
        }
        _ => None,
    };
    if usual.as_deref().is_none_or(str::is_empty) || slip.is_some() {
        let slip = slip.unwrap_or_default();
        let given = value.map_or("nothing".to_owned(), |text| format!("`{text}`"));
        return Err(StageError::Usage {
            message: format!("{kind} takes {wanted}, not {given}{slip}"),
        });
    }
    Ok(usual)
}

#[cfg(test)]
mod tests;
