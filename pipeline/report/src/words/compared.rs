//! Seasons and teams against each other, in words.

use cook::Units;

use super::{level, listed};
use crate::names::{name_of, name_within, quantity_of};
use crate::units::{Quantity, number, signed, with_unit};
use study::result::compare::{ComparedDifference, Comparison, Comparisons, Told};

/// One outcome of one season or team against another, with what its numbers are.
#[derive(Clone, Copy)]
pub(crate) struct Compared<'a> {
    pub(crate) row: &'a Comparison,
    quantity: Quantity,
}

impl<'a> Compared<'a> {
    pub(crate) fn new(row: &'a Comparison) -> Self {
        Self { row, quantity: quantity_of(&row.outcome) }
    }

    /// The outcome in words, capitalised.
    pub(crate) fn outcome(self) -> String {
        name_of(&self.row.outcome)
    }

    /// Decimals of a difference: a share needs one more than its values do.
    fn decimals(self, units: Units) -> usize {
        if self.quantity == Quantity::Fraction { 1 } else { self.quantity.decimals(units) }
    }

    /// The unit of a difference; of shares in per cent it is the percentage point.
    pub(crate) fn unit(self, units: Units) -> &'static str {
        match self.quantity {
            Quantity::Fraction => "percentage points",
            _ => self.quantity.unit(units),
        }
    }

    /// `2026 against 2025`.
    pub(crate) fn pair(self) -> String {
        format!("{} against {}", self.row.first, self.other())
    }

    fn other(self) -> &'a str {
        self.row.second.as_deref().unwrap_or("the others’ mean")
    }

    /// `+12 (3 to 21)`.
    pub(crate) fn shown(self, difference: ComparedDifference, units: Units) -> String {
        let decimals = self.decimals(units);
        let said = |si: f64| signed(self.quantity.difference(si, units), decimals);
        let ComparedDifference { estimate, lo, hi } = difference;
        let interval = match (lo, hi) {
            (Some(lo), Some(hi)) => format!("{} to {}", said(lo), said(hi)),
            (Some(lo), None) => format!("{} or more", said(lo)),
            (None, Some(hi)) => format!("{} or less", said(hi)),
            (None, None) => "open at both ends".to_owned(),
        };
        format!("{} ({interval})", said(estimate))
    }

    /// What can be told, in a word or two.
    pub(crate) fn told_in_words(self) -> &'static str {
        let minutes = self.quantity == Quantity::Minutes;
        match self.row.told {
            Told::More if minutes => "longer",
            Told::More => "higher",
            Told::Less if minutes => "shorter",
            Told::Less => "lower",
            Told::HintOnly => "a hint only",
            Told::CannotBeTold if self.row.adjusted.is_some() => "cannot be told",
            Told::CannotBeTold => "not compared",
        }
    }

    /// `stall delay in 2026 against 2025`.
    fn hint(self) -> String {
        format!(
            "{} in {} against {}",
            super::lower_first(&self.outcome()),
            self.row.first,
            self.other()
        )
    }

    /// `with the same trimmed weight and pit`.
    fn held(self) -> String {
        let columns = self.row.adjusted_for.iter();
        let columns: Vec<String> = columns.map(|column| name_within(column)).collect();
        format!("with the same {}", listed(&columns))
    }

    /// `Stall delay: in 2026 12 min longer than in 2025 (95 % interval 3 to 21), with the same …`.
    fn sentence(self, at_level: f64, units: Units) -> Option<String> {
        let ComparedDifference { estimate, lo, hi } = self.row.adjusted?;
        let decimals = self.decimals(units);
        let size = number(self.quantity.difference(estimate, units).abs(), decimals);
        let end = |si: f64| signed(self.quantity.difference(si, units), decimals);
        let interval = match (lo, hi) {
            (Some(lo), Some(hi)) => {
                format!(" ({} interval {} to {})", level(at_level), end(lo), end(hi))
            }
            _ => String::new(),
        };
        Some(format!(
            "{}: {} {} in {} than in {}{interval}, {}.",
            self.outcome(),
            with_unit(&size, self.unit(units)),
            self.told_in_words(),
            self.row.first,
            self.other(),
            self.held()
        ))
    }
}

