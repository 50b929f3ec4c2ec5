//! How long a temperature history spends where.

use crate::error::PhysicsError;
use crate::lethality::HistoryPoint;
use cook::{Celsius, Seconds};

/// Seconds that a history (straight lines between its points) spends at or above `from` and
/// below `to`. A bound at infinity is none.
///
/// # Errors
/// [`PhysicsError::Backwards`] where an instant is before the one in front of it.
pub fn time_between(
    history: &[HistoryPoint],
    from: Celsius,
    to: Celsius,
) -> Result<Seconds, PhysicsError> {
    let mut sum = 0.0;
    for (index, pair) in history.windows(2).enumerate() {
        let (start, end) = (pair[0], pair[1]);
        let seconds = end.0.value() - start.0.value();
        if seconds.is_nan() || seconds < 0.0 {
            return Err(PhysicsError::Backwards { index: index + 1 });
        }
        let (low, high) = (start.1.value().min(end.1.value()), start.1.value().max(end.1.value()));
        if low == high {
            if from.value() <= low && low < to.value() {
                sum += seconds;
            }
            continue;
        }
        let inside = high.min(to.value()) - low.max(from.value());
        sum += seconds * (inside.max(0.0) / (high - low));
    }
    Ok(Seconds(sum))
}

/// First instant from `after` on at which a history is at or below a temperature; `None` if it
/// never is.
///
/// # Errors
/// [`PhysicsError::Backwards`] where an instant is before the one in front of it.
pub fn first_at_or_below(
    history: &[HistoryPoint],
    after: Seconds,
    temperature: Celsius,
) -> Result<Option<Seconds>, PhysicsError> {
    let mut before: Option<HistoryPoint> = None;
    for (index, &(at, here)) in history.iter().enumerate() {
        if let Some((earlier, there)) = before {
            if at.value() < earlier.value() {
                return Err(PhysicsError::Backwards { index });
            }
            if at.value() >= after.value() && here.value() <= temperature.value() {
                let fall = there.value() - here.value();
                let share = if fall > 0.0 && there.value() > temperature.value() {
                    (there.value() - temperature.value()) / fall
                } else {
                    0.0
                };
                let crossed = earlier.value() + share * (at.value() - earlier.value());
                return Ok(Some(Seconds(crossed.max(after.value()))));
            }
        } else if at.value() >= after.value() && here.value() <= temperature.value() {
            return Ok(Some(at));
        }
        before = Some((at, here));
    }
    Ok(None)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn history(points: &[(f64, f64)]) -> Vec<HistoryPoint> {
        points.iter().map(|&(at, t)| (Seconds(at), Celsius(t))).collect()
    }

    proptest! {
        #[test]
        fn bands_that_share_a_bound_add_up_to_the_whole(
            temperatures in prop::collection::vec(-10.0f64..120.0, 2..30),
            bound in -20.0f64..130.0,
        ) {
            let points: Vec<(f64, f64)> =
                temperatures.iter().enumerate().map(|(i, t)| (i as f64 * 60.0, *t)).collect();
            let history = history(&points);
            let all = (Celsius(f64::NEG_INFINITY), Celsius(f64::INFINITY));
            let below = time_between(&history, all.0, Celsius(bound)).unwrap().value();
            let above = time_between(&history, Celsius(bound), all.1).unwrap().value();
            let whole = (history.len() - 1) as f64 * 60.0;
            prop_assert!((below + above - whole).abs() < 1e-6);
        }
    }

    #[test]
    fn a_climb_and_a_fall_are_counted_by_their_crossings() {
        let history = history(&[(0.0, 0.0), (100.0, 100.0), (200.0, 50.0)]);
        let band = time_between(&history, Celsius(40.0), Celsius(60.0)).unwrap().value();
        assert!((band - 40.0).abs() < 1e-9, "{band}");
        let at = |after, t| {
            first_at_or_below(&history, Seconds(after), Celsius(t)).unwrap().map(Seconds::value)
        };
        assert_eq!(at(100.0, 75.0), Some(150.0));
        assert_eq!(at(170.0, 75.0), Some(170.0));
        assert_eq!(at(100.0, 40.0), None);
        assert_eq!(at(0.0, 5.0), Some(0.0));
    }

    #[test]
    fn time_that_runs_backwards_is_an_error() {
        let history = history(&[(0.0, 0.0), (10.0, 1.0), (5.0, 2.0)]);
        let error = PhysicsError::Backwards { index: 2 };
        assert_eq!(time_between(&history, Celsius(0.0), Celsius(9.0)), Err(error.clone()));
        assert_eq!(first_at_or_below(&history, Seconds(0.0), Celsius(-9.0)), Err(error));
    }
}
