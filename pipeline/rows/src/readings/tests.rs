use super::*;
use crate::error::RowsError;
use arrow_array::{Float64Array, StringArray};
use cook::{ChannelReadings, Flag, Role};
use proptest::prelude::*;

fn cook(name: &str, rows: usize) -> CookReadings {
    let mut channels = Vec::new();
    for (channel, role) in [("Pit", Role::Pit), ("Flat", Role::Meat)] {
        let mut channel = ChannelReadings::new(channel, role);
        for row in 0..rows {
            channel.at_ms.push(1_700_000_000_000 + 30_000 * row as i64);
            channel.temp_c.push(20.0 + row as f32);
            channel.flag.push(if row % 3 == 0 { Flag::Good } else { Flag::Reordered });
            channel.source.push((row % 2) as u32);
            channel.line.push(row as u32 + 2);
        }
        channels.push(channel);
    }
    CookReadings {
        cook: name.into(),
        season: String::new(),
        channels,
        sources: vec!["a.csv".into(), "b.csv".into()],
    }
}

fn read(batches: Vec<RecordBatch>) -> Vec<Result<CookReadings, RowsError>> {
    let batches = batches.into_iter().map(Ok::<_, RowsError>);
    CooksOfBatches::new(batches).map(|cook| cook.unwrap().readings).collect()
}

proptest! {
    #[test]
    fn cooks_come_back_wherever_their_batches_are_cut(cuts in prop::collection::vec(0_usize..60, 0..4)) {
        let cooks = [cook("a", 12), cook("b", 1), cook("c", 17)];
        let whole = to_batch(&cooks).unwrap();
        let mut cuts: Vec<usize> = cuts.into_iter().chain([0, whole.num_rows()]).collect();
        cuts.sort_unstable();
        let parts = cuts.windows(2).map(|ends| whole.slice(ends[0], ends[1] - ends[0])).collect();
        let found: Vec<CookReadings> = read(parts).into_iter().map(Result::unwrap).collect();
        // A cook of one reading names one log alone.
        prop_assert_eq!(&found[0], &cooks[0]);
        prop_assert_eq!(&found[1].channels, &cooks[1].channels);
        prop_assert_eq!(&found[2], &cooks[2]);
    }
}

/// Readings as a program has them that knows neither dictionaries nor our widths.
fn foreign(cooks: &[&str], roles: &[&str], at_s: &[i64], temp_c: Vec<Option<f64>>) -> RecordBatch {
    let text = |values: &[&str]| Arc::new(StringArray::from(values.to_vec())) as ArrayRef;
    let at = arrow_array::TimestampSecondArray::from(at_s.to_vec()).with_timezone("UTC");
    let columns = [
        ("cook", text(cooks)),
        ("channel", text(&vec!["x"; cooks.len()])),
        ("role", text(roles)),
        ("at", Arc::new(at) as ArrayRef),
        ("temp_c", Arc::new(Float64Array::from(temp_c)) as ArrayRef),
    ];
    RecordBatch::try_from_iter(columns).unwrap()
}

#[test]
fn columns_of_other_widths_are_read_and_a_missing_temperature_is_no_reading() {
    let temp_c = vec![Some(20.5), None, Some(f64::NAN), Some(21.0)];
    let batch = foreign(&["a"; 4], &["pit"; 4], &[1, 2, 3, 4], temp_c);
    let found = read(vec![batch]).remove(0).unwrap();
    assert_eq!(found.channels[0].at_ms, [1000, 4000]);
    assert_eq!(found.channels[0].temp_c, [20.5, 21.0]);
    assert_eq!(found.channels[0].flag, [Flag::Good; 2]);
    assert_eq!(
        (found.channels[0].line.as_slice(), found.sources),
        ([0, 0].as_slice(), vec![String::new()])
    );
}

#[test]
fn what_is_wrong_with_a_cook_is_said_of_it_alone() {
    let temp_c = vec![Some(20.0); 5];
    let names = ["a", "a", "b", "c", "a"];
    let batch = foreign(&names, &["pit", "pit", "grill", "meat", "pit"], &[2, 1, 1, 1, 9], temp_c);
    let found = read(vec![batch]);
    let said = |at: usize| found[at].as_ref().unwrap_err().to_string();
    assert!(said(0).contains("do not rise in time at 1970-01-01T00:00:01Z"), "{}", said(0));
    assert_eq!(said(1), "column `role`, row 3: `grill` is no role: pit, meat, ambient or other");
    assert_eq!(found[2].as_ref().unwrap().len(), 1);
    assert!(said(3).contains("the rows of `a` do not lie together"), "{}", said(3));
}

