//! The cooks of a season and what was noted of them.

use crate::cooks::CookRecord;
use cook::{Card, Event, EventKind};
use std::collections::{BTreeMap, HashMap};

/// A day, ms.
const DAY_MS: i64 = 86_400_000;

/// The cooks of a season, the events of each, and who shared a fire.
#[derive(Debug, Default)]
pub struct NotedCooks {
    records: Vec<CookRecord>,
    /// By cook, in time order.
    events: BTreeMap<String, Vec<Event>>,
    /// Cooks by season and fire, in their order.
    fires: HashMap<(String, String), Vec<usize>>,
    places: HashMap<String, usize>,
}

impl NotedCooks {
    /// Gathers cooks and events. Of two cooks of one name the first counts.
    pub fn new(records: Vec<CookRecord>, noted: Vec<Event>) -> Self {
        let mut events: BTreeMap<String, Vec<Event>> = BTreeMap::new();
        for event in noted {
            events.entry(event.cook.clone()).or_default().push(event);
        }
        for events in events.values_mut() {
            events.sort_by_key(|event| event.at_ms);
        }
        let mut fires: HashMap<(String, String), Vec<usize>> = HashMap::new();
        let mut places = HashMap::new();
        for (place, CookRecord { card, .. }) in records.iter().enumerate() {
            if !card.fire.is_empty() {
                let fire = (card.season.clone(), card.fire.clone());
                fires.entry(fire).or_default().push(place);
            }
            places.entry(card.cook.clone()).or_insert(place);
        }
        Self { records, events, fires, places }
    }

    /// The cooks, in their order.
    pub fn records(&self) -> &[CookRecord] {
        &self.records
    }

    /// The place of a cook among the records.
    pub fn place_of(&self, cook: &str) -> Option<usize> {
        self.places.get(cook).copied()
    }

    /// The cook's own events, in time order.
    pub fn events_of(&self, cook: &str) -> &[Event] {
        self.events.get(cook).map_or(&[], Vec::as_slice)
    }

    /// Set-points and lids that others on the cook's fire noted while it was there, in time order. The
    /// name of a fire may come again, so a day before the first reading is the earliest. `log_ms` are the
    /// instants of the cook's first and last reading.
    pub fn on_fire(&self, card: &Card, log_ms: Option<(i64, i64)>) -> Vec<Event> {
        let Some((start_ms, end_ms)) = log_ms else { return Vec::new() };
        let others = self.fires.get(&(card.season.clone(), card.fire.clone()));
        let others = others.into_iter().flatten().map(|place| &self.records[*place].card.cook);
        let mut noted: Vec<Event> = others
            .filter(|other| **other != card.cook)
            .flat_map(|other| self.events_of(other))
            .filter(|event| {
                matches!(event.kind, EventKind::Setpoint | EventKind::Lid)
                    && (start_ms - DAY_MS..=end_ms).contains(&event.at_ms)
            })
            .cloned()
            .collect();
        noted.sort_by(|a, b| (a.at_ms, &a.cook).cmp(&(b.at_ms, &b.cook)));
        noted
    }
}
