//! Cooks with known truth, a category at a time.

use cook::{Celsius, CelsiusDifference, Kilograms, PhaseDefinition, PhaseKind, WrapMethod};
use flate2::read::GzDecoder;
use phases::{CookBounds, GridCurves, Judgement, StallDelay};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use simulate::{CookPlan, FireTruth, Meat, Pit, PitChange, Trigger, run_fire};
use std::collections::BTreeMap;
use std::fmt;
use std::io::Read;
use std::path::PathBuf;

/// Step of every true curve, ms.
pub const STEP_MS: i64 = 10_000;

/// What is asked of the segmenter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Category {
    Clean,
    Paper,
    Foil,
    HotAndFast,
    LowPitFoil,
    FireOut,
    FireOutNoStall,
    Sag,
    Bump,
    DoubleStall,
    LateStart,
    EarlyEnd,
    Noisy,
    Dense,
    Swapped,
    Other,
    OtherNoisy,
    // The second generator: see `profiles`. New ones go to the end, since their place seeds them.
    Profile,
    ProfileFires,
    ProfileDouble,
    ProfileNoStall,
    ProfileEarlyEnd,
    ProfileNoisy,
}

impl Category {
    pub const ALL: [Self; 23] = [
        Self::Clean,
        Self::Paper,
        Self::Foil,
        Self::HotAndFast,
        Self::LowPitFoil,
        Self::FireOut,
        Self::FireOutNoStall,
        Self::Sag,
        Self::Bump,
        Self::DoubleStall,
        Self::LateStart,
        Self::EarlyEnd,
        Self::Noisy,
        Self::Dense,
        Self::Swapped,
        Self::Other,
        Self::OtherNoisy,
        Self::Profile,
        Self::ProfileFires,
        Self::ProfileDouble,
        Self::ProfileNoStall,
        Self::ProfileEarlyEnd,
        Self::ProfileNoisy,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::Clean => "clean, unwrapped",
            Self::Paper => "paper",
            Self::Foil => "foil",
            Self::HotAndFast => "hot and fast, no stall",
            Self::LowPitFoil => "low pit with foil",
            Self::FireOut => "fire-out, stall",
            Self::FireOutNoStall => "fire-out, no stall",
            Self::Sag => "sagging fire",
            Self::Bump => "set-point bump",
            Self::DoubleStall => "double stall",
            Self::LateStart => "log starts late",
            Self::EarlyEnd => "log ends early",
            Self::Noisy => "noisy and coarse",
            Self::Dense => "dense, 1 s",
            Self::Swapped => "swapped probes",
            Self::Other => "conformance curves",
            Self::OtherNoisy => "conformance curves, noisy",
            Self::Profile => "profiles",
            Self::ProfileFires => "profiles: fires and set-points",
            Self::ProfileDouble => "profiles: double stall",
            Self::ProfileNoStall => "profiles: no stall",
            Self::ProfileEarlyEnd => "profiles: log ends early",
            Self::ProfileNoisy => "profiles: noisy and coarse",
        }
    }

    /// Whether the targets of noisy logs hold for it.
    pub fn is_noisy(self) -> bool {
        matches!(self, Self::Noisy | Self::OtherNoisy | Self::ProfileNoisy)
    }

    /// Whether `simulate` made its curves.
    pub fn is_simulated(self) -> bool {
        self < Self::Other
    }

    /// Whether the second generator made its curves.
    pub fn is_profile(self) -> bool {
        self >= Self::Profile
    }
}

