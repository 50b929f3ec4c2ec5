//! Meat channels of one log that change places for a while, and belong to different cooks: each cook is
//! then drawn with a piece of the other's curve.

use cook::{Answer, Question, QuestionCode};
use phases::{Samples, exchanged_meats};

/// The answers: the readings are put right, or stay.
const EXCHANGED: &str = "exchanged";
const AS_RECORDED: &str = "as-recorded";

/// A meat channel of a log, and whose it is.
#[derive(Debug, Clone, Copy)]
pub struct MeatChannel<'a> {
    /// Its name in the log.
    pub name: &'a str,
    /// The cook that reads it.
    pub cook: &'a str,
    /// Its usable readings.
    pub samples: Samples<'a>,
}

/// Two channels that are exchanged in `[start_ms, end_ms)` of the log's own time, with the question.
#[derive(Debug, Clone, PartialEq)]
pub struct MeatsExchanged {
    /// Places of the two among the channels that were given.
    pub channels: (usize, usize),
    /// First reading that belongs to the other channel.
    pub start_ms: i64,
    /// First reading that is right again.
    pub end_ms: i64,
    /// Whether they were exchanged.
    pub question: Question,
}

impl MeatsExchanged {
    /// Whether an answer says that the readings are to be put right.
    pub fn is_put_right_by(answer: &str) -> bool {
        answer.eq_ignore_ascii_case(EXCHANGED)
    }
}

/// The exchanges between meats of different cooks in one log. Those between the meats of one cook are
/// told by the phases, which put them right.
pub fn meats_exchanged(log: &str, channels: &[MeatChannel<'_>]) -> Vec<MeatsExchanged> {
    let begins = channels.iter().filter_map(|channel| channel.samples.at_ms.first()).min();
    let mut found = Vec::new();
    for (first, one) in channels.iter().enumerate() {
        for (second, other) in channels.iter().enumerate().skip(first + 1) {
            if one.cook == other.cook {
                continue;
            }
            for (start_ms, end_ms) in exchanged_meats(one.samples, other.samples) {
                let since = start_ms - begins.copied().unwrap_or(start_ms);
                let question = question(log, (one, other), since, end_ms - start_ms);
                let channels = (first, second);
                found.push(MeatsExchanged { channels, start_ms, end_ms, question });
            }
        }
    }
    found
}

fn question(
    log: &str,
    (one, other): (&MeatChannel<'_>, &MeatChannel<'_>),
    since_ms: i64,
    for_ms: i64,
) -> Question {
    let (begins, lasts) = (crate::say::span(since_ms), crate::say::span(for_ms));
    let question = Question::new(
        QuestionCode::MeatsExchanged,
        &[log, one.name, other.name, &begins, &lasts],
        format!(
            "{log}: did the probes of `{}` and `{}` change places {begins} into the log, for {lasts}?",
            one.name, other.name
        ),
        format!(
            "there both leap between one reading and the next, each going on where the other left off; they are the meats of the cooks `{}` and `{}`",
            one.cook, other.cook
        ),
        vec![
            Answer::new(EXCHANGED, format!("for {lasts} the readings of each are the other's")),
            Answer::new(AS_RECORDED, "the readings stay as the log has them"),
        ],
    )
    .at(log);
    Question { used: Some(AS_RECORDED.to_owned()), ..question }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINUTE: i64 = 60_000;

    /// Two cores of different pace; in minutes `swapped` each is recorded as the other.
    fn curves(swapped: std::ops::Range<i64>) -> (Vec<i64>, Vec<f64>, Vec<f64>) {
        let at: Vec<i64> = (0..600).map(|minute| minute * MINUTE).collect();
        let core = |minute: i64, rate: f64| 4.0 + rate * minute as f64;
        let pick = |a: f64, b: f64| {
            let of = |minute: i64| core(minute, if swapped.contains(&minute) { b } else { a });
            (0..600).map(of).collect()
        };
        (at, pick(0.13, 0.11), pick(0.11, 0.13))
    }

    #[test]
    fn meats_of_two_cooks_that_change_places_are_asked_about_and_those_of_one_are_not() {
        let (at_ms, one, other) = curves(300..390);
        let of = |cooks: [&'static str; 2]| {
            let samples = [&one, &other].map(|temp_c| Samples { at_ms: &at_ms, temp_c });
            let channel = |at: usize| MeatChannel {
                name: ["Meat 1", "Meat 2"][at],
                cook: cooks[at],
                samples: samples[at],
            };
            meats_exchanged("a.csv", &[channel(0), channel(1)])
        };
        let found = of(["a", "b"]);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].start_ms, found[0].end_ms), (300 * MINUTE, 390 * MINUTE));
        assert!(found[0].question.asks.contains("5 h into the log, for 90 min"));
        assert!(of(["a", "a"]).is_empty());
        let (at_ms, one, other) = curves(0..0);
        let samples = [&one, &other].map(|temp_c| Samples { at_ms: &at_ms, temp_c });
        let channels = [0, 1].map(|at| MeatChannel {
            name: ["Meat 1", "Meat 2"][at],
            cook: ["a", "b"][at],
            samples: samples[at],
        });
        assert!(meats_exchanged("a.csv", &channels).is_empty());
    }
}
