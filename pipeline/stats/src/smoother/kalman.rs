//! Kalman filter and backward smoother of the integrated Wiener process, in relative units: time in
//! typical gaps, variances in units of the noise variance σ².
//!
//! Covariances are kept as factors and only ever added up as squares, so no variance turns negative
//! by rounding, however uneven the gaps: the idea of Bierman (1977), Factorization Methods for
//! Discrete Sequential Estimation.

/// Value and slope, with the covariance of the two in units of σ².
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct State {
    pub(super) mean: [f64; 2],
    pub(super) cov: Covariance,
}

/// Covariance of value and slope: slope = tilt · value + a part of its own of variance `rest`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Covariance {
    /// Variance of the value.
    pub(super) value: f64,
    tilt: f64,
    rest: f64,
}

/// A variance along a direction (value, slope): the matrix weight · uu′.
type Spread = (f64, [f64; 2]);

impl Covariance {
    pub(super) fn cross(&self) -> f64 {
        self.tilt * self.value
    }

    pub(super) fn slope(&self) -> f64 {
        self.tilt * self.tilt * self.value + self.rest
    }

    fn spreads(&self) -> [Spread; 2] {
        [(self.value, [1.0, self.tilt]), (self.rest, [0.0, 1.0])]
    }

    /// The sum of spreads. Its determinant is a sum of squares (Cauchy and Binet).
    #[inline]
    fn sum<const N: usize>(spreads: [Spread; N]) -> Self {
        let (mut value, mut cross, mut slope, mut determinant) = (0.0, 0.0, 0.0, 0.0);
        for (i, &(weight, u)) in spreads.iter().enumerate() {
            value += weight * u[0] * u[0];
            cross += weight * u[0] * u[1];
            slope += weight * u[1] * u[1];
            for &(other, v) in &spreads[..i] {
                let across = u[0] * v[1] - u[1] * v[0];
                determinant += weight * other * across * across;
            }
        }
        if value > 0.0 {
            Self { value, tilt: cross / value, rest: determinant / value }
        } else {
            Self { value: 0.0, tilt: 0.0, rest: slope }
        }
    }
}

/// Observations ready to be filtered; at least two.
#[derive(Debug, Clone)]
pub(super) struct Series {
    /// Times in typical gaps.
    pub(super) times: Vec<f64>,
    pub(super) values: Vec<f64>,
    /// Variance of each observation in units of σ².
    pub(super) noise: Vec<f64>,
}

/// What the innovations say of the variances.
#[derive(Debug, Clone, Copy)]
pub(super) struct Innovations {
    /// Σ v²/F over the innovations after the first two observations.
    pub(super) squares: f64,
    /// Σ ln F.
    pub(super) ln_variances: f64,
}

/// Covariance that the process adds over a gap, [Δ³/3 Δ²/2; Δ²/2 Δ] times the ratio; over a
/// negative gap that of going back.
#[inline]
fn process(ratio: f64, gap: f64) -> [Spread; 2] {
    let size = gap.abs();
    [(ratio * size * size * size / 3.0, [1.0, 1.5 / gap]), (ratio * size / 4.0, [0.0, 1.0])]
}

/// A direction moved over a gap.
#[inline]
fn carry((weight, u): Spread, gap: f64) -> Spread {
    (weight, [u[0] + gap * u[1], u[1]])
}

/// The state a gap later, or a gap earlier if the gap is negative and nothing was observed in
/// between or before.
#[inline]
pub(super) fn predict(state: &State, gap: f64, ratio: f64) -> State {
    let [along, own] = state.cov.spreads();
    let [added, added_slope] = process(ratio, gap);
    State {
        mean: [state.mean[0] + gap * state.mean[1], state.mean[1]],
        cov: Covariance::sum([carry(along, gap), carry(own, gap), added, added_slope]),
    }
}

/// The filtered state at the second observation under a flat prior on value and slope: exact
/// diffuse start.
fn start(series: &Series, ratio: f64) -> State {
    let gap = series.times[1] - series.times[0];
    let (first, second) = (series.noise[0], series.noise[1]);
    State {
        mean: [series.values[1], (series.values[1] - series.values[0]) / gap],
        cov: Covariance {
            value: second,
            tilt: 1.0 / gap,
            rest: (first + ratio * gap * gap * gap / 3.0) / (gap * gap),
        },
    }
}

