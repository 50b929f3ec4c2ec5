//! Cluster-robust covariance for few clusters, and the degrees of freedom that go with it.
//!
//! Everything is in coordinates in which the whole information is the identity: for least squares
//! those of an orthonormal basis Q, for a likelihood those of the Cholesky factor of its information.
//! There cluster g has the information M = Q′Q of its rows (with eigenvalues between 0 and 1) and the
//! score s = Q′e; its residuals are too small by I − M, which a power of it makes up for.
//!
//! * Power −½ is CR2, unbiased where errors are independent and of one variance: Bell & McCaffrey
//!   (2002), "Bias reduction in standard errors for linear regression with multi-stage samples",
//!   Survey Methodology 28, 169–181. With one row a cluster it is HC2.
//! * Power −1 is the jackknife that leaves one cluster out at a time, for a likelihood by one Newton
//!   step: Pregibon (1981), "Logistic regression diagnostics", Annals of Statistics 9, 705–724;
//!   MacKinnon, Nielsen & Webb (2023), Journal of Econometrics 232, 272–299 (CV3).
//!
//! Degrees of freedom are Satterthwaite's of the variance of a combination under errors that are
//! independent and of one variance, as Bell & McCaffrey give them; Imbens & Kolesár (2016), "Robust
//! standard errors in small samples: some practical advice", Review of Economics and Statistics 98,
//! 701–712; Pustejovsky & Tipton (2018), Journal of Business & Economic Statistics 36, 672–683.

use crate::error::StatsError;
use crate::least_squares::Clusters;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// A cluster whose information in some direction is nearer to the whole than this determines a
/// coefficient by itself.
const WHOLE: f64 = 1e-9;
/// An eigenvalue below this is rounding.
const NOTHING: f64 = 1e-14;

/// What makes up for residuals that are too small.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Adjustment {
    /// (I − M)^−½.
    BiasReduced,
    /// (I − M)^−1, the whole times (G − 1)/G for G clusters.
    Jackknife,
}

/// The information of one cluster, V diag(λ) V′.
#[derive(Debug, Clone, PartialEq)]
struct Share {
    vectors: DMatrix<f64>,
    values: Vec<f64>,
    /// The power of 1 − λ, one a value.
    powers: Vec<f64>,
}

impl Share {
    /// Adjustment times a vector.
    fn adjust(&self, vector: &DVector<f64>) -> DVector<f64> {
        let mut adjusted = vector.clone();
        for (j, power) in self.powers.iter().enumerate() {
            let direction = self.vectors.column(j);
            adjusted.axpy((power - 1.0) * direction.dot(vector), &direction, 1.0);
        }
        adjusted
    }

    /// Information times a vector.
    fn inform(&self, vector: &DVector<f64>) -> DVector<f64> {
        let mut informed = DVector::zeros(vector.len());
        for (j, value) in self.values.iter().enumerate() {
            let direction = self.vectors.column(j);
            informed.axpy(value * direction.dot(vector), &direction, 1.0);
        }
        informed
    }
}

/// The clusters of a fit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ClusterRobust {
    shares: Vec<Share>,
    adjustment: Adjustment,
}

impl ClusterRobust {
    /// Of the rows of an orthonormal basis, given column by column.
    ///
    /// # Errors
    /// [`StatsError::FullLeverage`] names the rows of a cluster that alone determines a coefficient.
    pub(crate) fn of_basis(
        columns: &[Vec<f64>],
        clusters: &Clusters,
        adjustment: Adjustment,
    ) -> Result<Self, StatsError> {
        let k = columns.len();
        let shares = clusters.members().into_iter().map(|rows| {
            let q = DMatrix::from_fn(rows.len(), k, |row, column| columns[column][rows[row]]);
            // The smaller of QQ′ and Q′Q has the same eigenvalues; Q′u/√λ are the vectors of Q′Q.
            let (vectors, values) = if rows.len() < k {
                let inner = (&q * q.transpose()).symmetric_eigen();
                let mut vectors = q.transpose() * inner.eigenvectors;
                for (j, value) in inner.eigenvalues.iter().enumerate() {
                    vectors.column_mut(j).scale_mut(1.0 / value.max(NOTHING).sqrt());
                }
                (vectors, inner.eigenvalues)
            } else {
                let own = (q.transpose() * &q).symmetric_eigen();
                (own.eigenvectors, own.eigenvalues)
            };
            share(&vectors, &values, adjustment).ok_or(StatsError::FullLeverage { rows })
        });
        Ok(Self { shares: shares.collect::<Result<_, _>>()?, adjustment })
    }

