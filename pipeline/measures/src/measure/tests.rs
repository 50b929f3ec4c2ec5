use super::*;
use crate::{HistoryInput, history};
use columns::Value;
use columns::history::HistoryRow;
use cook::{Event, EventKind, MarkTimes};
use phases::{CookCurves, OwnedSamples, SegmentOptions, find_marks, segment};

const MINUTE: i64 = 60_000;

/// A core that warms towards a pit of 120 °C with a coefficient of 0.17 1/h, and a fifth of it
/// between 65 and 72 °C, logged each minute for 15 h; pulled at 14 h, when the pit is shut down.
fn log() -> (OwnedSamples, OwnedSamples) {
    let (pit, free, stalled) = (120.0_f64, 0.17_f64, 0.034_f64);
    let hours = |from: f64, to: f64, k: f64| ((pit - from) / (pit - to)).ln() / k;
    let stall_from = hours(5.0, 65.0, free);
    let stall_to = stall_from + hours(65.0, 72.0, stalled);
    let at_ms: Vec<i64> = (0..15 * 60).map(|minute| minute * MINUTE).collect();
    let core = at_ms
        .iter()
        .map(|&at| {
            let hour = at as f64 / 3.6e6;
            if hour < stall_from {
                pit - (pit - 5.0) * (-free * hour).exp()
            } else if hour < stall_to {
                pit - (pit - 65.0) * (-stalled * (hour - stall_from)).exp()
            } else {
                pit - (pit - 72.0) * (-free * (hour.min(14.5) - stall_to)).exp()
            }
        })
        .collect();
    let pit = at_ms.iter().map(|&at| if at < 840 * MINUTE { pit } else { 40.0 }).collect();
    (OwnedSamples { at_ms: at_ms.clone(), temp_c: core }, OwnedSamples { at_ms, temp_c: pit })
}

struct Run {
    card: Card,
    marks: Marks,
    events: Vec<Event>,
    segmentation: Segmentation,
    definition: PhaseDefinition,
}

impl Run {
    fn new(card: Card, events: Vec<Event>) -> Self {
        let (core, pit) = log();
        Self::of(card, events, &core, &pit)
    }

    fn of(card: Card, events: Vec<Event>, core: &OwnedSamples, pit: &OwnedSamples) -> Self {
        let marks = find_marks(&card.marks, &events, core.view(), pit.view()).unwrap();
        let curves = CookCurves { core: core.view(), pit: pit.view(), wraps_ms: &marks.wraps_ms };
        let options = SegmentOptions::default();
        let segmentation = segment(&curves, &marks.bounds, &options).unwrap();
        Self { card, marks, events, segmentation, definition: options.definition }
    }

    fn row(&self) -> MeasureRow {
        measure(&MeasureInput {
            card: &self.card,
            segmentation: Ok(&self.segmentation),
            marks: Some(&self.marks),
            lead: None,
            events: &self.events,
            definition: &self.definition,
            core_after_slice: Samples::default(),
            assumed_pit_dew_point: None,
        })
    }

    fn history(&self) -> Vec<HistoryRow> {
        history(HistoryInput {
            card: &self.card,
            events: &self.events,
            on_fire: &[],
            marks: &self.marks,
            segmentation: &self.segmentation,
            pit: Samples::default(),
            definition: &self.definition,
        })
    }
}

fn card() -> Card {
    Card {
        cook: "a".into(),
        marks: MarkTimes {
            meat_on_ms: Some(0),
            pull_ms: Some(840 * MINUTE),
            slice_ms: Some(880 * MINUTE),
            wrap_ms: None,
        },
        raw_weight: Some(Kilograms(6.0)),
        trimmed_weight: Some(Kilograms(5.0)),
        cooked_weight: Some(Kilograms(3.0)),
        ..Card::default()
    }
}

