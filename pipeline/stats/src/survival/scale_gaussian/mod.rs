//! Normal regression of right-censored outcomes whose scatter differs with a column, by maximum
//! likelihood.

mod likelihood;
#[cfg(test)]
mod tests;

use super::censored_times::{CensoredTimes, Knowledge};
use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_length};
use crate::estimates::Estimates;
use crate::likelihood_errors::{LikelihoodErrors, Middle};
use crate::orthogonal::Orthogonal;
use likelihood::{Likelihood, Lost};
use nalgebra::DMatrix;

/// A fitted regression y = x′β + σe with normal errors e and ln σ = w′γ, w being 1 and one column.
///
/// With all outcomes seen, least squares needs no such model: its errors can be made to hold whatever the
/// scatter. A lower bound is another matter. It enters by how probable the model takes it to be, so that
/// one σ for a level that scatters little and one that scatters much leans towards neither and is right for
/// neither. The likelihood is that of `survreg(dist = "gaussian")` with `strata` in R's survival, where the
/// column is an indicator: Harvey (1976), "Estimating regression models with multiplicative
/// heteroscedasticity", Econometrica 44, 461–465, with the lower bounds of Tobin (1958), Econometrica 26,
/// 24–36. It is not concave in β and γ together; the way up begins at the equal-scatter maximum.
///
/// ```
/// use stats::{CensoredTimes, Design, LikelihoodErrors, ScaleGaussian};
///
/// let foil = [0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0];
/// let minutes = [100.0, 104.0, 98.0, 101.0, 97.0, 90.0, 160.0, 40.0, 120.0, 110.0];
/// let observed = [true, true, true, true, true, true, true, true, true, false];
/// let design = Design::new(10).intercept()?.numeric("foil", &foil)?;
/// let times = CensoredTimes::right_censored(&minutes, &observed)?;
/// let fit = ScaleGaussian::fit(&design, "foil", &times, LikelihoodErrors::Model)?;
/// assert!(fit.sigma_at(1.0) > 5.0 * fit.sigma_at(0.0));
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ScaleGaussian {
    /// Coefficients β, their covariance, predictions of the mean, log-likelihood; degrees of freedom as
    /// those of [`crate::CensoredGaussian`].
    pub estimates: Estimates,
    /// Rows whose outcome is known exactly.
    pub exact: usize,
    /// ln σ where the column is 0, and its change for each unit of the column.
    pub ln_sigma: [f64; 2],
}

