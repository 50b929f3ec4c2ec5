//! Fires: decisions, counterfactuals, several cooks, and errors.

use cook::{Celsius, EventKind, Kilograms, PhaseKind, WrapMethod};
use simulate::decision::WrapStep;
use simulate::{CookPlan, Meat, Pit, PitChange, SimulateError, Trigger, run_fire};

fn plan(pounds: f64) -> CookPlan {
    CookPlan::unwrapped(Meat::brisket(Kilograms::from_pounds(pounds)), 3_600)
}

#[test]
fn one_fire_under_two_decisions_is_one_until_they_differ() {
    let pit = Pit::steady(Celsius(121.0));
    let bare = run_fire(&pit, &[plan(11.0)], 9).unwrap();
    let wrapped = plan(11.0).wrapped(WrapMethod::Foil, Trigger::Elapsed(300.0));
    let foil = run_fire(&pit, &[wrapped], 9).unwrap();
    let until = ((3_600 + 300 * 60) / simulate::GRID_STEP_S) as usize;
    assert_eq!(bare.pit_c[..until], foil.pit_c[..until]);
    assert_eq!(bare.cooks[0].core_c[..until], foil.cooks[0].core_c[..until]);
    assert!(foil.cooks[0].pull_s < bare.cooks[0].pull_s);
    // The lid of the wrap is forgotten two hours later: the same wander goes on.
    assert!((bare.pit_c[until + 720] - foil.pit_c[until + 720]).abs() < 0.05);
}

#[test]
fn the_same_seed_gives_the_same_cook_and_another_gives_another() {
    let pit = Pit::steady(Celsius(121.0));
    let run = |seed| run_fire(&pit, &[plan(9.0)], seed).unwrap();
    assert_eq!(run(1).pit_c, run(1).pit_c);
    assert_ne!(run(1).pit_c, run(2).pit_c);
}

#[test]
fn wraps_may_repeat_and_be_taken_off() {
    let mut unwrapped_again = plan(10.0).wrapped(WrapMethod::Foil, Trigger::Elapsed(240.0));
    unwrapped_again.wraps.push(WrapStep {
        when: vec![Trigger::Elapsed(300.0)],
        delay_min: 10.0,
        method: WrapMethod::None,
    });
    let fire = run_fire(&Pit::steady(Celsius(121.0)), &[unwrapped_again], 3).unwrap();
    let cook = &fire.cooks[0];
    assert_eq!(cook.wraps[0], (3_600 + 240 * 60, WrapMethod::Foil));
    assert_eq!(cook.wraps[1], (3_600 + 310 * 60, WrapMethod::None));
    let kinds: Vec<EventKind> = cook.events.iter().map(|event| event.kind).collect();
    assert!(kinds.contains(&EventKind::Unwrap));
    assert_eq!(kinds.first(), Some(&EventKind::MeatOn));
    assert_eq!(kinds.last(), Some(&EventKind::Slice));
}

#[test]
fn two_cooks_share_a_fire_and_curves_end_at_their_slices() {
    let mut later = plan(8.0);
    later.meat_on_s = 7_200;
    let fire = run_fire(&Pit::steady(Celsius(121.0)), &[plan(12.0), later], 5).unwrap();
    for cook in &fire.cooks {
        assert_eq!(cook.core_c.len() as i64, cook.slice_s / simulate::GRID_STEP_S + 1);
        let spans = &cook.judgement.phases;
        assert_eq!(spans[0].start_ms, cook.meat_on_s * 1_000);
        assert_eq!(spans[spans.len() - 1].end_ms, cook.slice_s * 1_000);
        assert!(spans.windows(2).all(|pair| pair[0].end_ms == pair[1].start_ms));
        assert!(cook.judgement.phases_of(PhaseKind::Stall).count() >= 1);
    }
    assert_eq!(fire.cooks[1].core_c[719], 5.0);
    let last = fire.cooks.iter().map(|cook| cook.slice_s).max().unwrap();
    assert_eq!(fire.pit_c.len() as i64, last / simulate::GRID_STEP_S + 1);
}

#[test]
fn a_fire_that_goes_out_costs_time() {
    let out = PitChange::Out { from_s: 18_000, until_s: 25_200 };
    let steady = Pit::steady(Celsius(121.0));
    let broken = Pit { changes: vec![out], ..steady.clone() };
    let hours = |pit: &Pit| run_fire(pit, &[plan(9.0)], 2).unwrap().cooks[0].hours();
    assert!(hours(&broken) > hours(&steady) + 0.5);
}

#[test]
fn in_thin_air_the_wet_surface_runs_cooler() {
    // Mass transfer goes with one over the pressure (Chilton-Colburn analogy).
    let low = Pit::steady(Celsius(121.0));
    let high = Pit { altitude: cook::Metres(2_500.0), ..low.clone() };
    let surface = |pit: &Pit| run_fire(pit, &[plan(12.0)], 2).unwrap().cooks[0].surface_c[4 * 360];
    let difference = surface(&low) - surface(&high);
    assert!((1.0..8.0).contains(&difference), "{difference}");
}

#[test]
fn nonsense_is_an_error() {
    let pit = Pit::steady(Celsius(121.0));
    assert_eq!(run_fire(&pit, &[], 1).unwrap_err(), SimulateError::NoCook);
    let mut endless = plan(9.0);
    endless.pull.clear();
    assert!(matches!(
        run_fire(&pit, &[endless], 1).unwrap_err(),
        SimulateError::NeverPulled { cook: 0, .. }
    ));
    let cold = Pit::steady(Celsius(f64::NAN));
    assert!(run_fire(&cold, &[plan(9.0)], 1).unwrap_err().to_string().contains("pit.setpoint"));
}
