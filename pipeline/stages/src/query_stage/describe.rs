//! What a column is. The one place of this room that knows where that is written.

use measures::{COLUMN_DOCS, HISTORY_COLUMN_DOCS};

/// Unit and meaning of a column.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct About {
    pub(super) unit: Option<&'static str>,
    pub(super) meaning: Option<&'static str>,
}

/// What a number says, as far as it is shown otherwise to other people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quantity {
    Temperature,
    TemperatureDifference,
    Mass,
    MinutesPerMass,
    Length,
    Height,
}

/// Units by the end of a column's name.
const SUFFIXES: [(&str, &str); 9] = [
    ("min_per_kg", "min/kg"),
    ("_per_h", "1/h"),
    ("_c", "°C"),
    ("_kg", "kg"),
    ("_mm", "mm"),
    ("_m", "m"),
    ("_min", "min"),
    ("_ms", "ms"),
    ("_s", "s"),
];

/// Columns in °C that are no temperatures: differences have no zero of the scale.
const DIFFERENCES: [&str; 11] = [
    "carryover_c",
    "core_noise_sd_c",
    "difference_at_finish_c",
    "lid_fall_c",
    "mean_difference_c",
    "meat_offset_c",
    "offset_c",
    "pit_offset_c",
    "pit_sd_c",
    "size_c",
    "unlike_by_c",
];

/// Unit and meaning of a column of a table. A measure's name means the same on the card.
pub(super) fn about(table: &str, column: &str) -> About {
    let docs = match table {
        "measures" | "cooks" => COLUMN_DOCS,
        "history" => HISTORY_COLUMN_DOCS,
        _ => &[],
    };
    let doc = docs.iter().find(|doc| doc.name == column);
    let unit = doc.map(|doc| doc.unit).or_else(|| unit_of(column)).filter(|unit| !unit.is_empty());
    About { unit, meaning: doc.map(|doc| doc.meaning) }
}

fn unit_of(column: &str) -> Option<&'static str> {
    if column == "minute" {
        return Some("min");
    }
    SUFFIXES.iter().find(|(suffix, _)| column.ends_with(suffix)).map(|(_, unit)| *unit)
}

/// What the numbers of a column say.
pub(super) fn quantity(column: &str) -> Option<Quantity> {
    Some(match unit_of(column)? {
        "°C" if DIFFERENCES.contains(&column) => Quantity::TemperatureDifference,
        "°C" => Quantity::Temperature,
        "kg" if column.contains("cost") => return None,
        "kg" => Quantity::Mass,
        "min/kg" => Quantity::MinutesPerMass,
        "mm" => Quantity::Length,
        "m" => Quantity::Height,
        _ => return None,
    })
}
