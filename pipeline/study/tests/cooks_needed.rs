//! Whether so many further cooks as a claim is said to need do settle it, on drawn tables.

use columns::{Table, table};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use std::path::Path;
use study::{Claim, Claims, Lock, MeasureTable, Verdict, analysis};

/// First minus second, min.
const TRUTH: f64 = -12.0;

#[derive(Clone, Copy)]
struct Setting {
    cooks: usize,
    /// Cooks of one fire.
    share: usize,
    /// Share of the outcomes that the log cuts short.
    cut_short: f64,
}

fn normal(random: &mut impl Rng) -> f64 {
    StandardNormal.sample(random)
}

/// Cooks with weights, half of them with each wood; the scatter grows with weight, and
/// cooks of one fire share a part of it.
fn draw(setting: Setting, truth: f64, random: &mut ChaCha8Rng) -> Table {
    let Setting { cooks, share, cut_short } = setting;
    let fires: Vec<i64> = (0..cooks).map(|i| (i / share) as i64).collect();
    let shared: Vec<f64> = (0..=cooks / share).map(|_| normal(random)).collect();
    let mut weights = Vec::new();
    let mut minutes = Vec::new();
    let mut censored = Vec::new();
    let turned = |i: usize| if share > 1 { i / share } else { 0 };
    let woods: Vec<&str> = (0..cooks)
        .map(|i| if (i + turned(i)).is_multiple_of(2) { "oak" } else { "hickory" })
        .collect();
    for i in 0..cooks {
        let weight = random.random_range(4.0..8.0);
        let scatter = if share > 1 {
            10.0 * shared[i / share] + 12.0 * normal(random)
        } else {
            (3.0 * weight) * normal(random)
        };
        let whole =
            150.0 + 10.0 * (weight - 6.0) + scatter + if woods[i] == "oak" { truth } else { 0.0 };
        let limit = if random.random::<f64>() < cut_short {
            random.random_range(90.0..200.0)
        } else {
            f64::INFINITY
        };
        weights.push(weight);
        minutes.push(whole.min(limit));
        censored.push(whole > limit);
    }
    table!(
        "cook" => (0..cooks).map(|i| format!("cook-{i:03}")).collect::<Vec<_>>(),
        "fire" => fires,
        "wood" => woods,
        "trimmed_weight_kg" => weights,
        "stall_delay_min" => minutes,
        "stall_delay_censored" => censored,
    )
}

const NOTHING: analysis::Evidence<'_> = analysis::Evidence {
    history: None,
    degrees: None,
    definitions: &[],
    seed: 0,
    horizon_min: 720.0,
    definition: None,
};

fn claim() -> Claim {
    Claims::parse(
        "[[claim]]\nid = \"c\"\nsays = \"s\"\nkind = \"compare\"\noutcome = \"stall_delay_min\"\n\
         better = \"lower\"\nby = \"wood\"\nlevels = [\"oak\", \"hickory\"]\n\
         adjust = [\"trimmed_weight_kg\"]\nmatters = 10\n",
        Path::new("claims.toml"),
    )
    .unwrap()
    .claims
    .remove(0)
}

fn table(setting: Setting, truth: f64, random: &mut ChaCha8Rng) -> MeasureTable {
    MeasureTable::new(&draw(setting, truth, random)).unwrap()
}

/// The number of further cooks is checked by cooking them: seasons of that many more cooks, drawn
/// anew from a population whose effect is the estimate of the first ones, are decided in about four
/// cases of five, as the number promises. (The first cooks are drawn anew too, and their scatter
/// is the population's, not the sample's, so it need not be exactly that.)
#[test]
fn with_the_cooks_still_needed_most_seasons_are_decided() {
    let claim = Claim { matters: 6.0, ..claim() };
    for share in [1, 2] {
        let mut random = ChaCha8Rng::seed_from_u64(12);
        let now = Setting { cooks: 24, share, cut_short: 0.0 };
        let (mut decided, mut seasons) = (0, 0);
        for _ in 0..60 {
            let found =
                analysis::judge(&table(now, TRUTH, &mut random), &claim, &Lock::default(), NOTHING);
            let found = found.unwrap();
            let Some(further) = found.cooks_still_needed.filter(|&cooks| (1..400).contains(&cooks))
            else {
                continue;
            };
            let truth = found.effect.unwrap().estimate;
            let then = Setting { cooks: (24 + further).div_ceil(share) * share, ..now };
            for _ in 0..10 {
                let table = table(then, truth, &mut random);
                let later =
                    analysis::judge_briefly(&table, &claim, &Lock::default(), NOTHING).unwrap();
                decided += usize::from(later.verdict != Verdict::Open);
                seasons += 1;
            }
        }
        let found = decided as f64 / f64::from(seasons);
        println!("{share} a fire: {found} of {seasons} seasons decided");
        assert!(seasons >= 200 && (0.70..=0.90).contains(&found), "{found} of {seasons}");
    }
}
