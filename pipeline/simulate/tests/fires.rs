//! Fires: decisions, counterfactuals, several cooks, and errors.

use cook::{Celsius, CelsiusDifference, EventKind, Kilograms, PhaseKind, WrapMethod};
use proptest::prelude::*;
use simulate::{
    BumpStep, BumpWhen, CookPlan, LatentHeat, Meat, Pit, PitChange, SetpointRule, SimulateError,
    Strategy, Trigger, WrapStep, run_fire,
};

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
fn while_liquid_is_there_no_surface_is_hotter_than_boiling_water() {
    // Boiling points of IAPWS-95 at the US standard atmosphere's pressure: 99.974 °C at sea
    // level, 91.648 °C at 2 500 m (tests/reference/physics/boiling_altitude.csv).
    for (metres, boiling) in [(0.0, 99.974), (2_500.0, 91.648)] {
        for celsius in [110.0, 149.0, 165.0] {
            let pit = Pit { altitude: cook::Metres(metres), ..Pit::steady(Celsius(celsius)) };
            for method in [WrapMethod::None, WrapMethod::Paper, WrapMethod::Boat, WrapMethod::Foil]
            {
                let foil = method == WrapMethod::Foil;
                // High up a wet core nears the boiling point and no more: pulled on time.
                let mut plan = plan(11.0).wrapped(method, Trigger::Elapsed(200.0));
                plan.pull = vec![Trigger::Core(Celsius(88.5)), Trigger::Elapsed(1_300.0)];
                let cook = &run_fire(&pit, &[plan], 2).unwrap().cooks[0];
                let until = cook.dry_from_s.unwrap_or(cook.pull_s).min(cook.pull_s);
                let wet = &cook.surface_c[..(until / simulate::GRID_STEP_S) as usize];
                let hottest = wet.iter().copied().fold(f64::MIN, f64::max);
                // The pressure formula's last digits are worth some thousandths of a kelvin.
                assert!(hottest <= boiling + 0.01, "{metres} m, {celsius} °C: {hottest}");
                if foil {
                    assert!(cook.dry_from_s.is_none_or(|dry| dry > cook.pull_s - 1_800));
                    assert!(celsius < 120.0 || hottest > boiling - 1.0, "{hottest}");
                }
            }
        }
    }
}

#[test]
fn unwrapping_lets_it_dry_again_and_takes_the_juice_along() {
    let foil = plan(12.0).wrapped(WrapMethod::Foil, Trigger::Elapsed(240.0));
    let mut opened = foil.clone();
    opened.wraps.push(WrapStep {
        when: vec![Trigger::Elapsed(360.0)],
        delay_min: 0.0,
        method: WrapMethod::None,
    });
    let pit = Pit::steady(Celsius(121.0));
    let run = |plan| run_fire(&pit, &[plan], 3).unwrap().cooks.remove(0);
    let (foil, opened) = (run(foil), run(opened));
    let at = |cook: &simulate::CookTruth, minutes: i64| {
        cook.surface_c[((3_600 + minutes * 60) / simulate::GRID_STEP_S) as usize]
    };
    assert_eq!(at(&foil, 355), at(&opened, 355));
    assert!(at(&opened, 390) < at(&foil, 390) - 8.0);
    assert!(opened.pull_s > foil.pull_s && opened.evaporated_kg > foil.evaporated_kg + 0.1);
}

#[test]
fn latent_heat_of_fat_and_protein_costs_minutes_not_hours() {
    let pit = Pit::steady(Celsius(121.0));
    let minutes = |latent_heat| {
        let mut plan = plan(12.0);
        plan.meat.latent_heat = latent_heat;
        let marks = simulate::run_marks(&pit, &[plan], 2).unwrap().remove(0);
        (marks.finish_s.unwrap() - marks.meat_on_s) as f64 / 60.0
    };
    let (without, with) = (minutes(LatentHeat::NONE), minutes(LatentHeat::ALL));
    assert!((5.0..60.0).contains(&(with - without)), "{with} {without}");
}

