//! In which part a cook lies.
//!
//! A part holds the cooks whose hashed names begin with the same bits. While a season has no
//! more cooks than one part may hold, that is all of them; a part that would hold more is
//! halved by the next bit. So the parts follow from the set of cooks alone, whatever the order
//! in which they came; one cook more or less touches one part (or halves it); and a cook is
//! found by its name.
//!
//! A part's number is a one and behind it the bits, read as a binary number: part 1 holds all,
//! parts 2 and 3 a half each, parts 4 to 7 a quarter.
//!
//! Where a part is halved, its halves are put in place first and it is removed after; where
//! halves are joined, they are removed last. A part thus hides all that was halved out of it:
//! removing it, or putting it in place, is the one step from the old to the new.

use crate::error::StoreError;
use crate::names::decode_name;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Most cooks that one part holds: some million readings.
pub(super) const PART_COOKS: usize = 512;
/// Most bits that parts are told apart by, lest equal hashes be halved for ever.
const MOST_BITS: u32 = 16;

/// The number of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct PartNumber(u32);

impl PartNumber {
    /// The part that holds every cook.
    const WHOLE: Self = Self(1);

    fn bits(self) -> u32 {
        self.0.ilog2()
    }

    fn halves(self) -> [Self; 2] {
        [Self(self.0 << 1), Self(self.0 << 1 | 1)]
    }

    /// The parts that this one was halved out of.
    fn before(self) -> impl Iterator<Item = Self> {
        (1..=self.bits()).map(move |bits| Self(self.0 >> bits))
    }

    /// Every part that may hold a cook, the widest first.
    pub(super) fn of(cook: &str) -> impl Iterator<Item = Self> {
        let hash = hash(cook);
        (0..=MOST_BITS).map(move |bits| {
            let leading = hash.checked_shr(u64::BITS - bits).unwrap_or(0) as u32;
            Self(1 << bits | leading)
        })
    }

    pub(super) fn file_name(self) -> String {
        format!("part-{:05}.parquet", self.0)
    }

    fn parse(file_name: &str) -> Option<Self> {
        let digits = file_name.strip_prefix("part-")?.strip_suffix(".parquet")?;
        let number = Self(digits.parse().ok().filter(|number| *number > 0)?);
        (number.bits() <= MOST_BITS && number.file_name() == file_name).then_some(number)
    }
}

/// The first 64 bits of the SHA-256 of a cook's name.
fn hash(cook: &str) -> u64 {
    let digest = Sha256::digest(cook.as_bytes());
    digest.iter().take(8).fold(0, |hash, byte| hash << 8 | u64::from(*byte))
}

/// The parts that cooks are packed in, each with its cooks by name.
pub(super) fn pack<'c>(
    cooks: impl IntoIterator<Item = &'c str>,
) -> BTreeMap<PartNumber, Vec<&'c str>> {
    let mut hashed: Vec<(u64, &str)> = cooks.into_iter().map(|cook| (hash(cook), cook)).collect();
    hashed.sort_unstable();
    let mut parts = BTreeMap::new();
    halve(PartNumber::WHOLE, &hashed, &mut parts);
    parts
}

