use super::*;
use crate::claims::Claims;
use crate::result::{LeftOut, Term};
use crate::verdict::Standing;
use columns::{Column, Table, table};
use cook::season::Better;
use proptest::prelude::*;
use std::path::Path;

const NO_HISTORY: Evidence<'_> = Evidence {
    history: None,
    degrees: None,
    definitions: &[],
    seed: 1,
    horizon_min: 720.0,
    definition: None,
};

fn claim(text: &str) -> Claim {
    let text = format!(
        "[[claim]]\nid = \"c\"\nsays = \"s\"\noutcome = \"y\"\nbetter = \"lower\"\nmatters = 5\n{text}"
    );
    Claims::parse(&text, Path::new("claims.toml")).unwrap().claims.remove(0)
}

fn compare() -> Claim {
    claim("kind = \"compare\"\nby = \"wood\"\nlevels = [\"oak\", \"hickory\"]\n")
}

fn trend() -> Claim {
    claim("kind = \"trend\"\nby = \"x\"\nper = 5\n")
}

fn table(frame: &Table) -> MeasureTable {
    MeasureTable::new(frame).unwrap()
}

/// Judges the claim alone, as first seen now.
fn judged(frame: &Table, claim: &Claim) -> ClaimResult {
    let table = table(frame);
    let lock = Lock::update(None, &Claims { claims: vec![claim.clone()] }, table.cooks());
    judge(&table, claim, &lock, NO_HISTORY).unwrap()
}

/// The verdict alone: what else there is takes its time.
fn briefly(frame: &Table, claim: &Claim) -> ClaimResult {
    let table = table(frame);
    let lock = Lock::update(None, &Claims { claims: vec![claim.clone()] }, table.cooks());
    judge_briefly(&table, claim, &lock, NO_HISTORY).unwrap()
}

fn reason(frame: &Table, claim: &Claim) -> String {
    let result = judged(frame, claim);
    assert_eq!(result.verdict, Verdict::Refused);
    assert_eq!((result.effect, result.cooks_still_needed), (None, None));
    assert_eq!(result.direction, Direction::Unclear);
    result.reason.unwrap()
}

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected}");
}

fn names(n: usize) -> Vec<String> {
    (0..n).map(|i| format!("cook-{i:02}")).collect()
}

fn woods() -> [&'static str; 8] {
    ["oak", "oak", "oak", "oak", "hickory", "hickory", "hickory", "hickory"]
}

/// Means 13 and 23, sums of squared residuals 20 and 20.
fn eight() -> Table {
    table!(
        "cook" => names(8),
        "wood" => woods(),
        "y" => [10.0, 12.0, 14.0, 16.0, 20.0, 22.0, 24.0, 26.0],
    )
}

fn with<T: columns::Cell + Clone>(frame: &Table, name: &str, values: &[T]) -> Table {
    let mut frame = frame.clone();
    frame.set(name, values.into());
    frame
}

#[test]
fn a_comparison_worked_by_hand() {
    // HC3 of a difference of two means with leverages 1/4: Σe²/(1 − 1/4)²/4² a group, that is
    // 20 · (16/9) / 16 = 20/9 each, so the standard error is √(40/9) = 2.108 19.
    // t(0.95; 6) = 1.943 18 (NIST/SEMATECH e-Handbook, table 1.3.6.7.2: 1.943; here and below
    // the further digits are by Simpson's rule on the density and bisection).
    let result = judged(&eight(), &compare());
    let effect = result.effect.unwrap();
    close(effect.estimate, -10.0, 1e-12);
    close(effect.d, 10.0, 1e-12);
    close(effect.level, 0.90, 1e-12);
    let half = (40.0_f64 / 9.0).sqrt() * 1.943_180_280_515_3;
    close(effect.lo.unwrap(), -10.0 - half, 1e-9);
    close(effect.hi.unwrap(), -10.0 + half, 1e-9);
    assert_eq!((result.n, result.fires, result.family_size), (8, 8, 1));
    assert_eq!((result.verdict, result.direction), (Verdict::Yes, Direction::For));
    assert_eq!(result.cooks_still_needed, Some(0));
    assert_eq!(result.standing, Standing::AfterTheFact);
    assert_eq!(result.left_out, []);
    let model = &result.models[0];
    assert_eq!((model.name.as_str(), model.n, model.events), ("least-squares", 8, 8));
    close(model.residual_variance.unwrap(), 40.0 / 6.0, 1e-12);
    let terms: Vec<&str> = model.terms.iter().map(|term| term.term.as_str()).collect();
    assert_eq!(terms, ["(intercept)", "wood[oak]"]);
    // 95 %: t(0.975; 6) = 2.446 91 (the same table: 2.447).
    let Term { lo, hi, df, .. } = &model.terms[1];
    close(hi.unwrap() - lo.unwrap(), 2.0 * (40.0_f64 / 9.0).sqrt() * 2.446_911_851_144_97, 1e-9);
    assert_eq!(*df, Some(6.0));
}

