//! Cooks as a table, and back.
//!
//! Every field of [`Card`] is one column, its unit in the name. Scores and the columns
//! that the vocabulary does not know follow in the order of first appearance.

use crate::error::StoreError;
use crate::table::TypedColumns;
use crate::tables::required;
use columns::{Column, Table};
use cook::{
    Card, Celsius, CelsiusDifference, CookKind, EndReason, Kilograms, Metres, Millimetres,
    WrapMethod,
};
use std::path::Path;

/// How one field of a card is written and read.
enum Access {
    Text(fn(&Card) -> Option<String>, fn(&mut Card, String)),
    Float(fn(&Card) -> Option<f64>, fn(&mut Card, f64)),
    Bool(fn(&Card) -> Option<bool>, fn(&mut Card, bool)),
    Instant(fn(&Card) -> Option<i64>, fn(&mut Card, i64)),
}

use Access::{Bool, Float, Instant, Text};

macro_rules! text {
    ($field:ident) => {
        Text(|c| c.$field.clone(), |c, v| c.$field = Some(v))
    };
}
macro_rules! unit {
    ($field:ident, $unit:ident) => {
        Float(|c| c.$field.map($unit::value), |c, v| c.$field = Some($unit(v)))
    };
}
macro_rules! mark {
    ($field:ident) => {
        Instant(|c| c.marks.$field, |c, v| c.marks.$field = Some(v))
    };
}

const FIELDS: [(&str, Access); 48] = [
    ("cook", Text(|c| Some(c.cook.clone()), |c, v| c.cook = v)),
    ("season", Text(|c| Some(c.season.clone()), |c, v| c.season = v)),
    ("fire", Text(|c| Some(c.fire.clone()), |c, v| c.fire = v)),
    (
        "logs",
        Text(
            |c| Some(c.logs.join(";")),
            |c, v| c.logs = v.split(';').filter(|l| !l.is_empty()).map(str::to_owned).collect(),
        ),
    ),
    ("date", text!(date)),
    (
        "kind",
        Text(
            |c| c.kind.map(|k| k.as_str().to_owned()),
            |c, v| {
                c.kind = Some(if v == "contest" { CookKind::Contest } else { CookKind::Practice });
            },
        ),
    ),
    ("contest", text!(contest)),
    ("turn_in_at", Instant(|c| c.turn_in_ms, |c, v| c.turn_in_ms = Some(v))),
    ("planned_pull_at", Instant(|c| c.planned_pull_ms, |c, v| c.planned_pull_ms = Some(v))),
    ("place", text!(place)),
    ("pit", text!(pit)),
    ("cooker", text!(cooker)),
    ("cut", text!(cut)),
    ("grade", text!(grade)),
    ("supplier", text!(supplier)),
    ("lot", text!(lot)),
    ("cost", Float(|c| c.cost, |c, v| c.cost = Some(v))),
    ("raw_weight_kg", unit!(raw_weight, Kilograms)),
    ("trimmed_weight_kg", unit!(trimmed_weight, Kilograms)),
    ("cooked_weight_kg", unit!(cooked_weight, Kilograms)),
    ("served_weight_kg", unit!(served_weight, Kilograms)),
    ("thickness_mm", unit!(thickness, Millimetres)),
    ("lead_channel", text!(lead_channel)),
    ("meat_offset_c", unit!(meat_offset, CelsiusDifference)),
    ("pit_offset_c", unit!(pit_offset, CelsiusDifference)),
    ("meat_ice_c", unit!(meat_ice, Celsius)),
    ("meat_boiling_c", unit!(meat_boiling, Celsius)),
    ("pit_ice_c", unit!(pit_ice, Celsius)),
    ("pit_boiling_c", unit!(pit_boiling, Celsius)),
    ("pit_setpoint_c", unit!(pit_setpoint, Celsius)),
    ("pit_dew_point_c", unit!(pit_dew_point, Celsius)),
    ("wood", text!(wood)),
    ("fuel_kg", unit!(fuel, Kilograms)),
    ("water_pan", Bool(|c| c.water_pan, |c, v| c.water_pan = Some(v))),
    ("altitude_m", unit!(altitude, Metres)),
    ("weather", text!(weather)),
    (
        "wrap_method",
        Text(
            |c| c.wrap_method.as_ref().map(|m| m.as_str().to_owned()),
            |c, v| c.wrap_method = WrapMethod::parse(&v),
        ),
    ),
    ("hold_kind", text!(hold_kind)),
    ("meat_on_at", mark!(meat_on_ms)),
    ("wrap_at", mark!(wrap_ms)),
    ("pull_at", mark!(pull_ms)),
    ("slice_at", mark!(slice_ms)),
    ("target_core_c", unit!(target_core, Celsius)),
    ("arm", text!(arm)),
    ("block", text!(block)),
    (
        "end_reason",
        Text(
            |c| c.end_reason.map(|r| r.as_str().to_owned()),
            |c, v| c.end_reason = EndReason::parse(&v),
        ),
    ),
    ("exclude", text!(exclude)),
    (
        "last_probe_test_tender",
        Bool(|c| c.last_probe_test_tender, |c, v| c.last_probe_test_tender = Some(v)),
    ),
];

