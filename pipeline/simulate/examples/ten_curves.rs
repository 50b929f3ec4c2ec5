//! Prints ten noise-free cooks as CSV (cook, minutes since meat-on, core, surface and pit in
//! °C) on stdout, and what happened on stderr: for plotting and for looking at.

use cook::{Celsius, CelsiusDifference, Kilograms, Metres, WrapMethod};
use simulate::{
    BumpStep, BumpWhen, CookPlan, Meat, Pit, PitChange, Rest, RestPlace, Trigger, Weather,
    WrapStep, run_fire,
};

fn main() -> Result<(), simulate::SimulateError> {
    let fahrenheit = Celsius::from_fahrenheit;
    let at = |degrees: f64| Pit::steady(fahrenheit(degrees));
    let bare = CookPlan::unwrapped(Meat::brisket(Kilograms::from_pounds(13.0)), 3_600);
    let wrapped =
        |method, core_f: f64| bare.clone().wrapped(method, Trigger::Core(fahrenheit(core_f)));
    let shoulder = CookPlan::unwrapped(Meat::shoulder(Kilograms::from_pounds(8.5)), 3_600);

    let mut held = wrapped(WrapMethod::Foil, 160.0);
    held.rest = Rest { place: RestPlace::holding_box(), minutes: 360.0 };
    let mut bumped = wrapped(WrapMethod::Paper, 160.0);
    bumped.bumps.push(BumpStep { when: BumpWhen::WithWrap, by: CelsiusDifference(19.5) });
    let mut opened = wrapped(WrapMethod::Foil, 150.0);
    opened.wraps.push(WrapStep {
        when: vec![Trigger::Core(fahrenheit(190.0))],
        delay_min: 0.0,
        method: WrapMethod::None,
    });
    opened.rest.place = RestPlace::counter();
    let storm = Pit {
        weather: Weather {
            mean: Celsius(4.0),
            dew_point: Celsius(2.0),
            wind_m_per_s: 8.0,
            rain_mm_per_h: 3.0,
            ..Weather::mild()
        },
        exposure: 0.9,
        wander_c: 4.0,
        ripple_c: 3.5,
        changes: vec![
            PitChange::Sag { from_s: 14_400, until_s: 23_400, by: CelsiusDifference(25.0) },
            PitChange::Out { from_s: 36_000, until_s: 37_800 },
        ],
        ..at(250.0)
    };
    let mountain = Pit { altitude: Metres(2_000.0), ..at(250.0) };
    let mut sprayed = bare.clone();
    sprayed.spritz_every_min = Some(60.0);

    let cooks = [
        ("1: 250 F, unwrapped", at(250.0), bare.clone()),
        ("2: 225 F, unwrapped, sprayed hourly", at(225.0), sprayed),
        ("3: 300 F, unwrapped", at(300.0), bare.clone()),
        (
            "4: 250 F, paper at 6.5 h",
            at(250.0),
            bare.clone().wrapped(WrapMethod::Paper, Trigger::Elapsed(390.0)),
        ),
        ("5: 250 F, foil at 160 F, held six hours", at(250.0), held),
        ("6: 300 F, foil at 145 F", at(300.0), wrapped(WrapMethod::Foil, 145.0)),
        ("7: 250 F, paper at 160 F and bumped to 285 F", at(250.0), bumped),
        ("8: 275 F, foil at 150 F, opened at 190 F", at(275.0), opened),
        ("9: 8.5 lb shoulder, 250 F, storm, sag, fire out", storm, shoulder),
        ("10: 250 F at 2000 m, boat at 160 F", mountain, wrapped(WrapMethod::Boat, 160.0)),
    ];
    println!("cook,minutes,core_c,surface_c,pit_c");
    for (name, pit, plan) in cooks {
        let fire = run_fire(&pit, std::slice::from_ref(&plan), 11)?;
        let cook = &fire.cooks[0];
        for (index, core_c) in cook.core_c.iter().enumerate().step_by(6) {
            let minutes = (index as i64 * simulate::GRID_STEP_S - cook.meat_on_s) as f64 / 60.0;
            let (surface, pit) = (cook.surface_c[index], fire.pit_c[index]);
            println!("\"{name}\",{minutes:.0},{core_c:.2},{surface:.2},{pit:.2}");
        }
        let hour = |ms: i64| (ms as f64 / 1_000.0 - cook.meat_on_s as f64) / 3_600.0;
        eprintln!(
            "{name}: {:.1} h, k_ref {:.3}/h, stall {:.0} min, delay {:.0} min, evaporated {:.2} kg, weight {:.2} of {:.2} kg, wrap at {:.1} h",
            cook.hours(),
            cook.judgement.reference.map_or(f64::NAN, |reference| reference.k_per_h),
            cook.judgement.stall_min.unwrap_or(f64::NAN),
            cook.stall_delay.map_or(f64::NAN, |delay| delay.minutes),
            cook.evaporated_kg,
            cook.cooked_kg,
            plan.meat.weight.value(),
            cook.wraps.first().map_or(f64::NAN, |wrap| hour(wrap.0 * 1_000)),
        );
        for span in &cook.judgement.phases {
            let core = |ms: i64| {
                let index = (ms / 1_000 / simulate::GRID_STEP_S) as usize;
                Celsius(cook.core_c[index.min(cook.core_c.len() - 1)]).fahrenheit()
            };
            eprintln!(
                "    {:<6} {:5.1} - {:5.1} h   {:4.0} - {:4.0} F",
                span.kind.as_str(),
                hour(span.start_ms),
                hour(span.end_ms),
                core(span.start_ms),
                core(span.end_ms)
            );
        }
    }
    Ok(())
}
