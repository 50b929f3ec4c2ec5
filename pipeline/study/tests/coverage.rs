//! How often the interval of a claim holds the truth, on drawn tables whose truth is known.

use columns::{Table, table};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use std::path::Path;
use study::{Claim, Claims, Lock, MeasureTable, Verdict, analysis};

const DRAWS: usize = 1000;
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

/// Of the drawn tables that are answered, the share whose 90 % interval holds the truth; and the share
/// that is answered.
fn coverage(setting: Setting) -> (f64, f64) {
    let claim = claim();
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let (mut held, mut answered) = (0, 0);
    for _ in 0..DRAWS {
        let table = table(setting, TRUTH, &mut random);
        let found = analysis::judge_briefly(&table, &claim, &Lock::default(), NOTHING).unwrap();
        let Some(effect) = found.effect else { continue };
        assert!((effect.level - 0.90).abs() < 1e-12);
        answered += 1;
        held += usize::from(effect.lo.unwrap() <= TRUTH && TRUTH <= effect.hi.unwrap());
    }
    (f64::from(held as u32) / f64::from(answered), f64::from(answered) / DRAWS as f64)
}

/// With 1000 draws the standard error of a coverage of 0.90 is 0.009. Measured: HC3 0.929, 0.916, 0.914
/// with 16, 24, 40 cooks. The jackknife and, with few fires, two methods that must agree err on the wide
/// side.
#[test]
fn intervals_hold_the_truth_about_as_often_as_they_say() {
    for (cooks, share, cut_short) in [
        (16, 1, 0.0),
        (24, 1, 0.0),
        (40, 1, 0.0),
        (16, 2, 0.0),
        (24, 2, 0.0),
        (40, 2, 0.0),
        (24, 4, 0.0),
        (40, 4, 0.0),
        (16, 1, 0.3),
        (24, 1, 0.3),
        (40, 1, 0.3),
        (16, 2, 0.3),
        (24, 2, 0.3),
        (40, 2, 0.3),
    ] {
        let (found, answered) = coverage(Setting { cooks, share, cut_short });
        println!("{cooks} cooks, {share} a fire, {cut_short} cut short: {found} of {answered}");
        assert!((0.86..=0.98).contains(&found), "{cooks} {share} {cut_short}: {found}");
    }
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

/// Cooks on fires of these sizes; the pit is the fire's and has no effect, and half the scatter is
/// shared.
fn by_fire(sizes: &[usize], random: &mut ChaCha8Rng) -> MeasureTable {
    let (mut fire, mut pit, mut minutes) = (Vec::new(), Vec::new(), Vec::new());
    for (own, &size) in sizes.iter().enumerate() {
        let (temperature, shared) = (110.0 + 8.0 * normal(random), 10.0 * normal(random));
        for _ in 0..size {
            fire.push(own as i64);
            pit.push(temperature);
            minutes.push(150.0 + shared + 10.0 * normal(random));
        }
    }
    let cooks: Vec<String> = (0..fire.len()).map(|i| format!("cook-{i:03}")).collect();
    let frame = table!(
        "cook" => cooks,
        "fire" => fire,
        "pit_early_c" => pit,
        "stall_min" => minutes,
    );
    MeasureTable::new(&frame).unwrap()
}

/// A trend by what is the fire's, with no effect: over all tables, refused ones counted apart. With 400
/// tables the standard error of a coverage of 0.90 is 0.015.
#[test]
fn few_and_unequal_fires_hold_the_truth_as_often_as_they_say() {
    let claim = Claims::parse(
        "[[claim]]\nid = \"c\"\nsays = \"s\"\nkind = \"trend\"\noutcome = \"stall_min\"\n\
         better = \"lower\"\nby = \"pit_early_c\"\nper = 5\nmatters = 10\n",
        Path::new("claims.toml"),
    )
    .unwrap()
    .claims
    .remove(0);
    let unequal = [1, 1, 1, 2, 2, 3, 4, 5, 6, 8, 12, 15];
    for (name, sizes) in
        [("8 of 7", vec![7; 8]), ("12 unequal", unequal.to_vec()), ("30 of 2", vec![2; 30])]
    {
        let mut random = ChaCha8Rng::seed_from_u64(5);
        let (mut held, mut refused) = (0, 0);
        for _ in 0..400 {
            let table = by_fire(&sizes, &mut random);
            let found = analysis::judge_briefly(&table, &claim, &Lock::default(), NOTHING).unwrap();
            match found.effect {
                Some(effect) => {
                    held += usize::from(effect.lo.unwrap() <= 0.0 && 0.0 <= effect.hi.unwrap());
                }
                None => refused += 1,
            }
        }
        println!("{name}: {held} of 400 held, {refused} refused");
        assert!(refused < 80, "{name}: {refused} refused");
        assert!(
            held as f64 >= 0.87 * f64::from(400 - refused),
            "{name}: {held}, {refused} refused"
        );
    }
}
