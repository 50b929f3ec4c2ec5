//! What one who was there answers to a question of the reader.

use super::logs::Times;
use super::sheet::Dates;
use super::{Slip, UntidyCook, UntidySeason};
use cook::Question;
use cook::season::TemperatureUnit;
use jiff::Timestamp;
use jiff::tz::TimeZone;

impl UntidySeason {
    /// The answer to a question, as one of those that it offers; `None` where none of them is right,
    /// or it is not known.
    pub fn answer(&self, question: &Question) -> Option<String> {
        let code = question.id.split('/').next().unwrap_or_default();
        let place = question.places.first().map_or("", String::as_str);
        let log = self.log_styles.iter().find(|(path, _)| place.starts_with(path.as_str()));
        let log = log.map(|(_, style)| style);
        let offered = |wanted: &str| {
            let of = |take: &&cook::Answer| take.take.eq_ignore_ascii_case(wanted);
            question.answers.iter().find(of).map(|answer| answer.take.clone())
        };
        let local = |at_ms: i64, form: &str| {
            let zone = TimeZone::get(self.zone).ok()?;
            let at = Timestamp::from_millisecond(at_ms).ok()?;
            Some(at.to_zoned_datetime(zone).strftime(form).to_string())
        };
        match code {
            "time-zone" => Some(self.zone.to_owned()),
            "unit-of-temperatures" => offered(letter(log?.unit)),
            "date-order" => offered(match log.map(|style| style.times) {
                Some(Times::UsTwelve | Times::UsSlashes) => "month-first",
                Some(Times::EuSlashes | Times::EuDots) => "day-first",
                Some(_) => return None,
                None if matches!(self.sheet_style.dates, Dates::Us | Dates::UsShort) => {
                    "month-first"
                }
                None => "day-first",
            }),
            "first-day" => local(log?.first_ms, "%Y-%m-%d"),
            "start-of-elapsed" | "clock-never-set" => local(log?.first_ms, "%Y-%m-%d %H:%M:%S"),
            "unit-of-times" => offered(match log?.times {
                Times::MinutesStarted => "minutes",
                Times::SecondsBare => "seconds",
                Times::Serial => "spreadsheet",
                _ => return None,
            }),
            "clock-or-elapsed" => {
                offered(if log?.times == Times::ClockOnly { "clock" } else { "elapsed" })
            }
            "column-meaning" => {
                let heading = question.asks.split('`').nth(1)?.trim().to_owned();
                let column = self.headings.get(&heading)?;
                let unit = match (*column, self.sheet_style.metric) {
                    ("raw_weight" | "trimmed_weight" | "cooked_weight", false) => "_lb",
                    ("raw_weight" | "trimmed_weight" | "cooked_weight", true) => "_kg",
                    ("thickness", false) => "_in",
                    ("thickness", true) => "_mm",
                    ("pit_setpoint", false) => "_f",
                    ("pit_setpoint", true) => "_c",
                    _ => "",
                };
                offered(&format!("{column}{unit}"))
                    .or_else(|| offered(column))
                    .or_else(|| (*column == "notes").then(|| offered("as-is")).flatten())
            }
            "unit-of-weights" => offered(if self.sheet_style.metric { "kg" } else { "lb" }),
            "near-twins" => {
                let words: Vec<&str> = question.asks.split('`').skip(1).step_by(2).collect();
                let meaning = |word: &str| self.meanings.get(word.trim());
                let (one, other) = (meaning(words.first()?)?, meaning(words.get(1)?)?);
                offered(if one == other { "one" } else { "apart" })
            }
            "clock-without-am-pm" => {
                let half = |place: &String| {
                    let hour: u32 =
                        local(self.cook_at(place)?.card.marks.meat_on_ms?, "%H")?.parse().ok()?;
                    Some(if hour < 12 { "am" } else { "pm" })
                };
                let halves: Vec<Option<&str>> = question.places.iter().map(half).collect();
                let first = (*halves.first()?)?;
                let is_one = halves.iter().all(|half| *half == Some(first));
                let offers = |take: &str| question.answers.iter().any(|a| a.take == take);
                if is_one {
                    offered(first)
                } else if halves.iter().all(Option::is_some) && offers("pm in <cooks>") {
                    let at = question.places.iter().zip(&halves);
                    let late = at.filter(|(_, half)| **half == Some("pm"));
                    let names =
                        late.filter_map(|(place, _)| Some(&*self.cook_at(place)?.card.cook));
                    Some(format!("pm in {}", names.collect::<Vec<_>>().join(", ")))
                } else {
                    offered("each")
                }
            }
            // The second part of such a log has another name for the first probe.
            "whose-channel" => offered(&format!("{} probe", question.asks.split('`').nth(1)?)),
            // The habit is the logger's: it is switched on while the pit comes up.
            "zero-before-meat-on" => offered("curve"),
            "marks-of-another" => {
                let of_sheet = question.places.iter().filter_map(|place| self.cook_at(place));
                let slipped = |cook: &UntidyCook| cook.slips.contains(&Slip::MarksExchanged);
                let all: Vec<bool> = of_sheet.map(slipped).collect();
                match (all.iter().all(|is| *is), all.iter().any(|is| *is)) {
                    (true, true) => offered("exchange"),
                    (_, false) => offered("as-written"),
                    _ => None,
                }
            }
            // What was written is what was done, but where somebody slipped.
            "mark-against-curve" => {
                let cook = question.places.iter().find_map(|place| self.cook_at(place))?;
                let marks = &cook.card.marks;
                let (on, pull) = (marks.meat_on_ms, marks.pull_ms);
                let stated = [("meat_on", on), ("wrap", marks.wrap_ms), ("pull", pull)];
                let told = |word: &str, form: &str| {
                    let (_, at_ms) = stated.iter().find(|(mark, _)| *mark == word)?;
                    local((*at_ms)?, form)
                };
                // In an hour that the clock showed twice only the zone tells which is right.
                let right = |form: &str| {
                    let says = |answer: &&cook::Answer| {
                        let word = answer.then.split(' ').next().unwrap_or_default();
                        told(word, form).is_some_and(|told| answer.then.contains(&told))
                    };
                    let mut right = question.answers.iter().filter(says);
                    right.next().filter(|_| right.next().is_none()).map(|one| one.take.clone())
                };
                let by_time = right("%Y-%m-%d %H:%M %Z").or_else(|| right("%Y-%m-%d %H:%M"));
                let is_own = !cook.slips.contains(&Slip::MarksExchanged);
                by_time.or_else(|| is_own.then(|| offered("as-written")).flatten())
            }
            "weight-in-doubt" => {
                let cook = self.cook_at(place)?;
                let is_other = cook.slips.contains(&Slip::WeightInOtherUnit);
                let metric = self.sheet_style.metric != is_other;
                let unit = if metric { "kg" } else { "lb" };
                // It is the raw weight that slips, and no other of its row.
                if is_other && question.asks.contains("are the weights") {
                    return offered(&format!("raw-in-{unit}"));
                }
                offered(unit).or_else(|| (!is_other).then(|| offered("as-written")).flatten())
            }
            "set-point-against-pit" => {
                let cook = self.cook_at(place)?;
                let is_other = cook.slips.contains(&Slip::SetpointInOtherUnit);
                let metric = self.sheet_style.metric != is_other;
                offered(if metric { "C" } else { "F" })
                    .or_else(|| (!is_other).then(|| offered("as-written")).flatten())
            }
            "unit-changes" => question
                .answers
                .iter()
                .find(|answer| answer.take.ends_with("-from-here"))
                .map(|answer| answer.take.clone()),
            "unit-against-physics" => {
                let unit = letter(log?.unit);
                let tenths = format!("tenths-{}", unit.to_lowercase());
                let of = |answer: &&cook::Answer| {
                    let take = answer.take.to_lowercase();
                    take.contains("tenth") && take.contains(&unit.to_lowercase())
                };
                offered(&tenths)
                    .or_else(|| question.answers.iter().find(of).map(|answer| answer.take.clone()))
            }
            _ => None,
        }
    }
}

impl UntidySeason {
    /// The cook whose row a place of the sheet is in.
    fn cook_at(&self, place: &str) -> Option<&UntidyCook> {
        let line: u64 = place.split(':').nth(1)?.split(' ').next()?.parse().ok()?;
        self.cooks.iter().find(|cook| cook.line == line)
    }
}

fn letter(unit: TemperatureUnit) -> &'static str {
    match unit {
        TemperatureUnit::Celsius => "C",
        TemperatureUnit::Fahrenheit => "F",
    }
}
