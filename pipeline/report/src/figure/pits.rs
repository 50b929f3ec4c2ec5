//! The phases of all cooks, a panel a pit, shortest first, on one axis of hours, with a tick at the
//! wrap.

use cook::PhaseKind;

use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted};
use super::phase_pen;
use crate::data::{CookReport, MarkKind};
use crate::document::Drawing;
use crate::units::number;

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 200.0;
const TOP: f64 = 18.0;
const FOOT: f64 = 32.0;
const GAP: f64 = 14.0;
/// Tallest bar of a cook, points.
const TALLEST: f64 = 6.0;
/// Bars of one panel; of more cooks every so many, by length, stand for the others.
const MOST: usize = 90;

/// One panel: its name and its cooks, with what stands for how many.
struct Panel<'a> {
    name: String,
    cooks: Vec<&'a CookReport>,
}

/// The panels as SVG, pits in the order of `pits`, what has no such pit last; none without cooks.
/// `id` is unique in the page.
pub(crate) fn phases_by_pit(id: &str, cooks: &[CookReport], pits: &[&str]) -> Option<Drawing> {
    let panels = panels(cooks, pits);
    if panels.is_empty() {
        return None;
    }
    let longest = cooks.iter().map(end).fold(60.0, f64::max);
    let canvas = Canvas::new(WIDTH, HEIGHT);
    let unit = |points: f64| (points * UNIT).round() as i32;
    let width = (WIDTH - GAP * (panels.len() - 1) as f64) / panels.len() as f64;
    let most = panels.iter().map(|panel| panel.cooks.len()).max().unwrap_or(1);
    let row = ((HEIGHT - TOP - FOOT) / most as f64).min(TALLEST);
    let every = [2.0, 4.0, 6.0, 8.0, 12.0, 24.0, 48.0];
    let every = every.into_iter().find(|every| longest / 60.0 / every <= 4.0).unwrap_or(96.0);
    for (place, panel) in panels.iter().enumerate() {
        let left = (width + GAP) * place as f64;
        let across = |min: f64| unit(left + (min / longest).clamp(0.0, 1.0) * (width - 4.0));
        let floor = unit(HEIGHT - FOOT);
        canvas.text(
            (unit(left), 110),
            Pen::Label,
            Anchor::Start,
            &fitted(&panel.name, 12.0, width),
        );
        for tick in 0..=(longest / 60.0 / every) as usize {
            let x = across(tick as f64 * every * 60.0);
            canvas.path([(x, unit(TOP)), (x, floor)], Pen::Grid, false);
            let label = number(tick as f64 * every, 0);
            let anchor = if tick == 0 { Anchor::Start } else { Anchor::Middle };
            canvas.text((x, floor + 125), Pen::Tick, anchor, &label);
        }
        let top = |at: usize| unit(TOP + row * at as f64);
        for phase in [
            PhaseKind::Ramp,
            PhaseKind::Stall,
            PhaseKind::Push,
            PhaseKind::Rest,
            PhaseKind::Unknown,
        ] {
            let mut bars = Vec::new();
            for (at, cook) in panel.cooks.iter().enumerate() {
                let (above, below) = (top(at), (top(at + 1) - 4).max(top(at) + 4));
                for span in cook.phases.iter().filter(|span| span.phase == phase) {
                    let (from, to) = (across(span.start_min), across(span.end_min));
                    bars.push([(from, above), (to, above), (to, below), (from, below)]);
                }
            }
            canvas.paths(bars, phase_pen(phase), true);
        }
        let mut wraps = Vec::new();
        for (at, cook) in panel.cooks.iter().enumerate() {
            for mark in cook.marks.iter().filter(|mark| mark.kind == MarkKind::Wrap) {
                let x = across(mark.at_min);
                wraps.push([(x, top(at) - 3), (x, top(at + 1))]);
            }
        }
        canvas.paths(wraps, Pen::WrapTick, false);
    }
    canvas.text((unit(WIDTH), unit(HEIGHT - 3.0)), Pen::Label, Anchor::End, "hours since meat-on");
    let said: Vec<String> = panels.iter().map(|panel| panel.name.clone()).collect();
    let description = format!(
        "One bar a cook, a panel a pit, the shortest cook first; the parts are ramp, stall, push and rest, a tick is a wrap. {}.",
        said.join("; ")
    );
    Some(canvas.finish(id, "Phases of all cooks by pit", &description))
}

/// Longest cook that is drawn to its end, min: nothing cooks for a month.
const LONGEST_MIN: f64 = 30.0 * 24.0 * 60.0;

fn end(cook: &CookReport) -> f64 {
    let end = cook.phases.last().map_or(0.0, |span| span.end_min);
    if end.is_finite() { end.clamp(0.0, LONGEST_MIN) } else { 0.0 }
}

/// Fewest cooks of no known pit for a panel of their own.
const FEWEST: usize = 5;

fn is_of(cook: &CookReport, pits: &[&str]) -> bool {
    cook.card.pit.as_deref().is_some_and(|pit| pits.contains(&pit))
}

fn others_of(cooks: &[CookReport], pits: &[&str]) -> usize {
    cooks.iter().filter(|cook| !cook.phases.is_empty() && !is_of(cook, pits)).count()
}

/// Cooks of no panel: those of no known pit, where they are too few for one.
pub(crate) fn left_out_of_panels(cooks: &[CookReport], pits: &[&str]) -> usize {
    let others = others_of(cooks, pits);
    if pits.is_empty() || others >= FEWEST { 0 } else { others }
}

fn panels<'a>(cooks: &'a [CookReport], pits: &[&str]) -> Vec<Panel<'a>> {
    let judged = || cooks.iter().filter(|cook| !cook.phases.is_empty());
    let of = |name: String, mut cooks: Vec<&'a CookReport>| {
        cooks.sort_by(|a, b| {
            (end(a), a.id()).partial_cmp(&(end(b), b.id())).unwrap_or_else(|| a.id().cmp(b.id()))
        });
        let step = cooks.len().div_ceil(MOST).max(1);
        let all = cooks.len();
        let shown: Vec<&CookReport> = cooks.into_iter().skip(step / 2).step_by(step).collect();
        let name = if step > 1 {
            format!("{name}, every {step}th of {all}")
        } else {
            format!("{name}, {}", crate::words::plural(all, "cook"))
        };
        Panel { name, cooks: shown }
    };
    let mut panels: Vec<Panel<'a>> = pits
        .iter()
        .map(|pit| {
            of((*pit).to_owned(), judged().filter(|c| c.card.pit.as_deref() == Some(pit)).collect())
        })
        .collect();
    let others = judged().filter(|cook| !is_of(cook, pits));
    let name = if pits.is_empty() { "All cooks" } else { "Other or no pit" };
    panels.push(of(name.to_owned(), others.collect()));
    // Hardly a panel's worth of cooks leaves the others their room; the caption says so.
    panels.retain(|panel| !panel.cooks.is_empty());
    if left_out_of_panels(cooks, pits) > 0 && panels.len() > 1 {
        panels.pop();
    }
    panels
}
