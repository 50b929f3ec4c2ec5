//! Numbers that mean "no value", told from temperatures.

use crate::log::finding::{Finding, Findings};
use crate::log::plan::decide::Plan;
use crate::log::rows::ledger::Rows;
use columns::Packed;
use std::collections::BTreeMap;

/// Readings this many rows around a number tell whether it can be a temperature: it lies
/// between them, or beyond them by no more than a few of the channel's usual steps.
const NEAR_ROWS: usize = 5;
const STEPS: f32 = 4.0;

/// The middle of the steps between neighbouring readings.
fn usual_step(values: &Packed<f32>) -> f32 {
    let known: Vec<f32> = values.iter().filter(|value| !value.is_nan()).collect();
    let mut steps: Vec<f32> = known.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    steps.sort_by(f32::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(0.0)
}

/// Tells sentinels from temperatures by the readings around them, and notes what was taken for
/// missing.
pub(crate) fn settle(_plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let suspects = std::mem::take(&mut rows.suspects);
    let mut kept = 0_u64;
    let mut hidden: BTreeMap<(usize, usize), Vec<(usize, f32)>> = BTreeMap::new();
    for suspect in &suspects {
        let values = &mut rows.series[suspect.at.series].values[suspect.at.channel];
        let own = hidden.entry((suspect.at.series, suspect.at.channel)).or_default();
        own.push((suspect.at.row, values.at(suspect.at.row)));
        values.set(suspect.at.row, f32::NAN);
    }
    let mut real = Vec::new();
    for (&(series, channel), own) in &hidden {
        let values = &rows.series[series].values[channel];
        let slack = STEPS * usual_step(values);
        for &(row, value) in own {
            let near = row.saturating_sub(NEAR_ROWS)..(row + NEAR_ROWS + 1).min(values.len());
            let known = near.map(|row| values.at(row)).filter(|other| !other.is_nan());
            let (low, high) =
                known.fold((f32::INFINITY, f32::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
            if (low - slack..=high + slack).contains(&value) {
                real.push((series, channel, row, value));
            }
        }
    }
    for &(series, channel, row, value) in &real {
        rows.series[series].values[channel].set(row, value);
        kept += 1;
    }
    for suspect in &suspects {
        if rows.series[suspect.at.series].values[suspect.at.channel].at(suspect.at.row).is_nan() {
            rows.missing.count(&suspect.text);
        }
    }
    let words = rows.missing.shown();
    let mut findings = Findings::default();
    if words.is_some() || kept > 0 {
        findings.note(Finding::Missing { words, temperatures: kept });
    }
    findings
}
