//! One contest cook's end: planned pull, pull, rest and turn-in on one line.

use super::canvas::{Canvas, Pen, UNIT};
use crate::document::Drawing;
use crate::words::spoken;

const SIZE: (f64, f64) = (150.0, 14.0);

/// Minutes before turn-in of what is drawn; negative is after it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(clippy::struct_field_names, reason = "each says its unit")]
pub(crate) struct ContestLine {
    pub(crate) planned_min: Option<f64>,
    pub(crate) pull_min: f64,
    pub(crate) slice_min: Option<f64>,
}

/// The line as SVG, over `longest` minutes before turn-in. `id` is unique in the page.
pub(crate) fn contest_line(id: &str, line: ContestLine, longest: f64) -> Drawing {
    let canvas = Canvas::new(SIZE.0, SIZE.1);
    let unit = |points: f64| (points * UNIT).round() as i32;
    // Room at the right for a pull after turn-in.
    let late = line.pull_min.min(0.0).abs().min(longest / 4.0);
    let across = |before: f64| unit(8.0 + (longest - before) / (longest + late) * (SIZE.0 - 16.0));
    let middle = unit(SIZE.1 / 2.0);
    let pull = across(line.pull_min.min(longest));
    let end = across(line.slice_min.unwrap_or(0.0).clamp(-longest / 4.0, longest));
    canvas.path([(pull, middle), (end, middle)], Pen::Resting, false);
    let turn_in = across(0.0);
    canvas.path([(turn_in, middle - 60), (turn_in, middle + 60)], Pen::Mark, false);
    if let Some(planned) = line.planned_min {
        let (x, half) = (across(planned.min(longest)), 40);
        let corners =
            [(x, middle - half), (x + half, middle), (x, middle + half), (x - half, middle)];
        canvas.path(corners, Pen::Open, true);
    }
    canvas.ring((pull, middle), 32, Pen::DotA);
    let before = |min: f64| {
        if min < 0.0 {
            format!("{} after turn-in", spoken(-min))
        } else {
            format!("{} before turn-in", spoken(min))
        }
    };
    let planned =
        line.planned_min.map_or_else(String::new, |min| format!("; planned {}", before(min)));
    let description = format!("Pulled {}{planned}.", before(line.pull_min));
    canvas.finish(id, "Plan, pull and turn-in", &description)
}
