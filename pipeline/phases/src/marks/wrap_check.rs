//! The stated wraps against the cook and its log.
//!
//! A wrap that cannot be (before the meat was on, after a stated pull) is not used. One of which a
//! log that would show it shows nothing is used all the same, with a warning: a wrap opens the lid
//! and moves the probe, but a quick hand may leave neither sign. The sizes are common practice, no
//! source.

use super::{FoundMark, MarkProblem, MarkSource, Marks};
use crate::clean::{CleaningReport, dips};
use crate::samples::Samples;
use cook::Mark;

/// A wrap's time is written by hand: its sign is looked for this far to either side, ms (15 min).
const SIGN_WITHIN_MS: i64 = 900_000;
/// A log would show a wrap if it has a reading at least this often, ms (3 min).
const DENSE_MS: i64 = 180_000;
/// A fall of the pit, or a stop of the core's rise, within this time is a sign, ms (10 min).
const FALL_WITHIN_MS: i64 = 600_000;
/// The pit falls at least this far, °C. Less than an opened lid makes: a doubt is no warning.
const PIT_FALL_C: f64 = 3.0;
/// The core falls at least this far, °C.
const CORE_FALL_C: f64 = 0.4;
/// A lid that opens this near to a dip of the core is the same hand's work, ms (10 min).
const SAME_MS: i64 = 600_000;

/// The wraps that can be; what is wrong with the others goes to `problems`.
pub(super) fn possible(
    wraps_ms: Vec<i64>,
    meat_on: &FoundMark,
    pull: &FoundMark,
    log_end_ms: i64,
    problems: &mut Vec<MarkProblem>,
) -> Vec<i64> {
    let pull_stated = matches!(pull.source, MarkSource::Card | MarkSource::Events);
    wraps_ms
        .into_iter()
        .filter(|&wrap_ms| {
            if wrap_ms < meat_on.at_ms && !meat_on.assumed {
                problems.push(MarkProblem::OutOfOrder {
                    mark: Mark::Wrap,
                    follows: Mark::MeatOn,
                    by_ms: meat_on.at_ms - wrap_ms,
                });
                return false;
            }
            if wrap_ms >= pull.at_ms && pull.source != MarkSource::LogEnd {
                problems
                    .push(MarkProblem::WrapAfterPull { by_ms: wrap_ms - pull.at_ms, pull_stated });
                return !pull_stated;
            }
            if wrap_ms > log_end_ms {
                problems
                    .push(MarkProblem::AfterLog { mark: Mark::Wrap, by_ms: wrap_ms - log_end_ms });
            }
            true
        })
        .collect()
}

/// The wraps of which the log shows nothing although it would: neither a dip of the core nor an
/// opened lid within [`SIGN_WITHIN_MS`]. `core` and `pit` are usable readings, `cleaning` is what
/// was found in them.
pub(crate) fn without_sign(
    marks: &Marks,
    core: Samples<'_>,
    pit: Samples<'_>,
    cleaning: &CleaningReport,
) -> Vec<MarkProblem> {
    let near = |wrap_ms: i64, start_ms: i64, end_ms: i64| {
        (start_ms - SIGN_WITHIN_MS..=end_ms + SIGN_WITHIN_MS).contains(&wrap_ms)
    };
    let seen = |wrap_ms: i64| {
        cleaning.dips.iter().any(|dip| near(wrap_ms, dip.start_ms, dip.start_ms))
            || cleaning.lids.iter().any(|lid| near(wrap_ms, lid.start_ms, lid.end_ms))
    };
    let inside = |wrap_ms: i64| {
        wrap_ms - SIGN_WITHIN_MS >= marks.bounds.meat_on_ms
            && wrap_ms + SIGN_WITHIN_MS < marks.bounds.pull_ms
    };
    marks
        .wraps_ms
        .iter()
        .filter(|&&wrap_ms| inside(wrap_ms) && !seen(wrap_ms))
        .filter(|&&wrap_ms| {
            // The lid is the surer sign: without a pit to look at nothing is said.
            [(core, CORE_FALL_C), (pit, PIT_FALL_C)].into_iter().all(|(samples, least_c)| {
                let around = samples.within(wrap_ms - SIGN_WITHIN_MS, wrap_ms + SIGN_WITHIN_MS + 1);
                would_show(around, wrap_ms)
                    && fall(around) < least_c.max(4.0 * dips::noise_sd(around))
            })
        })
        .map(|&wrap_ms| MarkProblem::NoSign {
            mark: Mark::Wrap,
            within_ms: SIGN_WITHIN_MS,
            clear_by_ms: clear_sign(marks, cleaning, wrap_ms).map(|at_ms| at_ms - wrap_ms),
        })
        .collect()
}

