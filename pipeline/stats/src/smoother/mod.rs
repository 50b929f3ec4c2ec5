//! State-space smoother for irregularly sampled series: value, slope and bend with their
//! variances.
//!
//! The signal is a twice integrated Wiener process: its bend (second derivative) wanders with
//! variance q per second, its slope integrates the bend, its value the slope. Observations add
//! independent noise. With a vague start the smoothed value is the quintic smoothing spline (Wahba
//! 1978, Journal of the Royal Statistical Society B 40, 364–372), found in linear time by Kalman
//! filter and backward pass (Kohn & Ansley 1987, "A new algorithm for spline smoothing based on
//! smoothing a stochastic process", SIAM Journal on Scientific and Statistical Computing 8, 33–48).
//! Against the cubic spline (an integrated Wiener slope) it gives slopes about a third more exact
//! where the signal is itself smooth.
//!
//! Noise and roughness q come from the series itself, by marginal likelihood ([`fit`]). With a
//! [`roughness_window`](SmootherOptions::roughness_window) each stretch has a roughness of its own,
//! drawn towards that of the whole series: a series that is calm for hours and bends once is
//! smoothed hard where it is calm and lightly at the bend.
//!
//! Outliers are met by Student's t noise (Lange, Little & Taylor 1989, "Robust statistical modeling
//! using the t distribution", Journal of the American Statistical Association 84, 881–896). The
//! errors must come singly or a few in a row: a long burst may be followed as if it were signal and
//! has to be taken out before.
//!
//! Rounded readings: [`gather`] tells whether noise carries readings back and forth over the
//! rounding steps. If so, rounding is noise of variance quantum²/12; if not, the readings form a
//! staircase and all that each says is that the value lay within half a quantum of it. Such
//! intervals are kept as they are ([`Rounding::Within`]) and met by expectation propagation, so
//! that the edges of the stairs, which tell most, count as what they are.

mod chain;
mod fit;
mod gather;

use crate::error::{StatsError, require_finite};
use chain::{Ahead, Backward, Node, Smoothed, Vector};
pub use gather::{gather, independent_block, quantum};

/// Span of the times, in median gaps, beyond which the covariances would lose all their digits.
const LONGEST_SPAN: f64 = 1e6;

/// What rounding does to an observation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rounding {
    /// Independent noise of this variance on each reading.
    Independent {
        /// Squared unit of the values; zero for none.
        variance: f64,
    },
    /// The reading says that the value, with its noise, lay in this interval.
    Within {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
}

/// One or more readings at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// Time, s.
    pub time: f64,
    /// Value: the mean of the readings, or the middle of the interval.
    pub value: f64,
    /// How many readings, at least 1.
    pub count: f64,
    /// What rounding does.
    pub rounding: Rounding,
}

/// Settings of the [`Smoother`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SmootherOptions {
    /// Degrees of freedom of the Student noise, at least 1; 4 by default (Lange, Little & Taylor
    /// 1989). None: normal noise, for series without outliers.
    pub student_df: Option<f64>,
    /// Half width of the stretches that have a roughness of their own, s. None: one roughness.
    pub roughness_window: Option<f64>,
}

impl Default for SmootherOptions {
    fn default() -> Self {
        Self { student_df: Some(4.0), roughness_window: None }
    }
}

/// The smoothed signal at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SmoothedPoint {
    /// Value, in the unit of the observations.
    pub value: f64,
    /// Slope, unit per second.
    pub slope: f64,
    /// Variance of the value.
    pub value_variance: f64,
    /// Variance of the slope.
    pub slope_variance: f64,
}

/// A smoothed series.
///
/// ```
/// use stats::{Smoother, SmootherOptions, gather};
///
/// let times: Vec<f64> = (0..60).map(|i| f64::from(i) * 10.0).collect();
/// let values: Vec<f64> = times.iter().map(|t| 20.0 + 0.01 * t).collect();
/// let smoother = Smoother::fit(&gather(&times, &values, 0.0, 1.0), &SmootherOptions::default())?;
/// let middle = smoother.at(&[295.0])?[0];
/// assert!((middle.value - 22.95).abs() < 1e-6);
/// assert!((middle.slope - 0.01).abs() < 1e-6);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Smoother {
    fitted: fit::Fitted,
    smoothed: Vec<Smoothed>,
    origin: f64,
    unit: f64,
}

