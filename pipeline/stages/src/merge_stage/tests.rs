use super::*;
use crate::progress::Silent;
use cook::{
    Card, ChannelReadings, Event, EventKind, Flag, Kilograms, LineAccount, MarkTimes, RejectedRow,
    Role, SourceRecord, WrapMethod,
};
use proptest::prelude::*;
use std::path::Path;
use store::Ingested;

const HOUR_MS: i64 = 3_600_000;
const START_MS: i64 = 1_750_000_000_000;

fn card(cook: &str, season: &str, weight: f64) -> Card {
    Card {
        cook: cook.into(),
        season: season.into(),
        fire: format!("fire of {cook}"),
        logs: vec![format!("{cook}.csv")],
        date: Some("2025-06-15".into()),
        pit: Some("Big Iron".into()),
        cut: Some("brisket".into()),
        trimmed_weight: Some(Kilograms(weight)),
        lead_channel: Some("zz-lead".into()),
        marks: MarkTimes {
            meat_on_ms: Some(START_MS),
            pull_ms: Some(START_MS + 10 * HOUR_MS),
            ..MarkTimes::default()
        },
        ..Card::default()
    }
}

fn readings(card: &Card, temperatures: &[f32]) -> CookReadings {
    let channel = |name: &str, role| {
        let mut channel = ChannelReadings::new(name, role);
        for (minute, temperature) in temperatures.iter().enumerate() {
            channel.at_ms.push(START_MS + 60_000 * minute as i64);
            channel.temp_c.push(*temperature);
            channel.flag.push(Flag::Good);
            channel.source.push(0);
            channel.line.push(minute as u32 + 2);
        }
        channel
    };
    CookReadings {
        cook: card.cook.clone(),
        season: card.season.clone(),
        channels: vec![channel("Grate", Role::Pit), channel("zz-lead", Role::Meat)],
        sources: vec![format!("logs/{}", card.logs[0])],
    }
}

/// A store of these cooks, each with a log, an event and a rejected row.
fn make_store(root: &Path, cards: &[Card], temperatures: &[f32]) -> Store {
    let store = Store::create(root).unwrap();
    let mut records = Vec::new();
    let (mut events, mut rejected, mut sources) = (Vec::new(), Vec::new(), Vec::new());
    for card in cards {
        let readings = readings(card, temperatures);
        store.write_readings(&readings).unwrap();
        records.push(CookRecord {
            card: card.clone(),
            computed_from: format!("hash of {}", card.cook),
            log_start_ms: readings.first_ms(),
            log_end_ms: readings.last_ms(),
        });
        events.push(Event {
            cook: card.cook.clone(),
            at_ms: START_MS + HOUR_MS,
            kind: EventKind::Wrap,
            value: Some("paper".into()),
            note: Some("zz-note".into()),
        });
        let row = RejectedRow {
            source: readings.sources[0].clone(),
            line: 7,
            byte: 90,
            column: Some("zz-column".into()),
            code: "bad-number".into(),
            text: "zz-text".into(),
        };
        rejected.push(RejectedRow { column: Some("zz-other".into()), ..row.clone() });
        rejected.push(row);
        sources.push(SourceRecord {
            path: readings.sources[0].clone(),
            content_hash: format!("zz-hash-{}", card.cook),
            layout: "zz-layout".into(),
            evidence: Vec::new(),
            account: LineAccount {
                lines: 9,
                data: 7,
                header: 1,
                rejected: 1,
                ..Default::default()
            },
        });
    }
    sort_records(&mut records);
    sort_others(&mut events, &mut rejected, &mut sources);
    let ingested = Ingested {
        events: &events,
        scores: &[],
        rejected: &rejected,
        sources: &sources,
        cooks: &records,
    };
    store.encode_ingested(ingested).unwrap().write().unwrap();
    store
}

