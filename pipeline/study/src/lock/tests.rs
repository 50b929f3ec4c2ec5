//! What a lock says, and what becomes of it by accident.

use super::*;
use proptest::prelude::*;
use std::path::Path;

fn claims(ids: &[(&str, f64)]) -> Claims {
    let one = |(id, matters): &(&str, f64)| {
        format!(
            "[[claim]]\nid = \"{id}\"\nsays = \"s\"\nkind = \"trend\"\noutcome = \"o\"\n\
             better = \"lower\"\nby = \"b\"\nper = 1\nmatters = {matters}\n"
        )
    };
    let text = ids.iter().map(one).collect::<Vec<_>>().concat();
    Claims::parse(&text, Path::new("claims.toml")).unwrap()
}

fn cook(name: &str) -> SeenCook {
    SeenCook { name: name.to_owned(), content: None, meat_on_ms: None }
}

fn names(family: &Family) -> Vec<&str> {
    family.known.keys().map(String::as_str).collect()
}

fn read(text: &str) -> Result<Lock, StudyError> {
    Lock::parse(text, Path::new("claims.lock"))
}

#[test]
fn claims_seen_together_form_a_family() {
    let both = claims(&[("one", 1.0), ("two", 1.0)]);
    let lock = Lock::update(None, &both, &["b", "a", "b"]);
    assert_eq!(lock.families.len(), 1);
    assert_eq!(names(&lock.families[0]), ["a", "b"]);
    assert_eq!(lock.families[0].size(), 2);
    assert!(lock.families[0].knew(&cook("a")) && !lock.families[0].knew(&cook("c")));

    let later = claims(&[("one", 1.0), ("two", 1.0), ("three", 1.0)]);
    let second = Lock::update(Some(&lock), &later, &["a", "b", "c"]);
    assert_eq!(second.families[0], lock.families[0]);
    assert_eq!(names(&second.families[1]), ["a", "b", "c"]);
    assert_eq!(second.families[1].size(), 1);
}

#[test]
fn the_same_run_again_changes_nothing() {
    let both = claims(&[("one", 1.0), ("two", 1.0)]);
    let lock = Lock::update(None, &both, &["a"]);
    assert_eq!(Lock::update(Some(&lock), &both, &["a"]), lock);
    // Nor does a later run with more cooks: the claims are known already.
    assert_eq!(Lock::update(Some(&lock), &both, &["a", "b"]), lock);
}

#[test]
fn withdrawn_and_changed_claims_stay() {
    let lock = Lock::update(None, &claims(&[("one", 1.0), ("two", 1.0)]), &["a"]);
    let withdrawn = Lock::update(Some(&lock), &claims(&[("one", 1.0)]), &["a", "b"]);
    assert_eq!(withdrawn, lock);
    let changed = Lock::update(Some(&lock), &claims(&[("one", 2.0)]), &["a", "b"]);
    assert_eq!(changed.families.len(), 2);
    assert_eq!(changed.families[0].size(), 2);
    assert_eq!(names(&changed.families[1]), ["a", "b"]);
    let back = Lock::update(Some(&changed), &claims(&[("one", 1.0)]), &["a", "b", "c"]);
    assert_eq!(back, changed);
}

#[test]
fn the_text_reads_back() {
    let lock = Lock::update(None, &claims(&[("one", 1.0), ("two", 1.0)]), &["b", "a"]);
    let text = lock.to_toml().unwrap();
    assert!(text.starts_with("# Written by cookstudy"), "{text}");
    assert_eq!(read(&text).unwrap(), lock);
    assert_eq!(read(&Lock::default().to_toml().unwrap()).unwrap(), Lock::default());
}

