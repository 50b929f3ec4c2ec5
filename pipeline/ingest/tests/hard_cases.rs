//! The files of `tests/hard-cases` give what `expected.toml` there says.

use ingest::{LogFile, ReadOptions};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::PathBuf;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    error: Option<String>,
    account: Option<[u64; 8]>,
    first: Option<f32>,
    at: Option<String>,
    last: Option<String>,
    roles: Option<Vec<String>>,
    rejected: Option<Vec<String>>,
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/hard-cases")
}

#[test]
fn every_hard_case_gives_what_is_expected() {
    let text = std::fs::read_to_string(folder().join("expected.toml")).unwrap();
    let expected: BTreeMap<String, Expected> = toml::from_str(&text).unwrap();
    let mut files: Vec<String> = std::fs::read_dir(folder())
        .unwrap()
        .filter_map(|entry| {
            entry.unwrap().file_name().to_string_lossy().strip_suffix(".csv").map(str::to_owned)
        })
        .collect();
    files.sort();
    assert_eq!(files, expected.keys().cloned().collect::<Vec<_>>());
    let options = ReadOptions {
        zone: jiff::tz::TimeZone::get("America/Chicago").unwrap(),
        ..ReadOptions::default()
    };
    for (name, expected) in &expected {
        let file = format!("{name}.csv");
        let log = match (
            LogFile::on_disk(folder().join(&file), &file).read_log(&options),
            &expected.error,
        ) {
            (Ok(log), None) => log,
            (Err(error), Some(words)) => {
                assert!(error.to_string().contains(words), "{name}: {error}");
                continue;
            }
            (Ok(_), Some(words)) => panic!("{name} is read; expected `{words}`"),
            (Err(error), None) => panic!("{name}: {error}"),
        };
        let a = log.record.account;
        assert!(a.closes(), "{name}: {a}");
        let seen =
            [a.lines, a.preamble, a.header, a.blank, a.data, a.rejected, a.footer, a.readings];
        assert_eq!(Some(seen), expected.account, "{name}");
        let rejected: Vec<String> =
            log.rejected.iter().map(|row| format!("{} {}", row.line, row.code)).collect();
        assert_eq!(rejected, expected.rejected.clone().unwrap_or_default(), "{name}");
        let channel = &log.channels[0];
        if let Some(first) = expected.first {
            assert!(
                (channel.temp_c.at(0) - first).abs() < 1e-4,
                "{name}: {}",
                channel.temp_c.at(0)
            );
        }
        let ms = |at: &str| Some(at.parse::<jiff::Timestamp>().unwrap().as_millisecond());
        if let Some(at) = &expected.at {
            assert_eq!(channel.at_ms.first(), ms(at), "{name}");
        }
        if let Some(last) = &expected.last {
            assert_eq!(channel.at_ms.last(), ms(last), "{name}");
        }
        if let Some(roles) = &expected.roles {
            let seen: Vec<&str> = log.channels.iter().map(|c| c.role.as_str()).collect();
            assert_eq!(&seen, roles, "{name}");
        }
    }
}
