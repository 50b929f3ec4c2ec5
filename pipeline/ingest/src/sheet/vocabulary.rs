//! The columns of season and events sheets: what they are called, hold and mean. The JSON
//! Schemas are made from this, and misspelt columns and words are told by it.

use cook::EventKind;
use serde_json::{Map, Value, json};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// Text.
    Text,
    /// A number, with a decimal point or comma.
    Number,
    /// A date.
    Date,
    /// A mark: a date and time, a clock time, or the time since meat-on.
    Time,
    /// `yes` or `no`.
    YesNo,
    /// One of these words.
    Words(&'static [&'static str]),
}

/// A column of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SheetColumn {
    /// Its name; capitals, spaces and brackets make no difference.
    pub name: &'static str,
    /// What it holds.
    pub kind: ColumnKind,
    /// The unit of a number.
    pub unit: Option<&'static str>,
    /// What it means.
    pub meaning: &'static str,
    /// Something that may stand there.
    pub example: &'static str,
}

const fn text(name: &'static str, meaning: &'static str, example: &'static str) -> SheetColumn {
    SheetColumn { name, kind: ColumnKind::Text, unit: None, meaning, example }
}

const fn time(name: &'static str, meaning: &'static str, example: &'static str) -> SheetColumn {
    SheetColumn { name, kind: ColumnKind::Time, unit: None, meaning, example }
}

const fn number(
    name: &'static str,
    unit: &'static str,
    meaning: &'static str,
    example: &'static str,
) -> SheetColumn {
    SheetColumn { name, kind: ColumnKind::Number, unit: Some(unit), meaning, example }
}

const fn yes_no(name: &'static str, meaning: &'static str, example: &'static str) -> SheetColumn {
    SheetColumn { name, kind: ColumnKind::YesNo, unit: None, meaning, example }
}

const fn words(
    name: &'static str,
    words: &'static [&'static str],
    meaning: &'static str,
    example: &'static str,
) -> SheetColumn {
    SheetColumn { name, kind: ColumnKind::Words(words), unit: None, meaning, example }
}

const BOILING_MEAT: &str = "What the meat probe read in boiling water at the card's altitude; a stated `meat_offset` goes before it";
const BOILING_PIT: &str = "What the pit probe read in boiling water at the card's altitude; a stated `pit_offset` goes before it";
const KINDS: &[&str] = &["practice", "contest"];
const END_REASONS: &[&str] = &["finish", "tender", "out-of-time", "fire", "log-end", "unstated"];
const EVENTS: &[&str] = &[
    "lit",
    "meat_on",
    "spritz",
    "wrap",
    "unwrap",
    "setpoint",
    "lid",
    "fuel",
    "probe_moved",
    "probe_test",
    "pull",
    "slice",
];

