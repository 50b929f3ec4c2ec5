//! What logs of one layout tell of each other.

use super::finished::Log;
use super::grid::find::Grid;
use cook::season::DateOrder;
use std::collections::BTreeMap;

/// What logs of one layout have in common.
pub(crate) fn kind(grid: &Grid<'_>) -> String {
    format!("{}: {}", grid.delimiter.as_str(), grid.names.join(" | ").to_lowercase())
}

/// Orders of day and month that logs prove by their own dates, by layout. A log whose
/// dates leave it open ([`crate::IngestError::asks_date_order`]) is read again with the
/// order of its siblings ([`crate::log_kind`], [`crate::ReadOptions::sibling_order`]), if
/// they agree. What comes out does not depend on the order of the logs.
#[derive(Debug, Clone, Default)]
pub struct SiblingOrders(BTreeMap<String, Vec<DateOrder>>);

impl SiblingOrders {
    /// Takes note of a log's order, if its own dates prove one.
    pub fn add(&mut self, log: &Log) {
        if let Some(order) = log.proven_date_order() {
            let known = self.0.entry(log.kind.clone()).or_default();
            if !known.contains(&order) {
                known.push(order);
            }
        }
    }

    /// What either of two has noted.
    #[must_use]
    pub fn join(mut self, other: Self) -> Self {
        for (kind, orders) in other.0 {
            let known = self.0.entry(kind).or_default();
            for order in orders {
                if !known.contains(&order) {
                    known.push(order);
                }
            }
        }
        self
    }

    /// The order of logs of this kind ([`Log::kind`]) where all that prove one agree.
    pub fn of(&self, kind: &str) -> Option<DateOrder> {
        match self.0.get(kind).map(Vec::as_slice) {
            Some(&[only]) => Some(only),
            _ => None,
        }
    }
}
