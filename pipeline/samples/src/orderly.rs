//! Seasons of a simulated team as an orderly person keeps them: a log a fire, a sheet, the events, nothing
//! amiss. As many cooks as a measurement wants, no two alike, years of them if need be.

use crate::dialect::Dialect;
use crate::season::cards::to_the_minute;
use crate::season::draw::zone;
use crate::sheet::{Cell, sheet_as_csv};
use cook::season::TemperatureUnit;
use cook::{CelsiusDifference, EventKind};
use jiff::ToSpan;
use jiff::civil::Date;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use simulate::measured::{Dip, Logger, Probe, Stretch, record};
use simulate::{FireTruth, SimulateError, TeamFire, TeamModel};
use std::fs;
use std::io;
use std::path::Path;

/// The last year that is cooked; what is more lies in the years before.
const LAST_YEAR: i16 = 2025;

const COLUMNS: [&str; 23] = [
    "cook",
    "season",
    "date",
    "logs",
    "kind",
    "pit",
    "fire",
    "cut",
    "trimmed_weight_kg",
    "cooked_weight_kg",
    "thickness_mm",
    "pit_setpoint_f",
    "wood",
    "water_pan",
    "weather",
    "wrap_method",
    "meat_on",
    "wrap_at",
    "pull",
    "slice",
    "score_taste",
    "arm",
    "block",
];

/// How much was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    /// Cooks.
    pub cooks: usize,
    /// Bytes of logs.
    pub log_bytes: u64,
}

/// Writes `season.toml`, `sheet.csv`, `events.csv`, `claims.toml` and `logs/` into a folder: the first fires of
/// the team's years that have at least so many cooks. A year has the model's fires.
///
/// # Errors
/// A setting of the team that is out of range, and whatever the disk says.
pub fn write_orderly(
    folder: &Path,
    model: &TeamModel,
    (seed, cooks): (u64, usize),
    claims: &str,
) -> io::Result<Written> {
    let logs = folder.join("logs");
    fs::create_dir_all(&logs)?;
    let mut cards = vec![COLUMNS.map(Cell::from).to_vec()];
    let mut events = vec![["cook", "time", "event", "value"].map(Cell::from).to_vec()];
    let mut written = Written { cooks: 0, log_bytes: 0 };
    for (year, index) in (0..).flat_map(|year| (0..model.fires).map(move |index| (year, index))) {
        if written.cooks >= cooks {
            break;
        }
        let fire = model.fire(seed.wrapping_add(year), index).map_err(io::Error::other)?;
        let kept = KeptFire::new(&fire, year).map_err(io::Error::other)?;
        let log = kept.log().map_err(io::Error::other)?;
        fs::write(logs.join(kept.log_name()), &log)?;
        written.log_bytes += log.len() as u64;
        written.cooks += fire.cooks.len();
        kept.write_down(&mut cards, &mut events);
    }
    let settings = "team = \"Simulated\"\ntime_zone = \"America/Chicago\"\nsheets = [\"sheet.csv\"]\n\n\
                    [scores.taste]\nlowest = 1\nhighest = 9\nbetter = \"higher\"\n";
    fs::write(folder.join("season.toml"), settings)?;
    fs::write(folder.join("sheet.csv"), sheet_as_csv(&cards))?;
    fs::write(folder.join("events.csv"), sheet_as_csv(&events))?;
    fs::write(folder.join("claims.toml"), claims)?;
    Ok(written)
}

/// One fire, run and dated.
struct KeptFire<'a> {
    fire: &'a TeamFire,
    truth: FireTruth,
    date: Date,
    lit_ms: i64,
}

impl<'a> KeptFire<'a> {
    fn new(fire: &'a TeamFire, year: u64) -> Result<Self, SimulateError> {
        let first = Date::constant(LAST_YEAR - year as i16, 1, 1);
        let date = first.saturating_add((i64::from(fire.day) - 1).days());
        // Lit before dawn, not all at one minute.
        let at = date.at(4, (fire.index % 60) as i8, 0, 0).to_zoned_datetime(zone());
        let lit_ms = at.map_or(0, |at| at.timestamp().as_millisecond());
        Ok(Self { truth: fire.run()?, fire, date, lit_ms })
    }

    fn name(&self) -> String {
        format!("{}-{:03}", self.date, self.fire.index)
    }

    fn log_name(&self) -> String {
        format!("{}.csv", self.name())
    }

