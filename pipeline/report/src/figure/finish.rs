//! Share of cooks not yet finished, by wrap, as steps.

use plotters::series::LineSeries;

use super::axis::{Axis, Room, draw, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted};
use crate::document::Drawing;
use crate::units::number;
use study::result::finish::FinishByWrap;

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 300.0;
/// Pens of the curves, told apart by weight and dash as well as by colour.
const PENS: [Pen; 4] = [Pen::Core, Pen::Pit, Pen::Meat, Pen::Ambient];

/// The curves as SVG. `id` is unique in the page.
pub(crate) fn finish_curves(id: &str, data: &FinishByWrap) -> Drawing {
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 26.0, right: 90.0, bottom: 38.0, left: 40.0 };
    let last = data.curves.iter().flat_map(|c| &c.steps).map(|step| step.min).fold(60.0, f64::max);
    let x = Axis::hours(0.0, last, 10);
    let y = Axis::exact(0.0, 100.0, 5);
    let hours = |min: f64| number(min / 60.0, usize::from(min % 60.0 != 0.0));
    let mut chart = plot(&canvas, room, &x, &y, &hours, Some(&|v| number(v, 0)));
    for (place, curve) in data.curves.iter().enumerate() {
        let pen = PENS[place % PENS.len()];
        let mut corners = vec![(0.0, 100.0)];
        let mut share = 100.0;
        let mut ticks = Vec::new();
        for step in &curve.steps {
            corners.push((step.min, share));
            share = 100.0 * step.share;
            corners.push((step.min, share));
            if step.censored > 0 {
                ticks.push((step.min, share));
            }
        }
        draw(&mut chart, LineSeries::new(corners, pen.shape()));
        for tick in ticks {
            let (x, y) = chart.backend_coord(&tick);
            canvas.path([(x, y - 45), (x, y + 45)], Pen::Mark, false);
        }
    }
    // A key at the right, in the order of the curves.
    let left = ((WIDTH - room.right + 8.0) * UNIT) as i32;
    for (place, curve) in data.curves.iter().enumerate() {
        let row = ((room.top + 8.0 + 18.0 * place as f64) * UNIT) as i32;
        canvas.path([(left, row - 35), (left + 200, row - 35)], PENS[place % PENS.len()], false);
        canvas.text((left + 240, row), Pen::Tick, Anchor::Start, &fitted(&curve.wrap, 11.0, 60.0));
    }
    canvas.text((0, 120), Pen::Label, Anchor::Start, "not finished, %");
    foot_label(&canvas, (WIDTH, HEIGHT), room, "hours on the study clock");
    let said: Vec<String> = data
        .curves
        .iter()
        .map(|curve| match curve.median_min {
            Some(median) => {
                format!("{}: half finished by {} h", curve.wrap, number(median / 60.0, 1))
            }
            None => format!("{}: fewer than half finished", curve.wrap),
        })
        .collect();
    let description = format!("Share not finished against time. {}.", said.join("; "));
    canvas.finish(id, "Cooks not yet finished, by wrap", &description)
}
