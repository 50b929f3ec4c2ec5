//! Loggers' habits, and the files that they export.

use super::fires::Fire;
use super::words::pick;
use super::{Slip, UntidyCook, UntidySeason};
use cook::season::TemperatureUnit;
use cook::{Card, PhaseKind};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use simulate::measured::{Logger, Probe, ReadingSet, Stretch, record};

/// How instants are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Times {
    /// `2026-05-02 18:04:10`
    IsoLocal,
    /// `2026-05-02T23:04:10Z`
    IsoZulu,
    /// `2026-05-02 23:04:10` under a heading that says UTC.
    UtcHeading,
    /// `2026-05-02T18:04:10-05:00`
    Offset,
    /// `5/2/2026 6:04 PM`
    UsTwelve,
    /// `05/02/2026 18:04:10`
    UsSlashes,
    /// `02/05/2026 18:04`
    EuSlashes,
    /// `02.05.2026 18:04:10`
    EuDots,
    /// Seconds since 1970.
    Epoch,
    /// Minutes since a start that a line above tells.
    MinutesStarted,
    /// Seconds since the logger's own zero.
    SecondsBare,
    /// `18:04:10`
    ClockOnly,
    /// Days since 1899-12-30, local.
    Serial,
}

/// Where the unit stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Units {
    /// Behind the names, in this form; `F` stands for the letter.
    Heading(&'static str),
    /// In a column of its own.
    Column,
    /// Behind each number.
    Cells,
    /// In a line above.
    Above,
    /// Nowhere.
    Nowhere,
}

/// A logger's habits.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LogStyle {
    pub(crate) times: Times,
    pub(crate) units: Units,
    pub(crate) unit: TemperatureUnit,
    /// The log's first instant, ms UTC.
    pub(crate) first_ms: i64,
    pit: &'static str,
    meat: &'static str,
    delimiter: char,
    time_name: &'static str,
    interval_s: f64,
    quantum: f64,
    absent: &'static str,
    extras: Vec<&'static str>,
    is_tenths: bool,
}

impl LogStyle {
    fn draw(random: &mut ChaCha8Rng) -> Self {
        use Times::{
            ClockOnly, Epoch, EuDots, EuSlashes, IsoLocal, IsoZulu, MinutesStarted, Offset,
            SecondsBare, Serial, UsSlashes, UsTwelve, UtcHeading,
        };
        let times = pick(
            random,
            &[
                IsoLocal,
                IsoLocal,
                IsoLocal,
                IsoZulu,
                UtcHeading,
                Offset,
                UsTwelve,
                UsTwelve,
                UsSlashes,
                EuSlashes,
                EuDots,
                Epoch,
                MinutesStarted,
                SecondsBare,
                ClockOnly,
                Serial,
            ],
        );
        let units = pick(
            random,
            &[
                Units::Heading(" (°F)"),
                Units::Heading(" F"),
                Units::Heading("(F)"),
                Units::Heading("_f"),
                Units::Heading(" [F]"),
                Units::Heading(" deg F"),
                Units::Column,
                Units::Cells,
                Units::Above,
                Units::Nowhere,
            ],
        );
        let unit = match times {
            EuDots | EuSlashes => TemperatureUnit::Celsius,
            UsTwelve | UsSlashes => TemperatureUnit::Fahrenheit,
            _ => pick(random, &[TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit]),
        };
        let mut extras = Vec::new();
        for extra in ["Battery (%)", "RSSI (dBm)", "Fan (%)", "Target"] {
            if random.random_bool(0.18) {
                extras.push(extra);
            }
        }
        Self {
            times,
            units,
            unit,
            first_ms: 0,
            pit: pick(random, &["Pit", "PIT", "pit", "Grate", "Chamber", "Smoker", "Pit temp"]),
            meat: pick(random, &["Meat", "meat", "Probe 1", "Food", "Brisket", "Meat 1", "IT"]),
            delimiter: pick(random, &[',', ',', ',', ';', '\t']),
            time_name: match times {
                UtcHeading => {
                    pick(random, &["Time (UTC)", "utc_time", "Timestamp UTC", "Time GMT"])
                }
                MinutesStarted => pick(random, &["Minutes", "Elapsed (min)", "Time (min)"]),
                SecondsBare => pick(random, &["Seconds", "Elapsed (s)", "time_s"]),
                _ => pick(random, &["time", "Time", "Timestamp", "Date/Time", "datetime"]),
            },
            interval_s: pick(random, &[30.0, 60.0, 60.0, 120.0]),
            quantum: pick(random, &[0.1, 0.5, 1.0]),
            absent: pick(random, &["", "---", "N/A", "ERR"]),
            extras,
            is_tenths: random.random_bool(0.06),
        }
    }

