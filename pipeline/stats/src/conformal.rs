//! Conformal prediction: intervals for single outcomes around any model's predictions, right
//! whatever the model, as long as rows are exchangeable.
//!
//! The model is a pair of closures: one fits rows, one predicts a row. Scores are absolute residuals.
//! With n scores, an interval at level 1 − α uses the ⌈(1 − α)(n + 1)⌉-th smallest; where that is
//! beyond n its ends are infinite: so few rows cannot promise so much.
//!
//! | Type | Rows used | Promise of the interval at level 1 − α |
//! |---|---|---|
//! | [`SplitConformal`] | some to fit, others to calibrate | at least 1 − α |
//! | [`CrossConformal`], [`CrossKind::Plus`] | all, twice | at least 1 − 2α; about 1 − α in practice |
//! | [`CrossConformal`], [`CrossKind::MinMax`] | all, twice | at least 1 − α (leaving out one row); wide |
//! | [`CrossConformal`], [`CrossKind::Plain`] | all, twice | none |

use crate::error::{StatsError, require_finite, require_length, require_level};
use crate::estimates::Interval;

/// Split-conformal intervals (Papadopoulos, Proedrou, Vovk & Gammerman 2002, "Inductive confidence
/// machines for regression", ECML; Lei, G'Sell, Rinaldo, Tibshirani & Wasserman 2018,
/// "Distribution-free predictive inference for regression", Journal of the American Statistical
/// Association 113, 1094–1111). All have the same width.
///
/// ```
/// use stats::conformal::SplitConformal;
/// use stats::describe::median;
///
/// let x = [0.0; 12];
/// let y = [5.0, 7.0, 6.0, 8.0, 5.5, 7.5, 6.0, 9.0, 4.0, 6.5, 7.0, 5.0];
/// // A model that predicts the median of what it has seen.
/// let conformal = SplitConformal::fit(
///     (&x[..4], &y[..4]),
///     (&x[4..], &y[4..]),
///     |_: &[&f64], y: &[f64]| median(y),
///     |median: &f64, _| Ok(*median),
/// )?;
/// let interval = conformal.interval(&0.0, 0.75)?;
/// assert_eq!((interval.lo, interval.hi), (4.0, 9.0));
/// assert_eq!(conformal.interval(&0.0, 0.95)?.hi, f64::INFINITY);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone)]
pub struct SplitConformal<M, P> {
    model: M,
    predict: P,
    scores: Vec<f64>,
}

impl<M, P> SplitConformal<M, P> {
    /// Fits the model on the rows `train` and scores the rows `calibration` (rows and outcomes each).
    ///
    /// # Errors
    /// No rows, rows and outcomes that differ in number, an outcome or prediction that is not finite,
    /// or an error of the closures.
    pub fn fit<X>(
        train: (&[X], &[f64]),
        calibration: (&[X], &[f64]),
        fit: impl FnOnce(&[&X], &[f64]) -> Result<M, StatsError>,
        predict: P,
    ) -> Result<Self, StatsError>
    where
        P: Fn(&M, &X) -> Result<f64, StatsError>,
    {
        require_rows("the rows to fit", train)?;
        require_rows("the rows to calibrate", calibration)?;
        let model = fit(&train.0.iter().collect::<Vec<_>>(), train.1)?;
        let mut scores = Vec::with_capacity(calibration.0.len());
        for (x, y) in calibration.0.iter().zip(calibration.1) {
            scores.push((y - finite(predict(&model, x)?)?).abs());
        }
        scores.sort_unstable_by(f64::total_cmp);
        Ok(Self { model, predict, scores })
    }

    /// The fitted model.
    pub fn model(&self) -> &M {
        &self.model
    }

    /// Absolute residuals of the calibration rows, sorted.
    pub fn scores(&self) -> &[f64] {
        &self.scores
    }

    /// The interval of a new row's outcome.
    ///
    /// # Errors
    /// A level outside 0 to 1, a prediction that is not finite, or an error of the closure.
    pub fn interval<X>(&self, x: &X, level: f64) -> Result<Interval, StatsError>
    where
        P: Fn(&M, &X) -> Result<f64, StatsError>,
    {
        require_level(level)?;
        let centre = finite((self.predict)(&self.model, x)?)?;
        let reach = upper(&self.scores, level);
        Ok(Interval { lo: centre - reach, hi: centre + reach })
    }
}