#[test]
fn a_bump_is_asked_for_by_time_core_or_with_the_wrap_and_the_highest_wins() {
    let pit = Pit::steady(Celsius(121.0));
    let bump = |when, by| BumpStep { when, by: CelsiusDifference(by) };
    let mut first = plan(11.0).wrapped(WrapMethod::Paper, Trigger::Elapsed(400.0));
    first.bumps =
        vec![bump(BumpWhen::At(Trigger::Elapsed(300.0)), 8.0), bump(BumpWhen::WithWrap, 14.0)];
    let mut second = plan(11.0);
    second.bumps = vec![bump(BumpWhen::At(Trigger::Core(Celsius(60.0))), 10.0)];
    let fire = run_fire(&pit, &[first.clone(), second], 6).unwrap();
    let asked: Vec<f64> = fire.setpoints.iter().map(|(_, to)| to.value()).collect();
    // By 60 °C in the core at some four hours, by time less at five (nobody lowers it), with
    // the wrap more.
    assert_eq!(asked, [131.0, 135.0]);
    assert_eq!(fire.setpoints[1].0, 3_600 + 400 * 60);
    let late = &fire.pit_c[(fire.setpoints[1].0 / simulate::GRID_STEP_S) as usize + 500..][..500];
    assert!(late.iter().sum::<f64>() / 500.0 > 132.0);
    // The same under a strategy that leaves the set-point alone, and under one that raises it.
    let kept = first.clone().under(&Strategy::any().setpoint_unchanged());
    assert!(run_fire(&pit, &[kept], 6).unwrap().setpoints.is_empty());
    let raise = SetpointRule::Raise(bump(BumpWhen::At(Trigger::Elapsed(120.0)), 20.0));
    let raised = first.under(&Strategy { setpoint: raise, ..Strategy::any() });
    let fire = run_fire(&pit, &[raised], 6).unwrap();
    assert_eq!(fire.setpoints, [(3_600 + 120 * 60, Celsius(141.0))]);
    assert_eq!(fire.cooks[0].events.iter().filter(|e| e.kind == EventKind::Setpoint).count(), 1);
}

#[test]
fn a_strategy_may_wait_for_a_time_or_the_bark() {
    let pit = Pit::steady(Celsius(121.0));
    let run = |strategy: &Strategy| {
        run_fire(&pit, &[plan(11.0).under(strategy)], 6).unwrap().cooks.remove(0)
    };
    let timed = run(&Strategy::wrap_when(WrapMethod::Boat, Trigger::Elapsed(300.0), 20.0));
    let (at_s, method) = &timed.wraps[0];
    assert!((18_000..=19_200).contains(&(at_s - 3_600)) && *method == WrapMethod::Boat);
    let bark = Trigger::Bark { core: Celsius(65.0), moisture_left: 0.4 };
    let barked = run(&Strategy::wrap_when(WrapMethod::Paper, bark, 0.0));
    assert!((barked.moisture_left_at_wrap - 0.4).abs() < 0.01);
    // A core that never gets there complies unwrapped.
    let never = run(&Strategy::wrap(WrapMethod::Foil, Celsius(120.0), 10.0));
    assert!(never.wraps.is_empty() && never.pull_s == run(&Strategy::never()).pull_s);
    assert_eq!(never.marks.pulled_by, Some(Trigger::Tender));
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

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn whatever_is_asked_for_the_curves_are_sound(
        celsius in 90.0f64..170.0,
        metres in 0.0f64..3_000.0,
        kilograms in 2.0f64..9.0,
        round in any::<bool>(),
        wrap in 0usize..4,
        at_min in 30.0f64..600.0,
        wind in 0.0f64..15.0,
        seed in any::<u64>(),
    ) {
        let mut pit = Pit { altitude: cook::Metres(metres), ..Pit::steady(Celsius(celsius)) };
        pit.weather.wind_m_per_s = wind;
        pit.changes.push(PitChange::Out { from_s: 20_000, until_s: 23_000 });
        pit.changes.push(PitChange::Lid { at_s: 30_000, open_s: 400 });
        let cut = if round { simulate::Cut::Shoulder } else { simulate::Cut::Brisket };
        let method =
            [WrapMethod::None, WrapMethod::Paper, WrapMethod::Boat, WrapMethod::Foil][wrap].clone();
        let mut plan = CookPlan::unwrapped(cut.meat(Kilograms(kilograms)), 3_600)
            .wrapped(method, Trigger::Elapsed(at_min));
        plan.pull = vec![Trigger::Core(Celsius(87.0)), Trigger::Elapsed(1_500.0)];
        let fire = run_fire(&pit, &[plan.clone()], seed).unwrap();
        let cook = &fire.cooks[0];
        let hottest = fire.pit_c.iter().copied().fold(f64::MIN, f64::max);
        for (&core, &surface) in cook.core_c.iter().zip(&cook.surface_c) {
            prop_assert!(core.is_finite() && core > 0.0 && core < hottest);
            prop_assert!(surface.is_finite() && surface > 0.0 && surface < hottest + 1.0);
        }
        prop_assert!(cook.cooked_kg > 0.3 * kilograms && cook.cooked_kg < kilograms);
        prop_assert!(cook.events.windows(2).all(|pair| pair[0].at_s <= pair[1].at_s));
        let marks = simulate::run_marks(&pit, &[plan], seed).unwrap().remove(0);
        prop_assert_eq!(marks.finish_s, cook.marks.finish_s);
    }
}
