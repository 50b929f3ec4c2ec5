//! How a log is to be read: every decision, its evidence and the setting that overrides it.

use super::head::{HeadRow, Kind, majority};
use super::options::ReadOptions;
use super::scan::Found;
use super::{form, names, times, words};
use crate::error::{IngestError, Place};
use crate::layout::{Form, Layout, alike};
use crate::number;
use crate::text::{Encoding, Text};
use crate::time::TimeFormat;
use cook::season::TemperatureUnit;
use cook::{Evidence, Role};

/// One temperature column, or (long form) the value column's pattern.
#[derive(Debug, Clone)]
pub(super) struct ChannelPlan {
    pub(super) column: usize,
    pub(super) header: String,
    pub(super) name: String,
    pub(super) unit: Option<TemperatureUnit>,
    pub(super) role: Role,
    pub(super) said: Said,
}

/// Who says a channel's role.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Said {
    /// The settings or a layout.
    Settings,
    /// A word of its name.
    Name,
    /// A word that pit and meat may have.
    WeakWord,
    /// Nobody.
    Nobody,
}

/// The columns of a long log.
#[derive(Debug, Clone, Copy)]
pub(super) struct LongColumns {
    pub(super) channel: usize,
    pub(super) value: usize,
    pub(super) unit: Option<usize>,
}

/// How a log is to be read.
pub(super) struct Plan {
    pub(super) names: Vec<String>,
    pub(super) delimiter: u8,
    pub(super) decimal: u8,
    /// Whether a number whose mark could stand between thousands is an oddity of this log.
    pub(super) doubts_marks: bool,
    pub(super) form: Form,
    /// Index of the first record after the header and its units.
    pub(super) first_row: usize,
    /// Index of the line of names by which the table was found.
    pub(super) header: Option<usize>,
    /// Indices of all lines of names.
    pub(super) header_rows: Vec<usize>,
    pub(super) units_row: Option<usize>,
    pub(super) time: Vec<usize>,
    pub(super) format: TimeFormat,
    /// Decimal sign of times that are numbers.
    pub(super) time_decimal: u8,
    /// Whether the log's own dates prove the order of day and month.
    pub(super) order_proven: bool,
    pub(super) channels: Vec<ChannelPlan>,
    pub(super) long: Option<LongColumns>,
    pub(super) sentinels: Vec<String>,
    /// Numbers that are temperatures although they look like sentinels.
    pub(super) measured: Vec<f64>,
    pub(super) comment: Option<String>,
    pub(super) metadata: Vec<(String, String)>,
    /// Unit of channels that neither header nor cell gives one for.
    pub(super) unit: Option<TemperatureUnit>,
    pub(super) layout: Layout,
    pub(super) evidence: Vec<Evidence>,
    pub(super) warnings: Vec<String>,
}

pub(super) fn evidence(what: &str, taken_as: &str, because: &str, setting: &str) -> Evidence {
    Evidence {
        what: what.to_owned(),
        taken_as: taken_as.to_owned(),
        because: because.to_owned(),
        setting: setting.to_owned(),
    }
}

pub(super) fn unit_letter(unit: TemperatureUnit) -> &'static str {
    match unit {
        TemperatureUnit::Celsius => "C",
        TemperatureUnit::Fahrenheit => "F",
    }
}

/// How the file's bytes were read, where that is not plain UTF-8.
fn encoding(text: &Text<'_>) -> Option<Evidence> {
    let (taken, because) = match text.encoding() {
        Encoding::Utf8 => return None,
        Encoding::Windows1252 => {
            ("Windows-1252", format!("{} bytes are no UTF-8", text.one_byte_characters()))
        }
        Encoding::Utf16Le | Encoding::Utf16Be => (
            if text.encoding() == Encoding::Utf16Le {
                "UTF-16, little end first"
            } else {
                "UTF-16, big end first"
            },
            if text.has_mark() { "its byte order mark" } else { "every other byte is zero" }
                .to_owned(),
        ),
    };
    Some(evidence("encoding", taken, &because, "save the file as UTF-8"))
}

