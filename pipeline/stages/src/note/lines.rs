//! Plain lines, as they stand in a notebook: `3:12 wrap foil`, `4:05 165 flat`, `bark set`.
//!
//! A line is perhaps a cook, perhaps a time, then an event and its value; what follows a `;` is a
//! remark. A line without a time has that of the line before it. A clock time is the first such time
//! after the line before it, or after meat-on. A temperature alone is a reading of the core by hand,
//! in the season's unit where none stands beside it.

use super::season::NotedSeason;
use super::{NotedEvent, checked_value};
use cook::{EventKind, SpotReading, Units};
use ingest::WrittenTime;
use std::collections::HashMap;

/// Reads all lines; blank ones and those that begin with `#` say nothing.
pub(super) fn events(
    text: &str,
    season: &NotedSeason,
    cook: Option<&str>,
) -> Vec<(usize, Result<NotedEvent, String>)> {
    let mut reader = Reader { season, cook, last: HashMap::new(), meat_on: HashMap::new() };
    let lines = text.lines().enumerate().map(|(index, line)| (index + 1, line.trim()));
    lines
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
        .map(|(line, text)| (line, reader.event(text)))
        .collect()
}

struct Reader<'a> {
    season: &'a NotedSeason,
    cook: Option<&'a str>,
    /// The instant of the last line of each cook.
    last: HashMap<String, i64>,
    /// Meat-on as a line gave it.
    meat_on: HashMap<String, i64>,
}

impl Reader<'_> {
    fn event(&mut self, line: &str) -> Result<NotedEvent, String> {
        let season = self.season;
        let (cook, line) = match season.named_first(line) {
            Some((cook, rest)) => (cook, rest),
            None => (self.cook.or(season.only_cook()).ok_or("whose is this? name the cook at the line's beginning, or behind the file's name")?, line),
        };
        let (time, said) = time_first(line, season);
        let (said, remark) = match said.split_once(';') {
            Some((said, remark)) => (said.trim(), Some(remark.trim())),
            None => (said, None),
        };
        let (kind, rest) = event_first(said, season.units)?;
        let at_ms = self.instant(cook, time, kind, line)?;
        let (value, mut note) = if kind.takes_value() {
            let value = (!rest.is_empty()).then_some(rest.as_str());
            (checked_value(kind, value).map_err(|error| error.to_string())?, None)
        } else {
            (None, (!rest.is_empty()).then_some(rest))
        };
        if let Some(remark) = remark.filter(|remark| !remark.is_empty()) {
            note = Some(note.map_or_else(|| remark.to_owned(), |note| format!("{note}; {remark}")));
        }
        self.last.insert(cook.to_owned(), at_ms);
        if kind == EventKind::MeatOn {
            self.meat_on.insert(cook.to_owned(), at_ms);
        }
        Ok(NotedEvent { cook: cook.to_owned(), at_ms, kind, value, note, id: String::new() })
    }

    fn instant(
        &self,
        cook: &str,
        time: Option<WrittenTime>,
        kind: EventKind,
        line: &str,
    ) -> Result<i64, String> {
        let (season, last) = (self.season, self.last.get(cook).copied());
        let meat_on = season.meat_on_ms(cook).or(self.meat_on.get(cook).copied());
        let Some(time) = time else {
            return last.ok_or(format!("`{line}` says no time, and no line before it does"));
        };
        let found = match (kind, meat_on) {
            (EventKind::Lit, Some(meat_on)) => time.up_to(meat_on, Some(meat_on), &season.zone),
            (EventKind::Lit | EventKind::MeatOn, None) => {
                season.date(cook).and_then(|date| time.on(date, &season.zone))
            }
            _ => time.following(last.max(meat_on), meat_on, &season.zone),
        };
        found.ok_or_else(|| {
            format!(
                "`{line}` cannot be placed: nobody wrote when the meat of {cook} went on\n  try: write its `meat_on` in the season sheet, or the date before the time, 2026-05-02 3:12"
            )
        })
    }
}

/// A time at the beginning, of up to three words, and what is behind it.
fn time_first<'t>(line: &'t str, season: &NotedSeason) -> (Option<WrittenTime>, &'t str) {
    let ends: Vec<usize> = line
        .char_indices()
        .filter(|(_, letter)| letter.is_whitespace())
        .map(|(at, _)| at)
        .chain([line.len()])
        .take(3)
        .collect();
    for end in ends.into_iter().rev() {
        let first = line[..end].trim_end_matches([',', '-', ' ']);
        // `4:05 165`: only a colon or a date makes words a time; a bare number is a temperature.
        let is_time = first.contains(':') || first.starts_with('+') || first.ends_with('m');
        if let Some(time) = WrittenTime::parse(first, &season.zone).filter(|_| is_time) {
            return (Some(time), line[end..].trim_start_matches([',', '-', ' ']).trim());
        }
    }
    (None, line)
}

/// The event at the beginning, of one word or two, and what is behind it.
fn event_first(said: &str, units: Units) -> Result<(EventKind, String), String> {
    if said.starts_with(|letter: char| letter.is_ascii_digit()) {
        return Ok((EventKind::Core, with_unit(said, units)));
    }
    let mut words = said.splitn(3, char::is_whitespace);
    let (one, two) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
    let both = format!("{one} {two}");
    let (kind, used) = match (both.parse::<EventKind>(), one.parse::<EventKind>()) {
        (Ok(kind), _) if !two.is_empty() => (kind, both.len()),
        (_, Ok(kind)) => (kind, one.len()),
        (_, Err(known)) => {
            let near = cook::settings::nearest(one, EventKind::ALL.map(EventKind::as_str));
            return Err(match near {
                Some(near) => format!("`{one}` is no event; did you mean `{near}`?"),
                None => format!("`{one}` is no event; known are {known}"),
            });
        }
    };
    let rest = said[used.min(said.len())..].trim();
    let rest = if kind == EventKind::Core { with_unit(rest, units) } else { rest.to_owned() };
    Ok((kind, rest))
}

/// A reading by hand with the season's unit where it has none.
fn with_unit(said: &str, units: Units) -> String {
    let end =
        said.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(said.len());
    if SpotReading::parse(said).is_some() || end == 0 {
        return said.to_owned();
    }
    let unit = if units == Units::Us { "F" } else { "C" };
    format!("{}{unit} {}", &said[..end], said[end..].trim()).trim().to_owned()
}
