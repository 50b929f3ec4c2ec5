//! One cook in, one row of measures out.
//!
//! [`measure`] takes a cook's card and its segmentation and gives a [`MeasureRow`]: the
//! columns of the season's measure table, which [`columns::measures`] lists and describes.
//! [`history()`] gives the cook on the study clock, one row every ten minutes, [`degrees()`] one
//! row a degree of its core.
//!
//! The **study clock** starts at the first core sample at `stall_from_c` (55 °C) and ends
//! at the first at `finish_c` (88 °C), for every cook, whatever the card's target. A clock
//! instant that the log does not show (it begins when the core is already past it) is not
//! known, and everything that counts from it is null.

mod clock;
mod degrees;
mod handling;
mod history;
mod measure;
mod row;
mod tender;
mod time_temperature;
mod wet_bulb;

pub use clock::StudyClock;
pub use degrees::{DegreesInput, Wrapping, degrees, wrappings};
pub use history::{HistoryInput, history};
pub use measure::{MeasureInput, measure};
pub use phases::{NoStallDelay, StallDelay, stall_delay};
pub use row::MeasureRow;
