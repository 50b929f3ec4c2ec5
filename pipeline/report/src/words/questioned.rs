//! What would change a verdict, in words.

use cook::Units;

use study::result::specification::SpecificationCurve;
use study::result::{Alternative, ClaimResult, LeaveOneFireOut};

use super::{ShownEffect, capitalised, level, listed, plural};
use crate::effect::Effect;
use crate::units::{count, number};

/// Fires that are named before the rest is only counted.
const NAMED: usize = 5;

/// `With random intercepts of fire (82 levels): −4 min … (90 % interval …), the same verdict.`
pub(crate) fn other_way(other: &Alternative, claim: &ClaimResult, units: Units) -> String {
    let ends = (other.estimate, other.lo, other.hi);
    let shown = ShownEffect::new(&Effect::on_the_scale_of(claim, ends, other.n), units);
    let says = if other.verdict == claim.verdict {
        "the same verdict".to_owned()
    } else {
        format!("the verdict would be “{}”", other.verdict.heading())
    };
    format!(
        "{}: {} ({} {}), {says}.",
        capitalised(&other.way),
        shown.headline(),
        shown.interval_name(),
        shown.interval()
    )
}

/// Whether the verdict hangs on single fires, and which.
pub(crate) fn without_one_fire(
    without: &LeaveOneFireOut,
    claim: &ClaimResult,
    units: Units,
) -> String {
    let end = |estimate: f64| {
        let moved = Effect::on_the_scale_of(claim, (estimate, None, None), claim.n);
        ShownEffect::new(&moved, units).headline()
    };
    let estimates = claim.effect.as_ref().map_or_else(String::new, |_| {
        format!("the estimate then runs from {} to {}", end(without.lowest), end(without.highest))
    });
    if without.changing.is_empty() {
        return format!(
            "No single fire: leave out any one of the {} and the verdict stays; {estimates}.",
            count(without.fires)
        );
    }
    let named: Vec<String> = without
        .changing
        .iter()
        .take(NAMED)
        .map(|fire| format!("{} (then “{}”)", listed(&fire.cooks), fire.verdict.heading()))
        .collect();
    let rest = without.changing.len().saturating_sub(NAMED);
    let more = if rest > 0 { format!(", and {} more", count(rest)) } else { String::new() };
    format!(
        "It hangs on {} of {}: leave out the fire of {}{more} and the verdict is another one; \
         {estimates}.",
        plural(without.changing.len(), "single fire"),
        count(without.fires),
        named.join("; or of "),
    )
}

/// A p value in words and number: `hardly (p = 0.003)`.
pub(crate) fn chance(p: f64) -> String {
    let word = match p {
        p if p < 0.01 => "hardly",
        p if p < 0.05 => "not easily",
        p if p < 0.2 => "quite possibly",
        _ => "yes",
    };
    let shown = if p < 0.001 { "p < 0.001".to_owned() } else { format!("p = {}", number(p, 3)) };
    format!("{word} ({shown})")
}

/// How many ways to ask agree.
pub(crate) fn specifications_headline(curve: &SpecificationCurve) -> String {
    let ways = curve.specifications.len();
    format!(
        "Asked in {} ways: {} give this verdict, {} point the same way",
        count(ways),
        share(curve.same_verdict, ways),
        share(curve.same_side, ways)
    )
}

/// `all`, `none`, or `12 (75 %)`.
fn share(part: usize, whole: usize) -> String {
    match part {
        0 => "none".to_owned(),
        part if part == whole => "all".to_owned(),
        part => format!("{} ({})", count(part), level(part as f64 / whole as f64)),
    }
}

/// What to see in the specification curve.
pub(crate) fn specifications_caption(
    claim: &ClaimResult,
    curve: &SpecificationCurve,
    units: Units,
) -> String {
    let matters = ShownEffect::of_claim(claim, units).map_or_else(String::new, |effect| {
        effect.with_unit(ShownEffect::matters(&claim.asked, units))
    });
    let sees = if curve.same_verdict == curve.specifications.len() {
        "Whatever is chosen, the verdict is the same."
    } else if curve.same_side == curve.specifications.len() {
        "Every dot lies on the same side of the dashed line: the direction does not depend on the \
         choices, the verdict does."
    } else {
        "Some dots lie on the other side of the dashed line: the answer depends on the choices."
    };
    let not_fitted = match curve.not_fitted {
        0 => String::new(),
        n => format!(" {} more could not be estimated.", count(n)),
    };
    let (interval, judged) = if curve.own_error {
        (
            "the claim’s own with its interval",
            " The others are point estimates; their verdicts are those that they would have with the \
             claim’s own standard error.",
        )
    } else {
        ("with its interval", "")
    };
    format!(
        "{sees} Each dot is one way to ask the same question, {interval}, from the lowest \
         estimate to the highest; the large dot is the claim as written. Dashed: no difference; \
         dotted: {matters} either way, what matters. The squares beneath a dot are its choices.\
         {judged}{not_fitted}"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;
    use study::Verdict;
    use study::result::ChangingFire;

    #[test]
    fn another_way_says_whether_it_agrees() {
        let claim = samples::comparison();
        let mut other = Alternative {
            way: "with fires".into(),
            estimate: -20.0,
            lo: Some(-30.0),
            hi: Some(-10.0),
            n: 40,
            verdict: claim.verdict,
        };
        assert_eq!(
            other_way(&other, &claim, Units::Metric).replace('\u{a0}', " "),
            "With fires: −20 min (95 % interval −30 to −10), the same verdict."
        );
        other.verdict = Verdict::Open;
        let says = other_way(&other, &claim, Units::Metric);
        assert!(says.ends_with("the verdict would be “Open”."), "{says}");
    }

    #[test]
    fn the_fires_that_a_verdict_hangs_on_are_named() {
        let claim = samples::comparison();
        let mut without = LeaveOneFireOut {
            fires: 12,
            lowest: -24.0,
            highest: -15.0,
            not_fitted: 0,
            changing: Vec::new(),
        };
        assert_eq!(
            without_one_fire(&without, &claim, Units::Metric).replace('\u{a0}', " "),
            "No single fire: leave out any one of the 12 and the verdict stays; the estimate then \
             runs from −24 min to −15 min."
        );
        without.changing.push(ChangingFire {
            cooks: vec!["may-1".into(), "may-2".into()],
            estimate: -15.0,
            verdict: Verdict::Open,
        });
        let says = without_one_fire(&without, &claim, Units::Metric);
        assert!(
            says.starts_with("It hangs on 1 single fire of 12: leave out the fire of may-1 and may-2 (then “Open”) and"),
            "{says}"
        );
    }
}
