//! One regression with the standard errors that the cooks call for, or a refusal in words.
//!
//! Cooks of one fire are not independent, so standard errors are clustered by fire (CR2, with
//! Bell–McCaffrey degrees of freedom); where every fire has one cook, least squares takes HC3. With
//! at least one lower bound among the outcomes the model is a Gaussian one for bounds, its standard
//! errors from leaving out one fire at a time; what compares says by which column it does, and its
//! scatter goes with that column, since a bound counts by how probable the model takes it to be. What intervals are made of them is the rule of
//! [`crate::inference`].

use crate::error::StudyError;
use crate::inference::{self, Combination, Inference};
use crate::result::{Model, Term, finite};
use stats::{
    CensoredGaussian, CensoredTimes, Design, ErrorKind, Estimate, Estimates, LeastSquares,
    LikelihoodErrors, ScaleGaussian, StatsError,
};
use std::collections::{BTreeMap, BTreeSet};

/// Fires that a model must have beyond its terms. Below that neither the scatter between
/// fires nor its standard errors mean anything: common practice, no source.
pub(crate) const SPARE_FIRES: usize = 3;

/// Fires that each compared level must have. With one or two treated clusters a
/// cluster-robust standard error comes out far too small: MacKinnon & Webb (2018), The
/// Econometrics Journal 21, 114–135.
pub(crate) const FIRES_PER_LEVEL: usize = 3;

/// Cooks of a fire that a refusal names, most.
const NAMED: usize = 4;

/// Outcomes that must be seen to their end on either side of what is compared where others are lower
/// bounds: a scatter of its own needs a few values. Common practice, no source.
const SEEN_PER_SIDE: usize = 5;

/// Level of the intervals of terms.
pub(crate) const TERM_LEVEL: f64 = 0.95;

/// A fitted model.
#[derive(Debug, Clone)]
pub(crate) struct Regression {
    pub(crate) estimates: Estimates,
    pub(crate) model: Model,
    /// Observed (or lower bound) minus fitted, one a row.
    pub(crate) residuals: Vec<f64>,
    /// The rows of the design.
    pub(crate) rows: Vec<Vec<f64>>,
    /// Where it is least squares clustered by fire.
    clustered: Option<LeastSquares>,
}

impl Regression {
    /// A term, as a combination.
    pub(crate) fn term(&self, name: &str) -> Result<Combination, StatsError> {
        let weights =
            self.estimates.names().iter().map(|own| f64::from(u8::from(own == name))).collect();
        Ok(Combination { estimate: self.estimates.term(name)?, weights })
    }

    /// The interval and p value of a combination of its terms.
    pub(crate) fn infer(&self, found: &Combination, level: f64) -> Result<Inference, StatsError> {
        inference::infer(found, self.clustered.as_ref(), level)
    }
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
    /// The term that the scatter goes with where there are lower bounds; one scatter for all without it.
    pub(crate) scatter: Option<String>,
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
        Self { terms, columns, y, observed, fires, cooks, scatter: None }
    }

    /// The same, its scatter going with a term.
    pub(crate) fn scattering_with(self, term: &str) -> Self {
        Self { scatter: Some(term.to_owned()), ..self }
    }

    /// The same, with one scatter for all.
    pub(crate) fn with_one_scatter(&self) -> Self {
        Self { scatter: None, ..self.clone() }
    }

    /// Whether some outcomes are lower bounds.
    pub(crate) fn has_bounds(&self) -> bool {
        self.observed.contains(&false)
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
            scatter: self.scatter.clone(),
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
        let scatter = self.scatter.as_deref();
        fit(&design, (&self.y, &self.observed), scatter, &self.fires, &cooks)
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

/// Fits `y` on the design. `observed` is false where the outcome is a lower bound; `scatter` is the term
/// that scatter goes with; `fires` and `cooks` have one value a row.
fn fit(
    design: &Design,
    (y, observed): (&[f64], &[bool]),
    scatter: Option<&str>,
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
        scatter.map_or(Ok(()), |scatter| seen_on_both_sides(design, observed, scatter))?;
        censored(design, (y, observed), scatter, fires, fire_count)
    }
    .map_err(|error| explain(error, cooks))
}

