//! Readings of the core by hand, from the events sheet into the readings of a cook.

use columns::{PackedChannel, PackedReadings};
use cook::{Card, ChannelReadings, CookReadings, Event, Flag, Role};
use std::collections::BTreeMap;

/// The channels of a cook's `core` events, one a place: `spot:flat`. `source` is the place of the
/// events sheet among the sources.
pub(super) fn channels(card: &Card, events: &[Event], source: u32) -> Vec<ChannelReadings> {
    let mut places: BTreeMap<String, BTreeMap<i64, f64>> = BTreeMap::new();
    for event in events.iter().filter(|event| event.cook == card.cook) {
        if let Some(spot) = event.spot_reading() {
            // Two readings of one place at one instant: the one written last.
            places.entry(spot.channel()).or_default().insert(event.at_ms, spot.temp.value());
        }
    }
    let channel = |(name, readings): (String, BTreeMap<i64, f64>)| {
        let mut channel = ChannelReadings::new(name, Role::Meat);
        channel.flag = vec![Flag::Good; readings.len()];
        channel.source = vec![source; readings.len()];
        channel.line = vec![0; readings.len()];
        for (at_ms, temp_c) in readings {
            channel.at_ms.push(at_ms);
            channel.temp_c.push(temp_c as f32);
        }
        channel
    };
    places.into_iter().map(channel).collect()
}

/// The readings of a cook without a log; `None` where nobody read its core.
pub(super) fn readings(card: &Card, events: &[Event], sheet: &str) -> Option<CookReadings> {
    let channels = channels(card, events, 0);
    (!channels.is_empty()).then(|| CookReadings {
        cook: card.cook.clone(),
        season: card.season.clone(),
        channels,
        sources: vec![sheet.to_owned()],
    })
}

/// Adds what was read by hand to what was logged.
pub(super) fn add(readings: &mut PackedReadings, card: &Card, events: &[Event], sheet: &str) {
    let source = u32::try_from(readings.sources.len()).unwrap_or(u32::MAX);
    let channels = channels(card, events, source);
    if !channels.is_empty() {
        readings.sources.push(sheet.to_owned());
        readings.channels.extend(channels.into_iter().map(PackedChannel::from));
    }
}
