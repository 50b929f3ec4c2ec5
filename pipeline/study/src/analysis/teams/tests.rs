use super::*;
use crate::claims::Claims;
use crate::lock::Lock;
use columns::{Table, table};
use std::path::Path;

const CLAIM: &str = "[[claim]]\nid = \"c\"\nsays = \"s\"\noutcome = \"y\"\nbetter = \"lower\"\nmatters = 5\n\
                     kind = \"compare\"\nby = \"wood\"\nlevels = [\"oak\", \"hickory\"]\n";

fn claims() -> Claims {
    Claims::parse(CLAIM, Path::new("claims.toml")).unwrap()
}

/// So many teams of ten cooks each, oak less by the effect of each team.
fn season(effects: &[f64]) -> Table {
    let cooks = 10 * effects.len();
    let team = |cook: usize| cook / 10;
    let is_oak = |cook: usize| cook.is_multiple_of(2);
    let own = [0.0, 3.0, -2.0, 1.0, 4.0, -3.0, 2.0, -4.0, -1.0, 0.5];
    let y: Vec<f64> = (0..cooks)
        .map(|cook| {
            let effect = if is_oak(cook) { effects[team(cook)] } else { 0.0 };
            100.0 * team(cook) as f64 + effect + own[(cook * 7 + team(cook)) % 10]
        })
        .collect();
    let woods: Vec<&str> = (0..cooks).map(|c| if is_oak(c) { "oak" } else { "hickory" }).collect();
    let teams: Vec<String> = (0..cooks).map(|cook| format!("team-{}", team(cook))).collect();
    let cooks: Vec<String> = (0..cooks).map(|cook| format!("cook-{cook:02}")).collect();
    table!("cook" => cooks, "team" => teams, "wood" => woods, "y" => y)
}

fn judged_on(frame: &Table) -> ClaimResult {
    let (table, claims) = (MeasureTable::new(frame).unwrap(), claims());
    let lock = Lock::update(None, &claims, table.cooks());
    crate::analysis::judge(&table, &claims.claims[0], &lock, Evidence::default()).unwrap()
}

#[test]
fn every_team_has_its_own_level_and_effect() {
    let found = judged_on(&season(&[-20.0, -24.0, -4.0, -16.0]));
    let teams = found.teams.unwrap();
    assert_eq!(teams.effects.len(), 4);
    for (team, table) in teams.effects.iter().zip([-20.0, -24.0, -4.0, -16.0]) {
        assert_eq!((team.n, team.fires), (10, 10));
        assert!((team.estimate - table).abs() < 4.0, "{team:?}");
    }
    // The estimates by themselves, as anybody may combine them.
    let by_hand = RandomEffects::fit(
        &teams.effects.iter().map(|team| team.estimate).collect::<Vec<_>>(),
        &teams.effects.iter().map(|team| team.std_error).collect::<Vec<_>>(),
    )
    .unwrap();
    let mean = teams.mean.unwrap();
    assert_eq!((mean.estimate, mean.level), (by_hand.mean.estimate, found.effect.unwrap().level));
    assert!(teams.spread.unwrap() > 3.0);
    let new = teams.new_team.unwrap();
    assert!(new.lo < mean.lo.unwrap() && new.hi > mean.hi.unwrap());
    let weights: f64 = teams.effects.iter().filter_map(|team| team.weight).sum();
    assert!((weights - 1.0).abs() < 1e-12);
    // Without the team that has it least the mean goes down.
    let without = &teams.without[2];
    assert!(without.team == "team-2" && without.estimate < mean.estimate);
    // Of equal effects the mean is decided.
    assert_eq!(judged_on(&season(&[-20.0, -21.0, -19.0])).teams.unwrap().verdict, Verdict::Yes);
}

#[test]
fn two_teams_foretell_no_third_and_one_is_none() {
    let two = judged_on(&season(&[-20.0, -24.0])).teams.unwrap();
    assert!(two.mean.is_some() && two.new_team.is_none() && two.without.is_empty());
    assert_eq!(judged_on(&season(&[-20.0])).teams, None);
}

#[test]
fn a_team_that_cannot_answer_is_named_with_its_reason() {
    let mut frame = season(&[-20.0, -24.0, -16.0]);
    let all_oak: Vec<&str> =
        (0..30).map(|cook| if cook >= 20 || cook % 2 == 0 { "oak" } else { "hickory" }).collect();
    frame.set("wood", (&all_oak).into());
    let teams = judged_on(&frame).teams.unwrap();
    assert_eq!(teams.effects.len(), 2);
    assert_eq!(teams.left_out[0].team, "team-2");
    assert!(teams.left_out[0].reason.contains("level `hickory`"), "{:?}", teams.left_out);
}
