//! A merged store without what tells who cooked, where and when.
//!
//! What becomes of a field of the card stands in its description ([`columns::card`]); rules that a
//! single field has are here. A field with neither is dropped.

use super::inputs::TEAM;
use super::key::{DAY_MS, Key};
use super::named::{Merged, MergedCook};
use super::vocabulary::{is_plain, is_plain_score};
use crate::error::StageError;
use columns::Value;
use columns::card::Anonymised;
use cook::{Card, CookReadings, Event, EventKind, RejectedRow, Score, SourceRecord, WrapMethod};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// An altitude that a boiling test or a wet bulb needs is rounded to so many metres: a third of a
/// degree of the boiling point, and no address.
const ALTITUDE_STEP_M: f64 = 100.0;
/// What becomes of a reason to leave a cook out.
const A_REASON: &str = "a reason was given";

/// Replaces or drops all that identifies. `keep` names columns that stay.
///
/// # Errors
/// A column to keep that no cook has.
pub(super) fn anonymise(
    merged: Merged,
    keep: &BTreeSet<String>,
    key: &mut Key,
) -> Result<(Merged, Vec<String>), StageError> {
    check_columns(&merged, keep)?;
    let seasons = seasons(&merged.cooks);
    let numeric = numeric_extras(&merged.cooks, keep);
    let mut notes = Vec::new();
    for (name, numeric) in &numeric {
        if !numeric {
            notes.push(format!("column `{name}` holds texts: it is kept as codes"));
        }
    }
    let mut cooks = BTreeMap::new();
    let mut found = Merged::default();
    // One code for one log, whoever's cook it is.
    let code_of_log: HashMap<String, String> = merged
        .cooks
        .iter()
        .flat_map(|cook| cook.logs.values())
        .chain(merged.sources.iter().map(|log| &log.path))
        .chain(merged.rejected.iter().map(|row| &row.source))
        .map(|path| (path.clone(), key.code("file", "", path)))
        .collect();
    for cook in merged.cooks {
        let shift_ms = key.shift_ms(&cook.team);
        let mut names = Names { key, team: &cook.team, keep };
        let season = seasons[&(cook.team.clone(), cook.record.card.season.clone())].clone();
        let card = card(&cook.record.card, season, shift_ms, &numeric, &mut names);
        cooks.insert(
            cook.record.card.cook.clone(),
            (card.cook.clone(), shift_ms, cook.team.clone()),
        );
        let mut record = cook.record;
        record.card = card;
        record.log_start_ms = record.log_start_ms.map(|ms| ms + shift_ms);
        record.log_end_ms = record.log_end_ms.map(|ms| ms + shift_ms);
        let logs =
            cook.logs.into_iter().map(|(old, new)| (old, code_of_log[&new].clone())).collect();
        found.cooks.push(MergedCook { record, logs, shift_ms, rename_channels: true, ..cook });
    }
    for event in merged.events {
        if let Some((code, shift_ms, team)) = cooks.get(&event.cook) {
            found.events.push(Event {
                cook: code.clone(),
                at_ms: event.at_ms + shift_ms,
                value: event_value(event.kind, event.value.as_deref(), team, key),
                note: None,
                kind: event.kind,
            });
        }
    }
    found.scores =
        merged.scores.iter().filter_map(|one| score(one, &cooks, &seasons, keep, key)).collect();
    found.rejected = merged
        .rejected
        .into_iter()
        .map(|row| RejectedRow {
            source: code_of_log[&row.source].clone(),
            column: None,
            text: String::new(),
            ..row
        })
        .collect();
    let built_in: BTreeSet<String> =
        ingest::Layout::built_in().into_iter().map(|layout| layout.name).collect();
    found.sources = merged
        .sources
        .into_iter()
        .map(|log| SourceRecord {
            path: code_of_log[&log.path].clone(),
            content_hash: key.hash("content", &log.content_hash),
            layout: if log.layout.is_empty() || built_in.contains(&log.layout) {
                log.layout
            } else {
                "a layout of the team's own".into()
            },
            evidence: Vec::new(),
            account: log.account,
        })
        .collect();
    Ok((found, notes))
}

/// A score without names: contest and judge as codes, its date moved, its remark left out; `None`
/// for one whose attribute or season could name somebody.
fn score(
    old: &Score,
    cooks: &BTreeMap<String, (String, i64, String)>,
    seasons: &BTreeMap<(String, String), String>,
    keep: &BTreeSet<String>,
    key: &mut Key,
) -> Option<Score> {
    let column = format!("{}{}", columns::names::SCORE, old.attribute);
    if !is_plain_score(&column) && !keep.contains(&column) {
        return None;
    }
    let team = old.team.as_deref()?;
    let season = seasons.get(&(team.to_owned(), old.season.clone()))?.clone();
    let shift_ms = key.shift_ms(team);
    let cook = match &old.cook {
        Some(cook) => Some(cooks.get(cook)?.0.clone()),
        None => None,
    };
    let contest = columns::card::CONTEST.column.name;
    let category = old.category.as_ref().map(|category| {
        let is_plain = is_plain(columns::card::CUT.column.name, category);
        if is_plain { category.clone() } else { key.code("category", team, category) }
    });
    // A number names nobody; tasters are a team's own.
    let judge = old.judge.as_ref().map(|judge| {
        let is_number = judge.bytes().all(|byte| byte.is_ascii_digit());
        if is_number { judge.clone() } else { key.code("judge", team, judge) }
    });
    Some(Score {
        team: Some(key.code(TEAM, "", team)),
        season,
        contest: old.contest.as_ref().map(|name| key.code(contest, team, name)),
        date: old.date.as_ref().and_then(|date| moved_date(date, shift_ms)),
        category,
        cook,
        judge,
        note: None,
        ..old.clone()
    })
}