/// Whether the readings are near enough to each other, and to both ends, to show a fall.
fn would_show(around: Samples<'_>, at_ms: i64) -> bool {
    let ends = [at_ms - SIGN_WITHIN_MS, at_ms + SIGN_WITHIN_MS];
    let mut before = ends[0];
    around.at_ms.iter().chain(&ends[1..]).all(|&at| {
        let near = at - before <= DENSE_MS;
        before = at;
        near
    })
}

/// The deepest fall within [`FALL_WITHIN_MS`], °C.
fn fall(samples: Samples<'_>) -> f64 {
    let mut deepest = 0.0_f64;
    for (index, &high) in samples.temp_c.iter().enumerate() {
        let until = samples.at_ms[index] + FALL_WITHIN_MS;
        let later = samples.at_ms.iter().zip(samples.temp_c).skip(index + 1);
        let lowest = later
            .take_while(|(at, _)| **at <= until)
            .fold(f64::INFINITY, |low, (_, temp)| low.min(*temp));
        deepest = deepest.max(high - lowest);
    }
    deepest
}

/// Where the log clearly shows a wrap that no sheet states: a dip of the core with the lid open.
/// The nearest to `wrap_ms`.
fn clear_sign(marks: &Marks, cleaning: &CleaningReport, wrap_ms: i64) -> Option<i64> {
    cleaning
        .dips
        .iter()
        .filter(|dip| {
            cleaning
                .lids
                .iter()
                .any(|lid| (lid.start_ms - SAME_MS..=lid.end_ms + SAME_MS).contains(&dip.start_ms))
        })
        .map(|dip| dip.start_ms)
        .filter(|at_ms| {
            marks
                .wraps_ms
                .iter()
                .all(|other| *other == wrap_ms || (other - at_ms).abs() > SIGN_WITHIN_MS)
        })
        .min_by_key(|at_ms| (at_ms - wrap_ms).abs())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clean::{clean_core, clean_pit};
    use crate::find_marks;
    use crate::samples::OwnedSamples;
    use cook::{Event, EventKind, MarkTimes};

    const MINUTE: i64 = 60_000;

    /// A cook of ten hours, a reading a minute; at `wrapped` the lid opens and the probe dips.
    fn curves(wrapped: Option<i64>) -> (OwnedSamples, OwnedSamples) {
        let (mut core, mut pit) = (OwnedSamples::default(), OwnedSamples::default());
        for minute in 0..600_i64 {
            let after = |at: i64, tau: f64| {
                let since = (minute - at) as f64;
                if since >= 0.0 { (-since / tau).exp() } else { 0.0 }
            };
            let open = wrapped.map_or(0.0, |at| after(at, 12.0));
            // A saw-tooth of ±0.5 °C: a pit is never quite still.
            let ripple = (minute % 10) as f64 * 0.1 - 0.45;
            core.at_ms.push(minute * MINUTE);
            core.temp_c.push(4.0 + 0.14 * minute as f64 - 6.0 * open);
            pit.at_ms.push(minute * MINUTE);
            pit.temp_c.push(120.0 + ripple - 30.0 * open);
        }
        (core, pit)
    }

    fn checked(stated: i64, shown: Option<i64>, pull: Option<i64>) -> (Vec<i64>, Vec<MarkProblem>) {
        let (core, pit) = curves(shown);
        let card = MarkTimes {
            meat_on_ms: Some(0),
            wrap_ms: Some(stated * MINUTE),
            pull_ms: pull.map(|minute| minute * MINUTE),
            ..MarkTimes::default()
        };
        let mut marks = find_marks(&card, &[], core.view(), pit.view()).unwrap();
        let mut cleaning = CleaningReport::default();
        clean_core(core.view(), &marks.wraps_ms, 1_200_000, &mut cleaning);
        clean_pit(pit.view(), 1_200_000, &mut cleaning);
        let unseen = without_sign(&marks, core.view(), pit.view(), &cleaning);
        marks.problems.extend(unseen);
        (marks.wraps_ms, marks.problems)
    }

    #[test]
    fn a_wrap_that_the_log_shows_is_not_doubted() {
        for stated in [290, 300, 312] {
            let (wraps, problems) = checked(stated, Some(300), Some(590));
            assert_eq!((wraps, problems), (vec![stated * MINUTE], vec![]), "{stated}");
        }
    }

    #[test]
    fn a_wrap_without_a_sign_is_kept_with_a_warning_that_says_where_one_is() {
        let (wraps, problems) = checked(400, None, Some(590));
        assert_eq!(wraps, [400 * MINUTE]);
        let unseen = |clear_by_ms| MarkProblem::NoSign {
            mark: Mark::Wrap,
            within_ms: SIGN_WITHIN_MS,
            clear_by_ms,
        };
        assert_eq!(problems, [unseen(None)]);
        let (wraps, problems) = checked(400, Some(300), Some(590));
        assert_eq!(
            (wraps, &problems[..]),
            (vec![400 * MINUTE], &[unseen(Some(-100 * MINUTE))][..])
        );
        let words = problems[0].to_string();
        assert!(words.contains("100 min earlier") && words.contains("15 min"), "{words}");
    }

    #[test]
    fn a_sparse_log_or_one_without_a_pit_is_no_witness() {
        let (core, pit) = curves(None);
        let every = |samples: &OwnedSamples, n: usize| OwnedSamples {
            at_ms: samples.at_ms.iter().step_by(n).copied().collect(),
            temp_c: samples.temp_c.iter().step_by(n).copied().collect(),
        };
        let card = MarkTimes {
            meat_on_ms: Some(0),
            wrap_ms: Some(400 * MINUTE),
            pull_ms: Some(590 * MINUTE),
            ..MarkTimes::default()
        };
        for (core, pit) in
            [(every(&core, 5), every(&pit, 5)), (core.clone(), OwnedSamples::default())]
        {
            let marks = find_marks(&card, &[], core.view(), pit.view()).unwrap();
            let found = without_sign(&marks, core.view(), pit.view(), &CleaningReport::default());
            assert_eq!(found, []);
        }
    }

    #[test]
    fn a_wrap_before_the_meat_or_after_a_stated_pull_is_not_used() {
        let (wraps, problems) = checked(-30, Some(300), Some(590));
        assert_eq!(wraps, [0_i64; 0]);
        assert_eq!(
            problems,
            [MarkProblem::OutOfOrder {
                mark: Mark::Wrap,
                follows: Mark::MeatOn,
                by_ms: 30 * MINUTE
            }]
        );
        let (wraps, problems) = checked(595, Some(300), Some(590));
        assert_eq!(wraps, [0_i64; 0]);
        let after = MarkProblem::WrapAfterPull { by_ms: 5 * MINUTE, pull_stated: true };
        assert_eq!(problems, [after]);
        assert!(after.to_string().contains("hold_kind"), "{after}");
    }

    #[test]
    fn each_of_several_wraps_is_judged_by_itself() {
        let (core, pit) = curves(Some(300));
        let wrap = |minute: i64| Event {
            cook: "a".into(),
            at_ms: minute * MINUTE,
            kind: EventKind::Wrap,
            value: None,
            note: None,
        };
        let card =
            MarkTimes { meat_on_ms: Some(0), pull_ms: Some(590 * MINUTE), ..MarkTimes::default() };
        let events = [wrap(-5), wrap(301), wrap(420)];
        let marks = find_marks(&card, &events, core.view(), pit.view()).unwrap();
        assert_eq!(marks.wraps_ms, [301 * MINUTE, 420 * MINUTE]);
        let mut cleaning = CleaningReport::default();
        clean_core(core.view(), &marks.wraps_ms, 1_200_000, &mut cleaning);
        clean_pit(pit.view(), 1_200_000, &mut cleaning);
        let found = without_sign(&marks, core.view(), pit.view(), &cleaning);
        // The sign at 300 is that of the wrap at 301.
        assert_eq!(
            found,
            [MarkProblem::NoSign {
                mark: Mark::Wrap,
                within_ms: SIGN_WITHIN_MS,
                clear_by_ms: None
            }]
        );
    }
}
