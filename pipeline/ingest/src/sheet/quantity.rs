//! Quantities as people write them: `12 lb 4 oz`, `12 1/4`, `3½"`, `8/10`.

use super::code::SheetCode;
use super::writing::Writing;
use cook::Celsius;

/// A unit that may stand behind a number, by its words, and how much of the quantity's own unit
/// (kg, mm, m) it is.
/// How a unit is written, and its size.
type Spelling = (&'static [&'static str], f64);

const MASSES: &[Spelling] = &[
    (&["kg", "kgs", "kilo", "kilos", "kilograms", "kilogram"], 1.0),
    (&["g", "gr", "grams", "gram"], 0.001),
    // The international avoirdupois pound and its sixteenth (NIST Handbook 44, appendix C).
    (&["lb", "lbs", "lb.", "lbs.", "pound", "pounds", "#"], 0.453_592_37),
    (&["oz", "oz.", "ounce", "ounces"], 0.453_592_37 / 16.0),
];
const LENGTHS: &[Spelling] = &[
    (&["mm", "millimetres", "millimeters"], 1.0),
    (&["cm", "centimetres", "centimeters"], 10.0),
    (&["in", "in.", "inch", "inches", "\"", "”", "″"], 25.4),
];
const ALTITUDES: &[Spelling] =
    &[(&["m", "metres", "meters", "masl"], 1.0), (&["ft", "ft.", "feet", "foot", "'"], 0.304_8)];

/// What a column's name ends in, and the units that its cells may carry.
fn units_of(suffix: &str) -> Option<(&'static [Spelling], f64)> {
    Some(match suffix {
        "kg" => (MASSES, 1.0),
        "lb" => (MASSES, 0.453_592_37),
        "mm" => (LENGTHS, 1.0),
        "in" => (LENGTHS, 25.4),
        "m" => (ALTITUDES, 1.0),
        "ft" => (ALTITUDES, 0.304_8),
        _ => return None,
    })
}

/// A cell's number in the unit that its column's name ends in (`suffix`): with or without a unit
/// of its own, which is believed before the column's; with fractions; in two units.
pub(super) fn read(text: &str, suffix: &str, writing: &Writing) -> Result<f64, SheetCode> {
    let text = text.trim();
    if matches!(suffix, "c" | "f") {
        return temperature(text, suffix, writing);
    }
    let Some((units, own)) = units_of(suffix) else { return number(text, writing) };
    // `12 lb 4 oz`: each part is smaller than the one before.
    let mut rest = text.to_owned();
    let mut sum = 0.0;
    let mut last = f64::INFINITY;
    let mut parts = 0;
    while !rest.trim().is_empty() {
        let bare = rest.trim_start_matches([' ', ',']).to_owned();
        let bare = bare.strip_prefix("and ").unwrap_or(&bare).to_owned();
        let at = bare.find(|c: char| c.is_alphabetic() || "\"”″'#".contains(c));
        let Some(at) = at else {
            if parts > 0 {
                return Err(SheetCode::BadNumber);
            }
            return number(&bare, writing);
        };
        let end = bare[at..]
            .find(|c: char| c.is_ascii_digit() || c.is_whitespace() || c == ',')
            .map_or(bare.len(), |end| at + end);
        let word = bare[at..end].to_lowercase();
        let size = units.iter().find(|(words, _)| words.contains(&word.as_str()));
        let Some((_, size)) = size.filter(|(_, size)| *size < last) else {
            return Err(SheetCode::BadNumber);
        };
        sum += number(&bare[..at], writing)? * size;
        last = *size;
        parts += 1;
        bare[end..].clone_into(&mut rest);
    }
    if parts == 0 { Err(SheetCode::BadNumber) } else { Ok(sum / own) }
}

/// The unit that a cell names where it is another than its column's name ends in (`suffix`).
pub(super) fn other_unit<'t>(text: &'t str, suffix: &str) -> Option<&'t str> {
    use cook::season::TemperatureUnit::{Celsius, Fahrenheit};
    let at = text.find(|c: char| c.is_alphabetic() || "\"”″'#".contains(c))?;
    let is_end = |c: char| c.is_ascii_digit() || c.is_whitespace() || c == ',';
    let word = text[at..].split(is_end).next()?;
    let differs = match (suffix, units_of(suffix)) {
        ("c" | "f", _) => {
            let heading = if suffix == "c" { Celsius } else { Fahrenheit };
            crate::number::unit_word(word.as_bytes()).is_some_and(|unit| unit != heading)
        }
        (_, Some((units, own))) => {
            let folded = word.to_lowercase();
            let size = units.iter().find(|(words, _)| words.contains(&folded.as_str()));
            size.is_some_and(|(_, size)| *size != own)
        }
        _ => false,
    };
    differs.then_some(word)
}

/// A temperature, perhaps with its own unit.
fn temperature(text: &str, suffix: &str, writing: &Writing) -> Result<f64, SheetCode> {
    let digits = text.rfind(|c: char| c.is_ascii_digit()).map_or(0, |at| at + 1);
    let (value, unit) = text.split_at(digits);
    let value = number(value, writing)?;
    let unit = unit.trim();
    match (crate::number::unit_word(unit.as_bytes()), suffix) {
        (None, _) if unit.is_empty() || matches!(unit, "°" | "º") => Ok(value),
        (None, _) => Err(SheetCode::BadNumber),
        (Some(cook::season::TemperatureUnit::Celsius), "f") => Ok(Celsius(value).fahrenheit()),
        (Some(cook::season::TemperatureUnit::Fahrenheit), "c") => {
            Ok(Celsius::from_fahrenheit(value).value())
        }
        _ => Ok(value),
    }
}