#[test]
fn durations_weights_and_clock_by_hand() {
    let row = Run::new(card(), Vec::new()).row();
    assert_eq!(row.total_min, Some(840.0));
    assert_eq!(row.total_min_censored, Some(false));
    assert_eq!(row.min_per_kg, Some(168.0));
    assert_eq!(row.rest_min, Some(40.0));
    assert_eq!(row.yield_fraction, Some(0.5));
    // First 55 °C: ln(115/65)/0.17 h. First 88 °C: to 65, the slow part to 72, and on to 88.
    let zero = (115.0_f64 / 65.0).ln() / 0.17 * 60.0;
    let finish = ((115.0_f64 / 55.0).ln() / 0.17
        + (55.0_f64 / 48.0).ln() / 0.034
        + (48.0_f64 / 32.0).ln() / 0.17)
        * 60.0;
    let close = |value: Option<f64>, expected: f64| (value.unwrap() - expected).abs() < 0.5;
    assert!(close(row.clock_zero_min, zero), "{:?} {zero}", row.clock_zero_min);
    assert!(close(row.clock_to_finish_min, finish - zero));
    assert_eq!((row.finish_reached, row.end_reason.as_str()), (Some(true), "finish"));
    // Steady heating spends a fifth of the slow part's time on it; the rest is delay. k is a
    // little below 0.17 near the slow part, and the reference is taken over 35 to 60 °C.
    let delay = (55.0_f64 / 48.0).ln() * (1.0 / 0.034 - 1.0 / 0.17) * 60.0;
    assert!(
        (row.stall_delay_min.unwrap() - delay).abs() < 1.5,
        "{:?} {delay}",
        row.stall_delay_min
    );
    assert!(close(row.pit_mean_c, 120.0) && close(row.pit_early_c, 120.0));
    // The core goes on rising for half an hour after the pull.
    let rise = row.carryover_c.unwrap();
    let (at_pull, at_top) = {
        let at = |hour: f64| {
            let since = hour - (finish / 60.0 - (48.0_f64 / 32.0).ln() / 0.17);
            120.0 - 48.0 * (-0.17 * since).exp()
        };
        (at(14.0), at(14.5))
    };
    assert!((rise - (at_top - at_pull)).abs() < 0.1, "{rise}");
    assert!(close(row.pull_core_c, at_pull));
}

#[test]
fn the_reason_of_the_end_follows_its_order() {
    let mut run = Run::new(card(), Vec::new());
    run.card.end_reason = Some(EndReason::OutOfTime);
    assert_eq!(run.row().end_reason, "out-of-time");
    let mut early = card();
    early.marks.pull_ms = Some(300 * MINUTE);
    let mut run = Run::new(early, Vec::new());
    let row = run.row();
    assert_eq!((row.finish_reached, row.end_reason.as_str()), (Some(false), "unstated"));
    assert!(row.stall_delay_censored.is_none_or(|censored| censored));
    run.card.last_probe_test_tender = Some(true);
    assert_eq!(run.row().end_reason, "tender");
    let (core, pit) = log();
    let cut = |samples: &OwnedSamples| OwnedSamples {
        at_ms: samples.at_ms[..400].to_vec(),
        temp_c: samples.temp_c[..400].to_vec(),
    };
    let mut open = card();
    open.marks = MarkTimes { meat_on_ms: Some(0), ..MarkTimes::default() };
    let row = Run::of(open, Vec::new(), &cut(&core), &cut(&pit)).row();
    assert_eq!((row.end_reason.as_str(), row.total_min_censored), ("log-end", Some(true)));
    assert_eq!((row.min_per_kg, row.pull_core_c, row.rest_min), (None, None, None));
}