/// Decides everything that can be decided before the rows are read.
pub(super) fn plan(
    text: &Text<'_>,
    found: &Found<'_>,
    shown_as: &str,
    options: &ReadOptions,
) -> Result<Plan, IngestError> {
    let layout = found.layout.clone().unwrap_or_default();
    let header_row = found.header.map(|at| &found.head[at]);
    let header = names::header(found, &layout);
    let first_row = header.units.max(header.rows.last().copied()).map_or(found.first, |at| at + 1);
    let mut notes = vec![evidence(
        "table",
        &format!(
            "{} cells parted by {}, {}",
            header.names.len(),
            found.delimiter.as_str(),
            header_row
                .map_or("no header".to_owned(), |r| format!("header on line {}", r.record.line))
        ),
        &found.because,
        "layout `header`, `columns`, `delimiter`, `preamble_lines`",
    )];
    notes.extend(encoding(text));
    if let [first, last] = header.rows[..] {
        notes.push(evidence(
            "names",
            &format!(
                "in two lines, {} and {}",
                found.head[first].record.line, found.head[last].record.line
            ),
            "both have words over most columns",
            "layout `header_rows` = 1",
        ));
    }
    let rows: Vec<&HeadRow<'_>> = found.head[first_row.min(found.head.len())..]
        .iter()
        .filter(|row| !row.blank && row.cells != header_row.map_or(&[][..], |h| &h.cells[..]))
        .collect();
    let names = header.names;
    let preamble = header.rows.first().copied().unwrap_or(found.first);
    let key_delimiter = found.delimiter.byte();
    let metadata: Vec<(String, String)> = found
        .head
        .iter()
        .take(preamble)
        .filter(|row| !row.blank)
        .map(|row| key_and_value(row.record.raw, row.record.line, key_delimiter))
        .collect();
    let place = header_row.map_or_else(
        || Place::file(shown_as),
        |row| Place::line(shown_as, row.record.line.into(), row.record.raw),
    );
    let time = times::columns(&names, &rows, &layout, header_row.is_some(), &place)?;
    let seen = times::Seen {
        text,
        found,
        names: &names,
        columns: &time,
        rows: &rows,
        layout: &layout,
        first_row,
        units_row: header.units,
        metadata: &metadata,
        shown_as,
    };
    let written = times::format(&seen, options, &mut notes)?;
    let long = form::long_columns(&names, &time, &rows, &layout, &place)?;
    let form = if long.is_some() { Form::Long } else { Form::Wide };
    if layout.form.is_none() {
        let because = match long {
            Some(l) => format!(
                "`{}` names channels and `{}` holds numbers",
                names[l.channel], names[l.value]
            ),
            None => "one column a channel".to_owned(),
        };
        let taken = if long.is_some() { "long" } else { "wide" };
        notes.push(evidence("form", taken, &because, "layout `form`"));
    }
    let mut plan = Plan {
        delimiter: found.delimiter.byte(),
        decimal: b'.',
        doubts_marks: false,
        form,
        first_row,
        header: found.header,
        header_rows: header.rows,
        units_row: header.units,
        time,
        format: written.format,
        time_decimal: written.decimal,
        order_proven: written.proven,
        channels: Vec::new(),
        long,
        sentinels: layout.sentinels.clone(),
        measured: layout.measured.clone(),
        comment: layout.comment.clone().or_else(|| Some("#".to_owned())),
        unit: None,
        warnings: Vec::new(),
        names,
        metadata,
        layout,
        evidence: notes,
    };
    plan.set_default_unit(options);
    plan.find_channels(found, &rows, shown_as, options)?;
    plan.set_decimal(text, shown_as)?;
    plan.fill_layout(found);
    Ok(plan)
}

/// A line of the preamble as key and value.
pub(super) fn key_and_value(raw: &[u8], line: u32, delimiter: u8) -> (String, String) {
    let text = String::from_utf8_lossy(raw);
    let bare = text.trim().trim_start_matches(['#', '/', ' ']).trim();
    let bare = bare.trim_end_matches([char::from(delimiter), ' ']);
    let clean = |part: &str| part.trim().trim_matches('"').trim().to_owned();
    // The first separator of the line: later ones belong to the value, as in a clock time.
    let parts = if matches!(delimiter, b' ' | crate::text::GAP) { b':' } else { delimiter };
    let separators = [':', '=', char::from(parts)];
    if let Some((key, value)) = bare.split_once(separators)
        && !key.trim().is_empty()
        && key.len() <= 60
        && !key.trim_start().starts_with(|c: char| c.is_ascii_digit())
    {
        return (clean(key), clean(value.trim_start_matches(char::from(parts))));
    }
    (format!("line {line}"), clean(bare))
}