impl Smoother {
    /// Fits noise and roughness and smooths. Times in seconds, strictly increasing, at any spacing.
    /// Time taken is linear in the observations.
    ///
    /// # Errors
    /// Fewer than four observations, a value that is not finite, times that do not increase or span
    /// more than 1e6 median gaps, or an option outside its range.
    pub fn fit(
        observations: &[Observation],
        options: &SmootherOptions,
    ) -> Result<Self, StatsError> {
        check(observations, options)?;
        let gaps: Vec<f64> =
            observations.windows(2).map(|pair| pair[1].time - pair[0].time).collect();
        let typical = crate::describe::median(&gaps)?;
        let origin = observations[0].time;
        let span = observations[observations.len() - 1].time - origin;
        if span > LONGEST_SPAN * typical {
            return Err(StatsError::BadArgument {
                name: "times (span over median gap)",
                value: span / typical,
                expected: "the longest gaps dwarf the median one: smooth the pieces one by one",
            });
        }
        let unit = typical.max(span / 100.0);
        let times: Vec<f64> = observations.iter().map(|o| (o.time - origin) / unit).collect();
        let window = options.roughness_window.map(|window| window / unit);
        let fitted = fit::fit(observations, &times, window, options);
        let mut ahead = Vec::with_capacity(fitted.nodes.len());
        chain::filter(&fitted.nodes, &fitted.q, fitted.first, |a| ahead.push(a));
        let smoothed = chain::smooth(&fitted.nodes, &fitted.q, &ahead);
        Ok(Self { fitted, smoothed, origin, unit })
    }

    /// Scale σ of the noise of one reading, in the unit of the values, rounding aside: under
    /// Student noise that of a reading of weight one.
    pub fn noise_sd(&self) -> f64 {
        self.fitted.noise.sqrt()
    }

    /// The smoothed signal at sorted times, s (repeats allowed), with variances. Outside of the
    /// observations it goes on as a parabola with fast growing variances.
    ///
    /// # Errors
    /// A time that is not finite, or before the one ahead of it in the list.
    pub fn at(&self, times: &[f64]) -> Result<Vec<SmoothedPoint>, StatsError> {
        check_times(times)?;
        // The times join the chain as nodes without an observation.
        let (nodes, q, places) = self.with_nodes_at(times);
        let mut ahead: Vec<Ahead> = Vec::with_capacity(nodes.len());
        chain::filter(&nodes, &q, self.fitted.first, |a| ahead.push(a));
        let smoothed = chain::smooth(&nodes, &q, &ahead);
        let unit = self.unit;
        Ok(places
            .into_iter()
            .map(|place| {
                let s = &smoothed[place];
                SmoothedPoint {
                    value: s.mean[0],
                    slope: s.mean[1] / unit,
                    value_variance: s.cov[0][0],
                    slope_variance: s.cov[1][1] / (unit * unit),
                }
            })
            .collect())
    }

    /// The smoothed value alone at sorted times, s: between observations it is a polynomial of
    /// fifth degree, so this costs next to nothing.
    ///
    /// # Errors
    /// As [`at`](Self::at).
    pub fn values_at(&self, times: &[f64]) -> Result<Vec<f64>, StatsError> {
        check_times(times)?;
        let states: Vec<Vector> = self.smoothed.iter().map(|s| s.mean).collect();
        let known: Vec<f64> = self.fitted.nodes.iter().map(|node| node.time).collect();
        let mut out = Vec::with_capacity(times.len());
        interpolate(&known, &states, times.iter().map(|t| (t - self.origin) / self.unit), &mut out);
        Ok(out)
    }

    /// Prepares draws of curves from what the observations leave possible, exact at nodes at most
    /// `longest_gap` seconds apart from `from` to `until` and interpolated between.
    ///
    /// Noise and roughness are themselves uncertain: the process variance is multiplied by
    /// `roughness_factor` and the noise's by `noise_factor` (1 for the estimates).
    ///
    /// # Errors
    /// A bound that is not finite or a gap that is not positive.
    pub fn sampler(
        &self,
        (from, until): (f64, f64),
        longest_gap: f64,
        roughness_factor: f64,
        noise_factor: f64,
    ) -> Result<Sampler, StatsError> {
        require_finite("the bounds of draws", &[from, until])?;
        if !(longest_gap > 0.0 && longest_gap.is_finite()) {
            return Err(StatsError::BadArgument {
                name: "longest_gap",
                value: longest_gap,
                expected: "a gap is a positive number of seconds",
            });
        }
        let mut extra = vec![from];
        let mut knots: Vec<f64> = self
            .fitted
            .nodes
            .iter()
            .map(|node| self.origin + node.time * self.unit)
            .filter(|time| *time > from && *time < until)
            .collect();
        knots.push(until);
        let mut last = from;
        for knot in knots {
            let parts = ((knot - last) / longest_gap).ceil().max(1.0);
            extra.extend((1..=parts as usize).map(|i| last + (knot - last) * i as f64 / parts));
            last = knot;
        }
        extra.dedup();
        let (mut nodes, mut q, _) = self.with_nodes_at(&extra);
        for (node, q) in nodes.iter_mut().zip(&mut q) {
            node.variance *= noise_factor;
            *q *= roughness_factor;
        }
        let mut ahead = Vec::with_capacity(nodes.len());
        chain::filter(&nodes, &q, self.fitted.first, |a| ahead.push(a));
        Ok(Sampler {
            steps: chain::backward(&nodes, &q, &ahead),
            times: nodes.iter().map(|node| node.time).collect(),
            origin: self.origin,
            unit: self.unit,
            states: Vec::new(),
        })
    }

