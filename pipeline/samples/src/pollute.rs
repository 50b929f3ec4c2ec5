//! Clean readings as messy exports, several things wrong at once, with the truth beside.
//!
//! [`polluted`] draws a recording, at least three [`Family`]s of what makes exports hard to
//! read, and writes the file. The truth says of every line what a reader may do with it: its
//! values equal, the line rejected, or the whole file a question. The same seed and index
//! give the same file.
//!
//! | module | its one job |
//! |---|---|
//! | [`family`] | the kinds of pollution, and which of them go together |
//! | `recording` | readings to pollute |
//! | `clock` | clocks that are put wrong, daylight saving |
//! | `rows` | rows doubled, moved, cut, glued, spoilt |

mod clock;
pub mod family;
mod recording;
mod rows;

pub use family::Family;

use crate::archive::{Container, zip};
use crate::dialect::{
    ClockStyle, DateStyle, Delimiter, Dialect, ElapsedStyle, ExtraColumn, FileEnd, Header,
    LogTruth, NumberStyle, RowEnd, Shape, TimeStyle, UnitPlace, WrittenLog, ZoneStyle, one_of,
};
use jiff::tz::TimeZone;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use simulate::measured::ReadingSet;
use std::collections::BTreeSet;

/// Time zones of the seasons that logs come from.
const ZONES: [&str; 3] = ["America/Chicago", "America/Denver", "America/New_York"];

/// A messy export, with the truth beside.
#[derive(Debug, Clone, PartialEq)]
pub struct PollutedLog {
    /// File name; its ending says the container.
    pub name: String,
    /// The file.
    pub bytes: Vec<u8>,
    /// IANA time zone of the season that it belongs to.
    pub zone: &'static str,
    /// What is wrong with it, at least three kinds.
    pub families: BTreeSet<Family>,
    /// How it was written, before rows were spoilt.
    pub dialect: Dialect,
    /// The logs in the file: one, or several where it is an archive.
    pub logs: Vec<PollutedMember>,
}

/// A log in a file.
#[derive(Debug, Clone, PartialEq)]
pub struct PollutedMember {
    /// Its name in the archive; the file's own where it stands alone.
    pub name: String,
    /// The truth.
    pub truth: LogTruth,
}

/// The `index`th polluted log of a run.
///
/// # Panics
/// Never, unless a change of the recordings takes them out of the calendar.
pub fn polluted(seed: u64, index: u64) -> PollutedLog {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(index);
    let families = family::draw(&mut random);
    let zone_name = one_of(&mut random, &ZONES);
    let zone = TimeZone::get(zone_name).expect("the time zone database is built in");

    let mut dialect = dialect(&families, &mut random);
    let mut set = recording::draw(&families, &mut dialect, &zone, &mut random);
    let clock = clock::disturb(&mut set, &families, &dialect, &zone, &mut random);
    let written_zone = clock.written_zone.as_ref().unwrap_or(&zone);

    let mut page = dialect.page(&set, written_zone).expect("the recording's rows fit its channels");
    clock.mark(&mut page);
    rows::spoil(&mut page, &families, &dialect, &set, &mut random);
    dialect.cut(&mut page);
    let mut log = dialect.finish(&page, &set, written_zone);
    log.truth.questions.extend(clock.asks);
    in_file(log, dialect, families, zone_name, &mut random)
}

