//! Accidents to `claims.lock` and to what it speaks of: each is caught or harmless.
#![allow(clippy::type_complexity, reason = "a table of names and the functions that give them")]

use columns::{Column, Table};
use std::path::Path;
use study::analysis::{Evidence, judge_briefly, take_looks};
use study::lock::Look;
use study::result::ClaimResult;
use study::{Claims, Lock, MeasureTable, Standing, Verdict};

const DAY_MS: i64 = 86_400_000;
const SEEN_AT: &str = "2026-06-01T12:00:00Z";
const LATER: &str = "2026-11-01T12:00:00Z";
const DEFINITION: &str = "the definition of then";

/// A cook a week, 30 of 2025 and 14 of the time after the claim was seen; all but the name is their own.
#[derive(Clone)]
struct Cook {
    name: String,
    meat_on_ms: i64,
    weight_kg: f64,
    pit_c: f64,
    delay_min: f64,
}

fn season() -> Vec<Cook> {
    let seen: i64 = SEEN_AT.parse::<jiff::Timestamp>().unwrap().as_millisecond();
    (0..44i64)
        .map(|week| Cook {
            name: format!("cook-{week:02}"),
            meat_on_ms: seen + (week - 30) * 7 * DAY_MS + DAY_MS,
            weight_kg: 5.0 + 0.1 * (week * 7 % 13) as f64,
            pit_c: 105.0 + (week * 5 % 17) as f64,
            delay_min: 200.0 - 3.0 * (week * 5 % 17) as f64 + (week * 11 % 7) as f64,
        })
        .collect()
}

fn table(cooks: &[Cook]) -> MeasureTable {
    let mut table = Table::new();
    table.push("cook", Column::Text(cooks.iter().map(|c| Some(c.name.clone())).collect()));
    table.push("meat_on_ms", Column::Int(cooks.iter().map(|c| Some(c.meat_on_ms)).collect()));
    let numbers: [(&str, fn(&Cook) -> f64); 3] = [
        ("trimmed_weight_kg", |cook| cook.weight_kg),
        ("pit_early_c", |cook| cook.pit_c),
        ("stall_delay_min", |cook| cook.delay_min),
    ];
    for (name, value) in numbers {
        table.push(name, Column::Float(cooks.iter().map(|cook| Some(value(cook))).collect()));
    }
    MeasureTable::new(&table).unwrap()
}

fn claims(matters: f64) -> Claims {
    claims_judged_after(matters, 12)
}

fn claims_judged_after(matters: f64, cooks: usize) -> Claims {
    let text = format!(
        "[[claim]]\nid = \"hotter\"\nsays = \"s\"\nkind = \"trend\"\noutcome = \"stall_delay_min\"\n\
         better = \"lower\"\nby = \"pit_early_c\"\nper = 5\nmatters = {matters}\njudge_after_cooks = {cooks}\n"
    );
    Claims::parse(&text, Path::new("claims.toml")).unwrap()
}

fn look(old: Option<&Lock>, claims: &Claims, cooks: &[Cook], at: &str) -> Lock {
    let table = table(cooks);
    let cooks = table.seen_cooks().unwrap();
    let at = at.parse().unwrap();
    let look = Look { at, definition: DEFINITION, cooks: &cooks };
    let mut lock = Lock::look(old, claims, &look);
    let evidence = Evidence { definition: Some(DEFINITION), ..Evidence::default() };
    take_looks(&table, &claims.claims, &mut lock, at, evidence).unwrap();
    // Whatever it is, the same look again changes nothing, and its text reads back.
    assert_eq!(Lock::look(Some(&lock), claims, &look), lock);
    let mut again = lock.clone();
    assert_eq!(take_looks(&table, &claims.claims, &mut again, at, evidence).unwrap(), []);
    assert_eq!(again, lock);
    assert_eq!(Lock::parse(&lock.to_toml().unwrap(), Path::new("claims.lock")).unwrap(), lock);
    lock
}

