//! One regression with the standard errors that the cooks call for, or a refusal in words.
//!
//! Cooks of one fire are not independent, so standard errors are clustered by fire; where
//! every fire has one cook, least squares takes HC3, the one for small samples. With at
//! least one lower bound among the outcomes the model is the censored Gaussian one, its
//! standard errors clustered by fire.

use crate::error::StudyError;
use crate::result::{Model, Term, finite};
use stats::{
    CensoredGaussian, CensoredTimes, Design, ErrorKind, Estimates, LeastSquares, StatsError,
};
use std::collections::{BTreeMap, BTreeSet};

/// Fires that a model must have beyond its terms. Below that neither the scatter between
/// fires nor its standard errors mean anything: common practice, no source.
pub(crate) const SPARE_FIRES: usize = 3;

/// Fires that each compared level must have. With one or two treated clusters a
/// cluster-robust standard error comes out far too small: `MacKinnon` & Webb (2018), The
/// Econometrics Journal 21, 114–135.
pub(crate) const FIRES_PER_LEVEL: usize = 3;

/// Fewer clusters than this are few: cluster-robust intervals then tend to be too narrow.
/// Where few begins "may range from less than 20 to less than 50": Cameron & Miller (2015),
/// Journal of Human Resources 50, 317–372, section VI.
const FEW_CLUSTERS: usize = 20;

/// Level of the intervals of terms.
pub(crate) const TERM_LEVEL: f64 = 0.95;

/// A fitted model.
#[derive(Debug, Clone)]
pub(crate) struct Regression {
    pub(crate) estimates: Estimates,
    pub(crate) model: Model,
    /// Observed (or lower bound) minus fitted, one a row.
    pub(crate) residuals: Vec<f64>,
    /// What to tell the reader about the standard errors, if anything.
    pub(crate) note: Option<String>,
    /// Degrees of freedom are this many times the cooks…
    pub(crate) df_per_cook: f64,
    /// …less this.
    pub(crate) df_less: f64,
    /// The rows of the design.
    pub(crate) rows: Vec<Vec<f64>>,
}

/// What a regression is fitted on, so that rows can be left out or repeated.
#[derive(Debug, Clone)]
pub(crate) struct Data {
    /// Names of the columns.
    pub(crate) terms: Vec<String>,
    /// The columns, in the order of `terms`.
    pub(crate) columns: Vec<Vec<f64>>,
    /// The outcome on the scale of the model.
    pub(crate) y: Vec<f64>,
    /// False where the outcome is a lower bound.
    pub(crate) observed: Vec<bool>,
    /// The fire of each row.
    pub(crate) fires: Vec<usize>,
    /// The cook of each row.
    pub(crate) cooks: Vec<String>,
}

impl Data {
    pub(crate) fn new(
        design: &Design,
        y: Vec<f64>,
        observed: Vec<bool>,
        fires: Vec<usize>,
        cooks: Vec<String>,
    ) -> Self {
        let (terms, columns) = (design.terms().to_vec(), design.columns().to_vec());
        Self { terms, columns, y, observed, fires, cooks }
    }

    /// The rows at these positions, in this order; a position may come more than once.
    pub(crate) fn take(&self, rows: &[usize]) -> Self {
        let pick = |values: &[f64]| rows.iter().map(|&row| values[row]).collect::<Vec<f64>>();
        Self {
            terms: self.terms.clone(),
            columns: self.columns.iter().map(|column| pick(column)).collect(),
            y: pick(&self.y),
            observed: rows.iter().map(|&row| self.observed[row]).collect(),
            fires: rows.iter().map(|&row| self.fires[row]).collect(),
            cooks: rows.iter().map(|&row| self.cooks[row].clone()).collect(),
        }
    }

    /// The columns as a design.
    pub(crate) fn design(&self) -> Result<Design, StatsError> {
        let mut design = Design::new(self.y.len());
        for (term, column) in self.terms.iter().zip(&self.columns) {
            design = if term == stats::INTERCEPT {
                design.intercept()?
            } else {
                design.numeric(term, column)?
            };
        }
        Ok(design)
    }

    /// [`fit`] on these rows.
    pub(crate) fn fit(&self) -> Result<Regression, NotFitted> {
        let cooks: Vec<&str> = self.cooks.iter().map(String::as_str).collect();
        let design = self.design().map_err(|error| explain(error, &cooks))?;
        fit(&design, &self.y, &self.observed, &self.fires, &cooks)
    }

    /// The rows of each fire, fires in ascending order.
    pub(crate) fn by_fire(&self) -> Vec<Vec<usize>> {
        let mut rows: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (row, fire) in self.fires.iter().enumerate() {
            rows.entry(*fire).or_default().push(row);
        }
        rows.into_values().collect()
    }
}

/// Why a regression was not made: the data's fault, in words, or ours.
#[derive(Debug)]
pub(crate) enum NotFitted {
    Refused(String),
    Failed(StudyError),
}

impl From<StudyError> for NotFitted {
    fn from(error: StudyError) -> Self {
        Self::Failed(error)
    }
}

