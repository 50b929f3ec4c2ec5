//! Which logs a card means.

use crate::error::{IngestError, Place};
use crate::list::LogFile;
use crate::question::{Asked, Settles};
use crate::sheet::CardRow;
use cook::{Answers, Card, QuestionCode};
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// Signs that make a name a glob.
const GLOB: [char; 3] = ['*', '?', '['];
/// Endings that people leave out.
const ENDINGS: [&str; 5] = ["csv", "txt", "tsv", "log", "dat"];
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

/// Logs by all the names that a card may call them by.
#[derive(Debug)]
pub struct LogNames<'f> {
    files: &'f [LogFile],
    /// Name and file, sorted.
    names: Vec<(Name<'f>, usize)>,
    /// Names in small letters, with their place among `names`, sorted; made when first needed.
    folded: OnceLock<Vec<(String, usize)>>,
}

/// A path of a log or of its archive, or what is left of it behind one of its folders.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Name<'f> {
    text: &'f str,
    is_archive: bool,
    is_whole: bool,
}

impl Name<'_> {
    /// Whether all its folders stand before the name, or none.
    fn is_whole_or_last(&self) -> bool {
        self.is_whole || !self.text.contains('/')
    }
}

impl<'f> LogNames<'f> {
    /// Names for logs.
    pub fn new(files: &'f [LogFile]) -> Self {
        let mut names = Vec::new();
        for (index, file) in files.iter().enumerate() {
            let path = file.shown_as.as_str();
            let plain = COMPRESSED.iter().find_map(|ending| path.strip_suffix(ending));
            let paths = [(false, Some(path)), (false, plain), (true, file.archive())];
            for (is_archive, path) in paths {
                let Some(path) = path else { continue };
                names.push((Name { text: path, is_archive, is_whole: true }, index));
                names.extend(path.match_indices('/').map(|(at, _)| {
                    (Name { text: &path[at + 1..], is_archive, is_whole: false }, index)
                }));
            }
        }
        names.sort_unstable();
        Self { files, names, folded: OnceLock::new() }
    }

    /// Finds the logs that a card names: by file name, by relative path, by a glob over
    /// either, or by the name of an archive, which means every log in it. The ending of a
    /// compressed file may be left out. `#Channel` picks a meat channel; a name or channel in
    /// double quotes is taken as it is.
    ///
    /// # Errors
    /// [`IngestError::LogNotFound`] with the nearest file name; [`IngestError::NeedsAnswer`]
    /// where a name without a folder fits two files.
    pub fn find(
        &self,
        card: &Card,
        row: &CardRow,
        answers: &Answers,
    ) -> Result<Vec<FoundLog>, IngestError> {
        let mut found: Vec<FoundLog> = Vec::new();
        for written in &card.logs {
            let meant = Meant::read(written, self);
            let mut matching = meant.logs(self);
            let place = Place::cell(&row.sheet, row.line, "logs", written.as_bytes());
            if matching.is_empty() {
                return Err(not_found(place, &meant.name, self.files));
            }
            // A bare name that is in two folders is no answer.
            if matching.len() > 1 && !self.are_meant_together(&meant, &matching) {
                let asked = self.which(&place, &meant.name, &matching);
                let Some(answer) = answers.to(&asked.question) else {
                    return Err(IngestError::NeedsAnswer {
                        place: place.into(),
                        asked: asked.into(),
                    });
                };
                matching
                    .retain(|index, _| self.files[*index].shown_as.eq_ignore_ascii_case(answer));
            }
            for index in matching.into_keys() {
                let log =
                    FoundLog { file: self.files[index].clone(), channel: meant.channel.clone() };
                if !found.contains(&log) {
                    found.push(log);
                }
            }
        }
        Ok(found)
    }

    /// Which of several logs of one name is meant.
    fn which(&self, place: &Place, name: &str, logs: &BTreeMap<usize, bool>) -> Asked {
        let answers = logs
            .keys()
            .map(|index| {
                let path = self.files[*index].shown_as.clone();
                (path.clone(), format!("the readings of {path}"), Settles::elsewhere())
            })
            .collect();
        Asked::new(
            QuestionCode::LogOfName,
            place,
            vec![name.to_owned()],
            format!("{} logs are called `{name}`", logs.len()),
            answers,
            "the path with its folder in the sheet's column `logs`".to_owned(),
        )
    }

