//! Thermal properties of food from its composition.
//!
//! Choi & Okos (1986), as reprinted by Ibarz & Barbosa-Cánovas and in the ASHRAE
//! Refrigeration handbook, ch. 19. Every component property is a quadratic in °C. For raw,
//! unfrozen food without loss of water; heat taken by melting fat and by proteins that unfold
//! comes on top of it as a [`Transition`]. Measured specific heat of lean beef with 72 % water
//! is 4 % lower than the model's (Geankoplis, app. A.4).

use crate::error::PhysicsError;
use cook::Celsius;
use std::f64::consts::TAU;

/// a + b·t + c·t², t in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Quadratic(f64, f64, f64);

impl Quadratic {
    fn at(self, celsius: f64) -> f64 {
        self.0 + celsius * (self.1 + celsius * self.2)
    }
}

/// A component of food.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Component {
    /// Liquid water. Specific heat with the constant 4.1762 of the original paper; some
    /// reprints have 4.1289, which is 1–2 % low against IAPWS.
    Water,
    /// Protein.
    Protein,
    /// Fat.
    Fat,
    /// Carbohydrate.
    Carbohydrate,
    /// Ash.
    Ash,
}

impl Component {
    /// Every component, in the order of [`Composition`].
    pub const ALL: [Self; 5] =
        [Self::Water, Self::Protein, Self::Fat, Self::Carbohydrate, Self::Ash];

    /// Thermal conductivity, W/(m·K).
    pub fn conductivity(self, temperature: Celsius) -> f64 {
        match self {
            Self::Water => Quadratic(0.571_09, 1.762_5e-3, -6.703_6e-6),
            Self::Protein => Quadratic(0.178_81, 1.195_8e-3, -2.717_8e-6),
            Self::Fat => Quadratic(0.180_71, -2.760_4e-4, -1.774_9e-7),
            Self::Carbohydrate => Quadratic(0.201_41, 1.387_4e-3, -4.331_2e-6),
            Self::Ash => Quadratic(0.329_62, 1.401_1e-3, -2.906_9e-6),
        }
        .at(temperature.value())
    }

    /// Density, kg/m³.
    pub fn density(self, temperature: Celsius) -> f64 {
        match self {
            Self::Water => Quadratic(997.18, 3.143_9e-3, -3.757_4e-3),
            Self::Protein => Quadratic(1_329.9, -0.518_4, 0.0),
            Self::Fat => Quadratic(925.59, -0.417_57, 0.0),
            Self::Carbohydrate => Quadratic(1_599.1, -0.310_46, 0.0),
            Self::Ash => Quadratic(2_423.8, -0.280_63, 0.0),
        }
        .at(temperature.value())
    }

    /// Specific heat, J/(kg·K).
    pub fn specific_heat(self, temperature: Celsius) -> f64 {
        1_000.0
            * match self {
                Self::Water => Quadratic(4.176_2, -9.086_4e-5, 5.473_1e-6),
                Self::Protein => Quadratic(2.008_2, 1.208_9e-3, -1.312_9e-6),
                Self::Fat => Quadratic(1.984_2, 1.473_3e-3, -4.800_8e-6),
                Self::Carbohydrate => Quadratic(1.548_8, 1.962_5e-3, -5.939_9e-6),
                Self::Ash => Quadratic(1.092_6, 1.889_6e-3, -3.681_7e-6),
            }
            .at(temperature.value())
    }
}

/// A change that takes up heat over a span of temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transition {
    /// Heat for the whole change, J per kilogram of the component that changes.
    pub heat: f64,
    /// Where it begins.
    pub from: Celsius,
    /// Where it is over.
    pub until: Celsius,
}

impl Transition {
    /// Melting of beef fat. Tallow melts up to 40–50 °C (Springer, Lehrbuch
    /// Lebensmittelchemie und Ernährung, 2nd ed. 2011), from about 25 °C on; 90 kJ/kg is a
    /// round value from memory for a fat that is partly liquid to begin with.
    pub const FAT_MELTING: Self =
        Self { heat: 90_000.0, from: Celsius(25.0), until: Celsius(50.0) };

