//! The ways in which times are written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How times are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TimeFormat {
    /// ISO 8601: `2026-05-02T06:00:00`, a space for the `T`, perhaps `Z` or an offset;
    /// also `2026/05/02`.
    Iso,
    /// `02/05/2026 06:00` is the second of May.
    DayFirst,
    /// `05/02/2026 06:00` is the second of May.
    MonthFirst,
    /// `26/05/02 06:00` is the second of May 2026.
    YearFirst,
    /// A month by its English name: `2 May 2026 06:00`, `May 2, 2026 6:00 AM`.
    MonthName,
    /// The time of day alone: `06:00:00`, `6:00 PM`. A clock that goes back past midnight
    /// begins a new day; the first day is `time.start`'s, else that of `[log.dates]` in
    /// `season.toml`, of the preamble or of the sheet.
    Clock,
    /// Elapsed `h:mm:ss`, perhaps with days (`1d 02:00:00`), or `1h 2m 3s`.
    ElapsedHms,
    /// Elapsed `h:mm`.
    ElapsedHm,
    /// Elapsed `m:ss`.
    ElapsedMs,
    /// Elapsed days as a number.
    ElapsedDays,
    /// Elapsed hours as a number.
    ElapsedHours,
    /// Elapsed minutes as a number.
    ElapsedMinutes,
    /// Elapsed seconds as a number.
    ElapsedSeconds,
    /// Elapsed milliseconds as a number.
    ElapsedMilliseconds,
    /// Seconds since 1970-01-01T00:00:00Z.
    UnixSeconds,
    /// Milliseconds since 1970-01-01T00:00:00Z.
    UnixMilliseconds,
    /// Microseconds since 1970-01-01T00:00:00Z.
    UnixMicroseconds,
    /// A spreadsheet's serial date: days since 1899-12-30, local time.
    SerialDays,
}

impl TimeFormat {
    /// Whether times count from the log's own zero.
    pub fn is_elapsed(self) -> bool {
        matches!(
            self,
            Self::ElapsedHms
                | Self::ElapsedHm
                | Self::ElapsedMs
                | Self::ElapsedDays
                | Self::ElapsedHours
                | Self::ElapsedMinutes
                | Self::ElapsedSeconds
                | Self::ElapsedMilliseconds
        )
    }

    /// Whether times are written as one number.
    pub fn is_number(self) -> bool {
        matches!(
            self,
            Self::ElapsedDays
                | Self::ElapsedHours
                | Self::ElapsedMinutes
                | Self::ElapsedSeconds
                | Self::ElapsedMilliseconds
                | Self::UnixSeconds
                | Self::UnixMilliseconds
                | Self::UnixMicroseconds
                | Self::SerialDays
        )
    }

    /// The word in a layout.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Iso => "iso",
            Self::DayFirst => "day-first",
            Self::MonthFirst => "month-first",
            Self::YearFirst => "year-first",
            Self::MonthName => "month-name",
            Self::Clock => "clock",
            Self::ElapsedHms => "elapsed-hms",
            Self::ElapsedHm => "elapsed-hm",
            Self::ElapsedMs => "elapsed-ms",
            Self::ElapsedDays => "elapsed-days",
            Self::ElapsedHours => "elapsed-hours",
            Self::ElapsedMinutes => "elapsed-minutes",
            Self::ElapsedSeconds => "elapsed-seconds",
            Self::ElapsedMilliseconds => "elapsed-milliseconds",
            Self::UnixSeconds => "unix-seconds",
            Self::UnixMilliseconds => "unix-milliseconds",
            Self::UnixMicroseconds => "unix-microseconds",
            Self::SerialDays => "serial-days",
        }
    }
}
