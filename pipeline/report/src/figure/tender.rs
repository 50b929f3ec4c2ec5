//! The share of cooks felt to be tender against the core temperature.

use cook::Units;

use super::axis::{Axis, Room, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen};
use crate::document::Drawing;
use crate::units::{Quantity, number};
use study::result::tender::{TenderStep, TenderTemperature};

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 300.0;

/// The distribution over all cooks as SVG. `id` is unique in the page.
pub(crate) fn tender(id: &str, data: &TenderTemperature, units: Units) -> Drawing {
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 26.0, right: 16.0, bottom: 38.0, left: 40.0 };
    let shown = |celsius: f64| Quantity::Temperature.value(celsius, units);
    let of_all = data.groups.iter().find(|group| group.by.is_none());
    let normal = of_all.map_or(&[][..], |group| &group.normal);
    let turnbull = of_all.and_then(|group| group.turnbull.as_ref());
    let steps: &[TenderStep] = turnbull.map_or(&[], |turnbull| &turnbull.steps);
    let ends = steps.iter().flat_map(|step| [step.above_c, step.by_c]);
    let quantiles = normal.iter().flat_map(|own| [own.core_c, own.lo_c, own.hi_c]);
    let all: Vec<f64> = ends.chain(quantiles).flatten().map(shown).collect();
    let from = all.iter().copied().fold(f64::INFINITY, f64::min);
    let to = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let x = Axis::round(from, to, 8);
    let y = Axis::exact(0.0, 100.0, 5);
    let degrees = |value: f64| number(value, x.decimals);
    let chart = plot(&canvas, room, &x, &y, &degrees, Some(&|v| number(v, 0)));
    // Where in an innermost interval the share rises the tests cannot tell: a band between rising
    // at its beginning and at its end.
    let mut share = 0.0;
    for step in steps {
        let after = share + 100.0 * step.share;
        let lo = step.above_c.map_or(x.from, shown);
        let hi = step.by_c.map_or(x.to, shown);
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
    for pair in steps.windows(2) {
        flat += 100.0 * pair[0].share;
        let (Some(end), Some(next)) = (pair[0].by_c, pair[1].above_c) else { continue };
        canvas.path(
            [chart.backend_coord(&(shown(end), flat)), chart.backend_coord(&(shown(next), flat))],
            Pen::Line,
            false,
        );
    }
    for (percent, own) in [10.0, 50.0, 90.0].into_iter().zip(normal) {
        let (lo, hi) = (own.lo_c.map_or(x.from, shown), own.hi_c.map_or(x.to, shown));
        let ends = [chart.backend_coord(&(lo, percent)), chart.backend_coord(&(hi, percent))];
        canvas.path(ends, Pen::Mark, false);
        if let Some(core) = own.core_c {
            canvas.ring(chart.backend_coord(&(shown(core), percent)), 40, Pen::Point);
        }
    }
    canvas.text((0, 120), Pen::Label, Anchor::Start, "felt tender, %");
    let label = format!("core temperature, {}", Quantity::Temperature.unit(units));
    foot_label(&canvas, (WIDTH, HEIGHT), room, &label);
    let half = normal.get(1).and_then(|quantile| quantile.core_c);
    let description = match half {
        Some(half) => format!(
            "The share rises with the core temperature; half of the cooks were felt tender by {}.",
            Quantity::Temperature.show(half, units)
        ),
        None => "The share rises with the core temperature.".to_owned(),
    };
    canvas.finish(id, "Share of cooks felt to be tender, by core temperature", &description)
}
