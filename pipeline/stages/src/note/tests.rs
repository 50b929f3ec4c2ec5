use super::*;
use crate::folder::{NewSeason, new_season};
use crate::progress::Silent;

fn noted(
    folder: &Path,
    cook: &str,
    event: &str,
    value: Option<&str>,
) -> Result<String, StageError> {
    let request = NoteRequest { cook, event, value, ..NoteRequest::default() };
    Ok(note(folder, &request)?.rows.remove(0))
}

/// A season of one night, whose meat went on at 22:10 of 1 May 2026 in Chicago.
fn one_night(units: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    new_season(folder.path(), &NewSeason::default(), &Silent).unwrap();
    let settings = folder.path().join("season.toml");
    let text = fs::read_to_string(&settings).unwrap();
    let text = text
        .replace("# time_zone = \"America/Chicago\"", "time_zone = \"America/Chicago\"")
        .replace("units = \"us\"", &format!("units = \"{units}\""));
    fs::write(&settings, text).unwrap();
    let sheet = "cook,date,meat_on,pull\nmay-1,2026-05-01,22:10,10:30\nmay-2,2026-05-02,,\n";
    fs::write(folder.path().join("sheet.csv"), sheet).unwrap();
    folder
}

fn from(folder: &Path, text: &str, cook: Option<&str>) -> Noted {
    let file = folder.join("night.txt");
    fs::write(&file, text).unwrap();
    note_from(folder, &file, cook).unwrap()
}

fn events(folder: &Path) -> String {
    fs::read_to_string(folder.join("events.csv")).unwrap()
}

#[test]
fn a_workbook_is_not_written_to() {
    for name in ["events.xlsx", "Events.ODS", "events.xlsx#Night shift", "old/events.xls"] {
        let folder = tempfile::tempdir().unwrap();
        new_season(folder.path(), &NewSeason::default(), &Silent).unwrap();
        let settings = folder.path().join("season.toml");
        let text = fs::read_to_string(&settings).unwrap().replace("events.csv", name);
        fs::write(&settings, text).unwrap();
        let error = noted(folder.path(), "may-1", "wrap", Some("foil")).unwrap_err();
        assert!(error.to_string().contains("is a spreadsheet"), "{name}: {error}");
        assert!(!folder.path().join(name).exists());
    }
}

#[test]
fn a_note_is_appended_and_a_slip_is_answered() {
    let folder = tempfile::tempdir().unwrap();
    new_season(folder.path(), &NewSeason::default(), &Silent).unwrap();
    fs::write(folder.path().join("sheet.csv"), "cook,date\nmay-1,2025-05-01\n").unwrap();
    let line = noted(folder.path(), "may-1", "wrap", Some("foil")).unwrap();
    assert!(line.starts_with("may-1,20") && line.ends_with(",wrap,foil,"), "{line}");
    let text = fs::read_to_string(folder.path().join("events.csv")).unwrap();
    assert_eq!(text.lines().count(), 2);
    let error = noted(folder.path(), "may-l", "wrap", Some("foil")).unwrap_err().to_string();
    assert!(error.contains("did you mean `may-1`?"), "{error}");
    let error = noted(folder.path(), "may-1", "flip", None).unwrap_err().to_string();
    assert!(error.contains("`flip` is no event"), "{error}");
    for (event, value, wanted) in [
        ("setpoint", Some("170"), "275F"),
        ("fuel", Some("2"), "2kg"),
        ("probe_test", Some("maybe"), "tender or not"),
        ("wrap", None, "method"),
        ("spritz", Some("junk"), "--remark"),
        ("core", Some("165"), "165F"),
        ("core", Some("999F"), "165F"),
        ("core", Some("0F"), "165F"),
        ("setpoint", Some("27F"), "275F"),
        ("setpoint", Some("27 C"), "275F"),
        ("bark", Some("black"), "from 1 to 5"),
    ] {
        let error = noted(folder.path(), "may-1", event, value).unwrap_err().to_string();
        assert!(error.contains(wanted), "{error}");
    }
    assert_eq!(fs::read_to_string(folder.path().join("events.csv")).unwrap(), text);
    fs::write(folder.path().join("events.csv"), "time,event,cook\n").unwrap();
    let error = noted(folder.path(), "may-1", "wrap", Some("foil")).unwrap_err();
    assert!(error.to_string().contains("column `value`"), "{error}");
}

