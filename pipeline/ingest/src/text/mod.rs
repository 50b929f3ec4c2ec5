//! Bytes of a file to text, records and cells.
//!
//! Records are found line by line, so that every physical line belongs to exactly one
//! record, and a quote that is never closed spoils its own line only.

mod decode;
mod input;
mod quote;
mod split;

pub(crate) use decode::{Encoding, Text};
pub(crate) use input::{content_hash, read_lines};
use quote::Further;
pub(crate) use split::{Cells, Splitter};

/// Stands for two spaces or more between cells, where single spaces belong to the cells;
/// the byte itself is a control character that no log parts its cells by.
pub(crate) const GAP: u8 = 0x1F;

/// A quoted cell may go over this many lines; beyond, its quote counts as unclosed.
const LONGEST_QUOTED_LINES: u32 = 64;

impl Text<'_> {
    /// Iterates over the records under a delimiter.
    pub(crate) fn records(&self, delimiter: u8) -> Records<'_> {
        self.records_from(0, delimiter)
    }

    /// Iterates over the records from the offset of one on; their `line` counts from
    /// there.
    pub(crate) fn records_from(&self, at: usize, delimiter: u8) -> Records<'_> {
        Records {
            bytes: self.bytes(),
            at,
            line: 1,
            delimiter,
            quotes: self.has_quotes(),
            padded: self.is_padded(),
        }
    }
}

/// One record: one physical line, or several where a quoted cell holds line ends.
// Each of them is a fact of its own; an enum of combinations would hide that.
#[allow(clippy::struct_excessive_bools)]
#[derive(Debug, Clone, Copy)]
pub(crate) struct Record<'a> {
    /// Its text without the line end.
    pub(crate) raw: &'a [u8],
    /// Offset in the text.
    pub(crate) start: usize,
    /// First line, from 1.
    pub(crate) line: u32,
    /// Physical lines.
    pub(crate) lines: u32,
    /// Whether a line end follows.
    pub(crate) ended: bool,
    /// Whether there is a quote in it.
    pub(crate) quoted: bool,
    /// Whether a quote in it is never closed.
    pub(crate) unclosed: bool,
    /// Whether zero bytes before it were left out.
    pub(crate) padded: bool,
}

impl Record<'_> {
    /// Whether there is nothing in it but space, delimiters and padding (zero bytes, the
    /// end-of-file mark of old systems).
    pub(crate) fn is_blank(&self, delimiter: u8) -> bool {
        self.raw.iter().all(|&b| b.is_ascii_whitespace() || b == delimiter || matches!(b, 0 | 0x1A))
    }
}

/// Iterator over records; see [`Text::records`].
pub(crate) struct Records<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u32,
    delimiter: u8,
    quotes: bool,
    padded: bool,
}

impl<'a> Iterator for Records<'a> {
    type Item = Record<'a>;

    fn next(&mut self) -> Option<Record<'a>> {
        let start = self.at;
        if start >= self.bytes.len() {
            return None;
        }
        let (mut end, mut next) = line_end(self.bytes, start);
        let mut record = Record {
            raw: &self.bytes[start..end],
            start,
            line: self.line,
            lines: 1,
            ended: next > end,
            quoted: self.quotes && memchr::memchr(b'"', &self.bytes[start..end]).is_some(),
            unclosed: false,
            padded: false,
        };
        if record.raw.first() == Some(&0) {
            let zeros = record.raw.iter().take_while(|&&b| b == 0).count();
            record.padded = zeros < record.raw.len();
            if record.padded {
                record.raw = &record.raw[zeros..];
            }
        }
        let from = end - record.raw.len();
        if record.quoted {
            let mut open = quote::is_open_after(record.raw, self.delimiter);
            let mut lines = 1;
            let mut stray = false;
            while open && !stray && lines < LONGEST_QUOTED_LINES && next < self.bytes.len() {
                let line = next;
                (end, next) = line_end(self.bytes, line);
                lines += 1;
                match quote::further(&self.bytes[line..end], self.delimiter) {
                    Further::Open => {}
                    Further::Closed => open = false,
                    Further::Stray => stray = true,
                }
            }
            if open {
                record.unclosed = true;
                (_, next) = line_end(self.bytes, start);
            } else {
                record.raw = &self.bytes[from..end];
                record.lines = lines;
                record.ended = next > end;
            }
        }
        if self.padded && record.ended {
            let used = record.raw.iter().rposition(|&b| b != 0).map_or(0, |last| last + 1);
            record.raw = &record.raw[..used];
        }
        self.at = next;
        self.line += record.lines;
        Some(record)
    }
}

/// End of the line that begins at `from`, and where the next begins.
fn line_end(bytes: &[u8], from: usize) -> (usize, usize) {
    match memchr::memchr2(b'\n', b'\r', &bytes[from..]) {
        None => (bytes.len(), bytes.len()),
        Some(length) => {
            let end = from + length;
            let two = bytes[end] == b'\r' && bytes.get(end + 1) == Some(&b'\n');
            (end, end + if two { 2 } else { 1 })
        }
    }
}

