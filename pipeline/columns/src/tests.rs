//! Label, text, unit, suffix and kind of every column against each other.

use crate::card::{self, Anonymised};
use crate::describe::Description;
use crate::names::SUFFIXES;
use crate::sheet::{Holds, SheetColumn, Stated, american};
use crate::{Kind, Quantity, Value, derived, history, measures, tables};
use cook::Card;
use std::collections::{BTreeMap, BTreeSet};

/// Every list, by the table's name.
fn lists() -> Vec<(&'static str, Vec<Description>)> {
    let mut lists = tables::all();
    lists.push(("derived", derived::ALL.to_vec()));
    lists
}

fn each(check: impl Fn(&str, &Description)) {
    for (table, columns) in lists() {
        for column in &columns {
            check(&format!("{table}.{}", column.name), column);
        }
    }
}

#[test]
fn a_table_has_each_name_once() {
    for (table, columns) in lists() {
        let names: BTreeSet<&str> = columns.iter().map(|column| column.name).collect();
        assert_eq!(names.len(), columns.len(), "{table}");
    }
}

#[test]
fn one_name_means_one_thing_wherever_it_stands() {
    // A column of one table that another repeats keeps its quantity and its kind.
    let mut first: BTreeMap<&str, (String, Description)> = BTreeMap::new();
    for (table, columns) in lists() {
        for column in columns {
            let (where_first, known) =
                first.entry(column.name).or_insert_with(|| (table.to_owned(), column));
            let place = format!("{}: {where_first} and {table}", column.name);
            assert_eq!(known.kind, column.kind, "{place}");
            assert_eq!(known.quantity, column.quantity, "{place}");
        }
    }
}

#[test]
fn numbers_have_a_quantity_and_nothing_else_has() {
    each(|place, column| {
        let is_number = matches!(column.kind, Kind::Int | Kind::Float);
        assert_eq!(column.quantity.is_some(), is_number, "{place}");
    });
}

#[test]
fn the_end_of_a_name_promises_the_quantity_that_the_column_has() {
    let spans = [("_ms", "ms"), ("_s", "s")];
    each(|place, column| {
        let Some(quantity) = column.quantity else {
            // A flag is named after the column it stands beside, without being a number.
            let is_flag = column.name.ends_with("_censored") || column.kind == Kind::Text;
            let promises = SUFFIXES.iter().find(|(suffix, _)| column.name.ends_with(suffix));
            assert!(is_flag || promises.is_none(), "{place} ends like a number");
            return;
        };
        for (suffix, unit) in spans {
            assert!(!column.name.ends_with(suffix) || column.unit() == unit, "{place}");
        }
        let Some((_, promised)) = SUFFIXES.iter().find(|(end, _)| column.name.ends_with(end))
        else {
            return;
        };
        let kept = match (promised, quantity) {
            (Quantity::Temperature, Quantity::TemperatureDifference)
            | (Quantity::Plain { unit: "m", .. }, Quantity::Altitude) => true,
            // A price and a rate of burning are told by a mass, and end in its unit.
            (Quantity::Mass, Quantity::CostPerMass) => column.name.starts_with("cost_per_"),
            (Quantity::HeatingCoefficient, Quantity::Mass) => column.name.contains("_kg_per_"),
            (promised, quantity) => *promised == quantity,
        };
        assert!(kept, "{place} promises {promised:?} and is {quantity:?}");
    });
}

#[test]
fn what_has_a_unit_says_so_in_its_name() {
    let without = [Quantity::Count, Quantity::Score];
    each(|place, column| {
        let Some(quantity) = column.quantity else { return };
        let unit = column.unit();
        if unit.is_empty() || unit == "1" || without.contains(&quantity) {
            return;
        }
        let words: Vec<&str> = column.name.split('_').collect();
        let said = match unit {
            "°C" => vec!["c"],
            "1/h" => vec!["h"],
            "min/kg" => vec!["min", "kg"],
            "per kg" => vec!["kg"],
            "K·h" => vec!["kh"],
            unit => vec![unit],
        };
        // The minute of the study clock is the name of the unit.
        let is_said = said.iter().all(|part| words.contains(part)) || column.name == "minute";
        assert!(is_said, "{place} does not say {unit}");
    });
}

#[test]
fn differences_of_temperature_say_what_of() {
    let words = ["Standard deviation", "less", "Added", "fell", "off", "difference", "Correction"];
    each(|place, column| {
        if column.quantity == Some(Quantity::TemperatureDifference) {
            assert!(words.iter().any(|word| column.meaning.contains(word)), "{place}");
        }
    });
}