#[test]
fn a_time_may_be_said_and_a_warning_tells_what_lies_outside_the_cook() {
    let folder = one_night("us");
    let at = |at: &str| {
        let request = NoteRequest {
            cook: "may-1",
            event: "core",
            value: Some("165F flat"),
            at: Some(at),
            ..NoteRequest::default()
        };
        note(folder.path(), &request)
    };
    let inside = at("2026-05-02 03:10").unwrap();
    assert_eq!(inside.rows, ["may-1,2026-05-02T03:10:00-05:00,core,165F flat,"]);
    assert_eq!(inside.warnings, [""; 0]);
    assert_eq!(at("+5:00").unwrap().rows, inside.rows);
    let outside = at("2026-05-02 11:10").unwrap();
    assert!(outside.warnings[0].contains("lies after may-1"), "{outside:?}");
    // The last ten past three of any clock lies outside that night.
    assert!(at("3:10").unwrap().warnings[0].contains("may-1, which was on from"));
    assert!(at("soon").unwrap_err().to_string().contains("`soon` is no time"));
}

#[test]
fn three_digits_that_may_be_a_core_are_no_time() {
    let folder = one_night("us");
    let noted = from(folder.path(), "203 pull\n0314 spritz\n430 wrap foil\n", Some("may-1"));
    assert_eq!((noted.refused.len(), noted.rows.len()), (1, 2), "{noted:?}");
    assert!(noted.refused[0].contains("its word behind the time"), "{noted:?}");
}

#[test]
fn plain_lines_are_taken_once() {
    let folder = one_night("us");
    let night = "# the big one\n23:40 spritz cider\n3:12 wrap foil\nbark set; black all over\n4:05 165 flat\n\n5:30 am probe test not\n";
    let first = from(folder.path(), night, Some("may-1"));
    assert_eq!(first.refused, [""; 0]);
    assert_eq!(first.warnings, [""; 0]);
    let said: Vec<String> = first
        .rows
        .iter()
        .map(|row| row.rsplit_once(",line-").unwrap().0.replace("may-1,2026-05-0", ""))
        .collect();
    assert_eq!(
        said,
        [
            "1T23:40:00-05:00,spritz,,cider",
            "2T03:12:00-05:00,wrap,foil,",
            "2T03:12:00-05:00,bark,set,black all over",
            "2T04:05:00-05:00,core,165F flat,",
            "2T05:30:00-05:00,probe_test,not,",
        ]
    );
    let before = events(folder.path());
    let again = from(folder.path(), night, Some("may-1"));
    assert_eq!((again.rows.len(), again.already), (0, 5));
    assert_eq!(events(folder.path()), before);
    // Named in its line; a line more is taken, the others are known.
    let more = from(folder.path(), &format!("{night}may-1 6:00 bark 5\n"), Some("may-1"));
    assert_eq!((more.rows.len(), more.already), (1, 5));
    let metric = one_night("metric");
    let rows = from(metric.path(), "4:05 74", Some("may-1")).rows;
    assert!(rows[0].contains(",core,74C,"), "{rows:?}");
}

#[test]
fn lines_that_cannot_be_used_say_why_and_the_others_are_taken() {
    let folder = one_night("us");
    let text = "bark set\n3:12 rap foil\n3:12 core 999F\n3:20 wrap foil\nmay-2 3:20 wrap foil\n";
    let noted = from(folder.path(), text, Some("may-1"));
    assert_eq!(noted.rows.len(), 1);
    let said = ["says no time", "did you mean `wrap`", "165F", "meat of may-2 went on"];
    assert_eq!(noted.refused.len(), said.len());
    for (refused, said) in noted.refused.iter().zip(said) {
        assert!(refused.contains(said), "{refused}");
    }
    assert!(from(folder.path(), "3:20 spritz", None).refused[0].contains("whose is this"));
}

