//! An effect with its interval, against zero and against what matters.

use cook::Units;
use plotters::element::{Circle, PathElement};

use super::axis::{Axis, Room, draw, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT};
use crate::document::Drawing;
use crate::units::number;
use crate::words::ShownEffect;
use study::result::ClaimResult;

const WIDTH: f64 = 400.0;
const HEIGHT: f64 = 104.0;

/// The interval figure of a claim with an effect. `id` is unique in the page.
pub(crate) fn interval(
    id: &str,
    claim: &ClaimResult,
    effect: &ShownEffect,
    units: Units,
) -> Drawing {
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 24.0, right: 14.0, bottom: 38.0, left: 14.0 };
    let matters = ShownEffect::matters(&claim.asked, units);
    let ends = [Some(effect.estimate), effect.lo, effect.hi, Some(-matters), Some(matters)];
    let reach = ends.into_iter().flatten().map(f64::abs).fold(0.0, f64::max) * 1.12;
    let x = Axis::exact(-reach, reach, 8);
    let y = Axis::exact(0.0, 1.0, 1);

    let across = |value: f64| {
        let part = ((value - x.from) / (x.to - x.from)).clamp(0.0, 1.0);
        ((room.left + part * (WIDTH - room.left - room.right)) * UNIT).round() as i32
    };
    let (top, bottom) = ((room.top * UNIT) as i32, ((HEIGHT - room.bottom) * UNIT) as i32);
    canvas.rect((across(-matters), top), (across(matters), bottom), Pen::Matters);
    let mut chart = plot(&canvas, room, &x, &y, &|v| number(v, x.decimals), None);
    let mut line = |path: Vec<(f64, f64)>, pen: Pen| {
        draw(&mut chart, [PathElement::new(path, pen.shape())]);
    };
    line(vec![(0.0, 0.0), (0.0, 1.0)], Pen::Zero);
    let (lo, hi) = (effect.lo.unwrap_or(x.from), effect.hi.unwrap_or(x.to));
    line(vec![(lo, 0.5), (hi, 0.5)], Pen::Interval);
    for end in [effect.lo, effect.hi].into_iter().flatten() {
        line(vec![(end, 0.32), (end, 0.68)], Pen::Interval);
    }
    let dot = Circle::new((effect.estimate, 0.5), 4.5 * UNIT, Pen::Point.shape());
    draw(&mut chart, [dot]);
    // An open end runs to the edge with an arrowhead.
    let middle = i32::midpoint(top, bottom);
    for (open, edge, inward) in
        [(effect.lo.is_none(), across(x.from), 60), (effect.hi.is_none(), across(x.to), -60)]
    {
        if open {
            let head = [(edge + inward, middle - 40), (edge, middle), (edge + inward, middle + 40)];
            canvas.path(head, Pen::Interval, false);
        }
    }

    let edges = ((room.left * UNIT) as i32, ((WIDTH - room.right) * UNIT) as i32);
    let (left, right) = if claim.asked.sign() > 0.0 {
        ("← against the claim", "for the claim →")
    } else {
        ("← for the claim", "against the claim →")
    };
    canvas.text((edges.0, 130), Pen::Note, Anchor::Start, left);
    canvas.text((edges.1, 130), Pen::Note, Anchor::End, right);
    canvas.text((across(0.0), 130), Pen::Note, Anchor::Middle, "no difference");
    let foot = ((HEIGHT - 3.0) * UNIT) as i32;
    canvas.text((edges.1, foot), Pen::Label, Anchor::End, &effect.axis_label(&claim.asked));

    let title = format!("Effect and interval: {}", claim.says);
    let description = format!(
        "{}, drawn against zero and against the band of differences that do not matter, {} to {}.",
        effect.sentence(),
        number(-matters, effect.decimals),
        effect.with_unit(matters),
    );
    canvas.finish(id, &title, &description)
}
