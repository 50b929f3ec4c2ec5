use super::cooks::{Cook, End};
use super::*;
use crate::claims::Claims;
use crate::history::History;
use crate::lock::Lock;
use columns::{Table, table};
use cook::WrapMethod;
use std::path::Path;

/// A core that rises by 2 °C every ten minutes from 55 °C.
fn steady() -> History {
    let minutes: Vec<i64> = (0..17).map(|row| row * 10).collect();
    let n = minutes.len();
    let frame = table!(
        "cook" => vec!["a"; n],
        "minute" => minutes.clone(),
        "core_c" => minutes.iter().map(|m| 55.0 + *m as f64 / 5.0).collect::<Vec<f64>>(),
        "k_per_h" => vec![0.2; n],
        "pit_c" => vec![110.0; n],
        "in_stall" => vec![false; n],
        "setpoint_c" => minutes.iter().map(|m| if *m < 90 { 110.0 } else { 121.0 }).collect::<Vec<f64>>(),
    );
    History::new(&frame).unwrap()
}

fn cook_wrapped(history: &History, wrap: Option<(f64, WrapMethod)>) -> Cook<'_> {
    Cook {
        fire: 0,
        course: history.course("a").unwrap(),
        weight_kg: 5.0,
        start_hour: 6.0,
        wrap,
        bump_min: history.course("a").unwrap().first_bump(cooks::BUMP_C),
        end_min: 165.0,
        end: End::Finish,
        adjust: Vec::new(),
    }
}

fn strategy(text: &str) -> Strategy {
    toml::from_str(text).unwrap()
}

/// Why the copy of a cook left, if it did. The second cook gives the models somebody who differs.
fn left(wrap: Option<(f64, WrapMethod)>, text: &str, unchanged: bool) -> Option<clones::Left> {
    let history = steady();
    let others = [(40.0, WrapMethod::Paper), (95.0, WrapMethod::Foil), (60.0, WrapMethod::Foil)];
    let mut cooks = vec![cook_wrapped(&history, wrap)];
    cooks.extend(others.map(|other| cook_wrapped(&history, Some(other))));
    let strategy = strategy(text);
    let methods: Vec<WrapMethod> = strategy.method.iter().cloned().collect();
    let mut decisions = decisions::Decisions::new(&cooks, &[], &methods, true).unwrap();
    let treatment = clones::Treatment { weighted: true, setpoint_unchanged: unchanged };
    clones::copies("s", &cooks, &strategy, treatment, &mut decisions).unwrap().left.remove(0)
}

#[test]
fn a_copy_leaves_when_its_cook_does_what_the_strategy_forbids() {
    use clones::Left::{AtAll, Bumped, Early, NotWrapped, Otherwise};
    // The core passes 70 °C at 75 min.
    let foil = "method = 'foil'\nat_core_c = 70\ngrace_min = 25";
    let at = |minute: f64| Some((minute, WrapMethod::Foil));
    for (wrap, text, unchanged, expected) in [
        (at(80.0), foil, false, None),
        (at(100.0), foil, false, None),
        // Five minutes early is the clock of whoever wrote it down.
        (at(70.0), foil, false, None),
        (at(69.0), foil, false, Some(Early)),
        (at(101.0), foil, false, Some(NotWrapped)),
        (None, foil, false, Some(NotWrapped)),
        (Some((80.0, WrapMethod::Paper)), foil, false, Some(Otherwise)),
        (Some((95.0, WrapMethod::Paper)), foil, false, Some(Otherwise)),
        (at(80.0), "never = true", false, Some(AtAll)),
        (None, "never = true", false, None),
        (at(80.0), "any = true", false, None),
        (at(80.0), "any = true", true, Some(Bumped)),
        // The set-point is raised at 90 min, after the wrap came too early.
        (at(20.0), foil, true, Some(Early)),
        // The window would close after the cook has ended: unwrapped complies.
        (None, "method = 'foil'\nat_core_c = 86\ngrace_min = 25", false, None),
    ] {
        assert_eq!(left(wrap.clone(), text, unchanged), expected, "{wrap:?} under {text}");
    }
}

