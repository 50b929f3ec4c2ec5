//! Two seasons compared, invented.

use study::result::compare::{ComparedDifference, Comparison, Comparisons, Told};

/// Two seasons: one difference told, one not estimated.
pub(super) fn comparisons() -> Comparisons {
    let difference = |estimate, lo, hi| ComparedDifference { estimate, lo: Some(lo), hi: Some(hi) };
    let told = Comparison {
        outcome: "stall_delay_min".into(),
        unit: "min".into(),
        first: "2026".into(),
        second: Some("2025".into()),
        first_cooks: 14,
        second_cooks: 12,
        censored: 1,
        as_they_are: Some(difference(31.0, 4.0, 58.0)),
        adjusted: Some(difference(22.0, 8.0, 36.0)),
        adjusted_for: vec!["trimmed_weight_kg".into(), "pit".into()],
        adjusted_cooks: 26,
        p: Some(0.0041),
        p_adjusted: Some(0.0123),
        told: Told::More,
        reason: None,
    };
    let refused = Comparison {
        outcome: "yield_fraction".into(),
        unit: "1".into(),
        as_they_are: None,
        adjusted: None,
        p: None,
        p_adjusted: None,
        told: Told::CannotBeTold,
        reason: Some("2025 has values from 2 fires, 3 are needed".into()),
        ..told.clone()
    };
    let rows = vec![told, refused];
    let (by, heading) = ("season".into(), "Seasons compared".into());
    Comparisons { by, heading, level: 0.95, family: 1, rows }
}
