//! Reads polluted logs and judges every line and cell against the truth.

mod answer;
mod table;

pub(crate) use table::Table;

use cook::Flag;
use ingest::container::{Container, Kind, Limits};
use ingest::{IngestError, Log, LogChannel, ReadOptions, TimeBase, read_log_bytes};
use jiff::tz::TimeZone;
use samples::PollutedLog;
use samples::dialect::{CellTruth, Content, Expected, Instant, LineTruth, LogTruth, Verdict};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Instants may differ by so much, ms: serial dates and decimal minutes are written rounded.
const INSTANT_MS: i64 = 500;
/// Temperatures may differ by so much, K: the reader keeps single precision.
const TEMPERATURE_K: f64 = 1e-3;

/// What became of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fate {
    /// It was read.
    Read,
    /// The reader asked.
    Asked,
    /// The reader refused it for another reason.
    Refused,
    /// The reader panicked.
    Panicked,
}

/// A file judged.
#[derive(Debug, Clone)]
pub(crate) struct Judgement {
    /// What was right for it.
    pub(crate) expected: Expected,
    /// What became of it.
    pub(crate) fate: Fate,
    /// What the reader said of a file that it did not read.
    pub(crate) said: String,
    /// Data lines of which every value was read and is right.
    pub(crate) rows_equal: u64,
    /// Data lines of which something was rejected with its reason.
    pub(crate) rows_rejected: u64,
    /// Data lines that went with a rejected line before them, as where a quote is left open.
    pub(crate) rows_swallowed: u64,
    /// Values that are neither in the readings nor among what was rejected.
    pub(crate) vanished: Vec<String>,
    /// Readings that are wrong and not flagged.
    pub(crate) wrong: Vec<String>,
    /// Line accounts that do not close, or count other lines than the file has.
    pub(crate) unclosed: Vec<String>,
    /// For a file that asked: what became of it with the answer given.
    pub(crate) answered: Option<Box<Judgement>>,
}

impl Judgement {
    fn new(expected: Expected, fate: Fate, said: String) -> Self {
        Self {
            expected,
            fate,
            said,
            rows_equal: 0,
            rows_rejected: 0,
            rows_swallowed: 0,
            vanished: Vec::new(),
            wrong: Vec::new(),
            unclosed: Vec::new(),
            answered: None,
        }
    }

    /// Nothing that must never happen has happened.
    pub(crate) fn sound(&self) -> bool {
        self.fate != Fate::Panicked
            && self.wrong.is_empty()
            && self.unclosed.is_empty()
            && self.vanished.is_empty()
            && self.answered.as_ref().is_none_or(|answered| answered.sound())
    }
}

/// What is assumed of a season's logs.
fn options(file: &PollutedLog) -> ReadOptions {
    let zone = TimeZone::get(file.zone).expect("the time zone database is built in");
    ReadOptions { zone, ..ReadOptions::default() }
}

/// Reads a file and judges what came of it.
pub(crate) fn judge(file: &PollutedLog) -> Judgement {
    let mut judgement = read_and_judge(file, &|_| options(file));
    // Each log of an archive is given its own answers.
    let answered = |log: &LogTruth| answer::options(log, file, options(file));
    if judgement.fate == Fate::Asked && file.logs.iter().any(|log| answered(&log.truth).is_some()) {
        let with_answers = |log: &LogTruth| answered(log).unwrap_or_else(|| options(file));
        judgement.answered = Some(Box::new(read_and_judge(file, &with_answers)));
    }
    judgement
}

