use super::*;
use crate::reference::{Table, close, expected, numbers};
use crate::{Design, Followup, KaplanMeier};
use proptest::prelude::*;

/// The synthetic cooks of `wrap_null` and `wrap_effect`, as rows of one cook and one interval.
struct Rows {
    subject: Vec<usize>,
    k: Vec<f64>,
    w: Vec<f64>,
    stalled: Vec<f64>,
    before: Vec<bool>,
    now: Vec<bool>,
    lost: Vec<bool>,
    done: Vec<bool>,
    subjects: usize,
}

impl Rows {
    fn read(set: &str) -> Self {
        let table = Table::read(set);
        let column = |name: &str| table.numbers(name);
        let flags = |name: &str| table.flags(name);
        let subject: Vec<usize> = column("id").iter().map(|&id| id as usize - 1).collect();
        let now = flags("wrap_now");
        let before = flags("wrapped").iter().zip(&now).map(|(w, n)| *w && !*n).collect();
        Self {
            subjects: subject.iter().max().unwrap() + 1,
            subject,
            k: column("k"),
            w: column("w"),
            stalled: column("stalled"),
            before,
            now,
            lost: flags("lost"),
            done: flags("done"),
        }
    }

    fn len(&self) -> usize {
        self.subject.len()
    }

    fn decisions(&self) -> Vec<Decision> {
        let open: Vec<usize> = (0..self.len()).filter(|&row| !self.before[row]).collect();
        let of = |values: &[f64]| open.iter().map(|&row| values[row]).collect::<Vec<f64>>();
        let design = Design::new(open.len())
            .intercept()
            .and_then(|d| d.numeric("stalled", &of(&self.stalled)))
            .and_then(|d| d.numeric("w", &of(&self.w)))
            .and_then(|d| d.numeric("k", &of(&self.k)))
            .unwrap();
        let made: Vec<bool> = open.iter().map(|&row| self.now[row]).collect();
        let subject: Vec<usize> = open.iter().map(|&row| self.subject[row]).collect();
        let mut wrap = Decision::new("wrap", &design, &made, &subject).unwrap();
        let design =
            Design::new(self.len()).intercept().and_then(|d| d.numeric("w", &self.w)).unwrap();
        let mut lost = Decision::new("lost", &design, &self.lost, &self.subject).unwrap();
        for row in 0..self.len() {
            wrap.ask(self.subject[row], &[1.0, self.stalled[row], self.w[row], self.k[row]])
                .unwrap();
            lost.ask(self.subject[row], &[1.0, self.w[row]]).unwrap();
        }
        vec![wrap, lost]
    }

    /// Copies that wrap by interval `by`, or never.
    fn arm(&self, by: Option<f64>, weighted: bool) -> Arm {
        let mut out = vec![false; self.subjects];
        let mut periods = Vec::new();
        for row in 0..self.len() {
            let (subject, k) = (self.subject[row], self.k[row]);
            let complies = match by {
                None => !self.before[row] && !self.now[row],
                Some(by) if self.before[row] => k > 0.0 && by >= 0.0,
                Some(by) if self.now[row] => k <= by,
                Some(by) => k < by,
            };
            if out[subject] || !complies || self.lost[row] {
                out[subject] = true;
                continue;
            }
            let exposure = 1.0;
            let mut requirements = vec![Requirement::NotMade { decision: 1, asked: row, exposure }];
            match by {
                None => {
                    requirements.push(Requirement::NotMade { decision: 0, asked: row, exposure });
                }
                Some(by) if !self.before[row] && k == by => requirements.push(Requirement::Made {
                    decision: 0,
                    asked: row,
                    kind: None,
                    exposure,
                }),
                Some(_) => {}
            }
            if !weighted {
                requirements.clear();
            }
            let end = self.done[row].then_some(0);
            periods.push(Period { subject, start: k, stop: k + 1.0, end, requirements });
        }
        Arm::new(if by.is_some() { "wrap_by_g" } else { "never_wrap" }, periods)
    }
}

