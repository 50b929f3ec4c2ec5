//! Where the times of a log begin that has no dates, and what is done about a clock that is
//! not right.

use super::finished::LogChannel;
use super::plan::evidence;
use super::read::Reader;
use super::series::Series;
use super::{clock, words};
use crate::error::{IngestError, Place};
use crate::question::QuestionCode;
use crate::time;
use crate::time::TimeFormat;
use crate::zone;
use cook::Flag;
use cook::season::ClockJump;

impl Reader<'_> {
    /// Elapsed zero, from the layout or the preamble; `None` where neither speaks of one.
    ///
    /// # Errors
    /// A preamble that names a start in words that cannot be read: whatever else the zero
    /// would be taken from, the log itself says it lies elsewhere.
    pub(super) fn start(&mut self) -> Result<Option<i64>, IngestError> {
        let zone = &self.options.zone;
        let instant = |stamp: time::Stamp| match stamp.offset {
            Some(offset) => stamp.ms - i64::from(offset) * 1000,
            None => crate::zone::instant_of(zone, stamp.ms),
        };
        let (ms, because) = if let Some(start) = &self.plan.layout.time.start {
            let Some(stamp) = time::parse_iso(start.as_bytes()) else { return Ok(None) };
            (instant(stamp), "the layout says so".to_owned())
        } else {
            let about = words::is_start;
            let whole =
                self.plan.metadata.iter().filter(|(key, _)| about(key)).find_map(|(key, value)| {
                    let stamp = time::parse_iso(value.as_bytes())
                        .or_else(|| time::parse(TimeFormat::MonthName, value.as_bytes(), None))?;
                    Some((instant(stamp), format!("the preamble says `{key}: {value}`")))
                });
            let parts = || {
                let day = self.plan.metadata.iter().find_map(|(key, value)| {
                    words::is_date(key).then(|| time::parse_iso_date(value.as_bytes()))?
                })?;
                let (key, value, clock) = self.plan.metadata.iter().find_map(|(key, value)| {
                    let clock = time::parse_clock_only(value.as_bytes())?;
                    about(key).then_some((key, value, clock))
                })?;
                let local = day * time::DAY_MS + clock;
                Some((
                    crate::zone::instant_of(zone, local),
                    format!("the preamble gives a date and `{key}: {value}`"),
                ))
            };
            let Some(found) = whole.or_else(parts) else {
                if let Some((key, value)) = self.plan.metadata.iter().find(|(key, _)| about(key)) {
                    return Err(IngestError::Contradiction {
                        place: Place { text: format!("{key}: {value}"), ..Place::file(self.shown_as) }
                            .into(),
                        what: "times are elapsed, and the preamble's start is no date and time that can be read"
                            .to_owned(),
                        try_this: "layout `time.start`, an ISO 8601 date and time".to_owned(),
                    });
                }
                return Ok(None);
            };
            found
        };
        let shown = jiff::Timestamp::from_millisecond(ms)
            .map_or_else(|_| ms.to_string(), |t| t.to_string());
        self.plan.evidence.push(evidence("elapsed zero", &shown, &because, "layout `time.start`"));
        Ok(Some(ms))
    }

    /// Turns a log round that has its newest line first.
    pub(super) fn turn_round(&mut self) {
        let turned = self
            .series
            .iter_mut()
            .filter(|series| clock::newest_first(&series.ms))
            .map(Series::reverse)
            .count();
        if turned > 0 {
            self.plan.evidence.push(evidence(
                "order of lines",
                "newest first",
                "nine tenths of its steps in time go back",
                "none; lines are put in order of time",
            ));
        }
    }

    /// Gives the lines of a log without dates their days: the clock runs on over midnights
    /// in the order of the lines, and the first day is known from elsewhere.
    pub(super) fn give_dates(&mut self) -> Result<(), IngestError> {
        let mut rows: Vec<(u32, usize, usize)> = Vec::new();
        for (index, series) in self.series.iter().enumerate() {
            rows.extend(series.line.iter().enumerate().map(|(row, &line)| (line, index, row)));
        }
        rows.sort_unstable();
        if self.series.iter().any(|series| series.line.first() > series.line.last()) {
            rows.reverse();
        }
        let mut times: Vec<i64> = rows.iter().map(|&(_, s, r)| self.series[s].ms[r]).collect();
        clock::over_midnights(times.iter_mut());
        let (Some(&first), Some(&last)) = (times.iter().min(), times.iter().max()) else {
            return Ok(());
        };
        let day = self.first_day(first, last)?;
        for (&(_, series, row), ms) in rows.iter().zip(times) {
            self.series[series].ms[row] = day * time::DAY_MS + ms;
        }
        Ok(())
    }

    /// The day on which a log without dates begins, in days since 1970-01-01: the
    /// layout's, the settings', the preamble's, or the one on which the log would hold the
    /// sheet's meat-on.
    fn first_day(&mut self, first: i64, last: i64) -> Result<i64, IngestError> {
        let of = |date: jiff::civil::Date| {
            time::days_of(date.year().into(), date.month().into(), date.day().into())
        };
        let layout = self.plan.layout.time.start.as_deref().and_then(|start| {
            time::parse_iso(start.as_bytes())
                .map(|stamp| stamp.ms.div_euclid(time::DAY_MS))
                .or_else(|| time::parse_iso_date(start.as_bytes()))
        });
        let preamble = preamble_day(&self.plan.metadata)
            .map(|day| (day.day, format!("the preamble says `{}`", day.text)));
        let known = layout
            .map(|day| (day, "the layout says so".to_owned()))
            .or_else(|| {
                let day = of(self.options.date_of(self.shown_as)?)?;
                Some((day, "`[log.dates]` says so".to_owned()))
            })
            .or(preamble)
            .or_else(|| self.day_of_the_sheet(first, last));
        let Some((day, because)) = known else {
            let series = self.series.iter().find(|series| !series.ms.is_empty());
            let (line, text) = series.map_or((0, Vec::new()), |series| {
                let record = self.record_of(series, 0);
                (series.line[0], record.map_or(Vec::new(), |record| record.raw.to_vec()))
            });
            let file = self.shown_as.rsplit('/').next().unwrap_or(self.shown_as);
            return Err(IngestError::NeedsAnswer {
                place: Place::line(self.shown_as, line.into(), &text).into(),
                code: QuestionCode::FirstDay,
                question: "the log has times of day and no date".to_owned(),
                readings: [
                    "times of a day that neither the log nor the sheet names".to_owned(),
                    "times since the log began (a layout with time.format = \"elapsed-hms\")"
                        .to_owned(),
                ],
                setting: format!(
                    "`[log.dates] \"{file}\" = \"2026-05-02\"` in season.toml, the day on which it begins"
                ),
            });
        };
        let shown = jiff::Timestamp::from_millisecond(day * time::DAY_MS)
            .map_or(day.to_string(), |at| at.strftime("%Y-%m-%d").to_string());
        self.plan.evidence.push(evidence(
            "first day",
            &shown,
            &because,
            "`[log.dates]` in season.toml, layout `time.start`",
        ));
        Ok(day)
    }

    /// The one day on which the log, begun there, holds a meat-on of the sheet, or (where
    /// the sheet has no instant, and the log no midnight) the sheet's date.
    fn day_of_the_sheet(&self, first: i64, last: i64) -> Option<(i64, String)> {
        let hint = &self.options.sheet;
        let mut days: Vec<i64> = Vec::new();
        for &instant in &hint.meat_on_ms {
            let local = zone::local_ms(&self.options.zone, instant);
            let day = local.div_euclid(time::DAY_MS);
            days.extend((day - 2..=day).filter(|day| {
                (day * time::DAY_MS + first..=day * time::DAY_MS + last).contains(&local)
            }));
        }
        if hint.meat_on_ms.is_empty() && last < time::DAY_MS {
            days.extend(hint.dates.iter().filter_map(|date| {
                time::days_of(date.year().into(), date.month().into(), date.day().into())
            }));
        }
        days.sort_unstable();
        days.dedup();
        match days[..] {
            [only] => Some((only, "the sheet has its cook then".to_owned())),
            _ => None,
        }
    }

    /// A log whose clock was never set: its layout gives the instant of the first line, or
    /// nobody can tell when it was.
    pub(super) fn check_was_set(&mut self) -> Result<(), IngestError> {
        let times = || self.series.iter().flat_map(|series| series.ms.iter().copied());
        let Some(first) = times().min() else { return Ok(()) };
        if !self.series.iter().all(|series| series.ms.is_empty() || clock::never_set(&series.ms)) {
            return Ok(());
        }
        let start = self.plan.layout.time.start.clone();
        if let Some(stamp) = start.as_deref().and_then(|start| time::parse_iso(start.as_bytes())) {
            let shift = stamp.ms - i64::from(stamp.offset.unwrap_or(0)) * 1000 - first;
            for series in &mut self.series {
                series.ms.iter_mut().for_each(|ms| *ms += shift);
                series.local.iter_mut().for_each(|local| *local = stamp.offset.is_none());
                series.retimed = (0..series.ms.len()).collect();
            }
            self.plan.evidence.push(evidence(
                "clock",
                &format!("never set; its first line is {}", start.unwrap_or_default()),
                "the layout says so",
                "layout `time.start`",
            ));
            return Ok(());
        }
        let series = self.series.iter().find(|series| !series.ms.is_empty());
        let (line, text) = series.map_or((0, Vec::new()), |series| {
            let record = self.record_of(series, 0);
            (series.line[0], record.map_or(Vec::new(), |record| record.raw.to_vec()))
        });
        let year = jiff::Timestamp::from_millisecond(first)
            .map_or(String::new(), |at| at.strftime("%Y").to_string());
        Err(IngestError::NeedsAnswer {
            place: Place::line(self.shown_as, line.into(), &text).into(),
            code: QuestionCode::ClockNeverSet,
            question: format!(
                "all its dates are of {year} and after: the logger's clock was never set"
            ),
            readings: [
                "its times count from when the logger was switched on, an unknown instant"
                    .to_owned(),
                format!("it is of {year}"),
            ],
            setting: "a layout with time.start, the instant of its first line".to_owned(),
        })
    }

    /// A clock that was put back while the log ran on: the setting says which clock was
    /// right, and the other's rows are moved; without it the log is refused.
    pub(super) fn settle_jumps(
        &mut self,
        series: &mut Series,
        times: &mut [Option<i64>],
    ) -> Result<(), IngestError> {
        for jump in clock::jumps(series, times) {
            let (rows, shift) = match self.options.clock_jump {
                _ if jump.is_half_a_day(clock::interval(times)) => {
                    return Err(self.refuse_half_days(series, jump));
                }
                Some(ClockJump::FirstIsRight) => (jump.row..times.len(), jump.back),
                Some(ClockJump::LastIsRight) => (0..jump.row, -jump.back),
                None => return Err(self.ask_jump(series, times, jump)),
            };
            series.retimed.extend(rows.clone().filter(|&row| times[row].is_some()));
            times[rows].iter_mut().flatten().for_each(|ms| *ms += shift);
            self.plan.evidence.push(evidence(
                "clock",
                &format!("put back by {} at line {}", shown_span(jump.back), series.line[jump.row]),
                if shift > 0 {
                    "`[log] clock_jump`: the clock before was right, and later lines are moved"
                } else {
                    "`[log] clock_jump`: the clock after was right, and earlier lines are moved"
                },
                "`[log] clock_jump` in season.toml",
            ));
        }
        Ok(())
    }

    fn refuse_half_days(&self, series: &Series, jump: clock::Jump) -> IngestError {
        let record = self.record_of(series, jump.row);
        IngestError::Contradiction {
            place: Place::line(
                self.shown_as,
                series.line[jump.row].into(),
                record.map_or(b"", |record| record.raw),
            )
            .into(),
            what: "the clock goes back by half a day: twelve hours without AM or PM".to_owned(),
            try_this: "export the log with AM and PM, or with 24 hours".to_owned(),
        }
    }

    fn ask_jump(&self, series: &Series, times: &[Option<i64>], jump: clock::Jump) -> IngestError {
        let record = self.record_of(series, jump.row);
        let now = times[jump.row].unwrap_or_default();
        let shown = |ms: i64| {
            jiff::Timestamp::from_millisecond(ms).map_or(ms.to_string(), |at| at.to_string())
        };
        IngestError::NeedsAnswer {
            place: Place::line(
                self.shown_as,
                series.line[jump.row].into(),
                record.map_or(b"", |record| record.raw),
            )
            .into(),
            code: QuestionCode::ClockPutBack,
            question: format!(
                "the clock goes back by {} here and the log runs on",
                shown_span(jump.back)
            ),
            readings: [
                format!(
                    "this line is of {} (clock_jump = \"last-is-right\": earlier lines are moved)",
                    shown(now)
                ),
                format!(
                    "this line is of {} (clock_jump = \"first-is-right\": later lines are moved)",
                    shown(now + jump.back)
                ),
            ],
            setting: "`[log] clock_jump` in season.toml".to_owned(),
        }
    }

    /// Notes what was put in order and what was moved in time.
    pub(super) fn note_order(&mut self, channels: &[LogChannel], retimed: usize) {
        let reordered = channels
            .iter()
            .map(|channel| channel.flag.iter().filter(|flag| **flag == Flag::Reordered).count())
            .max()
            .unwrap_or(0);
        if reordered > 0 {
            self.plan.evidence.push(evidence(
                "lines out of order",
                &format!("{reordered} put in their place"),
                "their times are before those of lines above",
                "none; the readings are flagged `reordered`",
            ));
        }
        if retimed > 0 {
            self.plan.warnings.push(format!(
                "the clock was wrong on {retimed} lines and was put right; their readings are flagged `retimed`"
            ));
        }
    }
}

/// A day that a preamble names.
pub(super) struct PreambleDay {
    /// Days since 1970-01-01.
    day: i64,
    /// The line.
    text: String,
    /// The time of day that stands with it, where a log began, ms.
    pub(super) clock_ms: Option<i64>,
}

/// The day that the preamble gives the log: a line about a date or a start.
pub(super) fn preamble_day(metadata: &[(String, String)]) -> Option<PreambleDay> {
    metadata.iter().find_map(|(key, value)| {
        if !words::is_date(key) && !words::is_start(key) {
            return None;
        }
        let bytes = value.as_bytes();
        let whole = time::parse_iso(bytes).map(|stamp| stamp.ms);
        let day = time::parse_iso_date(bytes)
            .or_else(|| Some(time::parse_date(TimeFormat::MonthName, bytes)?.0));
        Some(PreambleDay {
            day: whole.map(|ms| ms.div_euclid(time::DAY_MS)).or(day)?,
            text: format!("{key}: {value}"),
            clock_ms: whole.map(|ms| ms.rem_euclid(time::DAY_MS)),
        })
    })
}

fn shown_span(ms: i64) -> String {
    let minutes = (ms + 30_000) / 60_000;
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}
