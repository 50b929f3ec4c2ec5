//! One piece of meat on a fire, under way.

use super::hands::Hands;
use super::{CELLS, MEAT_STEP_S};
use crate::GRID_STEP_S;
use crate::conduction::{Body, Ledger};
use crate::decision::{CookPlan, Trigger};
use crate::error::SimulateError;
use crate::habit::History;
use crate::material::Material;
use crate::moisture::Moisture;
use crate::rest::Resting;
use crate::surface::{Surface, Surroundings, Vapour};
use crate::truth::{self, CookMarks, CookTruth, TrueEvent};
use crate::wrapping::effect;
use cook::{Bark, Celsius, CelsiusDifference, EventKind, PhaseDefinition, WrapMethod};

/// Seconds that the lid is open for putting meat on, a wrap, a pull, a probe test, a spritz.
const LID_MEAT_ON_S: i64 = 60;
const LID_WRAP_S: i64 = 90;
const LID_PULL_S: i64 = 40;
const LID_TEST_S: i64 = 30;
const LID_SPRITZ_S: i64 = 20;
/// Core from which the bark is looked at, °C, and shares of the surface's moisture left at which it is nearly set, and set
/// (set by eye).
const BARK_FROM_C: f64 = 60.0;
const BARK_NEARLY: f64 = 0.62;
const BARK_SET: f64 = 0.45;
/// Water that one spritz leaves on a square metre, kg (set by eye).
const SPRITZ_KG_PER_M2: f64 = 0.04;
/// Core from which tenderness is felt for, and how often.
const TEST_FROM_C: f64 = 89.0;
const TEST_EVERY_S: i64 = 900;
/// Core below which softening is not counted: there it takes days.
const SOFTENS_FROM_C: f64 = 62.0;
/// Minutes over which a habit sees the core rise, one value a minute.
const RISE_OVER_MIN: usize = 20;

/// What is kept of a cook.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Keep {
    /// Curves to the slice.
    Curves,
    /// Marks to the finish.
    Marks,
}

/// What came of a step.
#[derive(Debug, Clone, Copy)]
pub(super) struct Done {
    /// Until when the lid is open for it.
    pub(super) lid_until_s: i64,
    /// How far above the fire's first set-point the cook wants it.
    pub(super) asks_for: Option<CelsiusDifference>,
}

const NOTHING: Done = Done { lid_until_s: i64::MIN, asks_for: None };

/// One piece of meat under way.
pub(super) struct Piece<'a> {
    plan: &'a CookPlan,
    keep: Keep,
    hands: Hands<'a>,
    body: Body,
    wrap: WrapMethod,
    resting: Resting,
    moisture: Moisture,
    next_spritz_s: Option<i64>,
    /// When the bark is looked at next; never again once it was set.
    next_bark_s: i64,
    next_test_s: Option<i64>,
    tested_tender: bool,
    softened_h: f64,
    hottest_mean_c: f64,
    at_pull: Option<AtPull>,
    moisture_left_at_wrap: Option<f64>,
    dry_from_s: Option<i64>,
    /// The core at the last step.
    core_now_c: f64,
    /// The surface in the middle of the last step.
    surface_now_c: f64,
    /// The core at the last minutes, the oldest at `oldest`.
    lately_c: [f64; RISE_OVER_MIN],
    minutes_seen: usize,
    core_c: Vec<f64>,
    surface_c: Vec<f64>,
    wraps: Vec<(i64, WrapMethod)>,
    marks: CookMarks,
    slice_s: Option<i64>,
    events: Vec<TrueEvent>,
}

/// What is read off at the pull.
#[derive(Clone, Copy)]
struct AtPull {
    ledger: Ledger,
    softness: f64,
    cooked_kg: f64,
    evaporated_kg: f64,
    moisture_left: f64,
}

