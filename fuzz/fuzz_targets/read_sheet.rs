//! Any bytes give an error or a sheet; no cook stands in it twice.

#![no_main]

use libfuzzer_sys::fuzz_target;
use std::collections::HashSet;

fuzz_target!(|bytes: &[u8]| {
    let path = std::env::temp_dir().join(format!("fuzz-sheet-{}.csv", std::process::id()));
    std::fs::write(&path, bytes).expect("the folder for temporary files can be written");
    let Ok(sheet) = ingest::read_season_sheet(&path, "fuzz.csv", &(&jiff::tz::TimeZone::UTC).into()) else {
        return;
    };
    let mut names = HashSet::new();
    assert!(sheet.cards.iter().all(|card| names.insert(ingest::folded(&card.cook))));
    assert_eq!(sheet.cards.len(), sheet.rows.len());
});
