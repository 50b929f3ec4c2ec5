//! The bundled past in a few hundred kilobytes: simulated courses at every quarter of an hour.
//!
//! A cook is a line of text: name, fire, weight in g, cut, set-points, wraps, finish and pull, and the
//! differences of core and pit from one quarter of an hour to the next in tenths of a degree. The file is
//! compressed and embedded; `generate` makes it anew.

use crate::bundle::{BundleError, simulate_bundle};
use crate::course::{About, Course};
use cook::{PhaseDefinition, WrapMethod};
use flate2::Compression;
use flate2::read::GzDecoder;
use flate2::write::GzEncoder;
use std::fmt::Write as _;
use std::io::{Read, Write as _};

/// Steps of the grid between kept values: a quarter of an hour.
const EVERY: usize = 3;
/// The file of the bundled cooks.
pub const EMBEDDED: &[u8] = include_bytes!("prior/bundled.txt.gz");

/// The bundled simulated cooks.
pub fn bundled(definition: &PhaseDefinition) -> Vec<Course> {
    let mut text = String::new();
    GzDecoder::new(EMBEDDED)
        .read_to_string(&mut text)
        .expect("the embedded past is text that the same code compressed");
    text.lines()
        .map(|line| decode(line, definition).expect("a line that this module wrote"))
        .collect()
}

/// Simulates the bundled past and gives the file that is embedded.
///
/// # Errors
/// None that the fixed settings could lead to.
pub fn make_bundled() -> Result<Vec<u8>, BundleError> {
    let text: String = simulate_bundle()?.iter().map(encode).collect();
    let mut file = GzEncoder::new(Vec::new(), Compression::best());
    file.write_all(text.as_bytes()).and_then(|()| file.finish()).map_err(BundleError::Write)
}

fn encode(course: &Course) -> String {
    let about = &course.about;
    let optional = |value: Option<f64>| value.map_or(String::new(), |value| format!("{value:.1}"));
    let list = |items: &mut dyn Iterator<Item = String>| items.collect::<Vec<_>>().join(",");
    let mut line = format!(
        "{}|{}|{}|{}|{}|{}|{}",
        about.cook,
        about.fire,
        about.weight_kg.map_or(String::new(), |kg| format!("{:.0}", 1_000.0 * kg)),
        about.cut.as_deref().unwrap_or_default(),
        list(&mut course.setpoints.iter().map(|(at, to)| format!("{at:.0}@{to:.1}"))),
        list(&mut course.wraps.iter().map(|(at, method)| format!("{at:.1}@{method}"))),
        optional(course.pull_min),
    );
    for values in [&course.core_c, &course.pit_c] {
        line.push('|');
        let mut last = 0;
        let kept = values.iter().step_by(EVERY).map(|value| (10.0 * value).round() as i32);
        for value in kept {
            let _ = write!(line, "{} ", value - last);
            last = value;
        }
    }
    line.push('\n');
    line
}

fn decode(line: &str, definition: &PhaseDefinition) -> Option<Course> {
    let cells: Vec<&str> = line.split('|').collect();
    let [cook, fire, weight, cut, setpoints, wraps, pull, core, pit] = cells[..] else {
        return None;
    };
    let pairs = |text: &str| -> Vec<(f64, String)> {
        let pair = |item: &str| {
            let (at, what) = item.split_once('@')?;
            Some((at.parse().ok()?, what.to_owned()))
        };
        text.split(',').filter_map(pair).collect()
    };
    let course = Course {
        about: About {
            cook: cook.to_owned(),
            fire: fire.to_owned(),
            weight_kg: weight.parse::<f64>().ok().map(|grams| grams / 1_000.0),
            cut: (!cut.is_empty()).then(|| cut.to_owned()),
            pit: None,
        },
        core_c: curve(core)?,
        pit_c: curve(pit)?,
        setpoints: pairs(setpoints)
            .into_iter()
            .map(|(at, to)| Some((at, to.parse().ok()?)))
            .collect::<Option<_>>()?,
        wraps: pairs(wraps)
            .into_iter()
            .map(|(at, method)| Some((at, WrapMethod::parse(&method)?)))
            .collect::<Option<_>>()?,
        pull_min: pull.parse().ok(),
        ..Course::empty()
    };
    Some(course.completed(definition))
}

/// A curve on the grid, on the straight line between kept values.
fn curve(text: &str) -> Option<Vec<f64>> {
    let mut kept = Vec::new();
    let mut value = 0;
    for step in text.split_whitespace() {
        value += step.parse::<i32>().ok()?;
        kept.push(f64::from(value) / 10.0);
    }
    let between = |pair: &[f64]| {
        let (from, to) = (pair[0], pair[1]);
        (0..EVERY)
            .map(move |step| from + (to - from) * step as f64 / EVERY as f64)
            .collect::<Vec<_>>()
    };
    let mut curve: Vec<f64> = kept.windows(2).flat_map(between).collect();
    curve.extend(kept.last());
    Some(curve)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::STEP_MIN;

    #[test]
    fn the_bundled_past_is_whole_and_small() {
        let definition = PhaseDefinition::default();
        let courses = bundled(&definition);
        assert!(EMBEDDED.len() < 300_000, "{} bytes", EMBEDDED.len());
        assert!(courses.len() > 150, "{} cooks", courses.len());
        let finished = courses.iter().filter(|course| course.finish_min.is_some()).count();
        assert!(finished * 10 > courses.len() * 9, "{finished} of {}", courses.len());
        for course in &courses {
            assert_eq!(encode(course), encode(&decode(&encode(course), &definition).unwrap()));
            assert!(course.last_step() as f64 * STEP_MIN > 180.0);
        }
    }
}
