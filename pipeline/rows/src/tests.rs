use crate::arrow::{from_batches, to_batch};
use crate::moved::measures_moved;
use crate::*;
use columns::{Column, Table, Value};
use cook::{
    Card, Celsius, ChannelReadings, CookReadings, Flag, Kilograms, MarkTimes, Role, Season,
};
use phases::{BorrowedReference, MovedConstant, StallSeen, moved_judgements, prepare_cook};
use std::collections::BTreeMap;

/// A core that warms from `from_c` towards a pit that swings about 120 °C, at a tenth of its
/// coefficient from 65 to 72 °C and at a coefficient that comes back over 9 °C, with noise.
fn readings(from_c: f64) -> CookReadings {
    let mut core_c = from_c;
    let mut channels =
        [ChannelReadings::new("Pit", Role::Pit), ChannelReadings::new("Meat", Role::Meat)];
    for minute in 0..1_000_i64 {
        let share =
            if core_c < 65.0 { 1.0 } else { 0.1 + 0.9 * ((core_c - 72.0) / 9.0).clamp(0.0, 1.0) };
        let pit_c = 120.0 + 8.0 * (minute as f64 / 40.0).sin();
        core_c += 0.17 * share * (pit_c - core_c) / 60.0;
        let noise_c = 0.1 * ((minute * 7_919 % 101) as f64 / 50.0 - 1.0);
        for (channel, value) in channels.iter_mut().zip([pit_c, core_c + noise_c]) {
            channel.at_ms.push(minute * 60_000);
            channel.temp_c.push(value as f32);
            channel.flag.push(Flag::Good);
            channel.source.push(0);
            channel.line.push(1);
        }
    }
    CookReadings {
        cook: "a".into(),
        season: "s".into(),
        channels: channels.into(),
        sources: vec!["l".into()],
    }
}

fn card() -> Card {
    let marks =
        MarkTimes { meat_on_ms: Some(0), pull_ms: Some(990 * 60_000), ..MarkTimes::default() };
    Card {
        cook: "a".into(),
        season: "s".into(),
        marks,
        trimmed_weight: Some(Kilograms(5.5)),
        pit_dew_point: Some(Celsius(45.0)),
        scores: vec![("score_taste".into(), 8.0)],
        extra: vec![("rub".into(), "dry".into())],
        ..Card::default()
    }
}

fn input(card: &Card) -> CookInput<'_> {
    CookInput { card, read_from: "l", log_ms: Some((0, 59_940_000)), events: &[], on_fire: &[] }
}

fn rules() -> Rules {
    Rules { interval_draws: 6, ..Rules::of(&Season::default()) }
}

fn derived(card: &Card, want: Want<'_>) -> Derived {
    Started::new(input(card), readings(5.0), &rules()).derive(None, want)
}

fn measured(card: &Card) -> Measured {
    derived(card, Want::All).measured.unwrap()
}

#[test]
fn a_moved_constant_moves_the_measures_that_are_named_and_no_others() {
    let (card, rules) = (card(), rules());
    let input = input(&card);
    let cook = || prepare_cook(&readings(5.0), &card, &[], &rules.definition).unwrap();
    let options = rules.options("a", 0, None);
    let mut found = cook().segmented(&options).unwrap();
    let base = measured::row_of(&input, &rules, &rules.definition, &found);
    let base: BTreeMap<&str, Value> =
        base.known.cells().into_iter().map(|(column, value)| (column.name, value)).collect();
    let k_per_h = found.segmentation.judgement.heating.k_per_h.clone();
    let mut moved_by_any = 0;
    for moved in moved_judgements(&cook(), &rules.definition, None) {
        found.segmentation.judgement = moved.judgement.unwrap();
        let row = measured::row_of(&input, &rules, &moved.definition, &found);
        for (columns::Description { name, .. }, value) in row.known.cells() {
            let differs = base[name] != value;
            moved_by_any += usize::from(differs);
            assert!(
                !differs || measures_moved().any(|moved| moved.name == name),
                "{name} {:?}",
                moved.constant
            );
        }
        if moved.constant == MovedConstant::StallFraction {
            // Equal bits: the table has no column of its own for these.
            let now = &found.segmentation.judgement.heating.k_per_h;
            assert!(now.iter().zip(&k_per_h).all(|(a, b)| a.to_bits() == b.to_bits()));
        }
    }
    assert!(moved_by_any > 20, "{moved_by_any}");
}

