//! An answer in the units and by the clock of those who read it.

use super::describe::quantity;
use columns::{Column, Quantity, Table};
use cook::{Season, Units};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use query::Answer;

/// Ends of names that say a unit, and what stands there in American units.
const ENDS: [(&str, &str, &str); 6] = [
    ("°C", "_c", "_f"),
    ("kg", "_kg", "_lb"),
    ("min/kg", "_per_kg", "_per_lb"),
    ("per kg", "_kg", "_lb"),
    ("mm", "_mm", "_in"),
    ("m", "_m", "_ft"),
];

/// The answer as people are shown it.
pub(super) fn shown(answer: &Answer, season: &Season) -> Table {
    let zone = season.shown_zone();
    let mut table = Table::new();
    for ((name, column), source) in answer.table.columns().iter().zip(&answer.sources) {
        let quantity = source.as_deref().map(quantity);
        let (mut name, column) = match (column, quantity) {
            (Column::Instant(at), _) => (name.clone(), by_clock(at, &zone)),
            (Column::Float(values), Some(quantity)) if season.units == Units::Us => {
                in_us_units(name, values, quantity)
            }
            _ => (name.clone(), column.clone()),
        };
        // A column in other units may come to the name of one that was asked for beside it.
        while table.column(&name).is_some() {
            name.push('\'');
        }
        table.push(name, column);
    }
    table
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

/// Numbers in American units under a name that says so: at its end where the SI unit stood, else
/// behind. Those that have the same unit in both systems stay.
fn in_us_units(name: &str, values: &[Option<f64>], quantity: Quantity) -> (String, Column) {
    let (si, us) = (quantity.unit(Units::Metric), quantity.unit(Units::Us));
    if si == us {
        return (name.to_owned(), Column::from(values));
    }
    let shown = values.iter().map(|value| value.map(|si| quantity.value(si, Units::Us)));
    let end = ENDS.iter().find(|(unit, ..)| *unit == si);
    let name = match end.and_then(|(_, si, us)| Some((name.strip_suffix(si)?, us))) {
        Some((begin, end)) => format!("{begin}{end}"),
        None => format!("{name} in {us}"),
    };
    (name, shown.collect())
}
