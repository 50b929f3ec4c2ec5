//! Claims of several teams, combined from their effects.

use cook::Units;
use study::Standing;
use study::claims::Claim;
use study::result::pool::{Pool, PooledClaim};
use study::result::teams::Teams;

use super::{cautions, slug};
use crate::document::{
    Block, Cell, Document, Inlines, Role, Section, Table, inlines, list, note, numbers, paragraph,
    sources, strong, text,
};
use crate::names::{name_within, quantity_of};
use crate::units::{count, number};
use crate::words::{self, ShownEffect, cooks_on_fires, teams_sentences, verdict_meaning};

/// A section a claim, then what was combined.
pub(crate) fn pool_page(pool: &Pool, units: Units) -> Document {
    let claims = pool.claims.iter().enumerate().map(|(place, claim)| {
        let id = format!("claim-{}-{}", place + 1, slug(&claim.asked.id));
        Section::new(id, format!("“{}”", claim.asked.says), one(claim, units))
    });
    let sections = claims.chain([
        Section::new("method", "How it was combined", method(pool)),
        Section::new("files", "What it was combined from", files(pool)),
    ]);
    Document {
        title: format!("{} pooled", words::plural(pool.teams.len(), "team")),
        kicker: words::listed(&pool.teams),
        name: "Several teams together".into(),
        caution: Some(cautions::short(None)),
        sections: sections.collect(),
        version: pool.version.clone(),
        ..Document::default()
    }
}

fn one(claim: &PooledClaim, units: Units) -> Vec<Block> {
    let (asked, teams) = (&claim.asked, &claim.teams);
    let word = strong(format!("{}.", teams.verdict.heading()));
    let mut said = teams_sentences(asked, teams, units);
    let answer = match &teams.mean {
        Some(_) => format!("{} {}", verdict_meaning(teams.verdict), said.remove(0)),
        None => said.remove(0),
    };
    let standing = match claim.standing {
        Standing::Confirmed => {
            "Confirmed: every team’s cooks came after it had written the claim down."
        }
        Standing::AfterTheFact | Standing::Randomised => {
            "After the fact: not every team’s cooks came after it had written the claim down."
        }
    };
    let matters = words::in_unit(asked, asked.matters, units);
    vec![
        Block::Paragraph(Role::Verdict, inlines![word, " ", answer]),
        paragraph(said.join(" ")),
        table(asked, teams, units),
        note(format!(
            "{standing} Outcome: {}; matters from {matters}. {} of {}.",
            name_within(&asked.outcome),
            cooks_on_fires(claim.n, claim.fires),
            words::plural(teams.effects.len(), "team")
        )),
    ]
}

/// Teams, their mean, and what a new one may expect.
pub(super) fn table(claim: &Claim, teams: &Teams, units: Units) -> Block {
    let level = teams.mean.as_ref().map_or(0.9, |mean| mean.level);
    let shown = |ends| words::shown_in_teams(claim, ends, level, units);
    let effect = |shown: &ShownEffect| -> [Cell; 2] {
        [shown.estimate_alone().into(), shown.interval().into()]
    };
    let row = |name: String, [estimate, interval]: [Cell; 2], share: Option<f64>, cooks: Cell| {
        let share = share.map(|share| number(100.0 * share, 0));
        vec![name.into(), estimate, interval, Cell::or_missing(share, None), cooks]
    };
    let mut rows: Vec<Vec<Cell>> = teams
        .effects
        .iter()
        .map(|team| {
            let own = shown((team.estimate, team.lo, team.hi));
            let cooks = format!("{} on {}", count(team.n), words::plural(team.fires, "fire"));
            row(team.team.clone(), effect(&own), team.weight, cooks.into())
        })
        .collect();
    rows.extend(teams.left_out.iter().map(|team| {
        let missing = || Cell::missing(Some(&team.reason));
        row(team.team.clone(), [missing(), missing()], None, missing())
    }));
    let blank = || Cell::missing(None);
    if let Some(mean) = &teams.mean {
        let own = shown((mean.estimate, mean.lo, mean.hi));
        rows.push(row("Mean".into(), effect(&own), None, blank()));
        if let Some(new) = teams.new_team {
            let own = shown((mean.estimate, Some(new.lo), Some(new.hi)));
            let cells = [blank(), own.interval().into()];
            rows.push(row("A new team".into(), cells, None, blank()));
        }
    }
    rows.extend(teams.without.iter().map(|own| {
        let name = format!("Mean without {}", own.team);
        row(name, effect(&shown((own.estimate, own.lo, own.hi))), None, blank())
    }));
    let unit = quantity_of(&claim.outcome).unit(units).to_owned();
    let unit = words::per_step(claim, &unit, units);
    let columns = [
        text("Team"),
        numbers("Effect", &unit),
        numbers(format!("{} interval", words::level(level)), &unit),
        numbers("Share", "%"),
        text("Cooks"),
    ];
    let remark = "Share: how much each team weighs in the mean. A new team: where the true effect of a team that is not \
                  among them should lie.";
    Table::new("Each team by itself, and together", columns, rows).remark(remark).into()
}

fn method(pool: &Pool) -> Vec<Block> {
    let level = pool.claims.iter().find_map(|claim| claim.teams.mean.as_ref()).map(|m| m.level);
    let at = level.map_or_else(String::new, |level| {
        format!(
            " With {} its intervals are of {} each, so that all of them together are wrong one time in ten.",
            words::plural(pool.claims.len(), "claim"),
            words::level(level)
        )
    });
    let mut blocks = vec![
        paragraph(format!(
            "Each team’s effect comes from its own cooks, with its own level and its own slopes. Effects are taken to scatter around \
             a mean: restricted maximum likelihood for the variance between teams, Hartung and Knapp’s interval for the mean, \
             never narrower than without that variance.{at} Each claim is combined by itself: that two claims of a team lean on \
             the same fires, which the files tell, is not used. Standard errors are taken as known."
        )),
        sources(
            "Viechtbauer 2005 (variance between teams); Hartung & Knapp 2001, Röver, Knapp & Friede 2015 (mean); Higgins, \
             Thompson & Spiegelhalter 2009 (a new team).",
        ),
    ];
    blocks.extend(list(
        pool.notes.iter().map(|said| Inlines::with_code(&format!("{}.", words::capitalised(said)))),
    ));
    blocks
}

fn files(pool: &Pool) -> Vec<Block> {
    let rows = pool.inputs.iter().map(|input| {
        vec![input.path.clone().into(), Cell::from(input.sha256.get(..16).unwrap_or_default())]
    });
    let columns = [text("File"), text("SHA-256, beginning")];
    vec![
        Table::new("Files of effects: no cook and no curve is in them", columns, rows.collect())
            .into(),
    ]
}