#[test]
fn an_export_is_taken_once_also_after_an_edit_of_the_sheet() {
    let folder = one_night("us");
    fs::write(
        folder.path().join("events.csv"),
        "cook,time,event,value,note\r\nmay-1,22:30,spritz,,\"two\r\nlines\"\r\n",
    )
    .unwrap();
    let export = "cookstudy/pit/1\nk1-1\tmay-1\t2026-05-02T03:12:00-05:00\twrap\tfoil\t\nk1-2\tmay-1\t2026-05-02T03:13:00-05:00\tbark\t4\tdark\n";
    let first = from(folder.path(), export, None);
    assert_eq!((first.rows.len(), &first.refused[..]), (2, &[][..]));
    let text = events(folder.path());
    assert!(text.starts_with("cook,time,event,value,note,id\r\nmay-1,22:30,spritz,,\"two\r\nlines\",\r\nmay-1,2026-05-02T03:12:00-05:00,wrap,foil,,k1-1\r\n"), "{text}");
    assert!(text.ends_with(",bark,set,dark,k1-2\r\n"), "{text}");
    let edited = text.replace("03:12:00", "03:20:00");
    fs::write(folder.path().join("events.csv"), &edited).unwrap();
    let again = from(folder.path(), export, None);
    assert_eq!((again.rows.len(), again.already, again.warnings.len()), (0, 2, 1));
    assert!(again.warnings[0].contains("its id is k1-1"), "{again:?}");
    assert_eq!(events(folder.path()), edited);
    let bad = from(
        folder.path(),
        "cookstudy/pit/1\nk1-3 may-1 wrap\nk1-4\tmay-9\t2026-05-02T03:12:00-05:00\twrap\tfoil\t\n",
        None,
    );
    assert!(bad.refused[0].contains("with tabs between") && bad.refused[1].contains("may-9"));
}

#[test]
fn a_number_before_an_event_is_a_time_and_an_unknown_word_no_place() {
    let folder = one_night("us");
    let text = "11:30pm spritz\n4 wrap foil\n430 fuel 2 kg\n5:00 am 68 flat\n5:00 am 165 on fire\n5:10 am 4 logs\n";
    let noted = from(folder.path(), text, Some("may-1"));
    let said: Vec<&str> =
        noted.rows.iter().map(|row| row.rsplit_once(",line-").unwrap().0).collect();
    assert_eq!(
        said,
        [
            "may-1,2026-05-01T23:30:00-05:00,spritz,,",
            "may-1,2026-05-02T04:00:00-05:00,wrap,foil,",
            "may-1,2026-05-02T04:30:00-05:00,fuel,2 kg,",
        ]
    );
    for (refused, said) in noted.refused.iter().zip(["68F or 68C", "no place", "no place"]) {
        assert!(refused.contains(said), "{refused}");
    }
    assert_eq!(noted.refused.len(), 3);
}

#[test]
fn a_time_without_its_half_is_asked_about_unless_the_cook_has_ended_by_then() {
    let folder = one_night("us");
    let sheet =
        "cook,date,meat_on,pull\nday,2026-05-01,5:15 am,4:40 pm\nopen,2026-05-03,5:15 am,\n";
    fs::write(folder.path().join("sheet.csv"), sheet).unwrap();
    let noted =
        from(folder.path(), "day 12:30 spritz\nday 1:02 wrap foil\nopen 1:02 wrap foil\n", None);
    assert!(noted.rows[0].contains("2026-05-01T12:30:00"), "{noted:?}");
    assert!(noted.rows[1].contains("2026-05-01T13:02:00"), "{noted:?}");
    assert!(noted.refused[0].contains("1:02 am or 1:02 pm"), "{noted:?}");
}

#[test]
fn answers_are_read_and_what_is_open_is_named() {
    let folder = one_night("us");
    let sheet = "cook,date,meat_on,wrap_at,pull\none,2026-05-01,5:15,1:02,4:42\n";
    fs::write(folder.path().join("sheet.csv"), sheet).unwrap();
    let refused = from(folder.path(), "9:30 spritz\n", Some("one")).refused;
    assert!(
        refused[0].contains("5:15, 1:02, 4:42") && refused[0].contains("questions.toml"),
        "{refused:?}"
    );
    let season = season::NotedSeason::read(folder.path()).unwrap();
    let id = season.open_id("one").unwrap();
    fs::write(
        folder.path().join("questions.toml"),
        format!(
            "schema = \"cookstudy/questions/1\"\n[[question]]\nid = \"{id}\"\nanswer = \"am\"\n"
        ),
    )
    .unwrap();
    let noted = from(folder.path(), "9:30 spritz\n", Some("one"));
    assert!(noted.rows[0].contains("2026-05-01T09:30:00"), "{noted:?}");
    let request =
        NoteRequest { cook: "one", event: "spritz", at: Some("9:30"), ..NoteRequest::default() };
    assert!(note(folder.path(), &request).unwrap().warnings[0].contains("lies after one"));
}

