//! Readings as text, in generic dialects of CSV.

use crate::error::SimulateError;
use crate::measured::{Reading, ReadingRow, ReadingSet};
use cook::season::TemperatureUnit;
use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};
use std::fmt::Write;

/// How rows are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// One row an instant, one column a channel.
    Wide,
    /// One row a reading: time, channel, value.
    Long,
}

/// How instants are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeStyle {
    /// `2024-05-04 22:10:00` in the zone, no offset.
    IsoLocal,
    /// `2024-05-04T22:10:00-05:00`.
    IsoOffset,
    /// `2024-05-05T03:10:00Z`.
    IsoZulu,
    /// Local date and local clock time in two columns.
    DateAndTime,
    /// `h:mm:ss` since the first row; the preamble says `start` in local time.
    Elapsed,
}

/// Where a log says the unit of its temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitPlace {
    /// Behind each channel's name in the header.
    Header,
    /// In a row of its own under the header.
    Row,
    /// Nowhere.
    Nowhere,
}

/// A dialect.
#[derive(Debug, Clone, PartialEq)]
pub struct Dialect {
    /// Between cells.
    pub delimiter: char,
    /// A comma before decimals; without effect where the delimiter is a comma.
    pub decimal_comma: bool,
    /// Layout of rows.
    pub shape: Shape,
    /// How instants are written.
    pub time: TimeStyle,
    /// Where the unit stands.
    pub unit: UnitPlace,
    /// Lines before the header.
    pub preamble: Vec<String>,
    /// Written where nothing was read.
    pub missing: String,
    /// Carriage return and line feed at line ends, rather than a line feed alone.
    pub carriage_return: bool,
}

impl Default for Dialect {
    /// Comma, wide, local ISO time, units in the header, empty where nothing was read.
    fn default() -> Self {
        Self {
            delimiter: ',',
            decimal_comma: false,
            shape: Shape::Wide,
            time: TimeStyle::IsoLocal,
            unit: UnitPlace::Header,
            preamble: Vec::new(),
            missing: String::new(),
            carriage_return: false,
        }
    }
}

impl Dialect {
    /// The set as a file's text; local times are in `zone`.
    ///
    /// # Errors
    /// [`SimulateError::RowLength`] for a row that does not fit the channels,
    /// [`SimulateError::Instant`] for an instant outside the calendar.
    pub fn write(&self, set: &ReadingSet, zone: &TimeZone) -> Result<String, SimulateError> {
        let line_end = if self.carriage_return { "\r\n" } else { "\n" };
        let unit = match set.unit {
            TemperatureUnit::Celsius => "°C",
            TemperatureUnit::Fahrenheit => "°F",
        };
        let mut text = String::with_capacity(64 * (set.rows.len() + 4));
        for line in &self.preamble {
            text.push_str(line);
            text.push_str(line_end);
        }
        if let (TimeStyle::Elapsed, Some(first)) = (self.time, set.rows.first()) {
            let start = local(first.clock_ms, zone)?.strftime("%Y-%m-%d %H:%M:%S").to_string();
            let _ = write!(text, "start{}{start}{line_end}", self.delimiter);
        }
        self.header(&mut text, set, unit, line_end);
        let first_ms = set.rows.first().map_or(0, |row| row.clock_ms);
        for (index, row) in set.rows.iter().enumerate() {
            if row.values.len() != set.channels.len() {
                return Err(SimulateError::RowLength {
                    row: index,
                    found: row.values.len(),
                    expected: set.channels.len(),
                });
            }
            let time = self.time_cells(row.clock_ms, first_ms, zone)?;
            self.row(&mut text, set, row, &time, line_end);
        }
        Ok(text)
    }

