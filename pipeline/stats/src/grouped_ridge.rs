//! Ridge regression with right-censored outcomes, fitted again and again for other weights of its
//! groups.
//!
//! The model is y = xβ + σε with normal ε. Of a censored row only a lower bound of y is known; it
//! enters with the expectation of y beyond the bound under the fit, until the fit stands (Schmee &
//! Hahn 1979, "A simple method for regression analysis with censored data", Technometrics 21,
//! 417–432, with the residual variance of the EM algorithm: Aitkin 1981, Technometrics 23, 161–163).
//!
//! Groups are what is resampled. The cross-products of each group are formed once, so that a fit for
//! other weights of the groups costs a sum of small matrices and no pass over the rows; the penalty is
//! chosen anew in each by leaving out fifths of the groups.

use crate::error::{StatsError, require_finite, require_length};
use nalgebra::{Cholesky, DMatrix, DVector};

/// Parts of the groups that are left out in turn where the penalty is chosen.
const FOLDS: usize = 5;
/// Steps from the fit without censored rows, or from the fit that is given.
const STEPS: usize = 12;
/// The scatter is not taken for less than this.
const LEAST_SCATTER: f64 = 1e-6;

/// The rows of a regression.
#[derive(Debug, Clone)]
pub struct GroupedRidge {
    columns: usize,
    groups: usize,
    /// Sums over the observed rows of each group.
    observed: Vec<Products>,
    censored: Vec<Censored>,
}

/// A row whose outcome is at least a bound.
#[derive(Debug, Clone)]
struct Censored {
    group: usize,
    x: DVector<f64>,
    bound: f64,
    weight: f64,
}

#[derive(Debug, Clone)]
struct Products {
    xx: DMatrix<f64>,
    xy: DVector<f64>,
    yy: f64,
    weight: f64,
}

impl Products {
    fn zero(columns: usize) -> Self {
        Self {
            xx: DMatrix::zeros(columns, columns),
            xy: DVector::zeros(columns),
            yy: 0.0,
            weight: 0.0,
        }
    }

    fn add(&mut self, other: &Self, times: f64) {
        self.xx += &other.xx * times;
        self.xy.axpy(times, &other.xy, 1.0);
        self.yy += times * other.yy;
        self.weight += times * other.weight;
    }

    fn add_row(&mut self, x: &DVector<f64>, y: f64, weight: f64) {
        self.xx.ger(weight, x, x, 1.0);
        self.xy.axpy(weight * y, x, 1.0);
        self.yy += weight * y * y;
        self.weight += weight;
    }

    /// Σ w(y − xβ)².
    fn squares(&self, beta: &DVector<f64>) -> f64 {
        (self.yy - 2.0 * beta.dot(&self.xy) + beta.dot(&(&self.xx * beta))).max(0.0)
    }
}

/// A row as it is given.
#[derive(Debug, Clone, Copy)]
pub struct GroupedRow<'a> {
    /// Its group, from 0.
    pub group: usize,
    /// Its columns; the first is the intercept's and is not penalised.
    pub x: &'a [f64],
    /// Outcome, or its lower bound.
    pub y: f64,
    /// Whether `y` is a lower bound.
    pub censored: bool,
    /// Weight, above 0.
    pub weight: f64,
}

/// A fit.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupedFit {
    /// Coefficients.
    pub coefficients: Vec<f64>,
    /// Standard deviation of the rows about them.
    pub scatter: f64,
    /// The penalty that was chosen.
    pub penalty: f64,
}

impl GroupedFit {
    /// The prediction for a row.
    pub fn predict(&self, x: &[f64]) -> f64 {
        self.coefficients.iter().zip(x).map(|(b, x)| b * x).sum()
    }
}