impl ScaleGaussian {
    /// Fits; `column`, a term of the design, is what the scatter goes with.
    ///
    /// # Errors
    /// Wrong lengths; no such term, or one that never varies; too few rows; outcomes known by anything but
    /// a value or a lower bound; [`StatsError::AllCensored`]; [`StatsError::NoMaximum`] where a coefficient
    /// or a scale runs off, as where a level has two values alike and nothing else;
    /// [`StatsError::ExactFit`]; for clusters those of [`crate::CensoredGaussian::fit`].
    pub fn fit(
        design: &Design,
        column: &str,
        times: &CensoredTimes,
        errors: LikelihoodErrors<'_>,
    ) -> Result<Self, StatsError> {
        let (n, k) = (design.rows(), design.terms().len());
        require_length("the outcome", n, times.rows())?;
        if n < k + 2 {
            return Err(StatsError::TooFewRows {
                what: format!("a fit of {k} terms and two scales"),
                needed: k + 2,
                found: n,
            });
        }
        let position = design.terms().iter().position(|term| term == column).ok_or_else(|| {
            StatsError::UnknownName { name: column.to_owned(), known: design.terms().to_vec() }
        })?;
        let knowledge: Vec<Knowledge> = (0..n).map(|row| times.knowledge(row)).collect();
        if knowledge.iter().any(|own| matches!(own, Knowledge::Below | Knowledge::Between)) {
            return Err(StatsError::BadArgument {
                name: "the outcome",
                value: f64::NAN,
                expected: "every outcome is a value or a lower bound",
            });
        }
        if knowledge.iter().all(|&own| own == Knowledge::Above) {
            return Err(StatsError::AllCensored { rows: n });
        }
        let kind = Middle::new(errors, n)?;
        let basis = Orthogonal::new(design)?;
        // Middle and half range of the column, so that both scales are of the size of one.
        let values = &design.columns()[position];
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (centre, half) = (0.5 * (low + high), 0.5 * (high - low));
        if half == 0.0 {
            return Err(StatsError::ConstantColumn { term: column.to_owned() });
        }

        // From least squares on values and bounds alike; all else is relative to it.
        let mut residuals: Vec<DoubleDouble> =
            times.lower.iter().map(|&v| DoubleDouble::from(v)).collect();
        let mut coordinates = basis.project_out(&mut residuals);
        let root_n = (n as f64).sqrt();
        let largest = times.lower.iter().fold(0.0, |size: f64, v| size.max(v.abs()));
        let spread = crate::orthogonal::norm(&residuals).value() / root_n;
        if spread <= 1e-14 * largest {
            return Err(StatsError::ExactFit);
        }
        let likelihood = Likelihood {
            rows: DMatrix::from_fn(n, k, |row, column| basis.q[column][row].value() * root_n),
            outcome: residuals.iter().map(|r| r.value() / spread).collect(),
            column: values.iter().map(|value| (value - centre) / half).collect(),
            exact: knowledge.iter().map(|&own| own == Knowledge::Exact).collect(),
        };
        let maximum = likelihood.maximum().map_err(|lost| match lost {
            Lost::Scale => StatsError::NoMaximum { term: "the scale".to_owned() },
            Lost::Place => StatsError::NoMaximum { term: column.to_owned() },
        })?;
        // What δ can be told apart from the scale by: scores and informations with their part along the scale
        // taken off. The scale is then held where it is while a cluster is left out, as weights of least
        // squares are, and the clusters that bear on δ alone count for its degrees of freedom.
        let no_scale = || StatsError::NoMaximum { term: "the scale".to_owned() };
        let along = &maximum.information;
        let of_scale =
            along.view((k, k), (2, 2)).into_owned().try_inverse().ok_or_else(no_scale)?;
        let mut apart = DMatrix::zeros(k, k + 2);
        apart.view_mut((0, 0), (k, k)).fill_with_identity();
        apart.view_mut((0, k), (k, 2)).copy_from(&-(along.view((0, k), (k, 2)) * of_scale));
        let bread = (&apart * along * apart.transpose()).try_inverse().ok_or_else(no_scale)?;
        let robust = kind.covariance(
            bread,
            n,
            |row| &apart * likelihood.score(row, &maximum.parameters),
            |rows| {
                let own = likelihood.derivatives(rows.iter().copied(), &maximum.parameters).1;
                &apart * own * apart.transpose()
            },
        )?;

        let scale = root_n * spread;
        for (coordinate, delta) in coordinates.iter_mut().zip(maximum.parameters.iter()) {
            *coordinate += DoubleDouble::from(scale * delta);
        }
        let block: Vec<DoubleDouble> = (0..k * k)
            .map(|i| DoubleDouble::from(scale * scale * robust.covariance[(i / k, i % k)]))
            .collect();
        let covariance = basis.covariance(&block);
        let (middle, slope) = (maximum.parameters[k], maximum.parameters[k + 1] / half);
        let exact = times.exact();
        let mut estimates = Estimates::new(
            design.terms().to_vec(),
            basis.coefficients(&coordinates),
            covariance,
            robust.df,
            // From the residual in units of the spread to the outcome itself.
            maximum.value - exact as f64 * spread.ln(),
        )?;
        if let Some((clusters, to_own)) = robust.clusters {
            let of_place = to_own * scale * basis.to_coordinates();
            estimates = estimates.with_clusters(clusters, of_place);
        }
        Ok(Self { estimates, exact, ln_sigma: [middle + spread.ln() - slope * centre, slope] })
    }

    /// Standard deviation of the errors where the column has this value, in the unit of the outcome.
    pub fn sigma_at(&self, value: f64) -> f64 {
        (self.ln_sigma[0] + self.ln_sigma[1] * value).exp()
    }
}
