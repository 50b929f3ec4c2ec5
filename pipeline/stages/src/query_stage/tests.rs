use super::describe::{description, quantity};
use super::people;
use columns::{Column, Quantity, table};
use cook::{Season, Units};
use query::{Question, Tables};

#[test]
fn every_column_of_the_store_is_described() {
    for (table, columns) in columns::tables::all() {
        for column in columns {
            assert_eq!(description(table, column.name), Some(column), "{table}.{}", column.name);
        }
    }
    assert_eq!(description("measures", "rub_g"), None);
    // One name, two meanings: that of its own table counts.
    let meaning = |table| description(table, "start_core_c").unwrap().meaning;
    assert_ne!(meaning("phases"), meaning("measures"));
    assert_eq!(quantity("pit_sd_c"), Quantity::TemperatureDifference);
    assert_eq!(quantity("mean_difference_c"), Quantity::TemperatureDifference);
    assert_eq!(quantity("pit_mean_c"), Quantity::Temperature);
}

#[test]
fn people_are_shown_their_units_and_clock() {
    let weights = table!(
        "raw_weight_kg" => [4.535_923_7],
        "min_per_kg" => [100.0],
        "thickness_mm" => [63.5],
        "altitude_m" => [304.8],
        "pit_mean_c" => [121.0],
        "carryover_c" => [5.0],
        "stalls" => [2],
    )
    .with("pull_at", Column::Instant(vec![Some(1_777_680_000_000)]))
    .with("wrap_at", Column::Instant(vec![Some(1_777_680_030_000)]));
    let mut tables = Tables::default();
    tables.add("t", &weights).unwrap();
    let answer = |sql: &str| Question::parse(sql, &["t"]).unwrap().ask(&tables).unwrap();
    let season = Season { time_zone: Some("America/Chicago".into()), ..Season::default() };
    // NIST SP 811: 1 lb is 0.45359237 kg, 1 in 25.4 mm, 1 ft 0.3048 m; Chicago is five hours behind in May.
    let us = people::shown(&answer("SELECT * FROM t"), &season);
    let expected = table!(
        "raw_weight_lb" => [10.0],
        "min_per_lb" => [100.0 * 0.453_592_37],
        "thickness_in" => [2.5],
        "altitude_ft" => [1000.0],
        "pit_mean_f" => [249.8],
        "carryover_f" => [9.0],
        "stalls" => [2],
        "pull_at" => ["2026-05-01 19:00"],
        "wrap_at" => ["2026-05-01 19:00:30"],
    );
    assert_eq!(us.names().collect::<Vec<_>>(), expected.names().collect::<Vec<_>>());
    for ((name, column), (_, expected)) in us.columns().iter().zip(expected.columns()) {
        match (column, expected) {
            (Column::Float(a), Column::Float(b)) => {
                assert!((a[0].unwrap() - b[0].unwrap()).abs() < 1e-9, "{name}: {a:?}, {b:?}");
            }
            _ => assert_eq!(column, expected, "{name}"),
        }
    }
    let sql = "SELECT MAX(pit_mean_c), pit_mean_c + 1 AS hotter_c, pit_mean_c AS pit FROM t GROUP BY pit_mean_c";
    let us = people::shown(&answer(sql), &season);
    let names = ["MAX(pit_mean_c) in °F", "hotter_c", "pit in °F"];
    assert_eq!(us.names().collect::<Vec<_>>(), names);
    let metric = Season { units: Units::Metric, ..season };
    let metric = people::shown(&answer("SELECT raw_weight_kg FROM t"), &metric);
    assert_eq!(metric, table!("raw_weight_kg" => [4.535_923_7]));
}
