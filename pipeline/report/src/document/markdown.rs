//! The tree as Markdown, for a wiki: GitHub's tables, no HTML. Drawings are left out, their sentences
//! stay.

use std::fmt::Write as _;

use super::{
    Answer, Block, Caution, Cell, Document, Figure, Inline, Inlines, List, Mark, Section, Table,
};

/// The document as Markdown.
pub(crate) fn page(document: &Document) -> String {
    let mut page = Writer::default();
    page.heading(1, &escaped(&document.name));
    for line in [&document.kicker, &document.subtitle] {
        if !line.is_empty() {
            page.paragraph(&escaped(line));
        }
    }
    if let Some(caution) = &document.caution {
        page.caution(caution);
    }
    for section in document.opening.iter().chain(&document.sections) {
        page.section(section);
    }
    page.written
}

#[derive(Default)]
struct Writer {
    written: String,
}

impl Writer {
    fn line(&mut self, line: &str) {
        // Writing to a String cannot fail.
        let _ = writeln!(self.written, "{line}");
    }

    fn heading(&mut self, level: usize, text: &str) {
        self.line(&format!("{} {text}\n", "#".repeat(level)));
    }

    fn paragraph(&mut self, text: &str) {
        self.line(&format!("{}\n", at_line_start(text)));
    }

    fn caution(&mut self, caution: &Caution) {
        self.paragraph(&format!("**Caution.** {}", line(&caution.text)));
    }

    fn section(&mut self, section: &Section) {
        self.heading(2, &escaped(&section.heading));
        self.blocks(&section.blocks);
    }

    fn blocks(&mut self, blocks: &[Block]) {
        for block in blocks {
            self.block(block);
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading { text, .. } => self.heading(3, &line(text)),
            Block::Paragraph(_, text) => self.paragraph(&line(text)),
            Block::List(own) => self.list(own),
            Block::Facts(facts) => {
                for (name, lines) in facts {
                    let lines: Vec<String> = lines.iter().map(line).collect();
                    self.line(&format!("- {}: {}", escaped(name), lines.join(" ")));
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
                self.heading(3, &escaped(heading));
                self.blocks(blocks);
            }
            Block::Answers { answers, .. } => {
                for own in answers {
                    self.answer(own);
                }
                self.line("");
            }
            Block::Details { summary, blocks, .. } => {
                self.paragraph(&format!("**{}**", line(summary)));
                self.blocks(blocks);
            }
        }
    }

    fn list(&mut self, list: &List) {
        for (place, item) in list.items.iter().enumerate() {
            let item = line(item);
            let item = at_line_start(&item);
            if list.numbered {
                self.line(&format!("{}. {item}", place + 1));
            } else {
                self.line(&format!("- {item}"));
            }
        }
        self.line("");
    }

    fn answer(&mut self, answer: &Answer) {
        let found = format!("{} {}", line(&answer.found), line(&answer.rests_on));
        let found = found.trim_end();
        self.line(&format!("- **{}.** {}: {found}", answer.word, escaped(&answer.asked)));
    }

    fn figure(&mut self, figure: &Figure) {
        self.paragraph(&line(&figure.caption));
    }

    fn table(&mut self, table: &Table) {
        if !table.caption.is_empty() {
            self.paragraph(&escaped(&table.caption));
        }
        let heads: Vec<String> = table
            .columns
            .iter()
            .map(|column| match column.unit.as_str() {
                "" => escaped(&column.name),
                unit => escaped(&format!("{}, {unit}", column.name)),
            })
            .collect();
        self.row(&heads);
        self.row(&vec!["---".to_owned(); heads.len()]);
        let reasons = table.reasons();
        for row in &table.rows {
            let cells: Vec<String> = row.iter().map(|own| cell(own, &reasons)).collect();
            self.row(&cells);
        }
        self.line("");
        if !table.remark.is_empty() {
            self.paragraph(&escaped(&table.remark));
        }
        for (letter, reason) in &reasons {
            self.line(&format!("- ({letter}) {}", escaped(reason)));
        }
        if !reasons.is_empty() {
            self.line("");
        }
    }

    fn row(&mut self, cells: &[String]) {
        self.line(&format!("| {} |", cells.join(" | ")));
    }
}

fn cell(cell: &Cell, reasons: &[(String, &str)]) -> String {
    let own = match (&cell.text, cell.reason()) {
        (Some(text), _) => in_cell(text),
        (None, None) => "–".to_owned(),
        (None, Some(reason)) => {
            let letter = reasons.iter().find(|(_, known)| *known == reason);
            letter.map_or_else(|| "–".to_owned(), |(letter, _)| format!("– ({letter})"))
        }
    };
    own + &in_cell(&cell.after)
}

/// A run of text on one line.
fn line(text: &Inlines) -> String {
    Place::Line.text(text)
}

/// The same within a cell of a table.
fn in_cell(text: &Inlines) -> String {
    Place::Cell.text(text)
}

/// Where text stands. In a cell an upright bar ends the cell even within code.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    Line,
    Cell,
}

