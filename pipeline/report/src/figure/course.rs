//! Core curves of the sides of an argument, from where they part: the median time at each
//! temperature; and the fires that both sides shared, a line each.

use cook::Units;
use plotters::element::Polygon;
use plotters::series::LineSeries;
use study::result::course::{CoreCourses, CorePoint, CoreSide};

use super::axis::{Axis, Room, draw, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted, text_width};
use super::sign::line_pen;
use crate::document::Drawing;
use crate::units::{Quantity, number};
use crate::words::spoken;

const SIZE: (f64, f64) = (400.0, 270.0);
const PAIRS: (f64, f64) = (250.0, 270.0);
/// Height of one row of labels above the plot, points.
const LABELS: f64 = 14.0;

fn hours(min: f64) -> String {
    number(min / 60.0, usize::from(min % 60.0 != 0.0))
}

/// The temperatures that a side reached by its median, °C and min.
fn medians(side: &CoreSide) -> Vec<(f64, f64)> {
    side.points.iter().filter_map(|point| Some((point.median_min?, point.core_c))).collect()
}

/// The curves as SVG. `id` is unique in the page.
pub(crate) fn core_courses(id: &str, data: &CoreCourses, units: Units) -> Drawing {
    let canvas = Canvas::new(SIZE.0, SIZE.1);
    let degrees = |c: f64| Quantity::Temperature.value(c, units);
    let unit = Quantity::Temperature.unit(units);
    let ends: Vec<Option<(f64, f64)>> =
        data.sides.iter().map(|side| medians(side).last().copied()).collect();
    let quarters = data.sides.iter().flat_map(|side| &side.points);
    let last_min = quarters
        .filter_map(|point| point.three_quarters_min.or(point.median_min))
        .fold(60.0, f64::max);
    let last_c = data
        .sides
        .iter()
        .flat_map(|side| &side.points)
        .map(|point| point.core_c)
        .fold(data.from_core_c + 1.0, f64::max);
    let room = Room { top: 22.0 + LABELS * 2.0, right: 14.0, bottom: 38.0, left: 40.0 };
    let x = Axis::hours(0.0, last_min, 9);
    let y = Axis::exact(degrees(data.from_core_c), degrees(last_c), 6);
    let mut chart = plot(&canvas, room, &x, &y, &hours, Some(&|v| number(v, 0)));
    for side in &data.sides {
        let edge = |end: fn(&CorePoint) -> Option<f64>| {
            let points = side.points.iter();
            points
                .filter_map(move |point| Some((end(point)?, degrees(point.core_c))))
                .collect::<Vec<_>>()
        };
        let (early, late) = (edge(|p| p.quarter_min), edge(|p| p.three_quarters_min));
        let outline: Vec<_> = early.into_iter().chain(late.into_iter().rev()).collect();
        draw(&mut chart, [Polygon::new(outline, Pen::Band.shape())]);
    }
    for (place, side) in data.sides.iter().enumerate() {
        let line = medians(side).into_iter().map(|(min, c)| (min, degrees(c)));
        draw(&mut chart, LineSeries::new(line, line_pen(place).shape()));
    }
    labels(&canvas, data, &ends, |at| chart.backend_coord(&(at.0, degrees(at.1))));
    canvas.text((0, 110), Pen::Label, Anchor::Start, &format!("core, {unit}"));
    let from = Quantity::Temperature.show(data.from_core_c, units);
    foot_label(&canvas, SIZE, room, &format!("hours from a core of {from}"));
    let said: Vec<String> = data
        .sides
        .iter()
        .zip(&ends)
        .map(|(side, end)| match end {
            Some((min, c)) => {
                let to = Quantity::Temperature.show(*c, units);
                format!(
                    "{}: half of {} cooks at {to} within {}",
                    side.side,
                    side.cooks,
                    spoken(*min)
                )
            }
            None => format!("{}: too few cooks got anywhere", side.side),
        })
        .collect();
    let description = format!(
        "Median time to each core temperature, counted from {from}; shaded: from the quickest quarter to three quarters. {}.",
        said.join("; ")
    );
    canvas.finish(id, "Time to each core temperature, side by side", &description)
}