pub(super) fn claim(strategies: &str) -> Claim {
    let text = format!(
        "[[claim]]\nid = \"w\"\nsays = \"s\"\nkind = \"wrap-timing\"\noutcome = \"clock_to_finish_min\"\n\
         better = \"lower\"\nmatters = 30\nstrategies = [{strategies}]\n"
    );
    Claims::parse(&text, Path::new("claims.toml")).unwrap().claims.remove(0)
}

fn judged(frame: &Table, history: Option<&History>, claim: &Claim) -> ClaimResult {
    let table = MeasureTable::new(frame).unwrap();
    let lock = Lock::update(None, &Claims { claims: vec![claim.clone()] }, table.cooks());
    super::super::judge(&table, claim, &lock, Evidence { history, seed: 1, ..Evidence::default() })
        .unwrap()
}

/// Cooks of which every other is wrapped in paper, at times that go with nothing.
pub(super) fn season(n: usize) -> (Table, History) {
    let name = |i: usize| format!("cook-{i:03}");
    let end = |i: usize| 150.0 + ((i * 37) % 80) as f64;
    let wrap = |i: usize| i.is_multiple_of(2).then(|| 40.0 + ((i * 53) % 70) as f64);
    let indices = || 0..n;
    let measures = table!(
        "cook" => indices().map(name).collect::<Vec<_>>(),
        "trimmed_weight_kg" => indices().map(|i| 4.0 + 0.1 * ((i * 29) % 23) as f64).collect::<Vec<_>>(),
        "meat_on_ms" => indices().map(|i| 3_600_000 * ((i * 7) % 24) as i64).collect::<Vec<_>>(),
        "wrap_method" => indices().map(|i| if i.is_multiple_of(2) { "paper" } else { "none" }).collect::<Vec<_>>(),
        "clock_to_wrap_min" => indices().map(wrap).collect::<Vec<_>>(),
        "clock_to_finish_min" => indices().map(end).collect::<Vec<_>>(),
        "finish_reached" => indices().map(|i| i % 11 != 3).collect::<Vec<_>>(),
        "end_reason" => indices().map(|i| if i % 22 == 3 { "tender" } else { "finish" }).collect::<Vec<_>>(),
    );
    let rows: Vec<(usize, i64)> = indices()
        .flat_map(|i| {
            (0..).map(|k| k * 10).take_while(move |m| (*m as f64) <= end(i)).map(move |m| (i, m))
        })
        .collect();
    let of = |f: &dyn Fn(usize, f64) -> f64| {
        rows.iter().map(|&(i, m)| f(i, m as f64)).collect::<Vec<f64>>()
    };
    let history = table!(
        "cook" => rows.iter().map(|r| name(r.0)).collect::<Vec<_>>(),
        "minute" => rows.iter().map(|r| r.1).collect::<Vec<_>>(),
        "core_c" => of(&|i, m| 55.0 + 33.0 * m / end(i)),
        "k_per_h" => of(&|i, m| 0.1 + 0.001 * ((i * 17 + m as usize) % 31) as f64),
        "pit_c" => of(&|i, m| 105.0 + ((i * 13 + m as usize / 10) % 19) as f64),
        "in_stall" => rows.iter().map(|r| (r.0 + r.1 as usize / 10).is_multiple_of(3)).collect::<Vec<_>>(),
        "setpoint_c" => vec![110.0; rows.len()],
    );
    (measures, History::new(&history).unwrap())
}

