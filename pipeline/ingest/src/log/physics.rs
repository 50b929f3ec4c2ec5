//! Whether temperatures can be those of a cook, and in which unit they would be.

use super::finished::{Log, LogChannel};
use super::range::range;
use columns::Packed;
use cook::season::TemperatureUnit;
use cook::{Celsius, Flag, Role};
use std::ops::Range;

const MINUTE_MS: i64 = 60_000;
/// A log of this length shows a whole cook, ms.
const WHOLE_MS: i64 = 180 * MINUTE_MS;
// What follows is common practice, no source: how hot pits are kept, and how cold meat goes on.
/// Pits are kept within this, °C.
const PIT_C: std::ops::RangeInclusive<f64> = 75.0..=200.0;
/// Meat goes on within this, °C.
const START_C: std::ops::RangeInclusive<f64> = -5.0..=30.0;
/// Meat that is cooked comes to this, °C: above, its water has boiled off.
const DONE_C: std::ops::RangeInclusive<f64> = 55.0..=112.0;
/// So many readings of a channel show its quantiles.
const MOST_READINGS: usize = 1000;
/// A step that no probe takes between two readings, °C.
const STEP_C: f64 = 20.0;
/// Readings this near are neighbours, ms.
const NEAR_MS: i64 = 10 * MINUTE_MS;
/// How closely a step is that of a unit, °C.
const EQUAL_C: f64 = 2.5;
/// So many readings before and after a step show whether the curve is quiet but for it.
const AROUND: usize = 6;
/// A curve is quiet where no other step there is larger than this part of the one in question.
const QUIET: f64 = 0.25;

/// A way to read the numbers of a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Scale {
    pub(crate) unit: TemperatureUnit,
    pub(crate) tenths: bool,
    /// Kelvins; the unit is then °C.
    pub(crate) kelvins: bool,
}

/// The ice point, K (ITS-90: the Celsius scale is the Kelvin scale less 273.15).
const ICE_POINT_K: f64 = 273.15;

impl Scale {
    /// Numbers that are degrees of a unit.
    const fn of_unit(unit: TemperatureUnit) -> Self {
        Self { unit, tenths: false, kelvins: false }
    }

    const fn in_tenths(self) -> Self {
        Self { tenths: true, ..self }
    }

    /// Whether it is none of the two units as they are written.
    pub(crate) fn is_unusual(self) -> bool {
        self.tenths || self.kelvins
    }