impl<'a> Piece<'a> {
    pub(super) fn new(plan: &'a CookPlan, seed: u64, cook: usize, keep: Keep) -> Self {
        let meat = &plan.meat;
        let body = Body::new(
            meat.shape,
            meat.half_thickness_m(),
            CELLS,
            Material::food(&meat.composition, meat.latent_heat),
            meat.density(),
            meat.start.value(),
        );
        let meat_on_s = plan.meat_on_s.div_euclid(GRID_STEP_S) * GRID_STEP_S;
        let before = if keep == Keep::Curves { (meat_on_s / GRID_STEP_S) as usize } else { 0 };
        let start_c = meat.start.value();
        let curve = || {
            let mut curve = Vec::new();
            if keep == Keep::Curves {
                curve.reserve(8_000);
                curve.resize(before, start_c);
            }
            curve
        };
        Self {
            hands: Hands::new(plan, seed, cook, meat_on_s),
            plan,
            keep,
            body,
            wrap: WrapMethod::None,
            resting: Resting::new(plan.rest.place),
            moisture: Moisture::new(meat),
            next_spritz_s: plan.spritz_every_min.map(|minutes| meat_on_s + (minutes * 60.0) as i64),
            next_bark_s: meat_on_s,
            next_test_s: None,
            tested_tender: false,
            softened_h: 0.0,
            hottest_mean_c: start_c,
            at_pull: None,
            moisture_left_at_wrap: None,
            dry_from_s: None,
            core_now_c: start_c,
            surface_now_c: start_c,
            lately_c: [start_c; RISE_OVER_MIN],
            minutes_seen: 0,
            core_c: curve(),
            surface_c: curve(),
            wraps: Vec::new(),
            marks: CookMarks::new(meat_on_s),
            slice_s: None,
            events: Vec::new(),
        }
    }

    pub(super) fn is_pulled(&self) -> bool {
        self.marks.pull_s.is_some()
    }

    /// Sliced before an instant.
    pub(super) fn is_over(&self, now_s: i64) -> bool {
        self.slice_s.is_some_and(|slice| slice < now_s)
    }

    /// Past the finish, or pulled without.
    pub(super) fn is_marked(&self) -> bool {
        self.marks.finish_s.is_some() || self.is_pulled()
    }

    /// Whether a step ends at an instant.
    pub(super) fn is_due(&self, now_s: i64) -> bool {
        let since = now_s - self.marks.meat_on_s;
        since >= 0 && since % MEAT_STEP_S == 0 && !self.is_over(now_s)
    }

    fn note(&mut self, at_s: i64, kind: EventKind, value: Option<String>) {
        if self.keep == Keep::Curves {
            self.events.push(TrueEvent { at_s, kind, value });
        }
    }

    pub(super) fn note_setpoint(&mut self, now_s: i64, raised: Celsius) {
        self.marks.bump_s.get_or_insert(now_s);
        self.note(now_s, EventKind::Setpoint, Some(format!("{:.0}F", raised.fahrenheit())));
    }

    /// The meat's heat up to an instant, and what is then done. `in_pit` is the mean over the
    /// step of what is around meat in the pit.
    pub(super) fn step_to(&mut self, now_s: i64, in_pit: &Surroundings, vapour: &Vapour) -> Done {
        if now_s > self.marks.meat_on_s {
            self.heat(in_pit, vapour);
        }
        if !self.moisture.is_wet() {
            self.dry_from_s.get_or_insert(now_s);
        }
        self.record(now_s);
        self.decide(now_s)
    }

    fn heat(&mut self, in_pit: &Surroundings, vapour: &Vapour) {
        let step_s = MEAT_STEP_S as f64;
        let resting = self.is_pulled();
        let at_rest;
        let surroundings = if resting {
            at_rest = self.resting.surroundings(vapour.pressure_pa());
            &at_rest
        } else {
            in_pit
        };
        let effect = effect(&self.wrap);
        let wetness = self.plan.meat.wetness * self.moisture.wetness();
        let surface = Surface::new(surroundings, vapour, effect, wetness, self.moisture.is_wet());
        let flow = self.body.step(&surface, step_s);
        self.surface_now_c = flow.celsius;
        self.moisture.evaporate(flow.water * step_s);
        if resting {
            let given_off = -flow.heating * step_s;
            self.resting.step(step_s, given_off * self.plan.meat.surface_m2());
        }
        self.hottest_mean_c = self.hottest_mean_c.max(self.body.mean_c());
        self.moisture.drip(self.hottest_mean_c, effect, step_s);
        // Collagen turns to gelatine the faster the hotter: doubling every 3 K, counted in
        // hours at 92 °C (set by eye so that tenderness comes at 92–97 °C).
        let core = self.body.temperature_at(self.plan.meat.probe_position);
        if core > SOFTENS_FROM_C {
            self.softened_h += step_s / 3_600.0 * ((core - 92.0) / 3.0).exp2();
        }
    }

