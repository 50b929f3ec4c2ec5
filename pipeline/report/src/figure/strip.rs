//! An outcome by group: one point a cook, the median as a bar.

use cook::Units;
use plotters::element::{Circle, PathElement};

use super::axis::{Axis, Room, draw, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted};
use super::scatter::{MAX_NAMED_POINTS, titled, triangle, unnamed_points};
use crate::document::Drawing;
use crate::names::{name_of, quantity_of};
use crate::units::number;

const WIDTH: f64 = 460.0;
const ROW: f64 = 46.0;

/// An outcome by wrap.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Strip<'a> {
    /// The outcome's column.
    pub(crate) outcome: &'static str,
    /// The wraps, in the order to draw them.
    pub(crate) groups: Vec<StripGroup<'a>>,
    /// Cooks that do not say how they were wrapped.
    pub(crate) without_wrap: usize,
    /// Cooks without the outcome.
    pub(crate) not_judged: usize,
}

/// The cooks of one wrap.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StripGroup<'a> {
    pub(crate) wrap: &'a str,
    /// Cook, value in SI, whether that is a lower bound.
    pub(crate) points: Vec<(&'a str, f64, bool)>,
    /// Their fires, each once.
    pub(crate) fires: Vec<&'a str>,
    /// Median in SI and whether it is a lower bound; none where there are too few cooks.
    pub(crate) median: Option<(f64, bool)>,
}

/// The strip plot as SVG, groups from top to bottom. `id` is unique in the page.
pub(crate) fn strip(id: &str, data: &Strip<'_>, units: Units) -> Drawing {
    let room = Room { top: 20.0, right: 76.0, bottom: 38.0, left: 112.0 };
    let height = room.top + ROW * data.groups.len() as f64 + room.bottom;
    let canvas = Canvas::new(WIDTH, height);
    let quantity = quantity_of(data.outcome);
    let shown = |y: f64| quantity.value(y, units);
    let values = || {
        let points = data.groups.iter().flat_map(|g| &g.points).map(|(_, y, _)| *y);
        points.chain(data.groups.iter().filter_map(|g| Some(g.median?.0))).map(shown)
    };
    let highest = values().fold(f64::NEG_INFINITY, f64::max);
    let x = Axis::round(values().fold(0.0, f64::min), highest, 7);
    let y = Axis::exact(0.0, data.groups.len().max(1) as f64, 1);
    let mut chart = plot(&canvas, room, &x, &y, &|v| number(v, x.decimals), None);

    let many = data.groups.iter().map(|g| g.points.len()).sum::<usize>() > MAX_NAMED_POINTS;
    let edge = ((WIDTH - room.right + 8.0) * UNIT) as i32;
    canvas.text((edge, 110), Pen::Note, Anchor::Start, "median");
    for (row, group) in data.groups.iter().enumerate() {
        let middle = data.groups.len() as f64 - row as f64 - 0.5;
        let baseline = ((room.top + ROW * (row as f64 + 0.5)) * UNIT) as i32;
        let edge = ((room.left - 8.0) * UNIT) as i32;
        let name = fitted(group.wrap, 12.0, room.left - 10.0);
        canvas.text((edge, baseline - 10), Pen::Label, Anchor::End, &name);
        let counts = format!(
            "{} on {}",
            plural(group.points.len(), "cook"),
            plural(group.fires.len(), "fire")
        );
        canvas.text((edge, baseline + 110), Pen::Note, Anchor::End, &counts);
        let places = |censored: bool| {
            let points = group.points.iter().enumerate();
            let wanted = points.filter(move |(_, (_, y, open))| *open == censored && y.is_finite());
            let at = wanted.map(|(i, (_, y, _))| (shown(*y), middle + spread(i)));
            at.map(|at| chart.backend_coord(&at)).collect::<Vec<_>>()
        };
        if many {
            unnamed_points(&canvas, &places(false), &places(true));
        }
        let named = group.points.iter().enumerate().filter(|_| !many);
        for (i, (cook, y, censored)) in named.filter(|(_, (_, y, _))| y.is_finite()) {
            let at = (shown(*y), middle + spread(i));
            let bound = if *censored { "at least " } else { "" };
            let name = format!("{cook}: {bound}{}", quantity.show(*y, units));
            canvas.named(&name, || {
                if *censored {
                    let (x, y) = chart.backend_coord(&at);
                    canvas.path(triangle(x, y), Pen::Censored, true);
                } else {
                    let dot = Circle::new(at, 3.2 * UNIT, Pen::Point.shape());
                    draw(&mut chart, [dot]);
                }
            });
        }
        let said = match group.median {
            Some((median, at_least)) => {
                let bar = vec![(shown(median), middle - 0.38), (shown(median), middle + 0.38)];
                draw(&mut chart, [PathElement::new(bar, Pen::Median.shape())]);
                let bound = if at_least { "≥ " } else { "" };
                format!("{bound}{}", quantity.show(median, units))
            }
            None => "no median".to_owned(),
        };
        let edge = ((WIDTH - room.right + 8.0) * UNIT) as i32;
        canvas.text((edge, baseline + 40), Pen::Label, Anchor::Start, &said);
    }
    let foot = ((WIDTH - room.right) * UNIT) as i32;
    let x_title = titled(&name_of(data.outcome), quantity.unit(units));
    canvas.text((foot, ((height - 3.0) * UNIT) as i32), Pen::Label, Anchor::End, &x_title);

    let title = format!("{} by wrap", name_of(data.outcome));
    let groups: Vec<String> = data
        .groups
        .iter()
        .map(|g| {
            let median = g.median.map_or_else(
                || "no median".to_owned(),
                |(median, at_least)| {
                    let bound = if at_least { "at least " } else { "" };
                    format!("median {bound}{}", quantity.show(median, units))
                },
            );
            format!(
                "{}: {median}, {} on {}",
                g.wrap,
                plural(g.points.len(), "cook"),
                plural(g.fires.len(), "fire")
            )
        })
        .collect();
    canvas.finish(id, &title, &format!("One point a cook. {}.", groups.join("; ")))
}

/// Where a point lies across its strip: in a fixed order, so that equal values stay apart and the
/// file stays the same.
fn spread(place: usize) -> f64 {
    [0.0, 0.14, -0.14, 0.24, -0.24, 0.07, -0.07, 0.19, -0.19][place % 9]
}

fn plural(n: usize, noun: &str) -> String {
    crate::words::plural(n, noun)
}
