//! Polluted logs of known truth through the reader. `docs/pollution.md` has the table of a long
//! run; this is a short one of other files.

mod judge;

use judge::{Fate, Table, judge};
use samples::polluted;

const FILES: u64 = 300;
const SEED: u64 = 2;

#[test]
fn polluted_logs_are_read_right_or_rejected_or_asked_about() {
    let mut table = Table::default();
    for index in 0..FILES {
        let file = polluted(SEED, index);
        let judgement = judge(&file);
        assert!(judgement.sound(), "file {index} of seed {SEED}: {judgement:#?}");
        assert!(judgement.fate != Fate::Refused, "file {index}: {}", judgement.said);
        table.add(&file, &judgement);
    }
    assert!(table.read_share() >= 0.97, "{table}");
}
