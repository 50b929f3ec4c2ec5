//! Trials: lots that settle a claim.
//!
//! Two meats on one fire, one of each arm, differ by what was drawn and by chance within a fire alone; the
//! weather, the wood and the hand are the same for both. The rules stand here and are the same for every trial;
//! [`RULES`] is their number, which a trial keeps from before its first lot:
//!
//! - **As drawn.** A cook counts for the arm that its lot said, whatever was done. What was done stands beside
//!   it, with each crossing named.
//! - **A lost log, a cook without its outcome.** Its pair says nothing and is left out; a block goes on with the others.
//!   Left out are lots, never outcomes: a card's `exclude` leaves no drawn cook out.
//! - **An unfinished cook** counts by what is known: longer than a partner that finished sooner; against one
//!   that took longer it says nothing.
//! - **A lot never cooked** is lost once later lots were cooked. With more than one pair or block in five lost, and
//!   two at least, the trial decides nothing.
//! - **A look** is taken at the planned numbers of pairs or blocks, once, and its outcomes are kept as they were.
//!   Between looks nothing is told.
//! - **It stops** for `yes` (all of the interval beyond what matters), for `reverse`, and for
//!   `too-small-to-matter`; otherwise it goes on to the last look.

mod design;
mod draw;
mod look;
#[cfg(test)]
mod tests;

pub use design::{
    LARGEST, Offer, Rehearsal, Variation, alpha, fewest, heavy_from_kg, looks, offer, rehearse,
    variation,
};
pub use draw::{Kept, Key, Wanted, check, draw, head, seal};
pub use look::{Looked, look, untold};

/// The number of the rules by which trials are judged, raised when a verdict could change.
pub const RULES: u32 = 1;

/// Share of pairs or blocks beyond which too many are lost.
const MOST_LOST: f64 = 0.2;
