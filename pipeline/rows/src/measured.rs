//! Measures, history, degrees and moved constants of a cook, as rows and as tables of all cooks.

use crate::cook_input::{CookInput, Rules};
use crate::error::RowsError;
use crate::moved::{self, Moved};
use crate::noted::NotedCooks;
use crate::typed::{Typed, required};
use columns::tables::COMPUTED_FROM;
use columns::{Column, Description, Kind, Table, Value};
use cook::{Card, Celsius, PhaseDefinition};
use measures::{DegreesInput, HistoryInput, MeasureInput, MeasureRow, StudyClock};
use phases::{MovedJudgement, Samples, SegmentedCook};
use std::collections::{HashMap, HashSet};
use std::ops::Range;

/// One cook, measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    computed_from: String,
    /// Columns of the measure row, in order.
    row: Vec<(String, Value)>,
    history: Table,
    degrees: Table,
    moved: Table,
    moved_history: Table,
}

/// The tables of measured cooks.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredTables {
    /// A row a cook.
    pub measures: Table,
    /// A row a cook and ten minutes of the study clock.
    pub history: Table,
    /// A row a cook and °C of core, split where it was wrapped or unwrapped.
    pub degrees: Table,
    /// A row a cook and moved constant.
    pub moved: Table,
    /// The rows of `history`, with what the moved constants make of them.
    pub moved_history: Table,
}

impl Measured {
    /// A cook without readings: what its card says.
    pub fn without_readings(cook: &CookInput<'_>, rules: &Rules) -> Self {
        let computed_from = cook.measured_from("", rules);
        Self::without_segmentation(cook, rules, "no-readings", computed_from)
    }

    pub(crate) fn without_segmentation(
        cook: &CookInput<'_>,
        rules: &Rules,
        reason: &str,
        computed_from: String,
    ) -> Self {
        Self {
            row: measures::measure(&input(cook, rules, Err(reason))).columns(),
            history: with_hash(to_table(columns::history::ALL, Vec::new()), &computed_from),
            degrees: with_hash(to_table(columns::degrees::ALL, Vec::new()), &computed_from),
            moved: with_hash(moved::table("", &[]), &computed_from),
            moved_history: with_hash(moved::history_table("", &[], &[]), &computed_from),
            computed_from,
        }
    }

    /// Hash of what the rows were computed from.
    pub fn computed_from(&self) -> &str {
        &self.computed_from
    }
}

fn input<'a>(
    cook: &CookInput<'a>,
    rules: &'a Rules,
    segmentation: Result<&'a phases::Segmentation, &'a str>,
) -> MeasureInput<'a> {
    MeasureInput {
        card: cook.card,
        segmentation,
        marks: None,
        lead: None,
        events: cook.events,
        definition: &rules.definition,
        core_after_slice: Samples::default(),
        assumed_pit_dew_point: rules.pit_dew_point_c.map(Celsius),
    }
}

pub(crate) fn row_of(
    cook: &CookInput<'_>,
    rules: &Rules,
    definition: &PhaseDefinition,
    found: &SegmentedCook,
) -> MeasureRow {
    measures::measure(&MeasureInput {
        marks: Some(&found.marks),
        lead: Some(&found.lead),
        core_after_slice: found.core_after_slice.view(),
        definition,
        ..input(cook, rules, Ok(&found.segmentation))
    })
}

