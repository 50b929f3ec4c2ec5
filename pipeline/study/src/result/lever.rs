//! What the other levers do.

use super::rows::{Rows, word};
use super::{LeftOut, Model};
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Something that is done while meat cooks, beside the wrap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LeverKind {
    /// The set-point is raised by more than 8 °C above the first that is known; once a cook.
    SetpointRaised,
    /// The meat is sprayed, by the events; one spray.
    Spritz,
    /// The lid is opened, by the events or by a sharp fall of the pit that comes back; at most one
    /// opening in ten minutes, none while the meat is wrapped in them.
    LidOpened,
    /// The lid stands open, by the events; one minute.
    LidMinutes,
}

/// One lever: how it is used, what it buys, and what it costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lever {
    /// The lever.
    pub lever: LeverKind,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Cooks left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// How it is used: described.
    pub used: LeverUse,
    /// Naive: slope of the time to the finish on the doses of a cook, min a dose. It is wrong: a cook
    /// that takes long has time for more, and a cook that stands still is done more to.
    pub naive_min: Option<f64>,
    /// Minutes that a dose adds to the time to the finish, as far as the history shows what the team
    /// went by; null where it is refused.
    pub per_dose_min: Option<LeverEffect>,
    /// Why that is refused.
    pub per_dose_reason: Option<String>,
    /// What a dose adds to the core's rise over the half hour from the beginning of its ten minutes, °C.
    pub half_hour_c: Option<LeverEffect>,
    /// Raising within an hour of a core of 68 °C against never: only for the set-point, null where it
    /// is refused.
    pub strategies: Option<LeverStrategies>,
    /// Why that is refused.
    pub strategies_reason: Option<String>,
    /// Cooks with it beside cooks without: described, not caused.
    pub described: Vec<WithAndWithout>,
    /// How far the pit fell in ten minutes in which it was used and an opened lid shows, °C.
    pub pit_fall_c: Option<Quartiles>,
    /// How long after its beginning half of such a fall was made up, min.
    pub pit_back_min: Option<Quartiles>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
    /// The models: `cox` (an association), `pooled-logistic` (when it is used), `g-estimation`.
    pub models: Vec<Model>,
}

/// How a lever is used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeverUse {
    /// Cooks with it between a core of 55 °C and the finish.
    pub cooks_with: usize,
    /// Cooks without.
    pub cooks_without: usize,
    /// Doses of all cooks.
    pub doses: f64,
    /// Doses of a cook with any.
    pub per_cook: Option<Quartiles>,
    /// When they come, minutes on the study clock.
    pub minute: Option<Quartiles>,
    /// At what core, °C.
    pub core_c: Option<Quartiles>,
    /// Share of them that come while the meat is in stall.
    pub in_stall: Option<f64>,
    /// Share of all ten minutes of these cooks in which the meat is in stall.
    pub in_stall_at_all: Option<f64>,
}

/// The middle half of some values.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Quartiles {
    /// The lower quartile.
    pub lower: f64,
    /// The median.
    pub median: f64,
    /// The upper quartile.
    pub upper: f64,
    /// Values.
    pub n: usize,
}

/// An effect of one dose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeverEffect {
    /// The estimate.
    pub estimate: f64,
    /// Its standard error, clustered by fire.
    pub std_error: f64,
    /// Lower end of the interval.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
    /// Level of the interval.
    pub level: f64,
    /// Cooks behind it.
    pub cooks: usize,
    /// Their fires.
    pub fires: usize,
    /// Their ten-minute steps in which a dose was open to be given.
    pub steps: usize,
    /// Of these, steps in which one was.
    pub given: usize,
}

/// Raising the set-point soon against never, by clone–censor–weight.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeverStrategies {
    /// The strategies in words, first against second.
    pub strategies: [String; 2],
    /// How long they are followed from the core at which they begin, min.
    pub horizon_min: f64,
    /// Cooks that reached that core with the set-point as it was.
    pub eligible: usize,
    /// Copies that were never artificially censored.
    pub stayed: [usize; 2],
    /// Their effective number, (Σw)²/Σw² of their last weights.
    pub effective: [f64; 2],
    /// Restricted mean time to the finish, tender pulls counting as finishes, min.
    pub mean_min: [f64; 2],
    /// First minus second, min.
    pub difference_min: f64,
    /// Its standard error, from a bootstrap over fires.
    pub std_error: f64,
    /// Lower end of the 95 % interval.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
    /// The cooks as they turned out, first minus second: wrong.
    pub naive_min: Option<f64>,
    /// Copies without weights.
    pub unweighted_min: f64,
    /// Resamples of fires behind the standard error.
    pub resamples: usize,
    /// Resamples that could not be fitted.
    pub resamples_failed: usize,
}

/// A measure in cooks with a lever and in cooks without: described, not caused.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WithAndWithout {
    /// `pit_sd_c`, `stall_min`, `fuel_kg_per_h` or `lid_noted_min`.
    pub measure: String,
    /// Cooks with the lever.
    pub with: Option<Quartiles>,
    /// Cooks without.
    pub without: Option<Quartiles>,
}

