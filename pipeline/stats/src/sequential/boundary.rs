//! Boundaries of normal statistics, by recursive numerical integration.
//!
//! Standardised statistics of looks at information `t₁ < … < t_K = 1` are those of a Brownian motion
//! B(t): `Z_k = B(t_k)/√t_k`. The density of `B(t_k)` on the paths that have not crossed is carried from look
//! to look (Armitage, `McPherson` & Rowe 1969, "Repeated significance tests on accumulating data", Journal
//! of the Royal Statistical Society A 132, 235–244).

use crate::distribution::{normal_cdf, two_sided_quantile};
use crate::error::{StatsError, require_level};
use crate::root::find_root;

/// Points of Simpson's rule on a region of continuation. Three times as many move no boundary of the tables
/// by 1e-6.
const POINTS: usize = 241;
/// Standard deviations beyond which a normal density is nothing.
const FAR: f64 = 9.0;

/// How much of a one-sided error a look may have used up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spending {
    /// Like O'Brien & Fleming's boundary, 2 − 2Φ(z_{α/2}/√t): next to nothing early on, so that the
    /// last look tests almost as if it were the only one (Lan & `DeMets` 1983, "Discrete sequential
    /// boundaries for clinical trials", Biometrika 70, 659–663).
    OBrienFleming,
    /// Like Pocock's boundary, α ln(1 + (e − 1)t) (the same).
    Pocock,
}

impl Spending {
    /// The one-sided error used up at information `t` of `alpha`; `t` is cut to 0 to 1.
    ///
    /// ```
    /// use stats::sequential::Spending;
    ///
    /// assert_eq!(Spending::OBrienFleming.spent(0.05, 1.0), 0.05);
    /// assert!(Spending::OBrienFleming.spent(0.05, 0.5) < 0.006);
    /// ```
    pub fn spent(self, alpha: f64, t: f64) -> f64 {
        if t >= 1.0 {
            return alpha;
        }
        if t.is_nan() || t <= 0.0 {
            return 0.0;
        }
        match self {
            Self::OBrienFleming => {
                let z = two_sided_quantile(1.0 - alpha, f64::INFINITY);
                2.0 * normal_cdf(-z / t.sqrt())
            }
            Self::Pocock => alpha * ((std::f64::consts::E - 1.0) * t).ln_1p(),
        }
    }
}

/// The form of a boundary for equal steps of information.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// The same at each look (Pocock 1977, Biometrika 64, 191–199).
    Pocock,
    /// C·√(K/k) at look k of K (O'Brien & Fleming 1979, Biometrics 35, 549–556).
    OBrienFleming,
}

/// The two-sided boundary of this form that all `looks` equal looks together cross at one time in
/// 1/`alpha`: the |Z| of each look. Its last value is the constant C that tables print.
///
/// # Errors
/// No looks, or an `alpha` outside 0 to 1.
pub fn shaped_boundary(shape: Shape, alpha: f64, looks: usize) -> Result<Vec<f64>, StatsError> {
    require_level(alpha)?;
    if looks == 0 {
        return Err(StatsError::Empty { what: "the looks".into() });
    }
    let t: Vec<f64> = (1..=looks).map(|look| look as f64 / looks as f64).collect();
    let at = |constant: f64| -> Vec<f64> {
        t.iter()
            .map(|t| match shape {
                Shape::Pocock => constant,
                Shape::OBrienFleming => constant / t.sqrt(),
            })
            .collect()
    };
    let excess = |constant: f64| {
        let upper = at(constant);
        let lower: Vec<f64> = upper.iter().map(|z| -z).collect();
        let crossed = walk(&t, &lower, &upper, 0.0);
        crossed.iter().map(|(low, high)| low + high).sum::<f64>() - alpha
    };
    Ok(at(find_root(0.1, 8.0, 1e-10, excess)))
}

