//! Tables of known truth, claimed upon: how often an interval misses the truth, and a verdict is wrong.
//!
//! Cooks lie on fires that share half of their scatter, so that neither the cooks nor, where fires are few
//! and unequal, their number says how much is known. Three claims are asked of each table: of a wood drawn
//! for each cook, of a cooker drawn for each fire, and of a pit temperature that is the fire's.
#![allow(dead_code, reason = "the test and the example use their own parts")]

use columns::{Table, table};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use serde::{Deserialize, Serialize};
use std::path::Path;
use study::analysis::{Evidence, judge_briefly};
use study::{Claims, Lock, MeasureTable, StudyError, Verdict};

/// Sizes of a table's fires.
pub(crate) const FIRES: [(&str, &[usize]); 4] = [
    ("8 of 5", &[5; 8]),
    ("12 unequal", &[1, 1, 1, 2, 2, 3, 4, 5, 6, 8, 12, 15]),
    ("20 of 3", &[3; 20]),
    ("30 of 2", &[2; 30]),
];

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum Outcome {
    /// Minutes, normal; those of logs that end early are lower bounds.
    Minutes,
    /// Hours to the finish, skewed to the right; the same.
    Finish,
    /// A score of 1 to 9 in halves.
    Score,
    /// Cooked by raw weight.
    Yield,
}

impl Outcome {
    pub(crate) const ALL: [Self; 4] = [Self::Minutes, Self::Finish, Self::Score, Self::Yield];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Minutes => "minutes",
            Self::Finish => "finish",
            Self::Score => "score",
            Self::Yield => "yield",
        }
    }

    fn column(self) -> &'static str {
        match self {
            Self::Minutes => "stall_delay_min",
            Self::Finish => "clock_to_finish_min",
            Self::Score => "score_taste",
            Self::Yield => "yield_fraction",
        }
    }

    /// Mean and scatter on the scale that is drawn, and the difference that would matter there.
    fn drawn(self) -> (f64, f64, f64) {
        match self {
            Self::Minutes => (150.0, 40.0, 25.0),
            // Of the logarithm of the minutes.
            Self::Finish => (6.0, 0.18, 0.1),
            Self::Score => (7.0, 1.2, 0.7),
            // Of the logit.
            Self::Yield => (0.2, 0.25, 0.15),
        }
    }

    /// From the scale that is drawn to the one that is written down.
    fn written(self, value: f64) -> f64 {
        match self {
            Self::Minutes => value,
            Self::Finish => value.exp(),
            Self::Score => ((2.0 * value).round() / 2.0).clamp(1.0, 9.0),
            Self::Yield => 1.0 / (1.0 + (-value).exp()),
        }
    }
}

/// What differs between tables.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cell {
    pub(crate) fires: (&'static str, &'static [usize]),
    pub(crate) outcome: Outcome,
    /// Share of the logs that end before the outcome is seen; of minutes alone.
    pub(crate) cut: f64,
    /// The first level, and a hotter pit, scatter two and a half times as far.
    pub(crate) unequal: bool,
}

impl Cell {
    /// Every one.
    pub(crate) fn all() -> Vec<Self> {
        let mut cells = Vec::new();
        for fires in FIRES {
            for outcome in Outcome::ALL {
                let cuts: &[f64] = match outcome {
                    Outcome::Minutes | Outcome::Finish => &[0.0, 0.05, 0.25, 0.6],
                    Outcome::Score | Outcome::Yield => &[0.0],
                };
                for &cut in cuts {
                    for unequal in [false, true] {
                        cells.push(Self { fires, outcome, cut, unequal });
                    }
                }
            }
        }
        cells
    }

    pub(crate) fn name(self) -> String {
        format!(
            "{}, {}, {:.0} % cut, {} scatter",
            self.fires.0,
            self.outcome.name(),
            100.0 * self.cut,
            if self.unequal { "unequal" } else { "equal" }
        )
    }
}

