use super::*;
use crate::result::driver::{CookSet, Driver};
use crate::table::MeasureTable;
use columns::{Table, table};

const Y: [f64; 8] = [2.0, 1.0, 4.0, 3.0, 6.0, 5.0, 8.0, 7.0];

fn eight() -> Table {
    table!(
        "cook" => ["h", "g", "f", "e", "d", "c", "b", "a"],
        "stall_delay_min" => Y,
        "stall_min" => [0.0, 10.0, 40.0, 30.0, 60.0, 50.0, 80.0, 0.0],
        "trimmed_weight_kg" => [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0],
        "pit_early_c" => [110.0, 120.0, 110.0, 120.0, 110.0, 120.0, 110.0, 120.0],
        "wrap_method" => ["paper", "foil", "paper", "foil", "paper", "foil", "paper", "boat"],
    )
}

fn run(frame: &Table) -> Vec<Driver> {
    drivers(&MeasureTable::new(frame).unwrap()).unwrap()
}

fn with<T: columns::Cell + Clone>(frame: &Table, name: &str, values: &[T]) -> Table {
    let mut frame = frame.clone();
    frame.set(name, values.into());
    frame
}

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "found {found}, expected {expected}");
}

#[test]
fn the_weight_line_worked_by_hand() {
    let delay = &run(&eight())[0];
    assert_eq!((delay.outcome.as_str(), delay.cooks), ("stall_delay_min", CookSet::All));
    let line = &delay.lines[0];
    // Σ(x − 4.5)(y − 4.5) = 38, Σ(x − 4.5)² = 42.
    let slope = 38.0 / 42.0;
    let effect = line.effect.as_ref().unwrap();
    close(effect.estimate, slope);
    assert_eq!((effect.per, effect.per_unit.as_deref()), (Some(1.0), Some("kg")));
    assert_eq!((effect.unit.as_str(), effect.level), ("min", 0.95));
    assert_eq!((line.n, line.fires, line.censored), (8, 8, 0));
    assert_eq!((line.points[0].cook.as_str(), line.points[0].x, line.points[0].y), ("a", 8.0, 7.0));
    assert_eq!(line.line.len(), 41);
    assert_eq!((line.line[0].x, line.line[40].x), (1.0, 8.0));
    close(line.line[0].y, 4.5 - 3.5 * slope);
    close(line.line[20].y, 4.5);
    let width = |place: usize| line.line[place].hi.unwrap() - line.line[place].lo.unwrap();
    assert!(width(20) < width(0) && width(20) < width(40));
}

#[test]
fn raw_and_trimmed_weights_are_not_mixed() {
    let by = |trimmed: [Option<f64>; 8]| {
        let frame =
            with(&with(&eight(), "raw_weight_kg", &[9.0; 8]), "trimmed_weight_kg", &trimmed);
        let line = run(&frame)[0].lines[0].clone();
        (line.by, line.n)
    };
    let kg = |count: usize| {
        [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0].map(|w| (w <= count as f64).then_some(w))
    };
    assert_eq!(by(kg(7)), ("trimmed_weight_kg".into(), 7));
    assert_eq!(by(kg(4)), ("trimmed_weight_kg".into(), 4));
    assert_eq!(by(kg(3)), ("raw_weight_kg".into(), 8));
}

#[test]
fn the_pit_is_told_per_five_degrees() {
    // Means 5 at 110 °C and 4 at 120 °C: −0.1 per °C, −0.5 per 5 °C.
    let effect = run(&eight())[0].lines[1].effect.clone().unwrap();
    close(effect.estimate, -0.5);
    assert_eq!((effect.per, effect.per_unit.as_deref()), (Some(5.0), Some("°C")));
    // HC3 with leverages 1/4: Σe² = 20 a group, (20 · 16/9 / 16) · 2 over 10² per °C squared,
    // t(0.975; 6) = 2.446 91 (NIST/SEMATECH e-Handbook, table 1.3.6.7.2: 2.447).
    let half = 5.0 * (40.0_f64 / 9.0).sqrt() / 10.0 * 2.446_911_851_144_97;
    close(effect.hi.unwrap() + 0.5, half);
}

