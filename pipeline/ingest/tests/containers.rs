//! Logs in compressed files and archives: found, read, and held to their limits.

#[path = "common/archives.rs"]
mod archives;

use archives::archive;
use cook::{Card, Role};
use flate2::Compression;
use flate2::write::GzEncoder;
use ingest::container::{Container, Kind, Limits};
use ingest::{IngestError, LogFile, LogList, LogNames, ReadOptions, list_logs, read_season_sheet};
use jiff::tz::TimeZone;
use proptest::prelude::*;
use std::io::{Cursor, Write as _};
use zip::write::SimpleFileOptions;

const LOG: &[u8] = b"Time,Pit (C),Meat (C)\n2026-05-02T06:00Z,100,5\n2026-05-02T06:01Z,101,6\n";

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

fn zstandard(bytes: &[u8]) -> Vec<u8> {
    ruzstd::encoding::compress_to_vec(bytes, ruzstd::encoding::CompressionLevel::Fastest)
}

/// A Zstandard frame that decoders skip (RFC 8878, 3.1.2).
fn skipped_frame(bytes: &[u8]) -> Vec<u8> {
    let mut frame = vec![0x50, 0x2A, 0x4D, 0x18];
    frame.extend((bytes.len() as u32).to_le_bytes());
    frame.extend(bytes);
    frame
}

fn open(bytes: &[u8]) -> Container<Cursor<&[u8]>> {
    Container::open(Cursor::new(bytes), "x", Limits::default()).unwrap()
}

/// The one log that bytes hold, or the message.
fn read(bytes: &[u8]) -> Result<Vec<u8>, String> {
    let mut container = open(bytes);
    let listing = container.list().map_err(|error| error.to_string())?;
    container.read(listing.entries.first()).map_err(|error| error.to_string())
}

fn labels(bytes: &[u8]) -> Vec<String> {
    open(bytes).list().unwrap().entries.into_iter().map(|entry| entry.label).collect()
}

fn season(files: &[(&str, &[u8])]) -> (tempfile::TempDir, LogList) {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    let list = list_logs(&["logs".to_owned()], folder.path()).unwrap();
    (folder, list)
}

fn names(list: &LogList) -> Vec<&str> {
    list.files.iter().map(|file| file.shown_as.as_str()).collect()
}

/// The logs that a `logs` cell means, with their channels.
fn meant(cell: &str, files: &[LogFile]) -> Result<Vec<(String, Option<String>)>, IngestError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.csv");
    std::fs::write(&path, format!("cook,logs\na,\"{}\"\n", cell.replace('"', "\"\""))).unwrap();
    let sheet = read_season_sheet(&path, "sheet.csv", &(&TimeZone::UTC).into()).unwrap();
    let card: &Card = &sheet.cards[0];
    let found = LogNames::new(files).find(card, &sheet.rows[0], &cook::Answers::default())?;
    Ok(found.into_iter().map(|log| (log.file.shown_as, log.channel)).collect())
}

#[test]
fn every_way_of_packing_gives_the_same_log() {
    let halves = LOG.split_at(30);
    let packed = gzip(LOG);
    let frames = [zstandard(halves.0), skipped_frame(b"note"), zstandard(halves.1)].concat();
    let ways: [(&str, Vec<u8>); 8] = [
        ("plain", LOG.to_vec()),
        ("gzip", packed.clone()),
        ("two gzip members", [gzip(halves.0), gzip(halves.1)].concat()),
        ("zstandard", zstandard(LOG)),
        ("zstandard frames", frames),
        ("zip", archive(&[("a.csv", LOG)])),
        ("gzip in zip", archive(&[("a.csv.gz", &packed)])),
        ("zstandard in zip", archive(&[("deep/er/a.csv", &zstandard(LOG))])),
    ];
    for (way, bytes) in ways {
        assert_eq!(read(&bytes).as_deref(), Ok(LOG), "{way}");
    }
    assert_eq!(open(&packed).kind(), Kind::Gzip);
    assert_eq!(read(b""), Ok(Vec::new()));
}

