//! A second generator of cooks, unlike `simulate` on purpose: it knows nothing of heat and water.
//!
//! How well the meat takes heat is a drawn profile of ramps, plateaus and wandering levels, and the core
//! follows the pit through two lags that are not the definition's. Pits are steered by a controller, switched
//! between two limits, or drift like charcoal. All ranges are common practice, no source; they are
//! wider than a team's cooks will be. The truth is what the definition gives on the curves.

use super::cooks::{Category, STEP_MS, TrueCook};
use cook::PhaseKind;
use phases::CookBounds;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

/// Step, min.
const STEP_MIN: f64 = STEP_MS as f64 / 60_000.0;
/// A cook that takes longer is drawn again, h.
const LONGEST_H: f64 = 30.0;

/// A level of the heating coefficient relative to that of raw meat, and how it is left.
struct Stretch {
    level: f64,
    /// How fast the level is approached, min.
    approach_min: f64,
    /// Left after this, min …
    minutes: f64,
    /// … or at this core, °C, whichever is first.
    until_c: f64,
}

/// Follows a target with a time constant.
fn follow(value: &mut f64, target: f64, minutes: f64) {
    *value += (1.0 - (-STEP_MIN / minutes).exp()) * (target - *value);
}

/// The stretches of one cook.
fn stretches(category: Category, random: &mut ChaCha8Rng) -> Vec<Stretch> {
    let stretch =
        |level, approach_min, minutes, until_c| Stretch { level, approach_min, minutes, until_c };
    let onset_c = random.random_range(58.0..72.0);
    let softening_c: f64 = onset_c - random.random_range(4.0..14.0);
    let softened = random.random_range(0.65..1.0);
    let mut found = vec![
        stretch(1.0, random.random_range(10.0..40.0), f64::INFINITY, softening_c),
        stretch(softened, random.random_range(15.0..50.0), f64::INFINITY, onset_c),
    ];
    if category == Category::ProfileNoStall {
        found.push(stretch(random.random_range(0.55..0.95), 30.0, f64::INFINITY, 200.0));
        return found;
    }
    let falls_min = random.random_range(4.0..30.0);
    // A plateau of one to three levels.
    for _ in 0..random.random_range(1..4) {
        let level = random.random_range(0.02..0.33);
        found.push(stretch(level, falls_min, random.random_range(30.0..150.0), 86.0));
    }
    let recovered = random.random_range(0.55..1.1);
    let wrapped = random.random_bool(0.5);
    let rises_min =
        if wrapped { random.random_range(3.0..12.0) } else { random.random_range(10.0..40.0) };
    if category == Category::ProfileDouble {
        found.push(stretch(recovered, rises_min, random.random_range(35.0..100.0), 85.0));
        let level = random.random_range(0.05..0.32);
        found.push(stretch(
            level,
            random.random_range(3.0..12.0),
            random.random_range(35.0..120.0),
            87.0,
        ));
    }
    found.push(stretch(recovered, rises_min, f64::INFINITY, 200.0));
    found
}

/// How the pit is held.
enum Control {
    /// A ripple of some minutes about the set-point.
    Steered { ripple_c: f64, period_min: f64 },
    /// On below the lower limit, off above the upper one.
    Switched { band_c: f64, heats_to_c: f64, minutes: f64, on: bool },
    /// The fire wanders for hours, and is refuelled.
    Charcoal { spread_c: f64, hours: f64, state: f64 },
}

struct Pit {
    control: Control,
    setpoint_c: f64,
    ambient_c: f64,
    /// Metal and air, °C.
    body_c: f64,
    /// What lids have taken off the air, °C, and how fast it comes back, min.
    lid_c: f64,
    lid_back_min: f64,
    /// Share of steps in which the lid is opened.
    lid_share: f64,
    gust_c: f64,
    /// Set-point moved by so much at that minute after meat-on.
    bump: Option<(f64, f64)>,
    /// No fire between these minutes after meat-on.
    out: Option<(f64, f64)>,
}

