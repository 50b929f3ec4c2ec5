//! A piece of meat: size, composition, moisture, and how readily it dries.

use crate::error::{SimulateError, within};
use cook::{Celsius, Kilograms, Millimetres};
use physics::{Component, Composition, Shape};

/// Temperature at which the density is taken. Mass and volume stay fixed: no shrinking.
const DENSITY_AT: Celsius = Celsius(20.0);

/// A cut that the simulator knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cut {
    /// A whole trimmed brisket: a slab.
    Brisket,
    /// A chuck roast: a slab.
    Chuck,
    /// A pork shoulder: a cylinder.
    Shoulder,
}

impl Cut {
    /// The word in the sheet.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Brisket => "brisket",
            Self::Chuck => "chuck",
            Self::Shoulder => "shoulder",
        }
    }

    /// A piece of a weight with middling properties.
    pub fn meat(self, weight: Kilograms) -> Meat {
        match self {
            Self::Brisket => Meat::brisket(weight),
            Self::Chuck => Meat::chuck(weight),
            Self::Shoulder => Meat::shoulder(weight),
        }
    }
}

/// Which latent heats the meat takes up as it warms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LatentHeat {
    /// Fat melts ([`physics::Transition::FAT_MELTING`]) and sets again as it cools.
    pub fat_melting: bool,
    /// Collagen and the other proteins unfold, for good
    /// ([`physics::Transition::PROTEIN_DENATURATION`]).
    pub denaturation: bool,
}

impl LatentHeat {
    /// Both.
    pub const ALL: Self = Self { fat_melting: true, denaturation: true };
    /// Neither: specific heat alone.
    pub const NONE: Self = Self { fat_melting: false, denaturation: false };
}

/// A piece of meat as the simulator sees it: a slab (or cylinder) heated evenly from all
/// its faces, with a supply of water that can reach the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Meat {
    /// Slab or cylinder.
    pub shape: Shape,
    /// Weight as it goes on.
    pub weight: Kilograms,
    /// Effective thickness of the slab, or diameter of the cylinder. A real cut is heated
    /// from its edges too, so this is somewhat less than the ruler says.
    pub thickness: Millimetres,
    /// Mass fractions.
    pub composition: Composition,
    /// Latent heats that are counted.
    pub latent_heat: LatentHeat,
    /// Temperature throughout when it goes on.
    pub start: Celsius,
    /// Where the probe sits: 0 in the middle, 1 at the surface.
    pub probe_position: f64,
    /// Water that can reach a square metre of surface over the cook, kg/m².
    pub surface_moisture: f64,
    /// How a moist surface dries against a free water surface of the same temperature, 0–1:
    /// fat, rub and the first crust are in the way.
    pub wetness: f64,
    /// Share of the trimmed weight lost as juice and rendered fat when fully cooked.
    pub drip_share: f64,
    /// Softening needed to be probe-tender, in hours at 92 °C.
    pub tender_hours: f64,
}

impl Meat {
    /// A trimmed brisket of a weight with middling properties. The composition is round
    /// (64 % water, 19 % protein, 16 % fat, 1 % ash: no source); thickness goes with the
    /// cube root of weight, 82 mm at 5.5 kg; moisture and wetness are set so that the
    /// curves do what is common practice.
    pub fn brisket(weight: Kilograms) -> Self {
        let composition = Composition::new(0.64, 0.19, 0.16, 0.0, 0.01)
            .expect("the fractions are constants that add up to 1");
        // Bodies of one form: lengths, and so the water behind a square metre, go with the
        // cube root of weight.
        let scale = (weight.value() / 5.5).cbrt();
        Self {
            shape: Shape::Slab,
            weight,
            thickness: Millimetres(82.0 * scale),
            composition,
            latent_heat: LatentHeat::ALL,
            start: Celsius(5.0),
            probe_position: 0.05,
            surface_moisture: 9.6 * scale,
            wetness: 0.15,
            drip_share: 0.12,
            tender_hours: 1.0,
        }
    }

    /// A chuck roast of a weight: thicker than a brisket of its weight, 72 mm at 3 kg. Set by
    /// eye as [`Meat::brisket`] is.
    pub fn chuck(weight: Kilograms) -> Self {
        let scale = (weight.value() / 3.0).cbrt();
        Self {
            thickness: Millimetres(72.0 * scale),
            surface_moisture: 8.3 * scale,
            ..Self::brisket(weight)
        }
    }

    /// A boned pork shoulder of a weight, a cylinder of 130 mm at 3.8 kg. Set by eye as
    /// [`Meat::brisket`] is; water, protein, fat and ash are round numbers, no source.
    pub fn shoulder(weight: Kilograms) -> Self {
        let scale = (weight.value() / 3.8).cbrt();
        Self {
            shape: Shape::Cylinder,
            thickness: Millimetres(130.0 * scale),
            composition: Composition::new(0.65, 0.18, 0.16, 0.0, 0.01)
                .expect("the fractions are constants that add up to 1"),
            surface_moisture: 9.5 * scale,
            ..Self::brisket(weight)
        }
    }

    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        within("meat.weight (kg)", self.weight.value(), 0.05, 60.0)?;
        within("meat.thickness (mm)", self.thickness.value(), 5.0, 400.0)?;
        within("meat.start (°C)", self.start.value(), 0.0, 60.0)?;
        within("meat.probe_position", self.probe_position, 0.0, 0.95)?;
        within("meat.surface_moisture (kg/m²)", self.surface_moisture, 0.0, 100.0)?;
        within("meat.wetness", self.wetness, 0.0, 1.0)?;
        within("meat.drip_share", self.drip_share, 0.0, 0.6)?;
        within("meat.tender_hours", self.tender_hours, 0.0, 24.0)
    }

    /// Density, kg/m³.
    pub fn density(&self) -> f64 {
        self.composition.density(DENSITY_AT)
    }

    /// Half the thickness, or the radius, m.
    pub fn half_thickness_m(&self) -> f64 {
        self.thickness.value() / 2_000.0
    }

    /// Heated surface, m²: the faces of a slab of this volume and thickness, or the side of
    /// such a cylinder.
    pub fn surface_m2(&self) -> f64 {
        let volume = self.weight.value() / self.density();
        match self.shape {
            Shape::Slab => volume / self.half_thickness_m(),
            Shape::Cylinder => 2.0 * volume / self.half_thickness_m(),
        }
    }

    /// Water in it, kg.
    pub fn water_kg(&self) -> f64 {
        self.weight.value() * self.composition.fraction(Component::Water)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slab_has_two_faces() {
        let meat = Meat::brisket(Kilograms(5.5));
        let volume = 5.5 / meat.density();
        assert!((meat.surface_m2() * meat.half_thickness_m() - volume).abs() < 1e-12);
    }

    #[test]
    fn a_brisket_cannot_sweat_more_water_than_it_holds() {
        for kilograms in [3.0, 5.5, 7.5] {
            let meat = Meat::brisket(Kilograms(kilograms));
            assert!(meat.surface_moisture * meat.surface_m2() < 0.6 * meat.water_kg());
        }
    }

    #[test]
    fn a_setting_out_of_range_is_named() {
        let mut meat = Meat::brisket(Kilograms(5.5));
        meat.wetness = f64::NAN;
        assert!(meat.check().unwrap_err().to_string().contains("meat.wetness"));
    }
}