#[test]
fn measures_are_the_same_whether_phases_are_wanted_beside_them_or_there_before() {
    let card = card();
    let all = derived(&card, Want::All);
    let (phases, cleaning) = all.phases.unwrap();
    assert!(phases.stall_min_90.0.is_some());
    let later = derived(&card, Want::Measures(&phases));
    assert!(later.phases.is_none());
    assert_eq!(later.measured, all.measured);
    let alone = derived(&card, Want::Phases);
    assert!(alone.measured.is_none());
    assert_eq!(alone.phases, Some((phases, cleaning)));
}

#[test]
fn moved_seasons_are_the_own_one_with_what_the_setting_moves() {
    let card = card();
    let other = Card { cook: "b".into(), ..card.clone() };
    let without = Measured::without_readings(&input(&other), &rules());
    let tables = MeasuredTables::of(vec![measured(&card), without]);
    let seasons =
        moved_seasons(&tables.measures, &tables.history, &tables.moved, &tables.moved_history)
            .unwrap();
    let names: Vec<&str> = seasons.iter().map(|season| season.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "stall_fraction 0.35",
            "stall_fraction 0.45",
            "pit_lag_min 20",
            "pit_lag_min 30",
            "smoothing_min 10",
            "smoothing_min 40"
        ]
    );
    let minutes = |table: &Table| table.floats("stall_min").unwrap().to_vec();
    let own = minutes(&tables.measures);
    let stalls = moved_stalls(&tables.moved).unwrap();
    assert_eq!(stalls.len(), 6, "a cook without readings has no moved constants");
    for (season, stall) in seasons.iter().zip(&stalls) {
        assert_eq!(minutes(&season.measures), [stall.seen.stall_min, None]);
        assert_eq!(season.measures.column("total_min"), tables.measures.column("total_min"));
        assert_eq!(season.history.column("core_c"), tables.history.column("core_c"));
    }
    assert!(stalls[0].seen.stall_min < own[0] && own[0] < stalls[1].seen.stall_min);
    let k = |index: usize| seasons[index].history.column("k_per_h");
    assert_eq!(k(0), tables.history.column("k_per_h"));
    assert_ne!(k(5), tables.history.column("k_per_h"));
    let stalled = |index: usize| {
        let rows = seasons[index].history.booleans("in_stall").unwrap();
        rows.iter().filter(|row| **row == Some(true)).count()
    };
    assert!(0 < stalled(0) && stalled(0) < stalled(1), "{} {}", stalled(0), stalled(1));

    let cut = tables.moved_history.take(&[0]);
    let error = moved_seasons(&tables.measures, &tables.history, &tables.moved, &cut);
    assert!(error.unwrap_err().to_string().contains("`minute`"));
}

#[test]
fn the_season_s_own_stall_is_read_from_its_phases() {
    let card = card();
    let all = derived(&card, Want::All);
    let (phases, _) = all.phases.unwrap();
    let spans: Vec<_> = phases.phases.iter().map(|row| row.span).collect();
    let seen = StallSeen::among(&spans, phases.not_judged.is_none());
    let tables = MeasuredTables::of(vec![all.measured.unwrap()]);
    assert_eq!(tables.measures.floats("stall_min").unwrap(), [seen.stall_min]);
    let stalls = seen.stalls.map(|stalls| stalls as i64);
    assert_eq!(tables.measures.integers("stalls").unwrap(), [stalls]);
}

#[test]
fn rows_that_hold_come_back_from_the_tables_as_they_were_made() {
    let card = card();
    // A column of its own: the table has it for both.
    let mut other = Card { cook: "b".into(), ..card.clone() };
    other.extra.push(("smoke".into(), "blue".into()));
    let made = [measured(&card), measured(&other)];
    let tables = MeasuredTables::of(made.to_vec());
    let by_cook = tables.by_cook().unwrap();
    for (card, made) in [&card, &other].into_iter().zip(&made) {
        assert_eq!(by_cook.kept(card, made.computed_from()).as_ref(), Some(made));
        assert_eq!(by_cook.kept(card, "something else"), None);
    }
    let kept = [&card, &other].map(|card| {
        let made = if card.cook == "a" { &made[0] } else { &made[1] };
        by_cook.kept(card, made.computed_from()).unwrap()
    });
    assert_eq!(MeasuredTables::of(kept.to_vec()), tables);
}

#[test]
fn a_cook_whose_tables_were_not_written_together_is_made_anew() {
    let card = card();
    let made = measured(&card);
    let mut tables = MeasuredTables::of(vec![made.clone()]);
    let hashes = vec![Some("older".to_owned()); tables.moved.rows()];
    tables.moved.set("computed_from", Column::Text(hashes));
    assert_eq!(tables.by_cook().unwrap().kept(&card, made.computed_from()), None);
}

