//! Power of any test, by simulation.

use super::require_target;
use crate::distribution::normal_quantile;
use crate::error::{StatsError, require_level};
use crate::estimates::Interval;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use std::ops::RangeInclusive;

/// Power found by simulation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SimulatedPower {
    /// Simulated studies in which the test rejected.
    pub rejections: u32,
    /// Simulated studies.
    pub simulations: u32,
}

impl SimulatedPower {
    /// Share of the studies in which the test rejected.
    pub fn power(&self) -> f64 {
        f64::from(self.rejections) / f64::from(self.simulations)
    }

    /// Interval of the power for the number of simulations: Wilson's score interval (Wilson 1927,
    /// Journal of the American Statistical Association 22, 209–212).
    ///
    /// # Errors
    /// A level outside 0 to 1.
    pub fn interval(&self, level: f64) -> Result<Interval, StatsError> {
        require_level(level)?;
        let (n, p) = (f64::from(self.simulations), self.power());
        let z_squared = normal_quantile(0.5 + 0.5 * level).powi(2);
        let centre = p + 0.5 * z_squared / n;
        let reach = (z_squared / n * (p * (1.0 - p) + 0.25 * z_squared / n)).sqrt();
        let scale = 1.0 + z_squared / n;
        let ends = ((centre - reach) / scale, (centre + reach) / scale);
        Ok(Interval { lo: ends.0.max(0.0), hi: ends.1.min(1.0) })
    }
}

/// Simulates studies and counts how often the test rejects. The closure makes the data of one study
/// with the generator given, analyses them, and says whether it rejects.
///
/// Study number i draws from stream i of the generator of the seed: what one study draws changes no
/// other, and the same seed gives the same power on every machine.
///
/// # Errors
/// No simulations, or the first error of the closure.
///
/// ```
/// use rand::RngExt;
/// use stats::comparisons::welch_t;
/// use stats::power::simulated_power;
///
/// let power = simulated_power(500, 1, |random| {
///     let mut draw = |shift: f64| -> Vec<f64> {
///         (0..20).map(|_| shift + random.random::<f64>()).collect()
///     };
///     Ok(welch_t(&draw(0.3), &draw(0.0))?.p_value() < 0.05)
/// })?;
/// assert!(power.interval(0.99)?.lo > 0.8);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn simulated_power(
    simulations: u32,
    seed: u64,
    mut rejects: impl FnMut(&mut ChaCha8Rng) -> Result<bool, StatsError>,
) -> Result<SimulatedPower, StatsError> {
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
    Ok(SimulatedPower { rejections, simulations })
}

/// The smallest size in `sizes` whose simulated power reaches the one asked for, with that power, by
/// bisection: power is taken to grow with the size. Every size uses the same seed, so that sizes are
/// compared on the same random numbers.
///
/// # Errors
/// An empty range, a power outside 0 to 1, a largest size that does not reach it, and as
/// [`simulated_power`].
pub fn simulated_sample_size(
    sizes: RangeInclusive<usize>,
    wanted: f64,
    simulations: u32,
    seed: u64,
    mut rejects: impl FnMut(usize, &mut ChaCha8Rng) -> Result<bool, StatsError>,
) -> Result<(usize, SimulatedPower), StatsError> {
    require_target(wanted, 0.0)?;
    if sizes.is_empty() {
        return Err(StatsError::Empty { what: "the range of sizes".to_owned() });
    }
    let (mut low, mut high) = sizes.into_inner();
    let mut at = |size: usize| simulated_power(simulations, seed, |random| rejects(size, random));
    let mut best = at(high)?;
    if best.power() < wanted {
        return Err(StatsError::BadArgument {
            name: "power",
            value: wanted,
            expected: "the largest size does not reach this power: widen the range",
        });
    }
    while low < high {
        let middle = low + (high - low) / 2;
        let found = at(middle)?;
        if found.power() >= wanted {
            (high, best) = (middle, found);
        } else {
            low = middle + 1;
        }
    }
    Ok((high, best))
}
