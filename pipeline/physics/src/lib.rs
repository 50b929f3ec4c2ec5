//! Formulas of heat, water and air that the pipeline needs.
//!
//! Everything here is a plain function or a small table of constants from a named source;
//! nothing is fitted to cooks. Temperatures are [`cook::Celsius`], altitudes
//! [`cook::Metres`]; other quantities are `f64` in the SI unit that the name or the
//! documentation says (Pa, J/kg, W/(m·K), kg/m³, J/(kg·K)).
//!
//! - [`water`]: saturation pressure, latent heat, boiling point.
//! - [`air`]: pressure at altitude, vapour pressure of humid air, evaporation from a wet surface.
//! - [`food`]: thermal properties of food from its composition.
//! - [`conduction`]: exact series for a slab and a cylinder in convection.
//! - [`wet_bulb`]: wet bulb and dew point of a pit's air.
//! - [`lethality`]: decimal reductions that a temperature history adds up to.
//! - [`exposure`]: how long a temperature history spends where.

pub mod air;
pub mod bessel;
pub mod conduction;
pub mod error;
pub mod exposure;
pub mod food;
pub mod lethality;
pub mod water;
pub mod wet_bulb;

pub use conduction::{ConductionSeries, Shape};
pub use error::PhysicsError;
pub use food::{Component, Composition, Transition};
pub use lethality::{HistoryPoint, LogLinearDeath};
