//! Readings set aside until all cooks of their part are there.
//!
//! Cooks come in the order of their logs, and a part is written whole. They wait in one file
//! without a name, so that nothing is left of it however the program ends, and memory holds no
//! more than where each lies. Whole numbers lie there as steps, zigzag in base 128. Of a cook with very many
//! readings a column is written and read in pieces.

use crate::error::StoreError;
use columns::PackedChannel;
use cook::{ChannelReadings, CookReadings, Flag, Role};
use std::fs::File;
use std::io::{self, BufWriter, Read, Seek, SeekFrom, Write};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// Values that are turned to bytes at once.
const PIECE: usize = 1 << 13;
/// Bytes that are read at once.
const READ: usize = 1 << 16;

/// The columns of a channel, in the order in which they lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    At,
    Temperature,
    Flag,
    Source,
    Line,
}

const PARTS: usize = 5;

/// A channel of readings, however it is held.
pub(super) trait ChannelRows {
    fn about(&self) -> (&str, Role, usize, Option<i64>);
    fn at(&self) -> impl Iterator<Item = i64>;
    fn temperatures(&self) -> impl Iterator<Item = f32>;
    fn flags(&self) -> impl Iterator<Item = Flag>;
    fn sources(&self) -> impl Iterator<Item = u32>;
    fn lines(&self) -> impl Iterator<Item = u32>;
}

impl ChannelRows for ChannelReadings {
    fn about(&self) -> (&str, Role, usize, Option<i64>) {
        (&self.name, self.role, self.len(), self.at_ms.first().copied())
    }

    fn at(&self) -> impl Iterator<Item = i64> {
        self.at_ms.iter().copied()
    }

    fn temperatures(&self) -> impl Iterator<Item = f32> {
        self.temp_c.iter().copied()
    }

    fn flags(&self) -> impl Iterator<Item = Flag> {
        self.flag.iter().copied()
    }

    fn sources(&self) -> impl Iterator<Item = u32> {
        self.source.iter().copied()
    }

    fn lines(&self) -> impl Iterator<Item = u32> {
        self.line.iter().copied()
    }
}

impl ChannelRows for PackedChannel {
    fn about(&self) -> (&str, Role, usize, Option<i64>) {
        (&self.name, self.role, self.len(), self.at_ms.first())
    }

    fn at(&self) -> impl Iterator<Item = i64> {
        self.at_ms.iter()
    }

    fn temperatures(&self) -> impl Iterator<Item = f32> {
        self.temp_c.iter()
    }

    fn flags(&self) -> impl Iterator<Item = Flag> {
        self.flag.iter()
    }

    fn sources(&self) -> impl Iterator<Item = u32> {
        self.source.iter()
    }

    fn lines(&self) -> impl Iterator<Item = u32> {
        self.line.iter()
    }
}

/// The bytes of a channel's columns, and how many each has.
pub(super) struct Bytes {
    bytes: Vec<u8>,
    lengths: [u64; PARTS],
}

impl Bytes {
    pub(super) fn of<C: ChannelRows>(channel: &C) -> Self {
        let mut bytes = Vec::with_capacity(channel.about().2 * 11);
        // Writing into memory cannot fail.
        let lengths = write(channel, &mut bytes).unwrap_or_default();
        Self { bytes, lengths }
    }
}

/// Writes a channel's columns one after the other.
fn write<C: ChannelRows>(channel: &C, to: &mut impl Write) -> io::Result<[u64; PARTS]> {
    Ok([
        write_steps(to, channel.at())?,
        write_pieces(to, channel.temperatures(), |out, temp_c| {
            out.extend_from_slice(&temp_c.to_le_bytes());
        })?,
        write_pieces(to, channel.flags(), |out, flag| {
            out.push(Flag::ALL.iter().position(|known| *known == flag).unwrap_or_default() as u8);
        })?,
        write_steps(to, channel.sources().map(i64::from))?,
        write_steps(to, channel.lines().map(i64::from))?,
    ])
}

/// Writes values piece by piece; how many bytes they took.
fn write_pieces<T>(
    to: &mut impl Write,
    values: impl Iterator<Item = T>,
    mut push: impl FnMut(&mut Vec<u8>, T),
) -> io::Result<u64> {
    let mut out = Vec::with_capacity(PIECE + 16);
    let mut written = 0;
    for value in values {
        push(&mut out, value);
        if out.len() >= PIECE {
            to.write_all(&out)?;
            written += out.len() as u64;
            out.clear();
        }
    }
    to.write_all(&out)?;
    Ok(written + out.len() as u64)
}

fn write_steps(to: &mut impl Write, numbers: impl Iterator<Item = i64>) -> io::Result<u64> {
    let mut before = 0_i64;
    write_pieces(to, numbers, |out, number| {
        let step = number.wrapping_sub(before);
        before = number;
        let mut zigzag = ((step << 1) ^ (step >> 63)) as u64;
        while zigzag >= 0x80 {
            out.push(zigzag as u8 | 0x80);
            zigzag >>= 7;
        }
        out.push(zigzag as u8);
    })
}