/// Refuses a comparison with too few outcomes that were seen to their end: of either level, or of all for a
/// trend.
fn seen_on_both_sides(design: &Design, observed: &[bool], scatter: &str) -> Result<(), NotFitted> {
    let Some(position) = design.terms().iter().position(|term| term == scatter) else {
        return Ok(());
    };
    let column = &design.columns()[position];
    let seen =
        |level: f64| column.iter().zip(observed).filter(|(x, seen)| **seen && **x == level).count();
    let levels = column.iter().all(|x| *x == 0.0 || *x == 1.0);
    let bounds = observed.iter().filter(|seen| !**seen).count();
    let (fewest, needed, where_) = if levels {
        (seen(0.0).min(seen(1.0)), SEEN_PER_SIDE, "on one side of the comparison ")
    } else {
        (observed.len() - bounds, 2 * SEEN_PER_SIDE, "")
    };
    if fewest < needed {
        return Err(NotFitted::Refused(format!(
            "too few outcomes were seen to their end: {bounds} of {} are lower bounds, and {where_}only \
             {fewest} are not; {needed} are needed",
            observed.len()
        )));
    }
    Ok(())
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
    let errors = if one_each { ErrorKind::Hc3 } else { ErrorKind::Exchangeable(fires) };
    let fit = LeastSquares::fit(design, y, errors)?;
    if fit.residual_variance == 0.0 {
        return Err(StatsError::ExactFit);
    }
    let method = if one_each {
        "least squares, HC3 standard errors (every fire has one cook)".to_owned()
    } else {
        format!(
            "least squares, standard errors clustered by fire ({fire_count} fires; CR2 with \
             Bell–McCaffrey degrees of freedom, both for cooks that share a part of their errors with their \
             fire)"
        )
    };
    let mut model = Model {
        name: "least-squares".into(),
        method,
        n,
        events: n,
        log_likelihood: finite(fit.estimates.log_likelihood()),
        residual_variance: finite(fit.residual_variance),
        random: Vec::new(),
        terms: Vec::new(),
    };
    let mut regression = Regression {
        residuals: fit.residuals.clone(),
        estimates: fit.estimates.clone(),
        model: model.clone(),
        rows: rows(design)?,
        clustered: (!one_each).then_some(fit),
    };
    model.terms = design
        .terms()
        .iter()
        .map(|name| {
            let found = regression.term(name)?;
            let inferred = regression.infer(&found, TERM_LEVEL)?;
            Ok(written(name.clone(), found.estimate, inferred))
        })
        .collect::<Result<_, StatsError>>()?;
    regression.model = model;
    Ok(regression)
}

fn censored(
    design: &Design,
    (y, observed): (&[f64], &[bool]),
    scatter: Option<&str>,
    fires: &[usize],
    fire_count: usize,
) -> Result<Regression, StatsError> {
    let n = y.len();
    let outcome = CensoredTimes::right_censored(y, observed)?;
    let errors = LikelihoodErrors::Jackknife(fires);
    let (estimates, name, going_with, residual_variance) = if let Some(scatter) = scatter {
        let fit = ScaleGaussian::fit(design, scatter, &outcome, errors)?;
        let going_with = format!("its scatter going with `{scatter}`, ");
        (fit.estimates, "scale-gaussian", going_with, None)
    } else {
        let fit = CensoredGaussian::fit(design, &outcome, errors)?;
        let variance = finite(fit.sigma * fit.sigma);
        (fit.estimates, "censored-gaussian", String::new(), variance)
    };
    let rows = rows(design)?;
    let fitted = estimates.means(&rows)?;
    let events = outcome.exact();
    Ok(Regression {
        residuals: y.iter().zip(&fitted).map(|(y, mean)| y - mean).collect(),
        model: Model {
            name: name.into(),
            method: format!(
                "normal regression by maximum likelihood, {going_with}{} of {n} outcomes as lower bounds, \
                 standard errors clustered by fire ({fire_count} fires, left out one at a time)",
                n - events,
            ),
            n,
            events,
            log_likelihood: finite(estimates.log_likelihood()),
            residual_variance,
            random: Vec::new(),
            terms: model_terms(&estimates)?,
        },
        estimates,
        rows,
        clustered: None,
    })
}

