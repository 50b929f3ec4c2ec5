//! Weighted ridge regression towards given slopes.
//!
//! Minimises Σ wᵢ(yᵢ − a − xᵢ·b)² + Σ λⱼ(bⱼ − tⱼ)² over the intercept a and the slopes b (Hoerl & Kennard
//! 1970, "Ridge regression: biased estimation for nonorthogonal problems", Technometrics 12, 55–67; with a
//! target t other than zero it is the posterior mean under bⱼ ~ N(tⱼ, σ²/λⱼ)). The intercept is free.

use crate::error::{StatsError, require_finite, require_length};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// A fitted regression. It keeps its rows, for what it would have said without some of them.
#[derive(Debug, Clone)]
pub struct Ridge {
    rows: DMatrix<f64>,
    residuals: DVector<f64>,
    weights: Vec<f64>,
    total: f64,
    means: DVector<f64>,
    mean_y: f64,
    slopes: DVector<f64>,
    factor: Cholesky<f64, Dyn>,
}

impl Ridge {
    /// Fits rows `x` (each of one length) to `y` with weights above 0. `target` and `penalty` have an
    /// entry a column; penalties are above 0.
    ///
    /// # Errors
    /// No rows, lengths that differ, a value that is not finite, or a weight or penalty that is not
    /// above 0.
    pub fn fit(
        x: &[Vec<f64>],
        y: &[f64],
        weights: &[f64],
        target: &[f64],
        penalty: &[f64],
    ) -> Result<Self, StatsError> {
        let columns = target.len();
        require_length("the outcomes of a ridge regression", x.len(), y.len())?;
        require_length("the weights of a ridge regression", x.len(), weights.len())?;
        require_length("the penalties of a ridge regression", columns, penalty.len())?;
        require_finite("the outcomes of a ridge regression", y)?;
        if x.is_empty() {
            return Err(StatsError::Empty { what: "a ridge regression".into() });
        }
        for row in x {
            require_length("a row of a ridge regression", columns, row.len())?;
            if columns > 0 {
                require_finite("a row of a ridge regression", row)?;
            }
        }
        for (what, values) in [("the weights", weights), ("the penalties", penalty)] {
            let what = format!("{what} of a ridge regression");
            if let Some(row) = values.iter().position(|value| !(value.is_finite() && *value > 0.0))
            {
                return Err(StatsError::NotPositive { what, row, value: values[row] });
            }
        }
        let total: f64 = weights.iter().sum();
        let mean_of = |value: &dyn Fn(usize) -> f64| {
            weights.iter().enumerate().map(|(i, w)| w * value(i)).sum::<f64>() / total
        };
        let means = DVector::from_fn(columns, |j, _| mean_of(&|i| x[i][j]));
        let mean_y = mean_of(&|i| y[i]);
        let rows = DMatrix::from_fn(x.len(), columns, |i, j| x[i][j] - means[j]);
        let target = DVector::from_column_slice(target);
        let beyond = DVector::from_fn(x.len(), |i, _| y[i] - mean_y) - &rows * &target;
        let weighted = DMatrix::from_fn(x.len(), columns, |i, j| rows[(i, j)] * weights[i]);
        let mut normal = rows.tr_mul(&weighted);
        for (j, penalty) in penalty.iter().enumerate() {
            normal[(j, j)] += penalty;
        }
        let Some(factor) = Cholesky::new(normal) else {
            return Err(StatsError::NoConvergence { what: "a ridge regression".into() });
        };
        let slopes = &target + factor.solve(&weighted.tr_mul(&beyond));
        let residuals = DVector::from_fn(x.len(), |i, _| y[i] - mean_y) - &rows * &slopes;
        let weights = weights.to_vec();
        Ok(Self { rows, residuals, weights, total, means, mean_y, slopes, factor })
    }

    /// The slopes.
    pub fn slopes(&self) -> &[f64] {
        self.slopes.as_slice()
    }

    /// The prediction for a row.
    pub fn predict(&self, x: &[f64]) -> f64 {
        self.mean_y + self.centred(x).dot(&self.slopes)
    }

    /// What each column adds to the prediction for a row, against the mean of the rows.
    pub fn contributions(&self, x: &[f64]) -> Vec<f64> {
        self.centred(x).component_mul(&self.slopes).as_slice().to_vec()
    }

    /// Variance of the prediction for a row over that of an outcome of weight 1: near 1/Σw amid the
    /// rows, and growing with the distance from them.
    pub fn leverage(&self, x: &[f64]) -> f64 {
        let x = self.centred(x);
        1.0 / self.total + x.dot(&self.factor.solve(&x))
    }

    /// Variance of a slope over that of an outcome of weight 1.
    pub fn slope_variance(&self, column: usize) -> f64 {
        let mut unit = DVector::zeros(self.slopes.len());
        unit[column] = 1.0;
        self.factor.solve(&unit)[column]
    }

