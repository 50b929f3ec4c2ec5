//! Layouts that answer what a log leaves open.

use super::{options, read, read_with, utc, with_layout};
use cook::Role;
use ingest::{ReadOptions, TimeBase, read_log_bytes};

#[test]
fn a_suggested_layout_reads_the_same() {
    for text in [
        "Time,Pit (°F),Brisket [F],Fan %\n2026-05-02 06:00:00,225,41,30\n2026-05-02 06:00:30,226.4,---,35\n",
        "Date;Clock;Pit (C);Meat (C);\n2026-05-02;06:00;107,5;4,25;\n2026-05-02;06:01;108,0;4,5;\n",
        "When\tSensor\tReading (F)\n2026-05-02 06:00\tPit\t225\n2026-05-02 06:00\tFlat\t41\n2026-05-02 06:01\tPit\t226\n",
        "Device: x\nUnits: F\nTime,Pit,Meat\n05/13/2026 6:00 PM,225,41\n05/13/2026 6:01 PM,226,41\n",
        "elapsed_s,pit_f,meat_f\n0,225,41\n30,226,41\n",
    ] {
        let log = read(text);
        let layout = ingest::Layout::parse(&log.suggested_layout().to_toml(), "l.toml").unwrap();
        let again = read_with(text, &ReadOptions { layouts: vec![layout], ..options() });
        assert_eq!(again.channels, log.channels);
        assert_eq!(
            (again.time, again.record.account, &again.rejected),
            (log.time, log.record.account, &log.rejected)
        );
    }
}

#[test]
fn a_layout_answers_what_a_log_leaves_open() {
    let log = with_layout(
        "Time,Pit,Meat\n05/06/2026 06:00,225,41\n05/06/2026 06:01,225,41\n",
        "name = \"a\"\nheader = [\"Time\", \"Pit\"]\nunit = \"F\"\ntime.format = \"month-first\"\n",
    );
    assert_eq!(log.record.layout, "a");
    assert_eq!(log.channels[0].at_ms.at(0), utc("2026-05-06T11:00:00Z"));
    assert_eq!(log.channels[1].temp_c, [5.0, 5.0]);
    let log = with_layout(
        "2026-05-02T06:00Z,107,4\n2026-05-02T06:01Z,108,5\n",
        "name = \"b\"\ncolumns = [\"Time\", \"Pit\", \"Meat\"]\nunit = \"C\"\n",
    );
    assert_eq!(log.record.account.data, 2);
    assert_eq!((log.channels[0].name.as_str(), log.channels[0].role), ("Pit", Role::Pit));
    let log = with_layout(
        "Time,Pit (C),Meat (C)\n2026-03-08 01:58,107,4\n2026-03-08 02:05,107,4\n2026-03-08 02:58,107,4\n2026-03-08 03:02,107,4\n",
        "name = \"c\"\nheader = [\"Time\"]\ntime.utc_offset = \"-06:00\"\n",
    );
    assert_eq!(log.channels[0].at_ms.at(3), utc("2026-03-08T09:02:00Z"));
    let log = with_layout(
        "Elapsed,Pit (C),Meat (C)\n0:00:00,107,4\n0:01:00,107,4\n",
        "name = \"d\"\nheader = [\"Elapsed\"]\ntime.start = \"2026-05-02T06:00\"\n",
    );
    assert_eq!(
        (log.time, log.channels[0].at_ms.at(1)),
        (TimeBase::Absolute, utc("2026-05-02T11:01:00Z"))
    );
}

#[test]
fn a_layout_that_asks_for_another_column_is_refused_with_the_nearest() {
    let layout = ingest::Layout::parse(
        "name = \"a\"\nheader = [\"Time\"]\ntime.columns = [\"Tyme\"]\n",
        "l.toml",
    )
    .unwrap();
    let options = ReadOptions { layouts: vec![layout], ..options() };
    let text = "Time,Pit (C),Meat (C)\n2026-05-02T06:00Z,107,4\n";
    let message = read_log_bytes(text.as_bytes(), "a.csv", &options).unwrap_err().to_string();
    assert!(message.contains("`Tyme`") && message.contains("try: `Time`"), "{message}");
}