#[test]
fn a_time_without_a_zone_is_refused() {
    let at = arrow_array::TimestampMicrosecondArray::from(vec![0]);
    let batch = to_batch(&[cook("a", 1)]).unwrap().slice(0, 1);
    let mut columns = batch.columns().to_vec();
    columns[3] = Arc::new(at);
    let mut fields = fields();
    fields[3] = Field::new("at", columns[3].data_type().clone(), false);
    let batch = RecordBatch::try_new(Arc::new(Schema::new(fields)), columns).unwrap();
    let error = ReadingsRows::of(&batch).unwrap_err().to_string();
    assert!(error.contains("column `at`: has no time zone"), "{error}");
}

#[test]
fn what_cannot_be_used_is_said_with_its_row_in_the_whole_stream() {
    let whole = to_batch(&[cook("a", 3), cook("b", 3)]).unwrap();
    let backwards = |first: usize, second: usize| {
        let mut order: Vec<u32> = (0..whole.num_rows() as u32).collect();
        order.swap(first, second);
        let order = arrow_array::UInt32Array::from(order);
        let columns = whole.columns().iter();
        let columns = columns.map(|c| arrow_select::take::take(c, &order, None).unwrap()).collect();
        RecordBatch::try_new(whole.schema(), columns).unwrap()
    };
    // Rows 10 and 11 are the second channel of the second cook.
    let batch = backwards(9, 10);
    for cut in 0..=12 {
        let parts = vec![batch.slice(0, cut), batch.slice(cut, 12 - cut)];
        let found = read(parts);
        assert!(found[0].is_ok());
        let error = found[1].as_ref().unwrap_err().to_string();
        assert!(error.starts_with("column `at`, row 11: the readings of `Flat`"), "{error}");
    }
    let batch = backwards(2, 7);
    let error = read(vec![batch]).into_iter().find_map(Result::err).unwrap().to_string();
    assert!(error.starts_with("column `cook`, row 4: the rows of `a` do not lie"), "{error}");
}

#[test]
fn a_dictionary_of_any_keys_and_none_is_read() {
    use arrow_array::types::{Int8Type, UInt32Type};
    use arrow_array::{Array, DictionaryArray};
    use std::sync::Arc;
    let batch = |words: Arc<dyn Array>| {
        let schema = Schema::new(vec![Field::new("x", words.data_type().clone(), true)]);
        RecordBatch::try_new(Arc::new(schema), vec![words]).unwrap()
    };
    let small: DictionaryArray<Int8Type> = [Some("a"), None, Some("b")].into_iter().collect();
    let large: DictionaryArray<UInt32Type> = [Some("a"), None, Some("b")].into_iter().collect();
    for words in [Arc::new(small) as Arc<dyn Array>, Arc::new(large)] {
        let batch = batch(words);
        let words = Words::of(&batch, "x").unwrap();
        assert_eq!([0, 1, 2].map(|row| words.at(row)), [Some("a"), None, Some("b")]);
    }
    let none: DictionaryArray<UInt32Type> = std::iter::empty::<Option<&str>>().collect();
    let batch = batch(Arc::new(none));
    assert_eq!(Words::of(&batch, "x").unwrap().runs(0..0).count(), 0);
}

#[test]
fn temperatures_may_be_whole_numbers() {
    let one = to_batch(&[cook("a", 4)]).unwrap();
    let at = one.schema().index_of("temp_c").unwrap();
    let (mut fields, mut columns) = (one.schema().fields().to_vec(), one.columns().to_vec());
    fields[at] = std::sync::Arc::new(Field::new("temp_c", DataType::Int64, false));
    columns[at] = std::sync::Arc::new(Int64Array::from(vec![20, 21, 22, 23, 20, 21, 22, 23]));
    let whole = RecordBatch::try_new(std::sync::Arc::new(Schema::new(fields)), columns).unwrap();
    assert_eq!(read(vec![whole]), read(vec![one]));
}
