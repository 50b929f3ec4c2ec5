//! The verdicts first: every claim with its verdict, one sentence and one figure.

use cook::Units;
use study::result::ClaimResult;
use study::result::trial::{TrialResult, TrialState};
use study::{Standing, Verdict};

use super::summary::Behind;
use super::{claims, trials};
use crate::data::ReportData;
use crate::document::{Answer, Block, Inlines, note};
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

/// The list, in the order of what it settles; each entry leads to the claim in full. What lots are drawn for
/// comes first, and is answered by them alone. Of more than `most` claims the first are told.
pub(super) fn answers(
    data: &ReportData,
    most: usize,
    behind: Behind<'_>,
    units: Units,
) -> Vec<Block> {
    let (claims, tried) = (&data.study.claims, &data.study.trials);
    if claims.is_empty() && tried.is_empty() {
        return Vec::new();
    }
    let of_lots =
        tried.iter().enumerate().map(|(place, trial)| of_lots(place, trial, behind, units));
    let mut order: Vec<(usize, &ClaimResult)> =
        claims.iter().enumerate().filter(|(_, claim)| !data.is_tried(claim)).collect();
    order.sort_by_key(|(place, claim)| (rank(claim), *place));
    let reach = reach(claims);
    let drawn = claims.iter().any(|claim| claim.effect.is_some());
    let told = order.iter().take(most);
    let answers = Block::Answers {
        scale: drawn.then_some(["against", "for the claim"]),
        answers: of_lots
            .chain(told.map(|(place, claim)| entry(*place, claim, behind, units, reach)))
            .collect(),
    };
    let more = match order.len().saturating_sub(most) {
        0 => String::new(),
        more => format!(" {}, {}.", words::plural(more, "further claim"), behind.rest()),
    };
    let said = note(format!(
        "Bars: what fits the data, all on one scale, the claim’s own side at the right. Hatched: too small to matter. \
         Dashed: no difference.{more}"
    ));
    vec![answers, said]
}

fn of_lots(place: usize, trial: &TrialResult, behind: Behind<'_>, units: Units) -> Answer {
    let is_over = trial.state != TrialState::Running;
    let verdict = if is_over || trial.reason.is_some() { trial.verdict } else { Verdict::Open };
    Answer {
        word: verdict.heading(),
        is_decided: !matches!(verdict, Verdict::Open | Verdict::Refused),
        asked: trial.says.clone(),
        to: behind.to(&trials::anchor(place)),
        found: Inlines::with_code(&trials::told(trial, units)),
        rests_on: "Lots decided who got what.".into(),
        drawing: None,
    }
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
        word: claim.verdict.heading(),
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