/// R 4.2.2, survival 3.5.3 on the synthetic cooks of `wrap_null.csv` and `wrap_effect.csv`, whose
/// truth is from four million cooks simulated under each strategy.
#[test]
fn agrees_with_the_reference_and_covers_the_truth_where_the_naive_comparison_does_not() {
    for set in ["wrap_null", "wrap_effect"] {
        let rows = Rows::read(set);
        let (r, relative) = expected(set);
        let by = r["parameters"]["g"].as_f64().unwrap();
        let horizon = r["parameters"]["K"].as_f64().unwrap();
        let arms = vec![
            rows.arm(Some(by), true),
            rows.arm(None, true),
            rows.arm(Some(by), false),
            rows.arm(None, false),
        ];
        let clusters: Vec<usize> = (0..rows.subjects).collect();
        let engine =
            CloneCensorWeight::new(&clusters, rows.decisions(), arms, Weighting::PLAIN).unwrap();
        let sample = &r["sample"]["clone_censor_weight"];
        for (decision, model) in ["wrap_model", "lost_model"].iter().enumerate() {
            for (found, wanted) in
                engine.coefficients(decision).unwrap().iter().zip(numbers(&sample[model]["coef"]))
            {
                close(model, *found, wanted, relative);
            }
        }
        let weighted = engine.weighted();
        for (place, name) in ["wrap_by_g", "never_wrap"].iter().enumerate() {
            let e = &sample["arms"][name];
            let arm = &weighted[place];
            let summary = arm.summary();
            assert_eq!(summary.periods, e["rows"].as_u64().unwrap() as usize);
            assert_eq!(arm.ends(0), e["events"].as_u64().unwrap() as usize);
            assert_eq!((summary.cut, summary.periods_cut), (None, 0));
            close("sum of weights", summary.sum, e["weight_sum"].as_f64().unwrap(), relative);
            close("largest", summary.largest, e["weight_max"].as_f64().unwrap(), relative);
            close("mean weight", summary.mean, e["weight_mean"].as_f64().unwrap(), relative);
            for (kind, arm) in [("weighted", arm), ("unweighted", &weighted[place + 2])] {
                let curve = arm.survival(&[0, 1]);
                let wanted = numbers(&e[kind]["survival"]);
                assert_eq!(curve.len(), wanted.len());
                for ((time, found), (k, wanted)) in curve.iter().zip(wanted.iter().enumerate()) {
                    assert_eq!(*time, k as f64 + 1.0);
                    close(kind, *found, *wanted, relative);
                }
                let mean = arm.restricted_mean(horizon, &[0, 1]);
                close("mean time", mean, e[kind]["mean_time"].as_f64().unwrap(), relative);
            }
        }
        let difference = |arms: &[WeightedArm<'_>]| {
            let mean = |place: usize| arms[place].restricted_mean(horizon, &[0, 1]);
            vec![mean(0) - mean(1), mean(2) - mean(3)]
        };
        let found = engine.bootstrap(200, 1, &difference).unwrap();
        close(
            "difference",
            found.estimates[0],
            sample["mean_time_difference_weighted"].as_f64().unwrap(),
            relative,
        );
        close(
            "unweighted",
            found.estimates[1],
            sample["mean_time_difference_unweighted"].as_f64().unwrap(),
            relative,
        );
        assert_eq!((found.failed, found.replicates.len()), (0, 200));
        // Another generator: 20 %, as the set's makers say.
        let reference = r["sample"]["bootstrap_by_cook"]["se_mean_time_difference"].as_f64();
        close("standard error", found.std_errors[0], reference.unwrap(), 0.2);
        let truth = r["truth"]["mean_time_difference_wrap_minus_never"].as_f64().unwrap();
        assert!((found.estimates[0] - truth).abs() <= 1.96 * found.std_errors[0]);
        let naive = r["sample"]["naive"]["rmst_difference"].as_f64().unwrap();
        assert!((naive - truth).abs() > 20.0 * found.std_errors[0]);
    }
}

