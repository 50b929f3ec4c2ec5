//! What faster costs.

use super::rows::{Rows, word};
use super::tender::TenderTemperature;
use super::{LeftOut, Model};
use columns::Table;
use cook::season::Better;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What faster costs.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CostSide {
    /// Each treatment against each outcome: treatments in turn, for each first the time to the
    /// finish, then scores by name, yields and cost.
    pub answers: Vec<CostAnswer>,
    /// The core temperature at which meat was felt to be tender.
    pub tender: TenderTemperature,
}

/// What kind of outcome it is, and so how it is modelled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CostOutcome {
    /// Time to the finish.
    Time,
    /// A score.
    Score,
    /// A share of the weight.
    Yield,
    /// Cost of a served kilogram.
    Cost,
}

/// What a difference may be said to be.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Lots were drawn: the treatment caused it, as far as the lots go.
    Randomised,
    /// It follows from how the cook went: described, not caused.
    Described,
    /// It goes along with the outcome among these cooks.
    Association,
}

/// The plain answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// Better, allowing for all questions of its kind.
    Better,
    /// Worse, allowing for all questions of its kind.
    Worse,
    /// Better by its own interval, but not allowing for all questions of its kind.
    PerhapsBetter,
    /// Worse by its own interval, but not allowing for all questions of its kind.
    PerhapsWorse,
    /// The interval holds zero.
    CannotTell,
}

/// One treatment against one outcome.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CostAnswer {
    /// The outcome: a column, or `cooked_over_trimmed`, or `cost_per_served_kg`.
    pub outcome: String,
    /// What kind of outcome it is.
    pub kind: CostOutcome,
    /// Which way it is better.
    pub better: Better,
    /// The treatment's column.
    pub treatment: String,
    /// What a difference may be said to be.
    pub standing: Standing,
    /// The level that the others are set against; null for numbers and where refused.
    pub base: Option<String>,
    /// Each level against the base, or the change per step; empty where refused.
    pub effects: Vec<CostEffect>,
    /// Cooks and fires of each level that is used; empty for numbers.
    pub levels: Vec<LevelCount>,
    /// The columns that the model is adjusted for.
    pub adjusted_for: Vec<String>,
    /// Why there is no answer; null otherwise.
    pub reason: Option<String>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Of the cooks used, those whose outcome is a lower bound.
    pub censored: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// p value of Brant's test (1990) that the odds are proportional, more than five different
    /// scores merged into five classes; null where it cannot be made or is not asked.
    pub proportional_odds_p: Option<f64>,
    /// The answer with each fire left out in turn; null where it was refused, for treatments that
    /// only go along, and beyond 300 fires.
    pub without_one_fire: Option<WithoutOneFire>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
    /// The models: first the one that answers, then the linear and the mixed one beside it.
    pub models: Vec<Model>,
}

/// One difference.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CostEffect {
    /// Name of the term in the model.
    pub term: String,
    /// The level; null for numbers.
    pub level: Option<String>,
    /// The step, in `per_unit`; null for a level against its base.
    pub per: Option<f64>,
    /// Unit of the step; null for a level against its base.
    pub per_unit: Option<String>,
    /// The difference in the outcome's unit: of the mean, of the expected score, or of the median
    /// cost.
    pub estimate: f64,
    /// Lower end of the 95 % interval; null is open.
    pub lo: Option<f64>,
    /// Upper end of the 95 % interval; null is open.
    pub hi: Option<f64>,
    /// Unit of the outcome; empty for money.
    pub unit: String,
    /// Odds ratio of a better score; null for other outcomes.
    pub odds_ratio: Option<OddsRatio>,
    /// Change of the probability of a good score; null for other outcomes.
    pub good_score: Option<GoodScore>,
    /// Two-sided p value of no difference.
    pub p: f64,
    /// The same, allowing for all questions of the same standing.
    pub p_adjusted: f64,
    /// The plain answer.
    pub finding: Finding,
}

