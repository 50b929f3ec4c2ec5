//! Season and events sheets from XLSX and ODS, against the same table as CSV.

#[path = "common/archives.rs"]
mod archives;
#[path = "common/tables.rs"]
mod tables;

use archives::archive;
use ingest::{EventsReading, IngestError, SheetReading, read_events_sheet, read_season_sheet};
use jiff::tz::TimeZone;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::io::{Cursor, Read as _};
use tables::{Rows, Value, Worksheet, csv, ods, ods_archive, ods_content, text, texts, xlsx};

fn chicago() -> TimeZone {
    TimeZone::get("America/Chicago").unwrap()
}

/// The named parts of an archive.
fn parts(bytes: &[u8]) -> Vec<(String, Vec<u8>)> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    (0..archive.len())
        .map(|index| {
            let mut part = archive.by_index(index).unwrap();
            let mut bytes = Vec::new();
            part.read_to_end(&mut bytes).unwrap();
            (part.name().unwrap().into_owned(), bytes)
        })
        .collect()
}

fn season(bytes: &[u8], name: &str) -> Result<SheetReading, IngestError> {
    let folder = tempfile::tempdir().unwrap();
    let (file, _) = name.split_once('#').unwrap_or((name, ""));
    std::fs::write(folder.path().join(file), bytes).unwrap();
    let mut reading = read_season_sheet(&folder.path().join(name), name, &(&chicago()).into())?;
    ingest::resolve_marks(&mut reading, &mut [], &BTreeSet::new(), &chicago());
    assert!(reading.account.closes(), "{:?}", reading.account);
    Ok(reading)
}

fn events(bytes: &[u8], name: &str, cards: &[cook::Card]) -> EventsReading {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).unwrap();
    let reading = read_events_sheet(&path, name, &(&chicago()).into(), cards).unwrap();
    assert!(reading.account.closes(), "{:?}", reading.account);
    reading
}