#[test]
fn a_wrap_counts_from_clock_zero_and_an_untimed_one_is_unknown() {
    let mut wrapped = card();
    wrapped.wrap_method = Some(WrapMethod::Paper);
    wrapped.marks.wrap_ms = Some(300 * MINUTE);
    let row = Run::new(wrapped.clone(), Vec::new()).row();
    let zero = row.clock_zero_min.unwrap();
    assert!(row.wrap_time_known);
    assert!((row.clock_to_wrap_min.unwrap() - (300.0 - zero)).abs() < 1e-9);
    assert!(row.wrap_at_core_c.is_some_and(|core| (65.0..72.0).contains(&core)));
    wrapped.marks.wrap_ms = Some(60 * MINUTE);
    assert_eq!(Run::new(wrapped.clone(), Vec::new()).row().clock_to_wrap_min, Some(0.0));
    wrapped.marks.wrap_ms = None;
    let row = Run::new(wrapped.clone(), Vec::new()).row();
    assert_eq!((row.wrap_time_known, row.clock_to_wrap_min), (false, None));
    wrapped.wrap_method = Some(WrapMethod::None);
    let row = Run::new(wrapped, Vec::new()).row();
    assert_eq!((row.wrap_time_known, row.clock_to_wrap_min), (true, None));
}

#[test]
fn history_runs_every_ten_minutes_from_zero_to_the_finish() {
    let mut wrapped = card();
    wrapped.wrap_method = Some(WrapMethod::Foil);
    wrapped.pit_setpoint = Some(Celsius(120.0));
    let events = vec![
        event(EventKind::Wrap, 320, Some("foil")),
        event(EventKind::Unwrap, 500, None),
        event(EventKind::Setpoint, 400, Some("275 F")),
        event(EventKind::Spritz, 300, None),
        event(EventKind::Lid, 300, Some("90")),
    ];
    let run = Run::new(wrapped, events);
    let rows = run.history();
    let clock_min = run.row().clock_to_finish_min.unwrap();
    assert_eq!(rows.len(), (clock_min / 10.0).floor() as usize + 1);
    assert!((rows[0].core_c - 55.0).abs() < 0.1 && rows[0].minute == 0);
    let zero = run.row().clock_zero_min.unwrap();
    for row in &rows {
        let minute = zero + row.minute as f64;
        assert_eq!(row.wrapped, Some((320.0..500.0).contains(&minute)));
        let setpoint = if minute < 400.0 { 120.0 } else { 135.0 };
        assert!((row.setpoint_c.unwrap() - setpoint).abs() < 1e-9);
        let sprayed = (minute..minute + 10.0).contains(&299.999);
        assert_eq!(row.spritzes, i64::from(sprayed));
    }
    assert!((rows.iter().map(|row| row.lid_noted_min).sum::<f64>() - 1.5).abs() < 1e-9);
    let in_stall = rows.iter().filter(|row| row.in_stall == Some(true)).count() as f64 * 10.0;
    assert!((in_stall - run.row().stall_min.unwrap()).abs() <= 10.0);
}

/// [`log`], but the core falls by 0.1 °C a minute from 65 °C at the pull, for 700 min.
fn slowly_cooling() -> (OwnedSamples, OwnedSamples) {
    let (mut core, mut pit) = log();
    core.temp_c.truncate(840);
    pit.temp_c.truncate(840);
    core.temp_c.extend((0..=700).map(|minute| 65.0 - 0.1 * f64::from(minute)));
    pit.temp_c.extend((0..=700).map(|_| 40.0));
    let at_ms: Vec<i64> = (0..=1540).map(|minute| minute * MINUTE).collect();
    (core.at_ms, pit.at_ms) = (at_ms.clone(), at_ms);
    (core, pit)
}

/// The row with what was logged after the slice.
fn row_with_cooling(run: &Run, core: &OwnedSamples) -> MeasureRow {
    let slice_ms = run.segmentation.bounds.end_ms;
    measure(&MeasureInput {
        card: &run.card,
        segmentation: Ok(&run.segmentation),
        marks: Some(&run.marks),
        lead: None,
        events: &run.events,
        definition: &run.definition,
        core_after_slice: core.view().within(slice_ms, i64::MAX),
        assumed_pit_dew_point: Some(Celsius(45.0)),
    })
}

