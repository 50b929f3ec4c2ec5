//! The whole study of a small table of invented cooks.

mod digest;

use columns::{Table, table};
use digest::digest;
use serde_json::Value;
use std::path::Path;
use study::{Claims, Lock, MeasureTable, Provenance, Question, StudyResult, Verdict, study};

const CLAIMS: &str = r#"
[[claim]]
id = "foil-or-never"
says = "Foil at 71 °C finishes sooner than no wrap"
kind = "wrap-timing"
outcome = "clock_to_finish_min"
better = "lower"
strategies = [{ method = "foil", at_core_c = 71, grace_min = 20 }, { never = true }]
group = ["fire"]
matters = 30

[[claim]]
id = "hotter-pit"
says = "A hotter pit shortens the stall"
kind = "trend"
outcome = "stall_delay_min"
better = "lower"
by = "pit_early_c"
per = 5.0
adjust = ["trimmed_weight_kg"]
matters = 5

[[claim]]
id = "heavier-stalls-longer"
says = "A heavier cut stalls longer"
kind = "trend"
outcome = "stall_delay_min"
better = "higher"
by = "trimmed_weight_kg"
per = 1.0
adjust = ["pit_early_c", "cut"]
matters = 5
judge_after_cooks = 12

[[claim]]
id = "oak-or-hickory"
says = "Oak tastes better than hickory"
kind = "compare"
outcome = "score_taste"
better = "higher"
by = "wood"
levels = ["oak", "hickory"]
group = ["fire"]
matters = 0.5

[[claim]]
id = "paper-tastes-better"
says = "Paper tastes better than foil"
kind = "compare"
outcome = "score_taste"
better = "higher"
by = "wrap_method"
levels = ["paper", "foil"]
matters = 0.5
"#;

/// Twenty cooks of sixteen fires over two seasons. Stall delay follows weight and pit by a
/// rule, plus a fixed scatter.
fn table() -> Table {
    let n = 20_usize;
    let scatter =
        [3, -4, 1, 5, -2, -5, 4, 0, 2, -3, -1, 4, -4, 3, 0, -2, 5, -5, 1, -2].map(f64::from);
    let weight = |i: usize| 4.0 + 0.25 * ((i * 7) % 13) as f64;
    let pit = |i: usize| 105.0 + 2.5 * ((i * 5) % 9) as f64;
    let delay = |i: usize| 60.0 + 20.0 * (weight(i) - 5.0) - 1.5 * (pit(i) - 110.0) + scatter[i];
    let stall = |i: usize| if i % 7 == 3 { 0.0 } else { delay(i) + 60.0 };
    let indices = || 0..n;
    table!(
        "cook" => indices().map(|i| format!("cook-{i:02}")).collect::<Vec<_>>(),
        "season" => indices().map(|i| if i < 8 { "2025" } else { "2026" }).collect::<Vec<_>>(),
        "fire" => indices().map(|i| if i < 8 { i / 2 } else { i } as i64).collect::<Vec<_>>(),
        "date" => indices()
            .map(|i| format!("{}-{:02}-{:02}", if i < 8 { 2025 } else { 2026 }, 4 + i % 8 / 2, 1 + i))
            .collect::<Vec<_>>(),
        "kind" => indices().map(|i| if i % 5 == 0 { "contest" } else { "practice" }).collect::<Vec<_>>(),
        "cut" => indices().map(|i| if i % 3 == 0 { "shoulder" } else { "brisket" }).collect::<Vec<_>>(),
        "pit" => vec!["offset"; n],
        "raw_weight_kg" => indices().map(|i| weight(i) + 1.2).collect::<Vec<_>>(),
        "trimmed_weight_kg" => indices().map(|i| (i != 11).then(|| weight(i))).collect::<Vec<_>>(),
        "pit_early_c" => indices().map(pit).collect::<Vec<_>>(),
        "wood" => indices().map(|i| ["oak", "hickory", "cherry"][i % 3]).collect::<Vec<_>>(),
        "wrap_method" => indices().map(|i| ["paper", "foil", "none"][(i * 3 + i / 4) % 3]).collect::<Vec<_>>(),
        "clock_to_wrap_min" => indices()
            .map(|i| ((i * 3 + i / 4) % 3 != 2 && i != 4).then_some(120.0 + i as f64)).collect::<Vec<_>>(),
        "wrap_time_known" => indices()
            .map(|i| ((i * 3 + i / 4) % 3 != 2).then_some(i != 4)).collect::<Vec<_>>(),
        "clock_to_finish_min" => indices().map(|i| delay(i) + 200.0).collect::<Vec<_>>(),
        "finish_reached" => indices().map(|i| i != 6).collect::<Vec<_>>(),
        "stall_min" => indices().map(stall).collect::<Vec<_>>(),
        "stall_min_censored" => indices().map(|i| i == 6).collect::<Vec<_>>(),
        "stall_delay_min" => indices().map(delay).collect::<Vec<_>>(),
        "stall_delay_censored" => indices().map(|i| i == 6).collect::<Vec<_>>(),
        "total_min" => indices().map(|i| delay(i) + 500.0).collect::<Vec<_>>(),
        "score_taste" => indices().map(|i| (i != 2).then(|| 7.0 + scatter[i] / 5.0)).collect::<Vec<_>>(),
        "exclude" => indices().map(|i| (i == 13).then_some("probe fell out")).collect::<Vec<_>>(),
    )
}

