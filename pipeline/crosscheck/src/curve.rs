//! What is kept of a cook's readings to be held against card, events and other cooks.
//!
//! It is small (levels of ten minutes, and the instants at which something is seen), so that a
//! season is examined anew without its readings being read again.

use cook::{Card, ChannelReadings, CookReadings};
use phases::{Channels, Samples, lead_channel, seen_marks};
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
}

impl Curve {
    /// Of a cook's readings, corrected as its card says; `None` where neither pit nor core was
    /// logged.
    pub fn of(readings: &CookReadings, card: &Card) -> Option<Self> {
        let thin = CookReadings {
            channels: readings.channels.iter().map(thinned).collect(),
            ..CookReadings { channels: Vec::new(), ..readings.clone() }
        };
        let Channels { pit, meats, .. } = Channels::of(&thin, card);
        let all = (i64::MIN, i64::MAX);
        let lead = lead_channel(&meats, card.lead_channel.as_deref(), all, FINISH_C);
        let core = lead.ok().and_then(|lead| meats.get(lead.index));
        let none = Samples::default();
        let pit = pit.as_ref().map_or(none, |pit| pit.samples.view());
        let core = core.map_or(none, |core| core.samples.view());
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
        celsius(*levels.get(index)?.as_ref()?)
    }

    /// The core's highest level, °C.
    pub fn highest_core(&self) -> Option<f64> {
        celsius(*self.core.iter().flatten().max()?)
    }

    /// The pit's levels in `[from_ms, until_ms)`, °C.
    pub fn pit_between(&self, from_ms: i64, until_ms: i64) -> Vec<f64> {
        let at = |index: usize| self.first_ms + index as i64 * LEVEL_MS;
        let inside = |index: usize| at(index) >= from_ms && at(index) + LEVEL_MS <= until_ms;
        let levels = self.pit.iter().enumerate().filter(|(index, _)| inside(*index));
        levels.filter_map(|(_, level)| celsius((*level)?)).collect()
    }

    /// The first instant at which the core has reached a temperature, between levels by straight
    /// lines, ms UTC.
    pub fn core_reaches(&self, temp_c: f64) -> Option<i64> {
        let middle = |index: usize| self.first_ms + index as i64 * LEVEL_MS + LEVEL_MS / 2;
        let mut before: Option<(i64, f64)> = None;
        for (index, level) in self.core.iter().enumerate() {
            let Some(level) = level.and_then(celsius) else { continue };
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
            (celsius((*self.core.get(index)?)?)?, celsius((*self.core.get(index + 1)?)?)?);
        Some(one + share * (next - one))
    }
}

fn celsius(tenths: i16) -> Option<f64> {
    Some(f64::from(tenths) / 10.0)
}

/// The first reading of each minute.
fn thinned(channel: &ChannelReadings) -> ChannelReadings {
    let mut thin = ChannelReadings::new(channel.name.clone(), channel.role);
    let mut last = i64::MIN;
    for (index, &at_ms) in channel.at_ms.iter().enumerate() {
        let minute = at_ms.div_euclid(EVERY_MS);
        if minute != last && channel.flag[index].usable() {
            last = minute;
            thin.at_ms.push(at_ms);
            thin.temp_c.push(channel.temp_c[index]);
            thin.flag.push(channel.flag[index]);
            thin.source.push(channel.source[index]);
            thin.line.push(channel.line[index]);
        }
    }
    thin
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
