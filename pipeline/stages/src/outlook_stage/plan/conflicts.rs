//! Plans that cannot all be kept: pits that hold less, or are to be at two set-points at once.

use super::{Plan, hours_ms};
use crate::outlook_stage::words;
use columns::Quantity;
use cook::Season;
use std::collections::BTreeMap;

/// Set-points closer than this are one, °C.
const SAME_SETPOINT_C: f64 = 3.0;

/// Names the pits that are asked to hold more than they do.
pub(super) fn crowded(plans: &mut [Plan], season: &Season) {
    let mut by_pit: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, plan) in plans.iter().enumerate() {
        if let Some(pit) = &plan.pit {
            by_pit.entry(pit.clone()).or_default().push(index);
        }
    }
    for (pit, on_it) in by_pit {
        let Some(holds_kg) = season.pits.get(&pit).and_then(|pit| pit.holds_kg) else { continue };
        for &index in &on_it {
            let plan = &plans[index];
            let at_once = on_it.iter().filter(|&&other| overlap(plan, &plans[other]));
            let kilograms: f64 = at_once.filter_map(|&other| plans[other].weight_kg).sum();
            if kilograms > holds_kg {
                let shown = |kg: f64| Quantity::Mass.show(kg, season.units);
                let said = format!(
                    "{pit} holds {} and would have {} on it",
                    shown(holds_kg),
                    shown(kilograms)
                );
                add_conflict(&mut plans[index], said);
            }
        }
    }
}

/// Names the pits that are asked to be at two set-points at once.
pub(super) fn unlike_setpoints(plans: &mut [Plan], season: &Season) {
    for index in 0..plans.len() {
        let plan = &plans[index];
        let (Some(pit), Some(own_c)) = (&plan.pit, plan.setpoint_c) else { continue };
        let unlike = plans.iter().find_map(|other| {
            let other_c = other.setpoint_c?;
            let is_unlike = other.pit.as_ref() == Some(pit)
                && overlap(plan, other)
                && (other_c - own_c).abs() > SAME_SETPOINT_C;
            is_unlike.then(|| (other.cook.clone(), other_c))
        });
        let Some((cook, other_c)) = unlike else { continue };
        let units = season.units;
        let said = format!(
            "{pit} is to be at {} for it and at {} for {cook}",
            words::degrees(own_c, units),
            words::degrees(other_c, units)
        );
        add_conflict(&mut plans[index], said);
    }
}

/// Whether two cooks are on at once.
fn overlap(one: &Plan, other: &Plan) -> bool {
    let off_ms = |plan: &Plan| plan.meat_on_ms + hours_ms(plan.hours.pull_by);
    other.meat_on_ms < off_ms(one) && one.meat_on_ms < off_ms(other)
}

fn add_conflict(plan: &mut Plan, said: String) {
    plan.conflict = Some(match plan.conflict.take() {
        Some(before) => format!("{before}; {said}"),
        None => said,
    });
}