/// Runs the filter; `keep` gets the filtered state of the second observation and of each after it.
pub(super) fn filter(series: &Series, ratio: f64, mut keep: impl FnMut(State)) -> Innovations {
    let mut state = start(series, ratio);
    keep(state);
    let mut found = Innovations { squares: 0.0, ln_variances: 0.0 };
    for i in 2..series.values.len() {
        let ahead = predict(&state, series.times[i] - series.times[i - 1], ratio);
        let noise = series.noise[i];
        let variance = ahead.cov.value + noise;
        let innovation = series.values[i] - ahead.mean[0];
        let moved = ahead.cov.value / variance * innovation;
        // An observation of the value tells of the slope through the value alone.
        state = State {
            mean: [ahead.mean[0] + moved, ahead.mean[1] + ahead.cov.tilt * moved],
            cov: Covariance { value: ahead.cov.value * (noise / variance), ..ahead.cov },
        };
        found.squares += innovation * innovation / variance;
        found.ln_variances += variance.ln();
        keep(state);
    }
    found
}

/// Filtered and smoothed states of all observations.
#[derive(Debug, Clone)]
pub(super) struct Passes {
    /// From the second observation on; after the first alone the state is not yet determined.
    pub(super) filtered: Vec<State>,
    /// Of every observation.
    pub(super) smoothed: Vec<State>,
}

/// Filter forwards, then smooth backwards: Rauch, Tung & Striebel (1965), AIAA Journal 3,
/// 1445–1450.
pub(super) fn smooth(series: &Series, ratio: f64) -> Passes {
    let n = series.values.len();
    let mut filtered = Vec::with_capacity(n - 1);
    filter(series, ratio, |state| filtered.push(state));
    let mut smoothed = vec![filtered[n - 2]; n];
    for i in (1..n - 1).rev() {
        let gap = series.times[i + 1] - series.times[i];
        smoothed[i] = back(&filtered[i - 1], &smoothed[i + 1], gap, ratio);
    }
    smoothed[0] = in_first_gap(series, &smoothed[1], series.times[0], ratio);
    Passes { filtered, smoothed }
}

/// The smoothed state at an instant from what is known up to it and the smoothed state a gap later.
pub(super) fn back(known: &State, later: &State, gap: f64, ratio: f64) -> State {
    let ahead = predict(known, gap, ratio);
    let Covariance { value, tilt, rest } = ahead.cov;
    if rest <= 0.0 || value <= 0.0 {
        // The slope is known exactly: noise and process are both zero.
        return *known;
    }
    // The gain P F′ A⁻¹, with A the covariance ahead.
    let (cross, slope) = (known.cov.cross(), known.cov.slope());
    let with_ahead = [[known.cov.value + gap * cross, cross], [cross + gap * slope, slope]];
    let gain = with_ahead.map(|[with_value, with_slope]| {
        let by_slope = (with_slope - tilt * with_value) / rest;
        [with_value / value - tilt * by_slope, by_slope]
    });
    let by = [later.mean[0] - ahead.mean[0], later.mean[1] - ahead.mean[1]];
    let change = apply(&gain, by);
    // (I − GF) P (I − GF)′ + G (Pₛ + Q) G′.
    let kept = [
        [1.0 - gain[0][0], -(gap * gain[0][0] + gain[0][1])],
        [-gain[1][0], 1.0 - (gap * gain[1][0] + gain[1][1])],
    ];
    let from_known = known.cov.spreads().map(|(weight, u)| (weight, apply(&kept, u)));
    let from_later = later.cov.spreads().map(|(weight, u)| (weight, apply(&gain, u)));
    let from_process = process(ratio, gap).map(|(weight, u)| (weight, apply(&gain, u)));
    State {
        mean: [known.mean[0] + change[0], known.mean[1] + change[1]],
        cov: Covariance::sum([
            from_known[0],
            from_known[1],
            from_later[0],
            from_later[1],
            from_process[0],
            from_process[1],
        ]),
    }
}

