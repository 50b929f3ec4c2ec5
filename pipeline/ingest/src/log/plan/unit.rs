//! The unit of temperatures that nothing near them gives one for.

use crate::log::facts::head::Facts;
use crate::log::facts::names;
use crate::log::options::ReadOptions;
use crate::log::reason::Reason;
use crate::log::words;
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
    let layout = facts.layout.unit.map(|unit| (unit, Reason::Layout));
    let answer = options.answered.unit.map(|unit| (unit, Reason::Answer));
    let siblings = options.sibling_unit.map(|unit| (unit, Reason::Siblings));
    layout
        .or(answer)
        .or(preamble)
        .or(siblings)
        .or(options.unit.map(|unit| (unit, Reason::Settings)))
}
