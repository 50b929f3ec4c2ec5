//! Survival at given times, with intervals.

use crate::distribution::two_sided_quantile;
use crate::error::StatsError;
use crate::estimates::Interval;

/// Scale on which an interval of a survival probability is symmetric.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IntervalScale {
    /// S ± z·se, cut at zero and one. Poor near zero and one.
    Plain,
    /// exp(ln S ± z·se/S), cut at one.
    Log,
    /// S^exp(± z·se/(S ln S)), symmetric in ln(−ln S): stays between zero and one and keeps its
    /// level best in small samples (Borgan & Liestøl 1990, Scandinavian Journal of Statistics 17,
    /// 35–41).
    LogLog,
}

/// The probability of surviving beyond a time, with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalPoint {
    /// The time.
    pub time: f64,
    /// P(T > time).
    pub survival: f64,
    /// Standard error of the probability. Zero where the curve has come down to zero: the usual
    /// variances then have nothing to say, and [`interval`](Self::interval) is `None`.
    pub std_error: f64,
}

impl SurvivalPoint {
    /// Two-sided interval; `level` is 0.95 for 95 %. `None` where survival is zero. Where it is one
    /// the interval has no width, which says that no event was seen so far, not that none can come.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `level` lies strictly between 0 and 1.
    pub fn interval(
        &self,
        level: f64,
        scale: IntervalScale,
    ) -> Result<Option<Interval>, StatsError> {
        let z = normal_quantile(level)?;
        let Self { survival: s, std_error: se, .. } = *self;
        if s <= 0.0 {
            return Ok(None);
        }
        if se == 0.0 {
            return Ok(Some(Interval { lo: s, hi: s }));
        }
        let ends = match scale {
            IntervalScale::Plain => (s - z * se, s + z * se),
            IntervalScale::Log => (s * (-z * se / s).exp(), s * (z * se / s).exp()),
            IntervalScale::LogLog => {
                // At S = 1 − ε the exponent is z·se/ε: finite, as se falls with ε.
                let stretch = (z * se / (s * -s.ln())).exp();
                (s.powf(stretch), s.powf(1.0 / stretch))
            }
        };
        Ok(Some(Interval { lo: ends.0.max(0.0), hi: ends.1.min(1.0) }))
    }
}

/// z with P(|Z| ≤ z) = `level`.
///
/// # Errors
/// [`StatsError::BadArgument`] unless `level` lies strictly between 0 and 1.
pub(super) fn normal_quantile(level: f64) -> Result<f64, StatsError> {
    if level > 0.0 && level < 1.0 {
        return Ok(two_sided_quantile(level, f64::INFINITY));
    }
    Err(StatsError::BadArgument {
        name: "level",
        value: level,
        expected: "a level lies strictly between 0 and 1",
    })
}

/// A survival curve that is one before its first step and constant between steps.
#[derive(Debug, Clone, PartialEq)]
pub struct SurvivalCurve {
    points: Vec<SurvivalPoint>,
    last: f64,
}

impl SurvivalCurve {
    /// `points` in order of time, each holding until the next; nothing is known beyond `last`.
    pub(super) fn new(points: Vec<SurvivalPoint>, last: f64) -> Self {
        Self { points, last }
    }

    /// The steps, in order of time.
    pub fn points(&self) -> &[SurvivalPoint] {
        &self.points
    }

    /// Last time at which anything was observed.
    pub fn last(&self) -> f64 {
        self.last
    }

    /// The curve at a time.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] if the time is NaN; [`StatsError::BeyondObservation`] if it is
    /// later than anything observed, unless survival is zero by then.
    pub fn at(&self, time: f64) -> Result<SurvivalPoint, StatsError> {
        self.require_known(time)?;
        let after = self.points.partition_point(|point| point.time <= time);
        Ok(match after.checked_sub(1) {
            None => SurvivalPoint { time, survival: 1.0, std_error: 0.0 },
            Some(position) => SurvivalPoint { time, ..self.points[position] },
        })
    }

    /// Area under the curve from zero to `tau`: the restricted mean survival time.
    ///
    /// # Errors
    /// As [`at`](Self::at), and [`StatsError::BadArgument`] unless `tau` is positive;
    /// [`StatsError::NotPositive`] if the curve steps at a negative time.
    pub fn restricted_mean(&self, tau: f64) -> Result<f64, StatsError> {
        self.require_positive(tau)?;
        let mut area = 0.0;
        let mut from = SurvivalPoint { time: 0.0, survival: 1.0, std_error: 0.0 };
        for point in self.points.iter().take_while(|point| point.time < tau) {
            area += (point.time - from.time) * from.survival;
            from = *point;
        }
        Ok(area + (tau - from.time) * from.survival)
    }

    pub(super) fn require_positive(&self, tau: f64) -> Result<(), StatsError> {
        self.require_known(tau)?;
        if tau <= 0.0 {
            return Err(StatsError::BadArgument {
                name: "tau",
                value: tau,
                expected: "the horizon of a restricted mean is positive",
            });
        }
        match self.points.first() {
            Some(point) if point.time < 0.0 => Err(StatsError::NotPositive {
                what: "the times under a restricted mean".to_owned(),
                row: 0,
                value: point.time,
            }),
            _ => Ok(()),
        }
    }

    fn require_known(&self, time: f64) -> Result<(), StatsError> {
        if time.is_nan() {
            return Err(StatsError::BadArgument {
                name: "time",
                value: time,
                expected: "a time is a number",
            });
        }
        let ended = self.points.last().is_some_and(|point| point.survival <= 0.0);
        if time > self.last && !ended {
            return Err(StatsError::BeyondObservation { time, last: self.last });
        }
        Ok(())
    }
}
