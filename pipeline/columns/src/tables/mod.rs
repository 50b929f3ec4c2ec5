//! The columns of the store's other tables.

mod derived;
mod ingested;

pub use derived::{channels, flags, phases, warnings};
pub use ingested::{cooks, events, readings, rejected, sources};

/// Hash of all that a row was computed from, in every derived table.
pub const COMPUTED_FROM: crate::Description =
    crate::describe::plain("Computed from", "Hash of all that the row was computed from.")
        .of("computed_from", crate::Kind::Text);
