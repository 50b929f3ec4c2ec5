use super::MODEL_ERROR_MIN;
use crate::analysis::{Evidence, judge_briefly};
use crate::claims::Claims;
use crate::degrees::Degrees;
use crate::history::History;
use crate::lock::Lock;
use crate::result::ClaimResult;
use crate::table::MeasureTable;
use crate::verdict::Verdict;
use columns::{Table, table};
use std::path::Path;

const K_REF: f64 = 0.2;
const LAGGED_C: f64 = 112.0;

/// How cooks take heat: a dose of whole degrees in logs, slow about 70 °C, by cook.
fn bare_dose(cook: usize, degree: usize) -> f64 {
    let stall = 1.4 * (-((degree as f64 - 70.0) / 4.0).powi(2)).exp();
    let own = 0.2 * (((cook * 37) % 11) as f64 / 5.0 - 1.0);
    let step = 0.15 * (((cook * 53 + degree * 29) % 17) as f64 / 8.0 - 1.0);
    stall + own + step
}

fn minutes(degree: f64, dose: f64) -> f64 {
    60.0 * dose / K_REF / (LAGGED_C - degree - 0.5)
}

#[derive(Default)]
struct Season {
    cook: Vec<String>,
    method: Vec<&'static str>,
    wrap_min: Vec<Option<f64>>,
    end_min: Vec<f64>,
    of: Vec<String>,
    degree: Vec<f64>,
    start: Vec<f64>,
    time: Vec<f64>,
    dose: Vec<f64>,
    wrapped_in: Vec<Option<&'static str>>,
    since: Vec<Option<f64>>,
    last: Vec<(String, f64)>,
}

impl Season {
    /// Cooks of whom some are wrapped at the very beginning of a degree; a wrap changes the logs of their
    /// doses by `effect`.
    fn new(cooks: usize, effect: f64, wrap_at: impl Fn(usize) -> Option<usize>) -> Self {
        let mut season = Self::default();
        for cook in 0..cooks {
            let name = format!("cook-{cook:03}");
            let (mut minute, mut wrapped) = (0.0, None);
            for degree in 55..88 {
                if wrap_at(cook) == Some(degree) {
                    wrapped = Some(minute);
                }
                let log = bare_dose(cook, degree) + if wrapped.is_some() { effect } else { 0.0 };
                let time = minutes(degree as f64, log.exp());
                season.of.push(name.clone());
                season.degree.push(degree as f64);
                season.start.push(minute);
                season.time.push(time);
                season.dose.push(log.exp() / K_REF);
                season.wrapped_in.push(wrapped.map(|_| "foil"));
                season.since.push(wrapped.map(|at| minute - at));
                minute += time;
            }
            season.method.push(if wrapped.is_some() { "foil" } else { "none" });
            season.wrap_min.push(wrapped);
            season.end_min.push(minute);
            season.last.push((name.clone(), minute));
            season.cook.push(name);
        }
        season
    }

    fn judged(&self, strategies: &str) -> ClaimResult {
        let n = self.cook.len();
        let measures = table!(
            "cook" => self.cook.clone(),
            "fire" => (0..n).map(|cook| format!("fire-{}", cook / 2)).collect::<Vec<_>>(),
            "trimmed_weight_kg" => (0..n).map(|cook| 4.5 + 0.1 * ((cook * 29) % 17) as f64).collect::<Vec<_>>(),
            "wrap_method" => self.method.clone(),
            "clock_to_wrap_min" => self.wrap_min.clone(),
            "clock_to_finish_min" => self.end_min.clone(),
            "finish_reached" => vec![true; n],
            "end_reason" => vec!["finish"; n],
            "k_ref_per_h" => vec![K_REF; n],
        );
        let rows: Vec<(String, i64)> = self
            .last
            .iter()
            .flat_map(|(name, end)| {
                (0..=(end / 10.0) as i64).map(move |row| (name.clone(), 10 * row))
            })
            .collect();
        let m = rows.len();
        let history = table!(
            "cook" => rows.iter().map(|row| row.0.clone()).collect::<Vec<_>>(),
            "minute" => rows.iter().map(|row| row.1).collect::<Vec<_>>(),
            "core_c" => rows.iter().map(|row| 55.0 + row.1 as f64 / 20.0).collect::<Vec<_>>(),
            "k_per_h" => (0..m).map(|row| 0.1 + 0.001 * ((row * 17) % 31) as f64).collect::<Vec<_>>(),
            "pit_c" => vec![LAGGED_C; m],
            "lagged_pit_c" => vec![LAGGED_C; m],
            "in_stall" => (0..m).map(|row| row % 3 == 0).collect::<Vec<_>>(),
            "setpoint_c" => vec![110.0; m],
        );
        let r = self.of.len();
        let degrees: Table = table!(
            "cook" => self.of.clone(),
            "degree_c" => self.degree.clone(),
            "piece" => vec![0i64; r],
            "start_min" => self.start.clone(),
            "from_core_c" => self.degree.clone(),
            "time_min" => self.time.clone(),
            "dose_kh" => self.dose.clone(),
            "gap_c" => self.degree.iter().map(|degree| LAGGED_C - degree - 0.5).collect::<Vec<_>>(),
            "lagged_pit_c" => vec![LAGGED_C; r],
            "method" => self.wrapped_in.clone(),
            "since_wrap_min" => self.since.clone(),
            "passed" => vec![true; r],
            "seen" => vec![1.0; r],
            "bark" => vec![None::<&str>; r],
        );
        let text = format!(
            "[[claim]]\nid = \"w\"\nsays = \"Sooner\"\nkind = \"wrap-timing\"\noutcome = \
             \"clock_to_finish_min\"\nbetter = \"lower\"\nmatters = 20\nstrategies = [{strategies}]\n"
        );
        let claims = Claims::parse(&text, Path::new("claims.toml")).unwrap();
        let table = MeasureTable::new(&measures).unwrap();
        let lock = Lock::update(None, &claims, table.cooks());
        let (history, degrees) = (History::new(&history).unwrap(), Degrees::new(&degrees).unwrap());
        let evidence = Evidence {
            history: Some(&history),
            degrees: Some(&degrees),
            seed: 1,
            ..Evidence::default()
        };
        judge_briefly(&table, &claims.claims[0], &lock, evidence).unwrap()
    }
}