#[test]
fn a_cook_that_begins_warm_waits_for_what_others_lend() {
    let (card, rules) = (card(), rules());
    let own = Started::new(input(&card), readings(5.0), &rules);
    assert!(!own.asks_for_reference());
    let k_ref = own.own_reference().unwrap();
    let lent = BorrowedReference { median_per_h: k_ref, spread_log: 0.1, cooks: 3 };

    let start = || Started::new(input(&card), readings(45.0), &rules);
    assert!(start().asks_for_reference() && start().own_reference().is_none());
    let phases = |borrowed| start().derive(borrowed, Want::Phases).phases.unwrap().0;
    let (without, with) = (phases(None), phases(Some(lent)));
    assert_eq!(without.not_judged.as_deref(), Some("warm-start"));
    assert_eq!(with.not_judged, None);
    assert!(without.asks_for_reference());
    assert_eq!(with.k_ref_per_h, Some(k_ref));
    assert!(with.k_ref_borrowed);
    assert_eq!(with.content(), without.computed_from);
    assert_ne!(with.computed_from, without.computed_from);
    // One that has a reference borrows nothing, whatever is on offer.
    let (phases, _) = own.derive(Some(lent), Want::Phases).phases.unwrap();
    assert_eq!(phases.own_reference(), Some(k_ref));
    assert_eq!(phases.computed_from, input(&card).content(&rules));
}

#[test]
fn a_cook_that_cannot_be_segmented_has_rows_that_say_so() {
    let card = Card {
        marks: MarkTimes { meat_on_ms: Some(90_000_000), ..MarkTimes::default() },
        ..card()
    };
    let Derived { phases, measured } = derived(&card, Want::All);
    let (phases, cleaning) = phases.unwrap();
    assert_eq!(phases.not_judged.as_deref(), Some("not-segmented"));
    assert!(!phases.asks_for_reference());
    assert_eq!(cleaning.channels.len(), 2);
    let tables = MeasuredTables::of(vec![measured.unwrap()]);
    assert_eq!(
        tables.measures.text("not_judged_reason").unwrap(),
        [Some("not-segmented".to_owned())]
    );
    assert_eq!((tables.history.rows(), tables.moved.rows()), (0, 0));
}

