//! Habits of writing cards, and the sheet.

use super::fires::Fire;
use super::words::{self, MISSING, PITS, WOODS, pick, spelt};
use super::{Slip, UntidySeason};
use cook::{Celsius, Kilograms, Millimetres, WrapMethod};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// How dates are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Dates {
    Iso,
    Us,
    UsShort,
    Eu,
    Dots,
    Name,
}

/// How clock times are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Clocks {
    /// `22:05`
    TwentyFour,
    /// `10:05 PM`
    Twelve,
    /// `10:05pm`
    TwelveJoined,
    /// `10.05pm`
    Dotted,
    /// `10:05`, and nobody says which.
    TwelveBare,
    /// `2026-05-02 22:05`
    WithDate,
    /// Meat-on by the clock, the others `+6:30` after it.
    Since,
}

/// Where a quantity's unit stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum UnitAt {
    /// Behind the heading.
    Heading,
    /// Behind each number.
    Cell,
    /// Nowhere.
    Nowhere,
}

/// A team's habits of writing.
#[derive(Debug, Clone, PartialEq)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "each habit is there or not, whatever the others are"
)]
pub(crate) struct SheetStyle {
    pub(crate) dates: Dates,
    pub(crate) clocks: Clocks,
    pub(crate) metric: bool,
    weights: UnitAt,
    degrees: UnitAt,
    delimiter: char,
    /// Weights as pounds and ounces, as fractions, or as decimals.
    pounds: u8,
    /// How the log is named: whole, without its ending, in capitals, not at all.
    names: u8,
    has_trimmed: bool,
    has_water_pan: bool,
    has_notes: bool,
    share_missing: f64,
}

impl SheetStyle {
    pub(crate) fn draw(random: &mut ChaCha8Rng) -> Self {
        use UnitAt::{Cell, Heading, Nowhere};
        let metric = random.random_bool(0.3);
        let dates = if metric {
            pick(random, &[Dates::Iso, Dates::Eu, Dates::Dots, Dates::Name])
        } else {
            pick(random, &[Dates::Iso, Dates::Us, Dates::UsShort, Dates::Name])
        };
        Self {
            dates,
            clocks: pick(
                random,
                &[
                    Clocks::TwentyFour,
                    Clocks::TwentyFour,
                    Clocks::Twelve,
                    Clocks::TwelveJoined,
                    Clocks::Dotted,
                    Clocks::TwelveBare,
                    Clocks::WithDate,
                    Clocks::Since,
                ],
            ),
            metric,
            weights: pick(random, &[Heading, Heading, Cell, Nowhere]),
            degrees: pick(random, &[Heading, Heading, Cell, Nowhere]),
            delimiter: pick(random, &[',', ',', ';', '\t']),
            pounds: random.random_range(0..4),
            names: random.random_range(0..5),
            has_trimmed: random.random_bool(0.5),
            has_water_pan: random.random_bool(0.5),
            has_notes: random.random_bool(0.5),
            share_missing: pick(random, &[0.0, 0.03, 0.08]),
        }
    }

    fn date(&self, at_ms: i64, zone: &TimeZone) -> String {
        shown(
            at_ms,
            zone,
            match self.dates {
                Dates::Iso => "%Y-%m-%d",
                Dates::Us => "%-m/%-d/%Y",
                Dates::UsShort => "%-m/%-d/%y",
                Dates::Eu => "%d/%m/%Y",
                Dates::Dots => "%-d.%-m.%Y",
                Dates::Name => "%-d %B %Y",
            },
        )
    }

    fn mark(&self, at_ms: i64, on_ms: i64, is_meat_on: bool, zone: &TimeZone) -> String {
        match self.clocks {
            Clocks::TwentyFour => shown(at_ms, zone, "%-H:%M"),
            Clocks::Twelve => shown(at_ms, zone, "%-I:%M %p"),
            Clocks::TwelveJoined => shown(at_ms, zone, "%-I:%M%P"),
            Clocks::Dotted => shown(at_ms, zone, "%-I.%M%P"),
            Clocks::TwelveBare => shown(at_ms, zone, "%-I:%M"),
            Clocks::WithDate => shown(at_ms, zone, "%Y-%m-%d %H:%M"),
            Clocks::Since if is_meat_on => shown(at_ms, zone, "%-H:%M"),
            Clocks::Since => {
                let minutes = (at_ms - on_ms) / 60_000;
                format!("+{}:{:02}", minutes / 60, minutes % 60)
            }
        }
    }