/// How the intervals of a [`CrossConformal`] are made from predictions μ₋ᵢ(x) of the models that did
/// not see row i and its residual Rᵢ = |yᵢ − μ₋ᵢ(xᵢ)|. The quantile q⁺ is the ⌈(1 − α)(n + 1)⌉-th
/// smallest, q⁻ the ⌊α(n + 1)⌋-th.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CrossKind {
    /// Jackknife+ and CV+: q⁻ of μ₋ᵢ(x) − Rᵢ to q⁺ of μ₋ᵢ(x) + Rᵢ.
    Plus,
    /// Jackknife-minmax: the least μ₋ᵢ(x) less q⁺ of Rᵢ to the largest plus it.
    MinMax,
    /// Jackknife: the prediction of the model of all rows ± q⁺ of Rᵢ. It promises nothing; where the
    /// model is unstable it can fail badly.
    Plain,
}

/// Intervals from models that each left rows out (Barber, Candès, Ramdas & Tibshirani 2021,
/// "Predictive inference with the jackknife+", Annals of Statistics 49, 486–507, definitions
/// 1.2–1.6).
#[derive(Debug, Clone)]
pub struct CrossConformal<M, P> {
    model: M,
    predict: P,
    /// One model a fold, which has not seen the fold.
    without: Vec<M>,
    /// The fold of each row.
    fold: Vec<usize>,
    residuals: Vec<f64>,
}

impl<M, P> CrossConformal<M, P> {
    /// Leaves out one row at a time: jackknife+. Fits as many models as there are rows, and one more.
    ///
    /// # Errors
    /// As [`folds`](Self::folds).
    pub fn leave_one_out<X>(
        x: &[X],
        y: &[f64],
        fit: impl FnMut(&[&X], &[f64]) -> Result<M, StatsError>,
        predict: P,
    ) -> Result<Self, StatsError>
    where
        P: Fn(&M, &X) -> Result<f64, StatsError>,
    {
        let each: Vec<usize> = (0..y.len()).collect();
        Self::folds(x, y, &each, fit, predict)
    }

    /// Leaves out one fold at a time: CV+. `folds` has one label a row; rows that depend on each
    /// other, such as those of one cluster, belong in one fold.
    ///
    /// # Errors
    /// No rows, inputs that differ in number, fewer than two folds ([`StatsError::TooFewClusters`]),
    /// an outcome or prediction that is not finite, or an error of the closures.
    pub fn folds<X, F: Ord>(
        x: &[X],
        y: &[f64],
        folds: &[F],
        mut fit: impl FnMut(&[&X], &[f64]) -> Result<M, StatsError>,
        predict: P,
    ) -> Result<Self, StatsError>
    where
        P: Fn(&M, &X) -> Result<f64, StatsError>,
    {
        require_rows("the rows", (x, y))?;
        require_length("the folds", y.len(), folds.len())?;
        let mut order: Vec<usize> = (0..y.len()).collect();
        order.sort_by(|&a, &b| folds[a].cmp(&folds[b]));
        let members: Vec<&[usize]> = order.chunk_by(|&a, &b| folds[a] == folds[b]).collect();
        if members.len() < 2 {
            return Err(StatsError::TooFewClusters { found: members.len() });
        }
        let mut fold = vec![0; y.len()];
        for (position, rows) in members.iter().enumerate() {
            rows.iter().for_each(|&row| fold[row] = position);
        }
        let mut fit_without = |left_out: Option<usize>| {
            let kept = || (0..y.len()).filter(|&row| Some(fold[row]) != left_out);
            let rows: Vec<&X> = kept().map(|row| &x[row]).collect();
            let outcomes: Vec<f64> = kept().map(|row| y[row]).collect();
            fit(&rows, &outcomes)
        };
        let model = fit_without(None)?;
        let without = (0..members.len()).map(|position| fit_without(Some(position)));
        let without = without.collect::<Result<Vec<M>, StatsError>>()?;
        let mut residuals = Vec::with_capacity(y.len());
        for (row, outcome) in y.iter().enumerate() {
            residuals.push((outcome - finite(predict(&without[fold[row]], &x[row])?)?).abs());
        }
        Ok(Self { model, predict, without, fold, residuals })
    }

    /// The model of all rows.
    pub fn model(&self) -> &M {
        &self.model
    }