    fn called(&self, text: &str) -> impl Iterator<Item = &(Name<'f>, usize)> {
        let from = self.names.partition_point(|(name, _)| name.text < text);
        self.names[from..].iter().take_while(move |(name, _)| name.text == text)
    }

    fn beginning(&self, head: &str) -> impl Iterator<Item = &(Name<'f>, usize)> {
        let from = self.names.partition_point(|(name, _)| name.text < head);
        self.names[from..].iter().take_while(move |(name, _)| name.text.starts_with(head))
    }

    /// Names that are a text, or a text with an ending that people leave out, whatever the capitals.
    fn alike(&self, text: &str) -> impl Iterator<Item = &(Name<'f>, usize)> {
        let folded = self.folded.get_or_init(|| {
            let names = self.names.iter().enumerate();
            let mut folded: Vec<(String, usize)> =
                names.map(|(at, (name, _))| (name.text.to_lowercase(), at)).collect();
            folded.sort_unstable();
            folded
        });
        let text = text.to_lowercase();
        let from = folded.partition_point(|(name, _)| *name < text);
        let longer = folded[from..].iter().map_while(move |(name, at)| {
            let rest = name.strip_prefix(text.as_str())?;
            Some((rest.is_empty() || rest.strip_prefix('.').is_some_and(is_ending), *at))
        });
        longer.filter(|(is_it, _)| *is_it).map(|(_, at)| &self.names[at])
    }

