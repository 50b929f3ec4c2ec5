//! What was done to the readings of one cook, channel by channel and stretch by stretch.

use super::cook::CurvePoint;
use columns::tables::channels::ChannelRow;
use columns::tables::flags::FlagRow;

/// One stretch of one channel, and where it is drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stretch {
    /// What is to be known of it.
    pub row: FlagRow,
    /// Its first reading, minutes since meat-on.
    pub start_min: f64,
    /// Its last reading, minutes since meat-on.
    pub end_min: f64,
    /// Local clock time of the first.
    pub start_local: String,
    /// Readings to draw where they were left out: all, or some evenly spaced.
    pub points: Vec<CurvePoint>,
}

/// What was done to the readings of one cook.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cleaning {
    /// Its channels, in the log's order.
    pub channels: Vec<ChannelRow>,
    /// Every stretch of which there is something to know.
    pub stretches: Vec<Stretch>,
    /// What a person should check, one or two sentences each.
    pub to_check: Vec<String>,
}

impl Cleaning {
    /// Readings of a channel that were left out.
    pub fn removed(&self, channel: &str) -> i64 {
        let rows = self.stretches.iter().map(|stretch| &stretch.row);
        rows.filter(|row| row.removed && row.channel == channel).map(|row| row.readings).sum()
    }
}
