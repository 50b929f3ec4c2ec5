//! A third generator, unlike the two others: the surface gives off water as the vapour pressure at the core's
//! temperature drives it, until what is there to give is gone, and how much there is differs from cook to cook.
//!
//! The cooks that have much of it stall long, and nothing that was logged before says so. A team that wraps by how
//! long and how still the core stands therefore wraps just those (the naive difference is off by some two hours
//! under a wrap that does nothing); one that wraps by a bark that nobody notes wraps those that are nearly through.
//! Saturation pressure by Tetens (1930); all ranges are common practice, no source.

use crate::profiles::{Decision, HABIT_FROM_C, Material, Run};
use cook::{Card, Celsius, Event, EventKind, Kilograms, MarkTimes, WrapMethod};
use outlook::simulated::Recorded;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

const STEP_MIN: f64 = 10.0 / 60.0;
const LONGEST_STEPS: usize = 34 * 360;
const WEEK_MS: i64 = 604_800_000;
const PULL_C: f64 = 95.5;
/// How often the bark is noted, where it is.
const NOTED_STEPS: usize = 45 * 6;

/// What a team goes by when it wraps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum GoesBy {
    /// How long and how still the core stands.
    Core,
    /// How dry the surface is, which no log shows; a quarter of the cooks is never wrapped.
    Bark,
    /// The same, and it is noted every three quarters of an hour until the wrap.
    NotedBark,
}

/// A team before such surfaces.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Team {
    pub(crate) seed: u64,
    pub(crate) material: Material,
    pub(crate) goes_by: GoesBy,
}

struct Draws {
    weight_kg: f64,
    k_per_h: f64,
    gives_off: f64,
    water: f64,
    start_c: f64,
    patience: f64,
    /// How dry it is when the bark is right, as a share of the water.
    dry_at: f64,
    is_wrapped: bool,
}

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// Saturation vapour pressure, kPa.
fn saturation_kpa(celsius: f64) -> f64 {
    0.610_8 * (17.27 * celsius / (celsius + 237.3)).exp()
}

impl Team {
    /// Cooks of fire number `fire`; the decision is for all of them.
    pub(crate) fn fire(&self, fire: u64, decision: Decision) -> Vec<Run> {
        let mut random = ChaCha8Rng::seed_from_u64(self.seed.wrapping_mul(1_000) + 7);
        random.set_stream(2_000 + fire);
        let cooks = 1 + usize::from(random.random_bool(0.4));
        let setpoint_c = random.random_range(107.0..135.0);
        let shared = normal(&mut random);
        let lids_min: f64 = random.random_range(70.0..130.0);
        let keep = (-STEP_MIN / 40.0).exp();
        let mut wander = 4.0 * normal(&mut random);
        let pit_c: Vec<f64> = (0..LONGEST_STEPS)
            .map(|step| {
                let minute = step as f64 * STEP_MIN;
                wander = keep * wander + 4.0 * (1.0 - keep * keep).sqrt() * normal(&mut random);
                let warmed = 0.75 + 0.25 * (minute / 20.0).min(1.0);
                let is_open = minute > 60.0 && minute % lids_min < 3.0;
                let lid_c = if is_open { 12.0 } else { 0.0 };
                20.0 + (setpoint_c - 20.0) * warmed + wander - lid_c
            })
            .collect();
        (0..cooks)
            .map(|cook| {
                let mut random = ChaCha8Rng::seed_from_u64(self.seed.wrapping_mul(1_000) + 7);
                random.set_stream(2_000_000 + 10 * fire + cook as u64);
                let weight_kg = random.random_range(4.0..8.0);
                let size = f64::powf(5.5 / weight_kg, 0.55);
                let draws = Draws {
                    weight_kg,
                    k_per_h: 0.20 * size * (0.10 * normal(&mut random)).exp(),
                    gives_off: (0.16 * normal(&mut random) + 0.12 * shared).exp(),
                    water: (0.30 * normal(&mut random) + 0.10 * shared).exp(),
                    start_c: random.random_range(3.0..5.0),
                    patience: -random.random::<f64>().max(1e-12).ln(),
                    dry_at: random.random_range(0.4..0.8),
                    is_wrapped: random.random_bool(0.75),
                };
                self.run((fire, cook), (setpoint_c, &pit_c), &draws, decision)
            })
            .collect()
    }

