//! The linear programme of quantile regression, solved exactly at a vertex.
//!
//! At a vertex the fit meets k rows, the basis. From there the loss is followed down the steepest
//! edge to its least point, which is the next vertex: Barrodale & Roberts (1973), SIAM Journal on
//! Numerical Analysis 10, 839–848; for quantiles Koenker & d'Orey (1987), Applied Statistics 36,
//! 383–393. Ties are broken by moving each outcome by its own amount of about 1e-11 of the scatter;
//! the coefficients are then those of the basis with the outcomes themselves.

use crate::error::StatsError;
use nalgebra::{DMatrix, DVector};

/// Size of the amounts that break ties, in units of the scatter.
pub(super) const TIE: f64 = 1e-11;
/// Movement of a row along an edge below which it counts as parallel to it.
const PARALLEL: f64 = 1e-11;

/// Rows, row by row, of columns that are about orthogonal and of size one.
#[derive(Debug, Clone)]
pub(super) struct Rows {
    values: Vec<f64>,
    pub(super) terms: usize,
    pub(super) count: usize,
}

impl Rows {
    pub(super) fn new(columns: &[Vec<f64>]) -> Self {
        let terms = columns.len();
        let count = columns.first().map_or(0, Vec::len);
        let mut values = vec![0.0; terms * count];
        for (column, own) in columns.iter().enumerate() {
            for (row, &value) in own.iter().enumerate() {
                values[row * terms + column] = value;
            }
        }
        Self { values, terms, count }
    }

    pub(super) fn row(&self, row: usize) -> &[f64] {
        &self.values[row * self.terms..(row + 1) * self.terms]
    }

    pub(super) fn along(&self, row: usize, direction: &DVector<f64>) -> f64 {
        self.row(row).iter().zip(direction).map(|(x, d)| x * d).sum()
    }
}

/// Minimise Σ w ρ(y − xb), with `ρ(r) = r(τ − [r < 0])`.
#[derive(Clone, Copy)]
pub(super) struct Problem<'a> {
    pub(super) rows: &'a Rows,
    /// Outcomes with ties broken.
    pub(super) y: &'a [f64],
    pub(super) weights: &'a [f64],
    pub(super) tau: f64,
}

/// A vertex and what follows from it.
#[derive(Debug, Clone)]
pub(super) struct Vertex {
    /// Rows that the fit meets.
    pub(super) basis: Vec<usize>,
    /// Inverse of the matrix of the basis; column j is the edge that leaves row j of the basis.
    pub(super) inverse: DMatrix<f64>,
    pub(super) residuals: Vec<f64>,
    /// Sum over the other rows of weight, slope of the loss, and movement along each edge.
    pub(super) pull: DVector<f64>,
}

/// Outcomes with ties broken, the same on every machine.
pub(super) fn break_ties(y: &[f64]) -> Vec<f64> {
    y.iter()
        .enumerate()
        .map(|(row, y)| y + TIE * (scrambled(row as u64) as f64 / u64::MAX as f64 - 0.5))
        .collect()
}

