//! Inputs changed at random.

/// Random numbers: `SplitMix64` (Steele, Lea and Flood 2014).
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below another; 0 below 0.
    fn below(&mut self, end: usize) -> usize {
        if end == 0 { 0 } else { (self.next() % end as u64) as usize }
    }

    fn one<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        of.get(self.below(of.len()))
    }
}

/// FNV-1a, for names of files.
pub(crate) fn hash(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xCBF2_9CE4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01B3)
    })
}

/// What numbers and times break on.
const ANY: [&str; 34] = [
    "",
    "0",
    "-0",
    "-1",
    "1e308",
    "1e400",
    "-1e-400",
    "NaN",
    "inf",
    "99999999999999999999",
    "2147483648",
    "9223372036854775807",
    "-9223372036854775808",
    "0.1",
    "1,5",
    "1.5",
    "°F",
    "°C",
    "\u{0}",
    "\u{feff}",
    "\u{202e}",
    "=1+1",
    "<b>",
    "2026-02-30",
    "2026-11-01T01:30",
    "24:00",
    "12:00 AM",
    "9999-12-31T23:59:59Z",
    "-0001-01-01",
    "1970-01-01",
    "13/13/2026",
    "+6:30",
    "\"",
    "\r\n",
];

/// One of the inputs, changed in some places.
pub(crate) fn mutated(
    inputs: &[Vec<u8>],
    words: &[&str],
    longest: usize,
    random: &mut Random,
) -> Vec<u8> {
    // Half of the time one of the last that gave something new.
    let from = if random.below(2) == 0 { inputs.len().saturating_sub(20) } else { 0 };
    let mut input = random.one(&inputs[from..]).cloned().unwrap_or_default();
    for _ in 0..=random.below(6) {
        change(&mut input, inputs, words, random);
    }
    input.truncate(longest);
    input
}

fn change(input: &mut Vec<u8>, inputs: &[Vec<u8>], words: &[&str], random: &mut Random) {
    let at = random.below(input.len() + 1);
    let end = (at + 1 + random.below(24)).min(input.len());
    match random.below(14) {
        0 => {
            if let Some(byte) = input.get_mut(at) {
                *byte ^= 1 << random.below(8);
            }
        }
        1 => input.insert(at, random.next() as u8),
        2 => drop(input.drain(at.min(end)..end)),
        3 => {
            let part = input[at.min(end)..end].to_vec();
            input.splice(at..at, part);
        }
        4 | 5 => {
            let word = random.one(words).copied().unwrap_or_default();
            input.splice(at..at, word.bytes());
        }
        6 => {
            let word = random.one(&ANY).copied().unwrap_or_default();
            input.splice(at..at, word.bytes());
        }
        // A number, or a run of letters, becomes another one.
        7 | 8 => {
            let is_part = |byte: &u8| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b':');
            let from = (at..input.len()).find(|&i| is_part(&input[i])).unwrap_or(input.len());
            let to = (from..input.len()).find(|&i| !is_part(&input[i])).unwrap_or(input.len());
            let number = match random.below(3) {
                0 => random.one(&ANY).copied().unwrap_or_default().to_owned(),
                1 => random.below(400).to_string(),
                _ => (random.next() as i64 >> random.below(60)).to_string(),
            };
            input.splice(from..to, number.bytes());
        }
        9 => {
            let other = random.one(inputs).cloned().unwrap_or_default();
            let from = random.below(other.len() + 1);
            let to = (from + random.below(400)).min(other.len());
            input.splice(at..at, other[from..to].iter().copied());
        }
        // Lines and cells.
        10 => lines(input, random, |lines, one, other| lines.swap(one, other)),
        11 => lines(input, random, |lines, one, other| lines.insert(other, lines[one].clone())),
        12 => lines(input, random, |lines, one, _| drop(lines.remove(one))),
        _ => {
            let signs = b",;\t| .:-/\"=[]\n";
            let (old, new) = (random.one(signs).copied(), random.one(signs).copied());
            if let (Some(old), Some(new)) = (old, new) {
                input.iter_mut().filter(|byte| **byte == old).for_each(|byte| *byte = new);
            }
        }
    }
}

fn lines(
    input: &mut Vec<u8>,
    random: &mut Random,
    change: impl Fn(&mut Vec<Vec<u8>>, usize, usize),
) {
    let mut all: Vec<Vec<u8>> = input.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
    let (one, other) = (random.below(all.len()), random.below(all.len()));
    change(&mut all, one, other);
    *input = all.join(&b'\n');
}
