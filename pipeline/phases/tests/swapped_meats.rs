//! Meats of one fire whose probes change places. `docs/accuracy.md` has the table of a longer run; this is a
//! short one of other fires.

mod swapped;

use swapped::{APART, score};

#[test]
fn exchanges_of_cores_that_are_well_apart_are_found_and_none_where_there_is_none() {
    let scores = score(21, 0..40);
    assert!(scores.clean[0].0 >= 10, "{scores:?}");
    for (pairs, said) in scores.clean {
        assert_eq!(said, 0, "of {pairs} pairs: {scores:?}");
    }
    // Cores that lie nearer to each other may pass each other between two readings.
    let far = APART.iter().position(|(least, _)| *least == 7.0).unwrap();
    for tallies in scores.tallies {
        let far = &tallies[far..];
        assert!(far.iter().any(|tally| tally.pairs > 0), "{scores:?}");
        assert!(far.iter().all(|tally| tally.found == tally.pairs), "{scores:?}");
    }
}
