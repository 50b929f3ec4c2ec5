//! The phases of many cooks as bars that start together at meat-on.

use cook::{PhaseKind, Units};

use super::axis::{Axis, Room, foot_label, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted, text_width};
use super::phase_pen;
use crate::data::CookReport;
use crate::document::{Block, Drawing};
use crate::units::number;
use crate::words;

const WIDTH: f64 = 640.0;
const ROW: f64 = 18.0;

/// Draws the axis that so many bars share, and gives the place of a minute since meat-on.
fn time_axis(
    canvas: &Canvas,
    room: Room,
    longest_min: f64,
    bars: usize,
) -> impl Fn(f64) -> i32 + use<> {
    let x = Axis::hours(0.0, longest_min, 12);
    let y = Axis::exact(0.0, bars as f64, 1);
    plot(canvas, room, &x, &y, &|min| number(min / 60.0, usize::from(min % 60.0 != 0.0)), None);
    let (left, right) = (room.left, WIDTH - room.right);
    move |min: f64| {
        let part = ((min - x.from) / (x.to - x.from)).clamp(0.0, 1.0);
        ((left + part * (right - left)) * UNIT).round() as i32
    }
}

/// Bars of these cooks over a time axis that ends at `longest_min`, so that several figures
/// compare.
pub(crate) fn bars(id: &str, cooks: &[CookReport], longest_min: f64, units: Units) -> Drawing {
    let names = cooks.iter().map(|c| text_width(c.id(), 11.0)).fold(30.0, f64::max).min(130.0);
    let room = Room { top: 4.0, right: 62.0, bottom: 36.0, left: names + 10.0 };
    let height = room.top + ROW * cooks.len() as f64 + room.bottom;
    let canvas = Canvas::new(WIDTH, height);
    let across = time_axis(&canvas, room, longest_min, cooks.len());
    for (row, cook) in cooks.iter().enumerate() {
        let top = ((room.top + ROW * row as f64 + 2.5) * UNIT) as i32;
        let bottom = top + ((ROW - 5.0) * UNIT) as i32;
        let baseline = i32::midpoint(top, bottom) + 38;
        let name = fitted(cook.id(), 11.0, names);
        canvas.text(((room.left - 6.0) as i32 * 10, baseline), Pen::Tick, Anchor::End, &name);
        for span in &cook.phases {
            let (start, end) = (across(span.start_min), across(span.end_min));
            canvas.named(&words::phase_sentence(span, units), || {
                canvas.rect((start, top), (end, bottom), phase_pen(span.phase));
            });
            let word = span.phase.as_str();
            if text_width(word, 10.0) + 6.0 < f64::from(end - start) / UNIT {
                let place = (i32::midpoint(start, end), baseline - 2);
                canvas.text(place, Pen::Note, Anchor::Middle, word);
            }
        }
        let Some(last) = cook.phases.last() else {
            canvas.text((across(0.0) + 40, baseline), Pen::Note, Anchor::Start, "not judged");
            continue;
        };
        let end = across(last.end_min);
        let open = if last.complete {
            0
        } else {
            // The log ends first: an open arrowhead says that the bar would go on.
            let middle = i32::midpoint(top, bottom);
            let head = [(end + 15, top + 10), (end + 65, middle), (end + 15, bottom - 10)];
            canvas.path(head, Pen::Mark, false);
            70
        };
        let bound = if last.complete { "" } else { "≥ " };
        let hours = format!("{bound}{} h", number(last.end_min / 60.0, 1));
        canvas.text((end + 30 + open, baseline), Pen::Note, Anchor::Start, &hours);
    }
    foot_label(&canvas, (WIDTH, height), room, "hours since meat-on");

    let title = format!("Phases of {} cooks", cooks.len());
    let description = "One bar a cook, all starting at meat-on; the parts are ramp, stall, push, rest and unknown, \
                       each with its own pattern. The same numbers are in the table of the cooks.";
    canvas.finish(id, &title, description)
}

/// Height of a cook in [`compact_bars`], points.
const COMPACT_ROW: f64 = 2.4;
/// In [`compact_bars`] every so many cooks the date stands at the left.
const DATE_EVERY: usize = 25;

/// Bars of many cooks, thin and without names, one element a phase: the shape of a whole year in a
/// light file.
pub(crate) fn compact_bars(id: &str, cooks: &[CookReport], longest_min: f64) -> Drawing {
    let room = Room { top: 4.0, right: 8.0, bottom: 36.0, left: 74.0 };
    let height = room.top + COMPACT_ROW * cooks.len() as f64 + room.bottom;
    let canvas = Canvas::new(WIDTH, height);
    let across = time_axis(&canvas, room, longest_min, cooks.len());
    let top = |row: usize| ((room.top + COMPACT_ROW * row as f64) * UNIT) as i32;
    let phases =
        [PhaseKind::Ramp, PhaseKind::Stall, PhaseKind::Push, PhaseKind::Rest, PhaseKind::Unknown];
    for phase in phases {
        let mut rectangles = Vec::new();
        for (row, cook) in cooks.iter().enumerate() {
            for span in cook.phases.iter().filter(|span| span.phase == phase) {
                let (start, end) = (across(span.start_min), across(span.end_min));
                let (above, below) = (top(row), top(row + 1) - 4);
                rectangles.push([(start, above), (end, above), (end, below), (start, below)]);
            }
        }
        canvas.paths(rectangles, phase_pen(phase), true);
    }
    for (row, cook) in cooks.iter().enumerate().step_by(DATE_EVERY) {
        let baseline = top(row) + 60;
        canvas.text(((room.left - 6.0) as i32 * 10, baseline), Pen::Tick, Anchor::End, &cook.day);
    }
    foot_label(&canvas, (WIDTH, height), room, "hours since meat-on");
    let title = format!("Phases of {} cooks, thin", cooks.len());
    let description = "One thin bar a cook in the order of their dates, all starting at meat-on; the parts are ramp, stall, \
                       push, rest and unknown. The same numbers are in the table of the cooks.";
    canvas.finish(id, &title, description)
}

/// The key of the phases: a swatch with each word, in HTML so that it flows on a narrow screen.
pub(crate) fn phase_key() -> Block {
    let phases =
        [PhaseKind::Ramp, PhaseKind::Stall, PhaseKind::Push, PhaseKind::Rest, PhaseKind::Unknown];
    let sign = |phase: PhaseKind| {
        let name = phase.as_str();
        let svg = format!(
            r#"<svg class="swatch" viewBox="0 0 280 120" aria-hidden="true" focusable="false"><rect class="{name}" x="5" y="5" width="270" height="110"></rect></svg>"#
        );
        (Drawing::new(svg, name, ""), name.to_owned())
    };
    Block::Key { label: "Key to the phases", signs: phases.map(sign).to_vec() }
}
