//! Seasons hold together, and the counterfactual is one.

use super::*;
use crate::strategy::WrapRule;
use cook::{Celsius, WrapMethod};

fn foil_at_160() -> Strategy {
    Strategy::wrap(WrapMethod::Foil, Celsius::from_fahrenheit(160.0), 30.0)
}

#[test]
fn a_fire_is_known_by_its_seed_and_place() {
    let team = TeamModel::middling();
    let season = team.season(5).unwrap();
    assert_eq!(season.len(), team.fires);
    assert_eq!(season[7], team.fire(5, 7).unwrap());
    assert_ne!(season[7], team.fire(6, 7).unwrap());
    assert!(season.windows(2).all(|pair| pair[0].day <= pair[1].day));
    let cooks: usize = season.iter().map(|fire| fire.cooks.len()).sum();
    assert!((80..=120).contains(&cooks), "{cooks}");
}

#[test]
fn marks_without_curves_are_those_with_curves() {
    let team = TeamModel::middling();
    for index in 0..6 {
        let fire = team.fire(1, index).unwrap();
        for strategy in [Strategy::any(), Strategy::never(), foil_at_160()] {
            let marks = fire.marks_under(&strategy).unwrap();
            let truth = fire.under(&strategy).unwrap();
            for (marks, cook) in marks.iter().zip(&truth.cooks) {
                assert_eq!(marks.clock_zero_s, cook.marks.clock_zero_s);
                assert_eq!(marks.finish_s, cook.marks.finish_s);
                assert_eq!(marks.finish_s, cook.first_at(88.0));
                assert_eq!(marks.clock_zero_s, cook.first_at(55.0));
                if marks.wrap.as_ref().is_some_and(|wrap| marks.finish_s > Some(wrap.0)) {
                    assert_eq!(marks.wrap, cook.marks.wrap);
                }
            }
        }
    }
}

#[test]
fn who_complies_by_habit_runs_the_same_under_the_strategy() {
    // Lone cooks: on a shared fire another cook's bump would differ.
    let team = TeamModel { cooks_on_fire: vec![1.0], ..TeamModel::middling() };
    let strategy = foil_at_160();
    let WrapRule::Within { opens, grace_min, .. } = &strategy.wrap else { unreachable!() };
    let crate::Trigger::Core(at) = opens else { unreachable!() };
    let mut compliers = 0;
    for fire in team.season(11).unwrap() {
        let natural = fire.marks().unwrap().remove(0);
        let under = fire.marks_under(&strategy).unwrap().remove(0);
        let opened = fire.run().unwrap().cooks[0].first_at(at.value());
        let complies = match (&natural.wrap, opened) {
            (Some((at_s, WrapMethod::Foil)), Some(opened)) => {
                (opened..=opened + (grace_min * 60.0) as i64).contains(at_s)
            }
            (None, None) => true,
            _ => false,
        };
        if complies {
            compliers += 1;
            assert_eq!(natural, under);
        }
        if let Some((at_s, method)) = &under.wrap {
            assert_eq!(*method, WrapMethod::Foil);
            let truth = fire.under(&strategy).unwrap();
            let opened = truth.cooks[0].first_at(at.value()).unwrap();
            assert!((opened..=opened + 1_800).contains(at_s), "{opened} {at_s}");
        }
    }
    assert!(compliers >= 5, "{compliers}");
}

#[test]
fn a_strategy_moves_neither_meat_nor_weather_nor_wander() {
    let team = TeamModel::middling();
    let fire = team.fire(3, 2).unwrap();
    let (any, never) = (fire.run().unwrap(), fire.under(&Strategy::never()).unwrap());
    let differ = any
        .cooks
        .iter()
        .filter_map(|cook| cook.marks.wrap.as_ref().map(|wrap| wrap.0))
        .min()
        .unwrap_or(i64::MAX);
    let until = ((differ / crate::GRID_STEP_S) as usize).min(any.pit_c.len());
    assert_eq!(any.pit_c[..until], never.pit_c[..until]);
    for (any, never) in any.cooks.iter().zip(&never.cooks) {
        assert_eq!(any.core_c[..until], never.core_c[..until]);
        assert!(never.wraps.is_empty());
    }
}

