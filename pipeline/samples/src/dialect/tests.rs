//! Golden files for a dozen dialects, and properties that hold for any.

use super::*;
use cook::season::TemperatureUnit;
use proptest::prelude::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use simulate::measured::{Reading, ReadingRow, Sentinel};

/// 2024-05-04 22:10:00 in Chicago.
const START_MS: i64 = 1_714_878_600_000;

fn zone() -> TimeZone {
    TimeZone::get("America/Chicago").unwrap()
}

fn set() -> ReadingSet {
    ReadingSet {
        unit: TemperatureUnit::Fahrenheit,
        decimals: 1,
        channels: vec!["Pit".into(), "Flat".into()],
        sentinel: Sentinel::Empty,
        rows: vec![
            ReadingRow::new(START_MS, [Some(250.5), Some(41.0)]),
            ReadingRow::new(START_MS + 3_665_000, [Some(249.0), None]),
        ],
    }
}

fn written(dialect: &Dialect) -> String {
    let log = dialect.write(&set(), &zone()).unwrap();
    let text = dialect.encoding.encode(&log.truth.text());
    assert!(dialect.container != Container::None || log.bytes == text);
    log.truth.text()
}

fn calendar(order: DateOrder, separator: char, clock: ClockStyle) -> TimeStyle {
    let date = DateStyle { order, separator, two_digit_year: false, padded: true };
    TimeStyle::Calendar { date, clock, zone: ZoneStyle::Local, joint: Some(' ') }
}

#[test]
fn comma_wide_local() {
    assert_eq!(
        written(&Dialect::default()),
        "time,Pit (°F),Flat (°F)\n2024-05-04 22:10:00,250.5,41.0\n2024-05-04 23:11:05,249.0,\n"
    );
}

#[test]
fn semicolon_decimal_comma_elapsed_with_units_row() {
    let dialect = Dialect {
        delimiter: Delimiter::Semicolon,
        number: NumberStyle { decimal_comma: true, thousands: None },
        time: TimeStyle::ELAPSED,
        unit: UnitPlace::Row,
        preamble: vec!["log of one fire".into()],
        absent: Absent { nothing: Some(Sentinel::text("---")), ..Absent::default() },
        line_ends: LineEnds::CrLf,
        ..Dialect::default()
    };
    assert_eq!(
        written(&dialect),
        "log of one fire\r\nstart;2024-05-04 22:10:00\r\nelapsed;Pit;Flat\r\n;°F;°F\r\n\
         0:00:00;250,5;41,0\r\n1:01:05;249,0;---\r\n"
    );
}

#[test]
fn long_with_offset_and_a_column_of_units() {
    let dialect = Dialect {
        shape: Shape::Long,
        time: TimeStyle::ISO_OFFSET,
        unit: UnitPlace::Column,
        unit_word: UnitWord::Letter,
        ..Dialect::default()
    };
    assert_eq!(
        written(&dialect),
        "time,channel,temperature,unit\n\
         2024-05-04T22:10:00-05:00,Pit,250.5,F\n2024-05-04T22:10:00-05:00,Flat,41.0,F\n\
         2024-05-04T23:11:05-05:00,Pit,249.0,F\n2024-05-04T23:11:05-05:00,Flat,,F\n"
    );
}

#[test]
fn tab_with_two_time_columns_and_a_second_header() {
    let dialect = Dialect {
        delimiter: Delimiter::Tab,
        time: TimeStyle::DATE_AND_TIME,
        header_every: Some(1),
        ..Dialect::default()
    };
    assert_eq!(
        written(&dialect),
        "date\ttime\tPit (°F)\tFlat (°F)\n2024-05-04\t22:10:00\t250.5\t41.0\n\
         date\ttime\tPit (°F)\tFlat (°F)\n2024-05-04\t23:11:05\t249.0\t\n"
    );
}

#[test]
fn aligned_columns_of_spaces() {
    let dialect = Dialect {
        delimiter: Delimiter::Spaces,
        time: TimeStyle::DATE_AND_TIME,
        totals: true,
        ..Dialect::default()
    };
    assert_eq!(
        written(&dialect),
        "date        time      Pit_(°F)  Flat_(°F)\n\
         2024-05-04  22:10:00     250.5       41.0\n\
         2024-05-04  23:11:05     249.0          -\n\
         average     -            249.8       41.0\n\
         maximum     -            250.5       41.0\n"
    );
}

