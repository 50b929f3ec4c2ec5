//! Residuals of a proportional-hazards fit, and the sandwich made of them.

use super::{Cox, Fitted};
use crate::least_squares::Clusters;
use nalgebra::{DMatrix, DVector};

impl Fitted {
    /// Score residual of a row at risk in the coordinates of Q, without its weight:
    /// event · (x − x̄) − r Σ hazard · (x − x̄).
    fn score_residual(&self, row: usize) -> DVector<f64> {
        let (sets, pass) = (&self.sets, &self.pass);
        let k = self.basis.len();
        let q = &self.basis.q[row * k..(row + 1) * k];
        let risk = pass.relative_risk[row];
        let lived = pass.lived_hazard(sets, row);
        DVector::from_fn(k, |j, _| {
            let expected = risk * (lived * q[j] - pass.lived_mean(sets, row, j));
            let observed =
                if sets.event[row] { q[j] - pass.mean[(sets.end[row] - 1) * k + j] } else { 0.0 };
            observed - expected
        })
    }

    /// Σ over clusters (or rows) of DD′, with D the weighted sum of dfbeta.
    pub(super) fn sandwich(&self, clusters: Option<&Clusters>) -> DMatrix<f64> {
        let k = self.basis.len();
        let mut scores = match clusters {
            None => Vec::new(),
            Some(clusters) => vec![0.0; clusters.count * k],
        };
        let mut middle = DMatrix::zeros(k, k);
        for (position, &row) in self.sets.rows.iter().enumerate() {
            let score = self.score_residual(position) * self.sets.weight[position];
            match clusters {
                None => middle.ger(1.0, &score, &score, 1.0),
                Some(clusters) => {
                    let cluster = clusters.positions[row];
                    let sums = &mut scores[cluster * k..(cluster + 1) * k];
                    sums.iter_mut().zip(score.iter()).for_each(|(sum, s)| *sum += s);
                }
            }
        }
        for score in scores.chunks_exact(k) {
            let score = DVector::from_column_slice(score);
            middle.ger(1.0, &score, &score, 1.0);
        }
        let bread = &self.basis.r_inverse * &self.inverse;
        &bread * middle * bread.transpose()
    }
}

impl Cox {
    /// Martingale residuals, one a row: event less the cumulative hazard that the row lived through.
    /// Zero for rows that are at risk at no event or have weight zero. Therneau, Grambsch & Fleming
    /// (1990), "Martingale-based residuals for survival models", Biometrika 77, 147–160.
    pub fn martingale_residuals(&self) -> Vec<f64> {
        let Fitted { sets, pass, .. } = &self.rows_at_risk;
        let mut residuals = vec![0.0; self.n];
        for (position, &row) in sets.rows.iter().enumerate() {
            let expected = pass.relative_risk[position] * pass.lived_hazard(sets, position);
            residuals[row] = f64::from(u8::from(sets.event[position])) - expected;
        }
        residuals
    }

    /// Deviance residuals, one a row: the martingale residuals m made more nearly symmetric,
    /// sign(m)·√(−2[m + event · ln(event − m)]). Same source.
    pub fn deviance_residuals(&self) -> Vec<f64> {
        let mut residuals = self.martingale_residuals();
        for (residual, &event) in residuals.iter_mut().zip(&self.rows_at_risk.followup.event) {
            let m = *residual;
            let expected = 1.0 - m;
            let bracket = if event && expected > 0.0 { m + expected.ln() } else { m };
            *residual = m.signum() * (-2.0 * bracket).max(0.0).sqrt();
        }
        residuals
    }

    /// Score residuals, rows × terms: the part of a row in the score, in the unit of the covariate,
    /// without its weight. Weighted they sum to zero by term (unless the fit is penalised).
    pub fn score_residuals(&self) -> DMatrix<f64> {
        self.by_row(&self.rows_at_risk.basis.r.transpose(), false)
    }

    /// Change of each coefficient that a row makes (dfbeta), rows × terms: weight · score residual
    /// times the model-based covariance. Leaving the row out changes the coefficients by about minus
    /// this.
    pub fn dfbeta(&self) -> DMatrix<f64> {
        self.by_row(&(&self.rows_at_risk.basis.r_inverse * &self.rows_at_risk.inverse), true)
    }

    fn by_row(&self, transform: &DMatrix<f64>, weighted: bool) -> DMatrix<f64> {
        let fitted = &self.rows_at_risk;
        let mut result = DMatrix::zeros(self.n, fitted.basis.len());
        for (position, &row) in fitted.sets.rows.iter().enumerate() {
            let weight = if weighted { fitted.sets.weight[position] } else { 1.0 };
            let values = transform * fitted.score_residual(position) * weight;
            result.row_mut(row).copy_from(&values.transpose());
        }
        result
    }
}
