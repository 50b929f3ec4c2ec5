//! Plain lines, as they stand in a notebook: `3:12 wrap foil`, `4:05 165 flat`, `bark set`.
//!
//! A line is perhaps a cook, perhaps a time, then an event and its value; what follows a `;` is a
//! remark. The time may stand behind the event too, `wrap foil at 3:12`; a line without one has that of
//! the line before it. A clock time is the first such time after the lines before it, or after meat-on;
//! one that was written down a little late is of the same night. Before an event's word, `4`, `230` and
//! `8.45` are clock times, and `203`, which may be a core, is refused. A time without am or pm that would come sooner in the other half of the day is refused, unless the
//! lines are of a 24-hour clock or the cook's end decides. A temperature alone, perhaps with its place, is
//! a reading of the core by hand, in the season's unit where none stands beside it and no core is so in
//! the other.

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
    let lines = text.lines().enumerate().map(|(index, line)| (index + 1, line.trim()));
    let lines: Vec<(usize, &str)> =
        lines.filter(|(_, line)| !line.is_empty() && !line.starts_with('#')).collect();
    let is_of_24_hours = lines.iter().any(|(_, line)| {
        let line = season.named_first(line).map_or(*line, |(_, rest)| rest);
        let (time, _) = time_first(line, season);
        time.is_some_and(|(time, text)| time.is_of_24_hours(text))
    });
    let is_in_fahrenheit = lines.iter().any(|(_, line)| {
        let line = season.named_first(line).map_or(*line, |(_, rest)| rest);
        let (_, said) = time_first(line, season);
        let said = said.split_once(';').map_or(said, |(said, _)| said).trim();
        bare_degrees(said).is_some_and(|(degrees, end)| {
            let place = said[end..].trim();
            degrees > HOTTEST_CORE_C && (place.is_empty() || cook::is_place(place))
        })
    });
    let mut reader = Reader {
        season,
        cook,
        is_of_24_hours,
        is_in_fahrenheit,
        last: HashMap::new(),
        latest: HashMap::new(),
        meat_on: HashMap::new(),
    };
    lines.into_iter().map(|(line, text)| (line, reader.event(text))).collect()
}

struct Reader<'a> {
    season: &'a NotedSeason,
    cook: Option<&'a str>,
    /// Whether a line says that all are written on a 24-hour clock.
    is_of_24_hours: bool,
    /// Whether a line says that all temperatures without a unit are in °F: no core is so hot in °C.
    is_in_fahrenheit: bool,
    /// The instant of the last line of each cook.
    last: HashMap<String, i64>,
    /// The latest instant of the lines of each cook so far.
    latest: HashMap<String, i64>,
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
        let (time, said) = match (time, time_behind(said, season)) {
            (None, Some(behind)) => (Some((behind.time, behind.text)), behind.said),
            (Some((_, first)), Some(behind)) => {
                return Err(format!(
                    "`{line}`: {first} or {}?\n  try: write one time, and a remark behind a `;`",
                    behind.text
                ));
            }
            (time, None) => (time, said.to_owned()),
        };
        let (kind, rest) = event_first(&said, season.units, self.is_in_fahrenheit)?;
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
        let behind_ms = self.latest.get(cook).copied().filter(|latest| {
            at_ms < *latest && kind != EventKind::Lit && kind != EventKind::MeatOn
        });
        self.last.insert(cook.to_owned(), at_ms);
        let latest = self.latest.entry(cook.to_owned()).or_insert(at_ms);
        *latest = at_ms.max(*latest);
        if kind == EventKind::MeatOn {
            self.meat_on.insert(cook.to_owned(), at_ms);
        }
        Ok(NotedEvent {
            cook: cook.to_owned(),
            at_ms,
            kind,
            value,
            note,
            id: String::new(),
            behind_ms,
        })
    }

    fn instant(
        &self,
        cook: &str,
        time: Option<(WrittenTime, &str)>,
        kind: EventKind,
        line: &str,
    ) -> Result<i64, String> {
        let season = self.season;
        let meat_on = season.meat_on_ms(cook).or(self.meat_on.get(cook).copied());
        let Some((time, text)) = time else {
            let last = self.last.get(cook).copied();
            return last.ok_or(format!("`{line}` says no time, and no line before it does"));
        };
        let last = self.latest.get(cook).copied();
        let of_the_night = kind != EventKind::Lit && kind != EventKind::MeatOn;
        if let Some(late_ms) =
            last.filter(|_| of_the_night && (self.is_of_24_hours || !time.is_bare(text)))
        {
            let before = time.up_to(late_ms, meat_on, &season.zone);
            let is_late = |at_ms: &i64| {
                late_ms - at_ms <= LATE_MS && meat_on.is_none_or(|meat_on| meat_on <= *at_ms)
            };
            // What lies before the cook's end as the sheet has it is of the next day after all.
            let next = time.following(Some(late_ms), meat_on, &season.zone);
            let is_next = next.zip(season.end_ms(cook)).is_some_and(|(next, end)| next <= end);
            if let Some(at_ms) = before.filter(|at_ms| is_late(at_ms) && !is_next) {
                return Ok(at_ms);
            }
        }
        let found = match (kind, meat_on) {
            (EventKind::Lit, Some(meat_on)) => time.up_to(meat_on, Some(meat_on), &season.zone),
            (EventKind::Lit | EventKind::MeatOn, None) => {
                season.date(cook).and_then(|date| time.on(date, &season.zone))
            }
            _ => time.following(last.max(meat_on), meat_on, &season.zone),
        };
        let Some(found) = found else {
            return Err(format!("`{line}` cannot be placed: {}", season.why_unplaced(cook)));
        };
        if self.is_of_24_hours || !time.is_bare(text) {
            return Ok(found);
        }
        let other = match (kind, meat_on) {
            (EventKind::Lit, Some(meat_on)) => {
                time.other_half().up_to(meat_on, Some(meat_on), &season.zone)
            }
            (EventKind::Lit | EventKind::MeatOn, None) => None,
            _ => time.other_half().following(last.max(meat_on), meat_on, &season.zone),
        };
        let is_sooner = |other: i64| match kind {
            EventKind::Lit => other > found,
            _ => other < found,
        };
        let Some(other) = other.filter(|other| is_sooner(*other)) else { return Ok(found) };
        match season.end_ms(cook) {
            Some(end) if (other..found).contains(&end) && kind != EventKind::Lit => Ok(other),
            _ => Err(format!(
                "`{line}`: {} or {}?\n  try: {text} am or {text} pm",
                season.written(other),
                season.written(found)
            )),
        }
    }
}

