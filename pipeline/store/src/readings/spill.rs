//! Readings set aside until all cooks of their part are there.
//!
//! Cooks come in the order of their logs, and a part is written whole. They wait in one file
//! without a name, so that nothing is left of it however the program ends, and memory holds no
//! more than where each lies.

use crate::error::StoreError;
use cook::{ChannelReadings, CookReadings, Flag, Role};
use std::fs::File;
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

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
    cook: String,
    season: String,
    sources: Vec<String>,
    channels: Vec<ChannelSlot>,
}

#[derive(Debug)]
struct ChannelSlot {
    name: String,
    role: Role,
    rows: usize,
    from: u64,
    bytes: usize,
}

impl Spill {
    pub(super) fn new(folder: &Path) -> Result<Self, StoreError> {
        let file = tempfile::tempfile_in(folder).map_err(|e| StoreError::io(folder, e))?;
        Ok(Self { file, folder: folder.to_owned(), end: 0 })
    }

    /// Sets a cook aside: `columns` are the [`columns`] of its channels.
    pub(super) fn put(
        &mut self,
        readings: &CookReadings,
        columns: impl Iterator<Item = Vec<u8>>,
    ) -> Result<Slot, StoreError> {
        let io = |e| StoreError::io(&self.folder, e);
        self.file.seek(SeekFrom::Start(self.end)).map_err(io)?;
        let mut channels = Vec::with_capacity(readings.channels.len());
        for (channel, bytes) in readings.channels.iter().zip(columns) {
            self.file.write_all(&bytes).map_err(io)?;
            channels.push(ChannelSlot {
                name: channel.name.clone(),
                role: channel.role,
                rows: channel.len(),
                from: self.end,
                bytes: bytes.len(),
            });
            self.end += bytes.len() as u64;
        }
        Ok(Slot {
            cook: readings.cook.clone(),
            season: readings.season.clone(),
            sources: readings.sources.clone(),
            channels,
        })
    }

    fn get(&mut self, channel: &ChannelSlot) -> Result<Vec<u8>, StoreError> {
        let mut bytes = vec![0; channel.bytes];
        self.file
            .seek(SeekFrom::Start(channel.from))
            .and_then(|_| self.file.read_exact(&mut bytes))
            .map_err(|e| StoreError::io(&self.folder, e))?;
        Ok(bytes)
    }
}

/// The columns of a channel as bytes: of whole numbers the steps, zigzag in base 128.
pub(super) fn columns(channel: &ChannelReadings) -> Vec<u8> {
    let mut out = Vec::with_capacity(channel.len() * 11);
    push_steps(&mut out, channel.at_ms.iter().copied());
    out.extend(channel.temp_c.iter().flat_map(|temperature| temperature.to_le_bytes()));
    out.extend(
        channel
            .flag
            .iter()
            .map(|flag| Flag::ALL.iter().position(|known| known == flag).unwrap_or_default() as u8),
    );
    push_steps(&mut out, channel.source.iter().map(|source| i64::from(*source)));
    push_steps(&mut out, channel.line.iter().map(|line| i64::from(*line)));
    out
}

impl Slot {
    /// The readings of this cook, read channel by channel.
    pub(super) fn read(&self, spill: &Mutex<Spill>) -> Result<CookReadings, StoreError> {
        let channels = self.channels.iter().map(|channel| {
            let bytes = spill.lock().unwrap_or_else(PoisonError::into_inner).get(channel)?;
            Ok(channel.readings(&bytes))
        });
        Ok(CookReadings {
            cook: self.cook.clone(),
            season: self.season.clone(),
            channels: channels.collect::<Result<_, StoreError>>()?,
            sources: self.sources.clone(),
        })
    }
}

impl ChannelSlot {
    fn readings(&self, bytes: &[u8]) -> ChannelReadings {
        let (mut rest, rows) = (bytes, self.rows);
        ChannelReadings {
            name: self.name.clone(),
            role: self.role,
            at_ms: take_steps(&mut rest, rows).collect(),
            temp_c: take(&mut rest, rows * 4)
                .chunks_exact(4)
                .map(|bytes| f32::from_le_bytes(bytes.try_into().unwrap_or_default()))
                .collect(),
            flag: take(&mut rest, rows).iter().map(|at| Flag::ALL[usize::from(*at)]).collect(),
            source: take_steps(&mut rest, rows).map(|source| source as u32).collect(),
            line: take_steps(&mut rest, rows).map(|line| line as u32).collect(),
        }
    }
}

fn push_steps(out: &mut Vec<u8>, numbers: impl Iterator<Item = i64>) {
    let mut before = 0_i64;
    for number in numbers {
        let step = number.wrapping_sub(before);
        before = number;
        let mut zigzag = ((step << 1) ^ (step >> 63)) as u64;
        while zigzag >= 0x80 {
            out.push(zigzag as u8 | 0x80);
            zigzag >>= 7;
        }
        out.push(zigzag as u8);
    }
}

fn take_steps<'r>(rest: &'r mut &[u8], rows: usize) -> impl Iterator<Item = i64> + 'r {
    let mut number = 0_i64;
    (0..rows).map(move |_| {
        let (mut zigzag, mut shift) = (0_u64, 0);
        while let Some((byte, behind)) = rest.split_first() {
            *rest = behind;
            zigzag |= u64::from(byte & 0x7F) << shift;
            shift += 7;
            if *byte < 0x80 {
                break;
            }
        }
        let step = (zigzag >> 1) as i64 ^ -((zigzag & 1) as i64);
        number = number.wrapping_add(step);
        number
    })
}

fn take<'b>(rest: &mut &'b [u8], bytes: usize) -> &'b [u8] {
    let (taken, behind) = rest.split_at(bytes);
    *rest = behind;
    taken
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn steps_come_back(numbers in prop::collection::vec(any::<i64>(), 0..50)) {
            let mut bytes = Vec::new();
            push_steps(&mut bytes, numbers.iter().copied());
            let mut rest = &bytes[..];
            let back: Vec<i64> = take_steps(&mut rest, numbers.len()).collect();
            prop_assert_eq!(back, numbers);
            prop_assert!(rest.is_empty());
        }
    }

    #[test]
    fn cooks_come_back_in_any_order() {
        let folder = tempfile::tempdir().unwrap();
        let mut spill = Spill::new(folder.path()).unwrap();
        let cooks: Vec<CookReadings> = (1..4)
            .map(|number: u32| {
                let mut pit = ChannelReadings::new("Pit", Role::Pit);
                for i in 0..number {
                    pit.at_ms.push(1_700_000_000_000 + i64::from(i) * 30_000);
                    pit.temp_c.push(120.0 + i as f32);
                    pit.flag.push(Flag::ALL[i as usize]);
                    pit.source.push(i % 2);
                    pit.line.push(900 - i);
                }
                CookReadings {
                    cook: number.to_string(),
                    season: "2026".into(),
                    channels: vec![pit, ChannelReadings::new("Flat", Role::Meat)],
                    sources: vec!["a.csv".into(), "b.csv".into()],
                }
            })
            .collect();
        let slots: Vec<Slot> = cooks
            .iter()
            .map(|cook| spill.put(cook, cook.channels.iter().map(columns)).unwrap())
            .collect();
        let spill = Mutex::new(spill);
        for (cook, slot) in cooks.iter().zip(&slots).rev() {
            assert_eq!(slot.read(&spill).unwrap(), *cook);
        }
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "it has a name");
    }
}