    fn header(&self, text: &mut String, set: &ReadingSet, unit: &str, line_end: &str) {
        let mut cells: Vec<String> = match self.time {
            TimeStyle::DateAndTime => vec!["date".into(), "time".into()],
            TimeStyle::Elapsed => vec!["elapsed".into()],
            _ => vec!["time".into()],
        };
        let times = cells.len();
        let named = |name: &str| {
            if self.unit == UnitPlace::Header {
                format!("{name} ({unit})")
            } else {
                name.to_owned()
            }
        };
        match self.shape {
            Shape::Wide => cells.extend(set.channels.iter().map(|channel| named(channel))),
            Shape::Long => cells.extend(["channel".to_owned(), named("temperature")]),
        }
        let delimiter = self.delimiter.to_string();
        text.push_str(&cells.join(&delimiter));
        text.push_str(line_end);
        if self.unit == UnitPlace::Row {
            let units: Vec<&str> = (0..cells.len())
                .map(|index| match self.shape {
                    Shape::Long if index == times => "",
                    _ if index >= times => unit,
                    _ => "",
                })
                .collect();
            text.push_str(&units.join(&delimiter));
            text.push_str(line_end);
        }
    }

    fn row(
        &self,
        text: &mut String,
        set: &ReadingSet,
        row: &ReadingRow,
        time: &str,
        line_end: &str,
    ) {
        match self.shape {
            Shape::Wide => {
                text.push_str(time);
                for value in &row.values {
                    text.push(self.delimiter);
                    self.value(text, *value, set.decimals);
                }
                text.push_str(line_end);
            }
            Shape::Long => {
                for (channel, value) in set.channels.iter().zip(&row.values) {
                    let _ = write!(text, "{time}{0}{channel}{0}", self.delimiter);
                    self.value(text, *value, set.decimals);
                    text.push_str(line_end);
                }
            }
        }
    }

    fn value(&self, text: &mut String, reading: Reading, decimals: usize) {
        let Some(value) = reading.value() else {
            text.push_str(&self.missing);
            return;
        };
        let start = text.len();
        let _ = write!(text, "{value:.decimals$}");
        if self.decimal_comma && self.delimiter != ',' && decimals > 0 {
            let point = start + text[start..].find('.').unwrap_or(0);
            text.replace_range(point..=point, ",");
        }
    }

    fn time_cells(
        &self,
        at_ms: i64,
        first_ms: i64,
        zone: &TimeZone,
    ) -> Result<String, SimulateError> {
        let format = match self.time {
            TimeStyle::IsoLocal => "%Y-%m-%d %H:%M:%S".to_owned(),
            TimeStyle::IsoOffset => "%Y-%m-%dT%H:%M:%S%:z".to_owned(),
            TimeStyle::DateAndTime => format!("%Y-%m-%d{}%H:%M:%S", self.delimiter),
            TimeStyle::IsoZulu => {
                return Ok(local(at_ms, &TimeZone::UTC)?
                    .strftime("%Y-%m-%dT%H:%M:%SZ")
                    .to_string());
            }
            TimeStyle::Elapsed => {
                let seconds = (at_ms - first_ms) / 1_000;
                return Ok(format!(
                    "{}:{:02}:{:02}",
                    seconds / 3_600,
                    seconds / 60 % 60,
                    seconds % 60
                ));
            }
        };
        Ok(local(at_ms, zone)?.strftime(&format).to_string())
    }
}