/// A line that goes back by no more than this was written down late, ms (3 h): to be of the next day it would
/// have to follow the lines before it by 21 h, in which nobody noted anything. Common practice, no source.
const LATE_MS: i64 = 3 * 3_600_000;

/// A time at the beginning, of up to three words, and what is behind it.
fn time_first<'t>(
    line: &'t str,
    season: &NotedSeason,
) -> (Option<(WrittenTime, &'t str)>, &'t str) {
    let ends: Vec<usize> = line
        .char_indices()
        .filter(|(_, letter)| letter.is_whitespace())
        .map(|(at, _)| at)
        .chain([line.len()])
        .take(3)
        .collect();
    for end in ends.into_iter().rev() {
        let first = line[..end].trim_end_matches([',', '-', ' ']);
        let rest = line[end..].trim_start_matches([',', '-', ' ']).trim();
        // `4:05 165`: only a colon or a date makes words a time; a bare number is a temperature,
        // unless it stands before an event.
        let is_number = first.len() <= 4 && first.bytes().all(|byte| byte.is_ascii_digit());
        if is_number && !may_be_a_core(first) && begins_with_event(rest) {
            let clock = if first.len() <= 2 { format!("{first}:00") } else { first.to_owned() };
            if let Some(time) = WrittenTime::parse(&clock, &season.zone) {
                return (Some((time, first)), rest);
            }
        }
        if let Some(clock) = dotted_clock(first).filter(|_| begins_with_event(rest))
            && let Some(time) = WrittenTime::parse(&clock, &season.zone)
        {
            return (Some((time, first)), rest);
        }
        let is_time = first.contains(':') || first.starts_with('+') || names_a_half(first);
        if let Some(time) = WrittenTime::parse(first, &season.zone).filter(|_| is_time) {
            return (Some((time, first)), rest);
        }
    }
    (None, line)
}

/// Whether a text ends as `3 pm` and `3 p.m.` do.
fn names_a_half(text: &str) -> bool {
    let text = text.trim_end_matches('.');
    text.ends_with(['m', 'M']) && text.starts_with(|letter: char| letter.is_ascii_digit())
}

/// `8:45` for `8.45`, which is a clock time before an event's word.
fn dotted_clock(text: &str) -> Option<String> {
    let (hours, minutes) = text.split_once('.')?;
    let digits = |text: &str, most| {
        (1..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit())
    };
    (digits(hours, 2) && minutes.len() == 2 && digits(minutes, 2))
        .then(|| format!("{hours}:{minutes}"))
}

/// A time that stands behind an event's word.
struct Behind<'t> {
    time: WrittenTime,
    text: &'t str,
    /// What is said but for the time.
    said: String,
}

