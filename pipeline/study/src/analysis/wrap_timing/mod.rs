//! Why a claim about wrap timing is refused.

use crate::error::StudyError;
use crate::rows::Rows;
use crate::table::MeasureTable;
use cook::WrapMethod;

/// How the cooks that are not excluded were wrapped.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct WrapCounts {
    timed: usize,
    unwrapped: usize,
    untimed: usize,
    unstated: usize,
}

fn count(table: &MeasureTable) -> Result<WrapCounts, StudyError> {
    let methods = table.texts_or_missing("wrap_method")?;
    let times = table.numbers_or_missing("clock_to_wrap_min")?;
    let known = if table.has("wrap_time_known") {
        table.flags("wrap_time_known")?
    } else {
        vec![None; table.len()]
    };
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    let mut counts = WrapCounts::default();
    for &row in &rows.used {
        let method = methods[row].as_deref().and_then(WrapMethod::parse);
        let timed = known[row].unwrap_or(times[row].is_some());
        match method {
            Some(WrapMethod::None) => counts.unwrapped += 1,
            Some(_) if timed => counts.timed += 1,
            Some(_) => counts.untimed += 1,
            // A wrap on the clock is a wrap, even where nobody wrote down in what.
            None if times[row].is_some() => counts.timed += 1,
            None => counts.unstated += 1,
        }
    }
    Ok(counts)
}

/// The reason in words.
pub(super) fn refusal(table: &MeasureTable) -> Result<String, StudyError> {
    let WrapCounts { timed, unwrapped, untimed, unstated } = count(table)?;
    Ok(format!(
        "this version does not estimate what wrap timing does. Cooks that are not excluded: {timed} \
         wrapped at a known time, {unwrapped} not wrapped, {untimed} wrapped at an unknown time, \
         {unstated} that do not say. To set wrapped cooks against others as they stand would \
         mislead: a cook has to last until its wrap to count as wrapped, so quick cooks gather \
         among the unwrapped (immortal time), and meat that stalls long is wrapped more often"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use polars::df;

    #[test]
    fn wraps_are_counted_by_what_is_known() {
        let frame = df!(
            "cook" => ["a", "b", "c", "d", "e", "f"],
            "wrap_method" => [Some("foil"), Some("paper"), Some("none"), None, None, Some("foil")],
            "clock_to_wrap_min" => [Some(10.0), None, None, None, Some(5.0), Some(0.0)],
            "wrap_time_known" => [Some(true), Some(false), None, None, Some(true), Some(true)],
            "exclude" => [None, None, None, None, None, Some("pit lid left open")],
        )
        .unwrap();
        let table = MeasureTable::new(&frame).unwrap();
        assert_eq!(
            count(&table).unwrap(),
            WrapCounts { timed: 2, unwrapped: 1, untimed: 1, unstated: 1 }
        );
        let reason = refusal(&table).unwrap();
        assert!(
            reason.contains("2 wrapped at a known time, 1 not wrapped, 1 wrapped at an unknown")
        );
        assert!(reason.contains("immortal time"));
    }
}
