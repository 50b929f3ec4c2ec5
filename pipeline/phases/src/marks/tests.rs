use super::*;

const MINUTE: i64 = 60_000;

/// A 12 h log, one reading a minute: core 5 → 93 °C in 10 h, pit 120 °C, shut down at 10 h.
fn log() -> (Vec<i64>, Vec<f64>, Vec<f64>) {
    let at_ms: Vec<i64> = (0..720).map(|m| m * MINUTE).collect();
    let core = (0..720).map(|m| 5.0 + 88.0 * f64::from(m.min(600)) / 600.0).collect();
    let pit = (0..720).map(|m| 120.0 - 0.6 * f64::from((m - 600).max(0))).collect();
    (at_ms, core, pit)
}

fn find(
    card: MarkTimes,
    events: &[Event],
    shape: impl Fn(&mut Vec<f64>, &mut Vec<f64>),
) -> Result<Marks, PhasesError> {
    let (at_ms, mut core, mut pit) = log();
    shape(&mut core, &mut pit);
    find_marks(
        &card,
        events,
        Samples { at_ms: &at_ms, temp_c: &core },
        Samples { at_ms: &at_ms, temp_c: &pit },
    )
}

fn event(kind: EventKind, minute: i64) -> Event {
    Event { cook: "a".into(), at_ms: minute * MINUTE, kind, value: None, note: None }
}

#[test]
fn the_sheets_decide_where_they_speak() {
    let card = MarkTimes { meat_on_ms: Some(0), pull_ms: Some(500 * MINUTE), ..Default::default() };
    let events =
        [event(EventKind::Slice, 560), event(EventKind::Wrap, 300), event(EventKind::Wrap, 200)];
    let marks = find(card, &events, |_, _| ()).unwrap();
    assert_eq!(
        (marks.pull.source, marks.slice.as_ref().unwrap().source),
        (MarkSource::Card, MarkSource::Events)
    );
    assert_eq!(marks.wraps_ms, [200 * MINUTE, 300 * MINUTE]);
    assert_eq!(marks.bounds.end_ms, 560 * MINUTE);
    assert!(marks.bounds.pull_known && marks.bounds.slice_known && marks.problems.is_empty());
}

#[test]
fn without_sheets_the_pit_tells_the_pull_and_the_first_reading_is_assumed_as_meat_on() {
    let marks = find(MarkTimes::default(), &[], |_, _| ()).unwrap();
    assert!(marks.meat_on.assumed && marks.meat_on.at_ms == 0);
    assert_eq!(marks.pull.source, MarkSource::Log);
    // The fall is 0.6 °C a minute and its onset is taken within 3 °C of the level: 5 min.
    assert!((marks.pull.at_ms - 600 * MINUTE).abs() <= 5 * MINUTE, "{}", marks.pull.at_ms / MINUTE);
}

#[test]
fn a_core_that_falls_from_air_to_meat_tells_meat_on() {
    let marks = find(MarkTimes::default(), &[], |core, _| core[..20].fill(60.0)).unwrap();
    assert_eq!(marks.meat_on.source, MarkSource::Log);
    assert_eq!(marks.meat_on.at_ms, 20 * MINUTE);
}

#[test]
fn a_probe_taken_out_tells_the_pull_if_the_pit_stays_hot() {
    let marks = find(MarkTimes::default(), &[], |core, pit| {
        pit.fill(120.0);
        core[640..].fill(40.0);
    })
    .unwrap();
    assert_eq!(marks.pull.source, MarkSource::Log);
    assert!((marks.pull.at_ms - 639 * MINUTE).abs() <= MINUTE, "{}", marks.pull.at_ms / MINUTE);
}

#[test]
fn with_nothing_to_tell_the_pull_it_is_not_known() {
    let marks = find(MarkTimes::default(), &[], |_, pit| pit.fill(120.0)).unwrap();
    assert_eq!(marks.pull.source, MarkSource::LogEnd);
    assert!(!marks.bounds.pull_known);
    assert_eq!(marks.bounds.pull_ms, 719 * MINUTE);
}

#[test]
fn a_fire_that_dies_under_raw_meat_is_no_pull() {
    let marks = find(MarkTimes::default(), &[], |core, pit| {
        for (minute, (core, pit)) in core.iter_mut().zip(pit.iter_mut()).enumerate() {
            *core = 5.0 + 0.1 * minute as f64;
            *pit = if minute < 400 { 120.0 } else { 60.0 };
        }
    })
    .unwrap();
    assert!(!marks.bounds.pull_known);
}