/// By what a claim compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub(crate) enum By {
    /// Drawn for each cook.
    Wood,
    /// Drawn for each fire.
    Cooker,
    /// A number that is the fire's.
    Pit,
}

impl By {
    pub(crate) const ALL: [Self; 3] = [Self::Wood, Self::Cooker, Self::Pit];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Wood => "by cook",
            Self::Cooker => "by fire",
            Self::Pit => "trend by fire",
        }
    }
}

/// One claim judged on one table.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Judged {
    pub(crate) by: By,
    /// Level as the family of one has it, or of eight.
    pub(crate) family: usize,
    /// The true effect, in smallest differences that matter: −1, 0 or 1.
    pub(crate) side: i8,
    /// In the claim's unit; none where what is asked has no one true value.
    pub(crate) truth: Option<f64>,
    pub(crate) matters: f64,
    pub(crate) level: f64,
    pub(crate) interval: Option<(f64, f64)>,
    pub(crate) verdict: Verdict,
    /// Why it was refused.
    pub(crate) reason: Option<String>,
}

/// Half the mean pit's scatter, °C: `per` of the trend.
const PER: f64 = 5.0;
const PIT_SD: f64 = 8.0;
/// Share of the variance that cooks of a fire have in common.
const SHARED: f64 = 0.5;

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// How far a cook scatters, as a multiple, by its level (0 or 1) or its pit's standing.
fn spread(cell: Cell, high: f64) -> f64 {
    if cell.unequal { 2.0 * 2.5_f64.powf(high) / 3.5 } else { 1.0 }
}

/// A table whose `by` has the effect `side` times what matters, on the scale that is drawn.
fn draw(cell: Cell, by: By, side: i8, random: &mut ChaCha8Rng) -> Table {
    let (mean, scatter, step) = cell.outcome.drawn();
    let effect = f64::from(side) * step;
    let (mut fire, mut wood, mut cooker, mut pit) = (vec![], vec![], vec![], vec![]);
    let (mut weight, mut whole) = (vec![], vec![]);
    // Turned from fire to fire, the first at random: as a team that takes turns, not one that always has its
    // reasons.
    let first: usize = random.random_range(0..2);
    for (own, &size) in cell.fires.1.iter().enumerate() {
        let shared = normal(random);
        let temperature = normal(random);
        let large = (own + first).is_multiple_of(2);
        for _ in 0..size {
            let oak = random.random::<bool>();
            let kilograms = random.random_range(4.0..8.0);
            let high = match by {
                By::Wood => f64::from(u8::from(oak)),
                By::Cooker => f64::from(u8::from(large)),
                By::Pit => (0.5 + 0.25 * temperature).clamp(0.0, 1.0),
            };
            let moved = match by {
                By::Wood | By::Cooker => effect * high,
                By::Pit => effect * temperature * PIT_SD / PER,
            };
            let noise = SHARED.sqrt() * shared + (1.0 - SHARED).sqrt() * normal(random);
            let drawn = mean
                + 0.3 * scatter * (kilograms - 6.0)
                + moved
                + scatter * spread(cell, high) * noise;
            fire.push(own as i64);
            wood.push(if oak { "oak" } else { "hickory" });
            cooker.push(if large { "barrel" } else { "cabinet" });
            pit.push(110.0 + PIT_SD * temperature);
            weight.push(kilograms);
            whole.push(cell.outcome.written(drawn));
        }
    }
    let n = whole.len();
    // Logs end early by themselves: a limit that knows nothing of the cook, low enough for the share asked.
    let limits: Vec<f64> =
        (0..n).map(|_| if cell.cut > 0.0 { limit(cell, random) } else { f64::INFINITY }).collect();
    let seen: Vec<bool> = whole.iter().zip(&limits).map(|(own, limit)| own <= limit).collect();
    let value: Vec<f64> = whole.iter().zip(&limits).map(|(own, limit)| own.min(*limit)).collect();
    let cook: Vec<String> = (0..n).map(|i| format!("cook-{i:03}")).collect();
    let cut: Vec<bool> = seen.iter().map(|seen| !seen).collect();
    match cell.outcome {
        Outcome::Minutes => {
            table!("cook" => cook, "fire" => fire, "wood" => wood, "cooker" => cooker,
            "pit_early_c" => pit, "trimmed_weight_kg" => weight, "stall_delay_min" => value,
            "stall_delay_censored" => cut)
        }
        Outcome::Finish => {
            table!("cook" => cook, "fire" => fire, "wood" => wood, "cooker" => cooker,
            "pit_early_c" => pit, "trimmed_weight_kg" => weight, "clock_to_finish_min" => value,
            "finish_reached" => seen)
        }
        Outcome::Score => {
            table!("cook" => cook, "fire" => fire, "wood" => wood, "cooker" => cooker,
            "pit_early_c" => pit, "trimmed_weight_kg" => weight, "score_taste" => value)
        }
        Outcome::Yield => {
            table!("cook" => cook, "fire" => fire, "wood" => wood, "cooker" => cooker,
            "pit_early_c" => pit, "trimmed_weight_kg" => weight, "yield_fraction" => value)
        }
    }
}

