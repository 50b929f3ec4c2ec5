//! Rows on one time axis: from written times to instants in order, without doubles.

use super::{clock, order};
use crate::code::Code;
use crate::zone::{Question, Trouble, Zone, resolve};
use cook::Flag;

/// Rows of one time axis: all channels of a wide log, or one of a long log.
#[derive(Default)]
pub(super) struct Series {
    /// Times as written, ms (see [`crate::time::Stamp`]).
    pub(super) ms: Vec<i64>,
    /// Whether a time has no offset of its own.
    pub(super) local: Vec<bool>,
    pub(super) line: Vec<u32>,
    /// Offset of the record in the text.
    pub(super) start: Vec<usize>,
    /// °C by channel and row; NaN where there is none.
    pub(super) values: Vec<Vec<f32>>,
    /// Rows rejected whole: index and code.
    pub(super) out: Vec<(usize, Code)>,
    /// Cells rejected: row, channel and code.
    pub(super) cells_out: Vec<(usize, usize, Code)>,
    /// Rows whose clock was put right.
    pub(super) retimed: Vec<usize>,
}

/// One channel of a series, in order.
pub(super) struct Column {
    pub(super) at_ms: Vec<i64>,
    pub(super) temp_c: Vec<f32>,
    pub(super) line: Vec<u32>,
    pub(super) flag: Vec<Flag>,
}

impl Column {
    /// With room for so many readings.
    fn of(readings: usize) -> Self {
        Self {
            at_ms: Vec::with_capacity(readings),
            temp_c: Vec::with_capacity(readings),
            line: Vec::with_capacity(readings),
            flag: Vec::with_capacity(readings),
        }
    }
}

/// What written times are to be made of.
pub(super) enum Clock<'z> {
    /// They count from the log's zero, which lies at this instant (0 where unknown).
    Elapsed(i64),
    /// Times without an offset have this one, ms east of UTC.
    Offset(i64),
    /// Times without an offset are of this zone.
    Zone(&'z jiff::tz::TimeZone),
}

impl Series {
    pub(super) fn new(channels: usize) -> Self {
        Self { values: vec![Vec::new(); channels], ..Self::default() }
    }

    /// Makes room for so many rows.
    pub(super) fn reserve(&mut self, rows: usize) {
        self.ms.reserve(rows);
        self.local.reserve(rows);
        self.line.reserve(rows);
        self.start.reserve(rows);
        self.values.iter_mut().for_each(|values| values.reserve(rows));
    }

    /// The written time of each row, `None` where it is rejected.
    pub(super) fn known_times(&self) -> Vec<Option<i64>> {
        let mut times: Vec<Option<i64>> = self.ms.iter().copied().map(Some).collect();
        for &(row, _) in &self.out {
            times[row] = None;
        }
        times
    }

    /// The instant of each row, `None` where it is rejected.
    pub(super) fn instants(
        &mut self,
        clock: &Clock<'_>,
        resets: &[clock::Reset],
    ) -> Result<Vec<Option<i64>>, Question> {
        let mut times = self.known_times();
        let mended = clock::mend(self, resets, &mut times);
        self.retimed.extend(mended);
        for row in order::strays(&times) {
            times[row] = None;
            self.out.push((row, Code::StrayTime));
        }
        match *clock {
            Clock::Elapsed(zero) => times.iter_mut().flatten().for_each(|ms| *ms += zero),
            Clock::Offset(offset) => {
                for (time, &local) in times.iter_mut().zip(&self.local) {
                    if local && let Some(ms) = time {
                        *ms -= offset;
                    }
                }
            }
            Clock::Zone(zone) => {
                let rows: Vec<usize> =
                    (0..times.len()).filter(|&i| self.local[i] && times[i].is_some()).collect();
                let local: Vec<i64> = rows.iter().filter_map(|&i| times[i]).collect();
                let (Some(&first), Some(&last)) = (local.iter().min(), local.iter().max()) else {
                    return Ok(times);
                };
                let zone = Zone::over(zone, first, last);
                let resolved = resolve(&zone, &local).map_err(|question| match question {
                    Question::Fold(at, both) => Question::Fold(rows[at], both),
                    Question::Gap(at) => Question::Gap(rows[at]),
                })?;
                for (row, instant) in rows.into_iter().zip(resolved) {
                    times[row] = instant.ok();
                    if let Err(trouble) = instant {
                        let code = match trouble {
                            Trouble::Gap => Code::TimeInGap,
                            Trouble::Twice => Code::AmbiguousTime,
                        };
                        self.out.push((row, code));
                    }
                }
            }
        }
        Ok(times)
    }

    /// Turns the rows round, for a log whose newest row stands first.
    pub(super) fn reverse(&mut self) {
        self.ms.reverse();
        self.local.reverse();
        self.line.reverse();
        self.start.reverse();
        self.values.iter_mut().for_each(|values| values.reverse());
        let last = self.ms.len().saturating_sub(1);
        self.out.iter_mut().for_each(|(row, _)| *row = last - *row);
        self.cells_out.iter_mut().for_each(|(row, _, _)| *row = last - *row);
    }

    /// The channels in time order. Of rows that tell one time twice, the first in the log
    /// counts; a later one only fills what the first leaves open. Its other cells are
    /// rejected: as `duplicate-time` where they say the same, else as `conflicting-time`.
    pub(super) fn columns(&mut self, times: &[Option<i64>]) -> Vec<Column> {
        let (order, moved) = order::sorted(times);
        let mut retimed = vec![false; times.len()];
        self.retimed.iter().for_each(|&row| retimed[row] = true);
        let mut seen: Vec<f32> = Vec::new();
        for group in order.chunk_by(|&a, &b| times[a as usize] == times[b as usize]) {
            if group.len() > 1 {
                seen.clear();
                seen.extend(self.values.iter().map(|values| values[group[0] as usize]));
                for &later in &group[1..] {
                    self.join(&mut seen, later as usize);
                }
            }
        }
        self.values
            .iter()
            .map(|values| {
                let mut column = Column::of(order.len());
                for &row in &order {
                    let row = row as usize;
                    let value = values[row];
                    if value.is_nan() {
                        continue;
                    }
                    column.at_ms.push(times[row].unwrap_or_default());
                    column.temp_c.push(value);
                    column.line.push(self.line[row]);
                    column.flag.push(if retimed[row] {
                        Flag::Retimed
                    } else if moved[row] {
                        Flag::Reordered
                    } else {
                        Flag::Good
                    });
                }
                column
            })
            .collect()
    }

    /// Settles a later row of a time for which `seen` is known already.
    fn join(&mut self, seen: &mut [f32], later: usize) {
        let (mut fills, mut repeats, mut conflicts) = (0, Vec::new(), Vec::new());
        for (channel, old) in seen.iter_mut().enumerate() {
            let new = self.values[channel][later];
            if new.is_nan() {
                continue;
            }
            if old.is_nan() {
                fills += 1;
                *old = new;
            } else {
                self.values[channel][later] = f32::NAN;
                if *old == new { repeats.push(channel) } else { conflicts.push(channel) }
            }
        }
        if fills > 0 {
            self.cells_out.extend(repeats.into_iter().map(|c| (later, c, Code::DuplicateTime)));
            self.cells_out.extend(conflicts.into_iter().map(|c| (later, c, Code::ConflictingTime)));
        } else if !conflicts.is_empty() {
            self.out.push((later, Code::ConflictingTime));
        } else if !repeats.is_empty() {
            self.out.push((later, Code::DuplicateTime));
        }
    }
}