#[test]
fn labels_and_meanings_are_for_people() {
    each(|place, column| {
        assert!(column.label.starts_with(|c: char| c.is_uppercase()), "{place}");
        assert!(!column.label.contains('_') && !column.label.ends_with('.'), "{place}");
        assert!(column.meaning.ends_with('.') && column.meaning.len() > 3, "{place}");
        assert_eq!(column.label.trim(), column.label, "{place}");
    });
}

#[test]
fn measures_have_labels_that_tell_them_apart() {
    let mut labels = BTreeMap::new();
    for column in measures::columns() {
        let before = labels.insert(column.label, column.name);
        assert_eq!(before, None, "{} and {before:?} read alike", column.name);
    }
}

#[test]
fn what_makes_a_lower_bound_is_in_the_same_table() {
    for (table, columns) in lists() {
        for column in &columns {
            let Some(bound) = column.bound else { continue };
            let by = columns.iter().find(|other| other.name == bound.by);
            assert!(by.is_some_and(|by| by.kind == Kind::Bool), "{table}.{}", column.name);
        }
    }
    // Every flag of the measures says of which column.
    let said: BTreeSet<&str> =
        measures::columns().filter_map(|column| Some(column.bound?.by)).collect();
    for flag in measures::columns().filter(|column| column.name.ends_with("_censored")) {
        assert!(said.contains(flag.name), "{} bounds nothing", flag.name);
    }
}

/// The principal columns of the measure table, in the order that its readers know.
const PRINCIPAL: &str = "cook, season, fire, date, kind, cut, pit, cooker, raw_weight_kg, \
    trimmed_weight_kg, thickness_mm, pit_setpoint_c, pit_early_c, pit_mean_c, pit_sd_c, \
    wrap_method, wrap_at_core_c, wrap_time_known, clock_to_wrap_min, clock_to_finish_min, \
    finish_reached, end_reason, start_core_c, ramp_min, k_ref_per_h, k_ref_borrowed, stalls, \
    stall_min, stall_min_censored, stall_min_lo90, stall_min_hi90, stall_start_core_c, \
    stall_end_core_c, stall_delay_min, stall_delay_censored, push_min, total_min, min_per_kg, \
    pull_core_c, carryover_c, rest_min, yield_fraction";

#[test]
fn the_principal_measures_come_first_and_in_order() {
    let principal: Vec<&str> = PRINCIPAL.split(", ").map(str::trim).collect();
    let names: Vec<&str> = measures::ALL.iter().map(|column| column.name).collect();
    assert_eq!(names[..principal.len()], principal);
}

#[test]
fn a_row_gives_back_what_is_put_in_by_name() {
    let mut row = measures::Measures::default();
    assert!(row.set("stall_min", Value::Float(212.0)));
    assert!(row.set("cook", Value::Text("a".into())));
    assert!(!row.set("stal_min", Value::Float(1.0)));
    let cells = row.cells();
    assert_eq!(cells.len(), measures::ALL.len());
    let stall = cells.iter().find(|(column, _)| *column == measures::STALL_MIN);
    assert_eq!(stall.unwrap().1, Value::Float(212.0));
    assert_eq!(cells[0].1, Value::Text("a".into()));
}

#[test]
fn a_row_read_from_a_table_knows_its_bounds_and_reasons() {
    let table = crate::table!(
        "stall_min" => [Some(210.0), None],
        "stall_min_censored" => [Some(true), None],
        "not_judged_reason" => [None, Some("warm-start")],
        "score_taste" => [Some(8.0), None],
    );
    let [known, not_judged] = [0, 1].map(|row| measures::Measures::of_row(&table, row));
    assert_eq!(known.value("stall_min"), Value::Float(210.0));
    assert_eq!(known.value("score_taste"), Value::Null);
    assert!(known.is_bound(&measures::STALL_MIN) && !known.is_bound(&measures::TOTAL_MIN));
    assert_eq!(known.reason(&measures::STALL_MIN), None);
    // A stall delay has a reason of its own, and where there is none that of the stall.
    let reason = not_judged.reason(&measures::STALL_DELAY_MIN);
    assert_eq!(reason.as_deref(), Some("warm-start"));
    let own = measures::Measures { stall_delay_reason: Some("own".into()), ..not_judged };
    assert_eq!(own.reason(&measures::STALL_DELAY_MIN).as_deref(), Some("own"));
}

#[test]
fn what_is_no_number_is_null_in_a_row() {
    let row = history::HistoryRow { k_per_h: f64::NAN, ..history::HistoryRow::default() };
    let columns: Vec<Description> = row.cells().iter().map(|cell| cell.0).collect();
    assert_eq!(columns, history::ALL);
    assert!(row.cells().contains(&(history::K_PER_H, Value::Null)));
}

