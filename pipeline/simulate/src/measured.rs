//! Readings as a logger records them.
//!
//! [`record`] looks at true curves through probes and a logger, each with its faults, and
//! gives a [`ReadingSet`]: what stands in the logger's memory, before it is text. Every row
//! keeps its true instant beside what the logger's clock said, so that whoever reads the
//! text can be judged.
//!
//! | module | its one job |
//! |---|---|
//! | [`logger`] | interval, unit, quantum, clock, gaps, spikes, exchanged channels |
//! | [`probe`] | what one probe shows, with its errors |
//! | [`readings`] | the rows that come out |

pub mod logger;
pub mod probe;
pub mod readings;

pub use logger::{Clock, ClockFault, ClockStep, Logger, Sentinel, Swap};
pub use probe::{Dip, Drift, Probe, Reprobing};
pub use readings::{Reading, ReadingRow, ReadingSet};

use crate::error::SimulateError;
use cook::Celsius;
use cook::season::TemperatureUnit;
use probe::Wear;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// A stretch of time, seconds since the fire was lit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// First second in it.
    pub from_s: i64,
    /// First second after it.
    pub until_s: i64,
}

impl Stretch {
    /// From a second to before another.
    pub fn new(from_s: i64, until_s: i64) -> Self {
        Self { from_s, until_s }
    }

    /// From a second on, without an end.
    pub fn since(from_s: i64) -> Self {
        Self::new(from_s, i64::MAX)
    }

    /// Whether a second lies in it.
    pub fn contains(self, second: i64) -> bool {
        (self.from_s..self.until_s).contains(&second)
    }
}

/// Distance in the generator's stream numbers between what every logger draws and what only
/// faults draw, so that a fault more or less leaves all other readings as they are.
const FAULT_STREAM: u64 = 1 << 40;

/// Records probes on one logger. `lit_ms` is the instant that the fire was lit, ms UTC.
///
/// # Errors
/// [`SimulateError::OutOfRange`] for a setting of the logger or a probe,
/// [`SimulateError::NoChannel`] for a swap of a channel that is not there.
pub fn record(
    probes: &[Probe<'_>],
    logger: &Logger,
    lit_ms: i64,
    random: &mut ChaCha8Rng,
) -> Result<ReadingSet, SimulateError> {
    logger.check(probes.len())?;
    for probe in probes {
        probe.check()?;
    }
    let mut faults = random.clone();
    faults.set_stream(random.get_stream().wrapping_add(FAULT_STREAM));

    let mut wear: Vec<Wear> = probes.iter().map(|_| Wear::default()).collect();
    let mut rows: Vec<ReadingRow> = Vec::new();
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
        let second = (planned + jitter).max(logger.from_s as f64).round() as i64;
        let mut values: Vec<Reading> = probes
            .iter()
            .zip(&mut wear)
            .map(|(probe, wear)| {
                let noise: f64 = StandardNormal.sample(random);
                let spike = random.random::<f64>();
                let sign = if random.random::<bool>() { 1.0 } else { -1.0 };
                let spike_c = if spike < logger.spike_share { sign * logger.spike_c } else { 0.0 };
                let error_c = logger.noise_c * noise + spike_c;
                match probe.shows(second, error_c, wear, &mut faults) {
                    Some(celsius) => logger.reads(celsius),
                    None => Reading::Nothing,
                }
            })
            .collect();
        for swap in &logger.swaps {
            if swap.during.contains(second) {
                values.swap(swap.channels.0, swap.channels.1);
            }
        }
        let doubled = logger.duplicate_share > 0.0 && faults.random_bool(logger.duplicate_share);
        if logger.gaps.iter().any(|gap| gap.contains(second)) {
            continue;
        }
        let row = ReadingRow {
            at_ms: lit_ms + second * 1_000,
            clock_ms: logger.clock.says(lit_ms, second, logger.from_s),
            values,
        };
        if doubled {
            rows.push(row.clone());
        }
        rows.push(row);
    }
    Ok(ReadingSet {
        unit: logger.unit,
        decimals: decimals(logger.quantum),
        channels: probes.iter().map(|probe| probe.channel.clone()).collect(),
        sentinel: logger.sentinel.clone(),
        rows,
    })
}

/// The value in a unit.
pub(crate) fn in_unit(celsius: f64, unit: TemperatureUnit) -> f64 {
    match unit {
        TemperatureUnit::Celsius => celsius,
        TemperatureUnit::Fahrenheit => Celsius(celsius).fahrenheit(),
    }
}

/// A value of a unit, °C.
pub(crate) fn in_celsius(value: f64, unit: TemperatureUnit) -> f64 {
    match unit {
        TemperatureUnit::Celsius => value,
        TemperatureUnit::Fahrenheit => Celsius::from_fahrenheit(value).value(),
    }
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
mod tests;