fn one_arm(periods: Vec<Period>, subjects: usize) -> CloneCensorWeight {
    let clusters: Vec<usize> = (0..subjects).collect();
    CloneCensorWeight::new(&clusters, vec![], vec![Arm::new("a", periods)], Weighting::PLAIN)
        .unwrap()
}

fn period(subject: usize, start: f64, stop: f64, end: Option<usize>) -> Period {
    Period { subject, start, stop, end, requirements: Vec::new() }
}

/// A decision that is made in a quarter of its rows, of four subjects.
fn quarter() -> Decision {
    let design = Design::new(4).intercept().unwrap();
    let mut decision =
        Decision::new("d", &design, &[true, false, false, false], &[0, 1, 2, 3]).unwrap();
    decision.ask(0, &[1.0]).unwrap();
    decision
}

#[test]
fn requirements_have_the_probabilities_they_say() {
    let kind = Kind { decision: 0, asked: 0 };
    let (decision, asked) = (0, 0);
    let weight = |requirement: Requirement| {
        let periods =
            vec![Period { requirements: vec![requirement], ..period(0, 0.0, 1.0, Some(0)) }];
        let engine = CloneCensorWeight::new(
            &[0, 1, 2, 3],
            vec![quarter()],
            vec![Arm::new("a", periods)],
            Weighting::PLAIN,
        )
        .unwrap();
        engine.weighted()[0].summary().largest
    };
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-12, "{found}");
    near(weight(Requirement::NotMade { decision, asked, exposure: 2.0 }), 1.0 / 0.5625);
    near(
        weight(Requirement::NotMadeOtherwise { decision, asked, kind, exposure: 1.0 }),
        1.0 / (1.0 - 0.1875),
    );
    near(weight(Requirement::Made { decision, asked, kind: None, exposure: 2.0 }), 1.0 / 0.4375);
    near(
        weight(Requirement::Made { decision, asked, kind: Some(kind), exposure: 2.0 }),
        1.0 / (0.4375 * 0.25),
    );
}

#[test]
fn weights_are_cut_at_a_quantile_of_the_periods() {
    let hard = Requirement::Made { decision: 0, asked: 0, kind: None, exposure: 1.0 };
    let mut periods: Vec<Period> =
        (0..99).map(|k| period(0, f64::from(k), f64::from(k) + 1.0, None)).collect();
    periods.push(Period { requirements: vec![hard], ..period(1, 0.0, 1.0, Some(0)) });
    let arms = vec![Arm::new("a", periods)];
    let engine = |truncate_at| {
        let weighting = Weighting { truncate_at, ..Weighting::PLAIN };
        CloneCensorWeight::new(&[0, 1, 2, 3], vec![quarter()], arms.clone(), weighting).unwrap()
    };
    let whole = engine(None).weighted()[0].summary();
    assert!((whole.largest - 4.0).abs() < 1e-12);
    let cut = engine(Some(0.99));
    let cut = cut.weighted()[0].summary();
    assert_eq!((cut.cut, cut.periods_cut, cut.percentile_99), (Some(1.0), 1, 1.0));
    assert!((cut.sum - 100.0).abs() < 1e-12);
}