/// The dialect that the families ask for.
fn dialect(families: &BTreeSet<Family>, random: &mut ChaCha8Rng) -> Dialect {
    let has = |family: Family| families.contains(&family);
    let mut dialect = Dialect { capitals: random.random_bool(0.5), ..Dialect::default() };
    for family in families {
        match family {
            Family::Encoding => dialect.draw_encoding(random),
            Family::Delimiter => dialect.draw_delimiter(random),
            Family::LineEnds => dialect.draw_line_ends(random),
            Family::Container => dialect.draw_container(random),
            Family::Preamble => dialect.draw_preamble(random),
            Family::HeaderForm => dialect.draw_header(random),
            Family::RepeatedHeader => dialect.draw_repeated_header(random),
            Family::Footer => dialect.draw_footer(random),
            Family::LongForm => dialect.shape = Shape::Long,
            Family::DateStyle => draw_date(&mut dialect, random),
            Family::NumericTime => draw_numeric_time(&mut dialect, random),
            Family::Elapsed => draw_elapsed(&mut dialect, random),
            Family::ClockOnly => {
                let clock = one_of(random, &[ClockStyle::TwentyFour, ClockStyle::Twelve]);
                dialect.time = TimeStyle::ClockOnly { clock, date_told: random.random_bool(0.7) };
            }
            Family::UnitPlace => draw_unit(&mut dialect, random),
            Family::NumberStyle => draw_numbers(&mut dialect, random),
            Family::HeaderWords => dialect.draw_language(random),
            Family::Quotes => dialect.draw_quotes(random),
            Family::Sentinels => dialect.draw_absent(random),
            Family::ExtraColumns => dialect.draw_extras(random),
            Family::RowEnds => dialect.draw_row_ends(random),
            Family::FileEnd => dialect.draw_file_end(random),
            _ => {}
        }
    }
    // What one family needs another must not take away.
    if has(Family::HeaderWords) && dialect.language == crate::dialect::Language::English {
        dialect.language = crate::dialect::Language::German;
    }
    if dialect.header == Header::None
        && (has(Family::RepeatedHeader) || has(Family::HeaderWords) || has(Family::Quotes))
    {
        dialect.header = Header::Two;
    }
    if dialect.delimiter == Delimiter::Spaces && (has(Family::Quotes) || has(Family::RowEnds)) {
        dialect.delimiter = Delimiter::Pipe;
    }
    if dialect.extras == [ExtraColumn::Note] && dialect.delimiter == Delimiter::Spaces {
        dialect.extras = vec![ExtraColumn::Fan];
    }
    if has(Family::Footer) && matches!(dialect.file_end, FileEnd::Lost(_)) {
        dialect.file_end = FileEnd::NoLineEnd;
    }
    if has(Family::Footer) && dialect.shape == Shape::Long && dialect.footer.is_empty() {
        dialect.footer = vec!["End of log".to_owned()];
    }
    // A line that may end early does not show that it was cut.
    if dialect.row_end == RowEnd::Ragged && has(Family::CutLines) {
        dialect.row_end = RowEnd::Empty(2);
    }
    if has(Family::DaylightSaving)
        && let TimeStyle::Calendar { zone, .. } = &mut dialect.time
    {
        *zone = ZoneStyle::Local;
    }
    dialect.make_sensible();
    dialect
}

fn draw_date(dialect: &mut Dialect, random: &mut ChaCha8Rng) {
    loop {
        dialect.draw_time(random);
        let TimeStyle::Calendar { date, clock, joint, .. } = dialect.time else { continue };
        // The plainest of all is no pollution.
        if date != DateStyle::ISO || clock != ClockStyle::TwentyFour || joint.is_none() {
            return;
        }
    }
}

fn draw_numeric_time(dialect: &mut Dialect, random: &mut ChaCha8Rng) {
    while !matches!(dialect.time, TimeStyle::Epoch(_) | TimeStyle::Serial) {
        dialect.draw_time(random);
    }
}

fn draw_elapsed(dialect: &mut Dialect, random: &mut ChaCha8Rng) {
    let unit = one_of(random, &[ElapsedStyle::Hms, ElapsedStyle::Minutes, ElapsedStyle::Seconds]);
    dialect.time = TimeStyle::Elapsed {
        unit,
        told: random.random_bool(0.9),
        start_told: random.random_bool(0.5),
    };
}

fn draw_unit(dialect: &mut Dialect, random: &mut ChaCha8Rng) {
    dialect.draw_unit(random);
    if dialect.unit == UnitPlace::Header {
        dialect.unit = UnitPlace::Row;
    }
}

fn draw_numbers(dialect: &mut Dialect, random: &mut ChaCha8Rng) {
    while dialect.number == NumberStyle::default() {
        dialect.draw_numbers(random);
    }
}

/// The log in its container; an archive may hold another log and a remark.
fn in_file(
    mut log: WrittenLog,
    dialect: Dialect,
    families: BTreeSet<Family>,
    zone: &'static str,
    random: &mut ChaCha8Rng,
) -> PollutedLog {
    let mut logs = Vec::new();
    if dialect.container == Container::Zip && random.random_bool(0.5) {
        let other_zone = TimeZone::get(zone).expect("the time zone database is built in");
        let plain = Dialect::default();
        let set: ReadingSet =
            recording::draw(&BTreeSet::new(), &mut plain.clone(), &other_zone, random);
        let other = plain.write(&set, &other_zone).expect("the recording's rows fit");
        let text = dialect.encoding.encode(&log.truth.text());
        let (first, second) = ("pit/log-1.csv", "pit/log-2.csv");
        let remark = b"Two logs of one fire.\n".to_vec();
        log.bytes = zip(&[(first, text), ("read me.txt", remark), (second, other.bytes)]);
        logs.push(PollutedMember { name: first.to_owned(), truth: log.truth });
        logs.push(PollutedMember { name: second.to_owned(), truth: other.truth });
    } else {
        let name = log.name.clone();
        logs.push(PollutedMember { name, truth: log.truth });
    }
    PollutedLog { name: log.name, bytes: log.bytes, zone, families, dialect, logs }
}

#[cfg(test)]
mod tests;