/// Cooks set aside.
#[derive(Debug)]
pub(super) struct Spill {
    file: File,
    folder: PathBuf,
    end: u64,
}

/// Where one cook lies, and all of it but its columns.
#[derive(Debug)]
pub(super) struct Slot {
    pub(super) cook: String,
    season: String,
    pub(super) sources: Vec<String>,
    pub(super) channels: Vec<ChannelSlot>,
}

/// Where a channel lies.
#[derive(Debug)]
pub(super) struct ChannelSlot {
    pub(super) name: String,
    pub(super) role: Role,
    pub(super) rows: usize,
    pub(super) first_ms: Option<i64>,
    parts: [Range<u64>; PARTS],
}

impl Spill {
    pub(super) fn new(folder: &Path) -> Result<Self, StoreError> {
        let file = tempfile::tempfile_in(folder).map_err(|e| StoreError::io(folder, e))?;
        Ok(Self { file, folder: folder.to_owned(), end: 0 })
    }

    /// Sets a cook aside: `ready` are the bytes of its channels, or nothing, where they are many.
    pub(super) fn put<C: ChannelRows>(
        &mut self,
        (cook, season, sources): (&str, &str, &[String]),
        channels: &[C],
        ready: &[Bytes],
    ) -> Result<Slot, StoreError> {
        let io = |e| StoreError::io(&self.folder, e);
        self.file.seek(SeekFrom::Start(self.end)).map_err(io)?;
        let mut slots = Vec::with_capacity(channels.len());
        for (index, channel) in channels.iter().enumerate() {
            let lengths = if let Some(ready) = ready.get(index) {
                self.file.write_all(&ready.bytes).map_err(io)?;
                ready.lengths
            } else {
                let mut out = BufWriter::new(&self.file);
                let lengths = write(channel, &mut out).map_err(io)?;
                out.flush().map_err(io)?;
                lengths
            };
            let parts = lengths.map(|length| {
                let from = self.end;
                self.end += length;
                from..self.end
            });
            let (name, role, rows, first_ms) = channel.about();
            slots.push(ChannelSlot { name: name.to_owned(), role, rows, first_ms, parts });
        }
        Ok(Slot {
            cook: cook.to_owned(),
            season: season.to_owned(),
            sources: sources.to_vec(),
            channels: slots,
        })
    }

    fn get(&mut self, range: Range<u64>, to: &mut Vec<u8>) -> Result<(), StoreError> {
        let length = (range.end - range.start) as usize;
        let before = to.len();
        to.resize(before + length, 0);
        self.file
            .seek(SeekFrom::Start(range.start))
            .and_then(|_| self.file.read_exact(&mut to[before..]))
            .map_err(|e| StoreError::io(&self.folder, e))
    }
}

impl Slot {
    /// Number of readings.
    pub(super) fn rows(&self) -> usize {
        self.channels.iter().map(|channel| channel.rows).sum()
    }

    /// The readings of this cook, read channel by channel.
    pub(super) fn read(&self, spill: &Mutex<Spill>) -> Result<CookReadings, StoreError> {
        let channels = self.channels.iter().map(|channel| channel.readings(spill));
        Ok(CookReadings {
            cook: self.cook.clone(),
            season: self.season.clone(),
            channels: channels.collect::<Result<_, StoreError>>()?,
            sources: self.sources.clone(),
        })
    }
}

impl ChannelSlot {
    fn readings(&self, spill: &Mutex<Spill>) -> Result<ChannelReadings, StoreError> {
        let numbers = |part| self.part(spill, part).numbers(self.rows);
        let narrow = |numbers: Vec<i64>| numbers.into_iter().map(|number| number as u32).collect();
        Ok(ChannelReadings {
            name: self.name.clone(),
            role: self.role,
            at_ms: numbers(Part::At)?,
            temp_c: self.part(spill, Part::Temperature).temperatures(self.rows)?,
            flag: self.part(spill, Part::Flag).flags(self.rows)?,
            source: narrow(numbers(Part::Source)?),
            line: narrow(numbers(Part::Line)?),
        })
    }

    /// A column, to be read from its beginning on.
    pub(super) fn part<'s>(&self, spill: &'s Mutex<Spill>, part: Part) -> PartOfSpill<'s> {
        let range = self.parts[part as usize].clone();
        PartOfSpill { spill, range, bytes: Vec::new(), used: 0, number: 0 }
    }
}

/// A column that is read in pieces.
pub(super) struct PartOfSpill<'s> {
    spill: &'s Mutex<Spill>,
    /// What was not read yet.
    range: Range<u64>,
    bytes: Vec<u8>,
    used: usize,
    number: i64,
}

