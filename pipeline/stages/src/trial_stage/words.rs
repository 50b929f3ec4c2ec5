//! What is said of trials, and their rows.

use columns::names;
use cook::{Card, Units};
use outlook::trial::{Offer, Rehearsal, Variation};
use std::path::Path;
use store::Table;
use study::lock::{LockedTrial, Lot, TrialKind};
use study::result::Effect;
use study::result::trial::{LotState, TrialResult, TrialState};
use study::{Claim, ClaimKind};

/// `pairs` or `blocks of four`, one or several.
pub(super) fn units_of(kind: TrialKind, count: usize) -> &'static str {
    match (kind, count) {
        (TrialKind::Pairs, 1) => "pair",
        (TrialKind::Pairs, _) => "pairs",
        (TrialKind::Blocks, 1) => "block of four",
        (TrialKind::Blocks, _) => "blocks of four",
    }
}

fn size(outcome: &str, value: f64, units: Units) -> String {
    let quantity = names::quantity(outcome);
    let shown = quantity.difference(value.abs(), units);
    let decimals = usize::from(shown < 10.0);
    let unit = quantity.unit(units);
    if unit.is_empty() {
        format!("{shown:.decimals$}")
    } else {
        format!("{shown:.decimals$} {unit}")
    }
}

/// How many fires and cooks, paired and single beside each other.
pub(super) fn offered(
    claim: &Claim,
    variation: &Variation,
    (pairs, single): (Option<&Offer>, Option<&Offer>),
    units: Units,
) -> Vec<String> {
    let of = |offer: Option<&Offer>, what: &str, alone: &dyn Fn(&Offer) -> usize| {
        offer.map_or_else(
            || format!("more {what} than anybody cooks"),
            |offer| format!("{} {what}", alone(offer)),
        )
    };
    let outcome = &claim.outcome;
    let mut lines = vec![format!(
        "{} with two meats, or {}: four times in five that tells a difference of {} in {} from none, and says yes to one twice as large.",
        of(pairs, "fires", &Offer::fires),
        of(single, "single cooks", &Offer::cooks),
        size(outcome, claim.matters, units),
        names::label_within(outcome)
    )];
    lines.push(if variation.is_assumed {
        format!(
            "Your {} cooks scatter by {}; too few of your fires had two meats to see how much of that lies within a fire, and half of the variance is taken to.",
            variation.cooks,
            size(outcome, variation.total_sd, units)
        )
    } else {
        format!(
            "Your {} cooks scatter by {}, the meats of one fire by {} ({} fires of two or more).",
            variation.cooks,
            size(outcome, variation.total_sd, units),
            size(outcome, variation.within_sd, units),
            variation.fires_of_two
        )
    });
    lines.extend(pairs.map(|offer| effort("With two meats on a fire", offer, variation, units)));
    lines.extend(single.map(|offer| effort("As single cooks", offer, variation, units)));
    if claim.kind == ClaimKind::WrapTiming {
        lines.push(
            "Two meats of one fire share lid and air: the trial answers for a mixed fire, in which opening the lid for one cools the other too."
                .into(),
        );
    }
    lines
}

fn effort(how: &str, offer: &Offer, variation: &Variation, units: Units) -> String {
    let mut said = format!("{how}: {} cooks", offer.cooks());
    if let Some(minutes) = variation.minutes {
        said += &format!(", about {:.0} hours of fire", offer.fires() as f64 * minutes / 60.0);
    }
    if let Some(kg) = variation.kg {
        let meat = columns::Quantity::Mass.show(offer.cooks() as f64 * kg, units);
        said += &format!(", {meat} of meat");
    }
    said + "."
}

/// What could come out.
pub(super) fn rehearsed(
    offer: &Offer,
    all: &[Rehearsal],
    claim: &Claim,
    units: Units,
) -> Vec<String> {
    let what = units_of(offer.kind, 2);
    all.iter()
        .map(|own| {
            let truth = if own.truth == 0.0 {
                "no true difference".to_owned()
            } else {
                format!(
                    "a true difference of {}",
                    size(&claim.outcome, own.truth * claim.matters, units)
                )
            };
            format!(
                "Of 100 such trials with {truth}: {:.0} say yes, {:.0} too small to matter, {:.0} no, {:.0} stay open; {:.1} of {} {what} are cooked on average.",
                own.yes, own.too_small, own.no, own.open, own.units, offer.planned
            )
        })
        .collect()
}