    /// All ways, with the word of each as an answer.
    pub(crate) const ALL: [(&'static str, Self); 5] = [
        ("F", Self::of_unit(TemperatureUnit::Fahrenheit)),
        ("C", Self::of_unit(TemperatureUnit::Celsius)),
        ("tenths-of-F", Self::of_unit(TemperatureUnit::Fahrenheit).in_tenths()),
        ("tenths-of-C", Self::of_unit(TemperatureUnit::Celsius).in_tenths()),
        ("K", Self { kelvins: true, ..Self::of_unit(TemperatureUnit::Celsius) }),
    ];

    /// The scale of an answer.
    pub(crate) fn of(word: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .find(|(known, _)| known.eq_ignore_ascii_case(word))
            .map(|(_, scale)| *scale)
    }

    /// A temperature that was read in a unit, read so.
    fn read(self, celsius: f64, was: TemperatureUnit) -> f64 {
        let raw = match was {
            TemperatureUnit::Celsius => celsius,
            TemperatureUnit::Fahrenheit => Celsius(celsius).fahrenheit(),
        };
        let raw = if self.tenths { raw / 10.0 } else { raw };
        let raw = if self.kelvins { raw - ICE_POINT_K } else { raw };
        match self.unit {
            TemperatureUnit::Celsius => raw,
            TemperatureUnit::Fahrenheit => Celsius::from_fahrenheit(raw).value(),
        }
    }

    /// Reads the numbers of channels so, where a channel or all cells (`in_cells`) have one unit.
    pub(crate) fn apply(self, channels: &mut [LogChannel], in_cells: Option<TemperatureUnit>) {
        for channel in channels {
            let Some(was) = channel.unit.or(in_cells) else { continue };
            channel.read_anew(0, |celsius| self.read(celsius, was));
            channel.unit = channel.unit.map(|_| self.unit);
        }
    }
}

impl LogChannel {
    /// Reads the temperatures from a place on in another way.
    fn read_anew(&mut self, from: usize, read: impl Fn(f64) -> f64) {
        let new = |at, celsius: f32| if at < from { celsius } else { read(celsius.into()) as f32 };
        self.temp_c.map(new);
        let (mut temp_c, role) = (self.temp_c.iter(), self.role);
        self.flag.map(|at, flag| match temp_c.next() {
            Some(celsius) if at >= from => in_range(flag, celsius, role),
            _ => flag,
        });
    }
}

/// A flag after a temperature was read anew.
fn in_range(flag: Flag, celsius: f32, role: Role) -> Flag {
    let (coldest, hottest) = range(role);
    match flag {
        _ if !(coldest..=hottest).contains(&celsius) => Flag::OutOfRange,
        Flag::OutOfRange => Flag::Good,
        other => other,
    }
}

/// Whether a log's temperatures are those of a whole cook: long enough, with a pit and a meat
/// channel like one. Too little to tell is no.
pub(crate) fn is_cook(log: &Log) -> bool {
    is_cook_read(log, |celsius, _| celsius)
}

/// Whether they are, read on a scale.
pub(crate) fn is_cook_on(log: &Log, scale: Scale) -> bool {
    is_cook_read(log, |celsius, unit| unit.map_or(celsius, |was| scale.read(celsius, was)))
}

fn is_cook_read(log: &Log, read: impl Fn(f64, Option<TemperatureUnit>) -> f64) -> bool {
    let firsts = log.channels.iter().filter_map(|channel| channel.at_ms.first());
    let lasts = log.channels.iter().filter_map(|channel| channel.at_ms.last());
    let (Some(first), Some(last)) = (firsts.min(), lasts.max()) else { return false };
    if last - first < WHOLE_MS {
        return false;
    }
    // Reading on a scale keeps the order, so quantiles are read and not the readings.
    let quantile = |channel: &LogChannel, share: f64| {
        let step = channel.len().div_ceil(MOST_READINGS).max(1);
        let mut sorted: Vec<f32> = channel.temp_c.iter().step_by(step).collect();
        sorted.sort_by(f32::total_cmp);
        let at = ((sorted.len() - 1) as f64 * share).round() as usize;
        read(f64::from(sorted[at]), log.unit_of(channel))
    };
    let of = |role: Role| log.channels.iter().filter(move |c| c.role == role && c.len() > 2);
    // Where names do not tell and no curve could, as with numbers far from any pit's, the hottest is the pit.
    let told = of(Role::Pit).next().is_some() && of(Role::Meat).next().is_some();
    let may_be = |c: &&LogChannel| c.role != Role::Ambient && c.len() > 2;
    let middle = |channel: &LogChannel| quantile(channel, 0.5);
    let pit_channel = if told {
        of(Role::Pit).next()
    } else {
        log.channels.iter().filter(may_be).max_by(|a, b| middle(a).total_cmp(&middle(b)))
    };
    let pit = pit_channel.map(middle);
    let is_meat = |c: &&LogChannel| {
        if told {
            c.role == Role::Meat && c.len() > 2
        } else {
            may_be(c) && pit_channel.is_none_or(|pit| !std::ptr::eq(pit, *c))
        }
    };
    let meats: Vec<(f64, f64, f64)> = log
        .channels
        .iter()
        .filter(is_meat)
        .map(|channel| {
            let start = read(f64::from(channel.temp_c.at(0)), log.unit_of(channel));
            (start, quantile(channel, 0.5), quantile(channel, 0.98))
        })
        .collect();
    let Some(pit) = pit else { return false };
    let like_meat = |(start, middle, most): &(f64, f64, f64)| {
        START_C.contains(start) && DONE_C.contains(most) && *middle < pit
    };
    PIT_C.contains(&pit) && meats.iter().any(like_meat)
}

/// No fire box of wood or charcoal has a probe read this much for long, °C: some 1,100 °F are seen there. Common
/// practice, no source.
const GLOWS_C: f64 = 700.0;

/// Whether no log can be read so, be it of a part of a cook: its hottest channel glows.
pub(crate) fn is_impossible(log: &Log) -> bool {
    hottest(log, |celsius, _| celsius).is_some_and(|hottest| hottest >= GLOWS_C)
}

/// Whether the hottest channel of a log is a pit, read on a scale.
pub(crate) fn is_part_on(log: &Log, scale: Scale) -> bool {
    let read = |celsius, unit: Option<_>| unit.map_or(celsius, |was| scale.read(celsius, was));
    hottest(log, read).is_some_and(|hottest| PIT_C.contains(&hottest))
}

/// The middle of the hottest channel of pit and meat.
fn hottest(log: &Log, read: impl Fn(f64, Option<TemperatureUnit>) -> f64) -> Option<f64> {
    let of_cook = |c: &&LogChannel| matches!(c.role, Role::Pit | Role::Meat) && c.len() > 2;
    let middle = |channel: &LogChannel| {
        let step = channel.len().div_ceil(MOST_READINGS).max(1);
        let mut sorted: Vec<f32> = channel.temp_c.iter().step_by(step).collect();
        sorted.sort_by(f32::total_cmp);
        read(f64::from(sorted[sorted.len() / 2]), log.unit_of(channel))
    };
    log.channels.iter().filter(of_cook).map(middle).max_by(f64::total_cmp)
}

/// A place where the unit changes: the line and instant from which on, and the unit that the
/// numbers are in from there, by what they were read in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Change {
    pub(crate) at_ms: i64,
    pub(crate) line: u32,
    pub(crate) to: TemperatureUnit,
}