/// `Seasons compared`.
pub(crate) fn heading(compared: &Comparisons) -> &'static str {
    if compared.by == "team" { "Teams compared" } else { "Seasons compared" }
}

/// What can be told, a sentence each; one sentence where nothing can.
pub(crate) fn sentences(compared: &Comparisons, units: Units) -> Vec<String> {
    let told: Vec<String> = compared
        .rows
        .iter()
        .filter(|row| matches!(row.told, Told::More | Told::Less))
        .filter_map(|row| Compared::new(row).sentence(compared.level, units))
        .collect();
    if !told.is_empty() {
        return told;
    }
    if compared.family == 0 {
        return vec![format!("No {} can be compared: too few fires.", compared.by)];
    }
    let hints = compared.rows.iter().filter(|row| row.told == Told::HintOnly);
    let mut hints: Vec<String> = hints.map(|row| Compared::new(row).hint()).collect();
    hints.dedup();
    vec![if hints.is_empty() {
        format!("No difference between {}s can be told.", compared.by)
    } else {
        format!(
            "No difference between {}s can be told among so many that were looked at; by itself there would be one: {}.",
            compared.by,
            listed(&hints)
        )
    }]
}

/// What the p values pay for, and what that leaves open.
pub(crate) fn about(compared: &Comparisons) -> String {
    let held = if compared.by == "team" {
        "meat of the same weight on pits as hot early on"
    } else {
        "the same weights on the same pits"
    };
    format!(
        "Described, not caused: what else changed is not held fixed. The adjusted differences are those of a model with {held}; \
             lower bounds count as such, and intervals of {} each are clustered by fire. The {} p values are adjusted together (Holm 1979), \
             and a difference is told where the adjusted one is below 0.05. “A hint only” would be told by itself, but not among so many.",
        level(compared.level),
        compared.family
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(told: Told, outcome: &str) -> Comparison {
        Comparison {
            outcome: outcome.into(),
            unit: String::new(),
            first: "2026".into(),
            second: Some("2025".into()),
            first_cooks: 14,
            second_cooks: 12,
            censored: 0,
            as_they_are: None,
            adjusted: Some(ComparedDifference { estimate: -12.4, lo: Some(-21.0), hi: Some(-3.6) }),
            adjusted_for: vec!["trimmed_weight_kg".into(), "pit".into()],
            adjusted_cooks: 26,
            p: None,
            p_adjusted: None,
            told,
            reason: None,
        }
    }

    fn said(by: &str, rows: Vec<Comparison>) -> String {
        let (by, heading, family) = (by.to_owned(), String::new(), rows.len());
        let compared = Comparisons { by, heading, level: 0.95, family, rows };
        sentences(&compared, Units::Us).join(" ").replace('\u{a0}', " ")
    }

    #[test]
    fn what_is_told_reads_as_a_sentence() {
        assert_eq!(
            said("season", vec![row(Told::Less, "stall_delay_min")]),
            "Stall delay: 12 min shorter in 2026 than in 2025 (95 % interval −21 to −4), with the same trimmed weight and pit."
        );
        // A difference of temperatures converts by its factor alone.
        let pit = said("season", vec![row(Told::Less, "pit_sd_c")]);
        assert!(pit.contains("22.3 °F lower"), "{pit}");
        assert_eq!(
            said("season", vec![row(Told::HintOnly, "stall_delay_min")]),
            "No difference between seasons can be told among so many that were looked at; by itself there would be one: \
             stall delay in 2026 against 2025."
        );
        assert_eq!(
            said("season", vec![row(Told::CannotBeTold, "stall_delay_min")]),
            "No difference between seasons can be told."
        );
        assert_eq!(said("team", Vec::new()), "No team can be compared: too few fires.");
    }
}
