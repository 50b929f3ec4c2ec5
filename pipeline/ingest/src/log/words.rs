//! What the words of a header say: units, roles, times.

use crate::number::unit_word;
use crate::time::TimeFormat;
use cook::Role;
use cook::season::TemperatureUnit;

// The lists have the words of German, French, Spanish, Italian and Dutch beside the English
// ones where they mean nothing else in English (`four` is a French oven, and a number).

const PIT: &[&str] = &[
    "pit", "grate", "grill", "chamber", "cooker", "smoker", "oven", "barrel", "firebox", "garraum",
    "ofen", "horno", "forno", "cámara", "camera",
];
const MEAT: &[&str] = &[
    "meat", "core", "brisket", "flat", "point", "probe", "internal", "food", "butt", "shoulder",
    "pork", "beef", "chicken", "turkey", "rib", "ribs", "roast", "lamb", "thigh", "breast", "loin",
    "fleisch", "viande", "carne", "vlees", "kern", "fühler", "sonde", "sonda",
];
const AMBIENT: &[&str] = &[
    "ambient",
    "outside",
    "outdoors",
    "outdoor",
    "air",
    "weather",
    "außen",
    "extérieur",
    "exterior",
    "esterno",
    "buiten",
];
/// Words that meat channels often have, and pit channels sometimes.
const WEAK: &[&str] = &["probe", "fühler", "sonde", "sonda"];
/// Temperatures that nobody measured, or not of pit, meat or air.
const NOT_MEASURED: &[&str] = &[
    "set", "setpoint", "target", "alarm", "goal", "dew", "limit", "max", "min", "high", "low",
    "board",
];
/// Numbers that are no temperatures.
const NOT_TEMPERATURE: &[&str] = &[
    "fan",
    "percent",
    "humidity",
    "rh",
    "battery",
    "batt",
    "volt",
    "volts",
    "voltage",
    "rpm",
    "blower",
    "damper",
    "signal",
    "rssi",
    "dbm",
    "db",
    "snr",
    "lqi",
    "wifi",
    "wlan",
    "bluetooth",
    "ppm",
    "psi",
    "mbar",
    "kpa",
    "lux",
    "watts",
    "index",
    "row",
    "no",
    "nr",
    "number",
    "id",
    "sample",
    "record",
    "count",
    "duty",
    "output",
    "pressure",
    "hpa",
    "speed",
    "wind",
    "lid",
    "seq",
    "weight",
    "note",
    "notes",
    "comment",
    "remark",
    "status",
    "event",
    "state",
    "mode",
    "unit",
    "units",
    "gebläse",
    "batterie",
    "bemerkung",
    "ventilateur",
    "remarque",
    "ventilador",
    "batería",
    "nota",
    "ventola",
    "batteria",
    "ventilator",
    "batterij",
    "opmerking",
    "einheit",
    "unité",
    "unidad",
    "unità",
    "eenheid",
];
const TIME: &[&str] = &[
    "time",
    "date",
    "datetime",
    "timestamp",
    "clock",
    "elapsed",
    "duration",
    "runtime",
    "when",
    "ts",
    "at",
    "unix",
    "epoch",
    "uptime",
    "zeit",
    "uhrzeit",
    "datum",
    "zeitpunkt",
    "heure",
    "fecha",
    "tijd",
];
/// Words that are a time only where they are the whole name: English has them, too.
const WHOLE_TIME: &[&str] = &["data", "hora", "ora"];
const DURATION: &[&str] = &[
    "elapsed",
    "duration",
    "runtime",
    "since",
    "uptime",
    "dauer",
    "durée",
    "duración",
    "durata",
    "duur",
];
/// What begins a line of the preamble that says when a log began.
const START: &[&str] =
    &["start", "started", "begin", "began", "begun", "beginn", "début", "inicio", "inizio"];
const DATE: &[&str] = &["date", "datum", "fecha", "data"];
/// Names of a long log's columns.
const VALUE: &[&str] = &[
    "value",
    "temp",
    "temperature",
    "reading",
    "measurement",
    "temperatur",
    "température",
    "temperatura",
    "temperatuur",
    "wert",
];
const CHANNEL: &[&str] = &[
    "channel", "probe", "sensor", "series", "name", "location", "input", "position", "kanal",
    "voie", "canal", "canale", "kanaal",
];
const UNIT: &[&str] = &["unit", "units", "scale", "einheit", "unité", "unidad", "unità", "eenheid"];
/// What lines of totals begin with.
const FOOTER: &[&str] = &[
    "average",
    "avg",
    "mean",
    "max",
    "maximum",
    "min",
    "minimum",
    "total",
    "totals",
    "sum",
    "end",
    "median",
    "count",
    "summary",
    "mittelwert",
    "summe",
    "ende",
    "moyenne",
    "promedio",
    "máximo",
    "mínimo",
    "media",
    "massimo",
    "minimo",
    "gemiddelde",
];

