//! What the likelihood of a mixed model needs of the data, summed once by groups, and its value and
//! derivatives at given ratios of variances.
//!
//! With V = σ²W and `W = I + γ₁Z₁Z₁′ + γ₂Z₂Z₂′`, the first grouping (the one of more groups) is taken
//! out in closed form: for `M = (I + γ₁Z₁Z₁′)⁻¹` a product a′Mb is the sum of products within its
//! groups plus Σ n·ā·b̄/(1 + γ₁n) over groups, so nothing cancels. The second then needs the Cholesky
//! factor of K = I + γ₂C with C = Z₂′MZ₂, in blocks of levels that are linked through the first: one
//! block a level where the first is nested in the second, one for all where they are crossed.

use super::groups::Groups;
use super::links::Second;
use nalgebra::{DMatrix, DVector};

/// Sums over rows, for `columns` columns of which the last is the outcome.
#[derive(Debug, Clone)]
pub(super) struct Sums {
    pub(super) rows: usize,
    columns: usize,
    first: Option<Groups>,
    second: Option<Second>,
    /// Products within the groups of the first (plain products without a first).
    within: DMatrix<f64>,
    /// Means by group of the first, group by group.
    means: Vec<f64>,
    /// Sums by level of the second of what deviates from the means of the first.
    deviations: DMatrix<f64>,
}

/// Everything that depends on the ratios of variances.
pub(super) struct Evaluation {
    /// ln |W|.
    pub(super) ln_determinant: f64,
    /// [X r]′W⁻¹[X r].
    pub(super) products: DMatrix<f64>,
    /// Z′W⁻¹[X r] of each grouping, groups × columns.
    pub(super) by_group: Vec<DMatrix<f64>>,
    /// tr Z′W⁻¹Z of each grouping.
    pub(super) traces: Vec<f64>,
}

impl Sums {
    /// `first` must not have fewer groups than `second`. Columns are those of the design; the
    /// outcome is set by [`set_outcome`](Self::set_outcome).
    pub(super) fn new(
        design: &[Vec<f64>],
        rows: usize,
        first: Option<&Groups>,
        second: Option<&Groups>,
    ) -> Self {
        let columns = design.len() + 1;
        let groups = first.map_or(0, Groups::count);
        let second = first.zip(second).map(|(first, second)| Second::new(first, second));
        let levels = second.as_ref().map_or(0, |s| s.renumbered.len());
        let mut sums = Self {
            rows,
            columns,
            first: first.cloned(),
            second,
            within: DMatrix::zeros(columns, columns),
            means: vec![0.0; groups * columns],
            deviations: DMatrix::zeros(levels, columns),
        };
        let centred: Vec<Vec<f64>> = design
            .iter()
            .enumerate()
            .map(|(column, values)| sums.set_column(column, values))
            .collect();
        for (a, left) in centred.iter().enumerate() {
            for (b, right) in centred.iter().enumerate().take(a + 1) {
                let product = dot(left, right);
                sums.within[(a, b)] = product;
                sums.within[(b, a)] = product;
            }
        }
        sums
    }

    /// Sets the outcome's sums; `design` are the columns given at the start.
    pub(super) fn set_outcome(&mut self, design: &[Vec<f64>], outcome: &[f64]) {
        let last = self.columns - 1;
        let centred = self.set_column(last, outcome);
        for (column, values) in design.iter().enumerate() {
            let product = dot(&centred, values);
            self.within[(column, last)] = product;
            self.within[(last, column)] = product;
        }
        self.within[(last, last)] = dot(&centred, &centred);
    }

    /// Means and sums of one column; gives its deviations from the means of the first grouping.
    fn set_column(&mut self, column: usize, values: &[f64]) -> Vec<f64> {
        let mut centred = values.to_vec();
        if let Some(first) = &self.first {
            // A second pass takes out the rounding of the first.
            for _ in 0..2 {
                let mut means = vec![0.0; first.count()];
                for (&group, &value) in first.positions.iter().zip(&centred) {
                    means[group] += value;
                }
                for (mean, size) in means.iter_mut().zip(&first.sizes) {
                    *mean /= size;
                }
                for (&group, value) in first.positions.iter().zip(&mut centred) {
                    *value -= means[group];
                }
            }
            let mut means = vec![0.0; first.count()];
            for ((&group, &value), &rest) in first.positions.iter().zip(values).zip(&centred) {
                means[group] += value - rest;
            }
            for (group, (mean, size)) in means.iter().zip(&first.sizes).enumerate() {
                self.means[group * self.columns + column] = mean / size;
            }
        }
        if let Some(second) = &self.second {
            self.deviations.column_mut(column).fill(0.0);
            for (&level, &value) in second.positions.iter().zip(&centred) {
                self.deviations[(level, column)] += value;
            }
        }
        centred
    }