    fn letter(unit: TemperatureUnit) -> &'static str {
        match unit {
            TemperatureUnit::Celsius => "C",
            TemperatureUnit::Fahrenheit => "F",
        }
    }

    fn heading(&self, name: &str) -> String {
        match self.units {
            Units::Heading(form) => {
                let letter = Self::letter(self.unit);
                let letter = if form == "_f" { letter.to_lowercase() } else { letter.to_owned() };
                format!("{name}{}", form.replace(['F', 'f'], &letter))
            }
            _ => name.to_owned(),
        }
    }

    /// An instant as this logger writes it.
    fn instant(&self, at_ms: i64, first_ms: i64, zone: &TimeZone) -> String {
        let shown = |zone: &TimeZone, form: &str| {
            Timestamp::from_millisecond(at_ms).map_or_else(
                |_| String::new(),
                |at| at.to_zoned_datetime(zone.clone()).strftime(form).to_string(),
            )
        };
        let utc = &TimeZone::UTC;
        match self.times {
            Times::IsoLocal => shown(zone, "%Y-%m-%d %H:%M:%S"),
            Times::IsoZulu => shown(utc, "%Y-%m-%dT%H:%M:%SZ"),
            Times::UtcHeading => shown(utc, "%Y-%m-%d %H:%M:%S"),
            Times::Offset => shown(zone, "%Y-%m-%dT%H:%M:%S%:z"),
            Times::UsTwelve => shown(zone, "%-m/%-d/%Y %-I:%M:%S %p"),
            Times::UsSlashes => shown(zone, "%m/%d/%Y %H:%M:%S"),
            Times::EuSlashes => shown(zone, "%d/%m/%Y %H:%M:%S"),
            Times::EuDots => shown(zone, "%d.%m.%Y %H:%M:%S"),
            Times::ClockOnly => shown(zone, "%H:%M:%S"),
            Times::Epoch => (at_ms / 1_000).to_string(),
            Times::MinutesStarted => format!("{:.2}", (at_ms - first_ms) as f64 / 60_000.0),
            Times::SecondsBare => ((at_ms - first_ms) / 1_000).to_string(),
            Times::Serial => {
                let offset = Timestamp::from_millisecond(at_ms)
                    .map_or(0, |at| i64::from(zone.to_offset(at).seconds()) * 1_000);
                format!("{:.6}", (at_ms + offset) as f64 / 86_400_000.0 + 25_569.0)
            }
        }
    }
}

/// Writes the logs of all fires, and begins each cook with what they hold of it.
pub(super) fn write(fires: &[Fire], season: &mut UntidySeason, random: &mut ChaCha8Rng) {
    let zone = TimeZone::get(season.zone).expect("the zone is in the bundled database");
    let mut styles: Vec<(String, LogStyle)> = Vec::new();
    let (two_devices, switched) = (random.random_bool(0.3), random.random_bool(0.12));
    let (twice, in_parts) = (random.random_bool(0.4), random.random_bool(0.3));
    let slipped: Vec<usize> = (0..4).map(|_| random.random_range(0..fires.len())).collect();
    for (number, fire) in fires.iter().enumerate() {
        let pit = &fire.plan.pit_name;
        if !styles.iter().any(|(name, _)| name == pit) {
            let style = LogStyle::draw(random);
            season.habits.push(format!("logs of {pit}: {:?}, {:?}", style.times, style.units));
            styles.push((pit.clone(), style));
        }
        let mut style = styles
            .iter()
            .find(|(name, _)| name == pit)
            .map(|(_, style)| style.clone())
            .expect("drawn");
        let only = fire.cooks == 1;
        let mut slips = Vec::new();
        let is = |wanted: bool, place: usize| wanted && slipped[place] == number;
        if is(in_parts, 0) && !matches!(style.times, Times::ClockOnly | Times::SecondsBare) {
            slips.push(Slip::TwoNamesOfAProbe);
        } else if is(two_devices, 1) && only {
            slips.push(Slip::TwoDevices);
        } else if is(switched, 2) && style.units == Units::Nowhere && style.quantum > 0.1 {
            slips.push(Slip::UnitSwitched);
        }
        if style.is_tenths {
            slips.push(Slip::TenthsOfADegree);
            style.quantum = 0.1;
        }
        if is(twice, 3) {
            slips.push(Slip::LogTwice);
        }
        one(fire, number, &style, &slips, &zone, season, random);
    }
}

