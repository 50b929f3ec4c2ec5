//! How people spell things: headings, woods, wraps, pits. Common practice, no source.

use rand::RngExt;
use rand_chacha::ChaCha8Rng;

pub(super) const ZONES: [&str; 6] = [
    "America/Chicago",
    "America/New_York",
    "America/Denver",
    "Europe/Prague",
    "Europe/London",
    "Australia/Sydney",
];

/// One of a list.
pub(super) fn pick<T: Copy>(random: &mut ChaCha8Rng, list: &[T]) -> T {
    list[random.random_range(0..list.len())]
}

/// Headings of a sheet by the column that they mean. `{u}` stands for a unit that the heading says.
pub(super) fn headings(column: &str) -> &'static [&'static str] {
    match column {
        "cook" => &["cook", "Cook", "Cook name", "COOK", "Cook no."],
        "date" => &["date", "Date", "Cook date", "DATE", "Date cooked"],
        "logs" => &["logs", "Log file", "Logger file", "log", "File name", "Log"],
        "pit" => &["pit", "Pit", "PIT ", "Pit used", "Which pit"],
        "cut" => &["cut", "Cut", "Cut of meat", "Meat cut"],
        "raw_weight" => &["raw_weight{u}", "Raw weight{u}", "Raw{u}", "Weight{u}", "Raw wt{u}"],
        "trimmed_weight" => {
            &["trimmed_weight{u}", "Trimmed weight{u}", "Trimmed{u}", "Trimmed wt{u}"]
        }
        "cooked_weight" => {
            &["cooked_weight{u}", "Cooked weight{u}", "Cooked{u}", "Final weight{u}"]
        }
        "thickness" => &["thickness{u}", "Thickness{u}", "Thick{u}"],
        "pit_setpoint" => {
            &["pit_setpoint{u}", "Set point{u}", "Set temp{u}", "Setpoint{u}", "Pit set{u}"]
        }
        "wood" => &["wood", "Wood", "Wood used", "Smoke wood"],
        "water_pan" => &["water_pan", "Water pan", "Water pan?"],
        "wrap_method" => &["wrap_method", "Wrap", "Wrapped in", "Wrap type", "Wrapped with"],
        "wrap_at" => &["wrap_at", "Wrapped at", "Wrap time", "Time wrapped"],
        "meat_on" => &["meat_on", "Meat on", "Time on", "On", "Put on"],
        "pull" => &["pull", "Pulled", "Pull time", "Time off", "Off"],
        _ => &["Notes", "Remarks", "Weather", "Comments"],
    }
}

/// Spellings of one word: what a hand in a hurry makes of it.
pub(super) fn spelt(word: &str, random: &mut ChaCha8Rng) -> String {
    let capital = || {
        let mut letters = word.chars();
        letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
    };
    match random.random_range(0..10) {
        0..5 => capital(),
        5..7 => word.to_owned(),
        7 => format!("{word} "),
        8 => word.to_uppercase(),
        _ => format!(" {}", capital()),
    }
}

/// Words for a wood.
pub(super) const WOODS: [(&str, &[&str]); 4] = [
    ("oak", &["oak", "oak", "oak wood"]),
    ("hickory", &["hickory", "hickory", "hickory wood"]),
    ("pecan", &["pecan", "pecan wood"]),
    ("cherry", &["cherry", "cherry wood", "cherrywood"]),
];

/// Words for a method of wrapping.
pub(super) fn wrap(method: &str, random: &mut ChaCha8Rng) -> String {
    let words: &[&str] = match method {
        "foil" => &["foil", "Foil", "FOIL", "tin foil", "aluminum foil", "alu foil", "Foil "],
        "paper" => {
            &["paper", "Paper", "butcher paper", "pink paper", "Butcher paper", "peach paper"]
        }
        _ => &["none", "no", "no wrap", "not wrapped", "unwrapped", "None", "naked"],
    };
    pick(random, words).to_owned()
}

/// Words for what is not known.
pub(super) const MISSING: [&str; 6] = ["", "", "-", "n/a", "?", "forgot"];

/// Names of pits.
pub(super) const PITS: [(&str, &str); 3] =
    [("offset", "old bess"), ("drum", "drum"), ("cabinet", "cabinet")];