#[test]
fn pipe_day_first_with_units_beside_values_and_a_footer() {
    let dialect = Dialect {
        delimiter: Delimiter::Pipe,
        time: calendar(DateOrder::DayMonthYear, '/', ClockStyle::Twelve),
        unit: UnitPlace::Value,
        row_end: RowEnd::Empty(2),
        footer: vec![String::new(), "end of log".into()],
        capitals: true,
        ..Dialect::default()
    };
    assert_eq!(
        written(&dialect),
        "Time|Pit|Flat||\n04/05/2024 10:10:00 PM|250.5°F|41.0°F||\n\
         04/05/2024 11:11:05 PM|249.0°F|||\n\nend of log\n"
    );
}

#[test]
fn every_cell_quoted_with_decimal_commas_between_commas() {
    let dialect = Dialect {
        quotes: Quotes::All,
        number: NumberStyle { decimal_comma: true, thousands: None },
        time: calendar(DateOrder::MonthNameDay, ' ', ClockStyle::TwentyFour),
        ..Dialect::default()
    };
    assert_eq!(
        written(&dialect),
        "\"time\",\"Pit (°F)\",\"Flat (°F)\"\n\"May 04, 2024 22:10:00\",\"250,5\",\"41,0\"\n\
         \"May 04, 2024 23:11:05\",\"249,0\",\"\"\n"
    );
}

#[test]
fn quotes_come_where_a_cell_needs_them_and_quotes_in_them_are_escaped() {
    let mut set = set();
    set.channels = vec!["Pit, left".into(), "the \"hot\" side".into()];
    let text = |dialect: &Dialect| dialect.write(&set, &zone()).unwrap().truth.text();
    let number = NumberStyle { decimal_comma: true, thousands: None };
    let doubled = Dialect { unit: UnitPlace::Row, number, ..Dialect::default() };
    assert!(text(&doubled).starts_with(
        "time,\"Pit, left\",\"the \"\"hot\"\" side\"\n,°F,°F\n2024-05-04 22:10:00,\"250,5\",\"41,0\""
    ));
    let backslash = Dialect { escape: Escape::Backslash, ..doubled };
    assert!(text(&backslash).starts_with("time,\"Pit, left\",\"the \\\"hot\\\" side\"\n"));
}

#[test]
fn two_header_rows_extra_columns_and_ragged_rows() {
    let dialect = Dialect {
        header: Header::Two,
        extras: vec![ExtraColumn::RowNumber, ExtraColumn::Note],
        row_end: RowEnd::Ragged,
        language: Language::German,
        time: TimeStyle::Epoch(EpochUnit::Milliseconds),
        ..Dialect::default()
    };
    assert_eq!(
        written(&dialect),
        ",,buchse 1,buchse 2,\nnr.,zeit,Pit (°F),Flat (°F),bemerkung\n\
         1,1714878600000,250.5,41.0\n2,1714882265000,249.0\n"
    );
}

#[test]
fn thousands_serial_dates_and_a_mix_of_line_ends() {
    let mut set = set();
    set.rows[0].values[0] = Reading::Value(1_104.5);
    set.rows[1].values[0] = Reading::TooHigh;
    let dialect = Dialect {
        delimiter: Delimiter::Semicolon,
        number: NumberStyle { decimal_comma: true, thousands: Some('.') },
        time: TimeStyle::Serial,
        line_ends: LineEnds::Mixed,
        ..Dialect::default()
    };
    let log = dialect.write(&set, &zone()).unwrap();
    assert_eq!(
        log.truth.text(),
        "time;Pit (°F);Flat (°F)\n45416,923611;1.104,5;41,0\r\n45416,966030;HI;\n"
    );
    assert!(log.truth.questions.is_empty());
}

