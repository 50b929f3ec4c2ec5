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

/// What a log ratio says, of hazards or of odds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ratio {
    /// The ratio with the ends of its 95 % interval.
    Told([f64; 3]),
    /// The cooks part almost without exception along it, or are too few to say how large it is; which way it goes,
    /// where they tell that.
    Weak(Option<std::cmp::Ordering>),
}

/// A ratio whose interval spans a larger factor, or one that is itself larger or smaller than this, is no size
/// that anybody found: its likelihood is almost flat that way (separation; Heinze & Schemper 2002, Statistics in
/// Medicine 21, 2409–2419). The numbers are the project's own, no source.
const WIDEST_RATIO: f64 = 50.0;
const LARGEST_RATIO: f64 = 20.0;

impl Term {
    /// The coefficient as a ratio, where it is the logarithm of one; `None` without an estimate.
    pub fn ratio(&self) -> Option<Ratio> {
        let estimate = self.estimate?;
        let (Some(lo), Some(hi)) = (self.lo, self.hi) else { return Some(Ratio::Weak(None)) };
        let is_weak = hi - lo > WIDEST_RATIO.ln() || estimate.abs() > LARGEST_RATIO.ln();
        if !is_weak {
            return Some(Ratio::Told([estimate, lo, hi].map(f64::exp)));
        }
        let above = (lo > 0.0).then_some(std::cmp::Ordering::Greater);
        Some(Ratio::Weak(above.or((hi < 0.0).then_some(std::cmp::Ordering::Less))))
    }

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

#[cfg(test)]
mod tests {
    use super::*;
    use std::cmp::Ordering;

    fn ratio(estimate: f64, lo: Option<f64>, hi: Option<f64>) -> Option<Ratio> {
        let [estimate, lo, hi] = [Some(estimate), lo, hi].map(|value| value.map(f64::ln));
        let (std_error, df, statistic, p) = (None, None, None, None);
        Term { term: "t".into(), estimate, std_error, lo, hi, df, statistic, p }.ratio()
    }

    #[test]
    fn a_ratio_is_told_only_where_the_data_tell_its_size() {
        let Some(Ratio::Told(told)) = ratio(2.0, Some(1.1), Some(3.6)) else { panic!("not told") };
        assert!((told[0] - 2.0).abs() < 1e-12 && (told[2] - 3.6).abs() < 1e-12);
        // Of a model whose cooks part almost without exception.
        assert_eq!(
            ratio(163.0, Some(14.0), Some(1908.0)),
            Some(Ratio::Weak(Some(Ordering::Greater)))
        );
        assert_eq!(ratio(0.01, Some(0.002), Some(0.06)), Some(Ratio::Weak(Some(Ordering::Less))));
        assert_eq!(ratio(2.0, Some(0.1), Some(40.0)), Some(Ratio::Weak(None)));
        assert_eq!(ratio(2.0, None, Some(40.0)), Some(Ratio::Weak(None)));
    }
}
