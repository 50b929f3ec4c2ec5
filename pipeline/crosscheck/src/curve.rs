//! What is kept of a cook's readings to be held against card, events and other cooks.
//!
//! It is small (levels of ten minutes, and the instants at which something is seen), so that a
//! season is examined anew without its readings being read again.

use columns::{PackedChannel, PackedReadings};
use cook::spot::is_spot_channel;
use cook::{Card, ChannelReadings, CookReadings, Flag, Role};
use phases::{Channel, Channels, Samples, lead_channel, seen_marks};
use serde::{Deserialize, Serialize};

/// A level is the median of readings over this time, ms (10 min).
pub const LEVEL_MS: i64 = 600_000;
/// One reading in this time is looked at, ms (1 min): lids and dips last for longer.
const EVERY_MS: i64 = 60_000;
/// A log shows hands at the meat if it has a reading at least this often, ms (3 min): what a lid does
/// to a pit is over in ten. Common practice, no source.
const DENSE_MS: i64 = 180_000;
/// Which of several meats is the core is told by the last to arrive here, °C, as in the phases.
const FINISH_C: f64 = 88.0;

/// Curves of a cook in short.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Curve {
    /// The first reading of pit or core, ms UTC.
    pub first_ms: i64,
    /// The last, ms UTC.
    pub last_ms: i64,
    /// The pit's levels from `first_ms` on, tenths of °C; `None` where there is no reading.
    pub pit: Vec<Option<i16>>,
    /// The core's levels, likewise.
    pub core: Vec<Option<i16>>,
    /// Whether pit and core were logged often enough to show an opened lid.
    pub dense: bool,
    /// The meat is seen to go on, ms UTC.
    pub meat_on_ms: Option<i64>,
    /// A raw core is seen to begin to rise, ms UTC.
    pub rises_ms: Option<i64>,
    /// The meat is seen to come off, ms UTC.
    pub pull_ms: Option<i64>,
    /// The lid opens or the core dips, ms UTC, in order.
    pub opened_ms: Vec<i64>,
    /// The lid opens and the core dips, ms UTC, in order.
    pub handled_ms: Vec<i64>,
    /// The meat channels that were logged, by name.
    #[serde(default)]
    pub meats: Vec<String>,
    /// Channels that jump to and fro between two levels.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub jumping: Vec<Jumping>,
}

/// A channel that jumps to and fro between two levels: two sensors under one name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Jumping {
    /// The channel's name.
    pub channel: String,
    /// How far apart the two are in the middle, tenths of °C.
    pub apart: i16,
}

impl Curve {
    /// Of a cook's readings, corrected as its card says; `None` where neither pit nor core was
    /// logged.
    pub fn of(readings: &CookReadings, card: &Card) -> Option<Self> {
        let jumps = readings.channels.iter().filter(|c| may_jump(c.role)).filter_map(|channel| {
            let rows = channel.flag.iter().copied().zip(channel.temp_c.iter().copied());
            jumping(&channel.name, rows)
        });
        Self::of_thin(&thin(readings), card, jumps.collect())
    }

    /// As [`Curve::of`].
    pub fn of_packed(readings: &PackedReadings, card: &Card) -> Option<Self> {
        let jumps =
            readings.channels.iter().filter(|c| may_jump(c.role)).filter_map(|channel| {
                jumping(&channel.name, channel.flag.iter().zip(&channel.temp_c))
            });
        let thin = CookReadings {
            channels: readings.channels.iter().map(thinned_of_packed).collect(),
            cook: readings.cook.clone(),
            season: readings.season.clone(),
            sources: readings.sources.clone(),
        };
        Self::of_thin(&thin, card, jumps.collect())
    }

