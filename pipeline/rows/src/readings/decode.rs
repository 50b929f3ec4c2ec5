//! From batches to the readings of cooks, one after the other.

use super::words::Words;
use crate::arrow::{DATED_MS, UNDATED, from_batches};
use crate::error::RowsError;
use arrow_array::cast::AsArray;
use arrow_array::types::{
    Float32Type, Float64Type, TimestampMicrosecondType, TimestampMillisecondType, UInt32Type,
};
use arrow_array::{Array, RecordBatch};
use arrow_schema::{DataType, Field, Schema};
use columns::Column;
use cook::{ChannelReadings, CookReadings, Flag, Role};
use std::borrow::Cow;
use std::collections::{HashSet, VecDeque};
use std::ops::Range;

/// The columns of a batch of readings.
///
/// `cook`, `channel`, `role`, `at` and `temp_c` must be there; without `flag` a reading is good, without
/// `source` and `line` nobody knows where it came from. Words may be texts or dictionaries of them,
/// temperatures floats of either width, instants of any unit if they have a zone.
#[derive(Debug)]
pub struct ReadingsRows<'b> {
    cooks: Words<'b>,
    channels: Words<'b>,
    roles: Words<'b>,
    /// By the place of the word.
    role_of: Vec<Option<Role>>,
    flags: Option<Words<'b>>,
    flag_of: Vec<Option<Flag>>,
    sources: Option<Words<'b>>,
    /// Missing ones are counted apart.
    at_ms: Vec<i64>,
    temp_c: Cow<'b, [f32]>,
    lines: Option<Cow<'b, [u32]>>,
    /// Rows that hold no reading, or no instant: by row, where there is any.
    without: Option<Vec<bool>>,
}

impl<'b> ReadingsRows<'b> {
    /// Looks at the columns of a batch.
    ///
    /// # Errors
    /// A column that must be there is not, or one is of another type.
    pub fn of(batch: &'b RecordBatch) -> Result<Self, RowsError> {
        let words = |name: &str| Words::of(batch, name);
        let optional = |name: &str| batch.column_by_name(name).map(|_| words(name)).transpose();
        let (roles, flags) = (words("role")?, optional("flag")?);
        let (at_ms, unknown) = instants(batch)?;
        let (temp_c, missing) = temperatures(batch)?;
        let without = match (unknown, missing) {
            (Some(a), Some(b)) => Some(a.iter().zip(b).map(|(a, b)| *a || b).collect()),
            (a, b) => a.or(b),
        };
        Ok(Self {
            cooks: words("cook")?,
            channels: words("channel")?,
            role_of: roles.all().iter().map(|word| word.parse().ok()).collect(),
            roles,
            flag_of: flags
                .iter()
                .flat_map(super::words::Words::all)
                .map(|word| Flag::parse(word))
                .collect(),
            flags,
            sources: optional("source")?,
            at_ms,
            temp_c,
            lines: lines(batch)?,
            without,
        })
    }