impl GroupedRidge {
    /// Takes the rows.
    ///
    /// # Errors
    /// No observed rows, rows of unequal length, a group out of range, a value that is not finite or a
    /// weight that is not above 0.
    pub fn new<'a>(
        groups: usize,
        columns: usize,
        rows: impl Iterator<Item = GroupedRow<'a>>,
    ) -> Result<Self, StatsError> {
        let what = "a grouped ridge regression";
        let mut found = Self {
            columns,
            groups,
            observed: vec![Products::zero(columns); groups],
            censored: Vec::new(),
        };
        let mut any = false;
        for (place, row) in rows.enumerate() {
            require_length(what, columns, row.x.len())?;
            require_finite(what, row.x)?;
            require_finite(what, &[row.y])?;
            if !(row.weight.is_finite() && row.weight > 0.0) {
                let what = format!("the weights of {what}");
                return Err(StatsError::NotPositive { what, row: place, value: row.weight });
            }
            let x = DVector::from_column_slice(row.x);
            let Some(products) = found.observed.get_mut(row.group) else {
                return Err(StatsError::BadArgument {
                    name: "group",
                    value: row.group as f64,
                    expected: "below the number of groups",
                });
            };
            if row.censored {
                found.censored.push(Censored {
                    group: row.group,
                    x,
                    bound: row.y,
                    weight: row.weight,
                });
            } else {
                any = true;
                products.add_row(&x, row.y, row.weight);
            }
        }
        if !any || columns == 0 {
            return Err(StatsError::Empty { what: what.to_owned() });
        }
        Ok(found)
    }

    /// Fits with a weight for each group (how often it was drawn), the penalty chosen from
    /// `penalties` (above 0; of the sum of squares of every slope). `start` is a fit to begin from.
    ///
    /// # Errors
    /// Weights of another number than there are groups; no penalty; groups of weight above zero that
    /// hold no observed row.
    pub fn fit(
        &self,
        weights: &[f64],
        penalties: &[f64],
        start: Option<&GroupedFit>,
    ) -> Result<GroupedFit, StatsError> {
        require_length("the weights of groups", self.groups, weights.len())?;
        if penalties.is_empty() {
            return Err(StatsError::Empty { what: "the penalties of a ridge regression".into() });
        }
        let parts: Vec<Products> = self.parts(weights);
        let mut observed = Products::zero(self.columns);
        for part in &parts {
            observed.add(part, 1.0);
        }
        if observed.weight <= 0.0 {
            return Err(StatsError::Empty { what: "a grouped ridge regression".into() });
        }
        let middle = penalties[penalties.len() / 2];
        let (mut beta, mut scatter) = if let Some(fit) = start {
            (DVector::from_column_slice(&fit.coefficients), fit.scatter)
        } else {
            let beta = solve(&observed, middle)?;
            let scatter = (observed.squares(&beta) / observed.weight).sqrt();
            (beta, scatter)
        };
        let mut penalty = middle;
        let steps = if self.censored.is_empty() {
            1
        } else if start.is_some() {
            3
        } else {
            STEPS
        };
        for step in 0..steps {
            scatter = scatter.max(LEAST_SCATTER);
            let mut filled = parts.clone();
            let mut beyond = 0.0;
            for row in self.censored.iter().filter(|row| weights[row.group] > 0.0) {
                let mean = beta.dot(&row.x);
                let (ahead, variance) = beyond_bound((row.bound - mean) / scatter);
                let weight = weights[row.group] * row.weight;
                let part = &mut filled[row.group % FOLDS];
                part.add_row(&row.x, mean + scatter * ahead, weight);
                beyond += weight * scatter * scatter * variance;
            }
            let mut all = Products::zero(self.columns);
            for part in &filled {
                all.add(part, 1.0);
            }
            if step == 0 || (start.is_none() && step == steps / 2) {
                penalty = chosen(&all, &filled, penalties)?;
            }
            beta = solve(&all, penalty)?;
            scatter = ((all.squares(&beta) + beyond) / all.weight).sqrt();
        }
        Ok(GroupedFit {
            coefficients: beta.as_slice().to_vec(),
            scatter: scatter.max(LEAST_SCATTER),
            penalty,
        })
    }

    /// Sums of the observed rows over each fifth of the groups.
    fn parts(&self, weights: &[f64]) -> Vec<Products> {
        let mut parts = vec![Products::zero(self.columns); FOLDS];
        for (group, products) in self.observed.iter().enumerate() {
            if weights[group] > 0.0 && products.weight > 0.0 {
                parts[group % FOLDS].add(products, weights[group]);
            }
        }
        parts
    }
}

/// The penalty under which the parts are foretold best by the others.
fn chosen(all: &Products, parts: &[Products], penalties: &[f64]) -> Result<f64, StatsError> {
    let mut best = (f64::INFINITY, penalties[penalties.len() / 2]);
    if penalties.len() == 1 {
        return Ok(penalties[0]);
    }
    for &penalty in penalties {
        let mut squares = 0.0;
        for part in parts.iter().filter(|part| part.weight > 0.0) {
            let mut others = all.clone();
            others.add(part, -1.0);
            if others.weight <= 0.0 {
                continue;
            }
            squares += part.squares(&solve(&others, penalty)?);
        }
        if squares < best.0 {
            best = (squares, penalty);
        }
    }
    Ok(best.1)
}

