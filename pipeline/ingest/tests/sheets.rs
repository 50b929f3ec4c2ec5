//! Season sheets, events sheets, and a season from files to readings.

use cook::{CookKind, EventKind, Role, WrapMethod};
use ingest::{
    CookSpan, EventsReading, IngestError, Log, LogNames, LogPart, LogUse, ReadOptions,
    SheetReading, TimeBase, assemble, list_logs, read_events_sheet, read_log_bytes,
    read_season_sheet, resolve_fires, resolve_marks,
};
use jiff::tz::TimeZone;
use std::collections::BTreeSet;
use std::path::PathBuf;

fn chicago() -> TimeZone {
    TimeZone::get("America/Chicago").unwrap()
}

fn file(folder: &tempfile::TempDir, name: &str, text: &str) -> PathBuf {
    let path = folder.path().join(name);
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(&path, text).unwrap();
    path
}

fn sheet(text: &str) -> Result<SheetReading, IngestError> {
    let folder = tempfile::tempdir().unwrap();
    read_season_sheet(&file(&folder, "sheet.csv", text), "sheet.csv", &(&chicago()).into())
}

fn events(text: &str, sheet: &SheetReading) -> EventsReading {
    let folder = tempfile::tempdir().unwrap();
    read_events_sheet(
        &file(&folder, "events.csv", text),
        "events.csv",
        &(&chicago()).into(),
        &sheet.cards,
    )
    .unwrap()
}

fn utc(text: &str) -> Option<i64> {
    text.parse::<jiff::Timestamp>().ok().map(jiff::Timestamp::as_millisecond)
}

#[test]
fn a_card_has_si_units_resolved_marks_and_what_is_unknown_as_written() {
    let reading = sheet("cook;date;kind;logs;Raw Weight lb;trimmed_weight_kg;pit_setpoint_f;meat_on;wrap_at;pull;slice;turn_in_at;score_taste;wrap_method;Moon\nb-1;2026-05-02;contest;a.csv#Flat;14,2;5,9;250;22:00;+6:30;07:15;9:00;12:00;8,5;Butcher paper;full\n").unwrap();
    assert!(reading.account.closes());
    assert_eq!(reading.rejected, []);
    let card = &reading.cards[0];
    assert_eq!(
        (card.cook.as_str(), card.season.as_str(), card.kind),
        ("b-1", "2026", Some(CookKind::Contest))
    );
    // 14.2 lb of 0.45359237 kg.
    assert!((card.raw_weight.unwrap().value() - 6.441).abs() < 1e-3);
    assert!((card.pit_setpoint.unwrap().value() - 121.111).abs() < 1e-3);
    assert_eq!(card.marks.meat_on_ms, utc("2026-05-03T03:00:00Z"));
    assert_eq!(card.marks.wrap_ms, utc("2026-05-03T09:30:00Z"));
    assert_eq!(card.marks.pull_ms, utc("2026-05-03T12:15:00Z"));
    assert_eq!(card.marks.slice_ms, utc("2026-05-03T14:00:00Z"));
    assert_eq!(card.turn_in_ms, utc("2026-05-03T17:00:00Z"));
    assert_eq!(card.scores, [("score_taste".to_owned(), 8.5)]);
    assert_eq!(card.wrap_method, Some(WrapMethod::Paper));
    assert_eq!(card.extra, [("Moon".to_owned(), "full".to_owned())]);
}

#[test]
fn a_bad_cell_is_rejected_and_the_row_stays() {
    let mut reading = sheet("cook,date,raw_weight_kg,trimmed_weight_kg,trimmed_weight_lb,cost,pull,kind\na,2026-02-30,-3,5,9,abc,soon,feast\n,2026-05-02,1,,,,,\nb,05/02/2026,1,5,11.02,,+9:00,\n").unwrap();
    resolve_marks(&mut reading, &mut [], &BTreeSet::new(), &chicago());
    assert!(reading.account.closes());
    let mut seen: Vec<String> = reading
        .rejected
        .iter()
        .map(|r| format!("{} {} {} {}", r.line, r.column.as_deref().unwrap_or("-"), r.code, r.text))
        .collect();
    seen.sort();
    assert_eq!(
        seen,
        [
            "2 cost bad-number abc",
            "2 date bad-date 2026-02-30",
            "2 kind bad-value feast",
            "2 pull bad-time soon",
            "2 raw_weight_kg out-of-range -3",
            "2 trimmed_weight_kg units-disagree 5",
            "2 trimmed_weight_lb units-disagree 9",
            "3 - no-cook ,2026-05-02,1,,,,,",
            "4 pull no-meat-on +9:00",
        ]
    );
    // Which of the two dates it is can be answered for the whole sheet.
    let takes: Vec<&str> = reading.questions[0].answers.iter().map(|a| a.take.as_str()).collect();
    assert_eq!((reading.questions.len(), takes), (1, vec!["day-first", "month-first"]));
    assert_eq!(reading.cards.len(), 2);
    assert_eq!(reading.cards[0].raw_weight, None);
    assert!((reading.cards[1].trimmed_weight.unwrap().value() - 5.0).abs() < 1e-12);
}

