//! The state-space chain of a twice integrated Wiener process: filter, backward pass, draws.
//!
//! The state is (value, slope, bend); over a gap h it moves by [1 h h²/2; 0 1 h; 0 0 1] and gains
//! covariance q·[h⁵/20 h⁴/8 h³/6; h⁴/8 h³/3 h²/2; h³/6 h²/2 h] (Kohn & Ansley 1987). The backward
//! pass is that of de Jong (1989), "Smoothing and interpolation with the state-space model",
//! Journal of the American Statistical Association 84, 1085–1088; draws go backwards through the
//! filtered states (Carter & Kohn 1994, "On Gibbs sampling for state space models", Biometrika 81,
//! 541–553).

pub(super) type Vector = [f64; 3];
pub(super) type Matrix = [[f64; 3]; 3];

/// One instant of the chain, with what was observed there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    /// Time in units of the chain.
    pub(super) time: f64,
    /// Observed value; of no meaning where the variance is infinite.
    pub(super) value: f64,
    /// Variance of its noise; infinite where nothing was observed.
    pub(super) variance: f64,
}

/// The state of a node before it was observed, and what its observation said.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ahead {
    pub(super) mean: Vector,
    pub(super) cov: Matrix,
    /// Innovation over its variance; zero where nothing was observed.
    pub(super) surprise: f64,
    /// One over the innovation's variance; zero where nothing was observed.
    pub(super) precision: f64,
}

/// Smoothed state of a node, and what the observation there and the gap after it say.
#[derive(Debug, Clone, Copy)]
pub(super) struct Smoothed {
    pub(super) mean: Vector,
    pub(super) cov: Matrix,
    /// Residual from all other observations over its variance, and one over that variance.
    pub(super) left_out: (f64, f64),
    /// r′Qr and tr(NQ) of the gap after the node: twice the slope of the log-likelihood in the
    /// logarithm of the gap's process variance is their difference.
    pub(super) gap: (f64, f64),
}

/// Process covariance over a gap.
#[inline]
fn process(q: f64, h: f64) -> Matrix {
    let (h2, h3) = (h * h, h * h * h);
    let (a, b, c) = (q * h3 * h2 / 20.0, q * h2 * h2 / 8.0, q * h3 / 6.0);
    let (d, e) = (q * h3 / 3.0, q * h2 / 2.0);
    [[a, b, c], [b, d, e], [c, e, q * h]]
}

/// F x.
#[inline]
pub(super) fn step(x: &Vector, h: f64) -> Vector {
    [x[0] + h * (x[1] + 0.5 * h * x[2]), x[1] + h * x[2], x[2]]
}

/// F′ x.
#[inline]
fn step_back(x: &Vector, h: f64) -> Vector {
    [x[0], h * x[0] + x[1], 0.5 * h * h * x[0] + h * x[1] + x[2]]
}

/// F P F′.
#[inline]
fn step_cov(p: &Matrix, h: f64) -> Matrix {
    // F applied to each column of P, which is F P; then to each of its rows.
    let mut half = [[0.0; 3]; 3];
    for j in 0..3 {
        let column = step(&[p[0][j], p[1][j], p[2][j]], h);
        for i in 0..3 {
            half[i][j] = column[i];
        }
    }
    half.map(|row| step(&row, h))
}

/// F′ N F.
#[inline]
fn step_back_cov(n: &Matrix, h: f64) -> Matrix {
    let mut half = [[0.0; 3]; 3];
    for j in 0..3 {
        let column = step_back(&[n[0][j], n[1][j], n[2][j]], h);
        for i in 0..3 {
            half[i][j] = column[i];
        }
    }
    half.map(|row| step_back(&row, h))
}

#[inline]
fn times(m: &Matrix, x: &Vector) -> Vector {
    [
        m[0][0] * x[0] + m[0][1] * x[1] + m[0][2] * x[2],
        m[1][0] * x[0] + m[1][1] * x[1] + m[1][2] * x[2],
        m[2][0] * x[0] + m[2][1] * x[1] + m[2][2] * x[2],
    ]
}

#[inline]
fn product(a: &Matrix, b: &Matrix) -> Matrix {
    let mut out = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            out[i][j] = a[i][0] * b[0][j] + a[i][1] * b[1][j] + a[i][2] * b[2][j];
        }
    }
    out
}

#[inline]
fn transposed(a: &Matrix) -> Matrix {
    [[a[0][0], a[1][0], a[2][0]], [a[0][1], a[1][1], a[2][1]], [a[0][2], a[1][2], a[2][2]]]
}

