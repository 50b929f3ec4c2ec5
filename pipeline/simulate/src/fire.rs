//! One fire and all cooks on it, step by step.

use crate::GRID_STEP_S;
use crate::conduction::{Body, Ledger, Material};
use crate::decision::{CookPlan, Now, RestPlace};
use crate::error::SimulateError;
use crate::meat::Meat;
use crate::pit::{Pit, PitState};
use crate::surface::{Surface, Surroundings};
use crate::truth::{self, CookTruth, FireTruth, TrueEvent};
use crate::wrapping::effect;
use cook::{EventKind, WrapMethod};

/// Cells from the middle of the meat to its surface.
const CELLS: usize = 24;
/// Longest fire simulated, h.
const LONGEST_FIRE_H: i64 = 48;
/// Seconds that the lid is open for putting meat on, a wrap, a pull, a probe test, a spritz.
const LID_MEAT_ON_S: i64 = 60;
const LID_WRAP_S: i64 = 90;
const LID_PULL_S: i64 = 40;
const LID_TEST_S: i64 = 30;
const LID_SPRITZ_S: i64 = 20;
/// Water that one spritz leaves on a square metre, kg (set by eye).
const SPRITZ_KG_PER_M2: f64 = 0.04;
/// Core from which tenderness is felt for, and how often.
const TEST_FROM_C: f64 = 89.0;
const TEST_EVERY_S: i64 = 900;

/// Runs a fire from its lighting until its last cook is sliced.
///
/// `seed` decides the wander of the pit; what is done to the meat follows from the plans.
/// Running the same seed under another plan gives the counterfactual cook.
///
/// # Errors
/// [`SimulateError::NoCook`], [`SimulateError::OutOfRange`] for a setting,
/// [`SimulateError::NeverPulled`].
pub fn run_fire(pit: &Pit, plans: &[CookPlan], seed: u64) -> Result<FireTruth, SimulateError> {
    if plans.is_empty() {
        return Err(SimulateError::NoCook);
    }
    let mut pit_state = PitState::new(pit, seed)?;
    let mut cooks = Vec::with_capacity(plans.len());
    for plan in plans {
        plan.check()?;
        cooks.push(CookState::new(plan));
    }
    let step_s = GRID_STEP_S as f64;
    let mut pit_c = Vec::with_capacity(8_000);
    let mut lid_until_s = i64::MIN;
    let mut now_s = 0;
    while cooks.iter().any(|cook| cook.slice_s.is_none_or(|slice| slice >= now_s)) {
        let unpulled = cooks.iter().position(|cook| cook.pull_s.is_none());
        if let Some(cook) = unpulled.filter(|_| now_s > LONGEST_FIRE_H * 3_600) {
            return Err(SimulateError::NeverPulled { cook, hours: LONGEST_FIRE_H });
        }
        pit_c.push(pit_state.air_c());
        for cook in &mut cooks {
            if cook.slice_s.is_none_or(|slice| slice >= now_s) {
                lid_until_s = lid_until_s.max(cook.decide(now_s));
                cook.record();
            }
        }
        let tended = cooks.iter().any(|cook| cook.pull_s.is_none());
        let in_pit = pit_state.surroundings(pit);
        for cook in &mut cooks {
            cook.step(now_s, step_s, in_pit, pit);
        }
        pit_state.step(pit, now_s, step_s, now_s < lid_until_s, tended);
        now_s += GRID_STEP_S;
    }
    let cooks = cooks
        .into_iter()
        .enumerate()
        .map(|(index, cook)| cook.finish(index, &pit_c))
        .collect::<Result<Vec<_>, SimulateError>>()?;
    Ok(FireTruth { pit_c, cooks })
}

/// One piece of meat under way.
struct CookState<'a> {
    plan: &'a CookPlan,
    body: Body,
    wrap: WrapMethod,
    next_wrap: usize,
    wrap_due_s: Option<i64>,
    spritzed_kg_per_m2: f64,
    run_off_kg_per_m2: f64,
    next_spritz_s: Option<i64>,
    next_test_s: Option<i64>,
    tested_tender: bool,
    softened_h: f64,
    hottest_mean_c: f64,
    box_air_c: f64,
    at_pull: Option<AtPull>,
    moisture_left_at_wrap: Option<f64>,
    core_c: Vec<f64>,
    surface_c: Vec<f64>,
    wraps: Vec<(i64, WrapMethod)>,
    pull_s: Option<i64>,
    slice_s: Option<i64>,
    events: Vec<TrueEvent>,
}

