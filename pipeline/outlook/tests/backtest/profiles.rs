//! A second generator of cooks, unlike `simulate` on purpose: it knows nothing of heat and water.
//!
//! How fast the core takes heat is a level that falls as evaporation sets in and comes back as a budget of
//! moisture is used up; a wrap changes what evaporates. The core follows the pit through two lags. Every draw
//! of a cook is made before it is run, so that it can be run again with another decision: the truth of a
//! what-if. All ranges are common practice, no source; teams differ in all of them.

use cook::{Card, Celsius, Event, EventKind, Kilograms, MarkTimes, WrapMethod};
use outlook::simulated::Recorded;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

const STEP_MIN: f64 = 10.0 / 60.0;
const LONGEST_STEPS: usize = 34 * 360;
const WEEK_MS: i64 = 604_800_000;

/// How a team cooks.
pub struct Team {
    seed: u64,
    weight_kg: (f64, f64),
    k_per_h: f64,
    k_spread: f64,
    setpoints_c: Vec<f64>,
    swing_c: f64,
    evaporates: f64,
    budget_h: f64,
    budget_spread: f64,
    /// Share of foil and of paper among its cooks; the rest goes unwrapped.
    foil: f64,
    paper: f64,
    wrap_core_c: (f64, f64),
    /// What paper leaves of the evaporation.
    paper_leaves: f64,
    bumps: f64,
    out_of_time_h: f64,
    habit: Option<Habit>,
}

/// A team that wraps by what the cook does, instead of at a core of its own: from 66 °C on the more readily
/// the longer and the stiller the core stands, later with heavy cuts, and less as the core climbs.
#[derive(Debug, Clone, Copy)]
pub struct Habit {
    /// Rate of wrapping at 68 °C, an hour after 55 °C, with 5.5 kg, 1/h.
    pub rate_per_h: f64,
    /// Per kelvin above 68 °C, in logs.
    pub per_kelvin: f64,
    /// What it wraps in.
    pub material: Material,
}

/// Core from which a habit wraps, °C.
pub const HABIT_FROM_C: f64 = 66.0;

impl Habit {
    fn rate_per_min(self, core_c: f64, rise_c_per_h: f64, hours: f64, weight_kg: f64) -> f64 {
        if core_c < HABIT_FROM_C {
            return 0.0;
        }
        let log = self.per_kelvin * (core_c - 68.0) - 0.08 * (rise_c_per_h - 4.0)
            + 0.15 * (hours - 1.0)
            - 0.3 * (weight_kg - 5.5);
        (self.rate_per_h * log.exp()).min(30.0) / 60.0
    }
}

impl Team {
    /// Team number `number` of a kind of seeds.
    pub fn new(seed: u64, number: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed.wrapping_mul(1_000) + number);
        random.set_stream(77);
        let mut draw = |from: f64, to: f64| from + (to - from) * random.random::<f64>();
        let middle_c = draw(110.0, 126.0);
        let foil = draw(0.1, 0.6);
        Self {
            seed: seed.wrapping_mul(1_000) + number,
            weight_kg: (draw(4.2, 6.6), draw(0.4, 1.0)),
            k_per_h: draw(0.16, 0.24),
            k_spread: draw(0.06, 0.14),
            setpoints_c: vec![middle_c - 7.0, middle_c, middle_c, middle_c + 8.0],
            swing_c: draw(1.0, 6.0),
            evaporates: draw(0.72, 0.92),
            budget_h: draw(1.8, 3.6),
            budget_spread: draw(0.15, 0.35),
            foil,
            paper: draw(0.2, 0.9) * (1.0 - foil),
            wrap_core_c: (draw(66.0, 74.0), draw(1.5, 4.0)),
            paper_leaves: draw(0.6, 1.0),
            bumps: draw(0.0, 0.4),
            out_of_time_h: draw(15.0, 24.0),
            habit: None,
        }
    }

    /// The same team with a habit that goes by what the cook does; it raises no set-point, and no cook
    /// runs out of time.
    #[must_use]
    pub fn with(self, habit: Habit) -> Self {
        Self { habit: Some(habit), bumps: 0.0, out_of_time_h: 33.0, ..self }
    }
}

/// A decision that a cook is run with in place of its team's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Decision {
    /// As the team does.
    AsTheTeam,
    /// Wrapped at a minute if it is not yet.
    WrapAt(usize, Material),
    /// The set-point raised at a minute by so many °C, beside what the team does.
    RaiseAt(usize, f64),
    /// Never wrapped.
    Never,
    /// Wrapped by habit in the minutes after the habit's core, at their end at the latest.
    Within(usize),
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Material {
    Foil,
    Paper,
    /// Something that does nothing.
    Sham,
}

impl Material {
    pub fn method(self) -> WrapMethod {
        match self {
            Self::Foil => WrapMethod::Foil,
            Self::Paper => WrapMethod::Paper,
            Self::Sham => WrapMethod::Other("sham".into()),
        }
    }
}