#[inline]
fn plus(a: &Matrix, b: &Matrix) -> Matrix {
    let mut out = *a;
    for i in 0..3 {
        for j in 0..3 {
            out[i][j] += b[i][j];
        }
    }
    out
}

/// Mean and covariance after the observation of a node.
#[inline]
pub(super) fn observed(node: &Node, ahead: &Ahead) -> (Vector, Matrix) {
    if ahead.precision == 0.0 {
        return (ahead.mean, ahead.cov);
    }
    let p = &ahead.cov;
    let by_value = [p[0][0], p[1][0], p[2][0]];
    let mut mean = ahead.mean;
    let mut cov = *p;
    // The row and column of the value without a difference of near equals.
    let kept = node.variance * ahead.precision;
    for i in 0..3 {
        mean[i] += by_value[i] * ahead.surprise;
        for j in 0..3 {
            cov[i][j] = if i == 0 || j == 0 {
                p[i][j] * kept
            } else {
                p[i][j] - by_value[i] * by_value[j] * ahead.precision
            };
        }
    }
    (mean, cov)
}

/// Runs the filter; `keep` gets every node's state ahead. `q[i]` is the process variance of the
/// gap after node `i`. Gives the log-likelihood, less a constant.
pub(super) fn filter(
    nodes: &[Node],
    q: &[f64],
    first: (Vector, Matrix),
    mut keep: impl FnMut(Ahead),
) -> f64 {
    let (mut mean, mut cov) = first;
    let mut log_likelihood = 0.0;
    for (i, node) in nodes.iter().enumerate() {
        let mut ahead = Ahead { mean, cov, surprise: 0.0, precision: 0.0 };
        if node.variance.is_finite() {
            let variance = cov[0][0] + node.variance;
            let innovation = node.value - mean[0];
            ahead.precision = 1.0 / variance;
            ahead.surprise = innovation / variance;
            log_likelihood -= 0.5 * (variance.ln() + innovation * ahead.surprise);
        }
        keep(ahead);
        if let Some(next) = nodes.get(i + 1) {
            let h = next.time - node.time;
            let (after, after_cov) = observed(node, &ahead);
            mean = step(&after, h);
            cov = plus(&step_cov(&after_cov, h), &process(q[i], h));
        }
    }
    log_likelihood
}

/// The backward pass.
pub(super) fn smooth(nodes: &[Node], q: &[f64], ahead: &[Ahead]) -> Vec<Smoothed> {
    let n = nodes.len();
    let mut out: Vec<Smoothed> = Vec::with_capacity(n);
    let (mut r, mut big_n) = ([0.0; 3], [[0.0; 3]; 3]);
    for i in (0..n).rev() {
        let mut gap = (0.0, 0.0);
        if i + 1 < n {
            let h = nodes[i + 1].time - nodes[i].time;
            let added = process(q[i], h);
            let moved = times(&added, &r);
            gap.0 = r[0] * moved[0] + r[1] * moved[1] + r[2] * moved[2];
            for a in 0..3 {
                for b in 0..3 {
                    gap.1 += big_n[a][b] * added[a][b];
                }
            }
            r = step_back(&r, h);
            big_n = step_back_cov(&big_n, h);
        }
        let here = &ahead[i];
        let p = &here.cov;
        let mut left_out = (0.0, 0.0);
        if here.precision > 0.0 {
            let gain =
                [p[0][0] * here.precision, p[1][0] * here.precision, p[2][0] * here.precision];
            let through = times(&big_n, &gain);
            let along = gain[0] * through[0] + gain[1] * through[1] + gain[2] * through[2];
            let u = here.surprise - (gain[0] * r[0] + gain[1] * r[1] + gain[2] * r[2]);
            let d = here.precision + along;
            left_out = (u, d);
            r[0] += u;
            // (I − KZ)′ N (I − KZ) + ZZ′/F, with Z the value.
            big_n[0][0] += d - 2.0 * through[0];
            for j in 1..3 {
                big_n[0][j] -= through[j];
                big_n[j][0] -= through[j];
            }
        }
        let change = times(p, &r);
        let less = product(p, &product(&big_n, p));
        let mut cov = *p;
        for a in 0..3 {
            for b in 0..3 {
                cov[a][b] -= less[a][b];
            }
            cov[a][a] = cov[a][a].max(0.0);
        }
        let mean = [here.mean[0] + change[0], here.mean[1] + change[1], here.mean[2] + change[2]];
        out.push(Smoothed { mean, cov, left_out, gap });
    }
    out.reverse();
    out
}

