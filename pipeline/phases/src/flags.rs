//! What cleaning made of a cook's readings, as stretches of equal treatment of each channel.
//!
//! Readings themselves stay as they were logged. A stretch names the channel that the readings stand
//! in and the one that they were used for: two channels that were exchanged differ in that.
//! Stretches of different kinds may overlap, such as a spike while the lid is open.

use crate::clean::{CleaningReport, Exchange, Gap, StuckRun};
use crate::cook_segment::SegmentedCook;
use cook::{ChannelReadings, CookReadings, FlagKind};

/// One stretch of a channel.
#[derive(Debug, Clone, PartialEq)]
pub struct FlaggedStretch {
    /// The channel that the readings stand in.
    pub channel: String,
    /// The channel that they were used for.
    pub used_as: String,
    /// What is to be known.
    pub kind: FlagKind,
    /// First reading of the stretch, ms UTC; of a gap the last one before it.
    pub start_ms: i64,
    /// Last reading of the stretch, ms UTC; of a gap the first one after it.
    pub end_ms: i64,
    /// Number of readings in it; none in a gap.
    pub readings: usize,
    /// How far the readings lie off their course, °C: a spike's reading less its neighbours', the
    /// depth of a dip or of an opened lid (negative). `None` where that says nothing.
    pub size_c: Option<f64>,
}

/// A spike this near to the beginning of a fall is its edge, ms (5 min).
const EDGE_MS: i64 = 300_000;
/// A gap in which other channels have at least this many readings is an unplugged probe …
const FEWEST_OF_OTHERS: usize = 3;
/// … if they span at least this share of it.
const SHARE_OF_OTHERS: f64 = 0.5;

impl SegmentedCook {
    /// Every stretch of the cook's channels of which there is something to know, by channel and
    /// time. `readings` are those that the cook was segmented from.
    pub fn flags(&self, readings: &CookReadings) -> Vec<FlaggedStretch> {
        let slots = self.slots();
        let mut out = Vec::new();
        for channel in &readings.channels {
            self.readings_of(channel, &slots, &mut out);
        }
        for slot in &slots {
            for gap in slot.gaps() {
                let channel = self.logged_as(slot.name, gap.start_ms);
                out.push(FlaggedStretch {
                    kind: gap_kind(readings, channel, gap),
                    channel: channel.to_owned(),
                    used_as: slot.name.to_owned(),
                    start_ms: gap.start_ms,
                    end_ms: gap.end_ms,
                    readings: 0,
                    size_c: None,
                });
            }
        }
        let place = |name: &str| readings.channels.iter().position(|channel| channel.name == *name);
        out.sort_by(|a, b| {
            (place(&a.channel), a.start_ms, a.end_ms, a.kind).cmp(&(
                place(&b.channel),
                b.start_ms,
                b.end_ms,
                b.kind,
            ))
        });
        out
    }

    fn slots(&self) -> Vec<Slot<'_>> {
        let lead = Slot {
            name: &self.lead.name,
            is_pit: false,
            reports: vec![&self.segmentation.cleaning, &self.rest_cleaning],
        };
        let pit = self.pit_channel.as_ref().map(|name| Slot {
            name,
            is_pit: true,
            reports: vec![&self.segmentation.cleaning],
        });
        std::iter::once(lead).chain(pit).collect()
    }

    /// The channel that a reading of `channel` was used for.
    fn used_as<'a>(&'a self, channel: &'a str, at_ms: i64) -> &'a str {
        self.exchanges.iter().fold(channel, |name, exchange| other_end(exchange, name, at_ms))
    }

    /// The channel that a reading used for `channel` stands in.
    fn logged_as<'a>(&'a self, channel: &'a str, at_ms: i64) -> &'a str {
        self.exchanges.iter().rev().fold(channel, |name, exchange| other_end(exchange, name, at_ms))
    }

    /// Whether a channel's probe had not been put into the meat yet.
    fn is_before_meat(&self, used_as: &str, at_ms: i64) -> bool {
        self.put_in_ms.iter().any(|(name, from_ms)| name == used_as && at_ms < *from_ms)
    }

    fn readings_of(
        &self,
        channel: &ChannelReadings,
        slots: &[Slot<'_>],
        out: &mut Vec<FlaggedStretch>,
    ) {
        let mut removed = Runs::default();
        let mut exchanged = Runs::default();
        let mut lids = Runs::default();
        for (&at_ms, flag) in channel.at_ms.iter().zip(&channel.flag) {
            let used_as = self.used_as(&channel.name, at_ms);
            let slot = slots.iter().find(|slot| slot.name == used_as);
            let in_air = slot.is_some() && self.is_before_meat(used_as, at_ms);
            let run = if flag.usable() && !in_air {
                slot.and_then(|slot| slot.removed(at_ms))
            } else {
                Some((FlagKind::Impossible, 0, None))
            };
            let is_exchanged = flag.usable() && used_as != channel.name;
            let lid = slot.filter(|_| flag.usable()).and_then(|slot| slot.lid(at_ms));
            removed.next(&channel.name, used_as, at_ms, run);
            exchanged.next(
                &channel.name,
                used_as,
                at_ms,
                is_exchanged.then_some((FlagKind::Exchanged, 0, None)),
            );
            lids.next(&channel.name, used_as, at_ms, lid);
        }
        for runs in [removed, exchanged, lids] {
            out.extend(runs.finish());
        }
    }
}

