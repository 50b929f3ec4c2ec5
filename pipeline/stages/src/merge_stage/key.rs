//! Names that stand for others, and the key that gives them back.

use crate::error::StageError;
use rows::Fingerprint;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::io::Write;
use std::path::Path;

/// Digits of a code; none can be taken for another.
const DIGITS: &[u8; 32] = b"abcdefghjkmnpqrstuvwxyz023456789";
/// Length of a code: two in a hundred thousand cooks meet with a chance of one in 200.
const CODE_LENGTH: usize = 8;
/// A team's dates go back by at least and at most so many whole weeks.
const SHIFT_WEEKS: (u64, u64) = (53, 520);
/// One day, ms.
pub(super) const DAY_MS: i64 = 86_400_000;

/// One name and the code that stands for it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NamePair {
    /// What is named: `cook`, `pit`, `file` …
    pub(super) kind: String,
    /// Whose it is.
    pub(super) team: String,
    /// The name.
    pub(super) name: String,
    /// The code.
    pub(super) code: String,
}

/// By how much the dates of a team were moved.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Shift {
    /// The team.
    pub(super) team: String,
    /// Days added to every date; negative.
    pub(super) days: i64,
}

/// The key: whoever has it can tell who is who.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Key {
    /// What the codes are made from.
    secret: String,
    /// The shifts of dates.
    shifts: BTreeSet<Shift>,
    /// The names.
    names: BTreeSet<NamePair>,
}

impl Key {
    /// A key of this secret, with no names yet.
    pub(super) fn new(secret: String) -> Self {
        Self { secret, shifts: BTreeSet::new(), names: BTreeSet::new() }
    }

    /// Reads a key; `None` where there is no such file.
    ///
    /// # Errors
    /// A file that is no key.
    pub(super) fn read(path: &Path) -> Result<Option<Self>, StageError> {
        let text = match std::fs::read_to_string(path) {
            Ok(text) => text,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(e) => return Err(StageError::io(path, e)),
        };
        let not_a_key = |why: String| StageError::Usage {
            message: format!(
                "{}: not a key of `cookstudy merge` ({why}); name the file that an earlier merge wrote, or one that is not there yet",
                path.display()
            ),
        };
        let key: Self = serde_json::from_str(&text).map_err(|e| not_a_key(e.to_string()))?;
        if key.secret.len() < 32 {
            return Err(not_a_key("its secret is too short to be one".into()));
        }
        Ok(Some(key))
    }

    /// Writes the key, readable to its owner alone.
    pub(super) fn write(&self, path: &Path) -> Result<(), StageError> {
        let text = serde_json::to_string_pretty(self).unwrap_or_default() + "\n";
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let io = |e| StageError::io(path, e);
        // A temporary file is its owner's alone, and stays so under its new name.
        let mut file = tempfile::NamedTempFile::new_in(folder).map_err(io)?;
        file.write_all(text.as_bytes()).map_err(io)?;
        file.as_file().sync_all().map_err(io)?;
        file.persist(path).map_err(|e| StageError::io(path, e.error))?;
        Ok(())
    }

    fn digest(&self, kind: &str, team: &str, name: &str) -> Vec<u8> {
        let mut hash = Fingerprint::keyed("name", &self.secret);
        for part in [kind, team, name] {
            hash.part(part.as_bytes());
        }
        hash.finish().into_bytes()
    }

    /// A hash that only whoever has the key can make of this.
    pub(super) fn hash(&self, kind: &str, text: &str) -> String {
        String::from_utf8_lossy(&self.digest(kind, "", text)).into_owned()
    }

    /// The code of a name; the same key gives the same name the same code.
    pub(super) fn code(&mut self, kind: &str, team: &str, name: &str) -> String {
        // Hexadecimal digits in pairs are bytes again; 5 bits of each make a digit.
        let hex = self.digest(kind, team, name);
        let digit = |pair: &[u8]| {
            let byte = std::str::from_utf8(pair).ok().and_then(|p| u8::from_str_radix(p, 16).ok());
            char::from(DIGITS[usize::from(byte.unwrap_or(0)) % DIGITS.len()])
        };
        let digits: String = hex.chunks(2).take(CODE_LENGTH).map(digit).collect();
        let code = format!("{kind}-{digits}");
        self.names.insert(NamePair {
            kind: kind.to_owned(),
            team: team.to_owned(),
            name: name.to_owned(),
            code: code.clone(),
        });
        code
    }

    /// By how much a team's instants are moved, ms: whole weeks, so that each stays on its day of the
    /// week and at its hour.
    pub(super) fn shift_ms(&mut self, team: &str) -> i64 {
        let hex = self.digest("shift", team, "");
        let text = std::str::from_utf8(&hex[..12]).unwrap_or_default();
        let number = u64::from_str_radix(text, 16).unwrap_or_default();
        let weeks = SHIFT_WEEKS.0 + number % (SHIFT_WEEKS.1 - SHIFT_WEEKS.0 + 1);
        let days = -7 * weeks as i64;
        self.shifts.insert(Shift { team: team.to_owned(), days });
        days * DAY_MS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_key_gives_one_code_and_another_key_another() {
        let mut key = Key::new("a".repeat(64));
        let code = key.code("pit", "oak", "Big Iron");
        assert_eq!(key.code("pit", "oak", "Big Iron"), code);
        assert_ne!(key.code("pit", "river", "Big Iron"), code);
        assert_ne!(key.code("place", "oak", "Big Iron")[6..], code[4..]);
        assert_ne!(Key::new("b".repeat(64)).code("pit", "oak", "Big Iron"), code);
        let shift = key.shift_ms("oak");
        assert_eq!(shift % (7 * DAY_MS), 0);
        assert!((-520 * 7..=-53 * 7).contains(&(shift / DAY_MS)), "{shift}");
    }

    #[test]
    fn a_key_is_read_back_and_another_file_is_none() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("key.json");
        assert_eq!(Key::read(&path).unwrap(), None);
        let mut key = Key::new("a".repeat(64));
        key.code("cook", "oak", "may-1");
        key.shift_ms("oak");
        key.write(&path).unwrap();
        assert_eq!(Key::read(&path).unwrap(), Some(key));
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(&path).unwrap().permissions().mode();
            assert_eq!(mode & 0o077, 0, "others can read it");
        }
        for text in ["{}", "{\"secret\":\"x\",\"shifts\":[],\"names\":[]}", "cook,date\n"] {
            std::fs::write(&path, text).unwrap();
            let error = Key::read(&path).unwrap_err().to_string();
            assert!(error.contains("key.json: not a key"), "{error}");
        }
    }
}