fn solve(products: &Products, penalty: f64) -> Result<DVector<f64>, StatsError> {
    let mut normal = products.xx.clone();
    // The intercept bears a trace, so that a part without rows in some level is no error.
    normal[(0, 0)] += 1e-9;
    for column in 1..normal.ncols() {
        normal[(column, column)] += penalty;
    }
    let factor = Cholesky::new(normal);
    let no = || StatsError::NoConvergence { what: "a grouped ridge regression".into() };
    Ok(factor.ok_or_else(no)?.solve(&products.xy))
}

/// Mean and variance of a standard normal variable, given that it is above `z`.
fn beyond_bound(z: f64) -> (f64, f64) {
    let ahead = if z > 6.0 {
        // Asymptotic series of the inverse Mills ratio, to 1e-4 here (Abramowitz & Stegun 26.2.12).
        z + 1.0 / z - 2.0 / (z * z * z)
    } else {
        let density = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
        density / (0.5 * libm::erfc(z * std::f64::consts::FRAC_1_SQRT_2))
    };
    (ahead, (1.0 + z * ahead - ahead * ahead).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    type Data = (Vec<Vec<f64>>, Vec<f64>, Vec<bool>);

    fn ridge(groups: &[usize], (x, y, censored): &Data) -> GroupedRidge {
        let rows = (0..y.len()).map(|i| GroupedRow {
            group: groups[i],
            x: &x[i],
            y: y[i],
            censored: censored[i],
            weight: 1.0,
        });
        GroupedRidge::new(groups.iter().max().unwrap() + 1, x[0].len(), rows).unwrap()
    }

    /// A line with scatter that needs no random numbers.
    fn line(n: usize) -> Data {
        let x: Vec<Vec<f64>> = (0..n).map(|i| vec![1.0, (i % 7) as f64 / 3.0 - 1.0]).collect();
        let noise = |i: usize| ((i * 61) % 97) as f64 / 48.0 - 1.0;
        let y = (0..n).map(|i| 0.5 + 1.5 * x[i][1] + noise(i)).collect();
        (x, y, vec![false; n])
    }

    #[test]
    fn without_penalty_and_censoring_it_is_least_squares() {
        let data = line(97);
        let groups: Vec<usize> = (0..97).map(|i| i % 12).collect();
        let fit = ridge(&groups, &data).fit(&[1.0; 12], &[1e-9], None).unwrap();
        let (x, y) = (&data.0, &data.1);
        let mean = |of: &dyn Fn(usize) -> f64| (0..97).map(of).sum::<f64>() / 97.0;
        let (mx, my) = (mean(&|i| x[i][1]), mean(&|i| y[i]));
        let sxy = mean(&|i| (x[i][1] - mx) * (y[i] - my));
        let slope = sxy / mean(&|i| (x[i][1] - mx).powi(2));
        assert!((fit.coefficients[1] - slope).abs() < 1e-6);
        assert!((fit.coefficients[0] - (my - slope * mx)).abs() < 1e-6);
    }

    #[test]
    fn bounds_are_met_where_dropping_and_taking_them_whole_are_off() {
        let (x, mut y, mut censored) = line(970);
        let groups: Vec<usize> = (0..970).map(|i| i % 40).collect();
        let weights = [1.0; 40];
        let whole = ridge(&groups, &(x.clone(), y.clone(), censored.clone()));
        let truth = whole.fit(&weights, &[1e-6], None).unwrap();
        for i in 0..y.len() {
            if y[i] > 1.4 {
                (y[i], censored[i]) = (1.4, true);
            }
        }
        let off = |fit: &GroupedFit| (fit.coefficients[1] - truth.coefficients[1]).abs();
        let met = ridge(&groups, &(x.clone(), y.clone(), censored.clone()));
        let met = met.fit(&weights, &[1e-6], None).unwrap();
        let taken = ridge(&groups, &(x.clone(), y.clone(), vec![false; 970]));
        let taken = taken.fit(&weights, &[1e-6], None).unwrap();
        let kept: Vec<usize> = (0..970).filter(|i| !censored[*i]).collect();
        let of = |i: &usize| (x[*i].clone(), y[*i]);
        let (kx, ky): (Vec<_>, Vec<_>) = kept.iter().map(of).unzip();
        let kg: Vec<usize> = kept.iter().map(|i| groups[*i]).collect();
        let dropped = ridge(&kg, &(kx, ky, vec![false; kept.len()]));
        let dropped = dropped.fit(&weights, &[1e-6], None).unwrap();
        assert!(off(&met) < 0.1, "{met:?} {truth:?}");
        assert!(off(&taken) > 0.2 && off(&dropped) > 0.2, "{taken:?} {dropped:?}");
    }

    #[test]
    fn the_moments_beyond_a_bound_join_at_the_series() {
        let (near, far) = (beyond_bound(5.999_999), beyond_bound(6.000_001));
        assert!((near.0 - far.0).abs() < 2e-3, "{near:?} {far:?}");
        // Mean of a half normal distribution: √(2/π); its variance 1 − 2/π.
        let half = beyond_bound(0.0);
        assert!((half.0 - (2.0 / std::f64::consts::PI).sqrt()).abs() < 1e-12);
        assert!((half.1 - (1.0 - 2.0 / std::f64::consts::PI)).abs() < 1e-12);
    }

    #[test]
    fn a_slope_of_noise_alone_is_penalised_more() {
        let (x, _, censored) = line(970);
        let groups: Vec<usize> = (0..970).map(|i| i % 40).collect();
        let y: Vec<f64> = (0..970).map(|i| f64::from((i * 61) % 97) / 10.0).collect();
        let grid = [0.1, 1e4];
        let noise = ridge(&groups, &(x, y, censored)).fit(&[1.0; 40], &grid, None).unwrap();
        let clear = ridge(&groups, &line(970)).fit(&[1.0; 40], &grid, None).unwrap();
        assert_eq!((noise.penalty, clear.penalty), (1e4, 0.1));
    }

    #[test]
    fn what_is_no_regression_is_an_error() {
        let row = GroupedRow { group: 0, x: &[1.0], y: 1.0, censored: true, weight: 1.0 };
        assert!(GroupedRidge::new(1, 1, std::iter::once(row)).is_err());
        let row = GroupedRow { censored: false, ..row };
        assert!(GroupedRidge::new(1, 2, std::iter::once(row)).is_err());
        assert!(GroupedRidge::new(0, 1, std::iter::once(row)).is_err());
        let nan = GroupedRow { y: f64::NAN, ..row };
        assert!(GroupedRidge::new(1, 1, std::iter::once(nan)).is_err());
        let weightless = GroupedRow { weight: 0.0, ..row };
        assert!(GroupedRidge::new(1, 1, std::iter::once(weightless)).is_err());
        let one = GroupedRidge::new(1, 1, std::iter::once(row)).unwrap();
        assert!(one.fit(&[0.0], &[1.0], None).is_err());
        assert!(one.fit(&[1.0], &[], None).is_err());
        assert!(one.fit(&[1.0, 1.0], &[1.0], None).is_err());
    }

    proptest! {
        #[test]
        fn weights_of_groups_are_rows_given_so_often(
            values in prop::collection::vec((-2.0f64..2.0, -5.0f64..5.0, prop::bool::weighted(0.2)), 12..40),
            times in prop::collection::vec(0usize..3, 4),
        ) {
            let groups: Vec<usize> = (0..values.len()).map(|i| i % 4).collect();
            let x: Vec<Vec<f64>> = values.iter().map(|v| vec![1.0, v.0]).collect();
            let y: Vec<f64> = values.iter().map(|v| v.1).collect();
            let censored: Vec<bool> = values.iter().map(|v| v.2).collect();
            let drawn: Vec<usize> = (0..values.len())
                .flat_map(|i| std::iter::repeat_n(i, times[groups[i]]))
                .collect();
            prop_assume!(drawn.iter().filter(|i| !censored[**i]).count() > 3);
            let weights: Vec<f64> = times.iter().map(|t| *t as f64).collect();
            let grid = [0.5, 5.0];
            let weighted = ridge(&groups, &(x.clone(), y.clone(), censored.clone()));
            let mut weighted_groups = weights;
            weighted_groups.resize(weighted.groups, 0.0);
            let weighted = weighted.fit(&weighted_groups, &grid, None).unwrap();
            let of = |i: &usize| (x[*i].clone(), y[*i]);
            let (rx, ry): (Vec<_>, Vec<_>) = drawn.iter().map(of).unzip();
            let rc: Vec<bool> = drawn.iter().map(|i| censored[*i]).collect();
            let rg: Vec<usize> = drawn.iter().map(|i| groups[*i]).collect();
            let repeated = ridge(&rg, &(rx, ry, rc));
            let ones = vec![1.0; repeated.groups];
            let repeated = repeated.fit(&ones, &grid, None).unwrap();
            for (a, b) in weighted.coefficients.iter().zip(&repeated.coefficients) {
                prop_assert!((a - b).abs() < 1e-6, "{weighted:?} {repeated:?}");
            }
        }
    }
}