/// What is read off at the pull.
#[derive(Clone, Copy)]
struct AtPull {
    ledger: Ledger,
    softness: f64,
    cooked_kg: f64,
}

impl<'a> CookState<'a> {
    fn new(plan: &'a CookPlan) -> Self {
        let meat = &plan.meat;
        let body = Body::new(
            meat.shape,
            meat.half_thickness_m(),
            CELLS,
            Material::food(&meat.composition),
            meat.density(),
            meat.start.value(),
        );
        Self {
            plan,
            body,
            wrap: WrapMethod::None,
            next_wrap: 0,
            wrap_due_s: None,
            spritzed_kg_per_m2: 0.0,
            run_off_kg_per_m2: 0.0,
            next_spritz_s: plan
                .spritz_every_min
                .map(|minutes| plan.meat_on_s + (minutes * 60.0) as i64),
            next_test_s: None,
            tested_tender: false,
            softened_h: 0.0,
            hottest_mean_c: meat.start.value(),
            box_air_c: 55.0,
            at_pull: None,
            moisture_left_at_wrap: None,
            core_c: Vec::with_capacity(8_000),
            surface_c: Vec::with_capacity(8_000),
            wraps: Vec::new(),
            pull_s: None,
            slice_s: None,
            events: Vec::new(),
        }
    }

    fn core(&self) -> f64 {
        self.body.temperature_at(self.plan.meat.probe_position)
    }

    fn moisture_left(&self) -> f64 {
        let supply = self.plan.meat.surface_moisture;
        if supply == 0.0 {
            return 0.0;
        }
        let gone = self.body.ledger().water + self.run_off_kg_per_m2;
        ((supply + self.spritzed_kg_per_m2 - gone) / supply).clamp(0.0, 1.0)
    }

    fn note(&mut self, at_s: i64, kind: EventKind, value: Option<String>) {
        self.events.push(TrueEvent { at_s, kind, value });
    }

    /// What is done now; until when the lid is open for it.
    fn decide(&mut self, now_s: i64) -> i64 {
        let plan = self.plan;
        if now_s < plan.meat_on_s || self.pull_s.is_some() {
            if self.slice_s.is_some_and(|slice| slice - now_s < GRID_STEP_S)
                && self.events.last().is_some_and(|event| event.kind != EventKind::Slice)
            {
                self.note(now_s, EventKind::Slice, None);
            }
            return i64::MIN;
        }
        if now_s - plan.meat_on_s < GRID_STEP_S {
            self.note(now_s, EventKind::MeatOn, None);
            return now_s + LID_MEAT_ON_S;
        }
        let mut lid_until_s = i64::MIN;
        if self.core() >= TEST_FROM_C && self.next_test_s.is_none_or(|at| at <= now_s) {
            self.next_test_s = Some(now_s + TEST_EVERY_S);
            self.tested_tender = self.softened_h >= plan.meat.tender_hours;
            let value = if self.tested_tender { "tender" } else { "not" };
            self.note(now_s, EventKind::ProbeTest, Some(value.into()));
            lid_until_s = now_s + LID_TEST_S;
        }
        let now = Now {
            elapsed_min: (now_s - plan.meat_on_s) as f64 / 60.0,
            core_c: self.core(),
            moisture_left: self.moisture_left(),
            tested_tender: self.tested_tender,
        };
        if plan.pull.iter().any(|trigger| trigger.is_met(now)) {
            self.pull(now_s);
            return now_s + LID_PULL_S;
        }
        if let Some(step) = plan.wraps.get(self.next_wrap) {
            if self.wrap_due_s.is_none() && step.when.iter().any(|trigger| trigger.is_met(now)) {
                self.wrap_due_s = Some(now_s + (step.delay_min * 60.0) as i64);
            }
            if self.wrap_due_s.is_some_and(|due| due <= now_s) {
                self.wrap(now_s, step.method.clone());
                return now_s + LID_WRAP_S;
            }
        }
        if self.wraps.is_empty() && self.next_spritz_s.is_some_and(|at| at <= now_s) {
            let every = plan.spritz_every_min.unwrap_or(f64::INFINITY) * 60.0;
            self.next_spritz_s = Some(now_s + every as i64);
            self.spritzed_kg_per_m2 += SPRITZ_KG_PER_M2;
            self.note(now_s, EventKind::Spritz, None);
            lid_until_s = lid_until_s.max(now_s + LID_SPRITZ_S);
        }
        lid_until_s
    }

