//! A map of the cooks: how hot the pit was against how long it took, shape by wrap, each a link to
//! its page.

use cook::Units;
use plotters::chart::ChartContext;

use super::axis::{Axis, Room, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen};
use super::sign::{kind_of, sign};
use crate::data::CookReport;
use crate::document::Drawing;
use crate::units::{Quantity, number};
use crate::words::spoken;

const SIZE: (f64, f64) = (400.0, 250.0);
/// More cooks than this are drawn without links, so that the page stays light.
const MOST_LINKED: usize = 300;

/// The map as SVG; none where nothing can be placed. `id` is unique in the page.
pub(crate) fn cook_map(
    id: &str,
    cooks: &[CookReport],
    wraps: &[&str],
    units: Units,
) -> Option<Drawing> {
    let placed: Vec<(&CookReport, f64, f64)> = cooks
        .iter()
        .filter_map(|cook| {
            let pit = Quantity::Temperature.value(cook.measures.pit_mean_c?, units);
            let minutes = cook.measures.total_min?;
            (pit.is_finite() && minutes.is_finite()).then_some((cook, pit, minutes))
        })
        .collect();
    if placed.is_empty() {
        return None;
    }
    let canvas = Canvas::new(SIZE.0, SIZE.1);
    let room = Room { top: 22.0, right: 10.0, bottom: 38.0, left: 36.0 };
    let (low, high) = placed.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), own| {
        (low.min(own.1), high.max(own.1))
    });
    let x = Axis::exact(low - 3.0, high + 3.0, 8);
    let y = Axis::hours(0.0, placed.iter().map(|own| own.2).fold(60.0, f64::max) * 1.04, 6);
    let hours = |min: f64| number(min / 60.0, usize::from(min % 60.0 != 0.0));
    let chart: ChartContext<'_, _, _> =
        plot(&canvas, room, &x, &y, &|v| number(v, 0), Some(&hours));
    for (cook, pit, minutes) in &placed {
        let at = chart.backend_coord(&(*pit, *minutes));
        let wrap = cook.measures.wrap_method.as_deref();
        let bound = if cook.measures.total_min_censored == Some(true) { "at least " } else { "" };
        let name = format!("{}: {bound}{}", cook.id(), spoken(*minutes));
        let page = cook.page.as_deref().filter(|_| placed.len() <= MOST_LINKED);
        canvas.linked(page, &name, || sign(&canvas, at, kind_of(wraps, wrap), 34));
    }
    canvas.text((0, 110), Pen::Label, Anchor::Start, "hours on the pit");
    let unit = Quantity::Temperature.unit(units);
    foot_label(&canvas, SIZE, room, &format!("mean pit, {unit}"));
    let description = format!(
        "{} cooks by the mean temperature of their pit and their hours on it, the sign by the wrap.",
        placed.len()
    );
    Some(canvas.finish(id, "A map of the cooks", &description))
}
