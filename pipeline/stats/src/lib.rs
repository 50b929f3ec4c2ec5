//! Estimators on plain slices and matrices; knows nothing of cooking.
//!
//! Every regression is fitted on a [`Design`] (named columns) and gives an [`Estimates`]: terms
//! with standard errors, their covariance, the log-likelihood, linear combinations and predictions.
//! Whatever goes wrong is a [`StatsError`] that names the row, column or term; nothing panics and
//! no NaN comes out.
//!
//! | Estimator | What it gives | Source |
//! |---|---|---|
//! | [`LeastSquares`] | linear regression; standard errors classical, HC3 or clustered (CR2, with degrees of freedom of their own) | Björck 1967; MacKinnon & White 1985; Bell & McCaffrey 2002; Pustejovsky & Tipton 2018 |
//! | [`WildBootstrap`] | intervals of least squares where few clusters bear on a term | Cameron, Gelbach & Miller 2008; MacKinnon 2023; Webb 2023 |
//! | [`CensoredGaussian`] | linear regression with outcomes known exactly, or to lie above, below or between bounds, by maximum likelihood; model-based, sandwich, or the jackknife over clusters | Tobin 1958; Stewart 1983; Olsen 1978; Bell & McCaffrey 2002 |
//! | [`ScaleGaussian`] | the same with a scatter that goes with a column | Harvey 1976 |
//! | [`Cox`] | proportional hazards: start–stop rows, Efron's ties; model-based or clustered | Cox 1972; Andersen & Gill 1982; Efron 1977; Lin & Wei 1989 |
//! | [`KaplanMeier`] | survival curve, quantiles, numbers at risk, restricted means | Kaplan & Meier 1958; Greenwood 1926; Royston & Parmar 2013 |
//! | [`Turnbull`] | distribution of interval-censored outcomes | Turnbull 1976; Wellner & Zhan 1997 |
//! | [`CubicSpline`] | restricted cubic splines as columns of a design | Stone & Koo 1985; Harrell 2015 |
//! | [`LinearMixed`] | linear models with one or two random intercepts, crossed or nested, by restricted maximum likelihood; Satterthwaite degrees of freedom | Patterson & Thompson 1971; Bates et al. 2015; Giesbrecht & Burns 1985 |
//! | [`Ridge`] | weighted ridge regression towards given slopes; residuals without a row's own group, leverages | Hoerl & Kennard 1970 |
//! | [`Logistic`] | logistic regression with weights; standard errors from the model, sandwich or clustered; Firth's penalty | Cox 1958; Firth 1993; Heinze & Schemper 2002 |
//! | [`Ordinal`] | proportional-odds regression of scores; test of proportional odds | `McCullagh` 1980; Brant 1990 |
//! | [`clone_censor_weight`] | restricted means and incidences under strategies that people were free to follow or not, by cloning, artificial censoring and weighting; bootstrap over clusters | Hernán & Robins 2016; Cain et al. 2010; Maringe et al. 2020; Robins & Finkelstein 2000 |
//! | [`GEstimation`] | effect of repeated doses given because of how things go: structural nested mean model, doubly robust; clustered errors | Robins 1994; Vansteelandt & Joffe 2014 |
//! | [`describe`] | mean, standard deviation, median, quantiles (type 7), median absolute deviation | Hyndman & Fan 1996; Hampel 1974 |
//! | [`Smoother`] | value and slope, with variances, of an irregular, noisy, spiky or rounded series | Wahba 1978; Kohn & Ansley 1987; de Jong 1989; Carter & Kohn 1994; Minka 2001; Lange, Little & Taylor 1989 |
//! | [`permutation`] | tests by all or by random assignments: two samples, pairs, within blocks | Pitman 1937; Phipson & Smyth 2010 |
//! | [`sequential`] | trials looked at several times: spending functions, boundaries, randomisation tests, estimates after a stop | Armitage, `McPherson` & Rowe 1969; Lan & `DeMets` 1983; Jennison & Turnbull 1989, 2000 |
//! | [`meta`] | effects of several studies combined: random effects by restricted maximum likelihood, Hartung and Knapp's interval, prediction for a new study | Viechtbauer 2005; Hartung & Knapp 2001; Higgins, Thompson & Spiegelhalter 2009 |
//! | [`bootstrap`] | percentile intervals for any statistic, by resampling clusters | Efron 1979; Davison & Hinkley 1997 |
//! | [`multiple`] | p values adjusted for several tests | Holm 1979; Benjamini & Hochberg 1995 |
//! | [`power`] | power of any test, by simulation | |
//! | [`conformal`] | prediction intervals around any model: split, jackknife+, CV+; weighted quantiles | Lei et al. 2018; Barber et al. 2021; Tibshirani et al. 2019 |
//! | [`IndividualsChart`] | limits of a series of single values from its moving ranges | Montgomery; ISO 7870-2 |
//! | [`mean_shifts`] | shifts of a series' mean that the data support | Vostrikova 1981; Antoch & Hušková 2001 |
//!
//! Whatever draws random numbers takes a seed, and gives the same on every machine.
//!
//! Full references stand at the items. How well they agree with figures from outside is checked in
//! the tests of each module against the data in `tests/reference/stats/`.
//!
//! # Accuracy
//! Least squares works in double-double arithmetic (Dekker 1971), so that badly conditioned columns
//! cost no digits: on the Longley and Norris data of the NIST Statistical Reference Datasets,
//! estimates and all kinds of standard errors agree with exact rational arithmetic to 1e-12 and
//! better. It costs about twenty times plain arithmetic, which matters for none of the sizes met
//! here.

