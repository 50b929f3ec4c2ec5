//! A reference heating coefficient from the team's other cooks.

/// Fewest cooks to borrow from: with fewer, their spread says nothing.
pub const FEWEST_COOKS: usize = 3;

/// A reference borrowed from this team's other cooks of the same cut and pit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BorrowedReference {
    /// Median of their references, 1/h.
    pub median_per_h: f64,
    /// Standard deviation of the natural logarithm of their references: how far one cook
    /// of this cut and pit lies from another, as a relative error.
    pub spread_log: f64,
    /// How many cooks.
    pub cooks: usize,
}

/// Borrows from the own references (1/h) of the team's other cooks of the same cut and
/// pit; `None` with fewer than [`FEWEST_COOKS`] usable ones. Values that are not positive
/// are no references and are left out.
///
/// The logarithm is taken since a coefficient is a positive scale: it is thickness,
/// diffusivity and surface that multiply each other in it.
pub fn borrow(references_per_h: &[f64]) -> Option<BorrowedReference> {
    let usable: Vec<f64> =
        references_per_h.iter().copied().filter(|k| k.is_finite() && *k > 0.0).collect();
    if usable.len() < FEWEST_COOKS {
        return None;
    }
    let cooks = usable.len();
    let median_per_h = stats::describe::median(&usable).ok()?;
    let mean = usable.iter().map(|k| k.ln()).sum::<f64>() / cooks as f64;
    let variance =
        usable.iter().map(|k| (k.ln() - mean).powi(2)).sum::<f64>() / (cooks as f64 - 1.0);
    Some(BorrowedReference { median_per_h, spread_log: variance.sqrt(), cooks })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn median_and_log_spread_by_hand() {
        // ln(0.1), ln(0.2), ln(0.4) are ln 2 apart, so their standard deviation is ln 2.
        let borrowed = borrow(&[0.4, 0.1, f64::NAN, 0.2, -1.0]).unwrap();
        assert_eq!(borrowed.cooks, 3);
        assert!((borrowed.median_per_h - 0.2).abs() < 1e-15);
        assert!((borrowed.spread_log - 2.0_f64.ln()).abs() < 1e-12);
    }

    #[test]
    fn two_cooks_are_too_few() {
        assert_eq!(borrow(&[0.1, 0.2]), None);
    }
}