/// The table read from all three kinds of file; the cards must be equal.
fn all_ways(rows: &Rows) -> SheetReading {
    let sheet: &[Worksheet<'_>] = &[("Cooks", rows, false)];
    let from_csv = season(&csv(rows), "s.csv").unwrap();
    for (bytes, name) in [(xlsx(sheet), "s.xlsx"), (ods(sheet), "s.ods")] {
        let read = season(&bytes, name).unwrap();
        assert_eq!(read.cards, from_csv.cards, "{name}");
        let rejected = |reading: &SheetReading| -> Vec<_> {
            reading
                .rejected
                .iter()
                // A whole row is shown as its file writes it.
                .map(|r| (r.line, r.code.clone(), r.column.clone().map(|c| (c, r.text.clone()))))
                .collect()
        };
        assert_eq!(rejected(&read), rejected(&from_csv), "{name}");
        assert_eq!(read.account, from_csv.account, "{name}");
        assert!(read.rejected.iter().all(|r| r.source == format!("{name}#Cooks")));
    }
    from_csv
}

fn utc(text: &str) -> Option<i64> {
    text.parse::<jiff::Timestamp>().ok().map(jiff::Timestamp::as_millisecond)
}

#[test]
fn dates_clocks_durations_and_texts_mixed_in_one_sheet() {
    use Value::{Clock, Date, DateTime, Duration, Number, Yes};
    let header = [
        "cook",
        "date",
        "meat_on",
        "wrap_at",
        "pull",
        "slice",
        "Raw weight (lb)",
        "Pit setpoint (°F)",
        "water pan",
        "Moon",
        "Dew at",
    ];
    let rows: Rows = vec![
        vec![text("The season of a made-up team")],
        vec![],
        header.map(text).into(),
        vec![
            text("a"),
            Date(2025, 5, 4),
            Clock(22 * 3600 + 600),
            Duration(6 * 3600 + 1800),
            text("7:15 am"),
            text("+11:00"),
            Number(14.2),
            Number(250.0),
            Yes(true),
            text("full"),
            Clock(20_400),
        ],
        vec![Value::Empty],
        vec![
            Number(7.0),
            text("2025-05-04"),
            DateTime(2025, 5, 4, 79_800),
            text("+6:30"),
            DateTime(2025, 5, 5, 45_000),
            Duration(30 * 3600),
            Value::Empty,
            Value::Empty,
            text("no"),
            Number(0.5),
        ],
        vec![text("c"), Value::Empty, text("2025-05-04 22:10"), text("4:00 PM"), Clock(7200)],
    ];
    let reading = all_ways(&rows);
    assert_eq!(reading.rejected, []);
    let account = reading.account;
    assert_eq!((account.preamble, account.header, account.data), (1, 1, 3));
    let [a, b, c] = &reading.cards[..] else { panic!("{:?}", reading.cards) };
    // Chicago is five hours behind UTC in May.
    assert_eq!(a.marks.meat_on_ms, utc("2025-05-05T03:10:00Z"));
    assert_eq!(a.marks.wrap_ms, utc("2025-05-05T09:40:00Z"));
    assert_eq!(a.marks.pull_ms, utc("2025-05-05T12:15:00Z"));
    assert_eq!(a.marks.slice_ms, utc("2025-05-05T14:10:00Z"));
    // 14.2 lb of 0.45359237 kg; 250 °F.
    assert!((a.raw_weight.unwrap().value() - 6.441).abs() < 1e-3);
    assert!((a.pit_setpoint.unwrap().value() - 121.111).abs() < 1e-3);
    assert_eq!((a.water_pan, b.water_pan), (Some(true), Some(false)));
    let extra = |name: &str, value: &str| (name.to_owned(), value.to_owned());
    assert_eq!(a.extra, [extra("Moon", "full"), extra("Dew at", "05:40")]);
    assert_eq!((b.cook.as_str(), &b.extra[..]), ("7", &[extra("Moon", "0.5")][..]));
    assert_eq!(b.marks.slice_ms, utc("2025-05-06T09:10:00Z"));
    assert_eq!(c.marks.wrap_ms, utc("2025-05-05T21:00:00Z"));
    assert_eq!(c.marks.pull_ms, utc("2025-05-06T07:00:00Z"));
}

#[test]
fn the_worksheet_with_the_cooks_is_taken_and_two_are_a_question() {
    let notes = texts("What we learnt|x\nfire|hot");
    let cooks = texts("cook|date\na|2025-05-04");
    let more = texts("cook|date\nb|2025-05-05");
    let happened = texts("cook|time|event\na|2025-05-04 06:00|meat_on\na|+6:00|wrap");
    let sheets: [Worksheet<'_>; 4] = [
        ("Notes", &notes, false),
        ("Season 2025", &cooks, false),
        ("Events", &happened, false),
        ("Old", &more, true),
    ];
    for (name, bytes) in [("s.xlsx", xlsx(&sheets)), ("s.ods", ods(&sheets))] {
        let reading = season(&bytes, name).unwrap();
        assert_eq!(reading.cards[0].cook, "a");
        assert_eq!(reading.evidence[0].taken_as, format!("{name}#Season 2025"));
        assert_eq!(reading.rows[0].sheet, format!("{name}#Season 2025"));
        let mut all = [events(&bytes, name, &reading.cards)];
        let mut sheet = reading.clone();
        ingest::resolve_marks(&mut sheet, &mut all, &BTreeSet::new(), &chicago());
        assert_eq!(sheet.cards[0].marks.meat_on_ms, utc("2025-05-04T11:00:00Z"));
        assert_eq!(all[0].events.len(), 2);
        assert_eq!(all[0].evidence[0].taken_as, format!("{name}#Events"));
        // A hidden worksheet is read where it is named.
        assert_eq!(season(&bytes, &format!("{name}#old")).unwrap().cards[0].cook, "b");
        let error = season(&bytes, &format!("{name}#Seasons 2025")).unwrap_err();
        assert!(error.to_string().contains("Season 2025"), "{error}");
    }
    let two: [Worksheet<'_>; 2] = [("One", &cooks, false), ("Two", &more, false)];
    for (name, bytes) in [("s.xlsx", xlsx(&two)), ("s.ods", ods(&two))] {
        let error = season(&bytes, name).unwrap_err();
        assert!(error.needs_answer());
        let message = error.to_string();
        assert!(message.contains("One: 1 rows") && message.contains("Two: 1 rows"), "{message}");
    }
}

#[test]
fn errors_of_formulas_are_rejected_and_not_available_is_missing() {
    let rows =
        texts("cook|date|cost|wood|Moon\na|#REF!|#N/A|#DIV/0!|#VALUE!\n#NAME?|2025-05-04||oak|");
    let reading = all_ways(&rows);
    let seen: Vec<(u64, &str, &str)> = reading
        .rejected
        .iter()
        .map(|r| (r.line, r.column.as_deref().unwrap_or("-"), r.code.as_str()))
        .collect();
    assert_eq!(
        seen,
        [
            (2, "date", "formula-error"),
            (2, "wood", "formula-error"),
            (2, "Moon", "formula-error"),
            (3, "cook", "formula-error"),
            (3, "-", "no-cook")
        ]
    );
    assert_eq!(reading.cards.len(), 1);

    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write_row(0, 0, ["cook", "cost", "wood"]).unwrap();
    sheet.write_string(1, 0, "a").unwrap();
    let formula = |text: &str, result: &str| rust_xlsxwriter::Formula::new(text).set_result(result);
    sheet.write_formula(1, 1, formula("=B9/0", "#DIV/0!")).unwrap();
    sheet.write_formula(1, 2, formula("=\"o\"&\"ak\"", "oak")).unwrap();
    let reading = season(&workbook.save_to_buffer().unwrap(), "s.xlsx").unwrap();
    assert_eq!(reading.cards[0].wood.as_deref(), Some("oak"));
    assert_eq!(reading.rejected[0].code, "formula-error");
}

#[test]
fn merged_and_hidden_cells_shift_nothing() {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    let bold = rust_xlsxwriter::Format::new().set_bold();
    sheet.merge_range(0, 1, 0, 3, "Our season", &bold).unwrap();
    sheet.write_row(2, 1, ["cook", "wood", "place", "cut"]).unwrap();
    sheet.merge_range(3, 1, 4, 1, "a", &bold).unwrap();
    sheet.write_row(3, 2, ["oak", "yard"]).unwrap();
    sheet.write_row(4, 2, ["ash", "barn"]).unwrap();
    sheet.write_row(5, 1, ["b", "elm", "", "point"]).unwrap();
    sheet.merge_range(5, 2, 5, 3, "elm", &bold).unwrap();
    sheet.set_row_hidden(5).unwrap();
    sheet.set_column_hidden(2).unwrap();
    let reading = season(&workbook.save_to_buffer().unwrap(), "s.xlsx").unwrap();
    let seen: Vec<_> = reading
        .cards
        .iter()
        .map(|c| (c.cook.as_str(), c.wood.as_deref(), c.cut.as_deref()))
        .collect();
    assert_eq!(seen, [("a", Some("oak"), None), ("b", Some("elm"), Some("point"))]);
    // The second row under a merged cook has none of its own.
    assert_eq!(reading.rejected.len(), 1);
    assert_eq!((reading.rejected[0].line, reading.rejected[0].code.as_str()), (5, "no-cook"));

    let table = r#"<table:table table:name="T"><table:table-column table:number-columns-repeated="4"/>
<table:table-header-rows><table:table-row><table:table-cell table:number-columns-spanned="3" office:value-type="string"><text:p>Our<text:s text:c="2"/>season</text:p></table:table-cell><table:covered-table-cell table:number-columns-repeated="2"/></table:table-row>
<table:table-row><table:table-cell/><table:table-cell office:value-type="string"><text:p>cook</text:p></table:table-cell><table:table-cell office:value-type="string"><text:p>wo<text:span>od</text:span></text:p></table:table-cell><table:table-cell office:value-type="string"><text:p>cut</text:p></table:table-cell></table:table-row></table:table-header-rows>
<table:table-row-group><table:table-row table:visibility="collapse"><table:table-cell/><table:table-cell office:value-type="string"><text:p>a &amp; b&#33;</text:p></table:table-cell><table:table-cell table:number-columns-spanned="2" office:value-type="string"><text:p>elm</text:p></table:table-cell><table:covered-table-cell/></table:table-row></table:table-row-group></table:table>"#;
    let reading = season(&ods_archive(&ods_content(table)), "s.ods").unwrap();
    assert_eq!(
        (reading.cards[0].cook.as_str(), reading.cards[0].wood.as_deref()),
        ("a & b!", Some("elm"))
    );
    assert_eq!((reading.rows[0].line, reading.account.preamble), (3, 1));
}

#[test]
fn numbers_that_lost_their_format() {
    // 4 May 2025 22:10 is 45781.923611 in the 1900 system (see the unit tests of cells).
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.write_row(0, 0, ["cook", "date", "meat_on", "pull"]).unwrap();
    sheet.write_string(1, 0, "a").unwrap();
    sheet.write_row(1, 1, [45_781.0, 45_781.923_611_111_1, 0.25]).unwrap();
    let reading = season(&workbook.save_to_buffer().unwrap(), "s.xlsx").unwrap();
    let card = &reading.cards[0];
    assert_eq!(card.date.as_deref(), Some("2025-05-04"));
    assert_eq!(card.marks.meat_on_ms, utc("2025-05-05T03:10:00Z"));
    // A quarter of a day is 6:00 in the morning or six hours: it is neither.
    assert_eq!((card.marks.pull_ms, reading.rejected[0].code.as_str()), (None, "bad-time"));
}

#[test]
fn the_1904_system_is_known_by_the_workbook() {
    let rows: Rows = vec![
        ["cook", "date", "meat_on"].map(text).into(),
        vec![text("a"), Value::Date(2025, 5, 4), Value::DateTime(2025, 5, 4, 79_800)],
    ];
    let mut parts = parts(&xlsx(&[("Cooks", &rows, false)]));
    let workbook = parts.iter_mut().find(|(name, _)| name == "xl/workbook.xml").unwrap();
    let xml = String::from_utf8(workbook.1.clone()).unwrap();
    assert!(xml.contains("<workbookPr "));
    workbook.1 = xml.replace("<workbookPr ", "<workbookPr date1904=\"1\" ").into_bytes();
    let parts: Vec<(&str, &[u8])> = parts.iter().map(|(n, b)| (n.as_str(), &b[..])).collect();
    let reading = season(&archive(&parts), "s.xlsx").unwrap();
    // The same serial is four years and a day later: 1,462 days (ECMA-376 part 1, 18.17.4).
    assert_eq!(reading.cards[0].date.as_deref(), Some("2029-05-05"));
    assert_eq!(reading.cards[0].marks.meat_on_ms, utc("2029-05-06T03:10:00Z"));
}

#[test]
fn what_is_no_workbook_or_too_large_is_refused() {
    let cooks = texts("cook|date\na|2025-05-04");
    let whole = xlsx(&[("Cooks", &cooks, false)]);
    for end in [30, whole.len() / 2, whole.len() - 1] {
        assert!(matches!(season(&whole[..end], "s.xlsx"), Err(IngestError::BadContainer { .. })));
    }
    let cell = r#"<table:table-cell office:value-type="string" table:number-columns-repeated="2000"><text:p>cook</text:p></table:table-cell>"#;
    let wide = |rows: &str| {
        let row = format!(
            r#"<table:table-row table:number-rows-repeated="{rows}">{cell}</table:table-row>"#
        );
        ods_archive(&ods_content(&format!(r#"<table:table table:name="T">{row}</table:table>"#)))
    };
    for rows in ["1000000", "4294967295"] {
        assert!(matches!(season(&wide(rows), "s.ods"), Err(IngestError::BadContainer { .. })));
    }
    let padding = " ".repeat(65 << 20);
    let bomb = ods_archive(&ods_content(&format!("<table:table>{padding}</table:table>")));
    assert!(bomb.len() < 1 << 20, "{}", bomb.len());
    let error = season(&bomb, "s.ods").unwrap_err();
    assert!(error.to_string().contains("64 MiB"), "{error}");
    for cut in ["</table:table>", "</office:body></office:document-content>"] {
        let content = ods_content("<table:table table:name=\"T\"><table:table-row><table:table-cell office:value-type=\"string\"><text:p>cook</text:p></table:table-cell></table:table-row></table:table>").replace(cut, "");
        assert!(season(&ods_archive(&content), "s.ods").is_err(), "{cut}");
    }
    let manifest = r"<manifest:manifest><manifest:file-entry><manifest:encryption-data/></manifest:file-entry></manifest:manifest>";
    let locked = archive(&[("content.xml", b"x"), ("META-INF/manifest.xml", manifest.as_bytes())]);
    let error = season(&locked, "s.ods").unwrap_err();
    assert!(error.to_string().contains("password"), "{error}");
}

#[test]
fn rejected_cells_are_explained_with_their_place_rule_and_nearest_spelling() {
    let rows: Rows = vec![
        ["cook", "kind", "pull", "cost", "date", "trimed weight kg", "raw weight"].map(text).into(),
        ["a", "contset", "7,15", "12 or so", "4/5/2025", "5", "6"].map(text).into(),
        ["b", "practice", "+9h", "$1,234.50", "2025-05-04", "", ""].map(text).into(),
    ];
    let reading = all_ways(&rows);
    assert_eq!(reading.cards[1].cost, Some(1234.5));
    let mut reading = season(&xlsx(&[("Cooks", &rows, false)]), "s.xlsx").unwrap();
    let words: Vec<String> =
        reading.rejected.iter().map(|row| reading.explain(row).unwrap()).collect();
    insta::assert_snapshot!(words.join("\n"));
    let offered = |question: &cook::Question| {
        question.answers.iter().map(|answer| answer.take.clone()).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(
        reading.questions.iter().map(offered).collect::<Vec<_>>(),
        [
            "trimmed_weight_kg raw_weight_kg cooked_weight_kg as-is",
            "raw_weight_kg raw_weight_lb as-is",
            "day-first month-first"
        ]
    );
    reading.rejected[0].source = "other.csv".to_owned();
    assert_eq!(reading.explain(&reading.rejected[0]), None);
}

/// A column of the season sheet and something to put into it.
fn any_cell() -> impl Strategy<Value = Value> {
    prop_oneof![
        3 => Just(Value::Empty),
        2 => "[a-zäß&<\"' ;:#+=-]{0,8}".prop_map(|t| text(t.trim())),
        1 => prop::sample::select(vec!["+6:30", "5:40 pm", "2025-05-04 22:10", "foil", "1,5", "contest"]).prop_map(text),
        2 => prop_oneof![(-50i32..400).prop_map(|n| Value::Number(f64::from(n) / 4.0)), any::<f64>().prop_filter("finite, and no serial date of this century (see the test of those)", |x| x.is_finite() && !(35_000.0..73_051.0).contains(x)).prop_map(Value::Number)],
        1 => (2000u16..2100, 1u8..13, 1u8..29).prop_map(|(y, m, d)| Value::Date(y, m, d)),
        1 => (2000u16..2100, 1u8..13, 1u8..29, 0u32..86_400).prop_map(|(y, m, d, s)| Value::DateTime(y, m, d, s)),
        1 => (0u32..86_400).prop_map(Value::Clock),
        1 => (0u32..400_000).prop_map(Value::Duration),
        1 => any::<bool>().prop_map(Value::Yes),
    ]
}

const COLUMNS: [&str; 16] = [
    "date",
    "logs",
    "kind",
    "meat_on",
    "wrap_at",
    "pull",
    "slice",
    "turn_in_at",
    "cost",
    "raw_weight_lb",
    "thickness_mm",
    "pit_setpoint_f",
    "water_pan",
    "wrap_method",
    "score_taste",
    "Moon",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn csv_xlsx_and_ods_of_one_table_give_equal_cards(
        rows in prop::collection::vec(prop::collection::vec(any_cell(), COLUMNS.len()), 1..6),
        title in any::<bool>(),
    ) {
        let mut table: Rows = Vec::new();
        if title {
            table.push(vec![text("A title"), Value::Empty]);
        }
        table.push(std::iter::once("cook").chain(COLUMNS).map(text).collect());
        for (i, row) in rows.into_iter().enumerate() {
            table.push(std::iter::once(text(&format!("c{i}"))).chain(row).collect());
        }
        all_ways(&table);
    }

    #[test]
    fn damaged_workbooks_give_an_error_or_a_closed_account(
        part in 0usize..12,
        edits in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        cut in prop::option::of(any::<prop::sample::Index>()),
        is_ods in any::<bool>(),
    ) {
        let cooks = texts("cook|date|meat_on|wood\na|2025-05-04|+1:00|oak");
        let sheets: [Worksheet<'_>; 1] = [("Cooks", &cooks, false)];
        let (whole, name) =
            if is_ods { (ods(&sheets), "s.ods") } else { (xlsx(&sheets), "s.xlsx") };
        // The parts are damaged, not the archive, whose checksums would tell.
        let mut parts = parts(&whole);
        let at = part % parts.len();
        let bytes = &mut parts[at].1;
        for (index, byte) in edits {
            let at = index.index(bytes.len().max(1));
            if let Some(old) = bytes.get_mut(at) {
                *old = byte;
            }
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len().max(1)));
        }
        let parts: Vec<(&str, &[u8])> = parts.iter().map(|(n, b)| (n.as_str(), &b[..])).collect();
        let _ = season(&archive(&parts), name);
    }
}
