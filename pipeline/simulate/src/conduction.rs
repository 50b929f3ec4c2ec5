//! Heat inside the meat: one-dimensional finite volumes, Crank–Nicolson in time.
//!
//! Cells of equal width from the middle to the surface; the surface itself is a node without
//! heat content, where the flow through half a cell equals the flow through the surface.
//! The scheme conserves heat to rounding; the surface's nonlinear balance is solved by
//! Newton's method within each step. Patankar, Numerical Heat Transfer and Fluid Flow, ch. 4.

use crate::surface::{Surface, SurfaceFlow};
use cook::Celsius;
use physics::{Composition, Shape};

/// Newton steps per time step; two or three are used.
const MOST_NEWTON_STEPS: usize = 12;
/// Change of the surface temperature at which Newton's method stops, K.
const NEWTON_CHANGE_K: f64 = 1e-7;

/// Conductivity and specific heat against temperature.
#[derive(Debug, Clone, PartialEq)]
pub enum Material {
    /// Constants: W/(m·K) and J/(kg·K).
    Constant {
        /// Thermal conductivity, W/(m·K).
        conductivity: f64,
        /// Specific heat, J/(kg·K).
        specific_heat: f64,
    },
    /// Values at whole degrees from 0 to 250 °C, straight lines between.
    Table {
        /// Thermal conductivity, W/(m·K).
        conductivity: Vec<f64>,
        /// Specific heat, J/(kg·K).
        specific_heat: Vec<f64>,
    },
}

impl Material {
    /// Food of a composition (Choi & Okos 1986), tabulated because the formula is slow.
    pub fn food(composition: &Composition) -> Self {
        let degrees = || (0..=250).map(|degree| Celsius(f64::from(degree)));
        Self::Table {
            conductivity: degrees().map(|t| composition.conductivity(t)).collect(),
            specific_heat: degrees().map(|t| composition.specific_heat(t)).collect(),
        }
    }

    fn at(&self, celsius: f64) -> (f64, f64) {
        match self {
            Self::Constant { conductivity, specific_heat } => (*conductivity, *specific_heat),
            Self::Table { conductivity, specific_heat } => {
                let place = celsius.clamp(0.0, 249.0);
                let index = place as usize;
                let share = place - index as f64;
                let line = |table: &[f64]| table[index] + share * (table[index + 1] - table[index]);
                (line(conductivity), line(specific_heat))
            }
        }
    }
}

/// Heat and water per square metre of surface since the start.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Ledger {
    /// Heat in by convection and radiation, J/m².
    pub heating: f64,
    /// Heat taken by evaporation, J/m².
    pub latent: f64,
    /// Water evaporated (condensed water taken off), kg/m².
    pub water: f64,
}

/// A body under way.
#[derive(Debug, Clone)]
pub struct Body {
    material: Material,
    density: f64,
    cell_width: f64,
    /// Volumes per area of surface, m.
    volumes: Vec<f64>,
    /// Areas of the inner faces over the surface's area; face i lies between cells i and i + 1.
    face_areas: Vec<f64>,
    temperatures: Vec<f64>,
    surface_c: f64,
    ledger: Ledger,
    work: Work,
}

#[derive(Debug, Clone, Default)]
struct Work {
    conductance: Vec<f64>,
    capacity: Vec<f64>,
    upper: Vec<f64>,
    right: Vec<f64>,
    constant: Vec<f64>,
    reduced_diagonal: Vec<f64>,
}

