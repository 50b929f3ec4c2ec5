//! The ordinary arguments of teams, in words, and the claims that they make.

use super::{Claims, JUDGE_AFTER_COOKS};
use crate::error::StudyError;
use cook::Units;
use std::fmt::Write as _;
use std::path::Path;

/// Minutes that a wrap may come later than its core temperature, unless the claim is edited: common practice,
/// no source.
const GRACE_MIN: u32 = 20;

/// An argument that teams have.
#[derive(Debug, Clone, Copy)]
pub struct Argument {
    /// Its name on the command line.
    pub name: &'static str,
    /// The argument in words; `A` and `B` stand for two sides.
    pub asks: &'static str,
    /// What the two sides are; none for a trend.
    pub sides: Option<Sides>,
    /// What would be acted on, as a question.
    pub matters: &'static str,
    outcome: &'static str,
    better: &'static str,
    shape: Shape,
    adjust: &'static [&'static str],
    /// Units of what is asked in one of the outcome.
    per_unit: f64,
}

/// Two sides of an argument.
#[derive(Debug, Clone, Copy)]
pub struct Sides {
    /// What they are, as a question.
    pub asks: &'static str,
    /// How they are typed.
    pub example: &'static str,
}

#[derive(Debug, Clone, Copy)]
enum Shape {
    /// A column and a step of it: in pounds and °F, in kilograms and °C.
    Trend { us: (&'static str, f64), metric: (&'static str, f64) },
    /// The two sides are levels of a column.
    Levels { by: &'static str },
    /// The two sides are ways of deciding when to wrap.
    Wraps,
}

/// Cores nearer than this are one, °C: no probe tells them apart.
const SAME_CORE_C: f64 = 0.5;
/// A part of the whole that is less than this many percent is a slip: 0.06 for 6.
const LEAST_PERCENT: f64 = 0.2;

const MINUTES: f64 = 1.0;
/// Of 100 in the whole.
const PERCENT_OF_WHOLE: f64 = 100.0;

/// The arguments that are offered.
pub const ARGUMENTS: [Argument; 8] = [
    Argument {
        name: "hotter-pit",
        asks: "A hotter pit shortens the stall",
        sides: None,
        matters: "How many minutes shorter, for a pit 10 °F (5 °C) hotter, would make you cook otherwise?",
        outcome: "stall_delay_min",
        better: "lower",
        shape: Shape::Trend { us: ("pit_early_f", 10.0), metric: ("pit_early_c", 5.0) },
        adjust: &["trimmed_weight_kg"],
        per_unit: MINUTES,
    },
    Argument {
        name: "heavier-cut",
        asks: "A heavier cut stalls longer",
        sides: None,
        matters: "How many minutes longer, for 1 lb (½ kg) more, would make you cook otherwise?",
        outcome: "stall_delay_min",
        better: "higher",
        shape: Shape::Trend { us: ("trimmed_weight_lb", 1.0), metric: ("trimmed_weight_kg", 0.5) },
        adjust: &["pit_early_c"],
        per_unit: MINUTES,
    },
    Argument {
        name: "wrap-sooner",
        asks: "A finishes sooner than B (two ways to wrap, each cook wrapped as you saw fit)",
        sides: Some(Sides {
            asks: "Which two ways?",
            example: "foil@160F,paper@160F; never and any are ways too",
        }),
        matters: "How many minutes sooner would make you cook otherwise?",
        outcome: "clock_to_finish_min",
        better: "lower",
        shape: Shape::Wraps,
        adjust: &["trimmed_weight_kg", "pit_early_c"],
        per_unit: MINUTES,
    },
    Argument {
        name: "drawn-sooner",
        asks: "A finishes sooner than B (lots drawn before each cook, kept under `arm`)",
        sides: Some(Sides { asks: "Which two arms?", example: "foil,paper" }),
        matters: "How many minutes sooner would make you cook otherwise?",
        outcome: "clock_to_finish_min",
        better: "lower",
        shape: Shape::Levels { by: "arm" },
        adjust: &["trimmed_weight_kg"],
        per_unit: MINUTES,
    },
    Argument {
        name: "drawn-bark",
        asks: "A keeps a better bark than B (lots drawn before each cook, kept under `arm`)",
        sides: Some(Sides { asks: "Which two arms?", example: "paper,foil" }),
        matters: "How many points of bark would make you cook otherwise?",
        outcome: "score_bark",
        better: "higher",
        shape: Shape::Levels { by: "arm" },
        adjust: &[],
        per_unit: 1.0,
    },
    Argument {
        name: "wood-taste",
        asks: "A tastes better than B (two woods)",
        sides: Some(Sides { asks: "Which two woods?", example: "oak,hickory" }),
        matters: "How many points of taste would make you cook otherwise?",
        outcome: "score_taste",
        better: "higher",
        shape: Shape::Levels { by: "wood" },
        adjust: &[],
        per_unit: 1.0,
    },
    Argument {
        name: "pit-sooner",
        asks: "Pit A finishes sooner than pit B",
        sides: Some(Sides { asks: "Which two pits?", example: "offset,drum" }),
        matters: "How many minutes sooner would make you cook otherwise?",
        outcome: "clock_to_finish_min",
        better: "lower",
        shape: Shape::Levels { by: "pit" },
        adjust: &["trimmed_weight_kg", "pit_early_c"],
        per_unit: MINUTES,
    },
    Argument {
        name: "water-pan",
        asks: "A water pan saves meat",
        sides: None,
        matters: "How many percent of the raw weight would make you cook otherwise?",
        outcome: "yield_fraction",
        better: "higher",
        shape: Shape::Levels { by: "water_pan" },
        adjust: &[],
        per_unit: PERCENT_OF_WHOLE,
    },
];

/// What was answered.
#[derive(Debug, Clone, Default)]
pub struct Answered {
    /// The two sides, as typed.
    pub sides: Option<[String; 2]>,
    /// What would be acted on, in the unit asked for.
    pub matters: f64,
    /// The claim's name; made of the argument's where none is given.
    pub id: Option<String>,
    /// The claim in words; the argument's where none are given.
    pub says: Option<String>,
    /// Confirming cooks that judge it.
    pub judge_after_cooks: Option<usize>,
}

impl Argument {
    /// The argument of this name.
    pub fn of(name: &str) -> Option<&'static Self> {
        ARGUMENTS.iter().find(|own| own.name == name)
    }

