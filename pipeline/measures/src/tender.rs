//! Between which core temperatures the probe tests found the meat to become tender.
//!
//! Each cook gives an interval: above the core at the last test that found it not tender, up to the
//! core at the first test after it that found it tender. Where the first test found it tender only
//! the upper end is known, where no test did only the lower one.

use crate::clock::StudyClock;
use crate::measure::MeasureInput;
use columns::measures::Measures;
use cook::{EndReason, Event, EventKind};
use phases::Segmentation;

/// A test this long after the pull is still told by the core at the pull, ms (10 min): the hand
/// that tests is the one that pulls. Common practice, no source.
const AT_THE_PULL_MS: i64 = 600_000;

/// Adds the interval, or why there is none.
pub(crate) fn add(row: &mut Measures, input: &MeasureInput, segmentation: Option<&Segmentation>) {
    let mut tests = tests(input.events);
    row.probe_tests = Some(tests.len() as i64);
    let reason = |reason: &str| Some(reason.to_owned());
    if tests.is_empty() {
        row.tender_reason = reason("no-probe-test");
        return;
    }
    let Some(segmentation) = segmentation else {
        row.tender_reason = reason("not-segmented");
        return;
    };
    let bounds = &segmentation.bounds;
    tests
        .retain(|(at_ms, _)| (bounds.meat_on_ms..=bounds.pull_ms + AT_THE_PULL_MS).contains(at_ms));
    let (last_not, first_tender) = turn(&tests);
    let core = |(at_ms, _): &(i64, bool)| core_at(segmentation, *at_ms);
    let above = last_not.and_then(|last| core(&tests[last]));
    let by = first_tender.and_then(core);
    match (above, by) {
        (None, None) => row.tender_reason = reason("core-not-known"),
        (Some(above), Some(by)) if above > by => row.tender_reason = reason("core-fell-between"),
        _ => (row.tender_above_c, row.tender_by_c) = (above, by),
    }
}

/// Adds how long after clock zero it was found tender: by a probe test, else by a pull that the card
/// says was made because it was tender; else how long it was looked at without that.
pub(crate) fn add_clock(row: &mut Measures, input: &MeasureInput, segmentation: &Segmentation) {
    let (bounds, definition) = (&segmentation.bounds, input.definition);
    let Some(clock) = StudyClock::of(segmentation, definition.stall_from_c, definition.finish_c)
    else {
        return;
    };
    let tests = tests(input.events);
    let felt_ms = turn(&tests).1.map(|(at_ms, _)| *at_ms);
    let pulled_ms = (bounds.pull_known && row.end_reason == EndReason::Tender.as_str())
        .then_some(bounds.pull_ms);
    let tender_ms = felt_ms.filter(|at_ms| *at_ms >= bounds.meat_on_ms).or(pulled_ms);
    let last_look_ms = bounds.pull_ms.max(clock.zero_ms);
    row.tender_reached = Some(tender_ms.is_some());
    row.clock_to_tender_min = Some(clock.minutes_to(tender_ms.unwrap_or(last_look_ms)).max(0.0));
}

/// The probe tests that say what was felt, in the order of time.
fn tests(events: &[Event]) -> Vec<(i64, bool)> {
    let mut tests: Vec<(i64, bool)> = events.iter().filter_map(test).collect();
    tests.sort_unstable();
    tests
}

/// The last test that found it not tender, and the first after it that found it tender. A place that
/// was found tender before another one was not does not make the meat tender.
fn turn(tests: &[(i64, bool)]) -> (Option<usize>, Option<&(i64, bool)>) {
    let last_not = tests.iter().rposition(|(_, tender)| !tender);
    (last_not, tests.get(last_not.map_or(0, |last| last + 1)))
}

/// A probe test that says what was felt.
fn test(event: &Event) -> Option<(i64, bool)> {
    if event.kind != EventKind::ProbeTest {
        return None;
    }
    match event.value.as_deref().map(str::trim).map(str::to_lowercase).as_deref() {
        Some("tender") => Some((event.at_ms, true)),
        Some("not") => Some((event.at_ms, false)),
        _ => None,
    }
}

/// The core where it was logged; from the pull on, the core at the pull.
fn core_at(segmentation: &Segmentation, at_ms: i64) -> Option<f64> {
    let heating = &segmentation.judgement.heating;
    let index = match heating.index_at(at_ms) {
        Some(index) => index,
        None if segmentation.bounds.pull_known && at_ms >= segmentation.bounds.pull_ms => {
            heating.len().checked_sub(1)?
        }
        None => return None,
    };
    heating.observed[index].then_some(heating.core_c[index])
}
