//! What the team's loggers record of one fire, before it is text.

use crate::season::draw::SampleFire;
use crate::season::loggers::TeamLogger;
use crate::season::programme::{Quirk, TeamPit};
use cook::{CelsiusDifference, PhaseKind};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use simulate::GRID_STEP_S;
use simulate::measured::{Dip, Logger, Probe, ReadingSet, Stretch, Swap, record};

/// One log as recorded: what tells it from the fire's other logs, and its rows.
pub(crate) struct Recording {
    /// Behind the fire's stem in the log's name; empty for a fire's only log.
    pub(crate) suffix: &'static str,
    pub(crate) logger: TeamLogger,
    pub(crate) set: ReadingSet,
}

/// Every log of one fire.
pub(crate) fn recordings(fire: &SampleFire) -> Vec<Recording> {
    let team_logger = TeamLogger::of(fire);
    let end_s = fire.truth.cooks.iter().map(|cook| cook.slice_s).max().unwrap_or(0);
    let first = &fire.truth.cooks[0];
    let mut logger = team_logger.logger(end_s);
    let first_wrap_s = first.wraps.first().map_or(first.meat_on_s + 18_000, |wrap| wrap.0);
    match fire.quirk() {
        Quirk::LogStartsLate => logger.from_s = first.meat_on_s + 9_000,
        Quirk::LogEndsInStall => logger.until_s = middle_of_stall(fire),
        Quirk::OutOfTime => logger.until_s = first.pull_s,
        Quirk::Gap => {
            logger.gaps.push(Stretch::new(first.meat_on_s + 15_000, first.meat_on_s + 17_400));
        }
        Quirk::Spikes => {
            logger.spike_share = 0.006;
            logger.spike_c = 35.0;
        }
        Quirk::ProbesSwapped => logger.swaps.push(Swap {
            channels: (1, 2),
            during: Stretch::new(first_wrap_s, first_wrap_s + 5_400),
        }),
        _ => {}
    }

    let outside = outside(fire, fire.truth.pit_c.len());
    let pit = Probe::sound("Pit", &fire.truth.pit_c);
    let meats: Vec<Probe<'_>> =
        (0..fire.cooks.len()).map(|index| meat_probe(fire, index)).collect();
    let take = |stream: u64, probes: &[Probe<'_>], logger: &Logger| {
        let mut random = ChaCha8Rng::seed_from_u64(fire.seed);
        random.set_stream(stream);
        record(probes, logger, fire.lit_ms, &mut random)
            .expect("the programme's loggers are in range")
    };
    match fire.quirk() {
        Quirk::NoLog => Vec::new(),
        Quirk::TwoLoggers => {
            let second = TeamLogger::borrowed();
            vec![
                Recording { suffix: "-pit", set: take(2, &[pit], &logger), logger: team_logger },
                Recording {
                    suffix: "-meat",
                    set: take(3, &meats, &second.logger(end_s)),
                    logger: second,
                },
            ]
        }
        Quirk::TwoLogs => {
            let restart_s = i64::midpoint(first.meat_on_s, first.pull_s);
            let before = Logger { until_s: restart_s, ..logger.clone() };
            let after = Logger { from_s: restart_s + 300, ..logger };
            let probes: Vec<Probe<'_>> = std::iter::once(pit).chain(meats).collect();
            vec![
                Recording {
                    suffix: "-1",
                    set: take(2, &probes, &before),
                    logger: team_logger.clone(),
                },
                Recording { suffix: "-2", set: take(3, &probes, &after), logger: team_logger },
            ]
        }
        _ => {
            let mut probes: Vec<Probe<'_>> = std::iter::once(pit).chain(meats).collect();
            if fire.team_pit() == TeamPit::Pantry {
                probes.push(Probe::sound("Outside", &outside));
            }
            vec![Recording { suffix: "", set: take(2, &probes, &logger), logger: team_logger }]
        }
    }
}

/// The probe in one piece of meat, with what is wrong with it.
fn meat_probe(fire: &SampleFire, index: usize) -> Probe<'_> {
    let (cook, truth) = (&fire.cooks[index], &fire.truth.cooks[index]);
    let since_on =
        |from: i64, until: i64| Stretch::new(truth.meat_on_s + from, truth.meat_on_s + until);
    let mut probe = Probe {
        offset: CelsiusDifference(cook.probe_offset_c),
        dips: truth
            .wraps
            .iter()
            .map(|wrap| Dip { at_s: wrap.0, depth_c: cook.dip.0, minutes: cook.dip.1 })
            .collect(),
        // A probe comes out when its meat is sliced; others may still be cooking.
        unplugged: vec![Stretch::since(truth.slice_s)],
        ..Probe::sound(cook.channel.as_str(), &truth.core_c)
    };
    match fire.quirk() {
        Quirk::ProbeFails if index == 0 => {
            probe.unplugged = vec![Stretch::since(truth.meat_on_s + 14_400)];
        }
        Quirk::ProbeSticks if index == 0 => probe.stuck = vec![since_on(7_200, 10_200)],
        _ => {}
    }
    probe
}

/// The middle of the first cook's longest stall.
fn middle_of_stall(fire: &SampleFire) -> i64 {
    let first = &fire.truth.cooks[0];
    first
        .judgement
        .phases_of(PhaseKind::Stall)
        .max_by_key(|span| span.end_ms - span.start_ms)
        .map_or(first.pull_s, |span| (span.start_ms + span.end_ms) / 2_000)
}

/// The air outside.
fn outside(fire: &SampleFire, samples: usize) -> Vec<f64> {
    (0..samples).map(|index| fire.pit.outside_at(index as i64 * GRID_STEP_S).value()).collect()
}
