//! What is typed on the command line, and how instants and spans are said.

use crate::error::StageError;
use columns::Quantity;
use cook::{Answers, Celsius, EventKind, Kilograms, Season, Units, WrapMethod};
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{Timestamp, ToSpan, civil};
use outlook::{PlannedWrap, WrapClass};

pub(super) fn usage(message: String) -> StageError {
    StageError::Usage { message }
}

/// A temperature with its unit: `250F`, `121 °C`.
pub(super) fn temperature(text: &str) -> Result<f64, StageError> {
    let bare = text.trim().replace('°', "");
    let upper = bare.to_uppercase();
    let number = |rest: &str| rest.trim().parse::<f64>().ok().filter(|x| x.is_finite());
    let celsius = match (upper.strip_suffix('F'), upper.strip_suffix('C')) {
        (Some(rest), _) => number(rest).map(|f| Celsius::from_fahrenheit(f).value()),
        (_, Some(rest)) => number(rest),
        _ => None,
    };
    celsius.filter(|c| (-40.0..400.0).contains(c)).ok_or_else(|| {
        usage(format!("`{text}` is no temperature; write one with its unit, such as 250F or 121C"))
    })
}

/// A difference of temperatures with its unit: `+25F`.
pub(super) fn difference(text: &str) -> Result<f64, StageError> {
    let upper = text.trim().trim_start_matches('+').replace('°', "").to_uppercase();
    let number = |rest: &str| rest.trim().parse::<f64>().ok().filter(|x| x.abs() <= 100.0);
    let kelvin = match (upper.strip_suffix('F'), upper.strip_suffix('C')) {
        (Some(rest), _) => number(rest).map(|f| f / 1.8),
        (_, Some(rest)) => number(rest),
        _ => None,
    };
    kelvin
        .ok_or_else(|| usage(format!("`{text}` is no difference; write one such as +25F or +14C")))
}

/// Hours and minutes since meat-on: `3:10`, `+3:10`; min.
pub(super) fn elapsed(text: &str) -> Option<f64> {
    let (hours, minutes) = text.trim().trim_start_matches('+').split_once(':')?;
    let (hours, minutes) = (hours.parse::<u32>().ok()?, minutes.parse::<u32>().ok()?);
    (hours < 72 && minutes < 60).then(|| f64::from(60 * hours + minutes))
}

/// `165F@3:10`: a core and when it was read.
pub(super) fn core_reading(text: &str) -> Result<(f64, f64), StageError> {
    let wrong = || {
        usage(format!(
            "`{text}` is no core reading; write the core and the time since meat-on, such as 165F@3:10"
        ))
    };
    let (core, at) = text.split_once('@').ok_or_else(wrong)?;
    let read = (elapsed(at).ok_or_else(wrong)?, temperature(core)?);
    if ingest::event_value(EventKind::Core, core).is_none() {
        return Err(usage(format!(
            "`{text}`: no meat is at {}; look at the thermometer again, or at what was typed",
            core.trim()
        )));
    }
    Ok(read)
}

/// A wrap's method, by its word.
pub(super) fn method(word: &str) -> Result<WrapMethod, StageError> {
    match WrapMethod::parse(word) {
        Some(WrapMethod::None) | None => {
            Err(usage(format!("`{word}` is no wrap; write its method, such as foil or paper")))
        }
        Some(method) => match method.meant() {
            Some(meant) => Err(usage(format!("`{word}` is no wrap; did you mean `{meant}`?"))),
            None => Ok(method),
        },
    }
}

/// A cut by its word; what may be a misspelling of one of the trade's is asked.
pub(super) fn cut(word: &str) -> Result<String, StageError> {
    match cook::trade::meant(word) {
        Some(meant) => Err(usage(format!("`{word}` is no cut; did you mean `{meant}`?"))),
        None => Ok(cook::trade::meaning(word)),
    }
}

/// Why a weight cannot be one of its cut.
pub(super) fn unlikely_weight(kilograms: f64, cut: Option<&str>, units: Units) -> Option<String> {
    let (least, most) = crosscheck::cut_weighs_kg(cut);
    let shown = |kg: f64| Quantity::Mass.show(kg, units);
    (!(least..=most).contains(&kilograms)).then(|| {
        format!(
            "{}: a {} weighs between {} and {} before it is cooked; mend the weight",
            shown(kilograms),
            cut.unwrap_or("cut"),
            shown(least),
            shown(most)
        )
    })
}

