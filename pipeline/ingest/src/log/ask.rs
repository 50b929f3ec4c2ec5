//! Questions that only the user can answer, and what makes a log refused.

use super::finished::LogChannel;
use super::read::{Reader, Unitless};
use super::series::Series;
use crate::code::Code;
use crate::error::{IngestError, Place};
use crate::question::QuestionCode;
use crate::zone::Question;
use cook::{Celsius, RejectedRow, Role};

/// So many times as many cells carry their unit as lack one, where those lost it.
const WITH_UNIT: u64 = 20;

impl Reader<'_> {
    /// Cells of which nothing says the unit: where nearly all others carry theirs, they
    /// lost it and are rejected; else the unit is a question.
    pub(super) fn settle_unitless(&mut self) -> Result<(), IngestError> {
        let Some(unitless) = &self.unitless else { return Ok(()) };
        if self.with_unit < WITH_UNIT * self.unitless_cells {
            return Err(self.ask_unit(unitless));
        }
        for (series, row, channel) in std::mem::take(&mut self.without_unit) {
            self.series[series].cells_out.push((row, channel, Code::NoUnit));
        }
        Ok(())
    }

    pub(super) fn ask_unit(&self, unitless: &Unitless) -> IngestError {
        let value = unitless.value;
        let fahrenheit = format!(
            "{value} °F, which is {:.1} °C (`unit = \"F\"`)",
            Celsius::from_fahrenheit(value).value()
        );
        let celsius =
            format!("{value} °C, which is {:.1} °F (`unit = \"C\"`)", Celsius(value).fahrenheit());
        // Meat is done below 100 °C; a pit above 180 °C is a grill, not a smoker.
        let likely_f = self.largest[1] > 105.0 || self.largest[0] > 180.0;
        let (likely, greatest) = if likely_f {
            ("°F", self.largest[0].max(self.largest[1]))
        } else {
            ("°C", self.largest[0].max(self.largest[1]))
        };
        IngestError::NeedsAnswer {
            place: Place::cell(
                self.shown_as,
                unitless.line.into(),
                &unitless.column,
                &unitless.text,
            )
            .into(),
            code: QuestionCode::UnitOfTemperatures,
            question: format!(
                "the log does not say the unit of its temperatures ({likely} is likelier: they reach {greatest})"
            ),
            readings: if likely_f { [fahrenheit, celsius] } else { [celsius, fahrenheit] },
            setting: format!(
                "[log] unit = \"{}\" in season.toml, or `unit` in a layout",
                if likely_f { "F" } else { "C" }
            ),
        }
    }

    pub(super) fn ask_zone(&self, series: &Series, question: Question) -> IngestError {
        let (row, code, what, readings) = match question {
            Question::Fold(row, [first, second]) => {
                let show = |ms: i64| {
                    jiff::Timestamp::from_millisecond(ms)
                        .map_or_else(|_| ms.to_string(), |t| t.to_string())
                };
                (
                    row,
                    QuestionCode::HourTwice,
                    "the clock showed this hour twice, and the rows around it do not tell which is meant",
                    [
                        format!("the first time, {}", show(first)),
                        format!("the second time, {}", show(second)),
                    ],
                )
            }
            Question::Gap(row) => (
                row,
                QuestionCode::HourSkipped,
                "the log runs through an hour that the clock skipped: it does not follow daylight saving",
                [
                    "the logger's clock kept the old offset from here on".to_owned(),
                    "the logger's clock was an hour ahead before this line".to_owned(),
                ],
            ),
        };
        let record = self.record_of(series, row);
        IngestError::NeedsAnswer {
            place: Place::line(self.shown_as, series.line[row].into(), record.map_or(b"", |r| r.raw)).into(),
            code,
            question: what.to_owned(),
            readings,
            setting: "a layout with time.utc_offset = \"-05:00\" (the offset that the logger's clock keeps), or an export with offsets".to_owned(),
        }
    }

    pub(super) fn check(&mut self, channels: &[LogChannel]) -> Result<(), IngestError> {
        let unusable: Vec<&RejectedRow> = self
            .rejected
            .iter()
            .filter(|row| row.column.is_none())
            // These lines were understood.
            .filter(|row| {
                ![Code::DuplicateTime, Code::ClockReset]
                    .iter()
                    .any(|code| code.as_str() == row.code)
            })
            .collect();
        let lines = self.account.data + self.account.rejected;
        if unusable.len() as u64 * 2 > lines {
            let mut counts: Vec<(&str, u64)> = Vec::new();
            for row in &unusable {
                match counts.iter_mut().find(|(code, _)| *code == row.code) {
                    Some((_, count)) => *count += 1,
                    None => counts.push((&row.code, 1)),
                }
            }
            let code = counts.iter().max_by_key(|(_, count)| *count).map_or("", |(code, _)| code);
            let first = unusable.iter().filter(|row| row.code == code).min_by_key(|row| row.line);
            return Err(IngestError::MostLinesRejected {
                place: first.map_or_else(|| Place::file(self.shown_as), |row| Place::line(self.shown_as, row.line, row.text.as_bytes())).into(),
                rejected: unusable.len() as u64,
                lines,
                code: code.to_owned(),
                try_this: "`cookstudy inspect` to see how the log was read, and a layout that says it right".to_owned(),
            });
        }
        if channels.iter().all(LogChannel::is_empty) {
            return Err(IngestError::NoTable {
                place: Place::file(self.shown_as).into(),
                what: "the log has no reading".to_owned(),
                try_this: "look at the file: every cell says that no probe is there, or its rows are missing".to_owned(),
            });
        }
        let has = |role: Role| channels.iter().any(|channel| channel.role == role);
        if !has(Role::Pit) && !has(Role::Meat) {
            let names: Vec<&str> = channels.iter().map(|c| c.header.as_str()).collect();
            self.plan.warnings.push(format!(
                "nothing says which channel is the pit and which is meat ({}): `[log.roles] \"{}\" = \"pit\"` (or \"meat\") in season.toml says it",
                names.join(", "),
                names[0]
            ));
            return Ok(());
        }
        for role in [Role::Pit, Role::Meat] {
            if !has(role) {
                self.plan.warnings.push(format!(
                    "no channel is known as {role}; `[log.roles]` in season.toml can name one"
                ));
            }
        }
        Ok(())
    }
}