impl fmt::Display for Category {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One cook without noise; instants in ms since its curves begin.
#[derive(Debug, Clone)]
pub struct TrueCook {
    pub core_c: Vec<f64>,
    pub pit_c: Vec<f64>,
    /// A second probe, where the category has one.
    pub other_c: Option<Vec<f64>>,
    pub bounds: CookBounds,
    pub wraps_ms: Vec<i64>,
    pub judgement: Judgement,
    pub delay: Option<StallDelay>,
}

impl TrueCook {
    pub fn new(
        core_c: Vec<f64>,
        pit_c: Vec<f64>,
        other_c: Option<Vec<f64>>,
        bounds: CookBounds,
        wraps_ms: Vec<i64>,
    ) -> Self {
        let definition = PhaseDefinition::default();
        let count = core_c.len().min(pit_c.len());
        let grid = GridCurves {
            start_ms: 0,
            step_ms: STEP_MS,
            core_c: &core_c[..count],
            pit_c: &pit_c[..count],
        };
        let judgement = phases::judge(&grid, &bounds, &definition, None);
        let delay = phases::stall_delay(&judgement, &definition, bounds.pull_ms).ok();
        Self { core_c, pit_c, other_c, bounds, wraps_ms, judgement, delay }
    }

    pub fn stalls(&self) -> usize {
        self.judgement.stalls.unwrap_or(0)
    }

