//! A layout: how one kind of log is read.
//!
//! A layout may leave anything open; what it does not say is found in the file, and
//! recorded as evidence. A layout is used for a log whose header has every name that it
//! asks for. The user's layouts are tried first, then those of `schemas/layouts/`.

use crate::error::{IngestError, Place};
use crate::time::TimeFormat;
use cook::Role;
use cook::season::TemperatureUnit;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Whether a line holds one instant of all channels or one reading of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// Time, then one column a channel.
    Wide,
    /// Time, channel, value, and perhaps unit.
    Long,
}

/// What stands between two cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tab.
    Tab,
    /// `|`
    Pipe,
    /// Two spaces or more; single spaces belong to the cells.
    Gaps,
    /// One space or more.
    Spaces,
}

impl Delimiter {
    /// Every delimiter, in the order in which they are tried.
    pub const ALL: [Self; 6] =
        [Self::Comma, Self::Semicolon, Self::Tab, Self::Pipe, Self::Gaps, Self::Spaces];

    /// The byte; for [`Self::Gaps`] a control character that stands for them.
    pub fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
            Self::Pipe => b'|',
            Self::Gaps => crate::text::GAP,
            Self::Spaces => b' ',
        }
    }

    /// The word in a layout.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
            Self::Pipe => "pipe",
            Self::Gaps => "gaps",
            Self::Spaces => "spaces",
        }
    }
}

/// What stands before the decimals of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Decimal {
    /// `103.5`
    Point,
    /// `103,5`
    Comma,
}

impl Decimal {
    /// The byte.
    pub fn byte(self) -> u8 {
        match self {
            Self::Point => b'.',
            Self::Comma => b',',
        }
    }

    /// The word in a layout.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// How the time of a line is found.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct TimeLayout {
    /// The time column, or the date column and the clock column.
    pub columns: Vec<String>,
    /// How times are written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub format: Option<TimeFormat>,
    /// Offset from UTC of times without one (`-05:00`), for a logger whose clock does not
    /// follow daylight saving; the season's time zone otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub utc_offset: Option<String>,
    /// Instant of elapsed zero, or of the first line of a log that has no date or whose clock
    /// was never set, ISO 8601.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
}

/// How one kind of log is read; what is left out is found in the file.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Layout {
    /// The layout's name.
    pub name: String,
    /// Names that a log's header must have for this layout to be used, compared without
    /// regard to case, as they stand in the file; `*` stands for any text.
    pub header: Vec<String>,
    /// Column names for a log without a header line.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<String>,
    /// Wide or long.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub form: Option<Form>,
    /// What stands between two cells.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delimiter: Option<Delimiter>,
    /// What stands before the decimals.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<Decimal>,
    /// Lines before the header, where their number is fixed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub preamble_lines: Option<u32>,
    /// Lines of names that the header has: 2 where a column's name stands in two lines.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub header_rows: Option<u32>,
    /// Whether a line of units follows the header.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub units_row: Option<bool>,
    /// What a remark line begins with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub comment: Option<String>,
    /// Unit of temperatures where neither the header nor a cell says one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<TemperatureUnit>,
    /// Long form: the column with the channel's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub channel_column: Option<String>,
    /// Long form: the column with the temperature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value_column: Option<String>,
    /// Long form: the column with the unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit_column: Option<String>,
    /// Texts that mean "no value", besides the usual ones.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sentinels: Vec<String>,
    /// Numbers that would be taken for "no value" and are temperatures of this log (`999`).
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub measured: Vec<f64>,
    /// Columns that are no temperatures.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ignore: Vec<String>,
    /// How the time of a line is found.
    pub time: TimeLayout,
    /// Unit by column (wide) or channel (long); overrides what the file says.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub units: BTreeMap<String, TemperatureUnit>,
    /// Role by column or channel; overrides what its words say.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub roles: BTreeMap<String, Role>,
}

/// The layouts that come with the crate.
const BUILT_IN: [(&str, &str); 4] = [
    ("plain-wide", include_str!("../../../schemas/layouts/plain-wide.toml")),
    ("plain-long", include_str!("../../../schemas/layouts/plain-long.toml")),
    ("date-clock-semicolon", include_str!("../../../schemas/layouts/date-clock-semicolon.toml")),
    ("elapsed-wide", include_str!("../../../schemas/layouts/elapsed-wide.toml")),
];

impl Layout {
    /// Reads a layout file.
    ///
    /// # Errors
    /// [`IngestError::LayoutText`] for a file that cannot be read, is not TOML or has an
    /// unknown key; [`IngestError::BadLayout`] for values that contradict each other.
    pub fn read(path: &Path) -> Result<Self, IngestError> {
        let layout: Self = cook::settings::read(path)?;
        layout.check(&path.display().to_string())?;
        Ok(layout)
    }

    /// The layout files that settings name: files, folders (every `.toml` in them) and globs,
    /// relative to `base`.
    ///
    /// # Errors
    /// [`IngestError::BadLayout`] for a name that has no file.
    pub fn files(base: &Path, names: &[String]) -> Result<Vec<PathBuf>, IngestError> {
        let mut files = Vec::new();
        for name in names {
            let path = base.join(name);
            if path.is_file() {
                files.push(path);
                continue;
            }
            let pattern = if path.is_dir() { path.join("*.toml") } else { path.clone() };
            let found = glob::glob(&pattern.to_string_lossy()).into_iter().flatten();
            let before = files.len();
            files.extend(found.filter_map(Result::ok).filter(|path| path.is_file()));
            if files.len() == before && !path.is_dir() {
                return Err(IngestError::BadLayout {
                    place: Place::file(name).into(),
                    what: "there is no such layout".to_owned(),
                    try_this: "a file, a folder or a glob; paths are relative to the folder of season.toml".to_owned(),
                });
            }
        }
        Ok(files)
    }

