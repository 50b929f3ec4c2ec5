//! Scores that people gave, one by one: judges at a contest, and one's own tasters.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Who gave a score. Judges and tasters are never taken together: they taste other meat, for
/// other reasons.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Panel {
    /// Judges of a contest.
    Judges,
    /// The team, its guests, a blind tasting at home.
    Tasters,
}

impl Panel {
    /// Its word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Judges => "judges",
            Self::Tasters => "tasters",
        }
    }

    /// Reads `judges` or `tasters`, also of one of them.
    pub fn parse(text: &str) -> Option<Self> {
        match text.trim().to_lowercase().as_str() {
            "judges" | "judge" => Some(Self::Judges),
            "tasters" | "taster" => Some(Self::Tasters),
            _ => None,
        }
    }
}

/// One score.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Score {
    /// Whose meat it was, in a merged store.
    pub team: Option<String>,
    /// Season: that of its cook, else as the sheet says, else the year of its date.
    pub season: String,
    /// Which contest.
    pub contest: Option<String>,
    /// Local date on which it was given, ISO 8601.
    pub date: Option<String>,
    /// What was judged: brisket, chicken, ribs and the like.
    pub category: Option<String>,
    /// The cook whose meat it was, where the season sheet has it.
    pub cook: Option<String>,
    /// Who gave it.
    pub panel: Panel,
    /// The judge or taster. A bare number names one of that contest or date alone.
    pub judge: Option<String>,
    /// What was scored: the `NAME` of `score_NAME`.
    pub attribute: String,
    /// The points.
    pub value: f64,
    /// Whether it was given without knowing whose meat it was.
    pub blind: Option<bool>,
    /// A remark.
    pub note: Option<String>,
}

impl Score {
    /// What was judged as one entry: a cook, or what stood for one category of a contest.
    pub fn entry(&self) -> String {
        self.cook.clone().unwrap_or_else(|| {
            let parts = [&self.team, &self.contest, &self.date, &self.category];
            let said: Vec<&str> = parts.into_iter().flatten().map(String::as_str).collect();
            if said.is_empty() { self.season.clone() } else { said.join(", ") }
        })
    }

    /// Who gave it, told apart from the judge of the same number elsewhere.
    pub fn judge_label(&self) -> Option<String> {
        let judge = self.judge.as_deref()?;
        if judge.bytes().any(|byte| !byte.is_ascii_digit()) {
            // A contest's judges are the same for all its teams; tasters are a team's own.
            let team = self.team.as_deref().filter(|_| self.panel == Panel::Tasters);
            return Some(team.map_or_else(|| judge.to_owned(), |team| format!("{team} {judge}")));
        }
        let place = self.contest.as_deref().or(self.date.as_deref()).or(self.cook.as_deref());
        Some(format!("{judge}, {} {}", self.season, place.unwrap_or_default()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_is_a_cook_or_a_category_and_numbers_name_judges_of_one_contest() {
        let mut score = Score {
            team: None,
            season: "2025".into(),
            contest: Some("Fair".into()),
            date: None,
            category: Some("chicken".into()),
            cook: None,
            panel: Panel::Judges,
            judge: Some("3".into()),
            attribute: "taste".into(),
            value: 8.0,
            blind: Some(true),
            note: None,
        };
        assert_eq!(score.entry(), "Fair, chicken");
        assert_eq!(score.judge_label().as_deref(), Some("3, 2025 Fair"));
        score.cook = Some("may-3".into());
        score.judge = Some("Vera".into());
        assert_eq!(
            (score.entry().as_str(), score.judge_label().as_deref()),
            ("may-3", Some("Vera"))
        );
        assert_eq!(
            [" Judge", "TASTERS", "us"].map(Panel::parse),
            [Some(Panel::Judges), Some(Panel::Tasters), None]
        );
    }
}
