//! From an interval to a word.
//!
//! d is the effect signed so that positive favours what is said, δ > 0 the smallest
//! difference that anyone would act on, \[lo, hi\] the two-sided interval of d at level
//! 1 − 0.10·s/m for a family of m claims with the share s of its year's error ([`crate::lock`]), so that
//! each end is a one-sided test at 5 %·s/m (Bonferroni). Both ends within ±δ is the two one-sided tests procedure: Schuirmann
//! (1987), Journal of Pharmacokinetics and Biopharmaceutics 15, 657–680.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the data say of a claim.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The whole interval lies beyond what matters, in the claim's favour: lo ≥ δ.
    Yes,
    /// The whole interval lies beyond what matters, the other way: hi ≤ −δ.
    Reverse,
    /// Whatever the difference is, nobody would act on it: −δ < lo and hi < δ.
    TooSmallToMatter,
    /// A difference that matters in the claim's favour is ruled out: lo ≤ −δ < hi < δ.
    No,
    /// The interval is too wide to decide: lo < δ ≤ hi.
    Open,
    /// Not answered, with the reason.
    Refused,
}

impl Verdict {
    /// The verdict of an interval of d; ends may be infinite. `None` if an end is NaN, the
    /// ends are out of order, or `matters` is not above 0.
    pub fn judge(lo: f64, hi: f64, matters: f64) -> Option<Self> {
        // Written so that a NaN fails each test.
        if !(lo <= hi && matters > 0.0) {
            return None;
        }
        Some(if lo >= matters {
            Self::Yes
        } else if hi >= matters {
            Self::Open
        } else if hi <= -matters {
            Self::Reverse
        } else if lo > -matters {
            Self::TooSmallToMatter
        } else {
            Self::No
        })
    }

    /// As people read it, at the head of an answer.
    pub fn heading(self) -> &'static str {
        match self {
            Self::Yes => "Yes",
            Self::Reverse => "The reverse",
            Self::TooSmallToMatter => "Too small to matter",
            Self::No => "No",
            Self::Open => "Open",
            Self::Refused => "Not answered",
        }
    }
}

/// Where the interval lies against zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Direction {
    /// All of it on the claim's side: lo > 0.
    For,
    /// All of it on the other side: hi < 0.
    Against,
    /// Zero is inside, or nothing was estimated.
    Unclear,
}

impl Direction {
    /// The direction of an interval of d.
    pub fn of(lo: f64, hi: f64) -> Self {
        if lo > 0.0 {
            Self::For
        } else if hi < 0.0 {
            Self::Against
        } else {
            Self::Unclear
        }
    }
}

/// How much a verdict is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Judged on cooks that were not known when the claim was written down.
    Confirmed,
    /// Judged on all cooks: what past cooks say to someone who may have seen them.
    AfterTheFact,
    /// Judged by the lots of a trial.
    Randomised,
}

