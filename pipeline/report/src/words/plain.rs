//! A claim's answer as it would be said across a table: how much more or less of what, with its
//! interval.

use cook::Units;

use study::result::ClaimResult;

use super::{ShownEffect, cooks_on_fires, spoken};
use crate::effect::Effect;
use crate::names::name_of;
use crate::units::{Covariate, Quantity, number};

/// `Time to finish: about 1 h 40 less with foil than with paper; anything from 1 h 00 to 2¼ h less fits (40 cooks
/// on 20 fires).`
pub(crate) fn finding(claim: &ClaimResult, units: Units) -> String {
    match in_a_sentence(claim, units) {
        Some(said) => format!("{said} ({}).", cooks_on_fires(claim.n, claim.fires)),
        None => "No effect was estimated.".to_owned(),
    }
}

/// The same without its cooks and without a full stop; none where nothing was estimated.
pub(crate) fn in_a_sentence(claim: &ClaimResult, units: Units) -> Option<String> {
    let effect = in_own_steps(claim)?;
    let shown = ShownEffect::new(&effect, units);
    let between = match (super::contrast(&claim.asked), &effect.per) {
        (Some((first, second)), _) => format!("with {first} than with {second}"),
        (None, Some(per)) => format!("{} of {}", per.per(units), per.name),
        (None, None) => "than without it".to_owned(),
    };
    let size = Size { shown: &shown, is_time: effect.outcome == Quantity::Minutes };
    let change = if shown.reads_as_zero() {
        // "No difference with A than with B" is no English; an estimate of just zero is rare.
        format!("{} different {between}", size.with_unit(0.0))
    } else {
        let word = if shown.estimate < 0.0 { "less" } else { "more" };
        format!("about {} {word} {between}", size.with_unit(shown.estimate))
    };
    Some(format!("{}: {change}; {}", name_of(&claim.asked.outcome), size.fits()))
}

/// The same in a few words, for beside another: `about 1 h 40 less`.
pub(crate) fn in_short(claim: &ClaimResult, units: Units) -> Option<String> {
    let effect = in_own_steps(claim)?;
    let shown = ShownEffect::new(&effect, units);
    let size = Size { shown: &shown, is_time: effect.outcome == Quantity::Minutes };
    if shown.reads_as_zero() {
        return Some("no difference".to_owned());
    }
    let word = if shown.estimate < 0.0 { "less" } else { "more" };
    Some(format!("about {} {word}", size.with_unit(shown.estimate)))
}

/// The effect of a claim; a slope per a step that people can set, whatever step it is judged in.
fn in_own_steps(claim: &ClaimResult) -> Option<Effect> {
    let effect = Effect::of_claim(claim)?;
    let per = effect.per.map(|per| Covariate { step: None, ..per });
    Some(Effect { per, ..effect })
}

/// Sizes of a difference, as people say them.
struct Size<'a> {
    shown: &'a ShownEffect,
    is_time: bool,
}

impl Size<'_> {
    fn with_unit(&self, value: f64) -> String {
        if self.is_time { spoken(value.abs()) } else { self.shown.magnitude(value.abs()) }
    }

    /// Without its unit where that follows anyway.
    fn bare(&self, value: f64) -> String {
        if self.is_time { spoken(value.abs()) } else { number(value.abs(), self.shown.decimals) }
    }

    /// `anything from 1 h to 2¼ h less fits`; an open end in words.
    fn fits(&self) -> String {
        let way = |value: f64| if value < 0.0 { "less" } else { "more" };
        match (self.shown.lo, self.shown.hi) {
            (Some(lo), Some(hi)) if hi <= 0.0 => {
                format!("anything from {} to {} less fits", self.bare(hi), self.with_unit(lo))
            }
            (Some(lo), Some(hi)) if lo >= 0.0 => {
                format!("anything from {} to {} more fits", self.bare(lo), self.with_unit(hi))
            }
            (Some(lo), Some(hi)) => {
                format!(
                    "anything from {} less to {} more fits",
                    self.with_unit(lo),
                    self.with_unit(hi)
                )
            }
            (Some(end), None) => {
                format!("anything from {} {} upwards fits", self.with_unit(end), way(end))
            }
            (None, Some(end)) => {
                format!("anything up to {} {} fits", self.with_unit(end), way(end))
            }
            (None, None) => "anything fits".to_owned(),
        }
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
            "Time to finish: about 1 h 40 less with foil than with paper; anything from 62 min to 2 h 20 less fits (40 cooks on 20 fires)."
        );
        assert!(said(5.0, Some(-10.0), Some(20.0)).contains("about 5 min more with foil"));
        assert!(
            said(5.0, Some(-10.0), Some(20.0)).contains("from 10 min less to 20 min more fits")
        );
        assert!(said(5.0, Some(1.0), Some(20.0)).contains("from 1 min to 20 min more"));
        assert!(said(50.0, Some(12.0), None).contains("from 12 min more upwards fits"));
        assert!(said(0.0, Some(-1.0), Some(1.0)).contains("0 min different with foil"));
    }

    #[test]
    fn a_trend_says_per_what() {
        let said = finding(&samples::trend(), Units::Us).replace('\u{a0}', " ");
        // 20 min per 5 °C are 22.2 min per 10 °F, the step that a pit is set by.
        assert!(
            said.starts_with("Stall delay: about 22 min less per 10 °F of early pit"),
            "{said}"
        );
    }
}
