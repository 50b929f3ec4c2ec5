//! The study clock.

use phases::{HeatingCurves, Segmentation};

/// The study clock of one cook. Instants are ms UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StudyClock {
    /// Clock zero: the core's first 55 °C (with the default constants).
    pub zero_ms: i64,
    /// The finish: the core's first 88 °C; `None` where it was not reached before the pull.
    pub finish_ms: Option<i64>,
    /// The last core sample before the pull or the log's end.
    pub last_ms: i64,
}

impl StudyClock {
    /// The clock of a segmented cook; `None` where the log does not show the core passing
    /// the clock's zero.
    pub fn of(segmentation: &Segmentation, zero_c: f64, finish_c: f64) -> Option<Self> {
        let heating = &segmentation.judgement.heating;
        let zero = passes(heating, zero_c)?;
        Some(Self {
            zero_ms: heating.at_ms(zero),
            finish_ms: heating.first_reaches_ms(finish_c),
            last_ms: heating.at_ms(heating.len() - 1),
        })
    }

    /// The finish, else the last sample: what the clock runs to.
    pub fn end_ms(&self) -> i64 {
        self.finish_ms.unwrap_or(self.last_ms)
    }

    /// Minutes from zero to an instant.
    pub fn minutes_to(&self, at_ms: i64) -> f64 {
        (at_ms - self.zero_ms) as f64 / 60_000.0
    }
}

/// The first sample at or above `temp_c`, if the core was seen below it before.
pub(crate) fn passes(heating: &HeatingCurves, temp_c: f64) -> Option<usize> {
    heating.first_index_at(temp_c).filter(|&index| index > 0)
}