#[test]
fn all_rows_of_a_cook_go_out_as_record_batches() {
    let names = |tables: &[(&'static str, Table)]| -> Vec<&str> {
        tables.iter().map(|(name, _)| *name).collect()
    };
    let tables = derived(&card(), Want::All).tables();
    assert_eq!(
        names(&tables),
        [
            "phases",
            "flags",
            "channels",
            "warnings",
            "measures",
            "history",
            "degrees",
            "moved",
            "moved_history"
        ]
    );
    for (name, table) in &tables {
        let described =
            columns::tables::all().into_iter().find(|(other, _)| other == name).unwrap().1;
        let described: Vec<(&str, columns::Kind)> =
            described.iter().map(|column| (column.name, column.kind)).collect();
        // Measures have the team's own columns besides.
        let found: Vec<(&str, columns::Kind)> = table
            .columns()
            .iter()
            .map(|(name, column)| (name.as_str(), column.holds()))
            .filter(|column| described.contains(column))
            .collect();
        assert_eq!(found, described, "{name}");
        assert!(*name == "measures" || table.columns().len() == described.len(), "{name}");
        let batch = to_batch(table).unwrap();
        assert_eq!(batch.num_rows(), table.rows(), "{name}");
        assert_eq!(
            from_batches(&batch.schema(), std::slice::from_ref(&batch)).unwrap(),
            *table,
            "{name}"
        );
    }
}

mod in_batches {
    use super::*;
    use crate::readings::{BatchCook, CooksOfBatches, to_batch};

    /// Cooks of one cut and pit: three that lend, one that begins warm, one of which nobody has a log.
    fn season() -> (Vec<CookReadings>, NotedCooks) {
        let names = ["a", "b", "c", "warm", "bare"];
        let readings = names[..4].iter().map(|name| {
            let from_c = if *name == "warm" { 45.0 } else { 5.0 };
            CookReadings { cook: (*name).into(), ..readings(from_c) }
        });
        let records = names.iter().map(|name| CookRecord {
            card: Card {
                cook: (*name).into(),
                cut: Some("brisket".into()),
                pit: Some("big".into()),
                extra: vec![(format!("own {name}"), "x".into())],
                ..card()
            },
            computed_from: "l".into(),
            log_start_ms: (*name != "bare").then_some(0),
            log_end_ms: (*name != "bare").then_some(59_940_000),
        });
        (readings.collect(), NotedCooks::new(records.collect(), Vec::new()))
    }

    fn come(readings: &[CookReadings]) -> Vec<BatchCook> {
        let batch = to_batch(readings).unwrap();
        CooksOfBatches::new([Ok::<_, RowsError>(batch)].into_iter()).map(Result::unwrap).collect()
    }

    #[test]
    fn parted_cooks_give_the_rows_that_they_give_together() {
        let (readings, cooks) = season();
        let rules = rules();
        let work = BatchRows { cooks: &cooks, rules: &rules, asked: Asked::All };
        let mut rows = Vec::new();
        let mut waiting = Vec::new();
        // Each cook alone, the last first.
        for cook in readings.iter().rev() {
            let cook = come(std::slice::from_ref(cook)).remove(0);
            match work.of(&cook, None) {
                Some(of_cook) => rows.push(of_cook),
                None => waiting.push(cook),
            }
        }
        assert_eq!(waiting.len(), 1, "the one that begins warm");
        let lent = Lent::of_phases(rows.iter().filter_map(CookRows::phases), &cooks);
        rows.extend(waiting.iter().filter_map(|cook| work.of(cook, Some(&lent))));
        rows.extend(work.rest(&rows, true));
        let found: BTreeMap<&str, Table> = work.tables(rows).into_iter().collect();

        // As the command does it.
        let inputs = |place: usize| CookInput {
            card: &cooks.records()[place].card,
            read_from: "l",
            log_ms: cooks.records()[place].log_ms(),
            events: &[],
            on_fire: &[],
        };
        let start = |place: usize| Started::new(inputs(place), readings[place].clone(), &rules);
        let own = (0..4).filter_map(|at| Some((inputs(at).card, start(at).own_reference()?)));
        let lent = Lent::by(own);
        let (mut phases, mut measured) = (Vec::new(), Vec::new());
        for place in 0..4 {
            let derived = start(place).derive(lent.to(inputs(place).card), Want::All);
            phases.push(derived.phases.unwrap().0);
            measured.extend(derived.measured);
        }
        assert!(phases[3].k_ref_borrowed);
        measured.push(Measured::without_readings(&inputs(4), &rules));
        assert_eq!(found["phases"], phases_to_table(&phases));
        let tables = MeasuredTables::of(measured);
        assert_eq!(found["measures"], tables.measures);
        assert_eq!(found["history"], tables.history);
        assert_eq!(found["moved_history"], tables.moved_history);

        let by_cook = phases.into_iter().map(|cook| (cook.cook.clone(), cook)).collect();
        let work = BatchRows { asked: Asked::Measures(&by_cook), ..work };
        let rows = come(&readings).iter().filter_map(|cook| work.of(cook, Some(&lent))).collect();
        let later: BTreeMap<&str, Table> = work.tables(rows).into_iter().collect();
        assert_eq!(later["measures"], tables.measures.take(&[0, 1, 2, 3]));
        assert_eq!(later["degrees"], tables.degrees);
    }

    #[test]
    fn a_cook_that_cannot_be_used_is_a_row_with_its_reason_and_harms_no_other() {
        let (mut readings, cooks) = season();
        readings[1].channels[0].at_ms.swap(3, 4);
        readings[2].cook = "stranger".into();
        let rules = rules();
        let work = BatchRows { cooks: &cooks, rules: &rules, asked: Asked::All };
        let lent = Lent::default();
        let rows: Vec<CookRows> =
            come(&readings[..3]).iter().filter_map(|cook| work.of(cook, Some(&lent))).collect();
        let reasons: Vec<Option<&str>> =
            rows.iter().map(|rows| rows.phases().unwrap().not_judged_reason.as_deref()).collect();
        assert_eq!(reasons[0], None);
        assert!(reasons[1].unwrap().contains("do not rise in time"), "{reasons:?}");
        assert_eq!(reasons[2], Some("no card names it"));
        let tables: BTreeMap<&str, Table> = work.tables(rows).into_iter().collect();
        assert_eq!(tables["measures"].rows(), 3);
        let again = phases_from_table(&tables["phases"]).unwrap();
        assert!(again[1..].iter().all(|cook| !cook.asks_for_reference()));
    }
}