    /// Values at the ratios γ of the first and second grouping; `gradients` asks for the
    /// traces too.
    ///
    /// None if rounding has eaten the positive definiteness of K.
    pub(super) fn evaluate(&self, ratios: &[f64], gradients: bool) -> Option<Evaluation> {
        let columns = self.columns;
        let mut products = self.within.clone();
        let Some(first) = &self.first else {
            return Some(Evaluation {
                ln_determinant: 0.0,
                products,
                by_group: Vec::new(),
                traces: Vec::new(),
            });
        };
        let ratio = ratios[0];
        let mut ln_determinant = 0.0;
        let mut by_first = DMatrix::zeros(first.count(), columns);
        for (group, &size) in first.sizes.iter().enumerate() {
            let shrunk = 1.0 / (1.0 + ratio * size);
            ln_determinant += (ratio * size).ln_1p();
            let means = &self.means[group * columns..(group + 1) * columns];
            for a in 0..columns {
                let weighted = size * shrunk * means[a];
                by_first[(group, a)] = weighted;
                for b in 0..=a {
                    products[(a, b)] += weighted * means[b];
                }
            }
        }
        products.fill_upper_triangle_with_lower_triangle();
        let shrunk = |group: usize| 1.0 / (1.0 + ratio * first.sizes[group]);
        let first_trace = || first.sizes.iter().map(|n| n / (1.0 + ratio * n)).sum::<f64>();
        let Some(second) = &self.second else {
            return Some(Evaluation {
                ln_determinant,
                products,
                by_group: vec![by_first],
                traces: if gradients { vec![first_trace()] } else { Vec::new() },
            });
        };

        let other = ratios[1];
        let crosses = second.crosses(&self.deviations, &self.means, &shrunk, columns);
        let mut by_second = crosses.clone();
        let mut second_trace = 0.0;
        let mut inverses = Vec::new();
        for ((&(start, levels), mut cross), within) in
            second.blocks.iter().zip(second.links(first, &shrunk)).zip(&second.within)
        {
            cross += within;
            let factor = if other == 0.0 {
                DMatrix::identity(levels, levels).cholesky()?
            } else {
                (DMatrix::identity(levels, levels) + &cross * other).cholesky()?
            };
            ln_determinant += 2.0 * (0..levels).map(|l| factor.l_dirty()[(l, l)].ln()).sum::<f64>();
            let mut rows = by_second.rows_mut(start, levels);
            let solved = factor.solve(&rows);
            rows.copy_from(&solved);
            if gradients {
                let inverse = factor.inverse();
                second_trace += inverse.dot(&cross);
                inverses.push(inverse);
            }
        }
        if other > 0.0 {
            products.gemm_tr(-other, &crosses, &by_second, 1.0);
        }
        for (group, (block, counts)) in second.shared.iter().enumerate() {
            let start = second.blocks[*block].0;
            let shrunk = shrunk(group);
            for &(level, count) in counts {
                for column in 0..columns {
                    by_first[(group, column)] -=
                        shrunk * other * count * by_second[(start + level, column)];
                }
            }
        }
        let mut evaluation =
            Evaluation { ln_determinant, products, by_group: Vec::new(), traces: Vec::new() };
        if gradients {
            let mut trace = first_trace();
            for (group, (block, counts)) in second.shared.iter().enumerate() {
                let inverse = &inverses[*block];
                // Symmetric: every pair once, twice over.
                let mut form = 0.0;
                for (position, &(a, x)) in counts.iter().enumerate() {
                    let column = inverse.column(a);
                    let pairs: f64 =
                        counts[position + 1..].iter().map(|&(b, y)| column[b] * y).sum();
                    form += x * (x * column[a] + 2.0 * pairs);
                }
                trace -= other * form * shrunk(group) * shrunk(group);
            }
            evaluation.traces = vec![trace, second_trace];
        }
        let mut unshuffled = by_second.clone();
        for (old, &new) in second.renumbered.iter().enumerate() {
            unshuffled.row_mut(old).copy_from(&by_second.row(new));
        }
        evaluation.by_group = vec![by_first, unshuffled];
        Some(evaluation)
    }

