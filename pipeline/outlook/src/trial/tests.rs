//! Lots that nobody can steer, and looks that stand.

use super::*;
use cook::Card;
use std::path::Path;
use study::lock::{LockedLook, LockedTrial, Spending, TrialDesign, TrialKind};
use study::result::trial::{LotState, TrialResult, TrialState};
use study::{Claim, Claims, MeasureTable, Verdict};

const AT: &str = "2026-05-01T08:00:00Z";

fn claim(better: &str) -> Claim {
    let text = format!(
        "[[claim]]\nid = \"foil\"\nsays = \"Foil is faster\"\nkind = \"compare\"\noutcome = \"hours\"\n\
         better = \"{better}\"\nby = \"wood\"\nlevels = [\"oak\", \"hickory\"]\nmatters = 10\n"
    );
    Claims::parse(&text, Path::new("claims.toml")).unwrap().claims.remove(0)
}

fn key() -> Key {
    Key::new([7; 32])
}

fn trial(kind: TrialKind, planned: usize, looks: &[usize]) -> LockedTrial {
    LockedTrial {
        id: "foil".into(),
        claim: claim("lower").hash(),
        begun_at: AT.into(),
        key: key().hash(),
        definition: String::new(),
        design: TrialDesign {
            kind,
            arms: ["oak".into(), "hickory".into()],
            outcome: "hours".into(),
            matters: 10.0,
            share: 1.0,
            planned,
            looks: looks.to_vec(),
            spending: Spending::PLANNED,
            positions: vec!["left".into(), "right".into()],
            heavy_from_kg: None,
            rules: RULES,
        },
        lots: Vec::new(),
        looks: Vec::new(),
    }
}

fn wanted(cook: &str) -> Wanted {
    Wanted { cook: cook.to_owned(), stratum: "big/heavy".into() }
}

fn pairs(planned: usize, looks: &[usize], drawn: usize) -> LockedTrial {
    let mut trial = trial(TrialKind::Pairs, planned, looks);
    for pair in 0..drawn {
        let names = [wanted(&format!("a{pair}")), wanted(&format!("b{pair}"))];
        draw(&mut trial, &key(), &names, AT).unwrap();
    }
    trial
}

/// A table in which oak adds `effect` to every cook of a lot, `scatter` apart from pair to pair.
fn table(trial: &LockedTrial, effect: f64, but: &[&str]) -> columns::Table {
    let lots: Vec<_> = trial.lots.iter().filter(|lot| !but.contains(&lot.cook.as_str())).collect();
    let cooks: Vec<Option<String>> = lots.iter().map(|lot| Some(lot.cook.clone())).collect();
    let hours: Vec<Option<f64>> = lots
        .iter()
        .map(|lot| {
            let pair = lot.block.rsplit_once('-').map_or(0.0, |(_, n)| n.parse().unwrap_or(0.0));
            let first = lot.arm == "oak";
            Some(500.0 + 9.0 * pair + if first { effect + (3.7 * pair) % 5.0 } else { 0.0 })
        })
        .collect();
    let wood: Vec<Option<String>> = lots.iter().map(|lot| Some(lot.arm.clone())).collect();
    let mut table = columns::Table::new();
    table.push("cook", cooks.into());
    table.push("hours", hours.into());
    table.push("wood", wood.into());
    table
}

fn cards(trial: &LockedTrial) -> Vec<Card> {
    let card = |lot: &study::lock::Lot| Card {
        cook: lot.cook.clone(),
        arm: Some(lot.arm.clone()),
        ..Card::default()
    };
    trial.lots.iter().map(card).collect()
}

fn see(trial: &mut LockedTrial, table: &columns::Table, cards: &[Card]) -> TrialResult {
    let table = MeasureTable::new(table).unwrap();
    let claim = claim("lower");
    look(trial, Looked { claim: &claim, table: &table, cards, at: Some(AT) }).unwrap()
}

#[test]
fn lots_hang_on_the_key_and_not_on_who_is_named_first() {
    let one = pairs(12, &[6, 9, 12], 8);
    let mut other = trial(TrialKind::Pairs, 12, &[6, 9, 12]);
    for pair in 0..8 {
        let names = [wanted(&format!("b{pair}")), wanted(&format!("a{pair}"))];
        draw(&mut other, &key(), &names, AT).unwrap();
    }
    assert_eq!(one.lots, other.lots);
    let firsts = one.lots.iter().filter(|lot| lot.cook.starts_with('a') && lot.arm == "oak");
    assert!((1..8).contains(&firsts.count()), "all lots fell alike");
    for pair in one.lots.chunks(2) {
        assert_ne!(pair[0].arm, pair[1].arm);
        assert_ne!(pair[0].position, pair[1].position);
        assert_ne!(pair[0].code, pair[1].code);
    }
    let otherwise = |bytes: u8| {
        let mut trial = trial(TrialKind::Pairs, 12, &[12]);
        for pair in 0..8 {
            let names = [wanted(&format!("a{pair}")), wanted(&format!("b{pair}"))];
            draw(&mut trial, &Key::new([bytes; 32]), &names, AT).unwrap();
        }
        trial.lots.into_iter().map(|lot| lot.arm).collect::<Vec<_>>()
    };
    assert_ne!(otherwise(1), otherwise(2));
    assert_eq!(Key::parse(&key().to_hex()), Some(key()));
    assert_eq!(Key::parse("abc"), None);
}

