//! What people read: questions, refusals, warnings, an inspection. A snapshot each, by name.

use super::{at, cook_log, options, read};
use ingest::{IngestError, read_log_bytes};

fn refused(text: &str) -> IngestError {
    read_log_bytes(text.as_bytes(), "logs/a.csv", &options()).unwrap_err()
}

/// Every question of a log but that for the delimiter, by its code. Whether it is asked at all is
/// the affair of other tests; here it is read.
#[test]
fn questions() {
    let jump = cook_log("Time,Pit (C),Meat (C)", |m| {
        at(if m < 300 { m } else { m - 37 }, "%Y-%m-%dT%H:%MZ")
    });
    let cases = [
        ("mark-in-times", "Elapsed (s);Pit (F);Meat (F)\n3,600;225;41\n"),
        (
            "mark-in-temperatures",
            "Time;Pit (F);Firebox (F)\n2026-05-02T06:00Z;225;1,050\n2026-05-02T06:01Z;226;1,051\n2026-05-02T06:02Z;226;990\n",
        ),
        ("unit-of-times", "Elapsed,Pit (F),Meat (F)\n0,225,41\n1,226,41\n"),
        ("clock-or-elapsed", "Time,Pit (F),Meat (F)\n0:10:00,225,41\n0:11:00,226,41\n"),
        ("parts-of-elapsed", "Elapsed,Pit (F),Meat (F)\n0:00,225,41\n0:30,225,41\n"),
        ("date-order", "Time,Pit (F),Meat (F)\n05/06/2026 06:00,225,41\n05/06/2026 06:01,226,41\n"),
        ("first-day", "Time,Pit (F),Meat (F)\n6:00:00,225,41\n6:01:00,226,41\n"),
        (
            "clock-never-set",
            "Time,Pit (F),Meat (F)\n1970-01-01 00:10,225,41\n1970-01-01 00:11,226,41\n",
        ),
        ("clock-put-back", &jump),
        ("hour-twice", "Time,Pit (F),Meat (F)\n2026-11-01 01:30,225,41\n"),
        (
            "hour-skipped",
            "Time,Pit (F),Meat (F)\n2026-03-08 01:58,225,41\n2026-03-08 02:05,225,41\n2026-03-08 02:58,225,41\n2026-03-08 03:02,225,41\n",
        ),
        (
            "unit-of-temperatures",
            "Time,Pit,Brisket\n2026-05-02T06:00Z,225,41\n2026-05-02T06:01Z,226,41\n",
        ),
    ];
    for (code, text) in cases {
        let error = refused(text);
        let asked = error.question().unwrap_or_else(|| panic!("{error}"));
        assert_eq!(asked.code.as_str(), code);
        insta::assert_snapshot!(format!("question-{code}"), error);
    }
}

/// Logs of one kind ask one question; its answer lets each be read, and is told as evidence.
#[test]
fn an_answer_is_taken_for_all_logs_of_a_kind() {
    let text = |hour: u32| {
        format!(
            "Time,Pit,Brisket\n2026-05-02T{hour:02}:00Z,225,41\n2026-05-02T{hour:02}:01Z,226,41\n"
        )
    };
    let ask = |hour: u32, name: &str| {
        read_log_bytes(text(hour).as_bytes(), name, &options()).unwrap_err().question().cloned()
    };
    let (one, other) = (ask(6, "a.csv").unwrap(), ask(9, "logs/b.csv").unwrap());
    assert_eq!(one.id, other.id);
    assert_eq!(one.answers[0].take, "F");
    let hotter = "Time,Pit,Brisket\n2026-05-02T06:00Z,110,4\n2026-05-02T06:01Z,110,4\n";
    let third = read_log_bytes(hotter.as_bytes(), "c.csv", &options()).unwrap_err();
    assert_ne!(third.question().unwrap().id, one.id, "°C is likelier here: another question");

    let mut options = options();
    options.answers = [(one.id.clone(), "f".to_owned())].into_iter().collect();
    let log = read_log_bytes(text(6).as_bytes(), "a.csv", &options).unwrap();
    assert!((log.channels[0].temp_c.at(0) - 107.222_2).abs() < 1e-3);
    assert_eq!(log.answers, [(one.id.clone(), "f".to_owned())]);
    assert!(log.record.evidence.iter().any(|e| e.what == "answer" && e.because.contains(&one.id)));
    options.answers = [(one.id, "K".to_owned())].into_iter().collect();
    let error = read_log_bytes(text(6).as_bytes(), "a.csv", &options).unwrap_err();
    assert!(error.needs_answer(), "what is not offered is no answer: {error}");
}