#[test]
fn files_that_end_as_files_do() {
    let text = |file_end| written(&Dialect { file_end, ..Dialect::default() });
    let whole = text(FileEnd::LineEnd);
    let bare = whole.trim_end_matches('\n');
    assert_eq!(text(FileEnd::NoLineEnd), bare);
    assert_eq!(text(FileEnd::Lost(3)), bare[..bare.len() - 3]);
    assert_eq!(text(FileEnd::Zeros(4)), format!("{whole}\0\0\0\0"));
}

#[test]
fn a_cut_cell_is_spoilt_and_a_lost_one_is_not_there() {
    let content = |lost: usize| {
        let dialect = Dialect { file_end: FileEnd::Lost(lost), ..Dialect::default() };
        let mut set = set();
        set.rows[1].values[1] = Reading::Value(42.5);
        let log = dialect.write(&set, &zone()).unwrap();
        let last = log.truth.lines.last().unwrap().clone();
        (last.verdict, last.cells.iter().map(|cell| cell.content).collect::<Vec<_>>())
    };
    let pit = Content::Celsius(set().celsius(249.0));
    let spoilt = |value| Content::Spoilt(Some(set().celsius(value)));
    assert_eq!(content(1), (Verdict::ReadOrReject, vec![pit, spoilt(42.5)]));
    assert_eq!(content(4), (Verdict::ReadOrReject, vec![pit]));
    assert_eq!(content(6), (Verdict::ReadOrReject, vec![spoilt(249.0)]));
    assert_eq!(content(12), (Verdict::Reject, vec![]));
}

#[test]
fn a_row_that_does_not_fit_is_an_error() {
    let mut set = set();
    set.rows[1].values.pop();
    let error = Dialect::default().write(&set, &TimeZone::UTC).unwrap_err();
    assert_eq!(error, WriteError::RowLength { row: 1, found: 1, expected: 2 });
}

fn questions(dialect: &Dialect, start_ms: i64, rows: i64) -> Vec<Question> {
    let mut set = set();
    set.rows = (0..rows)
        .map(|i| ReadingRow::new(start_ms + 600_000 * i, [Some(250.0), Some(90.0)]))
        .collect();
    dialect.write(&set, &zone()).unwrap().truth.questions
}

#[test]
fn what_a_file_leaves_open() {
    let day_first = Dialect {
        time: calendar(DateOrder::DayMonthYear, '/', ClockStyle::TwentyFour),
        ..Dialect::default()
    };
    let order = Question { about: Open::DateOrder(DateOrder::DayMonthYear), hinted: false };
    // One evening of the fourth of May: both orders do.
    assert_eq!(questions(&day_first, START_MS, 10), [order]);
    // Over midnight the other order would step by a month.
    assert_eq!(questions(&day_first, START_MS, 60), []);
    // The fourteenth is no month.
    assert_eq!(questions(&day_first, START_MS + 10 * 86_400_000, 10), []);
    // The fifth of May either way.
    assert_eq!(questions(&day_first, START_MS + 5 * 3_600_000, 10), []);
    let dotted = Dialect {
        time: calendar(DateOrder::DayMonthYear, '.', ClockStyle::TwentyFour),
        ..Dialect::default()
    };
    assert_eq!(questions(&dotted, START_MS, 10), [Question { hinted: true, ..order }]);

    let unit = Question { about: Open::Unit(TemperatureUnit::Fahrenheit), hinted: false };
    let nowhere = Dialect { unit: UnitPlace::Nowhere, ..Dialect::default() };
    assert_eq!(questions(&nowhere, START_MS, 10), [unit]);
    let headless = Dialect { header: Header::None, ..Dialect::default() };
    assert_eq!(questions(&headless, START_MS, 10), [unit]);
    let beside = Dialect { unit: UnitPlace::Value, ..headless };
    assert_eq!(questions(&beside, START_MS, 10), []);

    let elapsed = |unit, told| Dialect {
        time: TimeStyle::Elapsed { unit, told, start_told: false },
        ..Dialect::default()
    };
    assert_eq!(questions(&elapsed(ElapsedStyle::Minutes, true), START_MS, 10), []);
    assert_eq!(
        questions(&elapsed(ElapsedStyle::Seconds, false), START_MS, 10)[0].about.setting(),
        Some(("time.format", "elapsed-seconds".to_owned()))
    );
}

