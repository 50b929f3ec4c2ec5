//! What goes with a long stall.

use super::rows::{Rows, word};
use super::{LeftOut, Model};
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One outcome against weight, pit and wrap.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Driver {
    /// The outcome's column: `stall_delay_min` or `stall_min`.
    pub outcome: String,
    /// Which cooks.
    pub cooks: CookSet,
    /// Unit of the outcome.
    pub unit: String,
    /// Weight, pit temperature, thickness and pit unsteadiness, each by itself; the latter two
    /// where the table has them.
    pub lines: Vec<DriverLine>,
    /// Wrap methods by themselves, each against the first in sorted order.
    pub wrap: Contrasts,
    /// Weight, pit and wrap together.
    pub joint: JointModel,
    /// Every other column of the sheet that may bear on the outcome, each beside weight and pit.
    pub further: Vec<FurtherDriver>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
}

/// A column beside weight and pit: what it adds to them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FurtherDriver {
    /// The column.
    pub by: String,
    /// The level that the others are set against; null for numbers and where refused.
    pub base: Option<String>,
    /// Per step, or each level against the base; empty where refused.
    pub effects: Vec<DriverEffect>,
    /// Wald's test that the column adds nothing; null where refused.
    pub test: Option<WaldTest>,
    /// The p value of that test, allowing for all columns asked of the same outcome: Benjamini &
    /// Hochberg (1995), Journal of the Royal Statistical Society B 57, 289–300.
    pub p_adjusted: Option<f64>,
    /// Why there is no model; null otherwise.
    pub reason: Option<String>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Of the cooks used, those whose outcome is a lower bound.
    pub censored: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// The model; null where refused.
    pub model: Option<Model>,
}

/// Wald's test that some coefficients are all zero.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WaldTest {
    /// The statistic over its degrees of freedom.
    pub f: f64,
    /// Coefficients tested.
    pub df: f64,
    /// Degrees of freedom of the errors; null is infinite.
    pub residual_df: Option<f64>,
    /// Probability of an f at least as large were all of them zero.
    pub p: f64,
}

/// Whether a cook stalled at all, against weight and pit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WhetherStalled {
    /// Cooks used.
    pub n: usize,
    /// Of these, cooks that stalled.
    pub stalled: usize,
    /// Fires used.
    pub fires: usize,
    /// Average change of the probability per step, in percentage points: the mean over the used
    /// cooks of the change from half a step below to half a step above their own value. Empty
    /// where refused.
    pub effects: Vec<DriverEffect>,
    /// Why there is no model; null otherwise.
    pub reason: Option<String>,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
    /// The model, in log odds; null where refused.
    pub model: Option<Model>,
}

/// What the residuals of a model look like.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ResidualChecks {
    /// Residuals looked at; those of lower bounds are not.
    pub n: usize,
    /// Skewness, 0 for a symmetric scatter.
    pub skewness: f64,
    /// Excess kurtosis, 0 for the normal.
    pub excess_kurtosis: f64,
    /// p value of the test of both, good for large n: Jarque & Bera (1987), International
    /// Statistical Review 55, 163–172.
    pub normality_p: f64,
    /// p value of the test that the scatter does not go with the terms: Breusch & Pagan as
    /// studentised by Koenker (1981), Journal of Econometrics 17, 107–112; null where it cannot
    /// be made.
    pub equal_scatter_p: Option<f64>,
}

/// A cook that weighs much in a model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InfluentialCook {
    /// The cook.
    pub cook: String,
    /// The term that it moves most.
    pub term: String,
    /// The step that the effects are per, in the term's unit; null for a level.
    pub per: Option<f64>,
    /// The effect with it.
    pub effect_with: f64,
    /// The effect without it.
    pub effect_without: f64,
    /// The move in standard errors (DFBETAS): Belsley, Kuh & Welsch (1980), Regression
    /// Diagnostics, section 2.1.
    pub moved: f64,
}

/// Which cooks a driver is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CookSet {
    /// Every cook that was judged.
    All,
    /// Cooks with at least one stall.
    Stalled,
}

/// An outcome against one numeric column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DriverLine {
    /// The column: `trimmed_weight_kg` (or `raw_weight_kg` where most cooks lack it),
    /// `pit_early_c`, `thickness_mm` or `pit_sd_c`.
    pub by: String,
    /// Change of the outcome per step; null where refused.
    pub effect: Option<DriverEffect>,
    /// The same with weight and early pit temperature held fixed, where these are not what it is about: a slope by
    /// itself takes in what goes along with the column. Null where that cannot be fitted.
    #[serde(default)]
    pub adjusted: Option<DriverEffect>,
    /// Why there is no line; null otherwise.
    pub reason: Option<String>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Of the cooks used, those whose outcome is a lower bound.
    pub censored: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// One point a cook, in the order of the cooks' names.
    pub points: Vec<Point>,
    /// The fitted line, or the curve where `curved`, on an even grid over the points, with a
    /// pointwise 95 % confidence band of the mean; empty where refused.
    pub line: Vec<LinePoint>,
    /// Whether the points are drawn through by a restricted cubic spline of four knots, since a
    /// line will not do: the test of linearity has p < 0.05. The effect is the line's all the
    /// same.
    pub curved: bool,
    /// Wald's test that the curve is a line; null below 30 cooks, or where no curve can be
    /// fitted.
    pub linearity: Option<WaldTest>,
    /// The model; null where refused.
    pub model: Option<Model>,
}

