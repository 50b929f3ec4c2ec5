//! Logs that have their newest line first.

use crate::log::finding::{Finding, Findings};
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;

/// Whether rows stand newest first: most steps go back, and the first row is the latest.
fn newest_first(ms: &[i64]) -> bool {
    let down = ms.windows(2).filter(|pair| pair[1] < pair[0]).count();
    let up = ms.windows(2).filter(|pair| pair[1] > pair[0]).count();
    ms.len() >= 3 && down > 0 && down * 10 >= (down + up) * 9
}

/// Turns such a log round.
pub(crate) fn settle(_plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let newest = rows.series.iter_mut().filter(|series| newest_first(&series.ms));
    let turned = newest.map(Series::reverse).count();
    if turned > 0 { Finding::NewestFirst.into() } else { Findings::default() }
}