    /// The claim, as it is written into `claims.toml`, checked.
    ///
    /// # Errors
    /// A way of wrapping that cannot be read; sides missing, alike or not asked for; all that
    /// [`Claims::parse`] finds.
    pub fn written(
        &self,
        answered: &Answered,
        units: Units,
        path: &Path,
    ) -> Result<(String, Claims), StudyError> {
        let sides = self.levels(answered)?;
        self.matters_something(answered.matters)?;
        for (what, text) in [("--id", &answered.id), ("--says", &answered.says)] {
            if text
                .as_ref()
                .is_some_and(|text| text.trim().is_empty() || text.contains(['\n', '\r']))
            {
                let message = format!("{what} needs a text of one line");
                return Err(StudyError::Argument { message });
            }
        }
        let mut says = self.asks.split(" (").next().unwrap_or(self.asks).to_owned();
        if let (Some([a, b]), true) = (&sides, self.sides.is_some()) {
            let [a, b] = match self.shape {
                Shape::Wraps => [Way::read(a)?.in_words(), Way::read(b)?.in_words()],
                _ => [a.clone(), b.clone()],
            };
            says = said_of(&says, &a, &b);
        }
        let says = answered.says.clone().unwrap_or(says);
        let made = sides.as_ref().filter(|_| self.sides.is_some()).map_or_else(
            || self.name.to_owned(),
            |[a, b]| format!("{}-{}-or-{}", self.name, slug(a), slug(b)),
        );
        let id = answered.id.clone().unwrap_or(made);
        let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
        let kind = match self.shape {
            Shape::Trend { .. } => "trend",
            Shape::Levels { .. } => "compare",
            Shape::Wraps => "wrap-timing",
        };
        let mut text = String::from("[[claim]]\n");
        let mut key = |name: &str, value: String| {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{name:<7} = {value}");
        };
        key("id", quoted(&id));
        key("says", quoted(&says));
        key("kind", quoted(kind));
        key("outcome", quoted(self.outcome));
        key("better", quoted(self.better));
        match (self.shape, &sides) {
            (Shape::Trend { us, metric }, _) => {
                let (by, per) = if units == Units::Us { us } else { metric };
                key("by", quoted(by));
                key("per", format!("{per:?}"));
            }
            (Shape::Levels { by }, Some([a, b])) => {
                key("by", quoted(by));
                key("levels", format!("[{}, {}]", quoted(a), quoted(b)));
            }
            (Shape::Wraps, Some([a, b])) => {
                key(
                    "strategies",
                    format!("[{}, {}]", Way::read(a)?.strategy(), Way::read(b)?.strategy()),
                );
            }
            (Shape::Levels { .. } | Shape::Wraps, None) => {}
        }
        if !self.adjust.is_empty() {
            let columns: Vec<String> = self.adjust.iter().map(|column| quoted(column)).collect();
            key("adjust", format!("[{}]", columns.join(", ")));
        }
        key("group", "[\"fire\"]".into());
        key("matters", format!("{:?}", answered.matters / self.per_unit));
        key(
            "judge_after_cooks",
            answered.judge_after_cooks.unwrap_or(JUDGE_AFTER_COOKS).to_string(),
        );
        let claims = Claims::parse(&text, path)?;
        Ok((text, claims))
    }

