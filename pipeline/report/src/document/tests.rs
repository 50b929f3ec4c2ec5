//! Every kind of block in every format, and what must hold of any text.

use proptest::prelude::*;
use pulldown_cmark::{Event, Options, Parser, TagEnd};

use super::*;

fn document(blocks: Vec<Block>) -> Document {
    Document {
        title: "T".into(),
        name: "N".into(),
        sections: vec![Section::new("s", "S", blocks)],
        ..Document::default()
    }
}

/// One block as each format has it.
fn printed(blocks: Vec<Block>) -> String {
    let html = html::blocks(&blocks, &html::Numbering::default()).into_string();
    let html = html.replace("><", ">\n<");
    let document = document(blocks);
    let markdown = markdown::page(&document);
    let terminal = terminal::page(&document, 60);
    let own = |page: &str, heading: &str| {
        page.split_once(heading).map_or(String::new(), |(_, own)| own.trim().to_owned())
    };
    format!(
        "{html}\n\n----- Markdown\n{}\n\n----- terminal\n{}",
        own(&markdown, "## S\n"),
        own(&terminal, "S\n-\n")
    )
}

fn drawing() -> Drawing {
    Drawing::new("<svg></svg>".into(), "A title", "What is drawn")
}

macro_rules! case {
    ($name:ident, $blocks:expr) => {
        #[test]
        fn $name() {
            insta::assert_snapshot!(stringify!($name), printed($blocks));
        }
    };
}

case!(
    heading_paragraph_note_and_sources,
    vec![
        heading("Plain"),
        heading_at("here", inlines!["With ", code("an_address")]),
        paragraph("A first core of < 5 °C & more than * once."),
        note("Beside."),
        sources("Sources: one; two."),
        Block::Paragraph(Role::Verdict, inlines![strong("Yes."), " It does."]),
    ]
);

case!(
    marks_and_links,
    vec![paragraph(inlines![
        bold("Bold"),
        ", ",
        strong("strong "),
        emphasis("stressed"),
        ", ",
        term("a term"),
        ", ",
        code("code|`x`"),
        ", k",
        subscript("ref"),
        quiet(" quietly"),
        "a new line, ",
        link("#here", "here"),
        ", ",
        link("cooks/a (b).html", "a_page"),
        ", ",
        link("https://example.invalid", "no link"),
        ", ",
        marked(Mark::Sign, "▲"),
    ])]
);

case!(
    lists,
    vec![
        Block::List(List {
            numbered: true,
            items: vec!["one".into(), "two".into()],
            ..List::default()
        }),
        agenda(["- to do"], "Nothing."),
        agenda(Vec::<String>::new(), "Nothing."),
    ]
);

case!(
    facts_of_one_line_and_of_two,
    vec![Block::Facts(vec![
        ("Seed", vec![code("7")]),
        ("Asked otherwise", vec!["so".into(), "or so".into()]),
    ])]
);

case!(
    table_with_units_reasons_and_a_remark,
    vec![
        Table::new(
            "What was cooked",
            [text("Cook"), numbers("Stall", "min"), numbers("Wrap at", "°C")],
            vec![
                vec!["a|b".into(), "≥ 210".into(), Cell::missing(Some("nobody wrote when"))],
                vec!["c".into(), None::<String>.into(), Cell::missing(Some("nobody wrote when"))],
                vec![
                    link("#c", "d").into(),
                    inlines!["7.0", marked(Mark::Range, "6 to 8; 2")].into(),
                    Cell::missing(None).followed_by(" (borrowed)"),
                ],
            ],
        )
        .remark("≥ marks an open end.")
        .into(),
    ]
);

case!(
    figure_and_gallery,
    vec![
        Figure::block(FigureForm::Plot, drawing(), "What to see: it rises."),
        Block::Gallery(vec![super::Figure {
            form: FigureForm::Curve,
            id: Some("cook-a".into()),
            drawing: Some(drawing()),
            caption: bold("a"),
        }]),
        Block::Key { label: "Key", signs: vec![(drawing(), "stall".into())] },
    ]
);

#[test]
fn a_caution_stands_under_the_name_in_every_format() {
    let document = Document {
        caution: Some(Caution {
            is_brief: true,
            text: inlines!["Fire burns. ", link("#cautions", "All cautions"), "."],
        }),
        ..document(vec![paragraph("x")])
    };
    let html = html::page(&document);
    assert!(html.contains(
        "<h1>N</h1><aside class=\"caution brief\" aria-label=\"Caution\"><p><strong>Caution.</strong> Fire burns. <a href=\"#cautions\">All cautions</a>.</p></aside>"
    ));
    let markdown = markdown::page(&document);
    assert!(markdown.starts_with("# N\n\n**Caution.** Fire burns. All cautions.\n"), "{markdown}");
    let terminal = terminal::page(&document, 60);
    assert!(terminal.starts_with("N\n=\n\nCAUTION. Fire burns. All cautions.\n"), "{terminal}");
}