    /// Whether several logs may be meant: by a glob, or by an archive that is named alone.
    fn are_meant_together(&self, meant: &Meant, logs: &BTreeMap<usize, bool>) -> bool {
        if meant.is_glob() {
            return true;
        }
        let archive = |(index, by_archive): (&usize, &bool)| {
            Some((self.files[*index].archive()?, *by_archive))
        };
        let mut archives: Vec<(&str, bool)> = logs.iter().filter_map(archive).collect();
        archives.dedup();
        matches!(archives[..], [(_, true)])
    }
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
    fn read(written: &str, names: &LogNames<'_>) -> Self {
        let written = written.trim();
        if let Some((name, rest)) = quoted(written) {
            let channel = rest.trim_start().strip_prefix('#').map(str::trim);
            return Self::new(name, true, channel.filter(|channel| !channel.is_empty()));
        }
        let mut splits =
            written.rmatch_indices('#').map(|(at, _)| (&written[..at], &written[at + 1..]));
        for (name, channel) in std::iter::once((written, "")).chain(splits.clone()) {
            let candidate = Self::new(name, false, Some(channel).filter(|c| !c.trim().is_empty()));
            if !candidate.logs(names).is_empty() {
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

    fn is_glob(&self) -> bool {
        !self.literal && self.name.contains(GLOB)
    }

    /// The logs that are meant, by their place in the list; each with whether it is by the
    /// name of its archive.
    fn logs(&self, names: &LogNames<'_>) -> BTreeMap<usize, bool> {
        let mut logs = BTreeMap::new();
        for (name, index) in names.called(&self.name) {
            *logs.entry(*index).or_default() |= name.is_archive;
        }
        let pattern = glob::Pattern::new(&self.name).ok().filter(|_| self.is_glob());
        // A name without its ending, or in other capitals, where no file has the name as it stands.
        if logs.is_empty() && !self.name.is_empty() {
            let longer = names.beginning(&self.name).filter(|(name, _)| {
                name.text[self.name.len()..].strip_prefix('.').is_some_and(is_ending)
            });
            for (name, index) in longer {
                *logs.entry(*index).or_default() |= name.is_archive;
            }
            if logs.is_empty() && !self.is_glob() {
                for (name, index) in names.alike(&self.name) {
                    *logs.entry(*index).or_default() |= name.is_archive;
                }
            }
            if !logs.is_empty() {
                return logs;
            }
        }
        if let Some(pattern) = pattern {
            let head = self.name.split(GLOB).next().unwrap_or_default();
            // `runs.zip/*.csv` may leave out the folder that the archive is in.
            let with_folder = self.name.contains('/');
            names
                .beginning(head)
                .filter(|(name, _)| with_folder || name.is_whole_or_last())
                .filter(|(name, _)| pattern.matches(name.text))
                .for_each(|(name, index)| {
                    *logs.entry(*index).or_default() |= name.is_archive;
                });
        }
        logs
    }
}

fn is_ending(ending: &str) -> bool {
    ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known))
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
    use proptest::prelude::*;
    use std::path::PathBuf;

    fn files(names: &[&str]) -> Vec<LogFile> {
        names.iter().map(|name| LogFile::on_disk(PathBuf::from(name), *name)).collect()
    }

    #[test]
    fn names_paths_and_globs() {
        let files = files(&["logs/a.csv", "logs/b/a.csv", "logs/b/c.csv", "logs/d#2.csv.gz"]);
        let names = LogNames::new(&files);
        let meant = |written: &str| -> Vec<&str> {
            let logs = Meant::read(written, &names).logs(&names);
            logs.into_keys().map(|index| files[index].shown_as.as_str()).collect()
        };
        assert_eq!(meant("c.csv"), ["logs/b/c.csv"]);
        assert_eq!(meant("logs/a.csv"), ["logs/a.csv"]);
        assert_eq!(meant("b/a.csv"), ["logs/b/a.csv"]);
        assert_eq!(meant("b/*.csv"), ["logs/b/a.csv", "logs/b/c.csv"]);
        assert_eq!(meant("?.csv").len(), 3);
        assert_eq!(meant("\"?.csv\"").len(), 0);
        assert_eq!(meant("d#2.csv"), ["logs/d#2.csv.gz"]);
        assert_eq!(meant("c"), ["logs/b/c.csv"]);
        assert_eq!(meant("b/a"), ["logs/b/a.csv"]);
        // Whatever the capitals, where no file is called so.
        assert_eq!(meant("C.CSV"), ["logs/b/c.csv"]);
        assert_eq!(meant("B/C"), ["logs/b/c.csv"]);
        assert_eq!(meant("\"?.CSV\"").len(), 0);
    }

    /// What a name means, file by file.
    fn is_meant(meant: &Meant, file: &LogFile) -> bool {
        let plain = COMPRESSED.iter().find_map(|ending| file.shown_as.strip_suffix(ending));
        [Some(file.shown_as.as_str()), plain].into_iter().flatten().any(|path| {
            let pattern = glob::Pattern::new(&meant.name).ok().filter(|_| meant.is_glob());
            let fits = |path: &str| {
                meant.name == path || pattern.as_ref().is_some_and(|pattern| pattern.matches(path))
            };
            let mut behind = path.match_indices('/').map(|(at, _)| &path[at + 1..]);
            fits(path)
                || if meant.name.contains('/') { behind.any(fits) } else { fits(file_name(path)) }
        })
    }

    proptest! {
        #[test]
        fn names_mean_what_a_look_at_every_file_finds(
            paths in prop::collection::btree_set("(a|b|ab){1,2}(/(a|b|c)(b|#)?){0,2}(.csv)?(.gz)?", 1..12),
            written in "(a|b|ab|\\*|\\?|/|\\[ab\\]){0,4}(.csv)?",
        ) {
            let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
            let files = files(&paths);
            let names = LogNames::new(&files);
            let meant = Meant::read(&written, &names);
            let found: Vec<usize> = meant.logs(&names).into_keys().collect();
            let of = |is: &dyn Fn(&LogFile) -> bool| -> Vec<usize> {
                (0..files.len()).filter(|&index| is(&files[index])).collect()
            };
            let as_written = Meant { literal: true, ..meant.clone() };
            let mut wanted = of(&|file| is_meant(&as_written, file));
            if wanted.is_empty() && !meant.name.is_empty() {
                let with_ending =
                    Meant { name: format!("{}.csv", meant.name), literal: true, channel: None };
                wanted = of(&|file| is_meant(&with_ending, file));
            }
            if wanted.is_empty() && !meant.name.is_empty() && !meant.is_glob() {
                let lower = meant.name.to_lowercase();
                for name in [lower.clone(), lower + ".csv"] {
                    let folded = Meant { name, literal: true, channel: None };
                    wanted.extend(of(&|file| {
                        let path = file.shown_as.to_lowercase();
                        is_meant(&folded, &LogFile::on_disk(PathBuf::from(&path), path.clone()))
                    }));
                }
                wanted.sort_unstable();
                wanted.dedup();
            }
            if wanted.is_empty() || meant.is_glob() {
                wanted.extend(of(&|file| is_meant(&meant, file)));
                wanted.sort_unstable();
                wanted.dedup();
            }
            prop_assert_eq!(found, wanted, "{:?} in {:?}", meant, paths);
        }
    }

    #[test]
    fn a_number_sign_may_be_part_of_either_name() {
        let files = files(&["logs/c.csv", "logs/d#2.csv", "logs/d"]);
        let names = LogNames::new(&files);
        let read = |written: &str| {
            let meant = Meant::read(written, &names);
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
