//! Columns by name: those of the lists as described there, a team's own by what the name promises.

use crate::{Covariate, Description, Quantity, card, derived, history, measures};

/// Beginning of the name of a score's column.
pub const SCORE: &str = "score_";

/// Unit suffixes of column names, and what they promise; the first that fits counts.
pub(crate) const SUFFIXES: [(&str, Quantity); 9] = [
    ("_per_kg", Quantity::MinutesPerMass),
    ("_per_h", Quantity::HeatingCoefficient),
    ("_min", Quantity::Minutes),
    ("_fraction", Quantity::Fraction),
    ("_kg", Quantity::Mass),
    ("_mm", Quantity::Length),
    ("_c", Quantity::Temperature),
    ("_h", Quantity::Plain { unit: "h", decimals: 1 }),
    ("_m", Quantity::Plain { unit: "m", decimals: 1 }),
];

/// A number of which nothing is known.
const UNKNOWN: Quantity = Quantity::Plain { unit: "", decimals: 1 };

/// The description of a column that a study may ask about: of the measures, of the card, of what
/// is derived of them, or of the history. `None` for a score or a team's own column.
pub fn find(name: &str) -> Option<Description> {
    let of = |list: &[Description]| list.iter().find(|column| column.name == name).copied();
    of(measures::ALL)
        .or_else(|| card::field_of(name).map(|field| field.column))
        .or_else(|| of(derived::ALL))
        .or_else(|| of(history::ALL))
}

/// Whether a column is one of the measure table that has the same meaning in every season.
pub fn is_measure(name: &str) -> bool {
    measures::columns().any(|column| column.name == name)
}

/// The score that a column holds the points of: `taste` of `score_taste`.
pub fn score(column: &str) -> Option<&str> {
    column.strip_prefix(SCORE)
}

/// A column's name in words, capitalised.
pub fn label(column: &str) -> String {
    if let Some(column) = find(column) {
        return column.label.to_owned();
    }
    let words = match (score(column), suffix(column)) {
        (Some(score), _) => format!("{score} score"),
        (None, Some((bare, _))) => bare.to_owned(),
        (None, None) => column.to_owned(),
    };
    change_first(&words.replace('_', " "), |first| first.to_uppercase().collect())
}

/// A column's name in words, in the middle of a sentence.
pub fn label_within(column: &str) -> String {
    lower_first(&label(column))
}

/// What a column's numbers are numbers of.
pub fn quantity(column: &str) -> Quantity {
    match (find(column), score(column)) {
        (Some(column), _) => column.quantity.unwrap_or(UNKNOWN),
        (None, Some(_)) => Quantity::Score,
        (None, None) => suffix(column).map_or(UNKNOWN, |(_, quantity)| quantity),
    }
}

/// The unit of a column's numbers as the store and results have them; empty where there is none.
pub fn unit(column: &str) -> &'static str {
    quantity(column).si_unit()
}

/// A column as what a slope is told per.
pub fn covariate(column: &str, step: Option<f64>) -> Covariate {
    Covariate { name: label_within(column), quantity: quantity(column), step }
}

/// Whether a column says how, when or at what temperature the meat was wrapped. Who wraps
/// is decided while cooking, by what the meat does, so such a column is no cause to compare
/// by.
pub fn derived_from_wrap(column: &str) -> bool {
    column.split('_').any(|word| word.to_lowercase().contains("wrap"))
}

/// The name without the suffix that says its unit, and what that promises.
fn suffix(column: &str) -> Option<(&str, Quantity)> {
    SUFFIXES.iter().find_map(|(suffix, quantity)| Some((column.strip_suffix(suffix)?, *quantity)))
}

pub(crate) fn lower_first(text: &str) -> String {
    change_first(text, |first| first.to_lowercase().collect())
}

fn change_first(text: &str, change: impl Fn(char) -> String) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| change(first) + letters.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn described_columns_read_as_described() {
        assert_eq!(label("stall_delay_min"), "Stall delay");
        assert_eq!(label("trimmed_weight_kg"), "Trimmed weight");
        assert_eq!(label_within("pit_early_c"), "early pit temperature");
        assert_eq!(quantity("pit_sd_c"), Quantity::TemperatureDifference);
        assert_eq!(quantity("min_per_kg"), Quantity::MinutesPerMass);
        assert_eq!(quantity("cost_per_served_kg"), Quantity::CostPerMass);
    }

    #[test]
    fn a_teams_own_columns_read_by_what_their_names_promise() {
        assert_eq!(label("score_taste"), "Taste score");
        assert_eq!(quantity("score_taste"), Quantity::Score);
        assert_eq!(label("brine_min"), "Brine");
        assert_eq!(quantity("brine_min"), Quantity::Minutes);
        assert_eq!(label("judge"), "Judge");
    }

    #[test]
    fn names_promise_units() {
        for (column, of) in [
            ("stall_min", "min"),
            ("min_per_kg", "min/kg"),
            ("k_ref_per_h", "1/h"),
            ("pit_sd_c", "°C"),
            ("yield_fraction", "1"),
            ("score_taste", "points"),
            ("altitude_m", "m"),
            ("distance_m", "m"),
            ("drive_h", "h"),
            ("wood", ""),
        ] {
            assert_eq!(unit(column), of, "{column}");
        }
    }

    #[test]
    fn wrap_columns_are_known_by_name() {
        for column in
            ["wrap_method", "clock_to_wrap_min", "wrap_at_core_c", "wrapped", "unwrap_min"]
        {
            assert!(derived_from_wrap(column), "{column}");
        }
        for column in ["arm", "wood", "pit_early_c", "ramp_min"] {
            assert!(!derived_from_wrap(column), "{column}");
        }
    }
}