    /// The rows of each cook that lie together, with its name; `None` where a row names none.
    pub fn cooks(&self) -> impl Iterator<Item = (Option<&'b str>, Range<usize>)> + '_ {
        self.cooks.runs(0..self.at_ms.len()).map(|run| (self.cooks.at(run.start), run))
    }

    /// Appends some rows to the readings of their cook. A row without a temperature is no reading.
    ///
    /// # Errors
    /// A role or a flag that is none; instants of a channel that do not rise: each with its row among
    /// these.
    pub fn append(&self, rows: Range<usize>, readings: &mut CookReadings) -> Result<(), RowsError> {
        for of_name in self.channels.runs(rows) {
            let name = self
                .channels
                .at(of_name.start)
                .ok_or_else(|| unknown("channel", &self.channels, of_name.start))?;
            for of_role in self.roles.runs(of_name) {
                let role = self.roles.key(of_role.start).and_then(|key| self.role_of[key]);
                let role = role.ok_or_else(|| unknown("role", &self.roles, of_role.start))?;
                let from = |run: &Range<usize>| {
                    self.sources.as_ref().and_then(|words| words.at(run.start)).unwrap_or_default()
                };
                let runs: Vec<Range<usize>> = match &self.sources {
                    Some(sources) => sources.runs(of_role).collect(),
                    None => vec![of_role],
                };
                for run in runs {
                    let source = position_of(from(&run), &mut readings.sources);
                    let channel = channel(name, role, &mut readings.channels);
                    self.append_run(run, source, channel)?;
                }
            }
        }
        Ok(())
    }

    /// Appends rows of one channel and one source.
    fn append_run(
        &self,
        rows: Range<usize>,
        source: u32,
        channel: &mut ChannelReadings,
    ) -> Result<(), RowsError> {
        let before = channel.len();
        match &self.without {
            None => {
                channel.at_ms.extend_from_slice(&self.at_ms[rows.clone()]);
                channel.temp_c.extend_from_slice(&self.temp_c[rows.clone()]);
                match &self.lines {
                    Some(lines) => channel.line.extend_from_slice(&lines[rows.clone()]),
                    None => channel.line.extend(std::iter::repeat_n(0, rows.len())),
                }
            }
            Some(without) => {
                for row in rows.clone().filter(|row| !without[*row]) {
                    channel.at_ms.push(self.at_ms[row]);
                    channel.temp_c.push(self.temp_c[row]);
                    channel.line.push(self.lines.as_ref().map_or(0, |lines| lines[row]));
                }
            }
        }
        let added = channel.len() - before;
        channel.source.extend(std::iter::repeat_n(source, added));
        let is_reading = |row: &usize| self.without.as_ref().is_none_or(|without| !without[*row]);
        match &self.flags {
            None => channel.flag.extend(std::iter::repeat_n(Flag::Good, added)),
            Some(flags) => {
                for run in flags.runs(rows.clone()) {
                    let flag = flags.key(run.start).and_then(|key| self.flag_of[key]);
                    let flag = flag.ok_or_else(|| unknown("flag", flags, run.start))?;
                    let readings = run.filter(is_reading).count();
                    channel.flag.extend(std::iter::repeat_n(flag, readings));
                }
            }
        }
        let from = before.saturating_sub(1);
        if let Some(at) = channel.at_ms[from..].windows(2).position(|pair| pair[0] >= pair[1]) {
            let place = from + at + 1;
            let at = columns::iso_instant(channel.at_ms[place]);
            let name = &channel.name;
            let row = rows.filter(is_reading).nth(place - before).unwrap_or_default();
            return Err(RowsError::column(
                "at",
                format!(
                    "the readings of `{name}` do not rise in time at {at}: sort by cook, channel and at, and keep one reading an instant"
                ),
            )
            .at_row(row as u64 + 1));
        }
        Ok(())
    }
}

/// What is said of a word that is none of its kind.
fn unknown(name: &str, words: &Words<'_>, row: usize) -> RowsError {
    let message = match words.at(row) {
        Some(word) if name == "role" => {
            format!("`{word}` is no role: pit, meat, ambient or other")
        }
        Some(word) => format!("`{word}` is no {name}"),
        None => "has a missing value".to_owned(),
    };
    RowsError::column(name, message).at_row(row as u64 + 1)
}

/// The channel of a name and role; it is nearly always the last one.
fn channel<'r>(
    name: &str,
    role: Role,
    channels: &'r mut Vec<ChannelReadings>,
) -> &'r mut ChannelReadings {
    let known = channels.iter().rposition(|c| c.name == name && c.role == role);
    let at = known.unwrap_or_else(|| {
        channels.push(ChannelReadings::new(name, role));
        channels.len() - 1
    });
    &mut channels[at]
}

fn position_of(word: &str, words: &mut Vec<String>) -> u32 {
    let known = words.iter().position(|known| known == word);
    known.unwrap_or_else(|| {
        words.push(word.to_owned());
        words.len() - 1
    }) as u32
}

/// Which rows lack a value, where any does.
fn gaps(array: &dyn Array) -> Option<Vec<bool>> {
    let nulls = array.nulls().filter(|nulls| nulls.null_count() > 0)?;
    Some(nulls.iter().map(|is_there| !is_there).collect())
}

