//! Which logs a card means.

use crate::error::{IngestError, Place};
use crate::list::LogFile;
use crate::question::QuestionCode;
use crate::sheet::CardRow;
use cook::Card;

/// Endings of files that hold one compressed log.
pub(crate) const COMPRESSED: [&str; 3] = [".gz", ".zst", ".zstd"];

/// A log that a card means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundLog {
    /// The file.
    pub file: LogFile,
    /// The meat channel picked with `#`.
    pub channel: Option<String>,
}

/// Finds the logs that a card names among `files`: by file name, by relative path, by a
/// glob over either, or by the name of an archive, which means every log in it. The ending
/// of a compressed file may be left out. `#Channel` picks a meat channel; a name or channel
/// in double quotes is taken as it is.
///
/// # Errors
/// [`IngestError::LogNotFound`] with the nearest file name; [`IngestError::NeedsAnswer`]
/// where a name without a folder fits two files.
pub fn find_logs(
    card: &Card,
    row: &CardRow,
    files: &[LogFile],
) -> Result<Vec<FoundLog>, IngestError> {
    let mut found: Vec<FoundLog> = Vec::new();
    for written in &card.logs {
        let meant = Meant::read(written, files);
        let matching: Vec<&LogFile> = files.iter().filter(|file| meant.is(file)).collect();
        let place = Place::cell(&row.sheet, row.line, "logs", written.as_bytes());
        if matching.is_empty() {
            return Err(not_found(place, &meant.name, files));
        }
        // A bare name that is in two folders is no answer.
        if let ([first, second, ..], false) = (&matching[..], meant.means_several(files)) {
            return Err(IngestError::NeedsAnswer {
                place: place.into(),
                code: QuestionCode::LogOfName,
                question: "two logs have this name".to_owned(),
                readings: [first.shown_as.clone(), second.shown_as.clone()],
                setting: "the path with its folder in the sheet's column `logs`".to_owned(),
            });
        }
        for file in matching {
            let log = FoundLog { file: file.clone(), channel: meant.channel.clone() };
            if !found.contains(&log) {
                found.push(log);
            }
        }
    }
    Ok(found)
}

fn not_found(place: Place, name: &str, files: &[LogFile]) -> IngestError {
    let names: Vec<&str> =
        files.iter().flat_map(|file| [file_name(&file.shown_as), file.shown_as.as_str()]).collect();
    IngestError::LogNotFound {
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
                file_name(&files[0].shown_as)
            ),
        },
    }
}

/// One part of a sheet's `logs` cell.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Meant {
    name: String,
    /// Whether the name was in quotes: no glob.
    literal: bool,
    channel: Option<String>,
}

impl Meant {
    /// Reads `file`, `file#Channel`, `"file"#"Channel"` and mixtures. Without quotes the
    /// longest name that is a file's ends before the `#` that begins the channel, so a
    /// `#` may be part of either.
    fn read(written: &str, files: &[LogFile]) -> Self {
        let written = written.trim();
        if let Some((name, rest)) = quoted(written) {
            let channel = rest.trim_start().strip_prefix('#').map(str::trim);
            return Self::new(name, true, channel.filter(|channel| !channel.is_empty()));
        }
        let mut splits =
            written.rmatch_indices('#').map(|(at, _)| (&written[..at], &written[at + 1..]));
        for (name, channel) in std::iter::once((written, "")).chain(splits.clone()) {
            let candidate = Self::new(name, false, Some(channel).filter(|c| !c.trim().is_empty()));
            if files.iter().any(|file| candidate.is(file)) {
                return candidate;
            }
        }
        // No file: the message is about the shortest name.
        match splits.rfind(|(_, channel)| !channel.trim().is_empty()) {
            Some((name, channel)) => Self::new(name, false, Some(channel)),
            None => Self::new(written, false, None),
        }
    }

    fn new(name: &str, literal: bool, channel: Option<&str>) -> Self {
        let channel = channel.map(|channel| match quoted(channel.trim()) {
            Some((inside, "")) => inside.to_owned(),
            _ => channel.trim().to_owned(),
        });
        let name = name.trim().trim_start_matches("./").to_owned();
        Self { name, literal, channel }
    }