    /// Denaturation of all proteins of beef muscle. Findlay & Stanley, J. Food Sci. 49
    /// (1984) 1513: 3.0–3.9 J per gram of muscle, myosin at 55–58 °C and actin at 82–83 °C;
    /// 3.5 J/g over a fifth of protein gives 17.5 kJ/kg. It does not come back on cooling.
    pub const PROTEIN_DENATURATION: Self =
        Self { heat: 17_500.0, from: Celsius(50.0), until: Celsius(88.0) };

    /// Share of the change that is done at a temperature, 0–1: smooth at both ends, steepest
    /// half way (its derivative is a raised cosine).
    pub fn share(&self, temperature: Celsius) -> f64 {
        let span = self.until.value() - self.from.value();
        let place = ((temperature.value() - self.from.value()) / span).clamp(0.0, 1.0);
        place - (TAU * place).sin() / TAU
    }
}

/// Mass fractions of a food, each 0–1, adding up to 1, in the order of [`Component::ALL`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Composition([f64; 5]);

impl Composition {
    /// From the mass fractions of water, protein, fat, carbohydrate and ash.
    ///
    /// # Errors
    /// [`PhysicsError::Fractions`] where one lies outside 0–1 or the sum is not 1 within 1e-6.
    pub fn new(
        water: f64,
        protein: f64,
        fat: f64,
        carbohydrate: f64,
        ash: f64,
    ) -> Result<Self, PhysicsError> {
        let fractions = [water, protein, fat, carbohydrate, ash];
        let sum: f64 = fractions.iter().sum();
        let sound = fractions.iter().all(|fraction| (0.0..=1.0).contains(fraction));
        if sound && (sum - 1.0).abs() <= 1e-6 {
            Ok(Self(fractions))
        } else {
            Err(PhysicsError::Fractions { sum })
        }
    }

    /// The mass fraction of one component.
    pub fn fraction(&self, component: Component) -> f64 {
        self.parts().find(|(other, _)| *other == component).map_or(0.0, |(_, fraction)| fraction)
    }

    fn parts(&self) -> impl Iterator<Item = (Component, f64)> + '_ {
        Component::ALL.into_iter().zip(self.0)
    }

    /// Density, kg/m³: one over the sum of specific volumes, no pores.
    pub fn density(&self, temperature: Celsius) -> f64 {
        1.0 / self.parts().map(|(part, mass)| mass / part.density(temperature)).sum::<f64>()
    }

    /// Specific heat, J/(kg·K): weighted by mass.
    pub fn specific_heat(&self, temperature: Celsius) -> f64 {
        self.parts().map(|(part, mass)| mass * part.specific_heat(temperature)).sum()
    }

    /// Thermal conductivity, W/(m·K): the parallel model, weighted by volume.
    pub fn conductivity(&self, temperature: Celsius) -> f64 {
        let mut weighted = 0.0;
        let mut volume = 0.0;
        for (part, mass) in self.parts() {
            let share = mass / part.density(temperature);
            volume += share;
            weighted += share * part.conductivity(temperature);
        }
        weighted / volume
    }

    /// Thermal diffusivity, m²/s.
    pub fn diffusivity(&self, temperature: Celsius) -> f64 {
        self.conductivity(temperature)
            / (self.density(temperature) * self.specific_heat(temperature))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_must_add_up() {
        assert!(Composition::new(0.72, 0.21, 0.06, 0.0, 0.01).is_ok());
        let error = Composition::new(0.72, 0.21, 0.06, 0.0, 0.1).unwrap_err();
        assert!(error.to_string().contains("1.09"), "{error}");
        assert!(Composition::new(1.2, -0.2, 0.0, 0.0, 0.0).is_err());
    }

    #[test]
    fn a_transition_takes_all_its_heat_between_its_ends() {
        for transition in [Transition::FAT_MELTING, Transition::PROTEIN_DENATURATION] {
            let span = transition.until.value() - transition.from.value();
            assert_eq!(transition.share(transition.from), 0.0);
            assert!((transition.share(transition.until) - 1.0).abs() < 1e-12);
            let half = Celsius(transition.from.value() + 0.5 * span);
            assert!((transition.share(half) - 0.5).abs() < 1e-12);
            assert_eq!(transition.share(Celsius(0.0)), 0.0);
        }
    }
}