/// Lower-case words of a name: runs of letters, split also where case or kind changes
/// (`pitTemp1` is `pit`, `temp`, `1`).
pub(crate) fn words(name: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut previous = ' ';
    for c in name.chars() {
        if c.is_alphanumeric() || c == '%' || c == '#' {
            let starts = !previous.is_alphanumeric()
                || (previous.is_lowercase() && c.is_uppercase())
                || (previous.is_numeric() != c.is_numeric());
            match out.last_mut() {
                Some(word) if !starts => word.extend(c.to_lowercase()),
                _ => out.push(c.to_lowercase().collect()),
            }
        }
        previous = c;
    }
    out
}

fn any_of(name: &str, list: &[&str]) -> bool {
    words(name).iter().any(|word| list.contains(&word.as_str()))
}

/// Whether a name is that of a long log's values.
pub(crate) fn is_value(name: &str) -> bool {
    any_of(name, VALUE)
}

/// Whether a name is that of a long log's channels.
pub(crate) fn is_channel(name: &str) -> bool {
    // `CH1` is a channel of its own.
    any_of(name, CHANNEL) || matches!(&words(name)[..], [whole] if whole == "ch")
}

/// Whether a name is that of a column of units, or of a preamble's line about them.
pub(crate) fn is_unit(name: &str) -> bool {
    any_of(name, UNIT)
}

/// Whether a name says when something began.
pub(crate) fn is_start(name: &str) -> bool {
    any_of(name, START)
}

/// Whether a name is that of a date.
pub(crate) fn is_date(name: &str) -> bool {
    any_of(name, DATE)
}

/// Whether a line that begins so is one of totals.
pub(crate) fn is_footer(first: &str) -> bool {
    words(first).first().is_some_and(|word| FOOTER.contains(&word.as_str()))
}

/// The role that a name's words say, with the word.
pub(crate) fn role(name: &str) -> Option<(Role, String)> {
    let words = words(name);
    let find = |list: &[&str]| words.iter().find(|w| list.contains(&w.as_str())).cloned();
    if let Some(word) = find(NOT_MEASURED) {
        return Some((Role::Other, word));
    }
    find(PIT)
        .map(|word| (Role::Pit, word))
        .or_else(|| find(AMBIENT).map(|word| (Role::Ambient, word)))
        .or_else(|| find(MEAT).map(|word| (Role::Meat, word)))
}

/// Whether a word says a role so weakly that the readings may say another.
pub(crate) fn is_weak(word: &str) -> bool {
    WEAK.contains(&word)
}

/// The word that says that a numeric column is no temperature.
pub(crate) fn not_temperature(name: &str) -> Option<String> {
    // `dBm` is one word, though its case changes within.
    let whole = name.to_lowercase();
    let whole = whole.split(|c: char| !c.is_alphanumeric()).map(str::to_owned);
    words(name)
        .into_iter()
        .chain(whole)
        .find(|word| NOT_TEMPERATURE.contains(&word.as_str()) || word == "%" || word == "#")
}

/// Whether a name is that of a time column.
pub(crate) fn is_time(name: &str) -> bool {
    let words = words(name);
    words.iter().any(|word| TIME.contains(&word.as_str()) || DURATION.contains(&word.as_str()))
        || matches!(&words[..], [whole] if WHOLE_TIME.contains(&whole.as_str()))
        || matches!(&words[..], [unit] if unit.len() > 2 && time_unit(unit).is_some())
        || matches!(&words[..], [t, unit] if t == "t" && time_unit(unit).is_some())
}

/// Whether a name says that its times are of Greenwich.
pub(crate) fn is_utc(name: &str) -> bool {
    any_of(name, &["utc", "gmt", "zulu"])
}

/// Whether a line of the preamble is about the zone of the log's times.
pub(crate) fn is_zone(name: &str) -> bool {
    any_of(name, &["timezone", "zone", "tz", "zeitzone"])
        || (any_of(name, &["offset"]) && any_of(name, &["utc", "gmt", "time"]))
}

/// Whether a name says that its times count from the log's zero.
pub(crate) fn is_duration(name: &str) -> bool {
    any_of(name, DURATION)
}