#[test]
fn a_broken_lock_is_refused_with_the_reason() {
    let lock = Lock::update(None, &claims(&[("one", 1.0)]), &["a"]);
    let text = lock.to_toml().unwrap();
    let hash = &lock.families[0].claims[0].hash;
    for (changed, expected) in [
        (text.replace("lock/2", "lock/3"), "this version reads `cookstudy/claims-lock/2`"),
        (text.replace(hash.as_str(), "abc"), "not 64 lower-case hexadecimal digits: `abc`"),
        (text.replace(hash.as_str(), &"G".repeat(64)), "hexadecimal"),
        (text.replace("share", "shrae"), "did you mean `share`?"),
        (text.replace("share = 1.0", "share = 1.5"), "it lies above 0 and is at most 1"),
        (text.replace("share = 1.0", "share = 1.0\nseen_at = \"today\""), "is no instant"),
        (format!("{text}\n[[family]]\nclaim = []\n"), "has no claims"),
        (
            format!("{text}\n[[family]]\n[[family.claim]]\nid = \"one\"\nhash = \"{hash}\"\n"),
            "locked twice",
        ),
    ] {
        let message = read(&changed).unwrap_err().to_string();
        assert!(message.contains(expected), "{message}");
    }
}

/// A lock with a date, so that looks are planned.
fn dated() -> Lock {
    let look = Look { cooks: &[], at: "2026-03-01T10:00:00Z".parse().unwrap(), definition: "d" };
    Lock::look(None, &claims(&[("one", 1.0)]), &look)
}

#[test]
fn looks_that_do_not_rise_and_unknown_spending_are_refused_by_key_and_value() {
    let text = dated().to_toml().unwrap();
    assert_eq!(read(&text).unwrap(), dated());
    let looks = text.split_once("looks = ").unwrap().1.split_once(']').unwrap().0.to_owned() + "]";
    let with_looks = |other: &str| text.replace(&looks, other);
    for (changed, expected) in [
        (text.replace("obrien-fleming", "pocock"), "`pocock`"),
        (
            text.replace("spending = \"obrien-fleming\"\n", ""),
            "no `spending`: both stand there, or neither",
        ),
        (with_looks("[]"), "`looks = []` and a `spending`"),
        (with_looks("[10, 10, 40]"), "`looks = [10, 10, 40]` do not rise"),
        (with_looks("[20, 10, 40]"), "do not rise"),
        (with_looks("[0, 40]"), "do not rise from above 0"),
    ] {
        let message = read(&changed).unwrap_err().to_string();
        assert!(message.starts_with("claims.lock") && message.contains(expected), "{message}");
    }
    let unknown = read(&text.replace("obrien-fleming", "pocock")).unwrap_err().to_string();
    assert!(
        unknown.contains("spending = \"pocock\"") && unknown.contains("`obrien-fleming`"),
        "{unknown}"
    );
}

proptest! {
    /// What is written is read back, whatever the cooks are called.
    #[test]
    fn any_lock_reads_back(
        families in prop::collection::vec(
            (prop::collection::vec("\\PC{1,12}", 0..6), 1usize..4), 0..4,
        ),
    ) {
        let mut lock = Lock::default();
        let mut asked = Vec::new();
        for (cooks, count) in &families {
            for _ in 0..*count {
                asked.push((format!("claim-{}", asked.len()), 1.0));
            }
            let ids: Vec<(&str, f64)> = asked.iter().map(|(id, m)| (id.as_str(), *m)).collect();
            lock = Lock::update(Some(&lock), &claims(&ids), cooks);
        }
        prop_assert_eq!(lock.families.len(), families.len());
        for (family, (cooks, count)) in lock.families.iter().zip(&families) {
            prop_assert_eq!(family.size(), *count);
            prop_assert!(cooks.iter().all(|name| family.knew(&cook(name))));
        }
        prop_assert_eq!(read(&lock.to_toml().unwrap()).unwrap(), lock);
    }

    /// Any text is read or refused, never a panic.
    #[test]
    fn any_text_is_read_or_refused(text in "(schema|family|claim|[\\[\\]=\"\n éλ{},#x0-9]){0,40}") {
        let _ = read(&text);
        let _ = Claims::parse(&text, Path::new("claims.toml"));
    }
}