#[test]
fn marks_out_of_order_or_after_the_log_are_named() {
    let card = MarkTimes {
        meat_on_ms: Some(60 * MINUTE),
        pull_ms: Some(10 * MINUTE),
        ..Default::default()
    };
    let marks = find(card, &[], |_, _| ()).unwrap();
    assert!(matches!(marks.problems[..], [MarkProblem::OutOfOrder { mark: Mark::Pull, .. }]));
    assert_eq!(marks.pull.source, MarkSource::Log);

    let card = MarkTimes { pull_ms: Some(800 * MINUTE), ..Default::default() };
    let marks = find(card, &[], |_, _| ()).unwrap();
    assert!(
        matches!(marks.problems[..], [MarkProblem::AfterLog { mark: Mark::Pull, by_ms }] if by_ms == 81 * MINUTE)
    );
    assert!(!marks.bounds.pull_known);
    assert_eq!(marks.pull.at_ms, 800 * MINUTE);
}

#[test]
fn a_cook_on_another_day_than_its_log_is_refused() {
    let card = MarkTimes {
        meat_on_ms: Some(2000 * MINUTE),
        pull_ms: Some(2600 * MINUTE),
        ..Default::default()
    };
    assert!(matches!(find(card, &[], |_, _| ()), Err(PhasesError::OutsideLog { .. })));
    let card = MarkTimes {
        meat_on_ms: Some(-900 * MINUTE),
        pull_ms: Some(-100 * MINUTE),
        ..Default::default()
    };
    assert!(matches!(find(card, &[], |_, _| ()), Err(PhasesError::OutsideLog { .. })));
}

#[test]
fn a_stated_pull_that_the_core_outlives_is_corrected_with_a_warning() {
    // Five hours early, at 49 °C: the core rises on by 44 °C under a hot pit.
    let card = MarkTimes { pull_ms: Some(300 * MINUTE), ..Default::default() };
    let marks = find(card, &[], |_, _| ()).unwrap();
    assert_eq!(marks.pull.source, MarkSource::Log);
    assert!(matches!(
        marks.problems[..],
        [MarkProblem::Contradicted { mark: Mark::Pull, by_ms }] if by_ms > 290 * MINUTE
    ));
    // A late hand is believed.
    let card = MarkTimes { pull_ms: Some(580 * MINUTE), ..Default::default() };
    let marks = find(card, &[], |_, _| ()).unwrap();
    assert!(marks.pull.source == MarkSource::Card && marks.problems.is_empty());
}

#[test]
fn a_stated_meat_on_with_the_probe_still_in_the_air_is_corrected() {
    let card = MarkTimes { meat_on_ms: Some(0), ..Default::default() };
    let marks = find(card, &[], |core, _| {
        core[..60].fill(70.0);
        for (minute, value) in core[60..].iter_mut().enumerate() {
            *value = 5.0 + 88.0 * (minute as f64 / 540.0).min(1.0);
        }
    })
    .unwrap();
    assert_eq!((marks.meat_on.at_ms, marks.meat_on.source), (60 * MINUTE, MarkSource::Log));
    assert!(matches!(marks.problems[0], MarkProblem::Contradicted { mark: Mark::MeatOn, .. }));
}

#[test]
fn the_lid_over_raw_meat_tells_meat_on() {
    let marks = find(MarkTimes::default(), &[], |core, pit| {
        core[..90].fill(5.0);
        for (minute, value) in core[90..].iter_mut().enumerate() {
            *value = 5.0 + 88.0 * (minute as f64 / 510.0).min(1.0);
        }
        for since in 0..40_u32 {
            pit[70 + since as usize] -= 25.0 * (-f64::from(since) / 6.0).exp();
        }
    })
    .unwrap();
    assert_eq!(marks.meat_on.source, MarkSource::Log);
    assert!(
        (marks.meat_on.at_ms - 70 * MINUTE).abs() <= MINUTE,
        "{}",
        marks.meat_on.at_ms / MINUTE
    );
}

/// A lid over a pit at 120 °C, closed again.
fn lid_at(pit: &mut [f64], minute: usize) {
    for since in 0..40_u32 {
        pit[minute + since as usize] -= 17.0 * (-f64::from(since) / 6.0).exp();
    }
}

/// A probe in the air of a room.
fn out_of_meat(core: &mut [f64]) {
    let from = core[0];
    for (minute, value) in core.iter_mut().enumerate() {
        *value = 22.0 + (from - 22.0) * (-(minute as f64) / 8.0).exp();
    }
}

