//! What each wrap does to heat and water at the surface.

use cook::WrapMethod;

/// Factors on the unwrapped surface, and where its liquid goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WrapEffect {
    /// Factor on evaporation: what gets out through the wrap or its folds.
    pub evaporation: f64,
    /// Factor on convection.
    pub convection: f64,
    /// Factor on radiation.
    pub radiation: f64,
    /// Share of the surface's moisture that runs off into the wrap, per hour.
    pub runoff_per_h: f64,
    /// The wrap holds what runs off and drips against the meat, so the surface stays wet, and
    /// no hotter than boiling, until that is gone.
    pub holds_liquid: bool,
}

/// The word of a wrap that does nothing at all ([`WrapMethod::Other`] of it): where the truth of
/// wrapping has to be zero.
pub const SHAM: &str = "sham";

/// The effect of a wrap. Set so that foil ends a stall within about half an hour and paper
/// shortens it without ending it at once: common practice, no source. A wrap in another
/// material is taken as paper, but [`SHAM`] as none.
///
/// | wrap | what it does |
/// |---|---|
/// | none | nothing; juice drips away |
/// | paper | lets a third of the vapour through, soaks up moisture, takes a little heat |
/// | boat | foil below and around, open above: half the surface dries on, juice runs into the foil |
/// | foil | lets hardly any vapour out and reflects a quarter of the radiation; juice collects in it, boils at the place's boiling point and never goes above while it lasts |
///
/// A wrap that is taken off takes the juice in it along; the meat goes on drying with what
/// moisture it has left. Another wrap may follow.
pub fn effect(method: &WrapMethod) -> WrapEffect {
    match method {
        WrapMethod::Other(word) if word == SHAM => effect(&WrapMethod::None),
        WrapMethod::None => WrapEffect {
            evaporation: 1.0,
            convection: 1.0,
            radiation: 1.0,
            runoff_per_h: 0.0,
            holds_liquid: false,
        },
        WrapMethod::Paper | WrapMethod::Other(_) => WrapEffect {
            evaporation: 0.32,
            convection: 0.92,
            radiation: 0.92,
            runoff_per_h: 0.10,
            holds_liquid: false,
        },
        WrapMethod::Boat => WrapEffect {
            evaporation: 0.40,
            convection: 0.97,
            radiation: 0.85,
            runoff_per_h: 0.10,
            holds_liquid: false,
        },
        WrapMethod::Foil => WrapEffect {
            evaporation: 0.03,
            convection: 1.0,
            radiation: 0.75,
            runoff_per_h: 0.20,
            holds_liquid: true,
        },
    }
}
