//! What was done to a cook's readings, in words.

use columns::tables::channels::ChannelRow;
use cook::{CalibrationSource, ChannelPart, FlagKind, LeadReason, Units, Unlike};

use super::{listed, plural};
use crate::data::{Cleaning, Stretch};
use crate::units::{Quantity, number, signed, with_unit};

/// What was done, as a row's name.
pub(crate) fn stretch_action(kind: FlagKind) -> &'static str {
    match kind {
        FlagKind::Impossible => "impossible value left out",
        FlagKind::NoReading => "number for “no reading” left out",
        FlagKind::Spike => "spike left out",
        FlagKind::Edge => "edge of a sudden fall left out",
        FlagKind::WrapDip => "dip at a wrap bridged",
        FlagKind::Dip => "dip of a moved probe bridged",
        FlagKind::Stuck => "stuck probe left out",
        FlagKind::Exchanged => "exchanged with another channel, put right",
        FlagKind::LidOpen => "lid open, marked",
        FlagKind::Gap => "nothing logged",
        FlagKind::Unplugged => "probe unplugged while others went on",
    }
}

/// The sign that stands for it in a drawing.
pub(crate) fn stretch_sign(kind: FlagKind) -> &'static str {
    match kind {
        FlagKind::Impossible | FlagKind::NoReading => "▽",
        FlagKind::Spike => "×",
        FlagKind::Edge => "+",
        FlagKind::WrapDip | FlagKind::Dip => "○",
        FlagKind::Stuck => "□",
        FlagKind::Exchanged => "⋀⋀⋀",
        FlagKind::LidOpen => "⋀",
        FlagKind::Gap => "|··|",
        FlagKind::Unplugged => "/··/",
    }
}

/// The sign in words, for captions.
fn sign_in_words(kind: FlagKind) -> &'static str {
    match kind {
        FlagKind::Impossible | FlagKind::NoReading => "triangles: impossible values",
        FlagKind::Spike => "slanted crosses: spikes",
        FlagKind::Edge => "upright crosses: edges of sudden falls",
        FlagKind::WrapDip | FlagKind::Dip => "rings: dips of a moved probe",
        FlagKind::Stuck => "squares: a stuck probe",
        FlagKind::Exchanged => "a zigzag: exchanged probes, put right",
        FlagKind::LidOpen => "a roof: the lid open",
        FlagKind::Gap => "a dotted line: nothing logged",
        FlagKind::Unplugged => "a dotted line with slanted ends: an unplugged probe",
    }
}

/// The signs that a drawing of this cook has, as sentences; empty without any.
pub(crate) fn signs_sentence(cleaning: &Cleaning) -> String {
    let of = |in_track: bool| {
        let mut words: Vec<&str> = FlagKind::ALL
            .iter()
            .copied()
            .filter(|kind| cleaning.stretches.iter().any(|stretch| stretch.row.flag == *kind))
            .filter(|kind| in_track != kind.removes())
            .map(sign_in_words)
            .collect();
        words.dedup();
        words.into_iter().map(str::to_owned).collect::<Vec<String>>()
    };
    let (left_out, in_track) = (of(false), of(true));
    let beside = if left_out.is_empty() {
        String::new()
    } else {
        format!(
            "Readings left out are signs beside the lines, those beyond the axis at its edge ({}). ",
            left_out.join("; ")
        )
    };
    if in_track.is_empty() {
        return beside;
    }
    format!("{beside}Just above the phases: {}. ", in_track.join("; "))
}

/// One stretch, as shown when pointed at.
pub(crate) fn stretch_sentence(stretch: &Stretch, units: Units) -> String {
    let row = &stretch.row;
    let size = row.size_c.map_or(String::new(), |c| format!(", {} off", difference(c, units)));
    let readings = match usize::try_from(row.readings) {
        Ok(n) if n > 0 => format!(", {}", plural(n, "reading")),
        _ => String::new(),
    };
    format!(
        "{}: {} from {}, {}{readings}{size}",
        row.channel,
        stretch_action(row.flag),
        stretch.start_local,
        super::duration(stretch.end_min - stretch.start_min)
    )
}

fn difference(c: f64, units: Units) -> String {
    let quantity = Quantity::TemperatureDifference;
    with_unit(&signed(quantity.value(c, units), quantity.decimals(units)), quantity.unit(units))
}