#[test]
fn an_event_that_was_added_below_later_ones_is_of_the_same_night() {
    let cards = "cook,date,meat_on,pull\na,2026-05-02,22:00,09:30\n";
    let reading = sheet(cards).unwrap();
    let noted = events(
        "cook,time,event,value\na,9:30,pull,\na,3:10,wrap,foil\na,9:00,meat_on,\n",
        &reading,
    );
    let at = |kind: EventKind| noted.events.iter().find(|e| e.kind == kind).map(|e| e.at_ms);
    assert_eq!(at(EventKind::Wrap), utc("2026-05-03T08:10:00Z"));
    assert_eq!(at(EventKind::Pull), utc("2026-05-03T14:30:00Z"));
    // A meat-on that is not the card's is no echo of it.
    assert_ne!(at(EventKind::MeatOn), reading.cards[0].marks.meat_on_ms);
}

#[test]
fn events_fill_marks_and_are_checked() {
    let mut reading =
        sheet("cook,date,meat_on,pull\na,2026-05-02,06:00,+9:00\nb,2026-05-02,,+8:00\n").unwrap();
    let mut all = [events(
        "cook,time,event,value,note\na,05:00,lit,,\na,12:30,wrap,foil,at last\na,13:00,setpoint,170,\na,14:00,probe_test,tender,\na,+8:00,lid,open,\nc,06:00,lit,,\na,later,spritz,,\na,06:10,sprits,,\nb,2026-05-02T07:00,meat_on,,\nb,+1:00,spritz,,\n",
        &reading,
    )];
    resolve_marks(&mut reading, &mut all, &BTreeSet::new(), &chicago());
    let [events] = all;
    assert!(events.account.closes());
    let codes: Vec<(u64, &str, &str)> =
        events.rejected.iter().map(|r| (r.line, r.code.as_str(), r.text.as_str())).collect();
    assert_eq!(
        codes,
        [
            (4, "bad-value", "170"),
            (7, "unknown-cook", "c"),
            (8, "bad-time", "later"),
            (9, "unknown-event", "sprits")
        ]
    );
    let a = &reading.cards[0];
    assert_eq!(a.marks.wrap_ms, utc("2026-05-02T17:30:00Z"));
    assert_eq!(a.wrap_method, Some(WrapMethod::Foil));
    assert_eq!(a.last_probe_test_tender, Some(true));
    let lit = events.events.iter().find(|e| e.kind == EventKind::Lit).unwrap();
    assert_eq!(Some(lit.at_ms), utc("2026-05-02T10:00:00Z"));
    let b = &reading.cards[1];
    assert_eq!(b.marks.meat_on_ms, utc("2026-05-02T12:00:00Z"));
    assert_eq!(b.marks.pull_ms, utc("2026-05-02T20:00:00Z"));
    assert_eq!(Some(events.events.last().unwrap().at_ms), utc("2026-05-02T13:00:00Z"));
}

#[test]
fn elapsed_logs_are_anchored_by_the_stated_rule() {
    let log = read_log_bytes(
        b"elapsed_s,pit_c,meat_c\n0,100,5\n60,101,6\n",
        "e.csv",
        &ReadOptions::default(),
    )
    .unwrap();
    assert_eq!(log.time, TimeBase::Elapsed);
    let mut reading = sheet("cook,date,meat_on,pull\nb,,2026-05-02T06:00,+9:00\nc,2026-05-02,+0:10,+9:00\nd,2026-05-02,,+9:00\ne,,,\n").unwrap();
    let elapsed = ["b", "c", "d", "e"].map(str::to_owned).into();
    let anchors = resolve_marks(&mut reading, &mut [], &elapsed, &chicago());
    let firsts: Vec<Option<i64>> = reading
        .cards
        .iter()
        .map(|card| {
            let uses = [LogUse {
                shown_as: "e.csv",
                log: &log,
                channel: None,
                answered: None,
                part: LogPart::default(),
            }];
            assemble(card, anchors.get(&card.cook), &uses).ok()?.readings.first_ms()
        })
        .collect();
    assert_eq!(
        firsts,
        [
            utc("2026-05-02T11:00:00Z"),
            utc("2026-05-02T05:00:00Z"),
            utc("2026-05-02T05:00:00Z"),
            None
        ]
    );
    assert_eq!(reading.cards[1].marks.meat_on_ms, utc("2026-05-02T05:10:00Z"));
    assert_eq!(reading.cards[2].marks.meat_on_ms, utc("2026-05-02T05:00:00Z"));
    assert_eq!(reading.cards[2].marks.pull_ms, utc("2026-05-02T14:00:00Z"));
}

