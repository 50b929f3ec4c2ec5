//! The channels of one cook as the card corrects them, with exchanged probes put right.

use crate::calibration::{Calibration, ProbeKind};
use crate::clean::exchange::{self, Exchange};
use crate::clean::put_in::put_in_late;
use crate::samples::{OwnedSamples, Samples};
use cook::spot::is_spot_channel;
use cook::{Card, ChannelReadings, CookReadings, Role};

/// One channel ready to be cleaned.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// Its place among the cook's channels.
    pub index: usize,
    /// Its name in the log.
    pub name: String,
    /// What it measures.
    pub role: Role,
    /// Its usable readings, corrected.
    pub samples: OwnedSamples,
}

/// Pit and meats of one cook.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Channels {
    /// The pit channel with the most usable readings.
    pub pit: Option<Channel>,
    /// Every meat channel that was logged.
    pub meats: Vec<Channel>,
    /// The core as it was read by hand, a channel a place.
    pub by_hand: Vec<Channel>,
    /// Exchanges that were put right.
    pub exchanges: Vec<Exchange>,
    /// Meat channels whose probe was put in late, and its first reading in the meat, ms UTC: what was
    /// before is left out of their samples.
    pub put_in_ms: Vec<(String, i64)>,
}

impl Channels {
    /// Takes the channels of a cook, exchanges put right, the card's corrections applied. A
    /// correction belongs to the probe: it is applied after the exchange is put right.
    pub fn of(readings: &CookReadings, card: &Card) -> Self {
        let channel = |(index, channel): (usize, &ChannelReadings)| Channel {
            index,
            name: channel.name.clone(),
            role: channel.role,
            samples: OwnedSamples::usable(channel, 0.0),
        };
        let of_role = |role: Role| {
            readings.channels.iter().enumerate().filter(move |(_, c)| c.role == role).map(channel)
        };
        let mut channels = Self {
            pit: of_role(Role::Pit).max_by_key(|channel| channel.samples.at_ms.len()),
            meats: of_role(Role::Meat).filter(|c| !is_spot_channel(&c.name)).collect(),
            // Another thermometer than the card's: its corrections are not this one's.
            by_hand: of_role(Role::Meat).filter(|c| is_spot_channel(&c.name)).collect(),
            exchanges: Vec::new(),
            put_in_ms: Vec::new(),
        };
        channels.put_right();
        let meat = Calibration::of(card, ProbeKind::Meat);
        let pit = Calibration::of(card, ProbeKind::Pit);
        for channel in channels.meats.iter_mut().chain(&mut channels.pit) {
            let correction = if channel.role == Role::Pit { &pit } else { &meat };
            for value in &mut channel.samples.temp_c {
                *value = correction.apply(*value);
            }
        }
        channels.leave_out_air();
        channels
    }

    fn leave_out_air(&mut self) {
        let none = OwnedSamples::default();
        let pit = self.pit.as_ref().map_or(none.view(), |pit| pit.samples.view());
        for meat in &mut self.meats {
            if let Some(from_ms) = put_in_late(meat.samples.view(), pit) {
                let in_meat = meat.samples.view().within(from_ms, i64::MAX);
                let (at_ms, temp_c) = (in_meat.at_ms.to_vec(), in_meat.temp_c.to_vec());
                meat.samples = OwnedSamples { at_ms, temp_c };
                self.put_in_ms.push((meat.name.clone(), from_ms));
            }
        }
    }

    fn put_right(&mut self) {
        // Pit against each meat first: only then are two meats what they are called.
        for meat in 0..self.meats.len() {
            let Some(mut pit) = self.pit.take() else { break };
            let found = exchange::find(pit.samples.view(), self.meats[meat].samples.view(), true);
            for span in found {
                self.note(&pit.name, &self.meats[meat].name.clone(), span, "the meat channel is hotter than the pit channel there, and both leap at its ends");
                swap(&mut pit.samples, &mut self.meats[meat].samples, span);
            }
            self.pit = Some(pit);
        }
        for first in 0..self.meats.len() {
            for second in first + 1..self.meats.len() {
                let (head, tail) = self.meats.split_at_mut(second);
                let (a, b) = (&mut head[first], &mut tail[0]);
                let found = exchange::find(a.samples.view(), b.samples.view(), false);
                let names = (a.name.clone(), b.name.clone());
                for &span in &found {
                    swap(&mut a.samples, &mut b.samples, span);
                }
                for span in found {
                    self.note(&names.0, &names.1, span, "each goes on where the other left off");
                }
            }
        }
    }

    fn note(&mut self, a: &str, b: &str, (start_ms, end_ms): (i64, i64), why: &str) {
        self.exchanges.push(Exchange {
            channels: (a.to_owned(), b.to_owned()),
            start_ms,
            end_ms,
            because: format!("`{a}` and `{b}` are taken for exchanged: {why}."),
        });
    }
}

/// Exchanges the readings of two channels in `[start, end)`.
fn swap(a: &mut OwnedSamples, b: &mut OwnedSamples, (start_ms, end_ms): (i64, i64)) {
    let cut = |samples: Samples<'_>| {
        let part = |samples: Samples<'_>| (samples.at_ms.to_vec(), samples.temp_c.to_vec());
        (
            part(samples.within(i64::MIN, start_ms)),
            part(samples.within(start_ms, end_ms)),
            part(samples.within(end_ms, i64::MAX)),
        )
    };
    let (of_a, of_b) = (cut(a.view()), cut(b.view()));
    let join = |parts: [&(Vec<i64>, Vec<f64>); 3]| OwnedSamples {
        at_ms: parts.iter().flat_map(|part| part.0.iter().copied()).collect(),
        temp_c: parts.iter().flat_map(|part| part.1.iter().copied()).collect(),
    };
    *a = join([&of_a.0, &of_b.1, &of_a.2]);
    *b = join([&of_b.0, &of_a.1, &of_b.2]);
}
