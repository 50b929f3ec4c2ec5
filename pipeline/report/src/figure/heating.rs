//! One cook's heating coefficient over the hours since meat-on, under its curve: the same axis, and the
//! threshold that a stall is judged by.

use plotters::series::LineSeries;

use super::axis::{Axis, Room, draw, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT};
use super::curve::{SIDES, large_time_axis};
use crate::data::{CookReport, Curve};
use crate::document::Drawing;
use crate::units::number;

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 150.0;

/// The coefficient as SVG. `id` is unique in the page; `stall_fraction` of the cook's reference is the
/// threshold.
pub(crate) fn heating(id: &str, cook: &CookReport, curve: &Curve, stall_fraction: f64) -> Drawing {
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 24.0, right: SIDES, bottom: 38.0, left: SIDES };
    let x = large_time_axis(cook, curve);
    let reference = cook.measures.k_ref_per_h;
    let finite = || cook.heating.iter().filter(|point| point.1.is_finite());
    let highest = finite().map(|point| point.1).chain(reference).fold(0.05, f64::max);
    let lowest = finite().map(|point| point.1).fold(0.0, f64::min);
    let y = Axis::round(lowest, highest, 4);
    let hours = |min: f64| number(min / 60.0, usize::from(min % 60.0 != 0.0));
    let mut chart = plot(&canvas, room, &x, &y, &hours, Some(&|v| number(v, y.decimals)));
    let edge = ((WIDTH - room.right + 3.0) * UNIT) as i32;
    if let Some(reference) = reference {
        for (level, pen, name) in
            [(reference, Pen::Axis, "k ref"), (stall_fraction * reference, Pen::Zero, "stall")]
        {
            draw(&mut chart, LineSeries::new([(x.from, level), (x.to, level)], pen.shape()));
            let (_, y) = chart.backend_coord(&(x.to, level));
            canvas.text((edge, y + 35), Pen::Note, Anchor::Start, name);
        }
    }
    let points: Vec<(f64, f64)> = finite().copied().collect();
    draw(&mut chart, LineSeries::new(points, Pen::Line.shape()));
    canvas.text((0, 110), Pen::Label, Anchor::Start, "heating coefficient, 1/h");
    foot_label(&canvas, (WIDTH, HEIGHT), room, "hours since meat-on");
    let title = format!("Cook {}: heating coefficient", cook.id());
    let description = format!(
        "Heating coefficient in steps of ten minutes from the core's first 55 °C{}.",
        reference.map_or_else(
            || "; no reference to judge it by".to_owned(),
            |k| format!(
                ", its reference {} 1/h and the threshold of a stall {} 1/h",
                number(k, 3),
                number(stall_fraction * k, 3)
            )
        )
    );
    canvas.finish(id, &title, &description)
}
