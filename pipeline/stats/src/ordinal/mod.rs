//! Proportional-odds regression for ordered categories, such as scores.

mod maximum;
mod proportional;

pub use proportional::ProportionalOddsTest;

use crate::cluster_robust::ClusterRobust;
use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_finite, require_length};
use crate::estimates::{Estimate, Estimates};
use crate::likelihood_errors::{LikelihoodErrors, Middle, logistic, weights_or_ones};
use crate::orthogonal::Orthogonal;
use maximum::Cumulative;
use nalgebra::{DMatrix, DVector};
use std::sync::Arc;

/// Settings of [`Ordinal::fit`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrdinalOptions<'a> {
    /// Weight of each row, zero or more; one each by default.
    pub weights: Option<&'a [f64]>,
    /// How standard errors are computed; from the model by default.
    pub errors: LikelihoodErrors<'a>,
}

impl Default for OrdinalOptions<'_> {
    fn default() -> Self {
        Self { weights: None, errors: LikelihoodErrors::Model }
    }
}

/// The border between two neighbouring categories on the latent scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// Score of the category below.
    pub below: f64,
    /// Score of the category above.
    pub above: f64,
    /// Log odds of `below` or less where every term is zero.
    pub estimate: Estimate,
}

/// A fitted proportional-odds model, ln(P(Y ≤ j)/P(Y > j)) = ζⱼ − xβ: a positive coefficient raises
/// scores, by the same odds ratio e^β at every threshold.
///
/// `McCullagh` (1980), "Regression models for ordinal data", Journal of the Royal Statistical
/// Society B 42, 109–142. Only the order of the scores matters for the fit; their values come in
/// where an expected score is asked for. The log-likelihood is concave (Pratt 1981, Journal of the
/// American Statistical Association 76, 103–106) and its maximum is found by Newton's method.
///
/// ```
/// use stats::{Design, Ordinal, OrdinalOptions};
///
/// let heat = [90.0, 92.0, 95.0, 97.0, 99.0, 101.0, 104.0, 108.0, 93.0, 100.0];
/// let score = [1.0, 2.0, 1.0, 2.0, 3.0, 2.0, 3.0, 3.0, 1.0, 3.0];
/// let design = Design::new(10).intercept()?.numeric("heat", &heat)?;
/// let fit = Ordinal::fit(&design, &score, OrdinalOptions::default())?;
/// assert_eq!(fit.categories, [1.0, 2.0, 3.0]);
/// let row = design.row(0)?;
/// let probabilities = &fit.probabilities(&[&row])?[0];
/// assert!((probabilities.iter().sum::<f64>() - 1.0).abs() < 1e-12);
/// assert!(fit.expected_scores(&[&row])?[0].estimate < 2.0);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Ordinal {
    /// Log odds ratios of the terms, the intercept left out: the thresholds stand in its place.
    /// Degrees of freedom are infinite (the normal), G − 1 for G clusters, or the jackknife's own.
    pub estimates: Estimates,
    /// Thresholds, one fewer than categories.
    pub thresholds: Vec<Threshold>,
    /// Scores that occur, in ascending order.
    pub categories: Vec<f64>,
    /// Rows, those of weight zero included.
    pub n: usize,
    /// Clusters, if the errors are clustered.
    pub clusters: Option<usize>,
    joint_covariance: DMatrix<f64>,
    /// Clusters with degrees of freedom of their own, and the way to their coordinates from weights of
    /// thresholds, then terms.
    freedom: Option<(Arc<ClusterRobust>, DMatrix<f64>)>,
    /// Where the intercept stood in the design and how many terms it had.
    intercept: Option<usize>,
    terms: usize,
}

