//! `forecast` and `plan`: what a team's past says of a cook that is on, and of one to come.

mod asked;
mod backtest;
mod forecast;
mod page;
mod past;
mod plan;
mod rows;
mod told;
mod typed;
mod words;

pub(crate) use backtest::{backtest, forecasts_from, kept_in};
pub use forecast::{ForecastRequest, ForecastSummary, forecast};
pub use plan::{PlanRequest, PlanSummary, plan};
pub use typed::TypedReadings;

use crate::error::StageError;

/// From the pull to the slice at least, min. Common practice, no source.
const REST_MIN: f64 = 60.0;
/// What stands under every forecast and plan.
const CAUTION: &str = "A core temperature is forecast, neither tenderness nor that the food is fit to eat: feel it with a probe, and keep to your local food code for holding and serving.";

/// The file of the bundled past, simulated anew: what `outlook` embeds.
///
/// # Errors
/// None that its fixed settings could lead to.
pub fn bundled_prior() -> Result<Vec<u8>, StageError> {
    outlook::prior::make_bundled().map_err(|error| words::usage(error.to_string()))
}
