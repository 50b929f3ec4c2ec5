//! Any dialect, by chance: only such as a logger or somebody's spreadsheet could write.

use super::Dialect;
use super::style::{
    Absent, ClockStyle, DateOrder, DateStyle, Delimiter, ElapsedStyle, EpochUnit, Escape,
    ExtraColumn, FileEnd, Header, Language, LineEnds, NumberStyle, Quotes, RowEnd, Shape,
    TimeStyle, UnitForm, UnitPlace, UnitWord, ZoneStyle,
};
use crate::archive::Container;
use crate::encoding::Encoding;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use simulate::measured::Sentinel;

/// One of a list.
pub(crate) fn one_of<T: Copy>(random: &mut ChaCha8Rng, list: &[T]) -> T {
    list[random.random_range(0..list.len())]
}

/// Texts for "nothing was read".
const ABSENT_TEXTS: [&str; 7] = ["---", "N/A", "OPEN", "NaN", "-", "ERR", "no probe"];
/// Numbers for it: rows of nines, and the ends of sixteen-bit integers, whole and in tenths
/// (common practice, no source).
const ABSENT_NUMBERS: [f64; 8] =
    [-999.0, 999.9, -999.9, -9999.0, 3276.7, -3276.8, 6553.5, 32_767.0];

const PREAMBLE: [&str; 8] = [
    "Temperature log",
    "# recorded by logger 7, memory 2",
    "Interval: 60 s",
    "Exported 2024-11-02 09:30:00",
    "Firmware 1.4.2",
    "",
    "Alarm high 275; alarm low 200",
    "All temperatures as measured, not averaged",
];
const FOOTER: [&str; 4] = ["End of log", "", "*** memory full ***", "Checksum 7F3A"];

impl Dialect {
    /// Any dialect. Instants are written with their seconds; what cannot be read by anybody
    /// (a decimal comma between unquoted commas) never comes.
    pub fn draw(random: &mut ChaCha8Rng) -> Self {
        let mut dialect = Self::default();
        let mut maybe = |share: f64, set: fn(&mut Self, &mut ChaCha8Rng)| {
            if random.random_bool(share) {
                set(&mut dialect, random);
            }
        };
        maybe(0.75, Self::draw_delimiter);
        maybe(0.35, Self::draw_quotes);
        maybe(0.4, Self::draw_numbers);
        maybe(0.3, |dialect, _| dialect.shape = Shape::Long);
        maybe(0.85, Self::draw_time);
        maybe(0.6, Self::draw_unit);
        maybe(0.4, Self::draw_header);
        maybe(0.2, Self::draw_repeated_header);
        maybe(0.5, Self::draw_language);
        maybe(0.45, Self::draw_preamble);
        maybe(0.3, Self::draw_footer);
        maybe(0.6, Self::draw_absent);
        maybe(0.35, Self::draw_extras);
        maybe(0.3, Self::draw_row_ends);
        maybe(0.6, Self::draw_line_ends);
        maybe(0.3, Self::draw_file_end);
        maybe(0.6, Self::draw_encoding);
        maybe(0.4, Self::draw_container);
        dialect.make_sensible();
        dialect
    }

    pub(crate) fn draw_delimiter(&mut self, random: &mut ChaCha8Rng) {
        self.delimiter = one_of(random, &Delimiter::ALL[1..]);
    }

    pub(crate) fn draw_quotes(&mut self, random: &mut ChaCha8Rng) {
        self.quotes = one_of(random, &[Quotes::Texts, Quotes::All]);
        if random.random_bool(0.3) {
            self.escape = Escape::Backslash;
        }
    }

    pub(crate) fn draw_numbers(&mut self, random: &mut ChaCha8Rng) {
        let decimal_comma = random.random_bool(0.7);
        let mark = if decimal_comma { '.' } else { ',' };
        let thousands = one_of(random, &[None, Some(mark), Some(mark), Some(' '), Some('\'')]);
        self.number = NumberStyle { decimal_comma, thousands };
    }