    /// A weight as it is written, and what that says in kilograms.
    fn weight(&self, kilograms: f64, random: &mut ChaCha8Rng) -> (String, f64) {
        let in_cell = self.weights == UnitAt::Cell;
        if self.metric {
            let rounded = (kilograms * 100.0).round() / 100.0;
            let unit = if in_cell { pick(random, &[" kg", "kg", " kilos"]) } else { "" };
            return (format!("{rounded}{unit}"), rounded);
        }
        let pounds = Kilograms(kilograms).pounds();
        let of = |pounds: f64| Kilograms::from_pounds(pounds).value();
        match self.pounds {
            0 if in_cell => {
                let ounces = (pounds * 16.0).round() as i64;
                let (whole, rest) = (ounces / 16, ounces % 16);
                (format!("{whole} lb {rest} oz"), of(ounces as f64 / 16.0))
            }
            1 => {
                let quarters = (pounds * 4.0).round() as i64;
                let fraction = ["", " 1/4", " 1/2", " 3/4"][(quarters % 4) as usize];
                let unit = if in_cell { " lb" } else { "" };
                (format!("{}{fraction}{unit}", quarters / 4), of(quarters as f64 / 4.0))
            }
            _ => {
                let tenths = (pounds * 10.0).round() / 10.0;
                let unit =
                    if in_cell { pick(random, &[" lb", "lb", " lbs", "lbs", "#"]) } else { "" };
                (format!("{tenths}{unit}"), of(tenths))
            }
        }
    }

    fn degrees(&self, celsius: Celsius, metric: bool, random: &mut ChaCha8Rng) -> (String, f64) {
        let (value, letter) =
            if metric { (celsius.value(), "C") } else { (celsius.fahrenheit(), "F") };
        let value = value.round();
        let unit = match self.degrees {
            UnitAt::Cell => {
                let form = pick(random, &["", " ", "°", " °"]);
                format!("{form}{letter}")
            }
            _ => String::new(),
        };
        let celsius = if metric { value } else { Celsius::from_fahrenheit(value).value() };
        (format!("{value}{unit}"), celsius)
    }

    fn unit_of(&self, column: &str) -> &'static str {
        match (column, self.weights, self.degrees) {
            ("pit_setpoint", _, UnitAt::Heading) => [" (F)", " (°C)"][usize::from(self.metric)],
            ("thickness", UnitAt::Heading, _) => [" (in)", " (mm)"][usize::from(self.metric)],
            (name, UnitAt::Heading, _) if name.ends_with("weight") => {
                [" (lb)", " (kg)"][usize::from(self.metric)]
            }
            _ => "",
        }
    }
}

fn shown(at_ms: i64, zone: &TimeZone, form: &str) -> String {
    Timestamp::from_millisecond(at_ms).map_or_else(
        |_| String::new(),
        |at| at.to_zoned_datetime(zone.clone()).strftime(form).to_string(),
    )
}

/// To the minute, as somebody writes it down.
fn minute(at_ms: i64) -> i64 {
    at_ms.div_euclid(60_000) * 60_000
}

