use super::*;
use columns::table;
use cook::Kilograms;

fn scale(better: Better, weight: f64, drop: u32) -> ScoreScale {
    ScoreScale { lowest: 0.0, highest: 10.0, better, weight, drop }
}

fn score(entry: &str, judge: &str, attribute: &str, value: f64) -> Score {
    Score {
        team: None,
        season: "2025".into(),
        contest: Some("Fair".into()),
        date: None,
        category: Some(entry.to_owned()),
        cook: None,
        panel: Panel::Judges,
        judge: Some(judge.to_owned()),
        attribute: attribute.to_owned(),
        value,
        blind: Some(true),
        note: None,
    }
}

fn no_cooks() -> MeasureTable {
    MeasureTable::new(&table!("cook" => ["a"], "fire" => ["f"])).unwrap()
}

/// Shrout and Fleiss (1979), "Intraclass correlations: uses in assessing rater reliability",
/// Psychological Bulletin 86, 420–428, tables 2 to 4: four judges rate six targets; mean squares 11.24
/// between targets, 32.49 between judges, 1.02 residual; ICC(2,1) = 0.29. In balanced data whose
/// estimates are positive, restricted maximum likelihood gives the components of these mean squares
/// (Searle, Casella and `McCulloch` 1992).
#[test]
fn judges_as_random_draws_agree_with_shrout_and_fleiss() {
    const RATINGS: [[f64; 4]; 6] = [
        [9.0, 2.0, 5.0, 8.0],
        [6.0, 1.0, 3.0, 2.0],
        [8.0, 4.0, 6.0, 8.0],
        [7.0, 1.0, 2.0, 6.0],
        [10.0, 5.0, 6.0, 9.0],
        [6.0, 2.0, 4.0, 7.0],
    ];
    let mut given = Vec::new();
    for (target, ratings) in RATINGS.iter().enumerate() {
        for (judge, rating) in ratings.iter().enumerate() {
            let mut one =
                score(&format!("target {target}"), &format!("judge {judge}"), "taste", *rating);
            (one.cook, one.category) = (one.category.take(), Some("brisket".into()));
            given.push(one);
        }
    }
    let given: Vec<&Score> = given.iter().collect();
    let found = panel::panels(&given);
    let [own] = &found[..] else { panic!("{found:?}") };
    assert_eq!((own.scores, own.entries, own.judges), (24, 6, 4));
    let model = own.model.as_ref().unwrap();
    let near = |name: &str, found: f64, wanted: f64| {
        assert!((found - wanted).abs() < 0.006, "{name}: {found}, not {wanted}");
    };
    near("entries", model.entry_sd.powi(2), (11.24 - 1.02) / 4.0);
    near("judges", model.judge_sd.unwrap().powi(2), (32.49 - 1.02) / 6.0);
    near("scatter", model.scatter_sd.powi(2), 1.02);
    near("ICC(2,1)", model.reliability, 0.29);
    // The mean's variance: (targets' + judges' − residual mean square) / 24.
    let error = ((11.24_f64 + 32.49 - 1.02) / 24.0).sqrt();
    near("mean", model.mean, 127.0 / 24.0);
    assert!(model.hi - model.lo > 2.0 * 1.96 * error, "wider than with known variances");
}

#[test]
fn panels_and_blind_scores_stay_apart() {
    let mut given: Vec<Score> = (0..12)
        .map(|i| score(["ribs", "pork"][i % 2], &format!("j{}", i / 4), "taste", (i % 5) as f64))
        .collect();
    for one in &mut given[..4] {
        one.panel = Panel::Tasters;
    }
    given[11].blind = Some(false);
    let scales = ScoreScales::from([("taste".to_owned(), scale(Better::Higher, 1.0, 0))]);
    let entries = Entries { cards: &[], scores: &given };
    let found = scores(&no_cooks(), entries, &scales).unwrap();
    let of = |panel, blind| -> usize {
        let own = found.panels.iter().filter(|p| p.panel == panel && p.blind == Some(blind));
        own.map(|p| p.scores).sum()
    };
    assert_eq!((of(Panel::Judges, true), of(Panel::Judges, false)), (7, 1));
    assert_eq!((of(Panel::Tasters, true), of(Panel::Tasters, false)), (4, 0));
    assert!(found.panels.iter().all(|p| p.model.is_some() != p.reason.is_some()));
    assert_eq!(found.entries.len(), 2);
    assert!(found.entries.iter().all(|e| e.given.len() == 2 && !e.has_curve));
}