    pub(crate) fn draw_time(&mut self, random: &mut ChaCha8Rng) {
        self.time = match random.random_range(0..20) {
            0..10 => calendar(random),
            10 | 11 => TimeStyle::ClockOnly {
                clock: one_of(random, &[ClockStyle::TwentyFour, ClockStyle::Twelve]),
                date_told: random.random_bool(0.7),
            },
            12..15 => TimeStyle::Epoch(one_of(
                random,
                &[EpochUnit::Seconds, EpochUnit::Milliseconds, EpochUnit::Microseconds],
            )),
            15 | 16 => TimeStyle::Serial,
            _ => TimeStyle::Elapsed {
                unit: one_of(
                    random,
                    &[ElapsedStyle::Hms, ElapsedStyle::Minutes, ElapsedStyle::Seconds],
                ),
                told: random.random_bool(0.9),
                start_told: random.random_bool(0.5),
            },
        };
    }

    pub(crate) fn draw_unit(&mut self, random: &mut ChaCha8Rng) {
        self.unit_word =
            one_of(random, &[UnitWord::Degree, UnitWord::Letter, UnitWord::Deg, UnitWord::Word]);
        self.unit_form = one_of(
            random,
            &[UnitForm::Round, UnitForm::Square, UnitForm::Bare, UnitForm::Underscore],
        );
        self.unit = match random.random_range(0..10) {
            0..3 => UnitPlace::Header,
            3..6 => UnitPlace::Row,
            6..8 => UnitPlace::Value,
            8 => UnitPlace::Column,
            _ => UnitPlace::Nowhere,
        };
    }

    pub(crate) fn draw_header(&mut self, random: &mut ChaCha8Rng) {
        self.header = one_of(random, &[Header::None, Header::Two, Header::Two]);
        if self.header == Header::None && random.random_bool(0.8) {
            self.unit = UnitPlace::Value;
        }
    }

    pub(crate) fn draw_repeated_header(&mut self, random: &mut ChaCha8Rng) {
        self.header_every = Some(random.random_range(20..120));
    }

    pub(crate) fn draw_language(&mut self, random: &mut ChaCha8Rng) {
        self.language = one_of(random, &Language::ALL);
        self.capitals = random.random_bool(0.6);
    }

    pub(crate) fn draw_preamble(&mut self, random: &mut ChaCha8Rng) {
        let count = random.random_range(1..=5);
        let from = random.random_range(0..PREAMBLE.len());
        self.preamble =
            (from..from + count).map(|index| PREAMBLE[index % PREAMBLE.len()].to_owned()).collect();
    }

    pub(crate) fn draw_footer(&mut self, random: &mut ChaCha8Rng) {
        self.totals = random.random_bool(0.6);
        if !self.totals || random.random_bool(0.5) {
            self.footer = vec![one_of(random, &FOOTER).to_owned(), FOOTER[0].to_owned()];
        }
    }

    pub(crate) fn draw_absent(&mut self, random: &mut ChaCha8Rng) {
        let nothing = if random.random_bool(0.55) {
            Sentinel::text(one_of(random, &ABSENT_TEXTS))
        } else {
            Sentinel::Value(one_of(random, &ABSENT_NUMBERS))
        };
        let words = [("HI", "LO"), ("Hi", "Lo"), ("OVER", "UNDER"), ("---", "---")];
        let (high, low) = one_of(random, &words);
        self.absent = Absent {
            nothing: Some(nothing),
            too_high: Sentinel::text(high),
            too_low: Sentinel::text(low),
        };
    }

    pub(crate) fn draw_extras(&mut self, random: &mut ChaCha8Rng) {
        use ExtraColumn::{Battery, Fan, Note, RowNumber};
        self.extras = [RowNumber, Fan, Battery, Note]
            .into_iter()
            .filter(|_| random.random_bool(0.5))
            .collect();
        if self.extras.is_empty() {
            self.extras.push(Battery);
        }
    }

    pub(crate) fn draw_row_ends(&mut self, random: &mut ChaCha8Rng) {
        self.row_end = if random.random_bool(0.5) {
            RowEnd::Ragged
        } else {
            RowEnd::Empty(random.random_range(1..4))
        };
    }

    pub(crate) fn draw_line_ends(&mut self, random: &mut ChaCha8Rng) {
        self.line_ends = one_of(random, &[LineEnds::CrLf, LineEnds::Cr, LineEnds::Mixed]);
    }

    pub(crate) fn draw_file_end(&mut self, random: &mut ChaCha8Rng) {
        self.file_end = match random.random_range(0..3) {
            0 => FileEnd::NoLineEnd,
            1 => FileEnd::Lost(random.random_range(1..12)),
            _ => FileEnd::Zeros(one_of(random, &[1, 7, 64, 512])),
        };
    }

    pub(crate) fn draw_encoding(&mut self, random: &mut ChaCha8Rng) {
        self.encoding = one_of(random, &Encoding::ALL[1..]);
    }

