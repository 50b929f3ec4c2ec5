//! One cook's curve: core and pit over the hours since meat-on, phases shaded, marks and events.

use cook::{PhaseKind, Units};
use plotters::series::LineSeries;

use super::axis::{Axis, Plot, Room, draw, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted, text_width};
use super::phase_pen;
use super::stretches::{self, draw_stretches};
use crate::data::{ChannelRole, CookReport, Curve, CurveSeries, EventNote, Mark, MarkKind};
use crate::document::Drawing;
use crate::units::{Quantity, number};
use crate::words;

/// How large the curve is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CurveSize {
    /// One of many: core and pit, wrap and pull.
    Small,
    /// Alone on its page: every channel, every mark, every event.
    Large,
}

/// Room at the left and at the right of the plot, points.
pub(super) const SIDES: f64 = 34.0;

/// The time axis of the series and the phases.
fn time_axis(report: &CookReport, series: &[&CurveSeries], most: usize) -> Axis {
    let points = || series.iter().flat_map(|s| &s.points).map(|p| p.min);
    let phases_end = report.phases.iter().map(|p| p.end_min).fold(f64::NEG_INFINITY, f64::max);
    Axis::hours(points().fold(0.0, f64::min), points().fold(phases_end, f64::max), most)
}

/// The time axis of the large drawing, for what stands under it.
pub(super) fn large_time_axis(report: &CookReport, curve: &Curve) -> Axis {
    time_axis(report, &curve.series.iter().collect::<Vec<_>>(), 12)
}

