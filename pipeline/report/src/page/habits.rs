//! How we cook: the team's usual times, wraps, pulls and rests, for who is new to it.

use cook::Units;

use super::cautions;
use crate::data::ReportData;
use crate::document::{
    Block, Cell, Document, Inlines, Section, Table, inlines, link, numbers, paragraph, text,
};
use crate::names::{name_of, quantity_of};
use crate::units::{Quantity, count};
use crate::words::{self, plural, spoken};
use study::result::summary::{Habit, Usual};

/// The page.
pub(crate) fn habits_page(data: &ReportData, units: Units) -> Document {
    let sections = data.habits.iter().enumerate().map(|(place, habit)| {
        let cut =
            habit.cut.as_deref().map_or_else(|| "Cut not stated".to_owned(), words::capitalised);
        let heading = format!("{cut}: {}", plural(habit.cooks, "cook"));
        Section::new(format!("cut-{}", place + 1), heading, blocks(habit, units))
    });
    let mut sections: Vec<Section> = sections.collect();
    if !sections.is_empty() {
        sections.push(Section::new("cautions", "Before anything else", cautions::standing()));
    }
    Document {
        title: format!("{}: how we cook", data.team),
        kicker: "How we cook".into(),
        name: data.team.clone(),
        subtitle: "What is usual here, for who is new. What is better is told in the summary."
            .into(),
        trail: trail(data),
        caution: Some(cautions::line(Some("#cautions"))),
        sections,
        version: data.study.provenance.version.clone(),
        ..Document::default()
    }
}

fn trail(data: &ReportData) -> Inlines {
    let summary = data.summary_page.as_ref().map(|page| link(page, "Summary"));
    let report = data.report_page.as_ref().map(|page| link(page, "Report"));
    match (summary, report) {
        (Some(summary), Some(report)) => inlines![summary, " · ", report],
        (one, other) => one.or(other).unwrap_or_default(),
    }
}

fn blocks(habit: &Habit, units: Units) -> Vec<Block> {
    let cut = habit.cut.as_deref().unwrap_or("such a cut");
    let mut blocks = Vec::new();
    if !habit.usual.is_empty() {
        let rows = habit.usual.iter().map(|usual| {
            vec![
                name_of(&usual.column).into(),
                shown(usual, usual.median, units).into(),
                between(usual, units).into(),
                count(usual.cooks).into(),
            ]
        });
        let columns = [
            text("What"),
            numbers("In the middle", ""),
            numbers("Eight of ten cooks", ""),
            numbers("Cooks", ""),
        ];
        let caption = format!("What is usual with {cut}");
        let remark = "Of fewer than ten cooks: the smallest and the largest. ≥: some logs ended before it did.";
        blocks.push(Table::new(caption, columns.to_vec(), rows.collect()).remark(remark).into());
    }
    blocks.extend(wraps(habit, cut, units));
    if !habit.before_turn_in.is_empty() {
        let said: Vec<String> = habit.before_turn_in.iter().map(before_turn_in).collect();
        blocks.push(paragraph(format!("Before a turn-in: {}.", said.join("; "))));
    }
    blocks
}

/// The wraps, a row a method, with the measures in the order of those of all cooks.
fn wraps(habit: &Habit, cut: &str, units: Units) -> Option<Block> {
    let wraps = &habit.wraps;
    let is_of_wraps = |column: &&str| {
        wraps.iter().flat_map(|wrap| &wrap.usual).any(|usual| usual.column == *column)
    };
    let known: Vec<&str> =
        habit.usual.iter().map(|usual| usual.column.as_str()).filter(is_of_wraps).collect();
    let columns = [text("Wrap"), numbers("Cooks", "")]
        .into_iter()
        .chain(known.iter().map(|column| numbers(name_of(column), "")));
    let rows = wraps.iter().map(|wrap| {
        let cell = |column: &&str| -> Cell {
            let usual = wrap.usual.iter().find(|usual| usual.column == *column);
            usual.map(|usual| shown(usual, usual.median, units)).into()
        };
        let method = match wrap.method.as_str() {
            "none" => "Not wrapped".to_owned(),
            method => words::capitalised(method),
        };
        [method.into(), count(wrap.cooks).into()]
            .into_iter()
            .chain(known.iter().map(cell))
            .collect()
    });
    let caption = format!("How {cut} is wrapped: the middle cook of each");
    let remark = "Described, not caused: who wraps late had a long stall to wait out. The summary says what a wrap does.";
    (!wraps.is_empty()).then(|| {
        Table::new(caption, columns.collect::<Vec<_>>(), rows.collect()).remark(remark).into()
    })
}

/// `meat on 15 h (13 h to 17 h)`.
fn before_turn_in(usual: &Usual) -> String {
    format!(
        "{} {} ({} to {}; {})",
        name_of(&usual.column).to_lowercase(),
        spoken(usual.median),
        spoken(usual.range.0),
        spoken(usual.range.1),
        plural(usual.cooks, "cook")
    )
}

fn between(usual: &Usual, units: Units) -> String {
    let (lo, hi) = usual.range;
    format!("{} to {}", shown(usual, lo, units), shown(usual, hi, units))
}

/// A value as people say it; one that may be larger says so.
fn shown(usual: &Usual, value: f64, units: Units) -> String {
    let may_be_larger = usual.least_bound.is_some_and(|bound| bound <= value);
    let value = match quantity_of(&usual.column) {
        Quantity::Minutes => spoken(value),
        quantity => quantity.show(value, units),
    };
    format!("{}{value}", if may_be_larger { "≥ " } else { "" })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::terminal;
    use columns::measures;
    use study::result::summary::WrapHabit;

    fn usual(column: columns::Description, median: f64, range: (f64, f64), cooks: usize) -> Usual {
        Usual { column: column.name.into(), cooks, median, range, least_bound: None }
    }

    #[test]
    fn habits_are_read_in_the_units_of_the_team() {
        let open = Usual {
            least_bound: Some(120.0),
            ..usual(measures::REST_MIN, 90.0, (60.0, 240.0), 12)
        };
        let habit = Habit {
            cut: Some("brisket".into()),
            cooks: 12,
            usual: vec![
                usual(measures::WRAP_AT_CORE_C, 71.1, (68.0, 75.0), 8),
                usual(measures::TOTAL_MIN, 655.0, (540.0, 812.0), 12),
                open,
            ],
            wraps: vec![
                WrapHabit {
                    method: "foil".into(),
                    cooks: 8,
                    usual: vec![usual(measures::WRAP_AT_CORE_C, 71.1, (68.0, 75.0), 8)],
                },
                WrapHabit { method: "none".into(), cooks: 4, usual: Vec::new() },
            ],
            before_turn_in: vec![usual(measures::MEAT_ON_MS, 900.0, (780.0, 1020.0), 3)],
        };
        let data =
            ReportData { team: "Low Water".into(), habits: vec![habit], ..ReportData::default() };
        let page = terminal::page(&habits_page(&data, Units::Us), 80);
        insta::assert_snapshot!(page.split("Before anything else").next().unwrap_or_default());
    }

    #[test]
    fn a_team_without_habits_has_no_page() {
        assert!(habits_page(&ReportData::default(), Units::Us).sections.is_empty());
    }
}
