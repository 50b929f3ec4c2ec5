//! Logs that have their newest line first.

use crate::log::finding::{Finding, Findings};
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;
use columns::Packed;

/// Whether rows stand newest first: most steps go back, and the first row is the latest.
fn newest_first(ms: &Packed<i64>) -> bool {
    let down = ms.pairs().filter(|(one, next)| next < one).count();
    let up = ms.pairs().filter(|(one, next)| next > one).count();
    ms.len() >= 3 && down > 0 && down * 10 >= (down + up) * 9
}

/// Turns such a log round.
pub(crate) fn settle(_plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let newest = rows.series.iter_mut().filter(|series| newest_first(&series.ms));
    let turned = newest.map(Series::reverse).count();
    if turned > 0 { Finding::NewestFirst.into() } else { Findings::default() }
}