#[test]
fn yes_and_no_are_the_words_of_true_and_false() {
    let oak: Vec<bool> = woods().iter().map(|wood| *wood == "oak").collect();
    let mut frame = eight();
    frame.set("wood", oak.into());
    let by_word = |levels: &str| {
        judged(&frame, &claim(&format!("kind = \"compare\"\nby = \"wood\"\nlevels = {levels}\n")))
    };
    let (yes, truth) = (by_word("[\"yes\", \"no\"]"), by_word("[\"true\", \"false\"]"));
    assert_eq!(yes.effect, judged(&eight(), &compare()).effect);
    assert_eq!(yes.effect, truth.effect);
}

#[test]
fn the_verdict_follows_what_matters_and_which_way_is_better() {
    // d = 10 with half width 4.097: [5.903, 14.097].
    for (better, matters, verdict, direction) in [
        (Better::Lower, 5.9, Verdict::Yes, Direction::For),
        (Better::Lower, 6.0, Verdict::Open, Direction::For),
        (Better::Lower, 14.0, Verdict::Open, Direction::For),
        (Better::Lower, 14.2, Verdict::TooSmallToMatter, Direction::For),
        (Better::Higher, 5.9, Verdict::Reverse, Direction::Against),
        (Better::Higher, 6.0, Verdict::No, Direction::Against),
        (Better::Higher, 14.2, Verdict::TooSmallToMatter, Direction::Against),
    ] {
        let result = judged(&eight(), &Claim { better, matters, ..compare() });
        assert_eq!(
            (result.verdict, result.direction),
            (verdict, direction),
            "{better:?} {matters}"
        );
        let open = verdict == Verdict::Open;
        assert_eq!(result.cooks_still_needed.unwrap() > 0, open, "{matters}");
        close(result.effect.unwrap().estimate, -10.0, 1e-12);
    }
}

#[test]
fn a_family_of_four_shares_the_ten_percent() {
    let claims = Claims {
        claims: ["a", "b", "d", "c"]
            .map(|id| Claim { id: id.into(), ..compare() })
            .into_iter()
            .collect(),
    };
    let table = table(&eight());
    let lock = Lock::update(None, &claims, table.cooks());
    let result = judge(&table, &claims.claims[3], &lock, NO_HISTORY).unwrap();
    let effect = result.effect.unwrap();
    assert_eq!(result.family_size, 4);
    close(effect.level, 0.975, 1e-12);
    // t(0.9875; 6) = 2.968 69 by Simpson's rule on the density and bisection.
    let half = (40.0_f64 / 9.0).sqrt() * 2.968_69;
    close(effect.hi.unwrap() - effect.estimate, half, 1e-4);
}

#[test]
fn cooks_of_one_fire_are_clustered() {
    // Every cook of `eight` twice in one fire: fire sums of residuals are 2e, so the middle is
    // 4 · 20 a group over 8², 1.25 each; a fire is a quarter of its group, so CR2 makes 4/3 of it;
    // two groups of four fires have 6 degrees of freedom; t(0.95; 6) = 1.943 18 (NIST table: 1.943).
    let frame = table!(
        "cook" => names(16),
        "fire" => (0..16).map(|i| i / 2).collect::<Vec<i32>>(),
        "wood" => (0..16).map(|i| if i < 8 { "oak" } else { "hickory" }).collect::<Vec<_>>(),
        "y" => (0..16).map(|i| f64::from(i / 2 * 2 + if i < 8 { 10 } else { 12 })).collect::<Vec<_>>(),
    );
    let result = judged(&frame, &compare());
    assert_eq!((result.n, result.fires), (16, 8));
    let effect = result.effect.unwrap();
    close(effect.estimate, -10.0, 1e-12);
    let half = (2.5_f64 * 4.0 / 3.0).sqrt() * 1.943_180_280_515_3;
    close(effect.hi.unwrap() - effect.estimate, half, 1e-9);
    close(result.models[0].terms[1].df.unwrap(), 6.0, 1e-9);
    assert!(result.models[0].method.contains("clustered by fire (8 fires; CR2"));
}

