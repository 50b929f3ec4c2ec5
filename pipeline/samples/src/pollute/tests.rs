//! What the polluter says of its files holds for their bytes.

use super::*;
use crate::dialect::tests::{lines, number};
use crate::dialect::{Content, Expected, LineKind, Verdict};
use cook::season::TemperatureUnit;
use std::collections::BTreeMap;
use std::sync::LazyLock;

const SEED: u64 = 20;
const FILES: u64 = 800;

static ALL: LazyLock<Vec<PollutedLog>> =
    LazyLock::new(|| (0..FILES).map(|index| polluted(SEED, index)).collect());

#[test]
fn every_file_has_three_pollutions_and_every_family_its_share() {
    let mut share: BTreeMap<Family, u64> = BTreeMap::new();
    for file in ALL.iter() {
        assert!(file.families.len() >= 3, "{:?}", file.families);
        for family in &file.families {
            *share.entry(*family).or_default() += 1;
        }
    }
    for family in Family::ALL {
        let count = share.get(&family).copied().unwrap_or(0);
        assert!(count * 20 >= FILES, "{family}: {count} of {FILES}");
    }
    // Most can be read, and none of the three answers is rare.
    let expected = |wanted| {
        let is = |file: &&PollutedLog| file.logs[0].truth.expected() == wanted;
        ALL.iter().filter(is).count() as u64
    };
    assert!(expected(Expected::Read) > FILES * 6 / 10);
    assert!(expected(Expected::Ask) > FILES / 20);
    assert!(expected(Expected::ReadOrAsk) > FILES / 50);
}

#[test]
fn the_same_index_gives_the_same_file_and_another_another() {
    for index in 0..50 {
        assert_eq!(polluted(SEED, index), polluted(SEED, index));
        assert_ne!(polluted(SEED, index).bytes, polluted(SEED, index + 1).bytes);
    }
}

#[test]
fn the_truth_accounts_for_every_line_and_every_value_stands_at_its_place() {
    let mut values = 0;
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for file in ALL.iter() {
        let truth = &file.logs[0].truth;
        let text = truth.text();
        let told: Vec<&str> = truth.lines.iter().map(|line| line.text.as_str()).collect();
        assert_eq!(lines(&text), told, "{:?}", file.families);
        if file.dialect.container == Container::None {
            assert_eq!(file.bytes, file.dialect.encoding.encode(&text));
        }
        let unit = truth.channels[0].unit;
        for line in &truth.lines {
            *kinds.entry(format!("{:?} {:?}", line.kind, line.verdict)).or_default() += 1;
            assert!(line.cells.is_empty() || line.kind == LineKind::Data);
            assert!(
                line.cells.is_empty()
                    || !matches!(line.verdict, Verdict::NoReadings | Verdict::Reject)
            );
            for cell in &line.cells {
                let Content::Celsius(celsius) = cell.content else { continue };
                let written = number(&line.text[cell.place.clone()], file.dialect.number);
                let written = match unit {
                    TemperatureUnit::Celsius => written,
                    TemperatureUnit::Fahrenheit => (written - 32.0) / 1.8,
                };
                assert!((written - celsius).abs() < 1e-9, "{} {celsius}", line.text);
                values += 1;
            }
        }
    }
    assert!(values > 150_000, "{values}");
    for kind in [
        "Preamble NoReadings",
        "Header NoReadings",
        "Units NoReadings",
        "Data Read",
        "Data ReadOrReject",
        "Data Reject",
        "Blank NoReadings",
        "Footer NoReadings",
        "Padding NoReadings",
        "Noise NoReadings",
        "Noise Reject",
    ] {
        assert!(kinds.get(kind).copied().unwrap_or(0) > 20, "{kind}: {kinds:?}");
    }
}

#[test]
fn each_family_is_seen_in_its_files() {
    for file in ALL.iter() {
        let truth = &file.logs[0].truth;
        let dialect = &file.dialect;
        let any = |of: &dyn Fn(&crate::dialect::LineTruth) -> bool| truth.lines.iter().any(of);
        let data = |of: &dyn Fn(&crate::dialect::CellTruth) -> bool| {
            truth.lines.iter().flat_map(|line| &line.cells).any(of)
        };
        let plain = Dialect::default();
        for family in &file.families {
            let seen = match family {
                Family::Encoding => dialect.encoding != plain.encoding,
                Family::Delimiter => dialect.delimiter != plain.delimiter,
                Family::LineEnds => dialect.line_ends != plain.line_ends,
                Family::Container => dialect.container != plain.container,
                Family::Preamble => !dialect.preamble.is_empty(),
                Family::HeaderForm => dialect.header != plain.header,
                Family::RepeatedHeader => dialect.header_every.is_some(),
                Family::Footer => any(&|line| line.kind == LineKind::Footer),
                Family::LongForm => dialect.shape == Shape::Long,
                Family::DateStyle | Family::NumericTime | Family::Elapsed | Family::ClockOnly => {
                    dialect.time != plain.time
                }
                Family::UnitPlace => dialect.unit != plain.unit,
                Family::NumberStyle => dialect.number != plain.number,
                Family::HeaderWords => dialect.language != plain.language,
                Family::Quotes => any(&|line| line.text.contains('"')),
                Family::Sentinels => data(&|cell| cell.content == Content::Missing),
                Family::ExtraColumns => !dialect.extras.is_empty(),
                Family::RowEnds => dialect.row_end != plain.row_end,
                Family::FileEnd => dialect.file_end != plain.file_end,
                Family::ClockFault => data(&|cell| cell.written_ms != cell.true_ms),
                Family::DaylightSaving => true,
                Family::DuplicateRows => any(&|line| line.verdict == Verdict::ReadOrReject),
                Family::RowOrder => {
                    let times: Vec<i64> = truth
                        .lines
                        .iter()
                        .flat_map(|line| &line.cells)
                        .map(|cell| cell.true_ms)
                        .collect();
                    !times.is_sorted()
                }
                Family::SpoiltCells | Family::CutLines | Family::StrayBytes => any(&|line| {
                    line.verdict == Verdict::ReadOrReject || line.verdict == Verdict::Reject
                }),
                Family::StrayLines => any(&|line| {
                    line.kind == LineKind::Blank
                        || (line.kind == LineKind::Noise && line.verdict == Verdict::NoReadings)
                }),
            };
            assert!(seen, "{family} in {:?}", file.families);
        }
    }
}

#[test]
fn an_archive_may_hold_several_logs() {
    let several = ALL.iter().filter(|file| file.logs.len() > 1).count() as u64;
    assert!(several * 100 >= FILES, "{several}");
}

#[test]
fn a_long_run_of_another_seed_never_panics() {
    for index in 0..1_500 {
        assert!(!polluted(SEED + 1, index).bytes.is_empty());
    }
}
