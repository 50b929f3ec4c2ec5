//! What pitmasters expect, as far as a curve can show it. Every number here is common
//! practice, no source.

use cook::{Celsius, Kilograms, Metres, PhaseKind, WrapMethod};
use simulate::{CookPlan, CookTruth, Meat, Pit, Rest, RestPlace, Trigger, run_fire};

fn brisket(pounds: f64) -> CookPlan {
    CookPlan::unwrapped(Meat::brisket(Kilograms::from_pounds(pounds)), 3_600)
}

fn cook(setpoint_f: f64, plan: CookPlan) -> CookTruth {
    let pit = Pit::steady(Celsius::from_fahrenheit(setpoint_f));
    run_fire(&pit, &[plan], 4).unwrap().cooks.remove(0)
}

fn at_160() -> Trigger {
    Trigger::Core(Celsius::from_fahrenheit(160.0))
}

fn core_f(cook: &CookTruth, ms: i64) -> f64 {
    Celsius(cook.core_c[(ms / 1_000 / simulate::GRID_STEP_S) as usize]).fahrenheit()
}

#[test]
fn paper_at_six_and_a_half_hours_takes_twelve_to_fourteen() {
    // Whatever way the fire wanders.
    let pit = Pit::steady(Celsius::from_fahrenheit(250.0));
    for seed in 0..8 {
        for pounds in [12.0, 13.0, 14.0] {
            let plan = brisket(pounds).wrapped(WrapMethod::Paper, Trigger::Elapsed(390.0));
            let hours = run_fire(&pit, &[plan], seed).unwrap().cooks[0].hours();
            assert!((12.0..=14.0).contains(&hours), "{pounds} lb: {hours} h");
        }
    }
}

#[test]
fn unwrapped_it_stalls_for_three_to_six_hours_between_145_and_170() {
    for pounds in [12.0, 13.0, 14.0] {
        let cook = cook(250.0, brisket(pounds));
        let stall = cook.judgement.stall_min.unwrap() / 60.0;
        assert!((3.0..=6.0).contains(&stall), "{pounds} lb: {stall} h");
        let spans: Vec<_> = cook.judgement.phases_of(PhaseKind::Stall).collect();
        let start = core_f(&cook, spans[0].start_ms);
        let end = core_f(&cook, spans[spans.len() - 1].end_ms);
        assert!(start > 145.0, "{pounds} lb starts at {start} °F");
        // "About 170": the definition's stall ends as the rise sets in.
        assert!(end < 173.0, "{pounds} lb ends at {end} °F");
    }
}

#[test]
fn foil_ends_a_stall_within_about_half_an_hour() {
    let cook = cook(250.0, brisket(13.0).wrapped(WrapMethod::Foil, at_160()));
    let wrap_s = cook.wraps[0].0;
    let stall = cook.judgement.phases_of(PhaseKind::Stall).last().unwrap();
    let after_min = (stall.end_ms / 1_000 - wrap_s) as f64 / 60.0;
    assert!((0.0..=35.0).contains(&after_min), "{after_min} min");
}

#[test]
fn hot_and_fast_with_early_foil_takes_five_to_seven_hours_with_little_stall() {
    let early = Trigger::Core(Celsius::from_fahrenheit(145.0));
    let cook = cook(300.0, brisket(13.0).wrapped(WrapMethod::Foil, early));
    assert!((5.0..=7.0).contains(&cook.hours()), "{} h", cook.hours());
    assert!(cook.judgement.stall_min.unwrap() <= 30.0);
}

#[test]
fn it_is_tender_at_about_195_to_205() {
    for plan in [
        brisket(13.0),
        brisket(13.0).wrapped(WrapMethod::Paper, at_160()),
        brisket(13.0).wrapped(WrapMethod::Foil, at_160()),
    ] {
        let cook = cook(250.0, plan);
        let pulled = core_f(&cook, cook.pull_s * 1_000);
        assert!((193.0..=206.0).contains(&pulled), "{pulled} °F");
    }
}

#[test]
fn wraps_rank_and_a_hotter_pit_and_a_lighter_cut_are_faster() {
    let hours = |plan| cook(250.0, plan).hours();
    let bare = hours(brisket(13.0));
    let paper = hours(brisket(13.0).wrapped(WrapMethod::Paper, at_160()));
    let boat = hours(brisket(13.0).wrapped(WrapMethod::Boat, at_160()));
    let foil = hours(brisket(13.0).wrapped(WrapMethod::Foil, at_160()));
    assert!(foil < paper && paper < boat && boat < bare, "{foil} {paper} {boat} {bare}");
    let delay = |setpoint, pounds| cook(setpoint, brisket(pounds)).stall_delay.unwrap().minutes;
    assert!(delay(275.0, 13.0) < delay(250.0, 13.0) && delay(250.0, 13.0) < delay(225.0, 13.0));
    // A heavier cut takes longer in all; its stall delay hardly moves (docs/simulator.md).
    assert!(hours(brisket(9.0)) + 1.0 < hours(brisket(14.0)));
}

