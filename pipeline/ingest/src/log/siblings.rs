//! What logs of one layout tell of each other.

use super::finished::Log;
use super::grid::find::Grid;
use cook::season::{DateOrder, TemperatureUnit};
use std::collections::BTreeMap;

/// What logs of one layout have in common.
pub(crate) fn kind(grid: &Grid<'_>) -> String {
    format!("{}: {}", grid.delimiter.as_str(), grid.names.join(" | ").to_lowercase())
}

/// So many logs of a kind must have been cooks in one unit alone before theirs is that of a log which
/// does not show it: a header of common words may be that of two loggers.
const LOGS_OF_UNIT: usize = 2;

/// What logs prove of their kind: the order of day and month by their own dates, and the unit by
/// being cooks in one unit alone. A log that leaves one of them open
/// ([`crate::IngestError::asks_siblings`]) is read again with what its siblings prove
/// ([`crate::log_kind`], [`crate::ReadOptions::sibling_order`],
/// [`crate::ReadOptions::sibling_unit`]), if they agree. What comes out does not depend on the order
/// of the logs.
#[derive(Debug, Clone, Default)]
pub struct SiblingOrders {
    orders: BTreeMap<String, Vec<DateOrder>>,
    /// How many logs are cooks in °F alone, and in °C alone.
    units: BTreeMap<String, [usize; 2]>,
}

impl SiblingOrders {
    /// Takes note of what a log proves.
    pub fn add(&mut self, log: &Log) {
        if let Some(order) = log.proven_date_order() {
            let known = self.orders.entry(log.kind.clone()).or_default();
            if !known.contains(&order) {
                known.push(order);
            }
        }
        if let Some(unit) = log.unit_by_physics {
            let counts = self.units.entry(log.kind.clone()).or_default();
            counts[usize::from(unit == TemperatureUnit::Celsius)] += 1;
        }
    }

    /// What either of two has noted.
    #[must_use]
    pub fn join(mut self, other: Self) -> Self {
        for (kind, orders) in other.orders {
            let known = self.orders.entry(kind).or_default();
            for order in orders {
                if !known.contains(&order) {
                    known.push(order);
                }
            }
        }
        for (kind, more) in other.units {
            let counts = self.units.entry(kind).or_default();
            counts.iter_mut().zip(more).for_each(|(count, more)| *count += more);
        }
        self
    }

    /// The order of logs of this kind ([`Log::kind`]) where all that prove one agree.
    pub fn of(&self, kind: &str) -> Option<DateOrder> {
        match self.orders.get(kind).map(Vec::as_slice) {
            Some(&[only]) => Some(only),
            _ => None,
        }
    }

    /// The unit of logs of this kind where at least two prove one, and none the other.
    pub fn unit_of(&self, kind: &str) -> Option<TemperatureUnit> {
        match *self.units.get(kind)? {
            [fahrenheit, 0] if fahrenheit >= LOGS_OF_UNIT => Some(TemperatureUnit::Fahrenheit),
            [0, celsius] if celsius >= LOGS_OF_UNIT => Some(TemperatureUnit::Celsius),
            _ => None,
        }
    }
}