/// The curve as SVG. `id` is unique in the page.
pub(crate) fn curve(
    id: &str,
    report: &CookReport,
    curve: &Curve,
    units: Units,
    size: CurveSize,
) -> Drawing {
    let large = size == CurveSize::Large;
    let (width, height) = if large { (640.0, 400.0) } else { (340.0, 210.0) };
    let (left_room, right_room) = (SIDES, SIDES);
    let small: Vec<CurveSeries> = if large {
        Vec::new()
    } else {
        let main = |s: &&CurveSeries| matches!(s.role, ChannelRole::Core | ChannelRole::Pit);
        curve.series.iter().filter(main).map(CurveSeries::for_small).collect()
    };
    let drawn: Vec<&CurveSeries> =
        if large { curve.series.iter().collect() } else { small.iter().collect() };
    let points = || drawn.iter().flat_map(|s| &s.points);
    let temperatures =
        || points().filter_map(|p| p.temp_c).map(|t| Quantity::Temperature.value(t, units));
    let x = time_axis(report, &drawn, if large { 12 } else { 7 });
    let y = Axis::round(
        temperatures().fold(f64::INFINITY, f64::min),
        temperatures().fold(f64::NEG_INFINITY, f64::max),
        if large { 7 } else { 5 },
    );

    let left = (left_room * UNIT) as i32;
    let right = ((width - right_room) * UNIT) as i32;
    let across = |min: f64| {
        let part = ((min - x.from) / (x.to - x.from)).clamp(0.0, 1.0);
        left + (part * f64::from(right - left)).round() as i32
    };
    let names = mark_names(report, large, &across);
    let rows = names.iter().map(|name| name.row).max().unwrap_or(0);
    let room = Room {
        top: 27.0 + 11.5 * rows as f64,
        right: right_room,
        bottom: if large { 40.0 } else { 34.0 },
        left: left_room,
    };
    let height = height + 11.5 * rows as f64;
    let canvas = Canvas::new(width, height);
    let top = (room.top * UNIT) as i32;
    let bottom = ((height - room.bottom) * UNIT) as i32;

    // Grounds first, so that the grid lies over them; the frame is known before anything is drawn.
    let strip = (if large { 13.0 } else { 10.0 } * UNIT) as i32;
    for span in &report.phases {
        let (start, end) = (across(span.start_min), across(span.end_min));
        if end > start {
            canvas.ground((start, top), (end, bottom - strip), phase_pen(span.phase));
        }
    }

    let hours = |min: f64| number(min / 60.0, usize::from(min % 60.0 != 0.0));
    let degrees = |t: f64| number(t, y.decimals);
    let mut chart = plot(&canvas, room, &x, &y, &hours, Some(&degrees));

    for span in &report.phases {
        let (start, end) = (across(span.start_min), across(span.end_min));
        let name = span.phase.as_str();
        canvas.named(&words::phase_sentence(span, units), || {
            canvas.rect((start, bottom - strip), (end, bottom), phase_pen(span.phase));
        });
        if text_width(name, 10.0) + 6.0 < f64::from(end - start) / UNIT {
            let place = (i32::midpoint(start, end), bottom - strip / 2 + 35);
            canvas.text(place, Pen::Note, Anchor::Middle, name);
        }
    }

    if large {
        draw_wet_bulb(&canvas, &mut chart, report, units);
    }

    let mut labels: Vec<(i32, i32, String)> = Vec::new();
    for series in drawn.iter().rev() {
        let pen = match series.role {
            ChannelRole::Core => Pen::Core,
            ChannelRole::Pit => Pen::Pit,
            ChannelRole::Meat => Pen::Meat,
            ChannelRole::Ambient | ChannelRole::Other => Pen::Ambient,
        };
        let mut last = None;
        // A point without a temperature breaks the line: a gap in the log is not drawn over.
        for run in series.points.split(|p| p.temp_c.is_none()) {
            let run: Vec<(f64, f64)> = run
                .iter()
                .filter_map(|p| Some((p.min, Quantity::Temperature.value(p.temp_c?, units))))
                .filter(|(_, t)| t.is_finite())
                .collect();
            last = run.last().copied().or(last);
            draw(&mut chart, LineSeries::new(run, pen.shape()));
        }
        if let Some(end) = last {
            let (x, y) = chart.backend_coord(&end);
            let name = match series.role {
                ChannelRole::Core => "core",
                ChannelRole::Pit => "pit",
                _ => series.name.as_str(),
            };
            labels.push((x, y, name.to_owned()));
        }
    }
    // The names stand at the ends of their curves, moved apart where they would touch.
    labels.sort_by_key(|label| label.1);
    let mut free = top - 40;
    for (x, y, name) in labels {
        let y = (y + 35).max(free);
        free = y + 110;
        let name = fitted(&name, 11.0, room.right + 20.0);
        let overhang = f64::from(x) / UNIT + 3.0 + text_width(&name, 11.0) - width;
        if overhang > 0.0 {
            canvas.text(((width * UNIT) as i32, y), Pen::Tick, Anchor::End, &name);
        } else {
            canvas.text((x + 30, y), Pen::Tick, Anchor::Start, &name);
        }
    }

    if large {
        let edges = (left, right, top + 20, bottom - strip - 20);
        let place = |min: f64, temp_c: f64| {
            let shown = Quantity::Temperature.value(temp_c, units).clamp(y.from, y.to);
            let (x, y) = chart.backend_coord(&(min, shown));
            (x.clamp(edges.0, edges.1), y.clamp(edges.2, edges.3))
        };
        let plot = stretches::Plot { across: &across, place: &place, track: bottom - strip };
        draw_stretches(&canvas, &report.cleaning, units, &plot);
    }

    let in_view = |event: &&EventNote| large && (x.from..=x.to).contains(&event.at_min);
    let events: Vec<&EventNote> = report.events.iter().filter(in_view).collect();
    draw_marks(&canvas, &names, &events, &across, (left, top, bottom));
    let unit = Quantity::Temperature.unit(units);
    canvas.text((0, top - 120), Pen::Label, Anchor::Start, unit);
    let hours = ((width - room.right) * UNIT) as i32;
    canvas.text(
        (hours, (height * UNIT) as i32 - 30),
        Pen::Label,
        Anchor::End,
        "hours since meat-on",
    );

    let title = format!("Cook {}: core and pit temperature", report.id());
    let spans: Vec<String> =
        report.phases.iter().map(|span| words::phase_sentence(span, units)).collect();
    let description = if spans.is_empty() {
        "Temperature over the hours since meat-on; no phase was judged.".to_owned()
    } else {
        format!("Temperature over the hours since meat-on. Phases: {}.", spans.join("; "))
    };
    canvas.finish(id, &title, &description)
}

