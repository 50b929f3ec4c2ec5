//! Estimates of a trial that has stopped.

use super::test::{SequentialTest, Side};

/// What a trial that has stopped says of the effect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AfterStop {
    /// The effect that the trial would have over- and underestimated equally often.
    pub estimate: f64,
    /// Lower end of the interval at the level 1 − 2·`alpha`; may be infinite.
    pub lo: f64,
    /// Upper end; may be infinite.
    pub hi: f64,
}

/// Estimates at which a look stops: from `up` on, up to `down`, and between both of `middle`.
#[derive(Debug, Clone, Copy)]
struct Exits {
    up: f64,
    down: f64,
    middle: (f64, f64),
}

/// Where a path ends, seen from the outcome that happened.
enum Place {
    Above,
    Same,
    Below,
}

impl SequentialTest<'_> {
    /// The estimate and interval after the trial has stopped at its last look, where it stops once all
    /// of the interval lies beyond ±`matters`, or all of it between them.
    ///
    /// Outcomes are ordered by stage: whoever stops early for a large effect counts as more extreme than any
    /// later outcome; the others are ordered by their estimate (Fairbanks & Madsen 1982, Biometrika
    /// 69, 69–74; Tsiatis, Rosner & Mehta 1984, Biometrics 40, 797–803). The chance of what lies
    /// beyond what happened is counted over the lots; the estimates at which a look would have stopped are
    /// taken from the outcomes that happened, which is an approximation.
    pub fn after_stop(&self, matters: f64) -> AfterStop {
        let last = self.looks().len() - 1;
        let exits: Vec<Exits> = (0..last).map(|look| self.exits(look, matters)).collect();
        let middle = self.estimate(last);
        let far = self.far(last);
        // Share of paths at least as extreme upwards, and downwards.
        let shares = |effect: f64| self.shares(effect, last, middle, &exits);
        let find = |is_low: &dyn Fn(f64) -> bool| -> Option<f64> {
            let (mut low, mut high) = (middle - far, middle + far);
            if !is_low(low) || is_low(high) {
                return None;
            }
            while high - low > 1e-6 * far {
                let between = 0.5 * (low + high);
                if is_low(between) { low = between } else { high = between }
            }
            Some(0.5 * (low + high))
        };
        let alpha = self.alpha();
        let estimate = find(&|effect| {
            let (up, down) = shares(effect);
            // What is as extreme both ways counts half to each.
            up < down
        });
        AfterStop {
            estimate: estimate.unwrap_or(middle),
            lo: find(&|effect| shares(effect).0 <= alpha).unwrap_or(f64::NEG_INFINITY),
            hi: find(&|effect| shares(effect).1 > alpha).unwrap_or(f64::INFINITY),
        }
    }

    fn exits(&self, look: usize, matters: f64) -> Exits {
        let weight = self.weight(look);
        let beyond = |effect: f64, side: Side| {
            self.thresholds(&self.paths(effect, look), side)[look] / weight
        };
        Exits {
            up: matters + beyond(matters, Side::Above),
            down: -matters - beyond(-matters, Side::Below),
            middle: (
                -matters + beyond(-matters, Side::Above),
                matters - beyond(matters, Side::Below),
            ),
        }
    }

    /// Shares of the paths that lie at least as high, and at least as low, as what happened.
    fn shares(&self, effect: f64, last: usize, happened: f64, exits: &[Exits]) -> (f64, f64) {
        let paths = self.paths(effect, last);
        let weights: Vec<f64> = (0..=last).map(|look| self.weight(look)).collect();
        let own = paths.sums[last][0];
        let near = 1e-11 * paths.sums[last].iter().fold(0.0f64, |most, sum| most.max(sum.abs()));
        let (mut up, mut down) = (0usize, 0usize);
        for path in 0..paths.sums[last].len() {
            match place(path, &paths.sums, effect, &weights, happened, exits, (own, near)) {
                Place::Above => up += 1,
                Place::Below => down += 1,
                Place::Same => {
                    up += 1;
                    down += 1;
                }
            }
        }
        let all = paths.sums[last].len() as f64;
        (up as f64 / all, down as f64 / all)
    }
}

fn place(
    path: usize,
    sums: &[Vec<f64>],
    effect: f64,
    weights: &[f64],
    happened: f64,
    exits: &[Exits],
    (own, near): (f64, f64),
) -> Place {
    // What happened had not stopped before, whatever the approximation says of its path.
    if path > 0 {
        for (look, exit) in exits.iter().enumerate() {
            let estimate = effect + sums[look][path % sums[look].len()] / weights[look];
            if estimate > exit.up {
                return Place::Above;
            }
            if estimate < exit.down {
                return Place::Below;
            }
            if estimate > exit.middle.0 && estimate < exit.middle.1 {
                return if estimate > happened { Place::Above } else { Place::Below };
            }
        }
    }
    let sum = sums[exits.len()][path];
    if (sum - own).abs() <= near {
        Place::Same
    } else if sum > own {
        Place::Above
    } else {
        Place::Below
    }
}