/// A segmented cook's rows: by the season's own definition, and by the moved ones.
pub(crate) fn measured(
    cook: &CookInput<'_>,
    rules: &Rules,
    (mut found, apart): (SegmentedCook, Option<Vec<f64>>),
    moved: Vec<MovedJudgement>,
    computed_from: String,
) -> Measured {
    let row = row_of(cook, rules, &rules.definition, &found).columns();
    let history = measures::history(HistoryInput {
        card: cook.card,
        events: cook.events,
        on_fire: cook.on_fire,
        marks: &found.marks,
        segmentation: &found.segmentation,
        pit: found.pit.view(),
        definition: &rules.definition,
    });
    let wrappings = measures::wrappings(cook.card, &found.marks, cook.events);
    let degrees = measures::degrees(DegreesInput {
        cook: &cook.card.cook,
        events: cook.events,
        wrappings: wrappings.as_deref(),
        heating: &found.segmentation.judgement.heating,
        core_apart_c: apart.as_deref(),
        clock: StudyClock::of(
            &found.segmentation,
            rules.definition.stall_from_c,
            rules.definition.finish_c,
        ),
        definition: &rules.definition,
    });
    // No constant that is moved moves the clock.
    let definition = &rules.definition;
    let clock = StudyClock::of(&found.segmentation, definition.stall_from_c, definition.finish_c);
    let minutes: Vec<i64> = history.iter().map(|row| row.minute).collect();
    let moved: Vec<Moved> = moved
        .into_iter()
        .map(|moved| {
            let MovedJudgement { constant, to, definition, judgement } = moved;
            let Ok(judgement) = judgement else { return Moved::contradicted(constant, to) };
            found.segmentation.judgement = judgement;
            let row = row_of(cook, rules, &definition, &found);
            let zero_ms = clock.map_or(0, |clock| clock.zero_ms);
            let at_ms = minutes.iter().map(|minute| zero_ms + minute * 60_000);
            Moved::of(constant, to, &row, &found.segmentation.judgement, at_ms)
        })
        .collect();
    let name = &cook.card.cook;
    let owned = |cells: Vec<(Description, Value)>| {
        cells.into_iter().map(|(column, value)| (column.into(), value)).collect::<Vec<_>>()
    };
    let cells = history.iter().map(|row| owned(row.cells()));
    let degree_cells = degrees.iter().map(|row| owned(row.cells()));
    Measured {
        row,
        history: with_hash(to_table(columns::history::ALL, cells.collect()), &computed_from),
        degrees: with_hash(to_table(columns::degrees::ALL, degree_cells.collect()), &computed_from),
        moved: with_hash(moved::table(name, &moved), &computed_from),
        moved_history: with_hash(moved::history_table(name, &minutes, &moved), &computed_from),
        computed_from,
    }
}

fn with_hash(table: Table, computed_from: &str) -> Table {
    let hashes = vec![Some(computed_from.to_owned()); table.rows()];
    table.with(COMPUTED_FROM, Column::Text(hashes))
}

impl MeasuredTables {
    /// The tables of cooks, in their order.
    pub fn of(cooks: Vec<Measured>) -> Self {
        let hashes = cooks.iter().map(|cook| Some(cook.computed_from.clone())).collect();
        let of_all = |part: fn(&Measured) -> &Table, none: Table| {
            concat(&with_hash(none, ""), &cooks.iter().map(part).collect::<Vec<_>>())
        };
        let history = of_all(|cook| &cook.history, to_table(columns::history::ALL, Vec::new()));
        let degrees = of_all(|cook| &cook.degrees, to_table(columns::degrees::ALL, Vec::new()));
        let moved = of_all(|cook| &cook.moved, moved::table("", &[]));
        let moved_history = of_all(|cook| &cook.moved_history, moved::history_table("", &[], &[]));
        let rows = cooks.into_iter().map(|cook| cook.row).collect();
        let measures = to_table(&known_columns(), rows).with(COMPUTED_FROM, Column::Text(hashes));
        Self { measures, history, degrees, moved, moved_history }
    }

    /// The tables of some cooks, with the columns of their own that all cooks of the season together have.
    pub fn of_some(cooks: Vec<Measured>, season: &NotedCooks) -> Self {
        let mut tables = Self::of(cooks);
        let rows = season.records().iter().map(|record| own_columns(&record.card)).collect();
        let own = to_table(&[], rows);
        let mut measures = Table::new();
        let known = known_columns();
        for column in &known {
            measures.push(
                column.name,
                tables
                    .measures
                    .column(column.name)
                    .cloned()
                    .unwrap_or_else(|| column.kind.column(std::iter::empty())),
            );
        }
        let rows = tables.measures.rows();
        for (name, column) in own.columns() {
            let kind = column.holds();
            let values = (0..rows).map(|row| {
                tables.measures.column(name).map_or(Value::Null, |column| column.value(row))
            });
            measures.push(name, kind.column(values));
        }
        if let Some(hashes) = tables.measures.column(COMPUTED_FROM.name) {
            measures.push(COMPUTED_FROM, hashes.clone());
        }
        tables.measures = measures;
        tables
    }

    /// Finds the rows of each cook.
    ///
    /// # Errors
    /// A table without cooks or hashes.
    pub fn by_cook(&self) -> Result<MeasuredCooks<'_>, RowsError> {
        let mut cooks: HashMap<&str, Places<'_>> = HashMap::new();
        let hashes = Typed::text(&self.measures, COMPUTED_FROM)?;
        for (row, cook) in Typed::text(&self.measures, "cook")?.iter().enumerate() {
            let cook = required("cook", row, cook.as_deref())?;
            let computed_from = required(COMPUTED_FROM, row, hashes[row].as_deref())?;
            cooks.insert(cook, Places { row, computed_from, parts: Default::default() });
        }
        let mut half_made: HashSet<&str> = HashSet::new();
        for (part, table) in
            [&self.history, &self.degrees, &self.moved, &self.moved_history].iter().enumerate()
        {
            let hashes = table.text(COMPUTED_FROM)?;
            for (row, cook) in table.text("cook")?.iter().enumerate() {
                let cook = required("cook", row, cook.as_deref())?;
                let Some(places) = cooks.get_mut(cook) else { continue };
                let range = &mut places.parts[part];
                let first = range.start == range.end;
                let follows = first || range.end == row;
                if !follows || hashes[row].as_deref() != Some(places.computed_from) {
                    half_made.insert(cook);
                }
                *range = if first { row..row + 1 } else { range.start..row + 1 };
            }
        }
        cooks.retain(|cook, _| !half_made.contains(cook));
        Ok(MeasuredCooks { tables: self, cooks })
    }
}

