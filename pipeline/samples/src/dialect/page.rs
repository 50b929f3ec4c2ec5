//! A log as lines of cells, before quotes and delimiters.

use super::style::{Delimiter, ExtraColumn, Header, RowEnd, Shape, TimeStyle, UnitPlace};
use super::time::{TimeText, local};
use super::truth::{ChannelTruth, Content, Instant, LineKind, Verdict};
use super::words::capital;
use super::{Dialect, NumberStyle};
use crate::error::WriteError;
use jiff::tz::TimeZone;
use simulate::measured::{Reading, ReadingSet, Sentinel};

/// A log as lines of cells.
#[derive(Debug, Clone)]
pub(crate) struct Page {
    pub(crate) channels: Vec<ChannelTruth>,
    /// Names of the columns as they are written.
    pub(crate) header: Vec<String>,
    pub(crate) lines: Vec<PageLine>,
}

/// One record: usually one line.
#[derive(Debug, Clone)]
pub(crate) struct PageLine {
    pub(crate) kind: LineKind,
    pub(crate) verdict: Verdict,
    pub(crate) body: Body,
    /// Written before the record, as it is.
    pub(crate) head: String,
    /// Written behind the record, as it is; spoils its last cell.
    pub(crate) tail: String,
    /// So many characters of the written record are lost at its end.
    pub(crate) lost: usize,
    /// Which row of the set it is.
    pub(crate) row: Option<usize>,
}

/// What a line holds.
#[derive(Debug, Clone)]
pub(crate) enum Body {
    /// Text as it is.
    Raw(String),
    /// Cells.
    Cells(Vec<PageCell>),
}

/// One cell.
#[derive(Debug, Clone)]
pub(crate) struct PageCell {
    pub(crate) text: String,
    pub(crate) number: bool,
    pub(crate) truth: Option<TruthCell>,
}

/// What a temperature cell is.
#[derive(Debug, Clone)]
pub(crate) struct TruthCell {
    pub(crate) channel: usize,
    pub(crate) written_ms: i64,
    pub(crate) true_ms: i64,
    pub(crate) instant: Instant,
    pub(crate) content: Content,
}

impl PageCell {
    fn text(text: impl Into<String>) -> Self {
        Self { text: text.into(), number: false, truth: None }
    }

    fn number(text: impl Into<String>) -> Self {
        Self { text: text.into(), number: true, truth: None }
    }
}

impl PageLine {
    pub(crate) fn raw(kind: LineKind, text: impl Into<String>) -> Self {
        Self::with(kind, Body::Raw(text.into()))
    }

    fn cells(kind: LineKind, cells: Vec<PageCell>) -> Self {
        Self::with(kind, Body::Cells(cells))
    }

    fn with(kind: LineKind, body: Body) -> Self {
        let verdict = if kind == LineKind::Data { Verdict::Read } else { Verdict::NoReadings };
        Self { kind, verdict, body, head: String::new(), tail: String::new(), lost: 0, row: None }
    }
}

impl Dialect {
    /// The set as lines of cells; local times are in `zone`.
    pub(crate) fn page(&self, set: &ReadingSet, zone: &TimeZone) -> Result<Page, WriteError> {
        let mut lines: Vec<PageLine> = self
            .preamble
            .iter()
            .map(|text| {
                let kind = if text.is_empty() { LineKind::Blank } else { LineKind::Preamble };
                PageLine::raw(kind, text.as_str())
            })
            .collect();
        let first_ms = set.rows.first().map_or(0, |row| row.clock_ms);
        lines.extend(self.told_start(first_ms, zone)?);
        let header = self.header_lines(set);
        lines.extend(header.iter().cloned());
        for (index, row) in set.rows.iter().enumerate() {
            if row.values.len() != set.channels.len() {
                return Err(WriteError::RowLength {
                    row: index,
                    found: row.values.len(),
                    expected: set.channels.len(),
                });
            }
            if self.header_every.is_some_and(|every| index > 0 && index % every == 0) {
                lines.extend(header.iter().cloned());
            }
            let time = self.time.write(row.clock_ms, first_ms, zone, self.number.decimal_comma)?;
            let from = lines.len();
            self.rows(&mut lines, set, index, &time);
            for line in &mut lines[from..] {
                line.row = Some(index);
            }
        }
        lines.extend(self.totals(set));
        lines.extend(self.footer.iter().map(|text| {
            let kind = if text.is_empty() { LineKind::Blank } else { LineKind::Footer };
            PageLine::raw(kind, text.as_str())
        }));
        let names = header.iter().rfind(|line| line.kind == LineKind::Header);
        let names = match names.map(|line| &line.body) {
            Some(Body::Cells(cells)) => cells.iter().map(|cell| cell.text.clone()).collect(),
            _ => Vec::new(),
        };
        Ok(Page { channels: self.channels(set), header: names, lines })
    }

