//! Maximises the partial likelihood, with or without Firth's penalty.

use super::basis::Basis;
use super::pass::Pass;
use super::risk_sets::RiskSets;
use nalgebra::{DMatrix, DVector};

/// What is added to the log partial likelihood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Penalty {
    /// Nothing: maximum partial likelihood. A coefficient that runs off to infinity is
    /// [`crate::StatsError::MonotoneLikelihood`].
    #[default]
    None,
    /// ½ ln |information|: Firth (1993), "Bias reduction of maximum likelihood estimates",
    /// Biometrika 80, 27–38; for proportional hazards Heinze & Schemper (2001), "A solution to the
    /// problem of monotone likelihood in Cox regression", Biometrics 57, 114–119. Estimates are
    /// finite whatever the data. Standard errors are from the information without penalty; near
    /// separation the likelihood is far from a parabola, and a test by
    /// [`likelihood ratio`](super::Cox::likelihood_ratio_test) is the better one.
    Firth,
}

/// The maximum found.
pub(super) struct Maximum {
    /// Coordinates of Q.
    pub(super) gamma: DVector<f64>,
    pub(super) null: Pass,
    pub(super) last: Pass,
    /// Inverse information at the maximum.
    pub(super) inverse: DMatrix<f64>,
    /// Inverse information at zero.
    pub(super) null_inverse: DMatrix<f64>,
    /// ½ ln |information| in the coordinates of Q at zero and at the maximum, if it is penalised.
    pub(super) penalties: (f64, f64),
    pub(super) iterations: usize,
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
/// Firth's score is solved with the information of the plain likelihood, which converges linearly.
const MOST_PENALISED_ITERATIONS: usize = 1000;
/// Information about one direction, an event, below which the likelihood counts as flat. In the
/// coordinates of Q it is of order one unless hazards differ by a factor of about e²⁰.
const FLAT: f64 = 1e-9;
/// Size of a full Newton step after which the next would drown in rounding.
const SMALL_STEP: f64 = 1e-8;
/// The same where convergence is linear, so that many further steps of this size must not matter.
const SMALL_PENALISED_STEP: f64 = 1e-12;
/// A step below this that is no smaller than the one before it is rounding.
const STALLED_STEP: f64 = 1e-7;

/// Inverse and ½ ln |·| of an information, or the direction in which it is flat.
fn factorise(information: &DMatrix<f64>, events: f64) -> Result<(DMatrix<f64>, f64), DVector<f64>> {
    let eigen = information.clone().symmetric_eigen();
    let smallest = eigen.eigenvalues.imin();
    if eigen.eigenvalues[smallest] < FLAT * events {
        return Err(eigen.eigenvectors.column(smallest).into_owned());
    }
    let half = 0.5 * eigen.eigenvalues.iter().map(|value| value.ln()).sum::<f64>();
    let inverse_values = DMatrix::from_diagonal(&eigen.eigenvalues.map(|value| 1.0 / value));
    Ok((&eigen.eigenvectors * inverse_values * eigen.eigenvectors.transpose(), half))
}

/// Newton's method with step halving from zero. The log partial likelihood is concave.
pub(super) fn maximum(
    sets: &RiskSets,
    basis: &Basis,
    penalty: Penalty,
) -> Result<Maximum, Failure> {
    let events = sets.event_weight();
    let firth = penalty == Penalty::Firth;
    let most = if firth { MOST_PENALISED_ITERATIONS } else { MOST_ITERATIONS };
    let small = if firth { SMALL_PENALISED_STEP } else { SMALL_STEP };
    let k = basis.len();
    let mut gamma = DVector::zeros(k);
    let Some(null) = Pass::new(sets, basis, &gamma) else {
        return Err(Failure::Flat(DVector::from_element(k, 1.0)));
    };
    let (mut inverse, mut half) = factorise(&null.information, events).map_err(Failure::Flat)?;
    let null_inverse = inverse.clone();
    let null_half = half;
    let mut pass = null.clone();
    let mut last_size = f64::INFINITY;
    for iteration in 0..most {
        let mut score = pass.score.clone();
        let mut value = pass.log_likelihood;
        if firth {
            score += pass.penalty_score(sets, basis, &inverse);
            value += half;
        }
        let step = &inverse * &score;
        let slope = score.dot(&step);
        let mut part = 1.0;
        loop {
            let trial = &gamma + &step * part;
            if let Some(found) = Pass::new(sets, basis, &trial) {
                let factors = factorise(&found.information, events);
                let trial_value = match (&factors, firth) {
                    (_, false) => found.log_likelihood,
                    (Ok((_, half)), true) => found.log_likelihood + half,
                    (Err(_), true) => f64::NEG_INFINITY,
                };
                // Close to the maximum the gain drowns in rounding, and the full step is right.
                if trial_value >= value + 1e-4 * part * slope - 1e-12 * value.abs() {
                    gamma = trial;
                    (inverse, half) = factors.map_err(Failure::Monotone)?;
                    pass = found;
                    break;
                }
            }
            part *= 0.5;
            if part < 1e-12 {
                return Err(Failure::Monotone(step));
            }
        }
        let size = step.amax() / gamma.amax().max(1.0);
        let stalled = size <= STALLED_STEP && size >= last_size;
        last_size = size;
        if part == 1.0 && (size <= small || stalled) {
            let penalties = if firth { (null_half, half) } else { (0.0, 0.0) };
            return Ok(Maximum {
                gamma,
                null,
                last: pass,
                inverse,
                null_inverse,
                penalties,
                iterations: iteration + 1,
            });
        }
    }
    Err(Failure::Slow)
}
