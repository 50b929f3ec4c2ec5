//! How far a cook's stall moves when the constants of the definition are moved.

use crate::cook_segment::segment_cook;
use crate::definition::Judgement;
use crate::error::PhasesError;
use crate::segment::SegmentOptions;
use cook::{Card, CookReadings, Event, PhaseDefinition, PhaseKind};

/// A constant that is moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MovedConstant {
    /// Share of the reference below which the meat is in stall.
    StallFraction,
    /// Time constant of the lagged pit, min.
    PitLagMin,
    /// Whole width of the slope window, min.
    SmoothingMin,
}

impl MovedConstant {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::StallFraction, Self::PitLagMin, Self::SmoothingMin];

    /// Its key in the settings.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::StallFraction => "stall_fraction",
            Self::PitLagMin => "pit_lag_min",
            Self::SmoothingMin => "smoothing_min",
        }
    }

    /// The ends of the range that anyone would argue for.
    pub fn range(self) -> [f64; 2] {
        match self {
            Self::StallFraction => [0.35, 0.45],
            Self::PitLagMin => [20.0, 30.0],
            Self::SmoothingMin => [10.0, 40.0],
        }
    }

    /// The definition with this constant moved.
    pub fn moved(self, definition: &PhaseDefinition, to: f64) -> PhaseDefinition {
        match self {
            Self::StallFraction => PhaseDefinition { stall_fraction: to, ..*definition },
            Self::PitLagMin => PhaseDefinition { pit_lag_min: to, ..*definition },
            Self::SmoothingMin => PhaseDefinition { slope_half_window_s: 30.0 * to, ..*definition },
        }
    }
}

/// The stall of one cook as one definition sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StallSeen {
    /// Number of stalls; `None` where not judged.
    pub stalls: Option<usize>,
    /// Start of the first stall, ms UTC.
    pub start_ms: Option<i64>,
    /// End of the last stall, ms UTC.
    pub end_ms: Option<i64>,
    /// Minutes in stalls.
    pub stall_min: Option<f64>,
}

impl StallSeen {
    fn of(judgement: &Judgement) -> Self {
        let mut stalls = judgement.phases_of(PhaseKind::Stall);
        let first = stalls.clone().next();
        let last = stalls.next_back();
        Self {
            stalls: judgement.stalls,
            start_ms: first.map(|span| span.start_ms),
            end_ms: last.map(|span| span.end_ms),
            stall_min: judgement.stall_min,
        }
    }
}

/// What one moved constant does to one cook's stall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// Which constant.
    pub constant: MovedConstant,
    /// What it was moved to.
    pub to: f64,
    /// The stall then.
    pub seen: StallSeen,
    /// How far the first stall's start moves, min; `None` where there is none in either.
    pub start_moves_min: Option<f64>,
    /// How far the last stall's end moves, min.
    pub end_moves_min: Option<f64>,
    /// How much longer the stalls are, min.
    pub length_moves_min: Option<f64>,
}

/// A cook's stall, and how far it moves with each constant moved to either end of its range by
/// itself. A borrowed reference is kept as it is.
///
/// # Errors
/// As [`segment_cook`].
pub fn sensitivity(
    readings: &CookReadings,
    card: &Card,
    events: &[Event],
    options: &SegmentOptions,
) -> Result<(StallSeen, Vec<Sensitivity>), PhasesError> {
    let seen_under = |definition: PhaseDefinition| {
        let options = SegmentOptions { definition, draws: 0, ..options.clone() };
        let found = segment_cook(readings, card, events, &options)?;
        Ok::<StallSeen, PhasesError>(StallSeen::of(&found.segmentation.judgement))
    };
    let base = seen_under(options.definition)?;
    let minutes = |a: Option<i64>, b: Option<i64>| Some((a? - b?) as f64 / 60_000.0);
    let mut rows = Vec::new();
    for constant in MovedConstant::ALL {
        for to in constant.range() {
            let seen = seen_under(constant.moved(&options.definition, to))?;
            rows.push(Sensitivity {
                constant,
                to,
                start_moves_min: minutes(seen.start_ms, base.start_ms),
                end_moves_min: minutes(seen.end_ms, base.end_ms),
                length_moves_min: seen.stall_min.zip(base.stall_min).map(|(a, b)| a - b),
                seen,
            });
        }
    }
    Ok((base, rows))
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::{ChannelReadings, Flag, MarkTimes, Role};

    /// A core that warms towards 120 °C, at a tenth of its coefficient from 65 to 72 °C and at a
    /// coefficient that comes back over 3 °C.
    fn readings() -> CookReadings {
        let mut core_c = 5.0_f64;
        let mut channels =
            [ChannelReadings::new("Pit", Role::Pit), ChannelReadings::new("Meat", Role::Meat)];
        for minute in 0..1_000_i64 {
            let share = if core_c < 65.0 {
                1.0
            } else {
                0.1 + 0.9 * ((core_c - 72.0) / 3.0).clamp(0.0, 1.0)
            };
            core_c += 0.17 * share * (120.0 - core_c) / 60.0;
            for (channel, value) in channels.iter_mut().zip([120.0, core_c]) {
                channel.at_ms.push(minute * 60_000);
                channel.temp_c.push(value as f32);
                channel.flag.push(Flag::Good);
                channel.source.push(0);
                channel.line.push(1);
            }
        }
        CookReadings {
            cook: "a".into(),
            season: "s".into(),
            channels: channels.into(),
            sources: vec!["l".into()],
        }
    }

    #[test]
    fn a_higher_threshold_makes_the_stall_longer_and_a_lower_one_shorter() {
        let marks =
            MarkTimes { meat_on_ms: Some(0), pull_ms: Some(990 * 60_000), ..MarkTimes::default() };
        let card = Card { marks, ..Card::default() };
        let (base, rows) =
            sensitivity(&readings(), &card, &[], &SegmentOptions::default()).unwrap();
        assert_eq!((base.stalls, rows.len()), (Some(1), 6));
        let of = |constant, to| {
            let row = rows.iter().find(|row| row.constant == constant && row.to == to).unwrap();
            row.length_moves_min.unwrap()
        };
        let (low, high) =
            (of(MovedConstant::StallFraction, 0.35), of(MovedConstant::StallFraction, 0.45));
        assert!(low < 0.0 && high > 0.0, "{low} {high}");
        // k rises by 0.3 per °C of k_ref there, under 0.4·0.17·47 = 3.2 °C/h: 0.05 takes 3 min.
        assert!((high - low).abs() < 15.0, "{low} {high}");
        // The pit is level: its lag moves nothing.
        assert_eq!(of(MovedConstant::PitLagMin, 20.0), 0.0);
    }
}
