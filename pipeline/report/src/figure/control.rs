//! An individuals chart: one point a fire, mean, limits and shifts.

use cook::Units;
use plotters::element::Circle;
use plotters::series::LineSeries;

use super::axis::{Axis, Room, draw, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT};
use super::scatter::titled;
use crate::document::Drawing;
use crate::names::{name_of, quantity_of};
use crate::units::number;
use std::collections::HashMap;
use study::result::chart::ControlChart;

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 220.0;

/// The chart as SVG. `id` is unique in the page, `days` are the local dates of the cooks.
pub(crate) fn control_chart(
    id: &str,
    data: &ControlChart,
    days: &HashMap<&str, &str>,
    units: Units,
) -> Drawing {
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 26.0, right: 70.0, bottom: 36.0, left: 46.0 };
    let (name, quantity) = (name_of(&data.measure), quantity_of(&data.measure));
    let shown = |si: f64| quantity.value(si, units);
    let of_cook = |cook: &str| days.get(cook).copied().unwrap_or_default();
    let values = || {
        let limits = [data.lower, data.upper, data.centre];
        data.points.iter().map(|p| p.value).chain(limits).map(shown)
    };
    let last = data.points.len().saturating_sub(1) as f64;
    let x = Axis::exact(-0.5, last + 0.5, 10);
    let y = Axis::round(
        values().fold(f64::INFINITY, f64::min),
        values().fold(f64::NEG_INFINITY, f64::max),
        5,
    );
    let day = |at: f64| {
        let whole = (at - at.round()).abs() < 1e-9 && at >= 0.0;
        let point = data.points.get(at.round() as usize).filter(|_| whole);
        // Month and day; the year stands in the caption.
        let day = point.map_or("", |p| of_cook(&p.cook));
        day.get(2..7).unwrap_or(day).to_owned()
    };
    let mut chart = plot(&canvas, room, &x, &y, &day, Some(&|v| number(v, y.decimals)));
    let ends = (x.from, x.to);
    let edge = ((WIDTH - room.right + 4.0) * UNIT) as i32;
    for (level, pen, said) in [
        (data.upper, Pen::Zero, "upper limit"),
        (data.centre, Pen::Axis, "mean"),
        (data.lower, Pen::Zero, "lower limit"),
    ] {
        let level = shown(level);
        draw(&mut chart, LineSeries::new([(ends.0, level), (ends.1, level)], pen.shape()));
        let (_, y) = chart.backend_coord(&(ends.1, level));
        canvas.text((edge, y + 35), Pen::Note, Anchor::Start, said);
    }
    // The means between shifts, as steps.
    if !data.shifts.is_empty() {
        let mut from = ends.0;
        for shift in &data.shifts {
            let at = shift.at as f64 - 0.5;
            let level = shown(shift.before);
            draw(&mut chart, LineSeries::new([(from, level), (at, level)], Pen::Median.shape()));
            from = at;
        }
        if let Some(shift) = data.shifts.last() {
            let level = shown(shift.after);
            draw(
                &mut chart,
                LineSeries::new([(from, level), (ends.1, level)], Pen::Median.shape()),
            );
        }
    }
    let places: Vec<(f64, f64)> =
        data.points.iter().enumerate().map(|(i, p)| (i as f64, shown(p.value))).collect();
    draw(&mut chart, LineSeries::new(places.clone(), Pen::Pit.shape()));
    for (point, at) in data.points.iter().zip(&places) {
        let outside = if point.outside { ", outside the limits" } else { "" };
        let value = quantity.show(point.value, units);
        let name = format!("{} ({}): {value}{outside}", of_cook(&point.cook), point.cook);
        canvas.named(&name, || {
            if point.outside {
                let (x, y) = chart.backend_coord(at);
                let diamond = [(x, y - 60), (x + 60, y), (x, y + 60), (x - 60, y)];
                canvas.path(diamond, Pen::Censored, true);
            } else {
                draw(&mut chart, [Circle::new(*at, 3.0 * UNIT, Pen::Point.shape())]);
            }
        });
    }
    let label = titled(&name, quantity.unit(units));
    canvas.text((0, 120), Pen::Label, Anchor::Start, &label);
    foot_label(
        &canvas,
        (WIDTH, HEIGHT),
        room,
        "fires in the order of their dates (year and month)",
    );
    let title = format!("{name} over the fires");
    let outside = data.points.iter().filter(|p| p.outside).count();
    let description = format!(
        "{} fires, one point each; mean {}, limits {} and {}; {outside} outside; {} shifts of the mean.",
        data.points.len(),
        quantity.show(data.centre, units),
        quantity.show(data.lower, units),
        quantity.show(data.upper, units),
        data.shifts.len(),
    );
    canvas.finish(id, &title, &description)
}