/// A value that the field can hold.
fn sample(field: &card::CardField) -> Value {
    match (field.stated, field.column.kind) {
        (Stated::Words { example, .. }, _) => Value::Text(example.into()),
        (_, Kind::Text) => Value::Text("a;b".into()),
        (_, Kind::Float) => Value::Float(12.5),
        (_, Kind::Bool) => Value::Bool(true),
        (_, Kind::Instant) => Value::Instant(7),
        (_, Kind::Int) => Value::Int(7),
    }
}

#[test]
fn every_field_of_the_card_comes_back_as_set_and_touches_no_other() {
    for field in card::FIELDS {
        let mut card = Card::default();
        field.set(&mut card, sample(field));
        assert_eq!(field.get(&card), sample(field), "{}", field.column.name);
        for other in card::FIELDS.iter().filter(|other| other.column != field.column) {
            assert_eq!(other.get(&card), other.get(&Card::default()), "{}", other.column.name);
        }
    }
}

#[test]
fn every_field_of_the_card_is_in_the_list() {
    // All fields set, the card must have no empty member left besides scores and own columns.
    let mut card = Card::default();
    for field in card::FIELDS {
        field.set(&mut card, sample(field));
    }
    let text = format!("{card:?}");
    assert!(!text.contains("None"), "{text}");
}

#[test]
fn words_of_a_sheet_are_those_that_the_card_reads() {
    for field in card::FIELDS {
        let Stated::Words { words, example } = field.stated else { continue };
        assert!(words.contains(&example));
        for word in words {
            let mut card = Card::default();
            field.set(&mut card, Value::Text((*word).into()));
            assert_eq!(field.get(&card), Value::Text((*word).into()), "{}", field.column.name);
        }
    }
}

#[test]
fn the_sheets_columns_agree_with_their_units() {
    let mut names = BTreeSet::new();
    for field in card::FIELDS {
        let columns = field.sheet_columns();
        let name = field.column.name;
        for SheetColumn { name, example, holds, .. } in &columns {
            assert!(names.insert(*name), "`{name}` stands twice");
            assert!(!example.is_empty(), "{name}");
            let number = example.parse::<f64>();
            assert_eq!(number.is_ok() && *name != "season", *holds == Holds::Number, "{name}");
        }
        let Stated::Either { american: other, fits, .. } = field.stated else { continue };
        let (unit, suffix, convert) = american(field.column.quantity.unwrap()).unwrap();
        let (stem, _) = name.rsplit_once('_').unwrap();
        assert_eq!(other, format!("{stem}{suffix}"));
        assert_eq!(columns[1].unit, Some(unit));
        let value = |i: usize| columns[i].example.parse::<f64>().unwrap();
        // The two examples are one quantity, rounded, and one that can be.
        let (own, converted) = (value(0), convert(value(1)));
        assert!((own - converted).abs() <= 0.01 * own.abs().max(5.0), "{name}");
        assert!(fits(own) && fits(converted), "{name}");
    }
}

#[test]
fn free_text_is_never_kept_in_a_store_that_is_given_away() {
    for field in card::FIELDS {
        let free = matches!(field.stated, Stated::Text { .. });
        assert!(!free || field.anonymised != Anonymised::Kept, "{}", field.column.name);
        let is_instant = field.column.kind == Kind::Instant;
        assert_eq!(is_instant, field.anonymised == Anonymised::Moved, "{}", field.column.name);
    }
}

#[test]
fn a_card_refuses_what_its_sheet_would() {
    let refused = |field: card::CardField, value: Value| field.refuses(&value);
    let number = |field, number| refused(field, Value::Float(number));
    assert_eq!(number(card::TRIMMED_WEIGHT_KG, -5.0).unwrap(), "-5 kg is no trimmed weight");
    assert_eq!(number(card::TRIMMED_WEIGHT_KG, 5.0), None);
    assert!(number(card::PIT_SETPOINT_C, 1000.0).is_some());
    let text = |field, text: &str| refused(field, Value::Text(text.into()));
    assert_eq!(text(card::KIND, "Comp").unwrap(), "`Comp` is none of practice, contest");
    assert_eq!(text(card::KIND, "Contest"), None);
    assert!(text(card::DATE, "05/02/2026").is_some());
    assert_eq!(text(card::DATE, "2026-05-02"), None);
    for field in card::FIELDS {
        assert_eq!(field.refuses(&Value::Null), None);
        for column in field.sheet_columns().iter().filter(|c| c.name == field.column.name) {
            let value = match field.column.kind {
                Kind::Float => Value::Float(column.example.parse().unwrap()),
                Kind::Text => Value::Text(column.example.into()),
                _ => continue,
            };
            assert_eq!(field.refuses(&value), None, "{}", column.name);
        }
    }
    let otherwise: Vec<&str> = card::MEAT_ON_AT.named_otherwise().map(|c| c.name).collect();
    assert_eq!(otherwise, ["meat_on"]);
}
