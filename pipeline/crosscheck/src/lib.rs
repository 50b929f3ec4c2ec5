//! Card, events, settings and curves of a season must tell one story.
//!
//! Facts of a season go in, contradictions and what becomes of them come out. A contradiction is
//! never resolved in silence: it is a [`cook::Question`], whose answer settles it. Until then either
//! the value waits (it is not used) or it is used as it is, and the question says which.
//!
//! | module | what is held against what |
//! |---|---|
//! | [`curve`] | what is kept of a cook's readings to be held against the rest |
//! | `setpoints` | set-points and targets against the pit, and against what a cook can be |
//! | `weights` | weights against each other, against the cut, against the team's others |
//! | `marks` | meat-on, wraps and pull against the curve |
//! | `scores` | scores against those of the team's other cooks |
//! | `rests` | the slice against the pull |
//! | `notes` | events against the card, readings by hand against the curve |
//! | `strays` | marks that lie outside their log, or off their day, and whose they are |
//! | `swapped` | marks of two cooks that each other's curve bears out |
//! | `shifts` | a shift that all marks of several cooks have in common |
//! | `copies` | the same curve under two names |
//! | `same` | one cook in the stores of two teams |
//! | `channels` | meats of one log that are on together: whose channel is whose |
//! | `sources` | a channel that jumps between two levels |
//! | `one_after_other` | cooks that follow each other in one log |
//! | `exchanges` | meats of one fire whose probes change places for a while |
//!
//! The thresholds are wide on purpose: a clean neighbour is never asked about. Each says beside it
//! what it rests on.

mod channels;
mod copies;
pub mod curve;
mod exchanges;
mod finding;
mod marks;
mod notes;
mod one_after_other;
mod rests;
mod same;
mod say;
mod scores;
mod setpoints;
mod shifts;
mod sources;
mod strays;
mod swapped;
mod weights;

pub use curve::Curve;
pub use exchanges::{MeatChannel, MeatsExchanged, meats_exchanged};
pub use finding::{Change, Examination};
pub use one_after_other::{CookInLog, cooks_in};
pub use same::{SameCook, may_be_same, same_cook};
pub use weights::cut_weighs_kg;

use cook::{Answers, Card, Event, Question, Units};
use jiff::tz::TimeZone;
use std::collections::BTreeSet;

/// A cell of a season sheet, as it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell<'a> {
    /// The column that the vocabulary knows it by: `pit_setpoint_c`, `pull`.
    pub field: &'a str,
    /// The sheet, as shown.
    pub sheet: &'a str,
    /// Its line, from 1.
    pub line: u64,
    /// The heading, as written.
    pub column: &'a str,
    /// The column that it was read as, with the unit at its end: `pit_setpoint_f`.
    pub read_as: &'a str,
    /// The text.
    pub text: &'a str,
}

/// How people write a unit of temperature or weight behind a number.
const UNITS: [&str; 18] = [
    "c",
    "f",
    "celsius",
    "fahrenheit",
    "degc",
    "degf",
    "kg",
    "kgs",
    "kilo",
    "kilos",
    "g",
    "lb",
    "lbs",
    "pound",
    "pounds",
    "oz",
    "#",
    "k",
];

impl Cell<'_> {
    fn place(&self) -> String {
        format!("{}:{} {}", self.sheet, self.line, self.column)
    }

    /// Whether the text names its unit itself.
    fn names_its_unit(&self) -> bool {
        let is_sign = |c: char| !(c.is_alphabetic() || matches!(c, '#' | '°'));
        self.text.split(is_sign).any(|word| {
            let word = word.trim_start_matches('°').to_lowercase();
            UNITS.contains(&word.as_str())
        })
    }
}

/// A meat-on that is seen this soon after the stated one is that, ms (5 min).
const SOON_MS: i64 = 300_000;

/// All that is known of a cook.
#[derive(Debug, Clone)]
pub struct Cook<'a> {
    /// Its card, with the marks resolved.
    pub card: &'a Card,
    /// What was noted of it, in time order.
    pub events: Vec<&'a Event>,
    /// What its readings show; `None` where it has none.
    pub curve: Option<&'a Curve>,
    /// The cells of its row; none where no sheet has it.
    pub cells: Vec<Cell<'a>>,
    /// Where marks are noted among the events: the column that would state it, and the place.
    pub noted_at: Vec<(&'static str, &'a str)>,
    /// Whether its log counts from its own zero, which was taken for the stated meat-on.
    pub zero_is_meat_on: bool,
    /// Its logs, as shown.
    pub logs: Vec<&'a str>,
}