/// A slope in words that people use: minutes per kilogram, per 5 °C, or against a base.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DriverEffect {
    /// Name of the term in the model.
    pub term: String,
    /// The step, in `per_unit`; null for a level against its base.
    pub per: Option<f64>,
    /// Unit of the step; null for a level against its base.
    pub per_unit: Option<String>,
    /// Change of the outcome per step, in `unit`.
    pub estimate: f64,
    /// Lower end of the interval; null is open.
    pub lo: Option<f64>,
    /// Upper end of the interval; null is open.
    pub hi: Option<f64>,
    /// Confidence level of the interval.
    pub level: f64,
    /// Unit of the outcome.
    pub unit: String,
}

/// One cook in a figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// The cook.
    pub cook: String,
    /// The column's value, in its unit.
    pub x: f64,
    /// The outcome, in its unit.
    pub y: f64,
    /// Whether `y` is a lower bound.
    pub censored: bool,
}

/// A fitted line at one place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LinePoint {
    /// The column's value.
    pub x: f64,
    /// The fitted mean.
    pub y: f64,
    /// Lower edge of the band; null is open.
    pub lo: Option<f64>,
    /// Upper edge of the band; null is open.
    pub hi: Option<f64>,
}

/// Levels of a text column against its base: described, not caused.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Contrasts {
    /// The column.
    pub by: String,
    /// The level that the others are set against; null where refused.
    pub base: Option<String>,
    /// Each other level against the base, in sorted order.
    pub effects: Vec<DriverEffect>,
    /// Why there are none; null otherwise.
    pub reason: Option<String>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Of the cooks used, those whose outcome is a lower bound.
    pub censored: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// The model; null where refused.
    pub model: Option<Model>,
}

/// Weight, pit and wrap in one model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JointModel {
    /// Per kilogram, per 5 °C, and each wrap method against the base; empty where refused.
    pub effects: Vec<DriverEffect>,
    /// Why there is no model; null otherwise.
    pub reason: Option<String>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Of the cooks used, those whose outcome is a lower bound.
    pub censored: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// The model; null where refused.
    pub model: Option<Model>,
    /// The same terms with random intercepts of fire and pit; null where outcomes are lower
    /// bounds or no intercept can be told from the scatter, with a note.
    pub mixed: Option<Model>,
    /// The same terms with the pits as fixed effects; null where there are six or more, or one.
    pub fixed: Option<Model>,
    /// What its residuals look like; null where refused.
    pub checks: Option<ResidualChecks>,
    /// Cooks that move an effect by more than 2/√n standard errors, the farthest first, at most
    /// five; none are looked for beyond 300 cooks.
    pub influential: Vec<InfluentialCook>,
}

impl Driver {
    /// The outcome with the cooks that it is asked of, as tables name it.
    fn question(&self) -> String {
        format!("{} ({})", self.outcome, word(&self.cooks).unwrap_or_default())
    }

    /// Every model with what it was asked.
    pub(super) fn models(&self) -> Vec<(String, &Model)> {
        let of = self.question();
        let lines = self.lines.iter().map(|line| (format!("{of} by {}", line.by), &line.model));
        let others = [
            (format!("{of} by {}", self.wrap.by), &self.wrap.model),
            (format!("{of} jointly"), &self.joint.model),
            (format!("{of} jointly"), &self.joint.mixed),
            (format!("{of} jointly"), &self.joint.fixed),
        ];
        let further = self.further.iter();
        let further =
            further.map(|own| (format!("{of} by {} beside weight and pit", own.by), &own.model));
        let all = lines.chain(others).chain(further);
        all.filter_map(|(question, model)| Some((question, model.as_ref()?))).collect()
    }

    /// Every fitted line with its band, as drawn.
    pub(super) fn rows(drivers: &[Self]) -> Table {
        let mut points: Vec<(String, &LinePoint)> = Vec::new();
        for driver in drivers {
            for line in &driver.lines {
                let question = format!("{} by {}", driver.question(), line.by);
                points.extend(line.line.iter().map(|point| (question.clone(), point)));
            }
        }
        Rows::of(&points)
            .text("question", |(question, _)| Some(question.clone()))
            .float("x", |(_, point)| Some(point.x))
            .float("y", |(_, point)| Some(point.y))
            .float("lo", |(_, point)| point.lo)
            .float("hi", |(_, point)| point.hi)
            .table()
    }
}