/// One cook as the store keeps it: its card, and what is known of its log as a whole.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CookRecord {
    /// The card, marks resolved.
    pub card: Card,
    /// Hash of all that card and readings were computed from.
    pub computed_from: String,
    /// First reading of any channel, ms UTC; `None` where the cook has no readings.
    pub log_start_ms: Option<i64>,
    /// Last reading of any channel, ms UTC.
    pub log_end_ms: Option<i64>,
}

/// Columns besides the card's own.
const HASH: &str = "computed_from";
const LOG_START: &str = "log_start_at";
const LOG_END: &str = "log_end_at";
/// Prefix of a column the vocabulary does not know but whose name it uses itself.
const CLASH_PREFIX: &str = "sheet_";

/// Whether a column of the cooks holds what a card states.
pub fn is_card_column(name: &str) -> bool {
    FIELDS.iter().any(|(field, _)| *field == name)
}

fn is_known(name: &str) -> bool {
    [HASH, LOG_START, LOG_END].contains(&name) || is_card_column(name)
}

pub(crate) fn cooks_to_table(cooks: &[CookRecord]) -> Table {
    let cards: Vec<&Card> = cooks.iter().map(|record| &record.card).collect();
    let mut table = Table::new();
    for (name, access) in &FIELDS {
        let column = match access {
            Text(get, _) => Column::Text(cards.iter().map(|card| get(card)).collect()),
            Float(get, _) => Column::Float(cards.iter().map(|card| get(card)).collect()),
            Bool(get, _) => Column::Bool(cards.iter().map(|card| get(card)).collect()),
            Instant(get, _) => Column::Instant(cards.iter().map(|card| get(card)).collect()),
        };
        table.push(*name, column);
    }
    table.push(LOG_START, Column::Instant(cooks.iter().map(|c| c.log_start_ms).collect()));
    table.push(LOG_END, Column::Instant(cooks.iter().map(|c| c.log_end_ms).collect()));
    let hashes = cooks.iter().map(|c| Some(c.computed_from.clone()));
    table.push(HASH, Column::Text(hashes.collect()));
    for name in names_in_order(cards.iter().map(|c| &c.scores)) {
        let score = |card: &&Card| value_of(&card.scores, &name).copied();
        table.push(&name, Column::Float(cards.iter().map(score).collect()));
    }
    for name in names_in_order(cards.iter().map(|c| &c.extra)) {
        let value = |card: &&Card| value_of(&card.extra, &name).cloned();
        let column = Column::Text(cards.iter().map(value).collect());
        if is_known(&name) || table.column(&name).is_some() {
            table.push(format!("{CLASH_PREFIX}{name}"), column);
        } else {
            table.push(&name, column);
        }
    }
    table
}

fn value_of<'a, T>(pairs: &'a [(String, T)], name: &str) -> Option<&'a T> {
    pairs.iter().find(|(n, _)| n == name).map(|(_, value)| value)
}