fn read_and_judge(file: &PollutedLog, options: &dyn Fn(&LogTruth) -> ReadOptions) -> Judgement {
    let expected = file.logs.iter().map(|log| log.truth.expected()).max_by_key(|e| *e as u8);
    let expected = expected.unwrap_or(Expected::Read);
    let read = catch_unwind(AssertUnwindSafe(|| read(file, options)));
    match read {
        Err(_) => Judgement::new(expected, Fate::Panicked, "panic".to_owned()),
        Ok(Err(error)) if error.needs_answer() => {
            Judgement::new(expected, Fate::Asked, error.to_string())
        }
        Ok(Err(error)) => Judgement::new(expected, Fate::Refused, error.to_string()),
        Ok(Ok(logs)) => {
            let mut judgement = Judgement::new(expected, Fate::Read, String::new());
            for (log, member) in logs.iter().zip(&file.logs) {
                Comparison::new(log, &member.truth).into(&mut judgement);
            }
            judgement
        }
    }
}

/// Every log of a file, in its order.
fn read(
    file: &PollutedLog,
    options: &dyn Fn(&LogTruth) -> ReadOptions,
) -> Result<Vec<Log>, IngestError> {
    let mut container = Container::open(Cursor::new(&file.bytes), &file.name, Limits::default())?;
    if container.kind() != Kind::Zip {
        let options = options(&file.logs[0].truth);
        return Ok(vec![read_log_bytes(&container.read(None)?, &file.name, &options)?]);
    }
    let listing = container.list()?;
    let mut logs = Vec::new();
    for member in &file.logs {
        // A log that stands alone has the file's name; an archive may hold other files besides.
        let named = listing.entries.iter().find(|entry| entry.label == member.name);
        let entry = named.or(listing.entries.first().filter(|_| file.logs.len() == 1));
        let bytes = container.read(Some(entry.expect("every log of the archive is listed")))?;
        let options = options(&member.truth);
        logs.push(read_log_bytes(&bytes, &format!("{}/{}", file.name, member.name), &options)?);
    }
    Ok(logs)
}

/// A log beside its truth.
struct Comparison<'a> {
    log: &'a Log,
    truth: &'a LogTruth,
    /// Truth of each channel that was read, by its index in the log.
    channels: Vec<Option<usize>>,
    /// Lines with something rejected.
    rejected: BTreeSet<u64>,
    zero_ms: i64,
}

impl<'a> Comparison<'a> {
    fn new(log: &'a Log, truth: &'a LogTruth) -> Self {
        let zero_ms = match log.time {
            TimeBase::Absolute => 0,
            TimeBase::Elapsed => truth.zero_ms.or(truth.first_ms()).unwrap_or(0),
        };
        Self {
            log,
            truth,
            channels: channels(&log.channels, truth),
            rejected: log.rejected.iter().map(|row| row.line).collect(),
            zero_ms,
        }
    }

    fn into(self, judgement: &mut Judgement) {
        let account = &self.log.record.account;
        if !account.closes() || account.lines != self.truth.lines.len() as u64 {
            judgement.unclosed.push(format!("{} lines; {account}", self.truth.lines.len()));
        }
        let mut read: BTreeSet<(u64, usize)> = BTreeSet::new();
        let mut wrong_lines: BTreeSet<u64> = BTreeSet::new();
        for (channel, truth) in self.log.channels.iter().zip(&self.channels) {
            for index in 0..channel.len() {
                let line = u64::from(channel.line.at(index));
                match self.check(channel, index, *truth) {
                    // What is flagged as impossible is not reported as success.
                    Err(_) if channel.flag.at(index) == Flag::OutOfRange => {}
                    Ok(cell) => {
                        read.insert((line, cell.channel));
                    }
                    Err(why) => {
                        wrong_lines.insert(line);
                        judgement.wrong.push(format!("line {line}, `{}`: {why}", channel.header));
                    }
                }
            }
        }
        self.lines(&read, &wrong_lines, judgement);
    }