fn judged_by(definition: &str, lock: &Lock, claims: &Claims, cooks: &[Cook]) -> ClaimResult {
    let evidence = Evidence { definition: Some(definition), ..Evidence::default() };
    judge_briefly(&table(cooks), &claims.claims[0], lock, evidence).unwrap()
}

fn judged(lock: &Lock, cooks: &[Cook]) -> ClaimResult {
    judged_by(DEFINITION, lock, &claims(5.0), cooks)
}

/// The lock of the day on which the claim was written down, and that of the end of the season.
fn locks() -> (Lock, Lock) {
    let all = season();
    let first = look(None, &claims(5.0), &all[..30], SEEN_AT);
    let last = look(Some(&first), &claims(5.0), &all, LATER);
    (first, last)
}

/// Whether it says that something happened to the lock or to its cooks.
fn told(found: &ClaimResult) -> bool {
    // What is told by a run stands in the report too.
    assert!(found.lock_warnings.iter().all(|warning| found.notes.contains(warning)));
    !found.lock_warnings.is_empty()
}

#[test]
fn nothing_happened() {
    let (first, last) = locks();
    assert_eq!(first.families[0].share, 0.6);
    let found = judged(&last, &season());
    assert_eq!((found.standing, found.n), (Standing::Confirmed, 12));
    assert_eq!((found.confirming_cooks, told(&found)), (14, false), "{:?}", found.notes);
    assert!((found.effect.unwrap().level - 0.94).abs() < 1e-12);
}

#[test]
fn a_known_cook_that_is_renamed_confirms_nothing() {
    // By its clock it went on later than the claim was seen, so that its date does not rule it out.
    let mut cooks = season();
    cooks[3].meat_on_ms = cooks[33].meat_on_ms + DAY_MS / 2;
    let first = look(None, &claims(5.0), &cooks[..30], SEEN_AT);
    cooks[3].name = "another-name".into();
    let last = look(Some(&first), &claims(5.0), &cooks, LATER);
    let found = judged(&last, &cooks);
    assert_eq!((found.confirming_cooks, told(&found)), (14, false), "{:?}", found.notes);
}

#[test]
fn a_judged_cook_that_is_renamed_is_still_judged() {
    let (_, last) = locks();
    let before = judged(&last, &season());
    let mut cooks = season();
    cooks[31].name = "another-name".into();
    assert_eq!(judged(&last, &cooks).effect, before.effect);
}

#[test]
fn merged_cooks_bear_their_teams_name_and_are_the_same() {
    let (_, last) = locks();
    let before = judged(&last, &season());
    let mut cooks = season();
    for cook in &mut cooks {
        cook.name = format!("smoke-ring/{}", cook.name);
    }
    let merged = look(Some(&last), &claims(5.0), &cooks, LATER);
    let found = judged(&merged, &cooks);
    assert_eq!((found.confirming_cooks, found.effect), (14, before.effect));
}

#[test]
fn a_deleted_lock_makes_all_cooks_known() {
    let anew = look(None, &claims(5.0), &season(), LATER);
    let found = judged(&anew, &season());
    assert_eq!((found.standing, found.confirming_cooks), (Standing::AfterTheFact, 0));
}

#[test]
fn a_deleted_lock_does_not_make_old_cooks_new_when_their_rows_come_back() {
    let cooks = season();
    let anew = look(None, &claims(5.0), &cooks[..5], LATER);
    let found = judged(&look(Some(&anew), &claims(5.0), &cooks, LATER), &cooks);
    assert_eq!((found.standing, found.confirming_cooks), (Standing::AfterTheFact, 0));
}

#[test]
fn a_moved_definition_is_not_confirmed_and_says_so() {
    let (_, last) = locks();
    let found = judged_by("another", &last, &claims(5.0), &season());
    assert_eq!(found.standing, Standing::AfterTheFact);
    assert!(found.notes.iter().any(|note| note.contains("definition was moved")), "{found:?}");
    // Set back, it is what it was.
    assert_eq!(judged(&last, &season()).standing, Standing::Confirmed);
}

