//! Logs of one layout tell each other the order of day and month.
//!
//! Most logs need nobody's word: it is asked only where a log's own dates and the sheet's
//! leave the order open, and then all logs are read once for what their dates prove.

use cook::Question;
use ingest::{IngestError, Log, LogFile, ReadOptions, SiblingOrders};
use rayon::prelude::*;

/// What a log was read as, and whether its order of day and month is its siblings'.
pub(crate) struct SiblingReading {
    pub(crate) log: Log,
    pub(crate) by_siblings: bool,
}

/// Reads a log; where only the order of day and month is open, in the order that all logs of
/// its layout prove that prove one.
pub(crate) fn read(
    file: &LogFile,
    options: &ReadOptions,
    orders: Option<&SiblingOrders>,
) -> Result<SiblingReading, IngestError> {
    let bytes = file.read()?;
    let error = match bytes.read_log(&file.shown_as, options) {
        Ok(log) => return Ok(SiblingReading { log, by_siblings: false }),
        Err(error) => error,
    };
    let order = orders
        .filter(|_| error.asks_date_order())
        .and_then(|orders| orders.of(&ingest::log_kind(&bytes.bytes, &file.shown_as, options)?));
    let Some(order) = order else { return Err(error) };
    let options = ReadOptions { sibling_order: Some(order), ..options.clone() };
    Ok(SiblingReading { log: bytes.read_log(&file.shown_as, &options)?, by_siblings: true })
}

/// What a log that waits for an answer will ask once it has it; asked at once, it is answered at once.
pub(crate) fn further(file: &LogFile, options: &ReadOptions, error: &IngestError) -> Vec<Question> {
    // The order of day and month may yet be told by other logs.
    if !error.needs_answer() || error.asks_date_order() {
        return Vec::new();
    }
    let bytes = file.read().map(|read| read.bytes).unwrap_or_default();
    ingest::further_questions(&bytes, &file.shown_as, options)
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
