//! Whole pages: snapshots, and properties that every page has to have.

mod common;

use std::collections::HashSet;

use common::season;
use proptest::prelude::*;
use report::data::{CookReport, CurvePoint};
use report::{ReportData, Units, render_cook, render_markdown, render_season, render_text};
use study::result::ClaimResult;
use study::result::driver::Point;
use study::result::group::Quantile;
use study::{Standing, Verdict};

fn render_summary(data: &ReportData, units: Units) -> String {
    report::render_summary(data, units).expect("there is something to say")
}

/// What a reader sees of a piece of HTML, a line a block; a drawing is its title and description.
fn visible(html: &str) -> String {
    let mut text = String::new();
    let mut rest = html;
    while let Some((before, tagged)) = rest.split_once('<') {
        text.push_str(before);
        let (tag, after) = tagged.split_once('>').expect("a tag ends");
        rest = after;
        let name = tag.split([' ', '/']).find(|part| !part.is_empty()).unwrap_or_default();
        if name == "desc" && tag.starts_with('/') {
            rest = after.split_once("</svg>").map_or("", |(_, after)| after);
        } else if name == "td" || (name == "th" && !tag.starts_with('/')) {
            text.push_str(if tag.starts_with('/') { "" } else { " | " });
        } else if BLOCKS.contains(&name) {
            text.push('\n');
        }
    }
    text.push_str(rest);
    let lines = text.lines().map(|line| line.trim().trim_start_matches("| "));
    lines.filter(|line| !line.is_empty()).collect::<Vec<_>>().join("\n")
}

/// Elements that begin a line.
const BLOCKS: [&str; 21] = [
    "p",
    "h1",
    "h2",
    "h3",
    "li",
    "tr",
    "caption",
    "figcaption",
    "dt",
    "dd",
    "summary",
    "title",
    "desc",
    "svg",
    "aside",
    "details",
    "div",
    "section",
    "header",
    "nav",
    "footer",
];

/// Each section of a page as a reader sees it, under a name of its own.
fn assert_sections(page: &str, of: &str) {
    let (_, body) = page.split_once("<body").expect("a page has a body");
    let (_, body) = body.split_once('>').expect("the tag ends");
    let mut sections = body.split("<section");
    let head = sections.next().expect("a page has a head");
    insta::assert_snapshot!(format!("{of}_head"), visible(head));
    for section in sections {
        let section = section.split("</section>").next().unwrap_or_default();
        let id = attribute(section, "aria-labelledby")[0].trim_start_matches("h-");
        let (_, content) = section.split_once('>').expect("the tag ends");
        insta::assert_snapshot!(format!("{of}_{id}"), visible(content));
    }
}

/// Every page of the small season in both systems of units.
fn pages(data: &ReportData) -> Vec<String> {
    let mut pages = Vec::new();
    for units in [Units::Us, Units::Metric] {
        pages.push(render_season(data, units));
        pages.extend(data.cooks.iter().filter_map(|cook| render_cook(data, cook.id(), units)));
        pages.extend(report::render_over(data, &["meadow-1", "meadow-2"], units));
    }
    pages
}

/// The values of an attribute, in the order of the page.
fn attribute<'a>(page: &'a str, name: &str) -> Vec<&'a str> {
    let opening = format!(" {name}=\"");
    page.split(&opening).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

/// What lies between each opening and closing tag of an element that never nests.
fn elements<'a>(page: &'a str, name: &str) -> Vec<&'a str> {
    let (open, close) = (format!("<{name}"), format!("</{name}>"));
    let starts =
        page.match_indices(&open).filter(|(at, _)| page[at + open.len()..].starts_with([' ', '>']));
    starts.filter_map(|(at, _)| page[at..].split(&close).next()).collect()
}

#[test]
fn each_section_of_the_season_page_is_as_reviewed() {
    assert_sections(&render_season(&season(), Units::Metric), "season");
}

#[test]
fn each_section_of_the_page_of_a_cook_is_as_reviewed() {
    let page = render_cook(&season(), "meadow-1", Units::Us).expect("the cook is there");
    assert_sections(&page, "cook");
}

