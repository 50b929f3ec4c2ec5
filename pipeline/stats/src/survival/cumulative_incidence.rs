//! Probability of each of several ends that exclude each other.

use super::curve::{IntervalScale, SurvivalPoint};
use super::followup::{Followup, Labels};
use super::kaplan_meier::KaplanMeier;
use crate::error::{StatsError, require_length};
use crate::estimates::Interval;
use nalgebra::Matrix2;

/// Probability that one kind of end has come by a time, with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IncidencePoint {
    /// The time.
    pub time: f64,
    /// P(T ≤ time and the end is of this kind).
    pub incidence: f64,
    /// Standard error of the probability.
    pub std_error: f64,
}

impl IncidencePoint {
    /// Two-sided interval, symmetric for one less the incidence on the scale given;
    /// [`IntervalScale::LogLog`] keeps it between zero and one. `None` where the incidence is one.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `level` lies strictly between 0 and 1.
    pub fn interval(
        &self,
        level: f64,
        scale: IntervalScale,
    ) -> Result<Option<Interval>, StatsError> {
        let rest = SurvivalPoint {
            time: self.time,
            survival: 1.0 - self.incidence,
            std_error: self.std_error,
        };
        let ends = rest.interval(level, scale)?;
        Ok(ends.map(|ends| Interval { lo: 1.0 - ends.hi, hi: 1.0 - ends.lo }))
    }
}

/// Incidence of one kind of end.
#[derive(Debug, Clone, PartialEq)]
pub struct CauseIncidence {
    /// Label of the kind of end.
    pub cause: usize,
    /// Rows that end so.
    pub events: usize,
    /// A point at each time at which an end of any kind came.
    pub points: Vec<IncidencePoint>,
}

/// Cumulative incidence of ends that exclude each other: F(t) = Σ S(tⱼ−)·dⱼ/nⱼ over the ends of one
/// kind, with S the probability of no end at all so far.
///
/// Aalen & Johansen (1978), Scandinavian Journal of Statistics 5, 141–150. One less the Kaplan–Meier
/// estimate that takes the other ends for censored is larger and answers no question about this
/// world: it supposes that the other ends cannot happen. The incidences of all kinds and S add up to
/// one. The variance is that of multinomial increments carried through the recursion of F and S
/// (Andersen, Borgan, Gill & Keiding 1993, Statistical Models Based on Counting Processes, IV.4.1);
/// for a single kind it is Greenwood's. Rows may enter late and have weights; the variance takes a
/// weight as that many like rows.
///
/// ```
/// use stats::{CumulativeIncidence, Followup};
///
/// let hours = [5.0, 6.0, 6.0, 8.0, 9.0];
/// let ended = [true, true, true, false, true];
/// let how = [1, 2, 1, 0, 1]; // of the row without an end it does not matter
/// let followup = Followup::right_censored(&hours, &ended)?;
/// let incidence = CumulativeIncidence::fit(&followup, &how, None)?;
/// assert!((incidence.at(1, 7.0)?.incidence - 0.4).abs() < 1e-12);
/// assert!((incidence.at(2, 7.0)?.incidence - 0.2).abs() < 1e-12);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CumulativeIncidence {
    /// The kinds of end, by label.
    pub causes: Vec<CauseIncidence>,
    /// Rows.
    pub n: usize,
    all: KaplanMeier,
}

impl CumulativeIncidence {
    /// Estimates from all rows; `cause[i]` is the label of the kind of end of row i, and is not
    /// looked at where the row has none. `weights` (one a row, not negative) default to one.
    ///
    /// # Errors
    /// Wrong lengths; bad weights; [`StatsError::AllCensored`].
    pub fn fit(
        followup: &Followup,
        cause: &[usize],
        weights: Option<&[f64]>,
    ) -> Result<Self, StatsError> {
        let n = followup.rows();
        require_length("the kinds of end", n, cause.len())?;
        let all = KaplanMeier::fit(followup, weights)?;
        let weight = |row: usize| weights.map_or(1.0, |weights| weights[row]);
        let mut rows: Vec<usize> =
            (0..n).filter(|&row| followup.event[row] && weight(row) > 0.0).collect();
        if rows.is_empty() {
            return Err(StatsError::AllCensored { rows: n });
        }
        rows.sort_by(|&a, &b| followup.stop[a].total_cmp(&followup.stop[b]));
        let ends: Vec<usize> = rows.iter().map(|&row| cause[row]).collect();
        let labels = Labels::new("the kinds of end", &ends, rows.len())?;
        let mut causes: Vec<CauseIncidence> = labels
            .sorted
            .iter()
            .map(|&cause| CauseIncidence { cause, events: 0, points: Vec::new() })
            .collect();
        let mut incidence = vec![0.0; causes.len()];
        // Covariance of the incidence and of S, by cause.
        let mut covariance = vec![Matrix2::<f64>::zeros(); causes.len()];
        let mut survival = 1.0;
        let mut positions = labels.positions.iter().zip(&rows).peekable();
        for step in all.steps.iter().filter(|step| step.events > 0.0) {
            let mut deaths = vec![0.0; causes.len()];
            while let Some((&position, &row)) =
                positions.next_if(|(_, row)| followup.stop[**row] <= step.time)
            {
                deaths[position] += weight(row);
                causes[position].events += 1;
            }
            let any = (step.events / step.at_risk).min(1.0);
            for (position, cause) in causes.iter_mut().enumerate() {
                let own = deaths[position] / step.at_risk;
                incidence[position] += survival * own;
                let carry = Matrix2::new(1.0, own, 0.0, 1.0 - any);
                let noise = Matrix2::new(
                    own * (1.0 - own),
                    -own * (1.0 - any),
                    -own * (1.0 - any),
                    any * (1.0 - any),
                ) * (survival * survival / step.at_risk);
                covariance[position] = carry * covariance[position] * carry.transpose() + noise;
                cause.points.push(IncidencePoint {
                    time: step.time,
                    incidence: incidence[position],
                    std_error: covariance[position][(0, 0)].max(0.0).sqrt(),
                });
            }
            survival = step.survival;
        }
        Ok(Self { causes, n, all })
    }

    /// Incidence of one kind of end by a time.
    ///
    /// # Errors
    /// [`StatsError::UnknownName`] for a kind that no row has; [`StatsError::BadArgument`] for NaN;
    /// [`StatsError::BeyondObservation`] for a time later than anything observed, unless every row
    /// at risk has ended by then.
    pub fn at(&self, cause: usize, time: f64) -> Result<IncidencePoint, StatsError> {
        let found = self.causes.iter().find(|other| other.cause == cause);
        let Some(found) = found else {
            return Err(StatsError::UnknownName {
                name: format!("kind of end {cause}"),
                known: self.causes.iter().map(|other| other.cause.to_string()).collect(),
            });
        };
        self.all.curve().at(time)?;
        let after = found.points.partition_point(|point| point.time <= time);
        Ok(match after.checked_sub(1) {
            None => IncidencePoint { time, incidence: 0.0, std_error: 0.0 },
            Some(position) => IncidencePoint { time, ..found.points[position] },
        })
    }

    /// The Kaplan–Meier estimate of no end of any kind.
    pub fn no_end(&self) -> &KaplanMeier {
        &self.all
    }
}

#[cfg(test)]
#[path = "cumulative_incidence_tests.rs"]
mod tests;
