//! What the name of a column promises.

/// Whether a column says how, when or at what temperature the meat was wrapped. Who wraps
/// is decided while cooking, by what the meat does, so such a column is no cause to compare
/// by.
pub fn derived_from_wrap(column: &str) -> bool {
    column.split('_').any(|word| word.to_lowercase().contains("wrap"))
}

/// The unit that a column's name promises; empty where it promises none. A temperature
/// difference and a temperature share their symbol.
pub fn unit_of(column: &str) -> &'static str {
    const SUFFIXES: [(&str, &str); 9] = [
        ("min_per_kg", "min/kg"),
        ("_per_h", "1/h"),
        ("_min", "min"),
        ("_h", "h"),
        ("_kg", "kg"),
        ("_mm", "mm"),
        ("_m", "m"),
        ("_fraction", "1"),
        ("_c", "°C"),
    ];
    if column.starts_with("score_") {
        return "points";
    }
    SUFFIXES.into_iter().find(|(suffix, _)| column.ends_with(suffix)).map_or("", |(_, unit)| unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_promise_units() {
        for (column, unit) in [
            ("stall_min", "min"),
            ("min_per_kg", "min/kg"),
            ("k_ref_per_h", "1/h"),
            ("pit_sd_c", "°C"),
            ("yield_fraction", "1"),
            ("score_taste", "points"),
            ("altitude_m", "m"),
            ("wood", ""),
        ] {
            assert_eq!(unit_of(column), unit, "{column}");
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
