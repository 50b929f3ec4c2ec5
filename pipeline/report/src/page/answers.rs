//! The verdicts first: every claim with its verdict, one sentence and one figure.

use cook::Units;
use study::result::ClaimResult;
use study::{Standing, Verdict};

use super::claims;
use super::summary::Behind;
use crate::document::{Answer, Block, note};
use crate::figure::{answer_interval, reach};
use crate::words;

/// What is decided comes before what is open, and that before what could not be asked.
fn rank(claim: &ClaimResult) -> usize {
    match (claim.verdict, claim.standing) {
        (Verdict::Refused, _) => 4,
        (Verdict::Open, _) => 3,
        (Verdict::Yes | Verdict::Reverse, Standing::Confirmed) | (_, Standing::Randomised) => 0,
        (_, Standing::Confirmed) => 1,
        (_, Standing::AfterTheFact) => 2,
    }
}

/// The list, in the order of what it settles; each entry leads to the claim in full. Of more than
/// `most` claims the first are told.
pub(super) fn answers(
    claims: &[ClaimResult],
    most: usize,
    behind: Behind<'_>,
    units: Units,
) -> Vec<Block> {
    let mut order: Vec<(usize, &ClaimResult)> = claims.iter().enumerate().collect();
    order.sort_by_key(|(place, claim)| (rank(claim), *place));
    let reach = reach(claims);
    let drawn = claims.iter().any(|claim| claim.effect.is_some());
    let told = order.iter().take(most);
    let answers = Block::Answers {
        scale: drawn.then_some(["against", "for the claim"]),
        answers: told.map(|(place, claim)| entry(*place, claim, behind, units, reach)).collect(),
    };
    let more = match order.len().saturating_sub(most) {
        0 => String::new(),
        more => format!(" {} in the report.", words::plural(more, "further claim")),
    };
    let said = note(format!(
        "Bars: what fits the data, all on one scale, the claim’s own side at the right. Hatched: too small to matter. \
         Dashed: no difference.{more}"
    ));
    vec![answers, said]
}

fn entry(
    place: usize,
    claim: &ClaimResult,
    behind: Behind<'_>,
    units: Units,
    reach: f64,
) -> Answer {
    let id = claims::anchor(place, claim);
    let refused = claim.verdict == Verdict::Refused;
    Answer {
        word: words::verdict(claim.verdict),
        is_decided: !matches!(claim.verdict, Verdict::Open | Verdict::Refused),
        asked: claim.says.clone(),
        to: behind.to(&id),
        found: if refused {
            words::why_refused(claim).into()
        } else {
            let said = words::in_a_sentence(claim, units);
            said.map_or_else(|| "No effect was estimated.".to_owned(), |said| said + ".").into()
        },
        rests_on: words::rests_on(claim, words::beside(claim, units)).into(),
        drawing: (!refused)
            .then(|| answer_interval(&format!("{id}-answer"), claim, reach))
            .flatten(),
    }
}
