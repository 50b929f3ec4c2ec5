//! One log: its bytes in, its channels, rejected rows and account out.

mod ask;
mod behaviour;
mod channels;
mod clock;
mod dates;
mod decimal;
mod describe;
mod finished;
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

pub use finished::{Log, LogChannel, TimeBase};
pub use options::{ReadOptions, SheetHint};
pub use siblings::SiblingOrders;

use crate::error::IngestError;
use crate::layout::Layout;

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
