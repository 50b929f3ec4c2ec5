use super::*;
use columns::table;

const HOUR_MS: i64 = 3_600_000;

#[test]
fn a_glance_adds_up_and_shares_the_fuel_of_a_fire() {
    let frame = table!(
        "cook" => ["a", "b", "c", "d"],
        "fire" => ["f", "f", "g", "h"],
        "season" => ["2025", "2025", "2026", "2026"],
        "meat_on_ms" => [0_i64, 0, 100 * HOUR_MS, 200 * HOUR_MS],
        "total_min" => [600.0, 660.0, 540.0, 480.0],
        "total_min_censored" => [false, false, true, false],
        "planned_pull_ms" => [Some(9 * HOUR_MS), Some(12 * HOUR_MS), Some(109 * HOUR_MS), None],
        "turn_in_ms" => [Some(9 * HOUR_MS), None, None, Some(210 * HOUR_MS)],
        "fuel_kg" => [Some(10.0), Some(10.0), Some(4.0), None],
        "yield_fraction" => [0.5, 0.6, 0.7, 0.8],
        "cost" => [Some(60.0), Some(90.0), None, Some(30.0)],
        "served_weight_kg" => [Some(3.0), Some(3.0), Some(2.0), Some(0.0)],
        "score_taste" => [Some(6.0), Some(8.0), None, Some(7.0)],
    );
    let found = season(&MeasureTable::new(&frame).unwrap(), 1).unwrap();
    assert_eq!(found.glance.len(), 3);
    let (first, all) = (&found.glance[0], &found.glance[2]);
    assert_eq!((first.season.as_deref(), first.cooks, first.fires), (Some("2025"), 2, 1));
    // Both cooks state the fuel of the one fire that they shared.
    assert_eq!((first.fuel_kg, first.fuel_fires), (Some(10.0), 1));
    assert_eq!((all.season.as_deref(), all.fuel_kg, all.hours), (None, Some(14.0), Some(38.0)));
    // 20 and 30 a kilogram; no weight served gives no cost.
    let cost = first.cost_per_served_kg.unwrap();
    assert_eq!((cost.median, cost.min, cost.max, cost.cooks), (25.0, 20.0, 30.0, 2));
    // Pulled after 10 h where 9 were planned, after 11 h where 12 were; a log that ends first tells none.
    let late = all.late_min.unwrap();
    assert_eq!((late.min, late.max, late.cooks), (-60.0, 60.0, 2));
    // Pulled an hour after turn-in, and two hours before it.
    let margin = all.turn_in_margin_min.unwrap();
    assert_eq!((margin.min, margin.max, all.past_turn_in), (-60.0, 120.0, 1));
    assert_eq!(all.scores[0].points.median, 7.0);
    assert_eq!(found.charts, []);
    assert_eq!(found.finish_by_wrap, None);
}

#[test]
fn a_chart_has_one_point_a_fire_in_time_order_and_finds_a_shift() {
    let n = 24;
    let cooks: Vec<String> = (0..n).map(|i| format!("cook-{i:02}")).collect();
    let fires: Vec<String> = (0..n).map(|i| format!("fire-{}", i / 2)).collect();
    // Handed over backwards: the order of the rows tells nothing.
    let days: Vec<i64> = (0..n).map(|i| i * 24 * HOUR_MS).collect();
    let level = |i: i64| if i < 12 { 3.0 } else { 9.0 };
    let sd: Vec<f64> = (0..n).map(|i| level(i) + 0.2 * (i % 3) as f64).collect();
    let mut frame =
        table!("cook" => cooks, "fire" => fires, "meat_on_ms" => days, "pit_sd_c" => sd);
    frame = frame.take(&(0..frame.rows()).rev().collect::<Vec<_>>());
    let found = season(&MeasureTable::new(&frame).unwrap(), 7).unwrap();
    let [chart] = &found.charts[..] else { panic!("{:?}", found.charts) };
    assert_eq!(
        (chart.measure.as_str(), chart.unit.as_str(), chart.points.len()),
        ("pit_sd_c", "°C", 12)
    );
    assert_eq!(chart.points[0].cook, "cook-00");
    assert!((chart.points[0].value - 3.1).abs() < 1e-9 && chart.points[0].cooks == 2);
    let [shift] = &chart.shifts[..] else { panic!("{:?}", chart.shifts) };
    assert_eq!((shift.at, shift.cook.as_str()), (6, "cook-12"));
    assert!((shift.after - shift.before - 6.0).abs() < 0.1);
}

#[test]
fn milliseconds_with_decimals_order_the_fires_too() {
    let frame = table!(
        "cook" => ["b", "a"],
        "meat_on_ms" => [Some(1.7e12), Some(1.8e12)],
    );
    assert_eq!(MeasureTable::new(&frame).unwrap().by_meat_on().unwrap(), [1, 0]);
}

#[test]
fn curves_by_wrap_tell_who_is_still_at_risk() {
    let minutes = [100.0, 150.0, 200.0, 250.0, 300.0, 130.0, 260.0, 390.0, 400.0, 410.0, 50.0];
    let wraps: Vec<&str> =
        [["foil"; 5], ["none"; 5]].concat().into_iter().chain(["paper"]).collect();
    let reached = [true, true, true, true, true, true, false, true, true, false, true];
    let cooks: Vec<String> = (0..11).map(|i| format!("c{i:02}")).collect();
    let frame = table!(
        "cook" => cooks,
        "wrap_method" => wraps,
        "clock_to_finish_min" => minutes,
        "finish_reached" => reached,
    );
    let found = season(&MeasureTable::new(&frame).unwrap(), 1).unwrap().finish_by_wrap.unwrap();
    assert_eq!((found.curves.len(), found.too_few), (2, 1));
    assert_eq!(found.risk_at_min, [0.0, 120.0, 240.0, 360.0]);
    let (foil, none) = (&found.curves[0], &found.curves[1]);
    assert_eq!((foil.at_risk.clone(), none.at_risk.clone()), (vec![5, 4, 2, 0], vec![5, 5, 4, 3]));
    // Without censoring the median is the middle value; with it, by hand: 4/5, 4/5·2/3, 4/5·1/3.
    assert_eq!((foil.median_min, none.finished), (Some(200.0), 3));
    let shares: Vec<f64> = none.steps.iter().map(|step| step.share).collect();
    for (share, expected) in shares.iter().zip([0.8, 0.8, 0.8 * 2.0 / 3.0, 0.8 / 3.0, 0.8 / 3.0]) {
        assert!((share - expected).abs() < 1e-12);
    }
    assert_eq!(none.median_min, Some(400.0));
    assert_eq!(none.steps[1].censored, 1);
}