#[test]
fn a_lid_under_which_the_core_rises_on_to_its_fall_is_no_pull() {
    // The core rises by 8.8 °C an hour to the end; a spray 50 min before the probe comes out.
    let marks = find(MarkTimes::default(), &[], |core, pit| {
        pit.fill(120.0);
        lid_at(pit, 550);
        out_of_meat(&mut core[600..]);
    })
    .unwrap();
    assert!((marks.pull.at_ms - 600 * MINUTE).abs() <= MINUTE, "{}", marks.pull.at_ms / MINUTE);
    // Taken off through that lid, the core has turned before the probe comes out of it.
    let marks = find(MarkTimes::default(), &[], |core, pit| {
        pit.fill(120.0);
        lid_at(pit, 550);
        for minute in 550..=650 {
            core[minute] = core[549] + 2.0 - (minute as f64 - 590.0).powi(2) / 800.0;
        }
        out_of_meat(&mut core[650..]);
    })
    .unwrap();
    assert!((marks.pull.at_ms - 549 * MINUTE).abs() <= MINUTE, "{}", marks.pull.at_ms / MINUTE);
}

#[test]
fn warm_raw_meat_goes_on_through_the_lid_under_which_the_probe_falls() {
    // From 22 °C in the air to meat at 14 °C; a spray an hour later, when it is near the room's again.
    let marks = find(MarkTimes::default(), &[], |core, pit| {
        core[..60].fill(22.0);
        for (minute, value) in core[60..].iter_mut().enumerate() {
            *value = 14.0 + 0.13 * minute as f64;
        }
        lid_at(pit, 59);
        lid_at(pit, 122);
    })
    .unwrap();
    assert!(
        (marks.meat_on.at_ms - 59 * MINUTE).abs() <= MINUTE,
        "{}",
        marks.meat_on.at_ms / MINUTE
    );
}

/// A pit that swings slowly about 120 °C, an hour and three quarters from top to top, and the meat taken off 600 min on.
/// Then the fire is shut down, or left to sink.
fn swinging(
    swing_c: f64,
    phase: f64,
    sinks_over_min: f64,
) -> impl Fn(&mut Vec<f64>, &mut Vec<f64>) {
    move |core, pit| {
        for (minute, pit) in pit.iter_mut().enumerate() {
            let swing = swing_c * (std::f64::consts::TAU * (minute as f64 / 105.0 + phase)).sin();
            let since = (minute as f64 - 600.0).max(0.0);
            *pit = 20.0 + (100.0 + swing) * (-since / sinks_over_min).exp();
        }
        let mut lagged = pit[0];
        core[0] = 5.0;
        for minute in 1..core.len() {
            lagged += (pit[minute] - lagged) / 25.0;
            let rate = if minute <= 600 {
                0.00245 * (lagged - core[minute - 1])
            } else {
                // Heat from the outside of the meat comes in for some 25 min; then it cools.
                let since = (minute - 600) as f64;
                0.11 * (-since / 12.0).exp() - 0.03 * (1.0 - (-since / 30.0).exp())
            };
            core[minute] = core[minute - 1] + rate;
        }
    }
}

/// How far off the pull is found, min, for ten beginnings of the swing.
fn off_by(swing_c: f64, sinks_over_min: f64) -> Vec<Option<i64>> {
    let off = |phase: i32| {
        let shape = swinging(swing_c, f64::from(phase) / 10.0, sinks_over_min);
        let marks = find(MarkTimes::default(), &[], shape).unwrap();
        marks.bounds.pull_known.then_some(marks.pull.at_ms / MINUTE - 600)
    };
    (0..10).map(off).collect()
}

#[test]
fn a_pit_that_swings_slowly_is_not_taken_for_one_that_falls() {
    // Shut down, it falls by a third in 25 min; swinging, by up to 15 % of what it is above the air.
    for swing_c in [0.0, 3.0, 6.0, 9.0] {
        let off = off_by(swing_c, 60.0);
        let near = off.iter().all(|off| off.is_some_and(|off| off.abs() <= 10));
        assert!(near, "{swing_c}: {off:?}");
    }
    // Left to sink it falls no faster than it swings, and the core has to tell.
    for (swing_c, sinks_over_min) in [(0.0, 150.0), (0.0, 300.0), (3.0, 150.0)] {
        let off = off_by(swing_c, sinks_over_min);
        let near = off.iter().all(|off| off.is_some_and(|off| off.abs() <= 12));
        assert!(near, "{swing_c}, {sinks_over_min}: {off:?}");
    }
}
