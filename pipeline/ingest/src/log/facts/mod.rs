//! Grid to facts: what the log itself shows. Nothing here knows a season's settings, so that a
//! fact is the same whoever reads the log; what follows from facts is decided in the plan.

pub(crate) mod dates;
pub(crate) mod head;
pub(crate) mod marks;
pub(crate) mod names;
pub(crate) mod preamble;
