//! What is known of a log from outside it.

use super::answered::Answered;
use crate::layout::{Layout, alike};
use cook::season::{ClockJump, DateOrder, LogSettings, TemperatureUnit};
use cook::{Answers, Role, Units};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// What the season sheet says of the cooks whose readings a log holds. It decides only what
/// the log itself leaves open.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SheetHint {
    /// Local dates of the cooks.
    pub dates: Vec<Date>,
    /// Instants at which their meat went on, ms UTC, where known.
    pub meat_on_ms: Vec<i64>,
}

/// What to assume of a log where it does not say it itself.
#[derive(Debug, Clone)]
pub struct ReadOptions {
    /// Time zone of times without an offset.
    pub zone: TimeZone,
    /// Whether anybody said that it is; else a time that hangs on it is a question.
    pub zone_known: bool,
    /// Unit of temperatures where the log names none.
    pub unit: Option<TemperatureUnit>,
    /// Order of day and month where the log's dates do not tell it.
    pub date_order: Option<DateOrder>,
    /// Order of day and month that other logs of the same layout prove
    /// ([`crate::SiblingOrders`]); used after `date_order` and the sheet's dates.
    pub sibling_order: Option<DateOrder>,
    /// Which clock was right where a log's clock goes back and runs on.
    pub clock_jump: Option<ClockJump>,
    /// Local date on which a log without dates begins, by its file name; `*` stands for
    /// any text.
    pub dates: Vec<(String, Date)>,
    /// What the sheet says of this log's cooks.
    pub sheet: SheetHint,
    /// Role of a channel, by its name in the log or without its unit; overrides what its
    /// words say. Compared without regard to case.
    pub roles: BTreeMap<String, Role>,
    /// The user's layouts, tried by their header before the built-in ones and before
    /// detection.
    pub layouts: Vec<Layout>,
    /// What was answered to questions.
    pub answers: Answers,
    /// What the answers settle of the log that is read; reading it finds them out.
    pub answered: Answered,
    /// Units in which answers are told.
    pub units: Units,
    /// Whether a log that counts from its own zero is asked when it began: no card will say.
    pub asks_start: bool,
}

impl Default for ReadOptions {
    /// UTC, and nothing else assumed.
    fn default() -> Self {
        Self::new(TimeZone::UTC, &LogSettings::default(), Vec::new())
    }
}

impl ReadOptions {
    /// What a season's settings say of its logs.
    pub fn new(zone: TimeZone, settings: &LogSettings, layouts: Vec<Layout>) -> Self {
        Self {
            zone,
            zone_known: true,
            unit: settings.unit,
            date_order: settings.date_order,
            sibling_order: None,
            clock_jump: settings.clock_jump,
            // Settings are checked on reading; a date that is none is not kept.
            dates: settings
                .dates
                .iter()
                .filter_map(|(name, date)| Some((name.clone(), date.parse().ok()?)))
                .collect(),
            sheet: SheetHint::default(),
            roles: settings.roles.clone(),
            layouts,
            answers: Answers::default(),
            answered: Answered::default(),
            units: Units::default(),
            asks_start: false,
        }
    }

    /// The role that the settings give a channel.
    pub(crate) fn role_of(&self, header: &str, name: &str) -> Option<Role> {
        let alike = |key: &str, other: &str| key.trim().eq_ignore_ascii_case(other.trim());
        self.roles
            .iter()
            .find(|(key, _)| alike(key, header) || alike(key, name))
            .map(|(_, &role)| role)
    }

    /// The date that the settings give a log.
    pub(crate) fn date_of(&self, shown_as: &str) -> Option<Date> {
        let file = shown_as.rsplit(['/', '\\', '!']).next().unwrap_or(shown_as);
        self.dates
            .iter()
            .find(|(pattern, _)| alike(pattern, file) || alike(pattern, shown_as))
            .map(|(_, date)| *date)
    }

    /// Whether the date of a log without dates is known from the settings or the sheet.
    pub(crate) fn has_date(&self, shown_as: &str) -> bool {
        self.date_of(shown_as).is_some() || !self.sheet.dates.is_empty()
    }
}