/// The sides' names and times above the ends of their lines, in two rows where they would touch.
fn labels(
    canvas: &Canvas,
    data: &CoreCourses,
    ends: &[Option<(f64, f64)>],
    place: impl Fn((f64, f64)) -> (i32, i32),
) {
    let mut taken = [f64::NEG_INFINITY; 2];
    let mut sides: Vec<(usize, (f64, f64))> =
        ends.iter().enumerate().filter_map(|(side, end)| Some((side, (*end)?))).collect();
    sides.sort_by(|a, b| a.1.0.total_cmp(&b.1.0));
    for (side, end) in sides {
        let (x, y) = place(end);
        let text = format!("{} {}", fitted(&data.sides[side].side, 11.0, 90.0), spoken(end.0));
        let width = text_width(&text, 11.0);
        let middle = (f64::from(x) / UNIT).clamp(width / 2.0, SIZE.0 - width / 2.0);
        let row = usize::from(middle - width / 2.0 < taken[0] + 4.0);
        taken[row] = middle + width / 2.0;
        let foot = y - 60 - (LABELS * UNIT) as i32 * row as i32;
        canvas.path([(x, y), (x, foot + 15)], Pen::Axis, false);
        let at = ((middle * UNIT) as i32, foot);
        canvas.text(at, Pen::Tick, Anchor::Middle, &text);
    }
}

/// The fires that both sides shared, as SVG. `id` is unique in the page.
pub(crate) fn shared_fires(id: &str, data: &CoreCourses) -> Drawing {
    let canvas = Canvas::new(PAIRS.0, PAIRS.1);
    let room = Room { top: 50.0, right: 50.0, bottom: 38.0, left: 60.0 };
    let minutes = || data.fires.iter().flat_map(|fire| fire.minutes);
    let x = Axis { from: 0.0, to: 1.0, ticks: Vec::new(), decimals: 0 };
    let least = minutes().fold(f64::INFINITY, f64::min);
    let y = Axis::hours((least - 30.0).max(0.0), minutes().fold(60.0, f64::max) + 15.0, 7);
    let chart = plot(&canvas, room, &x, &y, &|_| String::new(), Some(&hours));
    for fire in &data.fires {
        let ends = [(0.0, fire.minutes[0]), (1.0, fire.minutes[1])];
        let ends = ends.map(|end| chart.backend_coord(&end));
        let times = fire.minutes.map(spoken);
        let name = format!("{}: {} and {}", fire.fire, times[0], times[1]);
        canvas.named(&name, || {
            let pen = match fire.first_is_sooner {
                Some(true) => Pen::Sooner,
                Some(false) => Pen::Later,
                None => Pen::Missing,
            };
            canvas.path(ends, pen, false);
            for (end, cut) in ends.into_iter().zip(fire.cut) {
                canvas.ring(end, 22, if cut { Pen::Open } else { Pen::Chosen });
            }
        });
    }
    for (place, side) in data.sides.iter().take(2).enumerate() {
        let (x, _) = chart.backend_coord(&(place as f64, y.from));
        let foot = ((PAIRS.1 - room.bottom + 15.0) * UNIT) as i32;
        let name = fitted(&side.side, 11.0, 110.0);
        canvas.text((x, foot), Pen::Tick, Anchor::Middle, &name);
    }
    canvas.text((0, 110), Pen::Label, Anchor::Start, "hours to the finish");
    let (first, told) = data.sooner();
    let side = data.sides.first().map_or("", |side| side.side.as_str());
    let description = format!(
        "A line a fire, from the time of one side to that of the other. {side} was sooner in {first} of {told} fires that tell."
    );
    canvas.finish(id, "The fires that both sides shared", &description)
}
