//! Long columns in few bytes a value.
//!
//! A log of some hours lies as it is, in a plain vector. Of a longer column, all but the end is packed in blocks: whole
//! numbers by how far they are off a straight line, since clocks and line numbers run on evenly, and
//! temperatures by a list of those that occur, since a logger knows few of them in a quarter of an hour.
//! Any value is found in one step.

use cook::Flag;
use std::fmt;
use std::ops::Range;

/// Values of a block.
const BLOCK: usize = 1024;
/// Values that lie open behind the packed ones, at most: eighteen hours of readings a second.
const OPEN: usize = 64 * BLOCK;
/// The step of a block's line is kept in parts of this power of two.
const PART: u32 = 10;
/// A block that rises by more than that has no line.
const STEEPEST: u64 = 1 << 40;

/// What can be packed: it stands for a whole number, and comes back from it.
pub trait Pack: Copy + PartialEq {
    /// The number that it stands for.
    fn to_number(self) -> i64;
    /// What a number stands for.
    fn from_number(number: i64) -> Self;
}

macro_rules! whole_numbers {
    ($($type:ty),*) => {$(
        impl Pack for $type {
            #[allow(clippy::cast_lossless, reason = "one of the types has no `From`")]
            fn to_number(self) -> i64 {
                self as i64
            }

            fn from_number(number: i64) -> Self {
                number as Self
            }
        }
    )*};
}

whole_numbers!(i64, u32, usize);

impl Pack for bool {
    fn to_number(self) -> i64 {
        i64::from(self)
    }

    fn from_number(number: i64) -> Self {
        number != 0
    }
}

impl Pack for f32 {
    fn to_number(self) -> i64 {
        i64::from(self.to_bits())
    }

    fn from_number(number: i64) -> Self {
        Self::from_bits(number as u32)
    }
}

/// `None` is the least number, which no instant has.
impl Pack for Option<i64> {
    fn to_number(self) -> i64 {
        self.unwrap_or(i64::MIN)
    }

    fn from_number(number: i64) -> Self {
        (number != i64::MIN).then_some(number)
    }
}

impl Pack for Flag {
    fn to_number(self) -> i64 {
        Self::ALL.iter().position(|flag| *flag == self).unwrap_or_default() as i64
    }

    fn from_number(number: i64) -> Self {
        Self::ALL[number as usize % Self::ALL.len()]
    }
}

/// A block of values, packed.
#[derive(Clone)]
enum Block {
    /// Near a straight line: its first value, its step in parts of 2^[`PART`], and how far each value is off.
    Line { first: i64, step: i64, off: Off },
    /// Few different ones: all that occur, and which of them each is.
    Words { words: Box<[u32]>, codes: Box<[u8]> },
}

/// How far values are off a line.
#[derive(Clone)]
enum Off {
    Not,
    Bytes(Box<[i8]>),
    Shorts(Box<[i16]>),
    Ints(Box<[i32]>),
    Longs(Box<[i64]>),
}

fn on_line(first: i64, step: i64, at: usize) -> i64 {
    first.wrapping_add((step * at as i64) >> PART)
}

impl Block {
    fn of<T: Pack>(values: &[T]) -> Self {
        let numbers: Vec<i64> = values.iter().map(|value| value.to_number()).collect();
        let (first, last) = (numbers[0], numbers[BLOCK - 1]);
        let rise = last.checked_sub(first).filter(|rise| rise.unsigned_abs() < STEEPEST);
        let step = (rise.unwrap_or(0) << PART) / (BLOCK as i64 - 1);
        let off: Vec<i64> = numbers
            .iter()
            .enumerate()
            .map(|(at, number)| number.wrapping_sub(on_line(first, step, at)))
            .collect();
        let (least, most) =
            off.iter().fold((0, 0), |(least, most), off| (least.min(*off), most.max(*off)));
        let within = |low: i64, high: i64| least >= low && most <= high;
        let off = if within(0, 0) {
            Off::Not
        } else if within(i8::MIN.into(), i8::MAX.into()) {
            Off::Bytes(off.iter().map(|off| *off as i8).collect())
        } else if within(i16::MIN.into(), i16::MAX.into()) {
            Off::Shorts(off.iter().map(|off| *off as i16).collect())
        } else if let Some(words) = Self::words(&numbers) {
            return words;
        } else if within(i32::MIN.into(), i32::MAX.into()) {
            Off::Ints(off.iter().map(|off| *off as i32).collect())
        } else {
            Off::Longs(off.into())
        };
        Self::Line { first, step, off }
    }

