//! Seasons and teams against each other, in words.

use cook::Units;

use super::{level, listed};
use crate::data::{ComparisonRow, Comparisons, Told};
use crate::units::{Quantity, number, signed, with_unit};

impl ComparisonRow {
    /// Decimals of a difference: a share needs one more than its values do.
    fn decimals(&self, units: Units) -> usize {
        if self.quantity == Quantity::Fraction { 1 } else { self.quantity.decimals(units) }
    }

    /// The unit of a difference; of shares in per cent it is the percentage point.
    pub(crate) fn unit(&self, units: Units) -> &str {
        match self.quantity {
            Quantity::Fraction => "percentage points",
            _ => self.quantity.unit(units),
        }
    }

    /// `2026 against 2025`.
    pub(crate) fn pair(&self) -> String {
        format!("{} against {}", self.first, self.other())
    }

    fn other(&self) -> &str {
        self.second.as_deref().unwrap_or("the others’ mean")
    }

    /// `+12 (3 to 21)`.
    pub(crate) fn shown(&self, ends: [Option<f64>; 3], units: Units) -> Option<String> {
        let decimals = self.decimals(units);
        let said = |si: f64| signed(self.quantity.difference(si, units), decimals);
        let [estimate, lo, hi] = ends;
        let interval = match (lo, hi) {
            (Some(lo), Some(hi)) => format!("{} to {}", said(lo), said(hi)),
            (Some(lo), None) => format!("{} or more", said(lo)),
            (None, Some(hi)) => format!("{} or less", said(hi)),
            (None, None) => "open at both ends".to_owned(),
        };
        Some(format!("{} ({interval})", said(estimate?)))
    }

    /// What can be told, in a word or two.
    pub(crate) fn told_in_words(&self) -> &'static str {
        let minutes = self.quantity == Quantity::Minutes;
        match self.told {
            Told::More if minutes => "longer",
            Told::More => "higher",
            Told::Less if minutes => "shorter",
            Told::Less => "lower",
            Told::HintOnly => "a hint only",
            Told::CannotBeTold if self.adjusted.is_some() => "cannot be told",
            Told::CannotBeTold => "not compared",
        }
    }

    /// `with the same trimmed weight and pit`.
    fn held(&self) -> String {
        format!("with the same {}", listed(&self.adjusted_for))
    }

    /// `Stall delay: in 2026 12 min longer than in 2025 (95 % interval 3 to 21), with the same …`.
    fn sentence(&self, at_level: f64, units: Units) -> Option<String> {
        let [Some(estimate), lo, hi] = self.adjusted? else { return None };
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
            self.outcome,
            with_unit(&size, self.unit(units)),
            self.told_in_words(),
            self.first,
            self.other(),
            self.held()
        ))
    }
}

impl Comparisons {
    /// `Seasons compared`.
    pub(crate) fn heading(&self) -> &'static str {
        if self.by == "team" { "Teams compared" } else { "Seasons compared" }
    }

    /// What can be told, a sentence each; one sentence where nothing can.
    pub(crate) fn sentences(&self, units: Units) -> Vec<String> {
        let told: Vec<String> = self
            .rows
            .iter()
            .filter(|row| matches!(row.told, Told::More | Told::Less))
            .filter_map(|row| row.sentence(self.level, units))
            .collect();
        if !told.is_empty() {
            return told;
        }
        vec![if self.family == 0 {
            format!("No {} can be compared: too few fires.", self.by)
        } else {
            format!("No difference between {}s can be told.", self.by)
        }]
    }

    /// What the p values pay for, and what that leaves open.
    pub(crate) fn about(&self) -> String {
        let held = if self.by == "team" {
            "meat of the same weight on pits as hot early on"
        } else {
            "the same weights on the same pits"
        };
        format!(
            "Described, not caused: what else changed is not held fixed. The adjusted differences are those of a model with {held}; \
             lower bounds count as such, and intervals of {} each are clustered by fire. The {} p values are adjusted together (Holm 1979), \
             and a difference is told where the adjusted one is below 0.05. “A hint only” would be told by itself, but not among so many.",
            level(self.level),
            self.family
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(told: Told, quantity: Quantity) -> ComparisonRow {
        ComparisonRow {
            outcome: "Stall delay".into(),
            quantity,
            first: "2026".into(),
            second: Some("2025".into()),
            adjusted: Some([Some(-12.4), Some(-21.0), Some(-3.6)]),
            adjusted_for: vec!["trimmed weight".into(), "pit".into()],
            told,
            ..ComparisonRow::default()
        }
    }

    #[test]
    fn what_is_told_reads_as_a_sentence() {
        let of = |row: ComparisonRow| {
            let rows = vec![row];
            let all = Comparisons { by: "season".into(), level: 0.95, family: 1, rows };
            all.sentences(Units::Us).join(" ").replace('\u{a0}', " ")
        };
        assert_eq!(
            of(row(Told::Less, Quantity::Minutes)),
            "Stall delay: 12 min shorter in 2026 than in 2025 (95 % interval −21 to −4), with the same trimmed weight and pit."
        );
        // A difference of temperatures converts by its factor alone.
        let pit = row(Told::Less, Quantity::TemperatureDifference);
        assert!(
            of(pit).contains("22.3 °F lower"),
            "{}",
            of(row(Told::Less, Quantity::TemperatureDifference))
        );
        assert_eq!(
            of(row(Told::HintOnly, Quantity::Minutes)),
            "No difference between seasons can be told."
        );
        let few = Comparisons { by: "team".into(), ..Comparisons::default() };
        assert_eq!(few.sentences(Units::Us), ["No team can be compared: too few fires."]);
    }
}
