//! Properties of the definition on curves of any shape.

use cook::{PhaseDefinition, PhaseKind};
use phases::{BorrowedReference, CookBounds, GridCurves, Judgement, judge};
use proptest::prelude::*;

const STEP_MS: i64 = 60_000;

/// A core and a pit that wander, with unobserved samples here and there.
fn curves() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    let steps = prop::collection::vec((-0.3_f64..0.9, -6.0_f64..6.0, 0_u8..40), 5..900);
    (-5.0_f64..60.0, 80.0_f64..160.0, steps).prop_map(|(core_start, pit_start, steps)| {
        let (mut core, mut pit) = (core_start, pit_start);
        steps
            .into_iter()
            .map(|(rise, flicker, gap)| {
                core = (core + rise).min(100.0);
                pit = (pit + flicker).clamp(20.0, 250.0);
                (if gap == 0 { f64::NAN } else { core }, if gap == 1 { f64::NAN } else { pit })
            })
            .unzip()
    })
}

fn bounds() -> impl Strategy<Value = CookBounds> {
    (-40_i64..200, 1_i64..800, 0_i64..200, any::<bool>(), any::<bool>()).prop_map(
        |(meat_on, cook, rest, pull_known, slice_known)| CookBounds {
            meat_on_known: true,
            meat_on_ms: meat_on * STEP_MS,
            pull_ms: (meat_on + cook) * STEP_MS + 7,
            end_ms: (meat_on + cook + rest) * STEP_MS + 7,
            pull_known,
            slice_known,
        },
    )
}

fn judged(start_ms: i64, core_c: &[f64], pit_c: &[f64], bounds: &CookBounds) -> Judgement {
    let definition =
        PhaseDefinition { grid_step_s: STEP_MS as f64 / 1000.0, ..PhaseDefinition::default() };
    let borrowed = BorrowedReference { median_per_h: 0.17, spread_log: 0.1, cooks: 5 };
    let grid = GridCurves { start_ms, step_ms: STEP_MS, core_c, pit_c };
    judge(&grid, bounds, &definition, Some(&borrowed))
}

proptest! {
    #[test]
    fn phases_cover_the_cook_without_gap_or_overlap((core, pit) in curves(), bounds in bounds()) {
        let judgement = judged(0, &core, &pit, &bounds);
        let phases = &judgement.phases;
        prop_assert_eq!(phases.first().map(|span| span.start_ms), Some(bounds.meat_on_ms));
        prop_assert_eq!(phases.last().map(|span| span.end_ms), Some(bounds.end_ms));
        for pair in phases.windows(2) {
            prop_assert_eq!(pair[0].end_ms, pair[1].start_ms);
        }
        prop_assert!(phases.iter().all(|span| span.start_ms < span.end_ms));
        let pushes_follow_stalls = phases.windows(2).all(|pair| {
            pair[1].kind != PhaseKind::Push || pair[0].kind == PhaseKind::Stall
        });
        prop_assert!(pushes_follow_stalls);
        prop_assert_eq!(judgement.stall_min.is_none(), judgement.not_judged.is_some());
        if let Some(stall_min) = judgement.stall_min {
            let stalls = phases.iter().filter(|span| span.kind == PhaseKind::Stall);
            let sum: f64 = stalls.map(cook::PhaseSpan::minutes).sum();
            prop_assert!((sum - stall_min).abs() < 1e-9);
        }
    }

    #[test]
    fn a_shift_of_all_instants_shifts_the_phases_and_nothing_else(
        (core, pit) in curves(),
        bounds in bounds(),
        shift in -4_000_000_000_000_i64..4_000_000_000_000,
    ) {
        let here = judged(0, &core, &pit, &bounds);
        let moved = CookBounds { meat_on_known: true,
            meat_on_ms: bounds.meat_on_ms + shift,
            pull_ms: bounds.pull_ms + shift,
            end_ms: bounds.end_ms + shift,
            ..bounds
        };
        let there = judged(shift, &core, &pit, &moved);
        prop_assert_eq!(here.reference, there.reference);
        prop_assert_eq!(here.stall_min, there.stall_min);
        prop_assert_eq!(here.phases.len(), there.phases.len());
        for (a, b) in here.phases.iter().zip(&there.phases) {
            prop_assert_eq!((a.kind, a.start_ms + shift, a.end_ms + shift), (b.kind, b.start_ms, b.end_ms));
        }
    }

    /// Every constant of the definition is a temperature difference, a temperature or a time:
    /// curves and constants raised together by the same amount give the same answer.
    #[test]
    fn only_differences_and_stated_temperatures_count(
        (core, pit) in curves(),
        bounds in bounds(),
    ) {
        let definition =
            PhaseDefinition { grid_step_s: STEP_MS as f64 / 1000.0, ..PhaseDefinition::default() };
        // A power of two keeps sums of such numbers exact enough for equal decisions.
        let raise = 64.0;
        let raised = PhaseDefinition {
            reference_from_c: definition.reference_from_c + raise,
            reference_to_c: definition.reference_to_c + raise,
            reference_first_sample_below_c: definition.reference_first_sample_below_c + raise,
            stall_from_c: definition.stall_from_c + raise,
            stall_until_c: definition.stall_until_c + raise,
            ..definition
        };
        let up = |values: &[f64]| values.iter().map(|value| value + raise).collect::<Vec<f64>>();
        let at = |core_c: &[f64], pit_c: &[f64], definition: &PhaseDefinition| {
            judge(&GridCurves { start_ms: 0, step_ms: STEP_MS, core_c, pit_c }, &bounds, definition, None)
        };
        let low = at(&core, &pit, &definition);
        let high = at(&up(&core), &up(&pit), &raised);
        prop_assert_eq!(low.not_judged, high.not_judged);
        if let (Some(a), Some(b)) = (low.reference, high.reference) {
            prop_assert!((a.k_per_h / b.k_per_h - 1.0).abs() < 1e-9);
        }
    }
}