fn names_in_order<'a, T: 'a>(cards: impl Iterator<Item = &'a Vec<(String, T)>>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (name, _) in cards.flatten() {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}

pub(crate) fn cooks_from_table(table: &Table, path: &Path) -> Result<Vec<CookRecord>, StoreError> {
    let hashes = table.text(path, HASH)?;
    let (starts, ends) = (table.instants(path, LOG_START)?, table.instants(path, LOG_END)?);
    let mut cards = vec![Card::default(); table.rows()];
    for (name, access) in &FIELDS {
        match access {
            Text(_, set) => fill(&mut cards, table.text(path, name)?, *set),
            Float(_, set) => fill(&mut cards, table.floats(path, name)?, *set),
            Bool(_, set) => fill(&mut cards, table.booleans(path, name)?, *set),
            Instant(_, set) => fill(&mut cards, table.instants(path, name)?, *set),
        }
    }
    for (name, column) in table.columns().iter().filter(|(name, _)| !is_known(name)) {
        match column {
            Column::Float(values) => fill(&mut cards, values, |card, value| {
                card.scores.push((name.clone(), value));
            }),
            Column::Text(values) => {
                let name = name
                    .strip_prefix(CLASH_PREFIX)
                    .filter(|rest| table.column(rest).is_some())
                    .unwrap_or(name);
                fill(&mut cards, values, |card, value| card.extra.push((name.to_owned(), value)));
            }
            _ => return Err(StoreError::column(path, name, "is of a type that no card has")),
        }
    }
    let mut cooks = Vec::with_capacity(cards.len());
    for (row, card) in cards.into_iter().enumerate() {
        cooks.push(CookRecord {
            card,
            computed_from: required(path, HASH, hashes[row].clone())?,
            log_start_ms: starts[row],
            log_end_ms: ends[row],
        });
    }
    Ok(cooks)
}

fn fill<T: Clone>(cards: &mut [Card], values: &[Option<T>], set: impl Fn(&mut Card, T)) {
    for (card, value) in cards.iter_mut().zip(values) {
        if let Some(value) = value {
            set(card, value.clone());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::MarkTimes;

    fn full() -> Card {
        Card {
            cook: "c-1".into(),
            season: "2025".into(),
            logs: vec!["a.csv".into(), "b.csv#Flat".into()],
            date: Some("2025-06-01".into()),
            kind: Some(CookKind::Contest),
            contest: Some("Lake Cup".into()),
            turn_in_ms: Some(10),
            planned_pull_ms: Some(9),
            place: Some("yard".into()),
            pit: Some("big".into()),
            cooker: Some("offset".into()),
            fire: "f1".into(),
            cut: Some("brisket".into()),
            grade: Some("choice".into()),
            supplier: Some("s".into()),
            lot: Some("l".into()),
            cost: Some(71.5),
            raw_weight: Some(Kilograms(6.5)),
            trimmed_weight: Some(Kilograms(5.5)),
            cooked_weight: Some(Kilograms(3.5)),
            served_weight: Some(Kilograms(3.0)),
            thickness: Some(Millimetres(80.0)),
            lead_channel: Some("Flat".into()),
            meat_offset: Some(CelsiusDifference(-0.4)),
            pit_offset: Some(CelsiusDifference(0.9)),
            meat_ice: Some(Celsius(0.4)),
            meat_boiling: Some(Celsius(99.2)),
            pit_ice: Some(Celsius(-0.6)),
            pit_boiling: Some(Celsius(101.0)),
            pit_setpoint: Some(Celsius(121.0)),
            pit_dew_point: Some(Celsius(45.0)),
            wood: Some("oak".into()),
            fuel: Some(Kilograms(8.0)),
            water_pan: Some(false),
            altitude: Some(Metres(300.0)),
            weather: Some("wind".into()),
            wrap_method: Some(WrapMethod::Boat),
            hold_kind: Some("cooler".into()),
            marks: MarkTimes {
                meat_on_ms: Some(1),
                wrap_ms: Some(2),
                pull_ms: Some(3),
                slice_ms: Some(4),
            },
            target_core: Some(Celsius(95.0)),
            scores: vec![("score_taste".into(), 8.5)],
            arm: Some("paper".into()),
            block: Some("b1".into()),
            end_reason: Some(EndReason::OutOfTime),
            exclude: Some("probe fell out".into()),
            last_probe_test_tender: Some(true),
            extra: vec![("judge".into(), "M".into()), ("logs".into(), "odd".into())],
        }
    }

    #[test]
    fn cards_come_back_full_and_empty() {
        let bare = Card {
            cook: "c-2".into(),
            season: "2025".into(),
            fire: "f2".into(),
            ..Card::default()
        };
        let cooks = vec![
            CookRecord {
                card: full(),
                computed_from: "h1".into(),
                log_start_ms: Some(1),
                log_end_ms: Some(9),
            },
            CookRecord { card: bare, computed_from: "h2".into(), ..CookRecord::default() },
        ];
        let table = cooks_to_table(&cooks);
        assert_eq!(cooks_from_table(&table, Path::new("cooks.parquet")).unwrap(), cooks);
    }
}
