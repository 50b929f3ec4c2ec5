//! What was not used, where every line went, and how to make the same report again.

use crate::data::{DataFile, ReportData};
use crate::document::{Block, Cell, Inlines, Table, code, hash, heading, numbers, paragraph, text};
use crate::units::count;
use crate::words::plural;
use study::result::flow::FlowStage;
use study::result::{ClaimResult, Provenance};

/// Rejected rows printed at most; all of them are in the data files.
const MAX_REJECTED: usize = 500;

/// From logs to the cooks that each claim is answered from, by team.
pub(super) fn flow(claims: &[ClaimResult]) -> Vec<Block> {
    let told = claims.iter().filter(|claim| !claim.flow.is_empty());
    let tables: Vec<Block> = told.map(one_flow).collect();
    if tables.is_empty() {
        return Vec::new();
    }
    let what = paragraph(
        "Of each claim: how many logs and cooks there are, and at which step others were lost, with the reason.",
    );
    std::iter::once(what).chain(tables).collect()
}

fn one_flow(claim: &ClaimResult) -> Block {
    let has_teams = claim.flow.iter().any(|own| own.team.is_some());
    let rows = claim.flow.iter().map(|own| {
        let step = match own.step {
            FlowStage::Logs => "Logs that cards name",
            FlowStage::Cards => "Cooks on the sheet",
            FlowStage::Cooks => "With a curve",
            FlowStage::Eligible => "Asked about",
            FlowStage::Used => "Used",
        };
        let (there, lost) = match &own.reason {
            None => (Some(count(own.cooks)), None),
            Some(_) => (None, Some(count(own.cooks))),
        };
        let reason = own.reason.as_deref().map(Inlines::with_code);
        let mut cells: Vec<Cell> =
            vec![step.into(), there.into(), lost.into(), Inlines::from(reason).into()];
        if has_teams {
            cells.insert(0, own.team.as_deref().unwrap_or("all teams").into());
        }
        cells
    });
    let mut columns =
        vec![text("Step"), numbers("There are", ""), numbers("Lost before it", ""), text("Why")];
    if has_teams {
        columns.insert(0, text("Team"));
    }
    let rows: Vec<Vec<Cell>> = rows.collect();
    Table::new(format!("From logs to cooks: “{}”", claim.says), columns, rows).into()
}

/// Excluded cooks, refused logs, rejected rows and the line account.
pub(super) fn not_used(data: &ReportData) -> Vec<Block> {
    let mut blocks = vec![heading("Cooks left out"), excluded(data)];
    blocks.extend([heading("Logs refused"), refused(data), heading("Rows rejected")]);
    blocks.extend(rejected(data));
    blocks.extend([heading("Where every line went"), line_account(data)]);
    blocks
}

fn excluded(data: &ReportData) -> Block {
    let rows = data.excluded.iter().map(|cook| vec![(&cook.cook).into(), (&cook.reason).into()]);
    let caption = "Cooks left out of everything above";
    or_none(Table::new(caption, [text("Cook"), text("Reason")], rows.collect()))
}

fn refused(data: &ReportData) -> Block {
    let rows = data.refused_logs.iter().map(|log| {
        vec![code(&log.source).into(), (&log.reason).into(), log.remedy.as_ref().into()]
    });
    let columns = [text("Log"), text("Reason"), text("What to try")];
    or_none(Table::new("Logs that were not read", columns, rows.collect()))
}

fn or_none(table: Table) -> Block {
    if table.rows.is_empty() { paragraph("None.") } else { table.into() }
}

fn rejected(data: &ReportData) -> Vec<Block> {
    let total = data.rejected_total.max(data.rejected.len());
    if total == 0 {
        return vec![paragraph("None.")];
    }
    let shown = data.rejected.len().min(MAX_REJECTED);
    let listed = if shown < total {
        let (shown, total) = (count(shown), count(total));
        format!("; the first {shown} of {total} are listed here, the data files hold all")
    } else {
        String::new()
    };
    let were = if total == 1 { "was" } else { "were" };
    let rows = plural(total, "row");
    let mut blocks =
        vec![paragraph(format!("{rows} could not be read and {were} left out{listed}."))];
    if shown > 0 {
        let rows = data.rejected[..shown].iter().map(|row| {
            vec![
                code(&row.source).into(),
                (row.line > 0).then(|| row.line.to_string()).into(),
                row.column.as_ref().into(),
                code(&row.code).into(),
                code(&row.text).into(),
            ]
        });
        let columns =
            [text("Source"), numbers("Line", ""), text("Column"), text("Code"), text("Text")];
        let caption = "Rows that were rejected, as they stand in the file";
        let table = Table::new(caption, columns, rows.collect());
        blocks.push(table.remark("– in the column: the whole line is meant.").into());
    }
    blocks
}

fn line_account(data: &ReportData) -> Block {
    let columns = [
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
    let whole = |n: u64| Cell::from(count(usize::try_from(n).unwrap_or(usize::MAX)));
    let rows: Vec<Vec<Cell>> = data
        .sources
        .iter()
        .map(|source| {
            let a = &source.account;
            vec![
                code(&source.source).into(),
                (&source.layout).into(),
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
    if rows.is_empty() {
        return paragraph("No source was read.");
    }
    let remark = "Lines = preamble + header + blank + data + rejected + footer. Readings, no value and cells rejected count \
                  the temperature cells of the data lines.";
    Table::new("The line account of every source", columns, rows).remark(remark).into()
}

/// Version, hashes and seed.
pub(super) fn stamp(stamp: &Provenance, files: &[DataFile]) -> Vec<Block> {
    let mut blocks = vec![
        paragraph(
            "The same inputs, settings, version and seed give this file again, byte for byte.",
        ),
        Block::Facts(facts(stamp)),
    ];
    let inputs = stamp.inputs.iter();
    let inputs = inputs.map(|input| vec![code(&input.path).into(), hash(&input.sha256).into()]);
    let inputs = Table::new(
        "Inputs with the SHA-256 of their content",
        [text("Input"), text("SHA-256")],
        inputs.collect(),
    );
    let files = files.iter().map(|file| vec![code(&file.path).into(), (&file.holds).into()]);
    let files = Table::new(
        "Files that hold what this report shows",
        [text("File"), text("Holds")],
        files.collect(),
    );
    let tables = [inputs, files].into_iter().filter(|table| !table.rows.is_empty());
    blocks.extend(tables.map(Block::from));
    blocks
}

/// What made a page.
pub(super) fn facts(stamp: &Provenance) -> Vec<(&'static str, Vec<crate::document::Inlines>)> {
    vec![
        ("Version", vec![(&stamp.version).into()]),
        ("Settings", vec![code(&stamp.settings_hash)]),
        ("Seed", vec![code(stamp.seed.to_string())]),
    ]
}
