//! How steady the team was, as one small line.

use cook::Units;
use study::result::chart::ControlChart;

use super::canvas::{Anchor, Canvas, Pen, UNIT};
use crate::document::Drawing;
use crate::names::{name_of, quantity_of};

const SIZE: (f64, f64) = (270.0, 62.0);

/// The line as SVG, limits dashed, points outside them marked. `id` is unique in the page.
pub(crate) fn small_chart(id: &str, chart: &ControlChart, units: Units) -> Drawing {
    let canvas = Canvas::new(SIZE.0, SIZE.1);
    let quantity = quantity_of(&chart.measure);
    let values = || chart.points.iter().map(|point| point.value);
    let low = values().fold(chart.lower.min(chart.centre), f64::min);
    let high = values().fold(chart.upper, f64::max).max(low + 1e-9);
    let unit = |points: f64| (points * UNIT).round() as i32;
    let up = |value: f64| unit(18.0 + (high - value) / (high - low) * (SIZE.1 - 24.0));
    let right = SIZE.0 - 52.0;
    let last = chart.points.len().saturating_sub(1).max(1) as f64;
    let across = |place: usize| unit(4.0 + place as f64 / last * (right - 8.0));
    for (value, pen) in
        [(chart.lower, Pen::Edge), (chart.upper, Pen::Edge), (chart.centre, Pen::Grid)]
    {
        canvas.path([(0, up(value)), (unit(right), up(value))], pen, false);
    }
    let line = chart.points.iter().enumerate().map(|(at, point)| (across(at), up(point.value)));
    canvas.path(line, Pen::Steady, false);
    for (at, point) in chart.points.iter().enumerate().filter(|(_, point)| point.outside) {
        canvas.ring((across(at), up(point.value)), 26, Pen::Censored);
    }
    canvas.text((0, 110), Pen::Label, Anchor::Start, &name_of(&chart.measure));
    let centre = quantity.show(chart.centre, units);
    canvas.text((unit(right + 4.0), up(chart.centre) + 36), Pen::Tick, Anchor::Start, &centre);
    let outside = chart.points.iter().filter(|point| point.outside).count();
    let description = format!(
        "{} fires in order of time about a mean of {centre}; {outside} lie outside what the scatter explains.",
        chart.points.len()
    );
    canvas.finish(id, &name_of(&chart.measure), &description)
}
