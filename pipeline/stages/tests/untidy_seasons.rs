//! Untidy seasons through the reader. `docs/untidy.md` has the table of a longer run; this is a short
//! one of other seasons.

mod untidy;

use samples::untidy as season;
use untidy::{Fate, Judged, judge};

const SEED: u64 = 2;
const SEASONS: u64 = 3;

#[test]
fn answers_make_values_right_and_no_cook_comes_of_nothing() {
    for index in 0..SEASONS {
        let folder = tempfile::tempdir().unwrap();
        let rounds = judge(&season(SEED, index), folder.path()).unwrap();
        for judged in [&rounds.first, &rounds.answered] {
            let never_was = judged.silent.iter().find(|silent| silent.ends_with("never was"));
            assert!(never_was.is_none(), "season {index}: {never_was:?}");
        }
        let right = |judged: &Judged| judged.fates.get(&Fate::Right).copied().unwrap_or(0);
        let (first, answered) = (right(&rounds.first), right(&rounds.answered));
        assert!(answered >= first && answered > 0, "season {index}: {:#?}", rounds.answered.said);
    }
}