/// Three fires of twelve have the arm: as if fewer than five told it, so the bootstrap must agree.
#[test]
fn few_fires_need_two_methods_and_fewer_still_are_refused() {
    let frame = |with: i32| {
        table!(
            "cook" => names(24),
            "fire" => (0..24).map(|i| i / 2).collect::<Vec<i32>>(),
            "wood" => (0..24).map(|i| if i / 2 < with { "oak" } else { "hickory" })
                .collect::<Vec<_>>(),
            "y" => (0..24).map(|i| f64::from((i * 7) % 11 + (i / 2 * 5) % 7)).collect::<Vec<_>>(),
        )
    };
    let few = judged(&frame(3), &compare());
    let effect = few.effect.unwrap();
    let term = &few.models[0].terms[1];
    assert!(term.df.unwrap() < 5.0, "{term:?}");
    let t_alone = stats::Estimate {
        estimate: term.estimate.unwrap(),
        std_error: term.std_error.unwrap(),
        df: term.df.unwrap(),
    };
    let alone = t_alone.interval(effect.level).unwrap();
    assert!(effect.lo.unwrap() <= alone.lo && alone.hi <= effect.hi.unwrap());

    // One fire has nearly all that is seen of a trend.
    let lone = table!(
        "cook" => names(24),
        "fire" => (0..24).map(|i| i / 2).collect::<Vec<i32>>(),
        "x" => (0..24).map(|i| if i < 2 { 1000.0 } else { f64::from(i / 2 % 3) }).collect::<Vec<_>>(),
        "y" => (0..24).map(|i| f64::from((i * 7) % 11)).collect::<Vec<_>>(),
    );
    let found = reason(&lone, &trend());
    assert!(found.starts_with("too few fires bear on it"), "{found}");
}

/// Sixteen cooks of each wood; the first of hickory is cut at 100 min.
fn finishes(gain: i32, cut: bool) -> Table {
    table!(
        "cook" => names(32),
        "wood" => (0..32).map(|i| if i < 16 { "oak" } else { "hickory" }).collect::<Vec<_>>(),
        "clock_to_finish_min" => (0..32)
            .map(|i| match i {
                16 if cut => 100.0,
                _ => f64::from(300 + (i * 7) % 16 + if i < 16 { -gain } else { 0 }),
            })
            .collect::<Vec<_>>(),
        "finish_reached" => (0..32).map(|i| !(cut && i == 16)).collect::<Vec<_>>(),
    )
}

#[test]
fn nothing_is_ruled_out_beyond_what_was_watched() {
    let claim = Claim {
        outcome: "clock_to_finish_min".into(),
        better: Better::Lower,
        matters: 30.0,
        ..compare()
    };
    let whole = judged(&finishes(0, false), &claim);
    assert_eq!(whole.verdict, Verdict::TooSmallToMatter);
    assert_eq!((whole.horizon_min, whole.cut_share), (None, Some(0.0)));

    let cut = judged(&finishes(0, true), &claim);
    assert_eq!((cut.verdict, cut.cooks_still_needed), (Verdict::Open, None));
    assert_eq!((cut.horizon_min, cut.cut_share), (Some(720.0), Some(1.0 / 32.0)));
    assert!(cut.notes.iter().any(|note| note.contains("1 of 32 cooks (3 %) were cut")));
    // The interval is the same narrow one.
    assert!(cut.effect.unwrap().hi.unwrap() < 10.0);

    // The claim that names its horizon asks of the time up to there alone.
    let named = judged(&finishes(0, true), &Claim { horizon_min: Some(400.0), ..claim.clone() });
    assert_eq!((named.verdict, named.horizon_min), (Verdict::TooSmallToMatter, Some(400.0)));
    // Also where no cook was cut: all are seen to 250 min, so there is no difference at all.
    let short = reason(&finishes(0, false), &Claim { horizon_min: Some(250.0), ..claim.clone() });
    assert!(short.contains("the same in all"), "{short}");
    // What is there is not taken back.
    assert_eq!(judged(&finishes(100, true), &claim).verdict, Verdict::Yes);
}