    /// Standard deviation of the logarithm of the noise variance: √(2/m) for m effective
    /// observations.
    pub fn log_noise_spread(&self) -> f64 {
        (2.0 / self.fitted.noise_weight.max(2.0)).sqrt()
    }

    /// The nodes with unobserved ones at `times`, the process variances, and where the times are.
    fn with_nodes_at(&self, times: &[f64]) -> (Vec<Node>, Vec<f64>, Vec<usize>) {
        let known = &self.fitted.nodes;
        let mut nodes = Vec::with_capacity(known.len() + times.len());
        let mut q = Vec::with_capacity(known.len() + times.len());
        let mut places = Vec::with_capacity(times.len());
        let mut next = 0;
        let q_before = |next: usize| self.fitted.q[next.saturating_sub(1).min(known.len() - 1)];
        for &time in times {
            let time = (time - self.origin) / self.unit;
            while next < known.len() && known[next].time <= time {
                nodes.push(known[next]);
                q.push(self.fitted.q[next]);
                next += 1;
            }
            let same = nodes.last().is_some_and(|last: &Node| last.time == time);
            if !same {
                nodes.push(Node { time, value: 0.0, variance: f64::INFINITY });
                q.push(q_before(next));
            }
            places.push(nodes.len() - 1);
        }
        nodes.extend_from_slice(&known[next..]);
        q.extend_from_slice(&self.fitted.q[next..]);
        (nodes, q, places)
    }
}

/// Draws curves: see [`Smoother::sampler`].
#[derive(Debug, Clone)]
pub struct Sampler {
    steps: Vec<Backward>,
    times: Vec<f64>,
    origin: f64,
    unit: f64,
    states: Vec<Vector>,
}

impl Sampler {
    /// One curve at sorted times, s, into `out`. `normal` gives independent standard normal
    /// numbers.
    pub fn draw(&mut self, times: &[f64], mut normal: impl FnMut() -> f64, out: &mut Vec<f64>) {
        chain::draw(&self.steps, &mut normal, &mut self.states);
        let scaled = times.iter().map(|t| (t - self.origin) / self.unit);
        interpolate(&self.times, &self.states, scaled, out);
    }
}

/// The polynomial of fifth degree with the states at both ends, at sorted times; a parabola
/// outside.
fn interpolate(
    known: &[f64],
    states: &[Vector],
    times: impl Iterator<Item = f64>,
    out: &mut Vec<f64>,
) {
    out.clear();
    let last = known.len() - 1;
    let mut after = 0;
    for time in times {
        while after <= last && known[after] < time {
            after += 1;
        }
        if after == 0 || after > last {
            let place = after.min(last);
            out.push(chain::step(&states[place], time - known[place])[0]);
            continue;
        }
        let (a, b) = (&states[after - 1], &states[after]);
        let h = known[after] - known[after - 1];
        let s = (time - known[after - 1]) / h;
        // What the parabola from the left end lacks at the right end.
        let ahead = chain::step(a, h);
        let lack = [b[0] - ahead[0], (b[1] - ahead[1]) * h, (b[2] - ahead[2]) * h * h];
        let c3 = 10.0 * lack[0] - 4.0 * lack[1] + 0.5 * lack[2];
        let c4 = -15.0 * lack[0] + 7.0 * lack[1] - lack[2];
        let c5 = 6.0 * lack[0] - 3.0 * lack[1] + 0.5 * lack[2];
        out.push(chain::step(a, s * h)[0] + s * s * s * (c3 + s * (c4 + s * c5)));
    }
}

fn check(observations: &[Observation], options: &SmootherOptions) -> Result<(), StatsError> {
    if observations.len() < 4 {
        return Err(StatsError::TooFewRows {
            what: "the smoother".to_owned(),
            needed: 4,
            found: observations.len(),
        });
    }
    let column = |pick: fn(&Observation) -> f64| observations.iter().map(pick).collect::<Vec<_>>();
    require_finite("the times", &column(|o| o.time))?;
    require_finite("the values", &column(|o| o.value))?;
    if let Some(position) = observations.windows(2).position(|pair| pair[1].time <= pair[0].time) {
        return Err(StatsError::NotIncreasing { what: "the times".to_owned(), row: position + 1 });
    }
    if let Some(bad) = observations.iter().find(|o| !(o.count >= 1.0 && o.count.is_finite())) {
        return Err(StatsError::BadArgument {
            name: "count",
            value: bad.count,
            expected: "an observation is made of at least one reading",
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
    if let Some(window) = options.roughness_window
        && !(window > 0.0 && window.is_finite())
    {
        return Err(StatsError::BadArgument {
            name: "roughness_window",
            value: window,
            expected: "a window is a positive number of seconds",
        });
    }
    Ok(())
}

fn check_times(times: &[f64]) -> Result<(), StatsError> {
    require_finite("the requested times", times)?;
    match times.windows(2).position(|pair| pair[1] < pair[0]) {
        Some(position) => Err(StatsError::NotIncreasing {
            what: "the requested times".to_owned(),
            row: position + 1,
        }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
