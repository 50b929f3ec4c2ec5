//! Columns in words, and what their numbers are.

use report::units::{Covariate, Quantity};

/// Columns that have a name of their own among people.
const NAMES: [(&str, &str); 19] = [
    ("stall_min", "Stall length"),
    ("stall_delay_min", "Stall delay"),
    ("clock_to_finish_min", "Time to finish"),
    ("clock_to_wrap_min", "Time to wrap"),
    ("total_min", "Time on the pit"),
    ("ramp_min", "Ramp"),
    ("push_min", "Push"),
    ("rest_min", "Rest"),
    ("pit_early_c", "Early pit temperature"),
    ("pit_mean_c", "Mean pit temperature"),
    ("pit_sd_c", "Pit unsteadiness"),
    ("pit_setpoint_c", "Set-point"),
    ("k_ref_per_h", "Reference heating coefficient"),
    ("min_per_kg", "Time per weight"),
    ("pull_core_c", "Core at the pull"),
    ("carryover_c", "Carry-over"),
    ("yield_fraction", "Yield"),
    ("wrap_method", "Wrap"),
    ("late_min", "Pull against plan (positive is late)"),
];

/// Unit suffixes of column names, and what they say.
const SUFFIXES: [(&str, Quantity); 7] = [
    ("_per_h", Quantity::HeatingCoefficient),
    ("_per_kg", Quantity::MinutesPerMass),
    ("_min", Quantity::Minutes),
    ("_fraction", Quantity::Fraction),
    ("_kg", Quantity::Mass),
    ("_mm", Quantity::Length),
    ("_c", Quantity::Temperature),
];

/// A column's name in words, capitalised.
pub(super) fn name_of(column: &str) -> String {
    if let Some((_, name)) = NAMES.iter().find(|(known, _)| *known == column) {
        return (*name).to_owned();
    }
    let bare = SUFFIXES
        .iter()
        .find_map(|(suffix, _)| column.strip_suffix(suffix))
        .unwrap_or(column)
        .strip_prefix("score_")
        .map_or_else(|| column_without_suffix(column), |score| format!("{score} score"));
    let words = bare.replace('_', " ");
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn column_without_suffix(column: &str) -> String {
    SUFFIXES.iter().find_map(|(suffix, _)| column.strip_suffix(suffix)).unwrap_or(column).to_owned()
}

/// A column's name in words, in the middle of a sentence.
pub(super) fn name_within(column: &str) -> String {
    let name = name_of(column);
    let mut letters = name.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// What a column's numbers are.
pub(super) fn quantity_of(column: &str) -> Quantity {
    if matches!(column, "pit_sd_c" | "carryover_c" | "meat_offset_c" | "pit_offset_c") {
        return Quantity::TemperatureDifference;
    }
    if column == "altitude_m" {
        return Quantity::Altitude;
    }
    SUFFIXES
        .iter()
        .find(|(suffix, _)| column.ends_with(suffix))
        .map_or(Quantity::Plain { unit: String::new(), decimals: 1 }, |(_, q)| q.clone())
}

/// A column as what a slope is told per.
pub(super) fn covariate(column: &str, step: Option<f64>) -> Covariate {
    Covariate { name: name_within(column), quantity: quantity_of(column), step }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_read_as_people_say_them() {
        assert_eq!(name_of("stall_delay_min"), "Stall delay");
        assert_eq!(name_of("trimmed_weight_kg"), "Trimmed weight");
        assert_eq!(name_of("score_taste"), "Taste score");
        assert_eq!(name_of("judge"), "Judge");
        assert_eq!(name_within("pit_early_c"), "early pit temperature");
        assert_eq!(quantity_of("pit_sd_c"), Quantity::TemperatureDifference);
        assert_eq!(quantity_of("min_per_kg"), Quantity::MinutesPerMass);
        assert_eq!(quantity_of("trimmed_weight_kg"), Quantity::Mass);
    }
}