#[test]
fn times_in_the_range_and_of_the_climb_by_hand() {
    let row = Run::new(card(), Vec::new()).row();
    let close = |value: Option<f64>, expected: f64| (value.unwrap() - expected).abs() < 0.5;
    // 120 − 115·e^(−0.17 h) from 5 °C at meat-on: 10 °C, 54.44 °C (130 °F) and 60 °C (140 °F).
    let minute = |core: f64| (115.0_f64 / (120.0 - core)).ln() / 0.17 * 60.0;
    assert!(close(row.core_4_to_60_c_min, minute(60.0)), "{:?}", row.core_4_to_60_c_min);
    assert!(close(row.come_up_min, minute(490.0 / 9.0) - minute(10.0)));
    assert_eq!((row.core_4_to_60_c_censored, row.come_up_censored), (Some(false), Some(false)));
    // Climbing 10.3 °C/h near 60 °C adds up to z/(ln 10 · 10.3 °C/h · D): 5.3 at 59 °C and 8.0 at
    // 60 °C, so 6.5 are reached between; the cap holds the sum to what 157 °F gives in 10 h.
    let reached = row.lethality_6_5_log10_min.unwrap();
    assert!((minute(59.0)..minute(60.0)).contains(&reached), "{reached}");
    let per_min = 10_f64.powf((625.0 / 9.0 - 60.0) / 5.561_83) / 1.769_62;
    assert!(row.lethality_log10.unwrap() < per_min * 600.0);
    // The meat stays hot to the slice.
    assert_eq!((row.hold_below_57_c_min, row.hold_below_60_c_min), (Some(0.0), Some(0.0)));
    assert_eq!((row.hold_observed_min, row.hold_reason.clone()), (Some(40.0), None));
    assert_eq!(row.cooling_reason.as_deref(), Some("not-logged"));
}

#[test]
fn holding_and_cooling_by_hand() {
    let (core, pit) = slowly_cooling();
    let mut sliced = card();
    sliced.marks.slice_ms = Some(940 * MINUTE);
    let run = Run::of(sliced, Vec::new(), &core, &pit);
    let row = row_with_cooling(&run, &core);
    // 65 − 0.1·m: below 60 °C from 50 min on, below 57.22 °C from 77.8 min on, 55 °C at the slice.
    let close = |value: Option<f64>, expected: f64| {
        assert!((value.unwrap() - expected).abs() < 0.5, "{value:?} {expected}");
    };
    close(row.hold_below_60_c_min, 50.0);
    close(row.hold_below_57_c_min, 100.0 - 700.0 / 9.0);
    close(row.hold_lowest_core_c, 55.0);
    // 21.11 °C after 438.9 min, 5 °C after 600 min, both counted from 57.22 °C.
    close(row.cooling_to_21_c_min, (515.0 - 190.0) / 9.0 / 0.1);
    close(row.cooling_to_5_c_min, (515.0 / 9.0 - 5.0) / 0.1);
    assert_eq!(row.cooling_to_5_c_censored, Some(false));
    // A log that ends at 10 °C leaves the second limit open.
    let until =
        OwnedSamples { at_ms: core.at_ms[..1390].to_vec(), temp_c: core.temp_c[..1390].to_vec() };
    let row = row_with_cooling(&run, &until);
    assert_eq!(
        (row.cooling_to_21_c_censored, row.cooling_to_5_c_censored),
        (Some(false), Some(true))
    );
    // Nothing after the slice was logged.
    let row = row_with_cooling(&run, &OwnedSamples::default());
    assert_eq!(
        (row.cooling_to_21_c_min, row.cooling_reason.as_deref()),
        (None, Some("not-logged"))
    );
}