    /// |yᵢ − μ₋ᵢ(xᵢ)|, in the order of the rows.
    pub fn residuals(&self) -> &[f64] {
        &self.residuals
    }

    /// The interval of a new row's outcome.
    ///
    /// Where the models disagree more than they err, the ends of [`CrossKind::Plus`] could cross;
    /// the interval is then the point between them.
    ///
    /// # Errors
    /// A level outside 0 to 1, a prediction that is not finite, or an error of the closure.
    pub fn interval<X>(&self, x: &X, level: f64, kind: CrossKind) -> Result<Interval, StatsError>
    where
        P: Fn(&M, &X) -> Result<f64, StatsError>,
    {
        require_level(level)?;
        let reach = || {
            let mut residuals = self.residuals.clone();
            residuals.sort_unstable_by(f64::total_cmp);
            upper(&residuals, level)
        };
        if kind == CrossKind::Plain {
            let (centre, reach) = (finite((self.predict)(&self.model, x)?)?, reach());
            return Ok(Interval { lo: centre - reach, hi: centre + reach });
        }
        let predictions = self.without.iter().map(|model| finite((self.predict)(model, x)?));
        let predictions = predictions.collect::<Result<Vec<f64>, StatsError>>()?;
        if kind == CrossKind::MinMax {
            let reach = reach();
            let least = predictions.iter().copied().fold(f64::INFINITY, f64::min);
            let largest = predictions.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            return Ok(Interval { lo: least - reach, hi: largest + reach });
        }
        let mut above = Vec::with_capacity(self.fold.len());
        let mut below = Vec::with_capacity(self.fold.len());
        for (&fold, residual) in self.fold.iter().zip(&self.residuals) {
            above.push(predictions[fold] + residual);
            // Negated, so that both ends are the same quantile.
            below.push(residual - predictions[fold]);
        }
        above.sort_unstable_by(f64::total_cmp);
        below.sort_unstable_by(f64::total_cmp);
        let (lo, hi) = (-upper(&below, level), upper(&above, level));
        if lo > hi {
            let middle = 0.5 * lo + 0.5 * hi;
            return Ok(Interval { lo: middle, hi: middle });
        }
        Ok(Interval { lo, hi })
    }
}

/// The smallest score s such that scores up to s hold at least `level` of the weight, where the new
/// row's own weight `own` lies at infinity; infinite where there is none (Tibshirani, Barber, Candès &
/// Ramdas 2019, "Conformal prediction under covariate shift", `NeurIPS`, lemma 1). Scores with their
/// weights come in any order; for a lower end, negate the scores and the result.
///
/// # Errors
/// A level outside 0 to 1, a score that is not finite, or a weight that is not positive.
pub fn weighted_quantile(scores: &[(f64, f64)], own: f64, level: f64) -> Result<f64, StatsError> {
    require_level(level)?;
    let mut sorted = scores.to_vec();
    for (row, (score, weight)) in sorted.iter().enumerate() {
        finite(*score)?;
        if !(weight.is_finite() && *weight > 0.0) {
            let what = "the weights of scores".to_owned();
            return Err(StatsError::NotPositive { what, row, value: *weight });
        }
    }
    sorted.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let needed = level * (own + sorted.iter().map(|(_, weight)| weight).sum::<f64>());
    let mut below = 0.0;
    for (score, weight) in sorted {
        below += weight;
        if below >= needed * (1.0 - 1e-12) {
            return Ok(score);
        }
    }
    Ok(f64::INFINITY)
}

/// The ⌈level · (n + 1)⌉-th smallest of n sorted scores; infinite beyond the last.
fn upper(sorted: &[f64], level: f64) -> f64 {
    // Less a little, for a product that is whole but for rounding must not be raised.
    let rank = (level * (sorted.len() + 1) as f64 - 1e-9).ceil().max(1.0) as usize;
    sorted.get(rank - 1).copied().unwrap_or(f64::INFINITY)
}

fn require_rows<X>(what: &str, (x, y): (&[X], &[f64])) -> Result<(), StatsError> {
    require_length(what, y.len(), x.len())?;
    require_finite(&format!("the outcomes of {what}"), y)
}

fn finite(prediction: f64) -> Result<f64, StatsError> {
    require_finite("the predictions", &[prediction])?;
    Ok(prediction)
}

#[cfg(test)]
#[path = "conformal_tests.rs"]
mod tests;
