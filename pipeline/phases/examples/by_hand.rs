//! How well stalls are found where the core was read by hand a few times, and where the probe was put
//! in late.
//!
//! ```text
//! cargo run -p phases --example by_hand -- 30           printed, on cooks that constants may be set on
//! cargo run -p phases --example by_hand -- write 60     docs/accuracy.md, on held-out cooks
//! ```

#[path = "../tests/accuracy/mod.rs"]
mod accuracy;

use accuracy::HELD_OUT;
use accuracy::cooks::{Category, STEP_MS, TrueCook, true_cook};
use cook::{
    Card, Celsius, ChannelReadings, CookReadings, Flag, MarkTimes, PhaseKind, Role, WrapMethod,
};
use phases::{BorrowedReference, SegmentOptions, SegmentedCook, borrow, segment_cook};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};
use std::fmt::Write as _;
use std::path::Path;

const CATEGORIES: [Category; 5] =
    [Category::Clean, Category::Paper, Category::Foil, Category::Sag, Category::Profile];
const READINGS: [usize; 3] = [4, 8, 16];
const PUT_IN_C: [f64; 3] = [60.0, 70.0, 75.0];
const DRAWS: u32 = 60;
/// Cooks of the same kind that a late probe borrows its reference from: the team's others.
const LENDERS: u64 = 12;

/// How the core was seen.
#[derive(Debug, Clone, Copy)]
enum Seen {
    /// So many readings by hand; the pit is its set-point.
    ByHand(usize),
    /// By a logger, from this core on.
    From(f64),
    /// So too, and by hand twice before.
    HandThenFrom(f64),
}

/// What came of one cook, min.
#[derive(Debug, Clone, Copy, Default)]
struct Outcome {
    judged: bool,
    error: f64,
    width: Option<f64>,
    covered: bool,
    delay_covered: Option<bool>,
    wrap_core_error_c: Option<f64>,
}

fn channel(name: &str, role: Role, samples: &[(i64, f64)]) -> ChannelReadings {
    let mut channel = ChannelReadings::new(name, role);
    for (at_ms, temp_c) in samples {
        channel.at_ms.push(*at_ms);
        channel.temp_c.push(*temp_c as f32);
        channel.flag.push(Flag::Good);
        channel.source.push(0);
        channel.line.push(0);
    }
    channel
}

fn at(curve: &[f64], at_ms: i64) -> f64 {
    curve[usize::try_from(at_ms / STEP_MS).unwrap_or(0).min(curve.len() - 1)]
}

fn whole_fahrenheit(temp_c: f64) -> f64 {
    Celsius::from_fahrenheit(Celsius(temp_c).fahrenheit().round()).value()
}

