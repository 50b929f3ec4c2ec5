//! Untidy seasons through the reader. `docs/untidy.md` has the table of a longer run; this is a short
//! one of other seasons.

mod untidy;

use samples::untidy as season;
use untidy::{Fate, Judged, judge};

const SEED: u64 = 2;
const SEASONS: u64 = 5;

#[test]
fn no_value_is_wrong_in_silence_and_answers_make_values_right() {
    for index in 0..SEASONS {
        let folder = tempfile::tempdir().unwrap();
        let rounds = judge(&season(SEED, index), folder.path()).unwrap();
        let silent = rounds.first.silent.iter().chain(&rounds.answered.silent);
        let silent: Vec<&String> = silent.collect();
        assert!(silent.is_empty(), "season {index}: {silent:#?}");
        let right = |judged: &Judged| judged.fates.get(&Fate::Right).copied().unwrap_or(0);
        let (first, answered) = (right(&rounds.first), right(&rounds.answered));
        assert!(answered >= first && answered > 0, "season {index}: {:#?}", rounds.answered.said);
    }
}