    pub(crate) fn draw_container(&mut self, random: &mut ChaCha8Rng) {
        self.container = one_of(random, &Container::ALL[1..]);
    }

    /// Takes back what does not go together.
    pub(crate) fn make_sensible(&mut self) {
        if self.header == Header::None {
            self.header_every = None;
        }
        if self.shape == Shape::Wide && self.unit == UnitPlace::Column {
            self.unit = UnitPlace::Row;
        }
        if self.shape == Shape::Long {
            self.totals = false;
            if self.header == Header::Two {
                self.header = Header::One;
            }
        }
        // `Pit F` may well be the sixth pit's name; a unit of two words needs brackets.
        match (self.unit_form, self.unit_word) {
            (UnitForm::Bare, UnitWord::Letter | UnitWord::Deg)
            | (UnitForm::Underscore, UnitWord::Deg | UnitWord::Degree) => {
                self.unit_form = UnitForm::Round;
            }
            _ => {}
        }
        // A file that ends in its last row has nothing behind it.
        if matches!(self.file_end, FileEnd::Lost(_)) {
            self.footer.clear();
            self.totals = false;
        }
        if self.delimiter == Delimiter::Spaces {
            self.fit_spaces();
        }
    }

    /// Cells between runs of spaces are never empty and hold no space themselves.
    fn fit_spaces(&mut self) {
        self.quotes = Quotes::WhenNeeded;
        self.row_end = RowEnd::Plain;
        self.extras.retain(|extra| *extra != ExtraColumn::Note);
        if !matches!(self.unit_word, UnitWord::Degree | UnitWord::Letter) {
            self.unit_word = UnitWord::Degree;
        }
        if self.unit_form == UnitForm::Bare {
            self.unit_form = UnitForm::Round;
        }
        if self.number.thousands == Some(' ') {
            self.number.thousands = Some('\'');
        }
        if let TimeStyle::Calendar { date, clock, joint, .. } = &mut self.time {
            if *joint == Some(' ') {
                *joint = None;
            }
            if *clock == ClockStyle::Twelve {
                *clock = ClockStyle::TwelveLower;
            }
            if date.order == DateOrder::MonthNameDay {
                date.order = DateOrder::DayMonthName;
            }
            if date.separator == ' ' {
                date.separator = '-';
            }
        }
        if let TimeStyle::ClockOnly { clock, .. } = &mut self.time
            && *clock == ClockStyle::Twelve
        {
            *clock = ClockStyle::TwelveLower;
        }
    }
}

fn calendar(random: &mut ChaCha8Rng) -> TimeStyle {
    use DateOrder as D;
    let order = one_of(
        random,
        &[
            D::YearMonthDay,
            D::YearMonthDay,
            D::DayMonthYear,
            D::MonthDayYear,
            D::DayMonthName,
            D::MonthNameDay,
        ],
    );
    let separators: &[char] = match order {
        D::YearMonthDay => &['-', '-', '/'],
        D::DayMonthYear => &['/', '.', '-'],
        D::MonthDayYear => &['/', '-'],
        D::DayMonthName | D::MonthNameDay => &[' ', '-'],
    };
    let numbers = matches!(order, D::DayMonthYear | D::MonthDayYear);
    let date = DateStyle {
        order,
        separator: one_of(random, separators),
        two_digit_year: numbers && random.random_bool(0.3),
        padded: order == D::YearMonthDay || random.random_bool(0.6),
    };
    let mut clock = one_of(
        random,
        &[
            ClockStyle::TwentyFour,
            ClockStyle::TwentyFour,
            ClockStyle::Twelve,
            ClockStyle::TwelveLower,
        ],
    );
    let zone = match order {
        D::YearMonthDay => one_of(random, &[ZoneStyle::Local, ZoneStyle::Offset, ZoneStyle::Utc]),
        _ => ZoneStyle::Local,
    };
    if zone != ZoneStyle::Local {
        clock = ClockStyle::TwentyFour;
    }
    let joints: &[Option<char>] = match order {
        D::YearMonthDay => &[Some(' '), Some('T'), None],
        _ => &[Some(' '), Some(' '), None],
    };
    let joint = one_of(random, joints);
    // A T stands between the parts of ISO 8601 only.
    if joint == Some('T') {
        clock = ClockStyle::TwentyFour;
    }
    TimeStyle::Calendar { date, clock, zone, joint }
}
