//! The other levers, invented: one told, one refused.

use report::data::{
    Counted, Effect, HazardRatio, LeverMeasure, LeverReport, LeverStrategiesReport,
};
use report::units::Quantity;

fn effect(estimate: f64, lo: f64, hi: f64, outcome: Quantity) -> Effect {
    let (lo, hi) = (Some(lo), Some(hi));
    Effect { estimate, lo, hi, level: 0.95, outcome, per: None, cooks: 58, fires: 41 }
}

/// A raised set-point that brings the finish nearer, and a spray of which too few are noted.
pub(super) fn levers() -> Vec<LeverReport> {
    let left_out = vec![Counted { label: "no weight".into(), count: 2 }];
    let raised = LeverReport {
        name: "Raising the set-point".into(),
        dose: "a raised set-point".into(),
        cooks: 60,
        fires: 42,
        left_out: left_out.clone(),
        cooks_with: 24,
        doses: 24.0,
        per_cook: Some([1.0; 3]),
        minute: Some([80.0, 120.0, 190.0]),
        core_c: Some([66.0, 68.5, 72.0]),
        in_stall: Some([0.7, 0.4]),
        effect: Some(effect(-31.0, -52.0, -10.0, Quantity::Minutes)),
        reason: None,
        naive_min: Some(14.0),
        half_hour: Some(effect(0.5, 0.1, 0.9, Quantity::TemperatureDifference)),
        hazard_ratio: Some(HazardRatio {
            term: "a raised set-point".into(),
            ratio: 1.3,
            lo: 0.8,
            hi: 2.1,
        }),
        strategies: Some(LeverStrategiesReport {
            strategies: ["raised within 60 min of 68 °C".into(), "never raised".into()],
            effect: effect(-28.0, -60.0, 4.0, Quantity::Minutes),
            horizon_min: 310.0,
            stayed: [(21, 15.0), (36, 33.0)],
            naive_min: Some(9.0),
        }),
        strategies_reason: None,
        described: vec![LeverMeasure {
            name: "Pit unsteadiness".into(),
            quantity: Quantity::TemperatureDifference,
            with: Some((7.0, 24)),
            without: Some((4.0, 36)),
        }],
        ..LeverReport::default()
    };
    let spray = LeverReport {
        name: "Spraying".into(),
        dose: "a spray".into(),
        cooks: 60,
        fires: 42,
        left_out,
        cooks_with: 3,
        doses: 7.0,
        per_cook: Some([2.0, 2.0, 3.0]),
        minute: Some([30.0, 60.0, 90.0]),
        core_c: Some([58.0, 62.0, 66.0]),
        in_stall: Some([0.6, 0.4]),
        reason: Some("3 cooks with it seen to the end, 20 are needed: 17 more are missing".into()),
        naive_min: Some(8.0),
        pit_fall_c: Some([8.0, 12.0, 17.0]),
        pit_back_min: Some([3.0, 4.0, 6.0]),
        ..LeverReport::default()
    };
    vec![raised, spray]
}