/// The columns that somebody wants to keep are there.
fn check_columns(merged: &Merged, keep: &BTreeSet<String>) -> Result<(), StageError> {
    let cards = || merged.cooks.iter().map(|cook| &cook.record.card);
    let mut known: BTreeSet<&str> = columns::card::FIELDS
        .iter()
        .filter(|field| {
            matches!(field.anonymised, Anonymised::TradeWords | Anonymised::OnRequest)
                || field.column == columns::card::ALTITUDE_M.column
        })
        .map(|field| field.column.name)
        .collect();
    known.extend(cards().flat_map(|card| card.scores.iter().map(|(name, _)| name.as_str())));
    known.extend(cards().flat_map(|card| card.extra.iter().map(|(name, _)| name.as_str())));
    known.remove(TEAM);
    for name in keep {
        if !known.contains(name.as_str()) {
            let hint = cook::settings::nearest(name, known.iter().copied())
                .map_or(String::new(), |near| format!("; did you mean `{near}`?"));
            let listed: Vec<&str> = known.iter().copied().collect();
            return Err(StageError::Usage {
                message: format!(
                    "--keep {name}: no store has such a column that could be kept{hint} There are: {}",
                    listed.join(", ")
                ),
            });
        }
    }
    Ok(())
}

/// Seasons by number within their team, in the order of their first cook.
fn seasons(cooks: &[MergedCook]) -> BTreeMap<(String, String), String> {
    let mut first: BTreeMap<(&str, &str), i64> = BTreeMap::new();
    for cook in cooks {
        let card = &cook.record.card;
        let at = card.marks.meat_on_ms.or(cook.record.log_start_ms).unwrap_or(i64::MAX);
        let earliest = first.entry((&cook.team, &card.season)).or_insert(at);
        *earliest = at.min(*earliest);
    }
    let mut order: Vec<((&str, &str), i64)> = first.into_iter().collect();
    order.sort_by_key(|&((team, season), at)| (team, at, season));
    let mut number = 0;
    let mut team_before = None;
    order
        .into_iter()
        .map(|((team, season), _)| {
            number = if team_before == Some(team) { number + 1 } else { 1 };
            team_before = Some(team);
            ((team.to_owned(), season.to_owned()), format!("season-{number}"))
        })
        .collect()
}

/// The columns of the sheets' own that are kept, and whether all that they hold are numbers.
fn numeric_extras(cooks: &[MergedCook], keep: &BTreeSet<String>) -> BTreeMap<String, bool> {
    let mut numeric = BTreeMap::new();
    for (name, value) in cooks.iter().flat_map(|cook| &cook.record.card.extra) {
        if name != TEAM && keep.contains(name) {
            let value = value.trim();
            let is_number = value.is_empty() || value.parse::<f64>().is_ok_and(f64::is_finite);
            *numeric.entry(name.clone()).or_insert(true) &= is_number;
        }
    }
    numeric
}

/// Codes for one team's names.
struct Names<'a> {
    key: &'a mut Key,
    team: &'a str,
    keep: &'a BTreeSet<String>,
}

impl Names<'_> {
    fn code(&mut self, kind: &str, name: &str) -> String {
        self.key.code(kind, self.team, name)
    }

    /// The trade's own words and what is asked for as they are, other words as codes.
    fn plain(&mut self, column: &str, value: String) -> String {
        if self.keeps(column) || is_plain(column, &value) {
            value
        } else {
            self.code(column, &value)
        }
    }

    fn keeps(&self, column: &str) -> bool {
        self.keep.contains(column)
    }
}

fn card(
    old: &Card,
    season: String,
    shift_ms: i64,
    numeric: &BTreeMap<String, bool>,
    names: &mut Names<'_>,
) -> Card {
    let mut extra = vec![(TEAM.to_owned(), names.key.code(TEAM, "", names.team))];
    for (name, value) in &old.extra {
        match numeric.get(name) {
            Some(true) => extra.push((name.clone(), value.trim().to_owned())),
            Some(false) => {
                let code = names.code("value", &format!("{name} {value}"));
                extra.push((name.clone(), code));
            }
            None => {}
        }
    }
    let scores = old
        .scores
        .iter()
        .filter(|(name, _)| is_plain_score(name) || names.keep.contains(name))
        .cloned()
        .collect();
    let mut card = Card { season, scores, extra, ..Card::default() };
    for field in columns::card::FIELDS {
        let column = field.column.name;
        let value = match (field.anonymised, field.get(old)) {
            (Anonymised::Kept, value) => value,
            (Anonymised::OnRequest, value) if names.keeps(column) => value,
            (Anonymised::Moved, Value::Instant(ms)) => Value::Instant(ms + shift_ms),
            (Anonymised::Coded, Value::Text(name)) => Value::Text(names.code(column, &name)),
            (Anonymised::TradeWords, Value::Text(word)) => Value::Text(names.plain(column, word)),
            (Anonymised::OfItsOwn, value) => by_own_rule(column, value, old, shift_ms, names),
            _ => Value::Null,
        };
        field.set(&mut card, value);
    }
    card
}

