//! `study.json`: everything that the study found.
//!
//! Numbers are finite or null; an open end of an interval is null. Lists are in a fixed
//! order: claims as in the claims file, everything else as its doc comment says.
//!
//! The types know nothing of what computes them: the computations write them, `report` prints them,
//! and their rows stand beside them.

pub mod chart;
mod claim;
pub mod compare;
pub mod cost;
pub mod course;
pub mod driver;
mod effect;
pub mod effects;
pub mod finish;
pub mod flow;
pub mod forecast;
pub mod g_formula;
pub mod group;
pub mod lever;
mod look;
mod model;
pub mod pool;
mod rows;
pub mod score;
pub mod season;
pub mod specification;
pub mod summary;
pub mod teams;
pub mod tender;
pub mod trial;
pub mod wrap_timing;

pub use claim::{
    AllCooks, Alternative, ChangingFire, ClaimResult, LeaveOneFireOut, NextStep, NextStepKind,
};
pub use effect::Effect;
pub use look::TakenLook;
pub(crate) use model::finite;
pub use model::{LeftOut, Model, RandomIntercept, Ratio, Term};

use chart::ControlChart;
use columns::Table;
use compare::Comparisons;
use cost::{CostAnswer, CostSide};
use course::CoreCourses;

use driver::{Driver, WhetherStalled};
use finish::FinishByWrap;
use flow::FlowStep;
use forecast::ForecastBacktest;
use group::GroupTable;
use lever::Lever;
use schemars::JsonSchema;
use score::Scores;
use season::{Glance, Season};
use serde::{Deserialize, Serialize};
use summary::Summary;
use teams::Teams;
use trial::TrialResult;

/// The value of [`StudyResult::schema`].
pub const STUDY_SCHEMA: &str = "cookstudy/study/1";

/// An input file by its content.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InputHash {
    /// Path, relative to the season folder.
    pub path: String,
    /// SHA-256 of its content, hexadecimal.
    pub sha256: String,
}

/// Where a result comes from. The caller knows; the study only writes it down.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Provenance {
    /// Version of the program.
    pub version: String,
    /// SHA-256 of the settings, hexadecimal.
    pub settings_hash: String,
    /// The settings that results depend on once the logs are read: constants of the phases, draws,
    /// assumptions.
    pub settings: serde_json::Value,
    /// SHA-256 of the measures as `data/measures.parquet`, hexadecimal.
    pub measures_hash: String,
    /// The inputs.
    pub inputs: Vec<InputHash>,
    /// Seed of every random draw but those of the cooks still needed, which the claim's own text
    /// seeds.
    pub seed: u64,
}

/// The whole of `study.json`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StudyResult {
    /// Always [`STUDY_SCHEMA`].
    pub schema: String,
    /// Version, settings, inputs and seed.
    #[serde(flatten)]
    pub provenance: Provenance,
    /// What goes with a long stall.
    pub drivers: Vec<Driver>,
    /// What goes with stalling at all; null where the table does not say.
    pub whether_stalled: Option<WhetherStalled>,
    /// Outcomes by wrap: described, not caused.
    pub groups: Vec<GroupTable>,
    /// What was cooked.
    pub summary: Summary,
    /// The season as a whole: glance, control charts, time to the finish by wrap.
    pub season: Season,
    /// Scores of judges and tasters, and entries without a curve.
    #[serde(default)]
    pub scores: Scores,
    /// What faster costs: scores, yield and cost against the same treatments, and the core at
    /// which meat was felt to be tender.
    pub cost_side: CostSide,
    /// How long the core takes to each temperature, side by side. Empty without the course of any cook.
    #[serde(default)]
    pub courses: Vec<CoreCourses>,
    /// Set-point, sprays and lid: what they buy and cost. Empty without the course of any cook.
    #[serde(default)]
    pub levers: Vec<Lever>,
    /// How good forecasts would have been on this past; null where only a table was studied.
    #[serde(default)]
    pub forecast_backtest: Option<ForecastBacktest>,
    /// Trials whose lots were drawn, in the order in which they were begun.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub trials: Vec<TrialResult>,
    /// The claims and what the data say of them, in the order of the claims file.
    pub claims: Vec<ClaimResult>,
}

/// A table of `data/`: its name, what it holds, and its rows.
type DataTable = (&'static str, &'static str, fn(&StudyResult) -> Table);