    /// As words, where there are few.
    fn words(numbers: &[i64]) -> Option<Self> {
        let words: Option<Vec<u32>> =
            numbers.iter().map(|number| u32::try_from(*number).ok()).collect();
        let mut words = words?;
        words.sort_unstable();
        words.dedup();
        if words.len() > usize::from(u8::MAX) + 1 {
            return None;
        }
        let code = |number: &i64| words.partition_point(|word| i64::from(*word) < *number) as u8;
        let codes = numbers.iter().map(code).collect();
        Some(Self::Words { words: words.into(), codes })
    }

    fn at(&self, at: usize) -> i64 {
        match self {
            Self::Line { first, step, off } => {
                let off = match off {
                    Off::Not => 0,
                    Off::Bytes(off) => off[at].into(),
                    Off::Shorts(off) => off[at].into(),
                    Off::Ints(off) => off[at].into(),
                    Off::Longs(off) => off[at],
                };
                on_line(*first, *step, at).wrapping_add(off)
            }
            Self::Words { words, codes } => words[usize::from(codes[at])].into(),
        }
    }

    fn unpack<T: Pack>(&self, out: &mut Vec<T>) {
        fn add<T: Pack, O: Copy + Into<i64>>(out: &mut Vec<T>, first: i64, step: i64, off: &[O]) {
            out.extend(off.iter().enumerate().map(|(at, off)| {
                T::from_number(on_line(first, step, at).wrapping_add((*off).into()))
            }));
        }
        out.clear();
        match self {
            Self::Line { first, step, off } => match off {
                Off::Not => {
                    out.extend((0..BLOCK).map(|at| T::from_number(on_line(*first, *step, at))));
                }
                Off::Bytes(off) => add(out, *first, *step, off),
                Off::Shorts(off) => add(out, *first, *step, off),
                Off::Ints(off) => add(out, *first, *step, off),
                Off::Longs(off) => add(out, *first, *step, off),
            },
            Self::Words { words, codes } => {
                out.extend(
                    codes.iter().map(|code| T::from_number(words[usize::from(*code)].into())),
                );
            }
        }
    }
}

/// A column of values, of which a long one is packed; see the [module](self).
///
/// ```
/// let lines: columns::Packed<u32> = (1..=1_000_000).collect();
/// assert_eq!((lines.len(), lines.at(999_999)), (1_000_000, 1_000_000));
/// ```
#[derive(Clone)]
pub struct Packed<T> {
    blocks: Vec<Block>,
    open: Vec<T>,
}

impl<T> Default for Packed<T> {
    fn default() -> Self {
        Self { blocks: Vec::new(), open: Vec::new() }
    }
}

impl<T: Pack> Packed<T> {
    /// A column without values.
    pub fn new() -> Self {
        Self::default()
    }

    /// Makes room for so many more values, as far as they will lie open.
    pub fn reserve(&mut self, more: usize) {
        self.open.reserve(more.min(OPEN - self.open.len()));
    }

    fn packed(&self) -> usize {
        self.blocks.len() * BLOCK
    }

    /// Number of values.
    pub fn len(&self) -> usize {
        self.packed() + self.open.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Adds a value at the end.
    pub fn push(&mut self, value: T) {
        self.open.push(value);
        if self.open.len() == OPEN {
            self.blocks.extend(self.open.chunks_exact(BLOCK).map(Block::of));
            self.open.clear();
        }
    }

    /// Takes the last value away.
    pub fn pop(&mut self) -> Option<T> {
        if self.open.is_empty() {
            self.blocks.pop()?.unpack(&mut self.open);
        }
        self.open.pop()
    }

    /// The value at a place.
    ///
    /// # Panics
    /// Where there is none.
    pub fn at(&self, place: usize) -> T {
        match self.blocks.get(place / BLOCK) {
            Some(block) => T::from_number(block.at(place % BLOCK)),
            None => self.open[place - self.packed()],
        }
    }

    /// The value at a place; `None` behind the last one.
    pub fn get(&self, place: usize) -> Option<T> {
        (place < self.len()).then(|| self.at(place))
    }

    /// The first value.
    pub fn first(&self) -> Option<T> {
        self.get(0)
    }

    /// The last value.
    pub fn last(&self) -> Option<T> {
        self.get(self.len().checked_sub(1)?)
    }

    /// Puts another value at a place.
    ///
    /// # Panics
    /// Where there is none.
    pub fn set(&mut self, place: usize, value: T) {
        let packed = self.packed();
        match self.blocks.get_mut(place / BLOCK) {
            Some(block) => {
                let mut values = Vec::with_capacity(BLOCK);
                block.unpack(&mut values);
                values[place % BLOCK] = value;
                *block = Block::of(&values);
            }
            None => self.open[place - packed] = value,
        }
    }

    /// Puts another value in the place of each, from its place and what it was.
    pub fn map(&mut self, mut new: impl FnMut(usize, T) -> T) {
        let mut values: Vec<T> = Vec::new();
        for (index, block) in self.blocks.iter_mut().enumerate() {
            block.unpack(&mut values);
            let mut changed = false;
            for (at, value) in values.iter_mut().enumerate() {
                let was = value.to_number();
                *value = new(index * BLOCK + at, *value);
                changed |= value.to_number() != was;
            }
            if changed {
                *block = Block::of(&values);
            }
        }
        let packed = self.packed();
        for (at, value) in self.open.iter_mut().enumerate() {
            *value = new(packed + at, *value);
        }
    }

    /// The values in their order.
    pub fn iter(&self) -> Iter<'_, T> {
        self.range(0..self.len())
    }