#[test]
fn single_cooks_come_in_blocks_of_two_and_two() {
    let mut trial = trial(TrialKind::Blocks, 2, &[2]);
    for cook in 0..8 {
        draw(&mut trial, &key(), &[wanted(&format!("c{cook}"))], AT).unwrap();
    }
    for block in trial.lots.chunks(4) {
        assert_eq!(block.iter().filter(|lot| lot.arm == "oak").count(), 2);
        assert!(block.iter().all(|lot| lot.block == block[0].block));
    }
    assert_eq!(trial.lots[4].block, "big/heavy-2");
    let light = Wanted { cook: "d".into(), stratum: "big/light".into() };
    draw(&mut trial, &key(), &[light], AT).unwrap();
    assert_eq!(trial.lots[8].block, "big/light-1");
}

#[test]
fn a_cook_has_one_lot_and_a_pair_two_cooks() {
    let mut trial = pairs(6, &[6], 1);
    let again = draw(&mut trial, &key(), &[wanted("a0"), wanted("z")], AT).unwrap_err();
    assert!(again.to_string().contains("a0 has its lot already"), "{again}");
    let alone = draw(&mut trial, &key(), &[wanted("z")], AT).unwrap_err();
    assert!(alone.to_string().contains("1 cook was named"), "{alone}");
    assert!(draw(&mut trial, &key(), &[wanted("z"), wanted("z")], AT).is_err());
    assert_eq!(trial.lots.len(), 2);
}

/// What the key's file knows of eight lots and no look.
fn kept<'a>(key: &'a Key, head: &'a str) -> Kept<'a> {
    Kept { key, lots: 8, head, looks: 0, seal: "" }
}

#[test]
fn a_look_is_taken_once() {
    let mut whole = pairs(12, &[6, 9, 12], 4);
    let look = |outcome: &str| LockedLook {
        at: AT.into(),
        blocks: vec!["pair-1".into()],
        outcomes: [("a".to_owned(), outcome.to_owned())].into_iter().collect(),
    };
    whole.looks.push(look("3"));
    let (key, end, sealed) = (key(), head(&whole), seal(&whole, 1));
    let kept = Kept { looks: 1, seal: &sealed, ..kept(&key, &end) };
    assert_eq!(check(&whole, Some(kept)), [""; 0]);
    // One more, which the file of the key does not know yet.
    whole.looks.push(look("4"));
    assert_eq!(check(&whole, Some(kept)), [""; 0]);
    for looks in [vec![], vec![look("5")]] {
        let steered = LockedTrial { looks, ..whole.clone() };
        assert!(check(&steered, Some(kept))[0].contains("not those that were taken"));
    }
}

/// What somebody does to a trial afterwards.
type Change = fn(&mut LockedTrial);