impl Pit {
    fn new(category: Category, random: &mut ChaCha8Rng) -> Self {
        let setpoint_c = match category {
            Category::ProfileNoStall => random.random_range(118.0..155.0),
            _ => random.random_range(102.0..142.0),
        };
        let restless = category == Category::ProfileFires;
        let control = match random.random_range(0..3) {
            0 => Control::Steered {
                ripple_c: random.random_range(0.3..2.0),
                period_min: random.random_range(2.0..9.0),
            },
            1 => Control::Switched {
                band_c: random.random_range(1.5..6.0),
                heats_to_c: setpoint_c + random.random_range(15.0..50.0),
                minutes: random.random_range(12.0..30.0),
                on: true,
            },
            _ => Control::Charcoal {
                spread_c: random.random_range(1.0..if restless { 9.0 } else { 4.0 }),
                hours: random.random_range(0.7..2.5),
                state: 0.0,
            },
        };
        let mut pit = Self {
            control,
            setpoint_c,
            ambient_c: random.random_range(-5.0..32.0),
            body_c: setpoint_c + random.random_range(-8.0..4.0),
            lid_c: 0.0,
            lid_back_min: random.random_range(2.0..7.0),
            lid_share: 0.0,
            gust_c: random.random_range(0.0..1.0),
            bump: None,
            out: None,
        };
        if random.random_bool(0.4) {
            pit.lid_share = STEP_MIN / random.random_range(50.0..150.0);
        }
        if restless {
            match random.random_range(0..3) {
                0 => {
                    let from = random.random_range(60.0..420.0);
                    pit.out = Some((from, from + random.random_range(15.0..80.0)));
                }
                1 => {
                    let by = random.random_range(5.0..22.0)
                        * if random.random_bool(0.7) { 1.0 } else { -1.0 };
                    pit.bump = Some((random.random_range(150.0..540.0), by));
                }
                _ => {}
            }
        }
        pit
    }

    /// One step; gives the air, °C.
    fn step(&mut self, minute: f64, random: &mut ChaCha8Rng) -> f64 {
        let setpoint_c = match self.bump {
            Some((at, by)) if minute >= at => self.setpoint_c + by,
            _ => self.setpoint_c,
        };
        let moved = setpoint_c - self.setpoint_c;
        let normal: f64 = random.sample(StandardNormal);
        if self.out.is_some_and(|(from, until)| (from..until).contains(&minute)) {
            follow(&mut self.body_c, self.ambient_c, 70.0);
        } else {
            match &mut self.control {
                Control::Steered { ripple_c, period_min } => {
                    let phase = 2.0 * std::f64::consts::PI * minute / *period_min;
                    follow(&mut self.body_c, setpoint_c + *ripple_c * 3.0 * phase.sin(), 5.0);
                }
                Control::Switched { band_c, heats_to_c, minutes, on } => {
                    if self.body_c > setpoint_c + *band_c {
                        *on = false;
                    } else if self.body_c < setpoint_c - *band_c {
                        *on = true;
                    }
                    let target = if *on { *heats_to_c + moved } else { setpoint_c - 45.0 };
                    follow(&mut self.body_c, target, *minutes);
                }
                Control::Charcoal { spread_c, hours, state } => {
                    let rate = STEP_MIN / (60.0 * *hours);
                    *state += -rate * *state + (2.0 * rate).sqrt() * *spread_c * normal;
                    follow(&mut self.body_c, setpoint_c + *state, 12.0);
                }
            }
        }
        if self.lid_share > 0.0 && random.random_bool(self.lid_share) {
            self.open_lid(random);
        }
        follow(&mut self.lid_c, 0.0, self.lid_back_min);
        let gust: f64 = random.sample(StandardNormal);
        self.body_c - self.lid_c + 0.3 * self.gust_c * gust
    }

    fn open_lid(&mut self, random: &mut ChaCha8Rng) {
        self.lid_c += random.random_range(0.1..0.4) * (self.body_c - self.ambient_c);
    }
}

