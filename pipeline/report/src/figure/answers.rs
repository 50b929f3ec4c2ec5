//! The intervals of many claims on one scale: in multiples of the smallest difference that matters,
//! the claim's own side at the right.

use super::canvas::{Canvas, Pen, UNIT};
use crate::document::Drawing;
use study::result::ClaimResult;

const WIDTH: f64 = 150.0;
const HEIGHT: f64 = 22.0;
/// What matters lies at one; the scale reaches no further than this, else one far answer would
/// make all others too small to see.
const FARTHEST: f64 = 8.0;

/// A claim's interval signed so that positive favours it, in multiples of what matters.
struct Scaled {
    estimate: f64,
    lo: f64,
    hi: f64,
}

fn scaled(claim: &ClaimResult) -> Option<Scaled> {
    let effect = claim.effect.as_ref()?;
    let sign = claim.asked.sign();
    let scale = sign / claim.asked.matters;
    let open = |end: Option<f64>, side: f64| end.map_or(side * f64::INFINITY, |v| v * scale);
    let ends = [open(effect.lo, -sign), open(effect.hi, sign)];
    let known =
        effect.estimate.is_finite() && scale.is_finite() && !ends.iter().any(|e| e.is_nan());
    known.then(|| Scaled {
        estimate: effect.estimate * scale,
        lo: ends[0].min(ends[1]),
        hi: ends[0].max(ends[1]),
    })
}

/// How far the common scale of these claims reaches, in multiples of what matters.
pub(crate) fn reach<'a>(claims: impl IntoIterator<Item = &'a ClaimResult>) -> f64 {
    let ends = claims.into_iter().filter_map(scaled).flat_map(|s| [s.lo, s.hi]);
    ends.filter(|end| end.is_finite()).map(f64::abs).fold(1.5, f64::max).min(FARTHEST) * 1.06
}

/// One claim's interval; nothing where none was estimated. `id` is unique in the page.
pub(crate) fn answer_interval(id: &str, claim: &ClaimResult, reach: f64) -> Option<Drawing> {
    let Scaled { estimate, lo, hi } = scaled(claim)?;
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let across = |value: f64| {
        let part = (value.clamp(-reach, reach) + reach) / (2.0 * reach);
        (part * WIDTH * UNIT).round() as i32
    };
    let (top, bottom, middle) = (20, (HEIGHT * UNIT) as i32 - 20, (HEIGHT * UNIT / 2.0) as i32);
    canvas.rect((across(-1.0), top), (across(1.0), bottom), Pen::Matters);
    canvas.path([(across(0.0), top), (across(0.0), bottom)], Pen::Zero, false);
    canvas.path([(across(lo), middle), (across(hi), middle)], Pen::Interval, false);
    for (end, inward) in [(lo, 60), (hi, -60)] {
        let at = across(end);
        if end.abs() > reach {
            // It goes on beyond the scale.
            let head = [(at + inward, middle - 45), (at, middle), (at + inward, middle + 45)];
            canvas.path(head, Pen::Interval, false);
        } else {
            canvas.path([(at, middle - 45), (at, middle + 45)], Pen::Interval, false);
        }
    }
    canvas.ring((across(estimate), middle), 42, Pen::Point);
    let title = format!("Interval: {}", claim.says);
    let description = "Dot and bar: estimate and interval, the claim’s own side at the right. Hatched: differences that do not \
                       matter. Dashed: no difference.";
    Some(canvas.finish(id, &title, description))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;

    #[test]
    fn a_claim_that_less_is_better_lies_at_the_right_where_there_is_less() {
        // −20 per step of 5 °C, where 10 matter: twice what matters, in the claim's favour.
        let claim = samples::trend();
        let Scaled { estimate, lo, hi } = scaled(&claim).expect("an effect");
        assert!((estimate - 2.0).abs() < 1e-12 && (hi - 3.0).abs() < 1e-12);
        assert_eq!(lo, f64::NEG_INFINITY);
        assert!((reach([&claim]) - 3.0 * 1.06).abs() < 1e-12);
    }

    #[test]
    fn nothing_is_drawn_without_an_effect_or_a_size_that_matters() {
        let mut claim = samples::trend();
        claim.asked.matters = 0.0;
        assert!(answer_interval("x", &claim, 2.0).is_none());
        claim = samples::trend();
        claim.effect = None;
        assert!(answer_interval("x", &claim, 2.0).is_none());
    }
}