/// Without outer space, the no-break space among it.
pub(crate) fn trim(mut cell: &[u8]) -> &[u8] {
    // Nearly all cells have none.
    if let ([first, ..], [.., last]) = (cell, cell)
        && first.is_ascii_graphic()
        && last.is_ascii_graphic()
    {
        return cell;
    }
    loop {
        cell = cell.trim_ascii();
        // The two bytes of a no-break space, in UTF-8.
        if let Some(rest) = cell.strip_prefix(b"\xC2\xA0") {
            cell = rest;
        } else if let Some(rest) = cell.strip_suffix(b"\xC2\xA0") {
            cell = rest;
        } else {
            return cell;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn records(text: &str, delimiter: u8) -> Vec<(u32, u32, Vec<String>)> {
        let text = Text::decode(text.as_bytes(), "t.csv").unwrap();
        let mut splitter = Splitter::new(delimiter);
        text.records(delimiter)
            .map(|record| (record.line, record.lines, splitter.split(&record).texts()))
            .collect()
    }

    #[test]
    fn every_kind_of_line_end_is_one_line() {
        let read = records("a,b\r\nc,d\re\n\nf", b',');
        let lines: Vec<u32> = read.iter().map(|r| r.0).collect();
        assert_eq!(lines, [1, 2, 3, 4, 5]);
        assert_eq!(read[1].2, ["c", "d"]);
    }

    #[test]
    fn a_quoted_line_end_spans_and_an_unclosed_quote_does_not() {
        let read = records("a,\"b\nc\"\"d\",e\nf,\"g\nh,i\n", b',');
        assert_eq!(read[0], (1, 2, vec!["a".into(), "b\nc\"d".into(), "e".into()]));
        assert_eq!(read[1].0, 3);
        assert_eq!(read[2], (4, 1, vec!["h".into(), "i".into()]));
        // The quote of the first line was cut off with the line; the next is whole.
        let read = records("a,\"b\nc,\"d\",e\n", b',');
        assert_eq!(read[1], (2, 1, vec!["c".into(), "d".into(), "e".into()]));
    }

    #[test]
    fn quotes_are_escaped_by_doubling_or_by_a_backslash() {
        let cells = |text: &str| records(text, b',')[0].2.clone();
        assert_eq!(cells(r#""say ""hi"", then",5"#), [r#"say "hi", then"#, "5"]);
        assert_eq!(cells(r#""say \"hi\" then",5"#), [r#"say "hi" then"#, "5"]);
        assert_eq!(cells(r#""say \"hi\"",5"#), [r#"say "hi""#, "5"]);
        assert_eq!(cells(r#""a\b",5"#), [r"a\b", "5"]);
        assert_eq!(cells(r#""a \""b",5"#), [r#"a \"b"#, "5"]);
        assert_eq!(cells(r#"a, "b, c" ,5"#), ["a", "b, c", "5"]);
        assert_eq!(cells(r#"5" probe,"x",7"#), [r#"5" probe"#, "x", "7"]);
    }

    #[test]
    fn runs_of_spaces_and_gaps_part_cells() {
        let line = "  2026-05-02 06:00   225.5  \"Pit 1\"   41 ";
        assert_eq!(records(line, b' ')[0].2, ["2026-05-02", "06:00", "225.5", "Pit 1", "41"]);
        assert_eq!(records(line, GAP)[0].2, ["2026-05-02 06:00", "225.5", "Pit 1", "41"]);
    }

    #[test]
    fn padding_is_cut_where_every_line_has_it() {
        let text = "t,p\0\0\n1,2\0\0\0\n3,4\0\n";
        let read = records(text, b',');
        assert_eq!(read[1].2, ["1", "2"]);
        let read = records("t,p\n1,2\n1,3\n3,4\0\0\n1,1\n", b',');
        assert_eq!(read[3].2, ["3", "4\0\0"]);
    }

    proptest! {
        /// The `csv` crate reads what well-formed writers write in the same way.
        #[test]
        fn cells_agree_with_the_csv_crate(
            rows in prop::collection::vec(prop::collection::vec("[a-z\",;\n ]{0,6}", 2..5), 1..6),
        ) {
            let mut writer =
                csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let bytes = writer.into_inner().unwrap();
            let text = Text::decode(&bytes, "t.csv").unwrap();
            let mut splitter = Splitter::new(b',');
            let read: Vec<Vec<String>> = text
                .records(b',')
                .map(|record| splitter.split(&record).texts())
                .collect();
            let trimmed: Vec<Vec<String>> = rows
                .iter()
                .map(|row| row.iter().map(|cell| cell.trim().to_owned()).collect())
                .collect();
            prop_assert_eq!(read, trimmed);
        }

        /// The `csv` crate also reads what a writer escapes by backslashes.
        #[test]
        fn backslashes_agree_with_the_csv_crate(
            // A quote before a delimiter could as well end the cell.
            rows in prop::collection::vec(
                prop::collection::vec("([a-z, ]|\"[a-z]){0,6}", 2..5), 1..6),
        ) {
            let mut writer = csv::WriterBuilder::new()
                .flexible(true)
                .double_quote(false)
                .quote_style(csv::QuoteStyle::NonNumeric)
                .from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let bytes = writer.into_inner().unwrap();
            let text = Text::decode(&bytes, "t.csv").unwrap();
            let mut splitter = Splitter::new(b',');
            let read: Vec<Vec<String>> =
                text.records(b',').map(|record| splitter.split(&record).texts()).collect();
            let trimmed: Vec<Vec<String>> = rows
                .iter()
                .map(|row| row.iter().map(|cell| cell.trim().to_owned()).collect())
                .collect();
            prop_assert_eq!(read, trimmed);
        }
    }
}
