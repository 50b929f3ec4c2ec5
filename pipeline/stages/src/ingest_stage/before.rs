//! What the store had before.

use crate::stamps::{Damage, PROVENANCE};
use cook::{Event, RejectedRow, Score, SourceRecord};
use std::collections::HashMap;
use store::{CookRecord, Store, StoreError, TableName};

/// What the store had before.
#[derive(Default)]
pub(super) struct Before {
    pub(super) records: Vec<CookRecord>,
    pub(super) events: Vec<Event>,
    pub(super) scores: Vec<Score>,
    pub(super) rejected: Vec<RejectedRow>,
    pub(super) sources: Vec<SourceRecord>,
    /// Whether one of these could not be relied on.
    pub(super) is_half: bool,
    /// Place of each cook's record.
    by_cook: HashMap<String, usize>,
    /// Place of each log's source.
    by_path: HashMap<String, usize>,
    /// Places of each file's rejected rows.
    rejected_by_source: HashMap<String, Vec<usize>>,
    /// Places of the records of cooks with one log, by that log.
    by_only_log: HashMap<String, Vec<usize>>,
}

impl Before {
    /// The four tables are written one after the other; after a crash between them, or where
    /// one is damaged or of an older version, no log counts as read: all are read again. What the
    /// other tables hold is of use for cooks whose logs are gone.
    pub(super) fn read(store: &Store, damage: &Damage) -> Self {
        fn or_empty<T>(read: Result<Vec<T>, StoreError>, is_half: &mut bool) -> Vec<T> {
            read.unwrap_or_else(|_| {
                *is_half = true;
                Vec::new()
            })
        }
        let mut is_half = PROVENANCE.iter().any(|name| damage.has_table(store, *name));
        let is_damaged = |name| damage.files.contains(&store.table_path(name));
        let mut this = Self::default();
        if !is_damaged(TableName::Cooks) {
            this.records = or_empty(store.read_cooks(), &mut is_half);
        }
        if !is_damaged(TableName::Events) {
            this.events = or_empty(store.read_events(), &mut is_half);
        }
        if !is_damaged(TableName::Scores) {
            this.scores = or_empty(store.read_scores(), &mut is_half);
        }
        if !is_damaged(TableName::Rejected) {
            this.rejected = or_empty(store.read_rejected(), &mut is_half);
        }
        if !is_damaged(TableName::Sources) {
            this.sources = or_empty(store.read_sources(), &mut is_half);
        }
        this.is_half = is_half;
        for (at, record) in this.records.iter().enumerate() {
            this.by_cook.insert(record.card.cook.clone(), at);
            if let [log] = &record.card.logs[..] {
                this.by_only_log.entry(log.clone()).or_default().push(at);
            }
        }
        for (at, source) in this.sources.iter().enumerate() {
            this.by_path.insert(source.path.clone(), at);
        }
        for (at, row) in this.rejected.iter().enumerate() {
            this.rejected_by_source.entry(row.source.clone()).or_default().push(at);
        }
        this
    }

    pub(super) fn record(&self, cook: &str) -> Option<&CookRecord> {
        self.by_cook.get(cook).map(|at| &self.records[*at])
    }

    pub(super) fn source(&self, path: &str) -> Option<&SourceRecord> {
        self.by_path.get(path).map(|at| &self.sources[*at])
    }

    /// The cooks that have this log and no other.
    pub(super) fn with_only_log(&self, log: &str) -> impl Iterator<Item = &CookRecord> {
        self.by_only_log.get(log).into_iter().flatten().map(|at| &self.records[*at])
    }

    pub(super) fn rejected_of(&self, source: &str) -> impl Iterator<Item = &RejectedRow> {
        self.rejected_by_source.get(source).into_iter().flatten().map(|at| &self.rejected[*at])
    }
}