/// Fits `y` on the design. `observed` is false where the outcome is a lower bound; `fires`
/// and `cooks` have one value a row.
pub(crate) fn fit(
    design: &Design,
    y: &[f64],
    observed: &[bool],
    fires: &[usize],
    cooks: &[&str],
) -> Result<Regression, NotFitted> {
    let fire_count = require_fires(design.terms().len(), fires)?;
    if y.windows(2).all(|pair| pair[0] == pair[1]) {
        return Err(NotFitted::Refused("the outcome is the same in all usable cooks".into()));
    }
    if observed.iter().all(|&flag| flag) {
        least_squares(design, y, fires, fire_count)
    } else {
        censored(design, y, observed, fires, fire_count)
    }
    .map_err(|error| explain(error, cooks))
}

/// Refuses a model of too many terms for so few fires; gives the number of fires.
pub(crate) fn require_fires(terms: usize, fires: &[usize]) -> Result<usize, NotFitted> {
    let fire_count = fires.iter().collect::<BTreeSet<_>>().len();
    if fire_count < terms + SPARE_FIRES {
        return Err(NotFitted::Refused(format!(
            "too few cooks: a model of {terms} terms needs usable cooks from at least {} fires, \
             there are {} cooks from {fire_count} fires",
            terms + SPARE_FIRES,
            fires.len(),
        )));
    }
    Ok(fire_count)
}

fn least_squares(
    design: &Design,
    y: &[f64],
    fires: &[usize],
    fire_count: usize,
) -> Result<Regression, StatsError> {
    let n = y.len();
    let one_each = fire_count == n;
    let errors = if one_each { ErrorKind::Hc3 } else { ErrorKind::Clustered(fires) };
    let fit = LeastSquares::fit(design, y, errors)?;
    if fit.residual_variance == 0.0 {
        return Err(StatsError::ExactFit);
    }
    let (method, note, df_per_cook, df_less) = if one_each {
        let method = "least squares, HC3 standard errors (every fire has one cook)".to_owned();
        (method, None, 1.0, design.terms().len() as f64)
    } else {
        let method =
            format!("least squares, standard errors clustered by fire ({fire_count} fires)");
        (method, few_clusters(fire_count), fire_count as f64 / n as f64, 1.0)
    };
    Ok(Regression {
        residuals: fit.residuals,
        model: Model {
            name: "least-squares".into(),
            method,
            n,
            events: n,
            log_likelihood: finite(fit.estimates.log_likelihood()),
            residual_variance: finite(fit.residual_variance),
            random: Vec::new(),
            terms: model_terms(&fit.estimates)?,
        },
        estimates: fit.estimates,
        note,
        df_per_cook,
        df_less,
        rows: rows(design)?,
    })
}

fn censored(
    design: &Design,
    y: &[f64],
    observed: &[bool],
    fires: &[usize],
    fire_count: usize,
) -> Result<Regression, StatsError> {
    let n = y.len();
    let outcome = CensoredTimes::right_censored(y, observed)?;
    let fit = CensoredGaussian::fit(design, &outcome, Some(fires))?;
    let rows = rows(design)?;
    let fitted = fit.estimates.predict(&rows)?;
    Ok(Regression {
        residuals: y.iter().zip(&fitted).map(|(y, mean)| y - mean.estimate).collect(),
        model: Model {
            name: "censored-gaussian".into(),
            method: format!(
                "normal regression by maximum likelihood, {} of {n} outcomes as lower bounds, \
                 standard errors clustered by fire ({fire_count} fires)",
                n - fit.exact,
            ),
            n,
            events: fit.exact,
            log_likelihood: finite(fit.estimates.log_likelihood()),
            residual_variance: finite(fit.sigma * fit.sigma),
            random: Vec::new(),
            terms: model_terms(&fit.estimates)?,
        },
        estimates: fit.estimates,
        note: few_clusters(fire_count),
        df_per_cook: fire_count as f64 / n as f64,
        df_less: 1.0,
        rows,
    })
}

pub(crate) fn rows(design: &Design) -> Result<Vec<Vec<f64>>, StatsError> {
    (0..design.rows()).map(|row| design.row(row)).collect()
}

pub(crate) fn few_clusters(fires: usize) -> Option<String> {
    (fires < FEW_CLUSTERS)
        .then(|| format!("only {fires} fires: intervals clustered by so few tend to be too narrow"))
}

/// Why there is no mixed model of outcomes of which some are lower bounds.
pub(crate) fn no_mixed_for_bounds(observed: &[bool]) -> String {
    let bounds = observed.iter().filter(|observed| !**observed).count();
    format!(
        "`mixed` is left out: {bounds} of {} outcomes are lower bounds, which a model with random \
         intercepts would take for the outcomes themselves; the standard errors are clustered by \
         fire instead",
        observed.len()
    )
}

