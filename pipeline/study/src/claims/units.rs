//! Columns of a claim that it names in °F, lb, in or ft: tables have them in the stored unit.

use super::{Claim, ClaimKind};
use columns::names;
use columns::sheet::american;

/// The stored column that a name in an American unit means, and what a difference of one is there.
fn stored(column: &str) -> Option<(String, f64)> {
    if names::find(column).is_some() {
        return None;
    }
    let (stem, _) = column.rsplit_once('_')?;
    ["c", "kg", "mm", "m"].iter().find_map(|unit| {
        let own = format!("{stem}_{unit}");
        let (_, suffix, convert) = american(names::find(&own)?.quantity?)?;
        column.ends_with(suffix).then(|| (own, convert(1.0) - convert(0.0)))
    })
}

/// The name by which tables have a column that is named in °F, lb, in or ft; `None` for any other.
pub fn stored_name(column: &str) -> Option<String> {
    Some(stored(column)?.0)
}

/// Puts a claim's columns, its step and its smallest difference into the stored units.
pub(super) fn into_stored(claim: &mut Claim) {
    if let Some((own, one)) = stored(&claim.outcome) {
        claim.outcome = own;
        claim.matters *= one;
    }
    if let Some((own, one)) = claim.by.as_deref().and_then(stored) {
        claim.by = Some(own);
        if claim.kind == ClaimKind::Trend {
            claim.per = Some(claim.per.unwrap_or(1.0) * one);
        }
    }
    for column in claim.adjust.iter_mut().chain(&mut claim.group) {
        if let Some(own) = stored_name(column) {
            *column = own;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Claims;
    use std::path::Path;

    #[test]
    fn a_claim_in_pounds_and_fahrenheit_is_the_one_in_kilograms_and_celsius() {
        let claim = |by: &str, per: f64, adjust: &str, outcome: &str, matters: f64| {
            let text = format!(
                "[[claim]]\nid = \"a\"\nsays = \"b\"\nkind = \"trend\"\noutcome = \"{outcome}\"\nbetter = \"lower\"\nby = \"{by}\"\nper = {per}\nadjust = [\"{adjust}\"]\nmatters = {matters}\n"
            );
            Claims::parse(&text, Path::new("claims.toml")).unwrap().claims.remove(0)
        };
        let us = claim("pit_early_f", 9.0, "trimmed_weight_lb", "start_core_f", 18.0);
        let si = claim("pit_early_c", 5.0, "trimmed_weight_kg", "start_core_c", 10.0);
        assert_eq!((&us.by, &us.adjust, &us.outcome), (&si.by, &si.adjust, &si.outcome));
        // °F to °C by the definition of the scale: nine to five.
        assert!((us.step() - 5.0).abs() < 1e-12 && (us.matters - 10.0).abs() < 1e-12);
        // A column of a team's own stays as it is.
        assert_eq!(claim("brine_f", 1.0, "rub_lb", "soak_min", 5.0).by.as_deref(), Some("brine_f"));
    }
}
