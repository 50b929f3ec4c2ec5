//! How a log was read, for a person who has ten seconds.

use super::finished::{Log, LogChannel, TimeBase};
use cook::Evidence;
use cook::season::TemperatureUnit;
use jiff::tz::TimeZone;
use std::fmt::Write as _;

/// Rejections that are shown.
const REJECTED_SHOWN: usize = 5;

impl Log {
    /// How the log was read, with clock times of a zone: its span and step; its first line as it stands and as it was
    /// read, where a wrong reading shows at once; what to know; each channel with its role,
    /// unit and temperatures in the unit of the file; what became of its lines; then every
    /// other decision with its reason and the setting that decides otherwise.
    pub fn describe(&self, zone: &TimeZone) -> String {
        let mut lines = vec![self.record.path.clone(), format!("  {}", self.span(zone))];
        lines.extend(self.first_line_twice(zone));
        lines.extend(self.warnings.iter().map(|warning| format!("  ! {warning}")));
        lines.push(String::new());
        lines.extend(self.channel_table());
        lines.push(String::new());
        lines.extend(self.accounts());
        lines.push(String::new());
        lines.extend(self.decisions());
        lines.join("\n") + "\n"
    }

    /// `2026-05-02 11:00 to 19:30 UTC, 8 h 30 min, a reading every 60 s`, or the same in
    /// elapsed time.
    fn span(&self, zone: &TimeZone) -> String {
        let firsts = self.channels.iter().filter_map(|c| c.at_ms.first());
        let lasts = self.channels.iter().filter_map(|c| c.at_ms.last());
        let (Some(first), Some(last)) = (firsts.min(), lasts.max()) else {
            return "no reading".to_owned();
        };
        let longest = self.channels.iter().max_by_key(|channel| channel.len());
        let mut steps: Vec<i64> = longest
            .map(|channel| channel.at_ms.pairs().map(|(one, next)| next - one).collect())
            .unwrap_or_default();
        steps.sort_unstable();
        let step = steps
            .get(steps.len() / 2)
            .map_or(String::new(), |&step| format!(", a reading every {} s", step as f64 / 1000.0));
        let minutes = (last - first) / 60_000;
        let (first, last) = (self.time_in_words(first, zone), self.time_in_words(last, zone));
        format!("{first} to {last}, {} h {:02} min{step}", minutes / 60, minutes % 60)
    }

    fn time_in_words(&self, ms: i64, zone: &TimeZone) -> String {
        match self.time {
            TimeBase::Absolute => {
                jiff::Timestamp::from_millisecond(ms).map_or(ms.to_string(), |at| {
                    at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M:%S %Z").to_string()
                })
            }
            TimeBase::Elapsed => {
                let seconds = ms / 1000;
                let (minute, second) = (seconds / 60 % 60, seconds % 60);
                format!("{}:{minute:02}:{second:02} since its own zero", seconds / 3600)
            }
        }
    }

    /// The first line with readings, as it stands and as it was read.
    fn first_line_twice(&self, zone: &TimeZone) -> Vec<String> {
        let Some((line, text)) = &self.first_line else { return Vec::new() };
        let mut time = None;
        let mut values = Vec::new();
        for channel in &self.channels {
            // Rows may have been put in order: the first line need not be the first reading.
            if let Some(at) = channel.line.iter().position(|read| read == *line) {
                time = time.or(Some(channel.at_ms.at(at)));
                values.push(format!(
                    "{} {}",
                    channel.name,
                    in_unit(channel, channel.temp_c.at(at))
                ));
            }
        }
        let Some(time) = time else { return Vec::new() };
        let label = format!("line {line}");
        let width = label.len().max("read as".len());
        vec![
            format!("  {label:width$}  {text}"),
            format!(
                "  {:width$}  {}: {}",
                "read as",
                self.time_in_words(time, zone),
                values.join(", ")
            ),
        ]
    }

    fn decision(&self, what: &str, channel: &LogChannel) -> Option<&Evidence> {
        let what = format!("{what} of `{}`", channel.name);
        self.record.evidence.iter().rev().find(|evidence| evidence.what == what)
    }