#[test]
fn a_probe_that_leaves_the_meat_measures_no_hold() {
    let (mut core, pit) = slowly_cooling();
    for core in &mut core.temp_c[870..] {
        *core = 22.0;
    }
    let mut sliced = card();
    sliced.marks.slice_ms = Some(940 * MINUTE);
    let run = Run::of(sliced, Vec::new(), &core, &pit);
    let row = row_with_cooling(&run, &core);
    assert_eq!(row.hold_reason.as_deref(), Some("probe-out-before-the-slice"));
    assert_eq!((row.hold_observed_min, row.hold_below_57_c_min), (Some(29.0), Some(0.0)));
    assert!((row.hold_lowest_core_c.unwrap() - 62.1).abs() < 1e-6);
    assert_eq!((row.cooling_to_21_c_min, row.cooling_to_5_c_min), (None, None));
}

#[test]
fn an_assumed_dew_point_gives_a_wet_bulb_and_says_so() {
    let (core, pit) = log();
    let run = Run::of(card(), Vec::new(), &core, &pit);
    let row = row_with_cooling(&run, &OwnedSamples::default());
    assert_eq!(row.pit_dew_point_source.as_deref(), Some("assumed"));
    let (dew, wet, pit) =
        (row.pit_dew_point_c.unwrap(), row.pit_wet_bulb_c.unwrap(), row.pit_stall_c.unwrap());
    assert!(dew < wet && wet < pit && (pit - 120.0).abs() < 1.0, "{dew} {wet} {pit}");
    assert_eq!(Run::new(card(), Vec::new()).row().pit_wet_bulb_c, None);
}

#[test]
fn without_a_segmentation_the_card_and_the_reason_remain() {
    let card = card();
    let row = measure(&MeasureInput {
        card: &card,
        segmentation: Err("the log has no meat channel"),
        marks: None,
        lead: None,
        events: &[],
        definition: &PhaseDefinition::default(),
        core_after_slice: Samples::default(),
        assumed_pit_dew_point: None,
    });
    assert_eq!(row.not_judged_reason.as_deref(), Some("the log has no meat channel"));
    assert_eq!((row.stall_min, row.total_min, row.yield_fraction), (None, None, Some(0.5)));
    assert_eq!(row.end_reason, "unstated");
    let columns = row.columns();
    assert!(columns.contains(&("stall_min".into(), Value::Null)));
}

#[test]
fn another_clock_changes_no_measure() {
    let at = Run::new(card(), Vec::new()).row();
    let shift = 1_780_000_000_000;
    let moved = |samples: OwnedSamples| OwnedSamples {
        at_ms: samples.at_ms.iter().map(|at| at + shift).collect(),
        temp_c: samples.temp_c,
    };
    let (core, pit) = log();
    let mut later = card();
    for mark in [&mut later.marks.meat_on_ms, &mut later.marks.pull_ms, &mut later.marks.slice_ms] {
        *mark = mark.map(|at| at + shift);
    }
    let mut row = Run::of(later, Vec::new(), &moved(core), &moved(pit)).row();
    row.known.meat_on_ms = at.meat_on_ms;
    assert_eq!(row, at);
}

/// A probe test so many minutes after meat-on.
fn event(kind: EventKind, minute: i64, value: Option<&str>) -> Event {
    Event {
        cook: "a".into(),
        at_ms: minute * MINUTE,
        kind,
        value: value.map(str::to_owned),
        note: None,
    }
}

fn felt(minute: i64, value: &str) -> Event {
    event(EventKind::ProbeTest, minute, Some(value))
}

