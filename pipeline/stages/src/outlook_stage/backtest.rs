//! The forecasts of a store's own past, kept in the store: an edited claim does not make them anew.

use super::past::{Which, past};
use crate::error::StageError;
use cook::Season;
use rows::hash::{Fingerprint, sha256};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::path::PathBuf;
use store::stamps::hash_of;
use store::{Store, TableName, write_atomically};
use study::result::forecast::ForecastBacktest;

/// Raised whenever the forecasts would come out otherwise.
const NUMBER: u32 = 1;
/// Where they are kept.
const FILE: &str = "forecasts.json";

#[derive(Serialize, Deserialize)]
struct Kept {
    /// Hash of what they were computed from.
    computed_from: String,
    /// Hash of the forecasts as compact JSON: what was damaged is made anew.
    sha256: String,
    forecasts: ForecastBacktest,
}

/// Where a store keeps them.
pub(crate) fn kept_in(store: &Store) -> PathBuf {
    store.root().join(FILE)
}

/// Hash of all that the forecasts are computed from: cooks, events, measures, definition, seed, and the
/// bundled past that stands beside them.
pub(crate) fn forecasts_from(store: &Store, season: &Season) -> Result<String, StageError> {
    let mut from = Fingerprint::new("forecasts of the past", NUMBER);
    from.json(&(season.phases, season.study.seed));
    from.part(outlook::prior::EMBEDDED);
    // Measures hold the hash of the readings that each was computed from.
    for table in [TableName::Cooks, TableName::Events, TableName::Measures] {
        from.json(&if store.has_table(table) {
            hash_of(&store.table_path(table))?
        } else {
            String::new()
        });
    }
    Ok(from.finish())
}

/// The forecasts of a store's past, computed only where that changed since. Kept for the next to ask
/// where `keeps`: who asks then holds the store's lock.
pub(crate) fn backtest(
    store: &Store,
    season: &Season,
    keeps: bool,
) -> Result<ForecastBacktest, StageError> {
    let computed_from = forecasts_from(store, season)?;
    let path = kept_in(store);
    let kept =
        std::fs::read(&path).ok().and_then(|bytes| serde_json::from_slice::<Kept>(&bytes).ok());
    if let Some(kept) = kept
        && kept.computed_from == computed_from
        && kept.sha256 == hash(&kept.forecasts)?
    {
        return Ok(kept.forecasts);
    }
    let which = Which { asked: &BTreeSet::new(), ended_by_ms: i64::MAX };
    let forecasts = past(store.root(), season, &which, true)?.backtest(season.study.seed);
    let kept = Kept { computed_from, sha256: hash(&forecasts)?, forecasts };
    if keeps {
        write_atomically(&path, json(&kept)?.as_bytes())?;
    }
    Ok(kept.forecasts)
}

fn json<T: Serialize>(value: &T) -> Result<String, StageError> {
    serde_json::to_string(value).map_err(|error| super::words::usage(error.to_string()))
}

fn hash(forecasts: &ForecastBacktest) -> Result<String, StageError> {
    Ok(sha256(json(forecasts)?.as_bytes()))
}
