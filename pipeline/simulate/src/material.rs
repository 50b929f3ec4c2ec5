//! What the meat is made of, as heat sees it: temperature and conductivity against the heat
//! that a kilogram holds.
//!
//! Tables are laid out evenly over enthalpy, so that one multiplication finds the place. Fat
//! that has melted sets again as it cools; proteins that have unfolded do not fold again, so
//! there is a second table for matter that has once been hotter.

use crate::meat::LatentHeat;
use cook::Celsius;
use physics::food::Transition;
use physics::{Component, Composition};

/// Heat between two entries of a table, J/kg: about a third of a kelvin.
const ENTHALPY_STEP: f64 = 1_200.0;
/// The tables reach from 0 °C to this temperature.
const HOTTEST_C: f64 = 260.0;
/// Step of temperature at which the property formulas are evaluated, K.
const FORMULA_STEP_C: f64 = 1.0;

/// Temperature, conductivity and unfolding against enthalpy above 0 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    per_step: f64,
    /// Warming for the first time.
    first: Vec<Entry>,
    /// Once all that unfolds has unfolded, and without that heat.
    again: Vec<Entry>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Entry {
    celsius: f64,
    conductivity: f64,
    /// Heat that went into proteins up to here and stays there, J/kg.
    unfolding: f64,
}

/// The state of matter that holds a given heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct State {
    pub(crate) celsius: f64,
    /// W/(m·K).
    pub(crate) conductivity: f64,
    /// J/(kg·K), with what melting and unfolding take.
    pub(crate) specific_heat: f64,
}

impl Material {
    /// Matter of constant conductivity, W/(m·K), and specific heat, J/(kg·K).
    pub fn constant(conductivity: f64, specific_heat: f64) -> Self {
        let entry = |celsius: f64| Entry { celsius, conductivity, unfolding: 0.0 };
        let per_step = 1.0 / (specific_heat * HOTTEST_C);
        let table = vec![entry(0.0), entry(HOTTEST_C)];
        Self { per_step, first: table.clone(), again: table }
    }

    /// Food of a composition: Choi & Okos (1986), with the latent heats that are switched on.
    pub fn food(composition: &Composition, latent: LatentHeat) -> Self {
        let fat = composition.fraction(Component::Fat);
        let protein = composition.fraction(Component::Protein);
        let steps = (HOTTEST_C / FORMULA_STEP_C) as usize;
        // Enthalpy of fats and all by the trapezoidal rule, at even temperatures.
        let mut sensible = 0.0;
        let mut before = composition.specific_heat(Celsius(0.0));
        let nodes: Vec<(f64, f64, f64)> = (0..=steps)
            .map(|step| {
                let celsius = Celsius(step as f64 * FORMULA_STEP_C);
                if step > 0 {
                    let here = composition.specific_heat(celsius);
                    sensible += 0.5 * (before + here) * FORMULA_STEP_C;
                    before = here;
                }
                let melting = Transition::FAT_MELTING;
                let unfolding = Transition::PROTEIN_DENATURATION;
                let melted = if latent.fat_melting {
                    fat * melting.heat * melting.share(celsius)
                } else {
                    0.0
                };
                let unfolded = if latent.denaturation {
                    protein * unfolding.heat * unfolding.share(celsius)
                } else {
                    0.0
                };
                (sensible + melted, unfolded, composition.conductivity(celsius))
            })
            .collect();
        let table = |enthalpy: &dyn Fn(&(f64, f64, f64)) -> f64| -> Vec<Entry> {
            let most = enthalpy(&nodes[steps]);
            let mut node = 0;
            (0..=(most / ENTHALPY_STEP) as usize)
                .map(|index| {
                    let wanted = index as f64 * ENTHALPY_STEP;
                    while node + 1 < steps && enthalpy(&nodes[node + 1]) <= wanted {
                        node += 1;
                    }
                    let (from, until) = (&nodes[node], &nodes[node + 1]);
                    let share = (wanted - enthalpy(from)) / (enthalpy(until) - enthalpy(from));
                    let between = |a: f64, b: f64| a + share * (b - a);
                    Entry {
                        celsius: (node as f64 + share) * FORMULA_STEP_C,
                        conductivity: between(from.2, until.2),
                        unfolding: between(from.1, until.1),
                    }
                })
                .collect()
        };
        Self {
            per_step: 1.0 / ENTHALPY_STEP,
            first: table(&|node| node.0 + node.1),
            again: table(&|node| node.0),
        }
    }