#[test]
fn each_section_of_cooks_over_each_other_is_as_reviewed() {
    let data = season();
    let html = report::render_over(&data, &["meadow-1", "meadow-2"], Units::Us).unwrap();
    assert_sections(&html, "over");
    assert_eq!(report::render_over(&data, &["meadow-1", "nobody"], Units::Us), Err("nobody"));
}

#[test]
fn each_page_of_the_summary_is_as_reviewed() {
    assert_sections(&render_summary(&season(), Units::Us), "summary");
}

#[test]
fn each_section_of_the_report_in_markdown_is_as_reviewed() {
    let page = render_markdown(&season(), Units::Us);
    for (place, section) in page.split("\n## ").enumerate() {
        let heading = section.lines().next().unwrap_or_default().to_lowercase();
        let name = if place == 0 { "head".to_owned() } else { heading.replace(' ', "_") };
        insta::assert_snapshot!(format!("markdown_{name}"), section);
    }
}

#[test]
fn the_report_for_a_terminal_says_what_the_markdown_says() {
    let letters = |page: &str| -> String {
        page.chars().filter(|letter| letter.is_alphabetic()).collect::<String>().to_lowercase()
    };
    let markdown = render_markdown(&season(), Units::Us);
    // Addresses are told in Markdown alone.
    let markdown = markdown.replace("&gt;", "").replace("&lt;", "").replace("&amp;", "");
    assert_eq!(letters(&render_text(&season(), Units::Us, 80)), letters(&markdown));
}

#[test]
fn hostile_text_stays_text_in_markdown_and_in_the_summary() {
    let mut data = season();
    let hostile = "<script>alert(1)</script> | **x** [y](javascript:z)";
    data.team = hostile.into();
    data.study.claims[0].says = hostile.into();
    data.cooks[0].card.cook = hostile.into();
    let page = render_markdown(&data, Units::Us);
    assert!(!page.contains("<script") && !page.contains("[y](") && !page.contains(" **x**"));
    let columns = |line: &str| line.replace("\\|", "").matches('|').count();
    let rows: Vec<&str> = page.lines().filter(|line| line.starts_with("| ")).collect();
    let cooks = rows.iter().position(|row| row.starts_with("| Cook |")).expect("a table of cooks");
    assert!(rows[cooks..].iter().all(|row| columns(row) == columns(rows[cooks])));
    assert!(!render_summary(&data, Units::Us).contains("<script"));
}

#[test]
fn the_summary_has_each_verdict_once_and_leads_to_nothing_that_is_not_there() {
    let mut data = season();
    let page = render_summary(&data, Units::Metric);
    for claim in &data.study.claims {
        assert_eq!(page.matches(&format!("<b>{}</b>", claim.says)).count(), 1, "{}", claim.says);
    }
    assert!(!page.to_lowercase().contains("safe") && page.contains("Caution."));
    assert!(!page.contains("http") && !page.contains("//") && !page.contains("<script"));
    data.report_page = Some("report.html".into());
    let page = render_summary(&data, Units::Metric);
    assert_eq!(page.matches("href=\"report.html#claim-").count(), data.study.claims.len());
    data.study.claims.clear();
    assert!(!render_summary(&data, Units::Metric).contains("What is open"));
}

#[test]
fn logs_alone_have_no_summary() {
    assert_eq!(report::render_summary(&ReportData::default(), Units::Us), None);
}

#[test]
fn what_people_outside_see_has_no_costs_and_no_columns_of_the_teams_own() {
    let mut data = season();
    data.study.claims[0].asked.by = Some("rub_salt".into());
    let says = data.study.claims[0].says.clone();
    let public = data.clone().for_the_public();
    assert_eq!(public.study.claims.len(), data.study.claims.len() - 1);
    assert!(render_summary(&data, Units::Us).contains(&says));
    let page = render_summary(&public, Units::Us);
    assert!(!page.contains(&says) && !page.to_lowercase().contains("cost per"), "{page}");
}

