//! Scores: only their order counts.

use crate::contrast::{self, Pair};
use crate::inference;
use crate::regression::{self, Data, NotFitted, TERM_LEVEL, model_terms, written};
use crate::result::cost::{GoodScore, OddsRatio};
use crate::result::{Model, finite};
use stats::{
    Estimate, LikelihoodErrors, Logistic, LogisticOptions, Ordinal, OrdinalOptions, StatsError,
};

/// Classes that more scores than this are merged into.
pub(super) const MOST_CLASSES: usize = 10;

/// Classes that the test of proportional odds is made on: with few cooks in an outer class it
/// rejects too often.
pub(super) const TESTED_CLASSES: usize = 5;

/// The scores of the used cooks in classes, turned so that more is better.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Classes {
    /// One a cook: the mean of the scores in its class.
    pub(super) of_cook: Vec<f64>,
    /// Scores that there were before they were merged.
    pub(super) merged_from: Option<usize>,
    /// A class at least as good as this is good.
    good: f64,
    /// The lowest score in that class.
    pub(super) good_score: f64,
    /// Share of the cooks with a good score.
    pub(super) good_share: f64,
}

impl Classes {
    /// `scores` are turned so that more is better; `most` classes of them are made.
    pub(super) fn new(scores: &[f64], most: usize) -> Self {
        let n = scores.len() as f64;
        let mut sorted = scores.to_vec();
        sorted.sort_by(f64::total_cmp);
        let mut distinct = sorted.clone();
        distinct.dedup();
        let merged = distinct.len() > most;
        // Equal scores stay together: a score goes where the middle of its rank lies.
        let class = |score: f64| {
            if !merged {
                return distinct.partition_point(|other| *other < score);
            }
            let below = sorted.partition_point(|other| *other < score);
            let up_to = sorted.partition_point(|other| *other <= score);
            ((below + up_to) as f64 / 2.0 / n * most as f64) as usize
        };
        let mut classes: Vec<(usize, Vec<f64>)> = Vec::new();
        for &score in &sorted {
            match classes.last_mut() {
                Some((last, members)) if *last == class(score) => members.push(score),
                _ => classes.push((class(score), vec![score])),
            }
        }
        let mean = |members: &[f64]| members.iter().sum::<f64>() / members.len() as f64;
        let value = |score: f64| {
            let own = classes.iter().find(|(known, _)| *known == class(score));
            own.map_or(score, |(_, members)| mean(members))
        };
        // The border that halves the cooks best; of two the upper one.
        let mut good = (f64::INFINITY, 0.0, f64::NAN, f64::NAN);
        let mut above = sorted.len();
        for (place, (_, members)) in classes.iter().enumerate() {
            let share = above as f64 / n;
            if place > 0 && (share - 0.5).abs() <= good.0 {
                good = ((share - 0.5).abs(), share, mean(members), members[0]);
            }
            above -= members.len();
        }
        Self {
            of_cook: scores.iter().map(|&score| value(score)).collect(),
            merged_from: merged.then_some(distinct.len()),
            good: good.2,
            good_score: good.3,
            good_share: good.1,
        }
    }
}

/// A model of scores.
#[derive(Debug, Clone)]
pub(super) enum ScoreFit {
    /// Proportional odds.
    Ordinal(Ordinal),
    /// The odds of a good score, where scores are told apart without error.
    Good(Logistic),
}

impl ScoreFit {
    /// Fits the classes in `data.y`.
    pub(super) fn fit(data: &Data, classes: &Classes) -> Result<(Self, Model), NotFitted> {
        let fires = regression::require_fires(data.terms.len(), &data.fires)?;
        let cooks: Vec<&str> = data.cooks.iter().map(String::as_str).collect();
        let explain = |error| regression::explain(error, &cooks);
        let design = data.design().map_err(explain)?;
        let errors = LikelihoodErrors::Jackknife(&data.fires);
        let clustered =
            format!("standard errors clustered by fire ({fires} fires, left out one at a time)");
        let merged = classes.merged_from.map_or(String::new(), |scores| {
            format!(", {scores} different scores merged into {MOST_CLASSES} classes")
        });
        match Ordinal::fit(&design, &data.y, OrdinalOptions { weights: None, errors }) {
            Ok(fit) => {
                let method = format!("proportional-odds regression{merged}, {clustered}");
                let model = ordinal_model(&fit, method).map_err(explain)?;
                Ok((Self::Ordinal(fit), model))
            }
            Err(StatsError::Separation { .. }) => {
                let good: Vec<bool> = data.y.iter().map(|class| *class >= classes.good).collect();
                let options = LogisticOptions { weights: None, errors, firth: true };
                let fit = Logistic::fit(&design, &good, options).map_err(explain)?;
                let model = Model {
                    name: "logistic".into(),
                    method: format!(
                        "logistic regression of a good score with Firth's penalty, for some term \
                         tells the scores apart without error; {clustered}"
                    ),
                    n: fit.n,
                    events: fit.events as usize,
                    log_likelihood: finite(fit.estimates.log_likelihood()),
                    residual_variance: None,
                    random: Vec::new(),
                    terms: model_terms(&fit.estimates).map_err(explain)?,
                };
                Ok((Self::Good(fit), model))
            }
            Err(error) => Err(explain(error)),
        }
    }