    /// Curves and marks on the grid up to an instant, by straight lines within the step.
    fn record(&mut self, now_s: i64) {
        let core = self.body.temperature_at(self.plan.meat.probe_position);
        let steps = if now_s == self.marks.meat_on_s { 1 } else { MEAT_STEP_S / GRID_STEP_S };
        let definition = PhaseDefinition::default();
        for step in 1..=steps {
            let share = step as f64 / steps as f64;
            let value = self.core_now_c + share * (core - self.core_now_c);
            let at_s = now_s - (steps - step) * GRID_STEP_S;
            if self.keep == Keep::Curves {
                self.core_c.push(value);
                self.surface_c.push(self.surface_now_c);
            }
            if !self.is_pulled() {
                if value >= definition.stall_from_c {
                    self.marks.clock_zero_s.get_or_insert(at_s);
                }
                if value >= definition.finish_c {
                    self.marks.finish_s.get_or_insert(at_s);
                }
            }
        }
        self.core_now_c = core;
    }

    fn history(&mut self, now_s: i64) -> History {
        let since_s = now_s - self.marks.meat_on_s;
        let place = self.minutes_seen % RISE_OVER_MIN;
        let over_min = self.minutes_seen.clamp(1, RISE_OVER_MIN);
        let oldest = self.lately_c[if self.minutes_seen < RISE_OVER_MIN { 0 } else { place }];
        let history = History {
            elapsed_min: since_s as f64 / 60.0,
            core_c: self.core_now_c,
            rise_c_per_h: (self.core_now_c - oldest) * 60.0 / over_min as f64,
            clock_h: self.marks.clock_zero_s.map_or(0.0, |zero| (now_s - zero) as f64 / 3_600.0),
            weight_kg: self.plan.meat.weight.value(),
            moisture_left: self.moisture.share_left(),
        };
        if since_s % 60 == 0 {
            self.lately_c[place] = self.core_now_c;
            self.minutes_seen += 1;
        }
        history
    }

    fn decide(&mut self, now_s: i64) -> Done {
        if self.is_pulled() {
            if self.slice_s == Some(now_s) {
                self.note(now_s, EventKind::Slice, None);
            }
            return NOTHING;
        }
        let history = self.history(now_s);
        if now_s == self.marks.meat_on_s {
            self.note(now_s, EventKind::MeatOn, None);
            return Done { lid_until_s: now_s + LID_MEAT_ON_S, ..NOTHING };
        }
        let mut done = NOTHING;
        let mut open = |seconds: i64| done.lid_until_s = done.lid_until_s.max(now_s + seconds);
        if history.core_c >= TEST_FROM_C && self.next_test_s.is_none_or(|at| at <= now_s) {
            self.next_test_s = Some(now_s + TEST_EVERY_S);
            self.tested_tender = self.softened_h >= self.plan.meat.tender_hours;
            let value = if self.tested_tender { "tender" } else { "not" };
            self.note(now_s, EventKind::ProbeTest, Some(value.into()));
            open(LID_TEST_S);
        }
        self.note_bark(now_s, &history);
        self.hands.look(now_s, &history);
        let met = |trigger: &&Trigger| trigger.is_met(&history, self.tested_tender);
        if let Some(&trigger) = self.plan.pull.iter().find(met) {
            self.pull(now_s, trigger);
            open(LID_PULL_S);
            return done;
        }
        let first = self.wraps.is_empty();
        let wrap = self.hands.wrap(now_s, &history);
        let wraps = first && wrap.is_some();
        if let Some(method) = wrap {
            self.wrap(now_s, method);
            open(LID_WRAP_S);
        }
        if self.wraps.is_empty() && self.next_spritz_s.is_some_and(|at| at <= now_s) {
            let every = self.plan.spritz_every_min.unwrap_or(f64::INFINITY) * 60.0;
            self.next_spritz_s = Some(now_s + every as i64);
            self.moisture.spray(SPRITZ_KG_PER_M2);
            self.note(now_s, EventKind::Spritz, None);
            open(LID_SPRITZ_S);
        }
        if let Some(spray) = self.hands.sprays().filter(|_| self.wraps.is_empty()) {
            self.moisture.spray(spray.water_kg_per_m2);
            if spray.water_kg_per_m2 == 0.0 && spray.lid_s > 0 {
                self.note(now_s, EventKind::Lid, Some(spray.lid_s.to_string()));
            } else {
                self.note(now_s, EventKind::Spritz, None);
            }
            open(spray.lid_s);
        }
        done.asks_for = self.hands.bump(&history, wraps);
        done
    }

