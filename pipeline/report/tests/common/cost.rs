//! What faster costs, invented: lots drawn between foil and paper, a pit temperature that goes
//! along, and cooks felt to be tender.

use report::data::{
    CostContrast, CostDifference, CostFinding, CostReport, CostStanding, CostTreatment, Counted,
    Effect, TenderReport, TenderRow,
};
use report::units::{Covariate, Quantity};

fn difference(
    outcome_name: &str,
    outcome: Quantity,
    [estimate, lo, hi]: [f64; 3],
    finding: CostFinding,
) -> CostDifference {
    let effect = Effect {
        estimate,
        lo: Some(lo),
        hi: Some(hi),
        level: 0.95,
        outcome,
        cooks: 40,
        fires: 20,
        ..Effect::default()
    };
    CostDifference {
        outcome_name: outcome_name.into(),
        effect,
        finding,
        p: [0.02, 0.04],
        changing: Some(Vec::new()),
        ..CostDifference::default()
    }
}

fn points() -> Quantity {
    Quantity::Plain { unit: "points", decimals: 1 }
}

/// One treatment of each standing that is shown in its own way.
pub(super) fn cost() -> CostReport {
    let finish = |ends, finding| CostDifference {
        is_time: true,
        less_is_better: true,
        ..difference("Time to finish", Quantity::Minutes, ends, finding)
    };
    let arm = CostContrast {
        levels: Some(("foil-160".into(), "paper-160".into())),
        per: None,
        outcomes: vec![
            finish([-92.0, -120.0, -64.0], CostFinding::Better),
            CostDifference {
                odds_ratio: Some([Some(0.18), Some(0.07), Some(0.44)]),
                good_score: Some((7.0, [Some(-34.0), Some(-51.0), None])),
                mixed: Some(Effect {
                    outcome: points(),
                    ..difference("", points(), [-0.8, -1.1, -0.5], CostFinding::Worse).effect
                }),
                odds_doubted: true,
                changing: Some(vec![vec!["meadow-1".into(), "meadow-2".into()]]),
                ..difference("Bark score", points(), [-0.85, -1.2, -0.5], CostFinding::Worse)
            },
            difference("Taste score", points(), [0.1, -0.3, 0.5], CostFinding::CannotTell),
            CostDifference {
                less_is_better: true,
                p: [0.0004, 0.11],
                ..difference(
                    "Cost of what is served",
                    Quantity::CostPerMass,
                    [-1.2, -2.3, -0.1],
                    CostFinding::PerhapsBetter,
                )
            },
        ],
    };
    let per = Covariate {
        name: "early pit temperature".into(),
        quantity: Quantity::Temperature,
        step: Some(5.0),
    };
    let mut yields = difference(
        "Yield over the raw weight",
        Quantity::Fraction,
        [-0.001, -0.003, -0.0002],
        CostFinding::PerhapsWorse,
    );
    yields.effect.per = Some(per.clone());
    yields.changing = None;
    CostReport {
        treatments: vec![
            CostTreatment {
                id: "arm".into(),
                name: "arm".into(),
                standing: CostStanding::Randomised,
                adjusted_for: vec!["trimmed weight".into(), "early pit temperature".into()],
                levels: vec![
                    Counted { label: "foil-160".into(), count: 20 },
                    Counted { label: "paper-160".into(), count: 20 },
                ],
                contrasts: vec![arm],
                refused: Vec::new(),
                asked: 4,
            },
            CostTreatment {
                id: "pit-early-c".into(),
                name: "early pit temperature".into(),
                contrasts: vec![CostContrast {
                    levels: None,
                    per: Some(per),
                    outcomes: vec![yields],
                }],
                refused: vec![("Bark score".into(), "the outcome is the same in all".into())],
                asked: 1,
                ..CostTreatment::default()
            },
            CostTreatment {
                id: "wood".into(),
                name: "wood".into(),
                refused: vec![("Taste score".into(), "too few cooks".into())],
                ..CostTreatment::default()
            },
        ],
        tender: tender(),
    }
}

fn tender() -> TenderReport {
    let quantiles = |half: f64| {
        [-3.0, 0.0, 3.0]
            .map(|off| [Some(half + off), Some(half + off - 0.8), Some(half + off + 0.9)])
            .to_vec()
    };
    let mut open = quantiles(94.5);
    open[2] = [None, Some(96.0), None];
    TenderReport {
        rows: vec![
            TenderRow {
                label: "All".into(),
                cooks: 38,
                fires: 30,
                tender_at_first: 4,
                never_tender: 3,
                turnbull: open,
                normal: quantiles(94.1),
                reason: None,
            },
            TenderRow {
                label: "Wrap: boat".into(),
                cooks: 4,
                fires: 3,
                reason: Some("too few cooks".into()),
                ..TenderRow::default()
            },
        ],
        steps: vec![
            (None, Some(90.0), 0.1),
            (Some(92.0), Some(92.6), 0.2),
            (Some(94.0), Some(94.4), 0.35),
            (Some(96.5), Some(97.2), 0.25),
            (Some(98.0), None, 0.1),
        ],
        differences: vec![(
            "wrap: foil against none".into(),
            difference(
                "",
                Quantity::TemperatureDifference,
                [1.1, -0.2, 2.4],
                CostFinding::CannotTell,
            )
            .effect,
        )],
        left_out: vec![Counted { label: "no probe test".into(), count: 5 }],
        reason: None,
    }
}
