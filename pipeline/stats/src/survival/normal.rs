//! The standard normal distribution as the likelihood needs it: by logarithms, to full relative
//! precision in both tails.

use crate::distribution::{ln_sqrt_two_pi, upper_tail};

/// ln φ(z). Its derivatives are −z and −1.
pub(crate) fn ln_density(z: f64) -> f64 {
    -0.5 * z * z - ln_sqrt_two_pi()
}

/// ln P(Z > z).
pub(crate) fn ln_survival(z: f64) -> f64 {
    upper_tail(z).ln_probability
}

/// ln P(Z ≤ z).
pub(crate) fn ln_distribution(z: f64) -> f64 {
    upper_tail(-z).ln_probability
}

/// Density over P(Z > z).
pub(crate) fn hazard(z: f64) -> f64 {
    upper_tail(z).hazard
}

/// Density over P(Z ≤ z).
pub(crate) fn reverse_hazard(z: f64) -> f64 {
    upper_tail(-z).hazard
}

/// ln P(low < Z ≤ high).
pub(crate) fn ln_interval(low: f64, high: f64) -> f64 {
    // From the side on which the tail is small.
    let (near, far) = if low + high > 0.0 {
        (ln_survival(low), ln_survival(high))
    } else {
        (ln_distribution(high), ln_distribution(low))
    };
    near + (-(far - near).exp_m1()).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tails_and_intervals_hang_together() {
        for z in [-3.0, -1.0, -0.2, 0.0, 0.3, 1.1, 1.9] {
            let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-7 * a.abs().max(1.0));
            let (h, density) = (1e-5, ln_density(z).exp());
            let survival = |z: f64| ln_survival(z).exp();
            near((survival(z - h) - survival(z + h)) / (2.0 * h), density);
            near(survival(z) + ln_distribution(z).exp(), 1.0);
            near(hazard(z) * survival(z), density);
            near(reverse_hazard(z) * (1.0 - survival(z)), density);
            near(ln_interval(z, z + 0.5).exp(), survival(z) - survival(z + 0.5));
        }
    }

    #[test]
    fn far_intervals_have_a_probability() {
        for (low, high) in [(-60.0, -59.0), (-21.0, -19.0), (3.0, 3.5), (-30.0, 30.0)] {
            assert!(ln_interval(low, high).is_finite(), "{low}");
        }
    }
}
