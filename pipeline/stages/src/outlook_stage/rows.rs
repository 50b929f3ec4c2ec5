//! The rows of a forecast, as data and for people.
#![allow(clippy::type_complexity, reason = "tables of names and the functions that give them")]

use super::forecast::Said;
use super::words;
use jiff::tz::TimeZone;
use outlook::Range;
use store::{Column, Table};

const MS_PER_HOUR: f64 = 3_600_000.0;

/// One row: a cook as it is, or under a change.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) cook: String,
    pub(super) asked_at_ms: i64,
    pub(super) option: String,
    /// What the ranges count from, ms UTC.
    pub(super) from_ms: i64,
    pub(super) finish: Option<Range>,
    pub(super) target: Option<Range>,
    pub(super) minus_as_is: Option<Range>,
    pub(super) pull: Option<Range>,
    pub(super) slice: Option<Range>,
    pub(super) turn_in_ms: Option<i64>,
    pub(super) latest_wrap_ms: Option<i64>,
    pub(super) latest_raise_ms: Option<i64>,
    pub(super) phase: Option<&'static str>,
    pub(super) basis: Option<&'static str>,
    pub(super) alike: Option<usize>,
    pub(super) unlike: Option<bool>,
    pub(super) reason: Option<String>,
}

impl Row {
    pub(super) fn new(cook: &str, asked_at_ms: i64, option: &str) -> Self {
        Self {
            cook: cook.to_owned(),
            asked_at_ms,
            option: option.to_owned(),
            from_ms: asked_at_ms,
            finish: None,
            target: None,
            minus_as_is: None,
            pull: None,
            slice: None,
            turn_in_ms: None,
            latest_wrap_ms: None,
            latest_raise_ms: None,
            phase: None,
            basis: None,
            alike: None,
            unlike: None,
            reason: None,
        }
    }

    /// What it says, but for the moment asked about.
    pub(super) fn said(&self) -> Said {
        let ends = |range: Option<Range>| {
            let range = range.map(|range| [range.hours, range.lo, range.hi].map(|h| self.at(h)));
            [0, 1, 2].map(|end| range.map(|range| range[end]))
        };
        let words = [
            Some(self.cook.clone()),
            Some(self.option.clone()),
            self.phase.map(str::to_owned),
            self.reason.clone(),
        ];
        Said {
            words: words.into_iter().map(Option::unwrap_or_default).collect(),
            instants: [ends(self.finish), ends(self.pull)]
                .concat()
                .into_iter()
                .chain([self.latest_wrap_ms, self.latest_raise_ms])
                .collect(),
        }
    }

    fn at(&self, hours: f64) -> i64 {
        // Whole minutes: no forecast is known to the second.
        let minutes = (self.from_ms as f64 + hours * MS_PER_HOUR) / 60_000.0;
        (minutes.round() as i64) * 60_000
    }
}

/// The rows in SI with instants in UTC.
pub(super) fn table(rows: &[Row], level: u8) -> Table {
    let text = |of: &dyn Fn(&Row) -> Option<String>| Column::Text(rows.iter().map(of).collect());
    let instant = |of: &dyn Fn(&Row) -> Option<i64>| Column::Instant(rows.iter().map(of).collect());
    let mut table = Table::new()
        .with("cook", text(&|row| Some(row.cook.clone())))
        .with("asked_at", instant(&|row| Some(row.asked_at_ms)))
        .with("option", text(&|row| Some(row.option.clone())));
    let spans: [(&str, fn(&Row) -> Option<Range>); 4] = [
        ("finish_at", |row| row.finish),
        ("target_at", |row| row.target),
        ("pull_at", |row| row.pull),
        ("slice_at", |row| row.slice),
    ];
    for (place, (name, of)) in spans.into_iter().enumerate() {
        let ends: [(String, fn(Range) -> f64); 3] = [
            (name.to_owned(), |range| range.hours),
            (format!("{name}_lo{level}"), |range| range.lo),
            (format!("{name}_hi{level}"), |range| range.hi),
        ];
        for (column, end) in ends {
            table = table.with(&column, instant(&|row| of(row).map(|range| row.at(end(range)))));
        }
        if place == 1 {
            let ends: [(String, fn(Range) -> f64); 3] = [
                ("minus_as_is_min".into(), |range| range.hours),
                (format!("minus_as_is_min_lo{level}"), |range| range.lo),
                (format!("minus_as_is_min_hi{level}"), |range| range.hi),
            ];
            for (column, end) in ends {
                let values = rows.iter().map(|row| row.minus_as_is.map(|r| end(r).round()));
                table = table.with(&column, Column::Float(values.collect()));
            }
        }
    }
    table
        .with("latest_wrap_at", instant(&|row| row.latest_wrap_ms))
        .with("latest_raise_at", instant(&|row| row.latest_raise_ms))
        .with("phase", text(&|row| row.phase.map(str::to_owned)))
        .with("basis", text(&|row| row.basis.map(str::to_owned)))
        .with("alike", Column::Int(rows.iter().map(|row| row.alike.map(|n| n as i64)).collect()))
        .with("unlike", Column::Bool(rows.iter().map(|row| row.unlike).collect()))
        .with("reason", text(&|row| row.reason.clone()))
}