    /// Log odds ratio of a better score per unit of a term.
    pub(super) fn log_odds(&self, term: &str) -> Result<Estimate, StatsError> {
        match self {
            Self::Ordinal(fit) => fit.estimates.term(term),
            Self::Good(fit) => fit.estimates.term(term),
        }
    }

    /// Change of the expected class, averaged over the cooks; a model of good scores knows none.
    pub(super) fn expected(&self, pairs: &[Pair]) -> Result<Option<Estimate>, StatsError> {
        let Self::Ordinal(fit) = self else { return Ok(None) };
        let gaps: Vec<f64> = fit.thresholds.iter().map(|t| t.below - t.above).collect();
        contrast::cumulative(fit, pairs, &gaps).map(Some)
    }

    /// Change of the probability of a good score, averaged over the cooks.
    pub(super) fn good_score(
        &self,
        pairs: &[Pair],
        classes: &Classes,
        sign: f64,
    ) -> Result<GoodScore, StatsError> {
        let change = match self {
            Self::Ordinal(fit) => {
                let thresholds = fit.thresholds.iter();
                // P(good) = 1 − P(below the border).
                let border = |above: f64| -f64::from(u8::from(above == classes.good));
                let weights: Vec<f64> = thresholds.map(|t| border(t.above)).collect();
                contrast::cumulative(fit, pairs, &weights)?
            }
            Self::Good(fit) => contrast::probabilities(fit, pairs)?,
        };
        let interval = inference::by_t(change, TERM_LEVEL)?.interval;
        Ok(GoodScore {
            score: sign * classes.good_score + 0.0,
            share: 100.0 * classes.good_share,
            estimate: 100.0 * change.estimate + 0.0,
            lo: finite(100.0 * interval.lo),
            hi: finite(100.0 * interval.hi),
        })
    }
}

/// e to the power of a log odds ratio and its ends.
pub(super) fn odds_ratio(log_odds: Estimate) -> Result<OddsRatio, StatsError> {
    let interval = inference::by_t(log_odds, TERM_LEVEL)?.interval;
    Ok(OddsRatio {
        estimate: log_odds.estimate.exp(),
        lo: finite(interval.lo.exp()),
        hi: finite(interval.hi.exp()),
    })
}

/// Thresholds first, then the terms.
fn ordinal_model(fit: &Ordinal, method: String) -> Result<Model, StatsError> {
    let mut terms = Vec::new();
    for threshold in &fit.thresholds {
        let name = format!("threshold {:.2}|{:.2}", threshold.below, threshold.above);
        let inferred = inference::by_t(threshold.estimate, TERM_LEVEL)?;
        terms.push(written(name, threshold.estimate, inferred));
    }
    terms.extend(model_terms(&fit.estimates)?);
    Ok(Model {
        name: "ordinal".into(),
        method,
        n: fit.n,
        events: fit.n,
        log_likelihood: finite(fit.estimates.log_likelihood()),
        residual_variance: None,
        random: Vec::new(),
        terms,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_scores_stay_as_they_are_and_halve_at_the_middle() {
        let classes = Classes::new(&[3.0, 1.0, 2.0, 2.0, 3.0, 4.0], MOST_CLASSES);
        assert_eq!(classes.of_cook, [3.0, 1.0, 2.0, 2.0, 3.0, 4.0]);
        assert_eq!((classes.good_score, classes.good_share), (3.0, 0.5));
        assert_eq!(classes.merged_from, None);
    }

    #[test]
    fn many_scores_are_merged_in_order_and_keep_their_mean() {
        let scores: Vec<f64> = (0..47).map(|i| f64::from(i * 29 % 47) / 10.0).collect();
        let classes = Classes::new(&scores, MOST_CLASSES);
        assert_eq!(classes.merged_from, Some(47));
        let mut distinct = classes.of_cook.clone();
        distinct.sort_by(f64::total_cmp);
        distinct.dedup();
        assert_eq!(distinct.len(), MOST_CLASSES);
        for (a, class_a) in scores.iter().zip(&classes.of_cook) {
            for (b, class_b) in scores.iter().zip(&classes.of_cook) {
                assert!(a > b || class_a <= class_b, "{a} {b}");
            }
        }
        let sum = |values: &[f64]| values.iter().sum::<f64>();
        assert!((sum(&scores) - sum(&classes.of_cook)).abs() < 1e-9);
        let good = scores.iter().filter(|score| **score >= classes.good_score).count();
        assert!((good as f64 / 47.0 - classes.good_share).abs() < 1e-12);
        assert!((0.4..=0.6).contains(&classes.good_share));
    }
}