fn request(inputs: &[(&str, &Path)], out: &Path) -> MergeRequest {
    let input = |(team, path): &(&str, &Path)| MergeInput {
        team: Some((*team).to_owned()).filter(|team| !team.is_empty()),
        path: (*path).to_owned(),
    };
    MergeRequest {
        inputs: inputs.iter().map(input).collect(),
        out: out.to_owned(),
        anonymise: false,
        keep: BTreeSet::new(),
        key: None,
        without: BTreeSet::new(),
        // All cooks of these stores have one curve.
        twice: true,
    }
}

fn refusal(request: &MergeRequest) -> String {
    merge(request, &Silent).unwrap_err().to_string()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn what_was_merged_can_be_told_apart_again_whole(
        oak in prop::collection::btree_map("[a-z]{1,6}", 1.0f64..9.0, 1..5),
        river in prop::collection::btree_map("[a-z]{1,6}", 1.0f64..9.0, 1..5),
        temperatures in prop::collection::vec(0.0f32..200.0, 2..20),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let cards = |of: &std::collections::BTreeMap<String, f64>| -> Vec<Card> {
            of.iter().map(|(cook, weight)| card(cook, "2025", *weight)).collect()
        };
        let stores = [
            ("Oak Hill", make_store(&at("a"), &cards(&oak), &temperatures)),
            ("river", make_store(&at("b"), &cards(&river), &temperatures)),
        ];
        let inputs = [("Oak Hill", at("a")), ("river", at("b"))];
        let named: Vec<(&str, &Path)> = inputs.iter().map(|(t, p)| (*t, p.as_path())).collect();
        let summary = merge(&request(&named, &at("out")), &Silent).unwrap();
        prop_assert_eq!(summary.cooks, oak.len() + river.len());
        let mut backwards = named.clone();
        backwards.reverse();
        prop_assert!(!merge(&request(&backwards, &at("out")), &Silent).unwrap().changed);

        let out = Store::open(&at("out")).unwrap();
        let (records, events) = (out.read_cooks().unwrap(), out.read_events().unwrap());
        let (rejected, sources) = (out.read_rejected().unwrap(), out.read_sources().unwrap());
        for (team, store) in &stores {
            let bare = |name: &str| name.strip_prefix(&format!("{team}.")).map(str::to_owned);
            let bare_path = |path: &str| path.strip_prefix(&format!("{team}/")).map(str::to_owned);
            let own: Vec<CookRecord> = records
                .iter()
                .filter(|record| bare(&record.card.cook).is_some())
                .map(|record| {
                    let mut card = record.card.clone();
                    card.cook = bare(&card.cook).unwrap();
                    card.fire = bare(&card.fire).unwrap();
                    card.pit = card.pit.and_then(|pit| bare(&pit));
                    assert_eq!(card.extra.remove(0), ("team".to_owned(), (*team).to_owned()));
                    let computed_from = format!("hash of {}", card.cook);
                    CookRecord { card, computed_from, ..record.clone() }
                })
                .collect();
            prop_assert_eq!(&own, &store.read_cooks().unwrap());
            for record in &own {
                let (season, cook) = (&record.card.season, &record.card.cook);
                let mut copy = out.read_readings(season, &format!("{team}.{cook}")).unwrap();
                copy.cook.clone_from(cook);
                copy.sources = copy.sources.iter().map(|path| bare_path(path).unwrap()).collect();
                prop_assert_eq!(copy, store.read_readings(season, cook).unwrap());
            }
            let own: Vec<Event> = events
                .iter()
                .filter_map(|event| Some(Event { cook: bare(&event.cook)?, ..event.clone() }))
                .collect();
            prop_assert_eq!(own, store.read_events().unwrap());
            let own: Vec<RejectedRow> = rejected
                .iter()
                .filter_map(|row| Some(RejectedRow { source: bare_path(&row.source)?, ..row.clone() }))
                .collect();
            prop_assert_eq!(own, store.read_rejected().unwrap());
            let own: Vec<SourceRecord> = sources
                .iter()
                .filter_map(|log| Some(SourceRecord { path: bare_path(&log.path)?, ..log.clone() }))
                .collect();
            prop_assert_eq!(own, store.read_sources().unwrap());
        }
    }
}

