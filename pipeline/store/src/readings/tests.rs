use super::place::PART_COOKS;
use super::*;
use arrow_array::{
    DictionaryArray, Float32Array, Int64Array, RecordBatch, TimestampMillisecondArray, UInt32Array,
};
use arrow_schema::Schema;
use cook::{ChannelReadings, Flag, Role};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::sync::Arc;

fn readings(cook: &str, season: &str, temperatures: &[f32]) -> CookReadings {
    let mut channels = Vec::new();
    for (name, role) in [("Pit", Role::Pit), ("Flat", Role::Meat)] {
        let mut channel = ChannelReadings::new(name, role);
        for (index, temperature) in temperatures.iter().enumerate() {
            channel.at_ms.push(1_700_000_000_000 + 30_000 * index as i64);
            channel.temp_c.push(*temperature);
            channel.flag.push(if index % 3 == 0 { Flag::Good } else { Flag::Reordered });
            channel.source.push((index % 2) as u32);
            channel.line.push(index as u32 + 2);
        }
        channels.push(channel);
    }
    CookReadings {
        cook: cook.into(),
        season: season.into(),
        channels,
        sources: vec!["logs/a.csv".into(), "logs/b.csv".into()],
    }
}

/// Cook number so and so: one channel of two readings.
fn small(number: usize, temperature: f32) -> CookReadings {
    let mut readings = readings(&format!("cook-{number}"), "2026", &[temperature, 21.0]);
    readings.channels.truncate(1);
    readings
}

fn store() -> (tempfile::TempDir, Store) {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::create(folder.path()).unwrap();
    (folder, store)
}

fn write(store: &Store, cooks: impl IntoIterator<Item = CookReadings>) -> bool {
    let batch = store.readings_batch().unwrap();
    cooks.into_iter().for_each(|cook| batch.write(&cook).unwrap());
    batch.finish().unwrap()
}

/// Every file of a season with its bytes.
fn files(store: &Store) -> BTreeMap<String, Vec<u8>> {
    let name = |path: &Path| path.file_name().unwrap().to_str().unwrap().to_owned();
    let paths = list(&store.season_folder("2026")).unwrap();
    paths.into_iter().map(|path| (name(&path), fs::read(&path).unwrap())).collect()
}

proptest! {
    #[test]
    fn readings_come_back_unchanged(
        temperatures in prop::collection::vec(-40.0f32..300.0, 2..200)
    ) {
        let (_folder, store) = store();
        let name = "spring/1 früh";
        let cook = readings(name, "2025", &temperatures);
        prop_assert!(store.write_readings(&cook).unwrap());
        prop_assert!(!store.write_readings(&cook).unwrap());
        let found = store.cooks_with_readings().unwrap();
        prop_assert_eq!(found, vec![("2025".to_owned(), name.to_owned())]);
        prop_assert_eq!(store.read_readings("2025", name).unwrap(), cook);
    }

    /// Cooks come and go in batches; what is left has the bytes of a store made at once.
    #[test]
    fn bytes_follow_from_the_cooks_and_not_from_their_history(
        steps in prop::collection::vec((0..1_500_usize, 0..1_500_usize, any::<bool>()), 1..4)
    ) {
        let (_folder, grown) = store();
        let mut there = BTreeMap::new();
        for (from, to, comes) in steps {
            let batch = grown.readings_batch().unwrap();
            for number in from.min(to)..from.max(to) {
                if comes {
                    let cook = small(number, from as f32);
                    batch.write(&cook).unwrap();
                    there.insert(number, cook);
                } else {
                    batch.remove("2026", &format!("cook-{number}"));
                    there.remove(&number);
                }
            }
            batch.finish().unwrap();
        }
        let (_folder, whole) = store();
        write(&whole, there.values().cloned());
        prop_assert!(files(&grown) == files(&whole));
        let mut scanned: Vec<CookReadings> =
            grown.scan_readings().unwrap().collect::<Result<_, _>>().unwrap();
        scanned.sort_by(|a, b| a.cook.cmp(&b.cook));
        let mut wanted: Vec<CookReadings> = there.into_values().collect();
        wanted.sort_by(|a, b| a.cook.cmp(&b.cook));
        prop_assert_eq!(scanned, wanted);
    }
}

#[test]
fn one_name_in_two_seasons_is_an_error_and_nothing_is_overwritten() {
    let (_folder, store) = store();
    store.write_readings(&readings("a", "2024", &[20.0, 21.0])).unwrap();
    let error = store.write_readings(&readings("a", "2025", &[30.0])).unwrap_err();
    assert!(matches!(error, StoreError::Clash { .. }), "{error}");
    assert_eq!(store.cooks_with_readings().unwrap().len(), 1);
    let batch = store.readings_batch().unwrap();
    batch.remove("2024", "a");
    batch.write(&readings("a", "2025", &[30.0])).unwrap();
    assert!(batch.finish().unwrap());
    assert_eq!(store.cooks_with_readings().unwrap(), [("2025".to_owned(), "a".to_owned())]);
}

