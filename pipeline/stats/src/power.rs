//! Power of any test, by simulation.

use crate::error::StatsError;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// Simulates studies and gives the share of them in which the test rejects. The closure makes the
/// data of one study with the generator given, analyses them, and says whether it rejects.
///
/// Study number i draws from stream i of the generator of the seed: what one study draws changes no
/// other, and the same seed gives the same power on every machine.
///
/// # Errors
/// No simulations, or the first error of the closure.
///
/// ```
/// use rand::RngExt;
/// use stats::power::simulated_power;
///
/// // Does the mean of 20 draws between 0 and 1 lie above 0.4?
/// let power = simulated_power(500, 1, |random| {
///     let sum: f64 = (0..20).map(|_| random.random::<f64>()).sum();
///     Ok(sum / 20.0 > 0.4)
/// })?;
/// assert!(power > 0.9 && power < 0.97);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn simulated_power(
    simulations: u32,
    seed: u64,
    mut rejects: impl FnMut(&mut ChaCha8Rng) -> Result<bool, StatsError>,
) -> Result<f64, StatsError> {
    if simulations == 0 {
        return Err(StatsError::BadArgument {
            name: "simulations",
            value: 0.0,
            expected: "a simulated power needs simulations",
        });
    }
    let mut rejections = 0;
    for study in 0..simulations {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(u64::from(study));
        rejections += u32::from(rejects(&mut random)?);
    }
    Ok(f64::from(rejections) / f64::from(simulations))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::RngExt;
    use rand_distr::StandardNormal;

    /// Power of the one-sided z test of 12 values at 5 % against a mean of half a standard deviation:
    /// Φ(0.5 √12 − 1.644854) = 0.534743 (by the error function of C).
    #[test]
    fn agrees_with_the_exact_power_of_a_z_test() {
        let study = |random: &mut ChaCha8Rng| {
            let draws = (0..12).map(|_| 0.5 + random.sample::<f64, _>(StandardNormal));
            Ok(draws.sum::<f64>() / 12f64.sqrt() > 1.644_853_626_951_472_7)
        };
        let power = simulated_power(4_000, 5, study).unwrap();
        // Four standard errors of a share of 4000.
        assert!((power - 0.534_743).abs() < 4.0 * (0.25f64 / 4_000.0).sqrt(), "{power}");
        assert_eq!(power, simulated_power(4_000, 5, study).unwrap());
        assert_ne!(power, simulated_power(4_000, 6, study).unwrap());
    }

    /// What one study draws does not change the next.
    #[test]
    fn studies_draw_from_streams_of_their_own() {
        let first_numbers = |draws: usize| {
            let mut kept: Vec<u64> = Vec::new();
            let power = simulated_power(5, 3, |random| {
                let numbers: Vec<u64> = (0..draws).map(|_| random.random()).collect();
                kept.push(numbers[0]);
                Ok(true)
            });
            assert_eq!(power.unwrap(), 1.0);
            kept
        };
        let mut first = first_numbers(1);
        assert_eq!(first, first_numbers(1_000));
        first.dedup();
        assert_eq!(first.len(), 5);
    }

    #[test]
    fn errors_are_passed_on() {
        assert!(simulated_power(0, 1, |_| Ok(true)).is_err());
        let fails = |_: &mut ChaCha8Rng| Err(StatsError::ExactFit);
        assert_eq!(simulated_power(5, 1, fails).unwrap_err(), StatsError::ExactFit);
    }
}
