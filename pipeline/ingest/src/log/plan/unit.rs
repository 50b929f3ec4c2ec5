//! The unit of temperatures that nothing near them gives one for.

use crate::log::facts::head::Facts;
use crate::log::facts::names;
use crate::log::options::ReadOptions;
use crate::log::reason::Reason;
use crate::log::words;
use crate::number::unit_word;
use cook::season::TemperatureUnit;

/// The unit where no header or cell says one: the layout's, the answer's, the preamble's, that of
/// logs of the same layout, the settings'.
pub(crate) fn default(
    facts: &Facts<'_>,
    options: &ReadOptions,
) -> Option<(TemperatureUnit, Reason)> {
    let preamble = facts.preamble.iter().find_map(|(key, value)| {
        let unit = names::unit(value).or_else(|| words::name_and_unit(key, &[]).1)?;
        let because = Reason::Preamble { key: key.clone(), value: value.clone() };
        words::is_unit(key).then_some((unit, because))
    });
    let sentence = || {
        facts.preamble.iter().find_map(|(key, value)| {
            let unit = said_of_temperatures(value)?;
            Some((unit, Reason::Preamble { key: key.clone(), value: value.clone() }))
        })
    };
    let preamble = preamble.or_else(sentence);
    let layout = facts.layout.unit.map(|unit| (unit, Reason::Layout));
    let scale = options.answered.scale.map(|scale| scale.unit);
    let answer = options.answered.unit.or(scale).map(|unit| (unit, Reason::Answer));
    let siblings = options.sibling_unit.map(|unit| (unit, Reason::Siblings));
    layout
        .or(answer)
        .or(preamble)
        .or(siblings)
        .or(options.unit.map(|unit| (unit, Reason::Settings)))
}

/// The unit in a line of a preamble such as `Temperatures in F`.
fn said_of_temperatures(line: &str) -> Option<TemperatureUnit> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let [.., before, unit] = words[..] else { return None };
    let lower = line.to_lowercase();
    let speaks_of_it = ["temp", "degree", "reading"].iter().any(|word| lower.contains(word));
    let leads = matches!(before.to_lowercase().as_str(), "in" | "are" | "degrees" | "is" | "=");
    (speaks_of_it && leads).then(|| unit_word(unit.trim_end_matches('.').as_bytes()))?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_in_sentences() {
        for (line, unit) in [
            ("Temperatures in F", Some(TemperatureUnit::Fahrenheit)),
            ("all readings are in °C.", Some(TemperatureUnit::Celsius)),
            ("Temps in Fahrenheit", Some(TemperatureUnit::Fahrenheit)),
            ("stored in C", None),
            ("temperature of pit F", None),
            ("F", None),
        ] {
            assert_eq!(said_of_temperatures(line), unit, "{line}");
        }
    }
}
