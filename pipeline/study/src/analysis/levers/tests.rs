use super::*;
use columns::{Table, table};

/// Cooks of 30 steps or so: every other sprayed up to three times, at times that go with nothing, every
/// third with the set-point raised; each spray costs five minutes, a raised set-point saves thirty.
fn season(n: usize) -> (Table, History) {
    let name = |i: usize| format!("cook-{i:03}");
    let sprays = |i: usize| -> Vec<i64> {
        let first = 20 + 10 * ((i * 53) % 9) as i64;
        let times = if i.is_multiple_of(2) { 1 + (i as i64 / 2) % 3 } else { 0 };
        let apart = 40 + 10 * ((i * 17) % 5) as i64;
        (0..times).map(|time| first + time * apart).collect()
    };
    let raise = |i: usize| (i % 3 == 1).then(|| 30 + 10 * ((i * 31) % 16) as i64);
    let end = |i: usize| {
        let own = 300.0 + ((i * 37) % 80) as f64;
        own + 5.0 * sprays(i).len() as f64 - if raise(i).is_some() { 30.0 } else { 0.0 }
    };
    let indices = || 0..n;
    let measures = table!(
        "cook" => indices().map(name).collect::<Vec<_>>(),
        "fire" => indices().map(|i| format!("fire-{}", i / 2)).collect::<Vec<_>>(),
        "trimmed_weight_kg" => indices().map(|i| 4.0 + 0.1 * ((i * 29) % 23) as f64).collect::<Vec<_>>(),
        "wrap_method" => vec!["none"; n],
        "clock_to_wrap_min" => vec![None::<f64>; n],
        "clock_to_finish_min" => indices().map(end).collect::<Vec<_>>(),
        "finish_reached" => indices().map(|i| i % 11 != 3).collect::<Vec<_>>(),
        "end_reason" => indices().map(|i| if i % 22 == 3 { "tender" } else { "out-of-time" }).collect::<Vec<_>>(),
        "stall_min" => indices().map(|i| 100.0 + i as f64).collect::<Vec<_>>(),
        "fuel_kg" => indices().map(|i| (i % 4 == 0).then_some(8.0)).collect::<Vec<_>>(),
        "total_min" => vec![480.0; n],
    );
    let rows: Vec<(usize, i64)> = indices()
        .flat_map(|i| {
            (0..).map(|k| k * 10).take_while(move |m| (*m as f64) <= end(i)).map(move |m| (i, m))
        })
        .collect();
    let of = |f: &dyn Fn(usize, i64) -> f64| rows.iter().map(|r| f(r.0, r.1)).collect::<Vec<f64>>();
    let history = table!(
        "cook" => rows.iter().map(|r| name(r.0)).collect::<Vec<_>>(),
        "minute" => rows.iter().map(|r| r.1).collect::<Vec<_>>(),
        // The core rises alike in all, so that it does not tell the time that is left.
        "core_c" => of(&|i, m| {
            let wobble = 0.2 * ((i * 5 + 3 * m as usize / 10) % 7) as f64;
            55.0 + 0.08 * m as f64 + 0.5 * ((i * 7) % 5) as f64 + wobble
        }),
        "k_per_h" => of(&|i, m| 0.1 + 0.001 * ((i * 17 + m as usize) % 31) as f64),
        "pit_c" => of(&|i, m| 105.0 + ((i * 13 + m as usize / 10) % 19) as f64),
        "in_stall" => rows.iter().map(|r| (r.0 + r.1 as usize / 10).is_multiple_of(3)).collect::<Vec<_>>(),
        "setpoint_c" => of(&|i, m| if raise(i).is_some_and(|at| m >= at) { 124.0 } else { 110.0 }),
        // A spray at a minute is done after the row before it.
        "spritzes" => rows.iter().map(|r| i64::from(sprays(r.0).contains(&r.1))).collect::<Vec<_>>(),
        "lid_noted_min" => of(&|i, m| if sprays(i).contains(&m) { 0.5 } else { 0.0 }),
        "lid_falls" => vec![None::<i64>; rows.len()],
        "lid_fall_c" => of(&|i, m| if sprays(i).contains(&m) { 12.0 } else { f64::NAN }),
        "lid_back_min" => of(&|i, m| if sprays(i).contains(&m) { 4.0 } else { f64::NAN }),
    );
    (measures, History::new(&history).unwrap())
}

fn found(n: usize) -> Vec<Lever> {
    let (measures, history) = season(n);
    levers(&MeasureTable::new(&measures).unwrap(), &history, 1).unwrap()
}

