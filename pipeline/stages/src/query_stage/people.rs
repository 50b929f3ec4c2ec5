//! An answer in the units and by the clock of those who read it.

use super::describe::{Quantity, quantity};
use crate::error::StageError;
use columns::{Column, Table};
use cook::units::{KILOGRAMS_PER_POUND, METRES_PER_FOOT, MILLIMETRES_PER_INCH};
use cook::{Celsius, CelsiusDifference, Kilograms, Season, Units};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use query::Answer;

/// The answer as people are shown it.
pub(super) fn shown(answer: &Answer, season: &Season) -> Result<Table, StageError> {
    let zone = TimeZone::get(&season.time_zone)
        .map_err(|e| StageError::Usage { message: format!("{}: {e}", season.time_zone) })?;
    let mut table = Table::new();
    for ((name, column), source) in answer.table.columns().iter().zip(&answer.sources) {
        let quantity = source.as_deref().and_then(quantity);
        let (name, column) = match (column, quantity) {
            (Column::Instant(at), _) => (name.clone(), by_clock(at, &zone)),
            (Column::Float(values), Some(quantity)) if season.units == Units::Us => {
                (renamed(name, quantity), in_us_units(values, quantity))
            }
            _ => (name.clone(), column.clone()),
        };
        // A column in other units may come to the name of one that was asked for beside it.
        let mut name = name;
        while table.column(&name).is_some() {
            name.push('\'');
        }
        table.push(name, column);
    }
    Ok(table)
}

/// Local date and time to the minute, seconds where there are any.
fn by_clock(at: &[Option<i64>], zone: &TimeZone) -> Column {
    let text = |ms: i64| {
        let at = Timestamp::from_millisecond(ms).ok()?.to_zoned_datetime(zone.clone());
        let seconds = if at.second() == 0 && at.subsec_nanosecond() == 0 { "" } else { ":%S" };
        Some(at.strftime(&format!("%Y-%m-%d %H:%M{seconds}")).to_string())
    };
    Column::Text(at.iter().map(|ms| ms.and_then(text)).collect())
}

fn in_us_units(values: &[Option<f64>], quantity: Quantity) -> Column {
    let convert = |x: f64| match quantity {
        Quantity::Temperature => Celsius(x).fahrenheit(),
        Quantity::TemperatureDifference => CelsiusDifference(x).fahrenheit(),
        Quantity::Mass => Kilograms(x).pounds(),
        Quantity::MinutesPerMass => x * KILOGRAMS_PER_POUND,
        Quantity::Length => x / MILLIMETRES_PER_INCH,
        Quantity::Height => x / METRES_PER_FOOT,
    };
    Column::Float(values.iter().map(|value| value.map(convert)).collect())
}

/// The name with the unit that it is shown in: at its end where the SI unit stood, else behind.
fn renamed(name: &str, quantity: Quantity) -> String {
    let (si, us, sign) = match quantity {
        Quantity::Temperature | Quantity::TemperatureDifference => ("_c", "_f", "°F"),
        Quantity::Mass => ("_kg", "_lb", "lb"),
        Quantity::MinutesPerMass => ("_per_kg", "_per_lb", "min/lb"),
        Quantity::Length => ("_mm", "_in", "in"),
        Quantity::Height => ("_m", "_ft", "ft"),
    };
    match name.strip_suffix(si) {
        Some(begin) => format!("{begin}{us}"),
        None => format!("{name} in {sign}"),
    }
}
