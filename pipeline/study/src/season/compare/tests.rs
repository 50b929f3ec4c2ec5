use super::*;
use columns::{Table, table};

/// Scatter that no season, weight or pit explains.
fn scatter(i: usize) -> f64 {
    [3.0, -2.0, 5.0, -4.0, 1.0, -6.0, 2.0][i % 7]
}

/// Forty-eight cooks of two seasons: the second cooks heavier meat, and `lift` later on the same.
fn frame(lift: f64) -> Table {
    let n = 48;
    let later = |i: usize| f64::from(u8::from(i >= 24));
    let weight = |i: usize| 4.0 + (i % 5) as f64 * 0.5 + 2.0 * later(i);
    table!(
        "cook" => (0..n).map(|i| format!("c{i:02}")).collect::<Vec<_>>(),
        "season" => (0..n).map(|i| if i < 24 { "2025" } else { "2026" }).collect::<Vec<_>>(),
        "pit" => (0..n).map(|i| if i % 3 == 0 { "big" } else { "small" }).collect::<Vec<_>>(),
        "trimmed_weight_kg" => (0..n).map(weight).collect::<Vec<_>>(),
        "stall_delay_min" => (0..n)
            .map(|i| 100.0 + 20.0 * weight(i) + lift * later(i) + scatter(i))
            .collect::<Vec<_>>(),
        "pit_sd_c" => (0..n).map(|i| 4.0 + 0.1 * scatter(i * 3)).collect::<Vec<_>>(),
    )
}

fn compared(frame: &Table) -> Vec<Comparisons> {
    comparisons(&MeasureTable::new(frame).unwrap()).unwrap()
}

#[test]
fn a_heavier_mix_is_no_longer_stall() {
    let found = compared(&frame(0.0));
    let [seasons] = &found[..] else { panic!("{found:?}") };
    assert_eq!((seasons.by.as_str(), seasons.family, seasons.rows.len()), ("season", 2, 2));
    let delay = &seasons.rows[0];
    assert_eq!((delay.first.as_str(), delay.second.as_deref()), ("2026", Some("2025")));
    assert_eq!(delay.adjusted_for, ["trimmed_weight_kg", "pit"]);
    // As they are: the difference of the two means, whatever the model.
    let mean = |from: usize| (from..from + 24).map(|i| 100.0 + scatter(i)).sum::<f64>() / 24.0;
    let weights = |from: usize| {
        (from..from + 24)
            .map(|i| 4.0 + (i % 5) as f64 * 0.5 + 2.0 * f64::from(u8::from(i >= 24)))
            .sum::<f64>()
            / 24.0
    };
    let expected = mean(24) - mean(0) + 20.0 * (weights(24) - weights(0));
    let plain = delay.as_they_are.unwrap();
    assert!((plain.estimate - expected).abs() < 1e-9, "{plain:?} {expected}");
    assert!(plain.lo.unwrap() > 20.0);
    // With the same weights and pits there is none.
    let adjusted = delay.adjusted.unwrap();
    assert!(adjusted.lo.unwrap() < 0.0 && adjusted.hi.unwrap() > 0.0, "{adjusted:?}");
    assert_eq!(delay.told, Told::CannotBeTold);
}

#[test]
fn a_longer_stall_is_told_and_its_p_value_pays_for_the_others() {
    let found = compared(&frame(15.0));
    let [delay, steadiness] = &found[0].rows[..] else { panic!("{found:?}") };
    assert_eq!(delay.told, Told::More);
    let adjusted = delay.adjusted.unwrap();
    assert!((adjusted.estimate - 15.0).abs() < 5.0 && adjusted.lo.unwrap() > 0.0, "{adjusted:?}");
    // Holm, two tests: the smaller p twice, the larger once, but no less than the smaller's.
    let (p, other) = (delay.p.unwrap(), steadiness.p.unwrap());
    assert!(p < other);
    assert_eq!(delay.p_adjusted, Some(2.0 * p));
    assert_eq!(steadiness.p_adjusted, Some(other.max(2.0 * p)));
    assert_eq!(compared(&frame(-15.0))[0].rows[0].told, Told::Less);
}