case!(
    answers,
    vec![Block::Answers {
        scale: Some(["against", "for the claim"]),
        answers: vec![Answer {
            word: "Open",
            is_decided: false,
            asked: "Oak tastes better".into(),
            to: Some("#claim-1".into()),
            found: "Nobody knows.".into(),
            rests_on: "All 12 cooks: open.".into(),
            drawing: Some(drawing()),
        }],
    }]
);

case!(
    columns_beside_each_other_and_a_drawing_in_a_cell,
    vec![Block::Beside(vec![
        vec![paragraph("Left.")],
        vec![Table::new("", [text("x")], vec![vec![Cell::drawn(drawing())]]).into()],
    ])]
);

case!(
    article_and_details,
    vec![Block::Article {
        id: "claim-1".into(),
        heading: "“Oak”".into(),
        blocks: vec![Block::Details {
            summary: "How".into(),
            open: true,
            blocks: vec![paragraph("So.")],
        }],
    }]
);

#[test]
fn rows_beyond_a_part_follow_in_closed_parts() {
    let rows = (0..=ROWS_PER_PART).map(|row| vec![Cell::from(row.to_string())]).collect();
    let table = Table { is_sortable: true, ..Table::new("Many", [numbers("n", "")], rows) };
    let page = html::page(&document(vec![table.into()]));
    assert_eq!(page.matches("<table").count(), 2);
    assert!(page.contains("<summary>Rows 101 to 101 of table 1</summary>"));
    assert!(page.contains("<script>"), "what can be sorted brings the script");
    assert!(!html::page(&document(vec![paragraph("x")])).contains("<script>"));
}

#[test]
fn words_of_a_terminal_keep_to_their_width() {
    let long = "word ".repeat(60);
    let page = terminal::page(&document(vec![paragraph(long.as_str()), agenda([long], "")]), 40);
    assert!(page.lines().all(|line| line.chars().count() <= 40), "{page}");
}

/// Words with single spaces between.
fn spaced(text: &str) -> String {
    text.chars()
        .map(|letter| if letter.is_control() { ' ' } else { letter })
        .collect::<String>()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// What a reader of the Markdown sees, and whether there is anything in it that nobody meant.
fn read_back(page: &str) -> (String, bool) {
    let mut words = String::new();
    let mut strange = false;
    for event in Parser::new_ext(page, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH) {
        match event {
            Event::Text(text) | Event::Code(text) => words.push_str(&text),
            Event::SoftBreak
            | Event::HardBreak
            | Event::End(
                TagEnd::Heading(_) | TagEnd::Paragraph | TagEnd::Item | TagEnd::TableCell,
            ) => words.push(' '),
            Event::Html(_) | Event::InlineHtml(_) | Event::Rule => strange = true,
            _ => {}
        }
    }
    (spaced(&words), strange)
}

proptest! {
    #[test]
    fn any_text_comes_back_from_markdown_as_it_was(
        words in prop::collection::vec("[ -~äß–’\u{a0}\n]{0,24}", 6),
    ) {
        let [plain, item, of_code, of_link, cell, remark] = [0, 1, 2, 3, 4, 5].map(|i| words[i].as_str());
        let table = Table::new(
            "caption",
            [text("head")],
            vec![vec![cell.into()], vec![code(of_code).into()]],
        );
        let page = markdown::page(&document(vec![
            paragraph(plain),
            paragraph(inlines!["x", code(of_code), "x ", link("a.html", of_link), "x"]),
            agenda([item, "next"], ""),
            table.remark(remark).into(),
        ]));
        let (read, strange) = read_back(&page);
        prop_assert!(!strange, "{page}");
        let meant = format!(
            "N S {plain} x{of_code}x {of_link}x {item} next caption head {cell} {of_code} {remark}"
        );
        let without_space = |text: &str| -> String { text.split_whitespace().collect() };
        prop_assert_eq!(without_space(&read), without_space(&spaced(&meant)), "{}", page);
    }

    #[test]
    fn any_text_stays_text_in_html_and_in_a_terminal(words in any::<String>()) {
        let blocks = vec![
            paragraph(inlines![&words, link(&words, &words), code(&words)]),
            Table::new(&words, [text(&words)], vec![vec![Cell::missing(Some(&words))]]).into(),
        ];
        let tags = |words: &str| {
            let page = html::page(&document(vec![paragraph(words)]));
            page.matches('<').count()
        };
        prop_assert_eq!(tags(&words), tags(if words.is_empty() { "" } else { "x" }));
        let page = terminal::page(&document(blocks), 60);
        prop_assert!(!page.chars().any(|letter| letter.is_control() && letter != '\n'));
    }
}