#[test]
fn what_a_dose_adds_is_found_and_described() {
    let found = found(160);
    assert_eq!(found.iter().map(|lever| lever.lever).collect::<Vec<_>>(), KINDS);
    let (raise, spray) = (&found[0], &found[1]);
    assert_eq!((&spray.per_dose_reason, &raise.per_dose_reason), (&None, &None));
    let effect = spray.per_dose_min.unwrap();
    assert!(effect.lo < 5.0 && 5.0 < effect.hi, "{effect:?}");
    // Cooks that are lost have no time to the finish.
    assert!(effect.given > 100 && (effect.given as f64) < spray.used.doses);
    let effect = raise.per_dose_min.unwrap();
    assert!(effect.lo < -30.0 && -30.0 < effect.hi && effect.hi < 0.0, "{effect:?}");
    assert_eq!((spray.used.cooks_with, spray.used.cooks_without), (80, 80));
    assert_eq!(spray.used.per_cook.unwrap().median, 2.0);
    // Noted lids are the sprays here: one opening of half a minute each.
    assert_eq!(found[2].used.doses, found[1].used.doses);
    assert!((found[3].used.doses - found[1].used.doses / 2.0).abs() < 1e-9);
    assert_eq!(spray.pit_fall_c.unwrap().median, 12.0);
    assert_eq!(spray.pit_back_min.unwrap().median, 4.0);
    let fuel = spray.described.iter().find(|found| found.measure == "fuel_kg_per_h").unwrap();
    assert_eq!(fuel.with.unwrap().median, 1.0);
    assert!(fuel.without.is_none());
    for lever in &found {
        assert!(lever.models.iter().any(|model| model.name == "cox"), "{:?}", lever.notes);
    }
}

#[test]
fn too_few_cooks_are_refused_with_the_number_missing() {
    let found = found(20);
    let spray = &found[1];
    assert_eq!(spray.per_dose_min, None);
    let reason = spray.per_dose_reason.as_deref().unwrap();
    assert!(
        reason.contains("10 more are missing") || reason.contains("11 more are missing"),
        "{reason}"
    );
    let raise = &found[0];
    assert_eq!(raise.strategies, None);
    assert!(raise.strategies_reason.is_some());
    // Described all the same.
    assert_eq!(spray.used.cooks_with, 10);
}

#[test]
fn a_history_that_says_nothing_of_a_lever_leaves_it_out() {
    let (measures, _) = season(4);
    let history = History::new(&table!(
        "cook" => ["cook-000", "cook-000"],
        "minute" => [0i64, 10],
        "core_c" => [55.0, 57.0],
        "k_per_h" => [0.2, 0.2],
        "pit_c" => [110.0, 111.0],
        "in_stall" => [false, false],
        "setpoint_c" => [None::<f64>, None],
    ))
    .unwrap();
    let found = levers(&MeasureTable::new(&measures).unwrap(), &history, 1).unwrap();
    assert_eq!(found, Vec::new());
}

#[test]
fn what_was_given_so_far_is_known_and_nothing_later() {
    let (measures, history) = season(4);
    let table = MeasureTable::new(&measures).unwrap();
    let cooks = cooks::read(&table, &history, &[], Rows::all(&table)).unwrap();
    let steps = steps::steps(LeverKind::Spritz, &cooks.all).unwrap();
    let given: Vec<_> = steps.iter().filter(|step| step.cook == 2 && step.dose > 0.0).collect();
    let told = |at: fn(&steps::Step) -> f64| given.iter().map(|step| at(step)).collect::<Vec<_>>();
    assert_eq!(told(|step| step.minute), [90.0, 170.0]);
    assert_eq!(told(|step| step.so_far), [0.0, 1.0]);
    assert_eq!(told(|step| step.since_min), [120.0, 80.0]);
    // Below the lowest core at which it was ever done there is nothing to decide.
    let first = steps.iter().find(|step| step.cook == 0).unwrap();
    assert!(first.minute == 0.0 && !first.open);
    let raised = steps::steps(LeverKind::SetpointRaised, &cooks.all).unwrap();
    let once: Vec<_> = raised.iter().filter(|step| step.cook == 1 && step.dose > 0.0).collect();
    assert_eq!(once.len(), 1);
    let after = raised.iter().filter(|step| step.cook == 1 && step.minute > once[0].minute);
    assert!(after.clone().count() > 0 && after.clone().all(|step| !step.open));
}