#[test]
fn probe_tests_bound_the_core_at_which_it_was_tender() {
    let row = |events: &[Event]| Run::new(card(), events.to_vec()).row();
    let (core, _) = log();
    let at = |minute: usize| core.temp_c[minute];
    let near = |value: Option<f64>, minute: usize| (value.unwrap() - at(minute)).abs() < 0.1;

    let both = row(&[felt(800, "not"), felt(790, "not"), felt(820, "tender"), felt(830, "tender")]);
    assert!(near(both.tender_above_c, 800) && near(both.tender_by_c, 820), "{both:?}");
    assert_eq!((both.probe_tests, both.tender_reason.clone()), (Some(4), None));

    // The first test finds it tender: below that nothing is known. None does: above the last.
    let left = row(&[felt(800, "tender")]);
    assert!(left.tender_above_c.is_none() && near(left.tender_by_c, 800));
    let right = row(&[felt(800, "not")]);
    assert!(near(right.tender_above_c, 800) && right.tender_by_c.is_none());

    // One place tender, the next not: it was not tender yet.
    let places = row(&[felt(790, "tender"), felt(800, "not"), felt(810, "tender")]);
    assert!(near(places.tender_above_c, 800) && near(places.tender_by_c, 810));

    // A test as it is pulled is told by the core at the pull, one in the rest by nothing.
    let pulled = row(&[felt(800, "not"), felt(843, "tender")]);
    assert!(near(pulled.tender_by_c, 839), "{pulled:?}");
    let late = row(&[felt(870, "tender")]);
    assert_eq!(late.tender_reason.as_deref(), Some("core-not-known"));
    assert_eq!(row(&[]).tender_reason.as_deref(), Some("no-probe-test"));
}

#[test]
fn the_clock_runs_to_the_first_tender_that_holds_else_to_a_pull_for_tenderness() {
    let row = |card: Card, events: &[Event]| Run::new(card, events.to_vec()).row();
    let zero = row(card(), &[]).clock_zero_min.unwrap();
    let felt_at = row(card(), &[felt(790, "tender"), felt(800, "not"), felt(810, "tender")]);
    assert!((felt_at.clock_to_tender_min.unwrap() - (810.0 - zero)).abs() < 1e-9);
    assert_eq!(felt_at.tender_reached, Some(true));
    let never = row(card(), &[felt(800, "not")]);
    let pulled = Card { end_reason: Some(cook::EndReason::Tender), ..card() };
    let at_the_pull = row(pulled, &[]);
    assert_eq!((never.tender_reached, at_the_pull.tender_reached), (Some(false), Some(true)));
    // Without a test that found it tender, both stand for the time to the pull.
    assert_eq!(never.clock_to_tender_min, at_the_pull.clock_to_tender_min);
    assert!(never.clock_to_tender_min > felt_at.clock_to_tender_min);
}

#[test]
fn bark_at_the_wrap_is_the_last_note_of_the_hour_before_it() {
    let wrapped = || Card { wrap_method: Some(WrapMethod::Foil), ..card() };
    let bark = |minute: i64, value: &str| event(EventKind::Bark, minute, Some(value));
    let wrap = || event(EventKind::Wrap, 400, Some("foil"));
    let spot = |minute: i64, value: &str| event(EventKind::Core, minute, Some(value));
    let of = |events: Vec<Event>| Run::new(wrapped(), events).row();
    let noted = of(vec![bark(350, "not-yet"), bark(390, "4"), bark(420, "not-yet"), wrap()]);
    assert_eq!(noted.bark_at_wrap.as_deref(), Some("set"));
    assert_eq!(of(vec![bark(330, "set"), wrap()]).bark_at_wrap, None);
    let unwrapped = Card { wrap_method: Some(WrapMethod::None), ..card() };
    assert_eq!(Run::new(unwrapped, vec![bark(390, "set")]).row().bark_at_wrap, None);
    let by_hand = of(vec![spot(100, "90F"), spot(200, "50C flat"), spot(300, "150"), wrap()]);
    assert_eq!(by_hand.spot_readings, Some(2));
    let history = Run::new(wrapped(), vec![bark(390, "3"), wrap()]).history();
    assert!(history[0].bark.is_none() || by_hand.clock_zero_min.unwrap() > 390.0);
    assert_eq!(history.last().unwrap().bark.as_deref(), Some("nearly"));
}
