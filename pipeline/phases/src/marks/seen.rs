//! What the curves show of a cook's marks, whatever the sheets say of them.

use super::{in_log, pull};
use crate::clean::{dips, lid};
use crate::samples::Samples;

/// A lid that opens this near to a dip of the core is the same hand's work, ms (10 min); common
/// practice, no source.
const SAME_MS: i64 = 600_000;

/// Instants that a cook's curves show, ms UTC.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SeenMarks {
    /// The meat goes on: the probe goes from air into raw meat, or the lid opens over a core that
    /// warms after.
    pub meat_on_ms: Option<i64>,
    /// A core that begins raw has begun to rise.
    pub rises_ms: Option<i64>,
    /// The meat comes off.
    pub pull_ms: Option<i64>,
    /// The lid opens, or the core dips; in order.
    pub opened_ms: Vec<i64>,
    /// The lid opens and the core dips: hands are at the meat. In order.
    pub handled_ms: Vec<i64>,
}

/// Looks for the marks in `core` and `pit` alone (empty where there is none): usable readings of the
/// lead meat channel and the pit.
pub fn seen_marks(core: Samples<'_>, pit: Samples<'_>) -> SeenMarks {
    let Some(&start_ms) = core.at_ms.first() else { return SeenMarks::default() };
    let meat_on_ms = in_log::meat_on(core, pit)
        .map(|seen| seen.at_ms)
        .or_else(|| in_log::slow_fall_to_raw(core, pit));
    let mut dips_found = Vec::new();
    dips::bridge(core, &[], &mut dips_found);
    let dips_ms: Vec<i64> = dips_found.iter().map(|dip| dip.start_ms).collect();
    let falls_ms: Vec<i64> = lid::falls(pit).iter().map(|(lid, _)| lid.start_ms).collect();
    let is_handled = |dip: &i64| falls_ms.iter().any(|lid| (lid - dip).abs() <= SAME_MS);
    let handled_ms = dips_ms.iter().copied().filter(is_handled).collect();
    let mut opened_ms: Vec<i64> = dips_ms.into_iter().chain(falls_ms.iter().copied()).collect();
    opened_ms.sort_unstable();
    SeenMarks {
        meat_on_ms,
        rises_ms: in_log::rises(core),
        pull_ms: pull::pull(core, pit, meat_on_ms.unwrap_or(start_ms)).map(|seen| seen.at_ms),
        opened_ms,
        handled_ms,
    }
}