#[test]
fn the_verdicts_come_first_and_what_is_decided_before_what_is_open() {
    let mut data = season();
    let page = render_season(&data, Units::Us);
    let (answers, rest) = page.split_once("id=\"what\"").expect("a section on what was cooked");
    for claim in &data.study.claims {
        assert_eq!(answers.matches(&format!(">{}</a>", claim.says)).count(), 1, "{}", claim.says);
    }
    assert!(!answers.contains("<nav") || answers.find("id=\"answers\"") < answers.find("<nav"));
    assert!(rest.contains("id=\"cautions\""), "the cautions in full come after them");
    let place = |claims: &[ClaimResult]| -> Vec<usize> {
        let mut data = season();
        data.study.claims = claims.to_vec();
        let page = render_season(&data, Units::Us);
        claims.iter().filter_map(|claim| page.find(&format!(">{}</a>", claim.says))).collect()
    };
    data.study.claims.truncate(1);
    let one = data.study.claims[0].clone();
    let of = |verdict, standing, says: &str| ClaimResult {
        verdict,
        standing,
        says: says.into(),
        ..one.clone()
    };
    let confirmed = Standing::Confirmed;
    let claims = [
        of(Verdict::Refused, confirmed, "refused"),
        of(Verdict::Open, confirmed, "open"),
        of(Verdict::Yes, Standing::AfterTheFact, "not confirmed"),
        of(Verdict::TooSmallToMatter, confirmed, "small"),
        of(Verdict::Reverse, confirmed, "settled"),
    ];
    let places = place(&claims);
    assert_eq!(places.len(), 5);
    assert!(places.is_sorted_by(|before, after| before > after), "{places:?}");
}

#[test]
fn an_unknown_cook_has_no_page() {
    assert_eq!(render_cook(&season(), "meadow-9", Units::Us), None);
}

#[test]
fn every_figure_says_what_to_see_to_everyone() {
    for page in pages(&season()) {
        let figures = elements(&page, "figure");
        for figure in &figures {
            assert!(figure.contains(" role=\"img\""), "{figure}");
            let caption = elements(figure, "figcaption");
            assert_eq!(caption.len(), 1, "{figure}");
            assert!(caption[0].len() > 60, "a caption is a sentence: {}", caption[0]);
            let named = attribute(figure, "aria-labelledby")[0];
            for (id, tag) in named.split(' ').zip(["title", "desc"]) {
                let opening = format!("<{tag} id=\"{id}\">");
                let text = figure.split(&opening).nth(1).and_then(|rest| rest.split('<').next());
                assert!(text.is_some_and(|text| text.len() > 10), "{opening} in {figure}");
            }
        }
        if page.contains("id=\"curves\"") {
            // One interval, one specification curve, one control chart, one of bars, two curves, one
            // scatter, two strips, one of time to the finish, one of faster against worse, one of
            // tender temperatures. On the pages before them: faster against worse, the season, one small chart,
            // and the phases by pit.
            assert_eq!(figures.len(), 16);
        }
    }
}

#[test]
fn nothing_is_fetched_and_every_link_leads_somewhere() {
    for page in pages(&season()) {
        let (before, script) = page.split_once("<script>").unwrap_or((page.as_str(), ""));
        assert!(!page.contains("http") && !before.contains("//"), "an outside address");
        assert!(!script.contains("fetch(") && !script.contains("import"), "the script fetches");
        // One script of the page's own, without an address: sorting and filtering of the cooks.
        assert!(elements(&page, "script").iter().all(|script| script.starts_with("<script>")));
        assert!(page.matches("<script").count() <= 1);
        for tag in ["<link", "<img", "<iframe", "@import", "xmlns"] {
            assert!(!page.contains(tag), "{tag}");
        }
        let ids = attribute(&page, "id");
        let unique: HashSet<&str> = ids.iter().copied().collect();
        assert_eq!(ids.len(), unique.len(), "an id occurs twice");
        for target in attribute(&page, "href") {
            let id = target.strip_prefix('#').expect("links stay within the page");
            assert!(unique.contains(id), "{target} leads nowhere");
        }
        for pattern in page.split("url(").skip(1).filter_map(|rest| rest.split(')').next()) {
            let id = pattern.strip_prefix('#').expect("patterns are in the page");
            assert!(unique.contains(id), "{pattern} is no pattern");
        }
    }
}

