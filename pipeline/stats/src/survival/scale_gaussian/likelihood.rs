//! The log-likelihood of values and lower bounds with a scale that goes with a column, and its maximum.

use crate::survival::normal;
use nalgebra::{DMatrix, DVector};

const MOST_ITERATIONS: usize = 200;
/// Size of a full Newton step after which the next would drown in rounding.
const SMALL_STEP: f64 = 1e-10;
/// A step below this that is no smaller than the one before it is rounding.
const STALLED_STEP: f64 = 1e-7;
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
        let mut parameters = DVector::zeros(k + 2);
        let mut value = self.value(&parameters);
        let mut last_size = f64::INFINITY;
        for _ in 0..MOST_ITERATIONS {
            if parameters.rows(0, k).amax() > FAR_PLACE {
                return Err(Lost::Place);
            }
            if parameters[k].abs() + parameters[k + 1].abs() > FAR {
                return Err(Lost::Scale);
            }
            let (score, information) = self.derivatives(0..n, &parameters);
            let (step, newton) = match information.clone().cholesky() {
                Some(factor) => (factor.solve(&score), true),
                None => (uphill(information, &score), false),
            };
            let size = parameters.amax().max(1.0);
            let slope = score.dot(&step);
            let mut part = 1.0;
            loop {
                let mut trial = parameters.clone();
                trial.axpy(part, &step, 1.0);
                let trial_value = self.value(&trial);
                // Close to the maximum the gain drowns in rounding, and the full step is right.
                if trial_value >= value + 1e-4 * part * slope - 1e-12 * value.abs() {
                    parameters = trial;
                    value = trial_value;
                    break;
                }
                part *= 0.5;
                if part < 1e-12 {
                    return Err(Lost::Scale);
                }
            }
            let moved = step.amax() / size;
            let stalled = moved <= STALLED_STEP && moved >= last_size;
            last_size = moved;
            if newton && part == 1.0 && (moved <= SMALL_STEP || stalled) {
                let (_, information) = self.derivatives(0..n, &parameters);
                return Ok(Maximum { value: self.value(&parameters), parameters, information });
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
