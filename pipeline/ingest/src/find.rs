//! Which log files a card means.

use crate::error::{IngestError, Place};
use crate::sheet::CardRow;
use cook::Card;
use std::path::{Path, PathBuf};

/// A log file under the given paths.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct LogFile {
    /// Path relative to the season folder with `/` between parts, as shown.
    pub shown_as: String,
    /// Where it is.
    pub path: PathBuf,
}

/// A log that a card means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundLog {
    /// The file.
    pub file: LogFile,
    /// The meat channel picked with `#`.
    pub channel: Option<String>,
}

/// Lists the log files under paths (files, folders and globs), relative to `base`, sorted
/// by `shown_as`. Hidden files are left out.
///
/// # Errors
/// [`IngestError::Unreadable`] and [`IngestError::LogNotFound`] for a path or glob that
/// has no file.
pub fn list_logs(paths: &[String], base: &Path) -> Result<Vec<LogFile>, IngestError> {
    let mut found = Vec::new();
    for written in paths {
        let full = base.join(written);
        let before = found.len();
        if full.is_file() {
            found.push(full);
        } else if full.is_dir() {
            walk(&full, &mut found)?;
        } else {
            let pattern = full.to_string_lossy();
            let matches =
                glob::glob(&pattern).map_err(|error| not_found(written, &error.to_string()))?;
            for path in matches.filter_map(Result::ok) {
                if path.is_dir() { walk(&path, &mut found)? } else { found.push(path) }
            }
            if found.len() == before {
                return Err(not_found(
                    written,
                    "a file, a folder or a glob that has files; paths are relative to the season folder",
                ));
            }
        }
    }
    let mut files: Vec<LogFile> = found
        .into_iter()
        .map(|path| {
            let relative = path.strip_prefix(base).unwrap_or(&path);
            let parts: Vec<_> = relative.iter().map(|part| part.to_string_lossy()).collect();
            LogFile { shown_as: parts.join("/").replace("//", "/"), path }
        })
        .collect();
    files.sort();
    files.dedup();
    Ok(files)
}

/// Finds the logs that a card names among `files`: by file name, by relative path, or by
/// a glob over either.
///
/// # Errors
/// [`IngestError::LogNotFound`] with the nearest file name.
pub fn find_logs(
    card: &Card,
    row: &CardRow,
    files: &[LogFile],
) -> Result<Vec<FoundLog>, IngestError> {
    let mut found: Vec<FoundLog> = Vec::new();
    for written in &card.logs {
        let (name, channel) = parts(written, files);
        let matching: Vec<&LogFile> = files.iter().filter(|file| is_meant(name, file)).collect();
        let place = Place::cell(&row.sheet, row.line, "logs", written.as_bytes());
        if matching.is_empty() {
            let names: Vec<&str> =
                files.iter().flat_map(|file| [file_name(file), file.shown_as.as_str()]).collect();
            return Err(IngestError::LogNotFound {
                place: place.into(),
                try_this: match (cook::settings::nearest(name, names), files.is_empty()) {
                    (Some(near), _) => format!("`{near}`"),
                    (None, true) => {
                        "put the logs where `logs` in season.toml (or --logs) says; there is none"
                            .to_owned()
                    }
                    (None, false) => format!(
                        "one of the {} logs there, such as `{}`",
                        files.len(),
                        file_name(&files[0])
                    ),
                },
            });
        }
        // A bare name that is in two folders is no answer.
        let is_glob = name.contains(['*', '?', '[']);
        if let ([first, second, ..], false) = (&matching[..], is_glob) {
            return Err(IngestError::NeedsAnswer {
                place: place.into(),
                question: "two logs have this name".to_owned(),
                readings: [first.shown_as.clone(), second.shown_as.clone()],
                setting: "the path with its folder in the sheet's column `logs`".to_owned(),
            });
        }
        for file in matching {
            let log = FoundLog { file: file.clone(), channel: channel.map(str::to_owned) };
            if !found.contains(&log) {
                found.push(log);
            }
        }
    }
    Ok(found)
}

/// The name and the channel of `file#Channel`; a `#` that is part of a file's name is not
/// taken for one.
fn parts<'w>(written: &'w str, files: &[LogFile]) -> (&'w str, Option<&'w str>) {
    if files.iter().any(|file| is_meant(written, file)) {
        return (written, None);
    }
    match written.rsplit_once('#') {
        Some((name, channel)) if !channel.trim().is_empty() => (name.trim(), Some(channel.trim())),
        _ => (written, None),
    }
}

fn file_name(file: &LogFile) -> &str {
    file.shown_as.rsplit('/').next().unwrap_or(&file.shown_as)
}

fn is_meant(written: &str, file: &LogFile) -> bool {
    let written = written.trim().trim_start_matches("./");
    if written == file.shown_as || written == file_name(file) {
        return true;
    }
    let with_folder = written.contains('/');
    if with_folder && file.shown_as.ends_with(&format!("/{written}")) {
        return true;
    }
    glob::Pattern::new(written).is_ok_and(|pattern| {
        pattern.matches(&file.shown_as) || (!with_folder && pattern.matches(file_name(file)))
    })
}

fn not_found(written: &str, try_this: &str) -> IngestError {
    IngestError::LogNotFound { place: Place::file(written).into(), try_this: try_this.to_owned() }
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), IngestError> {
    let unreadable = |source: std::io::Error| IngestError::Unreadable {
        place: Place::file(&folder.display().to_string()).into(),
        try_this: "check that the folder can be listed".to_owned(),
        source,
    };
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        if hidden {
            continue;
        }
        if path.is_dir() { walk(&path, found)? } else { found.push(path) }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(names: &[&str]) -> Vec<LogFile> {
        names
            .iter()
            .map(|name| LogFile { shown_as: (*name).to_owned(), path: PathBuf::from(name) })
            .collect()
    }

    #[test]
    fn names_paths_and_globs() {
        let files = files(&["logs/a.csv", "logs/b/a.csv", "logs/b/c.csv", "logs/d#2.csv"]);
        let meant = |written: &str| -> Vec<&str> {
            files.iter().filter(|f| is_meant(written, f)).map(|f| f.shown_as.as_str()).collect()
        };
        assert_eq!(meant("c.csv"), ["logs/b/c.csv"]);
        assert_eq!(meant("logs/a.csv"), ["logs/a.csv"]);
        assert_eq!(meant("b/a.csv"), ["logs/b/a.csv"]);
        assert_eq!(meant("?.csv").len(), 3);
        assert_eq!(parts("c.csv#Flat", &files), ("c.csv", Some("Flat")));
        assert_eq!(parts("d#2.csv", &files), ("d#2.csv", None));
    }
}
