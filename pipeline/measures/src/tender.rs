//! Between which core temperatures the probe tests found the meat to become tender.
//!
//! Each cook gives an interval: above the core at the last test that found it not tender, up to the
//! core at the first test after it that found it tender. Where the first test found it tender only
//! the upper end is known, where no test did only the lower one.

use crate::measure::MeasureInput;
use columns::measures::Measures;
use cook::{Event, EventKind};
use phases::Segmentation;

/// A test this long after the pull is still told by the core at the pull, ms (10 min): the hand
/// that tests is the one that pulls. Common practice, no source.
const AT_THE_PULL_MS: i64 = 600_000;

/// Adds the interval, or why there is none.
pub(crate) fn add(row: &mut Measures, input: &MeasureInput, segmentation: Option<&Segmentation>) {
    let mut tests: Vec<(i64, bool)> = input.events.iter().filter_map(test).collect();
    tests.sort_unstable();
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
    // A place that was found tender before another one was not does not make the meat tender.
    let last_not = tests.iter().rposition(|(_, tender)| !tender);
    let first_tender = tests.get(last_not.map_or(0, |last| last + 1));
    let core = |(at_ms, _): &(i64, bool)| core_at(segmentation, *at_ms);
    let above = last_not.and_then(|last| core(&tests[last]));
    let by = first_tender.and_then(core);
    match (above, by) {
        (None, None) => row.tender_reason = reason("core-not-known"),
        (Some(above), Some(by)) if above > by => row.tender_reason = reason("core-fell-between"),
        _ => (row.tender_above_c, row.tender_by_c) = (above, by),
    }
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
