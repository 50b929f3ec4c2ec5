//! The answers to what a file leaves open, as a layout.

use ingest::{Layout, ReadOptions};
use jiff::tz::TimeZone;
use samples::PollutedLog;
use samples::dialect::{ExtraColumn, Header, LogTruth, Open, Shape, TimeStyle, UnitPlace};
use std::fmt::Write as _;

/// The options with every question of a file answered; `None` where there is no question,
/// or one that no setting answers.
pub(super) fn options(
    truth: &LogTruth,
    file: &PollutedLog,
    mut options: ReadOptions,
) -> Option<ReadOptions> {
    if truth.questions.is_empty() {
        return None;
    }
    let mut top = String::new();
    let mut time = String::new();
    for question in &truth.questions {
        let (key, mut value) = question.about.setting()?;
        if question.about == Open::Date {
            let zone = TimeZone::get(file.zone).ok()?;
            let first = jiff::Timestamp::from_millisecond(truth.first_ms()?).ok()?;
            value = first.to_zoned_datetime(zone).strftime("%Y-%m-%dT%H:%M:%S").to_string();
        }
        match key.strip_prefix("time.") {
            Some(key) => writeln!(time, "{key} = \"{value}\"").ok()?,
            None => writeln!(top, "{key} = \"{value}\"").ok()?,
        }
    }
    let names = if file.dialect.header == Header::None {
        format!("header = []\ncolumns = {:?}", columns(truth, file))
    } else {
        // Of two header rows, a reader may join the names.
        let names = truth.header.iter().filter(|name| !name.trim().is_empty());
        format!("header = {:?}", names.map(|name| format!("*{}", name.trim())).collect::<Vec<_>>())
    };
    let text = format!("name = \"answers\"\n{names}\n{top}[time]\n{time}");
    // A key that this reader does not have leaves the question open.
    options.layouts = vec![Layout::parse(&text, "answers.toml").ok()?];
    Some(options)
}

/// Names for the columns of a log without a header.
fn columns(truth: &LogTruth, file: &PollutedLog) -> Vec<String> {
    let dialect = &file.dialect;
    let mut names: Vec<String> = Vec::new();
    if dialect.extras.contains(&ExtraColumn::RowNumber) {
        names.push("row".into());
    }
    match dialect.time {
        TimeStyle::Calendar { joint: None, .. } => names.extend(["date".into(), "time".into()]),
        _ => names.push("time".into()),
    }
    match dialect.shape {
        Shape::Wide => names.extend(truth.channels.iter().map(|c| c.name.clone())),
        Shape::Long => names.extend(["channel".into(), "temperature".into()]),
    }
    if dialect.shape == Shape::Long && dialect.unit == UnitPlace::Column {
        names.push("unit".into());
    }
    for extra in &dialect.extras {
        match extra {
            ExtraColumn::RowNumber => {}
            ExtraColumn::Fan => names.push("fan (%)".into()),
            ExtraColumn::Battery => names.push("battery (V)".into()),
            ExtraColumn::Note => names.push("note".into()),
        }
    }
    names
}
