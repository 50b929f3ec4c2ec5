//! What the study found: claims, effects, plots with their lines and bands, tables by group.

use serde::Serialize;

use super::account::Counted;
use super::wrap_timing::WrapTimingReport;
use crate::units::{Covariate, Quantity};

/// One row of the summary table.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct SummaryRow {
    /// The measure in words, for instance `Trimmed weight`.
    pub measure: String,
    /// What its numbers are.
    pub quantity: Quantity,
    /// Cooks with a value.
    pub cooks: usize,
    /// Median, SI.
    pub median: Option<f64>,
    /// True where the median is a lower bound (too many open-ended cooks).
    pub median_at_least: bool,
    /// Smallest, SI.
    pub min: Option<f64>,
    /// Largest, SI.
    pub max: Option<f64>,
    /// How many of the cooks are open-ended (censored).
    pub censored: usize,
}

/// An effect with its interval, in SI, before any conversion.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Effect {
    /// Difference of outcomes, or slope per ONE SI unit of the covariate; in the SI unit of
    /// `outcome`.
    pub estimate: f64,
    /// Lower end of the interval; `None` is open.
    pub lo: Option<f64>,
    /// Upper end of the interval; `None` is open.
    pub hi: Option<f64>,
    /// Confidence level of the interval, for instance 0.95.
    pub level: f64,
    /// What the outcome's numbers are; effects convert as differences (no zero point).
    pub outcome: Quantity,
    /// For a slope: what it is per.
    pub per: Option<Covariate>,
    /// Cooks used.
    pub cooks: usize,
    /// Fires used.
    pub fires: usize,
}

/// The answer to a claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The whole interval lies beyond what matters, in the claim's favour.
    Yes,
    /// The whole interval lies beyond what matters, the other way.
    Reverse,
    /// The whole interval lies within what matters.
    TooSmallToMatter,
    /// A difference that matters in the claim's favour is ruled out.
    No,
    /// The interval is too wide to decide.
    #[default]
    Open,
    /// Not answered, with the reason.
    Refused,
}

/// Where the interval lies against zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Direction {
    /// All of it on the claim's side.
    For,
    /// All of it on the other side.
    Against,
    /// Zero is inside, or nothing was estimated.
    #[default]
    Unclear,
}

/// How much a verdict is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Judged on cooks that were cooked after the claim was written down.
    Confirmed,
    /// Judged on cooks that were known when the claim was written down.
    AfterTheFact {
        /// Confirming cooks so far.
        confirming: usize,
        /// Confirming cooks needed.
        needed: usize,
    },
}

impl Default for Standing {
    fn default() -> Self {
        Self::AfterTheFact { confirming: 0, needed: 40 }
    }
}

/// One claim and what the data say of it.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct ClaimReport {
    /// The claim's id.
    pub id: String,
    /// The claim as written.
    pub says: String,
    /// How it is asked: `compare`, `trend` or `wrap-timing`.
    pub kind: String,
    /// The outcome in words, for instance `time to finish`.
    pub outcome_name: String,
    /// What is compared, in words, first against second: `foil at 160 °F` against `paper at 160
    /// °F`; `None` for trends.
    pub contrast: Option<(String, String)>,
    /// What was adjusted for, in words.
    pub adjusted_for: Vec<String>,
    /// The verdict.
    pub verdict: Verdict,
    /// How much it is worth.
    pub standing: Standing,
    /// Where the interval lies against zero.
    pub direction: Direction,
    /// Why it was refused, or what limits it.
    pub reason: Option<String>,
    /// The effect, first minus second or slope, raw sign; `None` where nothing was estimated.
    pub effect: Option<Effect>,
    /// Smallest difference anyone would act on (> 0), in the SI unit of the outcome and, for a
    /// slope, per the claim's step.
    pub matters: f64,
    /// True where a positive effect favours the claim, false where a negative one does.
    pub positive_favours: bool,
    /// Claims of the same family, over which the interval's level is shared.
    pub family_size: usize,
    /// Cooks used.
    pub cooks: usize,
    /// Fires used.
    pub fires: usize,
    /// Further cooks after which a verdict may be expected.
    pub cooks_still_needed: Option<usize>,
    /// What other models would answer.
    pub other_ways: Vec<OtherWay>,
    /// The answer with each fire left out in turn.
    pub without_one_fire: Option<WithoutOneFire>,
    /// The claim under every combination of choices.
    pub specification_curve: Option<SpecificationCurve>,
    /// A remark of the study, shown as is.
    pub note: Option<String>,
    /// For a comparison of wrapping strategies: the answers and what they rest on.
    pub wrap_timing: Option<WrapTimingReport>,
}

/// What another model would answer.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct OtherWay {
    /// How it differs, in words: `with random intercepts of fire (82 levels)`.
    pub way: String,
    /// Its effect.
    pub effect: Effect,
    /// The verdict that it would give.
    pub verdict: Verdict,
}

/// The answer with each fire left out in turn.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct WithoutOneFire {
    /// Fires left out in turn.
    pub fires: usize,
    /// Lowest estimate, scaled as [`Effect::estimate`].
    pub lowest: f64,
    /// Highest estimate.
    pub highest: f64,
    /// Fires without which the verdict is another one: their cooks, and that verdict.
    pub changing: Vec<(Vec<String>, Verdict)>,
}

