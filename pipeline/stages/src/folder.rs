//! A season folder: making a new one, and adding an event to it by hand.

use crate::error::StageError;
use cook::{EventKind, Season};
use std::fs;
use std::path::{Path, PathBuf};
use store::{Store, TableName};

/// What `new` writes, besides the empty `logs/` folder.
const TEMPLATES: [(&str, &str); 5] = [
    ("season.toml", include_str!("templates/season.toml")),
    ("sheet.csv", include_str!("templates/sheet.csv")),
    ("events.csv", include_str!("templates/events.csv")),
    ("claims.toml", include_str!("templates/claims.toml")),
    ("card.html", include_str!("templates/card.html")),
];

/// Makes a season folder with commented templates. Returns the files written.
///
/// # Errors
/// A file of a season folder that is there already: nothing is written then.
pub fn new_season(folder: &Path) -> Result<Vec<PathBuf>, StageError> {
    for (name, _) in TEMPLATES {
        let path = folder.join(name);
        if path.exists() {
            return Err(StageError::Occupied { path });
        }
    }
    let logs = folder.join("logs");
    fs::create_dir_all(&logs).map_err(|e| StageError::io(&logs, e))?;
    TEMPLATES
        .into_iter()
        .map(|(name, text)| {
            let path = folder.join(name);
            store::write_atomically(&path, text.as_bytes())?;
            Ok(path)
        })
        .collect()
}

/// Reads the settings of a season folder.
///
/// # Errors
/// No `season.toml` in it, or one that cannot be read.
pub fn read_season(folder: &Path) -> Result<Season, StageError> {
    let path = folder.join("season.toml");
    if !path.is_file() {
        return Err(StageError::NoSeason { path: folder.to_owned() });
    }
    Ok(Season::read(&path)?)
}

/// The store at a path, or in the season folder there, and the folder with its settings.
///
/// # Errors
/// No such folder; a season folder without a store.
pub(crate) fn open_store(path: &Path) -> Result<(Store, Option<PathBuf>), StageError> {
    let store = Store::open(path)?;
    let root = store.root();
    let season = if root == path { path.parent() } else { Some(path) };
    let season = season.filter(|folder| folder.join("season.toml").is_file());
    if !store.has_table(TableName::Cooks) && root.join("season.toml").is_file() {
        return Err(StageError::Usage {
            message: format!(
                "{}: this season has no store yet; make it with `cookstudy run {}`",
                root.display(),
                root.display()
            ),
        });
    }
    let season = season.map(Path::to_owned);
    Ok((store, season))
}

/// Appends an event, happening now, to the first events sheet of a season folder. Returns
/// the line written.
///
/// # Errors
/// An event that is none; a cook that no sheet names; an events sheet that is a
/// spreadsheet or has other columns than `cook,time,event,value,note`.
pub fn note(
    folder: &Path,
    cook: &str,
    event: &str,
    value: Option<&str>,
    remark: Option<&str>,
) -> Result<String, StageError> {
    let season = read_season(folder)?;
    let kind: EventKind = event.parse().map_err(|known| StageError::Usage {
        message: format!("`{event}` is no event; known are {known}"),
    })?;
    let value = checked_value(kind, value)?;
    let Some(name) = season.events.first() else {
        return Err(StageError::Usage {
            message: "season.toml names no events sheet; add `events = [\"events.csv\"]`".into(),
        });
    };
    let path = folder.join(name);
    if is_spreadsheet(name) {
        return Err(StageError::Usage {
            message: format!(
                "{name} is a spreadsheet, which only a spreadsheet program should write; use a CSV events sheet to note from the command line"
            ),
        });
    }
    known_cook(folder, &season, cook)?;
    let zone = jiff::tz::TimeZone::get(&season.time_zone)
        .map_err(|e| StageError::Usage { message: e.to_string() })?;
    let now =
        jiff::Timestamp::now().to_zoned_datetime(zone).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string();

    let mut text = match fs::read_to_string(&path) {
        Ok(text) => text,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
            include_str!("templates/events.csv").to_owned()
        }
        Err(e) => return Err(StageError::io(&path, e)),
    };
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
    let header = reader.records().next().and_then(Result::ok).unwrap_or_default();
    let columns: Vec<String> = header.iter().map(|c| c.trim().to_lowercase()).collect();
    let needed = [
        ("cook", true),
        ("time", true),
        ("event", true),
        ("value", value.is_some()),
        ("note", remark.is_some()),
    ];
    if let Some((missing, _)) =
        needed.iter().find(|(wanted, is)| *is && !columns.iter().any(|c| c == wanted))
    {
        return Err(StageError::Table {
            path,
            line: 1,
            column: (*missing).to_owned(),
            message: "the header has no such column; it should read cook,time,event,value,note"
                .into(),
        });
    }
    let mut writer = csv::Writer::from_writer(Vec::new());
    let row = columns.iter().map(|column| match column.as_str() {
        "cook" => cook,
        "time" => &now,
        "event" => kind.as_str(),
        "value" => value.as_deref().unwrap_or_default(),
        "note" => remark.unwrap_or_default(),
        _ => "",
    });
    writer.write_record(row).map_err(|e| StageError::Usage { message: e.to_string() })?;
    let line = String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default();
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    text.push_str(&line);
    store::write_atomically(&path, text.as_bytes())?;
    Ok(line.trim_end().to_owned())
}

