//! Maximises the partial likelihood.

use super::basis::Basis;
use super::pass::Pass;
use super::risk_sets::RiskSets;
use nalgebra::{DMatrix, DVector};

/// The maximum found.
pub(super) struct Maximum {
    /// Coordinates of Q.
    pub(super) gamma: DVector<f64>,
    pub(super) last: Pass,
    /// Inverse information at the maximum.
    pub(super) inverse: DMatrix<f64>,
}

/// Why there is none; with the direction that the likelihood does not bound.
pub(super) enum Failure {
    /// No information to begin with.
    Flat(DVector<f64>),
    /// The likelihood grows without end.
    Monotone(DVector<f64>),
    /// Still moving after the last iteration.
    Slow,
}

const MOST_ITERATIONS: usize = 100;
/// Information about one direction, an event, below which the likelihood counts as flat. In the
/// coordinates of Q it is of order one unless hazards differ by a factor of about e²⁰.
const FLAT: f64 = 1e-9;
/// Size of a full Newton step after which the next would drown in rounding.
const SMALL_STEP: f64 = 1e-8;
/// A step below this that is no smaller than the one before it is rounding.
const STALLED_STEP: f64 = 1e-7;

/// Inverse of an information, or the direction in which it is flat.
fn inverse_of(information: &DMatrix<f64>, events: f64) -> Result<DMatrix<f64>, DVector<f64>> {
    let eigen = information.clone().symmetric_eigen();
    let smallest = eigen.eigenvalues.imin();
    if eigen.eigenvalues[smallest] < FLAT * events {
        return Err(eigen.eigenvectors.column(smallest).into_owned());
    }
    let inverse_values = DMatrix::from_diagonal(&eigen.eigenvalues.map(|value| 1.0 / value));
    Ok(&eigen.eigenvectors * inverse_values * eigen.eigenvectors.transpose())
}

/// Newton's method with step halving from zero. The log partial likelihood is concave.
pub(super) fn maximum(sets: &RiskSets, basis: &Basis) -> Result<Maximum, Failure> {
    let events = sets.events() as f64;
    let k = basis.len();
    let mut gamma = DVector::zeros(k);
    let Some(mut pass) = Pass::new(sets, basis, &gamma) else {
        return Err(Failure::Flat(DVector::from_element(k, 1.0)));
    };
    let mut inverse = inverse_of(&pass.information, events).map_err(Failure::Flat)?;
    let mut last_size = f64::INFINITY;
    for _ in 0..MOST_ITERATIONS {
        let value = pass.log_likelihood;
        let step = &inverse * &pass.score;
        let slope = pass.score.dot(&step);
        let mut part = 1.0;
        loop {
            let trial = &gamma + &step * part;
            // Close to the maximum the gain drowns in rounding, and the full step is right.
            let bound = value + 1e-4 * part * slope - 1e-12 * value.abs();
            let there = Pass::new(sets, basis, &trial);
            if let Some(there) = there.filter(|there| there.log_likelihood >= bound) {
                gamma = trial;
                inverse = inverse_of(&there.information, events).map_err(Failure::Monotone)?;
                pass = there;
                break;
            }
            part *= 0.5;
            if part < 1e-12 {
                return Err(Failure::Monotone(step));
            }
        }
        let size = step.amax() / gamma.amax().max(1.0);
        let stalled = size <= STALLED_STEP && size >= last_size;
        last_size = size;
        if part == 1.0 && (size <= SMALL_STEP || stalled) {
            return Ok(Maximum { gamma, last: pass, inverse });
        }
    }
    Err(Failure::Slow)
}