    /// The values of some places, in their order.
    ///
    /// # Panics
    /// Where the range goes beyond the last place.
    pub fn range(&self, places: Range<usize>) -> Iter<'_, T> {
        assert!(places.end <= self.len(), "{places:?} of {} values", self.len());
        Iter {
            column: self,
            packed: self.packed(),
            at: places.start,
            end: places.end.max(places.start),
            block: Vec::new(),
            unpacked: usize::MAX,
        }
    }

    /// Each value with the one behind it.
    pub fn pairs(&self) -> impl Iterator<Item = (T, T)> + '_ {
        self.iter().zip(self.iter().skip(1))
    }

    /// The number of values at the beginning of which something holds that holds of none behind them.
    pub fn partition_point(&self, holds: impl Fn(T) -> bool) -> usize {
        let (mut from, mut until) = (0, self.len());
        while from < until {
            let middle = from + (until - from) / 2;
            if holds(self.at(middle)) {
                from = middle + 1;
            } else {
                until = middle;
            }
        }
        from
    }

    /// Turns the values round.
    pub fn reverse(&mut self) {
        if self.blocks.is_empty() {
            self.open.reverse();
        } else {
            *self = (0..self.len()).rev().map(|place| self.at(place)).collect();
        }
    }

    /// All values, open.
    pub fn to_vec(&self) -> Vec<T> {
        self.iter().collect()
    }

    /// All values, open, without a copy of a short column.
    pub fn into_vec(self) -> Vec<T> {
        if self.blocks.is_empty() { self.open } else { self.to_vec() }
    }
}

/// The values of a column; see [`Packed::range`].
pub struct Iter<'c, T> {
    column: &'c Packed<T>,
    packed: usize,
    at: usize,
    end: usize,
    /// The block that was unpacked last, and its number.
    block: Vec<T>,
    unpacked: usize,
}

impl<T: Pack> Iterator for Iter<'_, T> {
    type Item = T;

    #[inline]
    fn next(&mut self) -> Option<T> {
        if self.at >= self.end {
            return None;
        }
        let at = self.at;
        self.at += 1;
        if at >= self.packed {
            return Some(self.column.open[at - self.packed]);
        }
        let block = at / BLOCK;
        if block != self.unpacked {
            self.column.blocks[block].unpack(&mut self.block);
            self.unpacked = block;
        }
        Some(self.block[at % BLOCK])
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        (self.end - self.at, Some(self.end - self.at))
    }

    fn nth(&mut self, n: usize) -> Option<T> {
        self.at = self.at.saturating_add(n).min(self.end);
        self.next()
    }
}

impl<T: Pack> ExactSizeIterator for Iter<'_, T> {}

impl<'c, T: Pack> IntoIterator for &'c Packed<T> {
    type Item = T;
    type IntoIter = Iter<'c, T>;

    fn into_iter(self) -> Iter<'c, T> {
        self.iter()
    }
}

impl<T: Pack> Extend<T> for Packed<T> {
    fn extend<I: IntoIterator<Item = T>>(&mut self, values: I) {
        values.into_iter().for_each(|value| self.push(value));
    }
}

impl<T: Pack> FromIterator<T> for Packed<T> {
    fn from_iter<I: IntoIterator<Item = T>>(values: I) -> Self {
        let values = values.into_iter();
        let mut column = Self::new();
        column.reserve(values.size_hint().0);
        column.extend(values);
        column
    }
}

impl<T: Pack> From<Vec<T>> for Packed<T> {
    fn from(values: Vec<T>) -> Self {
        if values.len() < OPEN {
            Self { blocks: Vec::new(), open: values }
        } else {
            values.into_iter().collect()
        }
    }
}

impl<T: Pack> PartialEq for Packed<T> {
    fn eq(&self, other: &Self) -> bool {
        self.len() == other.len() && self.iter().eq(other.iter())
    }
}

impl<T: Pack> PartialEq<Vec<T>> for Packed<T> {
    fn eq(&self, other: &Vec<T>) -> bool {
        self.len() == other.len() && self.iter().eq(other.iter().copied())
    }
}

impl<T: Pack, const N: usize> PartialEq<[T; N]> for Packed<T> {
    fn eq(&self, other: &[T; N]) -> bool {
        self.len() == N && self.iter().eq(other.iter().copied())
    }
}