#[test]
fn what_no_fate_of_the_cut_cooks_could_overturn_is_said() {
    // A difference of 30 h matters: twice the horizon cannot make it.
    let claim = Claim {
        outcome: "clock_to_finish_min".into(),
        better: Better::Lower,
        matters: 1_800.0,
        ..compare()
    };
    assert_eq!(judged(&finishes(0, true), &claim).verdict, Verdict::TooSmallToMatter);
}

#[test]
fn a_trend_is_told_per_step() {
    // Slope by hand: Σ(x − 4.5)(y − 4.5) = 38, Σ(x − 4.5)² = 42; five times that per step.
    let frame = table!(
        "cook" => names(8),
        "x" => [1i64, 2, 3, 4, 5, 6, 7, 8],
        "y" => [2.0, 1.0, 4.0, 3.0, 6.0, 5.0, 8.0, 7.0],
    );
    let result = judged(&frame, &trend());
    let effect = result.effect.unwrap();
    close(effect.estimate, 5.0 * 38.0 / 42.0, 1e-12);
    close(effect.d, -5.0 * 38.0 / 42.0, 1e-12);
    close(result.models[0].terms[1].estimate.unwrap(), 38.0 / 42.0, 1e-12);
    assert_eq!(effect.unit, "");
    let constant = with(&frame, "x", &[3i64; 8]);
    assert_eq!(reason(&constant, &trend()), "`x` is the same in all usable cooks");
}

#[test]
fn adjusters_and_who_is_left_out() {
    let frame = table!(
        "cook" => names(14),
        "wood" => ["oak", "oak", "oak", "oak", "oak", "oak", "hickory", "hickory", "hickory",
            "hickory", "hickory", "hickory", "cherry", ""],
        "y" => [Some(31.0), Some(42.0), Some(36.0), Some(45.0), Some(99.0), Some(30.0), Some(26.0), Some(37.5),
            Some(34.0), Some(35.0), None, Some(40.0), Some(1.0), Some(2.0)],
        "kg" => [Some(5.0), Some(6.0), Some(5.5), Some(7.0), None, Some(5.0), Some(5.0), Some(6.5), Some(6.0),
            Some(5.5), Some(6.0), Some(7.0), Some(5.0), Some(5.0)],
        "place" => ["yard"; 14],
        "exclude" => [None, None, None, None, None, Some("rain"), None, None, None, None, None, None,
            None, None],
    );
    let asked = Claim {
        adjust: vec!["kg".into(), "place".into()],
        group: vec!["fire".into()],
        ..compare()
    };
    let result = judged(&frame, &asked);
    let left_out: Vec<(&str, usize)> =
        result.left_out.iter().map(|LeftOut { reason, cooks }| (reason.as_str(), *cooks)).collect();
    assert_eq!(
        left_out,
        [
            ("excluded on the card", 1),
            ("no `y`", 1),
            ("no `wood`", 1),
            ("another level of `wood`", 1),
            ("no `kg`", 1),
        ]
    );
    assert_eq!(result.n + result.left_out.iter().map(|l| l.cooks).sum::<usize>(), 14);
    assert!(result.notes[0].contains("`place` is the same in all usable cooks"));
    assert!(result.notes[1].contains("`fire` has no random intercept: each of its levels has one"));
    assert!(result.notes[2].contains("`mixed` is left out"));
    // Four oak at (5, 31), (6, 42), (5.5, 36), (7, 45) and five hickory at (5, 26),
    // (6.5, 37.5), (6, 34), (5.5, 35), (7, 40). By hand within woods (Frisch & Waugh): means
    // (5.875, 38.5) and (6, 34.5); Σxx = 2.1875 + 2.5, Σxy = 15.25 + 15.25, so the slope is
    // 30.5/4.6875 and the oak effect 4 − 30.5/4.6875 · (5.875 − 6).
    let slope = 30.5 / 4.6875;
    close(result.models[0].terms[2].estimate.unwrap(), slope, 1e-12);
    close(result.effect.unwrap().estimate, 4.0 + slope * 0.125, 1e-12);
}

