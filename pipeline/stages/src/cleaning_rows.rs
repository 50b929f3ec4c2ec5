//! What the phases stage found out about a cook's readings, as rows of the store.

use cook::{Card, Mark, Role};
use phases::{Calibration, CalibrationSource, MarkProblem, ProbeKind, SegmentedCook};
use std::collections::BTreeMap;
use store::{ChannelRow, CookCleaning, FlagRow, WarningRow};

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

/// Warnings of all cooks in few lines for people: one a kind, with the cooks it is about.
pub(crate) fn notes(cooks: &[CookCleaning]) -> Vec<String> {
    /// Cooks named in a line; more are counted.
    const NAMED: usize = 6;
    let mut kinds: BTreeMap<&str, Vec<(&str, &WarningRow)>> = BTreeMap::new();
    for cook in cooks {
        for warning in &cook.warnings {
            kinds.entry(&warning.code).or_default().push((&cook.cook, warning));
        }
    }
    kinds
        .into_iter()
        .map(|(code, found)| match &found[..] {
            [(cook, warning)] => {
                format!("{code}: {cook} ({}): {}", warning.about, warning.sentence)
            }
            found => {
                let mut names: Vec<&str> = found.iter().map(|(cook, _)| *cook).collect();
                names.dedup();
                let more = names.len().saturating_sub(NAMED);
                names.truncate(NAMED);
                let more = if more > 0 { format!(" and {more} more") } else { String::new() };
                format!("{code}: {}{more}; their pages say more", names.join(", "))
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_single_warning_is_told_in_full_and_many_are_named() {
        let cook = |name: &str| CookCleaning {
            cook: name.into(),
            warnings: vec![WarningRow {
                code: "no-sign-of-mark".into(),
                about: "wrap".into(),
                sentence: "The log shows nothing of it.".into(),
            }],
            ..CookCleaning::default()
        };
        assert_eq!(
            notes(&[cook("a")]),
            ["no-sign-of-mark: a (wrap): The log shows nothing of it."]
        );
        let many: Vec<CookCleaning> = ["a", "b", "c", "d", "e", "f", "g", "h"].map(cook).into();
        assert_eq!(
            notes(&many),
            ["no-sign-of-mark: a, b, c, d, e, f and 2 more; their pages say more"]
        );
    }
}
