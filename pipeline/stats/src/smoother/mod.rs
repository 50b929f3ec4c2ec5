//! State-space smoother for irregularly sampled series: value and slope with their variances.
//!
//! The signal is an integrated Wiener process: its slope wanders with variance q per second, its
//! value integrates the slope. Over a gap Δ the state (value, slope) moves by [1 Δ; 0 1] and gains
//! covariance q·[Δ³/3 Δ²/2; Δ²/2 Δ]. Readings add independent noise of variance σ². With a diffuse
//! start the smoothed value is the cubic smoothing spline with smoothing parameter σ²/q (Wahba
//! 1978, Journal of the Royal Statistical Society B 40, 364–372), found in linear time by Kalman
//! filter and smoother (Kohn & Ansley 1987, "A new algorithm for spline smoothing based on
//! smoothing a stochastic process", SIAM Journal on Scientific and Statistical Computing 8, 33–48).
//! σ² and q are those of maximum likelihood.
//!
//! Outliers are met by Student's t noise (Lange, Little & Taylor 1989), whose weights fall with the
//! square of the distance: a spike is all but ignored. With the default of 4 degrees of freedom up
//! to one gross error in ten is borne; from one in five, 1/(ν + 1), the scale of the noise breaks
//! down. The errors must come singly or a few in a row: a long burst (ten readings) may be followed
//! as if it were signal, and has to be taken out before.
//!
//! Rounded readings: give `minimum_noise_sd` = quantum/√12, the standard deviation of a rounding
//! error. Equal readings in a row then share one rounding error and count as one, spread over their
//! run; without that the staircase of a slow ramp would be taken for signal.

mod kalman;
mod variances;

use crate::double_double::inverse_power_of_two;
use crate::error::{StatsError, require_finite, require_length};
use kalman::{Passes, Series, State};

/// Span of the times, in median gaps, beyond which the covariances would lose all their digits.
const LONGEST_SPAN: f64 = 1e9;

/// Settings of the [`Smoother`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SmootherOptions {
    /// Least standard deviation of the noise, in the unit of the values; for readings rounded to a
    /// quantum, quantum/√12. Zero if readings are not rounded.
    pub minimum_noise_sd: f64,
    /// Degrees of freedom of the Student noise, at least 1; 4 by default (Lange, Little & Taylor
    /// 1989). None: normal noise, for series without outliers.
    pub student_df: Option<f64>,
}

impl Default for SmootherOptions {
    fn default() -> Self {
        Self { minimum_noise_sd: 0.0, student_df: Some(4.0) }
    }
}

/// The smoothed signal at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SmoothedPoint {
    /// Value, in the unit of the readings.
    pub value: f64,
    /// Slope, unit per second.
    pub slope: f64,
    /// Variance of the value.
    pub value_variance: f64,
    /// Variance of the slope.
    pub slope_variance: f64,
    /// Covariance of value and slope.
    pub covariance: f64,
}

/// A smoothed series.
///
/// ```
/// use stats::{Smoother, SmootherOptions};
///
/// let times: Vec<f64> = (0..60).map(|i| f64::from(i) * 10.0).collect();
/// let values: Vec<f64> = times.iter().map(|t| 20.0 + 0.01 * t).collect();
/// let smoother = Smoother::fit(&times, &values, &SmootherOptions::default())?;
/// let middle = smoother.at(&[295.0])?[0];
/// assert!((middle.value - 22.95).abs() < 1e-9);
/// assert!((middle.slope - 0.01).abs() < 1e-9);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Smoother {
    series: Series,
    passes: Passes,
    origin: f64,
    unit: f64,
    base: f64,
    value_unit: f64,
    ratio: f64,
    noise: f64,
}