#[test]
fn the_page_never_calls_food_harmless_and_always_warns() {
    for page in pages(&season()) {
        assert!(!page.to_lowercase().contains("safe"));
        for warning in ["local food code", "Carbon monoxide", "Undercooked", "licensed"] {
            assert!(page.contains(warning), "{warning}");
        }
        let first = page.find("Caution.").expect("a short caution");
        assert!(first < page.find("<h2").expect("a section"), "the short caution comes first");
    }
}

#[test]
fn headings_descend_one_level_at_a_time() {
    for page in pages(&season()) {
        let levels: Vec<u32> = page
            .match_indices("<h")
            .filter_map(|(at, _)| page[at + 2..].chars().next()?.to_digit(10))
            .collect();
        assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
        assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
    }
}

#[test]
fn every_table_has_a_caption_and_scoped_heads_and_scrolls_by_keyboard() {
    for page in pages(&season()) {
        let tables = elements(&page, "table");
        assert!(!tables.is_empty());
        for table in tables {
            assert_eq!(elements(table, "caption").len(), 1);
            let heads = elements(table, "th");
            assert!(heads.iter().all(|head| head.contains("scope=\"")), "{table}");
            let columns = elements(elements(table, "thead")[0], "th").len();
            for row in elements(elements(table, "tbody")[0], "tr") {
                let cells = elements(row, "td").len() + elements(row, "th").len();
                assert_eq!(cells, columns, "{row}");
            }
        }
        for part in page.split("<div class=\"scroll\"").skip(1) {
            let opening = part.split('>').next().unwrap_or_default();
            assert!(opening.contains("tabindex=\"0\"") && opening.contains("aria-label="));
        }
    }
}

#[test]
fn open_ends_and_missing_values_are_said() {
    let page = render_season(&season(), Units::Us);
    assert!(page.contains("≥\u{a0}210"), "an open-ended stall");
    assert!(page.contains("198 or more"), "an open interval");
    assert!(page.contains("class=\"censored\""), "an open triangle");
    assert!(page.contains("–<sup>a</sup>"), "a missing value with its reason");
    assert!(page.contains("<sup>a</sup> wrapped, but nobody wrote when"));
    assert!(page.contains("the log starts with the core at 52 °C"));
    assert!(page.contains("63 of 63 core"), "how many readings are shown of how many");
}

#[test]
fn slopes_follow_the_readers_units() {
    let us = render_season(&season(), Units::Us);
    // −1.8 min per °C, and 20 min/kg · 0.453 592 37 kg/lb = 9.07 min/lb.
    assert!(us.contains("−10\u{a0}min per 10\u{a0}°F"));
    assert!(us.contains("+9\u{a0}min per lb"));
    // The claim's own step of 5 °C is 9 °F; the number stays.
    assert!(us.contains("−20\u{a0}min per 9\u{a0}°F"));
    let metric = render_season(&season(), Units::Metric);
    assert!(metric.contains("−9\u{a0}min per 5\u{a0}°C"));
    assert!(metric.contains("+20\u{a0}min per kg"));
    assert!(metric.contains("−20\u{a0}min per 5\u{a0}°C"));
    assert!(!metric.contains("°F") && !metric.contains(" lb"));
}

#[test]
fn hostile_text_stays_text() {
    let hostile = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>&amp;]]>";
    let mut data = season();
    data.team = hostile.into();
    data.study.claims[0].says = hostile.into();
    data.study.claims[1].reason = Some(hostile.into());
    data.rejected[0].text = hostile.into();
    data.cooks[0].card.cook = hostile.into();
    data.cooks[0].page = Some("javascript:alert(1)".into());
    data.cooks[0].marks[1].detail = Some(hostile.into());
    data.cooks[1].measures.wrap_method = Some(hostile.into());
    data.study.drivers[0].lines[0].points[0].cook = hostile.into();
    for page in pages(&data) {
        let (page, _own_script) =
            page.split_once("<script>// Sorting").unwrap_or((page.as_str(), ""));
        assert!(!page.contains("<script") && !page.contains("<img"));
        assert!(!page.contains("href=\"javascript"));
        assert!(page.contains("&lt;script&gt;"));
    }
}

