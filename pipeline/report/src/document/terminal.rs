//! The tree as plain text for a terminal: lines of a given width, columns aligned. Drawings are told by
//! the descriptions that they hold.

use super::{Answer, Block, Cell, Document, Figure, Inline, Inlines, List, Mark, Section, Table};

/// The document as text, its lines at most `width` characters long where words allow.
pub(crate) fn page(document: &Document, width: usize) -> String {
    let mut page = Writer { written: String::new(), width: width.max(20) };
    page.heading(&document.name, '=');
    for line in [&document.kicker, &document.subtitle] {
        if !line.is_empty() {
            page.paragraph(&printable(line));
        }
    }
    if let Some(caution) = &document.caution {
        page.paragraph(&format!("CAUTION. {}", plain(&caution.text)));
    }
    for section in document.opening.iter().chain(&document.sections) {
        page.section(section);
    }
    page.written.truncate(page.written.trim_end().len());
    page.written.push('\n');
    page.written
}

struct Writer {
    written: String,
    width: usize,
}

impl Writer {
    fn line(&mut self, line: &str) {
        self.written.push_str(line.trim_end());
        self.written.push('\n');
    }

    fn heading(&mut self, text: &str, under: char) {
        let text = printable(text);
        self.line(&text);
        let rule: String = std::iter::repeat_n(under, text.chars().count().max(1)).collect();
        self.line(&rule);
        self.line("");
    }

    /// Words set between margins: `first` stands before the first line, and as much room before the
    /// others.
    fn set(&mut self, first: &str, text: &str) {
        let margin = " ".repeat(first.chars().count());
        let mut line = first.to_owned();
        let mut filled = margin.len();
        for word in text.split_ascii_whitespace() {
            let long = word.chars().count();
            if filled > margin.len() && filled + 1 + long > self.width {
                self.line(&line);
                line.clone_from(&margin);
                filled = margin.len();
            }
            if filled > margin.len() {
                line.push(' ');
                filled += 1;
            }
            line.push_str(word);
            filled += long;
        }
        self.line(&line);
    }

    fn paragraph(&mut self, text: &str) {
        self.set("", text);
        self.line("");
    }

    fn section(&mut self, section: &Section) {
        self.heading(&section.heading, '-');
        self.blocks(&section.blocks);
    }

    fn blocks(&mut self, blocks: &[Block]) {
        for block in blocks {
            self.block(block);
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading { text, .. } | Block::Paragraph(_, text) => {
                self.paragraph(&plain(text));
            }
            Block::List(own) => self.list(own),
            Block::Facts(facts) => {
                for (name, lines) in facts {
                    let lines: Vec<String> = lines.iter().map(plain).collect();
                    self.set("", &format!("{name}: {}", lines.join(" ")));
                }
                self.line("");
            }
            Block::Table(own) => self.table(own),
            Block::Figure(own) => self.figure(own),
            Block::Gallery(figures) => {
                for own in figures {
                    self.figure(own);
                }
            }
            Block::Beside(columns) => columns.iter().for_each(|blocks| self.blocks(blocks)),
            // Signs of drawings that are not there.
            Block::Key { .. } => {}
            Block::Article { heading, blocks, .. } => {
                self.paragraph(&printable(heading));
                self.blocks(blocks);
            }
            Block::Answers { answers, .. } => {
                for own in answers {
                    self.answer(own);
                }
                self.line("");
            }
            Block::Details { summary, blocks, .. } => {
                self.paragraph(&plain(summary));
                self.blocks(blocks);
            }
        }
    }

    fn list(&mut self, list: &List) {
        for (place, item) in list.items.iter().enumerate() {
            let first = if list.numbered { format!("{}. ", place + 1) } else { "- ".to_owned() };
            self.set(&first, &plain(item));
        }
        self.line("");
    }

    fn answer(&mut self, answer: &Answer) {
        let said = format!(
            "{}. {}: {} {}",
            answer.word,
            printable(&answer.asked),
            plain(&answer.found),
            plain(&answer.rests_on)
        );
        self.set("- ", said.trim_end());
    }

    fn figure(&mut self, figure: &Figure) {
        if let Some(drawing) = &figure.drawing {
            self.paragraph(&format!(
                "[{}: {}]",
                printable(&drawing.title),
                printable(&drawing.description)
            ));
        }
        self.paragraph(&plain(&figure.caption));
    }

    /// Numbers to the right, words to the left, under their heads.
    fn table(&mut self, table: &Table) {
        if !table.caption.is_empty() {
            self.paragraph(&printable(&table.caption));
        }
        let reasons = table.reasons();
        let heads = table.columns.iter().map(|column| match column.unit.as_str() {
            "" => printable(&column.name),
            unit => printable(&format!("{}, {unit}", column.name)),
        });
        let mut rows: Vec<Vec<String>> = vec![heads.collect()];
        rows.extend(
            table.rows.iter().map(|row| row.iter().map(|own| cell(own, &reasons)).collect()),
        );
        let columns = table.columns.len();
        let widths: Vec<usize> = (0..columns)
            .map(|place| {
                let cells = rows.iter().filter_map(|row| row.get(place));
                cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
            })
            .collect();
        for (place, row) in rows.iter().enumerate() {
            let cells: Vec<String> = row
                .iter()
                .zip(&table.columns)
                .zip(&widths)
                .map(|((cell, column), width)| {
                    let room = " ".repeat(width - cell.chars().count());
                    if column.is_number { room + cell } else { format!("{cell}{room}") }
                })
                .collect();
            self.line(&cells.join("  "));
            if place == 0 {
                let rules: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
                self.line(&rules.join("  "));
            }
        }
        self.line("");
        if !table.remark.is_empty() {
            self.paragraph(&printable(&table.remark));
        }
        for (letter, reason) in &reasons {
            self.set(&format!("({letter}) "), &printable(reason));
        }
        if !reasons.is_empty() {
            self.line("");
        }
    }
}

fn cell(cell: &Cell, reasons: &[(String, &str)]) -> String {
    let own = match (&cell.text, cell.reason()) {
        (Some(text), _) => plain(text),
        (None, None) => "–".to_owned(),
        (None, Some(reason)) => {
            let letter = reasons.iter().find(|(_, known)| *known == reason);
            letter.map_or_else(|| "–".to_owned(), |(letter, _)| format!("– ({letter})"))
        }
    };
    own + &plain(&cell.after)
}

/// The words of a run of text, on one line.
pub(super) fn plain(text: &Inlines) -> String {
    text.parts()
        .iter()
        .map(|inline| match inline {
            Inline::Plain(text) => printable(text),
            Inline::Marked(Mark::Range, text) => format!(" ({})", plain(text)),
            Inline::Marked(_, text) | Inline::Link { text, .. } => plain(text),
        })
        .collect()
}

/// Text without what would move a terminal's cursor or change its colours.
fn printable(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}