#[test]
fn a_deleted_row_is_told() {
    let (_, last) = locks();
    let mut known = season();
    known.remove(4);
    let found = judged(&last, &known);
    assert_eq!(found.standing, Standing::Confirmed);
    assert!(found.notes[0].contains("no longer here (cook-04)"), "{:?}", found.notes);
    let mut judging = season();
    judging.remove(33);
    let found = judged(&last, &judging);
    assert_eq!(found.standing, Standing::AfterTheFact);
    assert!(found.notes[0].contains("it was to be judged on"), "{:?}", found.notes);
}

#[test]
fn an_old_log_that_turns_up_confirms_nothing() {
    let (first, _) = locks();
    let mut cooks = season();
    cooks.push(Cook { name: "found-in-a-drawer".into(), weight_kg: 6.6, ..cooks[2].clone() });
    let last = look(Some(&first), &claims(5.0), &cooks, LATER);
    assert_eq!(judged(&last, &cooks).confirming_cooks, 14);
}

#[test]
fn a_late_log_does_not_push_out_a_cook_that_was_judged() {
    let (_, last) = locks();
    let before = judged(&last, &season());
    let mut cooks = season();
    let late = Cook {
        name: "late".into(),
        meat_on_ms: cooks[30].meat_on_ms + DAY_MS,
        ..cooks[30].clone()
    };
    cooks.push(late);
    let again = look(Some(&last), &claims(5.0), &cooks, LATER);
    let found = judged(&again, &cooks);
    assert_eq!((found.confirming_cooks, found.effect), (15, before.effect));
}

#[test]
fn another_wording_is_another_claim_with_the_next_share() {
    let (_, last) = locks();
    let changed = look(Some(&last), &claims(6.0), &season(), LATER);
    assert!((changed.families[1].share - 0.24).abs() < 1e-12);
    let found = judged_by(DEFINITION, &changed, &claims(6.0), &season());
    assert_eq!((found.standing, found.confirming_cooks), (Standing::AfterTheFact, 0));
    // Taken back word for word, it is the first again, and the year's budget is spent as before.
    assert_eq!(look(Some(&changed), &claims(5.0), &season(), LATER), changed);
    let next_year = look(Some(&changed), &claims(7.0), &season(), "2027-01-02T00:00:00Z");
    assert_eq!(next_year.families[2].share, 0.6);
}

#[test]
fn a_date_that_is_corrected_does_not_make_a_known_cook_new() {
    let (first, _) = locks();
    let mut cooks = season();
    cooks[7].meat_on_ms += 400 * DAY_MS;
    let last = look(Some(&first), &claims(5.0), &cooks, LATER);
    assert_eq!(judged(&last, &cooks).confirming_cooks, 14);
}

#[test]
fn locks_that_were_merged_draw_on_one_budget() {
    let all = season();
    let mut merged = look(None, &claims(5.0), &all[..30], SEEN_AT);
    let other = look(None, &claims(6.0), &all[..30], "2026-05-01T12:00:00Z");
    merged.families.extend(other.families);
    merged.share_out();
    let shares: Vec<f64> = merged.families.iter().map(|family| family.share).collect();
    assert!((shares[0] - 0.24).abs() < 1e-12 && (shares[1] - 0.6).abs() < 1e-12, "{shares:?}");
}

#[test]
fn a_lock_of_the_first_format_is_taken_over() {
    let hash = claims(5.0).claims[0].hash();
    let known: Vec<String> =
        season()[..30].iter().map(|cook| format!("\"{}\"", cook.name)).collect();
    let text = format!(
        "schema = \"cookstudy/claims-lock/1\"\n[[family]]\nknown_cooks = [{}]\n[[family.claim]]\nid = \"hotter\"\nhash = \"{hash}\"\n",
        known.join(", ")
    );
    let old = Lock::parse(&text, Path::new("claims.lock")).unwrap();
    let lock = look(Some(&old), &claims(5.0), &season(), LATER);
    assert_eq!((lock.families[0].share, lock.families[0].seen()), (1.0, None));
    let found = judged(&lock, &season());
    assert_eq!((found.standing, found.confirming_cooks), (Standing::Confirmed, 14));
    // From then on its cooks are known by content too.
    let mut cooks = season();
    cooks[3].name = "another-name".into();
    assert_eq!(judged(&lock, &cooks).confirming_cooks, 14);
}

