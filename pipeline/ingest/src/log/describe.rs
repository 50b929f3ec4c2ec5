//! How a log was read, for a person who has ten seconds.

use super::{Log, TimeBase};
use cook::Role;
use std::fmt::Write as _;

/// Rejections that are shown.
const REJECTED_SHOWN: usize = 5;

impl Log {
    /// How the log was read in a few lines: its span and step, each channel with its first
    /// and last reading in the unit of the file and in °C, what became of its lines, then
    /// every decision on one line with what decides it otherwise. Guesses and warnings come
    /// first, since they are what a reader has to look at.
    pub fn describe(&self) -> String {
        let mut out = String::new();
        let path = &self.record.path;
        writeln!(out, "{path}: {}", self.span()).unwrap_or_default();
        for warning in &self.warnings {
            writeln!(out, "  ! {warning}").unwrap_or_default();
        }
        let width = self.channels.iter().map(|c| c.name.chars().count()).max().unwrap_or(0);
        for channel in &self.channels {
            let (name, role) = (&channel.name, channel.role);
            let Some((first, last)) = channel.temp_c.first().zip(channel.temp_c.last()) else {
                writeln!(out, "  {name:width$}  {role:<7}  no reading").unwrap_or_default();
                continue;
            };
            let hottest = channel.temp_c.iter().copied().fold(f32::NEG_INFINITY, f32::max);
            let in_unit = |celsius: f32| match channel.unit {
                Some(cook::season::TemperatureUnit::Fahrenheit) => {
                    format!("{:.1} °F", f64::from(celsius) * 1.8 + 32.0)
                }
                _ => format!("{celsius:.1} °C"),
            };
            let role = if role == Role::Other { "other?" } else { role.as_str() };
            writeln!(
                out,
                "  {name:width$}  {role:<7}  {:>6} readings, {} at first, {} at most, {} at last",
                channel.len(),
                in_unit(*first),
                in_unit(hottest),
                in_unit(*last)
            )
            .unwrap_or_default();
        }
        let account = &self.record.account;
        writeln!(out, "  {account}").unwrap_or_default();
        writeln!(
            out,
            "  cells: {} readings, {} missing, {} rejected",
            account.readings, account.missing, account.rejected_cells
        )
        .unwrap_or_default();
        for row in self.rejected.iter().take(REJECTED_SHOWN) {
            let column = row.column.as_deref().map_or(String::new(), |c| format!(" `{c}`"));
            writeln!(out, "  rejected line {}{column}: {} `{}`", row.line, row.code, row.text)
                .unwrap_or_default();
        }
        if self.rejected.len() > REJECTED_SHOWN {
            let more = self.rejected.len() - REJECTED_SHOWN;
            writeln!(out, "  … and {more} more rejected").unwrap_or_default();
        }
        for decision in &self.record.evidence {
            writeln!(
                out,
                "  {}: {} ({}) [{}]",
                decision.what, decision.taken_as, decision.because, decision.setting
            )
            .unwrap_or_default();
        }
        out
    }

    /// `2026-05-02 11:00Z to 19:30Z, a line every 60 s`, or the same in elapsed time.
    fn span(&self) -> String {
        let firsts = self.channels.iter().filter_map(|c| c.at_ms.first().copied());
        let lasts = self.channels.iter().filter_map(|c| c.at_ms.last().copied());
        let (Some(first), Some(last)) = (firsts.min(), lasts.max()) else {
            return "no reading".to_owned();
        };
        let longest = self.channels.iter().max_by_key(|channel| channel.len());
        let mut steps: Vec<i64> = longest
            .map(|channel| channel.at_ms.windows(2).map(|pair| pair[1] - pair[0]).collect())
            .unwrap_or_default();
        steps.sort_unstable();
        let step = steps
            .get(steps.len() / 2)
            .map_or(String::new(), |&step| format!(", a reading every {} s", step as f64 / 1000.0));
        let shown = |ms: i64| match self.time {
            TimeBase::Absolute => jiff::Timestamp::from_millisecond(ms)
                .map_or(ms.to_string(), |at| at.strftime("%Y-%m-%d %H:%MZ").to_string()),
            TimeBase::Elapsed => {
                format!("{}:{:02} h elapsed", ms / 3_600_000, ms / 60_000 % 60)
            }
        };
        format!("{} to {}{step}", shown(first), shown(last))
    }
}