fn other_end<'a>(exchange: &'a Exchange, name: &'a str, at_ms: i64) -> &'a str {
    let (a, b) = &exchange.channels;
    if !(exchange.start_ms..exchange.end_ms).contains(&at_ms) {
        name
    } else if name == a {
        b
    } else if name == b {
        a
    } else {
        name
    }
}

fn gap_kind(readings: &CookReadings, channel: &str, gap: &Gap) -> FlagKind {
    let goes_on = readings.channels.iter().filter(|other| other.name != channel).any(|other| {
        let from = other.at_ms.partition_point(|at| *at <= gap.start_ms);
        let until = other.at_ms.partition_point(|at| *at < gap.end_ms);
        until >= from + FEWEST_OF_OTHERS
            && (other.at_ms[until - 1] - other.at_ms[from]) as f64
                >= SHARE_OF_OTHERS * (gap.end_ms - gap.start_ms) as f64
    });
    if goes_on { FlagKind::Unplugged } else { FlagKind::Gap }
}

/// Kind, a number that tells one stretch of it from the next, and size.
type Treatment = (FlagKind, usize, Option<f64>);

/// A channel that was cleaned, and what came of it.
struct Slot<'a> {
    name: &'a str,
    is_pit: bool,
    reports: Vec<&'a CleaningReport>,
}

impl<'a> Slot<'a> {
    /// Why the reading at an instant is not used, in the order in which cleaning works.
    fn removed(&self, at_ms: i64) -> Option<Treatment> {
        self.reports.iter().enumerate().find_map(|(part, report)| {
            let (impossible, spikes, stuck) = if self.is_pit {
                (&report.pit_impossible_ms, &report.pit_spikes, &report.pit_stuck)
            } else {
                (&report.core_impossible_ms, &report.core_spikes, &report.core_stuck)
            };
            // Stretches of the two parts of a cook are told apart.
            let id = |index: usize| 2 * index + part;
            if impossible.binary_search(&at_ms).is_ok() {
                return Some((FlagKind::Impossible, part, None));
            }
            if let Some(run) = run_at(stuck, at_ms, true) {
                return Some((FlagKind::NoReading, id(run), None));
            }
            if let Ok(index) = spikes.binary_search_by_key(&at_ms, |spike| spike.at_ms) {
                let spike = &spikes[index];
                let kind = if is_edge(report, at_ms) { FlagKind::Edge } else { FlagKind::Spike };
                return Some((kind, id(index), Some(spike.temp_c - spike.expected_c)));
            }
            let dips = if self.is_pit { &[][..] } else { &report.dips[..] };
            let dip = dips.iter().position(|dip| (dip.start_ms..dip.end_ms).contains(&at_ms));
            if let Some(index) = dip {
                let kind = if dips[index].at_wrap { FlagKind::WrapDip } else { FlagKind::Dip };
                return Some((kind, id(index), Some(-dips[index].depth_c)));
            }
            run_at(stuck, at_ms, false).map(|run| (FlagKind::Stuck, id(run), None))
        })
    }

    /// The opened lid at an instant.
    fn lid(&self, at_ms: i64) -> Option<Treatment> {
        let lids = &self.reports.first().filter(|_| self.is_pit)?.lids;
        let after = lids.partition_point(|lid| lid.start_ms <= at_ms);
        let index = after.checked_sub(1).filter(|index| at_ms < lids[*index].end_ms)?;
        Some((FlagKind::LidOpen, index, Some(-lids[index].depth_c)))
    }

    fn gaps(&self) -> impl Iterator<Item = &'a Gap> {
        let is_pit = self.is_pit;
        self.reports
            .clone()
            .into_iter()
            .flat_map(move |report| if is_pit { &report.pit_gaps } else { &report.core_gaps })
    }
}

/// Whether a lid opens or a dip begins at this instant or just after, or is under way.
fn is_edge(report: &CleaningReport, at_ms: i64) -> bool {
    let lids = report.lids.iter().map(|lid| (lid.start_ms, lid.end_ms));
    let dips = report.dips.iter().map(|dip| (dip.start_ms, dip.end_ms));
    lids.chain(dips).any(|(start_ms, end_ms)| (start_ms - EDGE_MS..end_ms).contains(&at_ms))
}

fn run_at(runs: &[StuckRun], at_ms: i64, far_off: bool) -> Option<usize> {
    runs.iter()
        .position(|run| run.far_off == far_off && (run.start_ms..run.end_ms).contains(&at_ms))
}

/// Gathers equal neighbours.
#[derive(Default)]
struct Runs {
    done: Vec<FlaggedStretch>,
    open: Option<(usize, FlaggedStretch)>,
}

impl Runs {
    fn next(&mut self, channel: &str, used_as: &str, at_ms: i64, treatment: Option<Treatment>) {
        if let (Some((id, open)), Some((kind, next, _))) = (&mut self.open, treatment)
            && open.kind == kind
            && *id == next
            && open.used_as == used_as
        {
            open.end_ms = at_ms;
            open.readings += 1;
            return;
        }
        self.close();
        self.open = treatment.map(|(kind, id, size_c)| {
            let stretch = FlaggedStretch {
                channel: channel.to_owned(),
                used_as: used_as.to_owned(),
                kind,
                start_ms: at_ms,
                end_ms: at_ms,
                readings: 1,
                size_c,
            };
            (id, stretch)
        });
    }

    fn close(&mut self) {
        self.done.extend(self.open.take().map(|(_, stretch)| stretch));
    }

    fn finish(mut self) -> Vec<FlaggedStretch> {
        self.close();
        self.done
    }
}

#[cfg(test)]
mod tests;