/// The upper boundary of Z at looks with the information `t`, each spending what `spending` gives it of
/// the one-sided `alpha`. With `two_sided` a path that has crossed −Z is gone as well.
///
/// # Errors
/// Information that does not rise from above 0 to at most 1, or an `alpha` outside 0 to 1.
pub fn spending_boundary(
    spending: Spending,
    alpha: f64,
    t: &[f64],
    two_sided: bool,
) -> Result<Vec<f64>, StatsError> {
    require_level(alpha)?;
    require_information(t)?;
    let mut upper: Vec<f64> = Vec::new();
    let mut before = 0.0;
    for look in 1..=t.len() {
        let target = spending.spent(alpha, t[look - 1]) - before;
        before += target;
        let excess = |z: f64| {
            let mut upper = upper.clone();
            upper.push(z);
            let lower: Vec<f64> =
                upper.iter().map(|z| if two_sided { -z } else { f64::NEG_INFINITY }).collect();
            let crossed = walk(&t[..look], &lower, &upper, 0.0);
            crossed.last().map_or(0.0, |(_, high)| *high) - target
        };
        upper.push(find_root(-FAR, 2.0 * FAR, 1e-10, excess));
    }
    Ok(upper)
}

/// The chance to cross the upper boundary `upper` (in Z) at each look for the first time, where Z has
/// the mean `drift`·√t: at 1 the drift is what Z is expected to be at the end.
///
/// # Errors
/// As [`spending_boundary`], and a boundary of another length.
pub fn crossing(t: &[f64], upper: &[f64], drift: f64) -> Result<Vec<f64>, StatsError> {
    require_information(t)?;
    crate::error::require_length("the boundary", t.len(), upper.len())?;
    let lower = vec![f64::NEG_INFINITY; t.len()];
    Ok(walk(t, &lower, upper, drift).into_iter().map(|(_, high)| high).collect())
}

fn require_information(t: &[f64]) -> Result<(), StatsError> {
    let mut before = 0.0;
    for (row, &now) in t.iter().enumerate() {
        if !(now > before && now <= 1.0 + 1e-12) {
            return Err(StatsError::NotIncreasing { what: "the information".into(), row });
        }
        before = now;
    }
    if t.is_empty() { Err(StatsError::Empty { what: "the looks".into() }) } else { Ok(()) }
}

/// The chances to cross below and above at each look for the first time.
fn walk(t: &[f64], lower: &[f64], upper: &[f64], drift: f64) -> Vec<(f64, f64)> {
    let mut crossed = Vec::new();
    // Values of B with the weight of each path that is still on.
    let mut alive: Vec<(f64, f64)> = vec![(0.0, 1.0)];
    let mut before = 0.0;
    for ((&t, lower), upper) in t.iter().zip(lower).zip(upper) {
        let (low, high) = (lower * t.sqrt(), upper * t.sqrt());
        let sd = (t - before).sqrt();
        let mean = |from: f64| from + drift * (t - before);
        let below =
            alive.iter().map(|(b, weight)| weight * normal_cdf((low - mean(*b)) / sd)).sum();
        let above =
            alive.iter().map(|(b, weight)| weight * normal_cdf((mean(*b) - high) / sd)).sum();
        crossed.push((below, above));
        let far = FAR * t.sqrt();
        let (from, to) = (low.max(drift * t - far), high.min(drift * t + far));
        alive = if to > from { carry(&alive, (from, to), mean, sd) } else { Vec::new() };
        before = t;
    }
    crossed
}

fn carry(
    alive: &[(f64, f64)],
    (from, to): (f64, f64),
    mean: impl Fn(f64) -> f64,
    sd: f64,
) -> Vec<(f64, f64)> {
    let step = (to - from) / (POINTS - 1) as f64;
    let simpson = |point: usize| match point {
        0 => 1.0,
        _ if point == POINTS - 1 => 1.0,
        _ if point % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let scale = step / 3.0 / (sd * (2.0 * std::f64::consts::PI).sqrt());
    (0..POINTS)
        .map(|point| {
            let at = from + step * point as f64;
            let density: f64 = alive
                .iter()
                .map(|(b, weight)| weight * (-0.5 * ((at - mean(*b)) / sd).powi(2)).exp())
                .sum();
            (at, simpson(point) * scale * density)
        })
        .collect()
}
