//! What faster costs, in sentences.

use cook::Units;

use super::{ShownEffect, listed, lower_first};
use crate::effect::Effect;
use crate::names::{name_of, name_within};
use crate::treatment::{Contrast, Difference};
use crate::units::{Quantity, number};
use study::result::cost::{Finding, Standing};
use study::result::tender::{TenderDifference, TenderGroup, TenderQuantile, TenderTemperature};

/// The answer in a word or two.
pub(crate) fn cost_finding(finding: Finding) -> &'static str {
    match finding {
        Finding::Better => "better",
        Finding::Worse => "worse",
        Finding::PerhapsBetter => "perhaps better",
        Finding::PerhapsWorse => "perhaps worse",
        Finding::CannotTell => "cannot tell",
    }
}

/// What the heading of a treatment says of its differences.
pub(crate) fn cost_standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Randomised => "lots were drawn: caused",
        Standing::Described => "described, not caused",
        Standing::Association => "goes along with it, not shown to cause it",
    }
}

/// What is set against what: `foil against paper`, `per 9 °F`.
pub(crate) fn contrast_label(contrast: &Contrast<'_>, units: Units) -> String {
    match (contrast.levels(), contrast.per()) {
        (Some([level, base]), _) => format!("{level} against {base}"),
        (None, Some(per)) => format!("{} ({})", per.name, per.per(units)),
        (None, None) => String::new(),
    }
}

/// An effect without the step, which the label tells.
pub(crate) fn cost_difference(difference: &Difference<'_>, units: Units) -> ShownEffect {
    ShownEffect::new(&difference.effect(), units).without_step()
}

/// Everything that a treatment gains and costs, in one or two plain sentences.
pub(crate) fn trade_sentence(contrast: &Contrast<'_>, units: Units) -> String {
    let subject = match (contrast.levels(), contrast.per()) {
        (Some([level, base]), _) => format!("{level}, set against {base},"),
        (None, Some(per)) => format!("A higher {} ({})", per.name, per.per(units)),
        (None, None) => "It".to_owned(),
    };
    let mut parts: Vec<String> = Vec::new();
    let mut open: Vec<String> = Vec::new();
    for difference in &contrast.differences {
        let name = lower_first(&difference.outcome_name());
        if difference.effect.finding == Finding::CannotTell {
            open.push(name);
            continue;
        }
        let shown = cost_difference(difference, units);
        if difference.is_time() {
            let sooner = if difference.effect.estimate < 0.0 { "sooner" } else { "later" };
            let perhaps = if perhaps(difference.effect.finding) { "perhaps " } else { "" };
            parts.push(format!(
                "was {perhaps}{} {sooner} at the finish",
                shown.with_unit(shown.estimate.abs())
            ));
        } else {
            parts.push(format!(
                "had {} {name} ({})",
                match difference.effect.finding {
                    Finding::Better => "a better",
                    Finding::Worse => "a worse",
                    Finding::PerhapsBetter => "perhaps a better",
                    _ => "perhaps a worse",
                },
                shown.headline()
            ));
        }
    }
    match (parts.is_empty(), open.is_empty()) {
        (false, true) => format!("{subject} {}.", listed(&parts)),
        (false, false) => {
            format!("{subject} {}. The data cannot tell about {}.", listed(&parts), listed(&open))
        }
        (true, _) => {
            format!("{subject} shows no difference: the data cannot tell about {}.", listed(&open))
        }
    }
}

fn perhaps(finding: Finding) -> bool {
    matches!(finding, Finding::PerhapsBetter | Finding::PerhapsWorse)
}

/// `1.8 (1.1 to 2.9)`.
pub(crate) fn with_ends([estimate, lo, hi]: [Option<f64>; 3], decimals: usize) -> String {
    let shown = |value: Option<f64>, open: &str| {
        value.map_or_else(|| open.to_owned(), |value| number(value, decimals))
    };
    format!("{} ({} to {})", shown(estimate, "–"), shown(lo, "open"), shown(hi, "open"))
}

/// Which cooks were felt: `All`, `Wrap: foil`.
pub(crate) fn tender_label(group: &TenderGroup) -> String {
    match (&group.by, &group.level) {
        (Some(by), Some(level)) => format!("{}: {level}", name_of(by)),
        _ => "All".into(),
    }
}

/// The core temperature by which half were tender, without assuming a shape.
pub(crate) fn half_by(group: &TenderGroup) -> Option<&TenderQuantile> {
    group.turnbull.as_ref()?.quantiles.get(1)
}

/// `201 (199 to 203)`, in the reader's unit.
pub(crate) fn tender_quantile(quantile: &TenderQuantile, units: Units) -> String {
    let value = |end: Option<f64>| end.map(|c| Quantity::Temperature.value(c, units));
    with_ends([quantile.core_c, quantile.lo_c, quantile.hi_c].map(value), 0)
}

/// `wrap: foil against none: +1.1 °C (95 % interval …)`.
pub(crate) fn tender_difference(
    difference: &TenderDifference,
    of_all: &TenderTemperature,
    units: Units,
) -> String {
    let effect = Effect {
        estimate: difference.estimate,
        lo: difference.lo,
        hi: difference.hi,
        level: 0.95,
        outcome: Quantity::TemperatureDifference,
        per: None,
        cooks: of_all.model.as_ref().map_or(0, |model| model.n),
        fires: 0,
    };
    format!(
        "{}: {} against {}: {}",
        name_within(&difference.by),
        difference.level,
        difference.base,
        ShownEffect::new(&effect, units).sentence()
    )
}
