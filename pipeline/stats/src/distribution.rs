//! Tails and quantiles of the normal and Student t distributions, to full precision and without
//! panics.

use crate::root::find_root;
use crate::scale_mixture::expectation_over_scale;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};
use statrs::function::beta::checked_beta_reg;
use statrs::function::gamma::checked_gamma_ur;
use std::f64::consts::PI;

/// ln √(2π).
pub(crate) fn ln_sqrt_two_pi() -> f64 {
    0.5 * (2.0 * PI).ln()
}

/// Degrees of freedom beyond which the library's incomplete beta function loses digits: its error
/// is 1e-11 at 10 000 and 1e-9 at a million.
const LARGE_DF: f64 = 1e3;

/// P(T > t) for t ≥ 0, as an expectation of normal tails; for degrees of freedom above 1000.
fn student_upper_tail(t: f64, df: f64) -> f64 {
    expectation_over_scale(df, |s| normal_cdf(-t * s))
}

/// P(|T| ≥ |t|) for Student's t with `df` degrees of freedom; infinite `df` is the normal.
pub(crate) fn two_sided_p(t: f64, df: f64) -> f64 {
    if t.is_infinite() {
        return 0.0;
    }
    if df.is_infinite() {
        return 2.0 * upper_tail(t.abs()).ln_probability.exp();
    }
    if df > LARGE_DF {
        return (2.0 * student_upper_tail(t.abs(), df)).min(1.0);
    }
    match StudentsT::new(0.0, 1.0, df) {
        Ok(student) => (2.0 * student.cdf(-t.abs())).min(1.0),
        Err(_) => 1.0,
    }
}

/// The t with P(|T| ≤ t) = `level`; `level` lies strictly between 0 and 1.
pub(crate) fn two_sided_quantile(level: f64, df: f64) -> f64 {
    let tail = 0.5 * (1.0 - level);
    if df.is_finite() && df > LARGE_DF {
        let low = two_sided_quantile(level, f64::INFINITY);
        let high = two_sided_quantile(level, 0.5 * LARGE_DF);
        let excess = |t| student_upper_tail(t, df).ln() - tail.ln();
        find_root(low, high, 1e-14, |t| -excess(t))
    } else if df.is_infinite() {
        Normal::new(0.0, 1.0).map_or(f64::INFINITY, |normal| -normal.inverse_cdf(tail))
    } else {
        StudentsT::new(0.0, 1.0, df).map_or(f64::INFINITY, |student| -student.inverse_cdf(tail))
    }
}

/// Upper tail of the standard normal.
#[derive(Debug, Clone, Copy)]
pub(crate) struct UpperTail {
    /// ln P(Z ≥ z).
    pub(crate) ln_probability: f64,
    /// Density over tail probability, φ(z) / P(Z ≥ z): the hazard, or inverse Mills ratio.
    pub(crate) hazard: f64,
}

/// Upper tail of the standard normal at `z`, accurate where the probability itself underflows.
///
/// Written out here because the library's error function is good to ten digits only, too few for a
/// likelihood whose maximum is sought to thirteen.
pub(crate) fn upper_tail(z: f64) -> UpperTail {
    let ln_density = -0.5 * z * z - ln_sqrt_two_pi();
    if z < 0.0 {
        let opposite = upper_tail(-z).ln_probability.exp();
        UpperTail {
            ln_probability: (-opposite).ln_1p(),
            hazard: ln_density.exp() / (1.0 - opposite),
        }
    } else if z < 1.5 {
        // P(0 ≤ Z ≤ z) = φ(z) · (z + z³/3 + z⁵/(3·5) + …), all terms positive; Abramowitz & Stegun
        // (1964), 26.2.11.
        let mut term = z;
        let mut sum = z;
        let mut odd = 3.0;
        while term > 1e-17 * sum {
            term *= z * z / odd;
            sum += term;
            odd += 2.0;
        }
        let probability = 0.5 - ln_density.exp() * sum;
        UpperTail { ln_probability: probability.ln(), hazard: ln_density.exp() / probability }
    } else {
        // Laplace's continued fraction of the hazard, z + 1/(z + 2/(z + 3/(z + …; Abramowitz &
        // Stegun (1964), 26.2.14. It converges the faster the larger z is.
        let terms = 20 + (500.0 / (z * z)).min(500.0) as u32;
        let hazard = (1..=terms).rev().fold(z, |tail, term| z + f64::from(term) / tail);
        UpperTail { ln_probability: ln_density - hazard.ln(), hazard }
    }
}

