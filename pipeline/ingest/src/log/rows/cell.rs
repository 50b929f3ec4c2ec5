//! One cell of a temperature column.

use crate::code::Code;
use crate::log::plan::decide::Plan;
use crate::number::{self, Signs};
use cook::Celsius;
use cook::season::TemperatureUnit;

/// Not even a number that a logger writes for none is beyond this, °C; much beyond it, a change of unit would
/// have no end.
const BEYOND_C: f32 = 1e9;

/// What a cell says.
pub(crate) enum Cell {
    /// No value.
    Missing,
    /// Nothing that can be read.
    Bad(Code),
    /// A temperature, °C.
    Value(f32),
    /// A value that may be a sentinel.
    Suspect(f32),
    /// A number of which nothing says the unit.
    NoUnit(f64),
}

/// Reads a temperature, and the unit that the cell itself carries. `stated` is what the column or
/// the row says of its unit; a cell that says otherwise is rejected.
pub(crate) fn read(
    plan: &Plan<'_>,
    cell: &[u8],
    unit: Option<TemperatureUnit>,
    stated: Option<TemperatureUnit>,
) -> (Cell, Option<TemperatureUnit>) {
    let sentinels = &plan.layout.sentinels;
    if sentinels.iter().any(|s| s.as_bytes() == cell) {
        return (Cell::Missing, None);
    }
    if plan.decimal.doubts_marks && matches!(number::signs(cell), Some(Signs::Either(_))) {
        return (Cell::Bad(Code::BadNumber), None);
    }
    let Some((value, own)) = number::parse_with_unit(cell, plan.decimal.sign) else {
        let missing = number::is_missing(cell, sentinels);
        return (if missing { Cell::Missing } else { Cell::Bad(Code::BadNumber) }, None);
    };
    let suspect = match number::code_of(value) {
        number::Code::None => false,
        _ if plan.layout.measured.contains(&value) => false,
        number::Code::Missing => return (Cell::Missing, None),
        number::Code::Suspect => true,
    };
    let temp_c = match own.or(unit) {
        _ if own.is_some() && stated.is_some() && own != stated => {
            return (Cell::Bad(Code::UnitConflict), own);
        }
        Some(TemperatureUnit::Celsius) => value,
        Some(TemperatureUnit::Fahrenheit) => Celsius::from_fahrenheit(value).value(),
        None if suspect => return (Cell::Missing, None),
        None => return (Cell::NoUnit(value), None),
    };
    let temp_c = temp_c as f32;
    if !(-BEYOND_C..=BEYOND_C).contains(&temp_c) {
        return (Cell::Bad(Code::BadNumber), own);
    }
    (if suspect { Cell::Suspect(temp_c) } else { Cell::Value(temp_c) }, own)
}