/// Every other cook is wrapped at 66 °C, the others never.
fn some(cook: usize) -> Option<usize> {
    cook.is_multiple_of(2).then_some(66)
}

const AT_66: &str = "{ method = \"foil\", at_core_c = 66, grace_min = 0.01 }, { never = true }";

/// The mean difference of all cooks wrapped at 66 °C and never.
fn truth(cooks: usize, effect: f64) -> f64 {
    let of = |cook: usize| -> f64 {
        (66..88)
            .map(|degree| {
                let log = bare_dose(cook, degree);
                minutes(degree as f64, (log + effect).exp()) - minutes(degree as f64, log.exp())
            })
            .sum()
    };
    (0..cooks).map(of).sum::<f64>() / cooks as f64
}

#[test]
fn a_wrap_that_halves_doses_is_found_to_some_minutes() {
    let result = Season::new(48, -0.7, some).judged(AT_66);
    let found = result.g_formula.as_ref().unwrap();
    assert_eq!(found.reason, None);
    let truth = truth(48, -0.7);
    let difference = found.difference.unwrap();
    assert!((difference.estimate - truth).abs() < 6.0, "{difference:?} {truth}");
    assert_eq!(found.own_path, [24, 24]);
    assert_eq!(result.effect.as_ref().unwrap().estimate, difference.estimate);
    assert_eq!(result.verdict, Verdict::Yes);
    assert!(found.tipping_min.unwrap() > 0.0);
    // Half of the cooks are never wrapped.
    assert_eq!(found.fewest_unwrapped, Some(24));
    assert!(found.sampling_error_min > 0.0 && found.model_error_min > 0.0);
    assert!(result.models.iter().any(|model| model.name == "g-formula"));
    let all = found.natural_course.iter().find(|held| held.group == "all").unwrap();
    assert_eq!((all.cooks, all.simulated), (48, 8 * 48));
    // All wraps here come at one degree, which a rate that is smooth in the core foretells to some tenths: so
    // many more or fewer are wrapped in the runs, and a wrap is worth 180 min.
    for (held, most) in found.natural_course.iter().zip([40.0, 40.0, 25.0]) {
        let off = (held.simulated_mean_min - held.observed_mean_min).abs();
        assert!(off < most, "{held:?}");
    }
    // A season is judged the same every time.
    assert_eq!(Season::new(48, -0.7, some).judged(AT_66), result);
}

#[test]
fn a_wrap_that_does_nothing_is_found_to_do_nothing() {
    let result = Season::new(48, 0.0, some).judged(AT_66);
    assert!(!matches!(result.verdict, Verdict::Yes | Verdict::Reverse), "{:?}", result.verdict);
    let difference = result.g_formula.unwrap().difference.unwrap();
    assert!(difference.estimate.abs() < 6.0, "{difference:?}");
}

/// The fewer cooks go unwrapped, the wider the answer.
#[test]
fn few_unwrapped_cooks_leave_a_wide_answer() {
    let model_error = |is_unwrapped: fn(usize) -> bool| {
        let wrap_at = move |cook: usize| (!is_unwrapped(cook)).then_some(66);
        let found = Season::new(40, 0.0, wrap_at).judged(AT_66).g_formula.unwrap();
        let unwrapped = (0..40).filter(|&cook| is_unwrapped(cook)).count();
        assert_eq!(found.fewest_unwrapped, Some(unwrapped), "{:?}", found.reason);
        found.model_error_min
    };
    // 24 cooks, and five of as many fires.
    assert!((model_error(|cook| cook % 5 < 3) - MODEL_ERROR_MIN).abs() < 1e-9);
    assert!((model_error(|cook| cook % 8 == 0) - 24.0 / 5.0 * MODEL_ERROR_MIN).abs() < 1e-9);
}

#[test]
fn who_is_hardly_ever_wrapped_or_always_is_refused() {
    let reason = |wrap_at: &dyn Fn(usize) -> Option<usize>| {
        let result = Season::new(40, -0.7, wrap_at).judged(AT_66);
        assert_eq!(result.verdict, Verdict::Refused);
        result.g_formula.unwrap().reason.unwrap()
    };
    assert!(reason(&|cook| (cook < 3).then_some(66)).contains("were wrapped in foil"));
    assert!(reason(&|_| Some(62)).contains("what a cook without a wrap does"));
    // In nothing that was ever used.
    let paper = AT_66.replace("foil", "paper");
    let result = Season::new(40, -0.7, some).judged(&paper);
    assert!(result.g_formula.unwrap().reason.unwrap().contains("no cook was wrapped in paper"));
}

#[test]
fn a_wrap_before_60_is_left_out_for_its_reference() {
    let early = |cook: usize| if cook < 4 { Some(58) } else { some(cook) };
    let found = Season::new(40, -0.5, early).judged(AT_66).g_formula.unwrap();
    assert_eq!(found.n, 36);
    assert!(found.left_out[0].reason.contains("before 60 °C"));
}
