//! The decimal sign of a log's temperatures.

use super::plan::{Plan, evidence};
use crate::error::{IngestError, Place};
use crate::number::{self, Signs};
use crate::question::QuestionCode;
use crate::text::{Splitter, Text};

/// So many cells of one sign and none of the other are proof enough.
const ENOUGH: u64 = 2000;

/// So many cells prove a decimal sign, or a twentieth of those that can be read both ways.
const PROOFS: u64 = 3;
/// No more cells than this are oddities.
const ODDITIES: u64 = 4;

/// What the cells of a log say of its decimal sign.
#[derive(Default)]
struct Tally {
    /// Cells that only a decimal point reads, and only a decimal comma.
    proofs: [u64; 2],
    /// Cells that can mark thousands or decimals, by their sign.
    either: [u64; 2],
    /// Of these, those that are no value once the mark stands between thousands (32.767).
    codes: [u64; 2],
    /// Cells that are numbers.
    numbers: u64,
    /// The first cell that can be read both ways: line, column, text.
    first: Option<(u32, usize, Vec<u8>)>,
}

impl Plan {
    /// Decides the decimal sign by the cells of the log. Where every mark could stand between
    /// thousands (`1,500`) and most numbers have one, it is the decimal sign, since
    /// temperatures of a thousand and more are none of cooking; where only some have one,
    /// it is a question.
    pub(super) fn set_decimal(
        &mut self,
        text: &Text<'_>,
        shown_as: &str,
    ) -> Result<(), IngestError> {
        if let Some(decimal) = self.layout.decimal {
            self.decimal = decimal.byte();
            return Ok(());
        }
        let tally = self.tally(text);
        let [points, commas] = tally.proofs;
        let either = tally.either[0] + tally.either[1];
        // One cut cell among many that can be read both ways proves nothing.
        let proven = points + commas >= PROOFS || (points + commas) * 20 > either;
        let [points, commas] = if proven { [points, commas] } else { [0, 0] };
        if points + commas == 0 && either > 0 && tally.codes == tally.either {
            let comma = tally.either[0] > 0;
            self.decimal = if comma { b',' } else { b'.' };
            self.evidence.push(evidence(
                "decimal sign",
                if comma { "comma" } else { "point" },
                "the only marked number is \"no value\" if its mark stands between thousands",
                "layout `decimal`",
            ));
            return Ok(());
        }
        if points + commas == 0 && either <= ODDITIES && either * 50 < tally.numbers {
            // A corrupt line or two must not make a question of a log of whole numbers.
            self.doubts_marks = either > 0;
            self.decimal = b'.';
            return Ok(());
        }
        if points + commas == 0 && either > 0 && either * 2 < tally.numbers {
            return Err(self.ask_decimal(&tally, shown_as));
        }
        let comma =
            if points + commas > 0 { commas > points } else { tally.either[1] > tally.either[0] };
        self.decimal = if comma { b',' } else { b'.' };
        if points + commas + either > 0 {
            let because = if points + commas > 0 {
                format!("{commas} cells have a decimal comma, {points} a decimal point")
            } else {
                format!(
                    "{either} of {} numbers have it; between thousands, most of the log were hotter than 1000 degrees",
                    tally.numbers
                )
            };
            self.evidence.push(evidence(
                "decimal sign",
                if comma { "comma" } else { "point" },
                &because,
                "layout `decimal`",
            ));
        }
        Ok(())
    }

    fn tally(&self, text: &Text<'_>) -> Tally {
        let columns: Vec<usize> = match self.long {
            Some(long) => vec![long.value],
            None => self.channels.iter().map(|channel| channel.column).collect(),
        };
        let mut tally = Tally::default();
        let mut splitter = Splitter::new(self.delimiter);
        for record in text.records(self.delimiter).skip(self.first_row) {
            let cells = splitter.split(&record);
            for &column in &columns {
                let cell = cells.get(column);
                match number::signs(cell) {
                    None => continue,
                    Some(Signs::None) => {}
                    Some(Signs::Decimal(sign)) => tally.proofs[usize::from(sign == b',')] += 1,
                    Some(Signs::Either(sign)) => {
                        let mark = usize::from(sign == b',');
                        let whole = if sign == b',' { b'.' } else { b',' };
                        tally.either[mark] += 1;
                        tally.codes[mark] += u64::from(
                            number::parse_with_unit(cell, whole)
                                .is_some_and(|v| number::code_of(v.0) == number::Code::Missing),
                        );
                        if tally.first.is_none() {
                            tally.first = Some((record.line, column, cell.to_vec()));
                        }
                    }
                }
                tally.numbers += 1;
            }
            if let [enough, 0] | [0, enough] = tally.proofs
                && enough > ENOUGH
            {
                break;
            }
        }
        tally
    }

    fn ask_decimal(&self, tally: &Tally, shown_as: &str) -> IngestError {
        let (line, column, cell) = tally.first.clone().unwrap_or_default();
        let reading = |decimal: u8, word: &str| {
            let value = number::parse_with_unit(&cell, decimal).map_or(0.0, |value| value.0);
            format!("{value} (decimal = \"{word}\")")
        };
        IngestError::NeedsAnswer {
            place: Place::cell(shown_as, line.into(), &self.names[column], &cell).into(),
            code: QuestionCode::MarkInTemperatures,
            question: "its mark can stand between thousands or before decimals".to_owned(),
            readings: [reading(b',', "comma"), reading(b'.', "point")],
            setting: "a layout with decimal = \"comma\" or \"point\"".to_owned(),
        }
    }
}
