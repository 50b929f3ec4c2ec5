//! The three p values of a test.

use crate::estimates::Estimate;

/// P values of one test against its three alternatives.
///
/// "Greater" means that the first sample (or the sample, or the estimate) tends to larger values
/// than the hypothesis says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PValues {
    /// Against a difference in either direction.
    pub two_sided: f64,
    /// Against smaller values.
    pub less: f64,
    /// Against larger values.
    pub greater: f64,
}

impl PValues {
    /// The p values of the hypothesis that the true value of an estimate is zero.
    pub fn of(estimate: &Estimate) -> Self {
        let two_sided = estimate.p_value();
        let (near, far) = (0.5 * two_sided, 1.0 - 0.5 * two_sided);
        if estimate.statistic() < 0.0 {
            Self { two_sided, less: near, greater: far }
        } else {
            Self { two_sided, less: far, greater: near }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_sided_p_follows_the_sign() {
        let up = PValues::of(&Estimate { estimate: 2.0, std_error: 1.0, df: f64::INFINITY });
        let down = PValues::of(&Estimate { estimate: -2.0, std_error: 1.0, df: f64::INFINITY });
        assert_eq!((up.greater, up.less), (down.less, down.greater));
        assert!((up.greater - 0.022_750_131_948_179_2).abs() < 1e-15);
        assert_eq!(up.two_sided, 2.0 * up.greater);
    }
}