impl<T: Pack + fmt::Debug> fmt::Debug for Packed<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.iter()).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers of many kinds, the same every time (Knuth's multiplier).
    fn noise(at: usize) -> i64 {
        (at as u64).wrapping_mul(6_364_136_223_846_793_005).rotate_left(29) as i64
    }

    /// More values than lie open, and not a whole number of blocks.
    const LONG: usize = OPEN + 5 * BLOCK + 77;

    fn comes_back<T: Pack + fmt::Debug>(value: impl Fn(usize) -> T) {
        let column: Packed<T> = (0..LONG).map(&value).collect();
        assert_eq!(column.len(), LONG);
        assert!(!column.blocks.is_empty());
        for (at, found) in column.iter().enumerate() {
            assert_eq!(found, value(at));
        }
        for at in (0..LONG).step_by(611) {
            assert_eq!(column.at(at), value(at));
        }
        let part: Vec<T> = column.range(OPEN - 3..OPEN + 3).collect();
        assert_eq!(part, (OPEN - 3..OPEN + 3).map(&value).collect::<Vec<T>>());
        let mut turned = column.clone();
        turned.reverse();
        assert_eq!(turned.at(0), value(LONG - 1));
        turned.reverse();
        assert_eq!(turned, column);
        assert_eq!(Packed::from(column.to_vec()), column);
    }

    #[test]
    fn values_come_back_whatever_they_are() {
        comes_back(|at| 1_777_701_600_000 + 1000 * at as i64);
        comes_back(|at| 1_777_701_600_000 + 1003 * at as i64 + noise(at) % 40);
        comes_back(|at| 30_000 * at as i64 + noise(at) % 20_000);
        comes_back(|at| noise(at) % (1 << 33));
        comes_back(noise);
        comes_back(|at| if at % 50 == 0 { i64::MIN } else { i64::MAX - at as i64 });
        comes_back(|at| (at % 7 != 0).then_some(at as i64 * 1000));
        comes_back(|at| at as u32 + 1);
        comes_back(|at| at * 31 + noise(at).unsigned_abs() as usize % 3);
        comes_back(|at| at % 1000 == 0);
        comes_back(|at| Flag::ALL[at / 3 % 4]);
        comes_back(|at| (noise(at) % 300) as f32 / 10.0);
        comes_back(|at| (noise(at) % 100_000) as f32 / 10.0);
        comes_back(|at| if at == 3 { -0.0_f32 } else { at as f32 });
    }

    #[test]
    fn values_that_are_no_number_come_back() {
        let values = |at: usize| if at.is_multiple_of(9) { f32::NAN } else { (at % 50) as f32 };
        let column: Packed<f32> = (0..LONG).map(values).collect();
        assert!(column.iter().enumerate().all(|(at, found)| found.is_nan() == (at % 9 == 0)));
    }

    #[test]
    fn a_value_is_changed_wherever_it_lies() {
        let mut column: Packed<i64> = (0..LONG as i64).collect();
        for at in [0, BLOCK, OPEN, LONG - 1] {
            column.set(at, -5);
        }
        column.map(|at, value| if at == 7 { 99 } else { value });
        let changed: Vec<usize> = column
            .iter()
            .enumerate()
            .filter(|(at, v)| *v != *at as i64)
            .map(|(at, _)| at)
            .collect();
        assert_eq!(changed, [0, 7, BLOCK, OPEN, LONG - 1]);
        for left in (0..LONG).rev() {
            assert!(column.pop().is_some());
            assert_eq!(column.len(), left);
        }
        assert_eq!(column.pop(), None);
    }

    #[test]
    fn a_place_is_found_by_halves() {
        let column: Packed<i64> = (0..LONG as i64).map(|at| at * 10).collect();
        for wanted in [0, 5, 10, 655_360, 10 * LONG as i64] {
            let place = column.partition_point(|value| value < wanted);
            assert_eq!(place, (wanted.unsigned_abs() as usize).div_ceil(10).min(LONG));
        }
    }

    #[test]
    fn even_columns_take_few_bytes() {
        let bytes = |block: &Block| match block {
            Block::Line { off: Off::Not, .. } => 0,
            Block::Line { off: Off::Bytes(_), .. } => 1,
            Block::Words { .. } => 2,
            Block::Line { .. } => 4,
        };
        let clock: Packed<i64> = (0..LONG as i64).map(|at| at * 1000).collect();
        assert!(clock.blocks.iter().all(|block| bytes(block) == 0));
        let pit: Packed<f32> = (0..LONG).map(|at| (at % 200) as f32 / 10.0).collect();
        assert!(pit.blocks.iter().all(|block| bytes(block) <= 2));
    }
}