/// The log or logs of one fire.
fn one(
    fire: &Fire,
    number: usize,
    style: &LogStyle,
    slips: &[Slip],
    zone: &TimeZone,
    season: &mut UntidySeason,
    random: &mut ChaCha8Rng,
) {
    let end_s = fire.end_s();
    let mut logger = Logger::sound(style.interval_s, style.unit, style.quantum, end_s);
    logger.noise_c = 0.15;
    logger.from_s = (fire.truth.cooks[0].meat_on_s - random.random_range(300..2_400)).max(0);
    let mut probes = vec![Probe::sound(style.pit, &fire.truth.pit_c)];
    let names: Vec<String> = (0..fire.cooks)
        .map(|at| match at {
            0 => style.meat.to_owned(),
            _ => format!("{} {}", style.meat.trim_end_matches(" 1"), at + 1),
        })
        .collect();
    for (cook, name) in fire.truth.cooks.iter().take(fire.cooks).zip(&names) {
        probes.push(Probe {
            unplugged: vec![Stretch::since(cook.slice_s)],
            ..Probe::sound(name.as_str(), &cook.core_c)
        });
    }
    let set = record(&probes, &logger, fire.lit_ms, random).expect("the logger is in range");
    let day = Timestamp::from_millisecond(fire.at_ms(fire.truth.cooks[0].meat_on_s))
        .map_or_else(|_| String::new(), |at| at.to_zoned_datetime(zone.clone()).date().to_string());
    let ending = if style.delimiter == '\t' { "tsv" } else { "csv" };
    let stem = match number % 3 {
        0 => format!("{day}-{}", fire.plan.pit_name),
        1 => format!("{}_{}", fire.plan.pit_name, day.replace('-', "")),
        _ => format!("LOG{:04}", 40 + number),
    };
    let path = |suffix: &str| format!("logs/{stem}{suffix}.{ending}");
    let mut logs = Vec::new();
    let mut add = |path: String, text: String, first_ms: i64, season: &mut UntidySeason| {
        season.log_styles.insert(path.clone(), LogStyle { first_ms, ..style.clone() });
        season.files.push((path.clone(), text.into_bytes()));
        logs.push(path);
    };
    let first_ms = set.rows[0].at_ms;
    if slips.contains(&Slip::TwoNamesOfAProbe) {
        let (mut before, mut after) = (set.clone(), set.clone());
        let half = set.rows.len() / 2;
        before.rows.truncate(half);
        after.rows.drain(..half + 2);
        after.channels[1] = format!("{} probe", style.meat);
        let from_ms = after.rows[0].at_ms;
        add(path("-1"), text(&before, style, slips, fire, zone), first_ms, season);
        add(path("-2"), text(&after, style, slips, fire, zone), from_ms, season);
    } else {
        let written = text(&set, style, slips, fire, zone);
        if slips.contains(&Slip::LogTwice) {
            let copy = format!("logs/{stem} (1).{ending}");
            season.files.push((copy, written.clone().into_bytes()));
        }
        add(path(""), written, first_ms, season);
    }
    let last_ms = set.rows[set.rows.len() - 1].at_ms;
    let is_alone = fire.cooks == 1;
    for (at, truth) in fire.truth.cooks.iter().take(fire.cooks).enumerate() {
        let values = |channel: usize| {
            let of_row = move |row: &simulate::measured::ReadingRow| row.values[channel].value();
            set.rows.iter().filter_map(of_row).map(|value| set.celsius(value))
        };
        let mut pit: Vec<f64> = values(0).collect();
        pit.sort_by(f64::total_cmp);
        let stalls = truth.judgement.phases_of(PhaseKind::Stall);
        season.cooks.push(UntidyCook {
            card: Card { cook: String::new(), fire: number.to_string(), ..Card::default() },
            line: 0,
            logs: logs.clone(),
            logged_ms: (first_ms, last_ms),
            core_max_c: values(at + 1).fold(f64::MIN, f64::max),
            pit_median_c: pit[pit.len() / 2],
            stall_min: stalls.map(|span| (span.end_ms - span.start_ms) as f64 / 60_000.0).sum(),
            slips: slips.to_vec(),
        });
        if !is_alone {
            // Which channel is this cook's; the sheet names it.
            let own = season.cooks.last_mut().expect("just added");
            own.card.lead_channel = Some(names[at].clone());
        }
    }
}

