//! Headings by their meaning: which column a name is, and which it may be.

use super::cell::Cell;
use super::row::GridRow;
use super::stated;
use super::vocabulary::{Holds, SheetColumn, meant_column};
use super::writing::Writing;
use cook::{Answer, Question, QuestionCode, WrapMethod};
use jiff::tz::TimeZone;

/// Other names of a column that mean nothing else, in the normal form of headings.
const MEANS: &[(&str, &[&str])] = &[
    (
        "cook",
        &["cook_name", "cook_id", "cook_no", "cook_number", "name_of_cook", "name_of_the_cook"],
    ),
    (
        "logs",
        &[
            "log",
            "log_file",
            "log_files",
            "logfile",
            "logfiles",
            "log_name",
            "logger_file",
            "file_name",
            "filename",
            "csv_file",
            "data_file",
        ],
    ),
    ("date", &["cook_date", "date_of_cook", "date_cooked"]),
    (
        "meat_on",
        &[
            "meat_in",
            "time_on",
            "put_on",
            "put_on_at",
            "meat_on_at",
            "meat_on_time",
            "on_at",
            "went_on",
            "went_on_at",
        ],
    ),
    (
        "wrap_at",
        &[
            "wrapped_at",
            "wrap_time",
            "time_wrapped",
            "time_of_wrap",
            "wrapped_when",
            "when_wrapped",
            "wrapped_time",
        ],
    ),
    (
        "wrap_method",
        &[
            "wrap_type",
            "wrapped_in",
            "wrapped_with",
            "wrap_with",
            "wrap_in",
            "wrap_material",
            "type_of_wrap",
        ],
    ),
    (
        "pull",
        &[
            "pulled",
            "pulled_at",
            "pull_at",
            "pull_time",
            "time_pulled",
            "meat_off",
            "time_off",
            "off_at",
            "came_off",
            "came_off_at",
            "taken_off",
            "taken_off_at",
        ],
    ),
    ("slice", &["sliced", "sliced_at", "slice_at", "slice_time"]),
    (
        "raw_weight_lb",
        &["raw_lb", "raw_lbs", "raw_weight_lbs", "raw_weight_pounds", "raw_wt_lb", "raw_wt_lbs"],
    ),
    ("raw_weight_kg", &["raw_kg", "raw_wt_kg"]),
    (
        "trimmed_weight_lb",
        &["trimmed_lb", "trimmed_lbs", "trimmed_weight_lbs", "trimmed_wt_lb", "trimmed_wt_lbs"],
    ),
    ("trimmed_weight_kg", &["trimmed_kg", "trimmed_wt_kg"]),
    (
        "cooked_weight_lb",
        &["cooked_lb", "cooked_lbs", "cooked_weight_lbs", "cooked_wt_lb", "cooked_wt_lbs"],
    ),
    ("cooked_weight_kg", &["cooked_kg", "cooked_wt_kg"]),
    ("thickness_in", &["thickness_inches", "thickness_inch", "thick_in"]),
    (
        "pit_setpoint_f",
        &[
            "setpoint_f",
            "set_point_f",
            "pit_set_point_f",
            "pit_set_f",
            "set_temp_f",
            "pit_set_temp_f",
        ],
    ),
    (
        "pit_setpoint_c",
        &[
            "setpoint_c",
            "set_point_c",
            "pit_set_point_c",
            "pit_set_c",
            "set_temp_c",
            "pit_set_temp_c",
        ],
    ),
    ("wood", &["woods", "wood_type", "wood_used", "type_of_wood", "smoke_wood"]),
    ("cut", &["cut_of_meat", "meat_cut"]),
    ("pit", &["which_pit", "pit_used", "pit_name", "name_of_pit", "name_of_the_pit"]),
    ("water_pan", &["waterpan", "water_pan_used"]),
];