#[test]
fn names_and_globs_reach_into_archives() {
    let runs = archive(&[
        ("may/pit-a.csv", LOG),
        ("may/pit-b.csv", LOG),
        ("__MACOSX/may/._pit-a.csv", b"litter"),
        ("may/.DS_Store", b"litter"),
    ]);
    let (_folder, list) = season(&[
        ("logs/runs.zip", &runs),
        ("logs/c.csv.gz", &gzip(LOG)),
        ("logs/d.csv", LOG),
        ("logs/Thumbs.db", b"litter"),
        ("logs/empty.zip", &archive(&[])),
    ]);
    assert_eq!(
        names(&list),
        [
            "logs/c.csv.gz",
            "logs/d.csv",
            // Listed, so that whoever reads it is told that it holds nothing.
            "logs/empty.zip",
            "logs/runs.zip/may/pit-a.csv",
            "logs/runs.zip/may/pit-b.csv"
        ]
    );
    assert_eq!(list.notes.len(), 2, "{:?}", list.notes);
    let files = &list.files;
    let of = |cell: &str| -> Vec<String> {
        meant(cell, files).unwrap().into_iter().map(|(name, _)| name).collect()
    };
    assert_eq!(of("pit-a.csv"), ["logs/runs.zip/may/pit-a.csv"]);
    assert_eq!(of("runs.zip").len(), 2);
    assert_eq!(of("runs.zip/may/pit-b.csv"), ["logs/runs.zip/may/pit-b.csv"]);
    assert_eq!(of("runs.zip/*.csv").len(), 2);
    assert_eq!(of("c.csv; d.csv"), ["logs/c.csv.gz", "logs/d.csv"]);
    let channel = |cell: &str| meant(cell, files).unwrap().pop().unwrap().1;
    assert_eq!(channel("pit-a.csv#Meat").as_deref(), Some("Meat"));
    assert_eq!(channel("pit-a.csv#\"Probe #2; flat\"").as_deref(), Some("Probe #2; flat"));
    let error = meant("pit-c.csv", files).unwrap_err().to_string();
    assert!(error.contains("pit-a.csv") || error.contains("pit-b.csv"), "{error}");

    // The file on disk is the source: all logs of an archive have its hash.
    let (empty, files): (Vec<_>, Vec<_>) =
        files.iter().partition(|file| file.shown_as.ends_with("empty.zip"));
    let error = empty[0].read_log(&ReadOptions::default()).unwrap_err().to_string();
    assert!(error.contains("the archive holds no log"), "{error}");
    let logs: Vec<_> =
        files.iter().map(|file| file.read_log(&ReadOptions::default()).unwrap()).collect();
    assert!(logs.iter().all(|log| log.channels[0].temp_c == [100.0, 101.0]));
    assert!(logs[0].channels.iter().any(|channel| channel.role == Role::Meat));
    assert_eq!(logs[2].record.content_hash, logs[3].record.content_hash);
    assert_ne!(logs[0].record.content_hash, logs[1].record.content_hash);
    for (file, log) in files.iter().zip(&logs) {
        assert_eq!(file.content_hash().unwrap(), log.record.content_hash);
        assert_eq!(log.record.path, file.shown_as);
    }
}

#[test]
fn names_that_lead_elsewhere_are_labels_and_links_are_not_followed() {
    let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default();
    writer.start_file("aa/aa/passwd.csv", options).unwrap();
    writer.write_all(LOG).unwrap();
    writer.start_file("bb_logs_b.csv", options).unwrap();
    writer.write_all(LOG).unwrap();
    writer.add_symlink("link.csv", "/etc/passwd", options).unwrap();
    writer.add_directory("folder.csv/", options).unwrap();
    // Names of the same length, as no honest writer would write them.
    let bytes = writer.finish().unwrap().into_inner();
    let bytes = replaced(&bytes, b"aa/aa/passwd.csv", b"../../passwd.csv");
    let bytes = replaced(&bytes, b"bb_logs_b.csv", b"C:\\logs\\b.csv");
    assert_eq!(labels(&bytes), ["logs/b.csv", "passwd.csv"]);
    let skipped = open(&bytes).list().unwrap().skipped;
    assert_eq!(skipped.len(), 3, "{skipped:?}");
    assert_eq!(read(&bytes).as_deref(), Ok(LOG));
}

/// Bytes with one text replaced by another of the same length.
fn replaced(bytes: &[u8], from: &[u8], to: &[u8]) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    let places: Vec<usize> = bytes
        .windows(from.len())
        .enumerate()
        .filter(|(_, window)| *window == from)
        .map(|(at, _)| at)
        .collect();
    assert_eq!(places.len(), 2, "a local and a central header");
    for at in places {
        bytes[at..at + from.len()].copy_from_slice(to);
    }
    bytes
}

#[test]
fn two_entries_of_one_name_are_refused() {
    // `/bb.csv` and `bb.csv` are one label.
    let packed = archive(&[("xbb.csv", LOG), ("cc.csv", LOG), ("bb.csv", LOG)]);
    let error = read(&replaced(&packed, b"xbb.csv", b"/bb.csv")).unwrap_err();
    assert!(error.contains("bb.csv"), "{error}");
    let packed = archive(&[("aa.csv", LOG), ("cc.csv", LOG)]);
    assert!(read(&replaced(&packed, b"cc.csv", b"aa.csv")).unwrap_err().contains("one name"));
}