    /// Of a cook's readings, the first in each minute of every channel, and of its channels that jump.
    fn of_thin(readings: &CookReadings, card: &Card, jumping: Vec<Jumping>) -> Option<Self> {
        let (pit, core) = pit_and_core(readings, card);
        let none = Samples::default();
        let pit = pit.as_ref().map_or(none, |pit| pit.samples.view());
        let core = core.as_ref().map_or(none, |core| core.samples.view());
        let ends = |pick: fn(Samples<'_>) -> Option<i64>| [pit, core].into_iter().filter_map(pick);
        let first_ms = ends(|samples| samples.at_ms.first().copied()).min()?;
        let last_ms = ends(|samples| samples.at_ms.last().copied()).max()?;
        let seen = seen_marks(core, pit);
        Some(Self {
            first_ms,
            last_ms,
            pit: levels(pit, first_ms, last_ms),
            core: levels(core, first_ms, last_ms),
            dense: is_dense(pit) && is_dense(core),
            meat_on_ms: seen.meat_on_ms,
            rises_ms: seen.rises_ms,
            pull_ms: seen.pull_ms,
            opened_ms: seen.opened_ms,
            handled_ms: seen.handled_ms,
            meats: readings
                .channels
                .iter()
                .filter(|channel| channel.role == Role::Meat && !is_spot_channel(&channel.name))
                .map(|channel| channel.name.clone())
                .collect(),
            jumping,
        })
    }

    /// The core's level around an instant, °C; within the log only.
    pub fn core_at(&self, at_ms: i64) -> Option<f64> {
        self.at(&self.core, at_ms)
    }

    /// The pit's level around an instant, °C; within the log only.
    pub fn pit_at(&self, at_ms: i64) -> Option<f64> {
        self.at(&self.pit, at_ms)
    }

    fn at(&self, levels: &[Option<i16>], at_ms: i64) -> Option<f64> {
        let index = usize::try_from((at_ms - self.first_ms).div_euclid(LEVEL_MS)).ok()?;
        levels.get(index)?.map(celsius)
    }

    /// The core's highest level, °C.
    pub fn highest_core(&self) -> Option<f64> {
        self.core.iter().flatten().max().copied().map(celsius)
    }

    /// The core's levels in `[from_ms, until_ms)`: where each begins, ms UTC, and °C.
    pub fn core_between(&self, from_ms: i64, until_ms: i64) -> Vec<(i64, f64)> {
        let at = |index: usize| self.first_ms + index as i64 * LEVEL_MS;
        let inside = |at_ms: i64| at_ms >= from_ms && at_ms.saturating_add(LEVEL_MS) <= until_ms;
        let levels = self.core.iter().enumerate().filter(|(index, _)| inside(at(*index)));
        levels.filter_map(|(index, level)| Some((at(index), level.map(celsius)?))).collect()
    }

    /// The pit's levels in `[from_ms, until_ms)`, °C.
    pub fn pit_between(&self, from_ms: i64, until_ms: i64) -> Vec<f64> {
        let at = |index: usize| self.first_ms + index as i64 * LEVEL_MS;
        let inside = |index: usize| at(index) >= from_ms && at(index) + LEVEL_MS <= until_ms;
        let levels = self.pit.iter().enumerate().filter(|(index, _)| inside(*index));
        levels.filter_map(|(_, level)| level.map(celsius)).collect()
    }

    /// The first instant at which the core has reached a temperature, between levels by straight
    /// lines, ms UTC.
    pub fn core_reaches(&self, temp_c: f64) -> Option<i64> {
        let middle = |index: usize| self.first_ms + index as i64 * LEVEL_MS + LEVEL_MS / 2;
        let mut before: Option<(i64, f64)> = None;
        for (index, level) in self.core.iter().enumerate() {
            let Some(level) = level.map(celsius) else { continue };
            if level >= temp_c {
                let (at_ms, was) = before?;
                let share = (temp_c - was) / (level - was);
                return Some(at_ms + (share * (middle(index) - at_ms) as f64).round() as i64);
            }
            before = Some((middle(index), level));
        }
        None
    }

    /// The core between levels by straight lines, °C.
    pub fn core_on_line(&self, at_ms: i64) -> Option<f64> {
        let from_middle = at_ms - self.first_ms - LEVEL_MS / 2;
        let index = usize::try_from(from_middle.div_euclid(LEVEL_MS)).ok()?;
        let share = from_middle.rem_euclid(LEVEL_MS) as f64 / LEVEL_MS as f64;
        let (one, next) =
            (celsius((*self.core.get(index)?)?), celsius((*self.core.get(index + 1)?)?));
        Some(one + share * (next - one))
    }
}

fn celsius(tenths: i16) -> f64 {
    f64::from(tenths) / 10.0
}

/// One reading and the next but one are alike within this, °C: nothing on a pit changes faster …
const BACK_WITHIN_C: f32 = 1.5;
/// … and the one between them is this far off, °C, which no noise of a probe is. Common practice, no
/// source.
const JUMP_C: f32 = 4.0;
/// A channel with so large a share of such readings has two sources: a loose plug makes some, two
/// sensors in turn make nearly all.
const JUMPING_SHARE: f64 = 0.25;

/// Whether it is told of a channel that it jumps: a target or a fan may switch as it likes.
fn may_jump(role: Role) -> bool {
    matches!(role, Role::Pit | Role::Meat)
}

/// Whether a channel jumps to and fro between two levels from reading to reading.
fn jumping(name: &str, rows: impl Iterator<Item = (Flag, f32)>) -> Option<Jumping> {
    let mut apart: Vec<f64> = Vec::new();
    let (mut looked_at, mut usable) = (0_usize, 0_usize);
    let mut temps = [0.0_f32; 3];
    for (flag, temp_c) in rows {
        temps = [temps[1], temps[2], temp_c];
        usable = if flag.usable() { usable + 1 } else { 0 };
        if usable >= 3 {
            looked_at += 1;
            let jump = (temps[1] - temps[0]).abs();
            if jump >= JUMP_C
                && (temps[2] - temps[1]).abs() >= JUMP_C
                && (temps[2] - temps[0]).abs() <= BACK_WITHIN_C
            {
                apart.push(f64::from(jump));
            }
        }
    }
    let share = apart.len() as f64 / looked_at.max(1) as f64;
    let apart = median(apart).filter(|_| looked_at >= 20 && share >= JUMPING_SHARE)?;
    Some(Jumping { channel: name.to_owned(), apart: (apart * 10.0).round() as i16 })
}

/// A cook's readings, the first in each minute of every channel.
pub(crate) fn thin(readings: &CookReadings) -> CookReadings {
    CookReadings {
        channels: readings.channels.iter().map(thinned).collect(),
        cook: readings.cook.clone(),
        season: readings.season.clone(),
        sources: readings.sources.clone(),
    }
}

/// The pit and the core of a cook, corrected as its card says.
pub(crate) fn pit_and_core(
    readings: &CookReadings,
    card: &Card,
) -> (Option<Channel>, Option<Channel>) {
    let Channels { pit, mut meats, .. } = Channels::of(readings, card);
    let all = (i64::MIN, i64::MAX);
    let lead = lead_channel(&meats, card.lead_channel.as_deref(), all, FINISH_C);
    (pit, lead.ok().map(|lead| meats.swap_remove(lead.index)))
}

/// The first reading of each minute.
fn thinned(channel: &ChannelReadings) -> ChannelReadings {
    let mut thin = ChannelReadings::new(channel.name.clone(), channel.role);
    let rows = channel.at_ms.iter().copied().zip(channel.flag.iter().copied());
    for index in firsts(rows) {
        thin.at_ms.push(channel.at_ms[index]);
        thin.temp_c.push(channel.temp_c[index]);
        thin.flag.push(channel.flag[index]);
        thin.source.push(channel.source[index]);
        thin.line.push(channel.line[index]);
    }
    thin
}

fn thinned_of_packed(channel: &PackedChannel) -> ChannelReadings {
    let mut thin = PackedChannel::new(channel.name.clone(), channel.role);
    firsts(channel.at_ms.iter().zip(&channel.flag))
        .for_each(|place| thin.push_from(channel, place));
    thin.into()
}

/// The places of the first usable rows of each minute.
fn firsts(rows: impl Iterator<Item = (i64, Flag)>) -> impl Iterator<Item = usize> {
    let mut last = i64::MIN;
    rows.enumerate().filter_map(move |(place, (at_ms, flag))| {
        let minute = at_ms.div_euclid(EVERY_MS);
        (minute != last && flag.usable()).then(|| {
            last = minute;
            place
        })
    })
}

fn levels(samples: Samples<'_>, first_ms: i64, last_ms: i64) -> Vec<Option<i16>> {
    (0..=(last_ms - first_ms) / LEVEL_MS)
        .map(|index| {
            let from = first_ms + index * LEVEL_MS;
            median(samples.within(from, from + LEVEL_MS).temp_c.to_vec())
                .map(|level| (level * 10.0).round() as i16)
        })
        .collect()
}

/// The upper median; `None` of nothing.
pub(crate) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

fn is_dense(samples: Samples<'_>) -> bool {
    let steps = samples.at_ms.windows(2).map(|pair| (pair[1] - pair[0]) as f64).collect();
    median(steps).is_some_and(|step| step <= DENSE_MS as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::Flag;

    #[test]
    fn two_sensors_in_turn_jump_and_spikes_and_swings_do_not() {
        let found =
            |of: &dyn Fn(usize) -> f32| jumping("pit", (0..600).map(|at| (Flag::Good, of(at))));
        // Two pits in turn, three readings of one between those of the other, or one each.
        let two = found(&|at| if at % 2 == 0 { 121.0 } else { 107.0 });
        assert_eq!(two.map(|jumping| jumping.apart), Some(140));
        assert!(found(&|at| if at % 3 == 0 { 121.0 } else { 107.0 }).is_some());
        // A spike in ten readings; a fire that swings; a relay that switches every few minutes.
        assert!(found(&|at| if at % 10 == 0 { 160.0 } else { 121.0 }).is_none());
        assert!(found(&|at| 121.0 + 8.0 * (at as f32 / 6.0).sin()).is_none());
        assert!(found(&|at| if at / 8 % 2 == 0 { 121.0 } else { 112.0 }).is_none());
    }
}
