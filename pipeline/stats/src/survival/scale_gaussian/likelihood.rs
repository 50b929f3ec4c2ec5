//! The log-likelihood of values and lower bounds with a scale that goes with a column, and its maximum.

use crate::climb::{Climb, Stepped};
use crate::survival::normal;
use nalgebra::{DMatrix, DVector};

const MOST_ITERATIONS: usize = 200;
/// A scale that differs from the spread about the starting line by more than this factor's logarithm has run
/// off.
const FAR: f64 = 14.0;
/// A mean so many spreads away from the starting line has run off.
const FAR_PLACE: f64 = 1e3;

/// z = (outcome − row·δ)/exp(a + b·column); an exact outcome gives ln φ(z) − ln σ, a bound ln P(Z > z).
pub(super) struct Likelihood {
    /// Orthogonal columns of mean square one.
    pub(super) rows: DMatrix<f64>,
    /// Outcome or bound less the starting line, in units of the spread.
    pub(super) outcome: Vec<f64>,
    /// What the scale goes with, from −1 to 1.
    pub(super) column: Vec<f64>,
    pub(super) exact: Vec<bool>,
}

pub(super) struct Maximum {
    /// δ, a, b.
    pub(super) parameters: DVector<f64>,
    pub(super) value: f64,
    pub(super) information: DMatrix<f64>,
}

/// What grows without end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lost {
    Scale,
    Place,
}

/// Value and derivatives of a row by its mean η and by ln σ.
struct Contribution {
    value: f64,
    by_place: f64,
    by_scale: f64,
    place_place: f64,
    place_scale: f64,
    scale_scale: f64,
}

impl Likelihood {
    fn terms(&self) -> usize {
        self.rows.ncols()
    }

    fn contribution(&self, row: usize, parameters: &DVector<f64>) -> Contribution {
        let k = self.terms();
        let fit: f64 = (0..k).map(|j| self.rows[(row, j)] * parameters[j]).sum();
        let ln_sigma = parameters[k] + parameters[k + 1] * self.column[row];
        let sigma = ln_sigma.exp();
        let z = (self.outcome[row] - fit) / sigma;
        // ln of density or survival by z: its first two derivatives.
        let (value, first, second) = if self.exact[row] {
            (normal::ln_density(z) - ln_sigma, -z, -1.0)
        } else {
            let hazard = normal::hazard(z);
            (normal::ln_survival(z), -hazard, -hazard * (hazard - z))
        };
        let density = f64::from(u8::from(self.exact[row]));
        Contribution {
            value,
            by_place: -first / sigma,
            by_scale: -first * z - density,
            place_place: second / (sigma * sigma),
            place_scale: (second * z + first) / sigma,
            scale_scale: second * z * z + first * z,
        }
    }

    pub(super) fn value(&self, parameters: &DVector<f64>) -> f64 {
        let sum: f64 =
            (0..self.outcome.len()).map(|row| self.contribution(row, parameters).value).sum();
        if sum.is_nan() { f64::NEG_INFINITY } else { sum }
    }

    /// Derivatives of η and of ln σ by the parameters.
    fn gradients(&self, row: usize) -> [DVector<f64>; 2] {
        let k = self.terms();
        let place = DVector::from_fn(k + 2, |j, _| if j < k { self.rows[(row, j)] } else { 0.0 });
        let mut scale = DVector::zeros(k + 2);
        scale[k] = 1.0;
        scale[k + 1] = self.column[row];
        [place, scale]
    }

    /// Score of a row.
    pub(super) fn score(&self, row: usize, parameters: &DVector<f64>) -> DVector<f64> {
        let own = self.contribution(row, parameters);
        let [place, scale] = self.gradients(row);
        place * own.by_place + scale * own.by_scale
    }

    /// Score and observed information of some rows.
    pub(super) fn derivatives(
        &self,
        rows: impl Iterator<Item = usize>,
        parameters: &DVector<f64>,
    ) -> (DVector<f64>, DMatrix<f64>) {
        let count = self.terms() + 2;
        let (mut score, mut information) = (DVector::zeros(count), DMatrix::zeros(count, count));
        for row in rows {
            let own = self.contribution(row, parameters);
            let [place, scale] = self.gradients(row);
            score.axpy(own.by_place, &place, 1.0);
            score.axpy(own.by_scale, &scale, 1.0);
            information.ger(-own.place_place, &place, &place, 1.0);
            information.ger(-own.place_scale, &place, &scale, 1.0);
            information.ger(-own.place_scale, &scale, &place, 1.0);
            information.ger(-own.scale_scale, &scale, &scale, 1.0);
        }
        (score, information)
    }

    /// Newton's method with step halving; where the likelihood is not concave, up along the score in the
    /// metric of what of the information is positive.
    pub(super) fn maximum(&self) -> Result<Maximum, Lost> {
        let (n, k) = (self.outcome.len(), self.terms());
        let start = DVector::zeros(k + 2);
        let mut climb = Climb::from(start.clone(), self.value(&start));
        for _ in 0..MOST_ITERATIONS {
            let parameters = &climb.parameters;
            if parameters.rows(0, k).amax() > FAR_PLACE {
                return Err(Lost::Place);
            }
            if parameters[k].abs() + parameters[k + 1].abs() > FAR {
                return Err(Lost::Scale);
            }
            let (score, information) = self.derivatives(0..n, parameters);
            let (step, newton) = match information.clone().cholesky() {
                Some(factor) => (factor.solve(&score), true),
                None => (uphill(information, &score), false),
            };
            match climb.step(&step, score.dot(&step), |parameters| self.value(parameters)) {
                Stepped::Nowhere => return Err(Lost::Scale),
                Stepped::Settled if newton => {
                    let Climb { parameters, value, .. } = climb;
                    let (_, information) = self.derivatives(0..n, &parameters);
                    return Ok(Maximum { parameters, value, information });
                }
                Stepped::Settled | Stepped::On => {}
            }
        }
        Err(Lost::Place)
    }
}

/// A step up where the information has eigenvalues at or below zero: these count by their size, and none
/// below a thousandth of the largest.
fn uphill(information: DMatrix<f64>, score: &DVector<f64>) -> DVector<f64> {
    let own = information.symmetric_eigen();
    let least = 1e-3 * own.eigenvalues.amax().max(f64::MIN_POSITIVE);
    let along = own.eigenvectors.transpose() * score;
    let scaled =
        DVector::from_fn(along.len(), |j, _| along[j] / own.eigenvalues[j].abs().max(least));
    own.eigenvectors * scaled
}
