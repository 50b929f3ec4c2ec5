//! The columns of the store's tables: those that no other module lists, and all by table.

use crate::{Description, card, degrees, history, measures};

mod derived;
mod ingested;

pub use derived::{channels, flags, moved, moved_history, phases, warnings};
pub use ingested::{cooks, events, readings, rejected, scores, sources};

/// Hash of all that a row was computed from, in every derived table.
pub const COMPUTED_FROM: Description =
    crate::describe::plain("Computed from", "Hash of all that the row was computed from.")
        .of("computed_from", crate::Kind::Text);

/// The name of the table of readings, which is split into files.
pub const READINGS: &str = "readings";

/// Every table of the store with its columns in order; `cooks` and `measures` have a team's scores
/// and own columns besides.
pub fn all() -> Vec<(&'static str, Vec<Description>)> {
    let card = card::FIELDS.iter().map(|field| field.column);
    let measures = measures::columns().chain([COMPUTED_FROM]);
    let history = history::ALL.iter().copied().chain([COMPUTED_FROM]);
    let degrees = degrees::ALL.iter().copied().chain([COMPUTED_FROM]);
    vec![
        (READINGS, readings::ALL.to_vec()),
        ("cooks", card.chain(cooks::ALL.iter().copied()).collect()),
        ("events", events::ALL.to_vec()),
        ("scores", scores::ALL.to_vec()),
        ("rejected", rejected::ALL.to_vec()),
        ("sources", sources::ALL.to_vec()),
        ("phases", phases::ALL.to_vec()),
        ("flags", flags::ALL.to_vec()),
        ("channels", channels::ALL.to_vec()),
        ("warnings", warnings::ALL.to_vec()),
        ("measures", measures.collect()),
        ("history", history.collect()),
        ("degrees", degrees.collect()),
        ("moved", moved::ALL.to_vec()),
        ("moved_history", moved_history::ALL.to_vec()),
    ]
}