/// The columns of a season sheet. A column that begins with `score_` holds a score; any
/// other column passes through.
pub const SEASON_COLUMNS: &[SheetColumn] = &[
    text("cook", "Unique name of the cook; the only column that must be there", "may-3-flat"),
    text("season", "Season; the year of `date` where it is empty", "2025"),
    text(
        "logs",
        "Logs of the cook: file names, globs or archives, `;` between them; `file#Channel` picks the meat channel that is this cook's; double quotes around a name or channel with `;` or `#` in it",
        "may-3.csv#Flat",
    ),
    SheetColumn {
        name: "date",
        kind: ColumnKind::Date,
        unit: None,
        meaning: "Local date of meat-on",
        example: "2025-05-03",
    },
    words("kind", KINDS, "What the cook was for", "contest"),
    text("contest", "Which contest", "County Fair"),
    time("turn_in_at", "When the meat is due before the judges", "12:00"),
    time("planned_pull", "When it was meant to come off", "09:30"),
    text("place", "Where", "the yard"),
    text("pit", "Which pit; cooks on one pit at one time share a fire", "Old Iron"),
    text("cooker", "Type of cooker", "offset"),
    text(
        "fire",
        "One lighting of one pit; where it is empty, that of the cooks on the same pit at the time",
        "may-3",
    ),
    text("cut", "Cut of meat", "brisket"),
    text("grade", "Quality grade", "choice"),
    text("supplier", "Supplier", "the market"),
    text("lot", "Lot", "A17"),
    number("cost", "the season's currency", "Cost of the meat", "82.50"),
    number("raw_weight_kg", "kg", "Weight as bought", "6.4"),
    number("raw_weight_lb", "lb", "Weight as bought", "14.1"),
    number("trimmed_weight_kg", "kg", "Weight as it goes on", "5.6"),
    number("trimmed_weight_lb", "lb", "Weight as it goes on", "12.35"),
    number("cooked_weight_kg", "kg", "Weight as it comes off", "3.4"),
    number("cooked_weight_lb", "lb", "Weight as it comes off", "7.5"),
    number("served_weight_kg", "kg", "Weight as served", "3.1"),
    number("served_weight_lb", "lb", "Weight as served", "6.83"),
    number("thickness_mm", "mm", "Thickness at the thickest part", "90"),
    number("thickness_in", "in", "Thickness at the thickest part", "3.543"),
    text("lead_channel", "The meat channel that is the core", "Flat"),
    number(
        "meat_offset_c",
        "°C",
        "Added to every meat reading, from an ice or boiling test",
        "-0.5",
    ),
    number(
        "meat_offset_f",
        "°F",
        "Added to every meat reading, from an ice or boiling test",
        "-0.9",
    ),
    number("pit_offset_c", "°C", "Added to every pit reading", "1"),
    number("pit_offset_f", "°F", "Added to every pit reading", "1.8"),
    number("meat_ice_c", "°C", "What the meat probe read in melting ice", "0.4"),
    number("meat_ice_f", "°F", "What the meat probe read in melting ice", "32.7"),
    number("meat_boiling_c", "°C", BOILING_MEAT, "98.6"),
    number("meat_boiling_f", "°F", BOILING_MEAT, "209.5"),
    number("pit_ice_c", "°C", "What the pit probe read in melting ice", "-0.5"),
    number("pit_ice_f", "°F", "What the pit probe read in melting ice", "31.1"),
    number("pit_boiling_c", "°C", BOILING_PIT, "99.5"),
    number("pit_boiling_f", "°F", BOILING_PIT, "211.1"),
    number("pit_setpoint_c", "°C", "Set-point of the pit", "121"),
    number("pit_setpoint_f", "°F", "Set-point of the pit", "250"),
    number("pit_dew_point_c", "°C", "Dew point of the pit's air, measured", "45"),
    number("pit_dew_point_f", "°F", "Dew point of the pit's air, measured", "113"),
    text("wood", "Wood", "oak"),
    number("fuel_kg", "kg", "Fuel burnt", "9"),
    number("fuel_lb", "lb", "Fuel burnt", "19.84"),
    yes_no("water_pan", "A water pan was in the pit", "yes"),
    number("altitude_m", "m", "Altitude of the place", "300"),
    number("altitude_ft", "ft", "Altitude of the place", "984"),
    text("weather", "Weather in words", "wind from the west"),
    text(
        "wrap_method",
        "What it was wrapped in first: `none`, `foil`, `paper` or another",
        "paper",
    ),
    text("hold_kind", "How it was held", "cooler"),
    time("meat_on", "Meat on; a clock time is that of `date`", "22:00"),
    time("wrap_at", "First wrap", "+6:30"),
    time("pull", "Meat off", "07:15"),
    time("slice", "Meat sliced", "9:00 am"),
    number("target_core_c", "°C", "Core temperature at which it was to be pulled", "95"),
    number("target_core_f", "°F", "Core temperature at which it was to be pulled", "203"),
    text("arm", "Arm of a randomised trial", "foil-early"),
    text("block", "Block of a randomised trial", "b2"),
    words("end_reason", END_REASONS, "Why the cook ended", "tender"),
    text("exclude", "Why the cook is left out of the analysis", "the logger fell in"),
];

/// The columns of an events sheet; any other column joins the note.
pub const EVENTS_COLUMNS: &[SheetColumn] = &[
    text("cook", "The cook's name in the season sheet", "may-3-flat"),
    time("time", "When; a clock time is the first such time after the event before", "+6:30"),
    words("event", EVENTS, "What happened", "wrap"),
    text(
        "value",
        "wrap: the method; setpoint: a temperature with C or F; fuel: a mass with its unit; lid: `open`, `close` or seconds; probe_test: `tender` or `not`",
        "foil",
    ),
    text("note", "A remark", "it was windy"),
];