/// The tables of a study, in the order in which they are listed.
const TABLES: [DataTable; 20] = [
    ("claims", "one row a claim: verdict, standing, effect", |study| {
        ClaimResult::rows(&study.claims)
    }),
    ("teams", "every claim in each team, their mean, and what a new team may expect", |study| {
        Teams::rows(
            study
                .claims
                .iter()
                .filter_map(|claim| Some((claim.id.as_str(), claim.teams.as_ref()?))),
        )
    }),
    ("flow", "every claim's cooks from logs to those used, with reasons, by team", |study| {
        FlowStep::rows(study.claims.iter().map(|claim| (claim.id.as_str(), claim.flow.as_slice())))
    }),
    ("terms", "every coefficient of every model", |study| Term::rows(&study.models())),
    ("lines", "every fitted line with its band", |study| Driver::rows(&study.drivers)),
    ("costs", "what faster costs: every difference of time, score, yield and cost", |study| {
        CostAnswer::rows(&study.cost_side.answers)
    }),
    ("levers", "set-point, sprays and lid: how they are used, what they buy and cost", |study| {
        Lever::rows(&study.levers)
    }),
    ("tender", "core temperatures by which meat was felt to be tender", |study| {
        study.cost_side.tender.rows()
    }),
    ("glance", "one row a season: hours, fuel, yield, cost, scores, plan and turn-in", |study| {
        Glance::rows(&study.season.glance)
    }),
    ("panels", "one row a panel, category and attribute: means with judges as random", |study| {
        study.scores.panel_rows()
    }),
    ("entries", "one row an entry: punctuality, cost, rank and points", |study| {
        study.scores.entry_rows()
    }),
    ("charts", "every point of the control charts, with limits and shifts", |study| {
        ControlChart::rows(&study.season.charts)
    }),
    ("finish", "time to the finish by wrap, step by step: described, not caused", |study| {
        FinishByWrap::rows(study.season.finish_by_wrap.as_ref())
    }),
    (
        "courses",
        "median time to each core temperature, side by side, from where they part",
        |study| CoreCourses::rows(&study.courses),
    ),
    ("shared_fires", "time to the finish of two sides on the fires that both shared", |study| {
        CoreCourses::fire_rows(&study.courses)
    }),
    ("comparisons", "seasons and teams against each other: described, not caused", |study| {
        Comparisons::rows(&study.season.comparisons)
    }),
    ("forecasts", "how far off forecasts of past cooks would have been, by hours to go", |study| {
        ForecastBacktest::rows(study.forecast_backtest.as_ref())
    }),
    ("trials", "one row a trial: state, verdict, effect", |study| TrialResult::rows(&study.trials)),
    ("lots", "every lot of every trial, and what became of it", |study| {
        TrialResult::lot_rows(&study.trials)
    }),
    ("specifications", "every claim under every specification", |study| {
        ClaimResult::specification_rows(&study.claims)
    }),
];

impl StudyResult {
    /// What the study found as tables, each under its name.
    pub fn tables(&self) -> impl Iterator<Item = (&'static str, Table)> {
        TABLES.into_iter().map(|(name, _, rows)| (name, rows(self)))
    }

    /// The names of these tables and what each holds.
    pub fn table_names() -> impl Iterator<Item = (&'static str, &'static str)> {
        TABLES.into_iter().map(|(name, holds, _)| (name, holds))
    }

    /// Every model with what it was asked.
    fn models(&self) -> Vec<(String, &Model)> {
        let claims = self.claims.iter().flat_map(|claim| {
            claim.models.iter().map(|model| (format!("claim {}", claim.id), model))
        });
        let whether = self.whether_stalled.iter().filter_map(|whether| whether.model.as_ref());
        claims
            .chain(self.drivers.iter().flat_map(Driver::models))
            .chain(whether.map(|model| ("whether it stalled".to_owned(), model)))
            .chain(self.cost_side.models())
            .collect()
    }
}

/// The JSON Schema of `study.json`.
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(StudyResult).to_value()
}

/// The JSON Schema of what a team gives away with `study --effects-only`.
pub fn effects_schema() -> serde_json::Value {
    schemars::schema_for!(effects::Effects).to_value()
}

/// The JSON Schema of `pool.json`.
pub fn pool_schema() -> serde_json::Value {
    schemars::schema_for!(pool::Pool).to_value()
}
