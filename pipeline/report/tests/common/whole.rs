//! Two seasons compared, invented.

use report::data::{ComparisonRow, Comparisons, Told};
use report::units::Quantity;

/// Two seasons: one difference told, one not estimated.
pub(super) fn comparisons() -> Comparisons {
    let row = |outcome: &str,
               quantity,
               told,
               adjusted: Option<[Option<f64>; 3]>,
               reason: Option<&str>| ComparisonRow {
        outcome: outcome.into(),
        quantity,
        first: "2026".into(),
        second: Some("2025".into()),
        cooks: [14, 12],
        censored: 1,
        plain: adjusted.map(|_| [Some(31.0), Some(4.0), Some(58.0)]),
        adjusted,
        adjusted_for: vec!["trimmed weight".into(), "pit".into()],
        p_adjusted: adjusted.map(|_| 0.0123),
        told,
        reason: reason.map(str::to_owned),
    };
    let delay = Some([Some(22.0), Some(8.0), Some(36.0)]);
    let few = "2025 has values from 2 fires, 3 are needed";
    Comparisons {
        by: "season".into(),
        level: 0.95,
        family: 1,
        rows: vec![
            row("Stall delay", Quantity::Minutes, Told::More, delay, None),
            row("Yield", Quantity::Fraction, Told::CannotBeTold, None, Some(few)),
        ],
    }
}
