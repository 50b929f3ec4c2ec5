//! Phases: one row a phase; what they were judged against is repeated in each row.

use crate::error::RowsError;
use crate::typed::{Typed, required};
use columns::tables::phases as own;
use columns::{Column, Table};
use cook::spot::is_spot_channel;
use cook::{PhaseKind, PhaseSpan};
use phases::NotJudged;

/// Stands in `computed_from` between the hash of the cook itself and that of what it borrowed.
pub(crate) const BORROWED: char = '/';
/// Word for a cook that cannot be segmented.
pub(crate) const NOT_SEGMENTED: &str = "not-segmented";

/// One phase of a cook as the store keeps it.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseRow {
    /// Kind and span.
    pub span: PhaseSpan,
    /// Core at its start, °C.
    pub start_core_c: Option<f64>,
    /// Core at its end, °C.
    pub end_core_c: Option<f64>,
    /// 90 % interval of its start, ms UTC; an open end is missing.
    pub start_90_ms: (Option<i64>, Option<i64>),
    /// 90 % interval of its end, ms UTC; an open end is missing.
    pub end_90_ms: (Option<i64>, Option<i64>),
}

/// The phases of one cook and what they were judged against.
#[derive(Debug, Clone, PartialEq)]
pub struct CookPhases {
    /// The cook.
    pub cook: String,
    /// Meat on, ms UTC.
    pub meat_on_ms: i64,
    /// Where that comes from.
    pub meat_on_from: String,
    /// Pull, ms UTC; `None` where the log ends first.
    pub pull_ms: Option<i64>,
    /// Where that comes from.
    pub pull_from: String,
    /// The meat channel that is the core.
    pub lead_channel: Option<String>,
    /// Why that one.
    pub lead_because: Option<String>,
    /// Reference heating coefficient, 1/h.
    pub k_ref_per_h: Option<f64>,
    /// Whether it was borrowed from other cooks.
    pub k_ref_borrowed: bool,
    /// Short word for why no stall was judged.
    pub not_judged: Option<String>,
    /// The same as a sentence.
    pub not_judged_reason: Option<String>,
    /// 90 % interval of the stall length, min; an open end is missing.
    pub stall_min_90: (Option<f64>, Option<f64>),
    /// Spikes removed from the core and the pit.
    pub spikes: i64,
    /// Probe dips bridged.
    pub dips: i64,
    /// Gaps too long to judge across.
    pub gaps: i64,
    /// Hash of the cook that they were computed from; behind a `/` that of the reference that it
    /// borrowed, if it did.
    pub computed_from: String,
    /// The phases, in order, without gap or overlap.
    pub phases: Vec<PhaseRow>,
}

impl CookPhases {
    /// What the cook was computed from, the reference that it borrowed aside.
    pub fn content(&self) -> &str {
        self.computed_from.split(BORROWED).next().unwrap_or_default()
    }

    /// The reference heating coefficient that the cook has of its own, 1/h.
    pub fn own_reference(&self) -> Option<f64> {
        self.k_ref_per_h.filter(|_| !self.k_ref_borrowed && !self.is_by_hand())
    }

    /// Whether the core was read by hand.
    fn is_by_hand(&self) -> bool {
        self.lead_channel.as_deref().is_some_and(is_spot_channel)
    }

    /// Whether a reference of other cooks could help: the cook was segmented, has core and pit, and
    /// no reference of its own.
    pub fn asks_for_reference(&self) -> bool {
        let helpless =
            [NotJudged::NoCore, NotJudged::NoPit, NotJudged::LateCore, NotJudged::Silent]
                .map(NotJudged::as_str)
                .into_iter()
                .chain([NOT_SEGMENTED])
                .collect::<Vec<_>>();
        let reason = self.not_judged.as_deref();
        self.own_reference().is_none()
            && !self.is_by_hand()
            && reason.is_none_or(|reason| !helpless.contains(&reason))
    }
}

