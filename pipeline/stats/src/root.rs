//! Roots of functions of one variable.

/// Steps after which the search ends: more than bisection needs for every double.
const MOST_STEPS: usize = 2200;

/// The x between `low` and `high` where `f` changes sign, to within `tolerance` (relative to its
/// size, plus the same absolutely) or the spacing of doubles.
///
/// Brent (1973), "Algorithms for Minimization without Derivatives", chapter 4: inverse quadratic
/// interpolation, kept safe by bisection. Where the ends have the same sign, the end with the
/// smaller |f| is returned.
pub(crate) fn find_root(low: f64, high: f64, tolerance: f64, f: impl Fn(f64) -> f64) -> f64 {
    // `best` is the best guess, `other` the end of the bracket across the root, `before` the guess
    // before `best`.
    let (mut before, mut best) = (low, high);
    let (mut f_before, mut f_best) = (f(low), f(high));
    if f_before == 0.0 {
        return low;
    }
    if f_best != 0.0 && (f_before > 0.0) == (f_best > 0.0) {
        return if f_before.abs() < f_best.abs() { low } else { high };
    }
    let (mut other, mut f_other) = (before, f_before);
    let mut step = best - before;
    let mut last_step = step;
    for _ in 0..MOST_STEPS {
        if f_other.abs() < f_best.abs() {
            (before, best, other) = (best, other, best);
            (f_before, f_best, f_other) = (f_best, f_other, f_best);
        }
        let smallest = 0.5 * tolerance * (1.0 + best.abs()) + 2.0 * f64::EPSILON * best.abs();
        let half = 0.5 * (other - best);
        if half.abs() <= smallest || f_best == 0.0 {
            break;
        }
        let interpolated = (last_step.abs() >= smallest && f_before.abs() > f_best.abs())
            .then(|| {
                let s = f_best / f_before;
                let (p, q) = if before == other {
                    (2.0 * half * s, 1.0 - s)
                } else {
                    let (a, r) = (f_before / f_other, f_best / f_other);
                    (
                        s * (2.0 * half * a * (a - r) - (best - before) * (r - 1.0)),
                        (a - 1.0) * (r - 1.0) * (s - 1.0),
                    )
                };
                let (p, q) = if p > 0.0 { (p, -q) } else { (-p, q) };
                // Accepted only within the bracket, and if steps shrink fast enough.
                let limit = (3.0 * half * q - (smallest * q).abs()).min((last_step * q).abs());
                (2.0 * p < limit).then_some(p / q)
            })
            .flatten();
        if let Some(shift) = interpolated {
            (last_step, step) = (step, shift);
        } else {
            (last_step, step) = (half, half);
        }
        (before, f_before) = (best, f_best);
        best += if step.abs() > smallest { step } else { smallest.copysign(half) };
        f_best = f(best);
        if (f_best > 0.0) == (f_other > 0.0) {
            (other, f_other) = (before, f_before);
            step = best - before;
            last_step = step;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::Cell;

    #[test]
    fn finds_roots_to_the_tolerance() {
        let cubic = find_root(2.0, 3.0, 1e-15, |x| x * x * x - 2.0 * x - 5.0);
        // Wallis's cubic; root to 16 digits in Whittaker & Robinson, The Calculus of Observations.
        assert!((cubic - 2.094_551_481_542_326_6).abs() < 1e-14);
        let flat = find_root(-1.0, 4.0, 1e-12, |x| (x - 1.5).powi(9));
        assert!((flat - 1.5).abs() < 1e-1 && (flat - 1.5).powi(9).abs() < 1e-13);
        assert!(
            (find_root(-700.0, 700.0, 1e-14, |x: f64| x.exp() - 1e-200) + 460.517_018_598_809_1)
                .abs()
                < 1e-10
        );
        assert_eq!(find_root(0.0, 5.0, 1e-12, |x| x), 0.0);
        assert_eq!(find_root(-5.0, 0.0, 1e-12, |x| x), 0.0);
    }

    #[test]
    fn a_jump_is_found_and_no_change_of_sign_gives_the_nearer_end() {
        let jump = find_root(0.0, 1.0, 1e-14, |x| if x < 0.3 { -1.0 } else { 1.0 });
        assert!((jump - 0.3).abs() < 1e-13);
        assert_eq!(find_root(1.0, 2.0, 1e-12, |x| x), 1.0);
    }

    #[test]
    fn takes_few_steps_where_the_function_is_smooth() {
        let calls = Cell::new(0);
        find_root(0.0, 10.0, 1e-14, |x: f64| {
            calls.set(calls.get() + 1);
            (-x).exp() - 0.1
        });
        assert!(calls.get() < 20, "{}", calls.get());
    }
}
