//! One cook of the store, segmented: shared by the stages that need its curves.

use crate::error::StageError;
use crate::hash::Fingerprint;
use cook::{Card, Event, Season};
use phases::{BorrowedReference, PhasesError, SegmentOptions, SegmentedCook, borrow, segment_cook};
use std::collections::BTreeMap;
use store::{CookRecord, Store};

/// Events of each cook, in time order.
pub(crate) fn events_by_cook(events: Vec<Event>) -> BTreeMap<String, Vec<Event>> {
    let mut by_cook: BTreeMap<String, Vec<Event>> = BTreeMap::new();
    for event in events {
        by_cook.entry(event.cook.clone()).or_default().push(event);
    }
    for events in by_cook.values_mut() {
        events.sort_by_key(|event| event.at_ms);
    }
    by_cook
}

/// The cooks' own reference heating coefficients, to borrow from.
#[derive(Default)]
pub(crate) struct OwnReferences(Vec<(String, Option<String>, Option<String>, f64)>);

impl OwnReferences {
    /// Adds a cook that has a reference of its own; an excluded cook lends nothing.
    pub(crate) fn add(&mut self, card: &Card, k_ref_per_h: f64) {
        if card.exclude.is_none() {
            self.0.push((card.cook.clone(), card.cut.clone(), card.pit.clone(), k_ref_per_h));
        }
    }

    /// What a cook may borrow: from other cooks of the same stated cut and pit.
    pub(crate) fn borrowed_for(&self, card: &Card) -> Option<BorrowedReference> {
        let (cut, pit) = (card.cut.as_ref()?, card.pit.as_ref()?);
        let of_kind: Vec<f64> = self
            .0
            .iter()
            .filter(|(cook, other_cut, other_pit, _)| {
                *cook != card.cook
                    && other_cut.as_ref() == Some(cut)
                    && other_pit.as_ref() == Some(pit)
            })
            .map(|(_, _, _, k_ref)| *k_ref)
            .collect();
        borrow(&of_kind)
    }
}

/// Segments a cook of the store. The inner error says why it cannot be segmented.
pub(crate) fn segment_record(
    store: &Store,
    record: &CookRecord,
    events: &[Event],
    season: &Season,
    draws: u32,
    borrowed: Option<BorrowedReference>,
) -> Result<Result<SegmentedCook, PhasesError>, StageError> {
    let readings = store.read_readings(&record.card.season, &record.card.cook)?;
    let options = options_for(&record.card, season, draws, borrowed);
    Ok(segment_cook(&readings, &record.card, events, &options))
}

/// How a cook of this season is segmented.
pub(crate) fn options_for(
    card: &Card,
    season: &Season,
    draws: u32,
    borrowed: Option<BorrowedReference>,
) -> SegmentOptions {
    SegmentOptions {
        definition: season.phases,
        draws,
        seed: seed_of(season.study.seed, &card.cook),
        borrowed,
    }
}

/// A seed of the cook's own, so that its draws do not depend on which cooks are there.
fn seed_of(season_seed: u64, cook: &str) -> u64 {
    let mut hash = Fingerprint::new("seed");
    hash.part(&season_seed.to_le_bytes());
    hash.part(cook.as_bytes());
    let text = hash.finish();
    u64::from_str_radix(&text[..16], 16).unwrap_or(season_seed)
}
