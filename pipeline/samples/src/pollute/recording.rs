//! Readings to pollute: a pit that ripples and meat that warms, as a logger records them.

use super::Family;
use crate::dialect::{ClockStyle, Dialect, Language, LineEnds, Shape, TimeStyle, one_of};
use cook::season::TemperatureUnit;
use jiff::Timestamp;
use jiff::civil::date;
use jiff::tz::TimeZone;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use simulate::measured::{Logger, Probe, ReadingSet, Sentinel, Stretch, record};
use std::collections::BTreeSet;
use std::f64::consts::TAU;

/// Names that need quotes, or look as if they did.
const ODD_NAMES: [&str; 4] = ["Point, left", "the \"hot\" side", "Flat\n(upper)", " Probe 9"];

/// A recording for these families.
pub(super) fn draw(
    families: &BTreeSet<Family>,
    dialect: &mut Dialect,
    zone: &TimeZone,
    random: &mut ChaCha8Rng,
) -> ReadingSet {
    let has = |family: Family| families.contains(&family);
    // A daylight-saving change needs hours.
    let interval_s: i64 = if has(Family::DaylightSaving) {
        one_of(random, &[60, 120])
    } else {
        one_of(random, &[1, 5, 10, 15, 30, 60, 60, 120, 300])
    };
    let rows: i64 = if has(Family::DaylightSaving) {
        5 * 3_600 / interval_s
    } else {
        random.random_range(60..300)
    };
    let start_ms = start(has(Family::DaylightSaving), zone, random);
    let unit = one_of(random, &[TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit]);
    let quantum = one_of(random, &[0.1, 0.1, 0.5, 1.0]);
    let until_s = interval_s * (rows - 1);
    let mut logger = Logger::sound(interval_s as f64, unit, quantum, until_s);
    logger.noise_c = 0.2;
    let jitter = interval_s >= 30 && random.random_bool(0.4);
    if jitter {
        logger.jitter_s = 0.08 * interval_s as f64;
    }
    // Whole minutes are written only where no two rows share one.
    if let TimeStyle::Calendar { clock, .. } = &mut dialect.time
        && *clock == ClockStyle::TwentyFour
        && interval_s % 60 == 0
        && !jitter
        && random.random_bool(0.3)
    {
        *clock = ClockStyle::TwentyFourMinutes;
    }

    let meats = random.random_range(1..=4);
    let mut names: Vec<String> =
        dialect.language.channel_names()[..=meats].iter().map(|&name| name.to_owned()).collect();
    if has(Family::Quotes) {
        let mut odd = one_of(random, &ODD_NAMES);
        // A line feed inside quotes is a line end where carriage returns alone end lines, and
        // nobody breaks a name in every row.
        if odd.contains('\n') && (dialect.line_ends == LineEnds::Cr || dialect.shape == Shape::Long)
        {
            odd = ODD_NAMES[0];
        }
        odd.clone_into(&mut names[meats]);
    } else if dialect.language == Language::English && random.random_bool(0.3) {
        one_of(random, &["Grate", "Chamber", "Pit lower"]).clone_into(&mut names[0]);
    }
    let mut curves: Vec<Vec<f64>> =
        (0..=meats).map(|channel| curve(channel, until_s, random)).collect();
    // A firebox, so that there are thousands to be marked.
    if has(Family::NumberStyle) && random.random_bool(0.6) {
        names.push("Firebox".to_owned());
        // There 999.9 is a temperature.
        if dialect.absent.nothing == Some(Sentinel::Value(999.9)) {
            dialect.absent.nothing = Some(Sentinel::Value(-999.9));
        }
        let base = random.random_range(545.0..585.0);
        curves.push(curves[0].iter().map(|c| base + 2.0 * (c - curves[0][0])).collect());
    }
    let odd = has(Family::Sentinels);
    if odd {
        let (from, until) = (until_s / 4, until_s / 3);
        logger.range_c = random.random_bool(0.5).then(|| {
            let meat = &curves[1];
            (meat[(from / 10) as usize].min(meat[0] + 0.5), f64::MAX)
        });
        logger.gaps = vec![Stretch::new(until, until + interval_s * 2)];
    }
    let probes: Vec<Probe<'_>> = names
        .iter()
        .zip(&curves)
        .enumerate()
        .map(|(channel, (name, curve))| {
            let mut probe = Probe::sound(name.as_str(), curve);
            if channel > 0 && (odd || random.random_bool(0.4)) {
                let from = random.random_range(until_s / 4..=until_s * 3 / 4);
                let length = random.random_range(1..=8) * interval_s;
                probe.unplugged = vec![Stretch::new(from, from + length)];
            }
            probe
        })
        .collect();
    record(&probes, &logger, start_ms, random).expect("the recording's logger is in range")
}

/// When a log begins: any time of two years, or shortly before a change of the clocks.
fn start(change: bool, zone: &TimeZone, random: &mut ChaCha8Rng) -> i64 {
    let at = if change {
        // Second Sunday of March and first Sunday of November, 2024 and 2025.
        let day = one_of(
            random,
            &[date(2024, 3, 10), date(2024, 11, 3), date(2025, 3, 9), date(2025, 11, 2)],
        );
        day.at(0, random.random_range(5..50), 0, 0)
    } else {
        // Never on a day on which clocks change: that is a family of its own.
        let mut day = date(2024, 1, 2);
        for _ in 0..random.random_range(0..720) {
            day = day.tomorrow().unwrap_or(day);
        }
        let changes = [date(2024, 3, 10), date(2024, 11, 3), date(2025, 3, 9), date(2025, 11, 2)];
        if changes.iter().any(|change| day.until(*change).is_ok_and(|s| s.get_days().abs() <= 1)) {
            day = date(2024, 7, 19);
        }
        let (hour, minute) = (random.random_range(0..24), random.random_range(0..60));
        day.at(hour, minute, random.random_range(0..60), 0)
    };
    zone.to_timestamp(at).map_or(0, Timestamp::as_millisecond)
}

/// A curve, °C: channel 0 a pit with ripple, the others meat that warms towards it.
fn curve(channel: usize, until_s: i64, random: &mut ChaCha8Rng) -> Vec<f64> {
    let count = until_s / simulate::GRID_STEP_S + 2;
    let pit = random.random_range(105.0..150.0);
    let period_s = random.random_range(240.0..1_500.0);
    let from = random.random_range(2.0..60.0);
    let hours = random.random_range(4.0..9.0);
    (0..count)
        .map(|index| {
            let second = (index * simulate::GRID_STEP_S) as f64;
            if channel == 0 {
                pit + 3.0 * (TAU * second / period_s).sin()
            } else {
                let share = 1.0 - (-second / (hours * 3_600.0)).exp();
                from + share * (100.0 - from)
            }
        })
        .collect()
}