/// An answer may lead to the next question; each is answered by what it offers.
#[test]
fn every_question_of_a_log_can_be_answered() {
    let jump = cook_log("Time,Pit (C),Meat (C)", |m| {
        at(if m < 300 { m } else { m - 37 }, "%Y-%m-%dT%H:%MZ")
    });
    let cases = [
        "Elapsed (s);Pit (F);Meat (F)\n3,600;225;41\n",
        "Time;Pit (F);Firebox (F)\n2026-05-02T06:00Z;225;1,050\n2026-05-02T06:01Z;226;1,051\n2026-05-02T06:02Z;226;990\n",
        "Elapsed,Pit,Meat\n0,225,41\n1,226,41\n",
        "Time,Pit (F),Meat (F)\n0:10:00,225,41\n0:11:00,226,41\n",
        "Elapsed,Pit (F),Meat (F)\n0:00,225,41\n0:30,225,41\n",
        "Time,Pit (F),Meat (F)\n05/06/2026 06:00,225,41\n05/06/2026 06:01,226,41\n",
        "Time,Pit (F),Meat (F)\n1970-01-01 00:10,225,41\n1970-01-01 00:11,226,41\n",
        &jump,
        "Time,Pit (F),Meat (F)\n2026-11-01 01:30,225,41\n",
        "Time,Pit (F),Meat (F)\n2026-03-08 01:58,225,41\n2026-03-08 02:05,225,41\n2026-03-08 02:58,225,41\n2026-03-08 03:02,225,41\n",
    ];
    for text in cases {
        let first = refused(text).question().unwrap().answers.clone();
        for tried in &first {
            let mut given: Vec<(String, String)> = Vec::new();
            loop {
                let answers = given.iter().cloned().collect();
                let read = read_log_bytes(
                    text.as_bytes(),
                    "logs/a.csv",
                    &ingest::ReadOptions { answers, ..options() },
                );
                let Err(error) = read else { break };
                let asked = error.question().unwrap_or_else(|| panic!("{error}")).clone();
                assert!(given.iter().all(|(id, _)| *id != asked.id), "asked twice: {error}");
                // The answer that is tried, then the likeliest; `<…>` stands for any of its kind.
                let answer = if given.is_empty() { tried } else { &asked.answers[0] };
                let take = answer.take.replace("<date>", "2026-05-02");
                given.push((asked.id, take.replace("<time>", "2026-05-02 06:00")));
            }
            assert!((1..4).contains(&given.len()), "{text}: {given:?}");
        }
    }
}

#[test]
fn refusals() {
    for (name, text) in [
        ("no-table", "Dear diary\ntoday we cooked\n"),
        ("archive", "PK\u{3}\u{4}rest"),
        (
            "most-lines-rejected",
            "Time,Pit (F),Meat (F)\n2026-05-02T06:00Z,225,41\n2026-05-02T06:01Z,225,41\n2026-05-02T06:02Z,225,41,3\n2026-05-02T06:03Z,225,41,3\n2026-05-02T06:04Z,225,41,3\n2026-05-02T06:05Z,225,41\n2026-05-02T06:06Z,225,41,4\n",
        ),
    ] {
        insta::assert_snapshot!(format!("refused-{name}"), refused(text));
    }
}

#[test]
fn a_warning_of_channels_without_roles() {
    let log = read(
        "Time,Channel 1 (F),Channel 2 (F)\n2026-05-02T06:00Z,225,41\n2026-05-02T06:01Z,226,41\n",
    );
    insta::assert_snapshot!("warning-no-roles", log.warnings.join("\n"));
}

#[test]
fn an_inspection_shows_it_in_few_lines() {
    let mut text = cook_log("Time;Channel 1 (C);Channel 2 (C)", |m| at(m, "%d.%m.%Y %H:%M"));
    text = text.replace(',', ";");
    text.push_str("02.05.2026 1x:00;107.0;93.0\n02.05.2026 16:00;107.0;---\n");
    insta::assert_snapshot!("inspection", read(&text).describe(&jiff::tz::TimeZone::UTC));
}
