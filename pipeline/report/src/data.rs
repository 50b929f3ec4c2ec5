//! Everything a report shows, finished: no statistic is computed after this.
//!
//! Units are SI with the unit in the field's name or docs: °C, kg, mm, minutes; instants are ms UTC
//! beside a ready-made local-time string. `_min` fields of a cook count minutes since its `meat_on`
//! unless they are a length of time. Every struct has a `Default`, so that a builder can fill what
//! it has and leave the rest (`..ReportData::default()`); what is left out is shown as not stated,
//! never as zero.

mod account;
mod cleaning;
mod cook;
mod public;
mod season;

pub use account::{Counted, DataFile, RefusedLog, SourceAccount};
pub use cleaning::{Cleaning, Stretch};
pub use cook::{
    ChannelRole, CookReport, Curve, CurvePoint, CurveSeries, EventNote, Mark, MarkKind, PhaseSpan,
};
pub use season::{Best, ContestCook};

use jiff::tz::TimeZone;
use std::collections::{BTreeMap, HashMap};
use study::StudyResult;
use study::result::ClaimResult;
use study::result::summary::{Excluded, Habit, Spread};

/// One finished season report.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReportData {
    /// The team's name.
    pub team: String,
    /// The seasons covered, in order, for instance `["2025", "2026"]`.
    pub seasons: Vec<String>,
    /// The time zone of every local time in the report, as an IANA name; empty where none is known and
    /// they are in UTC.
    pub time_zone: String,
    /// What the study found: printed as it is.
    pub study: StudyResult,
    /// What was cooked: counts and ranges.
    pub summary: Summary,
    /// The cooks in the order to show them (usually by date); excluded cooks are in `excluded`.
    pub cooks: Vec<CookReport>,
    /// The spread over all cooks of the measures that cook pages and the figures of food rules show,
    /// by the name of the measure's column.
    pub spread: BTreeMap<String, Spread>,
    /// How the team cooks each of its cuts.
    pub habits: Vec<Habit>,
    /// The contest cooks.
    pub contests: Vec<ContestCook>,
    /// The bests of the season.
    pub bests: Vec<Best>,
    /// The four pages of the summary, relative to the report, where they were written.
    pub summary_page: Option<String>,
    /// The page of how the team cooks, relative to the report, where one was written.
    pub habits_page: Option<String>,
    /// The report behind the summary, relative to it, where one was written.
    pub report_page: Option<String>,
    /// Rows of logs and sheets that were not used, in the order of source and line. A builder may
    /// cut the list; `rejected_total` says how many there were.
    pub rejected: Vec<::cook::RejectedRow>,
    /// How many rows were rejected in all.
    pub rejected_total: usize,
    /// Cooks left out, each with its reason.
    pub excluded: Vec<Excluded>,
    /// Logs that were not read at all.
    pub refused_logs: Vec<RefusedLog>,
    /// The line account: where every line of every source went.
    pub sources: Vec<SourceAccount>,
    /// The constants of the phase definition as used, told in the methods section.
    pub phase_definition: ::cook::PhaseDefinition,
    /// The files that hold what the report shows.
    pub data_files: Vec<DataFile>,
}

impl ReportData {
    /// Whether lots are drawn for a claim: the trial answers it then, and nothing else.
    pub(crate) fn is_tried(&self, claim: &ClaimResult) -> bool {
        self.study.trials.iter().any(|trial| trial.id == claim.id)
    }

    /// Date and time of an instant, ms UTC, by the clock of the season's time zone.
    pub(crate) fn local(&self, ms: i64) -> String {
        let zone = TimeZone::get(&self.time_zone).unwrap_or(TimeZone::UTC);
        jiff::Timestamp::from_millisecond(ms)
            .map(|at| at.to_zoned_datetime(zone).strftime("%Y-%m-%d %H:%M").to_string())
            .unwrap_or_default()
    }

    /// What the clock times of the pages are.
    pub(crate) fn clock(&self) -> &'static str {
        if self.time_zone.is_empty() { "Time, UTC" } else { "Local time" }
    }

    /// The local date of each cook.
    pub(crate) fn days(&self) -> HashMap<&str, &str> {
        self.cooks.iter().map(|cook| (cook.id(), cook.day.as_str())).collect()
    }
}

/// What was cooked, in numbers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Summary {
    /// Cooks in the report, excluded ones not counted.
    pub cooks: usize,
    /// Fires they were cooked on.
    pub fires: usize,
    /// Sum over cooks of the hours from meat-on to pull (or the log's end), h.
    pub cooking_hours: f64,
    /// Of them, those whose core was read by hand and not logged.
    pub by_hand: usize,
    /// Of those, the ones with no logged pit, for which the set-point stands.
    pub pit_from_setpoint: usize,
    /// Readings kept, over all channels.
    pub readings: usize,
    /// First local date, `2026-03-14`.
    pub first_day: Option<String>,
    /// Last local date.
    pub last_day: Option<String>,
    /// Sum of raw weights where stated, kg.
    pub raw_weight_kg: Option<f64>,
    /// Cooks by cut, most frequent first.
    pub cuts: Vec<Counted>,
    /// Cooks by pit.
    pub pits: Vec<Counted>,
    /// Cooks by wrap method (`none` for unwrapped).
    pub wraps: Vec<Counted>,
    /// Cooks by kind (`practice`, `contest`).
    pub kinds: Vec<Counted>,
    /// The small table: one row per measure.
    pub rows: Vec<Spread>,
}