#[test]
fn two_thousand_cooks_stay_small_and_say_what_is_left_out() {
    let mut data = season();
    let models = data.cooks.clone();
    data.cooks = (0..2000)
        .map(|i| {
            let mut cook = models[i % 2].clone();
            cook.card.cook = format!("cook-{i:04}");
            cook
        })
        .collect();
    for (i, cook) in data.cooks.iter_mut().enumerate() {
        // As many points as a real curve has after thinning.
        let readings: Vec<CurvePoint> = (0..5000)
            .map(|j| CurvePoint {
                min: f64::from(j) / 10.0,
                temp_c: Some(70.0 + ((i as f64 + 1.0) * f64::from(j)).sin()),
            })
            .collect();
        for series in cook.curve.iter_mut().flat_map(|curve| &mut curve.series) {
            *series = report::data::CurveSeries::thinned(&series.name, series.role, &readings);
        }
    }
    let point =
        |cook: &CookReport| Point { cook: cook.id().to_owned(), x: 5.0, y: 100.0, censored: false };
    data.study.drivers[0].lines[0].points = data.cooks.iter().map(point).collect();
    let page = render_season(&data, Units::Us);
    assert!(page.len() < 15_000_000, "{} bytes", page.len());
    assert_eq!(page.matches("<figure class=\"curve\" id=\"cook-").count(), 120);
    assert!(page.contains("Drawn are the last 120 of 2000 cooks with a curve"));
    assert!(page.contains("Rows 1901 to 2000"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_text_gives_the_same_page_twice_and_unique_ids(
        // Names of cooks are unique and not blank: whoever reads the sheet sees to that.
        ids in prop::collection::hash_set(
            any::<String>().prop_filter("a name", |id| !id.trim().is_empty()),
            3,
        ),
        text in any::<String>(),
    ) {
        let mut data = season();
        for (cook, id) in data.cooks.iter_mut().zip(&ids) {
            cook.card.cook.clone_from(id);
        }
        data.team.clone_from(&text);
        data.study.claims[0].id.clone_from(&text);
        data.cooks[0].cautions = vec![text];
        let page = render_season(&data, Units::Us);
        prop_assert_eq!(&page, &render_season(&data, Units::Us));
        let ids = attribute(&page, "id");
        let unique: HashSet<&str> = ids.iter().copied().collect();
        prop_assert_eq!(ids.len(), unique.len());
        prop_assert!(ids.iter().all(|id| !id.is_empty() && !id.contains(char::is_whitespace)));
    }

    #[test]
    fn any_number_gives_a_page_without_nonsense(numbers in prop::collection::vec(prop::num::f64::ANY, 14)) {
        let mut data = season();
        let measures = &mut data.cooks[0].measures;
        measures.stall_min = Some(numbers[0]);
        measures.stall_min_hi90 = Some(numbers[1]);
        measures.pit_early_c = Some(numbers[2]);
        data.cooks[0].phases[1].end_min = numbers[3];
        data.cooks[0].marks[1].at_min = numbers[4];
        for series in data.cooks[0].curve.iter_mut().flat_map(|curve| &mut curve.series) {
            series.points[3] = CurvePoint { min: numbers[5], temp_c: Some(numbers[6]) };
        }
        data.study.drivers[0].lines[0].points[0].x = numbers[7];
        data.study.drivers[0].lines[0].points[1].y = numbers[8];
        let line = &mut data.study.drivers[0].lines[0].line;
        line[1].y = numbers[9];
        line[2].hi = Some(numbers[10]);
        data.cooks[1].measures.stall_delay_min = Some(numbers[11]);
        data.study.groups[0].rows[0].outcomes[0].median = Some(Quantile { value: numbers[12], at_least: false });
        if let Some(effect) = &mut data.study.claims[0].effect {
            effect.lo = Some(numbers[13]);
        }
        for page in pages(&data) {
            prop_assert!(!page.contains("NaN") && !page.contains(">inf"));
        }
    }
}
