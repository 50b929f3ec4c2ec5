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
//!
//! Errors that rows of a cluster share are anything but independent, and where clusters are few and unequal the
//! largest then count for more than they tell. [`ClusterRobust::exchangeable`] does the same under the working
//! covariance I + τ11′ within a cluster, as Imbens & Kolesár do for the degrees of freedom and Pustejovsky &
//! Tipton (2018, section 2) for both: with Φ = S² the adjustment is S(SBS)^−½S, B the covariance of the
//! cluster's residuals. What is not in the span of the cluster's rows is left as it is, so that all of it is done
//! in coordinates of that span.

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
    /// In place of the powers, where the working covariance is not the identity.
    exchangeable: Option<Exchangeable>,
}

/// What stands in place of powers, in the coordinates Λ^−½V′Q′ of a cluster's span.
#[derive(Debug, Clone, PartialEq)]
struct Exchangeable {
    /// S(SBS)^−½S.
    adjustment: DMatrix<f64>,
    /// I + τ11′.
    covariance: DMatrix<f64>,
}

impl Share {
    /// The transpose of the adjustment, times a vector.
    fn adjust_back(&self, vector: &DVector<f64>) -> DVector<f64> {
        match &self.exchangeable {
            None => self.adjust(vector),
            Some(own) => {
                let scaled = self.scaled(vector, f64::sqrt);
                self.unscaled(&(&own.adjustment * scaled), |value| 1.0 / value.sqrt())
            }
        }
    }

    /// Λ^p V′ times a vector.
    fn scaled(&self, vector: &DVector<f64>, power: impl Fn(f64) -> f64) -> DVector<f64> {
        let along = self.vectors.transpose() * vector;
        DVector::from_fn(along.len(), |j, _| power(self.values[j]) * along[j])
    }

    /// VΛ^p times a vector.
    fn unscaled(&self, vector: &DVector<f64>, power: impl Fn(f64) -> f64) -> DVector<f64> {
        let scaled = DVector::from_fn(vector.len(), |j, _| power(self.values[j]) * vector[j]);
        &self.vectors * scaled
    }

    /// Adjustment times a vector.
    fn adjust(&self, vector: &DVector<f64>) -> DVector<f64> {
        if let Some(own) = &self.exchangeable {
            let scaled = self.scaled(vector, |value| 1.0 / value.sqrt());
            return self.unscaled(&(&own.adjustment * scaled), f64::sqrt);
        }
        let mut adjusted = vector.clone();
        for (j, power) in self.powers.iter().enumerate() {
            let direction = self.vectors.column(j);
            adjusted.axpy((power - 1.0) * direction.dot(vector), &direction, 1.0);
        }
        adjusted
    }

    /// `None` where the cluster has all the information in some direction.
    fn exchangeable(
        &self,
        tau: f64,
        ones: &DVector<f64>,
        whole: &DMatrix<f64>,
    ) -> Option<Exchangeable> {
        let r = self.values.len();
        let one = self.scaled(ones, f64::sqrt);
        let covariance = DMatrix::identity(r, r) + tau * &one * one.transpose();
        let roots = DVector::from_fn(r, |j, _| self.values[j].sqrt());
        let spanned = &self.vectors * DMatrix::from_diagonal(&roots);
        let lambda = DMatrix::from_diagonal(&DVector::from_column_slice(&self.values));
        let own = &lambda * &covariance;
        let residual =
            &covariance - &own - own.transpose() + spanned.transpose() * whole * &spanned;
        let length = one.norm_squared();
        let stretch =
            if length > NOTHING { ((1.0 + tau * length).sqrt() - 1.0) / length } else { 0.0 };
        let root = DMatrix::identity(r, r) + stretch * &one * one.transpose();
        let inner = &root * residual * &root;
        let inner = ((&inner + inner.transpose()) * 0.5).symmetric_eigen();
        if inner.eigenvalues.iter().any(|&value| value < WHOLE) {
            return None;
        }
        let half = DMatrix::from_diagonal(&inner.eigenvalues.map(|value| 1.0 / value.sqrt()));
        let adjustment =
            &root * &inner.eigenvectors * half * inner.eigenvectors.transpose() * &root;
        Some(Exchangeable { adjustment, covariance })
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
    /// Q′ΦQ of all rows; `None` where Φ is the identity.
    whole: Option<DMatrix<f64>>,
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
        Ok(Self { shares: shares.collect::<Result<_, _>>()?, adjustment, whole: None })
    }

