//! A season folder: making a new one, and opening what is in it.

use crate::error::StageError;
use crate::pit::write_pit_page;
use cook::Season;
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
    let mut written = Vec::new();
    for (name, text) in TEMPLATES {
        let path = folder.join(name);
        store::write_atomically(&path, text.as_bytes())?;
        written.push(path);
    }
    written.push(write_pit_page(folder)?);
    Ok(written)
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
        new_season(folder.path()).unwrap();
        let sheet = folder.path().join("sheet.csv");
        let zone = jiff::tz::TimeZone::UTC;
        let reading = ingest::read_season_sheet(&sheet, "sheet.csv", &(&zone).into()).unwrap();
        assert_eq!(reading.warnings, [""; 0]);
    }

    #[test]
    fn an_occupied_folder_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("sheet.csv"), "mine").unwrap();
        let error = new_season(folder.path()).unwrap_err();
        assert!(matches!(error, StageError::Occupied { .. }));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