/// `foil@1:40`: a wrap that was made, and when since meat-on.
pub(super) fn wrapped(text: &str) -> Result<(f64, WrapMethod), StageError> {
    let wrong = || {
        usage(format!(
            "`{text}` is no wrap with its time; write method and time since meat-on, such as foil@1:40"
        ))
    };
    let (word, at) = text.split_once('@').ok_or_else(wrong)?;
    Ok((elapsed(at).ok_or_else(wrong)?, method(word)?))
}

/// Cores at which meat is wrapped, °C (104 to 208 °F). Common practice, no source.
const WRAPPED_C: std::ops::RangeInclusive<f64> = 40.0..=98.0;

/// A wrap that is still to come, by core or by the time since meat-on.
#[derive(Debug, Clone, Copy)]
pub(super) enum ToCome {
    AtCore(WrapClass, f64),
    AtMinute(WrapClass, f64),
}

impl ToCome {
    /// `foil@165F` or `foil@6:30`.
    pub(super) fn parse(text: &str) -> Result<Self, StageError> {
        let wrong = || {
            usage(format!(
                "`{text}` is no wrap to come; write method and core, such as foil@165F, or method and time since meat-on, such as foil@6:30"
            ))
        };
        let (word, at) = text.split_once('@').ok_or_else(wrong)?;
        let class = WrapClass::of(&method(word)?);
        if let Some(minute) = elapsed(at) {
            return Ok(Self::AtMinute(class, minute));
        }
        let core_c = temperature(at).map_err(|_| wrong())?;
        if !WRAPPED_C.contains(&core_c) {
            return Err(usage(format!(
                "`{text}`: no meat is wrapped at {}; write the core with its unit, such as foil@165F",
                at.trim()
            )));
        }
        Ok(Self::AtCore(class, core_c))
    }

    /// As the outlook has it, for a cook that is so many minutes on.
    pub(super) fn planned(self, minute: f64) -> PlannedWrap {
        match self {
            Self::AtCore(class, core_c) => PlannedWrap::AtCore(class, core_c),
            Self::AtMinute(class, at) => PlannedWrap::In(class, ((at - minute) / 60.0).max(0.0)),
        }
    }
}

/// A weight with its unit: `12lb`, `5.4 kg`.
pub(super) fn weight(text: &str) -> Result<f64, StageError> {
    let lower = text.trim().to_lowercase();
    let number = |rest: &str| rest.trim().parse::<f64>().ok().filter(|x| *x > 0.0 && *x < 200.0);
    let kilograms = match (lower.strip_suffix("lb"), lower.strip_suffix("kg")) {
        (Some(rest), _) => number(rest).map(|lb| Kilograms::from_pounds(lb).value()),
        (_, Some(rest)) => number(rest),
        _ => None,
    };
    kilograms.ok_or_else(|| {
        usage(format!("`{text}` is no weight; write one with its unit, such as 12lb or 5.4kg"))
    })
}

/// The season with a zone: its own, the one answered, else this computer's. Who asks while the meat is on
/// stands beside the clock that is meant.
pub(super) fn zoned(season: &Season, answers: &Answers) -> (Season, TimeZone, Option<String>) {
    let mut season = season.clone();
    if let Some(zone) = season.zone(answers) {
        season.time_zone = zone.iana_name().map(str::to_owned);
        return (season, zone, None);
    }
    let here = TimeZone::system();
    let zone = if here.iana_name().is_some() { here } else { TimeZone::UTC };
    let name = zone.iana_name().unwrap_or("UTC").to_owned();
    let note = format!(
        "Nobody said the time zone: clock times are taken as this computer's, {name} (`time_zone` in season.toml says another)."
    );
    season.time_zone = Some(name);
    (season, zone, Some(note))
}

/// An instant (`2026-05-02T11:30-05:00`, `2026-05-02 11:30` in the season's zone), or a clock time: the
/// first such time after `after_ms`.
pub(super) fn instant(text: &str, zone: &TimeZone, after_ms: i64) -> Result<i64, StageError> {
    let text = text.trim();
    let wrong = || {
        usage(format!(
            "`{text}` is no time; write one such as 11:30, 2026-05-02 11:30 or 2026-05-02T16:30Z"
        ))
    };
    if let Ok(instant) = text.parse::<Timestamp>() {
        return Ok(instant.as_millisecond());
    }
    let local = |when: civil::DateTime| {
        let found = zone.to_ambiguous_timestamp(when);
        if matches!(found.offset(), AmbiguousOffset::Gap { .. }) {
            return Err(usage(format!(
                "`{text}` is no time of that day: clocks are put forward over it\n  try: the time an hour later, or with its offset from UTC"
            )));
        }
        found.compatible().map(Timestamp::as_millisecond).map_err(|_| wrong())
    };
    if let Ok(when) = text.replacen(' ', "T", 1).parse::<civil::DateTime>() {
        return local(when);
    }
    let clock = if text.len() == 4 { format!("0{text}") } else { text.to_owned() };
    let clock = clock.parse::<civil::Time>().map_err(|_| wrong())?;
    let after = Timestamp::from_millisecond(after_ms).map_err(|_| wrong())?;
    let day = after.to_zoned_datetime(zone.clone()).date();
    let first = local(day.to_datetime(clock))?;
    if first > after_ms { Ok(first) } else { local((day + 1.day()).to_datetime(clock)) }
}