#[test]
fn text_adjusters_are_contrasts_with_the_first_in_sorted_order_as_base() {
    let frame = with(&eight(), "pit", &["b", "a", "b", "c", "a", "b", "a", "c"]);
    let frame = with(&frame, "y", &[10.0, 12.0, 15.0, 16.0, 20.0, 22.0, 24.0, 29.0]);
    let asked = Claim { adjust: vec!["pit".into()], ..compare() };
    let model = &judged(&frame, &asked).models[0];
    let terms: Vec<&str> = model.terms.iter().map(|term| term.term.as_str()).collect();
    assert_eq!(terms, ["(intercept)", "wood[oak]", "pit[b]", "pit[c]"]);
}

#[test]
fn on_the_log_scale_the_effect_is_a_difference_of_medians() {
    // Oak 2, 2, 8, 8 and hickory 1, 1, 4, 4: medians 4 and 2, log residuals ±ln 2. HC3
    // variance of each log mean: 4 ln²2 · (16/9) / 16 = (4/9) ln²2. Delta method:
    // (4² + 2²) · (4/9) ln²2.
    let frame = with(&eight(), "y", &[2.0, 2.0, 8.0, 8.0, 1.0, 1.0, 4.0, 4.0]);
    let asked = Claim { scale: Scale::Log, ..compare() };
    let result = judged(&frame, &asked);
    let effect = result.effect.unwrap();
    close(effect.estimate, 2.0, 1e-12);
    let std_error = (20.0_f64 * 4.0 / 9.0).sqrt() * 2.0_f64.ln();
    close(effect.hi.unwrap() - 2.0, std_error * 1.943_180_280_515_3, 1e-9);
    close(result.models[0].terms[1].estimate.unwrap(), 2.0_f64.ln(), 1e-12);

    let zero = with(&frame, "y", &[2.0, 0.0, 8.0, 8.0, 1.0, -1.0, 4.0, 4.0]);
    let reason = reason(&zero, &asked);
    assert!(reason.contains("2 of 8 `y` are not (cook `cook-01` has 0)"), "{reason}");
}