/// The fields that have a rule of their own; a null drops them.
fn by_own_rule(
    column: &str,
    value: Value,
    old: &Card,
    shift_ms: i64,
    names: &mut Names<'_>,
) -> Value {
    const COOK: &str = columns::card::COOK.column.name;
    const FIRE: &str = columns::card::FIRE.column.name;
    const DATE: &str = columns::card::DATE.column.name;
    const ALTITUDE: &str = columns::card::ALTITUDE_M.column.name;
    const LEAD_CHANNEL: &str = columns::card::LEAD_CHANNEL.column.name;
    const WRAP_METHOD: &str = columns::card::WRAP_METHOD.column.name;
    const EXCLUDE: &str = columns::card::EXCLUDE.column.name;
    match (column, value) {
        (COOK | FIRE, Value::Text(name)) if !name.is_empty() => {
            Value::Text(names.code(column, &name))
        }
        (DATE, Value::Text(date)) => moved_date(&date, shift_ms).map_or(Value::Null, Value::Text),
        (ALTITUDE, value) if names.keeps(ALTITUDE) => value,
        (ALTITUDE, Value::Float(metres)) => {
            let is_needed = old.meat_boiling.is_some()
                || old.pit_boiling.is_some()
                || old.pit_dew_point.is_some();
            let rounded = (metres / ALTITUDE_STEP_M).round() * ALTITUDE_STEP_M;
            if is_needed { Value::Float(rounded) } else { Value::Null }
        }
        // Its new name is known once the readings are.
        (LEAD_CHANNEL, value) => value,
        (WRAP_METHOD, Value::Text(word)) => match WrapMethod::parse(&word) {
            Some(method) => Value::Text(wrap(&method, names.team, names.key).to_string()),
            None => Value::Null,
        },
        (EXCLUDE, Value::Text(reason)) => {
            let bare = ["yes", "no", "true", "false", "1", "0"];
            let word = reason.trim().to_lowercase();
            Value::Text(if bare.contains(&word.as_str()) { word } else { A_REASON.to_owned() })
        }
        _ => Value::Null,
    }
}

fn moved_date(date: &str, shift_ms: i64) -> Option<String> {
    let days = jiff::Span::new().try_days(shift_ms / DAY_MS).ok()?;
    let date: jiff::civil::Date = date.trim().parse().ok()?;
    Some(date.checked_add(days).ok()?.to_string())
}

fn wrap(method: &WrapMethod, team: &str, key: &mut Key) -> WrapMethod {
    match method {
        WrapMethod::Other(word) if !is_plain("wrap", word) => {
            WrapMethod::Other(key.code("wrap", team, word))
        }
        known => known.clone(),
    }
}

/// Places of a probe that are words of the trade and name nobody.
const TRADE_PLACES: [&str; 2] = ["flat", "point"];

/// The value of an event, if it is one: numbers with their unit and the words that are known.
fn event_value(kind: EventKind, value: Option<&str>, team: &str, key: &mut Key) -> Option<String> {
    let value = value?;
    match kind {
        EventKind::Wrap => Some(wrap(&WrapMethod::parse(value)?, team, key).as_str().to_owned()),
        EventKind::Setpoint | EventKind::Fuel | EventKind::Lid | EventKind::ProbeTest => {
            ingest::event_value(kind, value)
        }
        EventKind::Bark => ingest::event_value(kind, value),
        EventKind::Core => {
            let spot = cook::SpotReading::parse(value)?;
            let place = spot.place.filter(|place| TRADE_PLACES.contains(&place.as_str()));
            let place = place.map_or_else(String::new, |place| format!(" {place}"));
            Some(format!("{}C{place}", spot.temp.value()))
        }
        _ => None,
    }
}

/// The readings of an anonymised cook: its channels by role, in their order.
pub(super) fn rename_channels(readings: &mut CookReadings) -> HashMap<String, String> {
    let mut numbers: BTreeMap<&str, usize> = BTreeMap::new();
    let mut names = HashMap::new();
    for channel in &mut readings.channels {
        let role = channel.role.as_str();
        let number = numbers.entry(role).or_insert(0);
        *number += 1;
        let name = format!("{role}-{number}");
        let old = std::mem::replace(&mut channel.name, name.clone());
        names.entry(old.trim().to_lowercase()).or_insert(name);
    }
    names
}