impl Lever {
    /// One row a lever and quantity; what could not be estimated has its reason.
    pub(super) fn rows(levers: &[Self]) -> Table {
        let all: Vec<Quantity> = levers.iter().flat_map(quantities).collect();
        Rows::of(&all)
            .text("lever", |row| row.lever.clone())
            .text("quantity", |row| Some(row.name.clone()))
            .text("standing", |row| Some(row.standing.to_owned()))
            .float("estimate", |row| row.estimate)
            .float("lo", |row| row.lo)
            .float("hi", |row| row.hi)
            .text("unit", |row| Some(row.unit.to_owned()))
            .count("cooks", |row| row.cooks)
            .text("reason", |row| row.reason.clone())
            .table()
    }
}

/// A quantity of a lever. Ends are those of a 95 % interval for an effect, and the quartiles for what
/// is described.
struct Quantity {
    lever: Option<String>,
    name: String,
    /// `described`, `naive` or `effect`.
    standing: &'static str,
    estimate: Option<f64>,
    lo: Option<f64>,
    hi: Option<f64>,
    unit: &'static str,
    cooks: Option<usize>,
    reason: Option<String>,
}

impl Quantity {
    fn new(
        name: &str,
        standing: &'static str,
        (estimate, lo, hi): (Option<f64>, Option<f64>, Option<f64>),
        unit: &'static str,
        cooks: Option<usize>,
    ) -> Self {
        let (lever, reason) = (None, None);
        Self { lever, name: name.to_owned(), standing, estimate, lo, hi, unit, cooks, reason }
    }

    fn described(quantity: &str, values: Option<&Quartiles>, unit: &'static str) -> Self {
        let ends = (values.map(|v| v.median), values.map(|v| v.lower), values.map(|v| v.upper));
        Self::new(quantity, "described", ends, unit, values.map(|v| v.n))
    }

    fn effect(quantity: &str, effect: Option<&LeverEffect>, unit: &'static str) -> Self {
        let ends = (effect.map(|e| e.estimate), effect.map(|e| e.lo), effect.map(|e| e.hi));
        Self::new(quantity, "effect", ends, unit, effect.map(|e| e.cooks))
    }

    fn number(quantity: &str, value: Option<f64>, unit: &'static str, cooks: usize) -> Self {
        Self::new(quantity, "described", (value, None, None), unit, Some(cooks))
    }
}

/// The unit of a measure in cooks with a lever and without.
fn unit(measure: &str) -> &'static str {
    const FUEL: &str = columns::derived::FUEL_KG_PER_H.name;
    match measure {
        FUEL => "kg/h",
        column => columns::names::unit(column),
    }
}

fn quantities(lever: &Lever) -> Vec<Quantity> {
    let used = &lever.used;
    let mut rows = vec![
        Quantity::number("cooks with it", Some(used.cooks_with as f64), "cooks", lever.n),
        Quantity::number("doses of all cooks", Some(used.doses), "doses", lever.n),
        Quantity::described("doses of a cook with any", used.per_cook.as_ref(), "doses"),
        Quantity::described("time on the study clock", used.minute.as_ref(), "min"),
        Quantity::described("core at a dose", used.core_c.as_ref(), "°C"),
        Quantity::number("share in stall", used.in_stall, "share", used.cooks_with),
        Quantity::number("share of all time in stall", used.in_stall_at_all, "share", lever.n),
        Quantity {
            standing: "naive",
            ..Quantity::number("minutes a dose, naive slope", lever.naive_min, "min", lever.n)
        },
        Quantity {
            reason: lever.per_dose_reason.clone(),
            ..Quantity::effect("minutes a dose", lever.per_dose_min.as_ref(), "min")
        },
        Quantity::effect("rise of the core in half an hour", lever.half_hour_c.as_ref(), "°C"),
        Quantity::described("fall of the pit", lever.pit_fall_c.as_ref(), "°C"),
        Quantity::described("time to half of it made up", lever.pit_back_min.as_ref(), "min"),
    ];
    for measure in &lever.described {
        let name = |part: &str| format!("{} {part}", measure.measure);
        let unit = unit(&measure.measure);
        rows.push(Quantity::described(&name("with it"), measure.with.as_ref(), unit));
        rows.push(Quantity::described(&name("without it"), measure.without.as_ref(), unit));
    }
    let strategies = lever.strategies.as_ref();
    if strategies.is_some() || lever.strategies_reason.is_some() {
        let quantity = strategies.map_or_else(
            || "as two strategies".to_owned(),
            |s| format!("{} against {}", s.strategies[0], s.strategies[1]),
        );
        let ends = (
            strategies.map(|s| s.difference_min),
            strategies.map(|s| s.lo),
            strategies.map(|s| s.hi),
        );
        rows.push(Quantity {
            reason: lever.strategies_reason.clone(),
            ..Quantity::new(&quantity, "effect", ends, "min", strategies.map(|s| s.eligible))
        });
    }
    for row in &mut rows {
        row.lever = word(&lever.lever);
    }
    rows
}
