//! The page for a phone at the pit: it writes down what happens, and exports it as text.
//!
//! One file without any address: HTML, style and script stand beside this file and are filled in here.
//! What it exports (`cookstudy/pit/1`) is a line an event: id, cook, time with offset, event, value and
//! note, with tabs between.

use cook::Units;
use serde::Serialize;

const PAGE: &str = include_str!("pit/page.html");
const STYLE: &str = include_str!("pit/page.css");
const SCRIPT: &str = include_str!("pit/page.js");

/// What the page is made of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PitPage {
    /// The team, by which a phone keeps seasons apart.
    pub team: String,
    /// The reader's units.
    pub units: Units,
    /// The cooks of the season sheet.
    pub cooks: Vec<PitCook>,
    /// What is planned, in time order.
    pub milestones: Vec<PitMilestone>,
}

/// One cook.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PitCook {
    /// Its name in the season sheet.
    pub name: String,
    /// Local date of meat-on, by which the page knows what is cooked these days.
    pub date: Option<String>,
    /// Its card: labels and texts in the reader's units.
    pub card: Vec<(String, String)>,
}

/// Something planned for a cook.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PitMilestone {
    /// The cook.
    pub cook: String,
    /// What, in words.
    pub label: String,
    /// When, with its offset.
    pub at: String,
    /// When on the local clock.
    pub at_local: String,
    /// From when to when it may come, on the local clock.
    pub range: Option<String>,
}

/// The page as one HTML file.
pub fn render_pit(page: &PitPage) -> String {
    // `<` would end the block in the hands of whoever names a cook `</script>`.
    let season = serde_json::to_string(page).unwrap_or_default().replace('<', "\\u003c");
    let title = format!("At the pit: {}", page.team);
    let title = title.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;");
    let parts = [("title", &*title), ("style", STYLE), ("season", &*season), ("script", SCRIPT)];
    let mut out = String::with_capacity(PAGE.len() + STYLE.len() + SCRIPT.len() + season.len());
    let mut rest = PAGE;
    while let Some((before, behind)) = rest.split_once("{{") {
        let (name, after) = behind.split_once("}}").unwrap_or((behind, ""));
        out.push_str(before);
        let part = parts.iter().find(|part| part.0 == name).map_or("", |part| part.1);
        out.push_str(part.trim_end());
        rest = after;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_is_whole_and_names_cannot_break_out_of_it() {
        let page = PitPage {
            team: "Smoke & <b>Co".into(),
            units: Units::Us,
            cooks: vec![PitCook {
                name: "</script><script>alert(1)".into(),
                date: None,
                card: vec![("Raw weight".into(), "14 lb".into())],
            }],
            milestones: Vec::new(),
        };
        let html = render_pit(&page);
        assert!(!html.contains("{{") && !html.contains("}}<"));
        assert_eq!(html.matches("</script>").count(), 2);
        assert!(html.contains("<title>At the pit: Smoke &amp; &lt;b>Co</title>"));
        for outside in ["http:", "https:", "src=\"", "@import", "fetch("] {
            assert!(!html.contains(outside), "{outside}");
        }
        let (_, block) = html.split_once("id=\"season\">").unwrap();
        let (json, _) = block.split_once("</script>").unwrap();
        let read: serde_json::Value = serde_json::from_str(json).unwrap();
        assert_eq!(read["cooks"][0]["name"], "</script><script>alert(1)");
        assert_eq!(read["units"], "us");
    }

    #[test]
    fn every_event_of_the_vocabulary_has_its_button() {
        for kind in cook::EventKind::ALL {
            assert!(SCRIPT.contains(&format!("\"{kind}\"")), "{kind}");
        }
    }
}
