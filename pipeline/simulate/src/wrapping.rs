//! What each wrap does to heat and water at the surface.

use cook::WrapMethod;

/// Factors on the unwrapped surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WrapEffect {
    /// Factor on evaporation.
    pub evaporation: f64,
    /// Factor on convection and radiation.
    pub heating: f64,
    /// Share of the surface's moisture that runs off into the wrap, per hour.
    pub runoff_per_h: f64,
}

/// The effect of a wrap. Set so that foil ends a stall within about half an hour and paper
/// shortens it without ending it at once: common practice, no source. A wrap in another
/// material is taken as paper.
pub fn effect(method: &WrapMethod) -> WrapEffect {
    match method {
        WrapMethod::None => WrapEffect { evaporation: 1.0, heating: 1.0, runoff_per_h: 0.0 },
        WrapMethod::Paper | WrapMethod::Other(_) => {
            WrapEffect { evaporation: 0.32, heating: 0.92, runoff_per_h: 0.10 }
        }
        WrapMethod::Boat => WrapEffect { evaporation: 0.45, heating: 0.97, runoff_per_h: 0.12 },
        WrapMethod::Foil => WrapEffect { evaporation: 0.03, heating: 0.95, runoff_per_h: 0.10 },
    }
}
