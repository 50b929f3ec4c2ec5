//! The verdicts first: every claim with its verdict, one sentence and one figure.

use cook::Units;
use study::result::ClaimResult;
use study::{Standing, Verdict};

use super::claims;
use crate::document::{Answer, Block, Inlines, Section, note, paragraph};
use crate::figure::{answer_interval, reach};
use crate::units::count;
use crate::words;

/// What is decided comes before what is open, and that before what could not be asked.
fn rank(claim: &ClaimResult) -> usize {
    match (claim.verdict, claim.standing) {
        (Verdict::Refused, _) => 4,
        (Verdict::Open, _) => 3,
        (Verdict::Yes | Verdict::Reverse, Standing::Confirmed) => 0,
        (_, Standing::Confirmed) => 1,
        (_, Standing::AfterTheFact) => 2,
        (_, Standing::Randomised) => 0,
    }
}

/// The list, in the order of what it settles; each entry leads to the claim in full.
pub(super) fn answers(claims: &[ClaimResult], units: Units) -> Section {
    let mut order: Vec<(usize, &ClaimResult)> = claims.iter().enumerate().collect();
    order.sort_by_key(|(place, claim)| (rank(claim), *place));
    let reach = reach(claims);
    let drawn = claims.iter().any(|claim| claim.effect.is_some());
    let answers = Block::Answers {
        scale: drawn.then_some(["against", "for the claim"]),
        answers: order.iter().map(|(place, claim)| entry(*place, claim, units, reach)).collect(),
    };
    let said = if claims.is_empty() {
        paragraph("No claim was written down for these cooks.")
    } else {
        note(
            "Bars: intervals, all on one scale, the claim’s own side at the right. Hatched: differences too small to matter. \
             Dashed: no difference.",
        )
    };
    Section::new("answers", "Verdicts", vec![answers, said])
}

fn entry(place: usize, claim: &ClaimResult, units: Units, reach: f64) -> Answer {
    let id = claims::anchor(place, claim);
    let refused = claim.verdict == Verdict::Refused;
    Answer {
        word: words::verdict(claim.verdict),
        is_decided: !matches!(claim.verdict, Verdict::Open | Verdict::Refused),
        asked: claim.says.clone(),
        to: format!("#{id}"),
        found: if refused {
            Inlines::with_code(&first_clause(claim))
        } else {
            format!("{}{}", words::plain_finding(claim, units), standing(claim)).into()
        },
        drawing: (!refused)
            .then(|| answer_interval(&format!("{id}-answer"), claim, reach))
            .flatten(),
    }
}

/// The beginning of why a claim was refused; all of it stands with the claim in full.
fn first_clause(claim: &ClaimResult) -> String {
    let reason = words::refusal(claim);
    match reason.split_once("; ").or_else(|| reason.split_once(": ")) {
        Some((first, _)) => format!("{first} …"),
        None => reason,
    }
}

/// What a verdict is worth where nothing has confirmed it yet.
fn standing(claim: &ClaimResult) -> String {
    words::confirming(claim).map_or_else(String::new, |(so_far, needed)| {
        format!(" Not confirmed yet: {} of {} cooks.", count(so_far), count(needed))
    })
}