/// The level of the two-sided interval for a family of `m` claims with the share s of a year's error:
/// 1 − 0.10·s/m. A family of none counts as one.
pub fn interval_level(m: usize, share: f64) -> f64 {
    1.0 - 0.10 * share / m.max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_table_at_its_edges() {
        use Verdict::{No, Open, Reverse, TooSmallToMatter, Yes};
        for (lo, hi, expected) in [
            (10.0, 20.0, Yes),
            (9.9, 20.0, Open),
            (-9.9, 10.0, Open),
            (-30.0, 10.0, Open),
            (-9.9, 9.9, TooSmallToMatter),
            (-10.0, 9.9, No),
            (-30.0, -9.9, No),
            (-30.0, -10.0, Reverse),
            (-10.0, -10.0, Reverse),
            (10.0, 10.0, Yes),
            (0.0, 0.0, TooSmallToMatter),
            (f64::NEG_INFINITY, f64::INFINITY, Open),
            (f64::NEG_INFINITY, 0.0, No),
            (f64::NEG_INFINITY, -10.0, Reverse),
            (10.0, f64::INFINITY, Yes),
        ] {
            assert_eq!(Verdict::judge(lo, hi, 10.0), Some(expected), "[{lo}, {hi}]");
        }
        for (lo, hi, matters) in [(1.0, 0.0, 1.0), (f64::NAN, 0.0, 1.0), (0.0, 1.0, 0.0)] {
            assert_eq!(Verdict::judge(lo, hi, matters), None);
        }
    }

    #[test]
    fn the_level_shares_ten_percent_over_the_family() {
        assert!((interval_level(1, 1.0) - 0.90).abs() < 1e-15);
        assert!((interval_level(2, 1.0) - 0.95).abs() < 1e-15);
        assert!((interval_level(10, 1.0) - 0.99).abs() < 1e-15);
        assert_eq!(interval_level(0, 1.0), interval_level(1, 1.0));
        assert!((interval_level(1, 0.6) - 0.94).abs() < 1e-15);
    }

    #[test]
    fn direction_is_against_zero() {
        assert_eq!(Direction::of(0.1, 2.0), Direction::For);
        assert_eq!(Direction::of(0.0, 2.0), Direction::Unclear);
        assert_eq!(Direction::of(-2.0, 0.0), Direction::Unclear);
        assert_eq!(Direction::of(-2.0, -0.1), Direction::Against);
    }

    /// Ends that often fall on −δ, 0 and δ themselves.
    fn end() -> impl Strategy<Value = f64> {
        prop_oneof![
            Just(-1.0),
            Just(0.0),
            Just(1.0),
            Just(f64::NEG_INFINITY),
            Just(f64::INFINITY),
            -3.0..3.0f64
        ]
    }

    proptest! {
        /// Each row of the verdict table is written out here as it stands in the doc
        /// comments: exactly one holds, and it is the verdict.
        #[test]
        fn the_table_is_exhaustive_and_exclusive(
            a in end(), b in end(), matters in prop_oneof![Just(1.0), 0.001..3.0f64],
        ) {
            let (lo, hi) = (a.min(b), a.max(b));
            let rows = [
                (lo >= matters, Verdict::Yes),
                (hi <= -matters, Verdict::Reverse),
                (-matters < lo && hi < matters, Verdict::TooSmallToMatter),
                (lo <= -matters && -matters < hi && hi < matters, Verdict::No),
                (lo < matters && matters <= hi, Verdict::Open),
            ];
            let holding: Vec<Verdict> =
                rows.iter().filter(|(holds, _)| *holds).map(|(_, verdict)| *verdict).collect();
            prop_assert_eq!(holding, vec![Verdict::judge(lo, hi, matters).unwrap()]);
        }

        /// Seen from the other side, what was for is against.
        #[test]
        fn mirrored_intervals_mirror(a in end(), b in end(), matters in 0.001..3.0f64) {
            let (lo, hi) = (a.min(b), a.max(b));
            let mirrored = Verdict::judge(-hi, -lo, matters).unwrap();
            match Verdict::judge(lo, hi, matters).unwrap() {
                Verdict::Yes => prop_assert_eq!(mirrored, Verdict::Reverse),
                Verdict::Reverse => prop_assert_eq!(mirrored, Verdict::Yes),
                Verdict::TooSmallToMatter => {
                    prop_assert_eq!(mirrored, Verdict::TooSmallToMatter);
                }
                _ => prop_assert!(matches!(mirrored, Verdict::Open | Verdict::No)),
            }
            let turned = match Direction::of(lo, hi) {
                Direction::For => Direction::Against,
                Direction::Against => Direction::For,
                Direction::Unclear => Direction::Unclear,
            };
            prop_assert_eq!(Direction::of(-hi, -lo), turned);
        }

        /// Two-sided level 1 − 0.10/m leaves 5 %/m in each tail.
        #[test]
        fn each_tail_holds_five_percent_over_m(m in 1usize..1000) {
            let tail = (1.0 - interval_level(m, 1.0)) / 2.0;
            prop_assert!((tail * m as f64 - 0.05).abs() < 1e-12);
        }
    }
}