#[test]
fn a_thousands_mark_among_whole_numbers_may_be_a_decimal_sign() {
    let mut set = set();
    set.decimals = 0;
    set.rows[0].values[0] = Reading::Value(1_104.0);
    let number = NumberStyle { decimal_comma: false, thousands: Some(',') };
    let dialect = Dialect { number, ..Dialect::default() };
    let open = |set: &ReadingSet| dialect.write(set, &zone()).unwrap().truth.questions;
    assert_eq!(open(&set), [Question { about: Open::Decimal { comma: false }, hinted: false }]);
    set.decimals = 1;
    assert_eq!(open(&set), []);
}

#[test]
fn a_thousands_mark_in_nothing_but_numbers_for_no_value_is_a_hint() {
    let mut set = set();
    set.decimals = 0;
    set.rows[0].values[0] = Reading::Nothing;
    set.sentinel = Sentinel::Value(-9999.0);
    let number = NumberStyle { decimal_comma: false, thousands: Some(',') };
    let dialect = Dialect { number, ..Dialect::default() };
    let questions = dialect.write(&set, &zone()).unwrap().truth.questions;
    assert_eq!(questions, [Question { about: Open::Decimal { comma: false }, hinted: true }]);
}

/// A reading set of any content.
fn any_set() -> impl Strategy<Value = ReadingSet> {
    let values = prop::collection::vec(prop::option::of(-500_i32..15_000), 1..60);
    (values, 1_usize..4, any::<bool>(), 0_i64..400).prop_map(|(tenths, count, celsius, day)| {
        let rows = tenths.chunks_exact(count).enumerate().map(|(index, chunk)| {
            let at_ms = START_MS + day * 86_400_000 + 61_000 * index as i64;
            ReadingRow::new(at_ms, chunk.iter().map(|v| v.map(|v| f64::from(v) / 10.0)))
        });
        ReadingSet {
            unit: if celsius { TemperatureUnit::Celsius } else { TemperatureUnit::Fahrenheit },
            decimals: 1,
            channels: (1..=count).map(|index| format!("Probe {index}")).collect(),
            sentinel: Sentinel::Empty,
            rows: rows.collect(),
        }
    })
}

/// Lines as a reader counts them: each ends with a line feed, a carriage return, or both.
pub(crate) fn lines(text: &str) -> Vec<&str> {
    let mut lines = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let Some(at) = rest.find(['\r', '\n']) else {
            lines.push(rest);
            break;
        };
        lines.push(&rest[..at]);
        let two = rest[at..].starts_with("\r\n");
        rest = &rest[at + if two { 2 } else { 1 }..];
    }
    lines
}