#[test]
fn bombs_are_refused_before_they_fill_the_memory() {
    // One byte over and over: 1,032 to one at the best (RFC 1951), far more in Zstandard.
    let endless = vec![b'0'; 8 << 20];
    for bytes in [gzip(&endless), zstandard(&endless), archive(&[("a.csv", &endless)]), endless] {
        assert!(read(&bytes).unwrap_err().contains("the line is longer than 256 kB"));
    }
    let bomb_text = vec![b'\n'; 8 << 20];
    let bomb = gzip(&bomb_text);
    assert!(bomb.len() * 900 < bomb_text.len());
    for bytes in [bomb.clone(), zstandard(&bomb_text), archive(&[("a.csv", &bomb_text)])] {
        let error = read(&bytes).unwrap_err();
        assert!(error.contains("250 times"), "{error}");
    }
    // One archive of bombs, and a bomb that is packed once more.
    assert!(read(&archive(&[("a.csv.gz", &bomb)])).is_err());
    let inside = archive(&[("a.zip", &archive(&[("a.csv", LOG)]))]);
    assert!(read(&inside).unwrap_err().contains("archive inside an archive"));

    let small = Limits { log_bytes: 50, ..Limits::default() };
    for bytes in [LOG.to_vec(), gzip(LOG), zstandard(LOG)] {
        let mut container = Container::open(Cursor::new(&bytes[..]), "x", small).unwrap();
        assert!(matches!(container.read(None), Err(IngestError::BadContainer { .. })));
    }
    let two = archive(&[("a.csv", LOG), ("b.csv", LOG)]);
    for limits in [
        Limits { entries: 1, ..Limits::default() },
        Limits { archive_bytes: 100, ..Limits::default() },
    ] {
        let mut container = Container::open(Cursor::new(&two[..]), "x", limits).unwrap();
        assert!(matches!(container.list(), Err(IngestError::BadContainer { .. })));
    }
    // A frame that asks for a window of 128 GiB and more (RFC 8878, 3.1.1.1.2).
    assert!(read(&[0x28, 0xB5, 0x2F, 0xFD, 0x00, 0xFF, 0x01, 0x00, 0x00]).is_err());
}

#[test]
fn what_is_damaged_or_encrypted_says_so() {
    let packed = archive(&[("a.csv", LOG)]);
    for whole in [gzip(LOG), zstandard(LOG), packed.clone()] {
        for length in [5, whole.len() / 2, whole.len() - 1] {
            let error = read(&whole[..length]).unwrap_err();
            assert!(error.contains("damaged"), "{error}");
        }
    }
    let mut flipped = gzip(LOG);
    let at = flipped.len() - 6;
    flipped[at] ^= 1;
    assert!(read(&flipped).is_err(), "the checksum tells");
    // Bit 0 of the flags in both headers (APPNOTE 4.4.4).
    let mut locked = packed.clone();
    let central = packed.windows(4).position(|w| w == b"PK\x01\x02").unwrap();
    locked[6] |= 1;
    locked[central + 8] |= 1;
    assert!(read(&locked).unwrap_err().contains("encrypted"));

    // One bad file takes none of the others with it.
    let (_folder, list) = season(&[
        ("logs/bad.zip", &packed[..packed.len() - 9]),
        ("logs/bad.csv.gz", &gzip(LOG)[..20]),
        ("logs/good.csv", LOG),
    ]);
    assert_eq!(names(&list), ["logs/bad.csv.gz", "logs/bad.zip", "logs/good.csv"]);
    assert_eq!(list.notes.len(), 1);
    let outcomes: Vec<bool> =
        list.files.iter().map(|file| file.read_log(&ReadOptions::default()).is_ok()).collect();
    assert_eq!(outcomes, [false, false, true]);
    let message = list.files[1].read().unwrap_err().to_string();
    assert!(message.starts_with("logs/bad.zip: it is damaged"), "{message}");
}

#[test]
fn a_workbook_is_no_archive_of_logs() {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    workbook.add_worksheet().write_row(0, 0, ["Time", "Pit"]).unwrap();
    let workbook = workbook.save_to_buffer().unwrap();
    let (_folder, list) = season(&[("logs/log.xlsx", &workbook)]);
    assert_eq!(names(&list), ["logs/log.xlsx"]);
    let error = list.files[0].read_log(&ReadOptions::default()).unwrap_err().to_string();
    assert!(error.contains("workbook"), "{error}");
}

/// Lists and reads all there is in bytes; that it ends without a panic is the test.
fn exhaust(bytes: &[u8]) {
    let mut container = open(bytes);
    let entries = container.list().map(|listing| listing.entries).unwrap_or_default();
    let _ = container.read(None);
    for entry in &entries {
        let _ = container.read(Some(entry));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn any_bytes_give_an_error_or_a_log(
        magic in prop::sample::select(vec![
            &b""[..], b"\x1F\x8B\x08\0", b"\x28\xB5\x2F\xFD", b"\x50\x2A\x4D\x18", b"PK\x03\x04",
        ]),
        rest in prop::collection::vec(any::<u8>(), 0..200),
    ) {
        exhaust(&[magic, &rest].concat());
    }

    #[test]
    fn damaged_containers_give_an_error_or_a_log(
        text in prop::collection::vec(any::<u8>(), 0..3000),
        way in 0usize..4,
        edits in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..5),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let mut bytes = match way {
            0 => gzip(&text),
            1 => zstandard(&text),
            2 => [zstandard(&text), skipped_frame(&text), zstandard(&text)].concat(),
            _ => archive(&[("a.csv", &text), ("b/c.csv.gz", &gzip(&text))]),
        };
        if edits.is_empty() && cut.is_none() {
            prop_assert!(read(&bytes).is_ok());
        }
        for (index, byte) in edits {
            let at = index.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        exhaust(&bytes);
    }
}