#[test]
fn a_clash_of_ids_names_both_stores_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    make_store(&at("a"), &[card("may-1", "2024", 5.0)], &[20.0]);
    make_store(&at("b"), &[card("may-1", "2025", 5.0)], &[20.0]);
    let (a, b) = (at("a"), at("b"));
    let error = refusal(&request(&[("oak", &a), ("oak", &b)], &at("out")));
    assert!(error.contains("`oak.may-1` is in") && error.contains("name one of them"), "{error}");
    assert!(error.contains(&a.display().to_string()) && error.contains(&b.display().to_string()));
    assert!(!at("out").exists());
    // Two teams may both have a `may-1`; two stores of one team keep their logs apart.
    merge(&request(&[("oak", &a), ("river", &b)], &at("out")), &Silent).unwrap();
    // A merged store keeps its teams; its names are not put in front twice. It is read without its
    // season folder too, as earlier versions made it.
    make_store(&at("c"), &[card("june-1", "2025", 5.0)], &[20.0]);
    std::fs::rename(at("out/store"), at("bare")).unwrap();
    let (out, c) = (at("bare"), at("c"));
    merge(&request(&[("", &out), ("oak", &c)], &at("all")), &Silent).unwrap();
    let records = Store::open(&at("all")).unwrap().read_cooks().unwrap();
    let names: Vec<&str> = records.iter().map(|record| record.card.cook.as_str()).collect();
    assert_eq!(names, ["oak.may-1", "oak.june-1", "river.may-1"]);
    let error = refusal(&request(&[("x", &out)], &at("other")));
    assert!(error.contains("leave `x=` away"), "{error}");
}

#[test]
fn what_cannot_be_merged_is_answered() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let store = make_store(&at("a"), &[card("may-1", "2024", 5.0)], &[20.0]);
    let a = at("a");
    let error = refusal(&request(&[("", &a)], &at("out")));
    assert!(error.contains("whose cooks are these? Write `TEAM="), "{error}");
    let error = refusal(&request(&[("oak", &a), ("river", &a)], &at("out")));
    assert!(error.contains("are the same store"), "{error}");
    let error = refusal(&request(&[("oak", &at("nowhere"))], &at("out")));
    assert!(error.contains("nowhere"), "{error}");
    let error = refusal(&request(&[("oak", &a)], &a));
    assert!(error.contains("is there already"), "{error}");
    let error = refusal(&request(&[(&"x".repeat(200), &a)], &at("out")));
    assert!(error.contains("shorten the team's name"), "{error}");
    assert!(!at("out").exists());
    let held = store.lock().unwrap();
    assert!(matches!(
        merge(&request(&[("oak", &a)], &at("out")), &Silent),
        Err(StageError::Store(store::StoreError::Locked { .. }))
    ));
    drop(held);
    // Another version: the same bytes but for its number, of the same length.
    let path = a.join("cooks.parquet");
    let own = format!("cookstudy {}", env!("CARGO_PKG_VERSION"));
    let other = format!("cookstudy {}", "9".repeat(own.len() - "cookstudy ".len()));
    let mut bytes = std::fs::read(&path).unwrap();
    let place = bytes.windows(own.len()).rposition(|part| part == own.as_bytes()).unwrap();
    bytes[place..place + own.len()].copy_from_slice(other.as_bytes());
    std::fs::write(&path, bytes).unwrap();
    let error = refusal(&request(&[("oak", &a)], &at("out")));
    assert!(error.contains(&other) && error.contains(&own), "{error}");
}

