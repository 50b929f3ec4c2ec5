//! The covariates of a proportional-hazards regression, centred, scaled and made orthogonal.

use super::risk_sets::RiskSets;
use crate::design::Design;
use crate::error::StatsError;
use crate::orthogonal::Orthogonal;
use nalgebra::{DMatrix, DVector};

/// As in the decomposition of [`crate::LeastSquares`]: a column counts as a combination of others
/// if less than this part of it is its own.
const RANK_TOLERANCE: f64 = 1e-7;

/// Covariates less their mean, X = Q R. A partial likelihood does not see a constant, so nothing is
/// lost, and its information in the coordinates of Q is about the identity times the number of events
/// however the columns are scaled or correlated.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Basis {
    /// k values a row, rows in the order of the risk sets; columns of mean square one.
    pub(super) q: Vec<f64>,
    pub(super) r_inverse: DMatrix<f64>,
    /// Largest distance of each covariate from its mean.
    reach: Vec<f64>,
}

impl Basis {
    /// # Errors
    /// No terms, or a term that is constant or follows from others.
    pub(super) fn new(design: &Design, sets: &RiskSets) -> Result<Self, StatsError> {
        let k = design.terms().len();
        let n = sets.rows.len();
        if k == 0 {
            return Err(StatsError::Empty { what: "the design".to_owned() });
        }
        let mut columns = Vec::with_capacity(k);
        let mut reach = Vec::with_capacity(k);
        for (term, source) in design.terms().iter().zip(design.columns()) {
            let mut column: Vec<f64> = sets.rows.iter().map(|&row| source[row]).collect();
            let whole = norm(&column);
            // Any value near the mean would do; nothing overflows this way.
            let size = n.max(1) as f64;
            let mean = column.iter().map(|x| x / size).sum::<f64>();
            for x in &mut column {
                *x -= mean;
            }
            // What is left of a constant is rounding.
            if norm(&column) <= 4.0 * f64::EPSILON * whole {
                return Err(StatsError::ConstantColumn { term: term.clone() });
            }
            reach.push(column.iter().fold(0.0, |size: f64, x| size.max(x.abs())));
            columns.push(column);
        }
        let mut r = DMatrix::zeros(k, k);
        let mut basis: Vec<Vec<f64>> = Vec::with_capacity(k);
        let size = (n as f64).sqrt();
        for (j, original) in columns.iter().enumerate() {
            // Scaled so that squares neither overflow nor vanish.
            let mut v: Vec<f64> = original.iter().map(|x| x / reach[j]).collect();
            let whole = norm(&v);
            // Gram–Schmidt, twice, which is enough: Giraud, Langou & Rozložník (2005), Computers &
            // Mathematics with Applications 50, 1069–1075.
            for _ in 0..2 {
                for (earlier, direction) in basis.iter().enumerate() {
                    let amount = dot(direction, &v) / n as f64;
                    v.iter_mut().zip(direction).for_each(|(x, d)| *x -= amount * d);
                    r[(earlier, j)] += amount * reach[j];
                }
            }
            let own = norm(&v);
            if own <= RANK_TOLERANCE * whole {
                return Err(collinear(design, &columns, j));
            }
            let factor = size / own;
            for x in &mut v {
                *x *= factor;
            }
            r[(j, j)] = own / size * reach[j];
            basis.push(v);
        }
        let mut q = vec![0.0; n * k];
        for (j, column) in basis.iter().enumerate() {
            q.iter_mut().skip(j).step_by(k).zip(column).for_each(|(to, from)| *to = *from);
        }
        let overflow = || StatsError::Overflow { what: "the scale of the columns".to_owned() };
        let r_inverse = r.try_inverse().ok_or_else(overflow)?;
        if r_inverse.iter().any(|x| !x.is_finite()) {
            return Err(overflow());
        }
        Ok(Self { q, r_inverse, reach })
    }

    /// Number of terms.
    pub(super) fn len(&self) -> usize {
        self.reach.len()
    }

    /// The term that moves the fit most along a direction in the coordinates of Q.
    pub(super) fn leading_term(&self, direction: &DVector<f64>) -> usize {
        let coefficients = &self.r_inverse * direction;
        let size = |j: usize| coefficients[j].abs() * self.reach[j];
        (1..self.len()).fold(0, |best, j| if size(j) > size(best) { j } else { best })
    }
}

/// Names the columns that the `position`-th follows from, by the careful decomposition.
fn collinear(design: &Design, columns: &[Vec<f64>], position: usize) -> StatsError {
    let terms = design.terms();
    let named = columns[..=position]
        .iter()
        .zip(terms)
        .try_fold(Design::new(columns[0].len()), |part, (column, term)| part.numeric(term, column));
    match named.map(|part| Orthogonal::new(&part)) {
        Ok(Err(error)) => error,
        _ => StatsError::CollinearColumn {
            term: terms[position].clone(),
            with: terms[..position].to_vec(),
        },
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    // Eight sums side by side: faster, and with less rounding than one.
    let mut sums = [0.0; 8];
    let mut chunks = a.chunks_exact(8).zip(b.chunks_exact(8));
    for (a, b) in chunks.by_ref() {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    let done = a.len() / 8 * 8;
    let rest: f64 = a[done..].iter().zip(&b[done..]).map(|(a, b)| a * b).sum();
    sums.iter().sum::<f64>() + rest
}

fn norm(v: &[f64]) -> f64 {
    dot(v, v).sqrt()
}
