//! One cook's readings from its logs.

use crate::drift;
use crate::error::{IngestError, Place};
use crate::log::{Log, LogChannel, TimeBase};
use crate::question::{Asked, Settles};
use crate::share::LogPart;
use crate::sheet::ElapsedAnchor;
use columns::{PackedChannel, PackedReadings};
use cook::{Card, Evidence, Question, QuestionCode, RejectedRow, Role};

/// Two readings of one instant that differ by no more than this, °C, are one reading: half
/// a degree Fahrenheit, rounded in one of the logs.
const ROUNDING_C: f32 = 0.3;
/// Clocks that are this far apart are told, s.
const TOLD_FROM_S: f64 = 45.0;

/// One log as a cook uses it.
#[derive(Debug, Clone, Copy)]
pub struct LogUse<'a> {
    /// The log's path as shown.
    pub shown_as: &'a str,
    /// The log.
    pub log: &'a Log,
    /// The meat channel that is this cook's, where the log has those of several.
    pub channel: Option<&'a str>,
    /// What the log calls that channel, where it was asked and answered.
    pub answered: Option<&'a str>,
    /// The part of the log that is this cook's, from [`crate::share_out`].
    pub part: LogPart,
}

/// A meat channel that a sheet picks.
#[derive(PartialEq, Eq)]
struct Picked<'a> {
    /// As the sheet calls it.
    name: &'a str,
    /// As the log calls it, where that was answered.
    answered: Option<&'a str>,
}

/// A cook's readings and what was decided on joining them.
#[derive(Debug, Clone, PartialEq)]
pub struct Assembled {
    /// The readings.
    pub readings: PackedReadings,
    /// Readings that two logs contradict each other on.
    pub rejected: Vec<RejectedRow>,
    /// What was decided.
    pub evidence: Vec<Evidence>,
    /// What a reader should be told although the logs were joined.
    pub warnings: Vec<String>,
}