impl Ordinal {
    /// Fits; one score a row. An intercept in the design is left out, for the thresholds take its
    /// place; rows for predictions are still those of the design.
    ///
    /// # Errors
    /// Wrong lengths, a score that is not finite, bad weights, a constant or collinear column, fewer
    /// than two clusters, no more rows than parameters; [`StatsError::SameOutcome`] where only one
    /// score occurs; [`StatsError::Separation`] where the likelihood has no maximum; for the jackknife
    /// [`StatsError::FullLeverage`], where one cluster alone determines a parameter.
    pub fn fit(
        design: &Design,
        scores: &[f64],
        options: OrdinalOptions<'_>,
    ) -> Result<Self, StatsError> {
        let n = design.rows();
        require_length("the scores", n, scores.len())?;
        require_finite("the scores", scores)?;
        let weights = weights_or_ones(options.weights, n)?;
        let mut categories: Vec<f64> =
            scores.iter().zip(&weights).filter(|(_, w)| **w > 0.0).map(|(s, _)| *s).collect();
        let counted = categories.len();
        categories.sort_unstable_by(f64::total_cmp);
        categories.dedup();
        if categories.len() < 2 {
            return Err(StatsError::SameOutcome { rows: counted });
        }
        let intercept = design.intercept_position();
        let slopes = design.terms().len() - usize::from(intercept.is_some());
        let borders = categories.len() - 1;
        if counted < borders + slopes + 1 {
            return Err(StatsError::TooFewRows {
                what: format!(
                    "a proportional-odds model of {slopes} terms and {borders} thresholds"
                ),
                needed: borders + slopes + 1,
                found: counted,
            });
        }
        let middle = Middle::new(options.errors, n)?;
        // Centring by the intercept is undone in the thresholds.
        let full = match intercept {
            Some(_) => design.clone(),
            None => design.clone().intercept()?,
        };
        let basis = Orthogonal::new(&full)?;
        let category = |score: f64| categories.partition_point(|&other| other < score);
        let model = Cumulative::new(
            &basis,
            scores.iter().map(|&score| category(score)).collect(),
            &weights,
            borders,
        );
        let maximum =
            model.maximum().map_err(|failure| failure.into_error(&model, &full, &basis))?;
        let robust = middle.covariance(
            maximum.inverse.clone(),
            n,
            |row| model.score(row, &maximum.parameters),
            |rows| model.information(rows, &maximum.parameters),
        )?;

        let Mapped { thresholds, coefficients, covariance: joint, jacobian } =
            map(&basis, &full, &maximum.parameters, &robust.covariance, borders, n);
        let names: Vec<String> =
            design.terms().iter().filter(|term| *term != crate::INTERCEPT).cloned().collect();
        let block: Vec<DoubleDouble> = (0..slopes * slopes)
            .map(|i| joint[(borders + i / slopes) * (borders + slopes) + borders + i % slopes])
            .collect();
        let clusters = robust
            .clusters
            .as_ref()
            .map(|(clusters, to_own)| (clusters.clone(), to_own * jacobian.transpose()));
        let df = |position: usize| {
            clusters.as_ref().map_or(robust.df, |(clusters, map)| {
                clusters.df(&map.column(position).into_owned())
            })
        };
        let joint_covariance = DMatrix::from_fn(borders + slopes, borders + slopes, |a, b| {
            joint[a * (borders + slopes) + b].value()
        });
        let thresholds = (0..borders)
            .map(|border| Threshold {
                below: categories[border],
                above: categories[border + 1],
                estimate: Estimate {
                    estimate: thresholds[border].value(),
                    std_error: joint[border * (borders + slopes) + border].sqrt().value(),
                    df: df(border),
                },
            })
            .collect();
        let mut estimates =
            Estimates::new(names, coefficients, block, robust.df, maximum.log_likelihood)?;
        if let Some((clusters, map)) = &clusters {
            let of_terms = map.columns(borders, slopes).into_owned();
            estimates = estimates.with_clusters(clusters.clone(), of_terms);
        }
        Ok(Self {
            estimates,
            thresholds,
            categories,
            n,
            clusters: middle.clusters(),
            freedom: clusters,
            joint_covariance,
            intercept,
            terms: design.terms().len(),
        })
    }

    /// Covariance of thresholds, then terms; square.
    pub fn joint_covariance(&self) -> &DMatrix<f64> {
        &self.joint_covariance
    }

