//! One cook's readings from its logs.

use crate::error::{IngestError, Place};
use crate::log::{Log, LogChannel, TimeBase};
use crate::sheet::ElapsedAnchor;
use cook::{Card, ChannelReadings, CookReadings, Evidence, RejectedRow, Role};

/// One log as a cook uses it.
#[derive(Debug, Clone, Copy)]
pub struct LogUse<'a> {
    /// The log's path as shown.
    pub shown_as: &'a str,
    /// The log.
    pub log: &'a Log,
    /// The meat channel that is this cook's, where the log has those of several.
    pub channel: Option<&'a str>,
}

/// A cook's readings and what was decided on joining them.
#[derive(Debug, Clone, PartialEq)]
pub struct Assembled {
    /// The readings.
    pub readings: CookReadings,
    /// Readings that two logs contradict each other on.
    pub rejected: Vec<RejectedRow>,
    /// What was decided.
    pub evidence: Vec<Evidence>,
}

/// Joins a cook's logs into its readings. `anchor` says where the zero of elapsed logs
/// lies (from [`crate::resolve_marks`]).
///
/// Channels of one name and role are one channel where their logs do not overlap in time,
/// or say the same where they do (a log exported twice, a log in two files): a reading
/// told twice is dropped. Where they overlap and differ they are two sensors, and the
/// later one's name gets its log's name behind it. The lead channel is checked to be there.
///
/// # Errors
/// [`IngestError::CannotAssemble`]: no log, a channel that the log does not have, a lead
/// channel that no log has, an elapsed log without an anchor, no reading.
pub fn assemble(
    card: &Card,
    anchor: Option<&ElapsedAnchor>,
    logs: &[LogUse<'_>],
) -> Result<Assembled, IngestError> {
    let mut out = Assembled {
        readings: CookReadings {
            cook: card.cook.clone(),
            season: card.season.clone(),
            channels: Vec::new(),
            sources: Vec::new(),
        },
        rejected: Vec::new(),
        evidence: Vec::new(),
    };
    // One log may be named twice, once for each of two of its channels.
    let mut sources: Vec<(&str, &Log, Vec<&str>)> = Vec::new();
    for log in logs {
        match sources.iter_mut().find(|(shown_as, _, _)| *shown_as == log.shown_as) {
            Some((_, _, channels)) => channels.extend(log.channel),
            None => sources.push((log.shown_as, log.log, log.channel.into_iter().collect())),
        }
    }
    // Order of the sheet is no order in time: the same logs give the same readings.
    sources.sort_by_key(|(shown_as, log, _)| {
        (log.channels.iter().filter_map(|c| c.at_ms.first().copied()).min(), *shown_as)
    });
    for (shown_as, log, picked) in sources {
        let source = out.readings.sources.len() as u32;
        out.readings.sources.push(shown_as.to_owned());
        let zero = zero_of(card, shown_as, log, anchor, &mut out.evidence)?;
        for name in &picked {
            if !log.channels.iter().any(|channel| is_called(channel, name)) {
                return Err(no_channel(shown_as, name, &log.channels));
            }
        }
        for channel in &log.channels {
            let dropped = channel.role == Role::Meat
                && !picked.is_empty()
                && !picked.iter().any(|name| is_called(channel, name));
            // A picked channel is this cook's meat whatever its words say.
            let role = if picked.iter().any(|name| is_called(channel, name)) {
                Role::Meat
            } else {
                channel.role
            };
            if !dropped && !channel.is_empty() {
                add(&mut out, channel, role, source, shown_as, zero);
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
            "name its logs in the sheet's column `logs`".to_owned(),
        ));
    }
    check_lead(card, &out.readings)?;
    Ok(out)
}

fn cannot(place: Place, what: String, try_this: String) -> IngestError {
    IngestError::CannotAssemble { place: place.into(), what, try_this }
}

/// Whether a channel is meant by a name, with or without its unit.
fn is_called(channel: &LogChannel, name: &str) -> bool {
    let alike = |other: &str| other.trim().eq_ignore_ascii_case(name.trim());
    alike(&channel.name) || alike(&channel.header)
}

fn no_channel(shown_as: &str, name: &str, channels: &[LogChannel]) -> IngestError {
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

fn check_lead(card: &Card, readings: &CookReadings) -> Result<(), IngestError> {
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

fn add(
    out: &mut Assembled,
    channel: &LogChannel,
    role: Role,
    source: u32,
    shown_as: &str,
    zero: i64,
) {
    let mut new = ChannelReadings {
        name: channel.name.clone(),
        role,
        at_ms: channel.at_ms.iter().map(|ms| ms + zero).collect(),
        temp_c: channel.temp_c.clone(),
        flag: channel.flag.clone(),
        source: vec![source; channel.len()],
        line: channel.line.clone(),
    };
    let known = out
        .readings
        .channels
        .iter()
        .position(|old| old.role == role && old.name.eq_ignore_ascii_case(&new.name));
    if let Some(at) = known {
        if is_one_sensor(&out.readings.channels[at], &new) {
            let old = &mut out.readings.channels[at];
            *old = join(old, &new, shown_as, &mut out.rejected);
            return;
        }
        let file = shown_as.rsplit('/').next().unwrap_or(shown_as);
        new.name = format!("{} ({file})", new.name);
        out.evidence.push(Evidence {
            what: format!("channel `{}` of {shown_as}", channel.name),
            taken_as: format!("another sensor, `{}`", new.name),
            because: "two logs have a channel of this name at the same time, with other readings"
                .to_owned(),
            setting: "`logs` in the sheet".to_owned(),
        });
    }
    out.readings.channels.push(new);
}

/// Whether two channels can be one: their spans do not overlap, or every reading of the
/// overlap is told by both and alike.
fn is_one_sensor(old: &ChannelReadings, new: &ChannelReadings) -> bool {
    let (Some(&old_first), Some(&old_last), Some(&new_first), Some(&new_last)) =
        (old.at_ms.first(), old.at_ms.last(), new.at_ms.first(), new.at_ms.last())
    else {
        return true;
    };
    let (from, to) = (old_first.max(new_first), old_last.min(new_last));
    let inside = |channel: &ChannelReadings| -> Vec<(i64, f32)> {
        let start = channel.at_ms.partition_point(|&ms| ms < from);
        let end = channel.at_ms.partition_point(|&ms| ms <= to).max(start);
        channel.at_ms[start..end]
            .iter()
            .copied()
            .zip(channel.temp_c[start..end].iter().copied())
            .collect()
    };
    // Logs that only touch (one reading at the seam) are one sensor; a seam that is told
    // otherwise by each is settled on joining.
    from >= to || inside(old) == inside(new)
}

fn join(
    old: &ChannelReadings,
    new: &ChannelReadings,
    shown_as: &str,
    rejected: &mut Vec<RejectedRow>,
) -> ChannelReadings {
    let mut joined = ChannelReadings::new(old.name.clone(), old.role);
    let (mut i, mut j) = (0, 0);
    while i < old.len() || j < new.len() {
        let take_old = i < old.len() && (j == new.len() || old.at_ms[i] <= new.at_ms[j]);
        let (from, at) = if take_old { (old, i) } else { (new, j) };
        if take_old {
            i += 1;
        } else {
            j += 1;
        }
        if !take_old && joined.at_ms.last() == Some(&from.at_ms[at]) {
            let same = joined.temp_c.last() == Some(&from.temp_c[at]);
            rejected.push(RejectedRow {
                source: shown_as.to_owned(),
                line: from.line[at].into(),
                byte: 0,
                column: Some(from.name.clone()),
                code: if same { "duplicate-time" } else { "conflicting-time" }.to_owned(),
                text: format!("{} °C", from.temp_c[at]),
            });
            continue;
        }
        joined.at_ms.push(from.at_ms[at]);
        joined.temp_c.push(from.temp_c[at]);
        joined.flag.push(from.flag[at]);
        joined.source.push(from.source[at]);
        joined.line.push(from.line[at]);
    }
    joined
}