/// Where the rows of a cook stand.
#[derive(Debug)]
struct Places<'a> {
    row: usize,
    computed_from: &'a str,
    /// In history, degrees, moved and moved history.
    parts: [Range<usize>; 4],
}

/// The tables of measured cooks, cook by cook. A cook is left out where its rows in one table were
/// computed from something else than those in another, as after a crash between them.
#[derive(Debug)]
pub struct MeasuredCooks<'a> {
    tables: &'a MeasuredTables,
    cooks: HashMap<&'a str, Places<'a>>,
}

impl MeasuredCooks<'_> {
    /// The rows of a cook, where they were computed from this. What the card says in words of its own
    /// is taken from it: the table has a column for it if any cook has.
    pub fn kept(&self, card: &Card, computed_from: &str) -> Option<Measured> {
        let places = self.cooks.get(card.cook.as_str())?;
        if places.computed_from != computed_from {
            return None;
        }
        let MeasuredTables { measures, history, degrees, moved, moved_history } = self.tables;
        let mut row = Vec::new();
        for column in columns::measures::columns() {
            let value = measures.column(column.name)?.value(places.row);
            row.push((column.name.to_owned(), value));
        }
        row.extend(own_columns(card));
        let part = |table: &Table, index: usize| {
            table.take(&places.parts[index].clone().collect::<Vec<_>>())
        };
        Some(Measured {
            computed_from: computed_from.to_owned(),
            row,
            history: part(history, 0),
            degrees: part(degrees, 1),
            moved: part(moved, 2),
            moved_history: part(moved_history, 3),
        })
    }
}

/// The team's own columns of a cook, which follow those that every row has.
fn own_columns(card: &Card) -> Vec<(String, Value)> {
    let scores = card.scores.clone();
    let own = MeasureRow { scores, extra: card.extra.clone(), ..MeasureRow::default() };
    own.columns().into_iter().skip(columns::measures::ALL.len()).collect()
}

/// Tables of one schema, one behind the other.
fn concat(schema: &Table, tables: &[&Table]) -> Table {
    macro_rules! all {
        ($kind:ident, $name:expr) => {
            Column::$kind(
                tables
                    .iter()
                    .filter_map(|table| match table.column($name) {
                        Some(Column::$kind(values)) => Some(values.iter().cloned()),
                        _ => None,
                    })
                    .flatten()
                    .collect(),
            )
        };
    }
    let mut out = Table::new();
    for (name, column) in schema.columns() {
        out.push(
            name,
            match column {
                Column::Text(_) => all!(Text, name),
                Column::Float(_) => all!(Float, name),
                Column::Int(_) => all!(Int, name),
                Column::Bool(_) => all!(Bool, name),
                Column::Instant(_) => all!(Instant, name),
            },
        );
    }
    out
}

/// Rows as a table: the known columns first, then the others in the order of first appearance.
pub(crate) fn to_table(known: &[Description], rows: Vec<Vec<(String, Value)>>) -> Table {
    let mut names: Vec<String> = known.iter().map(|column| column.name.to_owned()).collect();
    let mut seen: HashSet<String> = names.iter().cloned().collect();
    for (name, _) in rows.iter().flatten() {
        if seen.insert(name.clone()) {
            names.push(name.clone());
        }
    }
    let mut cells: Vec<HashMap<String, Value>> =
        rows.into_iter().map(|row| row.into_iter().collect()).collect();
    let mut table = Table::new();
    for name in names {
        let values: Vec<Value> =
            cells.iter_mut().map(|row| row.remove(&name).unwrap_or(Value::Null)).collect();
        let kind = kind_of(known, &name, &values);
        table.push(name, kind.column(values.into_iter()));
    }
    table
}

fn kind_of(known: &[Description], name: &str, values: &[Value]) -> Kind {
    let described = known.iter().find(|column| column.name == name).map(|column| column.kind);
    described.or_else(|| values.iter().find_map(Value::kind)).unwrap_or(Kind::Text)
}

/// The columns of the measures that every season has.
fn known_columns() -> Vec<Description> {
    columns::measures::columns().collect()
}
