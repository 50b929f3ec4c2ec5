//! What cleaning and segmenting found out about a cook's readings, as rows.

use crate::cleaning_rows::CookCleaning;
use columns::Instant;
use columns::tables::channels::ChannelRow;
use columns::tables::flags::FlagRow;
use columns::tables::warnings::WarningRow;
use cook::spot::is_spot_channel;
use cook::{CalibrationSource, Card, ChannelPart, Mark, Role};
use phases::{Calibration, MarkProblem, ProbeKind, SegmentedCook};

/// Rows of a cook that was segmented.
pub(crate) fn cleaning_of(
    readings: &cook::CookReadings,
    card: &Card,
    found: &SegmentedCook,
    computed_from: String,
) -> CookCleaning {
    let flags = found.flags(readings).into_iter().map(|stretch| FlagRow {
        cook: card.cook.clone(),
        computed_from: computed_from.clone(),
        flag: stretch.kind,
        removed: stretch.kind.removes(),
        channel: stretch.channel,
        used_as: stretch.used_as,
        start_at: Instant(stretch.start_ms),
        end_at: Instant(stretch.end_ms),
        readings: i64::try_from(stretch.readings).unwrap_or(i64::MAX),
        size_c: stretch.size_c,
    });
    CookCleaning {
        cook: card.cook.clone(),
        flags: flags.collect(),
        channels: channels(readings, card, Some(found), &computed_from),
        warnings: warnings(found, card, &computed_from),
        computed_from,
    }
}

/// Rows of a cook that cannot be segmented: its channels, of which none was used.
pub(crate) fn cleaning_unsegmented(
    readings: &cook::CookReadings,
    card: &Card,
    computed_from: String,
) -> CookCleaning {
    CookCleaning {
        cook: card.cook.clone(),
        channels: channels(readings, card, None, &computed_from),
        computed_from,
        ..CookCleaning::default()
    }
}

fn channels(
    readings: &cook::CookReadings,
    card: &Card,
    found: Option<&SegmentedCook>,
    computed_from: &str,
) -> Vec<ChannelRow> {
    let (meat, pit) =
        (Calibration::of(card, ProbeKind::Meat), Calibration::of(card, ProbeKind::Pit));
    readings
        .channels
        .iter()
        .map(|channel| {
            let part = match found {
                Some(found) if channel.role == Role::Meat && channel.name == found.lead.name => {
                    ChannelPart::Lead
                }
                Some(found)
                    if channel.role == Role::Pit
                        && Some(&channel.name) == found.pit_channel.as_ref() =>
                {
                    ChannelPart::Pit
                }
                Some(_) if channel.role == Role::Meat => ChannelPart::OtherMeat,
                _ => ChannelPart::NotUsed,
            };
            let calibration = match channel.role {
                // Another thermometer than the one that the card corrects.
                Role::Meat if is_spot_channel(&channel.name) => None,
                Role::Meat => Some(&meat),
                Role::Pit => Some(&pit),
                Role::Ambient | Role::Other => None,
            };
            let lead = found.filter(|_| part == ChannelPart::Lead).map(|found| &found.lead);
            let tested = calibration.filter(|c| c.boiling_c.is_some());
            let other = found
                .filter(|_| part == ChannelPart::OtherMeat)
                .and_then(|found| found.others.iter().find(|other| other.name == channel.name));
            ChannelRow {
                cook: card.cook.clone(),
                computed_from: computed_from.to_owned(),
                channel: channel.name.clone(),
                role: channel.role.as_str().into(),
                part,
                lead_reason: lead.map(|lead| lead.reason),
                highest_c: lead.and_then(|lead| lead.highest_c),
                readings: i64::try_from(channel.len()).unwrap_or(i64::MAX),
                calibration: calibration.map_or(CalibrationSource::None, |c| c.source),
                offset_c: calibration.map_or(0.0, |c| c.offset_c),
                slope: calibration.map_or(0.0, |c| c.slope),
                ice_c: calibration.and_then(|c| c.ice_c),
                boiling_c: calibration.and_then(|c| c.boiling_c),
                boils_c: tested.map(|c| c.boils_c),
                mean_difference_c: other.map(|other| other.mean_difference_c),
                difference_at_finish_c: other.and_then(|other| other.difference_at_finish_c),
                finish_after_lead_min: other.and_then(|other| other.finish_after_lead_min),
                likeness: other.and_then(|other| other.likeness),
                unlike: other.and_then(|other| other.unlike),
                unlike_by_c: other.and_then(|other| other.unlike_by_c),
            }
        })
        .collect()
}

/// Marks that were doubted, channels that were exchanged, meats that read unlike the lead.
fn warnings(found: &SegmentedCook, card: &Card, computed_from: &str) -> Vec<WarningRow> {
    let warning = |code: String, about: String, sentence: String| WarningRow {
        cook: card.cook.clone(),
        computed_from: computed_from.to_owned(),
        code,
        about,
        sentence,
    };
    // A logger is switched off at the pull more often than not: a later slice is nothing odd.
    let is_odd = |problem: &&MarkProblem| {
        !matches!(problem, MarkProblem::AfterLog { mark: Mark::Slice, .. })
    };
    let marks = found.marks.problems.iter().filter(is_odd).map(|problem| {
        warning(problem.as_str().into(), problem.mark().as_str().into(), problem.to_string())
    });
    let exchanges = found.exchanges.iter().map(|exchange| {
        let about = format!("{}, {}", exchange.channels.0, exchange.channels.1);
        warning("channels-exchanged".into(), about, exchange.because.clone())
    });
    let others = found.others.iter().filter_map(|other| {
        let sentence = other.unlike_sentence()?;
        Some(warning(format!("probe-{}", other.unlike?), other.name.clone(), sentence))
    });
    marks.chain(exchanges).chain(others).collect()
}