impl Smoother {
    /// Fits the variances and smooths. Times in seconds, strictly increasing, at any spacing. Time
    /// taken is linear in the readings; above 20 000 of them the variances are estimated on a
    /// thinned series.
    ///
    /// # Errors
    /// Fewer than three readings, wrong length, a value that is not finite, times that do not
    /// increase or span more than 1e9 median gaps, or an option outside its range.
    pub fn fit(
        times: &[f64],
        values: &[f64],
        options: &SmootherOptions,
    ) -> Result<Self, StatsError> {
        require_length("the values", times.len(), values.len())?;
        require_finite("the times", times)?;
        require_finite("the values", values)?;
        if times.len() < 3 {
            return Err(StatsError::TooFewRows {
                what: "the smoother".to_owned(),
                needed: 3,
                found: times.len(),
            });
        }
        if let Some(position) = times.windows(2).position(|pair| pair[1] <= pair[0]) {
            return Err(StatsError::NotIncreasing {
                what: "the times".to_owned(),
                row: position + 1,
            });
        }
        let minimum = options.minimum_noise_sd;
        if !(0.0..=1e60).contains(&minimum) {
            return Err(StatsError::BadArgument {
                name: "minimum_noise_sd",
                value: minimum,
                expected: "a standard deviation is zero or more",
            });
        }
        if let Some(df) = options.student_df
            && !(1.0..=1e6).contains(&df)
        {
            return Err(StatsError::BadArgument {
                name: "student_df",
                value: df,
                expected: "degrees of freedom of the noise are 1 to 1e6",
            });
        }
        let gaps: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let unit = crate::describe::median(&gaps)?;
        let (origin, base) = (times[0], values[0]);
        let span = (times[times.len() - 1] - origin) / unit;
        if span > LONGEST_SPAN {
            return Err(StatsError::BadArgument {
                name: "times (span over median gap)",
                value: span,
                expected: "the longest gaps dwarf the median one: smooth the pieces one by one",
            });
        }
        // A power of two, so that the scaling rounds nothing.
        let largest = values.iter().fold(0.0, |size: f64, v| size.max((v - base).abs()));
        let to_unit = inverse_power_of_two(largest);
        let mut series = Series {
            times: times.iter().map(|t| (t - origin) / unit).collect(),
            values: values.iter().map(|v| (v - base) * to_unit).collect(),
            noise: vec![1.0; times.len()],
        };
        let minimum = minimum * to_unit;
        let found = variances::estimate(&mut series, minimum * minimum, options.student_df);
        let passes = kalman::smooth(&series, found.ratio);
        Ok(Self {
            series,
            passes,
            origin,
            unit,
            base,
            ratio: found.ratio,
            noise: found.noise / (to_unit * to_unit),
            value_unit: 1.0 / to_unit,
        })
    }

    /// Scale σ of the noise, in the unit of the values: under Student noise that of a reading of
    /// weight one.
    pub fn noise_sd(&self) -> f64 {
        self.noise.sqrt()
    }

    /// Variance q that the slope gains per second, (unit per second)² per second.
    pub fn process_variance(&self) -> f64 {
        self.ratio * self.noise / self.unit.powi(3)
    }

    /// The smoothed signal at the times of the readings.
    pub fn at_readings(&self) -> Vec<SmoothedPoint> {
        self.passes.smoothed.iter().map(|state| self.point(state)).collect()
    }

    /// Variance of the noise that each reading was given: σ² over its weight, more within a run of
    /// equal rounded readings. Far above [`noise_sd`](Self::noise_sd)² for an outlier.
    pub fn reading_variances(&self) -> Vec<f64> {
        self.series.noise.iter().map(|noise| noise * self.noise).collect()
    }

    /// The smoothed signal at other times, in seconds, sorted (repeats allowed). Outside the
    /// readings it goes on in a straight line, with variances that grow with the cube of the
    /// distance.
    ///
    /// # Errors
    /// A time that is not finite, or before the one ahead of it in the list.
    pub fn at(&self, times: &[f64]) -> Result<Vec<SmoothedPoint>, StatsError> {
        if times.is_empty() {
            return Ok(Vec::new());
        }
        require_finite("the requested times", times)?;
        if let Some(position) = times.windows(2).position(|pair| pair[1] < pair[0]) {
            return Err(StatsError::NotIncreasing {
                what: "the requested times".to_owned(),
                row: position + 1,
            });
        }
        let scaled: Vec<f64> = times.iter().map(|t| (t - self.origin) / self.unit).collect();
        let states = kalman::states_at(&self.series, &self.passes, &scaled, self.ratio);
        Ok(states.iter().map(|state| self.point(state)).collect())
    }

    /// One curve drawn from what the readings leave possible, at sorted times in seconds: a
    /// path of the process with its own noise is simulated and smoothed, and its error added
    /// to the smoothed signal (Durbin & Koopman 2002, "A simple and efficient simulation
    /// smoother for state space time series analysis", Biometrika 89, 603–615). The variances
    /// are taken as known.
    ///
    /// `normal` gives independent standard normal numbers.
    ///
    /// # Errors
    /// As [`at`](Self::at).
    pub fn draw(
        &self,
        times: &[f64],
        mut normal: impl FnMut() -> f64,
    ) -> Result<Vec<f64>, StatsError> {
        let middle = self.at(times)?;
        let scaled: Vec<f64> = times.iter().map(|t| (t - self.origin) / self.unit).collect();
        let (observed, wanted) = kalman::simulate(&self.series, &scaled, self.ratio, &mut normal);
        let series = Series { values: observed, ..self.series.clone() };
        let passes = kalman::smooth(&series, self.ratio);
        let found = kalman::states_at(&series, &passes, &scaled, self.ratio);
        let sigma = self.noise_sd();
        Ok(middle
            .iter()
            .zip(wanted)
            .zip(found)
            .map(|((point, path), state)| point.value + sigma * (path - state.mean[0]))
            .collect())
    }

    fn point(&self, state: &State) -> SmoothedPoint {
        SmoothedPoint {
            value: self.base + self.value_unit * state.mean[0],
            slope: self.value_unit * state.mean[1] / self.unit,
            value_variance: self.noise * state.cov.value,
            slope_variance: self.noise * state.cov.slope() / (self.unit * self.unit),
            covariance: self.noise * state.cov.cross() / self.unit,
        }
    }
}

#[cfg(test)]
mod tests;