#[test]
fn a_card_that_is_edited_after_the_seal_does_not_move_it() {
    let (_, last) = locks();
    let sealed = judged(&last, &season()).sealed().cloned().unwrap();
    assert_eq!((sealed.verdict, sealed.cooks, sealed.rules), (Verdict::Yes, 12, 1));
    let mut cooks = season();
    for cook in &mut cooks[30..] {
        cook.delay_min = 150.0;
    }
    let last = look(Some(&last), &claims(5.0), &cooks, LATER);
    let found = judged(&last, &cooks);
    assert_eq!((found.standing, told(&found)), (Standing::AfterTheFact, true), "{:?}", found.notes);
    assert_eq!(found.sealed(), Some(&sealed));
    // A cook that it was not judged on is nobody's matter.
    let mut cooks = season();
    cooks[43].delay_min = 1.0;
    assert_eq!(judged(&last, &cooks).standing, Standing::Confirmed);
}

#[test]
fn other_rules_judge_beside_the_seal() {
    let (_, mut last) = locks();
    last.families[0].claims[0].taken[0].rules = 0;
    let found = judged(&last, &season());
    assert_eq!((found.standing, told(&found)), (Standing::AfterTheFact, true), "{:?}", found.notes);
    assert_eq!(found.sealed().unwrap().verdict, Verdict::Yes);
    // A seal that says something else than the same cooks say now is not unseated either.
    let (_, mut last) = locks();
    last.families[0].claims[0].taken[0].verdict = Verdict::Reverse;
    let evidence = Evidence { definition: Some(DEFINITION), ..Evidence::default() };
    let claim = &claims(5.0).claims[0];
    let found = study::analysis::judge(&table(&season()), claim, &last, evidence).unwrap();
    assert_eq!((found.standing, told(&found)), (Standing::AfterTheFact, true), "{:?}", found.notes);
}

#[test]
fn looks_that_decide_early_are_the_last() {
    let all = season();
    let asked = claims_judged_after(2.0, 40);
    let first = look(None, &asked, &all[..3], "2025-11-20T12:00:00Z");
    assert_eq!(first.families[0].claims[0].looks, [10, 20, 30, 40]);
    let confirming = |lock: &Lock, cooks: &[Cook]| judged_by(DEFINITION, lock, &asked, cooks);
    let few = look(Some(&first), &asked, &all[..10], LATER);
    let none = confirming(&few, &all[..10]);
    assert_eq!((none.standing, none.looks_taken.len()), (Standing::AfterTheFact, 0));
    let whole = look(Some(&few), &asked, &all, LATER);
    let taken = &whole.families[0].claims[0].taken;
    let sealed = confirming(&whole, &all);
    assert_eq!(sealed.standing, Standing::Confirmed, "{taken:?}");
    // Every look but the last was open, and the level grows from look to look.
    assert!(taken.iter().rev().skip(1).all(|look| look.verdict == Verdict::Open), "{taken:?}");
    assert!(taken.windows(2).all(|pair| pair[0].level > pair[1].level), "{taken:?}");
    assert_eq!(sealed.n, taken.last().unwrap().cooks);
    assert!(sealed.n < 40, "{taken:?}");
    // The same in one go or in several runs.
    let mut stepwise = first;
    for cooks in 4..=all.len() {
        stepwise = look(Some(&stepwise), &asked, &all[..cooks], LATER);
    }
    assert_eq!(stepwise, whole);
}
