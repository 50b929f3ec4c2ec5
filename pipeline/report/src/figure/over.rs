//! Curves of several cooks over each other, each from its own meat-on.

use cook::Units;
use plotters::series::LineSeries;

use super::axis::{Axis, Room, draw, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen};
use super::sign::{line_names, line_pen};
use crate::data::{ChannelRole, CookReport, CurveSeries, MarkKind};
use crate::document::Drawing;
use crate::units::{Quantity, number};
use crate::words::spoken;

const WIDTH: f64 = 640.0;
/// Room for the names beside the plot, points.
const NAMES: f64 = 180.0;

fn series(cook: &CookReport, role: ChannelRole) -> Option<CurveSeries> {
    let found = cook.curve.as_ref()?.series.iter().find(|series| series.role == role)?;
    Some(found.for_small())
}

/// One channel of every cook, as SVG. `id` is unique in the page. `None` where no cook has it.
pub(crate) fn over(
    id: &str,
    cooks: &[&CookReport],
    role: ChannelRole,
    units: Units,
) -> Option<Drawing> {
    let what = if role == ChannelRole::Core { "core" } else { "pit" };
    let lines: Vec<(usize, &CookReport, CurveSeries)> = cooks
        .iter()
        .enumerate()
        .filter_map(|(place, cook)| Some((place, *cook, series(cook, role)?)))
        .collect();
    let shown = |celsius: f64| Quantity::Temperature.value(celsius, units);
    // What was before meat-on is the fire's warming up, or a probe in the air.
    let points = || {
        let all = lines.iter().flat_map(|(_, _, series)| &series.points);
        all.filter(|point| point.min >= 0.0)
    };
    let levels = || points().filter_map(|point| point.temp_c).map(shown);
    levels().next()?;
    let height = if role == ChannelRole::Core { 360.0 } else { 230.0 };
    let canvas = Canvas::new(WIDTH, height);
    let room = Room { top: 24.0, right: NAMES, bottom: 38.0, left: 40.0 };
    let x = Axis::hours(0.0, points().map(|point| point.min).fold(60.0, f64::max), 12);
    let lowest = levels().fold(f64::INFINITY, f64::min);
    let y = Axis::round(lowest, levels().fold(f64::NEG_INFINITY, f64::max), 7);
    let hours = |min: f64| number(min / 60.0, usize::from(min % 60.0 != 0.0));
    let mut chart = plot(&canvas, room, &x, &y, &hours, Some(&|v| number(v, y.decimals)));
    for (place, cook, series) in &lines {
        canvas.named(cook.id(), || {
            for run in series.points.split(|point| point.temp_c.is_none()) {
                let run = run.iter().filter(|point| point.min >= 0.0);
                let run = run.filter_map(|point| Some((point.min, shown(point.temp_c?))));
                draw(&mut chart, LineSeries::new(run, line_pen(*place).shape()));
            }
        });
        let wraps = cook.marks.iter().filter(|mark| mark.kind == MarkKind::Wrap);
        for mark in wraps.filter(|_| role == ChannelRole::Core) {
            let Some(core_c) = mark.core_c else { continue };
            let at = chart.backend_coord(&(mark.at_min, shown(core_c)));
            let how = mark.detail.as_deref().unwrap_or("wrap");
            canvas.named(&format!("{}: {how} after {}", cook.id(), spoken(mark.at_min)), || {
                canvas.ring(at, 32, Pen::Chosen);
            });
        }
    }
    let named = lines.iter().map(|(place, cook, _)| (line_pen(*place), cook.id().to_owned()));
    line_names(&canvas, (WIDTH - NAMES + 10.0, room.top), NAMES - 10.0, named);
    let unit = Quantity::Temperature.unit(units);
    canvas.text((0, 110), Pen::Label, Anchor::Start, &format!("{what}, {unit}"));
    foot_label(&canvas, (WIDTH, height), room, "hours since meat-on");
    let told: Vec<String> = lines
        .iter()
        .filter_map(|(_, cook, series)| {
            let (last, highest) = (series.points.last()?, series.points.iter());
            let highest =
                highest.filter_map(|point| point.temp_c).fold(f64::NEG_INFINITY, f64::max);
            let highest = Quantity::Temperature.show(highest, units);
            Some(format!("{}: to {highest}, logged for {}", cook.id(), spoken(last.min)))
        })
        .collect();
    let description = format!("A line a cook, from its own meat-on. {}.", told.join("; "));
    Some(canvas.finish(id, &format!("The {what} of cooks over each other"), &description))
}