/// Whether an events sheet's name is that of a workbook; it may name a worksheet behind `#`.
fn is_spreadsheet(name: &str) -> bool {
    name.to_lowercase()
        .split('#')
        .filter_map(|part| part.rsplit_once('.'))
        .any(|(_, ending)| matches!(ending, "xlsx" | "ods" | "xls"))
}

/// The value in its usual writing, if it is one for that event: what `run` would reject
/// later is answered now, while the hand that wrote it is there.
fn checked_value(kind: EventKind, value: Option<&str>) -> Result<Option<String>, StageError> {
    let wanted = match kind {
        EventKind::Wrap => "its method, such as paper or foil",
        EventKind::Setpoint => "a temperature with its unit, such as 275F or 135C",
        EventKind::Fuel => "a mass with its unit, such as 5lb or 2kg",
        EventKind::ProbeTest => "tender or not",
        EventKind::Lid => "open, close, or for how many seconds it was open",
        _ if value.is_some() => "no value; use --remark for a remark",
        _ => return Ok(None),
    };
    let usual = match (kind, value) {
        (EventKind::Lid, None) => Some("open".to_owned()),
        (_, Some(text)) if kind.takes_value() => ingest::event_value(kind, text),
        _ => None,
    };
    if usual.as_deref().is_none_or(str::is_empty) {
        let given = value.map_or("nothing".to_owned(), |text| format!("`{text}`"));
        return Err(StageError::Usage { message: format!("{kind} takes {wanted}, not {given}") });
    }
    Ok(usual)
}

/// A typing slip at 3 a.m. must not make an event of a cook that does not exist.
fn known_cook(folder: &Path, season: &Season, cook: &str) -> Result<(), StageError> {
    let zone = jiff::tz::TimeZone::get(&season.time_zone)
        .map_err(|e| StageError::Usage { message: e.to_string() })?;
    let mut known = Vec::new();
    for name in &season.sheets {
        let reading = ingest::read_season_sheet(&folder.join(name), name, &(&zone).into())?;
        known.extend(reading.cards.into_iter().map(|card| card.cook));
    }
    if known.iter().any(|name| name == cook) {
        return Ok(());
    }
    let hint = cook::settings::nearest(cook, known.iter().map(String::as_str)).map_or_else(
        || format!("add its row to {} first", season.sheets.join(", ")),
        |name| format!("did you mean `{name}`?"),
    );
    Err(StageError::Usage {
        message: format!("no sheet of this season has a cook `{cook}`; {hint}"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_template_says_the_defaults() {
        let folder = tempfile::tempdir().unwrap();
        new_season(folder.path()).unwrap();
        assert_eq!(read_season(folder.path()).unwrap(), Season::default());
    }

    #[test]
    fn an_occupied_folder_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("sheet.csv"), "mine").unwrap();
        let error = new_season(folder.path()).unwrap_err();
        assert!(matches!(error, StageError::Occupied { .. }));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_workbook_is_not_written_to() {
        for name in ["events.xlsx", "Events.ODS", "events.xlsx#Night shift", "old/events.xls"] {
            let folder = tempfile::tempdir().unwrap();
            new_season(folder.path()).unwrap();
            let settings = folder.path().join("season.toml");
            let text = fs::read_to_string(&settings).unwrap().replace("events.csv", name);
            fs::write(&settings, text).unwrap();
            let error = note(folder.path(), "may-1", "wrap", Some("foil"), None).unwrap_err();
            assert!(error.to_string().contains("is a spreadsheet"), "{name}: {error}");
            assert!(!folder.path().join(name).exists());
        }
    }

    #[test]
    fn a_note_is_appended_and_a_slip_is_answered() {
        let folder = tempfile::tempdir().unwrap();
        new_season(folder.path()).unwrap();
        fs::write(folder.path().join("sheet.csv"), "cook,date\nmay-1,2025-05-01\n").unwrap();
        let line = note(folder.path(), "may-1", "wrap", Some("foil"), None).unwrap();
        assert!(line.starts_with("may-1,20") && line.ends_with(",wrap,foil,"), "{line}");
        let text = fs::read_to_string(folder.path().join("events.csv")).unwrap();
        assert_eq!(text.lines().count(), 2);
        let error =
            note(folder.path(), "may-l", "wrap", Some("foil"), None).unwrap_err().to_string();
        assert!(error.contains("did you mean `may-1`?"), "{error}");
        let error = note(folder.path(), "may-1", "flip", None, None).unwrap_err().to_string();
        assert!(error.contains("`flip` is no event"), "{error}");
        for (event, value, wanted) in [
            ("setpoint", Some("275"), "275F"),
            ("fuel", Some("2"), "2kg"),
            ("probe_test", Some("maybe"), "tender or not"),
            ("wrap", None, "method"),
            ("spritz", Some("junk"), "--remark"),
        ] {
            let error = note(folder.path(), "may-1", event, value, None).unwrap_err().to_string();
            assert!(error.contains(wanted), "{error}");
        }
        assert_eq!(fs::read_to_string(folder.path().join("events.csv")).unwrap(), text);
        fs::write(folder.path().join("events.csv"), "time,event,cook\n").unwrap();
        let error = note(folder.path(), "may-1", "wrap", Some("foil"), None).unwrap_err();
        assert!(error.to_string().contains("column `value`"), "{error}");
    }
}