/// An instant in a zone.
pub(crate) fn local(at_ms: i64, zone: &TimeZone) -> Result<ZonedDateTime, SimulateError> {
    Timestamp::from_millisecond(at_ms)
        .map(|instant| instant.to_zoned_datetime(zone.clone()))
        .map_err(|error| SimulateError::Instant { at_ms, reason: error.to_string() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measured::Sentinel;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn every_reading_stands_in_the_text_at_its_place(
            tenths in prop::collection::vec(prop::option::of(-500_i32..5_000), 1..40),
            channels in 1_usize..4,
            delimiter in prop::sample::select(vec![',', ';', '\t']),
            decimal_comma in any::<bool>(),
            long in any::<bool>(),
            carriage_return in any::<bool>(),
        ) {
            let rows: Vec<ReadingRow> = tenths
                .chunks_exact(channels)
                .enumerate()
                .map(|(index, chunk)| {
                    let at_ms = 1_714_878_600_000 + 60_000 * index as i64;
                    ReadingRow::new(at_ms, chunk.iter().map(|v| v.map(|v| f64::from(v) / 10.0)))
                })
                .collect();
            let set = ReadingSet {
                unit: TemperatureUnit::Celsius,
                decimals: 1,
                channels: (1..=channels).map(|index| format!("P{index}")).collect(),
                sentinel: Sentinel::Empty,
                rows,
            };
            let dialect = Dialect {
                delimiter,
                decimal_comma,
                carriage_return,
                shape: if long { Shape::Long } else { Shape::Wide },
                time: TimeStyle::IsoZulu,
                missing: "-".into(),
                ..Dialect::default()
            };
            let text = dialect.write(&set, &TimeZone::UTC).unwrap();
            let end = if carriage_return { "\r\n" } else { "\n" };
            let read: Vec<Option<i32>> = text
                .strip_suffix(end)
                .unwrap()
                .split(end)
                .skip(1)
                .flat_map(|line| line.split(delimiter).skip(if long { 2 } else { 1 }))
                .map(|cell| {
                    (cell != "-").then(|| {
                        (cell.replace(',', ".").parse::<f64>().unwrap() * 10.0).round() as i32
                    })
                })
                .collect();
            let written: Vec<Option<i32>> =
                tenths.chunks_exact(channels).flatten().copied().collect();
            prop_assert_eq!(read, written);
        }
    }

    fn set() -> ReadingSet {
        ReadingSet {
            unit: TemperatureUnit::Fahrenheit,
            decimals: 1,
            channels: vec!["Pit".into(), "Flat".into()],
            sentinel: Sentinel::Empty,
            // 2024-05-05 03:10:00 UTC
            rows: vec![
                ReadingRow::new(1_714_878_600_000, [Some(250.5), Some(41.0)]),
                ReadingRow::new(1_714_882_265_000, [Some(249.0), None]),
            ],
        }
    }

    fn written(dialect: &Dialect) -> String {
        dialect.write(&set(), &TimeZone::get("America/Chicago").unwrap()).unwrap()
    }

    #[test]
    fn comma_wide_local() {
        assert_eq!(
            written(&Dialect::default()),
            "time,Pit (°F),Flat (°F)\n\
             2024-05-04 22:10:00,250.5,41.0\n2024-05-04 23:11:05,249.0,\n"
        );
    }

    #[test]
    fn semicolon_decimal_comma_elapsed_with_units_row() {
        let dialect = Dialect {
            delimiter: ';',
            decimal_comma: true,
            time: TimeStyle::Elapsed,
            unit: UnitPlace::Row,
            preamble: vec!["log of one fire".into()],
            missing: "---".into(),
            carriage_return: true,
            ..Dialect::default()
        };
        assert_eq!(
            written(&dialect),
            "log of one fire\r\nstart;2024-05-04 22:10:00\r\nelapsed;Pit;Flat\r\n;°F;°F\r\n\
             0:00:00;250,5;41,0\r\n1:01:05;249,0;---\r\n"
        );
    }

    #[test]
    fn long_with_offset_and_tab_with_two_time_columns() {
        let long = Dialect { shape: Shape::Long, time: TimeStyle::IsoOffset, ..Dialect::default() };
        assert!(written(&long).contains("\n2024-05-04T22:10:00-05:00,Flat,41.0\n"));
        let tab = Dialect { delimiter: '\t', time: TimeStyle::DateAndTime, ..Dialect::default() };
        assert!(written(&tab).starts_with("date\ttime\tPit (°F)"));
        assert!(written(&tab).contains("\n2024-05-04\t23:11:05\t249.0\t\n"));
        let zulu = Dialect { time: TimeStyle::IsoZulu, ..Dialect::default() };
        assert!(written(&zulu).contains("\n2024-05-05T04:11:05Z,249.0,\n"));
    }

    #[test]
    fn a_row_that_does_not_fit_is_an_error() {
        let mut set = set();
        set.rows[1].values.pop();
        let error = Dialect::default().write(&set, &TimeZone::UTC).unwrap_err();
        assert_eq!(error, SimulateError::RowLength { row: 1, found: 1, expected: 2 });
    }
}
