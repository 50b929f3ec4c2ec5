//! A block of a long column: some whole numbers, as a line or as words.

use super::Pack;

/// Values of a block.
pub(super) const BLOCK: usize = 1024;
/// The step of a block's line is kept in parts of this power of two.
const PART: u32 = 10;
/// A block that rises by more than that has no line.
const STEEPEST: u64 = 1 << 40;

/// A block of values, packed.
#[derive(Clone)]
pub(super) enum Block {
    /// Near a straight line: its first value, its step in parts of 2^[`PART`], and how far each value is off.
    Line { first: i64, step: i64, off: Off },
    /// Few different ones: all that occur, and which of them each is.
    Words { words: Box<[u32]>, codes: Box<[u8]> },
}

/// How far values are off a line.
#[derive(Clone)]
pub(super) enum Off {
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
    pub(super) fn of<T: Pack>(values: &[T]) -> Self {
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

    pub(super) fn at(&self, at: usize) -> i64 {
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

    pub(super) fn unpack<T: Pack>(&self, out: &mut Vec<T>) {
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