/// Units that end the names of columns.
const UNITS: [&str; 8] = ["kg", "lb", "mm", "in", "c", "f", "m", "ft"];

/// What an unknown column may have been meant to be.
pub(super) fn meant_column(name: &str, columns: &[SheetColumn]) -> Option<String> {
    let is_known = |name: &str| columns.iter().any(|column| column.name == name);
    if name.is_empty() || is_known(name) || name.starts_with("score_") {
        return None;
    }
    let with_units: Vec<String> = UNITS
        .iter()
        .map(|unit| format!("{name}_{unit}"))
        .filter(|with_unit| is_known(with_unit))
        .collect();
    if !with_units.is_empty() {
        return Some(with_units.join("` or `"));
    }
    // A short name is another name more often than a misspelt one.
    let most = match name.chars().count() {
        0..=3 => 0,
        4..=6 => 1,
        _ => 2,
    };
    columns
        .iter()
        .map(|column| (strsim::osa_distance(name, column.name), column.name))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, name)| name.to_owned())
}

/// The word that was meant in a column of words.
pub(super) fn meant_word(column: &str, written: &str) -> Option<String> {
    let all = SEASON_COLUMNS.iter().chain(EVENTS_COLUMNS);
    let lower = written.to_lowercase();
    match all.into_iter().find(|known| known.name == column)?.kind {
        ColumnKind::Words(words) => cook::settings::nearest(&lower, words.iter().copied()),
        ColumnKind::YesNo => cook::settings::nearest(&lower, ["yes", "no", "true", "false"]),
        _ => None,
    }
}

/// The words that a column allows, for messages.
pub(super) fn allowed(column: &str) -> Option<String> {
    let all = SEASON_COLUMNS.iter().chain(EVENTS_COLUMNS);
    match all.into_iter().find(|known| known.name == column)?.kind {
        ColumnKind::Words(words) => Some(words.join(", ")),
        ColumnKind::YesNo => Some("yes, no".to_owned()),
        _ => None,
    }
}

const DATE: &str = r"^\d{4}-\d{2}-\d{2}$";
const DATE_TIME: &str = r"^\d{4}-\d{2}-\d{2}[T ]\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?( ?[AaPp]\.?[Mm]\.?)?(Z|[+-]\d{2}:?\d{2})?$";
const CLOCK: &str = r"^\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?( ?[AaPp]\.?[Mm]\.?)?$";
const SINCE: &str = r"^\+\d+:\d{2}(:\d{2}(\.\d+)?)?$";

fn property(column: &SheetColumn) -> Value {
    let mut schema = match column.kind {
        ColumnKind::Text => json!({ "type": ["string", "number"] }),
        ColumnKind::Number => json!({ "type": "number" }),
        ColumnKind::Date => json!({ "type": "string", "pattern": DATE }),
        ColumnKind::Time => json!({
            "type": "string",
            "anyOf": [
                { "pattern": DATE_TIME, "description": "date and time; local without an offset" },
                { "pattern": CLOCK, "description": "clock time: the first such time after the mark before" },
                { "pattern": SINCE, "description": "hours and minutes since meat-on" },
            ],
        }),
        ColumnKind::YesNo => json!({ "enum": ["yes", "no", "true", "false", true, false] }),
        ColumnKind::Words(words) => json!({ "enum": words }),
    };
    schema["description"] = json!(column.meaning);
    if let Some(unit) = column.unit {
        schema["unit"] = json!(unit);
    }
    schema["examples"] = match (column.kind, column.example.parse::<f64>()) {
        (ColumnKind::Number, Ok(value)) => json!([value]),
        _ => json!([column.example]),
    };
    schema
}

fn schema(title: &str, description: &str, columns: &[SheetColumn], required: &[&str]) -> Value {
    let properties: Map<String, Value> =
        columns.iter().map(|column| (column.name.to_owned(), property(column))).collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        "description": description,
        "type": "object",
        "properties": properties,
        "required": required,
    })
}

