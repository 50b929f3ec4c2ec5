//! How far a cook's stall moves when the constants of the definition are moved.

use crate::borrow::BorrowedReference;
use crate::cook_segment::PreparedCook;
use crate::definition::Judgement;
use crate::error::PhasesError;
use cook::{PhaseDefinition, PhaseKind, PhaseSpan};

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
    /// What a judgement sees.
    pub fn of(judgement: &Judgement) -> Self {
        Self::among(&judgement.phases, judgement.not_judged.is_none())
    }

    /// What the phases of a cook show; `judged` says whether stalls were judged.
    pub fn among(phases: &[PhaseSpan], judged: bool) -> Self {
        let stalls: Vec<&PhaseSpan> =
            phases.iter().filter(|span| span.kind == PhaseKind::Stall).collect();
        let stall_ms: i64 = stalls.iter().map(|span| span.end_ms - span.start_ms).sum();
        Self {
            stalls: judged.then_some(stalls.len()),
            start_ms: stalls.first().map(|span| span.start_ms),
            end_ms: stalls.last().map(|span| span.end_ms),
            stall_min: judged.then_some(stall_ms as f64 / 60_000.0),
        }
    }
}

/// A cook's judgement with one constant moved, and nothing else.
#[derive(Debug)]
pub struct MovedJudgement {
    /// Which constant.
    pub constant: MovedConstant,
    /// What it was moved to.
    pub to: f64,
    /// The definition then.
    pub definition: PhaseDefinition,
    /// What it says; an error where the constants contradict each other then.
    pub judgement: Result<Judgement, PhasesError>,
}

/// A cook with each constant moved by itself to either end of its range ([`MovedConstant::range`]).
/// A borrowed reference is kept as it is. Cleaning and smoothing know nothing of these constants, so
/// the cook is judged anew but not prepared anew.
pub fn moved_judgements(
    cook: &PreparedCook,
    definition: &PhaseDefinition,
    borrowed: Option<&BorrowedReference>,
) -> Vec<MovedJudgement> {
    let settings = MovedConstant::ALL.into_iter().flat_map(|c| c.range().map(|to| (c, to)));
    settings
        .map(|(constant, to)| {
            let definition = constant.moved(definition, to);
            let judgement = cook.judged(&definition, borrowed);
            MovedJudgement { constant, to, definition, judgement }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cook_segment::prepare_cook;
    use cook::{Card, ChannelReadings, CookReadings, Flag, MarkTimes, Role};

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
        let definition = PhaseDefinition::default();
        let cook = prepare_cook(&readings(), &card, &[], &definition).unwrap();
        let base = StallSeen::of(&cook.judged(&definition, None).unwrap());
        let moved = moved_judgements(&cook, &definition, None);
        assert_eq!((base.stalls, moved.len()), (Some(1), 6));
        let of = |constant, to| {
            let row = moved.iter().find(|row| row.constant == constant && row.to == to).unwrap();
            let seen = StallSeen::of(row.judgement.as_ref().unwrap());
            seen.stall_min.unwrap() - base.stall_min.unwrap()
        };
        let (low, high) =
            (of(MovedConstant::StallFraction, 0.35), of(MovedConstant::StallFraction, 0.45));
        assert!(low < 0.0 && high > 0.0, "{low} {high}");
        // k rises by 0.3 per °C of k_ref there, under 0.4·0.17·47 = 3.2 °C/h: 0.05 takes 3 min.
        assert!((high - low).abs() < 15.0, "{low} {high}");
        // The pit is level: its lag moves nothing.
        assert_eq!(of(MovedConstant::PitLagMin, 20.0), 0.0);
    }

    #[test]
    fn a_cook_prepared_once_is_judged_like_one_prepared_for_the_moved_definition() {
        let card = Card::default();
        let definition = PhaseDefinition::default();
        let cook = prepare_cook(&readings(), &card, &[], &definition).unwrap();
        for moved in moved_judgements(&cook, &definition, None) {
            let anew = prepare_cook(&readings(), &card, &[], &moved.definition).unwrap();
            let anew = anew.judged(&moved.definition, None).unwrap();
            assert_eq!(moved.judgement.unwrap().phases, anew.phases, "{:?}", moved.constant);
        }
    }

    #[test]
    fn stalls_are_counted_among_phases_as_in_a_judgement() {
        let cook = prepare_cook(&readings(), &Card::default(), &[], &PhaseDefinition::default());
        let judgement = cook.unwrap().judged(&PhaseDefinition::default(), None).unwrap();
        let seen = StallSeen::of(&judgement);
        assert_eq!((seen.stalls, seen.stall_min), (judgement.stalls, judgement.stall_min));
    }
}