/// The ways to do it, one row each.
pub(super) fn offers(
    variation: Option<&Variation>,
    pairs: Option<&Offer>,
    single: Option<&Offer>,
) -> Table {
    let all: Vec<&Offer> = [pairs, single].into_iter().flatten().collect();
    let whole = |value: usize| i64::try_from(value).ok();
    let mut table = Table::new();
    let kind = |offer: &&Offer| Some(offer.kind.as_str().to_owned());
    let minutes = variation.and_then(|variation| variation.minutes);
    let kg = variation.and_then(|variation| variation.kg);
    table.push("design", all.iter().map(kind).collect());
    table.push("fires", all.iter().map(|offer| whole(offer.fires())).collect());
    table.push("cooks", all.iter().map(|offer| whole(offer.cooks())).collect());
    let fire_min = |offer: &&Offer| minutes.map(|minutes| minutes * offer.fires() as f64);
    table.push("fire_min", all.iter().map(fire_min).collect());
    table.push("meat_kg", all.iter().map(|o| kg.map(|kg| kg * o.cooks() as f64)).collect());
    table.push("power_fraction", all.iter().map(|offer| Some(offer.power)).collect());
    table
}

/// What was fixed.
pub(super) fn begun(trial: &LockedTrial, lock: &Path, key: &Path) -> Vec<String> {
    let design = &trial.design;
    let looks: Vec<String> = design.looks.iter().map(usize::to_string).collect();
    vec![
        format!(
            "Begun: `{}` against `{}`, {} {}, looked at after {}.",
            design.arms[0],
            design.arms[1],
            design.planned,
            units_of(design.kind, design.planned),
            looks.join(", ")
        ),
        format!(
            "Design, looks and rules stand in {}; the lots come from {}, which stays with the season and is shown to nobody. \
             What is redrawn, edited or deleted here shows. What is drawn in a copy of the folder does not: draw in one place.",
            lock.display(),
            key.display()
        ),
        match design.kind {
            TrialKind::Pairs => {
                "Before each fire, with both meats trimmed and weighed: cookstudy trial next COOK COOK".into()
            }
            TrialKind::Blocks => {
                "Before each fire, with the meat trimmed and weighed: cookstudy trial next COOK".into()
            }
        },
    ]
}

/// The lots, one row each.
pub(super) fn lot_rows(lots: &[&Lot]) -> Table {
    let mut table = Table::new();
    table.push("number", lots.iter().map(|lot| i64::try_from(lot.number).ok()).collect());
    table.push("cook", lots.iter().map(|lot| Some(lot.cook.clone())).collect());
    table.push("arm", lots.iter().map(|lot| Some(lot.arm.clone())).collect());
    table.push("block", lots.iter().map(|lot| Some(lot.block.clone())).collect());
    table.push("pit_position", lots.iter().map(|lot| lot.position.clone()).collect());
    table.push("code", lots.iter().map(|lot| Some(lot.code.clone())).collect());
    table
}

/// A trial of which the key's file knows lots, and the lock nothing.
pub(super) fn forgotten(id: &str, begun_at: &str) -> String {
    format!(
        "trial.key: lots of a trial of `{id}`, begun at {begun_at}, were drawn, but claims.lock knows none; put claims.lock back as it was"
    )
}

/// Lots from before that no sheet has cooked yet.
pub(super) fn open_lots(trial: &LockedTrial, before: usize, cards: &[Card]) -> Option<String> {
    let is_cooked = |lot: &&Lot| {
        cards.iter().any(|card| card.cook == lot.cook && card.marks.meat_on_ms.is_some())
    };
    let open: Vec<&str> = trial.lots[..before]
        .iter()
        .filter(|lot| !is_cooked(lot))
        .map(|lot| lot.cook.as_str())
        .collect();
    (!open.is_empty()).then(|| {
        format!(
            "Drawn before and not cooked yet, as far as the last `run` knows: {}. They stay counted; with more than one in five lost the trial decides nothing.",
            open.join(", ")
        )
    })
}