#[test]
fn a_batch_that_is_not_finished_has_written_nothing() {
    let (folder, store) = store();
    let batch = store.readings_batch().unwrap();
    batch.write(&small(1, 20.0)).unwrap();
    drop(batch);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn one_cook_more_changes_one_part_and_the_same_cooks_none() {
    let (_folder, store) = store();
    write(&store, (0..2_000).map(|number| small(number, 20.0)));
    let before = files(&store);
    assert!((4..=16).contains(&before.len()), "{} files", before.len());
    assert!(!write(&store, (0..2_000).map(|number| small(number, 20.0))));
    assert!(write(&store, [small(7, 90.0)]));
    let after = files(&store);
    assert_eq!(before.iter().filter(|(name, bytes)| after[*name] != **bytes).count(), 1);
    assert_eq!(store.read_readings("2026", "cook-7").unwrap(), small(7, 90.0));
    assert_eq!(store.read_readings("2026", "cook-8").unwrap(), small(8, 20.0));
}

#[test]
fn a_cook_that_is_not_there_is_said() {
    let (_folder, store) = store();
    store.write_readings(&small(1, 20.0)).unwrap();
    for (season, cook) in [("2026", "cook-2"), ("2025", "cook-1")] {
        let error = store.read_readings(season, cook).unwrap_err();
        assert!(matches!(error, StoreError::NoReadings { .. }), "{error}");
    }
}

#[test]
fn only_the_cooks_that_are_wanted_are_read_each_once() {
    let (_folder, store) = store();
    write(&store, (0..1_000).map(|number| small(number, 20.0)));
    let parts = store.readings_parts().unwrap();
    let cooks_of = |part: &ReadingsPart| -> Vec<String> {
        let cooks = part.cooks(|cook| cook.ends_with('3')).unwrap();
        cooks.map(|cook| cook.unwrap().cook).collect()
    };
    let mut found: Vec<String> = Vec::new();
    for part in &parts {
        let cooks = cooks_of(part);
        assert!(cooks.is_sorted());
        found.extend(cooks);
    }
    found.sort();
    found.dedup();
    assert_eq!(found.len(), 100);
}

#[test]
fn a_part_is_in_row_groups_of_cooks_by_name() {
    let (_folder, store) = store();
    write(&store, (0..PART_COOKS).map(|number| small(number, 20.0)));
    let path = store.season_folder("2026").join("part-00001.parquet");
    let file = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap()).unwrap();
    let groups = file.metadata().row_groups();
    assert_eq!(groups.len(), 4);
    let bounds: Vec<&[u8]> = groups
        .iter()
        .flat_map(|group| {
            let names = group.column(0).statistics().unwrap();
            [names.min_bytes_opt().unwrap(), names.max_bytes_opt().unwrap()]
        })
        .collect();
    assert!(bounds.is_sorted());
    let at = file.schema().field_with_name("at").unwrap().data_type().to_string();
    assert_eq!(at, "Timestamp(µs, \"UTC\")");
}

#[test]
fn a_part_that_cannot_take_its_place_is_told_and_nothing_is_left_beside() {
    let (_folder, store) = store();
    let folder = store.season_folder("2026");
    fs::create_dir_all(folder.join("part-00001.parquet/inside")).unwrap();
    let batch = store.readings_batch();
    let error = match batch {
        Ok(batch) => {
            batch.write(&small(1, 20.0)).unwrap();
            batch.finish().unwrap_err()
        }
        Err(error) => error,
    };
    assert!(error.to_string().contains("part-00001.parquet"), "{error}");
    assert_eq!(fs::read_dir(folder).unwrap().count(), 1);
}

/// Every instant at which halving a part, and joining it again, can be cut off: what is read is
/// the old or the new, and the next batch leaves what an undisturbed one leaves.
#[test]
fn a_part_that_is_halved_or_joined_is_the_old_or_the_new_at_any_instant() {
    let of = |cooks: usize| {
        let (folder, store) = store();
        write(&store, (0..cooks).map(|number| small(number, cooks as f32)));
        (folder, store)
    };
    let (_few, few) = of(PART_COOKS);
    let (_many, many) = of(PART_COOKS + 1);
    let (one, halves) = (files(&few), files(&many));
    assert_eq!((one.len(), halves.len()), (1, 2));
    let names: Vec<(&String, &Vec<u8>)> = halves.iter().collect();
    for (there, is_new) in [
        (vec![], true),
        (vec![names[0]], false),
        (vec![names[1]], false),
        (vec![names[0], names[1]], false),
    ] {
        let (_folder, cut) = store();
        let folder = cut.season_folder("2026");
        fs::create_dir_all(&folder).unwrap();
        let all = if is_new { names.clone() } else { one.iter().chain(there).collect() };
        for (name, bytes) in all {
            fs::write(folder.join(name), bytes).unwrap();
        }
        let cooks = if is_new { PART_COOKS + 1 } else { PART_COOKS };
        assert_eq!(cut.cooks_with_readings().unwrap().len(), cooks);
        assert_eq!(cut.scan_readings().unwrap().count(), cooks);
        assert_eq!(cut.read_readings("2026", "cook-5").unwrap(), small(5, cooks as f32));
        let number = PART_COOKS + 1;
        write(&cut, (0..number).map(|cook| small(cook, number as f32)));
        assert!(files(&cut) == halves);
        let batch = cut.readings_batch().unwrap();
        batch.remove("2026", &format!("cook-{PART_COOKS}"));
        (0..PART_COOKS).for_each(|cook| batch.write(&small(cook, PART_COOKS as f32)).unwrap());
        batch.finish().unwrap();
        assert!(files(&cut) == one);
    }
}

