//! What was drawn, and all that could have been.

/// Most ways to draw the lots of one unit.
const MOST_WAYS: usize = 1_000;

/// An outcome with its lot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Member {
    /// The outcome, or what it is known to exceed.
    pub value: f64,
    /// Whether it is only known to lie above `value`.
    pub censored: bool,
    /// Whether the lot was the first treatment.
    pub first: bool,
}

impl Member {
    /// How far it lies above `other`, as far as is known: a difference of two observed values; the least that it
    /// can be where its sign is certain; 0 where it is not (Gehan 1965, Biometrika 52, 203–223, with
    /// the size kept).
    fn above(self, other: Self) -> f64 {
        let apart = self.value - other.value;
        match (self.censored, other.censored) {
            (false, false) => apart,
            (true, false) => apart.max(0.0),
            (false, true) => apart.min(0.0),
            (true, true) => 0.0,
        }
    }
}

/// Outcomes among which a fixed number had the first treatment by lot: a pair, or a block.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    members: Vec<Member>,
    /// Every way in which the lots could have fallen, the one that did first.
    ways: Vec<Vec<bool>>,
}

impl Unit {
    /// A unit; `None` where one treatment is missing, so that no lot could have fallen otherwise, or
    /// where there are too many ways to go through.
    pub fn new(members: Vec<Member>) -> Option<Self> {
        let first = members.iter().filter(|member| member.first).count();
        if first == 0 || first == members.len() || members.len() > 12 {
            return None;
        }
        let drawn: Vec<bool> = members.iter().map(|member| member.first).collect();
        let mut ways = vec![drawn.clone()];
        for bits in 0..1u32 << members.len() {
            let way: Vec<bool> = (0..members.len()).map(|place| bits >> place & 1 == 1).collect();
            if way.iter().filter(|first| **first).count() == first && way != drawn {
                ways.push(way);
            }
        }
        (ways.len() <= MOST_WAYS).then_some(Self { members, ways })
    }

    /// A pair of observed outcomes.
    pub fn pair(first: f64, second: f64) -> Self {
        let member = |value, first| Member { value, censored: false, first };
        let members = vec![member(first, true), member(second, false)];
        Self { members, ways: vec![vec![true, false], vec![false, true]] }
    }

    pub(super) fn ways(&self) -> usize {
        self.ways.len()
    }

    /// t·u/(t + u) for t firsts and u seconds: what its difference weighs.
    pub(super) fn weight(&self) -> f64 {
        let first = self.ways[0].iter().filter(|first| **first).count() as f64;
        let all = self.members.len() as f64;
        first * (all - first) / all
    }

    /// The weighted difference, first less second, of each way, if the first treatment adds `effect`.
    pub(super) fn differences(&self, effect: f64) -> Vec<f64> {
        let without: Vec<Member> = self
            .members
            .iter()
            .map(|member| Member {
                value: member.value - if member.first { effect } else { 0.0 },
                ..*member
            })
            .collect();
        let all = self.members.len() as f64;
        self.ways
            .iter()
            .map(|way| {
                let mut sum = 0.0;
                for (one, _) in way.iter().enumerate().filter(|(_, first)| **first) {
                    for (other, _) in way.iter().enumerate().filter(|(_, first)| !**first) {
                        sum += without[one].above(without[other]);
                    }
                }
                sum / all
            })
            .collect()
    }

    /// The largest distance between two of its outcomes.
    pub(super) fn spread(&self) -> f64 {
        let values = self.members.iter().map(|member| member.value);
        values.clone().fold(f64::MIN, f64::max) - values.fold(f64::MAX, f64::min)
    }
}