    /// Parses a layout; `shown_as` is for messages.
    ///
    /// # Errors
    /// As [`Layout::read`].
    pub fn parse(text: &str, shown_as: &str) -> Result<Self, IngestError> {
        let layout: Self = cook::settings::parse(text, Path::new(shown_as))?;
        layout.check(shown_as)?;
        Ok(layout)
    }

    /// The layout as the text of a layout file.
    pub fn to_toml(&self) -> String {
        toml::to_string(self).expect("a layout has only what TOML can hold")
    }

    /// The layouts that come with the crate.
    pub fn built_in() -> Vec<Self> {
        BUILT_IN
            .iter()
            .map(|(name, text)| {
                Self::parse(text, name).expect("the built-in layouts are checked by a test")
            })
            .collect()
    }

    /// Whether a log with this header is read by this layout.
    pub fn matches(&self, header: &[String]) -> bool {
        !self.header.is_empty()
            && self.header.iter().all(|wanted| header.iter().any(|name| alike(wanted, name)))
    }

    /// Whether every name of a log's header is one that this layout asks for.
    pub(crate) fn knows_all(&self, header: &[String]) -> bool {
        header
            .iter()
            .filter(|name| !name.is_empty())
            .all(|name| self.header.iter().any(|wanted| alike(wanted, name)))
    }

    fn check(&self, shown_as: &str) -> Result<(), IngestError> {
        let bad = |key: &str, text: &str, what: &str, try_this: &str| {
            Err(IngestError::BadLayout {
                place: Place::cell(shown_as, 0, key, text.as_bytes()).into(),
                what: what.to_owned(),
                try_this: try_this.to_owned(),
            })
        };
        if self.name.trim().is_empty() {
            return bad("name", "", "a layout needs a name", "name = \"a-name-of-yours\"");
        }
        if self.header.is_empty() && self.columns.is_empty() {
            return bad(
                "header",
                "",
                "nothing says which logs this layout is for",
                "header = [\"Time\", \"Pit\"] with names that the log's header has, or columns = […] for a log without a header",
            );
        }
        if !self.header.is_empty() && !self.columns.is_empty() {
            return bad(
                "columns",
                &self.columns.join(", "),
                "`header` is for logs with a header line, `columns` for those without",
                "keep one of the two",
            );
        }
        if self.time.columns.len() > 2 {
            return bad(
                "time.columns",
                &self.time.columns.join(", "),
                "a time has one column, or two (date and clock)",
                "time.columns = [\"Date\", \"Time\"]",
            );
        }
        if let Some(offset) = &self.time.utc_offset
            && crate::time::parse_offset(offset.as_bytes()).is_none()
        {
            return bad(
                "time.utc_offset",
                offset,
                "this is no offset from UTC",
                "time.utc_offset = \"-05:00\"",
            );
        }
        if let Some(start) = &self.time.start
            && crate::time::parse_iso(start.as_bytes()).is_none()
        {
            return bad(
                "time.start",
                start,
                "this is no ISO 8601 date and time",
                "time.start = \"2026-05-02T06:00:00\"",
            );
        }
        Ok(())
    }
}

/// Compares names without regard to case and outer space; `*` stands for any text.
pub(crate) fn alike(pattern: &str, name: &str) -> bool {
    let pattern = pattern.trim().to_lowercase();
    let name = name.trim().to_lowercase();
    let mut parts = pattern.split('*');
    let Some(mut rest) = parts.next().and_then(|first| name.strip_prefix(first)) else {
        return false;
    };
    let mut last = None;
    for part in parts {
        last = Some(part);
        match rest.find(part) {
            Some(at) => rest = &rest[at + part.len()..],
            None => return false,
        }
    }
    match last {
        None => rest.is_empty(),
        Some(part) => part.is_empty() || rest.is_empty() || name.ends_with(part),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_layouts_are_valid_and_named_as_their_files() {
        let layouts = Layout::built_in();
        assert_eq!(layouts.len(), BUILT_IN.len());
        for (layout, (name, _)) in layouts.iter().zip(BUILT_IN) {
            assert_eq!(layout.name, name);
        }
    }

    #[test]
    fn names_match_with_stars() {
        assert!(alike("pit*", "Pit (°F)"));
        assert!(alike("*time*", "Local Time (h)"));
        assert!(alike("Time", " time "));
        assert!(!alike("Time", "Time2"));
        assert!(!alike("pit*f", "pit c"));
        assert!(alike("a*b", "a b b"));
    }

    #[test]
    fn a_layout_survives_writing_and_reading() {
        for layout in Layout::built_in() {
            assert_eq!(Layout::parse(&layout.to_toml(), "again").unwrap(), layout);
        }
    }

    #[test]
    fn an_unknown_key_is_refused() {
        let error =
            Layout::parse("name = \"a\"\nheader = [\"x\"]\ndelimeter = \"tab\"\n", "l.toml");
        assert!(error.unwrap_err().to_string().contains("did you mean `delimiter`?"));
    }
}
