//! The passes over a log's rows, in order.

use super::{
    book, direction, doubles, first_day, footer, instants, jumps, never_set, put_on, readings,
    restart, roles, scale, sentinels, tails, unit, usable, zero,
};
use crate::error::IngestError;
use crate::log::finding::Findings;
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;

/// A pass: settles one thing in the rows by the plan, and says what it found.
enum Pass {
    /// It always can.
    Sure(fn(&Plan<'_>, &mut Rows<'_>) -> Findings),
    /// It refuses the log where only the user can tell, or where the log contradicts itself.
    OrRefuse(fn(&Plan<'_>, &mut Rows<'_>) -> Result<Findings, IngestError>),
}

use Pass::{OrRefuse, Sure};

/// Every pass with its name, and why it stands where it does.
const PASSES: [(&str, Pass); 18] = [
    // Before all others: while °C and °F are open, no value can be judged by its neighbours.
    ("unit", OrRefuse(unit::settle)),
    // Before what compares values, since a number that lost its end is another number; and while
    // rows stand as in the file, for it looks at the lines above and below.
    ("tails", Sure(tails::settle)),
    // Behind the pass over all lines, since what follows the last row is known only then; before
    // whatever reads remarks, since a footer may hold them.
    ("footer", Sure(footer::settle)),
    // Behind the cut cells, which would count as neighbours; before times are touched, as
    // neighbours are those of the file.
    ("sentinels", Sure(sentinels::settle)),
    // Behind all that looks at neighbouring lines; before whatever follows a clock.
    ("direction", Sure(direction::settle)),
    // The three that say what written times count from; a log has one of them. They follow the
    // clock from line to line, and the zone can be asked of dated times only.
    ("first day", OrRefuse(first_day::settle)),
    ("never set", OrRefuse(never_set::settle)),
    ("zero", OrRefuse(zero::settle)),
    // Before rows are put in order, which would hide where a second log begins.
    ("restart", OrRefuse(restart::settle)),
    // Behind all that changes written times.
    ("instants", OrRefuse(instants::settle)),
    // Behind the zone, since the hour that a clock goes back in autumn is no jump.
    ("jumps", OrRefuse(jumps::settle)),
    // Behind the jumps back, which leave rows in one order of time.
    ("put on", OrRefuse(put_on::settle)),
    // Behind all that moves rows in time: only then is it known which tell one time twice.
    ("doubles", Sure(doubles::settle)),
    // Behind the last pass that rejects rows or cells.
    ("book", Sure(book::settle)),
    // Behind the book, which counts the cells of the rows that are emptied here.
    ("readings", Sure(readings::settle)),
    // Behind the readings, which know each channel's unit; before roles, which hang on degrees.
    ("scale", Sure(scale::settle)),
    // Behind the readings, since roles are shown by courses in time.
    ("roles", Sure(roles::settle)),
    // Last, since it judges what is left.
    ("usable", OrRefuse(usable::settle)),
];

/// Runs the passes.
///
/// # Errors
/// Of the first pass that refuses the log.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let mut findings = Findings::default();
    for (name, pass) in PASSES {
        findings.extend(match pass {
            Sure(pass) => pass(plan, rows),
            OrRefuse(pass) => pass(plan, rows)?,
        });
        debug_assert!(rows.every_line_is_booked(), "`{name}` lost a line: {}", rows.account);
    }
    Ok(findings)
}