    /// What the bark looks like: it sets as the surface dries.
    fn note_bark(&mut self, now_s: i64, history: &History) {
        let Some(every_min) = self.plan.bark_noted_every_min else { return };
        if !self.wraps.is_empty() || history.core_c < BARK_FROM_C || now_s < self.next_bark_s {
            return;
        }
        let bark = match history.moisture_left {
            left if left <= BARK_SET => Bark::Set,
            left if left <= BARK_NEARLY => Bark::Nearly,
            _ => Bark::NotYet,
        };
        let next_s = now_s + (every_min * 60.0) as i64;
        self.next_bark_s = if bark == Bark::Set { i64::MAX } else { next_s };
        self.note(now_s, EventKind::Bark, Some(bark.to_string()));
    }

    fn wrap(&mut self, now_s: i64, method: WrapMethod) {
        let left = self.moisture.share_left();
        self.moisture_left_at_wrap.get_or_insert(left);
        if method == WrapMethod::None {
            self.note(now_s, EventKind::Unwrap, None);
        } else {
            self.note(now_s, EventKind::Wrap, Some(method.to_string()));
        }
        self.marks.wrap.get_or_insert((now_s, method.clone()));
        self.wraps.push((now_s, method.clone()));
        self.moisture.rewrap();
        self.wrap = method;
    }

    fn pull(&mut self, now_s: i64, trigger: Trigger) {
        let meat = &self.plan.meat;
        let ledger = self.body.ledger();
        self.at_pull = Some(AtPull {
            ledger,
            softness: if meat.tender_hours > 0.0 {
                self.softened_h / meat.tender_hours
            } else {
                f64::INFINITY
            },
            cooked_kg: meat.weight.value() - self.moisture.lost() * meat.surface_m2(),
            evaporated_kg: self.moisture.evaporated() * meat.surface_m2(),
            moisture_left: self.moisture.share_left(),
        });
        self.marks.pull_s = Some(now_s);
        self.marks.pulled_by = Some(trigger);
        let steps = (self.plan.rest.minutes * 60.0 / MEAT_STEP_S as f64).round() as i64;
        self.slice_s = Some(now_s + steps * MEAT_STEP_S);
        self.note(now_s, EventKind::Pull, None);
        if steps == 0 {
            self.note(now_s, EventKind::Slice, None);
        }
    }

    pub(super) fn marks(self) -> CookMarks {
        self.marks
    }

    pub(super) fn truth(
        self,
        index: usize,
        pit_c: &[f64],
        longest_h: i64,
    ) -> Result<CookTruth, SimulateError> {
        let never = SimulateError::NeverPulled { cook: index, hours: longest_h };
        let (Some(at_pull), Some(pull_s), Some(slice_s)) =
            (self.at_pull, self.marks.pull_s, self.slice_s)
        else {
            return Err(never);
        };
        let meat_on_s = self.marks.meat_on_s;
        let (judgement, stall_delay) =
            truth::judge(&self.core_c, pit_c, meat_on_s, pull_s, slice_s);
        Ok(CookTruth {
            core_c: self.core_c,
            surface_c: self.surface_c,
            meat_on_s,
            wraps: self.wraps,
            pull_s,
            slice_s,
            events: self.events,
            ledger: at_pull.ledger,
            dry_from_s: self.dry_from_s,
            evaporated_kg: at_pull.evaporated_kg,
            moisture_left_at_wrap: self.moisture_left_at_wrap.unwrap_or(at_pull.moisture_left),
            softness: at_pull.softness,
            cooked_kg: at_pull.cooked_kg,
            marks: self.marks,
            judgement,
            stall_delay,
        })
    }
}