    /// Of the information of each cluster and the factor L of the whole, LL′.
    ///
    /// # Errors
    /// As [`of_basis`](Self::of_basis).
    pub(crate) fn of_information(
        information: Vec<DMatrix<f64>>,
        whole: &Cholesky<f64, Dyn>,
        clusters: &Clusters,
        adjustment: Adjustment,
    ) -> Result<Self, StatsError> {
        let lower = whole.l();
        let shares = information.into_iter().enumerate().map(|(cluster, own)| {
            let half = lower.solve_lower_triangular(&own).unwrap_or(own);
            let mut m = lower.solve_lower_triangular(&half.transpose()).unwrap_or(half);
            m = (&m + m.transpose()) * 0.5;
            let own = m.symmetric_eigen();
            share(&own.eigenvectors, &own.eigenvalues, adjustment).ok_or_else(|| {
                let rows = clusters.members().swap_remove(cluster);
                StatsError::FullLeverage { rows }
            })
        });
        Ok(Self { shares: shares.collect::<Result<_, _>>()?, adjustment })
    }

    /// The middle of the sandwich from the score of each cluster.
    pub(crate) fn middle(&self, scores: &[DVector<f64>]) -> DMatrix<f64> {
        let k = scores.first().map_or(0, DVector::len);
        let mut middle = DMatrix::zeros(k, k);
        for (share, score) in self.shares.iter().zip(scores) {
            let adjusted = share.adjust(score);
            middle.ger(self.factor(), &adjusted, &adjusted, 1.0);
        }
        middle
    }

    fn factor(&self) -> f64 {
        let groups = self.shares.len() as f64;
        match self.adjustment {
            Adjustment::BiasReduced => 1.0,
            Adjustment::Jackknife => (groups - 1.0) / groups,
        }
    }

    /// Degrees of freedom of the variance of a combination: (Σ pᵍ′pᵍ)² / Σ (pᵍ′pʰ)² with pᵍ the
    /// weights that the estimator gives the errors by way of cluster g's residuals.
    pub(crate) fn df(&self, direction: &DVector<f64>) -> f64 {
        let k = direction.len();
        let (mut trace, mut squares) = (0.0, 0.0);
        let mut outer = DMatrix::zeros(k, k);
        for share in &self.shares {
            let adjusted = share.adjust(direction);
            let informed = share.inform(&adjusted);
            let own = adjusted.dot(&informed);
            let lost = informed.norm_squared();
            trace += own - lost;
            squares += own * own - 2.0 * own * lost;
            outer.ger(1.0, &informed, &informed, 1.0);
        }
        squares += outer.norm_squared();
        if squares > 0.0 { trace * trace / squares } else { f64::INFINITY }
    }

    /// For each cluster the information M, the adjustment F and a direction c: Fc, `MFc` and Mc.
    pub(crate) fn along(&self, direction: &DVector<f64>) -> Vec<[DVector<f64>; 3]> {
        let along = |share: &Share| {
            let adjusted = share.adjust(direction);
            let informed = share.inform(&adjusted);
            [adjusted, informed, share.inform(direction)]
        };
        self.shares.iter().map(along).collect()
    }
}

/// `None` where the cluster has all the information in some direction.
fn share(vectors: &DMatrix<f64>, values: &DVector<f64>, adjustment: Adjustment) -> Option<Share> {
    let kept: Vec<usize> = (0..values.len()).filter(|&j| values[j] > NOTHING).collect();
    if kept.iter().any(|&j| 1.0 - values[j] < WHOLE) {
        return None;
    }
    let values: Vec<f64> = kept.iter().map(|&j| values[j]).collect();
    let power = |value: &f64| match adjustment {
        Adjustment::BiasReduced => 1.0 / (1.0 - value).sqrt(),
        Adjustment::Jackknife => 1.0 / (1.0 - value),
    };
    Some(Share {
        vectors: vectors.select_columns(&kept),
        powers: values.iter().map(power).collect(),
        values,
    })
}

#[cfg(test)]
#[path = "cluster_robust_tests.rs"]
mod tests;