#[test]
fn a_season_from_files_to_fires() {
    let folder = tempfile::tempdir().unwrap();
    file(
        &folder,
        "logs/one.csv",
        "Time,Pit (C),Flat (C),Butt (C)\n2026-05-02T06:00Z,100,5,6\n2026-05-02T06:01Z,101,6,7\n",
    );
    file(
        &folder,
        "logs/two.csv",
        "Time,Pit (C),Flat (C),Butt (C)\n2026-05-02T06:01Z,101,6,7\n2026-05-02T06:02Z,102,7,8\n",
    );
    let path = file(
        &folder,
        "sheet.csv",
        "cook,pit,logs\nx,P,one.csv#Flat; two.csv#Flat\ny,p,*.csv#Butt\n",
    );
    let mut reading = read_season_sheet(&path, "sheet.csv", &(&chicago()).into()).unwrap();
    let files = list_logs(&["logs".to_owned()], folder.path()).unwrap().files;
    assert_eq!(files[0].shown_as, "logs/one.csv");
    let mut spans = Vec::new();
    for (card, row) in reading.cards.iter().zip(&reading.rows) {
        let found = LogNames::new(&files).find(card, row, &cook::Answers::default()).unwrap();
        assert_eq!(found.len(), 2);
        let logs: Vec<_> =
            found.iter().map(|log| log.file.read_log(&ReadOptions::default()).unwrap()).collect();
        let uses: Vec<LogUse<'_>> = found
            .iter()
            .zip(&logs)
            .map(|(found, log)| LogUse {
                shown_as: &found.file.shown_as,
                log,
                channel: found.channel.as_deref(),
                answered: None,
                part: LogPart::default(),
            })
            .collect();
        let assembled = assemble(card, None, &uses).unwrap();
        let readings = &assembled.readings;
        assert_eq!(readings.channels.iter().filter(|c| c.role == Role::Meat).count(), 1);
        assert_eq!(readings.channels[0].temp_c, [100.0, 101.0, 102.0]);
        assert_eq!(readings.channels[0].source, [0, 0, 1]);
        assert_eq!(assembled.rejected.len(), 2);
        spans.push(CookSpan {
            cook: card.cook.clone(),
            first_ms: readings.first_ms().unwrap(),
            last_ms: readings.last_ms().unwrap(),
        });
    }
    resolve_fires(&mut reading.cards, &spans);
    assert_eq!((reading.cards[0].fire.as_str(), reading.cards[1].fire.as_str()), ("x", "x"));
}

#[test]
fn two_sensors_of_one_name_stay_two() {
    let read = |text: &str, name: &str| {
        read_log_bytes(text.as_bytes(), name, &ReadOptions::default()).unwrap()
    };
    let one = read("Time,Pit (C)\n2026-05-02T06:00Z,100\n2026-05-02T06:02Z,101\n", "one.csv");
    let two = read("Time,Pit (C)\n2026-05-02T06:01Z,150\n2026-05-02T06:03Z,151\n", "two.csv");
    let card = cook::Card { cook: "x".into(), ..Default::default() };
    let uses = [
        LogUse {
            shown_as: "one.csv",
            log: &one,
            channel: None,
            answered: None,
            part: LogPart::default(),
        },
        LogUse {
            shown_as: "two.csv",
            log: &two,
            channel: None,
            answered: None,
            part: LogPart::default(),
        },
    ];
    let names: Vec<String> = assemble(&card, None, &uses)
        .unwrap()
        .readings
        .channels
        .into_iter()
        .map(|c| c.name)
        .collect();
    assert_eq!(names, ["Pit", "Pit (two.csv)"]);
}