/// The first place where every channel that has a reading steps at once as from one unit to the
/// other.
pub(crate) fn change(log: &Log) -> Option<Change> {
    let with_unit = || log.channels.iter().filter(|channel| channel.unit.is_some());
    let longest = with_unit().max_by_key(|channel| channel.len())?;
    let steps = longest.temp_c.pairs().enumerate();
    for (before, _) in steps.filter(|(_, (one, next))| (next - one).abs() >= STEP_C as f32) {
        let at = before + 1;
        let at_ms = longest.at_ms.at(at);
        for to in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
            let scale = Scale::of_unit(to);
            let mut steps = 0;
            let every = with_unit().all(|channel| {
                let now = channel.at_ms.partition_point(|ms| ms < at_ms);
                let (Some(before), true) = (now.checked_sub(1), now < channel.len()) else {
                    return true;
                };
                if channel.at_ms.at(now) - channel.at_ms.at(before) > NEAR_MS {
                    return true;
                }
                let Some(was) = channel.unit else { return true };
                let temperature = f64::from(channel.temp_c.at(now));
                let last = f64::from(channel.temp_c.at(before));
                let step = (temperature - last).abs();
                steps += usize::from(step > EQUAL_C);
                was != to
                    && (scale.read(temperature, was) - last).abs() <= EQUAL_C
                    && (step <= EQUAL_C || is_quiet_around(&channel.temp_c, now, step))
            });
            // One channel alone may have been moved.
            if every && steps >= 2 {
                return Some(Change { at_ms, line: longest.line.at(at), to });
            }
        }
    }
    None
}

/// Whether the readings before and after one of them take no step near as large as the one to it: a
/// noisy curve, or one of a probe that is handled, says nothing of its unit.
fn is_quiet_around(temp_c: &Packed<f32>, at: usize, step: f64) -> bool {
    if at < 2 || at + 1 >= temp_c.len() {
        return false;
    }
    let quiet = |part: Range<usize>| {
        let part: Vec<f32> = temp_c.range(part).collect();
        part.windows(2).all(|pair| f64::from((pair[1] - pair[0]).abs()) <= QUIET * step)
    };
    let (first, last) = (at.saturating_sub(AROUND), (at + AROUND).min(temp_c.len()));
    quiet(first..at) && quiet(at..last)
}

/// Reads the numbers from an instant on in a unit.
pub(crate) fn change_from(channels: &mut [LogChannel], at_ms: i64, to: TemperatureUnit) {
    let scale = Scale::of_unit(to);
    for channel in channels {
        let Some(was) = channel.unit else { continue };
        let from = channel.at_ms.partition_point(|ms| ms < at_ms);
        channel.read_anew(from, |celsius| scale.read(celsius, was));
    }
}
