//! A test against the χ² distribution.

use crate::distribution::chi_squared_upper_tail;

/// A test statistic that is χ² with `df` degrees of freedom where the hypothesis holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChiSquareTest {
    /// The statistic.
    pub statistic: f64,
    /// Degrees of freedom.
    pub df: usize,
}

impl ChiSquareTest {
    /// P(χ² ≥ statistic) = Γ(df/2, statistic/2)/Γ(df/2). One where there are no degrees of freedom.
    pub fn p_value(&self) -> f64 {
        if self.df == 0 {
            return 1.0;
        }
        chi_squared_upper_tail(self.statistic, self.df as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// R 4.2.2: `pchisq(x, df, lower = FALSE)`.
    #[test]
    #[allow(clippy::unreadable_literal)]
    fn agrees_with_r() {
        for (statistic, df, p) in [
            (1e-4, 1, 9.920212873707368e-01),
            (0.5, 1, 4.795001221869535e-01),
            (3.841458820694124, 1, 4.999999999999998e-02),
            (16.79294098921654, 1, 4.168809109334531e-05),
            (200.0, 1, 2.088487583762545e-45),
            (0.5, 5, 9.921232932326296e-01),
            (25.0, 5, 1.393337911856262e-04),
            (300.0, 40, 1.495596972272627e-41),
        ] {
            let found = ChiSquareTest { statistic, df }.p_value();
            assert!((found - p).abs() <= 1e-11 * p, "{statistic} {df}: {found:e} against {p:e}");
        }
        assert_eq!(ChiSquareTest { statistic: 1e300, df: 3 }.p_value(), 0.0);
        assert_eq!(ChiSquareTest { statistic: 0.0, df: 3 }.p_value(), 1.0);
    }
}