/// A temperature as a probe test states it, to a tenth.
fn tenth(c: f64, units: Units) -> String {
    with_unit(&number(Quantity::Temperature.value(c, units), 1), Quantity::Temperature.unit(units))
}

/// The part that a channel plays.
pub(crate) fn part(part: ChannelPart) -> &'static str {
    match part {
        ChannelPart::Lead => "core (the lead)",
        ChannelPart::Pit => "pit",
        ChannelPart::OtherMeat => "other meat",
        ChannelPart::NotUsed => "only drawn",
    }
}

/// A probe's correction and what it rests on.
pub(crate) fn correction(channel: &ChannelRow, units: Units) -> String {
    let (offset_c, slope) = (channel.offset_c, channel.slope);
    match channel.calibration {
        CalibrationSource::None => "none: the card states no test".into(),
        CalibrationSource::Stated => {
            format!("{}, as the card states", difference(offset_c, units))
        }
        CalibrationSource::Ice | CalibrationSource::Boiling | CalibrationSource::IceAndBoiling => {
            let boiling_c = channel.boiling_c.zip(channel.boils_c);
            let ice = channel.ice_c.map(|c| format!("{} in melting ice", tenth(c, units)));
            let boiling = boiling_c.map(|(read, boils)| {
                format!("{} in water that boils at {}", tenth(read, units), tenth(boils, units))
            });
            let read: Vec<String> = ice.into_iter().chain(boiling).collect();
            let by = match (channel.ice_c, boiling_c) {
                (Some(cold), Some((hot, _))) => format!(
                    "{} at the ice point to {} at the boiling point",
                    difference(offset_c + slope * cold, units),
                    difference(offset_c + slope * hot, units)
                ),
                _ => difference(offset_c, units),
            };
            format!("{by}: it read {}", listed(&read))
        }
    }
}

/// Why the lead leads, and how each other meat compares with it.
pub(crate) fn channel_sentences(cleaning: &Cleaning, finish_c: f64, units: Units) -> Vec<String> {
    let finish = Quantity::Temperature.show(finish_c, units);
    let meats = cleaning
        .channels
        .iter()
        .filter(|c| matches!(c.part, ChannelPart::Lead | ChannelPart::OtherMeat))
        .count();
    let mut out = Vec::new();
    for channel in &cleaning.channels {
        if channel.part == ChannelPart::Lead {
            let why = match channel.lead_reason.unwrap_or(LeadReason::ByCard) {
                LeadReason::ByCard => "the season sheet names it".to_owned(),
                LeadReason::OnlyOne => {
                    "it is the only meat channel with readings in this cook".to_owned()
                }
                LeadReason::LastToArrive => format!(
                    "of {meats} meat channels it is the last to arrive at {finish}, and a cook is done when its slowest part is"
                ),
                LeadReason::Farthest => {
                    let highest = channel.highest_c.map_or(String::new(), |c| {
                        format!(": it never passed {}", Quantity::Temperature.show(c, units))
                    });
                    format!("of {meats} meat channels it is the farthest from {finish}{highest}")
                }
            };
            out.push(format!("“{}” is taken for the core: {why}.", channel.channel));
        }
    }
    for channel in &cleaning.channels {
        if channel.part == ChannelPart::OtherMeat {
            let said: Vec<String> = [
                channel.mean_difference_c.map(|c| {
                    let higher = if c < 0.0 { "lower" } else { "higher" };
                    format!("reads {} {higher} than the lead on average", unsigned(c, units))
                }),
                channel.finish_after_lead_min.map(|min| {
                    let when = if min < 0.0 { "before" } else { "after" };
                    format!("arrives at {finish} {} {when} it", super::duration(min.abs()))
                }),
                channel.difference_at_finish_c.map(|c| {
                    let higher = if c < 0.0 { "lower" } else { "higher" };
                    format!("is {} {higher} where the lead finishes", unsigned(c, units))
                }),
            ]
            .into_iter()
            .flatten()
            .collect();
            let mut sentence = if said.is_empty() {
                format!("“{}” has too few readings to be compared.", channel.channel)
            } else {
                format!("“{}” {}.", channel.channel, listed(&said))
            };
            if let Some(unlike) = channel.unlike {
                sentence.push(' ');
                sentence += &unlike_sentence(unlike, channel.unlike_by_c.unwrap_or(0.0), units);
            }
            out.push(sentence);
        }
    }
    out
}