#[test]
fn two_strategies_are_weighted_and_shown_beside_the_naive_comparison() {
    let (measures, history) = season(120);
    let result = judged(&measures, Some(&history), &claim("{ any = true }, { never = true }"));
    assert_eq!(result.reason, None);
    let found = result.wrap_timing.as_ref().unwrap();
    let effect = result.effect.as_ref().unwrap();
    assert_eq!(effect.estimate, found.weighted.estimate);
    assert!(effect.lo.unwrap() < effect.estimate && effect.estimate < effect.hi.unwrap());
    let [any, never] = found.arms.as_slice() else { panic!() };
    assert_eq!((any.stayed, any.copies), (120, 120));
    // Nothing is required of a copy that does as the team does.
    assert_eq!((any.weights.largest, any.probability), (1.0, 1.0));
    assert_eq!(never.stayed, 60);
    assert_eq!(never.left, [crate::result::LeftOut { reason: "wrapped at all".into(), cooks: 60 }]);
    assert!(never.weights.largest > 1.0 && never.effective < 60.0);
    for arm in &found.arms {
        let ends = arm.incidence.finish + arm.incidence.tender + arm.incidence.out_of_time;
        assert!(ends <= 1.0 + 1e-9 && arm.incidence.tender > 0.0);
        assert!(arm.tender_censored_min >= arm.restricted_mean_min);
        assert!(arm.restricted_mean_min <= found.horizon_min);
    }
    let naive = found.naive.unwrap().estimate;
    let parts = found.immortal_time_min.unwrap() + found.confounding_min.unwrap();
    assert!((naive - parts - found.weighted.estimate).abs() < 1e-9);
    let names: Vec<&str> = result.models.iter().map(|model| model.name.as_str()).collect();
    for name in ["cox", "kaplan-meier", "clone-censor-weight", "pooled-logistic"] {
        assert!(names.contains(&name), "{names:?}");
    }
    assert!(
        found.setpoint_unchanged.difference.is_none() || found.setpoint_unchanged.reason.is_none()
    );
}

#[test]
fn what_too_few_cooks_did_is_refused_with_what_is_missing() {
    let (measures, history) = season(60);
    let rare = "{ method = 'paper', at_core_c = 70, grace_min = 10 }, { never = true }";
    let rare = rare.replace('\'', "\"");
    let result = judged(&measures, Some(&history), &claim(&rare));
    assert_eq!(result.verdict, Verdict::Refused);
    let reason = result.reason.unwrap();
    assert!(reason.contains("followed it to the end, 20 are needed"), "{reason}");
    assert!(reason.contains("more cooks are missing"), "{reason}");
    // The association is there all the same.
    assert!(result.models.iter().any(|model| model.name == "cox"));
}

#[test]
fn what_cannot_be_asked_is_refused() {
    let (measures, history) = season(30);
    let reason = |history, claim: &Claim| judged(&measures, history, claim).reason.unwrap();
    let both = claim("{ any = true }, { never = true }");
    assert!(reason(None, &both).contains("study a store"));
    let cold = "{ method = \"paper\", at_core_c = 50, grace_min = 10 }, { never = true }";
    assert!(reason(Some(&history), &claim(cold)).contains("outside it"));
    // The longest cook was lost sight of, so that nothing is known of later.
    let mut lost = measures.clone();
    let reached: Vec<bool> = (0..30).map(|i| i % 3 == 0).collect();
    lost.set("finish_reached", reached.into());
    lost.set("end_reason", vec!["log-end"; 30].into());
    let far = Claim { horizon_min: Some(5_000.0), ..both };
    let reason = judged(&lost, Some(&history), &far).reason.unwrap();
    assert!(reason.contains("the data bear"), "{reason}");
}

#[test]
fn cooks_that_cannot_be_placed_are_counted() {
    let (measures, history) = season(4);
    let mut frame = measures.clone();
    frame.set("wrap_method", [Some("paper"), None, Some("foil"), Some("none")].into());
    frame.set("clock_to_wrap_min", [Some(0.0), None, None, None].into());
    frame.set("wrap_time_known", [true, false, false, true].into());
    let table = MeasureTable::new(&frame).unwrap();
    let cooks = cooks::read(&table, &history, &[], Rows::all(&table)).unwrap();
    assert_eq!(cooks.all.len(), 1);
    let reasons: Vec<(&str, usize)> =
        cooks.rows.left_out.iter().map(|left| (left.reason.as_str(), left.cooks)).collect();
    assert_eq!(
        reasons,
        [
            ("unknown whether or when it was wrapped", 2),
            ("wrapped before the study clock starts", 1),
        ]
    );
}
