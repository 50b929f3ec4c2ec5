//! What cleaning and segmenting say of a cook's readings and channels, in the words of the tables.

/// An enum whose variants are words of a table: all of them in order, to the word and back.
macro_rules! words {
    (
        $(#[$attribute:meta])* $name:ident is $what:literal;
        $( $(#[$of:meta])* $variant:ident = $word:literal, )*
    ) => {
        $(#[$attribute])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $( $(#[$of])* $variant, )*
        }

        impl $name {
            /// Every one, in the order to list them.
            pub const ALL: &[Self] = &[$( Self::$variant, )*];

            /// Its word in files and listings.
            pub fn as_str(self) -> &'static str {
                match self {
                    $( Self::$variant => $word, )*
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.as_str())
            }
        }

        impl std::str::FromStr for $name {
            type Err = String;

            fn from_str(text: &str) -> Result<Self, String> {
                Self::ALL.iter().copied().find(|one| one.as_str() == text).ok_or_else(|| {
                    let known: Vec<&str> = Self::ALL.iter().map(|one| one.as_str()).collect();
                    format!(concat!("`{}` is no ", $what, " ({})"), text, known.join(", "))
                })
            }
        }
    };
}

words! {
    /// What is to be known of a stretch of readings.
    #[derive(Default)]
    FlagKind is "flag";
    /// Left out: colder or hotter than the channel can have been, or read before the probe was in meat.
    #[default]
    Impossible = "impossible",
    /// Left out: a number that stands for "no reading".
    NoReading = "no-reading",
    /// Left out: a lone spike.
    Spike = "spike",
    /// Left out: the edge of a sudden fall, of the pit under an opened lid or of a pulled probe. The
    /// filter of spikes takes it for one.
    Edge = "edge",
    /// Left out: the probe was moved near a stated wrap and reads low.
    WrapDip = "wrap-dip",
    /// Left out: the probe was pulled or moved and reads low.
    Dip = "dip",
    /// Left out: the probe stuck.
    Stuck = "stuck",
    /// Used for the channel that it was exchanged with.
    Exchanged = "exchanged",
    /// Used; the lid stood open.
    LidOpen = "lid-open",
    /// Nothing was logged for longer than can be judged across with certainty.
    Gap = "gap",
    /// Nothing was logged of this channel while others went on: its probe was unplugged.
    Unplugged = "unplugged",
}

impl FlagKind {
    /// Whether the readings of the stretch are left out.
    pub fn removes(self) -> bool {
        !matches!(self, Self::Exchanged | Self::LidOpen | Self::Gap | Self::Unplugged)
    }
}

words! {
    /// The part that a channel plays in its cook.
    #[derive(Default)]
    ChannelPart is "part of a channel";
    /// The core.
    Lead = "lead",
    /// The pit.
    Pit = "pit",
    /// Another meat channel, compared with the lead.
    OtherMeat = "other-meat",
    /// Drawn, and nothing else.
    #[default]
    NotUsed = "not-used",
}

words! {
    /// Why a meat channel is the lead.
    LeadReason is "reason to lead";
    /// The card names it.
    ByCard = "by-card",
    /// It alone has readings in the cook.
    OnlyOne = "only-one",
    /// It is the last to arrive at the finish.
    LastToArrive = "last-to-arrive",
    /// None arrives at the finish, and it is the farthest from it.
    Farthest = "farthest",
}

words! {
    /// How a channel reads unlike a probe in the lead's meat.
    Unlike is "way to read unlike the lead";
    /// It follows the pit.
    InAir = "in-air",
    /// It begins at another temperature than raw parts of one piece do.
    BeginsApart = "begins-apart",
    /// It hardly warms while the lead does.
    HardlyWarms = "hardly-warms",
    /// It differs by the same amount all along: one of the two probes is off.
    SteadyDifference = "steady-difference",
    /// It does not warm when the lead does.
    OtherCourse = "other-course",
}

words! {
    /// What a probe's correction rests on.
    #[derive(Default)]
    CalibrationSource is "source of a correction";
    /// The card states neither an offset nor a test.
    #[default]
    None = "none",
    /// The card states the offset.
    Stated = "stated",
    /// A test in melting ice.
    Ice = "ice",
    /// A test in boiling water.
    Boiling = "boiling",
    /// Both tests.
    IceAndBoiling = "ice-and-boiling",
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read_back_and_others_refused_with_those_that_are_known() {
        for kind in FlagKind::ALL {
            assert_eq!(kind.as_str().parse(), Ok(*kind));
        }
        assert_eq!(
            "middle".parse::<ChannelPart>().unwrap_err(),
            "`middle` is no part of a channel (lead, pit, other-meat, not-used)"
        );
    }

    #[test]
    fn what_was_seen_or_put_right_is_not_left_out() {
        let kept: Vec<&FlagKind> = FlagKind::ALL.iter().filter(|kind| !kind.removes()).collect();
        assert_eq!(
            kept,
            [&FlagKind::Exchanged, &FlagKind::LidOpen, &FlagKind::Gap, &FlagKind::Unplugged]
        );
    }
}
