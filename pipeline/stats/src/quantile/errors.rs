//! Standard errors of quantile regression.

use super::simplex::{Problem, Rows, Vertex, break_ties};
use crate::error::StatsError;
use crate::least_squares::Clusters;
use nalgebra::{DMatrix, DVector};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// Residuals within this of zero, in units of the scatter, count as met by the fit.
const MET: f64 = 1e-9;

/// Half-width in quantiles over which the density at the quantile is judged: Hall & Sheather (1988),
/// Journal of the Royal Statistical Society B 50, 381–391, for intervals of 95 %.
pub(super) fn bandwidth(tau: f64, n: usize) -> f64 {
    let Ok(normal) = Normal::new(0.0, 1.0) else { return 0.0 };
    let x = normal.inverse_cdf(tau);
    let density = normal.pdf(x);
    (n as f64).powf(-1.0 / 3.0)
        * normal.inverse_cdf(0.975).powf(2.0 / 3.0)
        * (1.5 * density * density / (2.0 * x * x + 1.0)).powf(1.0 / 3.0)
}

/// 1/density of the residuals at zero: slope of the ordered residuals nearest zero in their rank, by
/// median regression.
pub(super) fn sparsity(residuals: &[f64], tau: f64, terms: usize) -> Result<f64, StatsError> {
    let n = residuals.len();
    let met = residuals.iter().filter(|r| r.abs() < MET).count();
    let wide = (terms + 1).max((n as f64 * bandwidth(tau, n)).ceil() as usize);
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| residuals[a].abs().total_cmp(&residuals[b].abs()));
    // Those that the fit meets are left out; where most are, what is left will have to do.
    let first = met.min(n.saturating_sub(wide + 1));
    let last = (first + wide + 1).min(n);
    let mut near: Vec<f64> = order[first..last].iter().map(|&row| residuals[row]).collect();
    near.sort_unstable_by(f64::total_cmp);
    if near.len() < 3 {
        return Err(StatsError::TooFewRows {
            what: "the density of the residuals of quantile regression".to_owned(),
            needed: terms + 3,
            found: n,
        });
    }
    let scale = near.iter().fold(0.0, |most: f64, r| most.max(r.abs()));
    if scale == 0.0 {
        return Ok(0.0);
    }
    let spread: Vec<f64> = near.iter().map(|r| r / scale).collect();
    let count = near.len() as f64;
    let middle = 0.5 * (count - 1.0);
    let ranks: Vec<f64> = (0..near.len()).map(|i| (i as f64 - middle) / count).collect();
    let rows = Rows::new(&[vec![1.0; near.len()], ranks]);
    let weights = vec![1.0; near.len()];
    let broken = break_ties(&spread);
    let problem = Problem { rows: &rows, y: &broken, weights: &weights, tau: 0.5 };
    let vertex = problem.solve(problem.first_basis())?;
    let outcome = DVector::from_fn(2, |a, _| spread[vertex.basis[a]]);
    let slope = (&vertex.inverse * outcome)[1];
    // Ranks were in units of their count, they are wanted in units of n − k.
    Ok(slope * scale / count * (n - terms) as f64)
}

/// τ(1 − τ) H⁻¹ X′X H⁻¹ with H = X′FX and F the density of each row from the fits at τ ± h: Hendricks
/// & Koenker (1992), Journal of the American Statistical Association 87, 58–68.
pub(super) fn sandwich(
    problem: &Problem<'_>,
    start: &Vertex,
    y: &[f64],
) -> Result<DMatrix<f64>, StatsError> {
    let rows = problem.rows;
    let tau = problem.tau;
    let mut half = bandwidth(tau, rows.count);
    while tau - half < 0.0 || tau + half > 1.0 {
        half *= 0.5;
    }
    let fit = |tau: f64| -> Result<DVector<f64>, StatsError> {
        let vertex = Problem { tau, ..*problem }.solve(start.basis.clone())?;
        Ok(&vertex.inverse * DVector::from_fn(rows.terms, |a, _| y[vertex.basis[a]]))
    };
    let rise = fit(tau + half)? - fit(tau - half)?;
    let k = rows.terms;
    let mut bread = DMatrix::<f64>::zeros(k, k);
    let mut middle = DMatrix::<f64>::zeros(k, k);
    for row in 0..rows.count {
        let gap = rows.along(row, &rise);
        // Where the two fits cross, the density is not known and the row does not count.
        let density = if gap > 1e-10 { 2.0 * half / gap } else { 0.0 };
        let x = rows.row(row);
        for a in 0..k {
            for b in 0..k {
                bread[(a, b)] += density * x[a] * x[b];
                middle[(a, b)] += x[a] * x[b];
            }
        }
    }
    let inverse = bread
        .cholesky()
        .ok_or_else(|| StatsError::NoConvergence {
            what: "the density of the residuals of quantile regression".to_owned(),
        })?
        .inverse();
    Ok(&inverse * middle * &inverse * (tau * (1.0 - tau)))
}

/// Covariance of the parameters over fits of rows, or whole clusters, drawn with replacement.
pub(super) fn bootstrap(
    problem: &Problem<'_>,
    start: &Vertex,
    y: &[f64],
    clusters: Option<&Clusters>,
    draws: usize,
    seed: u64,
) -> Result<DMatrix<f64>, StatsError> {
    if draws < 2 {
        return Err(StatsError::BadArgument {
            name: "draws",
            value: draws as f64,
            expected: "a covariance needs at least two draws",
        });
    }
    let n = problem.rows.count;
    let k = problem.rows.terms;
    let mut fits: Vec<DVector<f64>> = Vec::with_capacity(draws);
    let mut stream = 0;
    while fits.len() < draws {
        // A draw that misses all rows of a factor level says nothing about it and is drawn anew.
        if stream >= 20 * draws as u64 + 100 {
            return Err(StatsError::NoConvergence {
                what: "the bootstrap (most draws miss all rows that bear on some term)".to_owned(),
            });
        }
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        generator.set_stream(stream);
        stream += 1;
        let mut weights = vec![0.0; n];
        match clusters {
            None => {
                for _ in 0..n {
                    weights[generator.random_range(0..n)] += 1.0;
                }
            }
            Some(clusters) => {
                let mut times = vec![0.0; clusters.count];
                for _ in 0..clusters.count {
                    times[generator.random_range(0..clusters.count)] += 1.0;
                }
                for (weight, &cluster) in weights.iter_mut().zip(&clusters.positions) {
                    *weight = times[cluster];
                }
            }
        }
        let vertex = Problem { weights: &weights, ..*problem }.solve(start.basis.clone())?;
        if vertex.basis.iter().any(|&row| weights[row] == 0.0) {
            continue;
        }
        fits.push(&vertex.inverse * DVector::from_fn(k, |a, _| y[vertex.basis[a]]));
    }
    let count = draws as f64;
    let mean = fits.iter().fold(DVector::zeros(k), |sum: DVector<f64>, fit| sum + fit) / count;
    let mut covariance = DMatrix::zeros(k, k);
    for fit in &fits {
        let deviation = fit - &mean;
        covariance.ger(1.0 / (count - 1.0), &deviation, &deviation, 1.0);
    }
    Ok(covariance)
}
