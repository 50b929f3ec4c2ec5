//! Expectations over the scale of a sample: what turns a probability at known variance into one
//! at a variance estimated with ν degrees of freedom.

/// A term below this part of the sum is left out.
const NEGLIGIBLE: f64 = 1e-18;

/// Degrees of freedom beyond which the scale is one: what is left out is of the order 1/ν.
const AS_GOOD_AS_KNOWN: f64 = 1e12;

/// E f(S) for S = √(χ²/ν), χ² with ν degrees of freedom, where `f` falls from 1 to 0.
///
/// With u = ln s the density of S is proportional to exp(ν(u − e²ᵘ/2)), which is analytic and falls
/// off at least exponentially on both sides, so the trapezoidal rule converges exponentially in the
/// inverse of its step (Trefethen & Weideman 2014, "The exponentially convergent trapezoidal rule",
/// SIAM Review 56, 385–458). All terms are positive: small expectations keep their relative
/// precision. The constant of the density is found by the same rule.
pub(crate) fn expectation_over_scale(df: f64, f: impl Fn(f64) -> f64) -> f64 {
    if df > AS_GOOD_AS_KNOWN {
        return f(1.0);
    }
    // A Gaussian of standard deviation σ is summed to double precision at steps of 0.7 σ; the
    // density has σ² = 1/(2ν) for large ν, and is skewed and has wider tails at small ν.
    let step = 0.08f64.min(0.6 / (2.0 * df).sqrt());
    let weight = |u: f64| (df * (u - 0.5 * (2.0 * u).exp_m1())).exp();
    let (mut sum, mut total) = (f(1.0), 1.0);
    // Beyond u = 0 on either side the weight falls, so that the bound of all terms further out is
    // the weight times the largest value that f takes there: here for growing u, else one.
    for (sign, largest_is_here) in [(1.0, true), (-1.0, false)] {
        let (mut open_sum, mut open_total) = (true, true);
        let mut position = 1.0;
        while open_sum || open_total {
            let u = sign * position * step;
            let w = weight(u);
            total += w;
            open_total = w > NEGLIGIBLE * total;
            if open_sum {
                let value = f(u.exp());
                sum += w * value;
                let bound = if largest_is_here { w * value } else { w };
                open_sum = bound > NEGLIGIBLE * sum;
            }
            position += 1.0;
        }
    }
    (sum / total).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// E exp(−S²) = (1 + 2/ν)^(−ν/2), the moment generating function of chi-squared at −1/ν.
    #[test]
    fn smooth_expectations_have_their_closed_form() {
        for df in [1.0, 1.5, 2.0, 4.0, 11.0, 20.0, 77.0, 1e3, 1e6] {
            let found = expectation_over_scale(df, |s| (-s * s).exp());
            let expected = (-0.5 * df * (2.0 / df).ln_1p()).exp();
            assert!((found / expected - 1.0).abs() < 2e-14, "{df}: {found:e} {expected:e}");
        }
    }

    #[test]
    fn far_tails_keep_their_digits() {
        // E exp(−cS²) = (1 + 2c/ν)^(−ν/2), far below 1 for large c.
        for (df, c) in [(40.0, 1e4), (3.0, 1e12), (200.0, 4e3)] {
            let found = expectation_over_scale(df, |s| (-c * s * s).exp());
            let expected = (-0.5 * df * (2.0f64 * c / df).ln_1p()).exp();
            assert!((found / expected - 1.0).abs() < 1e-12, "{df}: {found:e} {expected:e}");
        }
    }

    #[test]
    fn what_is_known_has_scale_one() {
        let f = |s: f64| (-s).exp();
        let near = expectation_over_scale(1e11, f);
        let known = expectation_over_scale(f64::INFINITY, f);
        assert!((near - known).abs() < 1e-10);
        assert_eq!(known, f(1.0));
    }
}