#[test]
fn a_log_trend_steps_half_up_and_half_down() {
    // ln y = 0.1 x ± 0.05 with the residuals orthogonal to 1 and x, so that by hand β = (0, 0.1)
    // and the effect is the mean of e^{0.1 x} times 2 sinh(0.1 · 5 / 2).
    let x = [0.0_f64, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
    let residual = [1.0, -1.0, -1.0, 1.0, 1.0, -1.0, -1.0, 1.0].map(|sign: f64| sign * 0.05);
    let y: Vec<f64> = x.iter().zip(residual).map(|(x, e)| (0.1 * x + e).exp()).collect();
    let frame = table!("cook" => names(8), "x" => x, "y" => y);
    let effect = judged(&frame, &Claim { scale: Scale::Log, ..trend() }).effect.unwrap();
    let mean = x.iter().map(|x| (0.1 * x).exp()).sum::<f64>() / 8.0;
    close(effect.estimate, mean * 2.0 * 0.25_f64.sinh(), 1e-12);
}

#[test]
fn a_lower_bound_makes_the_model_censored() {
    let claim = Claim { outcome: "stall_min".into(), ..compare() };
    let woods: Vec<&str> = (0..12).map(|i| if i % 2 == 0 { "oak" } else { "hickory" }).collect();
    let y = [10.0, 20.0, 12.0, 22.0, 14.0, 26.0, 16.0, 28.0, 15.0, 24.0, 11.0, 23.0];
    let twelve = table!("cook" => names(12), "wood" => woods);
    let mut frame = with(&twelve, "stall_min", &y);
    let notes = judged(&frame, &claim).notes;
    assert!(notes[0].contains("no column `stall_min_censored`"), "{notes:?}");

    frame = with(&frame, "stall_min_censored", &[false; 12]);
    let plain = judged(&frame, &claim);
    assert_eq!(plain.models[0].name, "least-squares");
    assert_eq!(plain.effect.as_ref().unwrap().unit, "min");
    assert!(plain.notes.is_empty());

    // The shortest oak cook may have stalled longer: oak's mean rises, the difference shrinks.
    let mut flags = [false; 12];
    flags[0] = true;
    frame = with(&frame, "stall_min_censored", &flags);
    let censored = judged(&frame, &Claim { group: vec!["fire".into()], ..claim.clone() });
    let model = &censored.models[0];
    assert_eq!((model.name.as_str(), model.n, model.events), ("scale-gaussian", 12, 11));
    assert!(censored.effect.unwrap().estimate > plain.effect.unwrap().estimate);
    // The model with one scatter stands beside it.
    assert_eq!(censored.models[1].name, "censored-gaussian");
    assert_eq!(censored.other_ways[0].way, "with one scatter for all cooks");
    assert!(
        censored.notes.iter().any(|note| note.contains("`mixed` is left out: 1 of 12 outcomes")),
        "{:?}",
        censored.notes
    );

    frame = with(&frame, "stall_min_censored", &[true; 12]);
    assert!(reason(&frame, &claim).contains("12 of 12 are lower bounds"));
    frame = with(&frame, "stall_min_censored", &[Some(false), None].repeat(6));
    let left_out = judged(&frame, &claim).left_out;
    assert_eq!(left_out[0].reason, "no `stall_min_censored`");
    assert_eq!(left_out[0].cooks, 6);
}

#[test]
fn an_unreached_finish_counts_by_restricted_means() {
    let claim = Claim { outcome: "clock_to_finish_min".into(), ..compare() };
    let y = [100.0, 112.0, 114.0, 116.0, 120.0, 122.0, 124.0, 126.0];
    let frame = with(&eight(), "clock_to_finish_min", &y);
    let reached = with(&frame, "finish_reached", &[true; 8]);
    assert_eq!(judged(&reached, &claim).models.len(), 1);
    let unreached =
        with(&frame, "finish_reached", &[true, true, true, true, true, true, true, false]);
    let result = judged(&unreached, &claim);
    assert!(result.reason.unwrap().contains("fewer than 5 can be compared"));
    // Twice as many, one of them a lower bound. In its level the fifth of the longest times is 122:
    // counted up to there the means are 110.5 and 121.5, by hand.
    let twice = twice(&frame);
    let mut known = vec![true; 16];
    known[15] = false;
    let twice = with(&twice, "finish_reached", &known);
    let result = judged(&twice, &claim);
    let model = &result.models[0];
    assert_eq!((model.name.as_str(), model.n, model.events), ("restricted-mean", 16, 15));
    assert!(result.notes.iter().any(|note| note.contains("1 of 16 cooks ended before the finish")));
    assert!((result.effect.unwrap().estimate + 11.0).abs() < 1e-9);
    let logarithmic = Claim { scale: crate::claims::Scale::Log, ..claim };
    assert!(judged(&twice, &logarithmic).reason.unwrap().contains("no logarithmic scale"));
}

/// The cooks, and below them the same again under other names, on fires of their own.
fn twice(frame: &Table) -> Table {
    let n = frame.rows();
    let mut twice = frame.take(&(0..2 * n).map(|row| row % n).collect::<Vec<_>>());
    for column in ["cook", "fire"] {
        let Some(Column::Text(mut names)) = twice.column(column).cloned() else { continue };
        for name in names[n..].iter_mut().flatten() {
            name.push_str("-again");
        }
        twice.set(column, Column::Text(names));
    }
    twice
}

#[test]
fn wrap_columns_are_refused_and_arm_is_not() {
    let foil = ["foil", "foil", "foil", "foil", "paper", "paper", "paper", "paper"];
    let claim = Claim {
        by: Some("wrap_method".into()),
        levels: vec!["foil".into(), "paper".into()],
        ..compare()
    };
    let frame = with(&eight(), "wrap_method", &foil);
    let result = judged(&frame, &claim);
    assert!(result.reason.as_ref().unwrap().contains("compare by `arm`"), "{result:?}");
    assert_eq!((result.verdict, result.effect), (Verdict::Refused, None));
    assert_eq!(result.models.len(), 1);
    // Refused for being a wrap, whether or not the table has it or has enough of it.
    assert!(reason(&eight(), &claim).contains("decided while cooking"));
    let lone = Claim { levels: vec!["foil".into(), "boat".into()], ..claim.clone() };
    assert!(reason(&frame, &lone).contains("decided while cooking"));
    let trend = Claim { by: Some("clock_to_wrap_min".into()), ..trend() };
    let timed = with(&frame, "clock_to_wrap_min", &[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 9.0]);
    assert!(reason(&timed, &trend).contains("`clock_to_wrap_min` is decided while cooking"));
    let by_word = Claim { by: Some("wrap_method".into()), ..trend };
    assert!(reason(&frame, &by_word).contains("`wrap_method` is decided while cooking"));

    let arm = Claim { by: Some("arm".into()), ..claim };
    assert_eq!(reason(&frame, &arm), "the table has no column `arm`: no cook was randomised");
    let arms = [
        Some("foil"),
        Some("foil"),
        Some("foil"),
        None,
        Some("paper"),
        Some("paper"),
        Some("paper"),
        None,
    ];
    let frame = with(&frame, "arm", &arms);
    let result = judged(&frame, &arm);
    assert_eq!((result.n, result.left_out[0].reason.as_str()), (6, "no `arm`"));
    assert_ne!(result.verdict, Verdict::Refused);
    assert!(result.notes.is_empty(), "{:?}", result.notes);
    let y =
        [Some(10.0), Some(12.0), Some(14.0), Some(16.0), None, Some(22.0), Some(24.0), Some(26.0)];
    let lost = judged(&with(&frame, "y", &y), &arm);
    assert!(lost.notes[0].starts_with("1 of 6 cooks randomised"), "{:?}", lost.notes);
    assert!(lost.reason.unwrap().contains("level `paper` of `arm` has usable cooks from 2 fires"));
}

#[test]
fn too_few_is_refused_with_what_there_is() {
    let claim = Claim { levels: vec!["oak".into(), "Hickory".into()], ..compare() };
    let reason = reason(&eight(), &claim);
    assert!(
        reason.contains(
            "level `Hickory` of `wood` has usable cooks from 0 fires, each level needs 3"
        )
    );
    assert!(reason.contains("known are `hickory`, `oak`"), "{reason}");
    let shared = with(&eight(), "fire", &[1, 1, 2, 2, 3, 4, 5, 6]);
    assert!(
        super::tests::reason(&shared, &compare())
            .contains("level `oak` of `wood` has usable cooks from 2")
    );
    let same = with(&eight(), "y", &[7.0; 8]);
    assert!(super::tests::reason(&same, &compare()).contains("the same in all usable cooks"));
    let empty = with(&eight(), "x", &[1.0; 8]).head(0);
    assert!(super::tests::reason(&empty, &trend()).contains("no cook is usable"));
    assert!(super::tests::reason(&empty, &compare()).contains("from 0 fires"));
}

/// Twelve cooks; the first four were known when the claim was first seen.
fn locked(judge_after_cooks: usize) -> (Table, Claim, Lock) {
    let claim = Claim { judge_after_cooks, ..compare() };
    let frame = table!(
        "cook" => names(12),
        // The last two in the table's order were cooked before the eight in the middle.
        "meat_on" => ["2025-05-01", "2025-05-02", "2025-05-03", "2025-05-04", "2026-06-01",
            "2026-06-02", "2026-06-03", "2026-06-04", "2026-06-05", "2026-06-06", "2026-05-01",
            "2026-05-02"],
        "wood" => ["oak", "hickory", "oak", "hickory", "oak", "oak", "oak", "hickory", "hickory",
            "hickory", "oak", "hickory"],
        "y" => [90.0, 1.0, 91.0, 3.0, 12.0, 14.0, 16.0, 22.0, 24.0, 77.0, 10.0, 20.0],
    );
    let lock = Lock::update(None, &Claims { claims: vec![claim.clone()] }, &names(4));
    (frame, claim, lock)
}

#[test]
fn enough_new_cooks_confirm_on_the_first_of_them() {
    let (frame, claim, lock) = locked(7);
    let result = judge(&table(&frame), &claim, &lock, NO_HISTORY).unwrap();
    assert_eq!((result.standing, result.confirming_cooks), (Standing::Confirmed, 8));
    assert_eq!(result.judge_after_cooks, 7);
    assert_eq!(result.n, 7);
    assert_eq!(
        result.left_out,
        [LeftOut { reason: "not among the confirming cooks that are judged".into(), cooks: 5 }]
    );
    // Oak 10, 12, 14, 16 and hickory 20, 22, 24; the 77 of the eighth confirming cook comes too late.
    close(result.effect.unwrap().estimate, 13.0 - 22.0, 1e-12);
}

#[test]
fn until_then_all_cooks_speak_after_the_fact() {
    let (frame, claim, lock) = locked(9);
    let result = judge(&table(&frame), &claim, &lock, NO_HISTORY).unwrap();
    assert_eq!((result.standing, result.confirming_cooks), (Standing::AfterTheFact, 8));
    assert_eq!(result.n, 12);
    // A changed text is a new claim: nothing confirms it yet.
    let changed = Claim { matters: 6.0, ..claim };
    let lock = Lock::update(Some(&lock), &Claims { claims: vec![changed.clone()] }, &names(12));
    let result = judge(&table(&frame), &changed, &lock, NO_HISTORY).unwrap();
    assert_eq!((result.confirming_cooks, result.family_size), (0, 1));
}

#[test]
fn an_excluded_confirming_cook_brings_no_other_one_in() {
    let (frame, claim, lock) = locked(7);
    let mut exclude = [None; 12];
    exclude[4] = Some("rain");
    let result =
        judge(&table(&with(&frame, "exclude", &exclude)), &claim, &lock, NO_HISTORY).unwrap();
    assert_eq!((result.standing, result.n), (Standing::Confirmed, 6));
}

proptest! {
    /// Order of rows, swapped levels and a turned `better` only change signs.
    #[test]
    fn signs_follow_the_claim(
        y in prop::collection::vec(-50.0..50.0f64, 12),
        order in Just((0..12usize).collect::<Vec<_>>()).prop_shuffle(),
        matters in 0.5..30.0f64,
        shared_fires in any::<bool>(),
    ) {
        let wood = |i: usize| if i.is_multiple_of(2) { "oak" } else { "hickory" };
        let fire = |i: usize| if shared_fires { i / 2 } else { i } as i64;
        let frame = |rows: &[usize]| table!(
            "cook" => rows.iter().map(|&i| format!("cook-{i:02}")).collect::<Vec<_>>(),
            "fire" => rows.iter().map(|&i| fire(i)).collect::<Vec<_>>(),
            "wood" => rows.iter().map(|&i| wood(i)).collect::<Vec<_>>(),
            "y" => rows.iter().map(|&i| y[i]).collect::<Vec<_>>(),
        );
        let straight: Vec<usize> = (0..12).collect();
        let asked = Claim { matters, ..compare() };
        let first = briefly(&frame(&straight), &asked);
        prop_assume!(first.effect.is_some());
        prop_assert_eq!(&briefly(&frame(&order), &asked), &first);

        let swapped = Claim {
            levels: vec!["hickory".into(), "oak".into()],
            better: Better::Higher,
            ..asked.clone()
        };
        let second = briefly(&frame(&straight), &swapped);
        let (one, two) = (first.effect.clone().unwrap(), second.effect.clone().unwrap());
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * (1.0 + a.abs());
        prop_assert!(near(one.estimate, -two.estimate) && near(one.d, two.d));
        prop_assert!(near(one.lo.unwrap(), -two.hi.unwrap()));
        prop_assert_eq!(first.direction, second.direction);
        prop_assert!(one.lo <= Some(one.estimate) && Some(one.estimate) <= one.hi);

        let turned = briefly(&frame(&straight), &Claim { better: Better::Higher, ..asked });
        let effect = turned.effect.unwrap();
        prop_assert!(near(effect.estimate, one.estimate) && near(effect.d, -one.d));
        match first.verdict {
            Verdict::Yes => prop_assert_eq!(turned.verdict, Verdict::Reverse),
            Verdict::Reverse => prop_assert_eq!(turned.verdict, Verdict::Yes),
            Verdict::TooSmallToMatter => {
                prop_assert_eq!(turned.verdict, Verdict::TooSmallToMatter);
            }
            _ => prop_assert!(matches!(turned.verdict, Verdict::Open | Verdict::No)),
        }
    }
}
