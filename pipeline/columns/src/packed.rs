//! Long columns in few bytes a value.
//!
//! A log of some hours lies as it is, in a plain vector. Of a longer column, all but the end is packed in blocks: whole
//! numbers by how far they are off a straight line, since clocks and line numbers run on evenly, and
//! temperatures by a list of those that occur, since a logger knows few of them in a quarter of an hour.
//! Any value is found in one step.

mod block;
#[cfg(test)]
mod tests;

use self::block::{BLOCK, Block};
use cook::Flag;
use std::fmt;
use std::ops::Range;

/// Values that lie open behind the packed ones, at most: eighteen hours of readings a second.
const OPEN: usize = 64 * BLOCK;

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