/// A claim under every combination of choices.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct SpecificationCurve {
    /// The specifications, by rising estimate.
    pub points: Vec<SpecificationPoint>,
    /// What was chosen between.
    pub questions: Vec<Choice>,
    /// Specifications with the claim's own verdict.
    pub same_verdict: usize,
    /// Specifications with an estimate on the same side of zero.
    pub same_side: usize,
    /// Specifications that could not be fitted.
    pub not_fitted: usize,
    /// Whether all but the claim as written are point estimates, judged with its standard error.
    pub own_error: bool,
}

/// One specification.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct SpecificationPoint {
    /// Its choices in words.
    pub name: String,
    /// Its effect.
    pub effect: Effect,
    /// Whether it is the claim as written: drawn larger.
    pub as_written: bool,
    /// The answer to each question, as its place in [`Choice::answers`].
    pub answers: Vec<usize>,
}

/// A question of choice with its possible answers.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Choice {
    /// The question in a word or two: `Outcome`.
    pub question: String,
    /// The answers.
    pub answers: Vec<String>,
}

/// One row of the effects table.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct EffectRow {
    /// The outcome in words, for instance `Stall delay`.
    pub outcome_name: String,
    /// The term in words, for instance `trimmed weight`.
    pub term: String,
    /// The effect.
    pub effect: Effect,
    /// The model in words, for instance `censored Gaussian, clustered by fire`.
    pub model: String,
    /// A remark, for instance `described, not caused`.
    pub note: Option<String>,
    /// The p value that allows for all columns asked together; only where they were.
    pub p_adjusted: Option<f64>,
}

/// An outcome against a numeric covariate.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Scatter {
    /// Unique, usable in an address: letters, digits and `-`.
    pub id: String,
    /// The covariate in words, for instance `Trimmed weight`.
    pub x_name: String,
    /// What its numbers are.
    pub x: Quantity,
    /// The outcome in words, for instance `Stall delay`.
    pub y_name: String,
    /// What its numbers are.
    pub y: Quantity,
    /// One point a cook.
    pub points: Vec<ScatterPoint>,
    /// The line with its band; `None` where too few cooks.
    pub line: Option<FittedLine>,
    /// The slope, for the sentence under the plot.
    pub effect: Option<Effect>,
    /// Cooks left out, by reason.
    pub left_out: Vec<Counted>,
    /// A remark shown under the plot.
    pub note: Option<String>,
}

/// One cook in a scatter plot.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct ScatterPoint {
    /// The cook's id.
    pub cook: String,
    /// Covariate, SI.
    pub x: f64,
    /// Outcome, SI.
    pub y: f64,
    /// True where `y` is a lower bound: drawn as an open upward triangle.
    pub censored: bool,
}

/// A line with its band, at as many places as it needs (two for a line without a band, about 40
/// with one).
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct FittedLine {
    /// How it was fitted, in words: `least squares` or `censored Gaussian`.
    pub method: String,
    /// Confidence level of the band, for instance 0.95.
    pub level: f64,
    /// Places, in the order of `x`.
    pub points: Vec<LinePoint>,
}

/// The line at one place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct LinePoint {
    /// Covariate, SI.
    pub x: f64,
    /// The line, SI.
    pub y: f64,
    /// Lower edge of the band, SI.
    pub lo: f64,
    /// Upper edge of the band, SI.
    pub hi: f64,
}

/// An outcome by group, one point a cook, with medians. Headed "described, not caused".
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Strip {
    /// Unique, usable in an address: letters, digits and `-`.
    pub id: String,
    /// The outcome in words.
    pub y_name: String,
    /// What its numbers are.
    pub y: Quantity,
    /// What the groups are, in words, for instance `wrap`.
    pub by: String,
    /// The groups, in the order to draw them.
    pub groups: Vec<StripGroup>,
    /// Cooks left out, by reason.
    pub left_out: Vec<Counted>,
    /// A remark shown under the plot.
    pub note: Option<String>,
}

/// One group of a strip plot.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct StripGroup {
    /// Its name.
    pub label: String,
    /// One point a cook.
    pub points: Vec<StripPoint>,
    /// Median, SI; `None` where there are too few cooks to give one.
    pub median: Option<f64>,
    /// True where the median is a lower bound.
    pub median_at_least: bool,
    /// Cooks in the group.
    pub cooks: usize,
    /// Fires in the group.
    pub fires: usize,
}

/// One cook in a strip plot.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct StripPoint {
    /// The cook's id.
    pub cook: String,
    /// Outcome, SI.
    pub y: f64,
    /// True where `y` is a lower bound.
    pub censored: bool,
}

/// Medians and counts by group.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct GroupTable {
    /// What the groups are, in words, for instance `Cut` or `Wrap`.
    pub by: String,
    /// True for groups that were chosen while cooking (wraps): the table is headed "described, not
    /// caused".
    pub described_only: bool,
    /// The columns.
    pub columns: Vec<GroupColumn>,
    /// The rows.
    pub rows: Vec<GroupRow>,
}

/// One column of a group table.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct GroupColumn {
    /// The measure in words.
    pub measure: String,
    /// What its numbers are.
    pub quantity: Quantity,
}

/// One row of a group table.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct GroupRow {
    /// The group.
    pub level: String,
    /// Cooks in it.
    pub cooks: usize,
    /// Fires in it.
    pub fires: usize,
    /// One value a column, in the order of the columns.
    pub values: Vec<GroupValue>,
}

/// One cell of a group table.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct GroupValue {
    /// Median, SI.
    pub median: Option<f64>,
    /// True where the median is a lower bound.
    pub at_least: bool,
    /// Cooks with a value.
    pub cooks: usize,
    /// How many of them are open-ended (censored).
    pub censored: usize,
}
