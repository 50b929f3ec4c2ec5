//! A log in one line: what the cook would be, if the log were read so.

use super::finished::{Log, LogChannel, TimeBase};
use super::options::ReadOptions;
use super::shown::duration;
use cook::{Celsius, Role, Units};

/// Channels that are told.
const MOST: usize = 3;

/// How long the log runs and from when, what its pit keeps and where its meat goes.
pub(crate) fn of(log: &Log, options: &ReadOptions) -> String {
    let firsts = log.channels.iter().filter_map(|channel| channel.at_ms.first());
    let lasts = log.channels.iter().filter_map(|channel| channel.at_ms.last());
    let (Some(first), Some(last)) = (firsts.min(), lasts.max()) else {
        return "no reading".to_owned();
    };
    let mut told = duration(last - first);
    if log.time == TimeBase::Absolute
        && let Ok(at) = jiff::Timestamp::from_millisecond(first)
    {
        let at = at.to_zoned_datetime(options.zone.clone());
        told += &format!(" from {}", at.strftime("%-d %B %Y %H:%M"));
    }
    let order = |channel: &&LogChannel| match channel.role {
        Role::Pit => 0,
        Role::Meat => 1,
        Role::Ambient => 2,
        Role::Other => 3,
    };
    let mut channels: Vec<&LogChannel> = log.channels.iter().filter(|c| !c.is_empty()).collect();
    channels.sort_by_key(order);
    for channel in channels.into_iter().take(MOST) {
        told += &format!("; {}", channel_in_words(channel, options.units));
    }
    told
}

/// A pit by its middle, any other by where it begins and how high it comes.
fn channel_in_words(channel: &LogChannel, units: Units) -> String {
    let shown = |celsius: f32| {
        let celsius = Celsius(f64::from(celsius));
        match units {
            Units::Us => (celsius.fahrenheit().round(), "°F"),
            Units::Metric => (celsius.value().round(), "°C"),
        }
    };
    let mut sorted = channel.temp_c.to_vec();
    sorted.sort_by(f32::total_cmp);
    let (middle, unit) = shown(sorted[sorted.len() / 2]);
    if channel.role == Role::Pit {
        return format!("{} about {middle} {unit}", channel.name);
    }
    let (first, _) = shown(channel.temp_c.at(0));
    let (highest, _) = shown(sorted[sorted.len() - 1]);
    format!("{} from {first} to {highest} {unit}", channel.name)
}