/// Writes the sheet, and what each card of it should hold.
pub(super) fn write(fires: &[Fire], season: &mut UntidySeason, random: &mut ChaCha8Rng) {
    let zone = TimeZone::get(season.zone).expect("the zone is in the bundled database");
    let style = season.sheet_style.clone();
    season.habits.push(format!("dates {:?}", style.dates));
    season.habits.push(format!("clocks {:?}", style.clocks));
    season.habits.push(format!("weights {:?}, degrees {:?}", style.weights, style.degrees));
    let mut columns = vec!["cook", "date", "logs", "pit", "cut", "raw_weight"];
    columns.extend(style.has_trimmed.then_some("trimmed_weight"));
    columns.extend(["thickness", "pit_setpoint", "wood"]);
    columns.extend(style.has_water_pan.then_some("water_pan"));
    columns.extend(["meat_on", "wrap_method", "wrap_at", "pull", "cooked_weight"]);
    columns.extend(style.has_notes.then_some("notes"));
    let headings: Vec<String> = columns
        .iter()
        .map(|column| {
            let spelling = pick(random, words::headings(column));
            spelling.replace("{u}", style.unit_of(column))
        })
        .collect();
    for (heading, column) in headings.iter().zip(&columns) {
        season.headings.insert(heading.trim().to_owned(), column);
    }
    // Slips: each in a row of its own.
    let count = season.cooks.len();
    let mut slips: Vec<(usize, Slip)> = Vec::new();
    for (share, slip) in [(0.3, Slip::SetpointInOtherUnit), (0.25, Slip::WeightInOtherUnit)] {
        if random.random_bool(share) {
            slips.push((random.random_range(0..count), slip));
        }
    }
    let exchanged = random.random_bool(0.3).then(|| random.random_range(0..count - 1));

    let mut rows: Vec<Vec<String>> = vec![headings];
    let mut number = 0;
    for fire in fires {
        for (own, truth) in fire.plan.cooks.iter().zip(&fire.truth.cooks).take(fire.cooks) {
            let at = number;
            number += 1;
            let slipped: Vec<Slip> =
                slips.iter().filter(|(row, _)| *row == at).map(|(_, slip)| *slip).collect();
            let (on_ms, pull_ms) =
                (minute(fire.at_ms(truth.meat_on_s)), minute(fire.at_ms(truth.pull_s)));
            let wrap = truth.wraps.first();
            let name = format!("{}-{}", shown(on_ms, &zone, "%b%-d").to_lowercase(), at + 1);
            let mut cells: Vec<String> = Vec::new();
            let mut is_missing = || random_missing(style.share_missing, random);
            let missing: Vec<Option<&'static str>> = columns.iter().map(|_| is_missing()).collect();
            let cook = &mut season.cooks[at];
            let channel = cook.card.lead_channel.take();
            cook.line = at as u64 + 2;
            cook.card.cook.clone_from(&name);
            for (column, missing) in columns.iter().zip(missing) {
                let card = &mut cook.card;
                let may_miss = !matches!(*column, "cook" | "date" | "logs");
                if let (Some(word), true) = (missing, may_miss) {
                    cells.push(word.to_owned());
                    continue;
                }
                cells.push(match *column {
                    "cook" => name.clone(),
                    "date" => {
                        card.date = Some(shown(on_ms, &zone, "%Y-%m-%d"));
                        style.date(on_ms, &zone)
                    }
                    "logs" => {
                        let names = cook.logs.iter().map(|log| {
                            let file = log.trim_start_matches("logs/");
                            let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
                            let named = match style.names {
                                0 | 1 => file.to_owned(),
                                2 => stem.to_owned(),
                                3 => file.to_uppercase(),
                                _ => log.clone(),
                            };
                            channel.as_ref().map_or(named.clone(), |own| format!("{named}#{own}"))
                        });
                        names.collect::<Vec<_>>().join("; ")
                    }
                    "pit" => {
                        let known = PITS.iter().find(|(kind, _)| *kind == fire.plan.pit_name);
                        let word = known.map_or("pit", |(_, name)| *name);
                        card.pit = Some(word.to_owned());
                        let written = spelt(word, random);
                        season.meanings.insert(written.trim().to_owned(), word.to_owned());
                        written
                    }
                    "cut" => {
                        let word = own.cut.as_str();
                        card.cut = Some(word.to_owned());
                        let written = spelt(word, random);
                        season.meanings.insert(written.trim().to_owned(), word.to_owned());
                        written
                    }
                    "wood" => {
                        let (word, spellings) = pick(random, &WOODS);
                        card.wood = Some(word.to_owned());
                        let written = spelt(pick(random, spellings), random);
                        season.meanings.insert(written.trim().to_owned(), word.to_owned());
                        written
                    }
                    "raw_weight" => {
                        let raw = own.plan.meat.weight.value() * 1.3;
                        let (text, kilograms) = style.weight(raw, random);
                        card.raw_weight = Some(Kilograms(kilograms));
                        if slipped.contains(&Slip::WeightInOtherUnit)
                            && style.weights != UnitAt::Cell
                        {
                            cook.slips.push(Slip::WeightInOtherUnit);
                            // What is meant is what was read off the scale.
                            let other = if style.metric { Kilograms(raw).pounds() } else { raw };
                            let other = (other * 10.0).round() / 10.0;
                            card.raw_weight = Some(if style.metric {
                                Kilograms::from_pounds(other)
                            } else {
                                Kilograms(other)
                            });
                            format!("{other:.1}")
                        } else {
                            text
                        }
                    }
                    "trimmed_weight" => {
                        let (text, kilograms) = style.weight(own.plan.meat.weight.value(), random);
                        card.trimmed_weight = Some(Kilograms(kilograms));
                        text
                    }
                    "cooked_weight" => {
                        let (text, kilograms) = style.weight(truth.cooked_kg, random);
                        card.cooked_weight = Some(Kilograms(kilograms));
                        text
                    }
                    "thickness" => {
                        let unit_in_cell = style.weights == UnitAt::Cell;
                        if style.metric {
                            let mm = own.thickness_mm.round();
                            card.thickness = Some(Millimetres(mm));
                            format!("{mm}{}", if unit_in_cell { " mm" } else { "" })
                        } else {
                            let halves = (own.thickness_mm / 25.4 * 2.0).round() as i64;
                            card.thickness = Some(Millimetres(halves as f64 / 2.0 * 25.4));
                            let half = if halves % 2 == 1 { " 1/2" } else { "" };
                            format!("{}{half}{}", halves / 2, if unit_in_cell { "\"" } else { "" })
                        }
                    }
                    "pit_setpoint" => {
                        let setpoint = fire.plan.pit.setpoint;
                        let (text, celsius) = style.degrees(setpoint, style.metric, random);
                        card.pit_setpoint = Some(Celsius(celsius));
                        if slipped.contains(&Slip::SetpointInOtherUnit)
                            && style.degrees != UnitAt::Cell
                        {
                            cook.slips.push(Slip::SetpointInOtherUnit);
                            style.degrees(setpoint, !style.metric, random).0
                        } else {
                            text
                        }
                    }
                    "water_pan" => {
                        card.water_pan = Some(fire.plan.water_pan);
                        let words = if fire.plan.water_pan {
                            ["yes", "Y", "x", "Yes"]
                        } else {
                            ["no", "N", "No", "none"]
                        };
                        pick(random, &words).to_owned()
                    }
                    "meat_on" => {
                        card.marks.meat_on_ms = Some(on_ms);
                        style.mark(on_ms, on_ms, true, &zone)
                    }
                    "wrap_method" => {
                        let method = wrap.map_or(WrapMethod::None, |(_, method)| method.clone());
                        let written = words::wrap(method.as_str(), random);
                        card.wrap_method = Some(method);
                        written
                    }
                    "wrap_at" => match wrap {
                        Some((second, _)) => {
                            let at_ms = minute(fire.at_ms(*second));
                            card.marks.wrap_ms = Some(at_ms);
                            style.mark(at_ms, on_ms, false, &zone)
                        }
                        None => pick(random, &["", "-", "n/a"]).to_owned(),
                    },
                    "pull" => {
                        card.marks.pull_ms = Some(pull_ms);
                        style.mark(pull_ms, on_ms, false, &zone)
                    }
                    _ => (pick(
                        random,
                        &[
                            "windy",
                            "",
                            "fire got away from us",
                            "good bark",
                            "ran out of wood, used 2",
                        ],
                    ))
                    .to_owned(),
                });
            }
            rows.push(cells);
        }
    }
    if let Some(at) = exchanged {
        exchange_marks(at, &columns, &mut rows, season);
    }
    let text = rows.iter().map(|row| line(row, style.delimiter)).collect::<String>();
    season.files.push(("sheet.csv".to_owned(), text.into_bytes()));
}