/// A dotted line at the wet bulb across each stall, and its name at the first.
fn draw_wet_bulb(canvas: &Canvas, chart: &mut Plot<'_>, report: &CookReport, units: Units) {
    let (Some(wet_bulb_c), Some(said)) =
        (report.measures.pit_wet_bulb_c, words::wet_bulb(&report.measures, units))
    else {
        return;
    };
    let level = Quantity::Temperature.value(wet_bulb_c, units);
    let stalls = report.phases.iter().filter(|span| span.phase == PhaseKind::Stall);
    for (place, span) in stalls.enumerate() {
        let ends = [(span.start_min, level), (span.end_min, level)];
        canvas.named(&said, || {
            draw(chart, LineSeries::new(ends, Pen::WetBulb.shape()));
        });
        if place == 0 {
            let (x, y) = chart.backend_coord(&ends[0]);
            canvas.text((x + 30, y + 120), Pen::Note, Anchor::Start, "wet bulb of the pit’s air");
        }
    }
}

/// The name of a mark over the plot and the row it stands in.
struct MarkName<'a> {
    mark: &'a Mark,
    name: String,
    row: usize,
}

/// Places the names of the marks in as few rows as keep them from touching, at most three.
fn mark_names<'a>(
    report: &'a CookReport,
    large: bool,
    across: &dyn Fn(f64) -> i32,
) -> Vec<MarkName<'a>> {
    let mut rows_end = [f64::NEG_INFINITY; 3];
    let shown = |mark: &&Mark| large || matches!(mark.kind, MarkKind::Wrap | MarkKind::Pull);
    let place = |mark: &'a Mark| {
        let name = match &mark.detail {
            Some(detail) if mark.kind == MarkKind::Wrap => format!("wrap: {detail}"),
            _ => words::mark(mark.kind).to_owned(),
        };
        let name = fitted(&name, 11.0, 110.0);
        let half = text_width(&name, 11.0) / 2.0 + 3.0;
        let at = f64::from(across(mark.at_min)) / UNIT;
        // The first row that is free there, else the uppermost: a name is never left out.
        let last = rows_end.len() - 1;
        let row = rows_end.iter().position(|end| at - half > *end).unwrap_or(last);
        rows_end[row] = at + half;
        MarkName { mark, name, row }
    };
    report.marks.iter().filter(shown).map(place).collect()
}

/// Upright lines with their names over the plot; events as short ticks inside its upper edge on the
/// large drawing.
fn draw_marks(
    canvas: &Canvas,
    names: &[MarkName<'_>],
    events: &[&EventNote],
    across: &dyn Fn(f64) -> i32,
    (left, top, bottom): (i32, i32, i32),
) {
    for MarkName { mark, name, row } in names {
        let x = across(mark.at_min);
        let y = top - 30 - *row as i32 * 115;
        canvas.named(&words::mark_sentence(mark), || {
            canvas.path([(x, y + 15), (x, bottom)], Pen::Mark, false);
        });
        // A name at the left edge stands beside its line, clear of the tick labels.
        if x - left < 250 {
            canvas.text((x, y), Pen::Tick, Anchor::Start, name);
        } else {
            canvas.text((x, y), Pen::Tick, Anchor::Middle, name);
        }
    }
    for event in events {
        let x = across(event.at_min);
        let name = format!("{} {}", event.at_local, event.name());
        canvas.named(&name, || canvas.path([(x, top), (x, top + 60)], Pen::Axis, false));
    }
}
