//! Rows doubled, moved, cut, glued and spoilt.

use super::Family;
use crate::dialect::{
    Body, Content, Dialect, LineKind, Page, PageLine, RowEnd, TimeStyle, Verdict, one_of,
};
use crate::encoding::raw_byte;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use simulate::measured::ReadingSet;
use std::collections::BTreeSet;

/// Spoils rows as the families ask.
pub(super) fn spoil(
    page: &mut Page,
    families: &BTreeSet<Family>,
    dialect: &Dialect,
    set: &ReadingSet,
    random: &mut ChaCha8Rng,
) {
    // Cells first, then lines, then their order, so that each finds what it looks for.
    if families.contains(&Family::SpoiltCells) {
        spoil_cells(page, dialect, random);
    }
    if families.contains(&Family::StrayBytes) {
        stray_bytes(page, random);
    }
    if families.contains(&Family::CutLines) {
        cut_lines(page, dialect, set, random);
    }
    if families.contains(&Family::RowOrder) {
        move_rows(page, set, random);
    }
    if families.contains(&Family::DuplicateRows) {
        double_rows(page, dialect, random);
    }
    if families.contains(&Family::StrayLines) {
        stray_lines(page, random);
    }
}

/// Places of untouched data lines, the first three left out: what a file is shows there.
fn data_lines(page: &Page) -> Vec<usize> {
    let untouched =
        |line: &PageLine| line.lost == 0 && line.head.is_empty() && line.tail.is_empty();
    (0..page.lines.len())
        .filter(|&at| page.lines[at].kind == LineKind::Data && untouched(&page.lines[at]))
        .skip(3)
        .collect()
}

/// A few of them, no two the same.
fn some(list: &[usize], most: usize, random: &mut ChaCha8Rng) -> Vec<usize> {
    let count = random.random_range(1..=most.min(list.len().max(1)));
    let mut drawn: BTreeSet<usize> = BTreeSet::new();
    for _ in 0..count {
        if !list.is_empty() {
            drawn.insert(one_of(random, list));
        }
    }
    drawn.into_iter().collect()
}

fn weaken(line: &mut PageLine) {
    if line.verdict == Verdict::Read {
        line.verdict = Verdict::ReadOrReject;
    }
}

/// Letters in numbers, and now and then in a time.
fn spoil_cells(page: &mut Page, dialect: &Dialect, random: &mut ChaCha8Rng) {
    let leading = dialect.leading_columns();
    let times = leading - dialect.time.columns();
    for at in some(&data_lines(page), 5, random) {
        let line = &mut page.lines[at];
        let Body::Cells(cells) = &mut line.body else { continue };
        if random.random_bool(0.3) {
            spoil_text(&mut cells[times].text, random);
            // Nobody knows when that was.
            for cell in cells.iter_mut() {
                cell.truth = None;
            }
            line.verdict = Verdict::Reject;
            continue;
        }
        let with_value: Vec<usize> = (0..cells.len())
            .filter(|&c| {
                cells[c].truth.as_ref().is_some_and(|t| matches!(t.content, Content::Celsius(_)))
            })
            .collect();
        if with_value.is_empty() {
            continue;
        }
        let cell = &mut cells[one_of(random, &with_value)];
        spoil_text(&mut cell.text, random);
        if let Some(truth) = &mut cell.truth
            && let Content::Celsius(celsius) = truth.content
        {
            truth.content = Content::Spoilt(Some(celsius));
        }
        weaken(line);
    }
}

/// Something among or instead of the digits that no number or date has: no unit, no
/// exponent, no word for "no value".
fn spoil_text(text: &mut String, random: &mut ChaCha8Rng) {
    let from = text.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
    let digits = text[from..].chars().take_while(char::is_ascii_digit).count();
    let place = from + random.random_range(0..digits.max(1));
    match random.random_range(0..4) {
        0 => text.insert(place, one_of(random, &['x', 'O', 'l', '~'])),
        1 if digits > 0 => text.replace_range(place..=place, one_of(random, &["x", "O", "§", "?"])),
        2 => text.insert_str(place, "§$"),
        _ => text.insert(place, '!'),
    }
}

/// Bytes that are no text: in a cell, before a line, or as a line of their own.
fn stray_bytes(page: &mut Page, random: &mut ChaCha8Rng) {
    let noise = |random: &mut ChaCha8Rng, count: usize| -> String {
        (0..count).map(|_| raw_byte(random.random_range(0x80..=0xFF))).collect()
    };
    match random.random_range(0..3) {
        0 => {
            for at in some(&data_lines(page), 3, random).into_iter().rev() {
                let mut line = PageLine::raw(LineKind::Noise, noise(random, 24));
                line.verdict = Verdict::Reject;
                page.lines.insert(at, line);
            }
        }
        1 => {
            for at in some(&data_lines(page), 3, random) {
                let zeros = random.random_range(1..40);
                page.lines[at].head = "\0".repeat(zeros);
            }
        }
        _ => {
            for at in some(&data_lines(page), 3, random) {
                let line = &mut page.lines[at];
                let Body::Cells(cells) = &mut line.body else { continue };
                let value = cells.iter_mut().find_map(|cell| {
                    let truth = cell.truth.as_mut()?;
                    match truth.content {
                        Content::Celsius(celsius) => Some((&mut cell.text, truth, celsius)),
                        _ => None,
                    }
                });
                let Some((text, truth, celsius)) = value else { continue };
                let first = text.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
                text.insert_str(first, &noise(random, 2));
                truth.content = Content::Spoilt(Some(celsius));
                weaken(line);
            }
        }
    }
}

