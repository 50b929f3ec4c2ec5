//! What was done to a cook's readings, for the report; and its curves as they were used.

use super::cooks::{local, minutes};
use columns::tables::flags::FlagRow;
use cook::{Card, CookReadings, Role};
use jiff::tz::TimeZone;
use phases::Channels;
use report::data::{ChannelRole, Cleaning, Curve, CurvePoint, CurveSeries, Stretch};
use store::CookCleaning;

/// A line is broken where readings are further apart than this.
const GAP_MIN: f64 = 20.0;
/// Signs drawn of one stretch at most.
const SIGNS: usize = 12;
/// Codes of warnings that the table of channels tells.
const OF_CHANNELS: &str = "probe-";

/// Name, role, and instants with temperatures in °C.
type UsedChannel = (String, Role, Vec<(i64, f64)>);

/// A cook's channels as they were used: exchanged probes put right and corrected, as the phases
/// stage has them; ambient and other channels as they were logged.
pub(super) struct UsedChannels {
    channels: Vec<UsedChannel>,
}

impl UsedChannels {
    pub(super) fn of(readings: &CookReadings, card: &Card) -> Self {
        let used = Channels::of(readings, card);
        let of_name = |name: &str, role: Role| {
            used.meats.iter().chain(&used.pit).find(|used| used.name == *name && used.role == role)
        };
        let channels = readings
            .channels
            .iter()
            .map(|channel| {
                let points = match of_name(&channel.name, channel.role) {
                    Some(used) => {
                        let samples = used.samples.view();
                        samples.at_ms.iter().copied().zip(samples.temp_c.iter().copied()).collect()
                    }
                    None => channel
                        .at_ms
                        .iter()
                        .zip(&channel.temp_c)
                        .zip(&channel.flag)
                        .filter(|(_, flag)| flag.usable())
                        .map(|((at_ms, temp_c), _)| (*at_ms, f64::from(*temp_c)))
                        .collect(),
                };
                (channel.name.clone(), channel.role, points)
            })
            .collect();
        Self { channels }
    }

    fn points(&self, name: &str) -> &[(i64, f64)] {
        self.channels.iter().find(|(n, ..)| n == name).map_or(&[], |(_, _, points)| points)
    }

    /// The lines of the curve: readings that were left out are not in them.
    pub(super) fn curve(
        &self,
        lead: Option<&str>,
        meat_on_ms: i64,
        cleaning: Option<&CookCleaning>,
    ) -> Option<Curve> {
        let mut series: Vec<CurveSeries> = self
            .channels
            .iter()
            .filter(|(_, _, points)| !points.is_empty())
            .map(|(name, role, points)| {
                let role = match role {
                    Role::Meat if Some(name.as_str()) == lead => ChannelRole::Core,
                    Role::Meat => ChannelRole::Meat,
                    Role::Pit => ChannelRole::Pit,
                    Role::Ambient => ChannelRole::Ambient,
                    Role::Other => ChannelRole::Other,
                };
                let removed = removed(cleaning, name);
                CurveSeries::thinned(name, role, &line(points, &removed, meat_on_ms))
            })
            .collect();
        series.sort_by_key(|s| match s.role {
            ChannelRole::Core => 0,
            ChannelRole::Meat => 1,
            ChannelRole::Pit => 2,
            ChannelRole::Ambient => 3,
            ChannelRole::Other => 4,
        });
        (!series.is_empty()).then_some(Curve { series })
    }
}

/// The readings of a channel that were used, at most ten minutes from an instant: the nearest, °C.
pub(super) fn used_near(
    used: &UsedChannels,
    cleaning: Option<&CookCleaning>,
    name: &str,
    at_ms: i64,
) -> Option<f64> {
    const NEAR_MS: i64 = 600_000;
    let removed = removed(cleaning, name);
    used.points(name)
        .iter()
        .filter(|(ms, _)| (ms - at_ms).abs() <= NEAR_MS)
        .filter(|(ms, _)| !removed.iter().any(|span| (span.0..=span.1).contains(ms)))
        .min_by_key(|(ms, _)| (ms - at_ms).abs())
        .map(|(_, temp_c)| *temp_c)
}