    /// Probability of each category in new rows; each row has one value a term of the design, as
    /// [`Design::encode`] gives.
    ///
    /// # Errors
    /// A row of the wrong length, or a value that is not finite.
    pub fn probabilities<R: AsRef<[f64]>>(&self, rows: &[R]) -> Result<Vec<Vec<f64>>, StatsError> {
        rows.iter()
            .map(|row| {
                let shift = self.shift(row.as_ref())?;
                Ok((0..self.categories.len()).map(|j| self.between(j, shift).0).collect())
            })
            .collect()
    }

    /// Expected score in new rows, Σ score · probability, with its standard error by the delta
    /// method. It takes the distances between scores at face value.
    ///
    /// # Errors
    /// As [`probabilities`](Self::probabilities).
    pub fn expected_scores<R: AsRef<[f64]>>(
        &self,
        rows: &[R],
    ) -> Result<Vec<Estimate>, StatsError> {
        rows.iter().map(|row| self.expected_score(row.as_ref())).collect()
    }

    fn expected_score(&self, row: &[f64]) -> Result<Estimate, StatsError> {
        let shift = self.shift(row)?;
        let borders = self.thresholds.len();
        // E = highest − Σ gap · P(Y ≤ j), so only the cumulative probabilities vary.
        let mut estimate = 0.0;
        let mut gradient = DVector::zeros(self.joint_covariance.nrows());
        for (j, &score) in self.categories.iter().enumerate() {
            estimate += score * self.between(j, shift).0;
        }
        let slopes = self.without_intercept(row);
        for (border, threshold) in self.thresholds.iter().enumerate() {
            let at = threshold.estimate.estimate - shift;
            let density = logistic(at) * logistic(-at);
            let part = -(threshold.above - threshold.below) * density;
            gradient[border] += part;
            for (position, x) in slopes.iter().enumerate() {
                gradient[borders + position] -= part * x;
            }
        }
        Ok(self.along(estimate, &gradient))
    }

    /// An estimate whose gradient in the thresholds, then the terms, is this: its standard error by
    /// the delta method, and its degrees of freedom.
    fn along(&self, estimate: f64, gradient: &DVector<f64>) -> Estimate {
        let variance = (&self.joint_covariance * gradient).dot(gradient).max(0.0);
        let df = self.freedom.as_ref().map_or_else(
            || self.thresholds.first().map_or(f64::INFINITY, |first| first.estimate.df),
            |(clusters, map)| clusters.df(&(map * gradient)),
        );
        Estimate { estimate, std_error: variance.sqrt(), df }
    }

    /// A quantity made of thresholds and terms, with its standard error by the delta method; the
    /// gradient has one value a threshold, then one a term.
    ///
    /// # Errors
    /// A gradient of another length, or a value that is not finite.
    pub fn delta(&self, estimate: f64, gradient: &[f64]) -> Result<Estimate, StatsError> {
        require_length("the gradient", self.joint_covariance.nrows(), gradient.len())?;
        require_finite("the gradient", gradient)?;
        Ok(self.along(estimate, &DVector::from_column_slice(gradient)))
    }

    fn without_intercept(&self, row: &[f64]) -> Vec<f64> {
        row.iter()
            .enumerate()
            .filter(|(position, _)| Some(*position) != self.intercept)
            .map(|(_, x)| *x)
            .collect()
    }

    fn shift(&self, row: &[f64]) -> Result<f64, StatsError> {
        require_length("the row", self.terms, row.len())?;
        let slopes = self.without_intercept(row);
        if slopes.is_empty() {
            return Ok(0.0);
        }
        Ok(self.estimates.linear_combination(&slopes)?.estimate)
    }

    /// P(Y = category j) and the two ends it lies between.
    fn between(&self, j: usize, shift: f64) -> (f64, f64, f64) {
        let end = |border: usize| self.thresholds[border].estimate.estimate - shift;
        let high = if j == self.thresholds.len() { f64::INFINITY } else { end(j) };
        let low = if j == 0 { f64::NEG_INFINITY } else { end(j - 1) };
        let probability = if high == f64::INFINITY {
            logistic(-low)
        } else if low == f64::NEG_INFINITY {
            logistic(high)
        } else {
            -logistic(high) * logistic(-low) * (low - high).exp_m1()
        };
        (probability, low, high)
    }