/// An instant by the season's clock, with its day where it is not that of `beside_ms`.
pub(super) fn clock(at_ms: i64, beside_ms: i64, zone: &TimeZone) -> String {
    let zoned =
        |ms: i64| Timestamp::from_millisecond(ms).map(|at| at.to_zoned_datetime(zone.clone()));
    match (zoned(at_ms), zoned(beside_ms)) {
        (Ok(at), Ok(beside)) if at.date() == beside.date() => at.strftime("%H:%M").to_string(),
        (Ok(at), _) => at.strftime("%a %-d %b %H:%M").to_string(),
        _ => String::new(),
    }
}

/// Minutes as people say them: hours from 100 min on.
pub(super) fn minutes(minutes: f64) -> String {
    let whole = minutes.abs().round();
    if whole < 100.0 {
        return format!("{whole:.0} min");
    }
    let five = 5.0 * (whole / 5.0).round();
    format!("{} h {:02}", (five / 60.0).floor(), five % 60.0)
}

/// A temperature in the season's units.
pub(super) fn degrees(celsius: f64, units: Units) -> String {
    match units {
        Units::Us => format!("{:.0} °F", Celsius(celsius).fahrenheit()),
        Units::Metric => format!("{celsius:.0} °C"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_read_or_refused_in_words() {
        assert!((temperature("212F").unwrap() - 100.0).abs() < 1e-9);
        assert!((temperature(" 121 °C").unwrap() - 121.0).abs() < 1e-9);
        assert!(temperature("250").unwrap_err().to_string().contains("250F or 121C"));
        assert!((difference("+25F").unwrap() - 13.888_888).abs() < 1e-3);
        assert_eq!(core_reading("100C@3:10").unwrap(), (190.0, 100.0));
        assert!(core_reading("165F").is_err());
        for no_core in ["265F@3:10", "0F@3:10"] {
            assert!(core_reading(no_core).unwrap_err().to_string().contains("no meat is at"));
        }
        let misspelt = wrapped("foyl@1:40").unwrap_err().to_string();
        assert!(misspelt.contains("did you mean `foil`"), "{misspelt}");
        assert!(wrapped("cabbage@1:40").is_ok());
        let of = |lb: f64, cut| unlikely_weight(lb * 0.453_592, cut, Units::Us);
        assert!(of(120.0, None).is_some() && of(120.0, Some("brisket")).is_some());
        assert!(of(12.0, None).is_none() && of(120.0, Some("whole hog")).is_none());
        assert_eq!(wrapped("foil@1:40").unwrap(), (100.0, WrapMethod::Foil));
        assert!(wrapped("none@1:40").is_err());
        assert!((weight("10lb").unwrap() - 4.535_923_7).abs() < 1e-9);
        assert!(weight("10").is_err());
        assert!(
            matches!(ToCome::parse("paper@75C"), Ok(ToCome::AtCore(WrapClass::Paper, c)) if c == 75.0)
        );
        assert!(
            matches!(ToCome::parse("foil@6:30"), Ok(ToCome::AtMinute(WrapClass::Foil, m)) if m == 390.0)
        );
    }

    #[test]
    fn a_clock_time_is_the_first_such_time_after_now() {
        let zone = TimeZone::get("America/Chicago").unwrap();
        let now = instant("2026-05-02 10:00", &zone, 0).unwrap();
        let noon = instant("12:00", &zone, now).unwrap();
        assert_eq!(noon - now, 2 * 3_600_000);
        let next = instant("9:30", &zone, now).unwrap();
        assert_eq!(next - now, 23 * 3_600_000 + 1_800_000);
        assert_eq!(instant("2026-05-02T15:00Z", &zone, 0).unwrap(), now);
        assert_eq!(clock(noon, now, &zone), "12:00");
        assert_eq!(clock(next, now, &zone), "Sun 3 May 09:30");
        assert!(instant("soon", &zone, 0).is_err());
        // Clocks go from 2:00 to 3:00 there.
        let none = instant("2026-03-08 02:30", &zone, now).unwrap_err().to_string();
        assert!(none.contains("no time of that day"), "{none}");
        assert!(instant("2026-03-08 03:30", &zone, now).is_ok());
    }
}
