//! What goes with a long stall: weight, pit and wrap.
//!
//! # What is asked
//! Stall delay of every judged cook, stall length of every judged cook, stall length of those that
//! stalled, and time to finish, each against the weight (trimmed; raw for all cooks where more than
//! half of the weighed ones have no trimmed weight), the early pit temperature, the thickness and
//! the pit's unsteadiness one by one, against the wrap method, and against weight, pit and wrap
//! together; then every other column of the sheet beside weight and pit. Whether a cook stalled at
//! all is asked by logistic regression.
//!
//! Outcomes stay in minutes; effects are per kilogram, per 5 °C, per 10 mm, and against the first
//! level in sorted order, with 95 % intervals. Cooks whose outcome is a lower bound make the model
//! the censored Gaussian one, else it is least squares; intervals are clustered by fire. The joint
//! model comes with random intercepts of fire and pit as well, with few pits as fixed effects, with
//! checks of its residuals, and with the cooks that move it most. Where a line will not do, a
//! restricted cubic spline is drawn.
//!
//! # What it is not
//! These are associations over one team's cooks, not effects of changing one thing. Wrap
//! methods are described, not compared: who wraps, and when, is decided by what the meat
//! does. Stall length among cooks that stalled is a selected group; stall length of all
//! holds zeros, so its line is a description of the average alone. Stall delay follows the
//! heat lost to evaporation most closely, though its reference heating coefficient already
//! carries thickness and early evaporation.

mod checks;
mod fit;
mod further;
mod whether;

pub use fit::drivers;
pub(crate) use fit::{keep_common_levels, step, too_few_levels, weight};

use crate::error::StudyError;
use crate::result::driver::WhetherStalled;
use crate::table::MeasureTable;

/// Whether cooks stalled at all, against weight and pit; `None` where the table does not say.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn whether_stalled(table: &MeasureTable) -> Result<Option<WhetherStalled>, StudyError> {
    whether::whether_stalled(&fit::Inputs::read(table)?)
}

#[cfg(test)]
mod tests;
