//! The plan, and how it is made.

use super::channels::{self, ChannelPlan};
use super::decimal::{self, Decimal};
use super::form::{self, LongColumns};
use super::time_format::{self, Written};
use super::{time_columns, unit};
use crate::error::IngestError;
use crate::layout::Layout;
use crate::log::facts::head::Facts;
use crate::log::facts::marks::Marks;
use crate::log::facts::names;
use crate::log::finding::{Finding, Findings};
use crate::log::options::ReadOptions;
use crate::log::reason::Reason;
use crate::log::words;
use crate::text::{Encoding, Text};
use crate::time::TimeFormat;
use cook::season::TemperatureUnit;

/// How a log is to be read. Whatever reads it only looks at it.
pub(crate) struct Plan<'o> {
    /// What the season says of its logs, where the log itself leaves something open.
    pub(crate) options: &'o ReadOptions,
    /// The log's path in messages.
    pub(crate) shown_as: &'o str,
    /// The layout by which the log is read, or one that says nothing.
    pub(crate) layout: Layout,
    pub(crate) names: Vec<String>,
    pub(crate) delimiter: u8,
    pub(crate) decimal: Decimal,
    /// Index of the first record after the header and its units.
    pub(crate) first_row: usize,
    /// Index of the line of names by which the table was found.
    pub(crate) header: Option<usize>,
    /// Indices of all lines of names.
    pub(crate) header_rows: Vec<usize>,
    pub(crate) units_row: Option<usize>,
    /// The time column, or the date column and the clock column.
    pub(crate) time: Vec<usize>,
    pub(crate) format: TimeFormat,
    /// Decimal sign of times that are numbers.
    pub(crate) time_decimal: u8,
    /// Whether the log's own dates prove the order of day and month.
    pub(crate) order_proven: bool,
    /// The channels of a wide log; those of a long one are met with its rows.
    pub(crate) channels: Vec<ChannelPlan>,
    pub(crate) long: Option<LongColumns>,
    /// What a remark line begins with.
    pub(crate) comment: String,
    /// Lines before the table, as key and value.
    pub(crate) preamble: Vec<(String, String)>,
    /// Unit of channels that neither header nor cell gives one for.
    pub(crate) unit: Option<TemperatureUnit>,
    /// Whether that is the season's default.
    pub(crate) unit_by_default: bool,
    /// What was decided, in order.
    pub(crate) findings: Findings,
}

/// Decides everything that can be decided before the rows are read.
///
/// # Errors
/// What contradicts itself, and what only the user can answer.
pub(crate) fn decide<'o>(
    facts: &Facts<'o>,
    options: &'o ReadOptions,
) -> Result<Plan<'o>, IngestError> {
    let layout = &facts.layout;
    let mut findings = Findings::default();
    findings.note(table(facts));
    if let Some(finding) = encoding(facts.text) {
        findings.note(finding);
    }
    if let [first, last] = facts.header_rows[..] {
        let line = |at: usize| facts.grid.head[at].record.line;
        findings.note(Finding::NamesInTwoLines([line(first), line(last)]));
    }
    let place = facts.place();
    let named = facts.grid.header.is_some();
    let time = time_columns::columns(&facts.names, &facts.rows, layout, named, &place)?;
    let (Written { format, decimal: time_decimal, proven }, finding) =
        time_format::decide(facts, &time, options)?;
    findings.note(finding);
    let long = form::long_columns(&facts.names, &time, &facts.rows, layout, &place)?;
    if layout.form.is_none() {
        let because = match long {
            Some(l) => Reason::LongColumns {
                channel: facts.names[l.channel].clone(),
                value: facts.names[l.value].clone(),
            },
            None => Reason::ColumnAChannel,
        };
        findings.note(Finding::Form { long: long.is_some(), because });
    }
    let default = unit::default(facts, options);
    let mut unit = default.as_ref().map(|(unit, _)| *unit);
    let mut unit_by_default = matches!(default, Some((_, Reason::Settings | Reason::Siblings)));
    if let Some((unit, because)) = default {
        findings.note(Finding::DefaultUnit { unit, because });
    }
    let channels = if let Some(long) = long {
        let (_, named) = words::name_and_unit(&facts.names[long.value], &[]);
        let below = || facts.below(long.value).and_then(|cell| names::unit(cell));
        let own = named.or_else(below);
        unit_by_default &= own.is_none();
        unit = own.or(unit);
        Vec::new()
    } else {
        let (channels, more) = channels::of_wide(facts, &time, options)?;
        findings.extend(more);
        channels
    };
    let delimiter = facts.grid.delimiter.byte();
    let decimal = if let Some(decimal) = layout.decimal.or(options.answered.decimal) {
        Decimal { sign: decimal.byte(), doubts_marks: false }
    } else {
        let columns: Vec<usize> = match long {
            Some(long) => vec![long.value],
            None => channels.iter().map(|channel| channel.column).collect(),
        };
        let marks = Marks::of(facts.text, delimiter, facts.first_row, &columns);
        let (decimal, finding) = decimal::decide(&marks, &facts.names, facts.shown_as)?;
        if let Some(finding) = finding {
            findings.note(finding);
        }
        decimal
    };
    Ok(Plan {
        options,
        shown_as: facts.shown_as,
        layout: layout.clone(),
        names: facts.names.clone(),
        delimiter,
        decimal,
        first_row: facts.first_row,
        header: facts.grid.header,
        header_rows: facts.header_rows.clone(),
        units_row: facts.units_row,
        time,
        format,
        time_decimal,
        order_proven: proven,
        channels,
        long,
        comment: layout.comment.clone().unwrap_or_else(|| "#".to_owned()),
        preamble: facts.preamble.clone(),
        unit,
        unit_by_default,
        findings,
    })
}

fn table(facts: &Facts<'_>) -> Finding {
    Finding::Table {
        cells: facts.names.len(),
        delimiter: facts.grid.delimiter,
        header: facts.grid.header.map(|at| facts.grid.head[at].record.line),
        because: facts.grid.because.clone(),
    }
}

/// How the file's bytes were read, where that is not plain UTF-8.
fn encoding(text: &Text<'_>) -> Option<Finding> {
    let mark = if text.has_mark() { Reason::ByteOrderMark } else { Reason::EveryOtherByteZero };
    let (name, because) = match text.encoding() {
        Encoding::Utf8 => return None,
        Encoding::Windows1252 => {
            ("Windows-1252", Reason::NoUtf8 { bytes: text.one_byte_characters() })
        }
        Encoding::Utf16Le => ("UTF-16, little end first", mark),
        Encoding::Utf16Be => ("UTF-16, big end first", mark),
    };
    Some(Finding::Encoding { name, because })
}
