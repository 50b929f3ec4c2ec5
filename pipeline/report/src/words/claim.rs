//! A claim in words: what it is about, what is set against what, how much its verdict is worth.

use study::claims::{Claim, Strategy};
use study::result::ClaimResult;
use study::{Standing, Verdict};

use super::{capitalised, plural};
use crate::names::name_within;
use crate::units::count;

/// What is compared, first against second: `foil at 160 °F` and `paper at 160 °F`; none for trends.
pub(crate) fn contrast(asked: &Claim) -> Option<(String, String)> {
    match (asked.levels.as_slice(), asked.strategies.as_slice()) {
        ([first, second], _) => {
            let by = asked.by.as_deref().map(name_within).unwrap_or_default();
            // "Yes" alone does not say what.
            let level = |level: &String| match level.as_str() {
                "yes" | "no" if !by.is_empty() => format!("{by} “{level}”"),
                level => level.to_owned(),
            };
            Some((level(first), level(second)))
        }
        (_, [first, second]) => Some((strategy(first), strategy(second))),
        _ => None,
    }
}

fn strategy(strategy: &Strategy) -> String {
    if strategy.never {
        return "never wrapped".into();
    }
    let Some(method) = strategy.method.as_ref() else { return "as this team does".into() };
    match (strategy.at_core_f, strategy.at_core_c) {
        (Some(fahrenheit), _) => format!("{method} at {fahrenheit} °F"),
        (None, Some(celsius)) => format!("{method} at {celsius} °C"),
        (None, None) => method.to_string(),
    }
}

/// What all cooks say of a claim that is judged on confirming cooks alone, as a claim of its own.
pub(crate) fn of_all_cooks(claim: &ClaimResult) -> Option<ClaimResult> {
    let all = claim.all_cooks.clone()?;
    Some(ClaimResult {
        verdict: all.verdict,
        standing: Standing::AfterTheFact,
        direction: all.direction,
        reason: all.reason,
        effect: all.effect,
        n: all.n,
        fires: all.fires,
        all_cooks: None,
        ..claim.clone()
    })
}

/// Further cooks after which a verdict may be expected; none where it is decided.
pub(crate) fn more_cooks(claim: &ClaimResult) -> Option<usize> {
    claim.cooks_still_needed.filter(|cooks| *cooks > 0)
}

/// What the study remarks, and who was left out, as one paragraph of sentences.
pub(crate) fn remarks(claim: &ClaimResult) -> Option<String> {
    let mut remarks = claim.notes.clone();
    if !claim.left_out.is_empty() {
        let left_out = claim.left_out.iter();
        let left_out = left_out.map(|left| format!("{} ({})", left.cooks, left.reason));
        remarks.push(format!("Cooks left out: {}.", left_out.collect::<Vec<_>>().join(", ")));
    }
    let sentence = |remark: &String| match remark.trim().trim_end_matches('.') {
        "" => String::new(),
        remark => capitalised(remark) + ".",
    };
    (!remarks.is_empty()).then(|| remarks.iter().map(sentence).collect::<Vec<_>>().join(" "))
}

/// Why a claim was refused, as a sentence.
pub(crate) fn refusal(claim: &ClaimResult) -> String {
    let reason = claim.reason.as_deref().unwrap_or("it cannot be answered as it is asked");
    format!("{}.", capitalised(reason.trim_end_matches('.')))
}

/// Confirming cooks so far, and how many are needed, where the verdict is not confirmed.
pub(crate) fn confirming(claim: &ClaimResult) -> Option<(usize, usize)> {
    (claim.standing == Standing::AfterTheFact)
        .then_some((claim.confirming_cooks, claim.judge_after_cooks))
}

/// How much a verdict is worth, as a sentence.
pub(crate) fn standing(claim: &ClaimResult) -> String {
    if claim.verdict == Verdict::Refused {
        return "No verdict, so none to confirm.".to_owned();
    }
    match confirming(claim) {
        None => {
            let sealed = sealed(claim).map_or_else(String::new, |sealed| format!(" {sealed}"));
            format!(
                "Confirmed: judged on {} cooked after the claim was written down.{sealed}",
                plural(claim.n, "cook")
            )
        }
        Some(_) if let Some(sealed) = sealed(claim) => {
            format!("After the fact, as it is computed now. {sealed} That stands.")
        }
        Some((so_far, needed)) => format!(
            "After the fact: this is what past cooks say to someone who has already seen them. \
             Confirm it on the next ones, {} of {} so far.",
            count(so_far),
            count(needed)
        ),
    }
}

/// The look that settled a claim, as a sentence; none where no look did.
pub(crate) fn sealed(claim: &ClaimResult) -> Option<String> {
    let look = claim.sealed()?;
    let day = look.at.split('T').next().unwrap_or(&look.at);
    Some(format!(
        "Sealed on {day}, on its first {}: {}.",
        plural(look.cooks, "new cook"),
        look.verdict.heading().to_lowercase()
    ))
}

/// What a verdict means, as a sentence.
pub(crate) fn verdict_meaning(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Yes => {
            "The whole interval lies on the claim’s side, beyond the smallest difference that matters."
        }
        Verdict::Reverse => {
            "The whole interval lies on the other side, beyond the smallest difference that matters."
        }
        Verdict::TooSmallToMatter => {
            "The whole interval lies within the differences that do not matter, on either side."
        }
        Verdict::No => {
            "A difference that matters in the claim’s favour is ruled out; the other side is not."
        }
        Verdict::Open => {
            "The interval still holds both a difference that matters in the claim’s favour and one that does not."
        }
        Verdict::Refused => "These cooks cannot answer it as it is asked.",
    }
}
