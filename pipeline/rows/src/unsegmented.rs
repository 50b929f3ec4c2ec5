//! A cook that cannot be segmented: `unknown` throughout, with the reason in words.

use crate::cook_input::CookInput;
use crate::phase_rows::{CookPhases, NOT_SEGMENTED, PhaseRow};
use columns::iso_instant;
use cook::{PhaseKind, PhaseSpan};
use phases::PhasesError;

/// A cook's problem in words, with instants that people can read.
pub(crate) fn in_words(error: &PhasesError) -> String {
    match error {
        PhasesError::OutsideLog { meat_on_ms, pull_ms, log_start_ms, log_end_ms } => {
            let at = |ms: &i64| iso_instant(*ms);
            format!(
                "the cook runs from {} to {}, its log from {} to {}: check the card's date and times, and the season's time zone",
                at(meat_on_ms),
                at(pull_ms),
                at(log_start_ms),
                at(log_end_ms)
            )
        }
        PhasesError::PullBeforeMeatOn { meat_on_ms, pull_ms } => format!(
            "the pull ({}) is not after meat-on ({}): correct the card's times",
            iso_instant(*pull_ms),
            iso_instant(*meat_on_ms)
        ),
        error => error.to_string(),
    }
}

/// Such a cook is `unknown` from meat-on to its log's end.
pub(crate) fn unsegmented(
    cook: &CookInput<'_>,
    reason: String,
    computed_from: String,
) -> CookPhases {
    let (log_start, log_end) = cook.log_ms.unwrap_or_default();
    let stated = cook.card.marks.meat_on_ms.filter(|at| *at < log_end);
    let start_ms = stated.unwrap_or(log_start);
    CookPhases {
        cook: cook.card.cook.clone(),
        meat_on_ms: start_ms,
        meat_on_from: if stated.is_some() { "card" } else { "log-start" }.into(),
        pull_ms: None,
        pull_from: "log-end".into(),
        lead_channel: None,
        lead_because: None,
        k_ref_per_h: None,
        k_ref_borrowed: false,
        not_judged: Some(NOT_SEGMENTED.into()),
        not_judged_reason: Some(reason),
        stall_min_90: (None, None),
        spikes: 0,
        dips: 0,
        gaps: 0,
        computed_from,
        phases: vec![PhaseRow {
            span: PhaseSpan {
                kind: PhaseKind::Unknown,
                start_ms,
                end_ms: log_end.max(start_ms),
                complete: false,
            },
            start_core_c: None,
            end_core_c: None,
            start_90_ms: (None, None),
            end_90_ms: (None, None),
        }],
    }
}