    /// A pit of this name burns once a day: many fires of one day are of many pits of a kind.
    fn pit(&self) -> String {
        format!("{} {}", self.fire.pit_name, 1 + self.fire.index % 7)
    }

    fn channel(cook: usize) -> String {
        format!("Meat {}", cook + 1)
    }

    fn log(&self) -> Result<Vec<u8>, SimulateError> {
        let mut random = ChaCha8Rng::seed_from_u64(self.fire.seed);
        let mut draw = |sd: f64| -> f64 {
            let normal: f64 = StandardNormal.sample(&mut random);
            sd * normal
        };
        let names: Vec<String> = (0..self.fire.cooks.len()).map(Self::channel).collect();
        let mut probes = vec![Probe::sound("Pit", &self.truth.pit_c)];
        for (truth, name) in self.truth.cooks.iter().zip(&names) {
            let mut probe = Probe::sound(name.as_str(), &truth.core_c);
            probe.offset = CelsiusDifference(draw(0.4));
            probe.dips = truth
                .wraps
                .iter()
                .map(|wrap| Dip { at_s: wrap.0, depth_c: 9.0, minutes: 12.0 })
                .collect();
            probe.unplugged = vec![Stretch::since(truth.slice_s)];
            probes.push(probe);
        }
        let last = self.truth.cooks.iter().map(|cook| cook.slice_s).max().unwrap_or(0);
        let logger =
            Logger { noise_c: 0.15, ..Logger::sound(60.0, TemperatureUnit::Fahrenheit, 0.1, last) };
        let set = record(&probes, &logger, self.lit_ms, &mut random)?;
        let written = Dialect::default().write(&set, &zone());
        Ok(written.expect("years of a team lie in the calendar").bytes)
    }

    /// A second since the fire was lit, as somebody would write it down.
    fn clock(&self, second: i64) -> Cell {
        Cell::DateTime(to_the_minute(self.lit_ms + second * 1_000))
    }

    fn write_down(&self, cards: &mut Vec<Vec<Cell>>, events: &mut Vec<Vec<Cell>>) {
        // Another stream than the logger's: a reading more moves no score.
        let mut random = ChaCha8Rng::seed_from_u64(self.fire.seed);
        random.set_stream(1);
        let wood = if random.random::<bool>() { "oak" } else { "hickory" };
        let rounded = |value: f64, places: i32| {
            let scale = 10_f64.powi(places);
            Cell::Number((value * scale).round() / scale)
        };
        for (place, (cook, truth)) in self.fire.cooks.iter().zip(&self.truth.cooks).enumerate() {
            let id = format!("{}-{}", self.name(), place + 1);
            let noise: f64 = StandardNormal.sample(&mut random);
            let wrap = truth.wraps.first();
            let slice = self.clock(truth.slice_s);
            cards.push(vec![
                Cell::text(&id),
                Cell::Number(f64::from(self.date.year())),
                Cell::Date(self.date),
                Cell::text(format!("{}#{}", self.log_name(), Self::channel(place))),
                if self.fire.contest { "contest" } else { "practice" }.into(),
                self.pit().into(),
                self.name().into(),
                cook.cut.as_str().into(),
                rounded(cook.plan.meat.weight.value(), 2),
                rounded(truth.cooked_kg, 2),
                rounded(cook.thickness_mm, 0),
                rounded(self.fire.pit.setpoint.fahrenheit(), 0),
                wood.into(),
                if self.fire.water_pan { "yes" } else { "no" }.into(),
                if self.fire.pit.weather.rain_mm_per_h > 0.0 { "rain" } else { "dry" }.into(),
                wrap.map_or("none".to_owned(), |wrap| wrap.1.to_string()).into(),
                self.clock(truth.meat_on_s),
                wrap.map_or(Cell::Empty, |wrap| self.clock(wrap.0)),
                self.clock(truth.pull_s),
                slice,
                rounded((6.5 + noise).clamp(1.0, 9.0), 1),
                cook.arm.map_or(Cell::Empty, |arm| Cell::text(format!("arm-{}", arm + 1))),
                cook.arm.map_or(Cell::Empty, |_| self.name().into()),
            ]);
            let written = [EventKind::Spritz, EventKind::Setpoint, EventKind::Unwrap];
            for event in truth.events.iter().filter(|event| written.contains(&event.kind)) {
                events.push(vec![
                    Cell::text(&id),
                    self.clock(event.at_s),
                    event.kind.to_string().into(),
                    event.value.clone().unwrap_or_default().into(),
                ]);
            }
        }
    }
}