/// The table of phases: one row a phase.
pub fn phases_to_table(cooks: &[CookPhases]) -> Table {
    let rows: Vec<(&CookPhases, &PhaseRow)> =
        cooks.iter().flat_map(|cook| cook.phases.iter().map(move |row| (cook, row))).collect();
    let text = |of: &dyn Fn(&CookPhases, &PhaseRow) -> Option<String>| {
        Column::Text(rows.iter().map(|(cook, row)| of(cook, row)).collect())
    };
    let float = |of: &dyn Fn(&CookPhases, &PhaseRow) -> Option<f64>| {
        Column::Float(rows.iter().map(|(cook, row)| of(cook, row)).collect())
    };
    let int = |of: &dyn Fn(&CookPhases) -> i64| {
        Column::Int(rows.iter().map(|(cook, _)| Some(of(cook))).collect())
    };
    let instant = |of: &dyn Fn(&CookPhases, &PhaseRow) -> Option<i64>| {
        Column::Instant(rows.iter().map(|(cook, row)| of(cook, row)).collect())
    };
    let flag = |of: &dyn Fn(&CookPhases, &PhaseRow) -> bool| {
        Column::Bool(rows.iter().map(|(cook, row)| Some(of(cook, row))).collect())
    };
    let since_meat_on = |cook: &CookPhases, ms: i64| Some((ms - cook.meat_on_ms) as f64 / 1000.0);
    Table::new()
        .with(own::COOK, text(&|c, _| Some(c.cook.clone())))
        .with(own::PHASE, text(&|_, r| Some(r.span.kind.as_str().to_owned())))
        .with(own::START_S, float(&|c, r| since_meat_on(c, r.span.start_ms)))
        .with(own::END_S, float(&|c, r| since_meat_on(c, r.span.end_ms)))
        .with(own::START_AT, instant(&|_, r| Some(r.span.start_ms)))
        .with(own::END_AT, instant(&|_, r| Some(r.span.end_ms)))
        .with(own::START_CORE_C, float(&|_, r| r.start_core_c))
        .with(own::END_CORE_C, float(&|_, r| r.end_core_c))
        .with(own::COMPLETE, flag(&|_, r| r.span.complete))
        .with(own::START_AT_LO90, instant(&|_, r| r.start_90_ms.0))
        .with(own::START_AT_HI90, instant(&|_, r| r.start_90_ms.1))
        .with(own::END_AT_LO90, instant(&|_, r| r.end_90_ms.0))
        .with(own::END_AT_HI90, instant(&|_, r| r.end_90_ms.1))
        .with(own::MEAT_ON_AT, instant(&|c, _| Some(c.meat_on_ms)))
        .with(own::MEAT_ON_FROM, text(&|c, _| Some(c.meat_on_from.clone())))
        .with(own::PULL_AT, instant(&|c, _| c.pull_ms))
        .with(own::PULL_FROM, text(&|c, _| Some(c.pull_from.clone())))
        .with(own::LEAD_CHANNEL, text(&|c, _| c.lead_channel.clone()))
        .with(own::LEAD_BECAUSE, text(&|c, _| c.lead_because.clone()))
        .with(own::K_REF_PER_H, float(&|c, _| c.k_ref_per_h))
        .with(own::K_REF_BORROWED, flag(&|c, _| c.k_ref_borrowed))
        .with(own::NOT_JUDGED, text(&|c, _| c.not_judged.clone()))
        .with(own::NOT_JUDGED_REASON, text(&|c, _| c.not_judged_reason.clone()))
        .with(own::STALL_MIN_LO90, float(&|c, _| c.stall_min_90.0))
        .with(own::STALL_MIN_HI90, float(&|c, _| c.stall_min_90.1))
        .with(own::SPIKES, int(&|c| c.spikes))
        .with(own::DIPS, int(&|c| c.dips))
        .with(own::GAPS, int(&|c| c.gaps))
        .with(own::COMPUTED_FROM, text(&|c, _| Some(c.computed_from.clone())))
}

