//! Standard distributions of location-scale families, and probabilities of intervals under them.

use crate::distribution::{ln_sqrt_two_pi, upper_tail};
use statrs::distribution::{ContinuousCDF, Normal};

/// Distribution of (Y − location)/scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Standard {
    /// Smallest extreme value (Gumbel): P(Z > z) = exp(−eᶻ).
    SmallestExtreme,
    Normal,
    Logistic,
}

/// ln f with its first two derivatives.
#[derive(Debug, Clone, Copy)]
pub(super) struct LnDensity {
    pub(super) value: f64,
    pub(super) first: f64,
    pub(super) second: f64,
}

impl Standard {
    pub(super) fn ln_density(self, z: f64) -> LnDensity {
        match self {
            Self::SmallestExtreme => {
                let e = z.exp();
                LnDensity { value: z - e, first: 1.0 - e, second: -e }
            }
            Self::Normal => {
                LnDensity { value: -0.5 * z * z - ln_sqrt_two_pi(), first: -z, second: -1.0 }
            }
            Self::Logistic => {
                let e = (-z.abs()).exp();
                let below = if z < 0.0 { e / (1.0 + e) } else { 1.0 / (1.0 + e) };
                LnDensity {
                    value: -z.abs() - 2.0 * e.ln_1p(),
                    first: 1.0 - 2.0 * below,
                    second: -2.0 * e / ((1.0 + e) * (1.0 + e)),
                }
            }
        }
    }

    /// ln P(Z > z), to full relative precision on both sides.
    pub(super) fn ln_survival(self, z: f64) -> f64 {
        match self {
            Self::SmallestExtreme => -z.exp(),
            Self::Normal => upper_tail(z).ln_probability,
            Self::Logistic => -ln_one_plus_exp(z),
        }
    }

    /// ln P(Z ≤ z), likewise.
    pub(super) fn ln_distribution(self, z: f64) -> f64 {
        match self {
            // 1 − exp(−eᶻ) = eᶻ(1 − eᶻ/2 + …).
            Self::SmallestExtreme if z < -20.0 => z - 0.5 * z.exp(),
            Self::SmallestExtreme => (-(-z.exp()).exp_m1()).ln(),
            Self::Normal => upper_tail(-z).ln_probability,
            Self::Logistic => -ln_one_plus_exp(-z),
        }
    }

    /// Density over P(Z > z).
    pub(super) fn hazard(self, z: f64) -> f64 {
        match self {
            Self::SmallestExtreme => z.exp(),
            Self::Normal => upper_tail(z).hazard,
            Self::Logistic => (-ln_one_plus_exp(-z)).exp(),
        }
    }

    /// Density over P(Z ≤ z).
    pub(super) fn reverse_hazard(self, z: f64) -> f64 {
        match self {
            Self::SmallestExtreme => (self.ln_density(z).value - self.ln_distribution(z)).exp(),
            Self::Normal => upper_tail(-z).hazard,
            Self::Logistic => (-ln_one_plus_exp(z)).exp(),
        }
    }

    /// ln P(low < Z ≤ high).
    pub(super) fn ln_interval(self, low: f64, high: f64) -> f64 {
        // From the side on which the tail is small.
        let (near, far) = if low + high > 0.0 {
            (self.ln_survival(low), self.ln_survival(high))
        } else {
            (self.ln_distribution(high), self.ln_distribution(low))
        };
        near + (-(far - near).exp_m1()).ln()
    }

    /// z with P(Z ≤ z) = p.
    pub(super) fn quantile(self, p: f64) -> f64 {
        match self {
            Self::SmallestExtreme => (-(-p).ln_1p()).ln(),
            Self::Normal => Normal::new(0.0, 1.0).map_or(f64::NAN, |normal| normal.inverse_cdf(p)),
            Self::Logistic => p.ln() - (-p).ln_1p(),
        }
    }
}

/// ln(1 + eᶻ).
fn ln_one_plus_exp(z: f64) -> f64 {
    z.max(0.0) + (-z.abs()).exp().ln_1p()
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Standard; 3] = [Standard::SmallestExtreme, Standard::Normal, Standard::Logistic];

    #[test]
    fn derivatives_and_tails_hang_together() {
        for standard in ALL {
            for z in [-3.0, -1.0, -0.2, 0.0, 0.3, 1.1, 1.9] {
                let (h, at) = (1e-5, standard.ln_density(z));
                let (up, down) = (standard.ln_density(z + h), standard.ln_density(z - h));
                let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-7 * a.abs().max(1.0));
                near((up.value - down.value) / (2.0 * h), at.first);
                near((up.first - down.first) / (2.0 * h), at.second);
                let survival = |z: f64| standard.ln_survival(z).exp();
                near((survival(z - h) - survival(z + h)) / (2.0 * h), at.value.exp());
                near(survival(z) + standard.ln_distribution(z).exp(), 1.0);
                near(standard.hazard(z) * survival(z), at.value.exp());
                near(standard.reverse_hazard(z) * (1.0 - survival(z)), at.value.exp());
                near(standard.ln_interval(z, z + 0.5).exp(), survival(z) - survival(z + 0.5));
                near(standard.quantile(standard.ln_distribution(z).exp()), z);
            }
        }
    }

    #[test]
    fn far_intervals_have_a_probability() {
        for standard in ALL {
            for (low, high) in [(-60.0, -59.0), (-21.0, -19.0), (3.0, 3.5), (-30.0, 30.0)] {
                assert!(standard.ln_interval(low, high).is_finite(), "{standard:?} {low}");
            }
        }
        // e⁻⁵⁹ − e⁻⁶⁰ for both, but for parts of order e⁻¹¹⁸.
        let expected = -59.0 + (-(-1.0_f64).exp()).ln_1p();
        for standard in [Standard::SmallestExtreme, Standard::Logistic] {
            assert!((standard.ln_interval(-60.0, -59.0) - expected).abs() < 1e-13);
        }
    }
}