#[test]
fn the_core_carries_over_and_then_falls() {
    let rested = |setpoint, plan: CookPlan| {
        let mut plan = plan;
        plan.rest.minutes = 240.0;
        let cook = cook(setpoint, plan);
        let from = (cook.pull_s / simulate::GRID_STEP_S) as usize;
        let highest = cook.core_c[from..].iter().copied().fold(f64::MIN, f64::max);
        assert!(*cook.core_c.last().unwrap() < highest - 5.0);
        highest - cook.core_c[from]
    };
    // Carry-over of 1-6 °C (2-10 °F) off a hot fire; hardly any out of foil, where the surface
    // cannot have been hotter than boiling water.
    let bare = rested(275.0, brisket(13.0));
    assert!((1.0..6.0).contains(&bare), "{bare}");
    let foil = rested(250.0, brisket(13.0).wrapped(WrapMethod::Foil, at_160()));
    assert!((0.2..bare).contains(&foil), "{foil}");
}

#[test]
fn places_of_rest_do_what_they_are_for() {
    let after = |place, hours: f64| {
        let mut plan = brisket(13.0).wrapped(WrapMethod::Paper, at_160());
        plan.rest = Rest { place, minutes: hours * 60.0 };
        *cook(250.0, plan).core_c.last().unwrap()
    };
    // On the counter it is below 140 °F within some four to five hours; a cooler keeps it
    // above for four and more; a holding box keeps it at its own temperature overnight.
    assert!(after(RestPlace::counter(), 5.0) < 60.0);
    assert!(after(RestPlace::cooler(), 4.0) > 60.0);
    let held = after(RestPlace::holding_box(), 12.0);
    assert!((64.0..69.0).contains(&held), "{held}");
    let warmer = after(RestPlace::HoldingBox { set: Celsius(75.0) }, 12.0);
    assert!((7.0..10.5).contains(&(warmer - held)), "{warmer} {held}");
    let preheated = RestPlace::Cooler {
        start: Celsius(55.0),
        room: Celsius(22.0),
        heat_capacity: 1_500.0,
        loss: 0.6,
    };
    assert!(after(preheated, 4.0) > after(RestPlace::cooler(), 4.0) + 0.5);
}

#[test]
fn high_up_it_stalls_cooler_and_takes_longer() {
    let at = |metres| {
        let mut pit = Pit::steady(Celsius::from_fahrenheit(250.0));
        pit.altitude = Metres(metres);
        run_fire(&pit, &[brisket(13.0)], 4).unwrap().cooks.remove(0)
    };
    let (low, high) = (at(0.0), at(2_000.0));
    let stalls_at = |cook: &CookTruth| {
        core_f(cook, cook.judgement.phases_of(PhaseKind::Stall).next().unwrap().start_ms)
    };
    assert!(stalls_at(&high) < stalls_at(&low) - 2.0, "{} {}", stalls_at(&high), stalls_at(&low));
    assert!(high.hours() > low.hours() + 0.5, "{} {}", high.hours(), low.hours());
}

#[test]
fn a_humid_pit_keeps_the_surface_hotter() {
    // The wet bulb rises with humidity, and with it surface and stall.
    let after_six_hours = |added_humidity| {
        let pit = Pit { added_humidity, ..Pit::steady(Celsius::from_fahrenheit(250.0)) };
        let cook = run_fire(&pit, &[brisket(13.0)], 4).unwrap().cooks.remove(0);
        let index = ((cook.meat_on_s + 6 * 3_600) / simulate::GRID_STEP_S) as usize;
        (cook.surface_c[index], cook.core_c[index])
    };
    let (dry, humid) = (after_six_hours(0.01), after_six_hours(0.06));
    assert!(humid.0 > dry.0 + 1.5 && humid.1 > dry.1 + 1.5, "{humid:?} {dry:?}");
}

#[test]
fn a_shoulder_stalls_too_and_foil_shortens_it() {
    let shoulder = CookPlan::unwrapped(Meat::shoulder(Kilograms::from_pounds(8.5)), 3_600);
    let bare = cook(250.0, shoulder.clone());
    let foil = cook(250.0, shoulder.wrapped(WrapMethod::Foil, at_160()));
    // About an hour and a half a pound, two at the most.
    assert!((11.0..=16.0).contains(&bare.hours()), "{}", bare.hours());
    assert!(bare.judgement.stall_min.unwrap() > 120.0);
    assert!(foil.hours() < bare.hours() - 1.0, "{} {}", foil.hours(), bare.hours());
}

#[test]
fn what_is_left_is_as_much_as_people_weigh() {
    // Cooked weight over trimmed weight: unwrapped about 55-70 %, in foil rather more.
    let share = |cook: &CookTruth| cook.cooked_kg / Kilograms::from_pounds(13.0).value();
    let bare = share(&cook(250.0, brisket(13.0)));
    let foil = share(&cook(250.0, brisket(13.0).wrapped(WrapMethod::Foil, at_160())));
    assert!((0.55..=0.70).contains(&bare), "{bare}");
    assert!(foil > bare + 0.02 && foil < 0.80, "{foil}");
}
