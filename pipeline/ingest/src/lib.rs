//! Logger files and sheets into readings, rejected rows and a line account.
//!
//! Two failures are unforgivable here: a wrong value reported as success, and a line that
//! vanishes. So every line of a file is counted in its [`cook::LineAccount`], everything
//! that was read and not used is a [`cook::RejectedRow`], everything that was decided is
//! [`cook::Evidence`] with the setting that decides otherwise, and where two readings of a
//! file would give different values and nothing in the file tells them apart, the file is
//! refused with [`IngestError::NeedsAnswer`].
//!
//! The way of a season, in the order of the calls:
//!
//! 1. [`read_season_sheet`] gives a [`SheetReading`]: the cards, with marks resolved as far
//!    as the card alone allows.
//! 2. [`list_logs`] and [`LogNames::find`] give the logs of each card, those inside archives
//!    among them; [`LogFile::read_log`] reads each once into a [`Log`].
//! 3. [`read_events_sheet`] gives an [`EventsReading`].
//! 4. [`resolve_marks`] fills in the marks from the events, and anchors cooks whose logs
//!    count from their own zero ([`TimeBase::Elapsed`]).
//! 5. [`assemble()`] joins a cook's logs into its [`cook::CookReadings`].
//! 6. [`resolve_fires`] gives every card its fire.

pub mod assemble;
pub mod code;
pub mod container;
mod disk;
mod drift;
pub mod error;
pub mod find;
pub mod fires;
mod folded;
pub mod layout;
pub mod list;
pub mod log;
pub mod matching;
mod number;
mod place;
pub mod question;
pub mod share;
pub mod sheet;
mod text;
mod time;
mod zone;

pub use assemble::{Assembled, LogUse, assemble, channels_called, which_channel};
pub use code::Code;
pub use error::{IngestError, Place};
pub use find::{FoundLog, LogNames};
pub use fires::{CookSpan, resolve_fires};
pub use folded::folded;
pub use layout::{Decimal, Delimiter, Form, Layout, TimeLayout};
pub use list::{LogBytes, LogFile, LogList, list_logs};
pub use log::{
    Answered, Log, LogChannel, ReadOptions, SheetHint, SiblingOrders, TimeBase, log_kind,
    read_log_bytes,
};
pub use matching::{LogSpan, Matching, TakenNames, card_for_log, match_by_time, stem_of};
pub use question::Asked;
pub use share::{LogPart, share_out};
pub use sheet::{
    CardRow, ElapsedAnchor, EventsReading, GUESSED, Logged, ScoresReading, Seen, SheetCode,
    SheetOptions, SheetReading, StatedCell, WrittenTime, event_value, events_sheet_schema,
    place_again, read_events_sheet, read_scores_sheet, read_season_sheet, resolve_marks,
    scores_sheet_schema, season_sheet_schema,
};
pub use time::TimeFormat;