/// One step of a draw: the state of a node given that of the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Backward {
    /// Gain on the next state.
    gain: Matrix,
    /// The part of the mean that the next state does not move.
    offset: Vector,
    /// Cholesky factor of the covariance, lower triangle.
    factor: [f64; 6],
}

/// The steps of draws, from the first node to the last; the last stands by itself.
pub(super) fn backward(nodes: &[Node], q: &[f64], ahead: &[Ahead]) -> Vec<Backward> {
    (0..nodes.len())
        .map(|i| {
            let (mean, cov) = observed(&nodes[i], &ahead[i]);
            let Some(next) = ahead.get(i + 1) else {
                return Backward { gain: [[0.0; 3]; 3], offset: mean, factor: cholesky(&cov) };
            };
            let h = nodes[i + 1].time - nodes[i].time;
            // P F′: F applied to the rows of P.
            let with_next = cov.map(|row| step(&row, h));
            let Some(inverse) = inverse(&next.cov) else {
                return Backward { gain: [[0.0; 3]; 3], offset: mean, factor: [0.0; 6] };
            };
            let gain = product(&with_next, &inverse);
            let ahead_mean = times(&gain, &next.mean);
            // (I − GF) P (I − GF)′ + G Q G′.
            let mut kept = gain.map(|row| step_back(&row, h)).map(|row| row.map(|v| -v));
            for (a, row) in kept.iter_mut().enumerate() {
                row[a] += 1.0;
            }
            let own = product(&product(&kept, &cov), &transposed(&kept));
            let added = product(&product(&gain, &process(q[i], h)), &transposed(&gain));
            Backward {
                gain,
                offset: [mean[0] - ahead_mean[0], mean[1] - ahead_mean[1], mean[2] - ahead_mean[2]],
                factor: cholesky(&plus(&own, &added)),
            }
        })
        .collect()
}

/// Draws the states of all nodes.
pub(super) fn draw(steps: &[Backward], normal: &mut impl FnMut() -> f64, out: &mut Vec<Vector>) {
    out.clear();
    out.resize(steps.len(), [0.0; 3]);
    let mut next = [0.0; 3];
    for (step, slot) in steps.iter().zip(out.iter_mut()).rev() {
        let (a, b, c) = (normal(), normal(), normal());
        let f = &step.factor;
        let by_next = times(&step.gain, &next);
        next = [
            step.offset[0] + by_next[0] + f[0] * a,
            step.offset[1] + by_next[1] + f[1] * a + f[2] * b,
            step.offset[2] + by_next[2] + f[3] * a + f[4] * b + f[5] * c,
        ];
        *slot = next;
    }
}

/// Lower Cholesky factor (rows 1; 2, 2; 3, 3, 3); a direction without variance gets none.
fn cholesky(m: &Matrix) -> [f64; 6] {
    let root = |v: f64| if v > 0.0 { v.sqrt() } else { 0.0 };
    let over = |a: f64, b: f64| if b > 0.0 { a / b } else { 0.0 };
    let a = root(m[0][0]);
    let b = over(m[1][0], a);
    let c = root(m[1][1] - b * b);
    let d = over(m[2][0], a);
    let e = over(m[2][1] - d * b, c);
    [a, b, c, d, e, root(m[2][2] - d * d - e * e)]
}

/// Inverse of a covariance by its Cholesky factor, scaled to unit diagonal first.
fn inverse(m: &Matrix) -> Option<Matrix> {
    let scale = [m[0][0].sqrt(), m[1][1].sqrt(), m[2][2].sqrt()];
    if scale.iter().any(|s| !(s.is_finite() && *s > 0.0)) {
        return None;
    }
    let mut unit = *m;
    for i in 0..3 {
        for j in 0..3 {
            unit[i][j] /= scale[i] * scale[j];
        }
    }
    let [a, b, c, d, e, f] = cholesky(&unit);
    if a <= 0.0 || c <= 0.0 || f <= 0.0 {
        return None;
    }
    let (ia, ic, id) = (1.0 / a, 1.0 / c, 1.0 / f);
    let l10 = -b * ia * ic;
    let l21 = -e * ic * id;
    let l20 = -(d * ia + e * l10) * id;
    // L⁻¹ = [ia 0 0; l10 ic 0; l20 l21 id]; the inverse is (L⁻¹)′ L⁻¹.
    let lower = [[ia, 0.0, 0.0], [l10, ic, 0.0], [l20, l21, id]];
    let mut out = product(&transposed(&lower), &lower);
    for i in 0..3 {
        for j in 0..3 {
            out[i][j] /= scale[i] * scale[j];
        }
    }
    Some(out)
}
