//! From logs to the cooks that a claim is answered from.

use crate::analysis::teams::TEAM;
use crate::error::StudyError;
use crate::result::LeftOut;
use crate::result::flow::{FlowStage, FlowStep};
use crate::rows::Rows;
use crate::table::MeasureTable;
use cook::Card;
use std::collections::{BTreeMap, BTreeSet};

const NO_CURVE: &str = "no log, or none that could be read";

/// The way of a claim's cooks from the table on: how many there are at each step, and how many were lost before it,
/// by team.
pub(crate) fn of_claim(table: &MeasureTable, rows: &Rows) -> Result<Vec<FlowStep>, StudyError> {
    let whose = table.texts_or_missing(TEAM)?;
    let teams: BTreeSet<&Option<String>> = whose.iter().collect();
    let mut flow = Vec::new();
    for team in teams {
        let is_theirs = |row: &&usize| whose[**row] == *team;
        let mut step = |step: FlowStage, reason: Option<&str>, cooks: usize| {
            let reason = reason.map(str::to_owned);
            flow.push(FlowStep { team: team.clone(), step, reason, cooks });
        };
        let mut left = whose.iter().filter(|own| *own == team).count();
        step(FlowStage::Cooks, None, left);
        for stage in [FlowStage::Eligible, FlowStage::Used] {
            for lost in rows.lost.iter().filter(|lost| lost.stage == stage) {
                let cooks = lost.rows.iter().filter(is_theirs).count();
                if cooks > 0 {
                    step(stage, Some(&lost.reason), cooks);
                }
                left -= cooks;
            }
            step(stage, None, left);
        }
    }
    Ok(flow)
}

/// The same where some were left out later, whoever's they are.
pub(crate) fn and_lost(flow: &mut Vec<FlowStep>, left_out: &[LeftOut], used: usize) {
    for own in left_out.iter().filter(|own| own.cooks > 0) {
        let (step, reason) = (FlowStage::Used, Some(own.reason.clone()));
        flow.push(FlowStep { team: None, step, reason, cooks: own.cooks });
    }
    if left_out.iter().any(|own| own.cooks > 0) {
        flow.push(FlowStep { team: None, step: FlowStage::Used, reason: None, cooks: used });
    }
}

/// What lies before the table: logs and cards, by team. Nothing without cards, as for a table that came alone.
pub(crate) fn of_cards(table: &MeasureTable, cards: &[Card]) -> Vec<FlowStep> {
    let known: BTreeSet<&str> = table.cooks().iter().map(String::as_str).collect();
    let mut teams: BTreeMap<Option<&str>, Vec<&Card>> = BTreeMap::new();
    for card in cards {
        let team = card.extra.iter().find(|(name, _)| name == TEAM);
        let team = team.map(|(_, team)| team.as_str()).filter(|_| table.has(TEAM));
        teams.entry(team).or_default().push(card);
    }
    let mut flow = Vec::new();
    for (team, cards) in teams {
        let mut step = |step: FlowStage, reason: Option<&str>, cooks: usize| {
            let (team, reason) = (team.map(str::to_owned), reason.map(str::to_owned));
            flow.push(FlowStep { team, step, reason, cooks });
        };
        let logs: BTreeSet<&str> = cards
            .iter()
            .flat_map(|card| &card.logs)
            .map(|log| log.split('#').next().unwrap_or_default())
            .collect();
        step(FlowStage::Logs, None, logs.len());
        step(FlowStage::Cards, None, cards.len());
        let without = cards.iter().filter(|card| !known.contains(card.cook.as_str())).count();
        if without > 0 {
            step(FlowStage::Cooks, Some(NO_CURVE), without);
        }
    }
    flow
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::table;

    fn steps(flow: &[FlowStep], team: &str) -> Vec<(FlowStage, Option<String>, usize)> {
        let own = flow.iter().filter(|own| own.team.as_deref() == Some(team));
        own.map(|own| (own.step, own.reason.clone(), own.cooks)).collect()
    }

    #[test]
    fn cooks_are_told_by_team_from_step_to_step() {
        use FlowStage::{Cooks, Eligible, Used};
        let frame = table!("cook" => ["a", "b", "c", "d", "e"], "team" => ["oak", "oak", "oak", "mill", "mill"]);
        let table = MeasureTable::new(&frame).unwrap();
        let mut rows = Rows::all(&table);
        rows.keep("no `x`", |row| row != 1);
        rows.keep_asked("excluded on the card", |row| row != 0 && row != 3);
        let flow = of_claim(&table, &rows).unwrap();
        let reason = |text: &str| Some(text.to_owned());
        assert_eq!(
            steps(&flow, "oak"),
            [
                (Cooks, None, 3),
                (Eligible, reason("excluded on the card"), 1),
                (Eligible, None, 2),
                (Used, reason("no `x`"), 1),
                (Used, None, 1)
            ]
        );
        assert_eq!(steps(&flow, "mill").last().unwrap().2, 1);
        let used = flow.iter().filter(|own| own.step == Used && own.reason.is_none());
        assert_eq!(used.map(|own| own.cooks).sum::<usize>(), rows.used.len());
    }

    #[test]
    fn cards_without_a_curve_are_counted_and_a_log_of_two_cooks_once() {
        let table = MeasureTable::new(&table!("cook" => ["a", "b"])).unwrap();
        let card = |cook: &str, log: &str| Card {
            cook: cook.into(),
            logs: if log.is_empty() { vec![] } else { vec![log.to_owned()] },
            ..Card::default()
        };
        let cards = [card("a", "night.csv#1"), card("b", "night.csv#2"), card("thighs", "")];
        let flow = of_cards(&table, &cards);
        let told: Vec<_> = flow.iter().map(|own| (own.step, own.cooks)).collect();
        assert_eq!(told, [(FlowStage::Logs, 1), (FlowStage::Cards, 3), (FlowStage::Cooks, 1)]);
        assert_eq!(of_cards(&table, &[]), []);
    }
}