/// Writes a cook as the store did before it packed them: a file of its own, instants in ms.
fn write_old_layout(store: &Store, readings: &CookReadings) {
    let channels = || readings.channels.iter();
    let words = |word: &dyn Fn(&ChannelReadings, usize) -> String| -> DictionaryArray<_> {
        let words: Vec<String> =
            channels().flat_map(|c| (0..c.len()).map(move |row| word(c, row))).collect();
        words.iter().map(String::as_str).collect::<DictionaryArray<arrow_array::types::Int32Type>>()
    };
    let at: Vec<i64> = channels().flat_map(|c| c.at_ms.clone()).collect();
    let zero = readings.first_ms().unwrap();
    let elapsed = at.iter().map(|at| at - zero).collect::<Int64Array>();
    let temperatures: Vec<f32> = channels().flat_map(|c| c.temp_c.clone()).collect();
    let lines: Vec<u32> = channels().flat_map(|c| c.line.clone()).collect();
    let fields = rows::readings::fields().into_iter().map(|field| match field.name().as_str() {
        "at" => field.with_data_type(arrow_schema::DataType::Timestamp(
            arrow_schema::TimeUnit::Millisecond,
            Some("UTC".into()),
        )),
        _ => field,
    });
    let schema = Arc::new(Schema::new(fields.collect::<Vec<_>>()));
    let batch = RecordBatch::try_new(
        schema.clone(),
        vec![
            Arc::new(words(&|_, _| readings.cook.clone())),
            Arc::new(words(&|c, _| c.name.clone())),
            Arc::new(words(&|c, _| c.role.as_str().to_owned())),
            Arc::new(TimestampMillisecondArray::from(at).with_timezone("UTC")),
            Arc::new(elapsed),
            Arc::new(Float32Array::from(temperatures)),
            Arc::new(words(&|c, row| c.flag[row].as_str().to_owned())),
            Arc::new(words(&|c, row| readings.sources[c.source[row] as usize].clone())),
            Arc::new(UInt32Array::from(lines)),
        ],
    )
    .unwrap();
    let folder = store.season_folder(&readings.season);
    fs::create_dir_all(&folder).unwrap();
    let path = folder.join(format!("{}.parquet", encode_name(&readings.cook)));
    let mut writer = ArrowWriter::try_new(File::create(path).unwrap(), schema, None).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
}

#[test]
fn the_old_layout_is_read_and_packed_by_the_next_batch() {
    let (_folder, old) = store();
    // One is called as a part is.
    let names = ["a", "part-00001", "ö/2"];
    let cooks = names.map(|name| readings(name, "2026", &[20.0, 21.5, 23.0]));
    for cook in &cooks {
        write_old_layout(&old, cook);
    }
    for cook in &cooks {
        assert_eq!(old.read_readings("2026", &cook.cook).unwrap(), *cook);
    }
    let scanned: Vec<CookReadings> = old.scan_readings().unwrap().map(Result::unwrap).collect();
    assert_eq!(scanned, cooks);
    assert!(old.readings_batch().unwrap().finish().unwrap());
    let (_folder, whole) = store();
    write(&whole, cooks);
    assert!(files(&old) == files(&whole));
    assert!(!old.readings_batch().unwrap().finish().unwrap());
}

#[test]
fn files_of_the_old_layout_that_are_packed_already_are_not_read_twice() {
    let (_folder, cut) = store();
    cut.write_readings(&readings("a", "2026", &[20.0, 21.0])).unwrap();
    write_old_layout(&cut, &readings("a", "2026", &[99.0]));
    assert_eq!(cut.scan_readings().unwrap().count(), 1);
    assert_eq!(cut.read_readings("2026", "a").unwrap(), readings("a", "2026", &[20.0, 21.0]));
    assert!(cut.readings_batch().unwrap().finish().unwrap());
    assert_eq!(files(&cut).len(), 1);
}