/// Whether a column holds whole numbers that step by one from line to line, once lines that
/// are out of place are put in order.
fn counts_lines(rows: &[&HeadRow<'_>], column: usize) -> bool {
    let mut numbers: Vec<i64> =
        rows.iter().filter_map(|row| row.cells.get(column)?.parse().ok()).collect();
    numbers.sort_unstable();
    let ones = numbers.windows(2).filter(|pair| pair[1] - pair[0] == 1).count();
    numbers.len() >= 4 && ones * 10 >= (numbers.len() - 1) * 9
}

/// Whether most of a column's numbers carry their unit; `None` where it has no number.
fn has_own_units(rows: &[&HeadRow<'_>], column: usize) -> Option<bool> {
    let (mut numbers, mut units) = (0, 0);
    for row in rows.iter().filter(|row| row.kinds.get(column) == Some(&Kind::Number)) {
        let cell = row.cells[column].as_bytes();
        let of = |decimal| number::parse_with_unit(cell, decimal);
        let Some((value, unit)) = of(b'.').or_else(|| of(b',')) else { continue };
        if number::code_of(value) == number::Code::None {
            numbers += 1;
            units += usize::from(unit.is_some());
        }
    }
    (numbers > 0).then_some(units * 2 > numbers)
}

pub(super) fn missing_column(wanted: &str, names: &[String], place: &Place) -> IngestError {
    IngestError::Contradiction {
        place: Place { column: Some(wanted.to_owned()), ..place.clone() }.into(),
        what: format!("the layout asks for the column `{wanted}`, which this log does not have"),
        try_this: match cook::settings::nearest(wanted, names.iter().map(String::as_str)) {
            Some(nearest) => format!("`{nearest}`, or correct the layout"),
            None => format!("one of {}", names.join(", ")),
        },
    }
}

impl Plan {
    /// The unit where no header or cell says one: the preamble's, the layout's, the
    /// settings'.
    fn set_default_unit(&mut self, options: &ReadOptions) {
        let preamble = self.metadata.iter().find_map(|(key, value)| {
            let about_unit = words::is_unit(key);
            let unit = names::unit(value).or_else(|| words::name_and_unit(key, &[]).1)?;
            about_unit.then(|| (unit, format!("the preamble says `{key}: {value}`")))
        });
        let layout = self.layout.unit.map(|unit| (unit, "the layout says so".to_owned()));
        let settings = options.unit.map(|unit| (unit, "the settings say so".to_owned()));
        if let Some((unit, because)) = preamble.or(layout).or(settings) {
            self.unit = Some(unit);
            self.evidence.push(evidence(
                "unit where a column names none",
                unit_letter(unit),
                &because,
                "`[log] unit` in season.toml, layout `unit` or `units`",
            ));
        }
    }

    fn find_channels(
        &mut self,
        found: &Found<'_>,
        rows: &[&HeadRow<'_>],
        shown_as: &str,
        options: &ReadOptions,
    ) -> Result<(), IngestError> {
        if let Some(long) = self.long {
            let (_, unit) = words::name_and_unit(&self.names[long.value], &[]);
            let below =
                self.units_row.and_then(|at| names::unit(found.head[at].cells.get(long.value)?));
            if unit.or(below).is_some() {
                self.unit = unit.or(below);
            }
            return Ok(());
        }
        for column in 0..self.names.len() {
            if self.time.contains(&column) {
                continue;
            }
            let header = self.names[column].clone();
            let (name, unit) = words::name_and_unit(&header, &self.names);
            let set = options.role_of(&header, &name).or_else(|| {
                self.layout
                    .roles
                    .iter()
                    .find(|(key, _)| alike(key, &header) || alike(key, &name))
                    .map(|(_, &role)| role)
            });
            if let Some(reason) = self.not_a_channel(column, rows, set.is_some()) {
                self.evidence.push(evidence(
                    &format!("column `{header}`"),
                    "no temperature",
                    &reason,
                    "`[log.roles]` in season.toml or layout `roles`, `ignore`",
                ));
                continue;
            }
            let below =
                self.units_row.and_then(|at| names::unit(found.head[at].cells.get(column)?));
            let stated =
                self.layout.units.iter().find(|(k, _)| alike(k, &header) || alike(k, &name));
            if let (Some(a), Some(b), None) = (unit, below, stated)
                && a != b
            {
                return Err(IngestError::Contradiction {
                    place: Place::cell(
                        shown_as,
                        self.units_row.map_or(0, |at| found.head[at].record.line.into()),
                        &header,
                        found.head[self.units_row.unwrap_or(0)].cells[column].as_bytes(),
                    )
                    .into(),
                    what: format!(
                        "the column's name says {}, the units line {}",
                        unit_letter(a),
                        unit_letter(b)
                    ),
                    try_this: format!(
                        "a layout with [units] \"{header}\" = \"{}\"",
                        unit_letter(a)
                    ),
                });
            }
            let (unit, because) = match (stated, unit, below) {
                (Some((_, &unit)), _, _) => (Some(unit), "the layout says so"),
                (_, Some(unit), _) => (Some(unit), "the header says so"),
                (_, _, Some(unit)) => (Some(unit), "the units line says so"),
                _ => (None, ""),
            };
            if let Some(unit) = unit {
                self.evidence.push(evidence(
                    &format!("unit of `{name}`"),
                    unit_letter(unit),
                    because,
                    &format!("layout [units] \"{header}\""),
                ));
            }
            let (role, said) = self.decide_role(&header, &name, set);
            self.channels.push(ChannelPlan { column, header, name, unit, role, said });
        }
        super::channels::make_unique(&mut self.channels);
        if self.channels.is_empty() {
            return Err(IngestError::NoTable {
                place: Place::file(shown_as).into(),
                what: "no column holds temperatures".to_owned(),
                try_this: "a layout with `roles` naming the temperature columns".to_owned(),
            });
        }
        Ok(())
    }

    pub(super) fn decide_role(
        &mut self,
        header: &str,
        name: &str,
        set: Option<Role>,
    ) -> (Role, Said) {
        let (role, said, because) = match (set, words::role(name)) {
            (Some(role), _) => {
                (role, Said::Settings, "the settings or the layout say so".to_owned())
            }
            (None, Some((role, word))) => {
                let said = if words::is_weak(&word) { Said::WeakWord } else { Said::Name };
                (role, said, format!("its name has `{word}`"))
            }
            (None, None) => {
                let because = "no word of its name says what it measures".to_owned();
                (Role::Other, Said::Nobody, because)
            }
        };
        self.evidence.push(evidence(
            &format!("role of `{name}`"),
            role.as_str(),
            &because,
            &format!("`[log.roles] \"{header}\"` in season.toml, or layout `roles`"),
        ));
        (role, said)
    }

    /// Why a column is no temperature, if it is none.
    fn not_a_channel(&self, column: usize, rows: &[&HeadRow<'_>], named: bool) -> Option<String> {
        let header = &self.names[column];
        if self.layout.ignore.iter().any(|name| alike(name, header)) {
            return Some("the layout says so".to_owned());
        }
        if named {
            return None;
        }
        if let Some(word) = words::not_temperature(header) {
            return Some(format!("its name has `{word}`"));
        }
        if words::is_time(header) {
            return Some("it is another time column".to_owned());
        }
        if words::role(header).is_none() {
            if counts_lines(rows, column) {
                return Some("it counts the lines".to_owned());
            }
            let with_unit = |c: usize| has_own_units(rows, c) == Some(true);
            if words::name_and_unit(header, &self.names).1.is_none()
                && has_own_units(rows, column) == Some(false)
                && (0..self.names.len()).any(|c| !self.time.contains(&c) && with_unit(c))
            {
                return Some("its cells have no unit, and those of others have".to_owned());
            }
        }
        let empty =
            |row: &&HeadRow<'_>| row.kinds.get(column).is_none_or(|kind| *kind == Kind::Empty);
        if self.header.is_none() && rows.iter().all(empty) {
            return Some("it has neither name nor values".to_owned());
        }
        let kind = majority(rows, column);
        let of = |kind: Kind| rows.iter().filter(|r| r.kinds.get(column) == Some(&kind)).count();
        if kind == Some(Kind::Text) && of(Kind::Text) < of(Kind::Missing) {
            return None;
        }
        if matches!(kind, Some(Kind::Text | Kind::DateTime | Kind::Date | Kind::Clock))
            && words::role(header).is_none()
        {
            return Some("most of its cells are no numbers".to_owned());
        }
        None
    }
}