#[test]
fn a_cook_that_is_gone_or_moved_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    make_store(&at("a"), &[card("one", "2024", 5.0), card("two", "2024", 6.0)], &[20.0]);
    let a = at("a");
    let asked = request(&[("oak", &a)], &at("out"));
    assert!(merge(&asked, &Silent).unwrap().changed);
    std::fs::remove_dir_all(&a).unwrap();
    make_store(&a, &[card("one", "2025", 5.0)], &[20.0]);
    assert!(merge(&asked, &Silent).unwrap().changed);
    let out = Store::open(&at("out")).unwrap();
    let expected = vec![("2025".to_owned(), "oak.one".to_owned())];
    assert_eq!(out.cooks_with_readings().unwrap(), expected);
    assert!(!merge(&asked, &Silent).unwrap().changed);
}

/// A card every text of which can be told by its beginning.
fn wordy_card(cook: &str) -> Card {
    let text = |what: &str| Some(format!("zz-{what}"));
    Card {
        contest: text("contest"),
        place: text("place"),
        pit: text("pit"),
        cooker: text("cooker"),
        cut: text("cut"),
        grade: Some("prime".into()),
        supplier: text("supplier"),
        lot: text("lot"),
        wood: text("wood"),
        weather: text("weather"),
        wrap_method: WrapMethod::parse("zz-wrap"),
        hold_kind: text("hold"),
        arm: text("arm"),
        block: text("block"),
        exclude: text("reason"),
        cost: Some(98_765.25),
        scores: vec![("score_taste".into(), 7.0), ("score_zz_judge".into(), 6.0)],
        extra: vec![
            ("zz_column".into(), "zz-value".into()),
            ("rub_g".into(), "40.5".into()),
            ("butcher".into(), "zz-butcher".into()),
        ],
        ..card(cook, "zz-season", 5.0)
    }
}

#[test]
fn an_anonymised_store_holds_none_of_the_words() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    make_store(&at("a"), &[wordy_card("zz-one"), wordy_card("zz-two")], &[20.0, 21.0]);
    let a = at("a");
    let asked = MergeRequest {
        anonymise: true,
        keep: BTreeSet::from(["rub_g".to_owned(), "butcher".to_owned()]),
        ..request(&[("zz-team", &a)], &at("out"))
    };
    let summary = merge(&asked, &Silent).unwrap();
    assert_eq!(summary.notes, ["column `butcher` holds texts: it is kept as codes"]);
    let out = Store::open(&at("out")).unwrap();
    let records = out.read_cooks().unwrap();
    let lead = records[0].card.lead_channel.as_deref();
    assert_eq!(lead, Some("meat-1"));
    let all = format!(
        "{records:?}{:?}{:?}{:?}{:?}{}",
        out.read_events().unwrap(),
        out.read_rejected().unwrap(),
        out.read_sources().unwrap(),
        out.read_readings(&records[0].card.season, &records[0].card.cook).unwrap(),
        std::fs::read_to_string(at("out").join(STORE).join(MERGED)).unwrap()
    );
    // The words begin so; a code may hold the letters by chance.
    for word in ["zz-", "zz_", "Grate", "98765", "2025-06-15", &START_MS.to_string(), "hash of"] {
        assert!(!all.contains(word), "`{word}` in {all}");
    }
    let card = &records[0].card;
    assert_eq!(card.season, "season-1");
    assert_eq!(card.grade.as_deref(), Some("prime"));
    assert_eq!(card.scores, [("score_taste".to_owned(), 7.0)]);
    assert_eq!(card.trimmed_weight, Some(Kilograms(5.0)));
    assert_eq!(card.pit, records[1].card.pit);
    assert_eq!(card.extra[1], ("rub_g".to_owned(), "40.5".to_owned()));
    assert!(card.extra[2].1.starts_with("value-"), "{:?}", card.extra);
    // The clock ran on: as long a cook, the same day of the week, the same hour.
    let marks = card.marks;
    assert_eq!(marks.pull_ms.unwrap() - marks.meat_on_ms.unwrap(), 10 * HOUR_MS);
    assert_eq!((START_MS - marks.meat_on_ms.unwrap()) % (7 * 24 * HOUR_MS), 0);
    // Nothing of the account is lost.
    assert_eq!(out.read_rejected().unwrap().len(), 4);
    assert_eq!(out.read_sources().unwrap()[0].account.lines, 9);

    let again = MergeRequest { out: at("again"), ..asked.clone() };
    merge(&again, &Silent).unwrap();
    assert_eq!(Store::open(&at("again")).unwrap().read_cooks().unwrap(), records);
    let error =
        refusal(&MergeRequest { keep: BTreeSet::from(["rubg".to_owned()]), ..asked.clone() });
    assert!(error.contains("did you mean `rub_g`?"), "{error}");
    let error = refusal(&MergeRequest { anonymise: false, keep: BTreeSet::new(), ..asked });
    assert!(error.contains("choose another --out"), "{error}");
}

