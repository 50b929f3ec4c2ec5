use super::*;

const HOUR: i64 = 3_600_000;

fn bounds(hours: i64) -> CookBounds {
    CookBounds {
        meat_on_known: true,
        meat_on_ms: 0,
        pull_ms: hours * HOUR,
        end_ms: hours * HOUR,
        pull_known: true,
        slice_known: true,
    }
}

/// A core with a coefficient of 0.17 1/h towards 120 °C, a fifth of it between 65 and 72 °C.
fn core_at(hour: f64) -> f64 {
    let hours = |from: f64, to: f64, k: f64| ((120.0 - from) / (120.0 - to)).ln() / k;
    let (from, long) = (hours(5.0, 65.0, 0.17), hours(65.0, 72.0, 0.034));
    let toward = |from_c: f64, k: f64, hours: f64| 120.0 - (120.0 - from_c) * (-k * hours).exp();
    if hour < from {
        toward(5.0, 0.17, hour)
    } else if hour < from + long {
        toward(65.0, 0.034, hour - from)
    } else {
        toward(72.0, 0.17, hour - from - long)
    }
}

fn seen(hours: &[f64]) -> OwnedSamples {
    OwnedSamples {
        at_ms: hours.iter().map(|hour| (hour * HOUR as f64) as i64).collect(),
        temp_c: hours.iter().map(|hour| core_at(*hour)).collect(),
    }
}

fn segmented(readings: &OwnedSamples) -> Segmentation {
    let card = Card { pit_setpoint: Some(cook::Celsius(120.0)), ..Card::default() };
    let pit = pit_from_setpoints(&card, &[], &bounds(14));
    let definition = PhaseDefinition::default();
    let cook = SparseCook::new(
        readings.view(),
        (pit.view(), true),
        (&bounds(14), &[]),
        &card,
        &definition,
    );
    cook.unwrap().segmented(&SegmentOptions { draws: 1, ..SegmentOptions::default() })
}

#[test]
fn more_readings_leave_less_open() {
    // Between 65 °C and 72 °C that core takes (ln(55/48)/0.034) h.
    let truth = (55.0_f64 / 48.0).ln() / 0.034 * 60.0;
    let few = segmented(&seen(&[1.0, 4.5, 8.0, 13.0]));
    let every: Vec<f64> = (1..28).map(|half| f64::from(half) * 0.5).collect();
    let many = segmented(&seen(&every));
    let width = |segmentation: &Segmentation| {
        let interval = segmentation.stall_min_90.unwrap();
        let (lo, hi) = (interval.lo.unwrap(), interval.hi.unwrap());
        assert!(lo <= truth && truth <= hi, "{lo} {truth} {hi}");
        hi - lo
    };
    assert!(width(&few) > 1.5 * width(&many), "{} {}", width(&few), width(&many));
    let found = many.judgement.stall_min.unwrap();
    assert!((found - truth).abs() < 60.0, "{found} {truth}");
    assert!(many.by_hand);
}

#[test]
fn the_same_readings_give_the_same_answer() {
    let readings = seen(&[1.0, 3.0, 5.0, 7.0, 9.0, 11.0, 13.0]);
    assert_eq!(segmented(&readings), segmented(&readings));
}

#[test]
fn two_readings_are_too_few() {
    let readings = seen(&[3.0, 9.0]);
    let card = Card::default();
    let none = Samples::default();
    let definition = PhaseDefinition::default();
    let found =
        SparseCook::new(readings.view(), (none, true), (&bounds(14), &[]), &card, &definition);
    assert!(matches!(found, Err(PhasesError::TooFewReadings { found: 2, needed: 3 })));
}

#[test]
fn set_points_are_the_pit_where_none_was_logged() {
    let card = Card { pit_setpoint: Some(cook::Celsius(110.0)), ..Card::default() };
    let event = Event {
        cook: "a".into(),
        at_ms: 2 * HOUR,
        kind: EventKind::Setpoint,
        value: Some("120C".into()),
        note: None,
    };
    let pit = pit_from_setpoints(&card, std::slice::from_ref(&event), &bounds(4));
    assert_eq!(pit.view().at(HOUR), Some(110.0));
    assert_eq!(pit.view().at(3 * HOUR), Some(120.0));
    // Without a card's, the first event's stands for what was before it.
    let pit = pit_from_setpoints(&Card::default(), &[event], &bounds(4));
    assert_eq!(pit.view().at(HOUR), Some(120.0));
    assert!(pit_from_setpoints(&Card::default(), &[], &bounds(4)).view().is_empty());
}
