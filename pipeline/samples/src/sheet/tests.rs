//! What is written is read back by a spreadsheet reader of other people.

use super::*;
use calamine::{Data, Ods, Reader, Xlsx};
use jiff::civil::{date, time};
use proptest::prelude::*;
use std::io::Cursor;

fn rows() -> Vec<Vec<Cell>> {
    vec![
        [
            "cook",
            "date",
            "meat_on",
            "turn_in_at",
            "after",
            "trimmed_weight_kg",
            "water_pan",
            "note",
        ]
        .map(Cell::from)
        .to_vec(),
        vec![
            Cell::from("spring-1"),
            Cell::Date(date(2024, 5, 4)),
            Cell::Time(time(6, 30, 0, 0)),
            Cell::DateTime(date(2024, 5, 5).at(12, 15, 30, 0)),
            Cell::Duration(6 * 3_600 + 1_800 + 5),
            Cell::Number(5.25),
            Cell::Boolean(true),
            Cell::from("windy, \"gusty\" <40 & cold>"),
        ],
        vec![Cell::Empty, Cell::Empty, Cell::from("+6:30"), Cell::Duration(30 * 3_600)],
        vec![],
        vec![Cell::Number(-0.5), Cell::Boolean(false)],
    ]
}

#[test]
fn csv_writes_what_people_write() {
    assert_eq!(
        String::from_utf8(sheet_as_csv(&rows())).unwrap(),
        "cook,date,meat_on,turn_in_at,after,trimmed_weight_kg,water_pan,note\n\
         spring-1,2024-05-04,06:30,2024-05-05 12:15:30,6:30:05,5.25,yes,\
         \"windy, \"\"gusty\"\" <40 & cold>\"\n,,+6:30,30:00:00\n\n-0.5,no\n"
    );
}

/// The whole sheet as a reader gives it, cells without a value left out.
fn read(sheet: &calamine::Range<Data>) -> Vec<((u32, u32), Data)> {
    let (row, column) = sheet.start().unwrap_or_default();
    sheet
        .used_cells()
        .map(|(r, c, data)| ((row + r as u32, column + c as u32), data.clone()))
        .collect()
}

/// Day of a spreadsheet's calendar, from 1899-12-30.
fn serial(data: &Data) -> f64 {
    match data {
        Data::DateTime(at) => at.as_f64(),
        Data::Float(number) => *number,
        other => panic!("{other:?} is no date"),
    }
}

#[test]
fn xlsx_reads_back_typed() {
    let bytes = sheet_as_xlsx(&rows());
    assert_eq!(bytes, sheet_as_xlsx(&rows()));
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let cells = read(&book.worksheet_range("Sheet1").unwrap());
    let at = |row, column| {
        cells.iter().find(|cell| cell.0 == (row, column)).map(|cell| cell.1.clone()).unwrap()
    };
    assert_eq!(at(0, 0), Data::String("cook".into()));
    // 2024-05-04 is day 45416.
    assert_eq!(serial(&at(1, 1)), 45_416.0);
    assert!((serial(&at(1, 2)) - 6.5 / 24.0).abs() < 1e-9);
    assert!((serial(&at(1, 3)) - (45_417.0 + 44_130.0 / 86_400.0)).abs() < 1e-9);
    assert!((serial(&at(1, 4)) - 23_405.0 / 86_400.0).abs() < 1e-9);
    assert!(matches!(at(1, 4), Data::DateTime(span) if span.is_duration()));
    assert!(matches!(at(1, 1), Data::DateTime(day) if day.is_datetime()));
    assert_eq!(at(1, 5), Data::Float(5.25));
    assert_eq!(at(1, 6), Data::Bool(true));
    assert_eq!(at(1, 7), Data::String("windy, \"gusty\" <40 & cold>".into()));
    assert_eq!(at(2, 2), Data::String("+6:30".into()));
    assert!((serial(&at(2, 3)) - 1.25).abs() < 1e-9);
    assert_eq!(at(4, 0), Data::Float(-0.5));
    assert_eq!(cells.len(), 8 + 8 + 2 + 2);
}

#[test]
fn ods_reads_back_typed() {
    let bytes = sheet_as_ods(&rows());
    assert_eq!(bytes, sheet_as_ods(&rows()));
    let mut book: Ods<_> = Ods::new(Cursor::new(bytes)).unwrap();
    let cells = read(&book.worksheet_range("Sheet1").unwrap());
    let at = |row, column| {
        cells.iter().find(|cell| cell.0 == (row, column)).map(|cell| cell.1.clone()).unwrap()
    };
    assert_eq!(at(0, 0), Data::String("cook".into()));
    assert_eq!(at(1, 1), Data::DateTimeIso("2024-05-04".into()));
    assert_eq!(at(1, 2), Data::DurationIso("PT06H30M00S".into()));
    assert_eq!(at(1, 3), Data::DateTimeIso("2024-05-05T12:15:30".into()));
    assert_eq!(at(1, 4), Data::DurationIso("PT06H30M05S".into()));
    assert_eq!(at(1, 5), Data::Float(5.25));
    assert_eq!(at(1, 6), Data::Bool(true));
    assert_eq!(at(1, 7), Data::String("windy, \"gusty\" <40 & cold>".into()));
    assert_eq!(at(2, 2), Data::String("+6:30".into()));
    assert_eq!(at(2, 3), Data::DurationIso("PT30H00M00S".into()));
    assert_eq!(at(4, 0), Data::Float(-0.5));
    assert_eq!(cells.len(), 8 + 8 + 2 + 2);
}

#[test]
fn an_ods_begins_with_its_media_type_in_the_open() {
    let bytes = sheet_as_ods(&rows());
    // ISO/IEC 26300-3:2015, 3.3: the string "mimetype" at byte 30, the type at byte 38.
    assert_eq!(&bytes[30..38], b"mimetype");
    assert_eq!(&bytes[38..84], b"application/vnd.oasis.opendocument.spreadsheet");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Texts and numbers of any content come back as they went in, in both formats.
    #[test]
    fn texts_and_numbers_survive(
        texts in prop::collection::vec("[ -~äöüß°–]{1,20}", 1..6),
        number in -1e9_f64..1e9,
    ) {
        // Outer spaces are a matter of its own: XML may fold them.
        let texts: Vec<String> =
            texts.iter().map(|text| format!("x{}x", text.replace("  ", " "))).collect();
        let mut row: Vec<Cell> = texts.iter().map(|text| Cell::text(text.as_str())).collect();
        row.push(Cell::Number(number));
        let sheet = [vec![Cell::from("heading")], row];
        let mut xlsx: Xlsx<_> = Xlsx::new(Cursor::new(sheet_as_xlsx(&sheet))).unwrap();
        let mut ods: Ods<_> = Ods::new(Cursor::new(sheet_as_ods(&sheet))).unwrap();
        for range in [
            xlsx.worksheet_range("Sheet1").unwrap(),
            ods.worksheet_range("Sheet1").unwrap(),
        ] {
            let cells = read(&range);
            for (index, text) in texts.iter().enumerate() {
                prop_assert_eq!(&cells[1 + index].1, &Data::String(text.clone()));
            }
            prop_assert_eq!(&cells.last().unwrap().1, &Data::Float(number));
        }
    }
}