/// Instants in ms, and which rows have none.
fn instants(batch: &RecordBatch) -> Result<(Vec<i64>, Option<Vec<bool>>), RowsError> {
    let array = batch
        .column_by_name("at")
        .ok_or_else(|| RowsError::column("at", "is missing (instants)"))?;
    if let Some(us) = array.as_primitive_opt::<TimestampMicrosecondType>() {
        has_zone(array.data_type())?;
        let ms = us.values().iter().map(|us| us.div_euclid(1000)).collect();
        return dated(ms, gaps(us));
    }
    if let Some(ms) = array.as_primitive_opt::<TimestampMillisecondType>() {
        has_zone(array.data_type())?;
        return dated(ms.values().to_vec(), gaps(ms));
    }
    has_zone(array.data_type())?;
    let values = match plain(batch, "at")? {
        Column::Instant(values) => values,
        other => return Err(RowsError::column("at", format!("is {}, not instants", other.kind()))),
    };
    let missing = values.iter().any(Option::is_none);
    let without = missing.then(|| values.iter().map(Option::is_none).collect());
    Ok((values.into_iter().map(Option::unwrap_or_default).collect(), without))
}

/// Instants that have a date, of those that are there.
fn dated(
    at_ms: Vec<i64>,
    without: Option<Vec<bool>>,
) -> Result<(Vec<i64>, Option<Vec<bool>>), RowsError> {
    if at_ms.iter().all(|ms| DATED_MS.contains(ms)) {
        return Ok((at_ms, without));
    }
    let is_there = |row: usize| without.as_ref().is_none_or(|without| !without[row]);
    let undated = |(row, ms): &(usize, &i64)| is_there(*row) && !DATED_MS.contains(*ms);
    match at_ms.iter().enumerate().find(undated) {
        Some((row, _)) => Err(RowsError::column("at", UNDATED).at_row(row as u64 + 1)),
        None => Ok((at_ms, without)),
    }
}

/// A time without a zone may be anybody's clock.
fn has_zone(data_type: &DataType) -> Result<(), RowsError> {
    match data_type {
        DataType::Timestamp(_, None) => Err(RowsError::column(
            "at",
            "has no time zone, so that it may be any clock's: give it the zone that it is in",
        )),
        _ => Ok(()),
    }
}

/// Temperatures, and which rows have none.
type Temperatures<'a> = (Cow<'a, [f32]>, Option<Vec<bool>>);

fn temperatures(batch: &RecordBatch) -> Result<Temperatures<'_>, RowsError> {
    let array = batch
        .column_by_name("temp_c")
        .ok_or_else(|| RowsError::column("temp_c", "is missing (floating-point numbers)"))?;
    let (values, mut without): (Cow<'_, [f32]>, _) =
        if let Some(narrow) = array.as_primitive_opt::<Float32Type>() {
            (Cow::Borrowed(narrow.values().as_ref()), gaps(narrow))
        } else if let Some(wide) = array.as_primitive_opt::<Float64Type>() {
            (wide.values().iter().map(|value| *value as f32).collect(), gaps(wide))
        } else {
            let degrees: Vec<Option<f64>> = match plain(batch, "temp_c")? {
                Column::Float(degrees) => degrees,
                Column::Int(whole) => whole.iter().map(|n| n.map(|n| n as f64)).collect(),
                other => {
                    let said = format!("is {}, not numbers", other.kind());
                    return Err(RowsError::column("temp_c", said));
                }
            };
            let missing = degrees.iter().map(Option::is_none).collect();
            (degrees.iter().map(|c| c.unwrap_or_default() as f32).collect(), Some(missing))
        };
    if values.iter().any(|value| !value.is_finite()) {
        let without = without.get_or_insert_with(|| vec![false; values.len()]);
        for (without, value) in without.iter_mut().zip(values.iter()) {
            *without |= !value.is_finite();
        }
    }
    Ok((values, without))
}