/// Reads the table of phases back.
///
/// # Errors
/// A column that is missing, of another kind, or without a value that it must have.
pub fn phases_from_table(table: &Table) -> Result<Vec<CookPhases>, RowsError> {
    let text = |column| table.text(column);
    let instant = |column| table.instants(column);
    let (cook, kind) = (text(own::COOK)?, text(own::PHASE)?);
    let (start, end) = (instant(own::START_AT)?, instant(own::END_AT)?);
    let (start_core, end_core) = (table.floats(own::START_CORE_C)?, table.floats(own::END_CORE_C)?);
    let (start_lo, start_hi) = (instant(own::START_AT_LO90)?, instant(own::START_AT_HI90)?);
    let (end_lo, end_hi) = (instant(own::END_AT_LO90)?, instant(own::END_AT_HI90)?);
    let complete = table.booleans(own::COMPLETE)?;
    let (meat_on, meat_on_from) = (instant(own::MEAT_ON_AT)?, text(own::MEAT_ON_FROM)?);
    let (pull, pull_from) = (instant(own::PULL_AT)?, text(own::PULL_FROM)?);
    let (lead, because) = (text(own::LEAD_CHANNEL)?, text(own::LEAD_BECAUSE)?);
    let (k_ref, borrowed) = (table.floats(own::K_REF_PER_H)?, table.booleans(own::K_REF_BORROWED)?);
    let (not_judged, reason) = (text(own::NOT_JUDGED)?, text(own::NOT_JUDGED_REASON)?);
    let (lo, hi) = (table.floats(own::STALL_MIN_LO90)?, table.floats(own::STALL_MIN_HI90)?);
    let count = |column| table.integers(column);
    let (spikes, dips, gaps) = (count(own::SPIKES)?, count(own::DIPS)?, count(own::GAPS)?);
    let hash = text(own::COMPUTED_FROM)?;
    let mut cooks: Vec<CookPhases> = Vec::new();
    for row in 0..table.rows() {
        let name = required(own::COOK, row, cook[row].clone())?;
        if cooks.last().is_none_or(|last| last.cook != name) {
            cooks.push(CookPhases {
                cook: name,
                meat_on_ms: required(own::MEAT_ON_AT, row, meat_on[row])?,
                meat_on_from: required(own::MEAT_ON_FROM, row, meat_on_from[row].clone())?,
                pull_ms: pull[row],
                pull_from: required(own::PULL_FROM, row, pull_from[row].clone())?,
                lead_channel: lead[row].clone(),
                lead_because: because[row].clone(),
                k_ref_per_h: k_ref[row],
                k_ref_borrowed: required(own::K_REF_BORROWED, row, borrowed[row])?,
                not_judged: not_judged[row].clone(),
                not_judged_reason: reason[row].clone(),
                stall_min_90: (lo[row], hi[row]),
                spikes: required(own::SPIKES, row, spikes[row])?,
                dips: required(own::DIPS, row, dips[row])?,
                gaps: required(own::GAPS, row, gaps[row])?,
                computed_from: required(own::COMPUTED_FROM, row, hash[row].clone())?,
                phases: Vec::new(),
            });
        }
        let word = required(own::PHASE, row, kind[row].as_ref())?;
        let span = PhaseSpan {
            kind: word
                .parse::<PhaseKind>()
                .map_err(|message| RowsError::column(own::PHASE, message))?,
            start_ms: required(own::START_AT, row, start[row])?,
            end_ms: required(own::END_AT, row, end[row])?,
            complete: required(own::COMPLETE, row, complete[row])?,
        };
        if let Some(last) = cooks.last_mut() {
            last.phases.push(PhaseRow {
                span,
                start_core_c: start_core[row],
                end_core_c: end_core[row],
                start_90_ms: (start_lo[row], start_hi[row]),
                end_90_ms: (end_lo[row], end_hi[row]),
            });
        }
    }
    Ok(cooks)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phases_come_back_as_written() {
        let row = |kind, start_ms, end_ms| PhaseRow {
            span: PhaseSpan { kind, start_ms, end_ms, complete: kind != PhaseKind::Rest },
            start_core_c: Some(4.0),
            end_core_c: None,
            start_90_ms: (Some(start_ms - 5), Some(start_ms + 5)),
            end_90_ms: (Some(end_ms - 5), None),
        };
        let cook = |name: &str, k_ref_per_h| CookPhases {
            cook: name.into(),
            meat_on_ms: 1000,
            meat_on_from: "card".into(),
            pull_ms: Some(9000),
            pull_from: "log".into(),
            lead_channel: Some("Flat".into()),
            lead_because: Some("The season sheet names it.".into()),
            k_ref_per_h,
            k_ref_borrowed: false,
            not_judged: None,
            not_judged_reason: None,
            stall_min_90: (Some(10.0), None),
            spikes: 1,
            dips: 2,
            gaps: 0,
            computed_from: "h".into(),
            phases: vec![row(PhaseKind::Ramp, 1000, 9000), row(PhaseKind::Rest, 9000, 9900)],
        };
        let cooks = vec![cook("a", Some(0.17)), cook("b", None)];
        let table = phases_to_table(&cooks);
        assert_eq!(table.rows(), 4);
        assert_eq!(
            table.column("start_s"),
            Some(&Column::Float(vec![Some(0.0), Some(8.0), Some(0.0), Some(8.0)]))
        );
        assert_eq!(phases_from_table(&table).unwrap(), cooks);
    }
}
