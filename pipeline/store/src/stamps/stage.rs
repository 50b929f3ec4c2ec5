//! The stages, and why one is done again.

use super::{Inputs, table_inputs};
use crate::{Store, TableName};
use cook::Season;
use rows::Rules;
use rows::hash::Fingerprint;
use std::fmt;
use std::path::PathBuf;

/// A stage of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Logs and sheets into the store.
    Ingest,
    /// Phases of every cook.
    Phases,
    /// Measures, history and moved constants of every cook.
    Measures,
    /// Drivers and verdicts.
    Study,
    /// The pages.
    Report,
}

impl Stage {
    /// Its word in stamps and messages.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Ingest => "ingest",
            Self::Phases => "phases",
            Self::Measures => "measures",
            Self::Study => "study",
            Self::Report => "report",
        }
    }

    /// Raised whenever the stage would make something else of the same inputs. A change of a stage
    /// that only another one's results show raises that one's.
    pub const fn number(self) -> u32 {
        match self {
            Self::Phases => rows::PHASES,
            Self::Measures => rows::MEASURES,
            Self::Ingest => 12,
            Self::Study => 9,
            Self::Report => 6,
        }
    }
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Why a stage is done again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// It never was done, or its stamp is lost.
    NeverDone,
    /// It was begun and did not come to its end.
    CutOff,
    /// It was done by another number of the stage.
    Number {
        /// That number; 0 where stages had none yet.
        was: u32,
        /// The number now.
        is: u32,
    },
    /// Something that it reads is not what it was.
    Changed {
        /// The file or the settings.
        input: String,
    },
    /// Something that it wrote is gone.
    Gone {
        /// The file.
        output: PathBuf,
    },
    /// Something that it wrote is not what it wrote.
    Differs {
        /// The file.
        output: PathBuf,
    },
}

impl Reason {
    /// Whether what is there can be trusted to be what was once computed.
    pub fn is_damage(&self) -> bool {
        matches!(self, Self::CutOff | Self::Gone { .. } | Self::Differs { .. })
    }

    /// Whether rows that are there may be taken over where they were computed from the same.
    pub fn leaves_rows(&self) -> bool {
        !self.is_damage() && *self != Self::NeverDone
    }

    /// The line that says why all of a stage is made anew although none of its inputs changed.
    pub fn said(&self, stage: Stage) -> Option<String> {
        let unasked = self.is_damage() || matches!(self, Self::Number { .. });
        unasked.then(|| format!("{stage}: {self}: made anew"))
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NeverDone => f.write_str("not done yet"),
            Self::CutOff => f.write_str("the run before was cut off while it wrote"),
            Self::Number { was, is } => {
                write!(f, "what the store holds was made by number {was} of this stage, now {is}")
            }
            Self::Changed { input } => write!(f, "{input} changed"),
            Self::Gone { output } => write!(f, "{} is gone", output.display()),
            Self::Differs { output } => {
                write!(f, "{} is not what was written there", output.display())
            }
        }
    }
}

/// A stage that makes rows cook by cook.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Derived {
    /// Phases, and what cleaning made of the readings.
    Phases,
    /// Measures, history, degrees and moved constants.
    Measures,
}

impl Derived {
    /// The stage.
    pub const fn stage(self) -> Stage {
        match self {
            Self::Phases => Stage::Phases,
            Self::Measures => Stage::Measures,
        }
    }

    /// The tables that it reads, beside the readings.
    pub const fn reads(self) -> &'static [TableName] {
        match self {
            Self::Phases => &[TableName::Cooks, TableName::Events],
            Self::Measures => &[TableName::Cooks, TableName::Events, TableName::Phases],
        }
    }

    /// The tables that it writes.
    pub const fn writes(self) -> &'static [TableName] {
        match self {
            Self::Phases => {
                &[TableName::Phases, TableName::Flags, TableName::Channels, TableName::Warnings]
            }
            Self::Measures => &[
                TableName::Measures,
                TableName::History,
                TableName::Degrees,
                TableName::Moved,
                TableName::MovedHistory,
            ],
        }
    }

    /// What enters its stamp: the tables that it reads, and the settings that its rows depend on.
    pub fn inputs(self, store: &Store, rules: &Rules) -> Inputs {
        let number = self.stage().number();
        let mut settings;
        match self {
            Self::Phases => {
                settings = Fingerprint::new("settings of phases", number);
                settings.json(&(rules.definition, rules.seed, rules.interval_draws));
            }
            Self::Measures => {
                settings = Fingerprint::new("settings of measures", number);
                settings.json(&(rules.definition, rules.pit_dew_point_c));
            }
        }
        let mut inputs = table_inputs(store, self.reads());
        inputs.insert("settings".into(), settings.finish());
        inputs
    }
}

/// Hash of the phase definition, by which `claims.lock` knows it.
pub fn definition_hash(season: &Season) -> String {
    let mut hash = Fingerprint::new("phase definition", 1);
    hash.json(&season.phases);
    hash.finish()
}

/// Hash of the settings that a study depends on: not who the team is, nor in what units it reads.
pub fn settings_hash(season: &Season) -> String {
    let mut hash = Fingerprint::new("settings", Stage::Study.number());
    hash.json(&(season.phases, &season.study, &season.assume, &season.scores));
    hash.finish()
}
