//! Signs that are told apart by shape as well as by colour, and the pens of lines that are told apart
//! by dash as well.

use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted};
use super::text::escape;
use crate::document::{Block, Drawing};

/// Pens of the sides of an argument, in their order.
const LINES: [Pen; 4] = [Pen::SideA, Pen::SideB, Pen::SideC, Pen::SideD];
/// How many kinds are told apart; what comes after them is drawn as a ring.
pub(crate) const KINDS: usize = 4;

/// The pen of a side.
pub(super) fn line_pen(place: usize) -> Pen {
    LINES[place % LINES.len()]
}

/// Names lines beside the plot, one below the other, each behind a piece of its line. `left` and `top` are in points,
/// and so is the room for the names.
pub(super) fn line_names(
    canvas: &Canvas,
    (left, top): (f64, f64),
    room: f64,
    lines: impl Iterator<Item = (Pen, String)>,
) {
    let left = (left * UNIT) as i32;
    for (place, (pen, name)) in lines.enumerate() {
        let row = ((top + 8.0 + 18.0 * place as f64) * UNIT) as i32;
        canvas.path([(left, row - 35), (left + 200, row - 35)], pen, false);
        canvas.text((left + 240, row), Pen::Tick, Anchor::Start, &fitted(&name, 11.0, room - 26.0));
    }
}

/// Draws the sign of a kind about a place in backend units: disc, square, triangle, diamond, then
/// rings.
pub(super) fn sign(canvas: &Canvas, (x, y): (i32, i32), kind: usize, half: i32) {
    match kind {
        0 => canvas.ring((x, y), half, Pen::DotA),
        1 => {
            let half = half * 9 / 10;
            let corners = [(-half, -half), (half, -half), (half, half), (-half, half)];
            canvas.path(corners.map(|(dx, dy)| (x + dx, y + dy)), Pen::DotB, true);
        }
        2 => {
            let corners = [(0, -half * 12 / 10), (half * 11 / 10, half), (-half * 11 / 10, half)];
            canvas.path(corners.map(|(dx, dy)| (x + dx, y + dy)), Pen::DotC, true);
        }
        3 => {
            let half = half * 13 / 10;
            let corners = [(0, -half), (half, 0), (0, half), (-half, 0)];
            canvas.path(corners.map(|(dx, dy)| (x + dx, y + dy)), Pen::DotD, true);
        }
        _ => canvas.ring((x, y), half * 8 / 10, Pen::Open),
    }
}

/// The key of signs, in HTML so that it flows on a narrow screen.
pub(crate) fn sign_key(label: &'static str, names: &[&str]) -> Block {
    let signs = names.iter().enumerate().map(|(kind, name)| {
        let canvas = Canvas::new(12.0, 12.0);
        sign(&canvas, (60, 60), kind, 42);
        let svg = format!(
            r#"<svg class="swatch dot" viewBox="0 0 120 120" aria-hidden="true" focusable="false">{}</svg>"#,
            canvas.drawn()
        );
        (Drawing::new(svg, &escape(name), ""), (*name).to_owned())
    });
    Block::Key { label, signs: signs.collect() }
}

/// The levels by how many cooks they have, the most frequent first and at most [`KINDS`] of them.
pub(crate) fn kinds<'a>(levels: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut counted: Vec<(&str, usize)> = Vec::new();
    for level in levels {
        match counted.iter_mut().find(|(known, _)| *known == level) {
            Some((_, cooks)) => *cooks += 1,
            None => counted.push((level, 1)),
        }
    }
    counted.sort_by_key(|(level, cooks)| (usize::MAX - cooks, *level));
    counted.into_iter().take(KINDS).map(|(level, _)| level).collect()
}

/// The kind of a level; beyond the known ones all are alike.
pub(crate) fn kind_of(kinds: &[&str], level: Option<&str>) -> usize {
    level.and_then(|level| kinds.iter().position(|kind| *kind == level)).unwrap_or(KINDS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_come_by_number_and_the_rest_are_alike() {
        let levels = ["a", "b", "b", "c", "d", "e", "c", "b"];
        let kinds = kinds(levels.into_iter());
        assert_eq!(kinds, ["b", "c", "a", "d"]);
        assert_eq!([Some("c"), Some("e"), None].map(|level| kind_of(&kinds, level)), [1, 4, 4]);
    }
}
