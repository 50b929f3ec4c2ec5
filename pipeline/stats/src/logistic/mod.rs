//! Logistic regression, with weights, robust errors and Firth's penalty.

pub(crate) mod maximum;

use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_length};
use crate::estimates::{Estimate, Estimates, Interval};
use crate::likelihood_errors::{LikelihoodErrors, Middle, logistic, weights_or_ones};
use crate::orthogonal::Orthogonal;
use maximum::{Binomial, scaled_rows};

/// Settings of [`Logistic::fit`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogisticOptions<'a> {
    /// Weight of each row, zero or more: how often it was seen, or how much it counts (as in inverse
    /// probability weighting, which calls for robust errors). One each by default.
    pub weights: Option<&'a [f64]>,
    /// How standard errors are computed; from the model by default.
    pub errors: LikelihoodErrors<'a>,
    /// Whether to add half the log-determinant of the information to the log-likelihood: Firth
    /// (1993), "Bias reduction of maximum likelihood estimates", Biometrika 80, 27–38. Estimates are
    /// then finite even where outcomes are separated (Heinze & Schemper 2002, Statistics in Medicine
    /// 21, 2409–2419). Not by default.
    pub firth: bool,
}

impl Default for LogisticOptions<'_> {
    fn default() -> Self {
        Self { weights: None, errors: LikelihoodErrors::Model, firth: false }
    }
}

/// A fitted logistic regression, ln(p/(1 − p)) = Xβ.
///
/// Cox (1958), "The regression analysis of binary sequences", Journal of the Royal Statistical
/// Society B 20, 215–242. Fitted by Newton's method with a line search on orthogonalised columns.
///
/// ```
/// use stats::{Design, Logistic, LogisticOptions};
///
/// let x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];
/// let done = [false, false, true, false, true, false, true, true];
/// let design = Design::new(8).intercept()?.numeric("x", &x)?;
/// let fit = Logistic::fit(&design, &done, LogisticOptions::default())?;
/// assert!(fit.estimates.term("x")?.estimate > 0.0);
/// let at = &fit.probabilities(&[[1.0, 4.5]])?[0];
/// assert!((at.probability - 0.5).abs() < 1e-9);
/// let interval = at.interval(0.95)?;
/// assert!(0.0 < interval.lo && interval.hi < 1.0);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Logistic {
    /// Log odds: coefficients, covariance, predictions. The log-likelihood is without the penalty.
    /// Degrees of freedom are infinite (the normal), G − 1 for G clusters, or the jackknife's own.
    pub estimates: Estimates,
    /// Rows, those of weight zero included.
    pub n: usize,
    /// Sum of the weights of rows whose outcome is true.
    pub events: f64,
    /// Clusters, if the errors are clustered.
    pub clusters: Option<usize>,
    /// Fitted probability of each row.
    pub fitted: Vec<f64>,
}

/// A predicted probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Probability {
    /// The probability.
    pub probability: f64,
    /// Its standard error by the delta method, p(1 − p) times that of the log odds.
    pub std_error: f64,
    /// The log odds.
    pub log_odds: Estimate,
}

impl Probability {
    /// Two-sided interval, that of the log odds brought to probabilities, so it stays within 0
    /// and 1; `level` is 0.95 for 95 %.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `level` lies strictly between 0 and 1.
    pub fn interval(&self, level: f64) -> Result<Interval, StatsError> {
        let ends = self.log_odds.interval(level)?;
        Ok(Interval { lo: logistic(ends.lo), hi: logistic(ends.hi) })
    }
}

impl Logistic {
    /// Fits; one outcome a row.
    ///
    /// # Errors
    /// Wrong lengths, bad weights, no terms, no more rows of positive weight than terms, a constant
    /// or collinear column, fewer than two clusters. Without the penalty:
    /// [`StatsError::SameOutcome`] and [`StatsError::Separation`], where the likelihood has no
    /// maximum. For the jackknife [`StatsError::FullLeverage`], where one cluster alone determines a
    /// coefficient.
    pub fn fit(
        design: &Design,
        outcome: &[bool],
        options: LogisticOptions<'_>,
    ) -> Result<Self, StatsError> {
        let n = design.rows();
        let k = design.terms().len();
        require_length("the outcome", n, outcome.len())?;
        let weights = weights_or_ones(options.weights, n)?;
        let counted = weights.iter().filter(|&&weight| weight > 0.0).count();
        if counted < k + 1 {
            return Err(StatsError::TooFewRows {
                what: format!("logistic regression with {k} terms"),
                needed: k + 1,
                found: counted,
            });
        }
        let middle = Middle::new(options.errors, n)?;
        let events: f64 =
            outcome.iter().zip(&weights).filter(|(event, _)| **event).map(|(_, w)| w).sum();
        if !options.firth {
            let others = outcome.iter().zip(&weights).any(|(event, &w)| !event && w > 0.0);
            if events == 0.0 || !others {
                return Err(StatsError::SameOutcome { rows: counted });
            }
        }
        let basis = Orthogonal::new(design)?;
        let root = (n as f64).sqrt();
        let rows = scaled_rows(&basis);
        let binomial = Binomial::new(&rows, outcome, &weights);
        let maximum = binomial
            .maximum(options.firth)
            .map_err(|failure| failure.into_error(&binomial, design, &basis))?;
        let robust = middle.covariance(
            maximum.inverse.clone(),
            n,
            |row| binomial.score(row, maximum.fitted[row]),
            |rows| binomial.information(rows, &maximum.parameters),
        )?;
        let coordinates: Vec<DoubleDouble> =
            maximum.parameters.iter().map(|&value| DoubleDouble::from(value * root)).collect();
        let block: Vec<DoubleDouble> = (0..k * k)
            .map(|i| DoubleDouble::from(robust.covariance[(i / k, i % k)] * n as f64))
            .collect();
        let mut estimates = Estimates::new(
            design.terms().to_vec(),
            basis.coefficients(&coordinates),
            basis.covariance(&block),
            robust.df,
            maximum.log_likelihood,
        )?;
        if let Some((clusters, to_own)) = robust.clusters {
            estimates = estimates.with_clusters(clusters, to_own * basis.to_coordinates() * root);
        }
        Ok(Self { estimates, n, events, clusters: middle.clusters(), fitted: maximum.fitted })
    }

    /// Probability in new rows; each has one value a term, as [`Design::encode`] gives.
    ///
    /// # Errors
    /// A row of the wrong length, or a value that is not finite.
    pub fn probabilities<R: AsRef<[f64]>>(
        &self,
        rows: &[R],
    ) -> Result<Vec<Probability>, StatsError> {
        let predictions = self.estimates.predict(rows)?;
        Ok(predictions
            .into_iter()
            .map(|log_odds| {
                let probability = logistic(log_odds.estimate);
                let slope = probability * logistic(-log_odds.estimate);
                Probability { probability, std_error: slope * log_odds.std_error, log_odds }
            })
            .collect())
    }
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