/// Finds `3:12`, `3:12 pm` or `3 pm`, perhaps after `at`, behind the first word.
fn time_behind<'t>(said: &'t str, season: &NotedSeason) -> Option<Behind<'t>> {
    let starts: Vec<usize> = said
        .char_indices()
        .zip(std::iter::once(' ').chain(said.chars()))
        .filter(|((_, letter), before)| !letter.is_whitespace() && before.is_whitespace())
        .map(|((at, _), _)| at)
        .collect();
    for (place, &start) in starts.iter().enumerate().skip(1) {
        // Two words before one: `3:12 pm` is not `3:12`.
        for words in [2, 1] {
            let end = starts.get(place + words).map_or(said.len(), |&next| next);
            let text = said[start..end].trim_end().trim_matches([',', '(', ')', '@']);
            let is_time = (text.contains(':') || names_a_half(text))
                && (words == 1 || text.contains(char::is_whitespace));
            let Some(time) = WrittenTime::parse(text, &season.zone).filter(|_| is_time) else {
                continue;
            };
            let before = said[..start].trim_end().trim_end_matches(['@', '(', ',']).trim_end();
            let before = before.strip_suffix(" at").unwrap_or(before);
            let said = format!("{before} {}", &said[end..]).trim().to_owned();
            return Some(Behind { time, text, said });
        }
    }
    None
}

/// Whether three digits may be a core in °F: no meat is hotter than boiling water.
fn may_be_a_core(digits: &str) -> bool {
    digits.len() == 3 && digits.parse::<f64>().is_ok_and(|degrees| degrees <= 212.0)
}

/// Whether a text begins with the word of an event.
fn begins_with_event(said: &str) -> bool {
    let words: Vec<&str> = said.split_whitespace().take(2).collect();
    let is_event = |text: String| text.parse::<EventKind>().is_ok();
    (1..=words.len()).any(|count| is_event(words[..count].join(" ")))
}

/// The event at the beginning, of one word or two, and what is behind it.
fn event_first(
    said: &str,
    units: Units,
    is_in_fahrenheit: bool,
) -> Result<(EventKind, String), String> {
    if said.starts_with(|letter: char| letter.is_ascii_digit()) {
        return Ok((EventKind::Core, with_unit(said, units, is_in_fahrenheit)?));
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
    let rest = if kind == EventKind::Core {
        with_unit(rest, units, is_in_fahrenheit)?
    } else {
        rest.to_owned()
    };
    Ok((kind, rest))
}

/// Above this no core is one in °C: water boils, °C.
const HOTTEST_CORE_C: f64 = 110.0;

/// The number at the beginning of a reading by hand without a unit, and where it ends.
fn bare_degrees(said: &str) -> Option<(f64, usize)> {
    let end =
        said.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).unwrap_or(said.len());
    if SpotReading::parse(said).is_some() {
        return None;
    }
    Some((said[..end].replace(',', ".").parse().ok()?, end))
}

/// A reading by hand with the season's unit where it has none and could have no other.
fn with_unit(said: &str, units: Units, is_in_fahrenheit: bool) -> Result<String, String> {
    let bare = bare_degrees(said);
    let end = bare.map_or(0, |(_, end)| end);
    let (number, place) = match SpotReading::parse(said) {
        Some(spot) => (None, spot.place.unwrap_or_default()),
        None => (bare.map(|(degrees, _)| degrees), said[end..].trim().to_owned()),
    };
    if !place.is_empty() && !cook::is_place(&place) {
        return Err(format!(
            "`{said}`: `{place}` is no place in the meat that is known\n  try: 165F flat; or, if an event is meant, its word behind the time: 4:00 wrap foil"
        ));
    }
    let Some(degrees) = number else { return Ok(said.to_owned()) };
    let number = &said[..end];
    let unit = match units {
        Units::Us if degrees > HOTTEST_CORE_C || is_in_fahrenheit => "F",
        Units::Metric if degrees <= HOTTEST_CORE_C && !is_in_fahrenheit => "C",
        _ => return Err(format!("`{said}`: °F or °C?\n  try: {number}F or {number}C")),
    };
    Ok(format!("{number}{unit} {place}").trim().to_owned())
}