/// Worked by hand: without its own row the model of a subject who did not decide has one in three.
#[test]
fn a_model_that_has_not_seen_a_subject_weighs_it() {
    let mut decision = quarter();
    let asked = decision.ask(1, &[1.0]).unwrap();
    let asks = Requirement::NotMade { decision: 0, asked, exposure: 1.0 };
    let periods = vec![Period { requirements: vec![asks], ..period(1, 0.0, 1.0, Some(0)) }];
    let weight = |folds| {
        let arms = vec![Arm::new("a", periods.clone())];
        let weighting = Weighting { folds, ..Weighting::PLAIN };
        let engine =
            CloneCensorWeight::new(&[0, 1, 2, 3], vec![decision.clone()], arms, weighting).unwrap();
        engine.weighted()[0].summary().largest
    };
    assert!((weight(1) - 4.0 / 3.0).abs() < 1e-12);
    // More folds than clusters are as many as there are clusters.
    assert!((weight(4) - 1.5).abs() < 1e-12);
    assert!((weight(9) - 1.5).abs() < 1e-12);
    // With two, the first and the third are left to learn from.
    assert!((weight(2) - 2.0).abs() < 1e-12);
}

/// Worked by hand: of four subjects one ends of kind 0 at 1, one of kind 1 at 2, one is lost at 2,
/// one ends of kind 0 at 3.
#[test]
fn ends_compete_or_are_censored() {
    let periods = vec![
        period(0, 0.0, 1.0, Some(0)),
        period(1, 0.0, 2.0, Some(1)),
        period(2, 0.0, 2.0, None),
        period(3, 0.0, 3.0, Some(0)),
    ];
    let engine = one_arm(periods, 4);
    let arm = &engine.weighted()[0];
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-12, "{found}");
    near(arm.incidence(0, 2.5, &[0, 1]), 0.25);
    near(arm.incidence(1, 2.5, &[0, 1]), 0.25);
    near(arm.incidence(0, 3.0, &[0, 1]), 0.75);
    // As finishes: 1 + 3/4 + 1/2; as censored: 1 + 3/4 + 3/4.
    near(arm.restricted_mean(3.0, &[0, 1]), 2.25);
    near(arm.restricted_mean(3.0, &[0]), 2.5);
    assert_eq!(arm.at_risk(2.0), (3, 3.0));
    assert_eq!((arm.last_with_effective(3.0), arm.last_with_effective(5.0)), (2.0, 0.0));
    assert_eq!(arm.stayed(&[true, false, true, false]), (2, 2.0));
}

#[test]
fn what_cannot_be_weighted_is_named() {
    let arms = |periods| vec![Arm::new("a", periods)];
    let cut = |truncate_at| Weighting { truncate_at, ..Weighting::PLAIN };
    let new = |clusters: &[usize], decisions, periods, at| {
        CloneCensorWeight::new(clusters, decisions, arms(periods), cut(at)).map(|_| ()).unwrap_err()
    };
    let ok = || vec![period(0, 0.0, 1.0, None)];
    assert!(matches!(new(&[], vec![], ok(), None), StatsError::Empty { .. }));
    assert!(matches!(new(&[1, 1], vec![], ok(), None), StatsError::TooFewClusters { found: 1 }));
    for (periods, at) in [
        (ok(), Some(1.0)),
        (vec![period(2, 0.0, 1.0, None)], None),
        (vec![period(0, 1.0, 1.0, None)], None),
        (vec![period(0, 0.0, 2.0, None), period(0, 1.0, 3.0, None)], None),
        (
            vec![period(0, 0.0, 1.0, None), period(1, 0.0, 1.0, None), period(0, 1.0, 2.0, None)],
            None,
        ),
    ] {
        assert!(CloneCensorWeight::new(&[0, 1], vec![], arms(periods), cut(at)).is_err());
    }
    let none = Weighting { folds: 0, ..Weighting::PLAIN };
    assert!(CloneCensorWeight::new(&[0, 1], vec![], arms(ok()), none).is_err());
    let asks = Requirement::NotMade { decision: 0, asked: 1, exposure: 1.0 };
    let periods = vec![Period { requirements: vec![asks], ..period(0, 0.0, 1.0, None) }];
    let error = new(&[0, 1, 2, 3], vec![quarter()], periods, None).to_string();
    assert!(error.contains("asked row is 1"), "{error}");
    assert!(quarter().ask(0, &[1.0, 2.0]).is_err());
    let engine = one_arm(ok(), 2);
    assert!(engine.bootstrap(1, 1, &|_| vec![0.0]).is_err());
    assert!(engine.bootstrap(10, 1, &|_| vec![f64::NAN]).is_err());
}