#[test]
fn a_key_keeps_the_codes_as_cooks_are_added() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    make_store(&at("a"), &[wordy_card("one")], &[20.0]);
    make_store(&at("b"), &[wordy_card("one"), wordy_card("two")], &[20.0]);
    let codes = |store: &str, out: &str, key: Option<PathBuf>| -> BTreeSet<String> {
        let path = at(store);
        let asked = MergeRequest { anonymise: true, key, ..request(&[("oak", &path)], &at(out)) };
        merge(&asked, &Silent).unwrap();
        let records = Store::open(&at(out)).unwrap().read_cooks().unwrap();
        records.into_iter().map(|record| record.card.cook).collect()
    };
    let key = at("key.json");
    let first = codes("a", "first", Some(key.clone()));
    let text = std::fs::read_to_string(&key).unwrap();
    assert!(text.contains("oak.one") && text.contains(first.first().unwrap()), "{text}");
    assert!(codes("b", "second", Some(key.clone())).is_superset(&first));
    assert!(codes("b", "third", None).is_disjoint(&first));
    let inside = MergeRequest {
        anonymise: true,
        key: Some(at("first/key.json")),
        ..request(&[("oak", &at("a"))], &at("first"))
    };
    assert!(refusal(&inside).contains("keep it elsewhere"));
}

#[test]
fn a_merge_that_was_cut_off_is_done_again_whole() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    make_store(&at("a"), &[card("one", "2024", 5.0), card("two", "2025", 6.0)], &[20.0]);
    let a = at("a");
    merge(&request(&[("oak", &a)], &at("whole")), &Silent).unwrap();
    let tables = ["cooks", "events", "rejected", "sources"].map(|name| format!("{name}.parquet"));
    let whole: Vec<Vec<u8>> =
        tables.iter().map(|name| std::fs::read(at("whole/store").join(name)).unwrap()).collect();
    // Cut at its first step, after its marker, among the readings, and among the tables.
    for left in ["nothing", "marker", "readings", "tables"] {
        let (folder, out) = (at(left), at(left).join(STORE));
        std::fs::create_dir_all(&out).unwrap();
        std::fs::write(out.join(".lock"), "").unwrap();
        if left != "nothing" {
            std::fs::copy(at("whole/store").join(MERGED), out.join(MERGED)).unwrap();
        }
        if left == "readings" || left == "tables" {
            let store = Store::open(&out).unwrap();
            let readings = Store::open(&at("whole")).unwrap().read_readings("2024", "oak.one");
            store.write_readings(&readings.unwrap()).unwrap();
            std::fs::write(out.join("readings/season=2024/.partial-x"), "half").unwrap();
        }
        if left == "tables" {
            std::fs::copy(at("whole/store").join(&tables[1]), out.join(&tables[1])).unwrap();
        }
        assert!(merge(&request(&[("oak", &a)], &folder), &Silent).unwrap().changed, "{left}");
        for (name, bytes) in tables.iter().zip(&whole) {
            assert!(std::fs::read(out.join(name)).unwrap() == *bytes, "{left}: {name}");
        }
        let store = Store::open(&out).unwrap();
        assert_eq!(store.cooks_with_readings().unwrap().len(), 2, "{left}");
        assert!(!out.join("readings/season=2024/.partial-x").exists(), "{left}");
    }
}