/// Each way to steer: another arm, another cook, a lot taken out or put elsewhere, another design, another key.
#[test]
fn whatever_is_changed_afterwards_shows() {
    let whole = pairs(12, &[6, 9, 12], 4);
    let end = head(&whole);
    let shown = |trial: &LockedTrial| check(trial, Some(kept(&key(), &end)));
    assert_eq!(shown(&whole), [""; 0]);
    assert_eq!(check(&whole, None), [""; 0]);
    let changes: [(&str, Change); 8] = [
        ("arm", |trial| trial.lots[2].arm = "hickory".repeat(2)),
        ("arms of a pair exchanged", |trial| {
            let arm = trial.lots[2].arm.clone();
            trial.lots[2].arm = trial.lots[3].arm.clone();
            trial.lots[3].arm = arm;
        }),
        ("cook", |trial| trial.lots[2].cook = "better".into()),
        ("place", |trial| trial.lots[0].position = None),
        ("taken out", |trial| {
            trial.lots.remove(3);
        }),
        ("in another order", |trial| trial.lots.swap(0, 4)),
        ("what matters", |trial| trial.design.matters = 1.0),
        ("looks", |trial| trial.design.looks = vec![12]),
    ];
    for (what, change) in changes {
        let mut changed = whole.clone();
        change(&mut changed);
        assert!(!check(&changed, None).is_empty(), "{what}");
    }
    // The last lots taken out: the chain holds, the key's file knows.
    let mut shorter = whole.clone();
    shorter.lots.truncate(6);
    assert_eq!(check(&shorter, None), [""; 0]);
    assert!(shown(&shorter)[0].contains("6 lots of the trial `foil`, but 8 were drawn"));
    // A chain made anew around another arm: the key knows.
    let mut forged = trial(TrialKind::Pairs, 12, &[6, 9, 12]);
    let other = Key::new([9; 32]);
    forged.key = key().hash();
    for pair in 0..4 {
        let names = [wanted(&format!("a{pair}")), wanted(&format!("b{pair}"))];
        draw(&mut forged, &other, &names, AT).unwrap();
    }
    let found = check(&forged, Some(kept(&key(), &head(&forged))));
    assert!(found.iter().any(|line| line.contains("not the one that the key gives")), "{found:?}");
    assert!(check(&whole, Some(kept(&other, &end)))[0].contains("not the key"));
}

#[test]
fn a_large_difference_stops_early_and_small_ones_when_they_cannot_matter() {
    // Oak takes an hour less: far beyond the 10 that matter.
    let mut faster = pairs(12, &[8, 10, 12], 8);
    let cooked = table(&faster, -60.0, &[]);
    let cards = cards(&faster);
    let found = see(&mut faster, &cooked, &cards);
    assert_eq!((found.state, found.verdict), (TrialState::Stopped, Verdict::Yes), "{found:?}");
    let effect = found.effect.as_ref().unwrap();
    assert!(effect.hi.unwrap() < -10.0 && effect.estimate < -50.0 && effect.d > 50.0, "{effect:?}");
    assert_eq!(found.notes, [""; 0]);
    assert_eq!(found.still_needed, None);
    // The same again changes nothing.
    let kept = faster.clone();
    assert_eq!(see(&mut faster, &cooked, &cards), found);
    assert_eq!(faster, kept);

    let mut slower = pairs(12, &[8, 10, 12], 8);
    let found = see(&mut slower, &table(&kept, 60.0, &[]), &cards);
    assert_eq!(found.verdict, Verdict::Reverse);
    let mut alike = pairs(12, &[8, 10, 12], 8);
    let found = see(&mut alike, &table(&kept, -2.0, &[]), &cards);
    assert_eq!((found.state, found.verdict), (TrialState::Stopped, Verdict::TooSmallToMatter));
}

#[test]
fn nothing_is_told_between_looks() {
    let mut trial = pairs(12, &[8, 10, 12], 7);
    let whole = trial.clone();
    let found = see(&mut trial, &table(&pairs(12, &[12], 7), -60.0, &[]), &cards(&whole));
    assert_eq!((found.complete, found.looks.len(), found.next_look_at), (7, 0, Some(8)));
    assert_eq!((found.verdict, found.still_needed), (Verdict::Open, Some(5)));
    assert!(found.effect.is_none() && found.lots.iter().all(|lot| lot.value.is_none()));
    assert!(found.lots.iter().all(|lot| lot.state == LotState::Cooked));
}

/// A cook renamed, deleted, given another arm or left out by its card is named, and changes no look that was taken.
#[test]
fn a_look_stands_whatever_becomes_of_the_sheet() {
    let mut trial = pairs(12, &[8, 10, 12], 8);
    let cooked = table(&trial, -60.0, &[]);
    let whole = trial.clone();
    let before = see(&mut trial, &cooked, &cards(&whole));
    let mut sheet = cards(&trial);
    sheet[0].cook = "another".into();
    sheet[0].marks.meat_on_ms = Some(i64::MAX);
    sheet[1].arm = Some("hickory and oak".into());
    sheet[2].exclude = Some("it tasted odd".into());
    let gone = trial.lots[0].cook.clone();
    let whole = trial.clone();
    let after = see(&mut trial, &table(&whole, -60.0, &[&gone]), &sheet);
    assert_eq!((after.verdict, &after.effect), (before.verdict, &before.effect));
    for said in [
        "saw no cook a0, for which lot 1 was drawn",
        "another has an arm of this trial but no lot",
        "in the arm `hickory and oak`, but its lot was",
        "is left out by its card",
        "and is not there now: the look stands",
    ] {
        assert!(after.notes.iter().any(|note| note.contains(said)), "{said}: {:?}", after.notes);
    }
}