    /// The state of matter with an enthalpy, J/kg, whose highest was `highest`; the highest is
    /// moved along.
    #[inline]
    pub(crate) fn state(&self, enthalpy: f64, highest: &mut f64) -> State {
        if enthalpy >= *highest {
            *highest = enthalpy;
            self.at(&self.first, enthalpy).0
        } else {
            let (_, unfolded) = self.at(&self.first, *highest);
            self.at(&self.again, enthalpy - unfolded).0
        }
    }

    /// Enthalpy of matter that has never been hotter, J/kg.
    pub(crate) fn enthalpy(&self, celsius: f64) -> f64 {
        let after = self.first.partition_point(|entry| entry.celsius <= celsius);
        let index = after.clamp(1, self.first.len() - 1) - 1;
        let (from, until) = (&self.first[index], &self.first[index + 1]);
        let share = (celsius - from.celsius) / (until.celsius - from.celsius);
        (index as f64 + share) / self.per_step
    }

    /// State, and the heat of unfolding there.
    #[inline]
    fn at(&self, table: &[Entry], enthalpy: f64) -> (State, f64) {
        let place = enthalpy * self.per_step;
        let index = (place.max(0.0) as usize).min(table.len() - 2);
        let share = place - index as f64;
        let (from, until) = (&table[index], &table[index + 1]);
        let rise = until.celsius - from.celsius;
        let state = State {
            celsius: from.celsius + share * rise,
            conductivity: from.conductivity + share * (until.conductivity - from.conductivity),
            specific_heat: 1.0 / (self.per_step * rise),
        };
        (state, from.unfolding + share * (until.unfolding - from.unfolding))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beef() -> Composition {
        Composition::new(0.64, 0.19, 0.16, 0.0, 0.01).unwrap()
    }

    #[test]
    fn without_latent_heat_it_is_choi_and_okos() {
        let composition = beef();
        let material = Material::food(&composition, LatentHeat::NONE);
        for celsius in [3.0, 41.7, 68.3, 99.0, 180.0] {
            let mut highest = 0.0;
            let state = material.state(material.enthalpy(celsius), &mut highest);
            let at = Celsius(celsius);
            assert!((state.celsius - celsius).abs() < 1e-9);
            assert!((state.conductivity / composition.conductivity(at) - 1.0).abs() < 1e-5);
            assert!((state.specific_heat / composition.specific_heat(at) - 1.0).abs() < 2e-4);
        }
    }

    #[test]
    fn latent_heat_is_what_the_transitions_take() {
        let composition = beef();
        let heat = |latent| {
            let material = Material::food(&composition, latent);
            material.enthalpy(95.0) - material.enthalpy(5.0)
        };
        let plain = heat(LatentHeat::NONE);
        let expected =
            0.16 * Transition::FAT_MELTING.heat + 0.19 * Transition::PROTEIN_DENATURATION.heat;
        assert!((heat(LatentHeat::ALL) - plain - expected).abs() < 1.0);
        // Some 6 % of all the heat that the meat takes up.
        assert!((0.04..0.08).contains(&(expected / plain)));
    }

    #[test]
    fn what_has_unfolded_stays_so() {
        let composition = beef();
        let material = Material::food(&composition, LatentHeat::ALL);
        let mut highest = 0.0;
        let hot = material.enthalpy(90.0);
        material.state(hot, &mut highest);
        let cooled = |from: f64| {
            let mut highest = highest;
            material.state(from, &mut highest).celsius
        };
        // Continuous where it turns, and hardly anything is given back but sensible heat
        // above the melting of fat.
        assert!((cooled(hot - 1e-6) - 90.0).abs() < 1e-3);
        let sensible = Material::food(&composition, LatentHeat::NONE);
        let down = sensible.enthalpy(90.0) - sensible.enthalpy(60.0);
        assert!((cooled(hot - down) - 60.0).abs() < 0.05, "{}", cooled(hot - down));
    }

    #[test]
    fn constants_stay_constant() {
        let material = Material::constant(0.45, 3_500.0);
        let mut highest = 0.0;
        for celsius in [1.0, 77.0, 240.0] {
            let state = material.state(3_500.0 * celsius, &mut highest);
            assert!((state.celsius - celsius).abs() < 1e-9);
            assert_eq!(state.conductivity, 0.45);
            assert!((state.specific_heat - 3_500.0).abs() < 1e-9);
        }
    }
}
