//! Readings as a logger records them.

use crate::GRID_STEP_S;
use crate::error::{SimulateError, within};
use cook::season::TemperatureUnit;
use cook::{Celsius, CelsiusDifference};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// A logger and its faults.
#[derive(Debug, Clone, PartialEq)]
pub struct Logger {
    /// Time between rows, s.
    pub interval_s: f64,
    /// Rows come early or late by up to so much, s.
    pub jitter_s: f64,
    /// Unit that it records in.
    pub unit: TemperatureUnit,
    /// Readings are whole multiples of this, in its unit.
    pub quantum: f64,
    /// Standard deviation of the noise, K.
    pub noise_c: f64,
    /// Share of readings that are spikes.
    pub spike_share: f64,
    /// Size of a spike, K; up or down.
    pub spike_c: f64,
    /// Nothing is recorded from the first to the second, seconds since the fire was lit.
    pub gap: Option<(i64, i64)>,
    /// First second recorded, since the fire was lit.
    pub from_s: i64,
    /// Last second recorded.
    pub until_s: i64,
}

impl Logger {
    /// A sound logger from the fire's lighting to `until_s`.
    pub fn sound(interval_s: f64, unit: TemperatureUnit, quantum: f64, until_s: i64) -> Self {
        Self {
            interval_s,
            jitter_s: 0.0,
            unit,
            quantum,
            noise_c: 0.05,
            spike_share: 0.0,
            spike_c: 0.0,
            gap: None,
            from_s: 0,
            until_s,
        }
    }

    fn check(&self) -> Result<(), SimulateError> {
        within("logger.interval_s", self.interval_s, 1.0, 3_600.0)?;
        within("logger.jitter_s", self.jitter_s, 0.0, 0.45 * self.interval_s)?;
        within("logger.quantum", self.quantum, 1e-3, 10.0)?;
        within("logger.noise_c", self.noise_c, 0.0, 20.0)?;
        within("logger.spike_share", self.spike_share, 0.0, 0.5)?;
        within("logger.spike_c", self.spike_c, 0.0, 500.0)
    }
}

/// A probe on a logger.
#[derive(Debug, Clone, PartialEq)]
pub struct Probe<'a> {
    /// The channel's name in the log.
    pub channel: String,
    /// What it measures: a value in °C every [`GRID_STEP_S`] seconds since the fire was lit.
    /// Beyond its end the last value is held.
    pub curve_c: &'a [f64],
    /// Its error, added to every reading.
    pub offset: CelsiusDifference,
    /// Where it was pulled for a wrap and put back.
    pub dips: Vec<Dip>,
    /// Unplugged from so many seconds since the fire was lit.
    pub unplugged_from_s: Option<i64>,
}

/// A probe that is pulled at the wrap and put back reads low for a while.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dip {
    /// From when, seconds since the fire was lit.
    pub at_s: i64,
    /// How far it reads low at first, K.
    pub depth_c: f64,
    /// Minutes until it reads true again.
    pub minutes: f64,
}

impl Dip {
    /// What it takes off a reading: the whole depth within a minute, then fading.
    fn at(&self, second: f64) -> f64 {
        let since = second - self.at_s as f64;
        let length = self.minutes * 60.0;
        if !(0.0..length).contains(&since) {
            return 0.0;
        }
        let into = (since / 60.0).min(1.0);
        let left = 1.0 - since / length;
        self.depth_c * into * left * left
    }
}

/// One row of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRow {
    /// Instant, ms UTC.
    pub at_ms: i64,
    /// One value a channel, in the set's unit; `None` where nothing was read.
    pub values: Vec<Option<f64>>,
}

/// What a log holds, before it is text.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingSet {
    /// Unit of every value.
    pub unit: TemperatureUnit,
    /// Decimal places that the quantum needs.
    pub decimals: usize,
    /// Channel names.
    pub channels: Vec<String>,
    /// Rows in time order.
    pub rows: Vec<ReadingRow>,
}