/// Φ(z), accurate in both tails.
pub(crate) fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// P(F > f) of the F distribution with `df1` and `df2` degrees of freedom; infinite `df2` is
/// χ²/`df1`.
pub(crate) fn f_upper_tail(f: f64, df1: f64, df2: f64) -> f64 {
    if f <= 0.0 {
        return 1.0;
    }
    if f.is_infinite() {
        return 0.0;
    }
    if df2.is_infinite() {
        return chi_squared_upper_tail(f * df1, df1);
    }
    // From the side on which a small p value keeps its precision.
    let share = df2 / (df1 * f + df2);
    checked_beta_reg(0.5 * df2, 0.5 * df1, share).unwrap_or(1.0)
}

/// P(X > x) of the chi-squared distribution with `df` degrees of freedom.
pub(crate) fn chi_squared_upper_tail(x: f64, df: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    checked_gamma_ur(0.5 * df, 0.5 * x).unwrap_or(0.0)
}

#[cfg(test)]
// Figures stand as the other program printed them.
#[allow(clippy::unreadable_literal, clippy::excessive_precision, clippy::approx_constant)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64, relative: f64) {
        assert!(
            (found - expected).abs() <= relative * expected.abs(),
            "found {found}, expected {expected}"
        );
    }

    const STUDENT_LARGE: [(f64, f64, f64); 16] = [
        (0.1, 1001.0, 9.20364349002574134e-01),
        (2.0, 1001.0, 4.57700765534203233e-02),
        (7.0, 1001.0, 4.68475808241206701e-12),
        (30.0, 1001.0, 1.41322198844891249e-141),
        (0.1, 20000.0, 9.20345327744816810e-01),
        (2.0, 20000.0, 4.55137619584999459e-02),
        (7.0, 20000.0, 2.64068177228207538e-12),
        (30.0, 20000.0, 1.86631902879667329e-193),
        (0.1, 1000000.0, 9.20344345492043248e-01),
        (2.0, 1000000.0, 4.55005338513191845e-02),
        (7.0, 1000000.0, 2.56122411137407897e-12),
        (30.0, 1000000.0, 1.20200942336633323e-197),
        (0.1, 1000000000.0, 9.20344325465987989e-01),
        (2.0, 1000000000.0, 4.55002641663133298e-02),
        (7.0, 1000000000.0, 2.55962668634818429e-12),
        (30.0, 1000000000.0, 9.81541968796742378e-198),
    ];

    const F_TAILS: [(f64, f64, f64, f64); 23] = [
        (0.3, 2.0, 27.0, 7.43255631180977039e-01),
        (1.0, 2.0, 27.0, 3.81099030994788368e-01),
        (4.8, 2.0, 27.0, 1.64594820003109363e-02),
        (44.8, 2.0, 27.0, 2.64838052391019003e-09),
        (300.0, 2.0, 27.0, 3.63328122747011248e-19),
        (0.3, 5.0, 66.0, 9.11150537551028261e-01),
        (1.0, 5.0, 66.0, 4.24781861461410504e-01),
        (4.8, 5.0, 66.0, 8.38948683103938058e-04),
        (44.8, 5.0, 66.0, 6.33211903476303180e-20),
        (300.0, 5.0, 66.0, 5.86056671461348003e-44),
        (0.3, 1.0, 4.0, 6.13011113266179297e-01),
        (1.0, 1.0, 4.0, 3.73900966300058979e-01),
        (4.8, 1.0, 4.0, 9.35990209703680270e-02),
        (44.8, 1.0, 4.0, 2.59168077521520525e-03),
        (300.0, 1.0, 4.0, 6.52107025409421633e-05),
        (0.3, 9.0, 5000.0, 9.74975429279512751e-01),
        (1.0, 9.0, 5000.0, 4.37440182071509143e-01),
        (4.8, 9.0, 5000.0, 2.11541784247442001e-06),
        (44.8, 9.0, 5000.0, 4.88116520216342836e-78),
        (0.3, 3.0, 30.5, 8.25117250657957824e-01),
        (1.0, 3.0, 30.5, 4.06126191038325368e-01),
        (4.8, 3.0, 30.5, 7.45464741952864274e-03),
        (44.8, 3.0, 30.5, 2.72954913159826194e-11),
    ];

    const CHI_SQUARED_TAILS: [(f64, f64, f64); 21] = [
        (0.1, 1.0, 7.51829634045849349e-01),
        (1.0, 1.0, 3.17310507862914148e-01),
        (8.0, 1.0, 4.67773498104726796e-03),
        (55.0, 1.0, 1.20529825844463954e-13),
        (400.0, 1.0, 5.50724823721246887e-89),
        (0.1, 2.0, 9.51229424500714016e-01),
        (1.0, 2.0, 6.06530659712633424e-01),
        (8.0, 2.0, 1.83156388887341787e-02),
        (55.0, 2.0, 1.13999185304435537e-12),
        (400.0, 2.0, 1.38389652673673756e-87),
        (0.1, 5.0, 9.99837683388077436e-01),
        (1.0, 5.0, 9.62565773247296419e-01),
        (8.0, 5.0, 1.56235627577722330e-01),
        (55.0, 5.0, 1.30536234619946233e-10),
        (400.0, 5.0, 2.96664465908288521e-84),
        (0.1, 30.0, 9.99999999999999889e-01),
        (8.0, 30.0, 9.99980068272517286e-01),
        (55.0, 30.0, 3.54992702320088005e-03),
        (400.0, 30.0, 2.79549385765648833e-66),
        (1.0, 200.0, 9.99999999999999889e-01),
        (400.0, 200.0, 1.84389364971157372e-15),
    ];

    const NORMAL_QUANTILES: [(f64, f64); 9] = [
        (1e-300, -3.70470962993612005e+01),
        (1e-12, -7.03448382530113214e+00),
        (0.001, -3.09023230616781319e+00),
        (0.025, -1.95996398454005383e+00),
        (0.2, -8.41621233572914185e-01),
        (0.4999, -2.50662830088007520e-04),
        (0.6, 2.53347103135799778e-01),
        (0.975, 1.95996398454005361e+00),
        (0.999999, 4.75342430881708911e+00),
    ];

    #[test]
    fn tail_pieces_join() {
        for join in [-1.5, 0.0, 1.5] {
            let below = upper_tail(join - 1e-12);
            let above = upper_tail(join + 1e-12);
            assert!((below.ln_probability - above.ln_probability).abs() < 2e-11);
            assert!((below.hazard - above.hazard).abs() < 2e-11);
        }
    }

    #[test]
    fn far_tail_follows_the_asymptotic_series() {
        // Abramowitz & Stegun (1964), 26.2.12: Mills ratio ≈ 1/z (1 − 1/z² + 3/z⁴ − 15/z⁶).
        let z: f64 = 60.0;
        let mills = (1.0 - z.powi(-2) + 3.0 * z.powi(-4) - 15.0 * z.powi(-6)) / z;
        close(upper_tail(z).hazard, 1.0 / mills, 1e-11);
        assert!(upper_tail(1e6).ln_probability.is_finite());
        assert!(upper_tail(-1e6).hazard == 0.0);
    }

    /// R 4.2.2: `pnorm(z, lower = FALSE, log = TRUE)`, and `exp(dnorm(z, log = TRUE) - …)` of it.
    #[test]
    fn tail_agrees_with_r() {
        for (z, ln_probability, hazard) in [
            (-8.0, -6.22096057427178683e-16, 5.05227108353688563e-15),
            (-5.0, -2.86651612963763577e-07, 1.48671994090490606e-06),
            (-1.5, -6.91434556122339922e-02, 1.38789750458850752e-01),
            (-0.3, -4.81410161588481156e-01, 6.17220853612734377e-01),
            (0.0, -6.93147180559945286e-01, 7.97884560802865295e-01),
            (0.7, -1.41896776153153148e+00, 1.29049933945816631e+00),
            (1.49, -2.68660013794568142e+00, 1.93017679961819377e+00),
            (1.51, -2.72537370899550702e+00, 1.94718584885274226e+00),
            (2.0, -3.78318433368203166e+00, 2.37321553282284015e+00),
            (3.0, -6.60772622151034916e+00, 3.28309865493043418e+00),
            (4.9, -1.45511826893553131e+01, 5.08982860012988425e+00),
            (5.1, -1.55884870918714675e+01, 5.28328761690916515e+00),
            (12.0, -7.54106730015687958e+01, 1.20822141752543537e+01),
        ] {
            close(upper_tail(z).ln_probability, ln_probability, 1e-14);
            close(upper_tail(z).hazard, hazard, 1e-14);
        }
    }

    /// R 4.2.2: `2 * pt(-t, df)` and `qt(0.5 + level / 2, df)`.
    #[test]
    fn student_agrees_with_r() {
        for (t, df, p) in [
            (0.1, 1.0, 9.36548965138892853e-01),
            (2.0, 1.0, 2.95167235300866415e-01),
            (7.0, 1.0, 9.03344706017330940e-02),
            (30.0, 1.0, 2.12128048110708477e-02),
            (0.1, 3.0, 9.26652348800805825e-01),
            (2.0, 3.0, 1.39325968558843133e-01),
            (7.0, 3.0, 5.98625569770709458e-03),
            (30.0, 3.0, 8.13528042716396739e-05),
            (0.1, 9.0, 9.22536447956681216e-01),
            (2.0, 9.0, 7.65528237707009396e-02),
            (7.0, 9.0, 6.32473896373669261e-05),
            (30.0, 9.0, 2.48370470415826296e-10),
            (0.1, 34.0, 9.20931655950596451e-01),
            (2.0, 34.0, 5.35398354704504156e-02),
            (7.0, 34.0, 4.46931720314227225e-08),
            (30.0, 34.0, 4.78464777225945814e-26),
            (0.1, 250.0, 9.20424469295816783e-01),
            (2.0, 250.0, 4.65821053432514259e-02),
            (7.0, 250.0, 2.34685266787812050e-11),
            (30.0, 250.0, 8.13873764819877201e-85),
        ] {
            close(two_sided_p(t, df), p, 1e-12);
        }
        for (level, df, t) in [
            (0.5, 1.0, 1.00000000000000000e+00),
            (0.9, 1.0, 6.31375151467503759e+00),
            (0.95, 1.0, 1.27062047361746941e+01),
            (0.999, 1.0, 6.36619248768789703e+02),
            (0.5, 3.0, 7.64892328404345179e-01),
            (0.9, 3.0, 2.35336343480182464e+00),
            (0.95, 3.0, 3.18244630528370775e+00),
            (0.999, 3.0, 1.29239786366879610e+01),
            (0.5, 9.0, 7.02722146751326271e-01),
            (0.9, 9.0, 1.83311293265623654e+00),
            (0.95, 9.0, 2.26215716279820489e+00),
            (0.999, 9.0, 4.78091258593121893e+00),
            (0.5, 34.0, 6.81774102915578051e-01),
            (0.9, 34.0, 1.69092425518685441e+00),
            (0.95, 34.0, 2.03224450931771816e+00),
            (0.999, 34.0, 3.60071579738644765e+00),
            (0.5, 250.0, 6.75472361397439269e-01),
            (0.9, 250.0, 1.65097148981285669e+00),
            (0.95, 250.0, 1.96949839342115229e+00),
            (0.999, 250.0, 3.32986720567313066e+00),
            (0.5, f64::INFINITY, 6.74489750196081705e-01),
            (0.9, f64::INFINITY, 1.64485362695147153e+00),
            (0.95, f64::INFINITY, 1.95996398454005361e+00),
            (0.999, f64::INFINITY, 3.29052673149192554e+00),
        ] {
            close(two_sided_quantile(level, df), t, 1e-12);
        }
    }

    /// R 4.2.2: `2 * pt(-t, df)`, where the incomplete beta function is weak.
    #[test]
    fn student_with_many_degrees_of_freedom_agrees_with_r() {
        for (t, df, p) in STUDENT_LARGE {
            close(two_sided_p(t, df), p, 1e-12);
        }
    }

    /// R 4.2.2: `pf(f, df1, df2, lower = FALSE)`.
    #[test]
    fn f_tail_agrees_with_r() {
        for (f, df1, df2, p) in F_TAILS {
            close(f_upper_tail(f, df1, df2), p, 1e-11);
        }
        assert_eq!(f_upper_tail(0.0, 2.0, 3.0), 1.0);
        assert_eq!(f_upper_tail(f64::INFINITY, 2.0, 3.0), 0.0);
    }

    /// R 4.2.2: `pchisq(x, df, lower = FALSE)`.
    #[test]
    fn chi_squared_tail_agrees_with_r() {
        for (x, df, p) in CHI_SQUARED_TAILS {
            close(chi_squared_upper_tail(x, df), p, 1e-12);
        }
        assert_eq!(chi_squared_upper_tail(0.0, 2.0), 1.0);
    }

    /// R 4.2.2: `qnorm(p)`, which Φ undoes.
    #[test]
    fn normal_distribution_agrees_with_r() {
        for (p, z) in NORMAL_QUANTILES {
            close(normal_cdf(z), p, 2e-15 * (1.0 + z * z));
        }
    }

    #[test]
    fn quantile_undoes_the_tail() {
        for df in [1.0, 2.0, 4.5, 9.0, 200.0, 1e3, 1001.0, 1e5, 1e9, f64::INFINITY] {
            for level in [0.2, 0.5, 0.9, 0.95, 0.999_99] {
                let t = two_sided_quantile(level, df);
                close(two_sided_p(t, df), 1.0 - level, 1e-11);
            }
        }
    }
}