#[test]
fn an_unchanged_setpoint_is_unchanged() {
    let mut team = TeamModel::middling();
    if let Some(bump) = &mut team.habit.bump {
        bump.with_wrap = 1.0;
        bump.with_late_wrap = 1.0;
    }
    let mut bumped = 0;
    for fire in team.season(2).unwrap().iter().take(12) {
        bumped += fire.run().unwrap().setpoints.len();
        let kept = fire.under(&foil_at_160().setpoint_unchanged()).unwrap();
        assert!(kept.setpoints.is_empty());
        assert!(kept.cooks.iter().all(|cook| cook.marks.bump_s.is_none()));
    }
    assert!(bumped >= 6, "{bumped}");
}

#[test]
fn habits_confound_and_the_naive_comparison_errs_by_far() {
    // Early against late wrappers, judged as a table would: who wraps late had a long stall.
    let mut team = TeamModel::middling();
    team.habit.bump = None;
    let (mut early, mut late) = (Vec::new(), Vec::new());
    let (mut truth_early, mut truth_late) = (Vec::new(), Vec::new());
    let at_early = Strategy::wrap(WrapMethod::Foil, Celsius(68.0), 0.0);
    let at_late = Strategy::wrap(WrapMethod::Foil, Celsius(73.0), 0.0);
    for fire in team.season(8).unwrap() {
        for marks in fire.marks().unwrap() {
            if let (Some((_, WrapMethod::Foil)), Some(wrap), Some(finish)) =
                (&marks.wrap, marks.clock_to_wrap_min(), marks.clock_to_finish_min())
            {
                (if wrap < 180.0 { &mut early } else { &mut late }).push(finish);
            }
        }
        let finishes = |strategy: &Strategy| {
            fire.marks_under(strategy).unwrap().iter().map(CookMarks::clock_to_finish_min).collect()
        };
        let pair: (Vec<Option<f64>>, Vec<Option<f64>>) = (finishes(&at_early), finishes(&at_late));
        for (early, late) in pair.0.into_iter().zip(pair.1) {
            if let (Some(early), Some(late)) = (early, late) {
                truth_early.push(early);
                truth_late.push(late);
            }
        }
    }
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let naive = mean(&late) - mean(&early);
    let truth = mean(&truth_late) - mean(&truth_early);
    assert!(early.len() >= 8 && late.len() >= 8, "{} {}", early.len(), late.len());
    assert!(truth > 0.0, "{truth}");
    println!("naive {naive}, truth {truth}");
    assert!((naive - truth).abs() > 30.0, "naive {naive}, truth {truth}");
}

#[test]
fn blocks_have_each_arm_once_and_follow_it() {
    let mut team = TeamModel::middling();
    let paper = Strategy::wrap(WrapMethod::Paper, Celsius(71.0), 10.0);
    team.randomised = Some(Randomised { share: 0.6, arms: vec![foil_at_160(), paper] });
    let mut first = [0; 2];
    let mut blocks = 0;
    for fire in team.season(4).unwrap().iter().filter(|fire| fire.block.is_some()) {
        assert!(!fire.contest);
        let mut arms: Vec<usize> = fire.cooks.iter().map(|cook| cook.arm.unwrap()).collect();
        first[arms[0]] += 1;
        arms.sort_unstable();
        assert_eq!(arms, [0, 1]);
        assert_eq!(fire.cooks[0].cut, fire.cooks[1].cut);
        blocks += 1;
        if blocks <= 3 {
            for (cook, marks) in fire.cooks.iter().zip(fire.marks().unwrap()) {
                let method = [WrapMethod::Foil, WrapMethod::Paper][cook.arm.unwrap()].clone();
                assert!(marks.wrap.is_none_or(|wrap| wrap.1 == method));
            }
        }
    }
    assert!(blocks >= 15 && first.iter().all(|&count| count >= 4), "{blocks} {first:?}");
}

#[test]
fn a_team_that_cannot_be_is_named() {
    let mut team = TeamModel::middling();
    team.cooks_on_fire = vec![0.5, 0.2];
    assert!(team.fire(1, 0).unwrap_err().to_string().contains("team.cooks_on_fire"));
}