fn random_missing(share: f64, random: &mut ChaCha8Rng) -> Option<&'static str> {
    random.random_bool(share).then(|| pick(random, &MISSING))
}

/// Two rows, one above the other, have each other's marks. Where they are of one fire, or say the same,
/// nothing is wrong.
fn exchange_marks(
    at: usize,
    columns: &[&str],
    rows: &mut [Vec<String>],
    season: &mut UntidySeason,
) {
    if season.cooks[at].card.fire == season.cooks[at + 1].card.fire {
        return;
    }
    let marks = ["meat_on", "wrap_at", "pull"];
    for place in columns.iter().enumerate().filter(|(_, c)| marks.contains(*c)).map(|(i, _)| i) {
        let other = std::mem::take(&mut rows[at + 2][place]);
        rows[at + 2][place] = std::mem::replace(&mut rows[at + 1][place], other);
    }
    for cook in &mut season.cooks[at..at + 2] {
        cook.slips.push(Slip::MarksExchanged);
    }
}

/// A line of CSV (RFC 4180).
fn line(cells: &[String], delimiter: char) -> String {
    let quoted = cells.iter().map(|cell| {
        if cell.contains([delimiter, '"', '\n']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell.clone()
        }
    });
    quoted.collect::<Vec<_>>().join(&delimiter.to_string()) + "\n"
}