/// When a log ends: uniform around a point that leaves about the share asked unseen.
fn limit(cell: Cell, random: &mut ChaCha8Rng) -> f64 {
    let (mean, scatter, _) = cell.outcome.drawn();
    // Standard normal quantiles of 1 − the share: NIST/SEMATECH e-Handbook, table 1.3.6.7.1.
    let quantile = match cell.cut {
        cut if cut <= 0.05 => 1.645,
        cut if cut <= 0.25 => 0.674,
        _ => -0.253,
    };
    let spread = random.random_range(-0.6..0.6);
    cell.outcome.written(mean + scatter * 1.1 * (quantile + spread))
}

/// The mean difference, on the scale that is written down, that `side` amounts to: first level minus second.
/// None for trends on a scale that bends.
fn truth(cell: Cell, by: By, side: i8) -> Option<f64> {
    let (mean, scatter, step) = cell.outcome.drawn();
    if by == By::Pit {
        return match (cell.outcome, side, cell.unequal) {
            (Outcome::Minutes, _, _) => Some(f64::from(side) * step),
            // Where the scatter bends the mean with the pit there is an effect even at 0.
            (_, 0, false) => Some(0.0),
            _ => None,
        };
    }
    if cell.outcome == Outcome::Minutes {
        return Some(f64::from(side) * step);
    }
    // By midpoints of weight and of normal scores.
    let average = |high: f64| {
        let mut sum = 0.0;
        for w in 0..40 {
            let kilograms = 4.0 + (f64::from(w) + 0.5) / 10.0;
            for z in -400..=400 {
                let z = f64::from(z) / 80.0;
                let density = (-0.5 * z * z).exp();
                let drawn = mean
                    + 0.3 * scatter * (kilograms - 6.0)
                    + f64::from(side) * step * high
                    + scatter * spread(cell, high) * z;
                sum += density * cell.outcome.written(drawn);
            }
        }
        sum / 40.0 / (-400..=400).map(|z| (-0.5 * (f64::from(z) / 80.0).powi(2)).exp()).sum::<f64>()
    };
    Some(average(1.0) - average(0.0))
}

/// What matters, on the scale that is written down.
fn matters(cell: Cell, by: By) -> f64 {
    let equal = Cell { unequal: false, ..cell };
    match (cell.outcome, by) {
        (Outcome::Minutes, _) => cell.outcome.drawn().2,
        (_, By::Pit) => truth(equal, By::Wood, 1).unwrap_or(f64::NAN).abs(),
        _ => truth(equal, by, 1).unwrap_or(f64::NAN).abs(),
    }
}

