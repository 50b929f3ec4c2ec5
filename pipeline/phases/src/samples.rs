//! Readings of one channel as two columns of equal length.

use crate::error::PhasesError;
use cook::ChannelReadings;

/// Borrowed readings: instants in ms UTC, strictly increasing, and temperatures in °C.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Samples<'a> {
    /// Instants, ms UTC.
    pub at_ms: &'a [i64],
    /// Temperatures, °C.
    pub temp_c: &'a [f64],
}

/// Owned readings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OwnedSamples {
    /// Instants, ms UTC.
    pub at_ms: Vec<i64>,
    /// Temperatures, °C.
    pub temp_c: Vec<f64>,
}

impl OwnedSamples {
    /// The usable readings of a channel ([`cook::Flag::usable`]), with `offset_c` added to
    /// each (the card's probe correction, from an ice or boiling test).
    pub fn usable(channel: &ChannelReadings, offset_c: f64) -> Self {
        let usable = channel.flag.iter().zip(&channel.at_ms).zip(&channel.temp_c);
        let (at_ms, temp_c) = usable
            .filter(|((flag, _), _)| flag.usable())
            .map(|((_, &at_ms), &temp_c)| (at_ms, f64::from(temp_c) + offset_c))
            .unzip();
        Self { at_ms, temp_c }
    }

    /// A borrowed view.
    pub fn view(&self) -> Samples<'_> {
        Samples { at_ms: &self.at_ms, temp_c: &self.temp_c }
    }
}

impl<'a> Samples<'a> {
    /// Number of readings.
    pub fn len(self) -> usize {
        self.at_ms.len()
    }

    /// Whether there is none.
    pub fn is_empty(self) -> bool {
        self.at_ms.is_empty()
    }

    /// The readings in `[from_ms, until_ms)`.
    #[must_use]
    pub fn within(self, from_ms: i64, until_ms: i64) -> Samples<'a> {
        let start = self.at_ms.partition_point(|&at| at < from_ms);
        let end = self.at_ms.partition_point(|&at| at < until_ms).max(start);
        Samples { at_ms: &self.at_ms[start..end], temp_c: &self.temp_c[start..end] }
    }

    /// Means of blocks at most `width_ms` wide, at the mean instant, with the number of readings in
    /// each; readings further apart stay single.
    pub fn blocks(self, width_ms: i64) -> (OwnedSamples, Vec<usize>) {
        let (mut blocks, mut counts) = (OwnedSamples::default(), Vec::new());
        let mut start = 0;
        while start < self.len() {
            let first_ms = self.at_ms[start];
            let count = self.at_ms[start..].partition_point(|at| at - first_ms < width_ms).max(1);
            let inside = start..start + count;
            let since: i64 = self.at_ms[inside.clone()].iter().map(|at| at - first_ms).sum();
            blocks.at_ms.push(first_ms + since / count as i64);
            blocks.temp_c.push(self.temp_c[inside].iter().sum::<f64>() / count as f64);
            counts.push(count);
            start += count;
        }
        (blocks, counts)
    }

    /// Checks that both columns are of one length and the instants strictly increase.
    ///
    /// # Errors
    /// [`PhasesError::LengthMismatch`] and [`PhasesError::NotIncreasing`]; `what` names the
    /// channel in them.
    pub fn check(self, what: &'static str) -> Result<(), PhasesError> {
        if self.at_ms.len() != self.temp_c.len() {
            return Err(PhasesError::LengthMismatch {
                what,
                instants: self.at_ms.len(),
                temperatures: self.temp_c.len(),
            });
        }
        match self.at_ms.windows(2).position(|pair| pair[0] >= pair[1]) {
            Some(before) => Err(PhasesError::NotIncreasing {
                what,
                index: before + 1,
                at_ms: self.at_ms[before + 1],
            }),
            None => Ok(()),
        }
    }

    /// Linear interpolation at `at_ms`; the nearest reading's value outside the readings,
    /// `None` where there is no reading at all.
    pub fn at(self, at_ms: i64) -> Option<f64> {
        let after = self.at_ms.partition_point(|&at| at < at_ms);
        if after == self.at_ms.len() {
            return self.temp_c.last().copied();
        }
        if after == 0 || self.at_ms[after] == at_ms {
            return Some(self.temp_c[after]);
        }
        let (t0, t1) = (self.at_ms[after - 1], self.at_ms[after]);
        let share = (at_ms - t0) as f64 / (t1 - t0) as f64;
        Some(self.temp_c[after - 1] + share * (self.temp_c[after] - self.temp_c[after - 1]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::{Flag, Role};

    #[test]
    fn unusable_readings_are_left_out_and_the_offset_is_added() {
        let mut channel = ChannelReadings::new("flat", Role::Meat);
        channel.at_ms = vec![0, 10, 20];
        channel.temp_c = vec![4.0, 900.0, 5.0];
        channel.flag = vec![Flag::Good, Flag::OutOfRange, Flag::Reordered];
        let samples = OwnedSamples::usable(&channel, 0.5);
        assert_eq!(samples.at_ms, [0, 20]);
        assert_eq!(samples.temp_c, [4.5, 5.5]);
    }

    #[test]
    fn interpolation_is_linear_and_flat_beyond_the_ends() {
        let samples = Samples { at_ms: &[0, 100], temp_c: &[1.0, 3.0] };
        assert_eq!(samples.at(50), Some(2.0));
        assert_eq!(samples.at(-5), Some(1.0));
        assert_eq!(samples.at(500), Some(3.0));
        assert_eq!(Samples::default().at(0), None);
    }

    #[test]
    fn blocks_are_means_and_lone_readings_stay() {
        let samples = Samples {
            at_ms: &[0, 10, 20, 500, 1_000, 1_020],
            temp_c: &[1.0, 2.0, 6.0, 5.0, 8.0, 10.0],
        };
        let (blocks, counts) = samples.blocks(30);
        assert_eq!(blocks.at_ms, [10, 500, 1_010]);
        assert_eq!(blocks.temp_c, [3.0, 5.0, 9.0]);
        assert_eq!(counts, [3, 1, 2]);
    }

    #[test]
    fn columns_that_do_not_fit_are_named() {
        let samples = Samples { at_ms: &[0, 0], temp_c: &[1.0, 3.0] };
        assert_eq!(
            samples.check("core"),
            Err(PhasesError::NotIncreasing { what: "core", index: 1, at_ms: 0 })
        );
        assert!(Samples { at_ms: &[0], temp_c: &[] }.check("pit").is_err());
    }
}