#[test]
fn crossings_are_named_and_set_beside() {
    let mut trial = pairs(8, &[8], 8);
    let mut cooked = table(&trial, -60.0, &[]);
    let wood: Vec<Option<String>> = trial
        .lots
        .iter()
        .map(|lot| {
            let crossed = lot.block == "pair-1";
            let other = if lot.arm == "oak" { "hickory" } else { "oak" };
            Some(if crossed { other.to_owned() } else { lot.arm.clone() })
        })
        .collect();
    cooked = cooked.select(&["cook", "hours"]);
    cooked.push("wood", wood.into());
    let whole = trial.clone();
    let found = see(&mut trial, &cooked, &cards(&whole));
    assert!(found.notes.iter().any(|note| note.contains("was drawn `oak` and had `hickory`")));
    let (drawn, done) = (found.effect.unwrap(), found.as_done.unwrap());
    assert!(drawn.estimate < -50.0 && done.estimate > drawn.estimate + 10.0, "{drawn:?} {done:?}");
}

#[test]
fn broken_pairs_are_counted_and_too_many_decide_nothing() {
    let mut trial = pairs(8, &[6], 8);
    let whole = trial.clone();
    let found = see(&mut trial, &table(&whole, -60.0, &["a1"]), &cards(&whole));
    assert_eq!((found.complete, found.verdict), (7, Verdict::Yes));
    assert!(found.notes.iter().any(|note| note.contains("a1 has no outcome")), "{:?}", found.notes);
    let mut trial = pairs(8, &[6], 8);
    let but = ["a1", "b2"];
    let whole = trial.clone();
    let found = see(&mut trial, &table(&whole, -60.0, &but), &cards(&whole));
    assert_eq!((found.complete, found.verdict), (6, Verdict::Refused));
    assert!(found.reason.unwrap().contains("2 of 8 drawn were lost"));
    // What was drawn last may still be cooked.
    let mut trial = pairs(8, &[6], 8);
    let whole = trial.clone();
    let found = see(&mut trial, &table(&whole, -60.0, &["a7", "b7"]), &[]);
    assert_eq!(found.lots[15].state, LotState::Waiting);
}

#[test]
fn the_smallest_trial_is_offered() {
    let variation = Variation {
        within_sd: 20.0,
        total_sd: 40.0,
        cooks: 40,
        fires_of_two: 10,
        is_assumed: false,
        minutes: Some(700.0),
        kg: Some(6.0),
    };
    let pairs = offer(TrialKind::Pairs, &variation, 30.0, 1.0).unwrap().unwrap();
    let single = offer(TrialKind::Blocks, &variation, 30.0, 1.0).unwrap().unwrap();
    // Normal theory: (1.645 + 0.842)²·2·20²/30² = 5.5 pairs, 4·40²·(…)²/30² = 44 cooks, a few more for few lots.
    assert!((6..=9).contains(&pairs.planned), "{pairs:?}");
    assert!((44..=52).contains(&single.cooks()), "{single:?}");
    assert_eq!((pairs.fires(), single.fires()), (pairs.planned, single.cooks()));
    assert_eq!(pairs.looks.last(), Some(&pairs.planned));
    assert!(pairs.power >= 0.8 && single.power >= 0.8);
    let rehearsed = rehearse(&pairs).unwrap();
    assert!(rehearsed[0].yes < 3.0 && rehearsed[2].yes > 70.0, "{rehearsed:?}");
    let wide = Variation { within_sd: 900.0, total_sd: 900.0, ..variation };
    assert_eq!(offer(TrialKind::Pairs, &wide, 1.0, 0.6).unwrap(), None);
}

#[test]
fn scatter_is_seen_within_and_between_fires() {
    // Fires 30 apart, meats of a fire 8 apart: sd within 8/√2, no matter how the fires lie.
    let cooks: Vec<Option<String>> = (0..12).map(|n| Some(format!("c{n:02}"))).collect();
    let fires: Vec<Option<String>> = (0..12).map(|n| Some(format!("f{}", n / 2))).collect();
    let hours: Vec<Option<f64>> = (0..12)
        .map(|n| Some(500.0 + 30.0 * f64::from(n / 2 % 3) + if n % 2 == 0 { 8.0 } else { 0.0 }))
        .collect();
    let mut table = columns::Table::new();
    table.push("cook", cooks.into());
    table.push("fire", fires.into());
    table.push("hours", hours.into());
    let table = MeasureTable::new(&table).unwrap();
    let found = variation(&table, &claim("lower")).unwrap();
    assert!((found.within_sd - 8.0 / 2f64.sqrt()).abs() < 1e-9, "{found:?}");
    assert!(found.total_sd > 20.0 && found.fires_of_two == 6 && !found.is_assumed);
}