    fn run(
        &self,
        (fire, cook): (u64, usize),
        (setpoint_c, pit_c): (f64, &[f64]),
        draws: &Draws,
        decision: Decision,
    ) -> Run {
        let name = format!("surface-{}-{fire}-{cook}", self.seed);
        let start_ms = fire as i64 * WEEK_MS;
        let ms = |step: usize| start_ms + (step as i64) * 10_000;
        // The core, what a probe with a lag of 8 minutes shows of it, and the pit as the meat feels it.
        let (mut core, mut shown, mut felt) = (draws.start_c, draws.start_c, pit_c[0]);
        let (mut given_off, mut patience) = (0.0, draws.patience);
        let mut core_c: Vec<f64> = Vec::new();
        let (mut since_55, mut opened): (Option<f64>, Option<f64>) = (None, None);
        let (mut finish, mut wrapped) = (None, None);
        let mut noted: Vec<Event> = Vec::new();
        let event = |step: usize, kind: EventKind, value: &str| Event {
            cook: name.clone(),
            at_ms: ms(step),
            kind,
            value: Some(value.into()),
            note: None,
        };
        for (step, &pit) in pit_c.iter().enumerate() {
            let minute = step as f64 * STEP_MIN;
            core_c.push(shown);
            if finish.is_none() && shown >= 88.0 {
                finish = Some(minute);
            }
            if shown >= PULL_C {
                break;
            }
            if shown >= 55.0 {
                since_55 = since_55.or(Some(minute));
            }
            if shown >= HABIT_FROM_C {
                opened = opened.or(Some(minute));
            }
            if let (None, Some(opened)) = (wrapped, opened)
                && self.goes_by == GoesBy::NotedBark
                && (((minute - opened) / STEP_MIN).round() as usize).is_multiple_of(NOTED_STEPS)
            {
                let dry: f64 = given_off / draws.water;
                let looks = match dry {
                    ..0.375 => "not-yet",
                    ..0.625 => "nearly",
                    _ => "set",
                };
                noted.push(event(step, EventKind::Bark, looks));
            }
            if let (None, Some(opened)) = (wrapped, opened) {
                let by_habit = match self.goes_by {
                    GoesBy::Core => {
                        let before = core_c[core_c.len().saturating_sub(181)];
                        let hours = ((minute - opened) / 60.0).min(4.0);
                        let log = 0.35 * hours
                            - 0.12 * (2.0 * (shown - before) - 3.0)
                            - 0.15 * (draws.weight_kg - 6.0)
                            - 0.10 * (shown - 74.0).max(0.0);
                        let per_min = if shown <= 85.0 { 0.12 * log.exp() / 60.0 } else { 0.0 };
                        patience -= per_min * STEP_MIN;
                        patience <= 0.0
                    }
                    GoesBy::Bark | GoesBy::NotedBark => {
                        draws.is_wrapped
                            && shown >= HABIT_FROM_C + 1.0
                            && given_off >= draws.dry_at * draws.water
                    }
                };
                let wraps = match decision {
                    Decision::Never => false,
                    Decision::Within(grace) => by_habit || minute - opened >= grace as f64,
                    _ => by_habit,
                };
                wrapped = wraps.then_some(step);
            }
            let leaves = match (wrapped, self.material) {
                (Some(_), Material::Foil) => 0.15,
                (Some(_), Material::Paper) => 0.6,
                _ => 1.0,
            };
            felt += STEP_MIN / 25.0 * (pit - felt);
            let wet = 1.0 / (1.0 + f64::exp(((given_off - draws.water) / 0.10).min(50.0)));
            let driven = (saturation_kpa(core.min(90.0)) - 9.0).max(0.0);
            let cooled = draws.gives_off * wet * 0.26 * driven * leaves;
            given_off += cooled / 34.0 * STEP_MIN / 60.0;
            shown += STEP_MIN / 8.0 * (core - shown);
            core += (draws.k_per_h * (felt - core) - cooled).max(-0.5) * STEP_MIN / 60.0;
        }
        let end = core_c.len() - 1;
        let method = self.material.method();
        noted.extend(wrapped.map(|step| event(step, EventKind::Wrap, method.as_str())));
        let card = Card {
            cook: name.clone(),
            season: "1".into(),
            fire: format!("surface-{}-{fire}", self.seed),
            cut: Some("brisket".into()),
            pit: Some("pit".into()),
            trimmed_weight: Some(Kilograms(draws.weight_kg)),
            pit_setpoint: Some(Celsius(setpoint_c)),
            marks: MarkTimes {
                meat_on_ms: Some(ms(0)),
                wrap_ms: wrapped.map(ms),
                pull_ms: Some(ms(end)),
                slice_ms: None,
            },
            wrap_method: Some(wrapped.map_or(WrapMethod::None, |_| method)),
            ..Card::default()
        };
        let seed = self.seed.wrapping_mul(37) + 100 * fire + cook as u64;
        let recorded = Recorded::new(card, noted, &core_c, &pit_c[..=end], start_ms, seed);
        Run {
            recorded,
            finish_min: finish.unwrap_or(LONGEST_STEPS as f64 * STEP_MIN),
            zero_min: since_55.unwrap_or_default(),
        }
    }
}
