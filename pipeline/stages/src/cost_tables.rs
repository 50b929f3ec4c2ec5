//! What faster costs as tables: every difference, and the temperatures of tenderness.

use crate::study_stage::word;
use store::{Column, Table};
use study::result::StudyResult;
use study::result::cost::{CostAnswer, CostEffect};
use study::result::tender::{TenderGroup, TenderQuantile};

/// One row a difference of one outcome by one treatment.
pub(crate) fn costs(result: &StudyResult) -> Table {
    type Row<'a> = (&'a CostAnswer, &'a CostEffect);
    let answers = result.cost_side.answers.iter();
    let rows: Vec<Row<'_>> =
        answers.flat_map(|answer| answer.effects.iter().map(move |own| (answer, own))).collect();
    let text =
        |of: &dyn Fn(&Row<'_>) -> Option<String>| Column::Text(rows.iter().map(of).collect());
    let float = |of: &dyn Fn(&Row<'_>) -> Option<f64>| Column::Float(rows.iter().map(of).collect());
    let count = |of: &dyn Fn(&Row<'_>) -> usize| {
        Column::Int(rows.iter().map(|row| i64::try_from(of(row)).ok()).collect())
    };
    Table::new()
        .with("treatment", text(&|(answer, _)| Some(answer.treatment.clone())))
        .with("standing", text(&|(answer, _)| word(&answer.standing)))
        .with("outcome", text(&|(answer, _)| Some(answer.outcome.clone())))
        .with("level", text(&|(_, own)| own.level.clone()))
        .with("base", text(&|(answer, _)| answer.base.clone()))
        .with("per", float(&|(_, own)| own.per))
        .with("per_unit", text(&|(_, own)| own.per_unit.clone().filter(|unit| !unit.is_empty())))
        .with("estimate", float(&|(_, own)| Some(own.estimate)))
        .with("lo", float(&|(_, own)| own.lo))
        .with("hi", float(&|(_, own)| own.hi))
        .with("unit", text(&|(_, own)| Some(own.unit.clone()).filter(|unit| !unit.is_empty())))
        .with("odds_ratio", float(&|(_, own)| Some(own.odds_ratio?.estimate)))
        .with("odds_ratio_lo", float(&|(_, own)| own.odds_ratio?.lo))
        .with("odds_ratio_hi", float(&|(_, own)| own.odds_ratio?.hi))
        .with("good_score", float(&|(_, own)| Some(own.good_score?.score)))
        .with("good_score_points", float(&|(_, own)| Some(own.good_score?.estimate)))
        .with("good_score_points_lo", float(&|(_, own)| own.good_score?.lo))
        .with("good_score_points_hi", float(&|(_, own)| own.good_score?.hi))
        .with("p", float(&|(_, own)| Some(own.p)))
        .with("p_adjusted", float(&|(_, own)| Some(own.p_adjusted)))
        .with("finding", text(&|(_, own)| word(&own.finding)))
        .with("better", text(&|(answer, _)| word(&answer.better)))
        .with("cooks", count(&|(answer, _)| answer.n))
        .with("fires", count(&|(answer, _)| answer.fires))
}

/// One row a group, an estimator and a share of its cooks.
pub(crate) fn tender(result: &StudyResult) -> Table {
    type Row<'a> = (&'a TenderGroup, &'a str, &'a TenderQuantile);
    let mut rows: Vec<Row<'_>> = Vec::new();
    for group in &result.cost_side.tender.groups {
        let turnbull = group.turnbull.iter().flat_map(|own| &own.quantiles);
        rows.extend(turnbull.map(|own| (group, "turnbull", own)));
        rows.extend(group.normal.iter().map(|own| (group, "normal", own)));
    }
    let text =
        |of: &dyn Fn(&Row<'_>) -> Option<String>| Column::Text(rows.iter().map(of).collect());
    let float = |of: &dyn Fn(&TenderQuantile) -> Option<f64>| {
        Column::Float(rows.iter().map(|(.., own)| of(own)).collect())
    };
    let count = |of: &dyn Fn(&TenderGroup) -> usize| {
        Column::Int(rows.iter().map(|(group, ..)| i64::try_from(of(group)).ok()).collect())
    };
    Table::new()
        .with("by", text(&|(group, ..)| group.by.clone()))
        .with("level", text(&|(group, ..)| group.level.clone()))
        .with("estimator", text(&|(_, estimator, _)| Some((*estimator).to_owned())))
        .with("share", float(&|own| Some(own.share)))
        .with("core_c", float(&|own| own.core_c))
        .with("lo_c", float(&|own| own.lo_c))
        .with("hi_c", float(&|own| own.hi_c))
        .with("cooks", count(&|group| group.n))
        .with("fires", count(&|group| group.fires))
        .with("tender_at_first", count(&|group| group.tender_at_first))
        .with("never_tender", count(&|group| group.never_tender))
}
