//! The marks in a log's numbers: whether they stand between thousands or before decimals.

use crate::number::{self, Signs};
use crate::text::{Splitter, Text};
use std::ops::ControlFlow;

/// So many cells of one sign and none of the other are proof enough.
const ENOUGH: u64 = 2000;

/// What the cells of a log say of its decimal sign.
#[derive(Default)]
pub(crate) struct Marks {
    /// Cells that only a decimal point reads, and only a decimal comma.
    pub(crate) proofs: [u64; 2],
    /// Cells that can mark thousands or decimals, by their sign.
    pub(crate) either: [u64; 2],
    /// Of these, those that are no value once the mark stands between thousands (32.767).
    pub(crate) codes: [u64; 2],
    /// Cells that are numbers.
    pub(crate) numbers: u64,
    /// The first cell that can be read both ways: line, column, text.
    pub(crate) first: Option<(u32, usize, Vec<u8>)>,
}

impl Marks {
    /// Counts the cells of these columns.
    pub(crate) fn of(text: &Text<'_>, delimiter: u8, first_row: usize, columns: &[usize]) -> Self {
        let mut marks = Self::default();
        let mut splitter = Splitter::new(delimiter);
        text.visit(delimiter, |index, record| {
            if index < first_row {
                return ControlFlow::Continue(());
            }
            let cells = splitter.split(record);
            for &column in columns {
                let cell = cells.get(column);
                match number::signs(cell) {
                    None => continue,
                    Some(Signs::None) => {}
                    Some(Signs::Decimal(sign)) => marks.proofs[usize::from(sign == b',')] += 1,
                    Some(Signs::Either(sign)) => {
                        let mark = usize::from(sign == b',');
                        let whole = if sign == b',' { b'.' } else { b',' };
                        marks.either[mark] += 1;
                        marks.codes[mark] += u64::from(
                            number::parse_with_unit(cell, whole)
                                .is_some_and(|v| number::code_of(v.0) == number::Code::Missing),
                        );
                        if marks.first.is_none() {
                            marks.first = Some((record.line, column, cell.to_vec()));
                        }
                    }
                }
                marks.numbers += 1;
            }
            if let [enough, 0] | [0, enough] = marks.proofs
                && enough > ENOUGH
            {
                return ControlFlow::Break(());
            }
            ControlFlow::Continue(())
        });
        marks
    }
}

/// What the times of a log, written as numbers, say of their decimal sign.
#[derive(Default)]
pub(crate) struct TimeMarks {
    /// Cells that only a decimal point reads, and only a decimal comma.
    pub(crate) proofs: [u64; 2],
    /// The first cell that can be read both ways: its mark, line, text.
    pub(crate) either: Option<(u8, u64, String)>,
    /// Steps back in time under a decimal point, and under a comma.
    pub(crate) back: [u64; 2],
}

impl TimeMarks {
    /// Counts the cells of a column.
    pub(crate) fn of(text: &Text<'_>, delimiter: u8, first_row: usize, column: usize) -> Self {
        let mut splitter = Splitter::new(delimiter);
        let mut marks = Self::default();
        let mut last = [f64::NEG_INFINITY; 2];
        text.visit(delimiter, |index, record| {
            if index < first_row {
                return ControlFlow::<()>::Continue(());
            }
            let cells = splitter.split(record);
            let cell = cells.get(column);
            match number::signs(cell) {
                Some(Signs::Decimal(sign)) => marks.proofs[usize::from(sign == b',')] += 1,
                Some(Signs::Either(sign)) if marks.either.is_none() => {
                    let text = String::from_utf8_lossy(cell).into_owned();
                    marks.either = Some((sign, record.line.into(), text));
                }
                None => return ControlFlow::Continue(()),
                _ => {}
            }
            for (i, sign) in [b'.', b','].into_iter().enumerate() {
                if let Some(value) = number::parse_time(cell, sign) {
                    marks.back[i] += u64::from(value < last[i]);
                    last[i] = value;
                }
            }
            ControlFlow::Continue(())
        });
        marks
    }
}
