//! How far off forecasts are on cooks of known truth.
#[path = "../tests/backtest/mod.rs"]
mod backtest;

use backtest::{profiled, profiles, score};
use cook::PhaseDefinition;
use outlook::{Course, Past};

fn main() {
    let seed: u64 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(1);
    let teams: u64 = std::env::args().nth(2).and_then(|a| a.parse().ok()).unwrap_or(4);
    let definition = PhaseDefinition::default();
    let bundle: Vec<Course> = outlook::bundle::simulate_bundle().expect("a bundle");
    println!("bundle {}", bundle.len());
    let sizes: Vec<usize> = match std::env::args().nth(3) {
        Some(list) => list.split(',').filter_map(|n| n.parse().ok()).collect(),
        None => vec![0, 5, 15, 60, 300],
    };
    let most = sizes.iter().copied().max().unwrap_or(0);
    let mut changed = vec![[const { Vec::new() }; 3]; sizes.len()];
    let mut table = vec![(Vec::new(), Vec::new()); sizes.len()];
    for team in 0..teams {
        let team = profiles::Team::new(seed, team);
        let pool: Vec<Course> =
            profiled(&team, 0..most as u64).into_iter().map(|c| c.0).take(most).collect();
        let tried = profiled(&team, 1_000..1_020);
        for ((&count, (plain, planned)), changed) in sizes.iter().zip(&mut table).zip(&mut changed)
        {
            let past = Past::new(&pool[..count], &bundle, &definition);
            for (course, finish_min) in &tried {
                plain.extend(score::score(&past, course, *finish_min, 30.0, false, &pool[..count]));
                planned.extend(score::score(&past, course, *finish_min, 30.0, true, &[]));
            }
            for fire in 1_000..1_020 {
                for core_c in [64.0, 69.0] {
                    let found = score::changes(&past, &team, fire, core_c);
                    for (all, one) in changed.iter_mut().zip(found) {
                        all.extend(one);
                    }
                }
            }
        }
    }
    for (count, changed) in sizes.iter().zip(&changed) {
        for (name, changed) in ["foil", "paper", "+14 C"].iter().zip(changed) {
            println!("{}", score::change_line(&format!("{name} now, {count}"), changed));
        }
    }
    for (count, (plain, planned)) in sizes.iter().zip(&table) {
        println!("{}", score::line(&format!("profiles {count}"), plain));
        println!("{}", score::line(&format!("profiles {count} planned"), planned));
    }
}