/// The smoothed state at `time` between the first two observations (or at the first), from the
/// smoothed state at the second: the flat prior is carried back from there and meets the first
/// observation.
pub(super) fn in_first_gap(series: &Series, second: &State, time: f64, ratio: f64) -> State {
    let gap = series.times[1] - time;
    let since = time - series.times[0];
    let prior = process(ratio, -gap);
    let carried = [second.mean[0] - gap * second.mean[1], second.mean[1]];
    // The first observation sees value − since · slope, with the noise of the process in between.
    let see = |u: [f64; 2]| u[0] - since * u[1];
    let noise = series.noise[0] + ratio * since * since * since / 3.0;
    let mut variance = noise;
    let mut gain = [0.0, 0.0];
    for (weight, u) in prior {
        variance += weight * see(u) * see(u);
        gain = [gain[0] + weight * see(u) * u[0], gain[1] + weight * see(u) * u[1]];
    }
    let gain = gain.map(|g| g / variance);
    let innovation = series.values[0] - see(carried);
    let kept = [[1.0 - gain[0], since * gain[0]], [-gain[1], 1.0 + since * gain[1]]];
    let from_prior = prior.map(|(weight, u)| (weight, apply(&kept, u)));
    let from_second = second.cov.spreads().map(|spread| {
        let (weight, u) = carry(spread, -gap);
        (weight, apply(&kept, u))
    });
    State {
        mean: [carried[0] + gain[0] * innovation, carried[1] + gain[1] * innovation],
        cov: Covariance::sum([
            from_prior[0],
            from_prior[1],
            from_second[0],
            from_second[1],
            (noise, gain),
        ]),
    }
}

/// The smoothed states at sorted times; outside the observations in a straight line.
pub(super) fn states_at(series: &Series, passes: &Passes, times: &[f64], ratio: f64) -> Vec<State> {
    let known = &series.times;
    let last = known.len() - 1;
    let Passes { filtered, smoothed } = passes;
    // Observations at or before the requested time.
    let mut passed = 0;
    times
        .iter()
        .map(|&time| {
            while passed <= last && known[passed] <= time {
                passed += 1;
            }
            match passed {
                0 => predict(&smoothed[0], time - known[0], ratio),
                _ if known[passed - 1] == time => smoothed[passed - 1],
                1 => in_first_gap(series, &smoothed[1], time, ratio),
                _ if passed > last => predict(&smoothed[last], time - known[last], ratio),
                _ => {
                    let before = passed - 1;
                    let here = predict(&filtered[before - 1], time - known[before], ratio);
                    back(&here, &smoothed[passed], known[passed] - time, ratio)
                }
            }
        })
        .collect()
}

/// A path of the process from rest, in units of σ: its noisy observations at the series' times,
/// and its values at `times` (sorted).
pub(super) fn simulate(
    series: &Series,
    times: &[f64],
    ratio: f64,
    normal: &mut impl FnMut() -> f64,
) -> (Vec<f64>, Vec<f64>) {
    let (mut observed, mut wanted) =
        (Vec::with_capacity(series.times.len()), Vec::with_capacity(times.len()));
    let (mut value, mut slope) = (0.0, 0.0);
    let mut now: Option<f64> = None;
    let mut advance = |to: f64| {
        let gap = now.map_or(0.0, |now| to - now);
        now = Some(to);
        if gap > 0.0 {
            // Cholesky factor of the covariance that the process adds over a gap.
            let turn = (ratio * gap).sqrt() * normal();
            let own = (ratio * gap * gap * gap / 12.0).sqrt() * normal();
            value += gap * slope + gap / 2.0 * turn + own;
            slope += turn;
        }
        value
    };
    let mut next = times.iter().copied().peekable();
    let mut path = Vec::with_capacity(series.times.len());
    for &at in &series.times {
        while let Some(time) = next.next_if(|time| *time <= at) {
            wanted.push(advance(time));
        }
        path.push(advance(at));
    }
    wanted.extend(next.map(&mut advance));
    for (value, noise) in path.iter().zip(&series.noise) {
        observed.push(value + noise.sqrt() * normal());
    }
    (observed, wanted)
}

#[inline]
fn apply(matrix: &[[f64; 2]; 2], u: [f64; 2]) -> [f64; 2] {
    matrix.map(|row| row[0] * u[0] + row[1] * u[1])
}