impl Cook<'_> {
    fn cell(&self, field: &str) -> Option<&Cell<'_>> {
        self.cells.iter().find(|cell| cell.field == field)
    }

    /// Whether its log counts from its own zero, and its curve shows meat-on, or else the pull, later than
    /// they are stated: that was asked when the log was read, and all marks hang on it.
    fn zero_is_in_doubt(&self) -> bool {
        let Some(curve) = self.curve.filter(|_| self.zero_is_meat_on) else { return false };
        let marks = &self.card.marks;
        let on = curve.meat_on_ms.zip(marks.meat_on_ms);
        let late = on.or(curve.pull_ms.zip(marks.pull_ms)).map(|(seen, said)| seen - said);
        late.is_some_and(|late| late >= SOON_MS)
    }

    /// A question with this cook's logs among its places.
    fn at_logs(&self, question: Question) -> Question {
        self.logs.iter().fold(question, |question, log| question.at(*log))
    }

    /// Where a mark or value is stated: its cell, else the event that notes it, else the cook by name.
    fn place(&self, field: &str) -> String {
        let noted = || {
            let (_, place) = self.noted_at.iter().find(|(column, _)| *column == field)?;
            Some((*place).to_owned())
        };
        let named = || format!("cook `{}`", self.card.cook);
        self.cell(field).map(Cell::place).or_else(noted).unwrap_or_else(named)
    }
}

/// From when on the clock times of a cook count of which no meat-on is stated, ms UTC: meat-on as the curve shows it,
/// else the log's beginning; on the card's date, or the day before or after.
pub fn counts_from(card: &Card, curve: &Curve, zone: &TimeZone) -> Option<i64> {
    let from_ms = curve.meat_on_ms.unwrap_or(curve.first_ms);
    let Some(date) = &card.date else { return Some(from_ms) };
    let date: jiff::civil::Date = date.parse().ok()?;
    let day = zone.to_datetime(jiff::Timestamp::from_millisecond(from_ms).ok()?).date();
    ((day - date).get_days().abs() <= 1).then_some(from_ms)
}

/// A season as it is held against itself.
#[derive(Debug)]
pub struct Season<'a> {
    /// Its cooks.
    pub cooks: Vec<Cook<'a>>,
    /// The zone in which times are told.
    pub zone: &'a TimeZone,
    /// The units in which values are told.
    pub units: Units,
    /// What was answered.
    pub answers: &'a Answers,
}

/// Holds all that a season says against itself. The places in the changes are those of
/// [`Season::cooks`].
pub fn examine(season: &Season<'_>) -> Examination {
    let mut examination = Examination::default();
    for finding in setpoints::find(season).into_iter().chain(weights::find(season)) {
        examination.settle(finding, season.answers);
    }
    let (of_channels, whose_is_open) = channels::find(season);
    for finding in of_channels {
        examination.settle(finding, season.answers);
    }
    let (swapped, mut in_each_others_row) = swapped::find(season, &whose_is_open);
    in_each_others_row.extend(&whose_is_open);
    let (shifted, moved) = shifts::find(season, in_each_others_row);
    for finding in swapped.into_iter().chain(shifted) {
        examination.settle(finding, season.answers);
    }
    let (noted, mut asked) = notes::find(season);
    for finding in strays::find(season, &moved, &mut asked) {
        examination.settle(finding, season.answers);
    }
    for finding in noted.into_iter().chain(marks::find(season, &moved, &asked)) {
        examination.settle(finding, season.answers);
    }
    for finding in scores::find(season) {
        examination.settle(finding, season.answers);
    }
    let of_curves = copies::find(season, &whose_is_open).into_iter().chain(sources::find(season));
    for finding in of_curves.chain(one_after_other::find(season)) {
        examination.settle(finding, season.answers);
    }
    let pulls: BTreeSet<usize> = examination.changed_pulls();
    for finding in rests::find(season, &pulls) {
        examination.settle(finding, season.answers);
    }
    examination
}