impl Place {
    fn text(self, text: &Inlines) -> String {
        text.parts().iter().map(|part| self.inline(part)).collect()
    }

    fn inline(self, inline: &Inline) -> String {
        match inline {
            Inline::Plain(text) => escaped(text),
            // Places within the page have no address in Markdown.
            Inline::Link { to, text, .. } if to.starts_with('#') => self.text(text),
            Inline::Link { to, text, .. } => format!("[{}]({})", self.text(text), address(to)),
            Inline::Marked(mark, text) => match mark {
                Mark::Code | Mark::Hash => self.code(&super::terminal::plain(text)),
                Mark::Bold | Mark::Strong => surrounded("**", &self.text(text)),
                Mark::Emphasis | Mark::Term => surrounded("*", &self.text(text)),
                Mark::Range => format!(" ({})", self.text(text)),
                Mark::Subscript | Mark::Quiet | Mark::Shown | Mark::Date | Mark::Sign => {
                    self.text(text)
                }
            },
        }
    }

    /// Code: nothing in it is escaped, so the fence must be longer than any run of backticks inside.
    fn code(self, text: &str) -> String {
        let longest = text.split(|letter| letter != '`').map(str::len).max().unwrap_or(0);
        let fence = "`".repeat(longest + 1);
        let space = if text.starts_with('`') || text.ends_with('`') { " " } else { "" };
        let text = match self {
            Self::Line => text.to_owned(),
            Self::Cell => text.replace('|', "\\|"),
        };
        // Nothing is no code.
        if text.trim().is_empty() { text } else { format!("{fence}{space}{text}{space}{fence}") }
    }
}

/// Text between marks. White space at its ends stays outside them: beside it they would be letters.
fn surrounded(mark: &str, text: &str) -> String {
    let inner = text.trim();
    if inner.is_empty() {
        return text.to_owned();
    }
    let start = text.len() - text.trim_start().len();
    let end = text.trim_end().len();
    format!("{}{mark}{inner}{mark}{}", &text[..start], &text[end..])
}

/// Text that means itself in Markdown and in HTML within it, on one line.
fn escaped(text: &str) -> String {
    let mut said = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '#' | '~' => {
                said.push('\\');
                said.push(letter);
            }
            '<' => said.push_str("&lt;"),
            '>' => said.push_str("&gt;"),
            '&' => said.push_str("&amp;"),
            letter if letter.is_control() => said.push(' '),
            letter => said.push(letter),
        }
    }
    said
}

/// A line that begins a block: what would make a list, a rule or indented code of it is escaped.
fn at_line_start(line: &str) -> String {
    let line = line.trim_start();
    let digits = line.bytes().take_while(u8::is_ascii_digit).count();
    match line[digits..].chars().next() {
        Some('.' | ')') if digits > 0 => format!("{}\\{}", &line[..digits], &line[digits..]),
        Some('-' | '+' | '=') if digits == 0 => format!("\\{line}"),
        _ => line.to_owned(),
    }
}

/// The address of a file: what would end the brackets around it is written in per cent.
fn address(to: &str) -> String {
    let mut address = String::with_capacity(to.len());
    for letter in to.chars() {
        match letter {
            ' ' | '(' | ')' | '<' | '>' | '\\' | '|' | '`' | '*' | '_' => {
                let _ = write!(address, "%{:02X}", u32::from(letter));
            }
            letter if letter.is_control() => {}
            letter => address.push(letter),
        }
    }
    address
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_means_itself() {
        assert_eq!(
            escaped("a|b *c* <d> & [e](f)\n#"),
            "a\\|b \\*c\\* &lt;d&gt; &amp; \\[e\\](f) \\#"
        );
    }
}