fn halve<'c>(
    part: PartNumber,
    cooks: &[(u64, &'c str)],
    parts: &mut BTreeMap<PartNumber, Vec<&'c str>>,
) {
    if cooks.is_empty() {
        return;
    }
    let bits = part.bits();
    if cooks.len() <= PART_COOKS || bits == MOST_BITS {
        let mut names: Vec<&str> = cooks.iter().map(|(_, cook)| *cook).collect();
        names.sort_unstable();
        parts.insert(part, names);
        return;
    }
    let next = 1 << (u64::BITS - 1 - bits);
    let (zero, one) = cooks.split_at(cooks.partition_point(|(hash, _)| hash & next == 0));
    let halves = part.halves();
    halve(halves[0], zero, parts);
    halve(halves[1], one, parts);
}

/// The files of a season's folder.
#[derive(Debug, Default)]
pub(super) struct Files {
    /// Parts that hold what the store has.
    pub(super) parts: BTreeMap<PartNumber, PathBuf>,
    /// Files of the old layout, by cook.
    pub(super) single: BTreeMap<String, PathBuf>,
    /// What a part hides: of a writer that was cut off before it had removed all. What is damaged
    /// counts as hidden too.
    pub(super) hidden: Vec<PathBuf>,
}

impl Files {
    /// Lists a folder. `is_packed` tells a part from the file of a cook that is called so.
    pub(super) fn list(
        folder: &Path,
        is_packed: impl Fn(&Path) -> Result<bool, StoreError>,
    ) -> Result<Self, StoreError> {
        let mut files = Self::default();
        for path in list(folder)? {
            let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
            let Some(stem) = name.strip_suffix(".parquet") else { continue };
            match PartNumber::parse(name) {
                Some(number) if is_packed(&path)? => {
                    files.parts.insert(number, path);
                }
                _ if name.starts_with('.') => {}
                _ => {
                    if let Some(cook) = decode_name(stem) {
                        files.single.insert(cook, path);
                    }
                }
            }
        }
        let there: BTreeSet<PartNumber> = files.parts.keys().copied().collect();
        let halved = files
            .parts
            .extract_if(.., |number, _| number.before().any(|wider| there.contains(&wider)))
            .map(|(_, path)| path);
        // A part has all cooks that may lie in it, those of the old layout among them.
        let packed = files
            .single
            .extract_if(.., |cook, _| PartNumber::of(cook).any(|part| there.contains(&part)))
            .map(|(_, path)| path);
        files.hidden = halved.chain(packed).collect();
        Ok(files)
    }

    /// Takes out the files that hold nothing to be relied on.
    pub(super) fn hide(&mut self, damaged: &BTreeSet<PathBuf>) {
        let parts = self.parts.extract_if(.., |_, path| damaged.contains(&*path));
        let single = self.single.extract_if(.., |_, path| damaged.contains(&*path));
        self.hidden.extend(parts.map(|(_, path)| path).chain(single.map(|(_, path)| path)));
    }
}

/// The paths in a folder; none where it is not there.
pub(super) fn list(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    match std::fs::read_dir(folder) {
        Ok(entries) => entries
            .map(|entry| entry.map(|e| e.path()).map_err(|e| StoreError::io(folder, e)))
            .collect(),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(e) => Err(StoreError::io(folder, e)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn names(count: usize) -> Vec<String> {
        (0..count).map(|i| format!("cook-{i}")).collect()
    }

    fn packed(names: &[String]) -> BTreeMap<PartNumber, Vec<&str>> {
        pack(names.iter().map(String::as_str))
    }

    #[test]
    fn a_hash_is_the_head_of_sha_256() {
        // FIPS 180-4 example "abc" (NIST, SHA256 example file).
        assert_eq!(hash("abc"), 0xba78_16bf_8f01_cfea);
        let parts: Vec<u32> = PartNumber::of("abc").take(5).map(|part| part.0).collect();
        assert_eq!(parts, [0b1, 0b11, 0b110, 0b1101, 0b1_1011]);
    }

    #[test]
    fn a_season_is_one_part_until_that_is_full() {
        let all = names(PART_COOKS + 1);
        let one = packed(&all[1..]);
        assert_eq!(one.keys().collect::<Vec<_>>(), [&PartNumber::WHOLE]);
        assert_eq!(packed(&all).keys().collect::<Vec<_>>(), [&PartNumber(2), &PartNumber(3)]);
        assert!(packed(&[]).is_empty());
    }

    #[test]
    fn every_cook_is_in_the_one_part_that_its_name_tells() {
        let all = names(5_000);
        let parts = packed(&all);
        assert!(parts.values().all(|cooks| cooks.len() <= PART_COOKS && cooks.is_sorted()));
        for cook in &all {
            let there: Vec<_> =
                PartNumber::of(cook).filter(|part| parts.contains_key(part)).collect();
            assert_eq!(there.len(), 1, "{cook}");
            assert!(parts[&there[0]].contains(&cook.as_str()));
        }
    }

    proptest! {
        #[test]
        fn one_cook_more_leaves_all_parts_but_one_as_they_are(count in 1_usize..2_000) {
            let all = names(count + 1);
            let (before, after) = (packed(&all[1..]), packed(&all));
            let other = before.iter().filter(|(part, cooks)| after.get(part) != Some(cooks));
            prop_assert!(other.count() <= 1);
        }

        #[test]
        fn file_names_come_back(number in 1_u32..1 << (MOST_BITS + 1)) {
            let number = PartNumber(number);
            prop_assert_eq!(PartNumber::parse(&number.file_name()), Some(number));
        }
    }

    #[test]
    fn other_files_are_no_parts() {
        for name in ["part-00000.parquet", "part-1.parquet", "part-00001.parquet.bak", "a.parquet"]
        {
            assert_eq!(PartNumber::parse(name), None, "{name}");
        }
    }

    #[test]
    fn a_part_hides_what_was_halved_out_of_it() {
        let folder = tempfile::tempdir().unwrap();
        for number in [2, 4, 13, 3] {
            std::fs::write(folder.path().join(PartNumber(number).file_name()), "").unwrap();
        }
        std::fs::write(folder.path().join("may%201.parquet"), "").unwrap();
        std::fs::write(folder.path().join(".partial-x.parquet"), "").unwrap();
        let files = Files::list(folder.path(), |_| Ok(true)).unwrap();
        let parts: Vec<PartNumber> = files.parts.keys().copied().collect();
        assert_eq!(parts, [PartNumber(2), PartNumber(3)]);
        assert_eq!((files.hidden.len(), files.single.len()), (3, 0));
    }

    #[test]
    fn a_cook_that_is_called_like_a_part_is_none() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["part-00001.parquet", "may%201.parquet"] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        let files = Files::list(folder.path(), |_| Ok(false)).unwrap();
        assert!(files.parts.is_empty() && files.hidden.is_empty());
        assert_eq!(files.single.keys().collect::<Vec<_>>(), ["may 1", "part-00001"]);
    }
}
