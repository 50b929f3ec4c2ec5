//! How long each degree of the core takes, wrapped and not.

use plotters::series::LineSeries;

use cook::Units;

use super::axis::{Axis, Room, draw, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen};
use super::sign::line_names;
use crate::document::Drawing;
use crate::units::{Quantity, number};
use study::result::g_formula::PaceDegree;

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 300.0;
/// Pens of the ways, told apart by weight and dash as well as by colour.
const PENS: [Pen; 4] = [Pen::Core, Pen::Pit, Pen::Meat, Pen::Ambient];

/// Median minutes a degree with quartiles as SVG; `None` without two degrees of any way. `id` is unique
/// in the page.
pub(crate) fn pace(id: &str, data: &[PaceDegree], units: Units) -> Option<Drawing> {
    let mut ways: Vec<Option<&str>> = Vec::new();
    for row in data {
        let way = row.wrapped_in.as_deref();
        if !ways.contains(&way) {
            ways.push(way);
        }
    }
    ways.truncate(PENS.len());
    let of = |way: Option<&str>| -> Vec<&PaceDegree> {
        data.iter().filter(|row| row.wrapped_in.as_deref() == way).collect()
    };
    if !ways.iter().any(|way| of(*way).len() > 1) {
        return None;
    }
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let room = Room { top: 26.0, right: 116.0, bottom: 38.0, left: 40.0 };
    let shown = |celsius: f64| Quantity::Temperature.value(celsius, units);
    // Minutes for 1 °C are told for a degree of the reader's.
    let degree = Quantity::Temperature.difference(1.0, units);
    let per_degree = |minutes: f64| minutes / degree;
    let highest = data.iter().map(|row| per_degree(row.three_quarters_min)).fold(5.0, f64::max);
    let x = Axis::round(shown(55.0), shown(88.0), 8);
    let y = Axis::round(0.0, highest, 6);
    let degrees = |value: f64| number(value, x.decimals);
    let mut chart = plot(&canvas, room, &x, &y, &degrees, Some(&|v| number(v, 0)));
    for (way, pen) in ways.iter().zip(PENS) {
        let rows = of(*way);
        let at = |row: &PaceDegree| shown(row.degree_c + 0.5);
        for row in &rows {
            let ends = [row.quarter_min, row.three_quarters_min]
                .map(|minutes| chart.backend_coord(&(at(row), per_degree(minutes))));
            canvas.path(ends, Pen::Mark, false);
        }
        let line: Vec<(f64, f64)> =
            rows.iter().map(|row| (at(row), per_degree(row.median_min))).collect();
        draw(&mut chart, LineSeries::new(line, pen.shape()));
    }
    let names = ways.iter().zip(PENS);
    let names = names.map(|(way, pen)| (pen, way.unwrap_or("not wrapped").to_owned()));
    line_names(&canvas, (WIDTH - room.right + 8.0, room.top), room.right - 4.0, names);
    let unit = Quantity::Temperature.unit(units);
    canvas.text((0, 120), Pen::Label, Anchor::Start, &format!("minutes for 1\u{a0}{unit}"));
    let label = format!("core temperature, {unit}");
    foot_label(&canvas, (WIDTH, HEIGHT), room, &label);
    let slowest = |way: Option<&str>| {
        let slowest = of(way).into_iter().max_by(|a, b| a.median_min.total_cmp(&b.median_min))?;
        Some(format!(
            "{}: slowest at {}, {} min a degree",
            way.unwrap_or("not wrapped"),
            Quantity::Temperature.show(slowest.degree_c, units),
            number(per_degree(slowest.median_min), 0)
        ))
    };
    let said: Vec<String> = ways.iter().filter_map(|way| slowest(*way)).collect();
    let description =
        format!("Median minutes for each degree with quartiles. {}.", said.join("; "));
    Some(canvas.finish(id, "Minutes for each degree of the core, by wrap", &description))
}