pub mod bootstrap;
mod climb;
pub mod clone_censor_weight;
mod cluster_robust;
pub mod conformal;
mod control_chart;
pub mod describe;
mod design;
mod distribution;
mod double_double;
mod error;
mod estimates;
mod g_estimation;
mod grouped_ridge;
mod least_squares;
mod likelihood_errors;
mod logistic;
mod mean_shifts;
pub mod meta;
mod mixed;
pub mod multiple;
mod ordinal;
mod orthogonal;
pub mod permutation;
pub mod power;
mod rate_ridge;
#[cfg(test)]
mod reference;
mod ridge;
mod root;
mod scale_mixture;
pub mod sequential;
mod smoother;
mod spline;
mod survival;
mod wild;

pub use control_chart::{FEWEST as FEWEST_CHARTED, IndividualsChart};
pub use design::{Design, INTERCEPT, Value};
pub use error::StatsError;
pub use estimates::{Estimate, Estimates, Interval, JointTest, Term};
pub use g_estimation::{Doses, GEstimation};
pub use grouped_ridge::{GroupedFit, GroupedRidge, GroupedRow};
pub use least_squares::{ErrorKind, LeastSquares};
pub use likelihood_errors::LikelihoodErrors;
pub use logistic::{Logistic, LogisticOptions, Probability};
pub use mean_shifts::{Shift, ShiftOptions, mean_shifts};
pub use mixed::{Grouping, LinearMixed, RandomIntercept};
pub use ordinal::{Ordinal, OrdinalOptions, ProportionalOddsTest, Threshold};
pub use rate_ridge::{Exposed, RateRidge};
pub use ridge::Ridge;
pub use smoother::{
    Observation, Rounding, Sampler, SmoothedPoint, Smoother, SmootherOptions, gather,
    independent_block, quantum,
};
pub use spline::{CubicSpline, quantile_knots};
pub use survival::{
    CensoredGaussian, CensoredTimes, ChiSquareTest, Cox, CoxErrors, Followup, KaplanMeier,
    ScaleGaussian, SurvivalQuantile, SurvivalStep, Turnbull, TurnbullInterval,
};
pub use wild::WildBootstrap;

#[cfg(test)]
mod jackknife_tests;
