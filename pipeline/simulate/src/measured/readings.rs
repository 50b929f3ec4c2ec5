//! The rows that a logger holds, before they are text.

use super::Sentinel;
use super::{in_celsius, in_unit};
use cook::season::TemperatureUnit;

/// What a logger recorded of one channel at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// A value in the set's unit.
    Value(f64),
    /// Nothing was read: the probe is not plugged in.
    Nothing,
    /// Above the logger's range.
    TooHigh,
    /// Below the logger's range.
    TooLow,
}

impl Reading {
    /// The value, in the set's unit.
    pub fn value(self) -> Option<f64> {
        match self {
            Self::Value(value) => Some(value),
            _ => None,
        }
    }
}

impl From<Option<f64>> for Reading {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::Nothing, Self::Value)
    }
}

/// One row of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRow {
    /// True instant, ms UTC.
    pub at_ms: i64,
    /// What the logger's clock said, ms UTC; the same unless its clock is at fault.
    pub clock_ms: i64,
    /// One reading a channel.
    pub values: Vec<Reading>,
}

impl ReadingRow {
    /// A row of a logger whose clock is right.
    pub fn new(at_ms: i64, values: impl IntoIterator<Item = Option<f64>>) -> Self {
        Self { at_ms, clock_ms: at_ms, values: values.into_iter().map(Reading::from).collect() }
    }
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
    /// What the logger writes where nothing was read.
    pub sentinel: Sentinel,
    /// Rows in the order in which they were recorded.
    pub rows: Vec<ReadingRow>,
}

impl ReadingSet {
    /// A value of this set, °C.
    pub fn celsius(&self, value: f64) -> f64 {
        in_celsius(value, self.unit)
    }

    /// The same readings in another unit, rounded to the set's own decimal places: the copy
    /// that a logger switched to the other unit would have kept.
    #[must_use]
    pub fn converted(&self, unit: TemperatureUnit) -> Self {
        let scale = 10_f64.powi(self.decimals as i32);
        let mut copy = self.clone();
        for row in &mut copy.rows {
            for reading in &mut row.values {
                if let Reading::Value(value) = reading {
                    *value = (in_unit(self.celsius(*value), unit) * scale).round() / scale;
                }
            }
        }
        copy.unit = unit;
        copy
    }
}