    pub fn first_stall_ms(&self) -> Option<(i64, i64)> {
        self.judgement.phases_of(PhaseKind::Stall).next().map(|span| (span.start_ms, span.end_ms))
    }
}

/// Cook number `index` of a category.
pub fn true_cook(category: Category, index: u64) -> TrueCook {
    if matches!(category, Category::Other | Category::OtherNoisy) {
        let curves = conformance();
        return curves[index as usize % curves.len()].clone();
    }
    // A draw that does not come out as the category asks is drawn again.
    for attempt in 0..60 {
        let mut random = ChaCha8Rng::seed_from_u64(10_000 * category as u64 + index);
        random.set_stream(attempt);
        let drawn = if category.is_profile() {
            super::profiles::draw(category, &mut random)
        } else {
            simulated(category, &mut random)
        };
        if let Some(cook) = drawn {
            return cook;
        }
    }
    panic!("no cook of the category `{category}` comes out");
}

fn simulated(category: Category, random: &mut ChaCha8Rng) -> Option<TrueCook> {
    let fahrenheit = Celsius::from_fahrenheit;
    let (setpoint_f, kilograms) = match category {
        Category::HotAndFast => (random.random_range(295.0..330.0), random.random_range(3.5..6.5)),
        Category::LowPitFoil => (random.random_range(200.0..222.0), random.random_range(3.0..6.0)),
        Category::FireOutNoStall => {
            (random.random_range(290.0..320.0), random.random_range(3.5..6.0))
        }
        _ => (random.random_range(225.0..276.0), random.random_range(3.0..7.5)),
    };
    let mut meat = Meat::brisket(Kilograms(kilograms));
    meat.thickness.0 *= random.random_range(0.88..1.12);
    meat.surface_moisture *= random.random_range(0.8..1.2);
    meat.wetness *= random.random_range(0.85..1.15);
    meat.start = Celsius(random.random_range(2.0..12.0));
    meat.probe_position = random.random_range(0.0..0.25);
    meat.tender_hours *= random.random_range(0.7..1.4);
    let meat_on_s = random.random_range(240..420) * 10;
    let wrap_core = match category {
        Category::HotAndFast | Category::FireOutNoStall => random.random_range(56.0..62.0),
        _ => random.random_range(66.0..74.0),
    };
    let method = match category {
        Category::Clean => WrapMethod::None,
        Category::Foil | Category::HotAndFast | Category::LowPitFoil | Category::FireOutNoStall => {
            WrapMethod::Foil
        }
        Category::Paper | Category::DoubleStall => WrapMethod::Paper,
        _ => match random.random_range(0..3) {
            0 => WrapMethod::None,
            1 => WrapMethod::Paper,
            _ => WrapMethod::Foil,
        },
    };
    let mut plan = CookPlan::unwrapped(meat.clone(), meat_on_s);
    plan.rest.minutes = random.random_range(40.0..120.0);
    if random.random_bool(0.3) {
        plan.spritz_every_min = Some(random.random_range(45.0..90.0));
    }
    if method != WrapMethod::None {
        plan = plan.wrapped(method, Trigger::Core(Celsius(wrap_core)));
    }
    let mut pit = Pit::steady(fahrenheit(setpoint_f));
    pit.weather.mean = Celsius(random.random_range(-5.0..32.0));
    pit.ripple_c = random.random_range(0.5..4.0);
    pit.ripple_period_min = random.random_range(10.0..30.0);
    pit.wander_c = random.random_range(0.5..4.0);
    pit.convective *= random.random_range(0.8..1.25);
    let at = |hours: f64| meat_on_s + (hours * 360.0) as i64 * 10;
    match category {
        Category::FireOut | Category::FireOutNoStall => {
            let from = random.random_range(1.0..7.0);
            let minutes = random.random_range(20.0..90.0);
            pit.changes
                .push(PitChange::Out { from_s: at(from), until_s: at(from + minutes / 60.0) });
        }
        Category::Sag => {
            let from = random.random_range(2.5..7.0);
            pit.changes.push(PitChange::Sag {
                from_s: at(from),
                until_s: at(from + random.random_range(1.0..3.5)),
                by: CelsiusDifference(random.random_range(10.0..32.0)),
            });
        }
        Category::Bump => {
            let by = random.random_range(10.0..35.0);
            pit.changes.push(PitChange::Setpoint {
                at_s: at(random.random_range(4.0..9.0)),
                to: fahrenheit(setpoint_f + by),
            });
        }
        _ if random.random_bool(0.3) => pit.changes.push(PitChange::Lid {
            at_s: at(random.random_range(1.0..8.0)),
            open_s: random.random_range(6..40) * 10,
        }),
        _ => {}
    }
    let mut plans = vec![plan];
    if category == Category::Swapped {
        let mut other = plans[0].clone();
        other.meat.probe_position = random.random_range(0.3..0.6);
        plans.push(other);
    }
    let fire = run_fire(&pit, &plans, random.random()).ok()?;
    let cook = from_fire(&fire);
    let first = cook.first_stall_ms();
    let fits = match category {
        Category::HotAndFast | Category::FireOutNoStall => cook.stalls() == 0,
        Category::DoubleStall => cook.stalls() >= 2,
        Category::LowPitFoil | Category::FireOut => cook.stalls() >= 1,
        _ => first.is_some(),
    };
    (fits && cook.judgement.not_judged.is_none()).then_some(cook)
}

fn from_fire(fire: &FireTruth) -> TrueCook {
    let truth = &fire.cooks[0];
    TrueCook::new(
        truth.core_c.clone(),
        fire.pit_c.clone(),
        fire.cooks.get(1).map(|other| other.core_c.clone()),
        CookBounds {
            meat_on_known: true,
            meat_on_ms: truth.meat_on_s * 1000,
            pull_ms: truth.pull_s * 1000,
            end_ms: truth.slice_s * 1000,
            pull_known: true,
            slice_known: true,
        },
        truth.wraps.iter().map(|(at_s, _)| at_s * 1000).collect(),
    )
}

/// The curves of `tests/reference/phases`, which another model of heat and water made.
fn conformance() -> Vec<TrueCook> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/phases");
    let file = std::fs::File::open(folder.join("curves.csv.gz")).expect("the reference curves");
    let mut text = String::new();
    GzDecoder::new(file).read_to_string(&mut text).expect("the reference curves");
    let mut samples: BTreeMap<String, (Vec<f64>, Vec<f64>)> = BTreeMap::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (core_c, pit_c) = samples.entry(cells[0].to_owned()).or_default();
        core_c.push(cells[2].parse().expect("a number"));
        pit_c.push(cells[3].parse().expect("a number"));
    }
    let marks = std::fs::read_to_string(folder.join("marks.csv")).expect("the reference marks");
    marks
        .lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            let ms = |cell: &str| (cell.parse::<f64>().expect("a number") * 1000.0) as i64;
            let (core_c, pit_c) = samples[cells[0]].clone();
            let bounds = CookBounds {
                meat_on_known: true,
                meat_on_ms: ms(cells[2]),
                pull_ms: ms(cells[3]),
                end_ms: ms(cells[4]),
                pull_known: true,
                slice_known: true,
            };
            TrueCook::new(core_c, pit_c, None, bounds, Vec::new())
        })
        .collect()
}
