//! Where the water of one piece of meat is: what can reach its surface, what lies in the wrap,
//! what has dripped and what has gone into the air. Kilograms per square metre of surface.

use crate::meat::Meat;
use crate::wrapping::WrapEffect;

/// Juice is pressed out and fat renders while the meat's mean goes through this span, °C
/// (common practice, no source).
const DRIP_FROM_C: f64 = 50.0;
const DRIP_UNTIL_C: f64 = 90.0;
/// Share of the drip that wets the surface on its way; the rest falls off or is fat (set by
/// eye).
const DRIP_TO_SURFACE: f64 = 0.3;
/// Moisture share at which the surface is about half as wet (set by eye).
const HALF_WET: f64 = 0.12;

/// The water of one piece of meat, and its drip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Moisture {
    /// What can reach the surface at first.
    supply: f64,
    /// What still can.
    left: f64,
    /// Liquid in a wrap that holds it.
    in_wrap: f64,
    /// All drip when fully cooked.
    drip: f64,
    /// Share of it that is out.
    dripped: f64,
    /// What the meat has lost but for evaporation: run-off, and drip that did not stay.
    lost: f64,
    /// Evaporated from the meat (not from liquid in a wrap); dew taken off.
    evaporated: f64,
    /// Sprayed on.
    sprayed: f64,
}

impl Moisture {
    pub(crate) fn new(meat: &Meat) -> Self {
        Self {
            supply: meat.surface_moisture,
            left: meat.surface_moisture,
            in_wrap: 0.0,
            drip: meat.drip_share * meat.weight.value() / meat.surface_m2(),
            dripped: 0.0,
            lost: 0.0,
            evaporated: 0.0,
            sprayed: 0.0,
        }
    }

    /// Share of the first supply that can still reach the surface, 0–1.
    pub(crate) fn share_left(&self) -> f64 {
        if self.supply > 0.0 { (self.left / self.supply).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Whether any liquid is at the surface.
    pub(crate) fn is_wet(&self) -> bool {
        self.left > 0.0 || self.in_wrap > 0.0
    }

    /// How wet the surface is against one that has lost nothing: nearly as wet until most of
    /// the supply is gone, and as wet as at first under liquid in the wrap.
    pub(crate) fn wetness(&self) -> f64 {
        if self.in_wrap > 0.0 {
            return 1.0;
        }
        let left = self.share_left();
        left * (1.0 + HALF_WET) / (left + HALF_WET)
    }

    /// Water leaves the surface (below zero: dew forms).
    pub(crate) fn evaporate(&mut self, water: f64) {
        let from_wrap = water.clamp(0.0, self.in_wrap);
        self.in_wrap -= from_wrap;
        let from_meat = water - from_wrap;
        self.evaporated += from_meat;
        // The last step may overdraw by what it evaporated beyond the supply.
        self.left = (self.left - from_meat).max(0.0);
    }

    /// Drip and run-off over a step in which the meat's mean was at most `hottest_mean_c`.
    pub(crate) fn drip(&mut self, hottest_mean_c: f64, wrap: WrapEffect, step_s: f64) {
        let cooked =
            ((hottest_mean_c - DRIP_FROM_C) / (DRIP_UNTIL_C - DRIP_FROM_C)).clamp(0.0, 1.0);
        let juice = self.drip * (cooked - self.dripped).max(0.0);
        self.dripped = self.dripped.max(cooked);
        self.left += DRIP_TO_SURFACE * juice;
        let falls = (1.0 - DRIP_TO_SURFACE) * juice;
        let runs = self.left * (wrap.runoff_per_h * step_s / 3_600.0).min(1.0);
        self.left -= runs;
        self.lost += falls + runs;
        if wrap.holds_liquid {
            self.in_wrap += falls + runs;
        }
    }

    /// A wrap is put on, changed or taken off: what was in it is gone.
    pub(crate) fn rewrap(&mut self) {
        self.in_wrap = 0.0;
    }

    /// Water is sprayed on.
    pub(crate) fn spray(&mut self, water: f64) {
        self.left += water;
        self.sprayed += water;
    }

    /// What has evaporated from the meat, without what boiled out of a wrap.
    pub(crate) fn evaporated(&self) -> f64 {
        self.evaporated
    }

    /// What the meat has lost in all.
    pub(crate) fn lost(&self) -> f64 {
        self.evaporated + self.lost - self.sprayed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wrapping;
    use cook::{Kilograms, WrapMethod};

    #[test]
    fn wetness_falls_from_one_to_nothing() {
        let mut moisture = Moisture::new(&Meat::brisket(Kilograms(5.5)));
        let supply = moisture.supply;
        assert!((moisture.wetness() - 1.0).abs() < 1e-12);
        moisture.evaporate(0.5 * supply);
        assert!(moisture.wetness() > 0.5);
        moisture.evaporate(supply);
        assert!(moisture.wetness().abs() < 1e-12 && !moisture.is_wet());
    }

    #[test]
    fn no_water_is_lost_from_sight() {
        let meat = Meat::brisket(Kilograms(5.5));
        let foil = wrapping::effect(&WrapMethod::Foil);
        let mut moisture = Moisture::new(&meat);
        moisture.spray(0.1);
        moisture.evaporate(2.0);
        let mut boiled = 0.0;
        for step in 0..360 {
            moisture.drip(50.0 + 0.1 * f64::from(step), foil, 20.0);
            moisture.evaporate(0.001);
            boiled += 0.001;
        }
        // What there was, less what is still there, is what went.
        let there = moisture.left + moisture.drip * (1.0 - moisture.dripped);
        let first = moisture.supply + moisture.drip;
        assert!((first - there - moisture.lost()).abs() < 1e-9);
        assert!(moisture.in_wrap > 0.0 && boiled > 0.3);
        moisture.rewrap();
        assert_eq!(moisture.in_wrap, 0.0);
    }

    #[test]
    fn drip_wets_the_surface_once() {
        let mut moisture = Moisture::new(&Meat::brisket(Kilograms(5.5)));
        let none = wrapping::effect(&WrapMethod::None);
        moisture.evaporate(3.0);
        let before = moisture.left;
        moisture.drip(95.0, none, 20.0);
        let after = moisture.left;
        assert!((after - before - DRIP_TO_SURFACE * moisture.drip).abs() < 1e-12);
        moisture.drip(95.0, none, 20.0);
        assert_eq!(moisture.left, after);
    }
}
