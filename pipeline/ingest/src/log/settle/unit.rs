//! Cells of which nothing says the unit.

use crate::code::Code;
use crate::error::{IngestError, Place};
use crate::log::finding::Findings;
use crate::log::plan::decide::Plan;

use crate::log::question::{Asks, Question};
use crate::log::rows::ledger::{Rows, Unitless, Units};
use crate::text::{KeptRecord, Splitter};
use cook::season::TemperatureUnit;

/// So many times as many cells carry their unit as lack one, where those lost it.
const WITH_UNIT: u64 = 20;

/// Where nearly all other cells carry their unit, those without lost it and are rejected; else
/// the unit is a question.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let units = &rows.units;
    let Some(first) = units.first else { return Ok(Findings::default()) };
    if units.with < WITH_UNIT * units.without {
        let record = rows.record_at(first.record);
        return Err(ask(plan, &rows.units, first, record.as_ref()).into());
    }
    for at in std::mem::take(&mut rows.units.places) {
        rows.series[at.series].cells_out.push((at.row, at.channel, Code::NoUnit));
    }
    Ok(Findings::default())
}

fn ask(
    plan: &Plan<'_>,
    units: &Units,
    Unitless { at, record: place, value }: Unitless,
    record: Option<&KeptRecord>,
) -> Question {
    let (column, name) = match plan.long {
        Some(long) => (long.value, &plan.names[long.value]),
        None => (plan.channels[at.channel].column, &plan.channels[at.channel].header),
    };
    let mut splitter = Splitter::new(plan.delimiter);
    let record = record.map(KeptRecord::record);
    let cell = record.as_ref().map_or(&b""[..], |record| splitter.split(record).get(column));
    let [other, meat] = units.largest;
    // Meat is done below 100 °C; a pit above 180 °C is a grill, not a smoker.
    let likely = if meat > 105.0 || other > 180.0 {
        TemperatureUnit::Fahrenheit
    } else {
        TemperatureUnit::Celsius
    };
    Question {
        place: Place::cell(plan.shown_as, place.line.into(), name, cell),
        asks: Asks::UnitOfTemperatures { value, likely, greatest: other.max(meat) },
    }
}