/// The rows by the season's clock.
pub(super) fn people(rows: &[Row], zone: &TimeZone, level: u8) -> Table {
    let cells: Vec<Vec<(String, Option<String>)>> =
        rows.iter().map(|row| cells(row, zone, level)).collect();
    let names = self::cells(&Row::new("", 0, ""), zone, level);
    names.into_iter().enumerate().fold(Table::new(), |table, (place, (name, _))| {
        let column = cells.iter().map(|row| row[place].1.clone()).collect();
        table.with(&name, Column::Text(column))
    })
}

/// What a row says, each with its label.
pub(super) fn facts(row: &Row, zone: &TimeZone, level: u8) -> Vec<(String, String)> {
    let cells = cells(row, zone, level).into_iter();
    cells.skip(1).filter_map(|(label, text)| Some((format!("{label}:"), text?))).collect()
}

fn cells(row: &Row, zone: &TimeZone, level: u8) -> Vec<(String, Option<String>)> {
    let clock = |at_ms: i64| words::clock(at_ms, row.asked_at_ms, zone);
    let at = |at_ms: Option<i64>| at_ms.map(clock);
    let span = |range: Option<Range>| {
        let [middle, lo, hi] = range.map(|r| [r.hours, r.lo, r.hi].map(|h| clock(row.at(h))))?;
        Some(format!("{middle} ({lo} – {hi})"))
    };
    let effect = row.minus_as_is.map(|range| {
        let word = if range.hours < 0.0 { "sooner" } else { "later" };
        let (a, b) = (range.lo.abs().min(range.hi.abs()), range.lo.abs().max(range.hi.abs()));
        let (a, b) = (words::minutes(a), words::minutes(b));
        format!("{} {word} ({a} to {b})", words::minutes(range.hours))
    });
    let to_go = row.finish.map(|range| words::minutes(60.0 * range.hours));
    [
        ("cook", Some(row.cook.clone())),
        ("asked", Some(clock(row.asked_at_ms))),
        ("option", Some(row.option.clone())),
        (&*format!("finish ({level} in 100)"), span(row.finish)),
        ("to go", to_go),
        ("target", span(row.target)),
        ("against as it is", effect),
        ("pull", span(row.pull)),
        ("slice", span(row.slice)),
        ("turn-in", at(row.turn_in_ms)),
        ("foil at the latest", at(row.latest_wrap_ms)),
        ("hotter at the latest", at(row.latest_raise_ms)),
        ("phase", row.phase.map(str::to_owned)),
        ("alike", row.alike.map(|alike| alike.to_string())),
        ("reason", row.reason.clone()),
    ]
    .map(|(name, text)| (name.to_owned(), text))
    .into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outlook_stage::ForecastSummary;

    #[test]
    fn an_answer_moves_by_five_minutes_or_a_word_and_not_with_the_clock() {
        let summary = |asked_at_ms: i64, finish_h: f64, reason: Option<&str>| {
            let mut row = Row::new("a", asked_at_ms, "as-is");
            row.from_ms = 0;
            row.finish = Some(Range { hours: finish_h, lo: finish_h - 1.0, hi: finish_h + 1.0 });
            row.reason = reason.map(str::to_owned);
            ForecastSummary {
                table: Table::new(),
                people: Table::new(),
                notes: Vec::new(),
                asked: 1,
                answered: 1,
                page: None,
                said: vec![row.said()],
            }
        };
        let first = summary(0, 3.0, None);
        assert!(!summary(600_000, 3.0 + 4.0 / 60.0, None).has_moved_from(&first));
        assert!(summary(600_000, 3.0 + 5.0 / 60.0, None).has_moved_from(&first));
        assert!(summary(0, 3.0, Some("It is wrapped already.")).has_moved_from(&first));
    }
}
