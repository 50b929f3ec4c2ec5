//! Orthogonal decomposition of a design in double-double arithmetic, with naming of collinear
//! terms.

use crate::design::Design;
use crate::double_double::{DoubleDouble, dot, inverse_power_of_two};
use crate::error::StatsError;
use nalgebra::DMatrix;

/// A column counts as a combination of others if less than this part of it is its own. The
/// tolerance of LINPACK's `dqrdc2` as used by R's `lm`, here applied after the intercept has been
/// taken out.
const RANK_TOLERANCE: f64 = 1e-7;

/// X D = Q R with orthonormal columns Q, R upper triangular and D a diagonal of exact powers of
/// two.
#[derive(Debug, Clone)]
pub(crate) struct Orthogonal {
    /// Columns of Q, in the order of `order`.
    pub(crate) q: Vec<Vec<DoubleDouble>>,
    /// R⁻¹, column by column, upper triangular, in the order of `order`.
    r_inverse: Vec<Vec<DoubleDouble>>,
    /// Position in the design of each decomposed column: the intercept first, then as given.
    order: Vec<usize>,
    scale: Vec<f64>,
}

impl Orthogonal {
    /// Decomposes by modified Gram–Schmidt, which for least squares is as stable as Householder's
    /// reflections when the outcome is carried along as a further column: Björck (1967), "Solving
    /// linear least squares problems by Gram–Schmidt orthogonalization", BIT 7, 1–21. Columns are
    /// brought to about unit norm first by powers of two, which is exact; the intercept goes first,
    /// which centres the others.
    ///
    /// # Errors
    /// No terms, or a term that is constant or follows from others.
    pub(crate) fn new(design: &Design) -> Result<Self, StatsError> {
        let terms = design.terms();
        if terms.is_empty() {
            return Err(StatsError::Empty { what: "the design".to_owned() });
        }
        let mut order: Vec<usize> = (0..terms.len()).collect();
        let intercept = design.intercept_position();
        if let Some(position) = intercept {
            order[..=position].rotate_right(1);
        }
        let mut scale = Vec::with_capacity(terms.len());
        let mut q: Vec<Vec<DoubleDouble>> = Vec::with_capacity(terms.len());
        let mut r: Vec<Vec<DoubleDouble>> = Vec::with_capacity(terms.len());
        for (step, &position) in order.iter().enumerate() {
            let column = &design.columns()[position];
            let size = column.iter().fold(0.0, |size: f64, x| size.max(x.abs()));
            let factor = inverse_power_of_two(size * (column.len() as f64).sqrt());
            let mut v: Vec<DoubleDouble> =
                column.iter().map(|&x| DoubleDouble::from(x).scale(factor)).collect();
            let mut reference = norm(&v).value();
            let whole = reference;
            let mut projections = Vec::with_capacity(step + 1);
            for (earlier, direction) in q.iter().enumerate() {
                let projection = dot(direction, &v);
                subtract(&mut v, projection, direction);
                projections.push(projection);
                if earlier == 0 && intercept.is_some() {
                    reference = norm(&v).value();
                    // What is left of a constant is the rounding of its own doubles.
                    if reference <= 4.0 * f64::EPSILON * whole {
                        break;
                    }
                }
            }
            let length = norm(&v);
            let own = length.value();
            // The doubles of a column far from zero cannot say more than their own rounding.
            let rounding = 4.0 * f64::EPSILON * whole;
            let term = terms[position].clone();
            if reference <= rounding {
                return Err(StatsError::ConstantColumn { term });
            }
            if own <= (RANK_TOLERANCE * reference).max(rounding) {
                let mut with: Vec<(usize, String)> =
                    combination(&r, &projections, &q, intercept.is_some())
                        .into_iter()
                        .map(|earlier| (order[earlier], terms[order[earlier]].clone()))
                        .collect();
                with.sort_unstable();
                return Err(StatsError::CollinearColumn {
                    term,
                    with: with.into_iter().map(|(_, name)| name).collect(),
                });
            }
            for x in &mut v {
                *x = *x / length;
            }
            projections.push(length);
            q.push(v);
            r.push(projections);
            scale.push(factor);
        }
        let r_inverse = invert_upper(&r);
        Ok(Self { q, r_inverse, order, scale })
    }

    /// Number of terms.
    pub(crate) fn len(&self) -> usize {
        self.order.len()
    }

    /// Takes out of `v` its part in the space of the design; returns the coordinates of that part
    /// in Q.
    pub(crate) fn project_out(&self, v: &mut [DoubleDouble]) -> Vec<DoubleDouble> {
        self.q
            .iter()
            .map(|direction| {
                let projection = dot(direction, v);
                subtract(v, projection, direction);
                projection
            })
            .collect()
    }