/// A log as text.
fn text(
    set: &ReadingSet,
    style: &LogStyle,
    slips: &[Slip],
    fire: &Fire,
    zone: &TimeZone,
) -> String {
    let has = |slip: Slip| slips.contains(&slip);
    let first_ms = set.rows[0].at_ms;
    let mut text = String::new();
    if style.times == Times::MinutesStarted {
        let started = Timestamp::from_millisecond(first_ms).map_or_else(
            |_| String::new(),
            |at| at.to_zoned_datetime(zone.clone()).strftime("%m/%d/%Y %I:%M:%S %p").to_string(),
        );
        text += &format!("Started: {started}\n");
    }
    if style.units == Units::Above {
        let word = match style.unit {
            TemperatureUnit::Celsius => "Celsius",
            TemperatureUnit::Fahrenheit => "Fahrenheit",
        };
        text += &format!("Units: {word}\n");
    }
    let mut names: Vec<String> = Vec::new();
    names.extend(has(Slip::TwoDevices).then(|| "device".to_owned()));
    names.push(style.time_name.to_owned());
    names.extend(set.channels.iter().map(|name| style.heading(name)));
    names.extend((style.units == Units::Column).then(|| "Unit".to_owned()));
    names.extend(style.extras.iter().map(|name| (*name).to_owned()));
    let delimiter = style.delimiter.to_string();
    text += &(names.join(&delimiter) + "\n");
    let switch_at = set.rows.len() / 2;
    for (at, row) in set.rows.iter().enumerate() {
        let is_other = has(Slip::UnitSwitched) && at >= switch_at;
        let other = match style.unit {
            TemperatureUnit::Celsius => TemperatureUnit::Fahrenheit,
            TemperatureUnit::Fahrenheit => TemperatureUnit::Celsius,
        };
        let unit = if is_other { other } else { style.unit };
        let number = |value: f64| {
            let value = match (is_other, unit) {
                (false, _) => value,
                (true, TemperatureUnit::Fahrenheit) => value * 1.8 + 32.0,
                (true, TemperatureUnit::Celsius) => (value - 32.0) / 1.8,
            };
            let decimals = usize::from(style.quantum < 1.0);
            let shown = if has(Slip::TenthsOfADegree) {
                format!("{:.0}", value * 10.0)
            } else {
                format!("{value:.decimals$}")
            };
            if style.units == Units::Cells { shown + LogStyle::letter(unit) } else { shown }
        };
        let mut cells: Vec<String> = Vec::new();
        cells.extend(has(Slip::TwoDevices).then(|| "A".to_owned()));
        cells.push(style.instant(row.at_ms, first_ms, zone));
        for value in &row.values {
            cells.push(value.value().map_or_else(|| style.absent.to_owned(), &number));
        }
        cells.extend((style.units == Units::Column).then(|| LogStyle::letter(unit).to_owned()));
        for extra in &style.extras {
            cells.push(match *extra {
                "Battery (%)" => (100 - at * 40 / set.rows.len()).to_string(),
                "RSSI (dBm)" => (-(50 + (at * 7 % 23) as i64)).to_string(),
                "Fan (%)" => (at * 13 % 100).to_string(),
                _ => number(match style.unit {
                    TemperatureUnit::Celsius => fire.plan.pit.setpoint.value(),
                    TemperatureUnit::Fahrenheit => fire.plan.pit.setpoint.fahrenheit(),
                }),
            });
        }
        text += &(cells.join(&delimiter) + "\n");
        if has(Slip::TwoDevices) {
            // A thermometer in the cold room and one at the firebox, on the same gateway.
            let far = |celsius: f64| {
                number(match style.unit {
                    TemperatureUnit::Celsius => celsius,
                    TemperatureUnit::Fahrenheit => celsius * 1.8 + 32.0,
                })
            };
            let mut cells = vec!["B".to_owned(), style.instant(row.at_ms, first_ms, zone)];
            cells.extend((0..row.values.len()).map(|channel| match channel {
                0 => far(62.0 + (at % 5) as f64 * 0.2),
                _ => far(3.0 + (at % 7) as f64 * 0.1),
            }));
            cells.extend((style.units == Units::Column).then(|| LogStyle::letter(unit).to_owned()));
            cells.extend(style.extras.iter().map(|_| String::new()));
            text += &(cells.join(&delimiter) + "\n");
        }
    }
    text
}