/// One row a trial.
pub(super) fn rows(trials: &[TrialResult]) -> Table {
    let mut table = Table::new();
    let word = |value: serde_json::Result<serde_json::Value>| {
        value.ok().and_then(|value| value.as_str().map(str::to_owned))
    };
    let whole = |value: usize| i64::try_from(value).ok();
    let end = |own: &TrialResult, of: fn(&Effect) -> Option<f64>| own.effect.as_ref().and_then(of);
    table.push("trial", trials.iter().map(|own| Some(own.id.clone())).collect());
    table.push("state", trials.iter().map(|own| word(serde_json::to_value(own.state))).collect());
    table.push(
        "verdict",
        trials.iter().map(|own| word(serde_json::to_value(own.verdict))).collect(),
    );
    table.push("complete", trials.iter().map(|own| whole(own.complete)).collect());
    table.push("planned", trials.iter().map(|own| whole(own.planned)).collect());
    table.push("next_look_at", trials.iter().map(|own| own.next_look_at.and_then(whole)).collect());
    table.push("outcome", trials.iter().map(|own| Some(own.outcome.clone())).collect());
    table.push("estimate", trials.iter().map(|own| end(own, |e| Some(e.estimate))).collect());
    table.push("lo", trials.iter().map(|own| end(own, |effect| effect.lo)).collect());
    table.push("hi", trials.iter().map(|own| end(own, |effect| effect.hi)).collect());
    table
}

/// What a trial says, line by line.
pub(super) fn told(trial: &TrialResult, units: Units) -> Vec<String> {
    let mut lines = vec![format!("{}: {}", trial.id, state(trial))];
    if let Some(effect) = &trial.effect {
        lines.push(format!("As drawn: {}.", difference(trial, effect, units)));
    }
    if let Some(effect) = trial.as_done.as_ref().filter(|_| !trial.notes.is_empty()) {
        lines.push(format!("As done: {}.", difference(trial, effect, units)));
    }
    let waiting = trial.lots.iter().filter(|lot| lot.state == LotState::Waiting).count();
    let lost = trial.lots.iter().filter(|lot| lot.state == LotState::Lost).count();
    lines.push(format!(
        "{} lots drawn, {waiting} of them still to be cooked, {lost} lost.",
        trial.lots.len()
    ));
    lines.extend(trial.notes.iter().map(|note| format!("{note}.")));
    lines
}

fn state(trial: &TrialResult) -> String {
    if let Some(reason) = &trial.reason {
        return format!("decides nothing: {reason}.");
    }
    let said = trial.verdict.heading().to_lowercase();
    let kind = |count: usize| units_of(trial.kind, count);
    let looked = trial.looks.last().map_or(trial.complete, |look| look.units);
    match trial.state {
        TrialState::Stopped => format!("stopped early after {looked} {}: {said}.", kind(looked)),
        TrialState::Finished => format!("finished after {looked} {}: {said}.", kind(looked)),
        TrialState::Running => {
            let next = trial.next_look_at.unwrap_or(trial.planned);
            let further = trial.still_needed.unwrap_or(0);
            format!(
                "goes on: {} of {} {} complete; the next look is after {next}, {further} more to the last. Nothing is told before.",
                trial.complete,
                trial.planned,
                kind(2)
            )
        }
    }
}

fn difference(trial: &TrialResult, effect: &Effect, units: Units) -> String {
    let quantity = names::quantity(&trial.outcome);
    let shown = |value: f64| format!("{:+.1}", quantity.difference(value, units));
    let end = |end: Option<f64>, open: &str| end.map_or_else(|| open.to_owned(), shown);
    let unit = quantity.unit(units);
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    format!(
        "`{}` less `{}` is {}{unit} ({} to {}, {:.1} % interval)",
        trial.arms[0],
        trial.arms[1],
        shown(effect.estimate),
        end(effect.lo, "open"),
        end(effect.hi, "open"),
        100.0 * effect.level
    )
}
