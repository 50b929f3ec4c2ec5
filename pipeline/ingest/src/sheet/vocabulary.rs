//! The columns of season and events sheets: what they are called, hold and mean. The JSON
//! Schemas are made from this, and misspelt columns and words are told by it.

use columns::card;
pub use columns::sheet::{Holds, SheetColumn};
use cook::EventKind;
use serde_json::{Map, Value, json};
use std::sync::LazyLock;

const fn text(name: &'static str, meaning: &'static str, example: &'static str) -> SheetColumn {
    SheetColumn { name, holds: Holds::Text, unit: None, meaning, example }
}

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
    "core",
    "bark",
];

/// The columns of a season sheet, those of [`card::FIELDS`]. A column that begins with `score_`
/// holds a score; any other column passes through.
pub static SEASON_COLUMNS: LazyLock<Vec<SheetColumn>> =
    LazyLock::new(|| card::FIELDS.iter().flat_map(card::CardField::sheet_columns).collect());

/// The columns of an events sheet; any other column joins the note.
pub const EVENTS_COLUMNS: &[SheetColumn] = &[
    text("cook", "The cook's name in the season sheet", "may-3-flat"),
    SheetColumn {
        name: "time",
        holds: Holds::Time,
        unit: None,
        meaning: "When; a clock time is the first such time after the event before",
        example: "+6:30",
    },
    SheetColumn {
        name: "event",
        holds: Holds::Words(EVENTS),
        unit: None,
        meaning: "What happened",
        example: "wrap",
    },
    text(
        "value",
        "wrap: the method; setpoint: a temperature with C or F; fuel: a mass with its unit; lid: `open`, `close` or seconds; probe_test: `tender` or `not`; core: a reading by hand with C or F and perhaps the place, `165F flat`; bark: `not-yet`, `nearly`, `set`, or 1 to 5 (1 and 2 are not yet, 3 is nearly, 4 and 5 are set)",
        "foil",
    ),
    text("note", "A remark", "it was windy"),
    text(
        "id",
        "What `cookstudy note --from` knows a taken event by, so that it takes each once",
        "k3f9-7",
    ),
];

const PANELS: &[&str] = &["judges", "tasters"];

/// The columns of a scores sheet; any other column joins the note.
pub const SCORES_COLUMNS: &[SheetColumn] = &[
    text("season", "Season, where neither cook nor date says it", "2025"),
    text("contest", "Which contest; empty for a tasting of one's own", "County Fair"),
    SheetColumn {
        name: "date",
        holds: Holds::Date,
        unit: None,
        meaning: "Local date on which it was given",
        example: "2025-05-04",
    },
    text("category", "What was judged; empty is the cut of the cook", "brisket"),
    text(
        "cook",
        "The cook's name in the season sheet; empty for an entry that has no card there",
        "may-3-flat",
    ),
    text(
        "code",
        "The code of a blind tasting that `cookstudy trial next` gave, in place of the cook",
        "K7QM",
    ),
    SheetColumn {
        name: "panel",
        holds: Holds::Words(PANELS),
        unit: None,
        meaning: "Who gave it; empty is judges where a contest is named, else tasters",
        example: "judges",
    },
    text("judge", "Name, or the number within its contest, of who gave it", "3"),
    text("attribute", "What was scored: the NAME of `[scores.NAME]` in season.toml", "taste"),
    SheetColumn {
        name: "value",
        holds: Holds::Number,
        unit: Some("points"),
        meaning: "The points, on the scale in season.toml",
        example: "8",
    },
    SheetColumn {
        name: "blind",
        holds: Holds::YesNo,
        unit: None,
        meaning: "Whether it was given without knowing whose meat it was",
        example: "yes",
    },
    text("note", "A remark", "sauce was sweet"),
];

/// The columns of all sheets.
fn all_columns() -> impl Iterator<Item = &'static SheetColumn> {
    SEASON_COLUMNS.iter().chain(EVENTS_COLUMNS).chain(SCORES_COLUMNS)
}

