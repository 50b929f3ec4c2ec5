//! Lines of cells as text, with the truth of every line.

use super::page::{Body, Page, PageCell, PageLine};
use super::truth::{CellTruth, Content, LineKind, LineTruth, Verdict};
use super::{Delimiter, Dialect, Escape, FileEnd, LineEnds, Quotes};
use std::ops::Range;

/// A record as text, and where the text of each of its cells stands.
struct Written {
    text: String,
    places: Vec<Range<usize>>,
}

impl Dialect {
    /// Every physical line of a page.
    pub(super) fn render(&self, page: &Page) -> Vec<LineTruth> {
        let widths = self.widths(page);
        let mut lines: Vec<LineTruth> = Vec::with_capacity(page.lines.len());
        for line in &page.lines {
            let (text, cells, verdict) = self.record(line, &widths);
            // A line end inside quotes makes one record several lines; the first of them has
            // its kind, and so have the others.
            for (index, part) in text.split('\n').enumerate() {
                lines.push(LineTruth {
                    text: part.to_owned(),
                    end: "\n",
                    kind: line.kind,
                    verdict,
                    cells: if index == 0 { cells.clone() } else { Vec::new() },
                });
            }
            let parts = text.matches('\n').count();
            let last = lines.len() - 1;
            lines[last].end = self.line_end(last);
            debug_assert!(parts == 0 || cells.is_empty(), "only headers go over several lines");
        }
        // A line feed after a carriage return would be one line end, not two.
        for index in 1..lines.len() {
            if lines[index - 1].end == "\r" && lines[index].text.is_empty() {
                lines[index - 1].end = "\r\n";
            }
        }
        let cut = page.lines.last().is_some_and(|line| line.lost > 0);
        if let Some(last) = lines.last_mut()
            && (cut || self.file_end == FileEnd::NoLineEnd)
        {
            last.end = "";
            if last.verdict == Verdict::Read {
                last.verdict = Verdict::ReadOrReject;
            }
        }
        if let FileEnd::Zeros(count) = self.file_end {
            lines.push(LineTruth {
                text: "\0".repeat(count),
                end: "",
                kind: LineKind::Padding,
                verdict: Verdict::NoReadings,
                cells: Vec::new(),
            });
        }
        // A line of nothing at the very end is no line.
        if lines.last().is_some_and(|line| line.end.is_empty() && line.text.is_empty()) {
            lines.pop();
        }
        lines
    }