    /// Refuses what nobody can mean.
    fn matters_something(&self, matters: f64) -> Result<(), StudyError> {
        let percent = self.per_unit == PERCENT_OF_WHOLE;
        let message = if !(matters.is_finite() && matters > 0.0) {
            format!("{matters} is no difference to act on; write a number above 0")
        } else if percent && !(LEAST_PERCENT..100.0).contains(&matters) {
            format!("{matters} % of the whole is no difference to act on; write percent, such as 6")
        } else {
            return Ok(());
        };
        Err(StudyError::Argument { message })
    }

    fn levels(&self, answered: &Answered) -> Result<Option<[String; 2]>, StudyError> {
        let wrong = |message: String| Err(StudyError::Argument { message });
        match (self.sides, &answered.sides, self.shape) {
            (Some(sides), None, _) => wrong(format!(
                "`{}` needs its two sides: --between A,B, such as {}",
                self.name, sides.example
            )),
            (Some(_), Some([a, b]), shape) if are_one(a, b, shape)? => {
                wrong(format!("`{a}` and `{b}` are one: there is nothing to compare"))
            }
            (Some(_), sides, _) => Ok(sides.clone()),
            (None, Some([a, b]), _) => wrong(format!(
                "`{}` has no two sides, but --between says `{a}` and `{b}`; leave it out",
                self.name
            )),
            (None, None, Shape::Levels { .. }) => Ok(Some(["yes".into(), "no".into()])),
            (None, None, _) => Ok(None),
        }
    }
}

/// Whether two sides are the same.
fn are_one(a: &str, b: &str, shape: Shape) -> Result<bool, StudyError> {
    if !matches!(shape, Shape::Wraps) {
        return Ok(cook::trade::meaning(a) == cook::trade::meaning(b));
    }
    let core_c = |core: f64, unit: char| match unit {
        'F' => cook::Celsius::from_fahrenheit(core).value(),
        _ => core,
    };
    Ok(match (Way::read(a)?, Way::read(b)?) {
        (Way::Never, Way::Never) | (Way::Any, Way::Any) => true,
        (Way::At { method, core, unit }, Way::At { method: other, core: at, unit: of }) => {
            cook::trade::meaning(method) == cook::trade::meaning(other)
                && (core_c(core, unit) - core_c(at, of)).abs() < SAME_CORE_C
        }
        _ => false,
    })
}

/// A way of deciding when to wrap, as it is typed: `foil@160F`, `never` or `any`.
enum Way<'a> {
    Never,
    Any,
    At { method: &'a str, core: f64, unit: char },
}

impl<'a> Way<'a> {
    fn read(typed: &'a str) -> Result<Self, StudyError> {
        let at = || {
            let (method, core) = typed.split_once('@')?;
            let core = core.trim();
            let unit = core.chars().last()?.to_ascii_uppercase();
            let number = core[..core.len() - unit.len_utf8()].trim_end().trim_end_matches('°');
            let core: f64 = number.trim().parse().ok()?;
            matches!(unit, 'F' | 'C').then_some(Self::At { method: method.trim(), core, unit })
        };
        match typed.trim() {
            "never" => Ok(Self::Never),
            "any" => Ok(Self::Any),
            typed => at().ok_or_else(|| StudyError::Argument {
                message: format!(
                    "`{typed}` is no way of wrapping; write the wrap and the core with its unit, such as foil@160F \
                     or paper@71C, or never, or any"
                ),
            }),
        }
    }

    /// As a strategy of `claims.toml`.
    fn strategy(&self) -> String {
        match self {
            Self::Never => "{ never = true }".to_owned(),
            Self::Any => "{ any = true }".to_owned(),
            Self::At { method, core, unit } => {
                let method = toml::Value::String((*method).to_owned());
                let key = format!("at_core_{}", unit.to_ascii_lowercase());
                format!("{{ method = {method}, {key} = {core:?}, grace_min = {GRACE_MIN} }}")
            }
        }
    }

    fn in_words(&self) -> String {
        match self {
            Self::Never => "no wrap".to_owned(),
            Self::Any => "wrapping as we do".to_owned(),
            Self::At { method, core, unit } => format!("{method} at {core} °{unit}"),
        }
    }
}