#[test]
fn wraps_in_too_few_fires_are_left_out() {
    let wrap = run(&eight())[0].wrap.clone();
    assert_eq!(wrap.base.as_deref(), Some("foil"));
    assert_eq!(wrap.n, 7);
    assert_eq!(wrap.left_out[0].reason, "`wrap_method` is `boat`, in fewer than 3 fires");
    // Paper 2, 4, 6, 8 against foil 1, 3, 5.
    assert_eq!(wrap.effects.len(), 1);
    close(wrap.effects[0].estimate, 2.0);
    assert_eq!((wrap.effects[0].term.as_str(), wrap.effects[0].per), ("wrap_method[paper]", None));
}

#[test]
fn stalled_cooks_are_a_question_of_their_own() {
    let found = run(&eight());
    assert_eq!((found[1].cooks, found[2].cooks), (CookSet::All, CookSet::Stalled));
    assert_eq!((found[1].lines[0].n, found[2].lines[0].n), (8, 6));
    assert_eq!(found[2].lines[0].left_out[0].reason, "no stall");
}

#[test]
fn the_joint_model_holds_all_three() {
    // Sixteen cooks: y = 10 + 3 kg − 2 (pit − 110) + 7 paper exactly but for a residual that is
    // orthogonal to all of them by its sign pattern.
    let n = 16;
    let bit = |i: usize, k: usize| f64::from(u8::from((i >> k) & 1 == 1));
    let sign = |i: usize| if i.count_ones().is_multiple_of(2) { 1.0 } else { -1.0 };
    let frame = table!(
        "cook" => (0..n).map(|i| format!("c{i:02}")).collect::<Vec<_>>(),
        "stall_delay_min" => (0..n)
            .map(|i| 10.0 + 3.0 * bit(i, 0) - 20.0 * bit(i, 1) + 7.0 * bit(i, 2) + sign(i))
            .collect::<Vec<_>>(),
        "raw_weight_kg" => (0..n).map(|i| bit(i, 0)).collect::<Vec<_>>(),
        "pit_early_c" => (0..n).map(|i| 110.0 + 10.0 * bit(i, 1)).collect::<Vec<_>>(),
        "wrap_method" => (0..n).map(|i| if bit(i, 2) > 0.0 { "paper" } else { "none" }).collect::<Vec<_>>(),
    );
    let joint = &run(&frame)[0].joint;
    let found: Vec<(&str, f64)> =
        joint.effects.iter().map(|e| (e.term.as_str(), e.estimate)).collect();
    assert_eq!(found.len(), 3);
    for ((term, estimate), (name, expected)) in found.into_iter().zip([
        ("raw_weight_kg", 3.0),
        ("pit_early_c", -10.0),
        ("wrap_method[paper]", 7.0),
    ]) {
        assert_eq!(term, name);
        close(estimate, expected);
    }
    let alone = with(&frame, "wrap_method", &["none"; 16]);
    let driver = &run(&alone)[0];
    assert_eq!(driver.joint.effects.len(), 2);
    assert!(driver.notes.iter().any(|note| note.starts_with("the joint model is without wrap")));
    assert!(driver.wrap.reason.is_some());
}

#[test]
fn a_season_that_names_no_pit_has_its_drivers_all_the_same() {
    // A sheet without the column `pit` leaves one without a value in the measures.
    let n = 6;
    let frame = table!(
        "cook" => (0..n).map(|i| format!("c{i}")).collect::<Vec<_>>(),
        "pit" => vec![None::<String>; n],
        "stall_delay_min" => [60.0, 75.0, 52.0, 88.0, 71.0, 64.0],
        "raw_weight_kg" => [5.0, 6.1, 4.8, 7.0, 5.9, 5.4],
        "pit_early_c" => [110.0, 112.0, 118.0, 107.0, 113.0, 109.0],
    );
    let joint = &run(&frame)[0].joint;
    assert_eq!(joint.effects.len(), 2, "{joint:?}");
    assert!(joint.fixed.is_none());
}

#[test]
fn lower_bounds_make_it_censored() {
    let mut flags = [false; 8];
    flags[7] = true;
    let found = run(&with(&eight(), "stall_delay_censored", &flags));
    let line = &found[0].lines[0];
    assert_eq!(line.model.as_ref().unwrap().name, "censored-gaussian");
    assert_eq!(line.censored, 1);
    assert!(line.points[0].censored && !line.points[1].censored);
    assert!(line.effect.as_ref().unwrap().estimate > 38.0 / 42.0);
    assert!(found[0].notes.iter().any(|note| note.starts_with("1 of 8 values are lower bounds")));
}