struct Draws {
    weight_kg: f64,
    k_per_min: f64,
    setpoint_c: f64,
    evaporates: f64,
    budget_min: f64,
    onset_c: f64,
    softened: f64,
    recovered: f64,
    lags_min: (f64, f64),
    start_c: f64,
    wrap: Option<(f64, Material)>,
    foil_leaves: f64,
    bump: Option<(f64, f64)>,
    pull_c: f64,
    wander: Vec<f64>,
    pit_wander: Vec<f64>,
    before: usize,
    /// How much of a habit's rate it takes until it wraps.
    patience: f64,
}

/// One run of a cook.
pub struct Run {
    pub recorded: Recorded,
    /// First 88 °C, min after meat-on, were it left on.
    pub finish_min: f64,
    /// First 55 °C, min after meat-on.
    pub zero_min: f64,
}

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// A slow wander of standard deviation 1, a value a step.
fn wander(random: &mut ChaCha8Rng, minutes: f64) -> Vec<f64> {
    let keep = (-STEP_MIN / minutes).exp();
    let mut level = normal(random);
    (0..LONGEST_STEPS)
        .map(|_| {
            level = keep * level + (1.0 - keep * keep).sqrt() * normal(random);
            level
        })
        .collect()
}

impl Team {
    /// Cooks of fire number `fire`; the decision is for all of them.
    pub fn fire(&self, fire: u64, decision: Decision) -> Vec<Run> {
        let mut random = ChaCha8Rng::seed_from_u64(self.seed);
        random.set_stream(1_000 + fire);
        let cooks = 1 + usize::from(random.random_bool(0.35));
        let setpoint_c = self.setpoints_c[random.random_range(0..self.setpoints_c.len())];
        let pit_wander = wander(&mut random, 60.0);
        (0..cooks)
            .map(|cook| {
                let mut random = ChaCha8Rng::seed_from_u64(self.seed);
                random.set_stream(1_000_000 + 10 * fire + cook as u64);
                let draws = self.draws(setpoint_c, &pit_wander, &mut random);
                self.run(fire, cook, &draws, decision)
            })
            .collect()
    }

    fn draws(&self, setpoint_c: f64, pit_wander: &[f64], random: &mut ChaCha8Rng) -> Draws {
        let spread = |random: &mut ChaCha8Rng, sd: f64| (sd * normal(random)).exp();
        let weight_kg = (self.weight_kg.0 + self.weight_kg.1 * normal(random)).clamp(3.0, 8.5);
        let size = (weight_kg / 5.5).powf(2.0 / 3.0);
        let material: f64 = random.random();
        let at_c = self.wrap_core_c.0 + self.wrap_core_c.1 * normal(random);
        let material = if material < self.foil {
            Some(Material::Foil)
        } else if material < self.foil + self.paper {
            Some(Material::Paper)
        } else {
            None
        };
        Draws {
            weight_kg,
            k_per_min: self.k_per_h / 60.0 / size * spread(random, self.k_spread),
            setpoint_c,
            evaporates: (self.evaporates + 0.05 * normal(random)).clamp(0.5, 0.97),
            budget_min: 60.0 * self.budget_h * size.sqrt() * spread(random, self.budget_spread),
            onset_c: 64.0 + 3.0 * normal(random),
            softened: random.random_range(0.7..1.0),
            recovered: random.random_range(0.55..1.0),
            lags_min: (random.random_range(8.0..20.0), random.random_range(5.0..20.0)),
            start_c: random.random_range(3.0..10.0),
            wrap: material.map(|material| (at_c, material)),
            foil_leaves: random.random_range(0.0..0.15),
            bump: random
                .random_bool(self.bumps)
                .then(|| (60.0 * random.random_range(5.0..10.0), random.random_range(8.0..16.0))),
            pull_c: random.random_range(91.0..96.5),
            wander: wander(random, 45.0),
            pit_wander: pit_wander.to_vec(),
            before: 6 * random.random_range(0..20),
            patience: -random.random::<f64>().max(1e-12).ln(),
        }
    }

