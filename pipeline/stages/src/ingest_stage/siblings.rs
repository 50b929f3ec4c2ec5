//! Logs of one layout tell each other the order of day and month, and the unit.
//!
//! Most logs need nobody's word: it is asked only where a log leaves one of them open, and then all
//! logs are read once for what they prove.

use cook::Question;
use ingest::{IngestError, Log, LogFile, ReadOptions, SiblingOrders};
use rayon::prelude::*;

/// What a log was read as, and whether its order of day and month is its siblings'.
pub(crate) struct SiblingReading {
    pub(crate) log: Log,
    pub(crate) by_siblings: bool,
}

/// Reads a log; where the order of day and month or the unit is open, by what all logs of its layout
/// prove that prove one.
pub(crate) fn read(
    file: &LogFile,
    options: &ReadOptions,
    orders: Option<&SiblingOrders>,
) -> Result<SiblingReading, IngestError> {
    let bytes = file.read()?;
    let error = match bytes.read_log(options) {
        Ok(log) => return Ok(SiblingReading { log, by_siblings: false }),
        Err(error) => error,
    };
    let Some(orders) = orders.filter(|_| error.asks_siblings()) else { return Err(error) };
    let kind = bytes.kind(options);
    let of_kind = kind.map(|kind| (orders.of(&kind), orders.unit_of(&kind)));
    let Some((sibling_order, sibling_unit)) = of_kind.filter(|known| *known != (None, None)) else {
        return Err(error);
    };
    let options = ReadOptions { sibling_order, sibling_unit, ..options.clone() };
    Ok(SiblingReading { log: bytes.read_log(&options)?, by_siblings: true })
}

/// What a log that waits for an answer will ask once it has it; asked at once, it is answered at once.
pub(crate) fn further(file: &LogFile, options: &ReadOptions, error: &IngestError) -> Vec<Question> {
    // The order of day and month may yet be told by other logs.
    if !error.needs_answer()
        || error.question().is_some_and(|q| q.code == cook::QuestionCode::DateOrder)
    {
        return Vec::new();
    }
    file.read().map_or(Vec::new(), |bytes| bytes.further_questions(options))
}

/// The orders that these logs prove by their own dates, by layout. One log at a time is held
/// by each core.
pub(crate) fn orders(files: &[LogFile], options: &ReadOptions) -> SiblingOrders {
    files
        .par_iter()
        .map(|file| {
            let mut orders = SiblingOrders::default();
            if let Ok(log) = file.read_log(options) {
                orders.add(&log);
            }
            orders
        })
        .reduce(SiblingOrders::default, SiblingOrders::join)
}
