//! The outcomes of a trial, pair by pair: a line from one side to the other.

use cook::Units;
use plotters::element::{Circle, PathElement};
use std::collections::BTreeMap;
use study::result::trial::{TrialLot, TrialResult};

use super::axis::{Axis, Room, draw, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT};
use crate::document::Drawing;
use crate::names::{name_of, quantity_of};
use crate::units::number;

const WIDTH: f64 = 300.0;
const HEIGHT: f64 = 240.0;
/// Where the two sides stand, across.
const SIDES: [f64; 2] = [0.2, 0.8];

/// The figure; none where no look has looked at a pair. `id` is unique in the page.
pub(crate) fn pairs(id: &str, trial: &TrialResult, units: Units) -> Option<Drawing> {
    let quantity = quantity_of(&trial.outcome);
    let seen: Vec<(&TrialLot, f64)> = trial
        .lots
        .iter()
        .filter_map(|lot| Some((lot, quantity.value(lot.value?, units))))
        .collect();
    if seen.is_empty() {
        return None;
    }
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 26.0, right: 12.0, bottom: 26.0, left: 46.0 };
    let from = seen.iter().map(|(_, value)| *value).fold(f64::INFINITY, f64::min);
    let to = seen.iter().map(|(_, value)| *value).fold(f64::NEG_INFINITY, f64::max);
    let pad = ((to - from) * 0.06).max(1e-6);
    let x = Axis { from: 0.0, to: 1.0, ticks: Vec::new(), decimals: 0 };
    let y = Axis::round(from - pad, to + pad, 5);
    let mut chart =
        plot(&canvas, room, &x, &y, &|_| String::new(), Some(&|v| number(v, y.decimals)));
    let side = |lot: &TrialLot| SIDES[usize::from(lot.arm != trial.arms[0])];
    let mut blocks: BTreeMap<&str, Vec<(&TrialLot, f64)>> = BTreeMap::new();
    for (lot, value) in &seen {
        blocks.entry(&lot.block).or_default().push((lot, *value));
    }
    for lots in blocks.values() {
        for (first, one) in lots.iter().filter(|(lot, _)| lot.arm == trial.arms[0]) {
            for (second, other) in lots.iter().filter(|(lot, _)| lot.arm != trial.arms[0]) {
                let ends = vec![(side(first), *one), (side(second), *other)];
                draw(&mut chart, [PathElement::new(ends, Pen::Thin.shape())]);
            }
        }
    }
    for (lot, value) in &seen {
        let pen = if lot.censored { Pen::Censored } else { Pen::Point };
        draw(&mut chart, [Circle::new((side(lot), *value), 3.5 * UNIT, pen.shape())]);
    }
    let across =
        |part: f64| ((room.left + part * (WIDTH - room.left - room.right)) * UNIT).round() as i32;
    let foot = ((HEIGHT - 8.0) * UNIT) as i32;
    for (arm, at) in trial.arms.iter().zip(SIDES) {
        canvas.text((across(at), foot), Pen::Label, Anchor::Middle, arm);
    }
    let unit = quantity.unit(units);
    let name = name_of(&trial.outcome);
    let label = if unit.is_empty() { name.clone() } else { format!("{name}, {unit}") };
    canvas.text(((4.0 * UNIT) as i32, 130), Pen::Label, Anchor::Start, &label);
    let title = format!("Pair by pair: {}", trial.says);
    let description = format!(
        "{name} under {} at the left and under {} at the right; a line joins the cooks of one draw, {} cooks in all.",
        trial.arms[0],
        trial.arms[1],
        seen.len()
    );
    Some(canvas.finish(id, &title, &description))
}