/// A number without pattern for each row, so that no three rows stay in line: the finalizer of
/// Steele, Lea & Flood (2014), "Fast splittable pseudorandom number generators", OOPSLA, 453–472.
fn scrambled(row: u64) -> u64 {
    let mut z = row.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

impl Problem<'_> {
    /// # Errors
    /// [`StatsError::NoConvergence`] only if rounding makes it walk in circles.
    pub(super) fn solve(&self, start: Vec<usize>) -> Result<Vertex, StatsError> {
        let k = self.rows.terms;
        let mut vertex = self.vertex(start)?;
        let most = 100 * (self.rows.count + k) + 1000;
        for _ in 0..most {
            let Some((leaving, sign)) = self.steepest(&vertex) else { return Ok(vertex) };
            let direction = vertex.inverse.column(leaving) * sign;
            let weight = self.weights[vertex.basis[leaving]];
            let own = if sign > 0.0 { 1.0 - self.tau } else { self.tau };
            let mut slope = -sign * vertex.pull[leaving] + weight * own;
            let mut passed = self.crossings(&vertex, &direction);
            passed.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
            let mut entering = None;
            for (_, bend, row) in passed {
                slope += bend;
                entering = Some(row);
                if slope >= 0.0 {
                    break;
                }
            }
            let Some(entering) = entering else { break };
            let mut basis = vertex.basis;
            basis[leaving] = entering;
            vertex = self.vertex(basis)?;
        }
        Err(StatsError::NoConvergence { what: "quantile regression".to_owned() })
    }

    pub(super) fn vertex(&self, basis: Vec<usize>) -> Result<Vertex, StatsError> {
        let k = self.rows.terms;
        let matrix = DMatrix::from_fn(k, k, |a, b| self.rows.row(basis[a])[b]);
        let inverse = matrix
            .try_inverse()
            .ok_or_else(|| StatsError::NoConvergence { what: "quantile regression".to_owned() })?;
        let fit = &inverse * DVector::from_fn(k, |a, _| self.y[basis[a]]);
        let mut residuals: Vec<f64> =
            (0..self.rows.count).map(|row| self.y[row] - self.rows.along(row, &fit)).collect();
        for &row in &basis {
            residuals[row] = 0.0;
        }
        let mut total = DVector::zeros(k);
        for (row, &residual) in residuals.iter().enumerate() {
            if residual != 0.0 {
                let slope = if residual > 0.0 { self.tau } else { self.tau - 1.0 };
                let amount = self.weights[row] * slope;
                for (sum, x) in total.iter_mut().zip(self.rows.row(row)) {
                    *sum += amount * x;
                }
            }
        }
        let pull = inverse.tr_mul(&total);
        Ok(Vertex { basis, inverse, residuals, pull })
    }

    /// The edge along which the loss falls fastest, and in which sense.
    fn steepest(&self, vertex: &Vertex) -> Option<(usize, f64)> {
        let mut best = None;
        let mut most = 0.0;
        for (place, &row) in vertex.basis.iter().enumerate() {
            let weight = self.weights[row];
            let pull = vertex.pull[place];
            let (excess, sign) = if pull > 0.0 {
                (pull - weight * (1.0 - self.tau), 1.0)
            } else {
                (-pull - weight * self.tau, -1.0)
            };
            // What rounding leaves of a balance of many rows is not a descent.
            let noise = 1e-12 * self.rows.count as f64;
            let edge = vertex.inverse.column(place).norm();
            if excess > noise * edge && excess / edge > most {
                most = excess / edge;
                best = Some((place, sign));
            }
        }
        best
    }

    /// Where rows are crossed along a direction: how far off, by how much the slope of the loss
    /// rises there, and the row.
    pub(super) fn crossings(
        &self,
        vertex: &Vertex,
        direction: &DVector<f64>,
    ) -> Vec<(f64, f64, usize)> {
        let length = direction.norm();
        (0..self.rows.count)
            .filter(|&row| vertex.residuals[row] != 0.0 && self.weights[row] > 0.0)
            .filter_map(|row| {
                let movement = self.rows.along(row, direction);
                let far = vertex.residuals[row] / movement;
                (movement.abs() > PARALLEL * length && far > 0.0)
                    .then(|| (far, self.weights[row] * movement.abs(), row))
            })
            .collect()
    }

    /// A first basis: independent rows whose outcomes lie nearest the quantile of all.
    pub(super) fn first_basis(&self) -> Vec<usize> {
        let n = self.rows.count;
        let k = self.rows.terms;
        let mut order: Vec<usize> = (0..n).filter(|&row| self.weights[row] > 0.0).collect();
        order.sort_unstable_by(|&a, &b| self.y[a].total_cmp(&self.y[b]));
        let at = ((order.len() - 1) as f64 * self.tau).round() as usize;
        let centre = self.y[order[at]];
        order.sort_unstable_by(|&a, &b| {
            (self.y[a] - centre).abs().total_cmp(&(self.y[b] - centre).abs())
        });
        let mut basis = Vec::with_capacity(k);
        let mut taken: Vec<DVector<f64>> = Vec::with_capacity(k);
        // Rows that lie well apart if there are such, else any that are independent.
        for tolerance in [1e-2, 1e-5, 1e-9] {
            for &row in &order {
                if basis.len() == k {
                    return basis;
                }
                let mut rest = DVector::from_column_slice(self.rows.row(row));
                let whole = rest.norm();
                for _ in 0..2 {
                    for direction in &taken {
                        let part = direction.dot(&rest);
                        rest.axpy(-part, direction, 1.0);
                    }
                }
                let left = rest.norm();
                if left > tolerance * whole && left > 0.0 {
                    taken.push(rest / left);
                    basis.push(row);
                }
            }
        }
        basis
    }
}