/// JSON Schema of one row of a season sheet (CSV, XLSX or ODS), each column a property;
/// `unit` is an annotation. Empty cells are absent.
pub fn season_sheet_schema() -> Value {
    let mut schema = schema(
        "Season sheet",
        "One row a cook, as CSV, XLSX or ODS. A quantity may stand in either of its units, or in both if they agree. Columns that are not named here pass through.",
        SEASON_COLUMNS,
        &["cook"],
    );
    schema["patternProperties"] = json!({
        "^score_": { "type": "number", "description": "A score; its scale is in season.toml" },
    });
    schema["additionalProperties"] = json!(true);
    schema
}

/// JSON Schema of one row of an events sheet.
pub fn events_sheet_schema() -> Value {
    let mut schema = schema(
        "Events sheet",
        "One row an event, as CSV, XLSX or ODS. Other columns join the note.",
        EVENTS_COLUMNS,
        &["cook", "time", "event"],
    );
    schema["additionalProperties"] = json!(true);
    debug_assert_eq!(EVENTS.len(), EventKind::ALL.len());
    schema
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::tz::TimeZone;
    use std::collections::BTreeSet;

    #[test]
    fn the_reader_knows_exactly_these_columns() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("s.csv");
        // Two units of one quantity are both filled in: the examples agree.
        let names: Vec<&str> = SEASON_COLUMNS.iter().map(|column| column.name).collect();
        let cells: Vec<&str> = SEASON_COLUMNS.iter().map(|column| column.example).collect();
        std::fs::write(&path, format!("{}\n{}\n", names.join(","), cells.join(","))).unwrap();
        let reading = crate::read_season_sheet(&path, "s.csv", &TimeZone::UTC).unwrap();
        assert_eq!(reading.rejected, []);
        assert!(reading.cards[0].extra.is_empty(), "{:?}", reading.cards[0].extra);
        assert_eq!(reading.warnings, [""; 0]);
        let path = folder.path().join("e.csv");
        let names: Vec<&str> = EVENTS_COLUMNS.iter().map(|column| column.name).collect();
        let cells: Vec<&str> = EVENTS_COLUMNS.iter().map(|column| column.example).collect();
        std::fs::write(&path, format!("{}\n{}\n", names.join(","), cells.join(","))).unwrap();
        let mut events =
            [crate::read_events_sheet(&path, "e.csv", &TimeZone::UTC, &reading.cards).unwrap()];
        let mut sheet = reading;
        crate::resolve_marks(&mut sheet, &mut events, &BTreeSet::new(), &TimeZone::UTC);
        assert_eq!((&events[0].rejected[..], events[0].events.len()), (&[][..], 1));
        assert_eq!(EVENTS.to_vec(), EventKind::ALL.map(EventKind::as_str).to_vec());
        for reason in END_REASONS {
            assert!(cook::EndReason::parse(reason).is_some());
        }
    }

    #[test]
    fn misspelt_columns_and_words() {
        let meant = |name: &str| meant_column(name, SEASON_COLUMNS);
        assert_eq!(meant("trimed_weight_kg").as_deref(), Some("trimmed_weight_kg"));
        assert_eq!(meant("raw_weight").as_deref(), Some("raw_weight_kg` or `raw_weight_lb"));
        assert_eq!(meant("pitt").as_deref(), Some("pit"));
        for other in ["moon", "score_taste", "woodsman", "cook", "rub", "notes"] {
            assert_eq!(meant(other), None, "{other}");
        }
        assert_eq!(meant_word("kind", "Contset").as_deref(), Some("contest"));
        assert_eq!(meant_word("event", "sprits").as_deref(), Some("spritz"));
    }

    #[test]
    fn schemas_name_every_column_with_its_unit() {
        let schema = season_sheet_schema();
        assert_eq!(schema["properties"].as_object().unwrap().len(), SEASON_COLUMNS.len());
        assert_eq!(schema["properties"]["raw_weight_lb"]["unit"], "lb");
        assert_eq!(schema["required"], json!(["cook"]));
        assert_eq!(events_sheet_schema()["properties"]["event"]["enum"][0], "lit");
    }
}
