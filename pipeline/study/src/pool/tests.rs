use super::*;
use crate::analysis::{Evidence, effects};
use crate::claims::Claims;
use crate::lock::Lock;
use crate::{MeasureTable, Verdict};
use columns::{Table, table};
use std::path::Path;

const CLAIMS: &str = r#"
[[claim]]
id = "wood"
says = "Oak is quicker"
kind = "compare"
outcome = "minutes"
better = "lower"
by = "wood"
levels = ["oak", "hickory"]
matters = 5

[[claim]]
id = "heat"
says = "A hotter pit is quicker"
kind = "trend"
outcome = "minutes"
better = "lower"
by = "pit"
per = 5
matters = 5
"#;

/// Twelve fires of two cooks.
fn season(effect: f64, seed: usize) -> Table {
    let noise = |cook: usize| ((cook * 37 + seed * 11) % 17) as f64 - 8.0;
    let is_oak = |cook: usize| (cook / 2 + seed).is_multiple_of(2);
    let heat = |cook: usize| ((cook * 5 + seed) % 7) as f64 * 3.0 + 100.0;
    let cooks = 0..24;
    let minutes: Vec<f64> = cooks
        .clone()
        .map(|cook| {
            let oak = if is_oak(cook) { effect } else { 0.0 };
            300.0 + oak - heat(cook) + noise(cook) + noise(cook / 2)
        })
        .collect();
    table!(
        "cook" => cooks.clone().map(|cook| format!("secret-{cook}")).collect::<Vec<_>>(),
        "fire" => cooks.clone().map(|cook| format!("fire-{}", cook / 2)).collect::<Vec<_>>(),
        "wood" => cooks.clone().map(|c| if is_oak(c) { "oak" } else { "hickory" }).collect::<Vec<_>>(),
        "pit" => cooks.map(heat).collect::<Vec<_>>(),
        "minutes" => minutes,
    )
}

fn claims(text: &str) -> Claims {
    Claims::parse(text, Path::new("claims.toml")).unwrap()
}

fn given(team: &str, effect: f64, text: &str) -> Given {
    let table = MeasureTable::new(&season(effect, team.len())).unwrap();
    let claims = claims(text);
    let lock = Lock::update(None, &claims, table.cooks());
    let evidence = Evidence { definition: Some("d1"), ..Evidence::default() };
    let found = effects(&table, &claims, &lock, evidence, (team, "1.0")).unwrap();
    Given { path: format!("{team}.json").into(), effects: found }
}

fn teams() -> Vec<Given> {
    [("a", -60.0), ("bb", -64.0), ("ccc", -56.0)].map(|(team, d)| given(team, d, CLAIMS)).into()
}

fn refused(given: Vec<Given>) -> String {
    pool(given, "1.0", Vec::new()).unwrap_err().to_string()
}

#[test]
fn a_file_holds_no_cook_and_reads_back() {
    let own = given("a", -20.0, CLAIMS);
    let text = own.effects.to_json().unwrap();
    assert!(!text.contains("secret") && !text.contains("fire-"), "{text}");
    assert_eq!(read_effects(&text, &own.path).unwrap(), own.effects);
    // Claims that rest on the same fires are off together; their variances are the squared errors.
    let covariance = &own.effects.covariance;
    let errors = own.effects.claims.iter().map(|own| own.effect.unwrap().std_error);
    for (place, error) in errors.enumerate() {
        assert!((covariance[place][place].unwrap() - error * error).abs() < 1e-12);
    }
    let (shared, other) = (covariance[0][1].unwrap(), covariance[1][0].unwrap());
    assert!(shared == other && shared.abs() > 0.0, "{shared}");
}

#[test]
fn files_are_combined_claim_by_claim_in_any_order() {
    let found = pool(teams(), "1.0", Vec::new()).unwrap();
    assert_eq!(found.teams, ["a", "bb", "ccc"]);
    let wood = &found.claims[0];
    assert_eq!((wood.n, wood.fires, wood.teams.effects.len()), (72, 36, 3));
    // Two claims share ten per cent.
    let mean = wood.teams.mean.as_ref().unwrap();
    assert!((mean.level - 0.95).abs() < 1e-12 && mean.d > 10.0);
    assert_eq!(wood.teams.verdict, Verdict::Yes);
    assert!(wood.teams.new_team.is_some() && wood.teams.without.len() == 3);
    let mut turned = teams();
    turned.reverse();
    assert_eq!(pool(turned, "1.0", Vec::new()).unwrap(), found);
    assert_eq!(found.rows().rows(), 2 * (3 + 1 + 1 + 3));
}

#[test]
fn a_claim_that_some_teams_have_is_combined_of_those() {
    let first = CLAIMS.split("\n[[claim]]\nid = \"heat\"").next().unwrap();
    let mut some = teams();
    some.push(given("dddd", -18.0, first));
    let found = pool(some, "1.0", Vec::new()).unwrap();
    let counts: Vec<usize> = found.claims.iter().map(|own| own.teams.effects.len()).collect();
    assert_eq!(counts, [4, 3]);
    assert_eq!(found.claims[1].teams.left_out[0].reason, "it did not claim it");
}

