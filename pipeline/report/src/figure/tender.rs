//! The share of cooks felt to be tender against the core temperature.

use cook::Units;

use super::axis::{Axis, Room, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen};
use crate::data::TenderReport;
use crate::document::Drawing;
use crate::units::{Quantity, number};

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 300.0;

/// The distribution over all cooks as SVG. `id` is unique in the page.
pub(crate) fn tender(id: &str, data: &TenderReport, units: Units) -> Drawing {
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 26.0, right: 16.0, bottom: 38.0, left: 40.0 };
    let shown = |celsius: f64| Quantity::Temperature.value(celsius, units);
    let normal = data.rows.first().map_or(&[][..], |row| &row.normal);
    let ends = data.steps.iter().flat_map(|(above, by, _)| [*above, *by]);
    let all: Vec<f64> = ends.chain(normal.iter().flatten().copied()).flatten().map(shown).collect();
    let from = all.iter().copied().fold(f64::INFINITY, f64::min);
    let to = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let x = Axis::round(from, to, 8);
    let y = Axis::exact(0.0, 100.0, 5);
    let degrees = |value: f64| number(value, x.decimals);
    let chart = plot(&canvas, room, &x, &y, &degrees, Some(&|v| number(v, 0)));
    // Where in an innermost interval the share rises the tests cannot tell: a band between rising
    // at its beginning and at its end.
    let mut share = 0.0;
    for (above, by, mass) in &data.steps {
        let after = share + 100.0 * mass;
        let lo = above.map_or(x.from, shown);
        let hi = by.map_or(x.to, shown);
        let corner = |x: f64, y: f64| chart.backend_coord(&(x, y));
        canvas.path(
            [corner(lo, share), corner(lo, after), corner(hi, after), corner(hi, share)],
            Pen::Band,
            true,
        );
        canvas.path([corner(lo, share), corner(hi, after)], Pen::Line, false);
        share = after;
    }
    let mut flat = 0.0;
    for pair in data.steps.windows(2) {
        flat += 100.0 * pair[0].2;
        let (Some(end), Some(next)) = (pair[0].1, pair[1].0) else { continue };
        canvas.path(
            [chart.backend_coord(&(shown(end), flat)), chart.backend_coord(&(shown(next), flat))],
            Pen::Line,
            false,
        );
    }
    for (percent, [core, lo, hi]) in [10.0, 50.0, 90.0].into_iter().zip(normal) {
        let (lo, hi) = (lo.map_or(x.from, shown), hi.map_or(x.to, shown));
        let ends = [chart.backend_coord(&(lo, percent)), chart.backend_coord(&(hi, percent))];
        canvas.path(ends, Pen::Mark, false);
        if let Some(core) = core {
            canvas.ring(chart.backend_coord(&(shown(*core), percent)), 40, Pen::Point);
        }
    }
    canvas.text((0, 120), Pen::Label, Anchor::Start, "felt tender, %");
    let label = format!("core temperature, {}", Quantity::Temperature.unit(units));
    foot_label(&canvas, (WIDTH, HEIGHT), room, &label);
    let half = normal.get(1).and_then(|quantile| quantile[0]);
    let description = match half {
        Some(half) => format!(
            "The share rises with the core temperature; half of the cooks were felt tender by {}.",
            Quantity::Temperature.show(half, units)
        ),
        None => "The share rises with the core temperature.".to_owned(),
    };
    canvas.finish(id, "Share of cooks felt to be tender, by core temperature", &description)
}