#[test]
fn lower_bounds_are_taken_as_such() {
    // The second season's longer half was stopped at 215 min: as if observed, it looks shorter.
    let mut frame = frame(0.0);
    let true_delay = |i: usize| 200.0 + 15.0 * f64::from(u8::from(i >= 24)) + 5.0 * scatter(i);
    let censored: Vec<bool> = (0..48).map(|i| i >= 24 && true_delay(i) > 215.0).collect();
    let cut: Vec<f64> = (0..48).map(|i| if censored[i] { 215.0 } else { true_delay(i) }).collect();
    frame.set("stall_delay_min", (&cut).into());
    let as_observed = compared(&frame)[0].rows[0].as_they_are.unwrap().estimate;
    frame.set("stall_delay_censored", (&censored).into());
    let row = &compared(&frame)[0].rows[0];
    assert_eq!(row.censored, censored.iter().filter(|stopped| **stopped).count());
    let as_bounds = row.as_they_are.unwrap().estimate;
    assert!(as_observed < 9.0 && (as_bounds - 15.0).abs() < 4.0, "{as_observed} {as_bounds}");
}

#[test]
fn what_cannot_be_compared_says_why() {
    // Two fires in the second season.
    let found = compared(&frame(0.0).head(26));
    let row = &found[0].rows[0];
    assert_eq!((row.adjusted, row.as_they_are, row.p), (None, None, None));
    assert!(row.reason.as_ref().unwrap().contains("2026 has values from 2 fires"), "{row:?}");
    assert_eq!((row.told, found[0].family), (Told::CannotBeTold, 0));
    // One season: nothing to compare.
    assert_eq!(compared(&frame(0.0).head(20)), []);
    // Each pit in one season only: which of the two it was cannot be told apart.
    let mut apart = frame(0.0);
    let pits: Vec<&str> = (0..48).map(|i| if i < 24 { "old" } else { "new" }).collect();
    apart.set("pit", pits.into());
    let found = compared(&apart);
    let row = &found[0].rows[0];
    assert!(row.as_they_are.is_some() && row.adjusted.is_none() && row.reason.is_some(), "{row:?}");
}

#[test]
fn teams_are_compared_with_each_other_or_with_all_others() {
    let with_teams = |of: &dyn Fn(usize) -> &'static str| {
        let mut frame = frame(0.0);
        let teams: Vec<&str> = (0..48).map(of).collect();
        let early: Vec<f64> = (0..48_usize).map(|i| 110.0 + ((i * 5) % 11) as f64).collect();
        let delay: Vec<f64> = (0..48)
            .map(|i| 200.0 + 30.0 * f64::from(u8::from(teams[i] == "river")) + scatter(i))
            .collect();
        frame.set("team", (&teams).into());
        frame.set("pit_early_c", early.into());
        frame.set("stall_delay_min", delay.into());
        compared(&frame)
    };
    let two = with_teams(&|i| if i % 2 == 0 { "oak" } else { "river" });
    assert_eq!(two.iter().map(|c| c.by.as_str()).collect::<Vec<_>>(), ["season", "team"]);
    let row = &two[1].rows[0];
    assert_eq!((row.first.as_str(), row.second.as_deref()), ("oak", Some("river")));
    assert_eq!(row.adjusted_for, ["trimmed_weight_kg", "pit_early_c"]);
    assert!((row.adjusted.unwrap().estimate + 30.0).abs() < 5.0, "{row:?}");
    let three = with_teams(&|i| ["oak", "river", "mill"][i % 3]);
    let rows = &three[1].rows;
    let delay: Vec<_> = rows.iter().filter(|row| row.outcome == "stall_delay_min").collect();
    assert_eq!(delay.len(), 3);
    // Against the mean of the two others: 30 for river, −15 for each other.
    for row in delay {
        let expected = if row.first == "river" { 30.0 } else { -15.0 };
        assert!((row.adjusted.unwrap().estimate - expected).abs() < 5.0, "{row:?}");
        assert_eq!((row.second.as_deref(), row.first_cooks, row.second_cooks), (None, 16, 32));
    }
}

#[test]
fn seasons_come_in_their_order() {
    let order = |names: [&str; 3], days: [i64; 3]| {
        let frame = table!("cook" => ["a", "b", "c"], "season" => names, "meat_on_ms" => days);
        let table = MeasureTable::new(&frame).unwrap();
        let of = table.texts("season").unwrap();
        let levels = names.iter().map(|&name| name.to_owned()).collect();
        in_order(&table, &Rows::all(&table), &of, levels).unwrap()
    };
    let numbered = ["season-10", "season-9", "season-2"];
    assert_eq!(order(numbered, [1, 2, 3]), ["season-2", "season-9", "season-10"]);
    assert_eq!(order(["fall", "spring", "may"], [30, 10, 20]), ["spring", "may", "fall"]);
}
