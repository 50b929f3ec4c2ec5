//! Stretches of readings that cleaning treated, drawn over a cook's curve: by shape, so that they are
//! told apart without colour.

use super::canvas::{Canvas, Pen};
use crate::data::{Cleaning, Stretch};
use crate::words;
use cook::{FlagKind, Units};

/// Half the size of a sign, backend units.
const HALF: i32 = 26;
/// Height of the track above the phases in which stretches of time are drawn, backend units.
pub(super) const TRACK: i32 = 80;

/// The place of a plot in backend units, and how it maps.
pub(super) struct Plot<'a> {
    /// Minutes since meat-on to x.
    pub(super) across: &'a dyn Fn(f64) -> i32,
    /// Minutes since meat-on and °C to a place, kept within the plot.
    pub(super) place: &'a dyn Fn(f64, f64) -> (i32, i32),
    /// y of the track's foot.
    pub(super) track: i32,
}

/// Draws every stretch of a cook.
pub(super) fn draw_stretches(canvas: &Canvas, cleaning: &Cleaning, units: Units, plot: &Plot<'_>) {
    for stretch in &cleaning.stretches {
        let name = words::stretch_sentence(stretch, units);
        canvas.named(&name, || {
            if stretch.row.flag.removes() {
                signs(canvas, stretch, plot);
            } else {
                in_track(canvas, stretch, plot);
            }
        });
    }
}

/// A sign at every reading that is drawn.
fn signs(canvas: &Canvas, stretch: &Stretch, plot: &Plot<'_>) {
    for point in &stretch.points {
        let Some(temp_c) = point.temp_c else { continue };
        let (x, y) = (plot.place)(point.min, temp_c);
        match stretch.row.flag {
            FlagKind::Spike => {
                canvas.path([(x - HALF, y - HALF), (x + HALF, y + HALF)], Pen::Removed, false);
                canvas.path([(x - HALF, y + HALF), (x + HALF, y - HALF)], Pen::Removed, false);
            }
            FlagKind::Edge => {
                canvas.path([(x - HALF, y), (x + HALF, y)], Pen::Removed, false);
                canvas.path([(x, y - HALF), (x, y + HALF)], Pen::Removed, false);
            }
            FlagKind::WrapDip | FlagKind::Dip => canvas.ring((x, y), HALF, Pen::Removed),
            FlagKind::Stuck => canvas.path(
                [
                    (x - HALF, y - HALF),
                    (x + HALF, y - HALF),
                    (x + HALF, y + HALF),
                    (x - HALF, y + HALF),
                ],
                Pen::Removed,
                true,
            ),
            _ => canvas.path(
                [(x - HALF, y - HALF), (x + HALF, y - HALF), (x, y + HALF)],
                Pen::Removed,
                true,
            ),
        }
    }
}

/// A stretch of time in the track above the phases.
fn in_track(canvas: &Canvas, stretch: &Stretch, plot: &Plot<'_>) {
    let (from, to) = ((plot.across)(stretch.start_min), (plot.across)(stretch.end_min));
    let to = to.max(from + 30);
    let (low, high) = (plot.track - 10, plot.track - TRACK + 20);
    let middle = i32::midpoint(low, high);
    match stretch.row.flag {
        // A roof.
        FlagKind::LidOpen => {
            let peak = i32::midpoint(from, to);
            canvas.path([(from, low), (peak, high), (to, low)], Pen::Track, false);
        }
        // A zigzag.
        FlagKind::Exchanged => {
            let teeth = ((to - from) / 60).clamp(1, 200);
            let corner = |i: i32| {
                let x = from + (to - from) * i / (2 * teeth);
                (x, if i % 2 == 0 { low } else { high })
            };
            canvas.path((0..=2 * teeth).map(corner), Pen::Track, false);
        }
        // A dotted line between two ends; of an unplugged probe the ends are slanted.
        kind => {
            let slant = if kind == FlagKind::Unplugged { 25 } else { 0 };
            canvas.path([(from, low), (from + slant, high)], Pen::Track, false);
            canvas.path([(from, middle), (to, middle)], Pen::Missing, false);
            canvas.path([(to - slant, low), (to, high)], Pen::Track, false);
        }
    }
}