proptest! {
    /// Without requirements every weight is one, and the curve is Kaplan–Meier's.
    #[test]
    fn unweighted_is_kaplan_meier(
        times in prop::collection::vec((1_u32..30, any::<bool>()), 2..40), horizon in 1.0..40.0,
    ) {
        let periods = times.iter().enumerate().map(|(subject, &(stop, ended))| {
            period(subject, 0.0, f64::from(stop), ended.then_some(0))
        });
        let engine = one_arm(periods.collect(), times.len());
        let arm = &engine.weighted()[0];
        let stops: Vec<f64> = times.iter().map(|t| f64::from(t.0)).collect();
        let ended: Vec<bool> = times.iter().map(|t| t.1).collect();
        let whole = KaplanMeier::fit(&Followup::right_censored(&stops, &ended).unwrap());
        for (time, survival) in arm.survival(&[0, 1]) {
            let step = whole.steps.iter().find(|step| step.time == time).unwrap();
            prop_assert!((step.survival - survival).abs() < 1e-12);
        }
        let incidence = arm.incidence(0, horizon, &[]);
        let at = arm.survival(&[0, 1]).iter().rfind(|s| s.0 <= horizon).map_or(1.0, |s| s.1);
        prop_assert!((incidence + at - 1.0).abs() < 1e-12);
        prop_assert!(arm.restricted_mean(horizon, &[0, 1]) <= horizon + 1e-12);
    }

    /// Cutting a subject's time into periods changes nothing.
    #[test]
    fn pieces_are_the_whole(stops in prop::collection::vec(2_u32..30, 2..20), cut in 1.0..2.0) {
        let whole = stops.iter().enumerate().map(|(s, &t)| period(s, 0.0, f64::from(t), Some(0)));
        let pieces = stops.iter().enumerate().flat_map(|(s, &t)| {
            [period(s, 0.0, cut, None), period(s, cut, f64::from(t), Some(0))]
        });
        let whole = one_arm(whole.collect(), stops.len());
        let pieces = one_arm(pieces.collect(), stops.len());
        let mean = |e: &CloneCensorWeight| e.weighted()[0].restricted_mean(25.0, &[0, 1]);
        prop_assert!((mean(&whole) - mean(&pieces)).abs() < 1e-9);
    }

    /// The same seed draws the same resamples; a decision that is never made costs no weight.
    #[test]
    fn resamples_are_seeded(seed in 0_u64..1000) {
        let design = Design::new(6).intercept().unwrap();
        let mut never =
            Decision::new("never", &design, &[false; 6], &[0, 1, 2, 3, 4, 5]).unwrap();
        never.ask(0, &design.encode(&[]).unwrap()).unwrap();
        let asks = Requirement::NotMade { decision: 0, asked: 0, exposure: 1.0 };
        let periods = (0..6).map(|s| Period {
            requirements: vec![asks],
            ..period(s, 0.0, 1.0 + s as f64, Some(0))
        });
        let engine = CloneCensorWeight::new(
            &[0, 0, 1, 1, 2, 2], vec![never], vec![Arm::new("a", periods.collect())],
            Weighting { truncate_at: Some(0.99), folds: 3 },
        ).unwrap();
        let mean = |arms: &[WeightedArm<'_>]| vec![arms[0].restricted_mean(9.0, &[0, 1])];
        let first = engine.bootstrap(20, seed, &mean).unwrap();
        prop_assert_eq!(&first, &engine.bootstrap(20, seed, &mean).unwrap());
        prop_assert!((first.estimates[0] - 3.5).abs() < 1e-12);
        prop_assert_eq!(first.clusters, 3);
    }
}
