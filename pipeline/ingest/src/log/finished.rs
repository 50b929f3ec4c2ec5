//! A log as it was read.

use crate::layout::Layout;
use columns::Packed;
use cook::season::{DateOrder, TemperatureUnit};
use cook::{Flag, RejectedRow, Role, SourceRecord};

/// What the times of a log count from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeBase {
    /// 1970-01-01T00:00:00Z: `at_ms` are instants in ms UTC.
    Absolute,
    /// The log's own zero: `at_ms` are elapsed ms.
    Elapsed,
}

/// Readings of one channel in time order: columns of equal length.
#[derive(Debug, Clone, PartialEq)]
pub struct LogChannel {
    /// The channel's name without its unit; unique in the log.
    pub name: String,
    /// The name as it stands in the log.
    pub header: String,
    /// What it measures.
    pub role: Role,
    /// Unit in which the log has it; `None` where every cell says its own.
    pub unit: Option<TemperatureUnit>,
    /// Times in ms, strictly increasing; what they count from is the log's [`TimeBase`].
    pub at_ms: Packed<i64>,
    /// Temperatures, °C.
    pub temp_c: Packed<f32>,
    /// Line of each reading, from 1.
    pub line: Packed<u32>,
    /// What is to be known of each.
    pub flag: Packed<Flag>,
}

impl Log {
    /// The unit in which the log has a channel: its own, or the one that the cells say.
    pub(crate) fn unit_of(&self, channel: &LogChannel) -> Option<TemperatureUnit> {
        channel.unit.or(self.unit_in_cells)
    }
}

impl LogChannel {
    /// Number of readings.
    pub fn len(&self) -> usize {
        self.at_ms.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.at_ms.is_empty()
    }

    /// Makes room for so many readings.
    pub(crate) fn reserve(&mut self, readings: usize) {
        self.at_ms.reserve(readings);
        self.temp_c.reserve(readings);
        self.line.reserve(readings);
        self.flag.reserve(readings);
    }
}

/// Who says the unit of a log's temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum UnitSaid {
    /// A layout, or an answer.
    User,
    /// The log itself.
    Log,
    /// The season's default.
    Default,
}

/// One log, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// Its temperature channels, in the order of the file.
    pub channels: Vec<LogChannel>,
    /// What its times count from.
    pub time: TimeBase,
    /// How it was read: hash, layout, evidence, line account.
    pub record: SourceRecord,
    /// What was read and not used, in the order of the file.
    pub rejected: Vec<RejectedRow>,
    /// Preamble, remarks and footer as key and value; a line without a key is kept under
    /// `line N`.
    pub metadata: Vec<(String, String)>,
    /// What a reader should be told although the log was read.
    pub warnings: Vec<String>,
    /// What logs of one layout have in common: delimiter and names of columns.
    pub kind: String,
    /// The first line with readings: its number, and its text, shortened.
    pub first_line: Option<(u32, String)>,
    /// The answers that were used, each with the id of its question.
    pub answers: Vec<(String, String)>,
    /// The one unit that its cells say, where they do.
    pub(crate) unit_in_cells: Option<TemperatureUnit>,
    /// Who says the unit of its temperatures.
    pub(crate) unit_said: UnitSaid,
    /// The only unit in which it is a cook, where nothing else says one.
    pub(crate) unit_by_physics: Option<TemperatureUnit>,
    pub(crate) layout: Layout,
    pub(crate) date_order: Option<DateOrder>,
}

impl Log {
    /// The order of day and month that the log's own dates prove; `None` for other dates and
    /// where it was taken from elsewhere. See [`crate::SiblingOrders`].
    pub fn proven_date_order(&self) -> Option<DateOrder> {
        self.date_order
    }

    /// Frees the readings, for a log that has been used; names and roles of its channels stay.
    pub fn give_up_readings(&mut self) {
        for channel in &mut self.channels {
            (channel.at_ms, channel.temp_c) = Default::default();
            (channel.line, channel.flag) = Default::default();
        }
    }

    /// The layout as the log was read, every decision written down; reading the log by it
    /// gives the same values.
    pub fn suggested_layout(&self) -> Layout {
        self.layout.clone()
    }
}