/// A number with a fraction behind it (`12 1/4`, `12-1/4`, `12¼`), or a plain one.
pub(super) fn number(text: &str, writing: &Writing) -> Result<f64, SheetCode> {
    let text = text.trim();
    if let Some((at, glyph)) = text.char_indices().last()
        && let Some(part) = glyph_value(glyph)
    {
        let whole = text[..at].trim();
        let whole = if whole.is_empty() { 0.0 } else { writing.number(whole)? };
        return Ok(whole + part);
    }
    let Some((before, below)) = text.split_once('/') else { return writing.number(text) };
    let below: f64 = small(below).ok_or(SheetCode::BadNumber)?;
    let before = before.trim();
    let (whole, above) = match before.rsplit_once([' ', '-', '+']) {
        Some((whole, above)) => {
            let whole =
                small(whole.trim_end_matches([' ', '-', '+'])).ok_or(SheetCode::BadNumber)?;
            (whole, above)
        }
        None => (0.0, before),
    };
    let above = small(above).ok_or(SheetCode::BadNumber)?;
    // A fraction of an inch or a pound, not a date, a ratio or a score.
    let is_fraction = above < below && [2.0, 3.0, 4.0, 8.0, 16.0, 32.0].contains(&below);
    if is_fraction { Ok(whole + above / below) } else { Err(SheetCode::BadNumber) }
}

/// A score with what it is out of: `8/10`, `8 out of 10`.
pub(super) fn score(text: &str, writing: &Writing) -> Result<f64, SheetCode> {
    let lower = text.to_lowercase();
    let parts = lower.split_once('/').or_else(|| lower.split_once("out of"));
    let Some((score, of)) = parts else { return writing.number(text.trim()) };
    let of = small(of).ok_or(SheetCode::BadNumber)?;
    let score = writing.number(score.trim())?;
    let is_scale = [5.0, 6.0, 7.0, 9.0, 10.0, 20.0, 50.0, 100.0].contains(&of);
    if is_scale && (0.0..=of).contains(&score) { Ok(score) } else { Err(SheetCode::BadNumber) }
}

/// A whole number of a few digits.
fn small(text: &str) -> Option<f64> {
    let text = text.trim();
    let plain = (1..=4).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| text.parse().ok())?
}

fn glyph_value(glyph: char) -> Option<f64> {
    Some(match glyph {
        '¼' => 0.25,
        '½' => 0.5,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(text: &str, suffix: &str, wanted: f64) {
        let read = read(text, suffix, &Writing::default()).unwrap_or(f64::NAN);
        assert!((read - wanted).abs() < 1e-9, "{text} in {suffix}: {read}, not {wanted}");
    }

    #[test]
    fn quantities_as_people_write_them() {
        for (text, suffix, wanted) in [
            ("12 lb 4 oz", "lb", 12.25),
            ("12lb4oz", "lb", 12.25),
            ("12 pounds, 4 ounces", "lb", 12.25),
            ("12 lbs and 4 oz", "lb", 12.25),
            ("12 1/4", "lb", 12.25),
            ("12-1/4 lb", "lb", 12.25),
            ("12¼", "lb", 12.25),
            ("12.25#", "lb", 12.25),
            ("3 1/2\"", "in", 3.5),
            ("3½ in", "in", 3.5),
            ("5/8\"", "in", 0.625),
            ("9 cm", "mm", 90.0),
            ("5 kg", "kg", 5.0),
            ("5200 g", "kg", 5.2),
            ("5280 ft", "ft", 5280.0),
            ("250 F", "f", 250.0),
            ("250°", "f", 250.0),
            // The cell's own unit comes before the column's; 1 lb is 0.45359237 kg.
            ("10 lb", "kg", 4.535_923_7),
            ("1 kg", "lb", 1.0 / 0.453_592_37),
            ("121 C", "f", 249.8),
            ("250 F", "c", 1_090.0 / 9.0),
        ] {
            close(text, suffix, wanted);
        }
        for (text, suffix) in [
            ("about 12", "lb"),
            ("12 4 oz", "lb"),
            ("4 oz 12 lb", "lb"),
            ("12/3", "lb"),
            ("12-14", "lb"),
            ("5/12/2025", "lb"),
            ("3 stone", "lb"),
            ("250 K", "f"),
        ] {
            assert_eq!(
                read(text, suffix, &Writing::default()),
                Err(SheetCode::BadNumber),
                "{text}"
            );
        }
    }

    #[test]
    fn a_unit_that_is_not_the_columns_is_named() {
        for (text, suffix, wanted) in [
            ("121 C", "f", Some("C")),
            ("121°C", "f", Some("C")),
            ("250 F", "f", None),
            ("250", "f", None),
            ("5 kg", "lb", Some("kg")),
            ("12 lb 4 oz", "lb", None),
            ("12 oz", "lb", Some("oz")),
            ("9 cm", "in", Some("cm")),
            ("3 1/2\"", "in", None),
            ("about 12", "lb", None),
        ] {
            assert_eq!(other_unit(text, suffix), wanted, "{text} in {suffix}");
        }
    }

    #[test]
    fn scores_with_what_they_are_out_of() {
        let of = |text: &str| score(text, &Writing::default());
        assert_eq!(
            (of("8/10"), of("8.5 / 10"), of("7 out of 9"), of("8")),
            (Ok(8.0), Ok(8.5), Ok(7.0), Ok(8.0))
        );
        assert_eq!(
            (of("11/10"), of("3/4")),
            (Err(SheetCode::BadNumber), Err(SheetCode::BadNumber))
        );
    }
}
