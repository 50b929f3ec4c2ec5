//! Cooks as files: what a team's folder holds, with the truth beside.
//!
//! `simulate` gives curves and what a logger records of them. This room makes files of that:
//! logs in generic dialects ([`dialect`]), the same logs spoilt in many ways at once
//! ([`polluted`]), sheets, and the bundled team's seasons ([`sample_season`]). It serves tests
//! and whoever makes `sample-data/` anew; the command that people get holds none of it.
//!
//! Every draw comes from a seeded `ChaCha` stream: same seed, same bytes.
//!
//! | module | its one job |
//! |---|---|
//! | [`dialect`] | readings as text, with the truth of every cell beside it |
//! | [`encoding`] | text as bytes |
//! | [`archive`] | gzip, Zstandard and ZIP with the same bytes every time |
//! | [`pollute`] | messy exports with the truth beside |
//! | [`sheet`] | sheets of typed cells as CSV, XLSX and ODS |
//! | [`season`] | the bundled team |
//! | [`orderly`] | a simulated team’s years, as many cooks as wanted, nothing amiss |
//! | [`mod@untidy`] | seasons as untidy people keep them, with the truth beside |

pub mod archive;
pub mod dialect;
pub mod encoding;
pub mod error;
pub mod orderly;
pub mod pollute;
pub mod season;
pub mod sheet;
pub mod untidy;

pub use dialect::{Dialect, LogTruth, WrittenLog};
pub use error::WriteError;
pub use orderly::{Written, write_orderly};
pub use pollute::{PollutedLog, polluted};
pub use season::sample_season;
pub use sheet::{Cell, sheet_as_csv, sheet_as_ods, sheet_as_xlsx};
pub use untidy::{Slip, UntidyCook, UntidySeason, untidy};
