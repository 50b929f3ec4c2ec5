//! The season as a whole, invented: a glance, a control chart with a shift, two curves by wrap,
//! two seasons compared.

use report::data::{
    ChartPoint, ChartShift, ComparisonRow, Comparisons, ControlChart, FinishByWrap, FinishCurve,
    Told,
};
use report::units::Quantity;
use study::result::season::{Glance, Median, ScoreMedian};

/// One season of three cooks.
pub(super) fn glance() -> Glance {
    let range = |median: f64, min: f64, max: f64| Median { median, min, max, cooks: 2 };
    Glance {
        season: Some("2026".into()),
        cooks: 3,
        fires: 2,
        hours: Some(27.0),
        fuel_kg: Some(14.0),
        fuel_fires: 2,
        yield_fraction: Some(range(0.6, 0.58, 0.61)),
        cost_per_served_kg: Some(range(20.0, 18.0, 22.0)),
        scores: vec![ScoreMedian { score: "score_taste".into(), points: range(7.0, 6.5, 7.5) }],
        late_min: Some(range(5.0, -20.0, 30.0)),
        turn_in_margin_min: None,
        past_turn_in: 0,
    }
}

/// Twelve fires: the pit is less steady from the seventh on, and wildly so at the tenth.
pub(super) fn chart() -> ControlChart {
    let value = |i: usize| {
        if i == 9 {
            14.0
        } else if i < 6 {
            3.0
        } else {
            6.0
        }
    };
    ControlChart {
        id: "pit-sd-c".into(),
        name: "Pit unsteadiness".into(),
        quantity: Quantity::TemperatureDifference,
        centre: 5.2,
        lower: -0.4,
        upper: 10.8,
        points: (0..12)
            .map(|i| ChartPoint {
                cook: format!("meadow-{}", i % 3 + 1),
                day: format!("2026-{:02}-01", i + 1),
                value: value(i),
                outside: i == 9,
            })
            .collect(),
        shifts: vec![ChartShift {
            at: 6,
            day: "2026-07-01".into(),
            before: 3.0,
            after: 7.3,
            p: 0.0005,
        }],
    }
}

/// Two wraps of five cooks each; fewer than half of the second finish.
pub(super) fn finish_by_wrap() -> FinishByWrap {
    let curve = |wrap: &str, steps: Vec<(f64, f64, bool)>, median: Option<f64>| FinishCurve {
        wrap: wrap.into(),
        cooks: 5,
        finished: 4,
        median_min: [median, median.map(|m| m - 40.0), None],
        at_risk: vec![5, 4, 2],
        steps,
    };
    FinishByWrap {
        risk_at_min: vec![0.0, 120.0, 240.0],
        level: 0.95,
        too_few: 1,
        curves: vec![
            curve(
                "foil",
                vec![(100.0, 0.8, false), (200.0, 0.4, false), (260.0, 0.4, true)],
                Some(200.0),
            ),
            curve("none", vec![(150.0, 0.8, false), (250.0, 0.6, false), (300.0, 0.6, true)], None),
        ],
    }
}

/// Two seasons: one difference told, one not estimated.
pub(super) fn comparisons() -> Comparisons {
    let row = |outcome: &str,
               quantity,
               told,
               adjusted: Option<[Option<f64>; 3]>,
               reason: Option<&str>| ComparisonRow {
        outcome: outcome.into(),
        quantity,
        first: "2026".into(),
        second: Some("2025".into()),
        cooks: [14, 12],
        censored: 1,
        plain: adjusted.map(|_| [Some(31.0), Some(4.0), Some(58.0)]),
        adjusted,
        adjusted_for: vec!["trimmed weight".into(), "pit".into()],
        p_adjusted: adjusted.map(|_| 0.0123),
        told,
        reason: reason.map(str::to_owned),
    };
    let delay = Some([Some(22.0), Some(8.0), Some(36.0)]);
    let few = "2025 has values from 2 fires, 3 are needed";
    Comparisons {
        by: "season".into(),
        level: 0.95,
        family: 1,
        rows: vec![
            row("Stall delay", Quantity::Minutes, Told::More, delay, None),
            row("Yield", Quantity::Fraction, Told::CannotBeTold, None, Some(few)),
        ],
    }
}