/// What an unknown column may have been meant to be.
pub(super) fn meant_column(name: &str, columns: &[SheetColumn]) -> Option<String> {
    let is_known = |name: &str| columns.iter().any(|column| column.name == name);
    if name.is_empty() || is_known(name) || name.starts_with("score_") {
        return None;
    }
    let with_units: Vec<&str> = columns
        .iter()
        .filter(|column| column.holds == Holds::Number)
        .filter(|column| column.name.rsplit_once('_').is_some_and(|(stem, _)| stem == name))
        .map(|column| column.name)
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
    let lower = written.to_lowercase();
    match all_columns().find(|known| known.name == column)?.holds {
        Holds::Words(words) => cook::settings::nearest(&lower, words.iter().copied()),
        Holds::YesNo => cook::settings::nearest(&lower, ["yes", "no", "true", "false"]),
        _ => None,
    }
}

/// The words that a column allows, for messages.
pub(super) fn allowed(column: &str) -> Option<String> {
    match all_columns().find(|known| known.name == column)?.holds {
        Holds::Words(words) => Some(words.join(", ")),
        Holds::YesNo => Some("yes, no".to_owned()),
        _ => None,
    }
}

const DATE: &str = r"^\d{4}-\d{2}-\d{2}$";
const DATE_TIME: &str = r"^\d{4}-\d{2}-\d{2}[T ]\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?( ?[AaPp]\.?[Mm]\.?)?(Z|[+-]\d{2}:?\d{2})?$";
const CLOCK: &str = r"^\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?( ?[AaPp]\.?[Mm]\.?)?$";
const SINCE: &str = r"^\+\d+:\d{2}(:\d{2}(\.\d+)?)?$";

fn property(column: &SheetColumn) -> Value {
    let mut schema = match column.holds {
        Holds::Text => json!({ "type": ["string", "number"] }),
        Holds::Number => json!({ "type": "number" }),
        Holds::Date => json!({ "type": "string", "pattern": DATE }),
        Holds::Time => json!({
            "type": "string",
            "anyOf": [
                { "pattern": DATE_TIME, "description": "date and time; local without an offset" },
                { "pattern": CLOCK, "description": "clock time: the first such time after the mark before" },
                { "pattern": SINCE, "description": "hours and minutes since meat-on" },
            ],
        }),
        Holds::YesNo => json!({ "enum": ["yes", "no", "true", "false", true, false] }),
        Holds::Words(words) => json!({ "enum": words }),
    };
    schema["description"] = json!(column.meaning);
    if let Some(unit) = column.unit {
        schema["unit"] = json!(unit);
    }
    schema["examples"] = match (column.holds, column.example.parse::<f64>()) {
        (Holds::Number, Ok(value)) => json!([value]),
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
        &SEASON_COLUMNS,
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

/// JSON Schema of one row of a scores sheet.
pub fn scores_sheet_schema() -> Value {
    let mut schema = schema(
        "Scores sheet",
        "One row a score, as CSV, XLSX or ODS. Other columns join the note.",
        SCORES_COLUMNS,
        &["attribute", "value"],
    );
    schema["additionalProperties"] = json!(true);
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
        let reading = crate::read_season_sheet(&path, "s.csv", &(&TimeZone::UTC).into()).unwrap();
        assert_eq!(reading.rejected, []);
        assert!(reading.cards[0].extra.is_empty(), "{:?}", reading.cards[0].extra);
        assert_eq!(reading.warnings, [""; 0]);
        let path = folder.path().join("e.csv");
        let names: Vec<&str> = EVENTS_COLUMNS.iter().map(|column| column.name).collect();
        let cells: Vec<&str> = EVENTS_COLUMNS.iter().map(|column| column.example).collect();
        std::fs::write(&path, format!("{}\n{}\n", names.join(","), cells.join(","))).unwrap();
        let mut events =
            [crate::read_events_sheet(&path, "e.csv", &(&TimeZone::UTC).into(), &reading.cards)
                .unwrap()];
        let mut sheet = reading;
        crate::resolve_marks(&mut sheet, &mut events, &BTreeSet::new(), &TimeZone::UTC);
        assert_eq!((&events[0].rejected[..], events[0].events.len()), (&[][..], 1));
        assert_eq!(EVENTS.to_vec(), EventKind::ALL.map(EventKind::as_str).to_vec());
    }

    #[test]
    fn misspelt_columns_and_words() {
        let meant = |name: &str| meant_column(name, &SEASON_COLUMNS);
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
