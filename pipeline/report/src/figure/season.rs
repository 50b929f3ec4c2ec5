//! The season as strips: a year a strip, a dot a cook, contests ringed.

use jiff::civil::Date;

use super::canvas::{Anchor, Canvas, Pen, UNIT, fitted, text_width};
use super::sign::{kind_of, sign};
use crate::data::CookReport;
use crate::document::Drawing;
use crate::units::number;
use crate::words::spoken;
use cook::CookKind;

const WIDTH: f64 = 560.0;
const LEFT: f64 = 44.0;
const RIGHT: f64 = 8.0;
/// Height of one strip's plot, and of the room above and below it, points.
const STRIP: f64 = 46.0;
const ABOVE: f64 = 24.0;
const FOOT: f64 = 18.0;
/// A time that is longer is none, min: nothing cooks for a month.
const LONGEST_MIN: f64 = 30.0 * 24.0 * 60.0;
const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// A cook with its day and its hours.
struct Dot<'a> {
    cook: &'a CookReport,
    year: i16,
    day: f64,
    hours: f64,
}

/// The strips as SVG, with the pits told apart as `pits` orders them; none where no cook has a date
/// and a time on the pit. `id` is unique in the page.
pub(crate) fn season_strips(id: &str, cooks: &[CookReport], pits: &[&str]) -> Option<Drawing> {
    let dots: Vec<Dot<'_>> = cooks.iter().filter_map(dot).collect();
    let mut years: Vec<i16> = dots.iter().map(|dot| dot.year).collect();
    years.sort_unstable();
    years.dedup();
    if years.is_empty() {
        return None;
    }
    let first = dots.iter().map(|dot| dot.day).fold(366.0, f64::min) - 5.0;
    let last = dots.iter().map(|dot| dot.day).fold(0.0, f64::max) + 5.0;
    let most = dots.iter().map(|dot| dot.hours).fold(1.0, f64::max) * 1.05;
    let height = (ABOVE + STRIP) * years.len() as f64 + FOOT;
    let canvas = Canvas::new(WIDTH, height);
    let unit = |points: f64| (points * UNIT).round() as i32;
    let across = |day: f64| unit(LEFT + (day - first) / (last - first) * (WIDTH - LEFT - RIGHT));
    for (row, year) in years.iter().enumerate() {
        let top = ABOVE + (ABOVE + STRIP) * row as f64;
        let up = |hours: f64| unit(top + STRIP * (1.0 - hours / most));
        canvas.text((0, unit(top - 8.0)), Pen::Label, Anchor::Start, &year.to_string());
        for hours in ticks(most) {
            canvas.path([(across(first), up(hours)), (across(last), up(hours))], Pen::Grid, false);
            let label = format!("{} h", number(hours, 0));
            canvas.text((unit(LEFT - 5.0), up(hours) + 36), Pen::Tick, Anchor::End, &label);
        }
        for month in 1..=12_i8 {
            let Ok(begins) = Date::new(*year, month, 1) else { continue };
            let day = f64::from(begins.day_of_year());
            if day < first || day > last {
                continue;
            }
            canvas.path([(across(day), up(0.0)), (across(day), up(0.0) - 30)], Pen::Axis, false);
            if row + 1 == years.len() {
                let name = MONTHS[usize::from(month.unsigned_abs()) - 1];
                canvas.text((across(day), up(0.0) + 120), Pen::Tick, Anchor::Start, name);
            }
        }
        let of_year = || dots.iter().filter(|dot| dot.year == *year);
        contests(&canvas, of_year(), unit(top - 3.0), across);
        for dot in of_year() {
            let at = (across(dot.day), up(dot.hours));
            let said = spoken(dot.hours * 60.0);
            canvas.named(&format!("{}: {said} on the pit", dot.cook.id()), || {
                sign(&canvas, at, kind_of(pits, dot.cook.card.pit.as_deref()), 30);
                if dot.cook.card.kind == Some(CookKind::Contest) {
                    canvas.ring(at, 52, Pen::Ring);
                }
            });
        }
    }
    let contest = dots.iter().filter(|dot| dot.cook.card.kind == Some(CookKind::Contest)).count();
    let description = format!(
        "A strip a year, a sign a cook: its date across, its hours on the pit upwards. {} cooks, of which {contest} at contests, ringed.",
        dots.len()
    );
    Some(canvas.finish(id, "The season, cook by cook", &description))
}

fn dot(cook: &CookReport) -> Option<Dot<'_>> {
    let date: Date = cook.day.parse().ok()?;
    let hours = cook.measures.total_min.filter(|min| (0.0..LONGEST_MIN).contains(min))? / 60.0;
    Some(Dot { cook, year: date.year(), day: f64::from(date.day_of_year()), hours })
}

/// Hours at which a line is drawn.
fn ticks(most: f64) -> Vec<f64> {
    let step = [4.0, 6.0, 12.0, 24.0, 48.0].into_iter().find(|step| most / step <= 4.0);
    let step = step.unwrap_or(96.0);
    (0..=(most / step) as usize).map(|i| i as f64 * step).collect()
}

/// The contests' names above their first cook, as far as there is room.
fn contests<'a>(
    canvas: &Canvas,
    dots: impl Iterator<Item = &'a Dot<'a>>,
    foot: i32,
    across: impl Fn(f64) -> i32,
) {
    let mut free_from = f64::from(across(0.0).max(0)) / UNIT;
    let mut known: Vec<&str> = Vec::new();
    let mut named: Vec<(f64, &str)> = Vec::new();
    for dot in dots.filter(|dot| dot.cook.card.kind == Some(CookKind::Contest)) {
        let Some(name) = dot.cook.card.contest.as_deref() else { continue };
        if !known.contains(&name) {
            known.push(name);
            named.push((f64::from(across(dot.day)) / UNIT, name));
        }
    }
    named.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (place, &(x, name)) in named.iter().enumerate() {
        // The last one moves to the left rather than being cut.
        let from = (x - 6.0).min(WIDTH - text_width(name, 10.0)).max(free_from);
        let name = match named.get(place + 1) {
            Some(next) => fitted(name, 10.0, (next.0 - from - 4.0).max(30.0)),
            None => fitted(name, 10.0, (WIDTH - from).max(30.0) + 1.0),
        };
        free_from = from + text_width(&name, 10.0) + 4.0;
        // At the edge by its end, since no width of a text is known before a browser has its letters.
        if free_from - 4.0 > WIDTH - 1.0 {
            canvas.text(((WIDTH * UNIT) as i32, foot), Pen::Note, Anchor::End, &name);
        } else {
            canvas.text(((from * UNIT) as i32, foot), Pen::Note, Anchor::Start, &name);
        }
    }
}
