//! One cell of a temperature column.

use super::read::{Reader, Unitless};
use crate::code::Code;
use crate::number::{self, Signs};
use crate::text::Record;
use cook::season::TemperatureUnit;
use cook::{Celsius, Role};

/// What a cell says.
pub(super) enum Cell {
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

impl Reader<'_> {
    /// Reads a temperature. `stated` is what the column or the row says of its unit; a
    /// cell that says otherwise is rejected.
    pub(super) fn cell(
        &mut self,
        cell: &[u8],
        unit: Option<TemperatureUnit>,
        stated: Option<TemperatureUnit>,
    ) -> Cell {
        if self.plan.sentinels.iter().any(|s| s.as_bytes() == cell) {
            return Cell::Missing;
        }
        if self.plan.doubts_marks && matches!(number::signs(cell), Some(Signs::Either(_))) {
            return Cell::Bad(Code::BadNumber);
        }
        let Some((value, own)) = number::parse_with_unit(cell, self.plan.decimal) else {
            return if number::is_missing(cell, &self.plan.sentinels) {
                Cell::Missing
            } else {
                Cell::Bad(Code::BadNumber)
            };
        };
        let suspect = match number::code_of(value) {
            number::Code::None => false,
            _ if self.plan.measured.contains(&value) => false,
            number::Code::Missing => return Cell::Missing,
            number::Code::Suspect => true,
        };
        self.with_unit += u64::from(own.is_some());
        let temp_c = match own.or(unit) {
            _ if own.is_some() && stated.is_some() && own != stated => {
                return Cell::Bad(Code::UnitConflict);
            }
            Some(TemperatureUnit::Celsius) => value,
            Some(TemperatureUnit::Fahrenheit) => Celsius::from_fahrenheit(value).value(),
            None if suspect => return Cell::Missing,
            None => return Cell::NoUnit(value),
        };
        if suspect { Cell::Suspect(temp_c as f32) } else { Cell::Value(temp_c as f32) }
    }

    pub(super) fn note_unitless(
        &mut self,
        record: &Record<'_>,
        column: &str,
        role: Role,
        cell: &[u8],
        value: f64,
        place: (usize, usize, usize),
    ) {
        self.unitless_cells += 1;
        // More than so many are no exception, and the log will be refused.
        if self.without_unit.len() < 10_000 {
            self.without_unit.push(place);
        }
        let meat = usize::from(role == Role::Meat);
        self.largest[meat] = self.largest[meat].max(value);
        // −40 is the one temperature that both scales call the same.
        if self.unitless.is_none() && value != -40.0 {
            self.unitless = Some(Unitless {
                line: record.line,
                column: column.to_owned(),
                text: cell.to_vec(),
                value,
            });
        }
    }
}