#[test]
fn a_line_that_was_written_down_late_is_of_the_same_night() {
    let folder = one_night("us");
    let sheet = "cook,date,meat_on\nmay-1,2026-05-01,22:10\n";
    fs::write(folder.path().join("sheet.csv"), sheet).unwrap();
    let text = "23:40 spritz\n6:48 wrap foil\n8:05 165 flat\n8:00 spritz ; forgot\nbark set\n10:56 pull\n12:26 slice\n";
    let noted = from(folder.path(), text, Some("may-1"));
    assert!(noted.refused.is_empty(), "{noted:?}");
    let said: Vec<&str> = noted.rows.iter().map(|row| &row[..row.len().min(26)]).collect();
    let day = |clock: &str| format!("may-1,2026-05-02T{clock}");
    // Without a time, a line has that of the line before it; the next clock time follows the latest.
    for (row, clock) in said[1..].iter().zip(["06:48", "08:05", "08:00", "08:00", "10:56", "12:26"])
    {
        assert!(row.starts_with(&day(clock)), "{said:?}");
    }
    assert_eq!(noted.warnings.len(), 2, "{:?}", noted.warnings);
    assert!(noted.warnings[0].contains("night.txt:4: spritz is earlier than a line before it"));
    assert_eq!(from(folder.path(), text, Some("may-1")).already, 7);
}

#[test]
fn a_step_back_over_most_of_the_clock_is_the_next_day() {
    // 14 hours to the next line, or the end that the sheet has.
    let folder = one_night("us");
    let noted = from(folder.path(), "23:40 spritz\n10:15 pull\n", Some("may-1"));
    assert!(noted.rows[1].starts_with("may-1,2026-05-02T10:15"), "{noted:?}");
    let sheet = "cook,date,meat_on,pull\nmay-1,2026-05-01,22:10,2026-05-02 23:30\n";
    fs::write(folder.path().join("sheet.csv"), sheet).unwrap();
    let noted = from(folder.path(), "23:41 spritz\n23:20 core 190F\n", Some("may-1"));
    assert!(noted.rows[1].starts_with("may-1,2026-05-02T23:20"), "{noted:?}");
    assert!(noted.warnings.is_empty(), "{noted:?}");
}

#[test]
fn a_time_may_stand_behind_its_event() {
    let folder = one_night("us");
    let text = "wrap foil (3:12 am)\n4.05 spritz\n6:17 am wrap paper\npull at 8:45 am\nslice 9 a.m.; sharp\n";
    let noted = from(folder.path(), text, Some("may-1"));
    assert!(noted.refused.is_empty(), "{noted:?}");
    let rows: Vec<&str> =
        noted.rows.iter().map(|row| row.rsplit_once(',').expect("an id").0).collect();
    assert_eq!(
        rows,
        [
            "may-1,2026-05-02T03:12:00-05:00,wrap,foil,",
            "may-1,2026-05-02T04:05:00-05:00,spritz,,",
            "may-1,2026-05-02T06:17:00-05:00,wrap,paper,",
            "may-1,2026-05-02T08:45:00-05:00,pull,,",
            "may-1,2026-05-02T09:00:00-05:00,slice,,sharp",
        ]
    );
}

#[test]
fn a_line_of_two_times_or_a_method_with_a_number_is_refused() {
    let folder = one_night("us");
    let text = "6:17 am wrap paper 8:45 am\n3:12 am wrap foil 165\n3:12 am wrap foyl\n2031-05-02 10:00 pull\n";
    let noted = from(folder.path(), text, Some("may-1"));
    assert!(noted.rows.is_empty(), "{noted:?}");
    for (refused, why) in noted.refused.iter().zip([
        "6:17 am or 8:45 am?",
        "not `foil 165`",
        "did you mean `foil`?",
        "still to come",
    ]) {
        assert!(refused.contains(why), "{refused}");
    }
}
