//! `study.json`: everything that the study found.
//!
//! Numbers are finite or null; an open end of an interval is null. Lists are in a fixed
//! order: claims as in the claims file, everything else as its doc comment says.

use crate::analysis::{Lever, SpecificationCurve, WrapTiming};
use crate::claims::{Claim, ClaimKind};
use crate::cost_side::CostSide;
use crate::drivers::{Driver, WhetherStalled};
use crate::groups::GroupTable;
use crate::season::Season;
use crate::summary::Summary;
use crate::verdict::{Direction, Standing, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
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
    /// What faster costs: scores, yield and cost against the same treatments, and the core at
    /// which meat was felt to be tender.
    pub cost_side: CostSide,
    /// Set-point, sprays and lid: what they buy and cost. Empty without the course of any cook.
    #[serde(default)]
    pub levers: Vec<Lever>,
    /// The claims and what the data say of them, in the order of the claims file.
    pub claims: Vec<ClaimResult>,
}

/// One claim and what the data say of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClaimResult {
    /// The claim's name.
    pub id: String,
    /// The claim in words.
    pub says: String,
    /// The kind of question.
    pub kind: ClaimKind,
    /// The claim as it was written down, defaults filled in.
    pub asked: Claim,
    /// The verdict.
    pub verdict: Verdict,
    /// How much it is worth.
    pub standing: Standing,
    /// Confirming cooks so far: cooks of the table that were not known when the claim was
    /// written down. Cooks that the analysis must leave out count too, so that leaving one
    /// out never brings another one in.
    pub confirming_cooks: usize,
    /// Confirming cooks after which it is judged on that many of them alone.
    pub judge_after_cooks: usize,
    /// Claims of its family, withdrawn ones included: the m of `effect.level` = 1 − 0.10/m.
    pub family_size: usize,
    /// Where the interval lies against zero.
    pub direction: Direction,
    /// Why it was refused; null otherwise.
    pub reason: Option<String>,
    /// The effect; null where it was refused.
    pub effect: Option<Effect>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Cooks left out, by reason, in the order in which reasons are looked at; each cook
    /// counts once.
    pub left_out: Vec<LeftOut>,
    /// What other models would answer: what would change the verdict, and what would not.
    pub other_ways: Vec<Alternative>,
    /// The answer with each fire left out in turn; null where it was refused, or where there
    /// are more than 300 fires, of which no single one weighs much.
    pub leave_one_fire_out: Option<LeaveOneFireOut>,
    /// The claim under every combination of choices that others might have made; null where it
    /// was refused or there is nothing to choose.
    pub specifications: Option<SpecificationCurve>,
    /// Further usable cooks after which a verdict may be expected; null where it was refused
    /// or 1,000 would not do. See [`crate::analysis`].
    pub cooks_still_needed: Option<usize>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
    /// The models that were fitted.
    pub models: Vec<Model>,
    /// What a comparison of wrapping strategies found; null for other claims, and where nothing
    /// could be weighted.
    pub wrap_timing: Option<WrapTiming>,
}

/// What another model would answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    /// How it differs from the model that the verdict rests on, in words.
    pub way: String,
    /// Its estimate of the effect, in the effect's unit, raw sign.
    pub estimate: f64,
    /// Lower end of its interval, of the level of the effect; null is open.
    pub lo: Option<f64>,
    /// Upper end; null is open.
    pub hi: Option<f64>,
    /// Cooks used.
    pub n: usize,
    /// The verdict that it would give.
    pub verdict: Verdict,
}

/// The answer with each fire left out in turn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeaveOneFireOut {
    /// Fires that were left out in turn.
    pub fires: usize,
    /// Lowest estimate of the effect among them, raw sign.
    pub lowest: f64,
    /// Highest.
    pub highest: f64,
    /// Fires without which the model cannot be fitted.
    pub not_fitted: usize,
    /// Fires without which the verdict is another one, in the order of their cooks.
    pub changing: Vec<ChangingFire>,
}

/// A fire without which the verdict is another one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangingFire {
    /// Its cooks.
    pub cooks: Vec<String>,
    /// The estimate without it, raw sign.
    pub estimate: f64,
    /// The verdict without it.
    pub verdict: Verdict,
}

/// Cooks left out for one reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// The reason.
    pub reason: String,
    /// How many cooks.
    pub cooks: usize,
}

/// An effect with its interval: first minus second, or the change per step of a trend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Effect {
    /// The estimate, in `unit`, raw sign.
    pub estimate: f64,
    /// Lower end of the interval, raw sign; null is open.
    pub lo: Option<f64>,
    /// Upper end of the interval, raw sign; null is open.
    pub hi: Option<f64>,
    /// Confidence level of the interval.
    pub level: f64,
    /// Unit of the outcome; empty where its name promises none.
    pub unit: String,
    /// The estimate signed so that positive favours what is said.
    pub d: f64,
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// `least-squares`, `censored-gaussian`, `mixed`, `fixed-effects`, `logistic`, `ordinal` or
    /// `interval-censored-normal`; `restricted-mean` for times to the finish with lower bounds; for wrap
    /// timing `cox`, `cox-by-method`, `kaplan-meier` (naive), `clone-censor-weight`, and
    /// `pooled-logistic` for each decision.
    pub name: String,
    /// How it was fitted and where its standard errors come from, in words.
    pub method: String,
    /// Cooks.
    pub n: usize,
    /// Cooks whose outcome was observed to its end.
    pub events: usize,
    /// Log-likelihood at its maximum, natural logarithm.
    pub log_likelihood: Option<f64>,
    /// Variance of the residuals, in the squared unit of the modelled outcome.
    pub residual_variance: Option<f64>,
    /// Random intercepts.
    pub random: Vec<RandomIntercept>,
    /// The terms, in the order of the design.
    pub terms: Vec<Term>,
}

/// The variance of a random intercept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RandomIntercept {
    /// The column.
    pub group: String,
    /// The variance.
    pub variance: f64,
}

/// A coefficient with its test and 95 % interval, in the modelled outcome's unit (its
/// logarithm where the scale is `log`) per unit of the term.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Term {
    /// Name of the term; `column[level]` is that level against the base.
    pub term: String,
    /// The coefficient.
    pub estimate: Option<f64>,
    /// Its standard error.
    pub std_error: Option<f64>,
    /// Lower end of the 95 % interval.
    pub lo: Option<f64>,
    /// Upper end of the 95 % interval.
    pub hi: Option<f64>,
    /// Degrees of freedom of Student's t; null is the normal.
    pub df: Option<f64>,
    /// Estimate over standard error.
    pub statistic: Option<f64>,
    /// Two-sided p value of a zero coefficient.
    pub p: Option<f64>,
}

/// The JSON Schema of `study.json`.
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(StudyResult).to_value()
}

/// A number for JSON: null unless finite. Minus zero is zero.
pub(crate) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value + 0.0)
}