/// One draw; `None` where it does not come out as the category asks.
pub fn draw(category: Category, random: &mut ChaCha8Rng) -> Option<TrueCook> {
    let stretches = stretches(category, random);
    let mut pit = Pit::new(category, random);
    let k_per_min = random.random_range(0.12..0.30) / 60.0;
    let lags_min = (random.random_range(8.0..20.0), random.random_range(5.0..20.0));
    let inertia_min = random.random_range(4.0..10.0);
    let pull_c = random.random_range(90.5..97.0);
    let (wander, wander_min) = (random.random_range(0.0..0.25), random.random_range(20.0..60.0));
    let before = random.random_range(0..360);
    let (mut core_c, mut pit_c) = (Vec::new(), Vec::new());
    let mut core = random.random_range(2.0..14.0);
    for _ in 0..before {
        pit_c.push(pit.step(0.0, random));
        core_c.push(core);
    }
    let mut felt = (core, core);
    let (mut level, mut eased, mut log_wander) = (0.0, 0.0, 0.0);
    let (mut at, mut entered_min) = (0, 0.0);
    let mut pulled = None;
    for step in 0..(LONGEST_H * 60.0 / STEP_MIN) as usize {
        let minute = step as f64 * STEP_MIN;
        let air = pit.step(minute, random);
        core_c.push(core);
        pit_c.push(air);
        if core >= pull_c {
            pulled = Some(core_c.len());
            break;
        }
        let stretch = &stretches[at];
        if minute - entered_min >= stretch.minutes || core >= stretch.until_c {
            at = (at + 1).min(stretches.len() - 1);
            entered_min = minute;
        }
        follow(&mut level, stretch.level, stretch.approach_min);
        let normal: f64 = random.sample(StandardNormal);
        let rate = STEP_MIN / wander_min;
        log_wander += -rate * log_wander + (2.0 * rate).sqrt() * wander * normal;
        follow(&mut eased, level * f64::exp(log_wander), inertia_min);
        follow(&mut felt.0, air, lags_min.0);
        follow(&mut felt.1, felt.0, lags_min.1);
        core += k_per_min * eased * (felt.1 - core) * STEP_MIN;
    }
    let pulled = pulled?;
    rest(&mut core_c, &mut pit_c, &mut pit, random);
    let ms = |place: usize| place as i64 * STEP_MS;
    let bounds = CookBounds {
        meat_on_known: true,
        meat_on_ms: ms(before),
        pull_ms: ms(pulled),
        end_ms: ms(core_c.len() - 1),
        pull_known: true,
        slice_known: true,
    };
    let cook = TrueCook::new(core_c, pit_c, None, bounds, Vec::new());
    let stalls = cook.stalls();
    let fits = match category {
        Category::ProfileNoStall => stalls == 0,
        Category::ProfileDouble => stalls >= 2,
        _ => stalls >= 1,
    };
    let short = cook.judgement.phases_of(PhaseKind::Ramp).count() == 0;
    (fits && !short && cook.judgement.not_judged.is_none()).then_some(cook)
}

/// What follows the pull: the core goes on for a while and cools, and the pit is shut down or kept up.
fn rest(core_c: &mut Vec<f64>, pit_c: &mut Vec<f64>, pit: &mut Pit, random: &mut ChaCha8Rng) {
    let start = *core_c.last().expect("a cook");
    let carry_c = random.random_range(0.3..3.0);
    let carry_min = random.random_range(8.0..25.0);
    let cools_min = random.random_range(250.0..700.0);
    let minutes = random.random_range(30.0..110.0);
    let shut_down = random.random_bool(0.7);
    let dies_min = random.random_range(15.0..60.0);
    pit.open_lid(random);
    pit.bump = None;
    pit.out = None;
    for step in 1..(minutes / STEP_MIN) as usize {
        let after = step as f64 * STEP_MIN;
        let rise = carry_c * (1.0 - (-after / carry_min).exp());
        core_c.push(35.0 + (start + rise - 35.0) * (-after / cools_min).exp());
        if shut_down {
            follow(&mut pit.body_c, pit.ambient_c, dies_min);
            follow(&mut pit.lid_c, 0.0, pit.lid_back_min);
            pit_c.push(pit.body_c - pit.lid_c);
        } else {
            pit_c.push(pit.step(0.0, random));
        }
    }
}