fn time_unit(word: &str) -> Option<TimeFormat> {
    Some(match word {
        "d" | "day" | "days" => TimeFormat::ElapsedDays,
        "s" | "sec" | "secs" | "second" | "seconds" => TimeFormat::ElapsedSeconds,
        "min" | "mins" | "minute" | "minutes" => TimeFormat::ElapsedMinutes,
        "h" | "hr" | "hrs" | "hour" | "hours" => TimeFormat::ElapsedHours,
        "ms" | "msec" | "millis" | "milliseconds" => TimeFormat::ElapsedMilliseconds,
        _ => return None,
    })
}

/// The unit of a column of numbers that are times.
pub(crate) fn numeric_time(name: &str) -> Option<TimeFormat> {
    let words = words(name);
    let unit = words.iter().rev().find_map(|word| time_unit(word));
    if words.iter().any(|word| word == "unix" || word == "epoch") {
        return Some(match unit {
            Some(TimeFormat::ElapsedMilliseconds) => TimeFormat::UnixMilliseconds,
            None if words
                .iter()
                .any(|w| matches!(w.as_str(), "us" | "µs" | "micros" | "microseconds")) =>
            {
                TimeFormat::UnixMicroseconds
            }
            _ => TimeFormat::UnixSeconds,
        });
    }
    unit
}

/// The format that a header spells out (`h:mm:ss`, `mm:ss`), for elapsed times.
pub(crate) fn spelt_elapsed(name: &str) -> Option<TimeFormat> {
    let name = name.to_lowercase();
    if name.contains("h:mm:ss") || name.contains("h:m:s") {
        Some(TimeFormat::ElapsedHms)
    } else if name.contains("h:mm") {
        Some(TimeFormat::ElapsedHm)
    } else if name.contains("m:ss") {
        Some(TimeFormat::ElapsedMs)
    } else {
        None
    }
}

/// A header name parted into the channel's name and the unit that it says.
///
/// A unit stands in brackets (`Pit (°F)`, `Pit [C]`), after a degree sign (`Pit °F`), as a
/// word (`Pit Fahrenheit`), or as a last letter after `_`, `,` or `/` (`pit_f`). A last
/// letter after `_` is a label and no unit where a sister column ends in another letter
/// (`probe_a`, `probe_b`, `probe_c`); after a space it is never one.
pub(crate) fn name_and_unit(header: &str, sisters: &[String]) -> (String, Option<TemperatureUnit>) {
    let header = header.trim();
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        if let (Some(from), Some(to)) = (header.rfind(open), header.rfind(close))
            && from < to
            && let Some(unit) = unit_word(&header.as_bytes()[from + 1..to])
        {
            let name = format!("{} {}", header[..from].trim(), header[to + 1..].trim());
            return (named(&name, header), Some(unit));
        }
    }
    for sign in ['°', 'º', '˚', '℉', '℃'] {
        if let Some(at) = header.rfind(sign)
            && let Some(unit) = unit_word(&header.as_bytes()[at..])
        {
            return (named(&header[..at], header), Some(unit));
        }
    }
    if let Some(at) = header.rfind([' ', '_', ',', '/', '-']) {
        let last = &header[at + 1..];
        if last.len() > 1
            && let Some(unit) = unit_word(last.as_bytes())
        {
            let name = header[..at].trim_end_matches([' ', '_']);
            return (named(without_degrees(name), header), Some(unit));
        }
        // `Pit F`: behind a space a letter is a unit where what stands before is a channel whole.
        let behind_space = header.as_bytes()[at] == b' ';
        let is_channel = |name: &str| {
            let name = name.trim();
            name.ends_with(|c: char| c.is_ascii_digit())
                || role(name).is_some_and(|(_, word)| !is_weak(&word))
        };
        // `Pit C` beside `IT C`: the letter is the unit of both.
        let is_others_unit = |sister: &String| {
            sister
                .strip_suffix(&header[at..])
                .is_some_and(|name| name != &header[..at] && is_channel(name))
        };
        let stands_whole = || is_channel(&header[..at]) || sisters.iter().any(is_others_unit);
        if last.len() == 1
            && header.as_bytes()[at] != b'-'
            && (!behind_space || stands_whole())
            && let Some(unit) = unit_word(last.as_bytes())
        {
            let stem = &header[..=at];
            let label = sisters.iter().any(|sister| {
                sister.strip_prefix(stem).is_some_and(|end| {
                    end.len() == 1
                        && end.chars().all(char::is_alphabetic)
                        && !end.eq_ignore_ascii_case("c")
                        && !end.eq_ignore_ascii_case("f")
                })
            });
            if !label {
                return (named(without_degrees(&header[..at]), header), Some(unit));
            }
        }
    }
    (header.to_owned(), None)
}

