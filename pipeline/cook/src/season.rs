//! A season's settings: `season.toml`.

use crate::definition::PhaseDefinition;
use crate::question::{Answers, Question};
use crate::role::Role;
use crate::settings::{self, SettingsError};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::Path;

/// The units that people are shown. The store is always in SI units.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// °F and pounds.
    #[default]
    Us,
    /// °C and kilograms.
    Metric,
}

/// Which way a score is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Better {
    /// Small is good.
    Lower,
    /// Large is good.
    Higher,
}

/// A scale of scores, by the name behind `score_`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ScoreScale {
    /// Smallest possible score.
    pub lowest: f64,
    /// Largest possible score.
    pub highest: f64,
    /// Which way is better.
    pub better: Better,
    /// What a point counts in the sum of an entry's points; 0 leaves the score out of it.
    #[serde(default = "one")]
    pub weight: f64,
    /// How many of the worst scores that a panel gave an entry are left out of its mean.
    #[serde(default)]
    pub drop: u32,
}

fn one() -> f64 {
    1.0
}

/// How the study draws its intervals.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct StudySettings {
    /// Seed of every random draw; same seed, same answer.
    pub seed: u64,
    /// Curves drawn for the interval of a stall's length.
    pub interval_draws: u32,
    /// How far the study clock runs in questions about the time to the finish, min: fixed before
    /// looking, for every claim that names no `horizon_min` of its own.
    pub horizon_min: f64,
}

/// A longer horizon than this, min, is a slip of the pen: a week.
pub const LONGEST_HORIZON_MIN: f64 = 10_080.0;

impl Default for StudySettings {
    fn default() -> Self {
        Self { seed: 20_260_101, interval_draws: 60, horizon_min: 720.0 }
    }
}

/// The unit of a temperature in a log or sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    #[serde(rename = "C")]
    Celsius,
    /// Degrees Fahrenheit.
    #[serde(rename = "F")]
    Fahrenheit,
}

/// In which order a date of three numbers is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DateOrder {
    /// `02/05/2026` is the second of May.
    DayFirst,
    /// `05/02/2026` is the second of May.
    MonthFirst,
    /// `26/05/02` is the second of May 2026.
    YearFirst,
}

/// Which clock was right where a logger's clock was put back while it ran.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ClockJump {
    /// The clock before the jump: the lines after it are moved so that the log runs on.
    FirstIsRight,
    /// The clock after the jump: the lines before it are moved so that the log runs on.
    LastIsRight,
}

/// What to assume of logs where they do not say it themselves.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct LogSettings {
    /// Unit of temperatures where a log names none.
    pub unit: Option<TemperatureUnit>,
    /// Order of day and month where a log's dates do not tell it.
    pub date_order: Option<DateOrder>,
    /// Which clock was right where a log's clock goes back by less than a day and runs on.
    pub clock_jump: Option<ClockJump>,
    /// Local date (`2026-05-02`) on which a log without dates begins, by its file name; `*`
    /// stands for any text.
    pub dates: BTreeMap<String, String>,
    /// Role of a channel, by its name in the logs.
    pub roles: BTreeMap<String, Role>,
}

/// What the report may assume where nobody measured it; it says so wherever it does.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Assumptions {
    /// Dew point of the pits' air, °C (5 to 95), for cooks whose card gives none.
    pub pit_dew_point_c: Option<f64>,
}

/// Most curves that an interval is drawn of: with more nothing would become clearer.
const MOST_DRAWS: u32 = 10_000;
/// No scale of scores goes farther from zero, and no point counts more.
const FARTHEST_SCORE: f64 = 1e6;
/// No panel has more people whose scores are dropped.
const MOST_DROPPED: u32 = 100;

/// What a plan has to know of a pit.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct PitSettings {
    /// How much meat it holds, kg.
    pub holds_kg: Option<f64>,
    /// How long before meat-on it is lit, min.
    pub light_min: Option<f64>,
}

/// A season folder's settings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Season {
    /// The team's name, shown on the report.
    pub team: String,
    /// IANA time zone of clock times without an offset; where it is left out, a time that hangs
    /// on it is a question.
    pub time_zone: Option<String>,
    /// Units that people are shown.
    pub units: Units,
    /// Log files, folders or globs, relative to the season folder.
    pub logs: Vec<String>,
    /// Season sheets, relative to the season folder: one row a cook.
    pub sheets: Vec<String>,
    /// Events sheets, relative to the season folder.
    pub events: Vec<String>,
    /// Scores sheets, relative to the season folder: one row a score.
    pub score_sheets: Vec<String>,
    /// Claims file, relative to the season folder.
    pub claims: Option<String>,
    /// Layouts of the team's own, relative to the season folder.
    pub layouts: Vec<String>,
    /// What to assume of logs that do not say.
    pub log: LogSettings,
    /// Constants of the phase definition.
    pub phases: PhaseDefinition,
    /// Scales of the `score_*` columns, by the name behind `score_`.
    pub scores: BTreeMap<String, ScoreScale>,
    /// How the study draws.
    pub study: StudySettings,
    /// What to assume where nobody measured it.
    pub assume: Assumptions,
    /// The pits, by the name that cards give them.
    pub pits: BTreeMap<String, PitSettings>,
}

