use super::*;
use crate::table::MeasureTable;
use polars::prelude::{Column, DataFrame, NamedFrom, Series, df};

const Y: [f64; 8] = [2.0, 1.0, 4.0, 3.0, 6.0, 5.0, 8.0, 7.0];

fn eight() -> DataFrame {
    df!(
        "cook" => ["h", "g", "f", "e", "d", "c", "b", "a"],
        "stall_delay_min" => Y,
        "stall_min" => [0.0, 10.0, 40.0, 30.0, 60.0, 50.0, 80.0, 0.0],
        "trimmed_weight_kg" => [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0],
        "pit_early_c" => [110.0, 120.0, 110.0, 120.0, 110.0, 120.0, 110.0, 120.0],
        "wrap_method" => ["paper", "foil", "paper", "foil", "paper", "foil", "paper", "boat"],
    )
    .unwrap()
}

fn run(frame: &DataFrame) -> Vec<Driver> {
    drivers(&MeasureTable::new(frame).unwrap()).unwrap()
}

fn with<T: Clone>(frame: &DataFrame, name: &str, values: &[T]) -> DataFrame
where
    Series: for<'a> NamedFrom<&'a [T], [T]>,
{
    let mut frame = frame.clone();
    frame.with_column(Column::from(Series::new(name.into(), values))).unwrap();
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
    let frame = df!(
        "cook" => (0..n).map(|i| format!("c{i:02}")).collect::<Vec<_>>(),
        "stall_delay_min" => (0..n)
            .map(|i| 10.0 + 3.0 * bit(i, 0) - 20.0 * bit(i, 1) + 7.0 * bit(i, 2) + sign(i))
            .collect::<Vec<_>>(),
        "raw_weight_kg" => (0..n).map(|i| bit(i, 0)).collect::<Vec<_>>(),
        "pit_early_c" => (0..n).map(|i| 110.0 + 10.0 * bit(i, 1)).collect::<Vec<_>>(),
        "wrap_method" => (0..n).map(|i| if bit(i, 2) > 0.0 { "paper" } else { "none" }).collect::<Vec<_>>(),
    )
    .unwrap();
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
    let few = run(&eight().head(Some(4)));
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
    let bare = df!("cook" => ["a"], "stall_min" => [1.0]).unwrap();
    assert_eq!(
        run(&bare)[0].lines[0].reason.as_deref(),
        Some("no cook has every value that this needs")
    );
    assert_eq!(run(&df!("cook" => ["a"]).unwrap()), []);
}