/// Names that may mean several columns.
const MAY_MEAN: &[(&str, &[&str])] = &[
    ("wrap", &["wrap_method", "wrap_at"]),
    ("wrapped", &["wrap_method", "wrap_at"]),
    ("wrapping", &["wrap_method", "wrap_at"]),
    ("weight", &["raw_weight", "trimmed_weight", "cooked_weight"]),
    ("weights", &["raw_weight", "trimmed_weight", "cooked_weight"]),
    ("wt", &["raw_weight", "trimmed_weight", "cooked_weight"]),
    ("meat_weight", &["raw_weight", "trimmed_weight", "cooked_weight"]),
    ("start_weight", &["raw_weight", "trimmed_weight"]),
    ("starting_weight", &["raw_weight", "trimmed_weight"]),
    ("weight_before", &["raw_weight", "trimmed_weight"]),
    ("final_weight", &["cooked_weight", "served_weight"]),
    ("finished_weight", &["cooked_weight", "served_weight"]),
    ("weight_after", &["cooked_weight", "trimmed_weight"]),
    ("raw", &["raw_weight"]),
    ("trimmed", &["trimmed_weight"]),
    ("cooked", &["cooked_weight"]),
    ("thick", &["thickness"]),
    ("set", &["pit_setpoint"]),
    ("what", &["cut"]),
    ("setpoint", &["pit_setpoint"]),
    ("set_point", &["pit_setpoint"]),
    ("set_temp", &["pit_setpoint"]),
    ("pit_set", &["pit_setpoint"]),
    ("pit_temp", &["pit_setpoint"]),
    ("pit_temperature", &["pit_setpoint"]),
    ("target", &["target_core", "pit_setpoint"]),
    ("target_temp", &["target_core", "pit_setpoint"]),
    ("internal_temp", &["target_core"]),
    ("day", &["date"]),
    ("when", &["date", "meat_on"]),
    ("start", &["meat_on"]),
    ("start_time", &["meat_on"]),
    ("started", &["meat_on"]),
    ("on", &["meat_on"]),
    ("off", &["pull"]),
    ("end", &["pull", "slice"]),
    ("end_time", &["pull", "slice"]),
    ("finish", &["pull", "slice"]),
    ("finished", &["pull", "slice"]),
    ("done", &["pull", "slice"]),
    ("served", &["slice"]),
    ("smoker", &["pit", "cooker"]),
    ("grill", &["pit", "cooker"]),
    ("meat", &["cut", "kind"]),
    ("meat_type", &["cut"]),
    ("type_of_meat", &["cut"]),
    ("name", &["cook"]),
    ("who", &["cook"]),
    ("file", &["logs"]),
    ("files", &["logs"]),
];

/// Names that are short for one column where its cells can be of no other kind: `On`, over times of the day.
const SHORT: [&str; 3] = ["on", "off", "day"];

/// The columns that a clock time may be of.
const MARKS: [&str; 4] = ["meat_on", "wrap_at", "pull", "slice"];

/// The column that a name means and no other, where it is not that column's own name.
pub(super) fn meaning(name: &str) -> Option<&'static str> {
    MEANS.iter().find(|(_, names)| names.contains(&name)).map(|(column, _)| *column)
}

/// Whether a name is a column's, or means it.
pub(super) fn is_column(name: &str, column: &str) -> bool {
    name == column || meaning(name) == Some(column)
}

/// What a column's cells hold.
pub(super) struct Cells<'r> {
    pub(super) rows: &'r [GridRow],
    pub(super) at: usize,
}