fn claims(cell: Cell, by: By, matters: f64, family: usize) -> Result<Claims, StudyError> {
    let column = cell.outcome.column();
    let asked = match by {
        By::Wood => {
            "kind = \"compare\"\nby = \"wood\"\nlevels = [\"oak\", \"hickory\"]\n".to_owned()
        }
        By::Cooker => {
            "kind = \"compare\"\nby = \"cooker\"\nlevels = [\"barrel\", \"cabinet\"]\n".to_owned()
        }
        By::Pit => format!("kind = \"trend\"\nby = \"pit_early_c\"\nper = {PER}\n"),
    };
    let one = |own: usize| {
        format!(
            "[[claim]]\nid = \"c{own}\"\nsays = \"s\"\noutcome = \"{column}\"\nbetter = \"higher\"\n\
             adjust = [\"trimmed_weight_kg\"]\nmatters = {matters}\n{asked}"
        )
    };
    let text = (0..family).map(one).collect::<Vec<_>>().concat();
    Claims::parse(&text, Path::new("claims.toml"))
}

/// What is asked of the tables of a cell, with what is true.
pub(crate) struct Asked {
    cell: Cell,
    claims: Vec<AskedBy>,
}

/// A claim, as the only one of its family and as one of eight.
struct AskedBy {
    by: By,
    matters: f64,
    /// At 0, 1 and −1 times what matters.
    truths: [Option<f64>; 3],
    families: Vec<(usize, Claims)>,
}

/// True effects, in smallest differences that matter, from table to table.
const SIDES: [i8; 3] = [0, 1, -1];

impl Asked {
    /// # Errors
    /// Those of [`Claims::parse`].
    pub(crate) fn of(cell: Cell) -> Result<Self, StudyError> {
        let claims = By::ALL
            .into_iter()
            .map(|by| {
                let matters = matters(cell, by);
                // A time with lower bounds is counted up to a horizon that each table sets: judged by its
                // verdicts alone.
                let moving = cell.outcome == Outcome::Finish && cell.cut > 0.0;
                let families = [1, 8]
                    .into_iter()
                    .map(|family| Ok((family, claims(cell, by, matters, family)?)))
                    .collect::<Result<_, StudyError>>()?;
                let truths = SIDES.map(|side| truth(cell, by, side).filter(|_| !moving));
                Ok(AskedBy { by, matters, truths, families })
            })
            .collect::<Result<_, StudyError>>()?;
        Ok(Self { cell, claims })
    }

    /// The table of this number, each claim at both levels.
    ///
    /// # Errors
    /// Those of [`judge_briefly`].
    pub(crate) fn judged(&self, number: u64) -> Result<Vec<Judged>, StudyError> {
        let place = (number % 3) as usize;
        let mut found = Vec::new();
        for asked in &self.claims {
            let mut random = ChaCha8Rng::seed_from_u64(number);
            random.set_stream(asked.by as u64);
            let drawn = draw(self.cell, asked.by, SIDES[place], &mut random);
            let table = MeasureTable::new(&drawn)?;
            for (family, claims) in &asked.families {
                let lock = Lock::update(None, claims, table.cooks());
                let result = judge_briefly(&table, &claims.claims[0], &lock, Evidence::default())?;
                let open = |end: Option<f64>, open: f64| end.unwrap_or(open);
                found.push(Judged {
                    by: asked.by,
                    family: *family,
                    side: SIDES[place],
                    truth: asked.truths[place],
                    matters: asked.matters,
                    level: study::verdict::interval_level(*family, 1.0),
                    interval: result.effect.map(|effect| {
                        (open(effect.lo, f64::NEG_INFINITY), open(effect.hi, f64::INFINITY))
                    }),
                    verdict: result.verdict,
                    reason: result.reason,
                });
            }
        }
        Ok(found)
    }
}

/// Whether a verdict contradicts a true difference of so many smallest differences that matter.
pub(crate) fn wrong(verdict: Verdict, side: i8) -> bool {
    match side {
        0 => matches!(verdict, Verdict::Yes | Verdict::Reverse),
        1 => matches!(verdict, Verdict::No | Verdict::TooSmallToMatter | Verdict::Reverse),
        _ => matches!(verdict, Verdict::Yes | Verdict::TooSmallToMatter),
    }
}