/// A ratio of odds with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OddsRatio {
    /// The ratio.
    pub estimate: f64,
    /// Lower end.
    pub lo: Option<f64>,
    /// Upper end.
    pub hi: Option<f64>,
}

/// The change of the probability of a good score, with its 95 % interval, in percentage points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GoodScore {
    /// A good score is this or better: the border nearest to the middle of the used cooks.
    pub score: f64,
    /// Share of the used cooks with a good score, %.
    pub share: f64,
    /// The change.
    pub estimate: f64,
    /// Lower end.
    pub lo: Option<f64>,
    /// Upper end.
    pub hi: Option<f64>,
}

/// One level of a treatment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LevelCount {
    /// The level.
    pub level: String,
    /// Cooks used.
    pub cooks: usize,
    /// Their fires.
    pub fires: usize,
    /// Median of the outcome; lower bounds count as they stand.
    pub median: f64,
}

/// The answer with each fire left out in turn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WithoutOneFire {
    /// Fires that were left out in turn.
    pub fires: usize,
    /// Fires without which the model cannot be fitted.
    pub not_fitted: usize,
    /// The cooks of each fire without which some interval would come to hold zero, or to leave
    /// it out.
    pub changing: Vec<Vec<String>>,
}

impl CostSide {
    /// Every model with what it was asked.
    pub(super) fn models(&self) -> Vec<(String, &Model)> {
        let answers = self.answers.iter().flat_map(|answer| {
            let question = format!("{} by {} (cost side)", answer.outcome, answer.treatment);
            answer.models.iter().map(move |model| (question.clone(), model))
        });
        let tender = self.tender.model.iter();
        let tender =
            tender.map(|model| ("core temperature felt tender, by wrap and cut".to_owned(), model));
        answers.chain(tender).collect()
    }
}

impl CostAnswer {
    /// One row a difference of one outcome by one treatment.
    pub(super) fn rows(answers: &[Self]) -> Table {
        let rows: Vec<(&Self, &CostEffect)> = answers
            .iter()
            .flat_map(|answer| answer.effects.iter().map(move |own| (answer, own)))
            .collect();
        Rows::of(&rows)
            .text("treatment", |(answer, _)| Some(answer.treatment.clone()))
            .text("standing", |(answer, _)| word(&answer.standing))
            .text("outcome", |(answer, _)| Some(answer.outcome.clone()))
            .text("level", |(_, own)| own.level.clone())
            .text("base", |(answer, _)| answer.base.clone())
            .float("per", |(_, own)| own.per)
            .text("per_unit", |(_, own)| own.per_unit.clone().filter(|unit| !unit.is_empty()))
            .float("estimate", |(_, own)| Some(own.estimate))
            .float("lo", |(_, own)| own.lo)
            .float("hi", |(_, own)| own.hi)
            .text("unit", |(_, own)| Some(own.unit.clone()).filter(|unit| !unit.is_empty()))
            .float("odds_ratio", |(_, own)| Some(own.odds_ratio?.estimate))
            .float("odds_ratio_lo", |(_, own)| own.odds_ratio?.lo)
            .float("odds_ratio_hi", |(_, own)| own.odds_ratio?.hi)
            .float("good_score", |(_, own)| Some(own.good_score?.score))
            .float("good_score_points", |(_, own)| Some(own.good_score?.estimate))
            .float("good_score_points_lo", |(_, own)| own.good_score?.lo)
            .float("good_score_points_hi", |(_, own)| own.good_score?.hi)
            .float("p", |(_, own)| Some(own.p))
            .float("p_adjusted", |(_, own)| Some(own.p_adjusted))
            .text("finding", |(_, own)| word(&own.finding))
            .text("better", |(answer, _)| word(&answer.better))
            .count("cooks", |(answer, _)| Some(answer.n))
            .count("fires", |(answer, _)| Some(answer.fires))
            .table()
    }
}
