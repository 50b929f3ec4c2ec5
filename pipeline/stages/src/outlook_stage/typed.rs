//! The cook whose readings are typed on the command line.

use super::asked::Asked;
use super::words::{self, usage};
use crate::error::StageError;
use crate::outside::LONGEST_MS;
use cook::{Card, Season, WrapMethod};
use outlook::Typed;

/// Readings typed on the command line, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TypedReadings {
    /// The pit: `250F`.
    pub pit: Option<String>,
    /// Its set-point.
    pub setpoint: Option<String>,
    /// Core readings: `165F@3:10`.
    pub core: Vec<String>,
    /// Wraps: `foil@1:40`.
    pub wrapped: Vec<String>,
    /// Weight as it goes on: `12lb`.
    pub weight: Option<String>,
    /// The cut.
    pub cut: Option<String>,
}

/// Meat on a pit falls by no more than this between two readings, °C: what a wrap or another place in the meat
/// makes. Common practice, no source.
const FALLS_C: f64 = 6.0;

/// Raw meat is no warmer when it goes on, °C. Common practice, no source.
const WARMEST_RAW_C: f64 = 25.0;
/// No big cut gains faster on a smoking pit than this from its coldest, °C/h. Common practice, no source.
const FASTEST_C_PER_H: f64 = 60.0;

/// Refuses readings that no cook has: a slip of a figure or a time.
fn check_course(core: &[(f64, f64)], season: &Season) -> Result<(), StageError> {
    let mut core = core.to_vec();
    core.sort_by(|a, b| a.0.total_cmp(&b.0));
    let shown = |celsius: f64| words::degrees(celsius, season.units);
    for &(minute, core_c) in &core {
        if core_c > minute / 60.0 * FASTEST_C_PER_H + WARMEST_RAW_C {
            return Err(usage(format!(
                "no big cut is at {} after {} on the pit; the time of a reading is since meat-on, such as 165F@3:10",
                shown(core_c),
                words::minutes(minute)
            )));
        }
        if minute > LONGEST_MS as f64 / 60_000.0 {
            return Err(usage(format!(
                "no cook is on for {}; the time of a reading is since meat-on, such as 165F@3:10",
                words::minutes(minute)
            )));
        }
    }
    for pair in core.windows(2) {
        let [(from, before_c), (to, after_c)] = [pair[0], pair[1]];
        if from == to && before_c != after_c {
            return Err(usage(format!(
                "the core has two readings after {}, {} and {}; mend a time",
                words::minutes(from),
                shown(before_c),
                shown(after_c)
            )));
        }
        if before_c - after_c > FALLS_C {
            return Err(usage(format!(
                "the core falls from {} to {} within {}: meat on a pit does not; mend a reading or its time",
                shown(before_c),
                shown(after_c),
                words::minutes(to - from)
            )));
        }
    }
    Ok(())
}

/// The cook that was typed.
pub(super) fn of_typed(
    typed: &TypedReadings,
    season: &Season,
    now_ms: i64,
) -> Result<Asked, StageError> {
    let temperature = |text: &Option<String>| text.as_deref().map(words::temperature).transpose();
    let core: Vec<(f64, f64)> =
        typed.core.iter().map(|text| words::core_reading(text)).collect::<Result<_, _>>()?;
    let wraps: Vec<(f64, WrapMethod)> =
        typed.wrapped.iter().map(|text| words::wrapped(text)).collect::<Result<_, _>>()?;
    let last_min = core.iter().map(|reading| reading.0).fold(f64::NEG_INFINITY, f64::max);
    if core.is_empty() {
        return Err(usage(
            "name a core reading with its time since meat-on, such as --core 165F@3:10".into(),
        ));
    }
    let cut = typed.cut.as_deref().map(words::cut).transpose()?;
    check_course(&core, season)?;
    if let Some(at) = wraps.iter().position(|wrap| wrap.0 > last_min) {
        return Err(usage(format!(
            "--wrapped {0} lies after the last core reading: add a reading since, or say --wrap {0} if it is still to come",
            typed.wrapped[at]
        )));
    }
    let weight_kg = typed.weight.as_deref().map(words::weight).transpose()?;
    let unlikely =
        weight_kg.and_then(|kg| words::unlikely_weight(kg, cut.as_deref(), season.units));
    if let Some(why) = unlikely {
        return Err(usage(format!("--weight {why}")));
    }
    let readings = Typed {
        pit_c: temperature(&typed.pit)?,
        setpoint_c: temperature(&typed.setpoint)?,
        core,
        wraps,
        about: outlook::About { cook: "typed".into(), weight_kg, cut, ..outlook::About::default() },
    };
    let course = readings.course(&season.phases).map(|mut course| {
        course.meat_on_ms = now_ms - (last_min * 60_000.0) as i64;
        course
    });
    Ok(Asked {
        name: "typed".into(),
        cook: String::new(),
        first_ms: now_ms - (last_min * 60_000.0) as i64,
        asked_at_ms: now_ms,
        course: course.map_err(|error| error.to_string()),
        card: Card::default(),
    })
}
