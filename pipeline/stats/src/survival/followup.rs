//! When each row was under observation and whether that ended with an event.

use crate::error::{StatsError, require_finite, require_length};

/// Times that differ by less than this part of themselves are one time. Sums such as 0.1 + 0.2 and
/// 0.3 differ by about 1e-16 of themselves and would otherwise break ties.
const SAME_TIME: f64 = 1e-13;

/// Observation of every row from its start to its stop, with or without an event at the stop.
///
/// A row is at risk in `(start, stop]`: one that starts at the time of an event is not at risk for
/// that event, one that stops then is. A subject may have several rows that follow each other, with
/// covariates of their own (time-varying covariates), or may enter late (left truncation). Without
/// starts a row is at risk from the very beginning.
///
/// Times may be of any sign and unit; those that differ by rounding only (1e-13 of themselves)
/// count as equal.
///
/// ```
/// use stats::Followup;
///
/// let whole = Followup::right_censored(&[5.0, 8.0], &[true, false])?;
/// assert_eq!((whole.rows(), whole.events()), (2, 1));
/// // The second subject in two pieces: the same observation.
/// let pieces = Followup::start_stop(&[0.0, 0.0, 3.0], &[5.0, 3.0, 8.0], &[true, false, false])?;
/// assert_eq!(pieces.rows(), 3);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Followup {
    pub(super) start: Option<Vec<f64>>,
    pub(super) stop: Vec<f64>,
    pub(super) event: Vec<bool>,
}

impl Followup {
    /// Rows observed from the very beginning until `time`; `event[i]` is false where observation
    /// ended without the event.
    ///
    /// # Errors
    /// No rows, wrong lengths, or a time that is not finite.
    pub fn right_censored(time: &[f64], event: &[bool]) -> Result<Self, StatsError> {
        require_finite("the times", time)?;
        require_length("the events", time.len(), event.len())?;
        let mut stop = time.to_vec();
        join_equal(None, &mut stop);
        Ok(Self { start: None, stop, event: event.to_vec() })
    }

    /// Rows observed in `(start, stop]`; `event[i]` says whether the event came at the stop.
    ///
    /// # Errors
    /// No rows, wrong lengths, a time that is not finite, or [`StatsError::EmptyInterval`].
    pub fn start_stop(start: &[f64], stop: &[f64], event: &[bool]) -> Result<Self, StatsError> {
        require_finite("the starts", start)?;
        require_length("the stops", start.len(), stop.len())?;
        require_finite("the stops", stop)?;
        require_length("the events", start.len(), event.len())?;
        let (mut start, mut stop) = (start.to_vec(), stop.to_vec());
        join_equal(Some(&mut start), &mut stop);
        match (0..start.len()).find(|&row| start[row] >= stop[row]) {
            None => Ok(Self { start: Some(start), stop, event: event.to_vec() }),
            Some(row) => Err(StatsError::EmptyInterval { row, start: start[row], stop: stop[row] }),
        }
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.stop.len()
    }

    /// Number of rows that end with an event.
    pub fn events(&self) -> usize {
        self.event.iter().filter(|&&event| event).count()
    }
}

/// Gives times that differ by rounding only the value of the earliest of them.
fn join_equal(start: Option<&mut Vec<f64>>, stop: &mut [f64]) {
    let mut all = stop.to_vec();
    if let Some(start) = &start {
        all.extend_from_slice(start);
    }
    all.sort_unstable_by(f64::total_cmp);
    let same = |a: f64, b: f64| b - a <= SAME_TIME * b.abs().max(a.abs());
    if all.windows(2).all(|pair| pair[0] == pair[1] || !same(pair[0], pair[1])) {
        return;
    }
    let mut firsts: Vec<f64> = Vec::with_capacity(all.len());
    for &time in &all {
        if firsts.last().is_none_or(|&first| !same(first, time)) {
            firsts.push(time);
        }
    }
    let join = |time: &mut f64| *time = firsts[firsts.partition_point(|&f| f <= *time) - 1];
    stop.iter_mut().for_each(join);
    if let Some(start) = start {
        start.iter_mut().for_each(join);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_that_differ_by_rounding_are_one() {
        let sum: f64 = 0.1 + 0.2;
        assert!(sum > 0.3);
        let joined = Followup::start_stop(&[0.0, sum, -2.0], &[0.3, 1.0, 0.3], &[true; 3]).unwrap();
        assert_eq!(joined.start.unwrap()[1], 0.3);
        let apart = Followup::right_censored(&[1.0, 1.0 + 1e-12], &[true; 2]).unwrap();
        assert!(apart.stop[0] < apart.stop[1]);
        assert_eq!(
            Followup::start_stop(&[0.3], &[sum], &[true]).unwrap_err(),
            StatsError::EmptyInterval { row: 0, start: 0.3, stop: 0.3 }
        );
    }

    #[test]
    fn bad_observation_is_refused() {
        assert!(matches!(
            Followup::right_censored(&[], &[]).unwrap_err(),
            StatsError::Empty { .. }
        ));
        assert!(matches!(
            Followup::right_censored(&[1.0, f64::NAN], &[true; 2]).unwrap_err(),
            StatsError::NonFinite { row: 1, .. }
        ));
        assert!(matches!(
            Followup::start_stop(&[0.0, 0.0], &[1.0], &[true; 2]).unwrap_err(),
            StatsError::LengthMismatch { .. }
        ));
    }
}