fn unsigned(c: f64, units: Units) -> String {
    let quantity = Quantity::TemperatureDifference;
    with_unit(
        &number(quantity.value(c.abs(), units), quantity.decimals(units)),
        quantity.unit(units),
    )
}

fn unlike_sentence(unlike: Unlike, by_c: f64, units: Units) -> String {
    match unlike {
        Unlike::InAir => {
            "It reads unlike a probe in this meat: it follows the pit, so it may be in the air."
                .into()
        }
        Unlike::BeginsApart => format!(
            "It reads unlike a probe in this meat: it begins {} {} than the lead, so it may be in another piece.",
            unsigned(by_c, units),
            if by_c < 0.0 { "colder" } else { "hotter" }
        ),
        Unlike::HardlyWarms => {
            "It reads unlike a probe in this meat: it hardly warms while the lead does.".into()
        }
        Unlike::SteadyDifference => format!(
            "It reads {} {} all along, the raw beginning included: one of the two probes is off. Test both in ice.",
            unsigned(by_c, units),
            if by_c < 0.0 { "lower" } else { "higher" }
        ),
        Unlike::OtherCourse => {
            "It reads unlike a probe in this meat: it does not warm when the lead does.".into()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::tables::flags::FlagRow;

    #[test]
    fn corrections_say_by_how_much_and_why_in_the_readers_unit() {
        let ice = ChannelRow {
            calibration: CalibrationSource::Ice,
            offset_c: -0.5,
            ice_c: Some(0.5),
            ..ChannelRow::default()
        };
        assert_eq!(
            correction(&ice, Units::Us),
            "\u{2212}0.9\u{a0}°F: it read 32.9\u{a0}°F in melting ice"
        );
        let both = ChannelRow {
            calibration: CalibrationSource::IceAndBoiling,
            offset_c: -1.0,
            slope: 0.02,
            ice_c: Some(1.0),
            boiling_c: Some(94.0),
            boils_c: Some(94.9),
            ..ChannelRow::default()
        };
        assert_eq!(
            correction(&both, Units::Metric),
            "\u{2212}1.0\u{a0}°C at the ice point to +0.9\u{a0}°C at the boiling point: it read 1.0\u{a0}°C in melting ice and 94.0\u{a0}°C in water that boils at 94.9\u{a0}°C"
        );
    }

    #[test]
    fn the_lead_is_explained_and_another_meat_compared() {
        let lead = ChannelRow {
            channel: "Flat".into(),
            part: ChannelPart::Lead,
            lead_reason: Some(LeadReason::LastToArrive),
            ..ChannelRow::default()
        };
        let point = ChannelRow {
            channel: "Point".into(),
            part: ChannelPart::OtherMeat,
            mean_difference_c: Some(5.0),
            difference_at_finish_c: Some(3.0),
            finish_after_lead_min: Some(-75.0),
            unlike: Some(Unlike::SteadyDifference),
            unlike_by_c: Some(-4.0),
            ..ChannelRow::default()
        };
        let cleaning = Cleaning { channels: vec![lead, point], ..Cleaning::default() };
        let said = channel_sentences(&cleaning, 88.0, Units::Us);
        assert_eq!(
            said[0],
            "“Flat” is taken for the core: of 2 meat channels it is the last to arrive at 190\u{a0}°F, and a cook is done when its slowest part is."
        );
        assert_eq!(
            said[1],
            "“Point” reads 9.0\u{a0}°F higher than the lead on average, arrives at 190\u{a0}°F 1\u{a0}h\u{a0}15\u{a0}min before it and is 5.4\u{a0}°F higher where the lead finishes. It reads 7.2\u{a0}°F lower all along, the raw beginning included: one of the two probes is off. Test both in ice."
        );
    }

    #[test]
    fn a_caption_names_only_the_signs_that_are_drawn() {
        let of = |kinds: &[FlagKind]| Cleaning {
            stretches: kinds
                .iter()
                .map(|kind| Stretch {
                    row: FlagRow { flag: *kind, ..FlagRow::default() },
                    ..Stretch::default()
                })
                .collect(),
            ..Cleaning::default()
        };
        assert_eq!(signs_sentence(&of(&[])), "");
        let said = signs_sentence(&of(&[FlagKind::Spike, FlagKind::LidOpen]));
        assert!(
            said.contains("slanted crosses") && said.contains("roof") && !said.contains("squares")
        );
    }
}