impl PartOfSpill<'_> {
    /// Reads on, unless so many bytes are there.
    fn fill(&mut self, least: usize) -> Result<(), StoreError> {
        if self.bytes.len() - self.used < least && self.range.start < self.range.end {
            self.bytes.drain(..self.used);
            self.used = 0;
            let until = self.range.end.min(self.range.start + READ as u64);
            let mut spill = self.spill.lock().unwrap_or_else(PoisonError::into_inner);
            spill.get(self.range.start..until, &mut self.bytes)?;
            self.range.start = until;
        }
        Ok(())
    }

    fn byte(&mut self) -> u8 {
        let byte = self.bytes.get(self.used).copied().unwrap_or(0);
        self.used += 1;
        byte
    }

    /// The next whole numbers.
    pub(super) fn numbers(&mut self, rows: usize) -> Result<Vec<i64>, StoreError> {
        let mut numbers = Vec::with_capacity(rows);
        for _ in 0..rows {
            // No number has more in base 128.
            self.fill(10)?;
            let (mut zigzag, mut shift) = (0_u64, 0);
            loop {
                let byte = self.byte();
                zigzag |= u64::from(byte & 0x7F) << shift;
                shift += 7;
                if byte < 0x80 {
                    break;
                }
            }
            let step = (zigzag >> 1) as i64 ^ -((zigzag & 1) as i64);
            self.number = self.number.wrapping_add(step);
            numbers.push(self.number);
        }
        Ok(numbers)
    }

    /// The next temperatures.
    pub(super) fn temperatures(&mut self, rows: usize) -> Result<Vec<f32>, StoreError> {
        let mut temperatures = Vec::with_capacity(rows);
        for _ in 0..rows {
            self.fill(4)?;
            temperatures.push(f32::from_le_bytes([(); 4].map(|()| self.byte())));
        }
        Ok(temperatures)
    }

    /// The next flags.
    pub(super) fn flags(&mut self, rows: usize) -> Result<Vec<Flag>, StoreError> {
        let mut flags = Vec::with_capacity(rows);
        for _ in 0..rows {
            self.fill(1)?;
            flags.push(Flag::ALL[usize::from(self.byte()) % Flag::ALL.len()]);
        }
        Ok(flags)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn steps_come_back(numbers in prop::collection::vec(any::<i64>(), 0..50)) {
            let mut pit = ChannelReadings::new("Pit", Role::Pit);
            pit.at_ms.clone_from(&numbers);
            let folder = tempfile::tempdir().unwrap();
            let mut spill = Spill::new(folder.path()).unwrap();
            let bytes = Bytes::of(&pit);
            let slot = spill.put(("a", "s", &[]), &[pit], &[bytes]).unwrap();
            let spill = Mutex::new(spill);
            let mut part = slot.channels[0].part(&spill, Part::At);
            let half = numbers.len() / 2;
            let back = [part.numbers(half).unwrap(), part.numbers(numbers.len() - half).unwrap()];
            prop_assert_eq!(back.concat(), numbers);
        }
    }

    fn cook(number: u32, readings: u32) -> CookReadings {
        let mut pit = ChannelReadings::new("Pit", Role::Pit);
        for i in 0..readings {
            pit.at_ms.push(1_700_000_000_000 + i64::from(i) * 30_000);
            pit.temp_c.push(120.0 + (i % 1000) as f32);
            pit.flag.push(Flag::ALL[i as usize % 4]);
            pit.source.push(i % 2);
            pit.line.push(900_000 - i);
        }
        CookReadings {
            cook: number.to_string(),
            season: "2026".into(),
            channels: vec![pit, ChannelReadings::new("Flat", Role::Meat)],
            sources: vec!["a.csv".into(), "b.csv".into()],
        }
    }

    #[test]
    fn cooks_come_back_in_any_order_however_they_were_written() {
        let folder = tempfile::tempdir().unwrap();
        let mut spill = Spill::new(folder.path()).unwrap();
        let cooks = [cook(1, 1), cook(2, 3), cook(3, 100_000), cook(4, 4)];
        let mut slots = Vec::new();
        for (place, cook) in cooks.iter().enumerate() {
            let about = (&*cook.cook, &*cook.season, &cook.sources[..]);
            let ready: Vec<Bytes> = cook.channels.iter().map(Bytes::of).collect();
            let packed: Vec<PackedChannel> =
                cook.channels.iter().cloned().map(PackedChannel::from).collect();
            slots.push(match place % 2 {
                0 => spill.put(about, &packed, &[]).unwrap(),
                _ => spill.put(about, &cook.channels, &ready).unwrap(),
            });
        }
        let spill = Mutex::new(spill);
        for (cook, slot) in cooks.iter().zip(&slots).rev() {
            assert_eq!(slot.read(&spill).unwrap(), *cook);
            assert_eq!(slot.rows(), cook.len());
        }
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "it has a name");
    }
}
