//! Trials that are looked at before they end.
//!
//! Who tests again and again at the same level is wrong more often than that level says. A spending
//! function ([`Spending`]) says before the first look how much of the error each look may use up, by
//! the share of the planned information that it has: [`spending_boundary`] turns it into boundaries for
//! statistics that are normal, as a design assumes; [`SequentialTest`] needs no such thing and takes
//! its boundaries from the lots themselves, whatever the outcomes are distributed like.
//!
//! | Item | What it gives | Source |
//! |---|---|---|
//! | [`Spending`] | error used up by a share of the information | Lan & `DeMets` 1983 |
//! | [`spending_boundary`], [`shaped_boundary`] | boundaries of normal statistics | Armitage, `McPherson` & Rowe 1969; Pocock 1977; O'Brien & Fleming 1979 |
//! | [`crossing`] | chance to cross a boundary by each look, under any drift | Jennison & Turnbull 2000, chapter 19 |
//! | [`SequentialTest`] | a randomisation test at each look, and repeated confidence intervals | Fisher 1935; Jennison & Turnbull 1989 |
//! | [`SequentialTest::after_stop`] | median-unbiased estimate and interval of a trial that has stopped | Fairbanks & Madsen 1982; Tsiatis, Rosner & Mehta 1984 |

mod after_stop;
mod boundary;
mod lots;
mod test;
#[cfg(test)]
mod tests;

pub use after_stop::AfterStop;
pub use boundary::{Shape, Spending, crossing, shaped_boundary, spending_boundary};
pub use lots::{Member, Unit};
pub use test::{Look, SequentialTest, Side};