fn claims() -> Claims {
    Claims::parse(CLAIMS, Path::new("claims.toml")).unwrap()
}

fn first_season() -> Vec<String> {
    (0..8).map(|i| format!("cook-{i:02}")).collect()
}

fn run(frame: &Table, lock: Option<&Lock>) -> StudyResult {
    let provenance = Provenance {
        version: "0.1.0".into(),
        settings_hash: "0".repeat(64),
        inputs: vec![study::result::InputHash {
            path: "store/measures.parquet".into(),
            sha256: "1".repeat(64),
        }],
        seed: 7,
        ..Provenance::default()
    };
    let claims = claims();
    let question = Question {
        claims: &claims,
        claims_path: Path::new("claims.toml"),
        lock,
        history: None,
        degrees: None,
        definitions: &[],
        horizon_min: 720.0,
        definition: None,
        scores: &std::collections::BTreeMap::default(),
        entries: study::scores::Entries::default(),
        provenance,
    };
    study(&MeasureTable::new(frame).unwrap(), question).unwrap()
}

fn locked() -> StudyResult {
    run(&table(), Some(&Lock::update(None, &claims(), &first_season())))
}

#[test]
fn each_claim_is_answered_as_before() {
    for claim in locked().claims {
        let value = serde_json::to_value(&claim).unwrap();
        insta::assert_snapshot!(format!("claim_{}", claim.id), digest(&value));
    }
}

#[test]
fn each_outcome_has_its_drivers_as_before() {
    for drivers in locked().drivers {
        let value = serde_json::to_value(&drivers).unwrap();
        insta::assert_snapshot!(
            format!("drivers_of_{}_{}", drivers.outcome, value["cooks"].as_str().unwrap()),
            digest(&value)
        );
    }
}

#[test]
fn each_other_part_is_as_before() {
    let value = serde_json::to_value(locked()).unwrap();
    let others = value.as_object().unwrap().iter();
    for (part, value) in others.filter(|(part, _)| *part != "claims" && *part != "drivers") {
        insta::assert_snapshot!(part.as_str(), digest(value));
    }
}