    /// Whether a log is meant.
    fn is(&self, file: &LogFile) -> bool {
        let compressed = COMPRESSED.iter().find_map(|e| file.shown_as.strip_suffix(e));
        self.is_named(&file.shown_as)
            || compressed.is_some_and(|plain| self.is_named(plain))
            || file.archive().is_some_and(|archive| self.is_named(archive))
    }

    fn is_named(&self, path: &str) -> bool {
        let with_folder = self.name.contains('/');
        if self.name == path || self.name == file_name(path) {
            return true;
        }
        if with_folder && path.strip_suffix(&self.name).is_some_and(|before| before.ends_with('/'))
        {
            return true;
        }
        let Ok(pattern) = glob::Pattern::new(&self.name) else { return false };
        let fits = |path: &str| pattern.matches(path);
        self.is_glob()
            && (fits(path)
                || (!with_folder && fits(file_name(path)))
                // `runs.zip/*.csv` may leave out the folder that the archive is in.
                || (with_folder && path.match_indices('/').any(|(at, _)| fits(&path[at + 1..]))))
    }

    fn is_glob(&self) -> bool {
        !self.literal && self.name.contains(['*', '?', '['])
    }

    /// Whether several files may be meant: a glob, or an archive that is named alone.
    fn means_several(&self, files: &[LogFile]) -> bool {
        if self.is_glob() {
            return true;
        }
        let mut archives: Vec<&str> =
            files.iter().filter(|file| self.is(file)).filter_map(LogFile::archive).collect();
        let by_archive = archives.iter().all(|archive| self.is_named(archive));
        archives.dedup();
        by_archive && archives.len() == 1
    }
}

/// A text in double quotes at the head of another, and the rest.
fn quoted(text: &str) -> Option<(&str, &str)> {
    text.strip_prefix('"')?.split_once('"')
}

fn file_name(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::PathBuf;

    fn files(names: &[&str]) -> Vec<LogFile> {
        names.iter().map(|name| LogFile::on_disk(PathBuf::from(name), *name)).collect()
    }

    #[test]
    fn names_paths_and_globs() {
        let files = files(&["logs/a.csv", "logs/b/a.csv", "logs/b/c.csv", "logs/d#2.csv.gz"]);
        let meant = |written: &str| -> Vec<&str> {
            let meant = Meant::read(written, &files);
            files.iter().filter(|f| meant.is(f)).map(|f| f.shown_as.as_str()).collect()
        };
        assert_eq!(meant("c.csv"), ["logs/b/c.csv"]);
        assert_eq!(meant("logs/a.csv"), ["logs/a.csv"]);
        assert_eq!(meant("b/a.csv"), ["logs/b/a.csv"]);
        assert_eq!(meant("b/*.csv"), ["logs/b/a.csv", "logs/b/c.csv"]);
        assert_eq!(meant("?.csv").len(), 3);
        assert_eq!(meant("\"?.csv\"").len(), 0);
        assert_eq!(meant("d#2.csv"), ["logs/d#2.csv.gz"]);
    }

    #[test]
    fn a_number_sign_may_be_part_of_either_name() {
        let files = files(&["logs/c.csv", "logs/d#2.csv", "logs/d"]);
        let read = |written: &str| {
            let meant = Meant::read(written, &files);
            (meant.name, meant.channel)
        };
        let pair = |name: &str, channel: &str| (name.to_owned(), Some(channel.to_owned()));
        assert_eq!(read("c.csv#Flat"), pair("c.csv", "Flat"));
        assert_eq!(read("c.csv#Probe #2"), pair("c.csv", "Probe #2"));
        assert_eq!(read("d#2.csv"), ("d#2.csv".to_owned(), None));
        assert_eq!(read("d#2.csv#Probe #2"), pair("d#2.csv", "Probe #2"));
        assert_eq!(read("\"d\"#2.csv"), pair("d", "2.csv"));
        assert_eq!(read("c.csv#\"#2\""), pair("c.csv", "#2"));
        assert_eq!(read("\"c.csv\" # \"Probe; #2\""), pair("c.csv", "Probe; #2"));
        assert_eq!(read("e.csv#Probe #2"), pair("e.csv", "Probe #2"));
    }
}
