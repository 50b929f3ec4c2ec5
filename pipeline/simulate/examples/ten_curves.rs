//! Prints ten noise-free cooks as CSV (cook, minutes since meat-on, core, surface and pit in
//! °C) on stdout, and what happened on stderr: for plotting and for looking at.

use cook::{Celsius, CelsiusDifference, Kilograms, WrapMethod};
use simulate::{CookPlan, Meat, Pit, PitChange, Trigger, run_fire};

fn main() -> Result<(), simulate::SimulateError> {
    let at = Pit::steady;
    let fahrenheit = Celsius::from_fahrenheit;
    let bare =
        |pounds: f64| CookPlan::unwrapped(Meat::brisket(Kilograms::from_pounds(pounds)), 3_600);
    let sagging = Pit {
        changes: vec![PitChange::Sag {
            from_s: 21_600,
            until_s: 32_400,
            by: CelsiusDifference(25.0),
        }],
        ..at(fahrenheit(250.0))
    };
    let bumped = Pit {
        changes: vec![PitChange::Setpoint { at_s: 25_200, to: fahrenheit(285.0) }],
        ..at(fahrenheit(250.0))
    };
    let paper = |trigger| bare(13.0).wrapped(WrapMethod::Paper, trigger);
    let foil = |trigger| bare(13.0).wrapped(WrapMethod::Foil, trigger);
    let cooks = [
        ("250 F, 13 lb, unwrapped", at(fahrenheit(250.0)), bare(13.0)),
        ("225 F, 13 lb, unwrapped", at(fahrenheit(225.0)), bare(13.0)),
        ("300 F, 13 lb, unwrapped", at(fahrenheit(300.0)), bare(13.0)),
        ("250 F, 13 lb, paper at 6.5 h", at(fahrenheit(250.0)), paper(Trigger::Elapsed(390.0))),
        (
            "250 F, 13 lb, paper at 160 F",
            at(fahrenheit(250.0)),
            paper(Trigger::Core(fahrenheit(160.0))),
        ),
        (
            "250 F, 13 lb, foil at 160 F",
            at(fahrenheit(250.0)),
            foil(Trigger::Core(fahrenheit(160.0))),
        ),
        (
            "300 F, 13 lb, foil at 145 F",
            at(fahrenheit(300.0)),
            foil(Trigger::Core(fahrenheit(145.0))),
        ),
        ("250 F, 8 lb, unwrapped", at(fahrenheit(250.0)), bare(8.0)),
        ("250 F, 13 lb, sagging fire", sagging, bare(13.0)),
        ("250 F, 13 lb, bumped to 285 F", bumped, bare(13.0)),
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
            "{name}: {:.1} h, k_ref {:.3}/h, stall {:.0} min, delay {:.0} min, evaporated {:.2} kg/m2, weight {:.2} of {:.2} kg, wrap at {:.1} h",
            cook.hours(),
            cook.judgement.reference.map_or(f64::NAN, |reference| reference.k_per_h),
            cook.judgement.stall_min.unwrap_or(f64::NAN),
            cook.stall_delay.map_or(f64::NAN, |delay| delay.minutes),
            cook.ledger.water,
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
