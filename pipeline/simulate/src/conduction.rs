//! Heat inside the meat: one-dimensional finite volumes, Crank–Nicolson in time.
//!
//! Cells of equal width from the middle to the surface; the surface itself is a node without
//! heat content, where the flow through half a cell equals the flow through the surface, both
//! taken in the middle of the step. What a cell holds is its enthalpy; temperatures follow
//! from it, so the scheme conserves heat to rounding whatever the properties do. Patankar,
//! Numerical Heat Transfer and Fluid Flow, ch. 4.

use crate::material::Material;
use crate::surface::{Surface, SurfaceFlow};
use physics::Shape;

/// Steps between two looks at conductivity and specific heat. They change by some tenths of a
/// per cent over that time; enthalpy is exact whatever they are.
const STEPS_A_LOOK: u32 = 3;

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
    cells: Vec<Cell>,
    surface_c: f64,
    surface_step: f64,
    ledger: Ledger,
    looked: u32,
    looked_step_s: f64,
}

/// One cell: what it is, what it holds, and its row of the linear system.
#[derive(Debug, Clone, Copy, Default)]
struct Cell {
    /// Volume per area of the body's surface, m.
    volume: f64,
    /// Area of the face to the next cell outward over the surface's; 0 for the last.
    face: f64,
    /// J/kg above 0 °C.
    enthalpy: f64,
    highest: f64,
    celsius: f64,
    conductivity: f64,
    /// J/(kg·K).
    specific_heat: f64,
    /// Half the conductance to the next cell outward, W/(m²·K).
    half_link: f64,
    /// Density × volume × specific heat / step, W/(m²·K).
    capacity: f64,
    /// Of the eliminated system: the inverse of the diagonal, and `half_link` times that.
    inverse: f64,
    factor: f64,
    right: f64,
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
        let count = cells.max(2);
        let width = half_thickness_m / count as f64;
        let edge = |index: usize| index as f64 * width;
        let enthalpy = material.enthalpy(start_c);
        let cells = (0..count)
            .map(|index| {
                let (volume, face) = match shape {
                    Shape::Slab => (width, 1.0),
                    Shape::Cylinder => (
                        (edge(index + 1).powi(2) - edge(index).powi(2)) / (2.0 * half_thickness_m),
                        edge(index + 1) / half_thickness_m,
                    ),
                };
                Cell {
                    volume,
                    face: if index + 1 < count { face } else { 0.0 },
                    enthalpy,
                    highest: enthalpy,
                    celsius: start_c,
                    ..Cell::default()
                }
            })
            .collect();
        Self {
            material,
            density,
            cell_width: width,
            cells,
            surface_c: start_c,
            surface_step: 0.0,
            ledger: Ledger::default(),
            looked: 0,
            looked_step_s: 0.0,
        }
    }

    /// Temperature of the surface at the end of the last step, °C, carried on from the middles
    /// of the last two.
    pub fn surface_c(&self) -> f64 {
        self.surface_c + 0.5 * self.surface_step
    }

    /// Heat and water that have crossed the surface.
    pub fn ledger(&self) -> Ledger {
        self.ledger
    }

    /// Temperature at a relative position, 0 (middle) to 1 (surface): a straight line between
    /// cell centres, and a parabola flat in the middle inside the first cell's centre.
    pub fn temperature_at(&self, position: f64) -> f64 {
        let cells = &self.cells;
        let place = position.clamp(0.0, 1.0) * cells.len() as f64 - 0.5;
        if place <= 0.0 {
            // T = a + b·x² through the first two cell centres, at x = ½ and 1½ widths.
            let curve = (cells[1].celsius - cells[0].celsius) / 2.0;
            let x = place + 0.5;
            return cells[0].celsius + curve * (x * x - 0.25);
        }
        let index = place as usize;
        if index + 1 >= cells.len() {
            let share = (place - (cells.len() - 1) as f64) / 0.5;
            let last = cells[cells.len() - 1].celsius;
            return last + share * (self.surface_c() - last);
        }
        let share = place - index as f64;
        cells[index].celsius + share * (cells[index + 1].celsius - cells[index].celsius)
    }

    /// Mean temperature weighted by volume, °C.
    pub fn mean_c(&self) -> f64 {
        let (heat, volume) = self.cells.iter().fold((0.0, 0.0), |(heat, volume), cell| {
            (heat + cell.celsius * cell.volume, volume + cell.volume)
        });
        heat / volume
    }

    /// Heat held above what the body would hold at a uniform temperature before anything in it
    /// melted or unfolded, J per m² of surface.
    pub fn heat_above(&self, reference_c: f64) -> f64 {
        let reference = self.material.enthalpy(reference_c);
        self.cells.iter().map(|cell| self.density * cell.volume * (cell.enthalpy - reference)).sum()
    }

    /// One step of `step_s` seconds under a surface that stays as it is during the step.
    pub fn step(&mut self, surface: &Surface<'_>, step_s: f64) -> SurfaceFlow {
        if self.looked == 0 || self.looked_step_s != step_s {
            self.look(step_s);
        }
        self.looked = (self.looked + 1) % STEPS_A_LOOK;
        let last = self.cells.len() - 1;

        // Everything known of the new temperatures: old heat, and half the old flows. Inner
        // cells are eliminated on the way (Thomas's algorithm on a symmetric matrix).
        let mut outward = 0.0;
        let mut carried = 0.0;
        for index in 0..last {
            let next = self.cells[index + 1].celsius;
            let cell = &mut self.cells[index];
            let inward = cell.half_link * (next - cell.celsius);
            let right = cell.capacity * cell.celsius + inward - outward + carried;
            cell.right = right;
            outward = inward;
            carried = cell.factor * right;
        }
        let outer = &self.cells[last];
        let constant = outer.capacity * outer.celsius - outward + carried;

        // New outermost temperature = (constant + flow in)·inverse; the surface lies behind half
        // a cell of conductance from the mean of old and new.
        let half_cell = 0.5 * self.cell_width / outer.conductivity;
        let at_rest_c = 0.5 * (outer.celsius + constant * outer.inverse);
        let resistance = 0.5 * outer.inverse + half_cell;
        let flow = surface.meet(at_rest_c, resistance, self.surface_c);
        let net = flow.heating - flow.latent;

        let mut new_c = (constant + net) * outer.inverse;
        for index in (0..=last).rev() {
            let cell = &mut self.cells[index];
            if index < last {
                new_c = cell.right * cell.inverse + cell.factor * new_c;
            }
            cell.enthalpy += cell.specific_heat * (new_c - cell.celsius);
        }
        for cell in &mut self.cells {
            let state = self.material.state(cell.enthalpy, &mut cell.highest);
            cell.celsius = state.celsius;
        }
        self.surface_step = flow.celsius - self.surface_c;
        self.surface_c = flow.celsius;
        self.ledger.heating += step_s * flow.heating;
        self.ledger.latent += step_s * flow.latent;
        self.ledger.water += step_s * flow.water;
        flow
    }

    /// Properties at the present temperatures, and the elimination of the inner cells.
    fn look(&mut self, step_s: f64) {
        self.looked_step_s = step_s;
        for cell in &mut self.cells {
            let state = self.material.state(cell.enthalpy, &mut cell.highest);
            cell.conductivity = state.conductivity;
            cell.specific_heat = state.specific_heat;
            cell.capacity = self.density * cell.volume * state.specific_heat / step_s;
        }
        let mut inner_half_link = 0.0;
        let mut inner_factor = 0.0;
        for index in 0..self.cells.len() {
            let next = self.cells.get(index + 1).map_or(1.0, |next| next.conductivity);
            let cell = &mut self.cells[index];
            let mean = cell.conductivity * next / (cell.conductivity + next);
            cell.half_link = cell.face * mean / self.cell_width;
            let diagonal =
                cell.capacity + inner_half_link + cell.half_link - inner_factor * inner_half_link;
            cell.inverse = 1.0 / diagonal;
            cell.factor = cell.half_link * cell.inverse;
            inner_half_link = cell.half_link;
            inner_factor = cell.factor;
        }
    }
}

#[cfg(test)]
mod tests;