/// Joins a cook's logs into its readings. `anchor` says where the zero of elapsed logs
/// lies (from [`crate::resolve_marks`]).
///
/// Channels of one name and role are one channel where their logs do not overlap in time,
/// or say the same where they do (a log in two files): a reading told twice is dropped. A
/// log whose readings are all those of another is a copy, and is left out. Where two logs
/// overlap without a common instant, they are two sensors, and the later one's name gets
/// its log's name behind it; so are two pits or surroundings that differ. Clocks of two
/// logs that disagree are told in the warnings. The lead channel is checked to be there.
///
/// # Errors
/// [`IngestError::CannotAssemble`]: no log, a channel that the log does not have, a lead
/// channel that no log has, an elapsed log without an anchor, no reading, two logs that say
/// different things of one meat channel at one instant.
pub fn assemble(
    card: &Card,
    anchor: Option<&ElapsedAnchor>,
    logs: &[LogUse<'_>],
) -> Result<Assembled, IngestError> {
    let mut out = Assembled {
        readings: PackedReadings {
            cook: card.cook.clone(),
            season: card.season.clone(),
            channels: Vec::new(),
            sources: Vec::new(),
        },
        rejected: Vec::new(),
        evidence: Vec::new(),
        warnings: Vec::new(),
    };
    // One log may be named twice, once for each of two of its channels.
    let mut sources: Vec<(&LogUse<'_>, Vec<Picked<'_>>)> = Vec::new();
    for log in logs {
        let picked = log.channel.map(|name| Picked { name, answered: log.answered });
        match sources.iter_mut().find(|(used, _)| used.shown_as == log.shown_as) {
            Some((_, channels)) => channels.extend(picked),
            None => sources.push((log, picked.into_iter().collect())),
        }
    }
    // Order of the sheet is no order in time: the same logs give the same readings.
    sources.sort_by_key(|(used, _)| {
        let first = used.log.channels.iter().filter_map(|c| c.at_ms.first()).min();
        (first, used.shown_as)
    });
    leave_out_copies(&mut sources, &mut out);
    tell_clocks(&sources, &mut out);
    for (used, picked) in sources {
        let LogUse { shown_as, log, part, .. } = *used;
        let source = out.readings.sources.len() as u32;
        out.readings.sources.push(shown_as.to_owned());
        let zero = zero_of(card, shown_as, log, anchor, &mut out.evidence)?;
        let mut chosen = Vec::new();
        // What the log calls otherwise than the sheet is this cook's under the sheet's name.
        let mut renamed: Vec<(usize, &str)> = Vec::new();
        for Picked { name, answered } in &picked {
            let meant = channels_called(&log.channels, answered.unwrap_or(name));
            if meant.is_empty() {
                return Err(no_channel(shown_as, name, &log.channels));
            }
            if let (Some(_), [one]) = (answered, &meant[..]) {
                renamed.push((*one, name));
            }
            chosen.extend(meant);
        }
        for (index, channel) in log.channels.iter().enumerate() {
            let is_chosen = chosen.contains(&index);
            let dropped = channel.role == Role::Meat && !chosen.is_empty() && !is_chosen;
            // A picked channel is this cook's meat whatever its words say.
            let role = if is_chosen { Role::Meat } else { channel.role };
            let part = if log.time == TimeBase::Absolute { part } else { LogPart::default() };
            let own = part.of(&channel.at_ms);
            if !dropped && !own.is_empty() {
                let by_sheet = renamed.iter().find(|(at, _)| *at == index).map(|(_, name)| *name);
                let new = PackedChannel {
                    name: by_sheet.unwrap_or(&channel.name).to_owned(),
                    role,
                    at_ms: channel.at_ms.range(own.clone()).map(|ms| ms + zero).collect(),
                    temp_c: channel.temp_c.range(own.clone()).collect(),
                    flag: channel.flag.range(own.clone()).collect(),
                    source: std::iter::repeat_n(source, own.len()).collect(),
                    line: channel.line.range(own).collect(),
                };
                add(&mut out, new, shown_as)?;
            }
        }
    }
    if out.readings.is_empty() {
        return Err(cannot(
            Place {
                column: Some("logs".to_owned()),
                text: card.logs.join("; "),
                ..Place::file(&card.cook)
            },
            "the cook has no reading".to_owned(),
            if logs.is_empty() {
                "name its logs in the sheet's column `logs`".to_owned()
            } else {
                let names: Vec<&str> = logs.iter().map(|log| log.shown_as).collect();
                format!(
                    "{} is read, but has no reading of this cook: check its `date` and `meat_on`, or name another log",
                    names.join(", ")
                )
            },
        ));
    }
    check_lead(card, &out.readings)?;
    Ok(out)
}

fn cannot(place: Place, what: String, try_this: String) -> IngestError {
    IngestError::CannotAssemble { place: place.into(), what, try_this }
}

/// Positions of the channels that are meant by a name: those called so, with or without their unit; else the
/// one whose words end in the name's, whatever stands between words (`Meat 1` means `Meat_1`,
/// and `Socket 2 Meat 1` of a header in two rows), if there is one such only.
pub fn channels_called(channels: &[LogChannel], name: &str) -> Vec<usize> {
    let those = |meant: &dyn Fn(&LogChannel) -> bool| -> Vec<usize> {
        (0..channels.len()).filter(|&index| meant(&channels[index])).collect()
    };
    let alike = |other: &str| other.trim().eq_ignore_ascii_case(name.trim());
    let exact = those(&|channel| alike(&channel.name) || alike(&channel.header));
    if !exact.is_empty() {
        return exact;
    }
    let asked = words(name);
    if asked.is_empty() {
        return Vec::new();
    }
    let ending = those(&|channel| words(&channel.name).ends_with(&asked));
    if ending.len() == 1 { ending } else { Vec::new() }
}

fn words(name: &str) -> Vec<String> {
    name.split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect()
}

/// Which channel of a log a sheet means by a name that the log does not know; `None` where it knows it, or has no
/// meat to choose from.
pub fn which_channel(shown_as: &str, name: &str, channels: &[LogChannel]) -> Option<Question> {
    Some(asked_of_channel(shown_as, name, channels)?.question)
}

fn asked_of_channel(shown_as: &str, name: &str, channels: &[LogChannel]) -> Option<Asked> {
    if !channels_called(channels, name).is_empty() {
        return None;
    }
    let meats = channels.iter().filter(|channel| channel.role == Role::Meat);
    let mut meats: Vec<&str> = meats.map(|channel| channel.name.as_str()).collect();
    // The likeliest is called by most of the words.
    let asked = words(name);
    let alike = |channel: &str| words(channel).iter().filter(|word| asked.contains(word)).count();
    meats.sort_by_key(|channel| std::cmp::Reverse(alike(channel)));
    let first = meats.first()?;
    let setting =
        format!("the channel behind `#` in the sheet's `logs`, such as {shown_as}#{first}");
    let then = |channel: &str| format!("`{name}` is what this log calls `{channel}`");
    let answers =
        meats.iter().map(|meat| ((*meat).to_owned(), then(meat), Settles::elsewhere())).collect();
    Some(Asked::new(
        QuestionCode::WhoseChannel,
        &Place::file(shown_as),
        vec![shown_as.to_owned(), name.to_owned()],
        format!("the log has no channel `{name}`: which of its meats is it?"),
        answers,
        setting,
    ))
}

fn no_channel(shown_as: &str, name: &str, channels: &[LogChannel]) -> IngestError {
    if let Some(asked) = asked_of_channel(shown_as, name, channels) {
        let place = Place { column: Some(name.to_owned()), ..Place::file(shown_as) };
        return IngestError::NeedsAnswer { place: place.into(), asked: asked.into() };
    }
    let names: Vec<&str> = channels.iter().map(|channel| channel.name.as_str()).collect();
    cannot(
        Place { column: Some(name.to_owned()), ..Place::file(shown_as) },
        format!("the log has no channel `{name}`"),
        match cook::settings::nearest(name, names.iter().copied()) {
            Some(near) => format!("`{near}`"),
            None => format!("one of {}", names.join(", ")),
        },
    )
}

/// The instant that a log's times count from, ms UTC: 0 where they are instants.
fn zero_of(
    card: &Card,
    shown_as: &str,
    log: &Log,
    anchor: Option<&ElapsedAnchor>,
    evidence: &mut Vec<Evidence>,
) -> Result<i64, IngestError> {
    if log.time == TimeBase::Absolute {
        return Ok(0);
    }
    let Some(anchor) = anchor else {
        return Err(cannot(
            Place { text: card.cook.clone(), ..Place::file(shown_as) },
            "the log counts from its own zero, and nothing says when that was".to_owned(),
            "give the card a `date` or a `meat_on` with its date, or a layout `time.start`"
                .to_owned(),
        ));
    };
    evidence.push(Evidence {
        what: format!("elapsed zero of {shown_as}"),
        taken_as: jiff::Timestamp::from_millisecond(anchor.zero_ms)
            .map_or_else(|_| anchor.zero_ms.to_string(), |t| t.to_string()),
        because: anchor.because.clone(),
        setting: "the card's `meat_on` and `date`, or layout `time.start`".to_owned(),
    });
    Ok(anchor.zero_ms)
}

fn check_lead(card: &Card, readings: &PackedReadings) -> Result<(), IngestError> {
    let Some(lead) = &card.lead_channel else { return Ok(()) };
    let mut names =
        readings.channels.iter().filter(|c| c.role == Role::Meat).map(|c| c.name.as_str());
    if names.clone().any(|name| name.eq_ignore_ascii_case(lead.trim())) {
        return Ok(());
    }
    let known: Vec<&str> = names.by_ref().collect();
    Err(cannot(
        Place {
            column: Some("lead_channel".to_owned()),
            text: lead.clone(),
            ..Place::file(&card.cook)
        },
        "no meat channel of the cook's logs is called so".to_owned(),
        match cook::settings::nearest(lead, known.iter().copied()) {
            Some(near) => format!("`{near}`"),
            None => format!("one of {}", known.join(", ")),
        },
    ))
}

/// Leaves out logs whose readings are those of a log before them.
fn leave_out_copies(sources: &mut Vec<(&LogUse<'_>, Vec<Picked<'_>>)>, out: &mut Assembled) {
    let mut i = 0;
    while i < sources.len() {
        let (used, picked) = &sources[i];
        let original = sources[..i].iter().position(|(other, other_picked)| {
            other_picked == picked
                && other.log.time == used.log.time
                && other.log.channels == used.log.channels
        });
        if let Some(original) = original {
            out.evidence.push(Evidence {
                what: format!("log {}", used.shown_as),
                taken_as: format!("a copy of {}, left out", sources[original].0.shown_as),
                because: "every reading of both is the same".to_owned(),
                setting: "`logs` in the sheet".to_owned(),
            });
            out.warnings.push(format!(
                "{}: a copy of {}; it is read once",
                used.shown_as, sources[original].0.shown_as
            ));
            sources.remove(i);
        } else {
            i += 1;
        }
    }
}

/// Tells where the clocks of two logs disagree.
fn tell_clocks(sources: &[(&LogUse<'_>, Vec<Picked<'_>>)], out: &mut Assembled) {
    for (i, (first, _)) in sources.iter().enumerate() {
        for (second, _) in &sources[i + 1..] {
            let Some((a, b, lag)) = drift::compare(first.log, second.log) else { continue };
            let drift = lag.at_end_s - lag.at_start_s;
            let furthest = lag.at_start_s.abs().max(lag.at_end_s.abs());
            if furthest < TOLD_FROM_S {
                continue;
            }
            let said = |seconds: f64| {
                let direction = if seconds < 0.0 { "behind" } else { "ahead" };
                format!("{:.0} s {direction}", seconds.abs())
            };
            let taken_as = if drift.abs() < TOLD_FROM_S {
                format!(
                    "{} is {}",
                    second.shown_as,
                    said(f64::midpoint(lag.at_start_s, lag.at_end_s))
                )
            } else {
                format!(
                    "{} drifts: {} in the first half, {} in the second",
                    second.shown_as,
                    said(lag.at_start_s),
                    said(lag.at_end_s)
                )
            };
            let what = format!("clocks of {} and {}", first.shown_as, second.shown_as);
            out.warnings.push(format!("{what}: {taken_as}; times are left as they are"));
            out.evidence.push(Evidence {
                what,
                taken_as,
                because: format!(
                    "`{}` and `{}` run alike then (correlation {:.2})",
                    a.name, b.name, lag.correlation
                ),
                setting: "set the logger's clock, and correct the log's times".to_owned(),
            });
        }
    }
}

fn add(out: &mut Assembled, mut new: PackedChannel, shown_as: &str) -> Result<(), IngestError> {
    let known = out
        .readings
        .channels
        .iter()
        .position(|old| old.role == new.role && old.name.eq_ignore_ascii_case(&new.name));
    if let Some(at) = known {
        let old = &mut out.readings.channels[at];
        let conflict = conflict(old, &new);
        if conflict.is_none() && (is_apart(old, &new) || agree(old, &new)) {
            *old = join(old, &new, shown_as, &mut out.rejected);
            return Ok(());
        }
        if let (Some((i, j)), Role::Meat) = (conflict, new.role) {
            let first = &out.readings.sources[old.source.at(i) as usize];
            return Err(contradiction(&out.readings.cook, first, old, i, shown_as, &new, j));
        }
        let file = shown_as.rsplit('/').next().unwrap_or(shown_as);
        out.evidence.push(Evidence {
            what: format!("channel `{}` of {shown_as}", new.name),
            taken_as: format!("another sensor, `{} ({file})`", new.name),
            because: "two logs have a channel of this name at the same time, with other readings"
                .to_owned(),
            setting: "`logs` in the sheet".to_owned(),
        });
        new.name = format!("{} ({file})", new.name);
    }
    out.readings.channels.push(new);
    Ok(())
}

fn contradiction(
    cook: &str,
    first: &str,
    old: &PackedChannel,
    i: usize,
    second: &str,
    new: &PackedChannel,
    j: usize,
) -> IngestError {
    let at = jiff::Timestamp::from_millisecond(old.at_ms.at(i))
        .map_or_else(|_| old.at_ms.at(i).to_string(), |at| at.to_string());
    cannot(
        Place {
            path: second.to_owned(),
            line: new.line.at(j).into(),
            column: Some(new.name.clone()),
            text: format!("{:.1} °C", new.temp_c.at(j)),
        },
        format!(
            "{first} (line {}) and {second} both have `{}` of the cook `{cook}` at {at}, with different values: {:.1} and {:.1} °C",
            old.line.at(i),
            new.name,
            old.temp_c.at(i),
            new.temp_c.at(j)
        ),
        format!(
            "leave one of them out of `logs` in the sheet; or, if they are two probes, pick another channel of one with `{second}#Channel`, or rename it in its header"
        ),
    )
}

/// The first instant of which both have a reading, and not the same one; the seam of two
/// logs that only touch is left to [`join`].
fn conflict(old: &PackedChannel, new: &PackedChannel) -> Option<(usize, usize)> {
    if is_apart(old, new) {
        return None;
    }
    let (mut i, mut j) = (0, 0);
    while i < old.len() && j < new.len() {
        match old.at_ms.at(i).cmp(&new.at_ms.at(j)) {
            std::cmp::Ordering::Less => i += 1,
            std::cmp::Ordering::Greater => j += 1,
            std::cmp::Ordering::Equal => {
                if (old.temp_c.at(i) - new.temp_c.at(j)).abs() > ROUNDING_C {
                    return Some((i, j));
                }
                i += 1;
                j += 1;
            }
        }
    }
    None
}

/// Whether two channels do not overlap, or only at one instant.
fn is_apart(old: &PackedChannel, new: &PackedChannel) -> bool {
    match (old.at_ms.first(), old.at_ms.last(), new.at_ms.first(), new.at_ms.last()) {
        (Some(a), Some(b), Some(c), Some(d)) => a.max(c) >= b.min(d),
        _ => true,
    }
}

/// Whether two channels that overlap are one: in the overlap every instant of the sparser
/// one is told by both.
fn agree(old: &PackedChannel, new: &PackedChannel) -> bool {
    let (Some(a), Some(b), Some(c), Some(d)) =
        (old.at_ms.first(), old.at_ms.last(), new.at_ms.first(), new.at_ms.last())
    else {
        return true;
    };
    let part = LogPart { from_ms: Some(a.max(c)), until_ms: Some(b.min(d) + 1) };
    let (mut one, mut other) =
        (old.at_ms.range(part.of(&old.at_ms)), new.at_ms.range(part.of(&new.at_ms)));
    if one.len() > other.len() {
        std::mem::swap(&mut one, &mut other);
    }
    // Both rise.
    one.all(|at| other.find(|other| *other >= at) == Some(at))
}

fn join(
    old: &PackedChannel,
    new: &PackedChannel,
    shown_as: &str,
    rejected: &mut Vec<RejectedRow>,
) -> PackedChannel {
    let mut joined = PackedChannel::new(old.name.clone(), old.role);
    let (mut i, mut j) = (0, 0);
    while i < old.len() || j < new.len() {
        let take_old = i < old.len() && (j == new.len() || old.at_ms.at(i) <= new.at_ms.at(j));
        let (from, at) = if take_old { (old, i) } else { (new, j) };
        if take_old {
            i += 1;
        } else {
            j += 1;
        }
        if !take_old && joined.at_ms.last() == Some(from.at_ms.at(at)) {
            let same =
                joined.temp_c.last().is_some_and(|t| (t - from.temp_c.at(at)).abs() <= ROUNDING_C);
            rejected.push(RejectedRow {
                source: shown_as.to_owned(),
                line: from.line.at(at).into(),
                byte: 0,
                column: Some(from.name.clone()),
                code: if same { "duplicate-time" } else { "conflicting-time" }.to_owned(),
                text: format!("{} °C", from.temp_c.at(at)),
            });
            continue;
        }
        joined.push_from(from, at);
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_channel_is_found_by_its_own_name_first_and_by_its_last_words_if_one_ends_so() {
        let channels: Vec<LogChannel> = ["Pit", "Meat_1", "Socket 3 Meat 2", "Flat", "Old Flat"]
            .into_iter()
            .map(|name| LogChannel {
                name: name.to_owned(),
                header: format!("{name} (°F)"),
                role: Role::Other,
                unit: None,
                at_ms: Vec::new().into(),
                temp_c: Vec::new().into(),
                line: Vec::new().into(),
                flag: Vec::new().into(),
            })
            .collect();
        assert_eq!(channels_called(&channels, "meat 1"), [1]);
        assert_eq!(channels_called(&channels, "Meat 2"), [2]);
        assert_eq!(channels_called(&channels, "Pit (°F)"), [0]);
        // `Flat` is one channel's own name; `2` ends one name only, `at` none.
        assert_eq!(channels_called(&channels, "Flat"), [3]);
        assert_eq!(channels_called(&channels, "2"), [2]);
        assert!(
            channels_called(&channels, "at").is_empty()
                && channels_called(&channels, "#").is_empty()
        );
    }
}
