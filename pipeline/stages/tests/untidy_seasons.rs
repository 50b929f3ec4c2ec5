//! Untidy seasons through the reader. `docs/untidy.md` has the table of a longer run; this is a short
//! one of other seasons.

mod untidy;

use samples::untidy as season;
use untidy::{Fate, judge};

const SEED: u64 = 2;
const SEASONS: u64 = 3;

#[test]
fn answers_make_values_right_and_no_cook_comes_of_nothing() {
    for index in 0..SEASONS {
        let folder = tempfile::tempdir().unwrap();
        let rounds = judge(&season(SEED, index), folder.path()).unwrap();
        for judged in [&rounds.first, &rounds.answered] {
            let slipless = judged.silent.iter().filter(|silent| silent.ends_with("()"));
            let slipless: Vec<_> = slipless.collect();
            assert!(slipless.is_empty(), "season {index}: {slipless:#?}");
            assert!(judged.fates.contains_key(&Fate::Right), "season {index}: {judged:#?}");
        }
        assert!(rounds.answered.right >= rounds.first.right, "season {index}");
    }
}