/// The terms of a fit, for a [`Model`].
pub(crate) fn model_terms(estimates: &Estimates) -> Result<Vec<Term>, StatsError> {
    estimates
        .terms()
        .into_iter()
        .map(|term| {
            let interval = term.coefficient.interval(TERM_LEVEL)?;
            Ok(Term {
                term: term.name,
                estimate: finite(term.coefficient.estimate),
                std_error: finite(term.coefficient.std_error),
                lo: finite(interval.lo),
                hi: finite(interval.hi),
                df: finite(term.coefficient.df),
                statistic: finite(term.coefficient.statistic()),
                p: finite(term.coefficient.p_value()),
            })
        })
        .collect()
}

/// What the data cannot answer is a refusal; anything else is a fault of this program.
pub(crate) fn explain(error: StatsError, cooks: &[&str]) -> NotFitted {
    match error {
        StatsError::FullLeverage { row } => NotFitted::Refused(format!(
            "cook `{}` alone determines a coefficient: merge its level with another, or adjust \
             for less",
            cooks.get(row).copied().unwrap_or("?"),
        )),
        StatsError::ConstantColumn { .. }
        | StatsError::CollinearColumn { .. }
        | StatsError::AllCensored { .. }
        | StatsError::NoMaximum { .. }
        | StatsError::NoConvergence { .. }
        | StatsError::SameOutcome { .. }
        | StatsError::Separation { .. }
        | StatsError::ExactFit
        | StatsError::TooFewRows { .. }
        | StatsError::TooFewClusters { .. } => NotFitted::Refused(error.to_string()),
        other => NotFitted::Failed(StudyError::Statistics(other)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const X: [f64; 8] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];
    const Y: [f64; 8] = [2.0, 1.0, 4.0, 3.0, 6.0, 5.0, 8.0, 7.0];
    const COOKS: [&str; 8] = ["a", "b", "c", "d", "e", "f", "g", "h"];

    fn run(y: &[f64], observed: &[bool], fires: &[usize]) -> Result<Regression, NotFitted> {
        let design = Design::new(8).intercept().unwrap().numeric("x", &X).unwrap();
        fit(&design, y, observed, fires, &COOKS)
    }

    fn refusal(result: Result<Regression, NotFitted>) -> String {
        match result {
            Err(NotFitted::Refused(reason)) => reason,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn standard_errors_follow_the_fires() {
        let own: Vec<usize> = (0..8).collect();
        let single = run(&Y, &[true; 8], &own).unwrap();
        assert!(single.model.method.contains("HC3"), "{}", single.model.method);
        assert_eq!(single.estimates.df(), 6.0);
        assert_eq!(single.df_per_cook * 8.0 - single.df_less, 6.0);
        // By hand: Σ(x − 4.5)(y − 4.5) = 38, Σ(x − 4.5)² = 42.
        assert!((single.model.terms[1].estimate.unwrap() - 38.0 / 42.0).abs() < 1e-12);

        let shared = run(&Y, &[true; 8], &[0, 0, 1, 2, 3, 4, 5, 6]).unwrap();
        assert!(shared.model.method.contains("clustered by fire (7 fires)"));
        assert_eq!(shared.estimates.df(), 6.0);
        assert!((shared.df_per_cook * 8.0 - shared.df_less - 6.0).abs() < 1e-12);
        assert_eq!(shared.model.terms[1].estimate, single.model.terms[1].estimate);
        assert_ne!(shared.model.terms[1].std_error, single.model.terms[1].std_error);
    }

    #[test]
    fn one_lower_bound_makes_it_censored() {
        let mut observed = [true; 8];
        observed[7] = false;
        let own: Vec<usize> = (0..8).collect();
        let fit = run(&Y, &observed, &own).unwrap();
        assert_eq!(fit.model.name, "censored-gaussian");
        assert_eq!((fit.model.n, fit.model.events), (8, 7));
        // A lower bound below the line can only lift its end.
        assert!(fit.model.terms[1].estimate.unwrap() > 38.0 / 42.0);
    }

    #[test]
    fn what_cannot_be_fitted_is_refused_in_words() {
        let own: Vec<usize> = (0..8).collect();
        let few = refusal(run(&Y, &[true; 8], &[0, 0, 0, 1, 1, 2, 2, 3]));
        assert!(few.contains("at least 5 fires, there are 8 cooks from 4 fires"), "{few}");
        assert!(refusal(run(&[3.0; 8], &[true; 8], &own)).contains("the same in all"));
        assert!(refusal(run(&Y, &[false; 8], &own)).contains("all 8 rows are censored"));
        let exact: Vec<f64> = X.iter().map(|x| 2.0 * x).collect();
        assert!(refusal(run(&exact, &[true; 8], &own)).contains("exactly"));
        let odd = ["p", "p", "p", "p", "p", "p", "p", "q"];
        let design = Design::new(8).intercept().unwrap().factor("pit", &odd).unwrap();
        let lone = refusal(fit(&design, &Y, &[true; 8], &own, &COOKS));
        assert!(lone.starts_with("cook `h` alone determines a coefficient"), "{lone}");
    }
}