#[test]
fn messages_that_people_read() {
    let message = |text: &str| sheet(text).unwrap_err().to_string();
    insta::assert_snapshot!("a_sheet_without_cooks", message("cok,date\na,2026-05-02\n"));
    insta::assert_snapshot!(
        "a_name_used_twice",
        message("cook,date\na,2026-05-02\nb,2026-05-03\na,2026-05-04\n")
    );
    insta::assert_snapshot!("a_damaged_workbook", message("PK\u{3}\u{4}"));
    let folder = tempfile::tempdir().unwrap();
    file(&folder, "logs/brisket-01.csv", "");
    let files = list_logs(&["logs".to_owned()], folder.path()).unwrap().files;
    let reading = sheet("cook,logs\na,brisket-1.csv\n").unwrap();
    let names = LogNames::new(&files);
    insta::assert_snapshot!(
        "a_log_that_is_not_there",
        names.find(&reading.cards[0], &reading.rows[0], &cook::Answers::default()).unwrap_err()
    );
    let log = read_log_bytes(
        b"elapsed_s,pit_c,flat_c\n0,100,5\n60,101,6\n",
        "e.csv",
        &ReadOptions::default(),
    )
    .unwrap();
    let uses = |channel| {
        [LogUse { shown_as: "e.csv", log: &log, channel, answered: None, part: LogPart::default() }]
    };
    insta::assert_snapshot!(
        "a_log_without_a_start",
        assemble(&reading.cards[0], None, &uses(None)).unwrap_err()
    );
    let anchor = ingest::ElapsedAnchor {
        zero_ms: 0,
        because: String::new(),
        is_meat_on: false,
        is_assumed: false,
    };
    insta::assert_snapshot!(
        "a_channel_that_is_not_there",
        assemble(&reading.cards[0], Some(&anchor), &uses(Some("flatt"))).unwrap_err()
    );
}

fn read(text: &str, name: &str) -> Log {
    read_log_bytes(text.as_bytes(), name, &ReadOptions::default()).unwrap()
}

fn joined(logs: &[(&str, &Log)]) -> Result<ingest::Assembled, IngestError> {
    let card = cook::Card { cook: "x".into(), ..Default::default() };
    let uses: Vec<LogUse<'_>> = logs
        .iter()
        .map(|(shown_as, log)| LogUse {
            shown_as,
            log,
            channel: None,
            answered: None,
            part: LogPart::default(),
        })
        .collect();
    assemble(&card, None, &uses)
}

#[test]
fn two_logs_that_claim_one_meat_channel_at_one_instant_are_an_error_that_names_both() {
    let one = read(
        "Time,Flat (C)\n2026-05-02T06:00Z,50\n2026-05-02T06:01Z,51\n2026-05-02T06:02Z,52\n",
        "one.csv",
    );
    let two = read(
        "Time,Flat (C)\n2026-05-02T06:01Z,51\n2026-05-02T06:02Z,60\n2026-05-02T06:03Z,61\n",
        "two.csv",
    );
    let message = joined(&[("one.csv", &one), ("two.csv", &two)]).unwrap_err().to_string();
    insta::assert_snapshot!(message);
    // Two pits may have two sensors; a log and its copy are one.
    let pit = |log: &Log| {
        let mut log = log.clone();
        log.channels[0].role = Role::Pit;
        log
    };
    let pits = joined(&[("one.csv", &pit(&one)), ("two.csv", &pit(&two))]).unwrap();
    assert_eq!(pits.readings.channels.len(), 2);
    let twice = joined(&[("one.csv", &one), ("copy of one.csv", &one)]).unwrap();
    assert_eq!((twice.readings.channels.len(), twice.rejected.len()), (1, 0));
    assert_eq!(twice.readings.sources.len(), 1);
    assert!(twice.warnings[0].contains("copy of one.csv"), "{:?}", twice.warnings);
}

#[test]
fn cooks_one_after_the_other_in_one_log_get_their_own_part() {
    let log = read(
        "Time,Pit (C),Flat (C)\n2026-05-02T06:00Z,100,5\n2026-05-02T07:00Z,101,6\n2026-05-02T20:00Z,90,5\n2026-05-02T21:00Z,91,6\n",
        "one.csv",
    );
    let card = cook::Card { cook: "x".into(), ..Default::default() };
    let part =
        LogPart { from_ms: utc("2026-05-02T12:00:00Z"), until_ms: utc("2026-05-02T21:00:00Z") };
    let uses = [LogUse { shown_as: "one.csv", log: &log, channel: None, answered: None, part }];
    let readings = assemble(&card, None, &uses).unwrap().readings;
    assert_eq!(readings.channels[0].temp_c, [90.0]);
    assert_eq!(readings.channels[1].line, [4]);
}

#[test]
fn a_reading_by_hand_without_its_unit_is_told_with_either() {
    let reading = sheet("cook,date,meat_on\na,2026-05-02,06:00\n").unwrap();
    let found = events("cook,time,event,value\na,10:00,core,150 flat\n", &reading);
    let told = found.explain(&found.rejected[0]).unwrap();
    assert!(told.ends_with("try: `150F flat` or `150C flat`"), "{told}");
}
