//! Any bytes give an error or a log whose account closes, whose times increase, and which
//! its own layout reads again in the same way.

#![no_main]

use ingest::{ReadOptions, read_log_bytes};
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;

static OPTIONS: LazyLock<ReadOptions> = LazyLock::new(|| ReadOptions {
    zone: jiff::tz::TimeZone::get("America/Chicago").expect("the zone is bundled"),
    ..ReadOptions::default()
});

fuzz_target!(|bytes: &[u8]| {
    let Ok(log) = read_log_bytes(bytes, "fuzz.csv", &OPTIONS) else { return };
    assert!(log.record.account.closes(), "{}", log.record.account);
    for channel in &log.channels {
        assert!(channel.at_ms.pairs().all(|(one, next)| one < next));
        assert!(channel.temp_c.iter().all(|temp| temp.is_finite()));
    }
    assert!(!log.describe(&OPTIONS.zone).is_empty());
});