fn lines(batch: &RecordBatch) -> Result<Option<Cow<'_, [u32]>>, RowsError> {
    let Some(array) = batch.column_by_name("line") else { return Ok(None) };
    if let Some(lines) = array.as_primitive_opt::<UInt32Type>() {
        return Ok(Some(Cow::Borrowed(lines.values().as_ref())));
    }
    let Column::Int(lines) = plain(batch, "line")? else {
        return Err(RowsError::column("line", "is not whole numbers"));
    };
    let line = |line: &Option<i64>| line.and_then(|line| u32::try_from(line).ok()).unwrap_or(0);
    Ok(Some(lines.iter().map(line).collect()))
}

/// A column in the workspace's own form.
fn plain(batch: &RecordBatch, name: &str) -> Result<Column, RowsError> {
    let at = batch.schema().index_of(name).ok();
    let at = at.ok_or_else(|| RowsError::column(name, "is missing"))?;
    let only = batch.project(&[at]).map_err(|error| RowsError::column(name, error.to_string()))?;
    let schema = Schema::new(vec![Field::clone(only.schema().field(0))]);
    let table = from_batches(&schema, &[only])?;
    let column = table.columns().first().map(|(_, column)| column.clone());
    column.ok_or_else(|| RowsError::column(name, "is missing"))
}

/// A cook of a stream of batches.
#[derive(Debug)]
pub struct BatchCook {
    /// Its name.
    pub cook: String,
    /// The first of its rows, from 1.
    pub row: u64,
    /// Its readings, of no season yet; or what is wrong with its rows.
    pub readings: Result<CookReadings, RowsError>,
}

impl BatchCook {
    fn new(cook: &str, row: u64) -> Self {
        let readings = CookReadings {
            cook: cook.to_owned(),
            season: String::new(),
            channels: Vec::new(),
            sources: Vec::new(),
        };
        Self { cook: cook.to_owned(), row, readings: Ok(readings) }
    }
}

/// The cooks of a stream of batches, one after the other; a few are in memory at once. The rows of a
/// cook may go on from batch to batch, but must lie together.
pub struct CooksOfBatches<I> {
    batches: I,
    /// The last may go on in the next batch.
    decoded: VecDeque<BatchCook>,
    seen: HashSet<String>,
    /// Rows of the batches before.
    rows: u64,
}

impl<I> CooksOfBatches<I> {
    /// Goes over batches.
    pub fn new(batches: I) -> Self {
        Self { batches, decoded: VecDeque::new(), seen: HashSet::new(), rows: 0 }
    }

    fn decode(&mut self, batch: &RecordBatch) -> Result<(), RowsError> {
        let before = self.rows;
        self.rows += batch.num_rows() as u64;
        let rows = ReadingsRows::of(batch).map_err(|error| error.behind(before))?;
        for (name, run) in rows.cooks() {
            let row = before + run.start as u64 + 1;
            let name =
                name.ok_or_else(|| RowsError::column("cook", "has a missing value").at_row(row))?;
            if self.decoded.back().is_none_or(|last| last.cook != name) {
                let mut cook = BatchCook::new(name, row);
                if !self.seen.insert(name.to_owned()) {
                    let message = format!("the rows of `{name}` do not lie together: sort by cook");
                    cook.readings = Err(RowsError::column("cook", message).at_row(row));
                }
                self.decoded.push_back(cook);
            }
            if let Some(last) = self.decoded.back_mut()
                && let Ok(readings) = &mut last.readings
                && let Err(error) = rows.append(run, readings)
            {
                last.readings = Err(error.behind(before));
            }
        }
        Ok(())
    }
}

impl<I, E> Iterator for CooksOfBatches<I>
where
    I: Iterator<Item = Result<RecordBatch, E>>,
    E: From<RowsError>,
{
    type Item = Result<BatchCook, E>;

    fn next(&mut self) -> Option<Self::Item> {
        while self.decoded.len() < 2 {
            match self.batches.next() {
                Some(Ok(batch)) => {
                    if let Err(error) = self.decode(&batch) {
                        return Some(Err(error.into()));
                    }
                }
                Some(Err(error)) => return Some(Err(error)),
                None => break,
            }
        }
        self.decoded.pop_front().map(Ok)
    }
}
