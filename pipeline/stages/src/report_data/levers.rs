//! The levers beside the wrap, as the report shows them.

use report::data::{
    Counted, Effect, HazardRatio, LeverMeasure, LeverReport, LeverStrategiesReport,
};
use report::names::{name_of, quantity_of};
use report::units::Quantity;
use study::result::StudyResult;
use study::result::lever::{Lever, LeverEffect, LeverKind, LeverStrategies, Quartiles};

/// The term of the Cox model that the doses are.
const DOSES: &str = "doses_so_far";

/// What is done, and one dose of it.
fn words(kind: LeverKind) -> (&'static str, &'static str) {
    match kind {
        LeverKind::SetpointRaised => ("Raising the set-point", "a raised set-point"),
        LeverKind::Spritz => ("Spraying", "a spray"),
        LeverKind::LidOpened => ("Opening the lid", "an opened lid"),
        LeverKind::LidMinutes => ("Minutes of open lid, as noted", "a minute of open lid"),
    }
}

pub(super) fn levers(found: &StudyResult) -> Vec<LeverReport> {
    found.levers.iter().map(lever).collect()
}

fn of(quartiles: Option<Quartiles>) -> Option<[f64; 3]> {
    quartiles.map(|q| [q.lower, q.median, q.upper])
}

fn lever(found: &Lever) -> LeverReport {
    let (name, dose) = words(found.lever);
    let effect = |effect: &LeverEffect, outcome: Quantity| Effect {
        estimate: effect.estimate,
        lo: Some(effect.lo),
        hi: Some(effect.hi),
        level: effect.level,
        outcome,
        per: None,
        cooks: effect.cooks,
        fires: effect.fires,
    };
    let cox = found.models.iter().find(|model| model.name == "cox");
    let doses_so_far = cox.and_then(|cox| cox.terms.iter().find(|term| term.term == DOSES));
    let hazard_ratio = doses_so_far.and_then(|term| {
        Some(HazardRatio {
            term: dose.to_owned(),
            ratio: term.estimate?.exp(),
            lo: term.lo?.exp(),
            hi: term.hi?.exp(),
        })
    });
    let used = &found.used;
    LeverReport {
        name: name.into(),
        dose: dose.into(),
        cooks: found.n,
        fires: found.fires,
        left_out: found
            .left_out
            .iter()
            .map(|left| Counted { label: left.reason.clone(), count: left.cooks })
            .collect(),
        cooks_with: used.cooks_with,
        doses: used.doses,
        per_cook: of(used.per_cook),
        minute: of(used.minute),
        core_c: of(used.core_c),
        in_stall: used.in_stall.zip(used.in_stall_at_all).map(|(then, ever)| [then, ever]),
        effect: found.per_dose_min.as_ref().map(|e| effect(e, Quantity::Minutes)),
        reason: found.per_dose_reason.clone(),
        naive_min: found.naive_min,
        half_hour: found.half_hour_c.as_ref().map(|e| effect(e, Quantity::TemperatureDifference)),
        hazard_ratio,
        strategies: found
            .strategies
            .as_ref()
            .map(|found_strategies| strategies(found_strategies, found.fires)),
        strategies_reason: found.strategies_reason.clone(),
        described: found.described.iter().map(measure).collect(),
        pit_fall_c: of(found.pit_fall_c),
        pit_back_min: of(found.pit_back_min),
        notes: found.notes.clone(),
    }
}

fn strategies(found: &LeverStrategies, fires: usize) -> LeverStrategiesReport {
    LeverStrategiesReport {
        strategies: found.strategies.clone(),
        effect: Effect {
            estimate: found.difference_min,
            lo: Some(found.lo),
            hi: Some(found.hi),
            level: 0.95,
            outcome: Quantity::Minutes,
            per: None,
            cooks: found.eligible,
            fires,
        },
        horizon_min: found.horizon_min,
        stayed: [0, 1].map(|arm| (found.stayed[arm], found.effective[arm])),
        naive_min: found.naive_min,
    }
}

fn measure(found: &study::result::lever::WithAndWithout) -> LeverMeasure {
    let (name, quantity) = (name_of(&found.measure), quantity_of(&found.measure));
    let of = |quartiles: Option<Quartiles>| quartiles.map(|q| (q.median, q.n));
    LeverMeasure { name, quantity, with: of(found.with), without: of(found.without) }
}
