//! What to do about it: decisions that the answers allow, and what would settle what is open.

use cook::Units;
use study::claims::ClaimKind;
use study::result::cost::{CostSide, Finding, Standing};
use study::result::season::Glance;
use study::result::{AllCooks, ClaimResult, NextStepKind};
use study::{Standing as Worth, Verdict};

use super::{confirming, contrast, cost_difference, listed, lower_first, plural, refusal, spoken};
use crate::data::{ContestCook, CookReport};
use crate::treatment::{Contrast, Difference, Treatment};
use crate::units::{count, number};

/// A pull this much later than planned is worth a word, min.
const LATE_MIN: f64 = 15.0;

/// What each side is good for, where something is told of the time: `Short of time: foil, about 1 h 40
/// sooner than paper; bark about 1 point worse.` What lots decided comes alone, where there is any.
pub(crate) fn decisions(cost: &CostSide, units: Units) -> Vec<String> {
    let treatments = Treatment::all(cost);
    let of = |standing: Standing| -> Vec<String> {
        let own = treatments.iter().filter(|own| own.standing() == standing);
        own.flat_map(|own| &own.contrasts)
            .filter_map(|own| decision(own, standing, units))
            .collect()
    };
    let drawn = of(Standing::Randomised);
    if drawn.is_empty() { of(Standing::Described) } else { drawn }
}

fn decision(contrast: &Contrast<'_>, standing: Standing, units: Units) -> Option<String> {
    let [level, base] = contrast.levels()?;
    let time = contrast.differences.iter().find(|own| own.is_time())?;
    // The sides change places where the base is the sooner.
    let is_level = match time.effect.finding {
        Finding::Better => true,
        Finding::Worse => false,
        _ => return None,
    };
    let (quick, slow) = if is_level { (level, base) } else { (base, level) };
    let mut told: Vec<String> = Vec::new();
    let mut open: Vec<String> = Vec::new();
    let mut kinds: Vec<_> = Vec::new();
    for own in contrast.differences.iter().filter(|own| !own.is_time()) {
        // Yield is told once, however it is measured.
        let kind = own.answer.kind;
        let is_again = kinds.contains(&kind) && kind == study::result::cost::CostOutcome::Yield;
        kinds.push(kind);
        if is_again {
            continue;
        }
        match (own.effect.finding, is_level) {
            (Finding::Better, true) | (Finding::Worse, false) => {
                told.push(said(own, "better", units));
            }
            (Finding::Worse, true) | (Finding::Better, false) => {
                told.push(said(own, "worse", units));
            }
            _ => open.push(lower_first(&own.outcome_name())),
        }
    }
    let told = if told.is_empty() { String::new() } else { format!("; {}", listed(&told)) };
    let open = if open.is_empty() {
        String::new()
    } else {
        format!(" No difference shown in {}.", listed(&open))
    };
    let worth = match standing {
        Standing::Randomised => "",
        Standing::Described | Standing::Association => " As these cooks went: nobody drew lots.",
    };
    Some(format!(
        "Short of time: {quick}, about {} sooner than {slow}{told}.{open}{worth}",
        spoken(time.effect.estimate.abs())
    ))
}

fn said(own: &Difference<'_>, word: &str, units: Units) -> String {
    let shown = cost_difference(own, units);
    format!(
        "{} {word} by about {}",
        lower_first(&own.outcome_name()),
        shown.magnitude(shown.estimate.abs())
    )
}

/// What would settle a claim that is not settled, in a sentence or two; none where nothing is left to do.
pub(crate) fn settles(claim: &ClaimResult) -> Option<String> {
    let next = claim.next_step.as_ref()?;
    Some(match next.kind {
        NextStepKind::None => return None,
        NextStepKind::Randomise => {
            "To settle it, flip a coin before each cook and write the side under `arm`.".to_owned()
        }
        NextStepKind::WriteAnew if claim.verdict == Verdict::Refused => {
            format!("{} Ask it another way.", refusal(claim))
        }
        NextStepKind::WriteAnew => {
            let judged = claim.sealed().map_or(claim.judge_after_cooks, |look| look.cooks);
            let used = plural(judged, "new cook");
            let then = match next.cooks {
                Some(cooks) => format!(
                    "Write it down anew, to be judged on about {}, or let it go.",
                    plural(cooks, "cook")
                ),
                None => "More cooks of this kind would not settle it: let it go, or ask it another way.".to_owned(),
            };
            format!("Still open after its {used}. {then}")
        }
        NextStepKind::PutBack => {
            "Something was changed after it was written down: put it back, as its notes in the report say.".to_owned()
        }
        NextStepKind::Wait => format!(
            "{} of {} so far. Leave the claim as it is, and cook on.",
            count(claim.confirming_cooks),
            plural(claim.judge_after_cooks, "new cook")
        ),
    })
}

