//! Ticks at round numbers, and the frame that every plot shares.

use std::borrow::Borrow;
use std::ops::Range;

use plotters::chart::{ChartBuilder, ChartContext};
use plotters::coord::cartesian::Cartesian2d;
use plotters::coord::ranged1d::{DefaultFormatting, KeyPointHint, Ranged};
use plotters::drawing::IntoDrawingArea;
use plotters::element::{CoordMapper, Drawable, PointCollection};

use super::canvas::{Anchor, Canvas, Pen, UNIT};

/// A plot whose ticks are chosen here.
pub(super) type Plot<'a> = ChartContext<'a, Canvas, Cartesian2d<Axis, Axis>>;

/// An axis: its ends and its ticks, in the unit shown.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) ticks: Vec<f64>,
    pub(super) decimals: usize,
}

impl Axis {
    /// An axis over `from..to`, widened to round numbers of a 1-2-5 series, with about `wanted`
    /// ticks.
    pub(super) fn round(from: f64, to: f64, wanted: usize) -> Self {
        let (from, to) = ordered(from, to);
        let step = round_step((to - from) / wanted.max(1) as f64);
        Self::stepped((from / step).floor() * step, (to / step).ceil() * step, step)
    }

    /// Like [`Axis::round`], but the ends stay where they are; for points that need room of their
    /// own.
    pub(super) fn exact(from: f64, to: f64, wanted: usize) -> Self {
        let (from, to) = ordered(from, to);
        Self::stepped(from, to, round_step((to - from) / wanted.max(1) as f64))
    }

    /// An axis of hours over minutes `from..to`: the ends stay, ticks fall on whole (or half)
    /// hours. All in minutes.
    pub(super) fn hours(from_min: f64, to_min: f64, most: usize) -> Self {
        let (from, to) = ordered(from_min, to_min);
        let steps = [30.0, 60.0, 120.0, 180.0, 240.0, 360.0, 720.0, 1440.0, 2880.0, 7200.0];
        let fits = |step: &&f64| (to - from) / **step <= most as f64;
        let step = steps.iter().find(fits).copied().unwrap_or_else(|| (to - from) / 8.0);
        Self::stepped(from, to, step)
    }

    fn stepped(from: f64, to: f64, step: f64) -> Self {
        let (first, last) = ((from / step - 1e-9).ceil() as i64, (to / step + 1e-9).floor() as i64);
        let ticks = (first..=last).map(|i| i as f64 * step).collect();
        let decimals = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
        Self { from, to, ticks, decimals }
    }
}

impl Ranged for Axis {
    type FormatOption = DefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, (from, to): (i32, i32)) -> i32 {
        // Whatever lies far off the plot stays near its edge, so that no coordinate overflows.
        let part = ((value - self.from) / (self.to - self.from)).clamp(-0.5, 1.5);
        from + (part * f64::from(to - from)).round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, _hint: Hint) -> Vec<f64> {
        self.ticks.clone()
    }

    fn range(&self) -> Range<f64> {
        self.from..self.to
    }
}

/// The ends in order and apart; an end that is no number, or beyond what anything here measures, is
/// left out.
fn ordered(from: f64, to: f64) -> (f64, f64) {
    let usable = |end: f64| end.abs() <= 1e12;
    let (from, to) = match (usable(from), usable(to)) {
        (true, true) => (from.min(to), from.max(to)),
        (true, false) | (false, true) => {
            let end = if usable(from) { from } else { to };
            (end, end)
        }
        (false, false) => (0.0, 0.0),
    };
    if to - from > 1e-9 { (from, to) } else { (from - 0.5, to + 0.5) }
}

/// The smallest of 1, 2, 5 · 10ⁿ that is not below the step.
fn round_step(step: f64) -> f64 {
    let power = 10f64.powf(step.log10().floor());
    let lead = step / power;
    power * [1.0, 2.0, 5.0].into_iter().find(|s| lead <= s + 1e-9).unwrap_or(10.0)
}

/// Room around the plotting area, points.
#[derive(Debug, Clone, Copy)]
pub(super) struct Room {
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
    pub(super) left: f64,
}

/// What the x axis shows, at the foot of a figure of so many points, ending with the plot.
pub(super) fn foot_label(canvas: &Canvas, (width, height): (f64, f64), room: Room, text: &str) {
    let place = (((width - room.right) * UNIT) as i32, ((height - 3.0) * UNIT) as i32);
    canvas.text(place, Pen::Label, Anchor::End, text);
}

/// Draws grid and tick labels and gives the plot to draw on. Without `y_label` the y axis has
/// neither grid nor labels.
pub(super) fn plot<'a>(
    canvas: &Canvas,
    room: Room,
    x: &Axis,
    y: &Axis,
    x_label: &dyn Fn(f64) -> String,
    y_label: Option<&dyn Fn(f64) -> String>,
) -> Plot<'a> {
    let area = canvas.clone().into_drawing_area();
    let mut plot = ChartBuilder::on(&area)
        .margin_top(room.top * UNIT)
        .margin_right(room.right * UNIT)
        .x_label_area_size(room.bottom * UNIT)
        .y_label_area_size(room.left * UNIT)
        .build_cartesian_2d(x.clone(), y.clone())
        .unwrap_or_else(|never| unreachable!("writing to a string failed: {never}"));
    let x_text = |value: &f64| x_label(*value);
    let y_text = |value: &f64| y_label.map_or_else(String::new, |label| label(*value));
    let mut mesh = plot.configure_mesh();
    mesh.bold_line_style(Pen::Grid.shape())
        .light_line_style(plotters::style::TRANSPARENT)
        .axis_style(Pen::Axis.shape())
        .label_style(Pen::Tick.text())
        .x_labels(x.ticks.len())
        .y_labels(y.ticks.len())
        .x_label_formatter(&x_text)
        .y_label_formatter(&y_text)
        .set_all_tick_mark_size(3.0 * UNIT);
    if y_label.is_none() {
        mesh.disable_y_mesh().disable_y_axis();
    }
    mesh.draw().unwrap_or_else(|never| unreachable!("writing to a string failed: {never}"));
    plot
}

/// Draws a series. The canvas writes to a string, which cannot fail.
pub(super) fn draw<B, E, R, S>(plot: &mut Plot<'_>, series: S)
where
    B: CoordMapper,
    for<'b> &'b E: PointCollection<'b, (f64, f64), B>,
    E: Drawable<Canvas, B>,
    R: Borrow<E>,
    S: IntoIterator<Item = R>,
{
    if let Err(never) = plot.draw_series(series) {
        unreachable!("writing to a string failed: {never}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_and_ticks_fall_on_round_numbers() {
        let axis = Axis::round(3.2, 297.0, 6);
        assert_eq!((axis.from, axis.to), (0.0, 300.0));
        assert_eq!(axis.ticks, [0.0, 50.0, 100.0, 150.0, 200.0, 250.0, 300.0]);
        assert_eq!(axis.decimals, 0);
        assert_eq!(Axis::round(0.1, 0.34, 3).decimals, 1);
    }

    #[test]
    fn hours_have_few_ticks_and_nonsense_still_gives_an_axis() {
        assert_eq!(Axis::hours(-20.0, 610.0, 8).ticks, [0.0, 120.0, 240.0, 360.0, 480.0, 600.0]);
        let axis = Axis::round(f64::NAN, f64::INFINITY, 5);
        assert!(axis.from < axis.to && !axis.ticks.is_empty());
        let axis = Axis::round(7.0, 7.0, 5);
        assert!(axis.from < 7.0 && axis.to > 7.0);
    }
}