    /// The residual of each row under the fit without its own group, and the row's leverage in that of
    /// all. With the hat matrix H and a group F it is `(I − H_FF)⁻¹ e_F`, exactly. `groups` names the group
    /// of each row.
    ///
    /// # Errors
    /// Lengths that differ; a group without which nothing is left.
    pub fn without_group(&self, groups: &[usize]) -> Result<Vec<(f64, f64)>, StatsError> {
        require_length("the groups of a ridge regression", self.weights.len(), groups.len())?;
        let solved = self.factor.solve(&self.rows.transpose());
        let hat = |i: usize, j: usize| {
            1.0 / self.total + self.rows.row(i).transpose().dot(&solved.column(j))
        };
        let mut members: std::collections::BTreeMap<usize, Vec<usize>> =
            std::collections::BTreeMap::new();
        for (row, group) in groups.iter().enumerate() {
            members.entry(*group).or_default().push(row);
        }
        let mut out = vec![(0.0, 0.0); groups.len()];
        for rows in members.values() {
            let count = rows.len();
            let matrix = DMatrix::from_fn(count, count, |a, b| {
                f64::from(u8::from(a == b)) - self.weights[rows[b]] * hat(rows[a], rows[b])
            });
            let right = DVector::from_fn(count, |a, _| self.residuals[rows[a]]);
            let Some(left) = matrix.lu().solve(&right) else {
                return Err(StatsError::NoConvergence { what: "a ridge regression".into() });
            };
            for (a, row) in rows.iter().enumerate() {
                out[*row] = (left[a], hat(*row, *row));
            }
        }
        Ok(out)
    }

    fn centred(&self, x: &[f64]) -> DVector<f64> {
        DVector::from_fn(self.means.len(), |j, _| x[j] - self.means[j])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn one_column_by_hand() {
        // Weighted means 2 and 5; Sxx = 2, Sxy beyond the target's slope 1 is 2: b = 1 + 2/(2 + 2).
        let x = [vec![1.0], vec![3.0]];
        let fit = Ridge::fit(&x, &[3.0, 7.0], &[1.0, 1.0], &[1.0], &[2.0]).unwrap();
        assert!((fit.slopes()[0] - 1.5).abs() < 1e-12);
        assert!((fit.predict(&[4.0]) - 8.0).abs() < 1e-12);
        assert!((fit.leverage(&[2.0]) - 0.5).abs() < 1e-12);
        assert!((fit.slope_variance(0) - 0.25).abs() < 1e-12);
    }

    #[test]
    fn what_is_no_regression_is_an_error() {
        let x = [vec![1.0], vec![3.0]];
        assert!(Ridge::fit(&[], &[], &[], &[1.0], &[1.0]).is_err());
        assert!(Ridge::fit(&x, &[1.0], &[1.0, 1.0], &[1.0], &[1.0]).is_err());
        assert!(Ridge::fit(&x, &[1.0, f64::NAN], &[1.0, 1.0], &[1.0], &[1.0]).is_err());
        assert!(Ridge::fit(&x, &[1.0, 2.0], &[1.0, 0.0], &[1.0], &[1.0]).is_err());
        assert!(Ridge::fit(&x, &[1.0, 2.0], &[1.0, 1.0], &[1.0], &[0.0]).is_err());
    }

    proptest! {
        #[test]
        fn leaving_a_group_out_is_fitting_without_it(
            values in prop::collection::vec((-2.0..2.0, -2.0..2.0, -5.0..5.0, 0.1..2.0), 6..20),
        ) {
            let x: Vec<Vec<f64>> = values.iter().map(|v| vec![v.0, v.1]).collect();
            let y: Vec<f64> = values.iter().map(|v| v.2).collect();
            let w: Vec<f64> = values.iter().map(|v| v.3).collect();
            let groups: Vec<usize> = (0..x.len()).map(|i| i / 2).collect();
            let (target, penalty) = ([1.0, 0.0], [0.5, 2.0]);
            let all = Ridge::fit(&x, &y, &w, &target, &penalty).unwrap();
            for (row, (residual, _)) in all.without_group(&groups).unwrap().iter().enumerate() {
                let kept: Vec<usize> = (0..x.len()).filter(|i| groups[*i] != groups[row]).collect();
                let pick = |of: &[f64]| kept.iter().map(|i| of[*i]).collect::<Vec<_>>();
                let rows: Vec<Vec<f64>> = kept.iter().map(|i| x[*i].clone()).collect();
                let without = Ridge::fit(&rows, &pick(&y), &pick(&w), &target, &penalty).unwrap();
                prop_assert!((residual - (y[row] - without.predict(&x[row]))).abs() < 1e-7);
            }
        }
    }
}
