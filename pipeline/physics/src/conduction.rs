//! Exact transient conduction in a slab and a long cylinder.
//!
//! A body at one temperature is put into a fluid of another at time zero; θ =
//! `(T − T_fluid)/(T_initial − T_fluid)`. Constant properties. Carslaw & Jaeger, Conduction of
//! Heat in Solids, 2nd ed., §3.11 and §7.7; Çengel, Heat and Mass Transfer, ch. 4.

use crate::bessel::bessel_j;
use crate::error::{PhysicsError, within};
use std::f64::consts::{FRAC_PI_2, PI};

/// The body. Bi and Fo take the half thickness of the slab, the radius of the cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Infinite slab, heated from both sides.
    Slab,
    /// Infinitely long cylinder.
    Cylinder,
}

/// θ as a series Σ Cₙ·exp(−zₙ²·Fo)·f(zₙ·x), x from 0 (middle) to 1 (surface).
#[derive(Debug, Clone, PartialEq)]
pub struct ConductionSeries {
    shape: Shape,
    roots: Vec<f64>,
    coefficients: Vec<f64>,
}

impl ConductionSeries {
    /// A series of `terms` terms for a Biot number (h·L/k; infinite for a surface held at
    /// the fluid's temperature). Sixty terms give ten digits for Fo ≥ 0.05.
    ///
    /// # Errors
    /// [`PhysicsError::OutOfRange`] where Bi is not above zero or `terms` is 0 or above 500.
    pub fn new(shape: Shape, biot: f64, terms: u32) -> Result<Self, PhysicsError> {
        within("Biot number", "", biot, f64::MIN_POSITIVE, f64::INFINITY)?;
        within("number of terms", "", f64::from(terms), 1.0, 500.0)?;
        let roots: Vec<f64> = (1..=terms)
            .map(|n| match shape {
                Shape::Slab => slab_root(n, biot),
                Shape::Cylinder => cylinder_root(n, biot),
            })
            .collect();
        let coefficients = roots
            .iter()
            .map(|&z| match shape {
                Shape::Slab => 4.0 * z.sin() / (2.0 * z + (2.0 * z).sin()),
                Shape::Cylinder => {
                    let (j0, j1) = (bessel_j(0, z), bessel_j(1, z));
                    2.0 / z * j1 / (j0 * j0 + j1 * j1)
                }
            })
            .collect();
        Ok(Self { shape, roots, coefficients })
    }

    /// The roots zₙ of z·tan z = Bi (slab) or z·J₁(z) = Bi·J₀(z) (cylinder), rising.
    pub fn roots(&self) -> &[f64] {
        &self.roots
    }

    /// The coefficients Cₙ.
    pub fn coefficients(&self) -> &[f64] {
        &self.coefficients
    }

    /// θ at a relative position, 0 (middle) to 1 (surface), at a Fourier number α·t/L².
    pub fn theta(&self, position: f64, fourier: f64) -> f64 {
        self.sum(fourier, |z| match self.shape {
            Shape::Slab => (z * position).cos(),
            Shape::Cylinder => bessel_j(0, z * position),
        })
    }

    /// θ averaged over the body's volume: the share of the heat still to come.
    pub fn mean(&self, fourier: f64) -> f64 {
        self.sum(fourier, |z| match self.shape {
            Shape::Slab => z.sin() / z,
            Shape::Cylinder => 2.0 * bessel_j(1, z) / z,
        })
    }

    fn sum(&self, fourier: f64, profile: impl Fn(f64) -> f64) -> f64 {
        self.roots
            .iter()
            .zip(&self.coefficients)
            .map(|(&z, c)| (c, (-z * z * fourier).exp(), z))
            .take_while(|(_, decay, _)| *decay > 0.0)
            .map(|(c, decay, z)| c * decay * profile(z))
            .sum()
    }
}

/// n-th root of z·sin z = Bi·cos z, which lies in ((n − 1)π, (n − ½)π].
fn slab_root(n: u32, biot: f64) -> f64 {
    let low = f64::from(n - 1) * PI;
    if biot.is_infinite() {
        return low + FRAC_PI_2;
    }
    bisect(low, low + FRAC_PI_2, |z| z * z.sin() - biot * z.cos())
}

/// n-th root of z·J₁(z) = Bi·J₀(z): between the zero n − 1 of J₁ and the zero n of J₀.
fn cylinder_root(n: u32, biot: f64) -> f64 {
    let high = bessel_zero(0, n);
    if biot.is_infinite() {
        return high;
    }
    let low = if n == 1 { 0.0 } else { bessel_zero(1, n - 1) };
    bisect(low, high, |z| z * bessel_j(1, z) - biot * bessel_j(0, z))
}

/// n-th positive zero of J₀ or J₁, bracketed around the first term of `McMahon`'s expansion
/// (Abramowitz & Stegun 9.5.12), which is within 0.06 for every n ≥ 1.
fn bessel_zero(order: u32, n: u32) -> f64 {
    let guess = (f64::from(n) + 0.5 * f64::from(order) - 0.25) * PI;
    bisect(guess - 0.3, guess + 0.3, |z| bessel_j(order, z))
}

/// Bisection to the last bit; the ends must differ in sign.
fn bisect(mut low: f64, mut high: f64, function: impl Fn(f64) -> f64) -> f64 {
    let low_is_negative = function(low) < 0.0;
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if (function(middle) < 0.0) == low_is_negative {
            low = middle;
        } else {
            high = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_middle_lags_the_surface_and_the_mean_lies_between(
            biot in 0.01f64..100.0, fourier in 0.05f64..3.0, round in any::<bool>()
        ) {
            let shape = if round { Shape::Cylinder } else { Shape::Slab };
            let series = ConductionSeries::new(shape, biot, 30).unwrap();
            let (middle, surface) = (series.theta(0.0, fourier), series.theta(1.0, fourier));
            let mean = series.mean(fourier);
            prop_assert!(surface <= mean && mean <= middle && middle <= 1.0 + 1e-6);
        }
    }

    #[test]
    fn a_biot_number_must_be_positive() {
        assert!(ConductionSeries::new(Shape::Slab, 0.0, 10).is_err());
        assert!(ConductionSeries::new(Shape::Slab, f64::NAN, 10).is_err());
        assert!(ConductionSeries::new(Shape::Slab, 1.0, 0).is_err());
    }
}
