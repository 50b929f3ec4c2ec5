//! From the finish on: to the card's target, and to the pull.

use crate::course::first_at;
use crate::error::OutlookError;
use crate::local::Range;
use crate::past::{Past, PastCook};
use crate::wrap::WrapClass;

/// A pull later than this after the finish was waited for by somebody, h.
const LONGEST_WAIT_H: f64 = 5.0;
/// Fewer cooks of the team's own than this do not say how long it takes.
const FEWEST: usize = 5;

impl Past {
    /// Hours from the finish to the pull, as past cooks of such a wrap were pulled: the team's own where
    /// there are five, else the bundled ones, which are pulled when a probe test finds them tender.
    /// `not_yet_h` are the hours since the finish at which a test found this one not tender.
    ///
    /// # Errors
    /// No cook was pulled after the finish, or none as late.
    pub fn to_pull(
        &self,
        wrap: WrapClass,
        not_yet_h: Option<f64>,
        level: f64,
    ) -> Result<Range, OutlookError> {
        let hours = |cook: &PastCook| {
            let (finish, pull) = (cook.course.finish_min?, cook.course.pull_min?);
            let hours = (pull - finish) / 60.0;
            let later = not_yet_h.is_none_or(|not_yet| hours > not_yet);
            ((0.0..=LONGEST_WAIT_H).contains(&hours) && later).then_some(hours)
        };
        self.spread_of(wrap, level, &hours)
    }

    /// Hours from the finish to a higher core, as past cooks of such a wrap got there.
    ///
    /// # Errors
    /// No cook got there before its pull.
    pub fn to_target(
        &self,
        wrap: WrapClass,
        target_c: f64,
        level: f64,
    ) -> Result<Range, OutlookError> {
        let hours = |cook: &PastCook| {
            let at = first_at(&cook.course.core_c, target_c)?;
            Some(((at - cook.course.finish_min?) / 60.0).max(0.0))
        };
        self.spread_of(wrap, level, &hours)
    }

    fn spread_of(
        &self,
        wrap: WrapClass,
        level: f64,
        hours: &dyn Fn(&PastCook) -> Option<f64>,
    ) -> Result<Range, OutlookError> {
        let of = |bundled: bool, any_wrap: bool| -> Vec<f64> {
            self.cooks
                .iter()
                .filter(|cook| {
                    let finish = cook.course.finish_min.unwrap_or(0.0);
                    cook.bundled == bundled && (any_wrap || cook.course.wrap_at(finish).0 == wrap)
                })
                .filter_map(hours)
                .collect()
        };
        let pools = [of(false, false), of(false, true), of(true, false), of(true, true)];
        let enough = pools.iter().find(|pool| pool.len() >= FEWEST);
        let pool = enough.or_else(|| pools.iter().find(|pool| !pool.is_empty()));
        let pool = pool.ok_or(OutlookError::NoPast)?;
        let tail = 0.5 - 0.5 * level;
        let at = |probability| stats::describe::quantile(pool, probability);
        Ok(Range { hours: at(0.5)?, lo: at(tail)?, hi: at(1.0 - tail)? })
    }
}

impl Range {
    /// One span after the other, their errors taken as independent: ends add in quadrature.
    #[must_use]
    pub fn then(self, other: Self) -> Self {
        let hours = self.hours + other.hours;
        let below = (self.hours - self.lo).hypot(other.hours - other.lo);
        let above = (self.hi - self.hours).hypot(other.hi - other.hours);
        Self { hours, lo: hours - below, hi: hours + above }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_one_after_the_other_add_their_ends_in_quadrature() {
        let a = Range { hours: 3.0, lo: 2.7, hi: 3.4 };
        let b = Range { hours: 1.0, lo: 0.6, hi: 1.3 };
        let sum = a.then(b);
        assert!((sum.hours - 4.0).abs() < 1e-12);
        assert!((sum.lo - 3.5).abs() < 1e-12 && (sum.hi - 4.5).abs() < 1e-12);
    }
}