/// Lines cut in the middle, or run into the next one. Cut so that it shows: a cell less, or
/// decimals lost.
fn cut_lines(page: &mut Page, dialect: &Dialect, set: &ReadingSet, random: &mut ChaCha8Rng) {
    // From the end, so that a line gone leaves the places before it as they are.
    for at in some(&data_lines(page), 4, random).into_iter().rev() {
        if random.random_bool(0.4) {
            glue(page, at, dialect);
        } else {
            cut(&mut page.lines[at], dialect, set, random);
        }
    }
}

fn cut(line: &mut PageLine, dialect: &Dialect, set: &ReadingSet, random: &mut ChaCha8Rng) {
    let (text, places) = dialect.written(line);
    let values: Vec<(usize, usize)> = {
        let Body::Cells(cells) = &line.body else { return };
        cells
            .iter()
            .zip(&places)
            .filter(|(cell, _)| cell.truth.is_some())
            .map(|(_, place)| (place.start, place.end))
            .collect()
    };
    let Some(&(start, end)) = values.last() else { return };
    // What stands behind the last value shows that something is gone; else the value has to
    // be gone, or to have lost its decimals.
    let more = text.len() > end + 1;
    let latest = if more || set.decimals > 0 { end.max(start + 1) - 1 } else { start };
    if latest < 4 {
        return;
    }
    let mut keep = random.random_range(3..=latest);
    while !text.is_char_boundary(keep) {
        keep -= 1;
    }
    line.lost = text[keep..].chars().count();
    weaken(line);
}

/// The next data line without a line end before it.
fn glue(page: &mut Page, at: usize, dialect: &Dialect) {
    let next = at + 1;
    let plain = page.lines.get(next).is_some_and(|line| {
        line.kind == LineKind::Data
            && line.head.is_empty()
            && line.tail.is_empty()
            && line.lost == 0
    });
    // Rows of unequal length would hide it.
    if !plain || dialect.row_end == RowEnd::Ragged {
        return;
    }
    let (text, _) = dialect.written(&page.lines[next]);
    page.lines[at].tail = text;
    weaken(&mut page.lines[at]);
    page.lines.remove(next);
}

/// Rows that come too late, or the newest first.
fn move_rows(page: &mut Page, set: &ReadingSet, random: &mut ChaCha8Rng) {
    let lines: Vec<usize> =
        (0..page.lines.len()).filter(|&at| page.lines[at].kind == LineKind::Data).collect();
    if random.random_bool(0.3) {
        let mut data: Vec<PageLine> = lines.iter().map(|&at| page.lines[at].clone()).collect();
        data.reverse();
        for (&at, line) in lines.iter().zip(data) {
            page.lines[at] = line;
        }
        return;
    }
    // Far enough that in the long form another instant is passed.
    let reach = set.channels.len() * random.random_range(1..5);
    for _ in 0..random.random_range(1..6) {
        let Some(last) = lines.len().checked_sub(reach + 1).filter(|&last| last > 3) else {
            return;
        };
        let from = random.random_range(3..last.max(4));
        for step in from..from + reach {
            page.lines.swap(lines[step], lines[step + 1]);
        }
    }
}

/// Rows that come twice: one at once, or a block again at the end.
fn double_rows(page: &mut Page, dialect: &Dialect, random: &mut ChaCha8Rng) {
    let lines = data_lines(page);
    let clock_only = matches!(dialect.time, TimeStyle::ClockOnly { .. });
    if !clock_only && random.random_bool(0.3) {
        let count = random.random_range(3..12).min(lines.len());
        let block = &lines[lines.len() - count..];
        let copies: Vec<PageLine> = block
            .iter()
            .map(|&at| {
                weaken(&mut page.lines[at]);
                page.lines[at].clone()
            })
            .collect();
        let Some(&last) = lines.last() else { return };
        for (index, copy) in copies.into_iter().enumerate() {
            page.lines.insert(last + 1 + index, copy);
        }
        return;
    }
    for at in some(&lines, 5, random).into_iter().rev() {
        weaken(&mut page.lines[at]);
        let copy = page.lines[at].clone();
        page.lines.insert(at, copy);
    }
}

/// Empty lines and remarks among the readings.
fn stray_lines(page: &mut Page, random: &mut ChaCha8Rng) {
    const REMARKS: [&str; 4] =
        ["# pause", "--- logging resumed ---", "*** low battery ***", "Event: lid"];
    for at in some(&data_lines(page), 6, random).into_iter().rev() {
        let line = if random.random_bool(0.5) {
            PageLine::raw(LineKind::Blank, "")
        } else {
            PageLine::raw(LineKind::Noise, one_of(random, &REMARKS))
        };
        page.lines.insert(at, line);
    }
}
