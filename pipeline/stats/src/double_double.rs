//! Double-double arithmetic: a number as the unevaluated sum of two doubles, about 31 significant
//! digits.
//!
//! Sources: Dekker (1971), "A floating-point technique for extending the available precision",
//! Numerische Mathematik 18, 224–242 (splitting, two-product); Knuth, The Art of Computer
//! Programming vol. 2, section 4.2.2 (two-sum). Dekker's splitting is used rather than a fused
//! multiply-add because it gives the same bits on every machine and is fast where the instruction
//! is missing.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// `high + low`, where `low` is at most half a unit in the last place of `high`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct DoubleDouble {
    high: f64,
    low: f64,
}

/// Relative size below which a difference of double-doubles is rounding.
pub(crate) const ROUNDING: f64 = 1e-28;

#[inline]
fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let b_part = sum - a;
    (sum, (a - (sum - b_part)) + (b - b_part))
}

#[inline]
fn quick_two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    (sum, b - (sum - a))
}

#[inline]
fn split(a: f64) -> (f64, f64) {
    // 2^27 + 1 splits a 53-bit significand into two halves whose products are exact.
    let scaled = 134_217_729.0 * a;
    let high = scaled - (scaled - a);
    (high, a - high)
}

#[inline]
fn two_product(a: f64, b: f64) -> (f64, f64) {
    let product = a * b;
    let (ah, al) = split(a);
    let (bh, bl) = split(b);
    (product, ((ah * bh - product) + ah * bl + al * bh) + al * bl)
}

impl DoubleDouble {
    pub(crate) const ZERO: Self = Self { high: 0.0, low: 0.0 };

    /// The nearest double.
    pub(crate) fn value(self) -> f64 {
        self.high
    }

    pub(crate) fn is_finite(self) -> bool {
        self.high.is_finite() && self.low.is_finite()
    }

    pub(crate) fn sqrt(self) -> Self {
        if self.high <= 0.0 {
            return Self::ZERO;
        }
        // One Newton step from the double root doubles its digits.
        let root = Self::from(self.high.sqrt());
        let correction = (self - root * root).high / (2.0 * root.high);
        root + Self::from(correction)
    }

    /// Exact product with a power of two.
    pub(crate) fn scale(self, power_of_two: f64) -> Self {
        Self { high: self.high * power_of_two, low: self.low * power_of_two }
    }
}

impl From<f64> for DoubleDouble {
    fn from(value: f64) -> Self {
        Self { high: value, low: 0.0 }
    }
}

impl Add for DoubleDouble {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        let (sum, error) = two_sum(self.high, other.high);
        let (low, low_error) = two_sum(self.low, other.low);
        let (sum, error) = quick_two_sum(sum, error + low);
        let (high, low) = quick_two_sum(sum, error + low_error);
        Self { high, low }
    }
}

impl Neg for DoubleDouble {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        Self { high: -self.high, low: -self.low }
    }
}

impl Sub for DoubleDouble {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for DoubleDouble {
    type Output = Self;
    #[inline]
    fn mul(self, other: Self) -> Self {
        let (product, error) = two_product(self.high, other.high);
        let (high, low) =
            quick_two_sum(product, error + (self.high * other.low + self.low * other.high));
        Self { high, low }
    }
}

impl Div for DoubleDouble {
    type Output = Self;
    #[inline]
    fn div(self, other: Self) -> Self {
        let first = self.high / other.high;
        let remainder = self - other * Self::from(first);
        let second = remainder.high / other.high;
        let remainder = remainder - other * Self::from(second);
        let third = remainder.high / other.high;
        let (high, low) = quick_two_sum(first, second);
        Self { high, low } + Self::from(third)
    }
}

impl AddAssign for DoubleDouble {
    #[inline]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for DoubleDouble {
    #[inline]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

/// Sum of products.
pub(crate) fn dot(a: &[DoubleDouble], b: &[DoubleDouble]) -> DoubleDouble {
    a.iter().zip(b).fold(DoubleDouble::ZERO, |sum, (&x, &y)| sum + x * y)
}

/// The power of two next to `1 / size`, so that scaling by it is exact; one for zero.
pub(crate) fn inverse_power_of_two(size: f64) -> f64 {
    if size > 0.0 && size.is_finite() {
        // Kept within the exponents whose inverse is a normal number.
        2f64.powi(-(size.log2().round().clamp(-1000.0, 1000.0) as i32))
    } else {
        1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_third_is_held_to_thirty_one_digits() {
        let third = DoubleDouble::from(1.0) / DoubleDouble::from(3.0);
        let back = third * DoubleDouble::from(3.0) - DoubleDouble::from(1.0);
        assert!(back.value().abs() < 1e-31, "{back:?}");
    }

    #[test]
    fn a_root_squares_back() {
        let two = DoubleDouble::from(2.0);
        let root = two.sqrt();
        assert!((root * root - two).value().abs() < 1e-31);
    }

    #[test]
    fn small_terms_survive_a_large_sum() {
        let sum = DoubleDouble::from(1e16) + DoubleDouble::from(1.0) - DoubleDouble::from(1e16);
        assert_eq!(sum.value(), 1.0);
    }

    proptest! {
        #[test]
        fn product_then_quotient_is_identity(a in -1e6f64..1e6, b in 1e-3f64..1e6) {
            let a = DoubleDouble::from(a);
            let b = DoubleDouble::from(b);
            let back = a * b / b - a;
            prop_assert!(back.value().abs() <= 1e-30 * a.value().abs());
        }
    }
}
