//! What faster costs, in sentences.

use cook::Units;

use super::{ShownEffect, listed};
use crate::data::{CostContrast, CostDifference, CostFinding, CostStanding};
use crate::units::number;

/// The answer in a word or two.
pub(crate) fn cost_finding(finding: CostFinding) -> &'static str {
    match finding {
        CostFinding::Better => "better",
        CostFinding::Worse => "worse",
        CostFinding::PerhapsBetter => "perhaps better",
        CostFinding::PerhapsWorse => "perhaps worse",
        CostFinding::CannotTell => "cannot tell",
    }
}

/// What the heading of a treatment says of its differences.
pub(crate) fn cost_standing(standing: CostStanding) -> &'static str {
    match standing {
        CostStanding::Randomised => "lots were drawn: caused",
        CostStanding::Described => "described, not caused",
        CostStanding::Association => "goes along with it, not shown to cause it",
    }
}

/// What is set against what: `foil against paper`, `per 9 °F`.
pub(crate) fn contrast_label(contrast: &CostContrast, units: Units) -> String {
    match (&contrast.levels, &contrast.per) {
        (Some((level, base)), _) => format!("{level} against {base}"),
        (None, Some(per)) => format!("{} ({})", per.name, per.per(units)),
        (None, None) => String::new(),
    }
}

/// An effect without the step, which the label tells.
pub(crate) fn cost_difference(difference: &CostDifference, units: Units) -> ShownEffect {
    ShownEffect::new(&difference.effect, units).without_step()
}

/// Everything that a treatment gains and costs, in one or two plain sentences.
pub(crate) fn trade_sentence(contrast: &CostContrast, units: Units) -> String {
    let subject = match (&contrast.levels, &contrast.per) {
        (Some((level, base)), _) => format!("{level}, set against {base},"),
        (None, Some(per)) => format!("A higher {} ({})", per.name, per.per(units)),
        (None, None) => "It".to_owned(),
    };
    let mut parts: Vec<String> = Vec::new();
    let mut open: Vec<String> = Vec::new();
    for difference in &contrast.outcomes {
        let name = lower_first(&difference.outcome_name);
        if difference.finding == CostFinding::CannotTell {
            open.push(name);
            continue;
        }
        let shown = cost_difference(difference, units);
        if difference.is_time {
            let sooner = if difference.effect.estimate < 0.0 { "sooner" } else { "later" };
            let perhaps = if perhaps(difference.finding) { "perhaps " } else { "" };
            parts.push(format!(
                "was {perhaps}{} {sooner} at the finish",
                shown.with_unit(shown.estimate.abs())
            ));
        } else {
            parts.push(format!(
                "had {} {name} ({})",
                match difference.finding {
                    CostFinding::Better => "a better",
                    CostFinding::Worse => "a worse",
                    CostFinding::PerhapsBetter => "perhaps a better",
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

fn perhaps(finding: CostFinding) -> bool {
    matches!(finding, CostFinding::PerhapsBetter | CostFinding::PerhapsWorse)
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// `1.8 (1.1 to 2.9)`.
pub(crate) fn with_ends([estimate, lo, hi]: [Option<f64>; 3], decimals: usize) -> String {
    let shown = |value: Option<f64>, open: &str| {
        value.map_or_else(|| open.to_owned(), |value| number(value, decimals))
    };
    format!("{} ({} to {})", shown(estimate, "–"), shown(lo, "open"), shown(hi, "open"))
}