#[test]
fn what_is_unlike_is_refused_by_file_difference_and_remedy() {
    let with = |change: &dyn Fn(&mut Given)| {
        let mut all = teams();
        change(&mut all[1]);
        refused(all)
    };
    let said =
        with(&|own| *own = given("bb", -24.0, &CLAIMS.replacen("matters = 5", "matters = 9", 1)));
    assert!(said.contains("bb.json: claim `wood` is not that of a.json"), "{said}");
    assert!(said.contains("`matters` is 9.0 here and 5.0 there; agree on one text"), "{said}");
    let said = with(&|own| own.effects.definition = Some("d2".into()));
    assert!(said.contains("phase definition is `d2…`") && said.contains("[phases]"), "{said}");
    let said = with(&|own| own.effects.definition = None);
    assert!(said.contains("one that it does not say"), "{said}");
    let said = with(&|own| own.effects.claims[1].rules = 2);
    assert!(said.contains("claim `heat` is judged by rules 2, in a.json by 1"), "{said}");
    let said = with(&|own| own.effects.team = " A".into());
    assert!(
        said.contains("team `a` is in bb.json already") && said.contains("cookstudy merge"),
        "{said}"
    );
    let said = with(&|own| {
        let path = own.path.clone();
        *own = teams().remove(0);
        own.effects.team = "another".into();
        own.path = path;
    });
    assert!(said.contains("the very effects of"), "{said}");
    assert!(refused(vec![teams().remove(0)]).contains("two teams or more"));
    let renamed = CLAIMS.replace("\"wood\"\nsays", "\"w\"\nsays").replace("\"heat\"", "\"h\"");
    let said = refused(vec![given("a", -20.0, CLAIMS), given("bb", -20.0, &renamed)]);
    assert!(
        said.contains("no claim is shared: it claims `w`, `h`, a.json `wood`, `heat`"),
        "{said}"
    );
}

#[test]
fn seasons_that_count_the_time_to_another_horizon_are_refused() {
    let text = CLAIMS.replace("\"minutes\"", "\"clock_to_finish_min\"");
    let mut all = teams();
    for own in &mut all {
        for claim in &mut own.effects.claims {
            let id = claim.asked.id.clone();
            claim.asked = claims(&text).claims.into_iter().find(|own| own.id == id).unwrap();
            claim.hash = claim.asked.hash();
        }
    }
    assert!(pool(all.clone(), "1.0", Vec::new()).is_ok());
    all[2].effects.horizon_min = 900.0;
    let said = refused(all);
    assert!(said.contains("up to 900 min") && said.contains("[study] horizon_min"), "{said}");
}

#[test]
fn a_file_that_is_damaged_is_refused_by_what_is_wrong() {
    let own = given("a", -20.0, CLAIMS);
    let text = own.effects.to_json().unwrap();
    let error = own.effects.claims[0].effect.unwrap().std_error;
    let damaged = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        read_effects(&text.replacen(from, to, 1), &own.path).unwrap_err().to_string()
    };
    for (from, to, expected) in [
        ("cookstudy/effects/1", "cookstudy/effects/2", "this version reads `cookstudy/effects/1`"),
        ("cookstudy/effects/1", "cookstudy/study/1", "is a whole study"),
        ("\"matters\": 5.0", "\"matters\": 6.0", "its words are not those of its hash"),
        ("\"matters\": 5.0", "\"matters\": 0.0", "matters"),
        ("\"team\": \"a\"", "\"team\": \" \"", "`team` is empty"),
        ("\"n\": 24", "\"n\": 3", "3 cooks on 12 fires cannot carry an effect"),
        ("\"n\": 24", "\"n\": 24, \"cook\": \"x\"", "unknown field `cook`"),
        (&format!("\"std_error\": {error}"), "\"std_error\": 0.0", "must be above 0"),
        (&format!("\"std_error\": {error}"), "\"std_error\": 1e999", "out of range"),
        (&format!("\"std_error\": {error}"), "\"std_error\": NaN", "cannot be read"),
        (&format!("\"std_error\": {error}"), "\"std_error\": null", "expected f64"),
        (
            &format!("\"std_error\": {error}"),
            "\"std_error\": 1.0",
            "not its squared standard error",
        ),
    ] {
        let said = damaged(from, to);
        assert!(said.starts_with("a.json: ") && said.contains(expected), "{from} → {to}: {said}");
        assert!(said.contains("--effects-only"), "{said}");
    }
    for (half, expected) in [
        ("", "is empty"),
        (" \n", "is empty"),
        (&text[..400], "cannot be read"),
        ("{}", "has no `schema`"),
    ] {
        let said = read_effects(half, &own.path).unwrap_err().to_string();
        assert!(said.contains(expected), "{said}");
    }
}