/// Records probes on one logger. `lit_ms` is the instant that the fire was lit, ms UTC.
///
/// # Errors
/// [`SimulateError::OutOfRange`] for a setting of the logger.
pub fn record(
    probes: &[Probe<'_>],
    logger: &Logger,
    lit_ms: i64,
    random: &mut ChaCha8Rng,
) -> Result<ReadingSet, SimulateError> {
    logger.check()?;
    let mut rows = Vec::new();
    let mut row_index = 0_u32;
    loop {
        let planned = logger.from_s as f64 + f64::from(row_index) * logger.interval_s;
        if planned > logger.until_s as f64 {
            break;
        }
        row_index += 1;
        let jitter = if logger.jitter_s > 0.0 {
            random.random_range(-1.0..1.0) * logger.jitter_s
        } else {
            0.0
        };
        let second = (planned + jitter).max(logger.from_s as f64).round();
        let values: Vec<Option<f64>> = probes
            .iter()
            .map(|probe| {
                let noise: f64 = StandardNormal.sample(random);
                let spike = random.random::<f64>();
                let sign = if random.random::<bool>() { 1.0 } else { -1.0 };
                if probe.unplugged_from_s.is_some_and(|from| second >= from as f64) {
                    return None;
                }
                let mut celsius = interpolate(probe.curve_c, second)?
                    + probe.offset.value()
                    + logger.noise_c * noise
                    - probe.dips.iter().map(|dip| dip.at(second)).sum::<f64>();
                if spike < logger.spike_share {
                    celsius += sign * logger.spike_c;
                }
                Some(quantised(celsius, logger.unit, logger.quantum))
            })
            .collect();
        let in_gap =
            logger.gap.is_some_and(|(from, until)| (from as f64..until as f64).contains(&second));
        if !in_gap {
            rows.push(ReadingRow { at_ms: lit_ms + (second * 1_000.0) as i64, values });
        }
    }
    Ok(ReadingSet {
        unit: logger.unit,
        decimals: decimals(logger.quantum),
        channels: probes.iter().map(|probe| probe.channel.clone()).collect(),
        rows,
    })
}

fn interpolate(curve: &[f64], second: f64) -> Option<f64> {
    let place = (second / GRID_STEP_S as f64).max(0.0);
    let index = place as usize;
    match (curve.get(index), curve.get(index + 1)) {
        (Some(a), Some(b)) => Some(a + (place - index as f64) * (b - a)),
        _ => curve.last().copied(),
    }
}

/// The value in the logger's unit, on its quantum.
fn quantised(celsius: f64, unit: TemperatureUnit, quantum: f64) -> f64 {
    let value = match unit {
        TemperatureUnit::Celsius => celsius,
        TemperatureUnit::Fahrenheit => Celsius(celsius).fahrenheit(),
    };
    (value / quantum).round() * quantum
}

/// Decimal places needed to write multiples of a quantum.
fn decimals(quantum: f64) -> usize {
    (0..6)
        .find(|&places| {
            let scaled = quantum * 10_f64.powi(places);
            (scaled - scaled.round()).abs() < 1e-9
        })
        .unwrap_or(6) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;

    fn probe(curve: &[f64]) -> Probe<'_> {
        Probe {
            channel: "Flat".into(),
            curve_c: curve,
            offset: CelsiusDifference(0.0),
            dips: Vec::new(),
            unplugged_from_s: None,
        }
    }

    #[test]
    fn readings_lie_on_the_quantum_and_near_the_curve() {
        let curve: Vec<f64> = (0..2_000).map(|i| 5.0 + 0.03 * f64::from(i)).collect();
        let mut random = ChaCha8Rng::seed_from_u64(3);
        for (unit, quantum) in [(TemperatureUnit::Fahrenheit, 1.0), (TemperatureUnit::Celsius, 0.5)]
        {
            let mut logger = Logger::sound(30.0, unit, quantum, 19_000);
            logger.jitter_s = 4.0;
            logger.gap = Some((6_000, 9_000));
            let set = record(&[probe(&curve)], &logger, 0, &mut random).unwrap();
            for row in &set.rows {
                let value = row.values[0].unwrap();
                assert!((value / quantum - (value / quantum).round()).abs() < 1e-9);
                let celsius = match unit {
                    TemperatureUnit::Celsius => value,
                    TemperatureUnit::Fahrenheit => Celsius::from_fahrenheit(value).value(),
                };
                let truth = 5.0 + 0.03 * row.at_ms as f64 / 10_000.0;
                assert!((celsius - truth).abs() < 0.6 * quantum + 0.3, "{celsius} {truth}");
                assert!(!(6_000_000..9_000_000).contains(&row.at_ms));
            }
            assert!(set.rows.windows(2).all(|pair| pair[0].at_ms < pair[1].at_ms));
        }
    }

    #[test]
    fn a_dip_reads_low_and_fades() {
        let dip = Dip { at_s: 100, depth_c: 20.0, minutes: 15.0 };
        assert_eq!(dip.at(99.0), 0.0);
        assert!(dip.at(160.0) > 15.0);
        assert!(dip.at(600.0) < dip.at(300.0));
        assert_eq!(dip.at(1_001.0), 0.0);
    }

    #[test]
    fn spikes_come_as_often_as_told_and_unplugged_probes_give_nothing() {
        let curve = vec![70.0; 10_000];
        let mut logger = Logger::sound(5.0, TemperatureUnit::Celsius, 0.1, 90_000);
        logger.spike_share = 0.02;
        logger.spike_c = 30.0;
        let mut unplugged = probe(&curve);
        unplugged.unplugged_from_s = Some(50_000);
        let mut random = ChaCha8Rng::seed_from_u64(5);
        let set = record(&[probe(&curve), unplugged], &logger, 0, &mut random).unwrap();
        let values = |channel: usize| {
            set.rows.iter().filter_map(move |row| row.values[channel]).collect::<Vec<f64>>()
        };
        let spikes = values(0).iter().filter(|v| (**v - 70.0).abs() > 20.0).count() as f64;
        let share = spikes / set.rows.len() as f64;
        assert!((share - 0.02).abs() < 0.004, "{share}");
        assert_eq!(values(1).len(), 10_000);
    }
}