/// A name without the word for degrees at its end.
fn without_degrees(name: &str) -> &str {
    let name = name.trim_end_matches([' ', '_']);
    ["degrees", "deg"]
        .iter()
        .find_map(|word| {
            let cut = name.len().checked_sub(word.len())?;
            let tail = name.get(cut..)?;
            tail.eq_ignore_ascii_case(word).then(|| &name[..cut])
        })
        .unwrap_or(name)
}

fn named(name: &str, header: &str) -> String {
    let name = name.trim().trim_end_matches(['_', ',', '/', '-', ' ']);
    if name.is_empty() { header.to_owned() } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_headers() {
        let fahrenheit = Some(TemperatureUnit::Fahrenheit);
        let celsius = Some(TemperatureUnit::Celsius);
        for (header, name, unit) in [
            ("Pit (°F)", "Pit", fahrenheit),
            ("Brisket [C]", "Brisket", celsius),
            ("temp_f", "temp", fahrenheit),
            ("Pit °C", "Pit", celsius),
            ("Pit Fahrenheit", "Pit", fahrenheit),
            ("Pit deg F", "Pit", fahrenheit),
            ("Pit (deg F)", "Pit", fahrenheit),
            ("Probe C", "Probe C", None),
            ("Pit F", "Pit", fahrenheit),
            ("Meat C", "Meat", celsius),
            ("Probe 1 F", "Probe 1", fahrenheit),
            ("pit(F)", "pit", fahrenheit),
            ("Pit", "Pit", None),
            ("Point (probe 2)", "Point (probe 2)", None),
        ] {
            assert_eq!(name_and_unit(header, &[]), (name.to_owned(), unit), "{header}");
        }
    }

    #[test]
    fn a_label_is_no_unit() {
        let sisters = ["probe_a".to_owned(), "probe_b".to_owned(), "probe_c".to_owned()];
        assert_eq!(name_and_unit("probe_c", &sisters), ("probe_c".to_owned(), None));
        let sisters = ["Pit A".to_owned(), "Pit B".to_owned(), "Pit C".to_owned()];
        assert_eq!(name_and_unit("Pit C", &sisters), ("Pit C".to_owned(), None));
        let sisters =
            ["Pit C", "IT C", "Probe A", "Probe B", "Probe C"].map(str::to_owned).to_vec();
        let celsius = Some(TemperatureUnit::Celsius);
        assert_eq!(name_and_unit("IT C", &sisters), ("IT".to_owned(), celsius));
        assert_eq!(name_and_unit("Probe C", &sisters), ("Probe C".to_owned(), None));
        assert_eq!(name_and_unit("IT C", &sisters[1..]), ("IT C".to_owned(), None));
    }

    #[test]
    fn roles_of_headers() {
        let role = |name: &str| role(name).map(|(role, _)| role);
        assert_eq!(role("Grate probe"), Some(Role::Pit));
        assert_eq!(role("pitTemp1"), Some(Role::Pit));
        assert_eq!(role("Flat"), Some(Role::Meat));
        assert_eq!(role("Probe 2 ambient"), Some(Role::Ambient));
        assert_eq!(role("Pit set point"), Some(Role::Other));
        assert_eq!(role("Dew point"), Some(Role::Other));
        assert_eq!(role("Channel 1"), None);
        assert_eq!(role("Spit"), None);
    }

    #[test]
    fn times_of_headers() {
        assert!(is_time("Elapsed (min)") && is_time("Local time") && is_time("Minutes"));
        assert!(is_time("Datum") && is_time("Ora") && is_duration("Dauer (min)"));
        assert!(is_time("ts") && is_channel("ch") && !is_channel("CH1"));
        assert!(!is_time("Pit") && !is_time("Pit min") && !is_time("Data 1"));
        assert_eq!(numeric_time("elapsed_s"), Some(TimeFormat::ElapsedSeconds));
        assert_eq!(numeric_time("Elapsed (min)"), Some(TimeFormat::ElapsedMinutes));
        assert_eq!(numeric_time("unix_ms"), Some(TimeFormat::UnixMilliseconds));
        assert_eq!(spelt_elapsed("Elapsed [mm:ss]"), Some(TimeFormat::ElapsedMs));
    }
}
