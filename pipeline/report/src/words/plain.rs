//! A claim's answer as it would be said across a table: how much more or less of what, with its
//! interval.

use cook::Units;

use study::result::ClaimResult;

use super::{ShownEffect, cooks_on_fires};
use crate::effect::Effect;
use crate::names::name_of;
use crate::units::number;

/// `Time to finish: 100 min less with foil than with paper (98.8 % interval 62 to 138 less; 40 cooks
/// on 20 fires).`
pub(crate) fn finding(claim: &ClaimResult, units: Units) -> String {
    let Some(effect) = Effect::of_claim(claim) else {
        return "No effect was estimated.".to_owned();
    };
    let shown = ShownEffect::new(&effect, units);
    let between = match (super::contrast(&claim.asked), &effect.per) {
        (Some((first, second)), _) => format!("with {first} than with {second}"),
        (None, Some(per)) => format!("{} of {}", per.per(units), per.name),
        (None, None) => "than without it".to_owned(),
    };
    let change = if reads_as_zero(&shown) {
        // "No difference with A than with B" is no English; an estimate of just zero is rare.
        format!("{} different {between}", shown.magnitude(0.0))
    } else {
        let word = if shown.estimate < 0.0 { "less" } else { "more" };
        format!("{} {word} {between}", shown.magnitude(shown.estimate.abs()))
    };
    format!(
        "{}: {change} ({} {}; {}).",
        name_of(&claim.asked.outcome),
        shown.interval_name(),
        interval(&shown),
        cooks_on_fires(effect.cooks, effect.fires)
    )
}

fn reads_as_zero(shown: &ShownEffect) -> bool {
    shown.estimate.abs() < 0.5 * 10f64.powi(-(shown.decimals as i32))
}

/// `62 to 138 less`, `10 less to 7 more`; an open end as [`ShownEffect::interval`] has it.
fn interval(shown: &ShownEffect) -> String {
    let (Some(lo), Some(hi)) = (shown.lo, shown.hi) else { return shown.interval() };
    let size = |value: f64| number(value.abs(), shown.decimals);
    if hi <= 0.0 {
        format!("{} to {} less", size(hi), size(lo))
    } else if lo >= 0.0 {
        format!("{} to {} more", size(lo), size(hi))
    } else {
        format!("{} less to {} more", size(lo), size(hi))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;

    fn said(estimate: f64, lo: Option<f64>, hi: Option<f64>) -> String {
        let mut claim = samples::comparison();
        if let Some(effect) = &mut claim.effect {
            (effect.estimate, effect.lo, effect.hi) = (estimate, lo, hi);
        }
        finding(&claim, Units::Us).replace('\u{a0}', " ")
    }

    #[test]
    fn a_comparison_says_less_or_more() {
        assert_eq!(
            said(-100.0, Some(-138.0), Some(-62.0)),
            "Time to finish: 100 min less with foil than with paper (95 % interval 62 to 138 less; 40 cooks on 20 fires)."
        );
        assert!(said(5.0, Some(-10.0), Some(20.0)).contains("5 min more with foil"));
        assert!(said(5.0, Some(-10.0), Some(20.0)).contains("10 less to 20 more"));
        assert!(said(5.0, Some(1.0), Some(20.0)).contains("1 to 20 more"));
        assert!(said(50.0, Some(12.0), None).contains("12 or more;"));
        assert!(said(0.0, Some(-1.0), Some(1.0)).contains("0 min different with foil"));
    }

    #[test]
    fn a_trend_says_per_what() {
        let said = finding(&samples::trend(), Units::Us).replace('\u{a0}', " ");
        assert!(said.starts_with("Stall delay: 20 min less per 9 °F of early pit"), "{said}");
    }
}