    /// Channels with what decided their roles and units.
    fn channel_table(&self) -> Vec<String> {
        let heads = ["channel", "role", "unit", "readings", "first", "highest", "last", "because"];
        let mut rows = vec![heads.map(str::to_owned)];
        for channel in &self.channels {
            let at = |temp: Option<f32>| temp.map_or("–".to_owned(), |t| in_unit(channel, t));
            let highest = channel.temp_c.iter().reduce(f32::max);
            // Says so where the role is a guess.
            let role = self.decision("role", channel).map(|evidence| evidence.taken_as.clone());
            let because: Vec<&str> = ["role", "unit"]
                .iter()
                .filter_map(|what| Some(self.decision(what, channel)?.because.as_str()))
                .collect();
            rows.push([
                channel.name.clone(),
                role.unwrap_or_else(|| channel.role.as_str().to_owned()),
                channel.unit.map_or("in its cells".to_owned(), |unit| symbol(unit).to_owned()),
                channel.len().to_string(),
                at(channel.temp_c.first()),
                at(highest),
                at(channel.temp_c.last()),
                because.join("; "),
            ]);
        }
        let mut lines = aligned(&rows);
        for what in ["role", "unit"] {
            let setting = self.channels.iter().find_map(|c| self.decision(what, c));
            if let Some(evidence) = setting {
                lines.push(format!("    another {what}: {}", evidence.setting));
            }
        }
        lines
    }

    fn accounts(&self) -> Vec<String> {
        let account = &self.record.account;
        let mut lines = vec![
            format!("  {account}"),
            format!(
                "  cells: {} readings, {} missing, {} rejected",
                account.readings, account.missing, account.rejected_cells
            ),
        ];
        for row in self.rejected.iter().take(REJECTED_SHOWN) {
            let column = row.column.as_deref().map_or(String::new(), |c| format!(" `{c}`"));
            let (line, code, text) = (row.line, &row.code, &row.text);
            lines.push(format!("  rejected: line {line}{column}: {code} `{text}`"));
        }
        if self.rejected.len() > REJECTED_SHOWN {
            let more = self.rejected.len() - REJECTED_SHOWN;
            lines.push(format!("  … and {more} more rejected"));
        }
        lines
    }

    /// The decisions that are not about one channel's role or unit.
    fn decisions(&self) -> Vec<String> {
        let of_channels: Vec<String> = self
            .channels
            .iter()
            .flat_map(|c| ["role", "unit"].map(|what| format!("{what} of `{}`", c.name)))
            .collect();
        self.record
            .evidence
            .iter()
            .filter(|evidence| !of_channels.contains(&evidence.what))
            .flat_map(|evidence| {
                [
                    format!(
                        "  {}: {}, because {}",
                        evidence.what, evidence.taken_as, evidence.because
                    ),
                    format!("    otherwise: {}", evidence.setting),
                ]
            })
            .collect()
    }
}

/// A temperature in the unit that the file has it in; °C where each cell says its own.
fn in_unit(channel: &LogChannel, celsius: f32) -> String {
    match channel.unit {
        Some(TemperatureUnit::Fahrenheit) => format!("{:.1} °F", f64::from(celsius) * 1.8 + 32.0),
        _ => format!("{celsius:.1} °C"),
    }
}

fn symbol(unit: TemperatureUnit) -> &'static str {
    match unit {
        TemperatureUnit::Celsius => "°C",
        TemperatureUnit::Fahrenheit => "°F",
    }
}

/// Rows in columns, from the left.
fn aligned<const N: usize>(rows: &[[String; N]]) -> Vec<String> {
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max();
    let widths: Vec<usize> = (0..N).map(|column| width(column).unwrap_or(0)).collect();
    rows.iter()
        .map(|row| {
            let mut line = String::from(" ");
            for (cell, width) in row.iter().zip(&widths) {
                write!(line, " {cell:<width$} ").unwrap_or_default();
            }
            line.trim_end().to_owned()
        })
        .collect()
}
