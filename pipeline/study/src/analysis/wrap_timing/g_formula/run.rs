//! A cook run on from where it left a strategy, at the pace of cooks in its state.

use super::super::FINISH_C;
use super::cooks::{Pace, Paced, State};
use super::habit::Habit;
use super::model::{MOST, Model, Row, Scatter, row};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// The pit is looked at so often, min.
const LOOK_MIN: f64 = 10.0;
/// Doses are not drawn beyond these, in logs of a whole degree: some fifty times quicker and slower than `k_ref`.
const BOUNDS: (f64, f64) = (-4.0, 4.0);

/// What one run of a cook draws. The same degree draws the same under every strategy.
#[derive(Debug, Clone)]
pub(super) struct Draws {
    ranks: Vec<f64>,
    /// Parts of the cook, unwrapped and wrapped, in standard deviations.
    own: [f64; 2],
    /// How much of a habit's rate it takes until it wraps.
    patience: f64,
}

impl Draws {
    /// An even number of runs of a cook, each second one the mirror image of the one before.
    pub(super) fn of(cook: usize, runs: usize, seed: u64) -> Vec<Self> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(cook as u64 + 1);
        let mut out = Vec::with_capacity(runs);
        for _ in 0..runs.div_ceil(2) {
            let ranks: Vec<f64> = (0..40).map(|_| random.random::<f64>()).collect();
            let own = [0, 1].map(|_| StandardNormal.sample(&mut random));
            let waits: f64 = random.random();
            let mirrored = Self {
                ranks: ranks.iter().map(|rank| 1.0 - rank).collect(),
                own: own.map(|own: f64| -own),
                patience: -waits.max(1e-12).ln(),
            };
            out.push(Self { ranks, own, patience: -(1.0 - waits).max(1e-12).ln() });
            out.push(mirrored);
        }
        out
    }
}

/// How a cook goes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Then {
    /// As the team does.
    Habit,
    /// Not wrapped any more.
    Bare,
    /// Wrapped in a method of this level from the first core of so many °C, at the latest so many minutes
    /// after; by habit in between. The window may have opened at a minute already.
    Window { level: usize, core_c: f64, grace_min: f64, opened: Option<f64> },
}

/// All that a run needs but the cook.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rules<'a> {
    pub(super) bare: &'a Coefficients<'a>,
    pub(super) wrapped: Option<&'a Coefficients<'a>>,
    pub(super) habit: &'a Habit,
    pub(super) bark_per_min: f64,
    pub(super) horizon_min: f64,
}

/// A model under one set of coefficients.
#[derive(Debug)]
pub(super) struct Coefficients<'a> {
    pub(super) beta: [f64; MOST],
    pub(super) scatter: &'a Scatter,
}

impl<'a> Coefficients<'a> {
    pub(super) fn of(model: &'a Model, coefficients: &[f64]) -> Self {
        let mut beta = [0.0; MOST];
        beta[..coefficients.len()].copy_from_slice(coefficients);
        Self { beta, scatter: &model.scatter }
    }

    pub(super) fn predict(&self, x: &Row) -> f64 {
        self.beta.iter().zip(x).map(|(b, x)| b * x).sum()
    }
}

/// A step of a run, for whoever asks what it rested on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Passage<'a> {
    pub(super) state: &'a State,
    pub(super) gap_c: f64,
    pub(super) minutes: f64,
}

/// What a run came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ran {
    /// Minute of the finish, or the horizon.
    pub(super) finish_min: f64,
    /// Whether it was wrapped in it.
    pub(super) wrapped: bool,
}

/// Where a run begins.
#[derive(Debug, Clone, Copy)]
pub(super) struct From<'a> {
    pub(super) cook: &'a Paced,
    /// At the beginning of the degree that it is in.
    pub(super) state: State,
    /// The minute that it is run on from.
    pub(super) now_min: f64,
    /// What of its degree was behind it then, times `k_ref`.
    pub(super) spent: f64,
}