    fn line_end(&self, index: usize) -> &'static str {
        const MIX: [&str; 7] = ["\n", "\r\n", "\n", "\r", "\r\n", "\n", "\r\n"];
        match self.line_ends {
            LineEnds::Lf => "\n",
            LineEnds::CrLf => "\r\n",
            LineEnds::Cr => "\r",
            LineEnds::Mixed => MIX[index % MIX.len()],
        }
    }

    /// A record's text, its temperature cells, and what may be done with it.
    fn record(&self, line: &PageLine, widths: &[usize]) -> (String, Vec<CellTruth>, Verdict) {
        let mut verdict = line.verdict;
        let cells: &[PageCell] = match &line.body {
            Body::Raw(_) => &[],
            Body::Cells(cells) => cells,
        };
        let Written { text, places } = match &line.body {
            Body::Raw(text) => Written { text: text.clone(), places: Vec::new() },
            Body::Cells(cells) => self.join(cells, widths),
        };
        let whole = line.head.len() + text.len();
        let mut text = format!("{}{text}", line.head);
        let keep = text
            .char_indices()
            .rev()
            .nth(line.lost.wrapping_sub(1))
            .map_or_else(|| if line.lost == 0 { text.len() } else { 0 }, |(at, _)| at);
        text.truncate(keep);
        let mut truths = Vec::new();
        for (cell, place) in cells.iter().zip(places) {
            let Some(truth) = &cell.truth else { continue };
            let place = place.start + line.head.len()..place.end + line.head.len();
            if line.lost > 0 && place.start >= keep {
                continue;
            }
            // Behind the last cell there is at most a closing quote. A cell that has lost
            // no digit has lost nothing.
            let last = place.end + 1 >= whole;
            let digits = cell.text.rfind(|c: char| c.is_ascii_digit()).map_or(0, |at| at + 1);
            let cut = place.end > keep && place.start + digits > keep;
            let gone = place.end > keep && digits == 0;
            let content = match truth.content {
                content if !cut && !gone && (line.tail.is_empty() || !last) => content,
                Content::Celsius(celsius) => Content::Spoilt(Some(celsius)),
                _ => Content::Spoilt(None),
            };
            truths.push(CellTruth {
                channel: truth.channel,
                written_ms: truth.written_ms,
                true_ms: truth.true_ms,
                instant: truth.instant,
                content,
                place: place.start..place.end.min(keep),
            });
        }
        text.push_str(&line.tail);
        let touched = line.lost > 0 || !line.head.is_empty() || !line.tail.is_empty();
        if touched && verdict == Verdict::Read {
            verdict = if truths.is_empty() { Verdict::Reject } else { Verdict::ReadOrReject };
        }
        (text, truths, verdict)
    }

    /// A record as it would stand on a line of its own, and where its cells stand in it;
    /// columns are not aligned.
    pub(crate) fn written(&self, line: &PageLine) -> (String, Vec<Range<usize>>) {
        match &line.body {
            Body::Raw(text) => (text.clone(), Vec::new()),
            Body::Cells(cells) => {
                let Written { text, places } = self.join(cells, &[]);
                (text, places)
            }
        }
    }

    /// Widths of aligned columns; empty for every other delimiter.
    fn widths(&self, page: &Page) -> Vec<usize> {
        let mut widths: Vec<usize> = Vec::new();
        if self.delimiter != Delimiter::Spaces {
            return widths;
        }
        for line in &page.lines {
            let Body::Cells(cells) = &line.body else { continue };
            widths.resize(widths.len().max(cells.len()), 0);
            for (width, cell) in widths.iter_mut().zip(cells) {
                *width = (*width).max(cell.text.chars().count());
            }
        }
        widths
    }

    fn join(&self, cells: &[PageCell], widths: &[usize]) -> Written {
        let mut text = String::new();
        let mut places = Vec::with_capacity(cells.len());
        for (index, cell) in cells.iter().enumerate() {
            if index > 0 {
                text.push_str(self.delimiter.text());
            }
            if let Some(width) = widths.get(index) {
                let pad = " ".repeat(width - cell.text.chars().count());
                // Texts to the left, numbers to the right, as tables are set.
                if cell.number || cell.truth.is_some() {
                    text.push_str(&pad);
                }
                places.push(text.len()..text.len() + cell.text.len());
                text.push_str(&cell.text);
                if !cell.number && cell.truth.is_none() && index + 1 < cells.len() {
                    text.push_str(&pad);
                }
            } else if self.in_quotes(cell) {
                let inside = match self.escape {
                    Escape::Doubled => cell.text.replace('"', "\"\""),
                    Escape::Backslash => cell.text.replace('\\', "\\\\").replace('"', "\\\""),
                };
                text.push('"');
                places.push(text.len()..text.len() + inside.len());
                text.push_str(&inside);
                text.push('"');
            } else {
                places.push(text.len()..text.len() + cell.text.len());
                text.push_str(&cell.text);
            }
        }
        Written { text, places }
    }

    fn in_quotes(&self, cell: &PageCell) -> bool {
        let needed = cell.text.contains(self.delimiter.text())
            || cell.text.contains(['"', '\n', '\r'])
            || cell.text.starts_with(' ')
            || cell.text.ends_with(' ');
        match self.quotes {
            Quotes::WhenNeeded => needed,
            Quotes::Texts => needed || (!cell.number && !cell.text.is_empty()),
            Quotes::All => true,
        }
    }
}