    fn run(&self, fire: u64, cook: usize, draws: &Draws, decision: Decision) -> Run {
        let name = format!("profile-{}-{fire}-{cook}", self.seed);
        let start_ms = fire as i64 * WEEK_MS;
        let ms = |step: usize| start_ms + (step as i64) * 10_000;
        let (mut core_c, mut pit_c) = (vec![draws.start_c; draws.before], Vec::new());
        let mut events = Vec::new();
        let mut noted = |step: usize, kind: EventKind, value: String| {
            let (cook, value) = (name.clone(), Some(value));
            events.push(Event { cook, at_ms: ms(step), kind, value, note: None });
        };
        let mut setpoint_c = draws.setpoint_c;
        let mut air = setpoint_c - 4.0;
        let mut core = draws.start_c;
        let mut felt = (core, core);
        let (mut left_min, mut evaporation, mut eased) = (draws.budget_min, 0.0, 0.0);
        let mut wrap: Option<(usize, Material)> = None;
        let (mut bumped, mut raised) = (false, false);
        let mut finish = None;
        let mut pulled = None;
        let mut patience = draws.patience;
        let (mut since_55, mut opened): (Option<f64>, Option<f64>) = (None, None);
        for step in 0..LONGEST_STEPS {
            let minute = step as f64 * STEP_MIN;
            let follow = |value: &mut f64, to: f64, minutes: f64| {
                *value += (1.0 - (-STEP_MIN / minutes).exp()) * (to - *value);
            };
            follow(&mut air, setpoint_c, 15.0);
            let pit = air + self.swing_c * draws.pit_wander[step];
            pit_c.push(pit);
            if step < draws.before {
                continue;
            }
            core_c.push(core);
            let minute = minute - draws.before as f64 * STEP_MIN;
            if finish.is_none() && core >= 88.0 {
                finish = Some(minute);
            }
            if pulled.is_none() && (core >= draws.pull_c || minute > 60.0 * self.out_of_time_h) {
                pulled = Some(step);
            }
            if pulled.is_some() && (finish.is_some() || step + 1 == LONGEST_STEPS) {
                break;
            }
            if core >= 55.0 {
                since_55 = since_55.or(Some(minute));
            }
            let by_habit = self.habit.is_some_and(|habit| {
                let before = core_c[core_c.len().saturating_sub(121)];
                let hours = since_55.map_or(0.0, |since| (minute - since) / 60.0);
                let rise = (core - before) * 3.0;
                patience -= STEP_MIN * habit.rate_per_min(core, rise, hours, draws.weight_kg);
                patience <= 0.0
            });
            if core >= HABIT_FROM_C {
                opened = opened.or(Some(minute));
            }
            let asked = match decision {
                Decision::Never => None,
                Decision::Within(grace) => {
                    let closed = opened.is_some_and(|opened| minute - opened >= grace as f64);
                    self.habit.filter(|_| by_habit || closed).map(|habit| habit.material)
                }
                _ if self.habit.is_some() => {
                    self.habit.filter(|_| by_habit).map(|habit| habit.material)
                }
                Decision::WrapAt(at, material) if minute >= at as f64 => Some(material),
                _ => draws.wrap.filter(|(at_c, _)| core >= *at_c).map(|(_, material)| material),
            };
            if let (None, Some(material)) = (wrap, asked) {
                wrap = Some((step, material));
                noted(step, EventKind::Wrap, material.method().to_string());
            }
            if let Some((at, by)) =
                draws.bump.filter(|(at, _)| !bumped && minute >= *at && core < 80.0)
            {
                let _ = at;
                bumped = true;
                setpoint_c += by;
                noted(step, EventKind::Setpoint, format!("{setpoint_c:.1}C"));
            }
            if let Decision::RaiseAt(at, by) = decision
                && !raised
                && minute >= at as f64
            {
                raised = true;
                setpoint_c += by;
                noted(step, EventKind::Setpoint, format!("{setpoint_c:.1}C"));
            }
            let leaves = match wrap {
                Some((_, Material::Foil)) => draws.foil_leaves,
                Some((_, Material::Paper)) => self.paper_leaves,
                Some((_, Material::Sham)) | None => 1.0,
            };
            let heat = ((pit - 60.0) / 58.0).clamp(0.4, 1.8);
            let wants = if core >= draws.onset_c - 6.0 && left_min > 0.0 {
                ((core - draws.onset_c + 6.0) / 9.0).clamp(0.0, 1.0) * draws.evaporates * leaves
            } else {
                0.0
            };
            follow(&mut evaporation, wants, 12.0);
            left_min -= STEP_MIN * heat * evaporation;
            let raw = if core < draws.onset_c - 8.0 { 1.0 } else { draws.softened };
            let level = if left_min > 0.0 { raw * (1.0 - evaporation) } else { draws.recovered };
            follow(&mut eased, level * (0.12 * draws.wander[step]).exp(), 8.0);
            follow(&mut felt.0, pit, draws.lags_min.0);
            follow(&mut felt.1, felt.0, draws.lags_min.1);
            core += draws.k_per_min * eased * (felt.1 - core).max(0.0) * STEP_MIN;
        }
        let end = pulled.unwrap_or(core_c.len() - 1).min(core_c.len() - 1);
        core_c.truncate(end + 1);
        pit_c.truncate(end + 1);
        let card = Card {
            cook: name.clone(),
            season: "1".into(),
            fire: format!("profile-{}-{fire}", self.seed),
            cut: Some("brisket".into()),
            pit: Some("pit".into()),
            trimmed_weight: Some(Kilograms(draws.weight_kg)),
            pit_setpoint: Some(Celsius(draws.setpoint_c)),
            marks: MarkTimes {
                meat_on_ms: Some(ms(draws.before)),
                wrap_ms: wrap.map(|(step, _)| ms(step)),
                pull_ms: Some(ms(end)),
                slice_ms: None,
            },
            wrap_method: Some(wrap.map_or(WrapMethod::None, |(_, material)| material.method())),
            ..Card::default()
        };
        let seed = self.seed.wrapping_mul(31) + 100 * fire + cook as u64;
        let recorded = Recorded::new(card, events, &core_c, &pit_c, start_ms, seed);
        Run {
            recorded,
            finish_min: finish.unwrap_or(LONGEST_STEPS as f64 * STEP_MIN),
            zero_min: since_55.unwrap_or_default(),
        }
    }
}