#[test]
fn too_few_cooks_are_a_refusal() {
    let few = run(&eight().head(4));
    for driver in &few {
        for line in &driver.lines {
            assert!(line.effect.is_none() && line.line.is_empty() && line.model.is_none());
            assert!(
                line.reason.as_ref().unwrap().starts_with("too few cooks"),
                "{:?}",
                line.reason
            );
        }
        assert!(driver.joint.reason.is_some() && driver.wrap.reason.is_some());
    }
    let bare = table!("cook" => ["a"], "stall_min" => [1.0]);
    assert_eq!(
        run(&bare)[0].lines[0].reason.as_deref(),
        Some("no cook has every value that this needs")
    );
    assert_eq!(run(&table!("cook" => ["a"])), []);
}

/// Forty cooks of twenty fires in two pits; `scatter` is a fixed pattern of ±1.
fn forty(y: impl Fn(usize, f64) -> f64) -> Table {
    let n = 40;
    let sign = |i: usize| if i.count_ones().is_multiple_of(2) { 1.0 } else { -1.0 };
    table!(
        "cook" => (0..n).map(|i| format!("c{i:02}")).collect::<Vec<_>>(),
        "fire" => (0..n).map(|i| (i / 2) as i64).collect::<Vec<_>>(),
        "pit" => (0..n).map(|i| if i / 2 % 2 == 0 { "drum" } else { "offset" }).collect::<Vec<_>>(),
        "stall_delay_min" => (0..n).map(|i| y(i, sign(i))).collect::<Vec<_>>(),
        "trimmed_weight_kg" => (0..n).map(|i| 4.0 + 0.1 * i as f64).collect::<Vec<_>>(),
        "pit_early_c" => (0..n).map(|i| 105.0 + ((i * 7) % 11) as f64).collect::<Vec<_>>(),
        "rub_salt_g" => (0..n).map(|i| Some(format!("{}", (i * 3) % 8))).collect::<Vec<_>>(),
        "helper" => (0..n).map(|i| ["one", "two"][(i / 3) % 2]).collect::<Vec<_>>(),
    )
}

#[test]
fn a_curve_is_drawn_where_a_line_will_not_do() {
    let bent = forty(|i, sign| 100.0 + (i as f64 - 20.0).powi(2) / 4.0 + sign);
    let line = &run(&bent)[0].lines[0];
    assert!(line.curved && line.linearity.unwrap().p < 1e-6);
    // A parabola with its bottom in the middle: lowest there, both ends far above.
    let (first, middle, last) = (line.line[0].y, line.line[20].y, line.line[40].y);
    assert!(first - middle > 60.0 && last - middle > 60.0, "{first} {middle} {last}");

    let straight = forty(|i, sign| 100.0 + 2.0 * i as f64 + 5.0 * sign);
    let line = &run(&straight)[0].lines[0];
    assert!(!line.curved && line.linearity.unwrap().p > 0.05);
    assert!(run(&eight())[0].lines[0].linearity.is_none(), "eight cooks are too few for a curve");
}

#[test]
fn fire_and_pit_have_intercepts_and_few_pits_are_fixed_too() {
    let lift = |i: usize| f64::from(u8::from((i / 2).is_multiple_of(3))) * 12.0;
    let joint = &run(&forty(|i, sign| 100.0 + 2.0 * i as f64 + lift(i) + 3.0 * sign))[0].joint;
    let mixed = joint.mixed.as_ref().unwrap();
    let groups: Vec<&str> = mixed.random.iter().map(|random| random.group.as_str()).collect();
    assert_eq!(groups, ["fire", "pit"]);
    assert!(mixed.random[0].variance > mixed.residual_variance.unwrap());
    let fixed = joint.fixed.as_ref().unwrap();
    assert!(fixed.name == "fixed-effects" && fixed.terms.iter().any(|t| t.term == "pit[offset]"));
}