    fn word(&self, word: &str) -> String {
        if self.capitals { capital(word) } else { word.to_owned() }
    }

    /// A name as this dialect's columns can hold it.
    fn fitting(&self, name: &str) -> String {
        if self.delimiter == Delimiter::Spaces { name.replace(' ', "_") } else { name.to_owned() }
    }

    fn unit(&self, set: &ReadingSet) -> &'static str {
        self.unit_word.of(set.unit)
    }

    fn named(&self, name: &str, set: &ReadingSet) -> String {
        let name = if self.unit == UnitPlace::Header {
            self.unit_form.join(name, self.unit(set))
        } else {
            name.to_owned()
        };
        self.fitting(&name)
    }

    fn channels(&self, set: &ReadingSet) -> Vec<ChannelTruth> {
        set.channels
            .iter()
            .map(|name| ChannelTruth {
                name: name.clone(),
                written: match self.shape {
                    Shape::Wide => self.named(name, set),
                    Shape::Long => self.fitting(name),
                },
                unit: set.unit,
            })
            .collect()
    }

    /// The line that says when a log without dates began.
    fn told_start(&self, first_ms: i64, zone: &TimeZone) -> Result<Option<PageLine>, WriteError> {
        let words = self.language.words();
        let (word, format) = match self.time {
            TimeStyle::Elapsed { start_told: true, .. } => (words.start, "%Y-%m-%d %H:%M:%S"),
            TimeStyle::ClockOnly { date_told: true, .. } => (words.date, "%Y-%m-%d"),
            _ => return Ok(None),
        };
        let value = local(first_ms, zone)?.strftime(format).to_string();
        let word = self.word(word);
        Ok(Some(if self.delimiter == Delimiter::Spaces {
            PageLine::raw(LineKind::Preamble, format!("{word}: {value}"))
        } else {
            let cells = vec![PageCell::text(word), PageCell::text(value)];
            PageLine::cells(LineKind::Preamble, cells)
        }))
    }

    fn time_names(&self) -> Vec<String> {
        let words = self.language.words();
        match self.time {
            TimeStyle::Calendar { joint: None, .. } => vec![words.date.into(), words.time.into()],
            TimeStyle::Elapsed { told: true, unit, .. } => {
                let unit = match unit {
                    super::ElapsedStyle::Hms => "",
                    super::ElapsedStyle::Minutes => " (min)",
                    super::ElapsedStyle::Seconds => " (s)",
                };
                vec![format!("{}{unit}", words.elapsed)]
            }
            _ => vec![words.time.into()],
        }
    }

    /// Columns before the first channel, or before the channel's name.
    pub(crate) fn leading_columns(&self) -> usize {
        self.time.columns() + usize::from(self.extras.contains(&ExtraColumn::RowNumber))
    }

    fn header_lines(&self, set: &ReadingSet) -> Vec<PageLine> {
        if self.header == Header::None {
            return Vec::new();
        }
        let words = self.language.words();
        let text = |text: &str| PageCell::text(self.fitting(&self.word(text)));
        let mut names: Vec<PageCell> = Vec::new();
        if self.extras.contains(&ExtraColumn::RowNumber) {
            names.push(text(words.row));
        }
        names.extend(self.time_names().iter().map(|name| text(name)));
        let leading = names.len();
        match self.shape {
            Shape::Wide => names.extend(
                set.channels.iter().map(|channel| PageCell::text(self.named(channel, set))),
            ),
            Shape::Long => {
                names.push(text(words.channel));
                names.push(PageCell::text(self.named(&self.word(words.temperature), set)));
                if self.unit == UnitPlace::Column {
                    names.push(text(words.unit));
                }
            }
        }
        let behind = names.len();
        for extra in &self.extras {
            match extra {
                ExtraColumn::RowNumber => {}
                ExtraColumn::Fan => names.push(text(words.fan)),
                ExtraColumn::Battery => names.push(text(words.battery)),
                ExtraColumn::Note => names.push(text(words.note)),
            }
        }
        let mut lines = Vec::new();
        let mut add = |kind: LineKind, mut cells: Vec<PageCell>| {
            cells.extend(self.empty_cells());
            lines.push(PageLine::cells(kind, cells));
        };
        let width = names.len();
        let over = |at: usize, cell: &dyn Fn(usize) -> String| -> PageCell {
            let inside = (leading..behind).contains(&at);
            PageCell::text(self.filled(if inside { cell(at - leading) } else { String::new() }))
        };
        if self.header == Header::Two {
            let socket =
                |at: usize| self.fitting(&format!("{} {}", self.word(words.socket), at + 1));
            add(LineKind::Header, (0..width).map(|at| over(at, &socket)).collect());
        }
        add(LineKind::Header, names);
        if self.unit == UnitPlace::Row {
            let unit = |at: usize| {
                let is_name = self.shape == Shape::Long && at == 0;
                if is_name { String::new() } else { self.fitting(self.unit(set)) }
            };
            add(LineKind::Units, (0..width).map(|at| over(at, &unit)).collect());
        }
        lines
    }

    /// Empty columns at the right.
    fn empty_cells(&self) -> impl Iterator<Item = PageCell> + use<> {
        let count = if let RowEnd::Empty(count) = self.row_end { count } else { 0 };
        (0..count).map(|_| PageCell::text(""))
    }

    /// Columns of spaces cannot hold an empty cell.
    fn filled(&self, text: String) -> String {
        if self.delimiter == Delimiter::Spaces && text.is_empty() { "-".to_owned() } else { text }
    }

    fn rows(&self, lines: &mut Vec<PageLine>, set: &ReadingSet, index: usize, time: &TimeText) {
        let row = &set.rows[index];
        let number_time = matches!(
            self.time,
            TimeStyle::Epoch(_) | TimeStyle::Serial | TimeStyle::Elapsed { .. }
        );
        let leading = |line: usize| -> Vec<PageCell> {
            let number = self.extras.contains(&ExtraColumn::RowNumber);
            let number = number.then(|| PageCell::number((line + 1).to_string()));
            let times = time.cells.iter().map(|text| PageCell {
                text: text.clone(),
                number: number_time,
                truth: None,
            });
            number.into_iter().chain(times).collect()
        };
        let value = |channel: usize| {
            let (text, number, content) = self.reading(set, row.values[channel]);
            let truth = TruthCell {
                channel,
                written_ms: time.written_ms,
                true_ms: row.at_ms,
                instant: Instant::Written,
                content,
            };
            PageCell { text, number, truth: Some(truth) }
        };
        let trailing = |cells: &mut Vec<PageCell>| {
            self.extra_cells(cells, index);
            cells.extend(self.empty_cells());
            if self.row_end == RowEnd::Ragged {
                while cells.len() > self.leading_columns()
                    && cells.last().is_some_and(|cell| cell.text.is_empty())
                {
                    cells.pop();
                }
            }
        };
        match self.shape {
            Shape::Wide => {
                let mut cells = leading(index);
                cells.extend((0..row.values.len()).map(value));
                trailing(&mut cells);
                lines.push(PageLine::cells(LineKind::Data, cells));
            }
            Shape::Long => {
                for (channel, name) in set.channels.iter().enumerate() {
                    let mut cells = leading(index * row.values.len() + channel);
                    cells.push(PageCell::text(self.fitting(name)));
                    cells.push(value(channel));
                    if self.unit == UnitPlace::Column {
                        cells.push(PageCell::text(self.fitting(self.unit(set))));
                    }
                    trailing(&mut cells);
                    lines.push(PageLine::cells(LineKind::Data, cells));
                }
            }
        }
    }

    fn extra_cells(&self, cells: &mut Vec<PageCell>, index: usize) {
        for extra in &self.extras {
            cells.push(match extra {
                ExtraColumn::RowNumber => continue,
                ExtraColumn::Fan => PageCell::number((index * 7 % 101).to_string()),
                ExtraColumn::Battery => {
                    let volt = 4.1 - 0.000_3 * index as f64;
                    PageCell::number(self.number.write(volt.max(3.0), 2))
                }
                ExtraColumn::Note => PageCell::text(
                    self.filled(
                        match index % 97 {
                            13 => "lid open",
                            51 => "wind, gusty",
                            _ => "",
                        }
                        .to_owned(),
                    ),
                ),
            });
        }
    }

    /// A reading's text, whether it is a number, and what it says.
    fn reading(&self, set: &ReadingSet, reading: Reading) -> (String, bool, Content) {
        let sentinel = match reading {
            Reading::Value(value) => {
                let mut text = self.number.write(value, set.decimals);
                if self.unit == UnitPlace::Value {
                    text.push_str(&self.fitting(&self.beside(self.unit(set))));
                }
                let scale = 10_f64.powi(set.decimals as i32);
                let said = (value * scale).round() / scale;
                return (text, self.unit != UnitPlace::Value, Content::Celsius(set.celsius(said)));
            }
            Reading::Nothing => self.absent.nothing.as_ref().unwrap_or(&set.sentinel),
            Reading::TooHigh => &self.absent.too_high,
            Reading::TooLow => &self.absent.too_low,
        };
        match sentinel {
            Sentinel::Empty => (self.filled(String::new()), false, Content::Missing),
            Sentinel::Text(text) => (self.fitting(text), false, Content::Missing),
            Sentinel::Value(value) => {
                // A sentinel is a number of the logger's: it keeps the decimals that it has.
                let decimals = usize::from(value.fract() != 0.0);
                (self.number.write(*value, decimals.max(set.decimals)), true, Content::Missing)
            }
        }
    }

    /// A unit behind a value: signs and letters close up, words keep a space.
    fn beside(&self, unit: &str) -> String {
        match self.unit_word {
            super::UnitWord::Letter | super::UnitWord::Degree => unit.to_owned(),
            _ => format!(" {unit}"),
        }
    }

    /// Averages and maxima below the readings.
    fn totals(&self, set: &ReadingSet) -> Vec<PageLine> {
        if !self.totals || self.shape == Shape::Long {
            return Vec::new();
        }
        let words = self.language.words();
        let values =
            |channel: usize| set.rows.iter().filter_map(move |row| row.values[channel].value());
        let line = |word: &str, of: &dyn Fn(usize) -> Option<f64>| {
            let mut cells = vec![PageCell::text(self.fitting(&self.word(word)))];
            cells.extend(
                (1..self.leading_columns()).map(|_| PageCell::text(self.filled(String::new()))),
            );
            cells.extend((0..set.channels.len()).map(|channel| {
                PageCell::number(self.filled(
                    of(channel).map_or(String::new(), |v| self.number.write(v, set.decimals)),
                ))
            }));
            PageLine::cells(LineKind::Footer, cells)
        };
        let average = |channel: usize| {
            let count = values(channel).count();
            (count > 0).then(|| values(channel).sum::<f64>() / count as f64)
        };
        let maximum = |channel: usize| values(channel).reduce(f64::max);
        vec![line(words.average, &average), line(words.maximum, &maximum)]
    }
}

impl NumberStyle {
    /// A number.
    pub(crate) fn write(self, value: f64, decimals: usize) -> String {
        let plain = format!("{:.decimals$}", value.abs());
        let (whole, fraction) = plain.split_once('.').unwrap_or((&plain, ""));
        let mut text = String::new();
        if value < 0.0 && plain.bytes().any(|b| (b'1'..=b'9').contains(&b)) {
            text.push('-');
        }
        for (index, digit) in whole.chars().enumerate() {
            let left = whole.len() - index;
            if let Some(mark) = self.thousands
                && index > 0
                && left.is_multiple_of(3)
            {
                text.push(mark);
            }
            text.push(digit);
        }
        if decimals > 0 {
            text.push(if self.decimal_comma { ',' } else { '.' });
            text.push_str(fraction);
        }
        text
    }
}
