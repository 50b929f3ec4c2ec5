//! What cleaning and segmenting found out about a cook's readings, as rows.

use crate::cleaning_rows::{ChannelRow, CookCleaning, FlagRow, WarningRow};
use cook::spot::is_spot_channel;
use cook::{Card, Mark, Role};
use phases::{Calibration, CalibrationSource, MarkProblem, ProbeKind, SegmentedCook};

/// Rows of a cook that was segmented.
pub(crate) fn cleaning_of(
    readings: &cook::CookReadings,
    card: &Card,
    found: &SegmentedCook,
    computed_from: String,
) -> CookCleaning {
    let flags = found.flags(readings).into_iter().map(|stretch| FlagRow {
        flag: stretch.kind.as_str().into(),
        removed: stretch.kind.removes(),
        channel: stretch.channel,
        used_as: stretch.used_as,
        start_ms: stretch.start_ms,
        end_ms: stretch.end_ms,
        readings: i64::try_from(stretch.readings).unwrap_or(i64::MAX),
        size_c: stretch.size_c,
    });
    CookCleaning {
        cook: card.cook.clone(),
        computed_from,
        flags: flags.collect(),
        channels: channels(readings, card, Some(found)),
        warnings: warnings(found),
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
        computed_from,
        channels: channels(readings, card, None),
        ..CookCleaning::default()
    }
}

fn channels(
    readings: &cook::CookReadings,
    card: &Card,
    found: Option<&SegmentedCook>,
) -> Vec<ChannelRow> {
    let (meat, pit) =
        (Calibration::of(card, ProbeKind::Meat), Calibration::of(card, ProbeKind::Pit));
    readings
        .channels
        .iter()
        .map(|channel| {
            let part = match found {
                Some(found) if channel.role == Role::Meat && channel.name == found.lead.name => {
                    "lead"
                }
                Some(found)
                    if channel.role == Role::Pit
                        && Some(&channel.name) == found.pit_channel.as_ref() =>
                {
                    "pit"
                }
                Some(_) if channel.role == Role::Meat => "other-meat",
                _ => "not-used",
            };
            let calibration = match channel.role {
                // Another thermometer than the one that the card corrects.
                Role::Meat if is_spot_channel(&channel.name) => None,
                Role::Meat => Some(&meat),
                Role::Pit => Some(&pit),
                Role::Ambient | Role::Other => None,
            };
            let lead = found.filter(|_| part == "lead").map(|found| &found.lead);
            let tested = calibration.filter(|c| c.boiling_c.is_some());
            let other = found
                .filter(|_| part == "other-meat")
                .and_then(|found| found.others.iter().find(|other| other.name == channel.name));
            let unlike = other.and_then(|other| other.unlike);
            ChannelRow {
                channel: channel.name.clone(),
                role: channel.role.as_str().into(),
                part: part.into(),
                lead_reason: lead.map(|lead| lead.reason.as_str().into()),
                highest_c: lead.and_then(|lead| lead.reason.highest_c()),
                readings: i64::try_from(channel.len()).unwrap_or(i64::MAX),
                calibration: calibration
                    .map_or(CalibrationSource::None, |c| c.source)
                    .as_str()
                    .into(),
                offset_c: calibration.map_or(0.0, |c| c.offset_c),
                slope: calibration.map_or(0.0, |c| c.slope),
                ice_c: calibration.and_then(|c| c.ice_c),
                boiling_c: calibration.and_then(|c| c.boiling_c),
                boils_c: tested.map(|c| c.boils_c),
                mean_difference_c: other.map(|other| other.mean_difference_c),
                difference_at_finish_c: other.and_then(|other| other.difference_at_finish_c),
                finish_after_lead_min: other.and_then(|other| other.finish_after_lead_min),
                likeness: other.and_then(|other| other.likeness),
                unlike: unlike.map(|unlike| unlike.as_str().into()),
                unlike_by_c: unlike.and_then(phases::Unlike::by_c),
            }
        })
        .collect()
}

/// Marks that were doubted, channels that were exchanged, meats that read unlike the lead.
fn warnings(found: &SegmentedCook) -> Vec<WarningRow> {
    // A logger is switched off at the pull more often than not: a later slice is nothing odd.
    let is_odd = |problem: &&MarkProblem| {
        !matches!(problem, MarkProblem::AfterLog { mark: Mark::Slice, .. })
    };
    let marks = found.marks.problems.iter().filter(is_odd).map(|problem| WarningRow {
        code: problem.as_str().into(),
        about: problem.mark().as_str().into(),
        sentence: problem.to_string(),
    });
    let exchanges = found.exchanges.iter().map(|exchange| WarningRow {
        code: "channels-exchanged".into(),
        about: format!("{}, {}", exchange.channels.0, exchange.channels.1),
        sentence: exchange.because.clone(),
    });
    let others = found.others.iter().filter_map(|other| {
        let unlike = other.unlike?;
        Some(WarningRow {
            code: format!("probe-{}", unlike.as_str()),
            about: other.name.clone(),
            sentence: unlike.to_string(),
        })
    });
    marks.chain(exchanges).chain(others).collect()
}