pub(crate) fn rows(design: &Design) -> Result<Vec<Vec<f64>>, StatsError> {
    (0..design.rows()).map(|row| design.row(row)).collect()
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
            let inferred = inference::by_t(term.coefficient, TERM_LEVEL)?;
            Ok(written(term.name, term.coefficient, inferred))
        })
        .collect()
}

/// A term as it is written down.
pub(crate) fn written(term: String, found: Estimate, inferred: Inference) -> Term {
    Term {
        term,
        estimate: finite(found.estimate),
        std_error: finite(found.std_error),
        lo: finite(inferred.interval.lo),
        hi: finite(inferred.interval.hi),
        df: finite(found.df),
        statistic: finite(found.statistic()),
        p: finite(inferred.p),
    }
}

/// What the data cannot answer is a refusal; anything else is a fault of this program.
pub(crate) fn explain(error: StatsError, cooks: &[&str]) -> NotFitted {
    match error {
        StatsError::FullLeverage { rows } => {
            let named: Vec<String> = rows
                .iter()
                .take(NAMED)
                .map(|&row| format!("`{}`", cooks.get(row).copied().unwrap_or("?")))
                .collect();
            let more = if rows.len() > NAMED { " and others" } else { "" };
            NotFitted::Refused(match rows.len() {
                1 => format!(
                    "cook {} alone determines a coefficient: merge its level with another, or \
                     adjust for less",
                    named[0]
                ),
                _ => format!(
                    "one fire (cooks {}{more}) alone determines a coefficient: merge its level \
                     with another, or adjust for less",
                    named.join(", ")
                ),
            })
        }
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
        fit(&design, (y, observed), None, fires, &COOKS)
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
        // By hand: Σ(x − 4.5)(y − 4.5) = 38, Σ(x − 4.5)² = 42.
        assert!((single.model.terms[1].estimate.unwrap() - 38.0 / 42.0).abs() < 1e-12);

        let shared = run(&Y, &[true; 8], &[0, 0, 1, 2, 3, 4, 5, 6]).unwrap();
        assert!(shared.model.method.contains("clustered by fire (7 fires; CR2"));
        assert!(shared.estimates.term("x").unwrap().df < 6.0);
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
    fn a_comparison_with_bounds_scatters_by_what_it_compares() {
        let own: Vec<usize> = (0..12).collect();
        let x: Vec<f64> = (0..12).map(|row| f64::from(row % 2)).collect();
        let y = [10.0, 40.0, 12.0, 10.0, 11.0, 70.0, 9.0, 55.0, 13.0, 20.0, 10.5, 65.0];
        let design = Design::new(12).intercept().unwrap().numeric("x", &x).unwrap();
        let fit = |bounds: &[usize]| {
            let observed: Vec<bool> = (0..12).map(|row| !bounds.contains(&row)).collect();
            let cooks: Vec<String> = own.iter().map(usize::to_string).collect();
            Data::new(&design, y.to_vec(), observed, own.clone(), cooks).scattering_with("x").fit()
        };
        assert_eq!(fit(&[]).unwrap().model.name, "least-squares");
        let scattering = fit(&[11]).unwrap();
        assert_eq!(
            (scattering.model.name.as_str(), scattering.model.events),
            ("scale-gaussian", 11)
        );
        let few = refusal(fit(&[9, 11]));
        assert!(
            few.contains("2 of 12 are lower bounds") && few.contains("only 4 are not"),
            "{few}"
        );
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
        let lone = refusal(fit(&design, (&Y, &[true; 8]), None, &own, &COOKS));
        assert!(lone.starts_with("cook `h` alone determines a coefficient"), "{lone}");
        // Clustered, a level of one cook is refused alike, and so is one of a single fire.
        let shared = [0, 0, 1, 2, 3, 4, 5, 6];
        let clustered = refusal(fit(&design, (&Y, &[true; 8]), None, &shared, &COOKS));
        assert_eq!(clustered, lone);
        let one_fire = ["q", "q", "p", "p", "p", "p", "p", "p"];
        let design = Design::new(8).intercept().unwrap().factor("pit", &one_fire).unwrap();
        for observed in [[true; 8], [true, true, true, true, true, true, true, false]] {
            let fire = refusal(fit(&design, (&Y, &observed), None, &shared, &COOKS));
            assert!(fire.starts_with("one fire (cooks `a`, `b`) alone determines"), "{fire}");
        }
    }
}