    /// Every data line: equal, rejected, or vanished.
    fn lines(
        &self,
        read: &BTreeSet<(u64, usize)>,
        wrong: &BTreeSet<u64>,
        judgement: &mut Judgement,
    ) {
        // Of rows that come twice, one has to be read.
        let mut said: BTreeMap<(usize, i64), bool> = BTreeMap::new();
        let numbered = || self.truth.lines.iter().zip(1_u64..);
        let values = |line: &'a LineTruth| {
            line.cells.iter().filter(|cell| matches!(cell.content, Content::Celsius(_)))
        };
        for (line, number) in numbered() {
            for cell in values(line) {
                *said.entry((cell.channel, cell.written_ms)).or_default() |=
                    read.contains(&(number, cell.channel));
            }
        }
        for (line, number) in numbered().filter(|(line, _)| !line.cells.is_empty()) {
            let missed = values(line).find(|cell| !read.contains(&(number, cell.channel)));
            if self.rejected.contains(&number) {
                judgement.rows_rejected += 1;
            } else if wrong.contains(&number) {
                // Counted already.
            } else if let Some(cell) = missed {
                let twice = said.get(&(cell.channel, cell.written_ms)) == Some(&true);
                if line.verdict != Verdict::Read && twice {
                    continue;
                }
                if self.rejected.contains(&(number - 1)) {
                    judgement.rows_swallowed += 1;
                } else {
                    judgement.vanished.push(format!("line {number}: {}", line.text));
                }
            } else {
                judgement.rows_equal += 1;
            }
        }
    }

    /// The truth of a reading, or what is wrong with it.
    fn check(
        &self,
        channel: &LogChannel,
        index: usize,
        truth: Option<usize>,
    ) -> Result<&'a CellTruth, String> {
        let temp_c = f64::from(channel.temp_c.at(index));
        let Some(truth) = truth else {
            return Err(format!("{temp_c} °C from a column that holds no temperature"));
        };
        let line = self
            .truth
            .lines
            .get((channel.line.at(index) as usize).wrapping_sub(1))
            .ok_or("a line that the file does not have")?;
        if matches!(line.verdict, Verdict::NoReadings | Verdict::Reject) {
            return Err(format!("{temp_c} °C from {:?}: {}", line.kind, line.text));
        }
        let cell = line
            .cells
            .iter()
            .find(|cell| cell.channel == truth)
            .ok_or_else(|| format!("{temp_c} °C where the line has none: {}", line.text))?;
        let (Content::Celsius(celsius) | Content::Spoilt(Some(celsius))) = cell.content else {
            return Err(format!("{temp_c} °C where nothing was read: {}", line.text));
        };
        if (temp_c - celsius).abs() > TEMPERATURE_K {
            return Err(format!("{temp_c} °C is {celsius} °C: {}", line.text));
        }
        let at_ms = channel.at_ms.at(index) + self.zero_ms;
        let near = |ms: i64, within_ms: i64| (at_ms - ms).abs() <= within_ms.max(INSTANT_MS);
        let right = match cell.instant {
            Instant::Written => near(cell.written_ms, 0),
            Instant::Mended { within_ms } => near(cell.true_ms, within_ms),
            Instant::Either { within_ms } => {
                near(cell.written_ms, 0) || near(cell.true_ms, within_ms)
            }
        };
        if !right {
            let shown =
                |ms| jiff::Timestamp::from_millisecond(ms).map_or(String::new(), |t| t.to_string());
            let (read, meant) = (shown(at_ms), shown(cell.written_ms));
            return Err(format!("{read} is {meant} ({:?}): {}", cell.instant, line.text));
        }
        Ok(cell)
    }
}

/// Which true channel each channel read is: by its name as it is written, else, where no
/// name tells, by its place.
fn channels(read: &[LogChannel], truth: &LogTruth) -> Vec<Option<usize>> {
    let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let by_name: Vec<Option<usize>> = read
        .iter()
        .map(|channel| {
            let header = plain(&channel.header);
            let is = |wanted: &str| header == plain(wanted);
            truth.channels.iter().position(|c| is(&c.written) || is(&c.name)).or_else(|| {
                truth.channels.iter().position(|c| header.ends_with(&plain(&c.written)))
            })
        })
        .collect();
    if by_name.iter().all(Option::is_none) {
        return (0..read.len()).map(|i| (i < truth.channels.len()).then_some(i)).collect();
    }
    by_name
}
