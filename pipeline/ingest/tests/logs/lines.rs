//! Lines and cells that are wrong.

use super::{codes, error, read, with_layout};
use cook::Flag;
use std::fmt::Write as _;

#[test]
fn ragged_truncated_and_corrupt_lines_are_rejected_one_by_one() {
    let mut text = String::from("Time,Pit (C),Meat (C),Point (C)\n");
    for minute in 0..20 {
        writeln!(text, "2026-05-02T06:{minute:02}Z,107.{},4.5,5.5", minute % 10).unwrap();
    }
    text.push_str("2026-05-02T06:20Z,107.5,4.5\n2026-05-02T06:21Z,107.5,4.5,5.5,9\nx!,1,2,3\n2026-05-02T06:22Z,1o7,4.5,5.5\n2026-05-02T06:23Z,107.5,4.5,5.5\n2026-05-02T06:24Z,107.5,\"4.5,5.5\n2026-05-02T06:25Z,107.5,4.5,5");
    let log = read(&text);
    assert_eq!(
        codes(&log),
        [
            (22, "too-few-cells"),
            (23, "too-many-cells"),
            (24, "bad-time"),
            (25, "bad-number"),
            (27, "unclosed-quote"),
            (28, "truncated-cell")
        ]
    );
    assert_eq!(log.rejected[3].column.as_deref(), Some("Pit (C)"));
    assert_eq!(log.rejected[3].text, "1o7");
    assert_eq!(log.channels[1].len(), 23);
}

#[test]
fn twice_told_and_disordered_times() {
    let log = read(
        "Time,Pit (C),Meat (C)\n2026-05-02T06:00Z,107,4\n2026-05-02T06:02Z,109,6\n2026-05-02T06:01Z,108,5\n2026-05-02T06:02Z,109,6\n2026-05-02T06:02Z,110,6\n2026-05-02T06:03Z,,7\n2026-05-02T06:03Z,111,7\n2026-05-02T06:04Z,111,7\n",
    );
    assert_eq!(
        codes(&log),
        [(5, "duplicate-time"), (6, "conflicting-time"), (8, "duplicate-time")]
    );
    assert_eq!(log.rejected[2].column.as_deref(), Some("Meat (C)"));
    assert_eq!(log.channels[0].temp_c, [107.0, 108.0, 109.0, 111.0, 111.0]);
    assert_eq!(log.channels[0].line, [2, 4, 3, 8, 9]);
    assert_eq!(log.channels[0].flag.iter().filter(|f| *f == Flag::Reordered).count(), 1);
}

#[test]
fn sentinels_are_counted_and_told_from_temperatures() {
    let mut text = String::from("Time,Pit (F),Meat (F)\n");
    for minute in 0..40 {
        // A firebox that passes through 999 °F, and meat unplugged at 999.
        let pit = 980 + minute;
        let meat = match minute {
            10..14 => "999".to_owned(),
            20 => "HI".to_owned(),
            21 => "-3276.8".to_owned(),
            _ => (41 + minute / 10).to_string(),
        };
        writeln!(text, "2026-05-02T06:{minute:02}Z,{pit},{meat}").unwrap();
    }
    let log = read(&text);
    assert_eq!((log.channels[0].len(), log.channels[1].len()), (40, 34));
    let missing = log.record.evidence.iter().find(|e| e.what == "missing values").unwrap();
    assert_eq!(missing.taken_as, "4 `999`, 1 `-3276.8`, 1 `HI`");
    assert!(missing.because.contains("1 cells of the same numbers are"), "{}", missing.because);
    let measured =
        with_layout(&text, "name = \"a\"\nheader = [\"Time\", \"Pit*\"]\nmeasured = [999.0]\n");
    assert_eq!(measured.channels[1].len(), 38);
}

#[test]
fn a_decimal_sign_in_doubt_is_asked() {
    let text = "Time;Pit (F);Firebox (F)\n2026-05-02T06:00Z;225;1,050\n2026-05-02T06:01Z;226;1,051\n2026-05-02T06:02Z;226;990\n";
    let message = error(text);
    assert!(message.contains("comma: 1.05;") && message.contains("point: 1050;"), "{message}");
    let log = with_layout(text, "name = \"a\"\nheader = [\"Time\"]\ndecimal = \"point\"\n");
    assert!((log.channels[1].temp_c.at(0) - 565.555_5).abs() < 1e-3);
}
