//! One log: its bytes in, its channels, rejected rows and account out.

mod ask;
mod channels;
mod order;
mod plan;
mod read;
mod scan;
mod series;
mod settle;
mod suggest;
mod times;
mod words;

use crate::error::{IngestError, Place};
use crate::layout::Layout;
use cook::season::TemperatureUnit;
use cook::{Flag, RejectedRow, Role, SourceRecord};
use jiff::tz::TimeZone;
use std::collections::BTreeMap;
use std::path::Path;

/// What to assume of a log where it does not say it itself.
#[derive(Debug, Clone)]
pub struct ReadOptions {
    /// Time zone of times without an offset.
    pub zone: TimeZone,
    /// Unit of temperatures where the log names none.
    pub unit: Option<TemperatureUnit>,
    /// Role of a channel, by its name in the log or without its unit; overrides what its
    /// words say. Compared without regard to case.
    pub roles: BTreeMap<String, Role>,
    /// The user's layouts, tried by their header before the built-in ones and before
    /// detection.
    pub layouts: Vec<Layout>,
}

impl Default for ReadOptions {
    /// UTC, and nothing else assumed.
    fn default() -> Self {
        Self { zone: TimeZone::UTC, unit: None, roles: BTreeMap::new(), layouts: Vec::new() }
    }
}

impl ReadOptions {
    /// The role that the settings give a channel.
    fn role_of(&self, header: &str, name: &str) -> Option<Role> {
        let alike = |key: &str, other: &str| key.trim().eq_ignore_ascii_case(other.trim());
        self.roles
            .iter()
            .find(|(key, _)| alike(key, header) || alike(key, name))
            .map(|(_, &role)| role)
    }
}

/// What the times of a log count from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeBase {
    /// 1970-01-01T00:00:00Z: `at_ms` are instants in ms UTC.
    Absolute,
    /// The log's own zero: `at_ms` are elapsed ms.
    Elapsed,
}

/// Readings of one channel in time order: columns of equal length.
#[derive(Debug, Clone, PartialEq)]
pub struct LogChannel {
    /// The channel's name without its unit; unique in the log.
    pub name: String,
    /// The name as it stands in the log.
    pub header: String,
    /// What it measures.
    pub role: Role,
    /// Unit in which the log has it; `None` where every cell says its own.
    pub unit: Option<TemperatureUnit>,
    /// Times in ms, strictly increasing; what they count from is the log's [`TimeBase`].
    pub at_ms: Vec<i64>,
    /// Temperatures, °C.
    pub temp_c: Vec<f32>,
    /// Line of each reading, from 1.
    pub line: Vec<u32>,
    /// What is to be known of each.
    pub flag: Vec<Flag>,
}

impl LogChannel {
    /// Number of readings.
    pub fn len(&self) -> usize {
        self.at_ms.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.at_ms.is_empty()
    }
}

/// One log, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// Its temperature channels, in the order of the file.
    pub channels: Vec<LogChannel>,
    /// What its times count from.
    pub time: TimeBase,
    /// How it was read: hash, layout, evidence, line account.
    pub record: SourceRecord,
    /// What was read and not used, in the order of the file.
    pub rejected: Vec<RejectedRow>,
    /// Preamble, remarks and footer as key and value; a line without a key is kept under
    /// `line N`.
    pub metadata: Vec<(String, String)>,
    /// What a reader should be told although the log was read.
    pub warnings: Vec<String>,
    layout: Layout,
}

impl Log {
    /// The layout as the log was read, every decision written down; reading the log by it
    /// gives the same values.
    pub fn suggested_layout(&self) -> Layout {
        self.layout.clone()
    }
}

/// Reads a log file. `shown_as` is the path that messages and records use.
///
/// # Errors
/// See [`IngestError`]: an unreadable file, another encoding, no table, a question that
/// only the user can answer, a contradiction, or more lines rejected than used.
pub fn read_log(path: &Path, shown_as: &str, options: &ReadOptions) -> Result<Log, IngestError> {
    let bytes = crate::text::read_bytes(path, shown_as)?;
    read_log_bytes(&bytes, shown_as, options)
}

/// Reads a log from a stream (a member of an archive, a decompressor), of which no more is
/// held than the largest file allowed, and no line longer than the longest allowed.
///
/// # Errors
/// As [`read_log`].
pub fn read_log_from(
    stream: impl std::io::Read,
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    let bytes = crate::text::read_limited(stream, 0, shown_as)?;
    read_log_bytes(&bytes, shown_as, options)
}

/// Reads a log from its bytes.
///
/// # Errors
/// As [`read_log`].
pub fn read_log_bytes(
    bytes: &[u8],
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    let content_hash = crate::text::content_hash(bytes);
    let text = crate::text::Text::decode(bytes, shown_as)?;
    let Some(found) = scan::find(&text, &options.layouts, &Layout::built_in()) else {
        return Err(IngestError::NoTable {
            place: Place::file(shown_as).into(),
            what: "no header followed by lines of times and numbers was found".to_owned(),
            try_this:
                "an export as CSV with a header line, or a layout that says what the log looks like"
                    .to_owned(),
        });
    };
    let plan = plan::plan(&text, &found, shown_as, options)?;
    read::Reader::new(&text, plan, shown_as, options).read(content_hash)
}
