//! The Python package: cooks in and out as Arrow tables.
//!
//! This is the border and nothing more: what a function computes stands in `ingest`, `rows`, `study`, `outlook`,
//! `simulate` and `store`. Whatever has `__arrow_c_stream__` goes in, and what comes out has it too. While something is
//! computed the interpreter is free for others, and an interrupt ends it between two cooks.
//!
//! | module | its one job |
//! |---|---|
//! | `given` | Python's tables as the workspace's |
//! | `table` | the workspace's tables as Python's |
//! | `cards` | cards and events, refused where a season sheet would refuse them |
//! | `errors` | errors as exceptions with file, line and column |
//! | `logs` | one log, read |
//! | `cooks` | a season's cooks; their rows from batches of readings |
//! | `study` | questions asked of the measures |
//! | `simulated` | simulated cooks, to try things on |
//! | `forecast` | when cooks that are on will be done |

mod cards;
mod cooks;
mod errors;
mod forecast;
mod given;
mod logs;
mod simulated;
mod study;
mod table;

use pyo3::prelude::*;

/// What `cookstudy` is made of.
#[pymodule(gil_used = true)]
mod _cookstudy {
    #[pymodule_export]
    use super::cooks::Cooks;
    #[pymodule_export]
    use super::forecast::forecast;
    #[pymodule_export]
    use super::logs::read_log;
    #[pymodule_export]
    use super::simulated::simulate;
    #[pymodule_export]
    use super::study::studied;
    #[pymodule_export]
    use super::table::Table;
}

/// Runs something long on a thread of its own and looks for an interrupt meanwhile. One that comes leaves the
/// thread to finish for itself.
fn interruptibly<T: Send + 'static>(
    py: Python<'_>,
    work: impl FnOnce() -> T + Send + 'static,
) -> PyResult<T> {
    use std::time::Duration;
    let thread = std::thread::spawn(work);
    let mut wait = Duration::from_millis(1);
    while !thread.is_finished() {
        py.detach(|| std::thread::sleep(wait));
        py.check_signals()?;
        wait = (2 * wait).min(Duration::from_millis(50));
    }
    thread.join().map_err(|panic| errors::fault(&errors::said(&*panic)))
}