/// Why a claim has no answer, in plain words; the reason in full stands with the claim.
pub(crate) fn why_refused(claim: &ClaimResult) -> String {
    match claim.next_step.as_ref().map(|next| next.kind) {
        Some(NextStepKind::Randomise) if claim.kind == ClaimKind::WrapTiming => {
            "Too few cooks went each way to the end to compare them.".to_owned()
        }
        Some(NextStepKind::Randomise) => match contrast(&claim.asked) {
            Some((first, second)) => format!(
                "You chose {first} or {second} mid-cook, so slow cooks may have got one of them more often."
            ),
            None => "What was done followed from how the cook went.".to_owned(),
        },
        _ => {
            let reason = refusal(claim).replace('`', "");
            match reason.split_once("; ").or_else(|| reason.split_once(": ")) {
                Some((first, _)) => format!("{first} …"),
                None => reason,
            }
        }
    }
}

/// What all cooks say beside a verdict of new ones, in a few words.
pub(crate) fn beside(claim: &ClaimResult, units: Units) -> Option<String> {
    let all = super::of_all_cooks(claim)?;
    let verdict = all.verdict.heading().to_lowercase();
    let short = super::in_short(&all, units).map_or_else(String::new, |short| format!(", {short}"));
    Some(format!("All {}: {verdict}{short}.", plural(all.n, "cook")))
}

/// What a verdict rests on, and what all cooks say beside it.
pub(crate) fn rests_on(claim: &ClaimResult, all: Option<String>) -> String {
    if claim.verdict == Verdict::Refused {
        // An open answer of all cooks still says which way they lean, and by how much.
        let is_told = |all: &AllCooks| all.effect.is_some();
        return all.filter(|_| claim.all_cooks.as_ref().is_some_and(is_told)).unwrap_or_default();
    }
    match confirming(claim) {
        Some((so_far, needed)) => {
            let from = format!("From {} you had already seen.", plural(claim.n, "cook"));
            // What was sealed is said with it; new cooks are not judged again.
            if let Some(sealed) = super::sealed(claim) {
                return format!("{from} {sealed}");
            }
            let looks: Vec<String> = claim.looks.iter().map(|cooks| count(*cooks)).collect();
            let needed = if looks.is_empty() { count(needed) } else { listed(&looks) };
            format!("{from} New cooks decide after {needed}; {} so far.", count(so_far))
        }
        None if claim.standing == Worth::Confirmed => {
            let judged = claim.sealed().map_or(claim.judge_after_cooks, |look| look.cooks);
            let new = if claim.n == judged {
                format!("Judged on {} only.", plural(claim.n, "new cook"))
            } else {
                format!("Judged on {} of its {}.", count(claim.n), plural(judged, "new cook"))
            };
            all.map_or(new.clone(), |all| format!("{new} {all}"))
        }
        None => String::new(),
    }
}

/// What became of the cooks of one contest: why they ended, and the score that stands out most.
pub(crate) fn contest_sentence(
    cooks: &[(&ContestCook, &CookReport)],
    all: Option<&Glance>,
) -> Option<String> {
    let out = cooks.iter().filter(|(_, cook)| cook.measures.end_reason == "out-of-time").count();
    let who = |n: usize| match (n, cooks.len()) {
        (1, 1) => "The cook".to_owned(),
        (2, 2) => "Both cooks".to_owned(),
        (n, all) if n == all => format!("All {} cooks", count(all)),
        (n, all) => format!("{} of {} cooks", count(n), count(all)),
    };
    let late = cooks.iter().filter(|(own, _)| own.late_min.is_some_and(|min| min > LATE_MIN));
    let latest = late.clone().filter_map(|(own, _)| own.late_min).fold(0.0, f64::max);
    let end = if out > 0 {
        format!("{} ran out of time", who(out))
    } else if latest > 0.0 {
        format!("{} pulled late, by up to {}", who(late.count()), spoken(latest))
    } else {
        let margin = cooks
            .iter()
            .filter_map(|(own, _)| own.turn_in_margin_min)
            .fold(f64::INFINITY, f64::min);
        if !margin.is_finite() {
            return None;
        }
        format!("{} pulled in time, {} or more before turn-in", who(cooks.len()), spoken(margin))
    };
    let score = standing_out(cooks, all?).map_or_else(String::new, |(name, points, median)| {
        let points: Vec<String> = points.iter().map(|points| number(*points, 1)).collect();
        format!(
            ": {} {} against a median of {}",
            lower_first(&name),
            listed(&points),
            number(median, 1)
        )
    });
    Some(format!("{end}{score}."))
}

