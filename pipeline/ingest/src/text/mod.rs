//! Bytes of a file to text, records and cells.
//!
//! Records are found line by line, so that every physical line belongs to exactly one
//! record, and a quote that is never closed spoils its own line only.

mod decode;
mod disk;
mod input;
mod long;
mod quote;
mod record;
mod space;
mod split;
mod window;

pub(crate) use decode::{Encoding, Text};
pub(crate) use input::{Bytes, LONG, content_hash, read_lines};
pub(crate) use long::LongFile;
pub(crate) use record::{HEAD_RECORDS, KeptRecord, Record, RecordAt};
pub(crate) use space::{GAP, trim};
pub(crate) use split::{Cells, Splitter};

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
