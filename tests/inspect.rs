//! What `inspect` says of each dialect of the bundled seasons: read by people, kept as it is.

mod support;

use std::path::Path;
use support::{cookstudy, expect_exit, stdout};

/// One log of each dialect of `sample-data/logs`.
const DIALECTS: [&str; 11] = [
    "2024-04-06-long-tom.csv",
    "2024-04-13-rumble.csv",
    "2024-04-20-pantry.csv",
    "2025-04-05-pantry.csv",
    "2025-04-12-rumble.tsv",
    "2025-04-26-long-tom.csv",
    "2026-04-04-long-tom.csv",
    "2026-04-11-pantry.txt",
    "2026-04-18-rumble.txt.gz",
    "2026-05-16-long-tom-meat.csv",
    "2026-06-20-rumble.csv.zip",
];

#[test]
fn each_dialect_is_shown_as_it_will_be_read() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data");
    let logs = DIALECTS.map(|name| format!("logs/{name}"));
    let mut arguments = vec!["inspect", "--settings", "season.toml"];
    arguments.extend(logs.iter().map(String::as_str));
    let output = cookstudy(&folder, &arguments);
    expect_exit(&output, 0);
    insta::assert_snapshot!(stdout(&output));
}