impl Body {
    /// A body at one temperature, °C. `half_thickness_m` is the radius of a cylinder;
    /// `density` in kg/m³.
    pub fn new(
        shape: Shape,
        half_thickness_m: f64,
        cells: usize,
        material: Material,
        density: f64,
        start_c: f64,
    ) -> Self {
        let cells = cells.max(2);
        let width = half_thickness_m / cells as f64;
        let edge = |index: usize| index as f64 * width;
        let (volumes, face_areas) = match shape {
            Shape::Slab => (vec![width; cells], vec![1.0; cells - 1]),
            Shape::Cylinder => (
                (0..cells)
                    .map(|i| (edge(i + 1).powi(2) - edge(i).powi(2)) / (2.0 * half_thickness_m))
                    .collect(),
                (1..cells).map(|i| edge(i) / half_thickness_m).collect(),
            ),
        };
        Self {
            material,
            density,
            cell_width: width,
            volumes,
            face_areas,
            temperatures: vec![start_c; cells],
            surface_c: start_c,
            ledger: Ledger::default(),
            work: Work::default(),
        }
    }

    /// Temperature of the surface, °C.
    pub fn surface_c(&self) -> f64 {
        self.surface_c
    }

    /// Heat and water that have crossed the surface.
    pub fn ledger(&self) -> Ledger {
        self.ledger
    }

    /// Temperature at a relative position, 0 (middle) to 1 (surface): a straight line between
    /// cell centres, and a parabola flat in the middle inside the first cell's centre.
    pub fn temperature_at(&self, position: f64) -> f64 {
        let cells = self.temperatures.len();
        let place = position.clamp(0.0, 1.0) * cells as f64 - 0.5;
        if place <= 0.0 {
            // T = a + b·x² through the first two cell centres, at x = ½ and 1½ widths.
            let curve = (self.temperatures[1] - self.temperatures[0]) / 2.0;
            let x = place + 0.5;
            return self.temperatures[0] + curve * (x * x - 0.25);
        }
        let index = place as usize;
        if index + 1 >= cells {
            let share = (place - (cells - 1) as f64) / 0.5;
            let last = self.temperatures[cells - 1];
            return last + share * (self.surface_c - last);
        }
        let share = place - index as f64;
        self.temperatures[index] + share * (self.temperatures[index + 1] - self.temperatures[index])
    }

    /// Mean temperature weighted by volume, °C.
    pub fn mean_c(&self) -> f64 {
        let volume: f64 = self.volumes.iter().sum();
        self.temperatures.iter().zip(&self.volumes).map(|(t, v)| t * v).sum::<f64>() / volume
    }

    /// Heat held above a uniform temperature, J per m² of surface, by integrating the
    /// specific heat of each cell (midpoint rule, hundredths of a span).
    pub fn heat_above(&self, reference_c: f64) -> f64 {
        let pieces = 200;
        self.temperatures
            .iter()
            .zip(&self.volumes)
            .map(|(&t, &volume)| {
                let step = (t - reference_c) / f64::from(pieces);
                let integral: f64 = (0..pieces)
                    .map(|i| self.material.at(reference_c + (f64::from(i) + 0.5) * step).1 * step)
                    .sum();
                self.density * volume * integral
            })
            .sum()
    }

    /// One step of `step_s` seconds with a surface that stays as it is during the step.
    pub(crate) fn step(&mut self, surface: &Surface, step_s: f64) {
        let last = self.temperatures.len() - 1;
        self.prepare(step_s);
        let half_cell = 2.0 * self.work.conductance[last] / self.cell_width;

        // The surface may have changed since the last step, so its start is solved anew.
        let start = Self::balance(surface, half_cell, self.temperatures[last], self.surface_c);
        let flow_start = half_cell * (start.0 - self.temperatures[last]);

        // Everything known of the new temperatures: old heat, and half the old flows.
        let work = &mut self.work;
        let t = &self.temperatures;
        for i in 0..=last {
            let inward = if i < last { work.upper[i] * (t[i + 1] - t[i]) } else { flow_start };
            let outward = if i > 0 { work.upper[i - 1] * (t[i] - t[i - 1]) } else { 0.0 };
            work.constant[i] = work.capacity[i] * t[i] + 0.5 * (inward - outward);
        }

        // Newton on the surface: its flow is a line in the outermost cell's temperature, and
        // every other cell has been eliminated already.
        let (diagonal, constant) = self.eliminate();
        let mut guess = start.0;
        let mut end_flow = start.1;
        let mut outer;
        let mut newton_steps = 0;
        loop {
            let net = end_flow.heating - end_flow.latent - end_flow.slope * guess;
            let divisor = half_cell - end_flow.slope;
            let share = half_cell / divisor;
            outer = (constant + 0.5 * share * net) / (diagonal - 0.5 * share * end_flow.slope);
            let surface_c = (net + half_cell * outer) / divisor;
            let change = (surface_c - guess).abs();
            guess = surface_c;
            end_flow = surface.flow(guess);
            newton_steps += 1;
            if change < NEWTON_CHANGE_K || newton_steps == MOST_NEWTON_STEPS {
                break;
            }
        }
        self.substitute(outer);
        self.temperatures.copy_from_slice(&self.work.right);
        self.surface_c = guess;
        self.ledger.heating += 0.5 * step_s * (start.1.heating + end_flow.heating);
        self.ledger.latent += 0.5 * step_s * (start.1.latent + end_flow.latent);
        self.ledger.water += 0.5 * step_s * (start.1.water + end_flow.water);
    }