/// The cook as a hand or a late probe saw it. Nobody reads by the clock: a third of the time between
/// two looks is left to chance. A reading is off by 1 °C (another spot, smoke in the eyes) and told in
/// whole °F; a set-point is off the pit by 3 °C.
fn readings(
    category: Category,
    truth: &TrueCook,
    seen: Seen,
    random: &mut ChaCha8Rng,
) -> (CookReadings, Card) {
    let bounds = truth.bounds;
    let normal = |sd: f64| Normal::new(0.0, sd).expect("a standard deviation");
    let method = match category {
        _ if truth.wraps_ms.is_empty() => WrapMethod::None,
        Category::Foil => WrapMethod::Foil,
        _ => WrapMethod::Paper,
    };
    let mut card = Card {
        cook: "c".into(),
        wrap_method: Some(method),
        marks: MarkTimes {
            meat_on_ms: Some(bounds.meat_on_ms),
            wrap_ms: truth.wraps_ms.first().copied(),
            pull_ms: Some(bounds.pull_ms),
            slice_ms: Some(bounds.end_ms),
        },
        ..Card::default()
    };
    let channels = match seen {
        Seen::ByHand(count) => {
            let length = (bounds.pull_ms - bounds.meat_on_ms) as f64;
            let samples: Vec<(i64, f64)> = (0..count)
                .map(|look| {
                    let place = look as f64 + 0.5 + random.random_range(-0.33..0.33);
                    let at_ms = bounds.meat_on_ms + (length * place / count as f64) as i64;
                    let off = normal(1.0).sample(random);
                    (at_ms, whole_fahrenheit(at(&truth.core_c, at_ms) + off))
                })
                .collect();
            let first = (bounds.meat_on_ms / STEP_MS) as usize;
            let hours = &truth.pit_c[first + 360..(first + 4 * 360).min(truth.pit_c.len())];
            let mean = hours.iter().sum::<f64>() / hours.len() as f64;
            card.pit_setpoint = Some(Celsius(mean + normal(3.0).sample(random)));
            vec![channel("spot:flat", Role::Meat, &samples)]
        }
        Seen::From(from_c) | Seen::HandThenFrom(from_c) => {
            let first = truth.core_c.iter().position(|core| *core >= from_c).unwrap_or(0) as i64;
            let every = |from_ms: i64, curve: &[f64], sd: f64, random: &mut ChaCha8Rng| {
                let mut samples = Vec::new();
                let mut at_ms = from_ms;
                while at_ms < bounds.end_ms {
                    samples.push((at_ms, at(curve, at_ms) + normal(sd).sample(random)));
                    at_ms += 60_000;
                }
                samples
            };
            let core = every(first * STEP_MS, &truth.core_c, 0.15, random);
            let pit = every(bounds.meat_on_ms, &truth.pit_c, 0.5, random);
            let mut channels =
                vec![channel("flat", Role::Meat, &core), channel("pit", Role::Pit, &pit)];
            if matches!(seen, Seen::HandThenFrom(_)) {
                let before = first * STEP_MS - bounds.meat_on_ms;
                let looks: Vec<(i64, f64)> = [0.45, 0.75]
                    .map(|share: f64| {
                        let at_ms = bounds.meat_on_ms
                            + (before as f64 * (share + random.random_range(-0.1..0.1))) as i64;
                        let off = normal(1.0).sample(random);
                        (at_ms, whole_fahrenheit(at(&truth.core_c, at_ms) + off))
                    })
                    .to_vec();
                channels.push(channel("spot:flat", Role::Meat, &looks));
            }
            channels
        }
    };
    let readings =
        CookReadings { cook: "c".into(), season: "s".into(), channels, sources: vec!["l".into()] };
    (readings, card)
}

/// True minutes in stalls from an instant on.
fn stall_min(truth: &TrueCook, from_ms: i64) -> f64 {
    let spans = truth.judgement.phases_of(PhaseKind::Stall);
    spans.map(|span| (span.end_ms - span.start_ms.max(from_ms)).max(0) as f64 / 60_000.0).sum()
}

fn outcome(truth: &TrueCook, found: &SegmentedCook) -> Outcome {
    let segmentation = &found.segmentation;
    let judgement = &segmentation.judgement;
    let (Some(found_min), Some(interval)) = (judgement.stall_min, segmentation.stall_min_90) else {
        return Outcome::default();
    };
    let whole = stall_min(truth, i64::MIN);
    let (lo, hi) = (interval.lo.unwrap_or(0.0), interval.hi.unwrap_or(f64::INFINITY));
    let delay_covered = segmentation.stall_delay_90.zip(truth.delay).map(|(interval, delay)| {
        interval.lo.is_none_or(|lo| lo <= delay.minutes)
            && interval.hi.is_none_or(|hi| delay.minutes <= hi)
    });
    let wrap_core_error_c = truth.wraps_ms.first().and_then(|wrap_ms| {
        Some((judgement.core_at(*wrap_ms)? - at(&truth.core_c, *wrap_ms)).abs())
    });
    Outcome {
        judged: true,
        error: (found_min - whole).abs(),
        width: interval.hi.map(|hi| hi - lo),
        covered: lo <= whole && whole <= hi,
        delay_covered,
        wrap_core_error_c,
    }
}

