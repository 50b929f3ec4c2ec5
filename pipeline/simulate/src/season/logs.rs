//! The log of one fire of the sample seasons.

use crate::GRID_STEP_S;
use crate::measured::{Dip, Logger, Probe, Stretch, record};
use crate::season::draw::{SampleFire, zone};
use crate::season::programme::{Quirk, TeamPit};
use cook::{CelsiusDifference, PhaseKind};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// The bytes of the fire's log.
pub(crate) fn log(fire: &SampleFire) -> Vec<u8> {
    let (dialect, interval_s, jitter_s, unit, quantum) = fire.team_pit().dialect(fire.season());
    let end_s = fire.truth.cooks.iter().map(|cook| cook.slice_s).max().unwrap_or(0);
    let first = &fire.truth.cooks[0];
    let mut logger = Logger {
        jitter_s,
        noise_c: 0.12,
        from_s: 600,
        ..Logger::sound(interval_s, unit, quantum, end_s)
    };
    let mut fails_s = i64::MAX;
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
        Quirk::ProbeFails => fails_s = first.meat_on_s + 14_400,
        _ => {}
    }

    let outside = outside(fire, fire.truth.pit_c.len());
    let mut probes = vec![Probe::sound("Pit", &fire.truth.pit_c)];
    for (index, (cook, truth)) in fire.cooks.iter().zip(&fire.truth.cooks).enumerate() {
        probes.push(Probe {
            offset: CelsiusDifference(cook.probe_offset_c),
            dips: truth
                .wraps
                .iter()
                .map(|wrap| Dip { at_s: wrap.0, depth_c: cook.dip.0, minutes: cook.dip.1 })
                .collect(),
            // A probe comes out when its meat is sliced; others may still be cooking.
            unplugged: vec![Stretch::since(if index == 0 {
                fails_s.min(truth.slice_s)
            } else {
                truth.slice_s
            })],
            ..Probe::sound(cook.channel.as_str(), &truth.core_c)
        });
    }
    if fire.team_pit() == TeamPit::Pantry {
        probes.push(Probe::sound("Outside", &outside));
    }
    let mut random = ChaCha8Rng::seed_from_u64(fire.seed);
    random.set_stream(2);
    let set = record(&probes, &logger, fire.lit_ms, &mut random)
        .expect("the programme's loggers are in range");
    dialect.write(&set, &zone()).expect("the programme's dates are in the calendar").bytes
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