impl Cells<'_> {
    fn texts(&self) -> impl Iterator<Item = String> {
        let cells = self.rows.iter().filter_map(|row| row.cells.get(self.at));
        cells.map(Cell::text).filter(|text| !cook::trade::is_missing(text))
    }

    /// Whether there are cells, and all are so.
    fn all(&self, is: impl Fn(&str) -> bool) -> bool {
        self.texts().next().is_some() && self.texts().all(|text| is(&text))
    }

    /// Whether all are times of the day, and more than one is written as no number is.
    fn are_clock_times(&self) -> bool {
        let is_clock = |text: &str| {
            let has_hour = text.contains(|c: char| c.is_ascii_digit());
            has_hour && text.contains(':') && !text.starts_with('+') && !text.contains(['-', '/'])
        };
        let written = self.texts().filter(|text| is_clock(text)).count();
        written >= 2 && self.all(is_time)
    }

    /// Whether most are dates, and none is without a number.
    fn are_dates(&self) -> bool {
        let is_date = |text: &String| !is_time(text) && is_date(text);
        let dates = self.texts().filter(is_date).count();
        dates >= 2
            && dates * 2 > self.texts().count()
            && self.all(|text| text.contains(|c: char| c.is_ascii_digit()))
    }

    /// The unit of the first cell, as columns end in it, where all name theirs.
    fn own_unit(&self) -> Option<&'static str> {
        let units: Option<Vec<&'static str>> =
            self.texts().map(|text| unit_behind(&text)).collect();
        units?.first().copied()
    }

    /// The first texts, to be shown.
    pub(super) fn shown(&self) -> String {
        let texts: Vec<String> = self.texts().take(3).map(|text| format!("`{text}`")).collect();
        texts.join(", ")
    }
}

