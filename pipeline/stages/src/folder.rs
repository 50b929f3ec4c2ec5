//! A season folder: making a new one, and opening what is in it.

mod from_logs;

use crate::error::StageError;
use crate::pit::write_pit_page;
use crate::progress::Progress;
use cook::{Question, Questions, Season, Units};
use std::fs;
use std::path::{Path, PathBuf};
use store::{Store, TableName};

/// The questions of a season folder, beside its settings.
pub const QUESTIONS: &str = "questions.toml";
/// A season's settings.
const SETTINGS: &str = "season.toml";
/// What `new` writes, besides the empty `logs/` folder.
const TEMPLATES: [(&str, &str); 5] = [
    (SETTINGS, include_str!("templates/season.toml")),
    ("sheet.csv", include_str!("templates/sheet.csv")),
    ("events.csv", include_str!("templates/events.csv")),
    ("claims.toml", include_str!("templates/claims.toml")),
    ("card.html", include_str!("templates/card.html")),
];

/// What a new season folder is made with.
#[derive(Debug, Clone, Default)]
pub struct NewSeason {
    /// IANA zone of its clocks; left out where nobody said it.
    pub time_zone: Option<String>,
    /// Units that people are shown.
    pub units: Option<Units>,
    /// Logs to copy into it and to fill the sheet from: files, folders, globs.
    pub logs: Vec<PathBuf>,
}

/// What [`new_season`] made.
#[derive(Debug, Clone, Default)]
pub struct MadeSeason {
    /// The files written, copied logs aside.
    pub files: Vec<PathBuf>,
    /// What is to be told of the logs.
    pub notes: Vec<String>,
    /// What the logs leave open; written into the folder's questions, too.
    pub questions: Vec<Question>,
    /// Whether every log became a cook of the sheet with what its curve shows.
    pub is_whole: bool,
}

/// Makes a season folder with commented templates, and what is said of zone and units in them;
/// from logs, a sheet with what they show.
///
/// # Errors
/// A zone that does not exist, a file of a season folder that is there already, or logs that are
/// not there: nothing is written then.
pub fn new_season(
    folder: &Path,
    new: &NewSeason,
    progress: &dyn Progress,
) -> Result<MadeSeason, StageError> {
    if let Some(zone) = &new.time_zone
        && let Err(error) = jiff::tz::TimeZone::get(zone)
    {
        return Err(StageError::Usage {
            message: format!(
                "`{zone}` is no IANA time zone ({error}); write one such as America/Chicago or UTC"
            ),
        });
    }
    for (name, _) in TEMPLATES {
        let path = folder.join(name);
        if path.exists() {
            return Err(StageError::Occupied { path });
        }
    }
    let copies = from_logs::copies(&new.logs, folder)?;
    let logs = folder.join("logs");
    fs::create_dir_all(&logs).map_err(|e| StageError::io(&logs, e))?;
    let mut made = MadeSeason { is_whole: true, ..MadeSeason::default() };
    for (name, text) in TEMPLATES {
        let path = folder.join(name);
        let mut text = text.to_owned();
        if let (SETTINGS, Some(zone)) = (name, &new.time_zone) {
            text = text
                .replace("# time_zone = \"America/Chicago\"", &format!("time_zone = \"{zone}\""));
        }
        if let (SETTINGS, Some(Units::Metric)) = (name, new.units) {
            text = text.replace("units = \"us\"", "units = \"metric\"");
        }
        store::write_atomically(&path, text.as_bytes())?;
        made.files.push(path);
    }
    if !copies.is_empty() {
        from_logs::fill(folder, &copies, &mut made, progress)?;
    }
    made.files.push(write_pit_page(folder)?);
    Ok(made)
}

/// Whether a text names a time zone.
pub fn is_zone(text: &str) -> bool {
    jiff::tz::TimeZone::get(text).is_ok()
}

/// Reads the settings of a season folder, with what was answered in its `questions.toml`.
///
/// # Errors
/// No `season.toml` in it, or one that cannot be read; answers that cannot be read.
pub fn read_season(folder: &Path) -> Result<Season, StageError> {
    let answers = Questions::read(&folder.join(QUESTIONS))?.answers();
    Ok(read_settings(folder)?.with_answers(&answers))
}

/// Reads the settings of a season folder alone.
///
/// # Errors
/// No `season.toml` in it, or one that cannot be read.
pub(crate) fn read_settings(folder: &Path) -> Result<Season, StageError> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::progress::Silent;

    #[test]
    fn the_template_says_the_defaults() {
        let folder = tempfile::tempdir().unwrap();
        new_season(folder.path(), &NewSeason::default(), &Silent).unwrap();
        assert_eq!(read_season(folder.path()).unwrap(), Season::default());
        let folder = tempfile::tempdir().unwrap();
        let prague = NewSeason {
            time_zone: Some("Europe/Prague".into()),
            units: Some(Units::Metric),
            logs: Vec::new(),
        };
        new_season(folder.path(), &prague, &Silent).unwrap();
        let season = read_season(folder.path()).unwrap();
        assert_eq!(
            (season.time_zone.as_deref(), season.units),
            (Some("Europe/Prague"), Units::Metric)
        );
        let nowhere = NewSeason { time_zone: Some("Prague".into()), ..NewSeason::default() };
        let error = new_season(&folder.path().join("other"), &nowhere, &Silent).unwrap_err();
        assert!(error.to_string().contains("no IANA time zone"), "{error}");
        assert!(!folder.path().join("other").exists());
    }

    #[test]
    fn the_printed_card_has_the_fields_of_the_sheet_in_its_order() {
        let card = include_str!("templates/card.html");
        let on_card: Vec<&str> = card
            .split("data-field=\"")
            .skip(1)
            .filter_map(|behind| Some(behind.split_once('"')?.0))
            .collect();
        let in_sheet: Vec<&str> = include_str!("templates/sheet.csv").trim().split(',').collect();
        assert_eq!(on_card, in_sheet);
        // Every one is a column that the reader knows, or a score.
        let folder = tempfile::tempdir().unwrap();
        new_season(folder.path(), &NewSeason::default(), &Silent).unwrap();
        let sheet = folder.path().join("sheet.csv");
        let zone = jiff::tz::TimeZone::UTC;
        let reading = ingest::read_season_sheet(&sheet, "sheet.csv", &(&zone).into()).unwrap();
        assert_eq!(reading.warnings, [""; 0]);
    }

    #[test]
    fn an_occupied_folder_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("sheet.csv"), "mine").unwrap();
        let error = new_season(folder.path(), &NewSeason::default(), &Silent).unwrap_err();
        assert!(matches!(error, StageError::Occupied { .. }));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