/// The score of which some cook lies furthest from the median of all: its name, the cooks' points, the
/// median.
fn standing_out(
    cooks: &[(&ContestCook, &CookReport)],
    all: &Glance,
) -> Option<(String, Vec<f64>, f64)> {
    let mut names: Vec<(&str, String)> = Vec::new();
    for score in &all.scores {
        names.push((&score.score, crate::names::name_of(&score.score)));
    }
    let told = names.into_iter().filter_map(|(column, name)| {
        let median = all.points(column)?.median;
        let points: Vec<f64> = cooks
            .iter()
            .filter_map(|(own, _)| Some(own.scores.iter().find(|(other, _)| *other == name)?.1))
            .collect();
        let furthest = points.iter().map(|points| (points - median).abs()).fold(0.0, f64::max);
        (!points.is_empty()).then_some((furthest, name, points, median))
    });
    told.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, name, points, median)| (name, points, median))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;
    use study::result::NextStep;
    use study::result::season::{Median, ScoreMedian};

    fn open(kind: NextStepKind, cooks: Option<usize>) -> ClaimResult {
        let next_step = Some(NextStep { kind, cooks });
        ClaimResult { verdict: Verdict::Open, next_step, ..samples::comparison() }
    }

    #[test]
    fn what_would_settle_a_claim_is_said_in_what_to_do() {
        let said = settles(&open(NextStepKind::WriteAnew, Some(111))).unwrap();
        assert_eq!(
            said,
            "Still open after its 40 new cooks. Write it down anew, to be judged on about 111 cooks, or let it go."
        );
        let said = settles(&open(NextStepKind::Randomise, None)).unwrap();
        assert_eq!(
            said,
            "To settle it, flip a coin before each cook and write the side under `arm`."
        );
        let why = why_refused(&open(NextStepKind::Randomise, None));
        assert!(why.starts_with("You chose foil or paper mid-cook"), "{why}");
        assert_eq!(settles(&open(NextStepKind::None, None)), None);
        let waiting = ClaimResult { confirming_cooks: 8, ..open(NextStepKind::Wait, None) };
        assert!(settles(&waiting).unwrap().starts_with("8 of 40 new cooks so far."));
    }

    #[test]
    fn a_verdict_of_new_cooks_stands_beside_that_of_all() {
        let claim = samples::comparison();
        let said = rests_on(&claim, Some("All 60 cooks: open.".into()));
        assert_eq!(said, "Judged on 40 new cooks only. All 60 cooks: open.");
        let seen = ClaimResult { standing: Worth::AfterTheFact, confirming_cooks: 3, ..claim };
        assert!(rests_on(&seen, None).starts_with("From 40 cooks you had already seen."));
    }

    #[test]
    fn a_contest_is_told_by_how_it_ended_and_by_the_score_that_stands_out() {
        let mut cook = CookReport::default();
        cook.measures.end_reason = "out-of-time".into();
        let own = |tenderness: f64| ContestCook {
            scores: vec![("Taste score".into(), 7.0), ("Tenderness score".into(), tenderness)],
            ..ContestCook::default()
        };
        let points = |median: f64| Median { median, min: 1.0, max: 9.0, cooks: 20 };
        let scores = [("score_taste", 6.8), ("score_tenderness", 7.3)];
        let scores = scores
            .map(|(score, median)| ScoreMedian { score: score.into(), points: points(median) });
        let all = Glance { scores: scores.to_vec(), ..glance() };
        let (first, second) = (own(4.1), own(4.7));
        assert_eq!(
            contest_sentence(&[(&first, &cook), (&second, &cook)], Some(&all)).unwrap(),
            "Both cooks ran out of time: tenderness score 4.1 and 4.7 against a median of 7.3."
        );
        cook.measures.end_reason = "tender".into();
        let late = ContestCook { late_min: Some(85.0), ..own(7.3) };
        assert!(
            contest_sentence(&[(&late, &cook)], Some(&all))
                .unwrap()
                .starts_with("The cook pulled late, by up to 85")
        );
        assert_eq!(contest_sentence(&[(&own(7.0), &cook)], Some(&all)), None);
    }

    fn glance() -> Glance {
        Glance {
            season: None,
            cooks: 20,
            fires: 10,
            hours: None,
            fuel_kg: None,
            fuel_fires: 0,
            yield_fraction: None,
            cost_per_served_kg: None,
            scores: Vec::new(),
            late_min: None,
            turn_in_margin_min: None,
            past_turn_in: 0,
        }
    }
}