    fn wrap(&mut self, now_s: i64, method: WrapMethod) {
        let left = self.moisture_left();
        self.moisture_left_at_wrap.get_or_insert(left);
        self.next_wrap += 1;
        self.wrap_due_s = None;
        if method == WrapMethod::None {
            self.note(now_s, EventKind::Unwrap, None);
        } else {
            self.note(now_s, EventKind::Wrap, Some(method.to_string()));
        }
        self.wraps.push((now_s, method.clone()));
        self.wrap = method;
    }

    fn pull(&mut self, now_s: i64) {
        let meat = &self.plan.meat;
        let ledger = self.body.ledger();
        // Juice leaves and fat renders between about 50 and 90 °C (common practice, no source).
        let cooked = ((self.hottest_mean_c - 50.0) / 40.0).clamp(0.0, 1.0);
        let evaporated = (ledger.water * meat.surface_m2()).max(0.0);
        let drip = meat.drip_share * cooked * meat.weight.value();
        self.at_pull = Some(AtPull {
            ledger,
            softness: if meat.tender_hours > 0.0 {
                self.softened_h / meat.tender_hours
            } else {
                f64::INFINITY
            },
            cooked_kg: meat.weight.value() - evaporated - drip,
        });
        self.pull_s = Some(now_s);
        let rest_s = (self.plan.rest.minutes * 60.0) as i64;
        self.slice_s = Some(now_s + rest_s);
        self.note(now_s, EventKind::Pull, None);
    }

    fn record(&mut self) {
        let core = self.core();
        self.core_c.push(core);
        self.surface_c.push(self.body.surface_c());
    }

    fn step(&mut self, now_s: i64, step_s: f64, in_pit: Surroundings, pit: &Pit) {
        if now_s < self.plan.meat_on_s || self.slice_s.is_some_and(|slice| slice < now_s) {
            return;
        }
        let surroundings = match self.pull_s {
            None => in_pit,
            Some(_) => self.resting(step_s, in_pit, pit),
        };
        let left = self.moisture_left();
        let effect = effect(&self.wrap);
        let wetness = self.plan.meat.wetness * Meat::wetness_left(left);
        self.body.step(&Surface::new(surroundings, effect, wetness), step_s);
        self.run_off_kg_per_m2 +=
            left * self.plan.meat.surface_moisture * effect.runoff_per_h * step_s / 3_600.0;
        // Collagen turns to gelatine the faster the hotter: doubling every 3 K, counted in
        // hours at 92 °C (set by eye so that tenderness comes at 92–97 °C).
        self.softened_h += step_s / 3_600.0 * ((self.core() - 92.0) / 3.0).exp2();
        self.hottest_mean_c = self.hottest_mean_c.max(self.body.mean_c());
    }

    /// Surroundings during the rest. Meat put away warms its box.
    fn resting(&mut self, step_s: f64, in_pit: Surroundings, pit: &Pit) -> Surroundings {
        let indoors = 22.0_f64.max(pit.outside.value());
        let (air_c, convective, emissivity) = match self.plan.rest.place {
            RestPlace::Counter => (indoors, 5.0, 0.8),
            RestPlace::Cooler => {
                let aim = 0.75 * self.body.surface_c() + 0.25 * indoors;
                self.box_air_c += (1.0 - (-step_s / 1_800.0).exp()) * (aim - self.box_air_c);
                (self.box_air_c, 3.0, 0.5)
            }
            RestPlace::HoldingBox => (65.0, 5.0, 0.8),
        };
        Surroundings {
            air_c,
            walls_c: air_c,
            convective,
            emissivity,
            humidity_ratio: 0.01,
            pressure_pa: in_pit.pressure_pa,
        }
    }

    fn finish(self, index: usize, pit_c: &[f64]) -> Result<CookTruth, SimulateError> {
        let (Some(at_pull), Some(pull_s), Some(slice_s)) =
            (self.at_pull, self.pull_s, self.slice_s)
        else {
            return Err(SimulateError::NeverPulled { cook: index, hours: LONGEST_FIRE_H });
        };
        let (judgement, stall_delay) =
            truth::judge(&self.core_c, pit_c, self.plan.meat_on_s, pull_s, slice_s);
        Ok(CookTruth {
            core_c: self.core_c,
            surface_c: self.surface_c,
            meat_on_s: self.plan.meat_on_s,
            wraps: self.wraps,
            pull_s,
            slice_s,
            events: self.events,
            ledger: at_pull.ledger,
            moisture_left_at_wrap: self.moisture_left_at_wrap.unwrap_or(0.0),
            softness: at_pull.softness,
            cooked_kg: at_pull.cooked_kg,
            judgement,
            stall_delay,
        })
    }
}
