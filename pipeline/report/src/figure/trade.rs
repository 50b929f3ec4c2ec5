//! Faster against worse: every outcome of a treatment on its own scale, better to the right.

use cook::Units;

use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted};
use crate::document::Drawing;
use crate::effect::Effect;
use crate::treatment::{Contrast, Difference, Treatment};
use study::result::cost::Finding;

use crate::words::{cost_difference, cost_finding, trade_sentence};

const WIDTH: f64 = 640.0;
const ROW: f64 = 17.0;
const TOP: f64 = 24.0;
/// Where the names, the intervals and the numbers begin and end, points.
const NAMES: f64 = 170.0;
const PLOT: (f64, f64) = (180.0, 440.0);
const NUMBERS: f64 = 450.0;

/// The figure of one treatment. `id` is unique in the page.
pub(crate) fn trade(id: &str, treatment: &Treatment<'_>, units: Units) -> Drawing {
    let outcomes = outcomes(treatment);
    let heads = if treatment.contrasts.len() > 1 { outcomes.len() } else { 0 };
    let differences: usize = outcomes.iter().map(|(_, rows)| rows.len()).sum();
    let height = TOP + ROW * (heads + differences) as f64 + 8.0;
    let canvas = Canvas::new(WIDTH, height);
    let unit = |points: f64| (points * UNIT).round() as i32;
    let middle = f64::midpoint(PLOT.0, PLOT.1);
    let half = (PLOT.1 - PLOT.0) / 2.0;
    canvas.path(
        [(unit(middle), unit(TOP - 6.0)), (unit(middle), unit(height - 4.0))],
        Pen::Zero,
        false,
    );
    canvas.text((unit(PLOT.0), 120), Pen::Note, Anchor::Start, "← worse");
    canvas.text((unit(middle), 120), Pen::Note, Anchor::Middle, "no difference");
    canvas.text((unit(PLOT.1), 120), Pen::Note, Anchor::End, "better →");
    let mut y = TOP + ROW / 2.0;
    for (name, rows) in &outcomes {
        if heads > 0 {
            canvas.text((0, unit(y + 4.0)), Pen::Label, Anchor::Start, name);
            y += ROW;
        }
        // The scale of this outcome: its widest interval reaches the edge.
        let ends = rows
            .iter()
            .map(|(_, row)| row.effect())
            .flat_map(|effect| [Some(effect.estimate), effect.lo, effect.hi]);
        let reach = ends.flatten().map(f64::abs).fold(0.0, f64::max) * 1.04;
        for (contrast, row) in rows {
            let label = match (contrast.levels(), heads) {
                (Some([level, _]), 1..) => level,
                _ => name.clone(),
            };
            canvas.text(
                (unit(NAMES), unit(y + 4.0)),
                Pen::Tick,
                Anchor::End,
                &fitted(&label, 11.0, NAMES),
            );
            difference(&canvas, row, y, |value: f64| {
                let turned = if row.less_is_better() { -value } else { value };
                let part = if reach > 0.0 { (turned / reach).clamp(-1.0, 1.0) } else { 0.0 };
                unit(middle + part * half)
            });
            let shown = cost_difference(row, units);
            let text = format!("{} ({})", shown.headline(), shown.interval());
            canvas.text(
                (unit(NUMBERS), unit(y + 4.0)),
                Pen::Tick,
                Anchor::Start,
                &fitted(&text, 11.0, WIDTH - NUMBERS),
            );
            y += ROW;
        }
    }
    let said: Vec<String> =
        treatment.contrasts.iter().map(|contrast| trade_sentence(contrast, units)).collect();
    let title = format!("Faster against worse: {}", treatment.name());
    canvas.finish(id, &title, &said.join(" "))
}

type Rows<'a> = Vec<(&'a Contrast<'a>, &'a Difference<'a>)>;

/// Differences by outcome, in the order of their first appearance.
fn outcomes<'a>(treatment: &'a Treatment<'a>) -> Vec<(String, Rows<'a>)> {
    let mut outcomes: Vec<(String, Rows<'a>)> = Vec::new();
    for contrast in &treatment.contrasts {
        for difference in &contrast.differences {
            let name = difference.outcome_name();
            match outcomes.iter_mut().find(|(known, _)| *known == name) {
                Some((_, rows)) => rows.push((contrast, difference)),
                None => outcomes.push((name, vec![(contrast, difference)])),
            }
        }
    }
    outcomes
}

/// Interval and mark: a disc where better, a square where worse, half of them where perhaps, a ring
/// where the data cannot tell.
fn difference(canvas: &Canvas, row: &Difference<'_>, y: f64, across: impl Fn(f64) -> i32) {
    let unit = |points: f64| (points * UNIT).round() as i32;
    let level = unit(y);
    let edges = (unit(PLOT.0), unit(PLOT.1));
    // An open end of what is better less of lies on the other side.
    let (open_lo, open_hi) =
        if row.less_is_better() { (edges.1, edges.0) } else { (edges.0, edges.1) };
    let Effect { estimate, lo, hi, .. } = row.effect();
    let lo = lo.map_or(open_lo, &across);
    let hi = hi.map_or(open_hi, &across);
    canvas.named(cost_finding(row.effect.finding), || {
        canvas.path([(lo, level), (hi, level)], Pen::Interval, false);
        let x = across(estimate);
        match row.effect.finding {
            Finding::Better => canvas.ring((x, level), 45, Pen::Point),
            Finding::PerhapsBetter => canvas.ring((x, level), 28, Pen::Point),
            Finding::Worse => square(canvas, x, level, 42),
            Finding::PerhapsWorse => square(canvas, x, level, 26),
            Finding::CannotTell => canvas.ring((x, level), 40, Pen::Open),
        }
    });
}

fn square(canvas: &Canvas, x: i32, y: i32, half: i32) {
    canvas.rect((x - half, y - half), (x + half, y + half), Pen::Chosen);
}