    /// The same under the working covariance I + τ11′ within a cluster, τ above 0; `ones` are the coordinates
    /// in Q of a column of ones, which the basis must span.
    ///
    /// # Errors
    /// As [`of_basis`](Self::of_basis).
    pub(crate) fn exchangeable(
        mut self,
        tau: f64,
        ones: &DVector<f64>,
        clusters: &Clusters,
    ) -> Result<Self, StatsError> {
        let k = ones.len();
        let mut whole = DMatrix::identity(k, k);
        for share in &self.shares {
            let informed = share.inform(ones);
            whole.ger(tau, &informed, &informed, 1.0);
        }
        for (cluster, share) in self.shares.iter_mut().enumerate() {
            let Some(own) = share.exchangeable(tau, ones, &whole) else {
                let rows = clusters.members().swap_remove(cluster);
                return Err(StatsError::FullLeverage { rows });
            };
            share.exchangeable = Some(own);
        }
        self.whole = Some(whole);
        Ok(self)
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
        Ok(Self { shares: shares.collect::<Result<_, _>>()?, adjustment, whole: None })
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
        if let Some(whole) = &self.whole {
            return self.df_exchangeable(direction, whole);
        }
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

    /// (Σ aᵍ + qᵍᵍ)² / Σ (δᵍʰaᵍ + qᵍʰ)² with qᵍʰ = vᵍ′Nvʰ − vᵍ′zʰ − zᵍ′vʰ, x the adjusted direction in the
    /// coordinates of the cluster's span, a = x′Φx, v = Q′x, z = Q′Φx and N = Q′ΦQ.
    fn df_exchangeable(&self, direction: &DVector<f64>, whole: &DMatrix<f64>) -> f64 {
        let k = direction.len();
        // q is a form of the pairs (v, z).
        let mut form = DMatrix::zeros(2 * k, 2 * k);
        form.view_mut((0, 0), (k, k)).copy_from(whole);
        for j in 0..k {
            form[(j, k + j)] = -1.0;
            form[(k + j, j)] = -1.0;
        }
        let (mut trace, mut squares) = (0.0, 0.0);
        let mut outer = DMatrix::zeros(2 * k, 2 * k);
        for share in &self.shares {
            let Some(own) = &share.exchangeable else { continue };
            let x = &own.adjustment * share.scaled(direction, f64::sqrt);
            let covered = &own.covariance * &x;
            let mut pair = DVector::zeros(2 * k);
            pair.rows_mut(0, k).copy_from(&share.unscaled(&x, f64::sqrt));
            pair.rows_mut(k, k).copy_from(&share.unscaled(&covered, f64::sqrt));
            let (a, q) = (x.dot(&covered), pair.dot(&(&form * &pair)));
            trace += a + q;
            squares += a * a + 2.0 * a * q;
            outer.ger(1.0, &pair, &pair, 1.0);
        }
        let formed = &form * outer;
        squares += (&formed * &formed).trace();
        if squares > 0.0 { trace * trace / squares } else { f64::INFINITY }
    }

    /// For each cluster the information M, the adjustment F and a direction c: F′c, MF′c and Mc.
    pub(crate) fn along(&self, direction: &DVector<f64>) -> Vec<[DVector<f64>; 3]> {
        let along = |share: &Share| {
            let adjusted = share.adjust_back(direction);
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
        exchangeable: None,
    })
}

#[cfg(test)]
#[path = "cluster_robust_tests.rs"]
mod tests;