    /// Tests whether the odds are proportional; see [`ProportionalOddsTest`].
    ///
    /// # Errors
    /// Those of [`fit`](Self::fit); [`StatsError::Empty`] without terms; [`StatsError::Separation`]
    /// or [`StatsError::SameOutcome`] if one of the binary fits has no maximum;
    /// [`StatsError::BadArgument`] with only two categories, where odds are proportional by
    /// definition.
    pub fn test_proportional_odds(
        design: &Design,
        scores: &[f64],
        weights: Option<&[f64]>,
    ) -> Result<ProportionalOddsTest, StatsError> {
        proportional::test(design, scores, weights)
    }
}

struct Mapped {
    thresholds: Vec<DoubleDouble>,
    coefficients: Vec<DoubleDouble>,
    /// Row by row, thresholds first.
    covariance: Vec<DoubleDouble>,
    /// The map itself.
    jacobian: DMatrix<f64>,
}

/// From thresholds and slopes in the orthogonalised columns (intercept first, left out) to those of
/// the design.
fn map(
    basis: &Orthogonal,
    full: &Design,
    parameters: &DVector<f64>,
    covariance: &DMatrix<f64>,
    borders: usize,
    n: usize,
) -> Mapped {
    let root = (n as f64).sqrt();
    let k = basis.len();
    let slopes = k - 1;
    let position = full.intercept_position().unwrap_or(0);
    // The fit is ζ − Σ bⱼ (Q√n)ⱼ. Each threshold is the intercept of its own set of coefficients:
    // −ζ on the constant column Q₀√n (±1 everywhere), b on the others.
    let sign = basis.q[0][0].value().signum();
    // A linear map from (ζ, b) to (ζ of the design, β), column by column.
    let total = borders + slopes;
    let mut jacobian = vec![DoubleDouble::ZERO; total * total];
    let mut coordinates = vec![DoubleDouble::ZERO; k];
    for column in 0..slopes {
        coordinates.fill(DoubleDouble::ZERO);
        coordinates[column + 1] = DoubleDouble::from(root);
        let image = basis.coefficients(&coordinates);
        for border in 0..borders {
            jacobian[border * total + borders + column] = -image[position];
        }
        let others = (0..k).filter(|&j| j != position).enumerate();
        for (row, from) in others {
            jacobian[(borders + row) * total + borders + column] = image[from];
        }
    }
    coordinates.fill(DoubleDouble::ZERO);
    coordinates[0] = DoubleDouble::from(-sign * root);
    let image = basis.coefficients(&coordinates);
    for border in 0..borders {
        jacobian[border * total + border] = -image[position];
    }
    let apply = |values: &[DoubleDouble]| -> Vec<DoubleDouble> {
        (0..total)
            .map(|row| {
                (0..total).fold(DoubleDouble::ZERO, |sum, column| {
                    sum + jacobian[row * total + column] * values[column]
                })
            })
            .collect()
    };
    let own: Vec<DoubleDouble> = parameters.iter().map(|&v| DoubleDouble::from(v)).collect();
    let mut mapped = apply(&own);
    let coefficients = mapped.split_off(borders);
    // J V J′, one side at a time.
    let mut half = vec![DoubleDouble::ZERO; total * total];
    for column in 0..total {
        let values: Vec<DoubleDouble> =
            (0..total).map(|row| DoubleDouble::from(covariance[(row, column)])).collect();
        for (row, value) in apply(&values).into_iter().enumerate() {
            half[row * total + column] = value;
        }
    }
    let mut whole = vec![DoubleDouble::ZERO; total * total];
    for row in 0..total {
        for (column, value) in apply(&half[row * total..(row + 1) * total]).into_iter().enumerate()
        {
            whole[row * total + column] = value;
        }
    }
    let jacobian = DMatrix::from_fn(total, total, |a, b| jacobian[a * total + b].value());
    Mapped { thresholds: mapped, coefficients, covariance: whole, jacobian }
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
