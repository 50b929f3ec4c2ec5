//! The decimal sign of a log's temperatures.

use crate::error::{IngestError, Place};
use crate::log::facts::marks::Marks;
use crate::log::finding::Finding;
use crate::log::question::{Asks, Question};
use crate::log::reason::Reason;
use crate::number;

/// So many cells prove a decimal sign, or a twentieth of those that can be read both ways.
const PROOFS: u64 = 3;
/// No more cells than this are oddities.
const ODDITIES: u64 = 4;

/// How the numbers of a log are written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Decimal {
    /// What stands before decimals.
    pub(crate) sign: u8,
    /// Whether a number whose mark could stand between thousands is an oddity of this log.
    pub(crate) doubts_marks: bool,
}

/// Decides the decimal sign by the cells of the log. Where every mark could stand between
/// thousands (`1,500`) and most numbers have one, it is the decimal sign, since
/// temperatures of a thousand and more are none of cooking; where only some have one,
/// it is a question.
pub(crate) fn decide(
    marks: &Marks,
    names: &[String],
    shown_as: &str,
) -> Result<(Decimal, Option<Finding>), IngestError> {
    let of = |comma: bool| Decimal { sign: if comma { b',' } else { b'.' }, doubts_marks: false };
    let found = |comma: bool, because: Reason| {
        Ok((of(comma), Some(Finding::DecimalSign { comma, because })))
    };
    let [points, commas] = marks.proofs;
    let either = marks.either[0] + marks.either[1];
    // One cut cell among many that can be read both ways proves nothing.
    let proven = points + commas >= PROOFS || (points + commas) * 20 > either;
    let [points, commas] = if proven { [points, commas] } else { [0, 0] };
    if points + commas > 0 {
        return found(commas > points, Reason::Signs { commas, points });
    }
    if either == 0 {
        return Ok((of(false), None));
    }
    if marks.codes == marks.either {
        return found(marks.either[0] > 0, Reason::CodeOtherwise);
    }
    if either <= ODDITIES && either * 50 < marks.numbers {
        // A corrupt line or two must not make a question of a log of whole numbers.
        return Ok((Decimal { sign: b'.', doubts_marks: true }, None));
    }
    if either * 2 < marks.numbers {
        return Err(ask(marks, names, shown_as).into());
    }
    found(
        marks.either[1] > marks.either[0],
        Reason::MostHaveMark { either, numbers: marks.numbers },
    )
}

fn ask(marks: &Marks, names: &[String], shown_as: &str) -> Question {
    let (line, column, cell) = marks.first.clone().unwrap_or_default();
    let of = |decimal: u8| number::parse_with_unit(&cell, decimal).map_or(0.0, |value| value.0);
    Question {
        place: Place::cell(shown_as, line.into(), &names[column], &cell),
        asks: Asks::MarkInTemperatures { comma: of(b','), point: of(b'.') },
    }
}
