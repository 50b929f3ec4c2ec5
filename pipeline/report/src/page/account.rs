//! What was not used, where every line went, and how to make the same report again.

use maud::{Markup, html};

use super::Numbering;
use super::table::{Notes, numbers, table, text};
use crate::data::{DataFile, ReportData, Stamp};
use crate::units::count;
use crate::words::plural;

/// Rejected rows printed at most; all of them are in the data files.
const MAX_REJECTED: usize = 500;

/// Excluded cooks, refused logs, rejected rows and the line account.
pub(super) fn not_used(data: &ReportData, numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    html! {
        h3 { "Cooks left out" }
        @if data.excluded.is_empty() { p { "None." } } @else {
            @let rows: Vec<Vec<Markup>> = data.excluded.iter().map(|cook| vec![
                html! { (cook.cook) },
                html! { (cook.reason) },
            ]).collect();
            (table(numbering, "Cooks left out of everything above", &[text("Cook"), text("Reason")], &rows, &notes, None))
        }
        h3 { "Logs refused" }
        @if data.refused_logs.is_empty() { p { "None." } } @else {
            @let rows: Vec<Vec<Markup>> = data.refused_logs.iter().map(|log| vec![
                html! { code { (log.source) } },
                html! { (log.reason) },
                notes.or_missing(log.remedy.clone(), None),
            ]).collect();
            (table(numbering, "Logs that were not read", &[text("Log"), text("Reason"), text("What to try")], &rows, &notes, None))
        }
        h3 { "Rows rejected" }
        (rejected(data, numbering))
        h3 { "Where every line went" }
        (line_account(data, numbering))
    }
}

fn rejected(data: &ReportData, numbering: &Numbering) -> Markup {
    let total = data.rejected_total.max(data.rejected.len());
    let shown = data.rejected.len().min(MAX_REJECTED);
    let notes = Notes::default();
    let heads = [
        text("Source"),
        numbers("Line", ""),
        text("Column"),
        text("Code"),
        text("Text"),
        text("Why"),
    ];
    let rows: Vec<Vec<Markup>> = data.rejected[..shown]
        .iter()
        .map(|row| {
            vec![
                html! { code { (row.source) } },
                notes.or_missing(row.line.map(|line| line.to_string()), None),
                notes.or_missing(row.column.clone(), None),
                html! { code { (row.code) } },
                html! { code { (row.text) } },
                notes.or_missing(row.explanation.clone(), None),
            ]
        })
        .collect();
    html! {
        @if total == 0 { p { "None." } } @else {
            p {
                (plural(total, "row")) " could not be read and " @if total == 1 { "was" } @else { "were" } " left out"
                @if shown < total { "; the first " (count(shown)) " of " (count(total)) " are listed here, the data files hold all" }
                "."
            }
            @if shown > 0 {
                (table(numbering, "Rows that were rejected, as they stand in the file", &heads, &rows, &notes,
                    Some("– in the column: the whole line is meant.")))
            }
        }
    }
}

fn line_account(data: &ReportData, numbering: &Numbering) -> Markup {
    let heads = [
        text("Source"),
        text("Read as"),
        numbers("Lines", ""),
        numbers("Preamble", ""),
        numbers("Header", ""),
        numbers("Blank", ""),
        numbers("Data", ""),
        numbers("Rejected", ""),
        numbers("Footer", ""),
        numbers("Readings", ""),
        numbers("No value", ""),
        numbers("Cells rejected", ""),
    ];
    let notes = Notes::default();
    let whole = |n: u64| html! { (count(usize::try_from(n).unwrap_or(usize::MAX))) };
    let rows: Vec<Vec<Markup>> = data
        .sources
        .iter()
        .map(|source| {
            let a = &source.account;
            vec![
                html! { code { (source.source) } @if let Some(note) = &source.note { " " span.note { (note) } } },
                notes.or_missing(source.layout.clone(), None),
                whole(a.lines),
                whole(a.preamble),
                whole(a.header),
                whole(a.blank),
                whole(a.data),
                whole(a.rejected),
                whole(a.footer),
                whole(a.readings),
                whole(a.missing),
                whole(a.rejected_cells),
            ]
        })
        .collect();
    html! {
        @if rows.is_empty() { p { "No source was read." } } @else {
            (table(
                numbering,
                "The line account of every source",
                &heads,
                &rows,
                &notes,
                Some(
                    "Lines = preamble + header + blank + data + rejected + footer. Readings, no value and cells rejected count \
                     the temperature cells of the data lines.",
                ),
            ))
        }
    }
}

/// Version, hashes and seed.
pub(super) fn stamp(stamp: &Stamp, files: &[DataFile], numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    html! {
        p { "The same inputs, settings, version and seed give this file again, byte for byte." }
        dl.facts {
            dt { "Version" } dd { (stamp.version) }
            dt { "Settings" } dd { code { (stamp.settings_hash) } }
            dt { "Seed" } dd { code { (stamp.seed) } }
        }
        @if !stamp.inputs.is_empty() {
            @let rows: Vec<Vec<Markup>> = stamp.inputs.iter().map(|input| vec![
                html! { code { (input.path) } },
                html! { code.hash { (input.sha256) } },
            ]).collect();
            (table(numbering, "Inputs with the SHA-256 of their content", &[text("Input"), text("SHA-256")], &rows, &notes, None))
        }
        @if !files.is_empty() {
            @let rows: Vec<Vec<Markup>> = files.iter().map(|file| vec![
                html! { code { (file.path) } },
                html! { (file.holds) },
            ]).collect();
            (table(numbering, "Files that hold what this report shows", &[text("File"), text("Holds")], &rows, &notes, None))
        }
    }
}