/// Puts the two sides in the places of `A` and `B`, which stand as words of their own.
fn said_of(says: &str, a: &str, b: &str) -> String {
    let words = says.split(' ').map(|word| {
        let (letter, rest) = word.split_at(word.len().min(1));
        match (letter, rest.trim_end_matches(',')) {
            ("A", "") => format!("{a}{rest}"),
            ("B", "") => format!("{b}{rest}"),
            _ => word.to_owned(),
        }
    });
    let said: Vec<String> = words.collect();
    let said = said.join(" ");
    let mut letters = said.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

fn slug(text: &str) -> String {
    let lower = text.to_lowercase();
    let parts: Vec<&str> =
        lower.split(|letter: char| !letter.is_alphanumeric()).filter(|p| !p.is_empty()).collect();
    parts.join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(name: &str, answered: &Answered, units: Units) -> Result<(String, Claims), String> {
        let argument = Argument::of(name).ok_or("no such argument")?;
        argument.written(answered, units, Path::new("claims.toml")).map_err(|e| e.to_string())
    }

    fn sides(a: &str, b: &str) -> Answered {
        Answered { sides: Some([a.into(), b.into()]), matters: 20.0, ..Answered::default() }
    }

    #[test]
    fn every_argument_makes_a_claim() {
        for argument in ARGUMENTS {
            let answered = match argument.shape {
                Shape::Wraps => sides("foil@160F", "never"),
                _ if argument.sides.is_some() => sides("oak", "hickory"),
                _ => Answered { matters: 20.0, ..Answered::default() },
            };
            for units in [Units::Us, Units::Metric] {
                let (text, claims) = written(argument.name, &answered, units).unwrap();
                assert_eq!(claims.claims.len(), 1, "{text}");
                assert!(!claims.claims[0].says.contains(" A ") && !text.contains(" B"), "{text}");
            }
        }
    }

    #[test]
    fn a_wrap_is_written_as_it_is_typed() {
        let (text, claims) =
            written("wrap-sooner", &sides("foil@160F", "never"), Units::Us).unwrap();
        insta::assert_snapshot!(text, @r#"
        [[claim]]
        id      = "wrap-sooner-foil-160f-or-never"
        says    = "Foil at 160 °F finishes sooner than no wrap"
        kind    = "wrap-timing"
        outcome = "clock_to_finish_min"
        better  = "lower"
        strategies = [{ method = "foil", at_core_f = 160.0, grace_min = 20 }, { never = true }]
        adjust  = ["trimmed_weight_kg", "pit_early_c"]
        group   = ["fire"]
        matters = 20.0
        judge_after_cooks = 40
        "#);
        assert!(claims.claims[0].strategies[1].never);
    }

    #[test]
    fn percent_become_parts_of_the_whole() {
        let answered = Answered { matters: 6.0, ..Answered::default() };
        let (_, claims) = written("water-pan", &answered, Units::Us).unwrap();
        assert!((claims.claims[0].matters - 0.06).abs() < 1e-12);
        assert_eq!(claims.claims[0].levels, ["yes", "no"]);
    }

    #[test]
    fn what_is_missing_or_wrong_is_said() {
        let nothing = Answered { matters: 20.0, ..Answered::default() };
        let error =
            |name: &str, answered: &Answered| written(name, answered, Units::Us).unwrap_err();
        assert!(error("wood-taste", &nothing).contains("--between A,B, such as oak,hickory"));
        assert!(error("wood-taste", &sides("oak", "oak")).contains("`oak` and `oak` are one"));
        assert!(error("hotter-pit", &sides("a", "b")).contains("has no two sides"));
        for typed in ["foil", "foil@160", "foil@160°", "foil@", "@", "foil@°F"] {
            assert!(error("wrap-sooner", &sides(typed, "never")).contains("is no way"), "{typed}");
        }
        assert!(error("wood-taste", &sides("oak", "Oak ")).contains("are one"));
        assert!(error("wrap-sooner", &sides("foil@160F", "foil@71.1C")).contains("are one"));
        for matters in [f64::NAN, -4.0, 0.06, 100.0] {
            let odd = Answered { matters, ..Answered::default() };
            assert!(error("water-pan", &odd).contains("no difference to act on"), "{matters}");
        }
        let broken = Answered { id: Some("a\nb".into()), matters: 9.0, ..Answered::default() };
        assert!(error("hotter-pit", &broken).contains("--id needs a text of one line"));
        let nought = Answered { matters: 0.0, ..Answered::default() };
        assert!(error("hotter-pit", &nought).contains("no difference to act on"));
    }
}