    /// ln |R D⁻¹|, half of ln |X′X|.
    pub(crate) fn ln_determinant(&self) -> f64 {
        let terms = self.r_inverse.iter().zip(&self.scale).enumerate();
        -terms.map(|(j, (column, scale))| column[j].value().ln() + scale.ln()).sum::<f64>()
    }

    /// Leverage of each row: the diagonal of QQ′.
    pub(crate) fn leverages(&self) -> Vec<DoubleDouble> {
        let mut leverages = vec![DoubleDouble::ZERO; self.q[0].len()];
        for column in &self.q {
            for (leverage, &x) in leverages.iter_mut().zip(column) {
                *leverage += x * x;
            }
        }
        leverages
    }

    /// Coefficients of the design's own columns from coordinates in Q.
    pub(crate) fn coefficients(&self, coordinates: &[DoubleDouble]) -> Vec<DoubleDouble> {
        let k = self.len();
        let mut result = vec![DoubleDouble::ZERO; k];
        for row in 0..k {
            let sum = (row..k).fold(DoubleDouble::ZERO, |sum, column| {
                sum + self.r_inverse[column][row] * coordinates[column]
            });
            result[self.order[row]] = sum.scale(self.scale[row]);
        }
        result
    }

    /// The matrix that takes weights of the terms to the weights of the coordinates in Q of the same
    /// combination.
    pub(crate) fn to_coordinates(&self) -> DMatrix<f64> {
        let k = self.len();
        let mut matrix = DMatrix::zeros(k, k);
        let mut unit = vec![DoubleDouble::ZERO; k];
        for coordinate in 0..k {
            unit.fill(DoubleDouble::ZERO);
            unit[coordinate] = DoubleDouble::from(1.0);
            for (term, value) in self.coefficients(&unit).into_iter().enumerate() {
                matrix[(coordinate, term)] = value.value();
            }
        }
        matrix
    }

    /// Covariance of the coefficients from a covariance of the coordinates in Q, both row by row.
    pub(crate) fn covariance(&self, inner: &[DoubleDouble]) -> Vec<DoubleDouble> {
        let k = self.len();
        // Half: R⁻¹ · inner; then half · R⁻¹′.
        let mut half = vec![DoubleDouble::ZERO; k * k];
        for row in 0..k {
            for column in 0..k {
                half[row * k + column] = (row..k).fold(DoubleDouble::ZERO, |sum, j| {
                    sum + self.r_inverse[j][row] * inner[j * k + column]
                });
            }
        }
        let mut result = vec![DoubleDouble::ZERO; k * k];
        for row in 0..k {
            for column in 0..=row {
                let sum = (column..k).fold(DoubleDouble::ZERO, |sum, j| {
                    sum + half[row * k + j] * self.r_inverse[j][column]
                });
                let value = sum.scale(self.scale[row]).scale(self.scale[column]);
                let (a, b) = (self.order[row], self.order[column]);
                result[a * k + b] = value;
                result[b * k + a] = value;
            }
        }
        result
    }
}

pub(crate) fn norm(v: &[DoubleDouble]) -> DoubleDouble {
    dot(v, v).sqrt()
}

fn subtract(v: &mut [DoubleDouble], amount: DoubleDouble, direction: &[DoubleDouble]) {
    for (x, &d) in v.iter_mut().zip(direction) {
        *x -= amount * d;
    }
}

/// R⁻¹ by columns, where `r[column][row]`, `row ≤ column`.
fn invert_upper(r: &[Vec<DoubleDouble>]) -> Vec<Vec<DoubleDouble>> {
    let k = r.len();
    let mut inverse = vec![vec![DoubleDouble::ZERO; k]; k];
    for column in 0..k {
        inverse[column][column] = DoubleDouble::from(1.0) / r[column][column];
        for row in (0..column).rev() {
            let sum = (row + 1..=column)
                .fold(DoubleDouble::ZERO, |sum, j| sum + r[j][row] * inverse[column][j]);
            inverse[column][row] = -sum / r[row][row];
        }
    }
    inverse
}

/// Which earlier columns a collinear one is made of. The intercept is never named: nobody would
/// leave it out.
fn combination(
    r: &[Vec<DoubleDouble>],
    projections: &[DoubleDouble],
    q: &[Vec<DoubleDouble>],
    has_intercept: bool,
) -> Vec<usize> {
    let k = q.len();
    let mut weights = vec![DoubleDouble::ZERO; k];
    for row in (0..k).rev() {
        let sum = (row + 1..k).fold(projections[row], |sum, j| sum - r[j][row] * weights[j]);
        weights[row] = sum / r[row][row];
    }
    // Columns are of about unit norm, so a weight says how much of the column each other one makes
    // up; what is far below the largest is rounding.
    let first = usize::from(has_intercept);
    let largest = weights[first..].iter().fold(0.0, |largest: f64, w| largest.max(w.value().abs()));
    (first..k).filter(|&j| weights[j].value().abs() > 1e-4 * largest).collect()
}
