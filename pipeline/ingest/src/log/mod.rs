//! One log: its bytes in, its channels, rejected rows and account out.

mod ask;
mod behaviour;
mod channels;
mod clock;
mod dates;
mod decimal;
mod describe;
mod form;
mod head;
mod names;
mod options;
mod order;
mod plan;
mod read;
mod scan;
mod score;
mod sentinels;
mod series;
mod settle;
mod siblings;
mod start;
mod suggest;
mod tail;
mod times;
mod value;
mod words;

pub(crate) use dates::QUESTION as DATE_ORDER_QUESTION;
pub use options::{ReadOptions, SheetHint};
pub use siblings::SiblingOrders;

use crate::error::IngestError;
use crate::layout::Layout;
use cook::season::{DateOrder, TemperatureUnit};
use cook::{Flag, RejectedRow, Role, SourceRecord};

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
    /// What logs of one layout have in common: delimiter and names of columns.
    pub kind: String,
    /// The first line with readings: its number, and its text, shortened.
    pub first_line: Option<(u32, String)>,
    layout: Layout,
    date_order: Option<DateOrder>,
}

impl Log {
    /// The order of day and month that the log's own dates prove; `None` for other dates and
    /// where it was taken from elsewhere. See [`crate::SiblingOrders`].
    pub fn proven_date_order(&self) -> Option<DateOrder> {
        self.date_order
    }

    /// The layout as the log was read, every decision written down; reading the log by it
    /// gives the same values.
    pub fn suggested_layout(&self) -> Layout {
        self.layout.clone()
    }
}

/// Reads a log from its bytes. `shown_as` is the path that messages and records use.
///
/// # Errors
/// See [`IngestError`]: another encoding, no table, a question that only the user can
/// answer, a contradiction, or more lines rejected than used.
pub fn read_log_bytes(
    bytes: &[u8],
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    read_hashed(bytes, crate::text::content_hash(bytes), shown_as, options)
}

/// Reads a log of which the hash is known already.
pub(crate) fn read_hashed(
    bytes: &[u8],
    content_hash: String,
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Log, IngestError> {
    let text = crate::text::Text::decode(bytes, shown_as)?;
    let found = scan::find(&text, &options.layouts, &Layout::built_in(), shown_as)?;
    let kind = siblings::kind(&found);
    let plan = plan::plan(&text, &found, shown_as, options)?;
    read::Reader::new(&text, plan, shown_as, options).read(content_hash, kind)
}

/// The kind of a log ([`Log::kind`]) without reading it through; `None` for what is no log.
pub fn log_kind(bytes: &[u8], shown_as: &str, options: &ReadOptions) -> Option<String> {
    let text = crate::text::Text::decode(bytes, shown_as).ok()?;
    let found = scan::find(&text, &options.layouts, &Layout::built_in(), shown_as).ok()?;
    Some(siblings::kind(&found))
}