/// What a heading that is no column's may be: one column by what its cells hold, or a question.
pub(super) enum Meant {
    /// It is nothing that is known.
    Nothing,
    /// By its cells it can only be this one.
    Column(String, &'static str),
    /// It may be one of these; by the size of its numbers it is one of them, and why.
    Asked(Question, Option<(String, &'static str)>),
}

/// What a heading may be. `taken` says which columns the sheet has.
pub(super) fn meant(
    name: &str,
    written: &str,
    cells: &Cells<'_>,
    columns: &[SheetColumn],
    taken: impl Fn(&str) -> bool,
) -> Meant {
    let is_column = |name: &str| columns.iter().any(|column| column.name == name);
    if name.is_empty() || is_column(name) || name.starts_with("score_") {
        return Meant::Nothing;
    }
    let (stem, unit) = unit_of(name);
    let listed = MAY_MEAN.iter().find(|(known, _)| *known == stem || *known == name);
    let stems: Vec<String> = match listed {
        Some((_, stems)) => stems.iter().map(|stem| (*stem).to_owned()).collect(),
        None => by_words(stem).into_iter().map(str::to_owned).collect(),
    };
    let near = || {
        let near = meant_column(name, columns);
        near.iter()
            .flat_map(|near| near.split("` or `").map(str::to_owned).collect::<Vec<_>>())
            .collect::<Vec<String>>()
    };
    // A slip of the pen is likelier than another word for the same.
    let mut candidates: Vec<String> = if listed.is_none() { near() } else { Vec::new() };
    for stem in &stems {
        let of_stem = columns.iter().map(|column| column.name).filter(|column| {
            *column == stem.as_str()
                || column.strip_prefix(stem.as_str()).is_some_and(|rest| {
                    matches!(rest, "_kg" | "_lb" | "_c" | "_f" | "_mm" | "_in")
                        && unit.is_none_or(|unit| rest[1..] == *unit)
                })
        });
        let known = candidates.clone();
        candidates.extend(of_stem.map(str::to_owned).filter(|column| !known.contains(column)));
    }
    if candidates.is_empty() {
        candidates = near();
    }
    // What is written on a clock is a mark, whatever it is called.
    if candidates.is_empty() && cells.are_clock_times() {
        candidates.extend(MARKS.map(str::to_owned));
        candidates.retain(|mark| columns.iter().any(|column| column.name == mark));
    }
    candidates.retain(|column| !taken(column));
    if candidates.is_empty() {
        return Meant::Nothing;
    }
    let has = |column: &str| candidates.iter().any(|candidate| candidate == column);
    if has("wrap_method") && has("wrap_at") {
        let method = |text: &str| {
            cook::trade::yes_or_no(text) != Some(true)
                && !matches!(WrapMethod::parse(text), None | Some(WrapMethod::Other(_)))
        };
        if cells.all(method) {
            return Meant::Column("wrap_method".to_owned(), "its cells are methods of wrapping");
        }
        if cells.all(is_time) {
            return Meant::Column("wrap_at".to_owned(), "its cells are times");
        }
    }
    let holds =
        |column: &str| columns.iter().find(|known| known.name == column).map(|known| &known.holds);
    if let ([only], true) = (&candidates[..], SHORT.contains(&name)) {
        match holds(only) {
            Some(Holds::Time) if cells.are_clock_times() => {
                return Meant::Column(only.clone(), "its cells are times");
            }
            Some(Holds::Date) if cells.are_dates() => {
                return Meant::Column(only.clone(), "its cells are dates");
            }
            _ => {}
        }
    }
    // One quantity, and each cell says in what: the heading need not.
    let stem_of = |column: &str| unit_of(column).0.to_owned();
    if let Some(unit) = cells.own_unit()
        && candidates.iter().all(|column| stem_of(column) == stem_of(&candidates[0]))
        && let Some(column) =
            candidates.iter().find(|column| column.rsplit('_').next() == Some(unit))
    {
        return Meant::Column(column.clone(), "its cells say their unit");
    }
    let fits = |column: &str| {
        columns.iter().find(|known| known.name == column).is_some_and(|known| match known.holds {
            Holds::Time | Holds::Date => {
                cells.texts().all(|text| !is_number(&text) || is_time(&text))
            }
            Holds::Number => cells.texts().all(|text| text.contains(|c: char| c.is_ascii_digit())),
            _ => true,
        })
    };
    let fitting: Vec<String> = candidates.iter().filter(|c| fits(c)).cloned().collect();
    let offered = if fitting.is_empty() { &candidates } else { &fitting };
    let mut answers: Vec<Answer> = offered
        .iter()
        .map(|column| {
            let known = columns.iter().find(|known| known.name == column);
            let meaning = known.map_or("", |known| known.meaning);
            Answer::new(column, format!("{} is: {meaning}", cells.shown()))
        })
        .collect();
    answers.push(Answer::new("as-is", "it is a column of your own and passes through"));
    let question = Question::new(
        QuestionCode::ColumnMeaning,
        &[name],
        format!("what is the column `{written}`?"),
        "its name is not one that is known, and is like some that are",
        answers,
    );
    Meant::Asked(question, by_size(&candidates, stem, cells))
}

/// The weight that a column is of which the unit alone is asked: `raw_weight` of `raw_weight_kg` or `raw_weight_lb`.
pub(super) fn weight_without_unit(question: &Question) -> Option<&str> {
    let [one, other, _] = &question.answers[..] else { return None };
    let stem = one.take.strip_suffix("_kg").or_else(|| one.take.strip_suffix("_lb"))?;
    (stem.ends_with("_weight") && other.take.starts_with(stem)).then_some(stem)
}

/// The answer that each column has a unit of its own.
pub(super) const EACH: &str = "each";

/// In which unit the weights of a sheet are: `columns` as they are written, each with some of its cells.
pub(super) fn unit_of_weights(sheet: &str, columns: &[(&str, String)]) -> Question {
    let names: Vec<String> = columns.iter().map(|(name, _)| format!("`{name}`")).collect();
    let then = |unit: &str| {
        let first = columns.first().map_or("", |(_, shown)| shown);
        format!("the weights are {unit}: {first} {unit}")
    };
    let answers = vec![
        Answer::new("lb", then("lb")),
        Answer::new("kg", then("kg")),
        Answer::new(EACH, "it differs: each column is asked about alone"),
    ];
    Question::new(
        QuestionCode::UnitOfWeights,
        &[sheet],
        format!("{sheet}: in which unit are {}?", names.join(", ")),
        "neither the headings nor the cells say it",
        answers,
    )
}

/// Names of a pit's set-point that are no reading of the pit.
const SET: [&str; 6] = ["set", "setpoint", "set_point", "set_temp", "pit_set", "pit_setpoint"];
/// A pit that cooks meat is set to between these, in °F and in °C, where no number can be of both: below 80 °C no
/// fire is kept, and above 230 °C nothing is cooked through. Common practice, no source.
const SET_F: std::ops::RangeInclusive<f64> = 231.0..=450.0;
const SET_C: std::ops::RangeInclusive<f64> = 80.0..=175.0;
/// A roast is between these thick, in inches and in mm, where no number can be of both. Common practice, no source.
const THICK_IN: std::ops::RangeInclusive<f64> = 0.5..=15.0;
const THICK_MM: std::ops::RangeInclusive<f64> = 25.0..=400.0;
/// So many numbers tell a unit, and this share of them; what is none of them is asked about against the pit.
const TELLING: (usize, f64) = (3, 0.8);

/// The column of two that are one quantity in two units, where the size of its numbers leaves but one.
fn by_size(candidates: &[String], stem: &str, cells: &Cells<'_>) -> Option<(String, &'static str)> {
    let [one, other] = candidates else { return None };
    let is = |name: &str| [one, other].iter().any(|column| *column == name);
    let numbers: Vec<f64> = cells
        .texts()
        .filter(|text| unit_behind(text).is_none())
        .filter_map(|text| text.split([' ', '-']).next()?.parse().ok())
        .collect();
    let of = |range: &std::ops::RangeInclusive<f64>| {
        let within = numbers.iter().filter(|number| range.contains(*number)).count();
        (within >= TELLING.0 && within as f64 >= TELLING.1 * numbers.len() as f64)
            .then_some(within == numbers.len())
    };
    let by_name = SET.contains(&stem) || (stem.contains("set") && stem.contains("pit"));
    if is("pit_setpoint_f") && is("pit_setpoint_c") && by_name {
        let (in_f, in_c) = (of(&SET_F), of(&SET_C));
        return match (in_f, in_c) {
            (Some(_), None) => Some(("pit_setpoint_f".to_owned(), "no pit is set to so many °C")),
            (None, Some(_)) => Some(("pit_setpoint_c".to_owned(), "no pit is set to so few °F")),
            _ => None,
        };
    }
    if is("thickness_in") && is("thickness_mm") {
        return match (of(&THICK_IN), of(&THICK_MM)) {
            (Some(true), None) => Some(("thickness_in".to_owned(), "no roast is so few mm thick")),
            (None, Some(true)) => {
                Some(("thickness_mm".to_owned(), "no roast is so many inches thick"))
            }
            _ => None,
        };
    }
    None
}

/// Words that say weight, and those that say when it was weighed.
const WEIGHT: [&str; 5] = ["weight", "weights", "wt", "wgt", "weighed"];
const WEIGHED: &[(&str, &[&str])] = &[
    ("raw_weight", &["raw", "uncooked", "untrimmed", "purchased", "bought", "packer", "whole"]),
    ("trimmed_weight", &["trimmed", "trim", "trimming"]),
    ("cooked_weight", &["cooked", "finished", "final", "done", "out", "yield", "off"]),
    ("served_weight", &["served", "sliced", "serving"]),
];

/// The columns without their units that a name of several words speaks of: `trimmed_wt`,
/// `weight_of_raw_meat`.
fn by_words(name: &str) -> Vec<&'static str> {
    let words: Vec<&str> = name.split('_').collect();
    let says = |known: &[&str]| words.iter().any(|word| known.contains(word));
    if says(&WEIGHT) {
        let mut told = WEIGHED.iter().filter(|(_, known)| says(known)).map(|(stem, _)| *stem);
        let told: Vec<&str> = told.by_ref().collect();
        let any = ["raw_weight", "trimmed_weight", "cooked_weight"];
        return if told.is_empty() { any.to_vec() } else { told };
    }
    if says(&["thick", "thickness"]) {
        return vec!["thickness"];
    }
    let of_pit = says(&["pit", "cooker", "smoker", "grill"]);
    if says(&["setpoint"])
        || (says(&["set"]) && (of_pit || says(&["point", "temp", "temperature"])))
    {
        return vec!["pit_setpoint"];
    }
    if of_pit && says(&["which", "what", "used", "name", "type", "kind"]) {
        return vec!["pit", "cooker"];
    }
    let at_a_time = says(&["at", "when", "time", "clock"]);
    let wraps = says(&["wrap", "wrapped", "wrapping"]);
    if wraps {
        return if at_a_time { vec!["wrap_at"] } else { vec!["wrap_method", "wrap_at"] };
    }
    let marks: [(&[&str], &str); 3] = [
        (&["off", "pull", "pulled", "out"], "pull"),
        (&["on", "in", "started", "begun"], "meat_on"),
        (&["slice", "sliced", "served"], "slice"),
    ];
    let told = marks.into_iter().filter(|(known, _)| at_a_time && says(known));
    told.map(|(_, mark)| mark).take(1).collect()
}

/// A name without the unit at its end, and the unit.
fn unit_of(name: &str) -> (&str, Option<&'static str>) {
    let Some((stem, last)) = name.rsplit_once('_') else {
        let alone = match name {
            "lb" | "lbs" | "pounds" => Some("lb"),
            "kg" | "kilos" => Some("kg"),
            _ => None,
        };
        return if alone.is_some() { ("weight", alone) } else { (name, None) };
    };
    let unit = match last {
        "kg" => "kg",
        "lb" | "lbs" | "pounds" => "lb",
        "f" => "f",
        "c" => "c",
        "in" | "inches" => "in",
        "mm" => "mm",
        _ => return (name, None),
    };
    (stem, Some(unit))
}

/// The unit that stands behind a number, as columns end in it.
fn unit_behind(text: &str) -> Option<&'static str> {
    let text = text.trim().to_lowercase();
    let behind =
        text.trim_start_matches(|c: char| !c.is_alphabetic() && !matches!(c, '#' | '"' | '°'));
    let word = behind.trim_start_matches('°').trim();
    let first = word.split(|c: char| c.is_whitespace() || c.is_ascii_digit()).next().unwrap_or("");
    text.starts_with(|c: char| c.is_ascii_digit()).then_some(())?;
    Some(match first.trim_end_matches('.') {
        "kg" | "kgs" | "kilo" | "kilos" => "kg",
        "lb" | "lbs" | "pound" | "pounds" | "#" => "lb",
        "f" | "fahrenheit" => "f",
        "c" | "celsius" => "c",
        "in" | "inch" | "inches" | "\"" => "in",
        "mm" => "mm",
        _ => return None,
    })
}

fn is_date(text: &str) -> bool {
    use super::code::SheetCode;
    matches!(Writing::default().date(text), Ok(_) | Err(SheetCode::AmbiguousDate))
}

fn is_number(text: &str) -> bool {
    text.trim().parse::<f64>().is_ok()
}

fn is_time(text: &str) -> bool {
    stated::parse(text, &TimeZone::UTC, &Writing::default()).is_ok()
}

#[cfg(test)]
mod tests {
    use super::super::vocabulary::SEASON_COLUMNS;
    use super::*;