impl Default for Season {
    fn default() -> Self {
        Self {
            team: "Unnamed team".into(),
            time_zone: None,
            units: Units::Us,
            logs: vec!["logs".into()],
            sheets: vec!["sheet.csv".into()],
            events: vec!["events.csv".into()],
            score_sheets: vec!["scores.csv".into()],
            claims: Some("claims.toml".into()),
            layouts: Vec::new(),
            log: LogSettings::default(),
            phases: PhaseDefinition::default(),
            scores: BTreeMap::new(),
            study: StudySettings::default(),
            assume: Assumptions::default(),
            pits: BTreeMap::new(),
        }
    }
}

impl Season {
    /// Reads `season.toml`.
    ///
    /// # Errors
    /// An unreadable file; text that is not TOML; an unknown key (with the nearest known
    /// one); a value of the wrong kind; constants that contradict each other; a time zone
    /// that does not exist.
    pub fn read(path: &Path) -> Result<Self, SettingsError> {
        settings::read::<Self>(path)?.checked(path)
    }

    /// Reads the text of a `season.toml`; `path` is only for messages.
    ///
    /// # Errors
    /// As [`Self::read`].
    pub fn parse(text: &str, path: &Path) -> Result<Self, SettingsError> {
        settings::parse::<Self>(text, path)?.checked(path)
    }

    fn checked(self, path: &Path) -> Result<Self, SettingsError> {
        self.check().map_err(|message| SettingsError::Value { path: path.to_owned(), message })?;
        Ok(self)
    }

    /// The zone of clock times: that of `time_zone`, else what was answered to
    /// [`Question::time_zone`]; `None` where nobody said it.
    pub fn zone(&self, answers: &Answers) -> Option<jiff::tz::TimeZone> {
        let answered = || answers.to(&Question::time_zone());
        let name = self.time_zone.as_deref().or_else(answered)?;
        jiff::tz::TimeZone::get(name).ok()
    }

    /// The settings with what answers say where they say nothing: the zone.
    #[must_use]
    pub fn with_answers(mut self, answers: &Answers) -> Self {
        if self.time_zone.is_none() {
            self.time_zone =
                self.zone(answers).and_then(|zone| zone.iana_name().map(str::to_owned));
        }
        self
    }

    /// The zone in which people are shown times: that of `time_zone`, else UTC.
    pub fn shown_zone(&self) -> jiff::tz::TimeZone {
        let named = self.time_zone.as_deref().and_then(|zone| jiff::tz::TimeZone::get(zone).ok());
        named.unwrap_or(jiff::tz::TimeZone::UTC)
    }

    fn check(&self) -> Result<(), String> {
        if let Some(problem) = self.phases.problem() {
            return Err(format!("[phases] {problem}"));
        }
        if let Some(zone) = &self.time_zone
            && let Err(error) = jiff::tz::TimeZone::get(zone)
        {
            return Err(format!(
                "`time_zone = \"{zone}\"` is no IANA time zone ({error}); write one such as \"America/Chicago\" or \"UTC\""
            ));
        }
        for (log, date) in &self.log.dates {
            if date.parse::<jiff::civil::Date>().is_err() {
                return Err(format!(
                    "[log.dates] \"{log}\" = \"{date}\" is no date; write one such as \"2026-05-02\""
                ));
            }
        }
        let horizon = self.study.horizon_min;
        if !(horizon > 0.0 && horizon <= LONGEST_HORIZON_MIN) {
            return Err(format!(
                "[study] `horizon_min = {horizon}` must be minutes above 0, and no more than a week \
                 ({LONGEST_HORIZON_MIN})"
            ));
        }
        if let Some(dew_point) = self.assume.pit_dew_point_c
            && !(5.0..=95.0).contains(&dew_point)
        {
            return Err(format!(
                "[assume] `pit_dew_point_c = {dew_point}` must lie between 5 and 95 °C"
            ));
        }
        if !(1..=MOST_DRAWS).contains(&self.study.interval_draws) {
            return Err(format!(
                "[study] `interval_draws = {}` must lie between 1 and {MOST_DRAWS}",
                self.study.interval_draws
            ));
        }
        for (name, pit) in &self.pits {
            for (key, value) in [("holds_kg", pit.holds_kg), ("light_min", pit.light_min)] {
                if value.is_some_and(|value| !(value.is_finite() && value >= 0.0)) {
                    return Err(format!("[pits.{name}] `{key}` must be 0 or more"));
                }
            }
        }
        for (name, scale) in &self.scores {
            for (key, value) in [("lowest", scale.lowest), ("highest", scale.highest)] {
                if !(-FARTHEST_SCORE..=FARTHEST_SCORE).contains(&value) {
                    return Err(format!(
                        "[scores.{name}] `{key} = {value}` must lie between {} and {FARTHEST_SCORE}",
                        -FARTHEST_SCORE
                    ));
                }
            }
            if !(0.0..=FARTHEST_SCORE).contains(&scale.weight) {
                return Err(format!(
                    "[scores.{name}] `weight = {}` must lie between 0 and {FARTHEST_SCORE}",
                    scale.weight
                ));
            }
            if scale.drop > MOST_DROPPED {
                return Err(format!(
                    "[scores.{name}] `drop = {}` must lie between 0 and {MOST_DROPPED}",
                    scale.drop
                ));
            }
            if scale.lowest >= scale.highest {
                return Err(format!(
                    "[scores.{name}] `lowest` ({}) must be below `highest` ({})",
                    scale.lowest, scale.highest
                ));
            }
        }
        Ok(())
    }
}
