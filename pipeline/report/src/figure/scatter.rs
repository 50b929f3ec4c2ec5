//! An outcome against a numeric covariate: points, line, band.

use cook::Units;
use plotters::element::{Circle, Polygon};
use plotters::series::LineSeries;

use super::axis::{Axis, Room, draw, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT};
use crate::document::Drawing;
use crate::names::{name_of, quantity_of};
use crate::units::number;
use crate::words::outcome_of;
use study::result::driver::{Driver, DriverLine};

const WIDTH: f64 = 320.0;
const HEIGHT: f64 = 230.0;
/// Points that show their cook's name when pointed at; where there are more, none does, so that the
/// page stays light.
pub(crate) const MAX_NAMED_POINTS: usize = 400;

/// The scatter plot as SVG. `id` is unique in the page.
pub(crate) fn scatter(id: &str, driver: &Driver, data: &DriverLine, units: Units) -> Drawing {
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 26.0, right: 12.0, bottom: 38.0, left: 42.0 };
    let (x_name, y_name) = (name_of(&data.by), outcome_of(driver));
    let (across, up) = (quantity_of(&data.by), quantity_of(&driver.outcome));
    let place = |x: f64, y: f64| (across.value(x, units), up.value(y, units));
    let line = &data.line;
    let places: Vec<(f64, f64)> = data
        .points
        .iter()
        .map(|p| place(p.x, p.y))
        .chain(line.iter().map(|p| place(p.x, p.y)))
        .filter(|(x, y)| x.is_finite() && y.is_finite())
        .collect();
    let range = |pick: fn(&(f64, f64)) -> f64| {
        let values = || places.iter().map(pick);
        (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max))
    };
    let (x_from, x_to) = range(|p| p.0);
    let (y_from, y_to) = range(|p| p.1);
    let (x_pad, y_pad) = ((x_to - x_from) * 0.04, (y_to - y_from) * 0.04);
    let x = Axis::exact(x_from - x_pad, x_to + x_pad, 5);
    let y = Axis::round(y_from.min(0.0), y_to + y_pad, 5);
    let mut chart =
        plot(&canvas, room, &x, &y, &|v| number(v, x.decimals), Some(&|v| number(v, y.decimals)));

    if !line.is_empty() {
        // The band is cut at the edges of the plot; the line itself lies within them by choice of
        // the axis.
        let edge = |px: f64, py: f64| {
            let (px, py) = place(px, py);
            (px.clamp(x.from, x.to), py.clamp(y.from, y.to))
        };
        let line: Vec<_> = line.iter().filter(|p| p.y.is_finite()).collect();
        let upper = line.iter().map(|p| edge(p.x, p.hi.unwrap_or(p.y)));
        let lower = line.iter().rev().map(|p| edge(p.x, p.lo.unwrap_or(p.y)));
        let outline: Vec<_> = upper.chain(lower).collect();
        let fitted = LineSeries::new(line.iter().map(|p| place(p.x, p.y)), Pen::Line.shape());
        draw(&mut chart, [Polygon::new(outline, Pen::Band.shape())]);
        draw(&mut chart, fitted);
    }
    let many = data.points.len() > MAX_NAMED_POINTS;
    if many {
        let places = |censored: bool| {
            let points = data.points.iter().filter(move |p| p.censored == censored);
            let finite =
                points.map(|p| place(p.x, p.y)).filter(|p| p.0.is_finite() && p.1.is_finite());
            finite.map(|at| chart.backend_coord(&at)).collect::<Vec<_>>()
        };
        unnamed_points(&canvas, &places(false), &places(true));
    }
    for point in data.points.iter().filter(|_| !many) {
        let at = place(point.x, point.y);
        if !(at.0.is_finite() && at.1.is_finite()) {
            continue;
        }
        let bound = if point.censored { "at least " } else { "" };
        let (x, y) = (across.show(point.x, units), up.show(point.y, units));
        canvas.named(&format!("{}: {x}, {bound}{y}", point.cook), || {
            if point.censored {
                let (x, y) = chart.backend_coord(&at);
                canvas.path(triangle(x, y), Pen::Censored, true);
            } else {
                let dot = Circle::new(at, 3.4 * UNIT, Pen::Point.shape());
                draw(&mut chart, [dot]);
            }
        });
    }
    canvas.text((0, 120), Pen::Label, Anchor::Start, &titled(&y_name, up.unit(units)));
    let foot = ((WIDTH - room.right) * UNIT) as i32;
    let x_title = titled(&x_name, across.unit(units));
    canvas.text((foot, ((HEIGHT - 3.0) * UNIT) as i32), Pen::Label, Anchor::End, &x_title);

    let open = data.points.iter().filter(|p| p.censored).count();
    let title = format!("{y_name} against {}", x_name.to_lowercase());
    let description = format!(
        "{} cooks, one point each, of which {open} are lower bounds drawn as open upward triangles{}.",
        data.points.len(),
        if line.is_empty() { "; no line was fitted" } else { "; a fitted line with its band" },
    );
    canvas.finish(id, &title, &description)
}

/// Points and lower bounds as two elements, without a name each.
pub(super) fn unnamed_points(canvas: &Canvas, points: &[(i32, i32)], bounds: &[(i32, i32)]) {
    canvas.paths(points.iter().map(|at| [*at]), Pen::Dots, false);
    canvas.paths(bounds.iter().map(|&(x, y)| triangle(x, y)), Pen::Censored, true);
}

/// The corners of an upward triangle about a place in backend units: a value that is at least this.
pub(super) fn triangle(x: i32, y: i32) -> [(i32, i32); 3] {
    [(x, y - 52), (x + 45, y + 30), (x - 45, y + 30)]
}

/// An axis title: the name, then the unit.
pub(super) fn titled(name: &str, unit: &str) -> String {
    if unit.is_empty() { name.to_owned() } else { format!("{name}, {unit}") }
}
