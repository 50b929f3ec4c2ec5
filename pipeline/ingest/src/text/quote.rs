//! Where quoted cells begin and end.
//!
//! A quote at the start of a cell (outer space aside) opens it. Inside, a doubled quote is
//! one quote (RFC 4180), and so is a quote behind a backslash, unless what follows it is
//! the end of the cell: `"C:\",5` is a cell that ends in a backslash.

use super::space::GAP;

/// What stands at a place inside a quoted cell.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Inside {
    /// A quote of the text, doubled or behind a backslash: two bytes.
    Quote,
    /// A backslash of the text and a doubled quote: three bytes.
    BackslashAndQuote,
    /// The closing quote; before it stand this many bytes of text.
    Closing(usize),
}

/// What the quote or the backslash before a quote at `at` is.
pub(super) fn inside(line: &[u8], at: usize, delimiter: u8) -> Inside {
    let ends = |at: usize| cell_ends(line, at, delimiter);
    if line[at] == b'\\' {
        // `\"` before the end of the cell closes it; `\""` escapes and closes there, and
        // is a backslash and a doubled quote elsewhere.
        return match line.get(at + 2) {
            Some(b'"') if !ends(at + 3) => Inside::BackslashAndQuote,
            _ if ends(at + 2) => Inside::Closing(1),
            _ => Inside::Quote,
        };
    }
    if line.get(at + 1) == Some(&b'"') { Inside::Quote } else { Inside::Closing(0) }
}

/// Whether a cell can end before the byte at `at`.
fn cell_ends(line: &[u8], at: usize, delimiter: u8) -> bool {
    let space = delimiter == GAP || delimiter == b' ';
    match line.get(at) {
        None => true,
        Some(b' ') if space => true,
        Some(&byte) => byte == delimiter || matches!(byte, b'\n' | b'\r'),
    }
}

/// Next quote, or backslash before a quote, from `at` on.
pub(super) fn next_mark(line: &[u8], at: usize) -> Option<usize> {
    let quote = at + memchr::memchr(b'"', line.get(at..)?)?;
    Some(if quote > at && line[quote - 1] == b'\\' { quote - 1 } else { quote })
}

/// The end of a quoted cell whose text begins at `from`: the index of the closing quote.
fn closing(line: &[u8], from: usize, delimiter: u8) -> Option<usize> {
    let mut at = from;
    loop {
        at = next_mark(line, at)?;
        match inside(line, at, delimiter) {
            Inside::Closing(text) => return Some(at + text),
            Inside::Quote => at += 2,
            Inside::BackslashAndQuote => at += 3,
        }
    }
}

/// Whether a quoted cell is open at the end of a line that begins outside one.
pub(super) fn is_open_after(line: &[u8], delimiter: u8) -> bool {
    open_from(line, 0, delimiter)
}

/// What becomes, in a further line, of a quoted cell that began in one before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Further {
    /// It is still open at the end.
    Open,
    /// It has ended, and no other is open.
    Closed,
    /// A quote stands where a cell cannot end: the one that opened it was a stray.
    Stray,
}

/// What becomes in this line of a quoted cell that is open at its start.
pub(super) fn further(line: &[u8], delimiter: u8) -> Further {
    let Some(end) = closing(line, 0, delimiter) else { return Further::Open };
    let behind = skip_space(line, end + 1);
    if !cell_ends(line, end + 1, delimiter) && !cell_ends(line, behind, delimiter) {
        return Further::Stray;
    }
    match next_cell(line, end + 1, delimiter) {
        Some(at) if open_from(line, at, delimiter) => Further::Open,
        _ => Further::Closed,
    }
}

/// Whether a quoted cell is open at the end of a line of which a cell begins at `at`.
fn open_from(line: &[u8], mut at: usize, delimiter: u8) -> bool {
    loop {
        let start = skip_space(line, at);
        let end = if line.get(start) == Some(&b'"') {
            match closing(line, start + 1, delimiter) {
                None => return true,
                Some(end) => end + 1,
            }
        } else {
            start
        };
        match next_cell(line, end, delimiter) {
            Some(next) => at = next,
            None => return false,
        }
    }
}

/// Past the spaces at `at`.
pub(super) fn skip_space(line: &[u8], at: usize) -> usize {
    at + line[at..].iter().take_while(|&&b| b == b' ').count()
}

/// Where the cell after the next delimiter begins.
fn next_cell(line: &[u8], from: usize, delimiter: u8) -> Option<usize> {
    let byte = if delimiter == GAP { b' ' } else { delimiter };
    let at = from + memchr::memchr(byte, &line[from..])?;
    Some(at + 1)
}
