//! Which cooks share logs, so that a log is read once.

use super::Sheets;
use ingest::{EventsReading, FoundLog, LogFile, SheetReading};
use std::collections::{BTreeMap, HashMap};

/// Cooks that share logs.
#[derive(Default)]
pub(super) struct Group {
    pub(super) logs: BTreeMap<String, LogFile>,
    /// Their part of the sheets.
    pub(super) cards: SheetReading,
    pub(super) events: Vec<EventsReading>,
}

impl Group {
    pub(super) fn cooks(&self) -> impl Iterator<Item = &str> {
        self.cards.cards.iter().map(|card| card.cook.as_str())
    }
}

/// Joins cooks that share a log; groups come in the order of their first cook in the sheet.
pub(super) fn group(sheets: &Sheets, uses: &HashMap<String, Vec<FoundLog>>) -> Vec<Group> {
    let mut group_of_log: HashMap<&str, usize> = HashMap::new();
    // Of each group the one that it was joined to; of one that was not, itself.
    let mut joined_to: Vec<usize> = Vec::new();
    let mut first_group: Vec<(&str, usize)> = Vec::new();
    for card in &sheets.cards.cards {
        // A cook whose logs were not found is refused already.
        let Some(found) = uses.get(&card.cook) else { continue };
        let own = joined_to.len();
        joined_to.push(own);
        first_group.push((&card.cook, own));
        for log in found {
            let shared = *group_of_log.entry(&log.file.shown_as).or_insert(own);
            let (one, other) = (root(&mut joined_to, shared), root(&mut joined_to, own));
            joined_to[one.max(other)] = one.min(other);
        }
    }
    let mut number_of: HashMap<usize, usize> = HashMap::new();
    let mut groups: Vec<Group> = Vec::new();
    let mut group_of: HashMap<&str, usize> = HashMap::new();
    for (cook, own) in first_group {
        let root = root(&mut joined_to, own);
        let number = *number_of.entry(root).or_insert(groups.len());
        if number == groups.len() {
            groups.push(Group::default());
        }
        group_of.insert(cook, number);
        for log in &uses[cook] {
            groups[number].logs.insert(log.file.shown_as.clone(), log.file.clone());
        }
    }
    for (group, cards) in groups.iter_mut().zip(sheets.cards.parted(&group_of, number_of.len())) {
        group.cards = cards;
    }
    for reading in &sheets.events {
        let parts = reading.parted(&group_of, number_of.len());
        for (group, events) in groups.iter_mut().zip(parts) {
            group.events.push(events);
        }
    }
    groups
}

/// The group that a group has come to; the way there is shortened for the next who asks.
fn root(joined_to: &mut [usize], group: usize) -> usize {
    let mut at = group;
    while joined_to[at] != at {
        joined_to[at] = joined_to[joined_to[at]];
        at = joined_to[at];
    }
    at
}