    fn meant_by(name: &str, cells: &[&str]) -> Meant {
        let rows: Vec<GridRow> = cells
            .iter()
            .map(|cell| GridRow { cells: vec![Cell::from_text(cell)], ..GridRow::default() })
            .collect();
        meant(name, name, &Cells { rows: &rows, at: 0 }, &SEASON_COLUMNS, |_| false)
    }

    fn offered(name: &str, cells: &[&str]) -> Vec<String> {
        match meant_by(name, cells) {
            Meant::Column(column, _) | Meant::Asked(_, Some((column, _))) => vec![column],
            Meant::Asked(question, None) => {
                question.answers.into_iter().map(|answer| answer.take).collect()
            }
            Meant::Nothing => Vec::new(),
        }
    }

    #[test]
    fn a_heading_is_taken_by_its_meaning_or_asked() {
        assert_eq!(meaning("log_file"), Some("logs"));
        assert_eq!(meaning("logs"), None);
        assert_eq!(offered("wrap", &["foil", "no wrap", "-"]), ["wrap_method"]);
        assert_eq!(offered("wrap", &["11:30", "+6:30"]), ["wrap_at"]);
        assert_eq!(offered("on", &["5:08", "22:10"]), ["meat_on"]);
        assert_eq!(offered("on", &["gas", "22:10"]), ["meat_on", "as-is"]);
        assert_eq!(offered("day", &["3/7/26", "April 4", "11 Apr 2026"]), ["date"]);
        assert_eq!(offered("set_temp", &["250F", "244 °F", ""]), ["pit_setpoint_f"]);
        assert_eq!(offered("set_temp", &["250F", "244"]).len(), 3);
        // By the size of the numbers; what cannot be is asked about against the pit.
        let fahrenheit = ["250", "275", "240", "250", "121"];
        assert_eq!(offered("set_temp", &fahrenheit), ["pit_setpoint_f"]);
        assert_eq!(offered("set", &["121", "135", "107"]), ["pit_setpoint_c"]);
        for open in [&["250", "121", "275", "135"][..], &["200", "210", "225"], &["250", "275"]] {
            assert_eq!(offered("set_temp", open).len(), 3, "{open:?}");
        }
        assert_eq!(offered("pit_temp", &["250", "275", "240"]).len(), 3);
        assert_eq!(offered("thick", &["3 1/2", "4", "5", "?"]), ["thickness_in"]);
        assert_eq!(offered("thick", &["90", "101", "88"]), ["thickness_mm"]);
        assert_eq!(offered("thick", &["3 1/2", "4", "90", "5"]).len(), 3);
        assert_eq!(offered("cooked", &["7 lb 4 oz", "3.1 kg"]), ["cooked_weight_lb"]);
        assert_eq!(offered("weight", &["7 lb"]).len(), 7);
        assert_eq!(offered("wrapped", &["yes", "no"]), ["wrap_method", "wrap_at", "as-is"]);
        let weights = ["raw_weight_lb", "trimmed_weight_lb", "cooked_weight_lb", "as-is"];
        assert_eq!(offered("weight_lbs", &["12.5"]), weights);
        assert_eq!(offered("weight", &["12.5"]).len(), 7);
        let trimmed = ["trimmed_weight_kg", "trimmed_weight_lb", "as-is"];
        for name in ["trimmed_wt", "weight_after_trimming", "wt_trimmed"] {
            let mut columns = offered(name, &["12.5"]);
            columns[..2].sort();
            assert_eq!(columns, trimmed, "{name}");
        }
        assert_eq!(offered("uncooked_weight_lbs", &["12.5"]), ["raw_weight_lb", "as-is"]);
        assert_eq!(offered("smoker_set_temp_f", &["250"]), ["pit_setpoint_f", "as-is"]);
        assert_eq!(offered("suplier", &["the market"]), ["supplier", "as-is"]);
        assert_eq!(offered("moon", &["full"]), Vec::<String>::new());
        // By what the cells hold: a time is a mark, a length of time is none.
        let marks = ["meat_on", "wrap_at", "pull", "slice", "as-is"];
        assert_eq!(offered("phase_two", &["11:30", "12:10 pm"]), marks);
        assert_eq!(offered("moonrise", &["9.5", "8"]), Vec::<String>::new());
        assert_eq!(offered("which_smoker", &["the drum"]), ["pit", "cooker", "as-is"]);
        assert_eq!(meaning("off_at"), Some("pull"));
    }

    #[test]
    fn every_column_that_a_name_means_is_one() {
        let known = |column: &str| SEASON_COLUMNS.iter().any(|c| c.name == column);
        for (column, names) in MEANS {
            assert!(known(column), "{column}");
            for name in *names {
                assert!(!known(name), "{name} is a column of its own");
            }
        }
        for (name, stems) in MAY_MEAN {
            assert!(!known(name), "{name} is a column of its own");
            assert!(meaning(name).is_none(), "{name} means one column");
            for stem in *stems {
                assert!(
                    known(stem)
                        || known(&format!("{stem}_c"))
                        || known(&format!("{stem}_kg"))
                        || known(&format!("{stem}_mm")),
                    "{stem}"
                );
            }
        }
    }
}
