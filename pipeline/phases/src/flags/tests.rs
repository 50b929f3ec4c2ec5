use super::*;
use crate::segment::SegmentOptions;
use crate::segment_cook;
use cook::{Card, Flag, MarkTimes, Role};

const MINUTE: i64 = 60_000;

/// Twelve hours, a reading a minute, polluted in known places.
fn polluted() -> CookReadings {
    let mut core = ChannelReadings::new("Flat", Role::Meat);
    let mut pit = ChannelReadings::new("Grate", Role::Pit);
    let push = |channel: &mut ChannelReadings, minute: i64, temp: f64, flag: Flag| {
        channel.at_ms.push(minute * MINUTE);
        channel.temp_c.push(temp as f32);
        channel.flag.push(flag);
        channel.source.push(0);
        channel.line.push(1);
    };
    let course = |minute: f64| 120.0 - 116.0 * (-0.15 * minute / 60.0).exp();
    for minute in 0..720_i64 {
        if (500..530).contains(&minute) {
            continue; // Nothing was logged.
        }
        let after = |at: i64, tau: f64| {
            if minute >= at { (-(minute - at) as f64 / tau).exp() } else { 0.0 }
        };
        let mut meat = course(minute as f64) - 9.0 * after(300, 12.0);
        let mut air = 120.0 + (minute % 7) as f64 * 0.1 - 35.0 * after(300, 12.0);
        if (200..230).contains(&minute) {
            std::mem::swap(&mut meat, &mut air);
        }
        let (mut temp, mut flag) = (meat, Flag::Good);
        match minute {
            50 => (temp, flag) = (900.0, Flag::OutOfRange),
            55 => temp = 300.0,
            100 => temp += 30.0,
            560..580 => temp = course(560.0),
            620..623 => temp = 0.0,
            _ => {}
        }
        if !(400..440).contains(&minute) {
            push(&mut core, minute, temp, flag);
        }
        push(&mut pit, minute, air, Flag::Good);
    }
    CookReadings {
        cook: "a".into(),
        season: "s".into(),
        channels: vec![pit, core],
        sources: vec!["l".into()],
    }
}

fn segmented(readings: &CookReadings) -> SegmentedCook {
    let marks = MarkTimes {
        meat_on_ms: Some(0),
        wrap_ms: Some(302 * MINUTE),
        pull_ms: Some(700 * MINUTE),
        ..MarkTimes::default()
    };
    let card = Card { marks, ..Card::default() };
    segment_cook(readings, &card, &[], &SegmentOptions::default()).unwrap()
}

#[test]
fn every_pollution_is_found_in_its_place_and_nothing_else() {
    let readings = polluted();
    let flags = segmented(&readings).flags(&readings);
    let found: Vec<(&str, &str, &str, i64, usize)> = flags
        .iter()
        .map(|f| {
            let kind = f.kind.as_str();
            (f.channel.as_str(), f.used_as.as_str(), kind, f.start_ms / MINUTE, f.readings)
        })
        .collect();
    assert_eq!(
        found,
        [
            ("Grate", "Flat", "exchanged", 200, 30),
            ("Grate", "Grate", "lid-open", 299, 10),
            ("Grate", "Grate", "gap", 499, 0),
            ("Flat", "Flat", "impossible", 50, 1),
            ("Flat", "Flat", "impossible", 55, 1),
            ("Flat", "Flat", "spike", 100, 1),
            ("Flat", "Grate", "exchanged", 200, 30),
            ("Flat", "Flat", "wrap-dip", 300, 20),
            ("Flat", "Flat", "unplugged", 399, 0),
            ("Flat", "Flat", "gap", 499, 0),
            // The first of the run was true when the probe stuck.
            ("Flat", "Flat", "stuck", 561, 19),
            ("Flat", "Flat", "no-reading", 620, 3),
        ]
    );
    let spike = flags.iter().find(|f| f.kind == FlagKind::Spike).unwrap();
    assert!((spike.size_c.unwrap() - 30.0).abs() < 0.5, "{spike:?}");
    let dip = flags.iter().find(|f| f.kind == FlagKind::WrapDip).unwrap();
    assert!((dip.size_c.unwrap() + 9.0).abs() < 1.0, "{dip:?}");
    let lid = flags.iter().find(|f| f.kind == FlagKind::LidOpen).unwrap();
    assert!((lid.size_c.unwrap() + 35.0).abs() < 1.0, "{lid:?}");
}

#[test]
fn removed_readings_of_an_exchanged_stretch_stand_where_they_were_logged() {
    let mut readings = polluted();
    // While the two are exchanged, the meat's probe is logged as `Grate`.
    readings.channels[0].temp_c[215] += 40.0;
    let flags = segmented(&readings).flags(&readings);
    let spike = flags.iter().find(|f| f.kind == FlagKind::Spike && f.start_ms == 215 * MINUTE);
    let spike = spike.expect("the spike is found");
    assert_eq!((spike.channel.as_str(), spike.used_as.as_str()), ("Grate", "Flat"));
}

#[test]
fn the_edge_of_a_fall_is_not_called_a_spike() {
    let mut readings = polluted();
    // A lid for a moment: the pit is back within a few minutes, its first reading far below.
    for (minute, depth) in [(350, 40.0), (351, 12.0), (352, 8.0), (353, 5.0), (354, 3.0)] {
        readings.channels[0].temp_c[minute] -= depth;
    }
    let flags = segmented(&readings).flags(&readings);
    let at = |kind: FlagKind| flags.iter().any(|f| f.kind == kind && f.start_ms == 350 * MINUTE);
    assert!(at(FlagKind::Edge) && !at(FlagKind::Spike), "{flags:#?}");
}

#[test]
fn a_clean_log_has_no_flags() {
    let mut readings = polluted();
    for channel in &mut readings.channels {
        let is_pit = channel.role == Role::Pit;
        channel.at_ms = (0..720).map(|minute| minute * MINUTE).collect();
        channel.temp_c = (0..720_u16)
            .map(|minute| {
                let warm = 120.0 - 116.0 * (-0.15 * f32::from(minute) / 60.0).exp();
                if is_pit { 120.0 } else { warm }
            })
            .collect();
        channel.flag = vec![Flag::Good; 720];
        channel.source = vec![0; 720];
        channel.line = vec![1; 720];
    }
    assert_eq!(segmented(&readings).flags(&readings), []);
}