/// Runs a cook on to the finish or the horizon.
pub(super) fn run(
    from: From<'_>,
    then: Then,
    rules: &Rules<'_>,
    draws: &Draws,
    seen: &mut dyn FnMut(Passage<'_>),
) -> Ran {
    let From { cook, mut state, now_min, mut spent } = from;
    let mut now_min = now_min.max(state.minute);
    let mut patience = draws.patience;
    let mut opened = match then {
        Then::Window { opened, .. } => opened,
        _ => None,
    };
    while state.core_c < FINISH_C - 1e-9 && now_min < rules.horizon_min {
        if let Then::Window { core_c, .. } = then
            && opened.is_none()
            && state.core_c >= core_c - 1e-9
        {
            opened = Some(now_min);
        }
        let is_wrapped = state.wrap.is_some();
        let degree = (state.core_c + 1e-9).floor();
        // A window may open inside a degree.
        let opens_here = match then {
            Then::Window { core_c, .. } if opened.is_none() && !is_wrapped => {
                Some(core_c).filter(|core_c| *core_c < degree + 1.0)
            }
            _ => None,
        };
        let part = degree + 1.0 - state.core_c;
        let gap_c = cook.pit.at(state.minute) - state.core_c;
        let x = row(cook, &state, gap_c);
        let (model, own) = match (is_wrapped, rules.wrapped) {
            (true, Some(wrapped)) => (wrapped, draws.own[1]),
            _ => (rules.bare, draws.own[0]),
        };
        let mean = model.predict(&x) + model.scatter.between * own;
        let mut rank = draws.ranks[(degree as usize).saturating_sub(55).min(39)];
        if spent > 0.0 {
            // It has not passed with what is behind it.
            let behind = model.scatter.rank(state.core_c, (spent / part).ln() - mean);
            rank = behind + rank * (1.0 - behind);
        }
        let y = (mean + model.scatter.residual(state.core_c, rank)).clamp(BOUNDS.0, BOUNDS.1);
        let dose = y.exp() * part;
        let mut to_go = (dose - spent).max(0.02 * dose);
        let whole = to_go + spent;
        let began = now_min;
        let middle_c = state.core_c + 0.5 * part;
        let mut wraps_now = None;
        let mut minute = now_min;
        while to_go > 0.0 && minute < rules.horizon_min {
            let rate = cook.k_ref_per_h
                * (cook.pit.at(minute + 0.5 * LOOK_MIN) - middle_c).max(0.0)
                / 60.0;
            let mut passes = LOOK_MIN.min(rules.horizon_min - minute);
            if rate * passes >= to_go {
                passes = to_go / rate;
            }
            if !is_wrapped {
                let (wraps, stops) =
                    decide(then, &state, opened, minute, passes, &mut patience, rules, &x);
                passes = stops;
                wraps_now = wraps;
            }
            minute += passes;
            to_go -= rate * passes;
            if wraps_now.is_some() {
                break;
            }
            if let Some(core_c) = opens_here
                && opened.is_none()
                && state.core_c + part * (1.0 - to_go / whole) >= core_c
            {
                opened = Some(minute);
            }
        }
        seen(Passage { state: &state, gap_c, minutes: minute - began });
        if !is_wrapped {
            state.ripen(rules.bark_per_min, minute - began);
        }
        now_min = minute;
        let done = (1.0 - to_go.max(0.0) / whole).clamp(0.0, 1.0);
        if let Some(level) = wraps_now {
            let behind = (whole - to_go.max(0.0)).max(0.0);
            let core_c = (state.core_c + part * done).min(degree + 0.99);
            state.step(core_c, minute, behind);
            state = state.wrapped(level, behind);
            spent = 0.0;
            continue;
        }
        if to_go > 1e-9 {
            // The horizon came first.
            now_min = rules.horizon_min;
            break;
        }
        state.step(degree + 1.0, minute, whole);
        if part > 0.99 {
            state.learn(y);
        }
        spent = 0.0;
    }
    Ran { finish_min: now_min.min(rules.horizon_min), wrapped: state.wrap.is_some() }
}

/// Whether it is wrapped within the next minutes, in what, and after how many of them.
#[expect(clippy::too_many_arguments, reason = "the inner loop of a run")]
fn decide(
    then: Then,
    state: &State,
    opened: Option<f64>,
    minute: f64,
    passes: f64,
    patience: &mut f64,
    rules: &Rules<'_>,
    x: &Row,
) -> (Option<usize>, f64) {
    let (level, closes) = match (then, opened) {
        (Then::Bare, _) | (Then::Window { .. }, None) => return (None, passes),
        (Then::Habit, _) => (rules.habit.usual, f64::INFINITY),
        (Then::Window { level, grace_min, .. }, Some(opened)) => {
            (Some(level), (opened + grace_min - minute).max(0.0))
        }
    };
    let Some(level) = level else { return (None, passes) };
    let rate = rules.habit.rate_per_min(state, x);
    let by_habit = if rate > 0.0 { *patience / rate } else { f64::INFINITY };
    let at = by_habit.min(closes);
    if at <= passes {
        return (Some(level), at);
    }
    *patience -= rate * passes;
    (None, passes)
}

/// Every cook of a season with its draws.
pub(super) fn draws(pace: &Pace, runs: usize, seed: u64) -> Vec<Vec<Draws>> {
    (0..pace.cooks.len()).map(|cook| Draws::of(cook, runs, seed)).collect()
}
