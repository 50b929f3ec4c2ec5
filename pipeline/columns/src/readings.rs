//! Readings of a cook on their way from its logs into the store, however many they are.

use crate::Packed;
use cook::{ChannelReadings, CookReadings, Flag, Role};

/// Readings of one channel, as [`ChannelReadings`], packed where they are many.
#[derive(Debug, Clone, PartialEq)]
pub struct PackedChannel {
    /// The channel's name in its log.
    pub name: String,
    /// What it measures.
    pub role: Role,
    /// Instants, ms UTC, strictly increasing.
    pub at_ms: Packed<i64>,
    /// Temperatures, °C.
    pub temp_c: Packed<f32>,
    /// What is to be known of each.
    pub flag: Packed<Flag>,
    /// Index of each reading's log in [`PackedReadings::sources`].
    pub source: Packed<u32>,
    /// Line of each reading in its log, from 1.
    pub line: Packed<u32>,
}

impl PackedChannel {
    /// Number of readings.
    pub fn len(&self) -> usize {
        self.at_ms.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.at_ms.is_empty()
    }

    /// Adds a reading of another channel.
    pub fn push_from(&mut self, other: &Self, place: usize) {
        self.at_ms.push(other.at_ms.at(place));
        self.temp_c.push(other.temp_c.at(place));
        self.flag.push(other.flag.at(place));
        self.source.push(other.source.at(place));
        self.line.push(other.line.at(place));
    }

    /// An empty channel.
    pub fn new(name: impl Into<String>, role: Role) -> Self {
        ChannelReadings::new(name, role).into()
    }
}

/// All readings of one cook, as [`CookReadings`], packed where they are many.
#[derive(Debug, Clone, PartialEq)]
pub struct PackedReadings {
    /// The cook.
    pub cook: String,
    /// Its season.
    pub season: String,
    /// Its channels.
    pub channels: Vec<PackedChannel>,
    /// The logs they came from, relative to the season folder.
    pub sources: Vec<String>,
}

impl PackedReadings {
    /// The first instant of any channel, ms UTC.
    pub fn first_ms(&self) -> Option<i64> {
        self.channels.iter().filter_map(|channel| channel.at_ms.first()).min()
    }

    /// The last instant of any channel, ms UTC.
    pub fn last_ms(&self) -> Option<i64> {
        self.channels.iter().filter_map(|channel| channel.at_ms.last()).max()
    }

    /// Number of readings over all channels.
    pub fn len(&self) -> usize {
        self.channels.iter().map(PackedChannel::len).sum()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

impl From<ChannelReadings> for PackedChannel {
    fn from(channel: ChannelReadings) -> Self {
        Self {
            name: channel.name,
            role: channel.role,
            at_ms: channel.at_ms.into(),
            temp_c: channel.temp_c.into(),
            flag: channel.flag.into(),
            source: channel.source.into(),
            line: channel.line.into(),
        }
    }
}

impl From<PackedChannel> for ChannelReadings {
    fn from(channel: PackedChannel) -> Self {
        Self {
            name: channel.name,
            role: channel.role,
            at_ms: channel.at_ms.into_vec(),
            temp_c: channel.temp_c.into_vec(),
            flag: channel.flag.into_vec(),
            source: channel.source.into_vec(),
            line: channel.line.into_vec(),
        }
    }
}

impl From<PackedReadings> for CookReadings {
    fn from(readings: PackedReadings) -> Self {
        Self {
            cook: readings.cook,
            season: readings.season,
            channels: readings.channels.into_iter().map(Into::into).collect(),
            sources: readings.sources,
        }
    }
}
