//! A cook that is on: its core, where it may go from here, and past cooks alike in grey.

use cook::Units;
use plotters::series::LineSeries;

use super::axis::{Axis, Room, draw, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT};
use crate::document::Drawing;
use crate::outlook::OutlookCook;
use crate::units::{Quantity, number};

// Narrow, so that it can be read on a phone.
const WIDTH: f64 = 380.0;
const HEIGHT: f64 = 300.0;
const MINUTES_OF_A_DAY: f64 = 1_440.0;

/// The figure; `None` without a core. `id` is unique in the page.
pub(crate) fn fan(id: &str, cook: &OutlookCook, units: Units) -> Option<Drawing> {
    let (first, last) = (cook.core.first()?, cook.core.last()?);
    let degrees = |celsius: f64| Quantity::Temperature.value(celsius, units);
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 26.0, right: 14.0, bottom: 38.0, left: 40.0 };
    let until = cook.finish.map_or(last.0, |finish| finish.hi).max(cook.turn_in.unwrap_or(last.0));
    let x = Axis::hours(first.0, until + 15.0, 6);
    let lowest = cook.core.iter().map(|point| point.1).fold(f64::INFINITY, f64::min);
    let y = Axis::round(degrees(lowest), degrees(cook.finish_c + 6.0), 6);
    let mut chart = plot(&canvas, room, &x, &y, &clock, Some(&|v| number(v, 0)));
    let on_plot = |line: &[(f64, f64)]| -> Vec<(f64, f64)> {
        line.iter().filter(|p| p.0 <= x.to).map(|p| (p.0, degrees(p.1))).collect()
    };
    for past in &cook.alike {
        draw(&mut chart, LineSeries::new(on_plot(past), Pen::Past.shape()));
    }
    if let Some(finish) = cook.finish {
        let at = |minute: f64| chart.backend_coord(&(minute, degrees(cook.finish_c)));
        let now = chart.backend_coord(&(last.0, degrees(last.1)));
        canvas.path([now, at(finish.lo), at(finish.hi)], Pen::Band, true);
        canvas.path([now, at(finish.middle)], Pen::Line, false);
        canvas.path([at(finish.lo), at(finish.hi)], Pen::Interval, false);
    }
    draw(&mut chart, LineSeries::new(on_plot(&cook.core), Pen::Core.shape()));
    if let Some(turn_in) = cook.turn_in {
        let top = chart.backend_coord(&(turn_in, y.to));
        canvas.path([top, chart.backend_coord(&(turn_in, y.from))], Pen::Mark, false);
        canvas.text((top.0, top.1 - 40), Pen::Note, Anchor::End, "turn-in");
    }
    let unit = Quantity::Temperature.unit(units);
    canvas.text((0, (12.0 * UNIT) as i32), Pen::Label, Anchor::Start, &format!("core, {unit}"));
    foot_label(&canvas, (WIDTH, HEIGHT), room, "local clock");
    let finish = cook.finish.map_or("No finish is forecast.".to_owned(), |finish| {
        format!(
            "The core is forecast to be at {} at {}, between {} and {} in {} of 100 cases.",
            Quantity::Temperature.show(cook.finish_c, units),
            minute(finish.middle),
            minute(finish.lo),
            minute(finish.hi),
            finish.level
        )
    });
    let description = format!(
        "The core up to {}, {}. {finish} Past cooks alike in grey: {}.",
        minute(last.0),
        Quantity::Temperature.show(last.1, units),
        cook.alike.len()
    );
    Some(canvas.finish(id, &format!("{}: core and forecast", cook.name), &description))
}

/// An hour of the day at a tick.
fn clock(minute: f64) -> String {
    let of_day = minute.rem_euclid(MINUTES_OF_A_DAY);
    format!("{}:{:02}", (of_day / 60.0) as u32, (of_day % 60.0) as u32)
}

fn minute(minute: f64) -> String {
    clock(minute.round())
}