fn outcomes(category: Category, first: u64, count: u64, seen: Seen) -> Vec<Outcome> {
    let lenders: Vec<f64> = (0..LENDERS)
        .filter_map(|index| Some(true_cook(category, 500 + index).judgement.reference?.k_per_h))
        .collect();
    let borrowed: Option<BorrowedReference> = borrow(&lenders);
    let one = |index: u64| {
        let truth = true_cook(category, index);
        let mut random = ChaCha8Rng::seed_from_u64(7_000_000 + index);
        let (readings, card) = readings(category, &truth, seen, &mut random);
        let options = SegmentOptions { draws: DRAWS, seed: 11, borrowed, ..Default::default() };
        match segment_cook(&readings, &card, &[], &options) {
            Ok(found) => outcome(&truth, &found),
            Err(error) => {
                eprintln!("{category} {index}: {error}");
                Outcome::default()
            }
        }
    };
    accuracy::of_each(first, count, &one)
}

fn quantile(values: impl Iterator<Item = f64>, at: f64) -> String {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    let place = (at * values.len().saturating_sub(1) as f64).round() as usize;
    values.get(place).map_or("–".into(), |value| format!("{value:.1}"))
}

fn percent(of: impl Iterator<Item = bool>) -> String {
    let all: Vec<bool> = of.collect();
    let yes = all.iter().filter(|yes| **yes).count();
    if all.is_empty() {
        "–".into()
    } else {
        format!("{:.0}", 100.0 * yes as f64 / all.len() as f64)
    }
}

fn row(name: &str, seen: &str, all: &[Outcome]) -> String {
    let judged = || all.iter().filter(|one| one.judged);
    format!(
        "| {name} | {seen} | {} of {} | {} / {} | {} | {} | {} | {} |\n",
        judged().count(),
        all.len(),
        quantile(judged().map(|one| one.error), 0.5),
        quantile(judged().map(|one| one.error), 0.9),
        quantile(judged().filter_map(|one| one.width), 0.5),
        percent(judged().map(|one| one.covered)),
        percent(judged().filter_map(|one| one.delay_covered)),
        quantile(judged().filter_map(|one| one.wrap_core_error_c), 0.5),
    )
}

fn table(first: u64, count: u64, only: &str) -> String {
    let mut out = String::from(
        "| cooks | seen by | judged | stall length, min (p50 / p90 of the error) | width of its 90 % interval, min (p50) | stall length covered, % | stall delay covered, % | wrap core, °C (p50 of the error) |\n|---|---|---|---|---|---|---|---|\n",
    );
    let by_hand = READINGS.map(|count| (Seen::ByHand(count), format!("{count} readings")));
    let late = PUT_IN_C.map(|core| (Seen::From(core), format!("probe in at {core:.0} °C")));
    let both = PUT_IN_C.map(|core| {
        (Seen::HandThenFrom(core), format!("2 readings, then a probe in at {core:.0} °C"))
    });
    for (seen, words) in by_hand.into_iter().chain(late).chain(both) {
        if !words.contains(only) {
            continue;
        }
        let mut all = Vec::new();
        for category in CATEGORIES {
            let found = outcomes(category, first, count, seen);
            let line = row(category.name(), &words, &found);
            eprint!("{line}");
            out += &line;
            all.extend(found);
        }
        let line = row("all", &words, &all);
        eprint!("{line}");
        let _ = out.write_str(&line);
    }
    out
}

const BEGIN: &str = "<!-- made by the example `by_hand`: begin -->\n";
const END: &str = "<!-- made by the example `by_hand`: end -->";

fn main() -> std::io::Result<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize| arguments.get(at).and_then(|text| text.parse().ok()).unwrap_or(30);
    if arguments.first().is_none_or(|first| first != "write") {
        println!("{}", table(0, number(0), arguments.get(1).map_or("", String::as_str)));
        return Ok(());
    }
    let count = number(1);
    let page_path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/accuracy.md");
    let page = std::fs::read_to_string(&page_path)?;
    let parts = page
        .split_once(BEGIN)
        .and_then(|(before, rest)| rest.split_once(END).map(|(_, after)| (before, after)));
    let (before, after) = parts.expect("the page has both markers");
    let made =
        format!("{count} cooks a category, {DRAWS} draws.\n\n{}", table(HELD_OUT, count, ""));
    std::fs::write(page_path, format!("{before}{BEGIN}{made}{END}{after}"))
}