/// Stretches left out of what is drawn as `name`, by time.
fn removed(cleaning: Option<&CookCleaning>, name: &str) -> Vec<(i64, i64)> {
    let mut spans: Vec<(i64, i64)> = cleaning
        .iter()
        .flat_map(|cook| &cook.flags)
        .filter(|flag| flag.removed && flag.used_as == *name)
        .map(|flag| (flag.start_at.0, flag.end_at.0))
        .collect();
    spans.sort_unstable();
    spans
}

fn line(points: &[(i64, f64)], removed: &[(i64, i64)], meat_on_ms: i64) -> Vec<CurvePoint> {
    let mut out = Vec::with_capacity(points.len());
    let mut last: Option<f64> = None;
    let mut next = 0;
    for &(at_ms, temp_c) in points {
        while next < removed.len() && removed[next].1 < at_ms {
            next += 1;
        }
        // Spans may lie within each other: all that begin before are looked at.
        let inside = removed[next..]
            .iter()
            .take_while(|span| span.0 <= at_ms)
            .any(|span| (span.0..=span.1).contains(&at_ms));
        if inside {
            continue;
        }
        let min = minutes(meat_on_ms, at_ms);
        if last.is_some_and(|last| min - last > GAP_MIN) {
            out.push(CurvePoint { min, temp_c: None });
        }
        out.push(CurvePoint { min, temp_c: Some(temp_c) });
        last = Some(min);
    }
    out
}

/// What was done to the readings. `reason` is why the lead leads.
pub(super) fn cleaning_report(
    found: Option<&CookCleaning>,
    readings: Option<&CookReadings>,
    used: Option<&UsedChannels>,
    meat_on_ms: i64,
    zone: &TimeZone,
) -> Cleaning {
    let Some(found) = found else { return Cleaning::default() };
    let stretches = found.flags.iter().map(|flag| Stretch {
        start_min: minutes(meat_on_ms, flag.start_at.0),
        end_min: minutes(meat_on_ms, flag.end_at.0),
        start_local: local(flag.start_at.0, zone, "%H:%M"),
        points: signs(flag, readings, used, meat_on_ms),
        row: flag.clone(),
    });
    Cleaning {
        channels: found.channels.clone(),
        stretches: stretches.collect(),
        to_check: found
            .warnings
            .iter()
            .filter(|warning| !warning.code.starts_with(OF_CHANNELS))
            .map(|warning| warning.sentence.clone())
            .collect(),
    }
}

/// Readings of a stretch to draw where they were left out.
fn signs(
    flag: &FlagRow,
    readings: Option<&CookReadings>,
    used: Option<&UsedChannels>,
    meat_on_ms: i64,
) -> Vec<CurvePoint> {
    if !flag.removed {
        return Vec::new();
    }
    let inside = flag.start_at.0..=flag.end_at.0;
    let mut points: Vec<(i64, f64)> = used
        .map(|used| used.points(&flag.used_as))
        .unwrap_or_default()
        .iter()
        .filter(|(at_ms, _)| inside.contains(at_ms))
        .copied()
        .collect();
    if points.is_empty() {
        // What ingest already set aside is in no channel that was used.
        let channel =
            readings.and_then(|r| r.channels.iter().find(|channel| channel.name == flag.channel));
        points = channel
            .into_iter()
            .flat_map(|channel| channel.at_ms.iter().zip(&channel.temp_c))
            .filter(|(at_ms, _)| inside.contains(*at_ms))
            .map(|(at_ms, temp_c)| (*at_ms, f64::from(*temp_c)))
            .collect();
    }
    let every = points.len().div_ceil(SIGNS).max(1);
    points
        .into_iter()
        .step_by(every)
        .map(|(at_ms, temp_c)| CurvePoint { min: minutes(meat_on_ms, at_ms), temp_c: Some(temp_c) })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn a_line_leaves_out_what_was_removed_and_breaks_at_long_gaps_only() {
        let points: Vec<(i64, f64)> =
            (0..60).filter(|m| *m < 20 || *m > 45).map(|m| (m * 60_000, m as f64)).collect();
        let line = line(&points, &[(5 * 60_000, 7 * 60_000), (6 * 60_000, 6 * 60_000)], 0);
        let at: Vec<f64> = line.iter().filter(|p| p.temp_c.is_some()).map(|p| p.min).collect();
        assert!(!at.contains(&5.0) && !at.contains(&6.0) && !at.contains(&7.0), "{at:?}");
        assert!(at.contains(&4.0) && at.contains(&8.0));
        assert_eq!(line.iter().filter(|p| p.temp_c.is_none()).count(), 1);
    }
}