#[test]
fn the_worst_are_dropped_and_points_are_weighted() {
    let given: Vec<Score> = [("j1", 4.0, 2.0), ("j2", 8.0, 3.0), ("j3", 9.0, 9.0)]
        .into_iter()
        .flat_map(|(judge, taste, faults)| {
            [score("ribs", judge, "taste", taste), score("ribs", judge, "faults", faults)]
        })
        .collect();
    let scales = ScoreScales::from([
        ("taste".to_owned(), scale(Better::Higher, 2.0, 1)),
        // Few faults are good: the many are dropped.
        ("faults".to_owned(), scale(Better::Lower, 1.0, 1)),
    ]);
    let ask = |scales: &ScoreScales| {
        scores(&no_cooks(), Entries { cards: &[], scores: &given }, scales).unwrap().entries
    };
    let judges = ask(&scales)[0].of(Panel::Judges).unwrap().clone();
    let means: Vec<(&str, Option<f64>, usize)> =
        judges.means.iter().map(|m| (m.attribute.as_str(), m.mean, m.dropped)).collect();
    assert_eq!(means, [("faults", Some(2.5), 1), ("taste", Some(8.5), 1)]);
    assert_eq!(judges.points, Some(2.0 * 8.5 + 2.5));
    let mut more = scales.clone();
    more.insert("look".to_owned(), scale(Better::Higher, 1.0, 0));
    assert_eq!(ask(&more)[0].of(Panel::Judges).unwrap().points, None);
}

#[test]
fn entries_without_a_curve_count_in_punctuality_and_cost() {
    const HOUR_MS: i64 = 3_600_000;
    let mut chicken = Card {
        cook: "chicken-1".into(),
        season: "2025".into(),
        cut: Some("Chicken".into()),
        cost: Some(20.0),
        served_weight: Some(Kilograms(2.0)),
        turn_in_ms: Some(10 * HOUR_MS),
        planned_pull_ms: Some(9 * HOUR_MS),
        contest_rank: Some(3.0),
        ..Card::default()
    };
    chicken.marks.pull_ms = Some(11 * HOUR_MS);
    let brisket = Card {
        cook: "a".into(),
        season: "2025".into(),
        cut: Some("brisket".into()),
        turn_in_ms: Some(12 * HOUR_MS),
        ..Card::default()
    };
    let left_out = Card { cook: "x".into(), exclude: Some("dropped".into()), ..brisket.clone() };
    let frame = table!(
        "cook" => ["a", "chicken-1"],
        "fire" => ["f", "g"],
        "meat_on_ms" => [Some(0_i64), None],
        "total_min" => [Some(600.0), None],
        "total_min_censored" => [Some(false), None],
    );
    let table = MeasureTable::new(&frame).unwrap();
    let cards = [chicken, brisket.clone(), left_out];
    let found =
        scores(&table, Entries { cards: &cards, scores: &[] }, &ScoreScales::new()).unwrap();
    // The brisket says no more than its curve does.
    let [entry] = &found.entries[..] else { panic!("{:?}", found.entries) };
    assert_eq!(
        (entry.late_min, entry.turn_in_margin_min, entry.cost_per_served_kg, entry.contest_rank),
        (Some(120.0), Some(-60.0), Some(10.0), Some(3.0))
    );
    let [of_brisket, of_chicken] = &found.categories[..] else { panic!("{:?}", found.categories) };
    assert_eq!((of_brisket.entries, of_brisket.with_curve), (1, 1));
    assert_eq!(of_brisket.turn_in_margin_min.unwrap().median, 120.0);
    assert_eq!((of_chicken.with_curve, of_chicken.past_turn_in), (0, 1));
    let alone = scores(&table, Entries { cards: &[brisket], scores: &[] }, &ScoreScales::new());
    assert_eq!(alone.unwrap(), Scores::default());
}
