//! t tests and the standardised difference of two means.

use super::{Moments, require_spread, unpooled};
use crate::error::{StatsError, require_finite};
use crate::estimates::Estimate;

/// Difference of two means, first − second, each with its own variance (Welch 1947, "The
/// generalization of Student's problem when several different population variances are involved",
/// Biometrika 34, 28–35), with Satterthwaite's degrees of freedom. The estimate gives test, p value
/// ([`crate::PValues::of`] for one side) and interval.
///
/// # Errors
/// A sample of fewer than two values, a value that is not finite, or samples without any spread
/// ([`StatsError::ExactFit`]).
///
/// ```
/// use stats::comparisons::welch_t;
///
/// let difference = welch_t(&[5.1, 6.0, 5.7, 6.4], &[4.2, 4.8, 4.4])?;
/// assert!((difference.estimate - 1.333).abs() < 1e-3 && difference.p_value() < 0.02);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn welch_t(x: &[f64], y: &[f64]) -> Result<Estimate, StatsError> {
    let (a, b) = (sample("the first sample", x, 2)?, sample("the second sample", y, 2)?);
    let (std_error, df) = unpooled(&a, &b);
    require_spread(std_error, &[a.mean, b.mean])?;
    Ok(Estimate { estimate: a.mean - b.mean, std_error, df })
}

/// Difference of two means, first − second, with pooled variance (Student 1908, Biometrika 6, 1–25;
/// Fisher 1925). It assumes equal variances.
///
/// # Errors
/// An empty sample, fewer than three values in all, a value that is not finite, or no spread within
/// samples ([`StatsError::ExactFit`]).
pub fn student_t(x: &[f64], y: &[f64]) -> Result<Estimate, StatsError> {
    let (a, b) = (sample("the first sample", x, 1)?, sample("the second sample", y, 1)?);
    let pooled = pooled_variance(&a, &b)?;
    let std_error = (pooled * (1.0 / a.n + 1.0 / b.n)).sqrt();
    require_spread(std_error, &[a.mean, b.mean])?;
    Ok(Estimate { estimate: a.mean - b.mean, std_error, df: a.n + b.n - 2.0 })
}

/// Mean of one sample less a hypothesised one (Student 1908). For pairs, give the differences and
/// zero.
///
/// # Errors
/// Fewer than two values, a value that is not finite, or no spread ([`StatsError::ExactFit`]).
pub fn one_sample_t(values: &[f64], hypothesised_mean: f64) -> Result<Estimate, StatsError> {
    require_finite("the hypothesised mean", &[hypothesised_mean])?;
    let moments = sample("the sample", values, 2)?;
    let std_error = moments.mean_variance().sqrt();
    require_spread(std_error, &[moments.mean])?;
    Ok(Estimate { estimate: moments.mean - hypothesised_mean, std_error, df: moments.n - 1.0 })
}

/// Cohen's d: the difference of two means, first − second, over their pooled standard deviation
/// (Cohen 1988, Statistical Power Analysis for the Behavioral Sciences, section 2.5).
///
/// # Errors
/// As [`student_t`].
pub fn cohens_d(x: &[f64], y: &[f64]) -> Result<f64, StatsError> {
    let (a, b) = (sample("the first sample", x, 1)?, sample("the second sample", y, 1)?);
    let sd = pooled_variance(&a, &b)?.sqrt();
    require_spread(sd, &[a.mean, b.mean])?;
    Ok((a.mean - b.mean) / sd)
}

fn pooled_variance(a: &Moments, b: &Moments) -> Result<f64, StatsError> {
    let df = a.n + b.n - 2.0;
    if df < 1.0 {
        let what = "a pooled variance".to_owned();
        return Err(StatsError::TooFewRows { what, needed: 3, found: (a.n + b.n) as usize });
    }
    Ok((a.squares + b.squares) / df)
}

fn sample(what: &str, values: &[f64], least: usize) -> Result<Moments, StatsError> {
    require_finite(what, values)?;
    if values.len() < least {
        let what = format!("a variance of {what}");
        return Err(StatsError::TooFewRows { what, needed: least, found: values.len() });
    }
    Ok(Moments::of(values))
}
