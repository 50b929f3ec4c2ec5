//! The way up a log-likelihood: Newton steps, halved until they gain.

use nalgebra::DVector;

/// Size of a full step after which the next would drown in rounding.
const SMALL_STEP: f64 = 1e-10;
/// A step below this that is no smaller than the one before it is rounding.
const STALLED_STEP: f64 = 1e-7;
/// A step of which this part gains nothing leads nowhere.
const SMALLEST_PART: f64 = 1e-12;

/// Where the way has come to.
pub(crate) struct Climb {
    pub(crate) parameters: DVector<f64>,
    pub(crate) value: f64,
    last_size: f64,
}

/// What a step came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stepped {
    /// It gained, and there may be more to gain.
    On,
    /// It was whole, and so small that the maximum is reached.
    Settled,
    /// No part of it gains.
    Nowhere,
}

impl Climb {
    pub(crate) fn from(parameters: DVector<f64>, value: f64) -> Self {
        Self { parameters, value, last_size: f64::INFINITY }
    }

    /// Takes as large a part of a step as gains; `slope` is the score along it.
    pub(crate) fn step(
        &mut self,
        step: &DVector<f64>,
        slope: f64,
        value_of: impl Fn(&DVector<f64>) -> f64,
    ) -> Stepped {
        let size = self.parameters.amax().max(1.0);
        let mut part = 1.0;
        loop {
            let mut trial = self.parameters.clone();
            trial.axpy(part, step, 1.0);
            let value = value_of(&trial);
            // Close to the maximum the gain drowns in rounding, and the full step is right.
            if value >= self.value + 1e-4 * part * slope - 1e-12 * self.value.abs() {
                self.parameters = trial;
                self.value = value;
                break;
            }
            part *= 0.5;
            if part < SMALLEST_PART {
                return Stepped::Nowhere;
            }
        }
        let moved = step.amax() / size;
        let stalled = moved <= STALLED_STEP && moved >= self.last_size;
        self.last_size = moved;
        if part == 1.0 && (moved <= SMALL_STEP || stalled) { Stepped::Settled } else { Stepped::On }
    }
}
