//! Plans, forecasts and trials: when to light the fire, when a cook will be done, what a wrap would change,
//! and lots that settle it.
//!
//! A forecast stands on past cooks at moments that were like the one asked about: core, wrap, time
//! above 60 °C and pace. The hours they had to go are regressed on what was known then, each cook with
//! one vote, slopes held to Newton's law of heating; the errors of that regression, each cook foretold
//! without its own fire, give the range. With few cooks of one's own the bundled simulated ones stand
//! in, together with ten votes.
//!
//! What is forecast is a temperature, neither tenderness nor that food is fit to eat.
//!
//! | module | its one job |
//! |---|---|
//! | [`course`] | one cook on a grid, each value from what came before it |
//! | `moment` | what is known at one moment |
//! | [`past`] | past cooks as moments to stand beside |
//! | `local` | the regression about one moment, and its range |
//! | [`mod@forecast`] | an ask and its answer |
//! | [`bundle`] | how the bundled past is simulated |
//! | [`plan`] | when to put it on |
//! | [`prior`] | the bundled past, embedded |
//! | [`simulated`] | simulated cooks as courses |
//! | `backtest` | how good forecasts would have been on the team's own past |
//! | `after` | from the finish to the target and the pull |
//! | [`trial`] | lots: how many it takes, the draw, the looks |
//! | [`typed`] | a cook from readings typed by hand |
//! | [`wrap`] | wraps as far as they differ in pace |

mod after;
mod backtest;
pub mod bundle;
pub mod course;
pub mod error;
pub mod forecast;
mod local;
mod moment;
pub mod past;
pub mod plan;
pub mod prior;
pub mod simulated;
pub mod trial;
pub mod typed;
pub mod wrap;

pub use course::{About, Course, Followed};
pub use error::OutlookError;
pub use forecast::{Answer, Ask, Basis, Effect, WhatIf, forecast, later, what_if};
pub use local::{Counted, Range};
pub use moment::PlannedWrap;
pub use past::Past;
pub use plan::{Hours, Planned};
pub use typed::Typed;
pub use wrap::WrapClass;