    /// Properties at the temperatures of the step's start.
    fn prepare(&mut self, step_s: f64) {
        let cells = self.temperatures.len();
        let work = &mut self.work;
        work.conductance.clear();
        work.capacity.clear();
        for (&t, &volume) in self.temperatures.iter().zip(&self.volumes) {
            let (conductivity, specific_heat) = self.material.at(t);
            work.conductance.push(conductivity);
            work.capacity.push(self.density * specific_heat * volume / step_s);
        }
        work.upper.clear();
        for i in 0..cells - 1 {
            let (a, b) = (work.conductance[i], work.conductance[i + 1]);
            work.upper.push(self.face_areas[i] * 2.0 * a * b / ((a + b) * self.cell_width));
        }
        work.constant.resize(cells, 0.0);
        work.right.resize(cells, 0.0);
        work.reduced_diagonal.resize(cells, 0.0);
    }

    /// Surface temperature at which flow through the surface meets flow into the outermost
    /// cell, and the flow there.
    fn balance(
        surface: &Surface,
        half_cell: f64,
        outer_c: f64,
        guess_c: f64,
    ) -> (f64, SurfaceFlow) {
        let mut celsius = guess_c;
        let mut flow = surface.flow(celsius);
        for _ in 0..MOST_NEWTON_STEPS {
            let excess = flow.heating - flow.latent - half_cell * (celsius - outer_c);
            let change = excess / (half_cell - flow.slope);
            celsius += change;
            flow = surface.flow(celsius);
            if change.abs() < NEWTON_CHANGE_K {
                break;
            }
        }
        (celsius, flow)
    }

    /// Eliminates every cell but the outermost (the forward sweep of Thomas's algorithm on a
    /// symmetric tridiagonal matrix); the diagonal and constant that are left for that one.
    fn eliminate(&mut self) -> (f64, f64) {
        let work = &mut self.work;
        let last = work.capacity.len() - 1;
        let mut diagonal = work.capacity[0] + 0.5 * work.upper[0];
        let mut constant = work.constant[0];
        for i in 0..last {
            work.reduced_diagonal[i] = diagonal;
            work.right[i] = constant;
            let link = 0.5 * work.upper[i];
            let factor = link / diagonal;
            let next = work.upper.get(i + 1).map_or(0.0, |upper| 0.5 * upper);
            diagonal = work.capacity[i + 1] + link + next - factor * link;
            constant = work.constant[i + 1] + factor * constant;
        }
        (diagonal, constant)
    }

    /// Substitutes back from the outermost cell's temperature into `work.right`.
    fn substitute(&mut self, outer: f64) {
        let work = &mut self.work;
        let last = work.capacity.len() - 1;
        work.right[last] = outer;
        for i in (0..last).rev() {
            work.right[i] = (work.right[i] + 0.5 * work.upper[i] * work.right[i + 1])
                / work.reduced_diagonal[i];
        }
    }
}

#[cfg(test)]
mod tests;
