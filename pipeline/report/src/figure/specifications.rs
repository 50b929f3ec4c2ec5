//! A claim under every specification: estimates with their intervals by size, and beneath each the
//! choices that it made.

use cook::Units;
use plotters::element::{Circle, PathElement};

use super::axis::{Axis, Room, draw, plot};
use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted};
use crate::choices::Choices;
use crate::document::Drawing;
use crate::units::number;
use crate::words::ShownEffect;
use study::result::ClaimResult;
use study::result::specification::SpecificationCurve;

const WIDTH: f64 = 560.0;
const UPPER: f64 = 190.0;
const ROW: f64 = 15.0;
const LEFT: f64 = 176.0;
const RIGHT: f64 = 14.0;

/// The specification curve as SVG. `id` is unique in the page.
pub(crate) fn specifications(
    id: &str,
    claim: &ClaimResult,
    curve: &SpecificationCurve,
    units: Units,
) -> Drawing {
    let choices = Choices::new(claim, curve);
    let shown: Vec<ShownEffect> =
        choices.ways.iter().map(|way| ShownEffect::new(&way.effect, units)).collect();
    // A heading a question, a row an answer.
    let lines: usize = choices.questions.iter().map(|(_, answers)| answers.len() + 1).sum();
    let height = UPPER + ROW * lines as f64 + 24.0;
    let canvas = Canvas::new(WIDTH, height);
    let matters = ShownEffect::matters(&claim.asked, units);
    let ends = shown.iter().flat_map(|e| [Some(e.estimate), e.lo, e.hi]).flatten();
    let (low, high) = ends
        .chain([-matters, matters])
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), end| (low.min(end), high.max(end)));
    let y = Axis::round(low, high, 6);
    let x = Axis { ticks: Vec::new(), ..Axis::exact(0.0, shown.len() as f64, 1) };
    let room = Room { top: 22.0, right: RIGHT, bottom: height - UPPER, left: LEFT };
    let mut chart =
        plot(&canvas, room, &x, &y, &|_| String::new(), Some(&|v| number(v, y.decimals)));
    let across = [(0.0, Pen::Zero), (-matters, Pen::Edge), (matters, Pen::Edge)];
    for (level, pen) in across {
        let line = PathElement::new(vec![(x.from, level), (x.to, level)], pen.shape());
        draw(&mut chart, [line]);
    }
    for (place, (effect, way)) in shown.iter().zip(&choices.ways).enumerate() {
        let middle = place as f64 + 0.5;
        let is_point = curve.own_error && !way.is_as_written;
        let (lo, hi) = (effect.lo.unwrap_or(y.from), effect.hi.unwrap_or(y.to));
        let said = if is_point { effect.headline() } else { effect.sentence() };
        canvas.named(&format!("{}: {said}", way.name), || {
            if !is_point {
                let interval = vec![(middle, lo), (middle, hi)];
                draw(&mut chart, [PathElement::new(interval, Pen::Thin.shape())]);
            }
            let size = if way.is_as_written { 4.5 } else { 2.4 };
            draw(
                &mut chart,
                [Circle::new((middle, effect.estimate), size * UNIT, Pen::Point.shape())],
            );
        });
    }
    let left_edge = ((LEFT - 8.0) * UNIT) as i32;
    let wide = (WIDTH - LEFT - RIGHT) / shown.len().max(1) as f64;
    let column = |place: usize| ((LEFT + wide * (place as f64 + 0.5)) * UNIT) as i32;
    let half = ((wide * 0.36).clamp(0.5, 3.0) * UNIT) as i32;
    let mut line = 0;
    for (question, (asked, answers)) in choices.questions.iter().enumerate() {
        let baseline = |line: usize| ((UPPER + 8.0 + ROW * (line as f64 + 1.0)) * UNIT) as i32;
        canvas.text((left_edge, baseline(line)), Pen::Label, Anchor::End, asked);
        line += 1;
        for (answer, label) in answers.iter().enumerate() {
            let foot = baseline(line);
            let label = fitted(label, Pen::Note.font_size(), LEFT - 12.0);
            canvas.text((left_edge, foot), Pen::Note, Anchor::End, &label);
            for (place, way) in choices.ways.iter().enumerate() {
                if way.answers.get(question) == Some(&answer) {
                    let at = column(place);
                    canvas.rect((at - half, foot - 75), (at + half, foot - 10), Pen::Chosen);
                }
            }
            line += 1;
        }
    }
    let unit = shown.first().map_or(String::new(), |effect| effect.axis_label(&claim.asked));
    canvas.text(((LEFT * UNIT) as i32, 130), Pen::Label, Anchor::Start, &unit);

    let title = format!("Every way to ask: {}", claim.says);
    let description = format!(
        "{} estimates from {} to {}, {}, in the order of size; a dashed line at \
         no difference and dotted lines at what matters, {} either way. Rows beneath mark the \
         choices of each. {} of them give the claim's own verdict.",
        shown.len(),
        shown.first().map_or(String::new(), ShownEffect::headline),
        shown.last().map_or(String::new(), ShownEffect::headline),
        if curve.own_error {
            "the claim’s own with its interval"
        } else {
            "each with its interval"
        },
        shown.first().map_or(String::new(), |effect| effect.with_unit(matters)),
        curve.same_verdict,
    );
    canvas.finish(id, &title, &description)
}
