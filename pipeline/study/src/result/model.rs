//! A fitted model, and the cooks that it left out.

use super::rows::Rows;
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Cooks left out for one reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// The reason.
    pub reason: String,
    /// How many cooks.
    pub cooks: usize,
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// `least-squares`, `scale-gaussian`, `censored-gaussian`, `mixed`, `fixed-effects`, `logistic`, `ordinal` or
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

/// A number for JSON: null unless finite. Minus zero is zero.
pub(crate) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value + 0.0)
}

impl Term {
    /// Every term of every model, each with what the model was asked.
    pub(super) fn rows(models: &[(String, &Model)]) -> Table {
        let terms: Vec<(&str, &Model, &Self)> = models
            .iter()
            .flat_map(|(question, model)| {
                model.terms.iter().map(move |term| (question.as_str(), *model, term))
            })
            .collect();
        Rows::of(&terms)
            .text("question", |(question, ..)| Some((*question).to_owned()))
            .text("model", |(_, model, _)| Some(model.name.clone()))
            .text("term", |(.., term)| Some(term.term.clone()))
            .float("estimate", |(.., term)| term.estimate)
            .float("std_error", |(.., term)| term.std_error)
            .float("lo", |(.., term)| term.lo)
            .float("hi", |(.., term)| term.hi)
            .float("df", |(.., term)| term.df)
            .float("statistic", |(.., term)| term.statistic)
            .float("p", |(.., term)| term.p)
            .table()
    }
}
