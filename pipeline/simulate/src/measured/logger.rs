//! A logger: when it records, in which unit, by which clock, and with which faults.

use super::Stretch;
use super::in_unit;
use super::readings::Reading;
use crate::error::{SimulateError, within};
use cook::season::TemperatureUnit;

/// A logger and its faults. Seconds count from the lighting of the fire.
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
    /// Coldest and hottest it can read, °C.
    pub range_c: Option<(f64, f64)>,
    /// What it writes where nothing was read.
    pub sentinel: Sentinel,
    /// Where nothing is recorded.
    pub gaps: Vec<Stretch>,
    /// Where two channels are exchanged.
    pub swaps: Vec<Swap>,
    /// Share of rows that are recorded twice.
    pub duplicate_share: f64,
    /// Its clock.
    pub clock: Clock,
    /// First second recorded.
    pub from_s: i64,
    /// Last second recorded.
    pub until_s: i64,
}

/// What a logger writes where nothing was read.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Sentinel {
    /// Nothing.
    #[default]
    Empty,
    /// A number, written as a reading would be.
    Value(f64),
    /// A text.
    Text(String),
}

impl Sentinel {
    /// A text.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }
}

/// Two channels whose probes are in each other's sockets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Swap {
    /// Their places among the channels, from 0.
    pub channels: (usize, usize),
    /// When.
    pub during: Stretch,
}

/// A logger's clock.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Clock {
    /// How far it is ahead of true time at the first row, ms.
    pub offset_ms: i64,
    /// How fast it gains, parts per million; 12 is about a second a day.
    pub drift_ppm: f64,
    /// What happens to it, in the order of time.
    pub faults: Vec<ClockFault>,
}

/// Something that happens to a clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClockFault {
    /// When, seconds since the fire was lit.
    pub at_s: i64,
    /// What.
    pub step: ClockStep,
}

/// How a clock is put wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockStep {
    /// It starts again at this instant, ms UTC: 0 for 1970, 946 684 800 000 for 2000.
    Reset(i64),
    /// It jumps ahead by so many ms, back where negative.
    Jump(i64),
}

impl Clock {
    /// What it says, ms UTC, in whole seconds as a logger writes them.
    pub(super) fn says(&self, lit_ms: i64, second: i64, from_s: i64) -> i64 {
        let true_ms = |second: i64| (lit_ms + second * 1_000) as f64;
        let rate = 1.0 + self.drift_ppm * 1e-6;
        // Each fault starts a new line from a base: (true second, what the clock says).
        let mut base = (from_s, true_ms(from_s) + self.offset_ms as f64);
        let runs = |base: (i64, f64), until: i64| base.1 + rate * (until - base.0) as f64 * 1_000.0;
        for fault in self.faults.iter().take_while(|fault| fault.at_s <= second) {
            base = match fault.step {
                ClockStep::Reset(ms) => (fault.at_s, ms as f64),
                ClockStep::Jump(ms) => (fault.at_s, runs(base, fault.at_s) + ms as f64),
            };
        }
        (runs(base, second) / 1_000.0).round() as i64 * 1_000
    }
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
            range_c: None,
            sentinel: Sentinel::Empty,
            gaps: Vec::new(),
            swaps: Vec::new(),
            duplicate_share: 0.0,
            clock: Clock::default(),
            from_s: 0,
            until_s,
        }
    }

    pub(super) fn check(&self, channels: usize) -> Result<(), SimulateError> {
        within("logger.interval_s", self.interval_s, 1.0, 3_600.0)?;
        within("logger.jitter_s", self.jitter_s, 0.0, 0.45 * self.interval_s)?;
        within("logger.quantum", self.quantum, 1e-3, 10.0)?;
        within("logger.noise_c", self.noise_c, 0.0, 20.0)?;
        within("logger.spike_share", self.spike_share, 0.0, 0.5)?;
        within("logger.spike_c", self.spike_c, 0.0, 500.0)?;
        within("logger.duplicate_share", self.duplicate_share, 0.0, 0.5)?;
        within("logger.clock.drift_ppm", self.clock.drift_ppm, -10_000.0, 10_000.0)?;
        if let Some((coldest, hottest)) = self.range_c {
            within("logger.range_c.0", coldest, -273.15, hottest)?;
        }
        for pair in self.clock.faults.windows(2) {
            let first = pair[0].at_s as f64;
            within("logger.clock.faults.at_s", pair[1].at_s as f64, first, f64::MAX)?;
        }
        for swap in &self.swaps {
            let channel = swap.channels.0.max(swap.channels.1);
            if channel >= channels {
                return Err(SimulateError::NoChannel { channel, channels });
            }
        }
        Ok(())
    }

    /// What it records of a temperature: the value in its unit, on its quantum.
    pub(super) fn reads(&self, celsius: f64) -> Reading {
        match self.range_c {
            Some((_, hottest)) if celsius > hottest => Reading::TooHigh,
            Some((coldest, _)) if celsius < coldest => Reading::TooLow,
            _ => {
                Reading::Value((in_unit(celsius, self.unit) / self.quantum).round() * self.quantum)
            }
        }
    }
}
