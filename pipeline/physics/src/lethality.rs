//! How many decimal reductions of Salmonella a temperature history adds up to.
//!
//! The log-linear model of thermal death: at a temperature T a population falls to a tenth in
//! D(T) = Dᵣ · 10^((Tᵣ − T)/z), so the reduction is ∫ dt/D(T) (Bigelow 1921; any
//! textbook of food process engineering).
//!
//! It says nothing of spores, of toxins formed before, of the surface, of meat that was pierced
//! or injected, and it holds for the moist conditions of the table that it was fitted to. A
//! number from it is no proof of anything: local food codes and licensed practice decide.

use crate::error::{PhysicsError, within};
use cook::{Celsius, CelsiusDifference, Seconds};
use std::f64::consts::LN_10;

/// A log-linear model of thermal death.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogLinearDeath {
    decimal_reduction_s: f64,
    reference: Celsius,
    z: CelsiusDifference,
}

/// Temperature at an instant; a history is straight lines between such points.
pub type HistoryPoint = (Seconds, Celsius);

impl LogLinearDeath {
    /// A model with a decimal reduction time at a reference temperature, and with z, the rise
    /// that makes it ten times shorter.
    ///
    /// # Errors
    /// [`PhysicsError::OutOfRange`] unless the time is above 0 (up to a day), the reference
    /// lies in −50 to 200 °C and z in 0.1 to 100 K.
    pub fn new(
        decimal_reduction: Seconds,
        reference: Celsius,
        z: CelsiusDifference,
    ) -> Result<Self, PhysicsError> {
        let decimal_reduction_s =
            within("decimal reduction time", "s", decimal_reduction.value(), 1e-6, 86_400.0)?;
        within("reference temperature", "°C", reference.value(), -50.0, 200.0)?;
        within("z", "K", z.value(), 0.1, 100.0)?;
        Ok(Self { decimal_reduction_s, reference, z })
    }

    /// Salmonella in beef: least squares of log₁₀ D on the temperature over the 28 timed rows
    /// (130–157 °F) of the 6.5-log₁₀ column of FSIS Appendix A (1999), "Compliance Guidelines
    /// for Meeting Lethality Performance Standards for Certain Meat and Poultry Products":
    /// D = 1.770 min at 60 °C, z = 5.562 K.
    ///
    /// The table is rounded: its own times come out at 6.29 to 7.16 decimal reductions. Its
    /// rows from 158 °F say "0 s", a statement and no point of this law.
    pub const SALMONELLA_IN_BEEF: Self = Self {
        decimal_reduction_s: 60.0 * 1.769_620_968_7,
        reference: Celsius(60.0),
        z: CelsiusDifference(5.561_827_612_97),
    };

    /// Decimal reductions a second at a temperature.
    pub fn rate_per_s(&self, temperature: Celsius) -> f64 {
        self.exponent(temperature).exp() / self.decimal_reduction_s
    }

    fn exponent(&self, temperature: Celsius) -> f64 {
        LN_10 * (temperature.value() - self.reference.value()) / self.z.value()
    }

    /// Decimal reductions (log₁₀) that a history adds up to, exact for straight lines between
    /// its points: over a stretch from T₀ to T₁ the mean of 1/D is
    /// (1/D(T₁) − 1/D(T₀)) / ln(D(T₀)/D(T₁)).
    ///
    /// The sum up to each point, one a point, the first zero; empty for an empty history.
    ///
    /// # Errors
    /// [`PhysicsError::Backwards`] where an instant is before the one in front of it,
    /// [`PhysicsError::OutOfRange`] for a temperature outside −100 to 400 °C.
    pub fn reductions(&self, history: &[HistoryPoint]) -> Result<Vec<f64>, PhysicsError> {
        let mut sums = Vec::with_capacity(history.len());
        let mut sum = 0.0;
        let mut before: Option<HistoryPoint> = None;
        for (index, &(at, temperature)) in history.iter().enumerate() {
            within("temperature", "°C", temperature.value(), -100.0, 400.0)?;
            if let Some((earlier, from)) = before {
                let seconds = at.value() - earlier.value();
                if seconds.is_nan() || seconds < 0.0 {
                    return Err(PhysicsError::Backwards { index });
                }
                let (a, b) = (self.exponent(from), self.exponent(temperature));
                // (e^b − e^a)/(b − a), also where b is next to a.
                let rise = b - a;
                let mean = if rise.abs() < 1e-9 {
                    f64::midpoint(a, b).exp()
                } else {
                    a.exp() * rise.exp_m1() / rise
                };
                sum += seconds * mean / self.decimal_reduction_s;
            }
            before = Some((at, temperature));
            sums.push(sum);
        }
        Ok(sums)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MODEL: LogLinearDeath = LogLinearDeath::SALMONELLA_IN_BEEF;

    proptest! {
        #[test]
        fn a_point_between_changes_nothing(
            from in 20.0f64..90.0,
            to in 20.0f64..90.0,
            share in 0.0f64..1.0,
        ) {
            let whole = [(Seconds(0.0), Celsius(from)), (Seconds(600.0), Celsius(to))];
            let middle = (Seconds(600.0 * share), Celsius(from + share * (to - from)));
            let split = [whole[0], middle, whole[1]];
            let (one, two) = (MODEL.reductions(&whole).unwrap(), MODEL.reductions(&split).unwrap());
            prop_assert!((one[1] - two[2]).abs() <= 1e-9 * one[1].abs().max(1e-12));
            prop_assert!(two[0] == 0.0 && two[0] <= two[1] && two[1] <= two[2]);
        }

        #[test]
        fn a_stretch_lies_between_its_ends(from in 20.0f64..90.0, rise in -20.0f64..20.0) {
            let ends = [from, from + rise].map(|t| 60.0 * MODEL.rate_per_s(Celsius(t)));
            let stretch =
                [(Seconds(0.0), Celsius(from)), (Seconds(60.0), Celsius(from + rise))];
            let sum = MODEL.reductions(&stretch).unwrap()[1];
            prop_assert!(sum >= ends[0].min(ends[1]) * (1.0 - 1e-9));
            prop_assert!(sum <= ends[0].max(ends[1]) * (1.0 + 1e-9));
        }
    }

    #[test]
    fn bad_input_is_named() {
        assert_eq!(MODEL.reductions(&[]).unwrap(), Vec::<f64>::new());
        let backwards = [(Seconds(60.0), Celsius(60.0)), (Seconds(0.0), Celsius(60.0))];
        assert_eq!(MODEL.reductions(&backwards), Err(PhysicsError::Backwards { index: 1 }));
        assert!(MODEL.reductions(&[(Seconds(0.0), Celsius(f64::NAN))]).is_err());
        assert!(LogLinearDeath::new(Seconds(0.0), Celsius(60.0), CelsiusDifference(5.5)).is_err());
    }
}
