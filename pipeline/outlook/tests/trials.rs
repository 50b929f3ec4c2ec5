//! Trials against known truth, in short; `.ci/full trial` has the long run.

mod lots;

use lots::{MATTERS, Played, Shape, planned, play};
use outlook::trial::Offer;

fn played((offer, sd): &(Offer, f64), shape: Shape, truth: f64, trials: u64) -> Played {
    let mut all = Played::default();
    for seed in 0..trials {
        all.add(&play(offer, *sd, shape, truth, seed), truth);
    }
    all
}

/// Where the lots change nothing, hardly a trial says that they do; at the edge of what matters, one in twenty
/// says yes.
#[test]
fn null_trials_are_seldom_wrong() {
    let design = planned(7);
    for shape in [Shape::Normal, Shape::Skewed, Shape::Censored] {
        let none = played(&design, shape, 0.0, 60);
        assert!(none.wrong(0.0) <= 3, "{shape:?} {none:?}");
        // 5 % of 60 are 3; 9 or more come by chance one time in 400.
        let edge = played(&design, shape, MATTERS, 60);
        assert!(edge.yes <= 8, "{shape:?} {edge:?}");
    }
}

/// 80 % is promised for a yes to twice what matters: of 60, 36 or fewer come by chance one time in 2,000.
#[test]
fn the_promised_power_is_kept_and_truth_lies_in_the_interval() {
    let twice = played(&planned(7), Shape::Normal, 2.0 * MATTERS, 60);
    assert!(twice.yes > 36, "{twice:?}");
    assert!(twice.covered >= 46, "{twice:?}");
}
