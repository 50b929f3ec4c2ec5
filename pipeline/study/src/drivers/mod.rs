//! What goes with a long stall: weight, pit and wrap.
//!
//! # What is asked
//! Stall delay of every judged cook, stall length of every judged cook, and stall length of
//! those that stalled, each against the weight (trimmed; raw for all cooks where more than half of
//! the weighed ones have no trimmed weight), against the early pit temperature, against the wrap method, and against all three together. Outcomes stay in
//! minutes; effects are per kilogram, per 5 °C, and against the first wrap method in sorted
//! order, with 95 % intervals. Cooks whose outcome is a lower bound make the model the
//! censored Gaussian one, else it is least squares; intervals allow for shared fires.
//!
//! # What it is not
//! These are associations over one team's cooks, not effects of changing one thing. Wrap
//! methods are described, not compared: who wraps, and when, is decided by what the meat
//! does. Stall length among cooks that stalled is a selected group; stall length of all
//! holds zeros, so its line is a description of the average alone. Stall delay follows the
//! heat lost to evaporation most closely, though its reference heating coefficient already
//! carries thickness and early evaporation.

mod fit;
mod types;

pub use fit::drivers;
pub use types::{
    Contrasts, CookSet, Driver, DriverEffect, DriverLine, JointModel, LinePoint, Point,
};

#[cfg(test)]
mod tests;
