//! The cooks that come out worst, each with what the definition gives on its curve with the probe's
//! offset and drift: where that is as far off, no smoothing could have helped.

use super::cooks::{STEP_MS, TrueCook};
use super::logger::Logged;
use super::score::Found;
use cook::{PhaseDefinition, PhaseKind};
use phases::GridCurves;
use std::fmt::Write as _;

/// Stalls as start and end, min since meat-on.
type Stalls = Vec<(f64, f64)>;

fn since(truth: &TrueCook, spans: impl Iterator<Item = (i64, i64)>) -> Stalls {
    let minutes = |ms: i64| (ms - truth.bounds.meat_on_ms) as f64 / 60_000.0;
    spans.map(|(start, end)| (minutes(start), minutes(end))).collect()
}

/// What the definition says of the undisturbed curve as an uncalibrated probe sees it.
fn uncalibrated(truth: &TrueCook, logged: &Logged) -> Stalls {
    let core_c: Vec<f64> = truth
        .core_c
        .iter()
        .enumerate()
        .map(|(place, core)| {
            let hours = (place as i64 * STEP_MS - truth.bounds.meat_on_ms) as f64 / 3.6e6;
            core + logged.logging.offset_c + logged.logging.drift_c_per_h * hours
        })
        .collect();
    let curves = GridCurves { start_ms: 0, step_ms: STEP_MS, core_c: &core_c, pit_c: &truth.pit_c };
    let judgement = phases::judge(&curves, &truth.bounds, &PhaseDefinition::default(), None);
    let spans = judgement.phases_of(PhaseKind::Stall).map(|span| (span.start_ms, span.end_ms));
    since(truth, spans)
}

fn written(stalls: &[(f64, f64)]) -> String {
    stalls.iter().fold(String::new(), |text, (start, end)| text + &format!(" {start:.0}–{end:.0}"))
}

/// Furthest that a boundary of `found` is from that of `truth`, min; infinite where the number of
/// stalls differs.
fn distance(truth: &[(f64, f64)], found: &[(f64, f64)]) -> f64 {
    if truth.len() != found.len() {
        return f64::INFINITY;
    }
    truth
        .iter()
        .zip(found)
        .fold(0.0_f64, |most, (t, f)| most.max((t.0 - f.0).abs()).max((t.1 - f.1).abs()))
}

/// One line where a boundary is off by more than `most_min` or the number of stalls differs.
pub fn line(
    name: &str,
    index: u64,
    (truth, logged, found): &(TrueCook, Logged, Found),
    most_min: f64,
) -> Option<String> {
    // As far as the log goes.
    let last_ms = logged.logging.until_ms;
    let spans = truth.judgement.phases_of(PhaseKind::Stall);
    let seen = spans.filter(|span| span.start_ms < last_ms);
    let right = since(truth, seen.map(|span| (span.start_ms, span.end_ms.min(last_ms))));
    let answer = since(truth, found.stalls.iter().map(|stall| (stall.start_ms, stall.end_ms)));
    if distance(&right, &answer) <= most_min {
        return None;
    }
    let logging = &logged.logging;
    let mut text = format!("{name} {index}: true{}", written(&right));
    write!(
        text,
        "; found{}; uncalibrated{}; every {:.0} s in {:.2} °C, noise {:.2}, offset {:.1}, drift {:.2}",
        written(&answer),
        written(&uncalibrated(truth, logged)),
        logging.interval_s,
        logging.quantum_c,
        logging.noise_c,
        logging.offset_c,
        logging.drift_c_per_h,
    )
    .expect("a string");
    for (what, spans) in [("gap", &logging.gaps_ms), ("stuck", &logging.stuck_ms)] {
        if !spans.is_empty() {
            let spans = since(truth, spans.iter().copied());
            write!(text, ", {what}{}", written(&spans)).expect("a string");
        }
    }
    if let Some((a, b, from, until)) = logging.exchanged {
        let spans = since(truth, std::iter::once((from.max(logging.from_ms), until.min(last_ms))));
        write!(text, ", exchanged {a}{b}{}", written(&spans)).expect("a string");
    }
    Some(text)
}
