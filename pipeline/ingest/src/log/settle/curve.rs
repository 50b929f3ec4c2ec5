//! What a channel's readings look like: the pit leads and ripples, meat follows.

use crate::log::finished::LogChannel;

/// Step of the grid on which channels are compared, ms.
const GRID_MS: i64 = 2 * 60_000;
/// A log shorter than this tells nothing of a channel, ms.
const SHORTEST_MS: i64 = 90 * 60_000;
/// Turns smaller than this, °C, are noise.
const TURN_C: f32 = 1.5;

/// What a channel's readings look like (common practice, no source: meat begins near the
/// cold store, rises without turning and ends below boiling; a pit is hot and turns with
/// the fire; air outside stays in a narrow band).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Looks {
    Pit,
    Meat,
    Ambient,
    Unclear,
}

/// Means of a channel on the grid; NaN where it has no reading.
pub(crate) struct Curve {
    first: i64,
    means: Vec<f32>,
}

impl Curve {
    pub(crate) fn of(channel: &LogChannel) -> Option<Self> {
        let (first, last) = (channel.at_ms.first()?, channel.at_ms.last()?);
        if last - first < SHORTEST_MS || last - first > 10 * crate::time::DAY_MS {
            return None;
        }
        let first = first.div_euclid(GRID_MS);
        let length = (last.div_euclid(GRID_MS) - first) as usize + 1;
        let mut sums = vec![(0.0_f64, 0_u32); length];
        for (at, temp) in channel.at_ms.iter().zip(&channel.temp_c) {
            let sum = &mut sums[(at.div_euclid(GRID_MS) - first) as usize];
            sum.0 += f64::from(temp);
            sum.1 += 1;
        }
        let mean = |(sum, count): (f64, u32)| {
            if count == 0 { f32::NAN } else { (sum / f64::from(count)) as f32 }
        };
        Some(Self { first, means: sums.into_iter().map(mean).collect() })
    }

    fn known(&self) -> impl Iterator<Item = f32> + '_ {
        self.means.iter().copied().filter(|mean| !mean.is_nan())
    }

    /// Turns of at least [`TURN_C`] an hour.
    fn turns_per_hour(&self) -> f64 {
        let (mut low, mut high) = (f32::INFINITY, f32::NEG_INFINITY);
        let (mut rising, mut turns) = (None, 0);
        for temp in self.known() {
            low = low.min(temp);
            high = high.max(temp);
            if rising != Some(true) && temp - low >= TURN_C {
                turns += i32::from(rising.is_some());
                (rising, high) = (Some(true), temp);
            } else if rising != Some(false) && high - temp >= TURN_C {
                turns += i32::from(rising.is_some());
                (rising, low) = (Some(false), temp);
            }
        }
        f64::from(turns) / (self.means.len() as f64 * GRID_MS as f64 / 3_600_000.0)
    }

    /// Share of ten-minute steps that fall by no more than half a degree, up to the
    /// hottest reading.
    fn rising_share(&self) -> f64 {
        let known: Vec<f32> = self.known().collect();
        let hottest = (0..known.len()).max_by(|&a, &b| known[a].total_cmp(&known[b])).unwrap_or(0);
        let steps: Vec<f32> = known[..=hottest].windows(6).map(|w| w[5] - w[0]).collect();
        if steps.is_empty() {
            return 0.0;
        }
        steps.iter().filter(|step| **step >= -0.5).count() as f64 / steps.len() as f64
    }

    pub(crate) fn looks(&self) -> Looks {
        let known: Vec<f32> = self.known().collect();
        if known.len() < 20 {
            return Looks::Unclear;
        }
        let start = known[..=known.len() / 20].iter().sum::<f32>() / (known.len() / 20 + 1) as f32;
        let hottest = known.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        let coldest = known.iter().copied().fold(f32::INFINITY, f32::min);
        let mut sorted = known.clone();
        sorted.sort_by(f32::total_cmp);
        let middle = sorted[sorted.len() / 2];
        let turns = self.turns_per_hour();
        if hottest <= 108.0
            && start <= 45.0
            && hottest - start >= 20.0
            && self.rising_share() >= 0.9
            && turns <= 1.0
        {
            Looks::Meat
        } else if middle >= 75.0 && turns > 1.0 {
            Looks::Pit
        } else if hottest <= 50.0 && hottest - coldest <= 25.0 {
            Looks::Ambient
        } else {
            Looks::Unclear
        }
    }

    /// Share of common grid steps at which this is hotter than another.
    pub(crate) fn above(&self, other: &Self) -> f64 {
        let (mut both, mut above) = (0, 0);
        for (i, mean) in self.means.iter().enumerate() {
            let j = self.first + i as i64 - other.first;
            let Some(cold) = usize::try_from(j).ok().and_then(|j| other.means.get(j)) else {
                continue;
            };
            if !mean.is_nan() && !cold.is_nan() {
                both += 1;
                above += i32::from(mean > cold);
            }
        }
        if both == 0 { 0.0 } else { f64::from(above) / f64::from(both) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::{Flag, Role};

    fn channel(temp: impl Fn(f64) -> f64) -> LogChannel {
        let minutes = 0..600;
        LogChannel {
            name: "x".into(),
            header: "x".into(),
            role: Role::Other,
            unit: None,
            at_ms: minutes.clone().map(|m| m * 60_000).collect(),
            temp_c: minutes.clone().map(|m| temp(m as f64) as f32).collect(),
            line: minutes.clone().map(|m| m as u32).collect(),
            flag: minutes.map(|_| Flag::Good).collect(),
        }
    }

    #[test]
    fn channels_look_like_what_they_are() {
        let looks = |channel: &LogChannel| Curve::of(channel).unwrap().looks();
        let pit = channel(|m| 107.0 + 4.0 * (m / 6.0).sin());
        let meat = channel(|m| 5.0 + 88.0 * (1.0 - (-m / 250.0).exp()));
        let air = channel(|m| 18.0 + 6.0 * (m / 400.0).sin());
        assert_eq!(looks(&pit), Looks::Pit);
        assert_eq!(looks(&meat), Looks::Meat);
        assert_eq!(looks(&air), Looks::Ambient);
        let (pit, meat) = (Curve::of(&pit).unwrap(), Curve::of(&meat).unwrap());
        assert!(pit.above(&meat) > 0.99 && meat.above(&pit) < 0.01);
    }

    #[test]
    fn a_short_log_looks_like_nothing() {
        let mut short = channel(|m| 107.0 + 4.0 * (m / 6.0).sin());
        short.at_ms = short.at_ms.range(0..30).collect();
        short.temp_c = short.temp_c.range(0..30).collect();
        assert!(Curve::of(&short).is_none());
    }
}
