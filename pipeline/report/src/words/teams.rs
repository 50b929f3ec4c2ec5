//! What several teams say of one claim, in words.

use cook::Units;
use study::claims::Claim;
use study::result::teams::Teams;
use study::{Direction, Verdict};

use super::{ShownEffect, level, listed, plural};
use crate::effect::Effect;

/// Numbers of a claim's effect in the reader's units.
pub(crate) fn shown(
    claim: &Claim,
    ends: (f64, Option<f64>, Option<f64>),
    level: f64,
    units: Units,
) -> ShownEffect {
    ShownEffect::new(&Effect { level, ..Effect::asked(claim, ends) }, units)
}

/// `Mean of 4 teams: −31 min (95 % interval −44 to −18). Teams differ by 6 min …`
pub(crate) fn teams_sentences(claim: &Claim, teams: &Teams, units: Units) -> Vec<String> {
    let Some(mean) = &teams.mean else {
        return vec![format!(
            "{} an effect, so there is nothing to combine.",
            match teams.effects.len() {
                0 => "No team carries".to_owned(),
                _ => format!("Only {} carries", teams.effects[0].team),
            }
        )];
    };
    let effect = shown(claim, (mean.estimate, mean.lo, mean.hi), mean.level, units);
    let towards = match teams.direction {
        Direction::For => ", for the claim",
        Direction::Against => ", against the claim",
        Direction::Unclear => "",
    };
    let mut said = vec![format!(
        "Mean of {}: {}, {} {}{towards}.",
        plural(teams.effects.len(), "team"),
        effect.headline(),
        effect.interval_name(),
        effect.interval()
    )];
    if let Some(spread) = teams.spread {
        let size = shown(claim, (spread, None, None), mean.level, units);
        said.push(if size.reads_as_zero() {
            "No spread between teams shows beyond the scatter of their cooks.".to_owned()
        } else {
            format!(
                "The effect differs between teams by {} (standard deviation).",
                size.with_unit(size.estimate)
            )
        });
    }
    said.push(match teams.new_team {
        Some(new) => {
            let new = shown(claim, (mean.estimate, Some(new.lo), Some(new.hi)), mean.level, units);
            format!(
                "A team that is not among them may expect {} ({} of such teams).",
                new.interval_with_unit(),
                level(mean.level)
            )
        }
        None => "Two teams say nothing of a third one.".to_owned(),
    });
    let changing: Vec<String> = teams
        .without
        .iter()
        .filter(|own| own.verdict != teams.verdict)
        .map(|own| format!("{} (“{}”)", own.team, heading(own.verdict)))
        .collect();
    if !teams.without.is_empty() {
        said.push(if changing.is_empty() {
            "The answer is the same without any one of them.".to_owned()
        } else {
            format!("The answer is another one without {}.", listed(&changing))
        });
    }
    said
}

/// A size of a claim's effect, per its own step: `30 min`.
pub(crate) fn in_unit(claim: &Claim, size: f64, units: Units) -> String {
    let shown = shown(claim, (size, None, None), 0.9, units);
    shown.with_unit(shown.estimate)
}

/// A unit with what a trend is per: `min per 10 °F`.
pub(crate) fn per_step(claim: &Claim, unit: &str, units: Units) -> String {
    match Effect::asked(claim, (0.0, None, None)).per {
        Some(per) => format!("{unit} {}", per.per(units)).trim().to_owned(),
        None => unit.to_owned(),
    }
}

fn heading(verdict: Verdict) -> String {
    verdict.heading().to_lowercase()
}