#[test]
fn a_cook_that_moves_the_answer_is_named() {
    let odd = forty(|i, sign| 100.0 + 2.0 * i as f64 + sign + if i == 39 { 90.0 } else { 0.0 });
    let joint = &run(&odd)[0].joint;
    let first = &joint.influential[0];
    assert_eq!(first.cook, "c39");
    // The rule is 2 min per 0.1 kg: 20 per kg, which the odd cook hides.
    assert!((first.effect_without - 20.0).abs() < 1.0, "{first:?}");
    assert!(first.effect_with > first.effect_without + 2.0, "{first:?}");
    let checks = joint.checks.unwrap();
    assert!(checks.normality_p < 1e-6 && checks.skewness > 2.0, "{checks:?}");
}

#[test]
fn the_sheets_own_columns_are_asked_beside_weight_and_pit() {
    let found = run(&forty(|i, sign| 100.0 + 2.0 * i as f64 + 1.5 * ((i * 3) % 8) as f64 + sign));
    let further = &found[0].further;
    let names: Vec<&str> = further.iter().map(|driver| driver.by.as_str()).collect();
    assert_eq!(names, ["pit", "helper", "rub_salt_g"]);
    // Numbers written as text are numbers: 1.5 min per gram, exactly but for the scatter.
    let salt = &further[2];
    assert!((salt.effects[0].estimate - 1.5).abs() < 0.2, "{:?}", salt.effects);
    assert!(salt.p_adjusted.unwrap() < 1e-6 && salt.p_adjusted >= salt.test.map(|test| test.p));
    assert_eq!(further[1].base.as_deref(), Some("one"));
    assert!(further[1].p_adjusted.unwrap() > 0.05);
}

/// Residuals of +1 and −1 in equal numbers: skewness 0, kurtosis 1 − 3, and by hand
/// n/6 · (0 + (−2)²/4) = n/6, whose χ² tail of two degrees is exp(−n/12). Their squares do not
/// vary at all, so nothing goes with them.
#[test]
fn residual_checks_worked_by_hand() {
    let frame = table!(
        "cook" => (0..16).map(|i| format!("c{i:02}")).collect::<Vec<_>>(),
        "stall_delay_min" => (0..16_usize)
            .map(|i| 50.0 + if i.count_ones().is_multiple_of(2) { 1.0 } else { -1.0 })
            .collect::<Vec<_>>(),
        "trimmed_weight_kg" => (0..16).map(|i| f64::from(i & 1)).collect::<Vec<_>>(),
        "pit_early_c" => (0..16).map(|i| f64::from((i >> 1) & 1)).collect::<Vec<_>>(),
    );
    let checks = run(&frame)[0].joint.checks.unwrap();
    close(checks.skewness, 0.0);
    close(checks.excess_kurtosis, -2.0);
    close(checks.normality_p, (-16.0_f64 / 12.0).exp());
    assert_eq!(checks.equal_scatter_p, Some(1.0));
}

#[test]
fn whether_cooks_stalled_is_told_in_percentage_points() {
    // Light cooks stall rarely, heavy ones mostly; the pit has nothing to do with it.
    let frame = table!(
        "cook" => (0..80).map(|i| format!("c{i:02}")).collect::<Vec<_>>(),
        "stall_min" => (0..80_usize)
            .map(|i| if (i % 10) < if i < 40 { 2 } else { 8 } { 60.0 } else { 0.0 })
            .collect::<Vec<_>>(),
        "trimmed_weight_kg" => (0..80).map(|i| if i < 40 { 5.0 } else { 6.0 }).collect::<Vec<_>>(),
        "pit_early_c" => (0..80_usize).map(|i| 110.0 + (i % 2) as f64).collect::<Vec<_>>(),
    );
    let found = whether_stalled(&MeasureTable::new(&frame).unwrap()).unwrap().unwrap();
    assert_eq!((found.n, found.stalled), (80, 40));
    let weight = &found.effects[0];
    assert_eq!(
        (weight.term.as_str(), weight.unit.as_str()),
        ("trimmed_weight_kg", "percentage points")
    );
    assert!(weight.lo.unwrap() > 10.0 && weight.estimate < 75.0, "{weight:?}");
    assert!(found.effects[1].lo < Some(0.0) && found.effects[1].hi > Some(0.0));

    let always = with(&frame, "stall_min", &[60.0; 80]);
    let found = whether_stalled(&MeasureTable::new(&always).unwrap()).unwrap().unwrap();
    assert!(found.reason.unwrap().starts_with("80 cooks stalled and 0 did not"));
}