/// A cell's number by the plainest reading: thousands marks out, decimal comma to a point.
pub(crate) fn number(text: &str, style: NumberStyle) -> f64 {
    let kept: String = text
        .chars()
        .take_while(|c| !"°CFdec ".contains(*c) || Some(*c) == style.thousands)
        .filter(|c| Some(*c) != style.thousands)
        .map(|c| if style.decimal_comma && c == ',' { '.' } else { c })
        .collect();
    kept.parse().unwrap_or_else(|_| panic!("{text:?} is no number"))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// Every line of the truth is a line of the file, and every reading stands in the
    /// text at its place.
    #[test]
    fn every_reading_stands_in_the_text_at_its_place(set in any_set(), seed in any::<u64>()) {
        let dialect = Dialect::draw(&mut ChaCha8Rng::seed_from_u64(seed));
        let log = dialect.write(&set, &zone()).unwrap();
        let text = log.truth.text();
        let found: Vec<&str> = lines(&text);
        let told: Vec<&str> = log.truth.lines.iter().map(|l| l.text.as_str()).collect();
        prop_assert_eq!(&found, &told);

        let mut seen = 0;
        for line in &log.truth.lines {
            if line.kind != LineKind::Data {
                prop_assert!(line.cells.is_empty());
            }
            for cell in &line.cells {
                let text = &line.text[cell.place.clone()];
                let row = set.rows.iter().find(|row| row.at_ms == cell.true_ms).unwrap();
                match cell.content {
                    Content::Celsius(celsius) => {
                        let value = number(text, dialect.number);
                        prop_assert!((set.celsius(value) - celsius).abs() < 1e-9, "{}", text);
                        prop_assert_eq!(row.values[cell.channel], Reading::Value(value));
                    }
                    Content::Missing => prop_assert_eq!(row.values[cell.channel].value(), None),
                    Content::Spoilt(_) => {
                        prop_assert!(matches!(dialect.file_end, FileEnd::Lost(_)));
                    }
                }
                prop_assert!((cell.written_ms - cell.true_ms).abs() < 1_000);
                seen += usize::from(row.values[cell.channel].value().is_some());
            }
        }
        // Only what a file loses at its end is not there.
        let values = |row: &ReadingRow| row.values.iter().filter_map(|v| v.value()).count();
        let all: usize = set.rows.iter().map(values).sum();
        let lost = match dialect.file_end {
            FileEnd::Lost(_) => set.rows.last().map_or(0, values),
            _ => 0,
        };
        prop_assert!(seen <= all && seen + lost >= all, "{} of {}", seen, all);
    }

    /// Where a general CSV reader can read a dialect, it finds each reading in its column.
    #[test]
    fn a_general_csv_reader_agrees(set in any_set(), seed in any::<u64>()) {
        let mut dialect = Dialect::draw(&mut ChaCha8Rng::seed_from_u64(seed));
        dialect.shape = Shape::Wide;
        if dialect.delimiter == Delimiter::Spaces {
            dialect.delimiter = Delimiter::Comma;
        }
        dialect.escape = Escape::Doubled;
        dialect.line_ends = LineEnds::Lf;
        dialect.file_end = FileEnd::LineEnd;
        dialect.make_sensible();
        let log = dialect.write(&set, &zone()).unwrap();
        let leading = dialect.leading_columns();
        for line in log.truth.lines.iter().filter(|line| line.kind == LineKind::Data) {
            let mut reader = csv::ReaderBuilder::new()
                .delimiter(dialect.delimiter.text().as_bytes()[0])
                .has_headers(false)
                .from_reader(line.text.as_bytes());
            let record = reader.records().next().unwrap().unwrap();
            for cell in &line.cells {
                let Content::Celsius(celsius) = cell.content else { continue };
                let value = number(&record[leading + cell.channel], dialect.number);
                prop_assert!((set.celsius(value) - celsius).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn the_same_draw_gives_the_same_bytes(set in any_set(), seed in any::<u64>()) {
        let log = || {
            Dialect::draw(&mut ChaCha8Rng::seed_from_u64(seed)).write(&set, &zone()).unwrap()
        };
        prop_assert_eq!(log(), log());
    }
}

#[test]
fn draws_reach_every_choice() {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let drawn: Vec<Dialect> = (0..2_000).map(|_| Dialect::draw(&mut random)).collect();
    let count = |of: &dyn Fn(&Dialect) -> bool| drawn.iter().filter(|dialect| of(dialect)).count();
    for delimiter in Delimiter::ALL {
        assert!(count(&|d| d.delimiter == delimiter) > 100, "{delimiter:?}");
    }
    for encoding in Encoding::ALL {
        assert!(count(&|d| d.encoding == encoding) > 100, "{encoding:?}");
    }
    for container in Container::ALL {
        assert!(count(&|d| d.container == container) > 100, "{container:?}");
    }
    for place in [UnitPlace::Header, UnitPlace::Row, UnitPlace::Value, UnitPlace::Nowhere] {
        assert!(count(&|d| d.unit == place) > 60, "{place:?}");
    }
    assert!(count(&|d| d.unit == UnitPlace::Column) > 20);
    assert!(count(&|d| matches!(d.time, TimeStyle::ClockOnly { .. })) > 100);
    assert!(count(&|d| matches!(d.time, TimeStyle::Serial)) > 100);
    let unreadable = |d: &Dialect| {
        d.delimiter == Delimiter::Comma && d.number.decimal_comma && !written(d).contains("\"250,5")
    };
    assert_eq!(count(&unreadable), 0);
}