    /// tr Z′(I − QQ′)Z of the first grouping: how much of its groups the terms do not explain. The
    /// columns must be those of Q times √rows.
    pub(super) fn trace_beyond_terms(&self) -> f64 {
        let Some(first) = &self.first else { return 0.0 };
        let terms = self.columns - 1;
        let mut left = 0.0;
        for (group, size) in first.sizes.iter().enumerate() {
            let means = &self.means[group * self.columns..group * self.columns + terms];
            let explained: f64 = means.iter().map(|m| m * m).sum();
            left += size - size * size * explained / self.rows as f64;
        }
        left
    }

    /// Mean number of rows in the groups of a grouping.
    pub(super) fn mean_size(&self, grouping: usize) -> f64 {
        let groups = match grouping {
            0 => self.first.as_ref().map_or(1, Groups::count),
            _ => self.second.as_ref().map_or(1, |s| s.renumbered.len()),
        };
        self.rows as f64 / groups as f64
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    // Four sums side by side round less than one and run faster.
    let mut parts = [0.0; 4];
    let (a_blocks, b_blocks) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a_blocks.remainder().iter().zip(b_blocks.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a_blocks.zip(b_blocks) {
        for lane in 0..4 {
            parts[lane] += x[lane] * y[lane];
        }
    }
    parts.iter().sum::<f64>() + rest
}

/// The likelihood at given ratios, from an [`Evaluation`].
pub(super) struct Profile {
    pub(super) evaluation: Evaluation,
    /// −2 log-likelihood with σ² and coefficients at their best, without the part that only depends
    /// on the design's scale.
    pub(super) deviance: f64,
    /// Derivative of the deviance by each ratio.
    pub(super) gradient: Vec<f64>,
    /// Generalised least-squares coefficients in the columns.
    pub(super) coefficients: DVector<f64>,
    /// (X′W⁻¹X)⁻¹.
    pub(super) inverse: DMatrix<f64>,
    /// y′Py, so that σ² is this over the degrees of freedom.
    pub(super) rss: f64,
    /// Z′P y of each grouping.
    pub(super) scores: Vec<DVector<f64>>,
    /// tr Z′PZ of each grouping.
    pub(super) traces: Vec<f64>,
}

impl Sums {
    /// None where rounding breaks down.
    pub(super) fn profile(&self, ratios: &[f64], gradients: bool) -> Option<Profile> {
        let evaluation = self.evaluate(ratios, gradients)?;
        let terms = self.columns - 1;
        let block = evaluation.products.view((0, 0), (terms, terms)).into_owned();
        let right = evaluation.products.view((0, terms), (terms, 1)).column(0).into_owned();
        let factor = block.cholesky()?;
        let coefficients = factor.solve(&right);
        let rss = evaluation.products[(terms, terms)] - right.dot(&coefficients);
        if rss <= 0.0 {
            return None;
        }
        let df = (self.rows - terms) as f64;
        let mut deviance =
            evaluation.ln_determinant + df * (1.0 + (2.0 * std::f64::consts::PI * rss / df).ln());
        deviance += 2.0 * (0..terms).map(|j| factor.l_dirty()[(j, j)].ln()).sum::<f64>();
        let scores: Vec<DVector<f64>> = evaluation
            .by_group
            .iter()
            .map(|groups| groups.column(terms) - groups.columns(0, terms) * &coefficients)
            .collect();
        let inverse = factor.inverse();
        let mut traces = evaluation.traces.clone();
        let mut gradient = Vec::new();
        if gradients {
            for ((trace, groups), score) in traces.iter_mut().zip(&evaluation.by_group).zip(&scores)
            {
                let fixed = groups.columns(0, terms);
                *trace -= inverse.dot(&fixed.tr_mul(&fixed));
                gradient.push(*trace - df / rss * score.norm_squared());
            }
        }
        Some(Profile { evaluation, deviance, gradient, coefficients, inverse, rss, scores, traces })
    }
}