#[test]
fn the_rule_behind_the_table_is_found() {
    // The table's rule: 20 min per kg and −7.5 min per 5 °C, scatter of at most 5.
    let result = locked();
    let delay = &result.drivers[0];
    for (term, truth) in [("trimmed_weight_kg", 20.0), ("pit_early_c", -7.5)] {
        let effect = delay.joint.effects.iter().find(|effect| effect.term == term).unwrap();
        assert!(effect.lo.unwrap() <= truth && truth <= effect.hi.unwrap(), "{effect:?}");
        assert!((effect.estimate - truth).abs() < 2.5, "{effect:?}");
    }
    let claim = |id: &str| result.claims.iter().find(|claim| claim.id == id).unwrap();
    assert_eq!(claim("heavier-stalls-longer").verdict, Verdict::Yes);
    assert_eq!(claim("heavier-stalls-longer").standing, study::Standing::Confirmed);
    assert_eq!(claim("hotter-pit").standing, study::Standing::AfterTheFact);
    assert_eq!(claim("paper-tastes-better").verdict, Verdict::Refused);
    let reason = claim("foil-or-never").reason.as_ref().unwrap();
    assert!(reason.contains("study a store"), "{reason}");
}

#[test]
fn the_same_input_gives_the_same_bytes_whatever_the_order_of_rows() {
    let text = locked().to_json().unwrap();
    assert_eq!(locked().to_json().unwrap(), text);
    let backwards: Vec<usize> = (0..20).rev().collect();
    let frame = table().take(&backwards);
    let lock = Lock::update(None, &claims(), &first_season());
    assert_eq!(run(&frame, Some(&lock)).to_json().unwrap(), text);
}

#[test]
fn the_json_reads_back_and_keeps_to_its_schema() {
    let result = locked();
    let text = result.to_json().unwrap();
    assert_eq!(serde_json::from_str::<StudyResult>(&text).unwrap(), result);
    let value: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["schema"], "cookstudy/study/1");
    assert_eq!(value["seed"], 7);
    let validator = jsonschema::validator_for(&study::result::schema()).unwrap();
    let errors: Vec<String> =
        validator.iter_errors(&value).map(|error| error.to_string()).collect();
    assert!(errors.is_empty(), "{errors:?}");
    for key in [
        "id",
        "verdict",
        "standing",
        "confirming_cooks",
        "direction",
        "reason",
        "effect",
        "n",
        "fires",
        "cooks_still_needed",
        "models",
    ] {
        assert!(value["claims"][1].get(key).is_some(), "{key}");
    }
    for key in ["estimate", "lo", "hi", "level", "unit", "d"] {
        assert!(value["claims"][1]["effect"].get(key).is_some(), "{key}");
    }
}

#[test]
fn without_a_lock_all_claims_are_of_one_family_and_after_the_fact() {
    for claim in run(&table(), None).claims {
        assert_eq!((claim.family_size, claim.confirming_cooks), (5, 0));
        assert_eq!(claim.standing, study::Standing::AfterTheFact);
        if let Some(effect) = claim.effect {
            assert!((effect.level - 0.98).abs() < 1e-12);
        }
    }
}

#[test]
fn a_foreign_table_with_an_unknown_column_is_named() {
    let frame = table!("cook" => ["a"], "stall_delay" => [1.0]);
    let claims = claims();
    let question = Question {
        claims: &claims,
        claims_path: Path::new("claims.toml"),
        lock: None,
        history: None,
        degrees: None,
        definitions: &[],
        horizon_min: 720.0,
        definition: None,
        scores: &std::collections::BTreeMap::default(),
        entries: study::scores::Entries::default(),
        provenance: Provenance::default(),
    };
    let message = study(&MeasureTable::new(&frame).unwrap(), question).unwrap_err().to_string();
    assert!(message.contains("did you mean `stall_delay`?"), "{message}");
}

#[test]
fn the_schema_of_claims_takes_the_claims_file() {
    let value: Value =
        serde_json::to_value(toml::from_str::<toml::Value>(CLAIMS).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&Claims::schema()).unwrap();
    let errors: Vec<String> =
        validator.iter_errors(&value).map(|error| error.to_string()).collect();
    assert!(errors.is_empty(), "{errors:?}");
}
