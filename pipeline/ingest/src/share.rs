//! Which part of a log is whose, where several cooks follow each other in one.

use crate::find::FoundLog;
use columns::Packed;
use cook::Card;
use std::collections::BTreeMap;
use std::ops::Range;

/// A part of a log: the readings from an instant on, before another.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LogPart {
    /// First instant, ms UTC; the log's beginning where there is none.
    pub from_ms: Option<i64>,
    /// First instant after it, ms UTC; the log's end where there is none.
    pub until_ms: Option<i64>,
}

impl LogPart {
    /// The part of increasing instants.
    pub(crate) fn of(self, at_ms: &Packed<i64>) -> Range<usize> {
        let from = self.from_ms.map_or(0, |from| at_ms.partition_point(|at| at < from));
        let until =
            self.until_ms.map_or(at_ms.len(), |until| at_ms.partition_point(|at| at < until));
        from..until.max(from)
    }
}

/// Shares logs out among the cooks that read the same meat channel of them one after the
/// other: by cook and log (as shown). The border between two cooks lies midway between the
/// end of the first (slice, else pull) and the meat-on of the second; at the meat-on of the
/// second where the end is not known. Cooks whose times overlap, or are not known, are not
/// parted.
pub fn share_out(uses: &[(&Card, &[FoundLog])]) -> BTreeMap<(String, String), LogPart> {
    struct Use<'u> {
        cook: &'u str,
        channel: Option<String>,
        from: i64,
        until: Option<i64>,
    }
    let mut logs: BTreeMap<&str, Vec<Use<'_>>> = BTreeMap::new();
    for (card, found) in uses {
        let Some(from) = card.marks.meat_on_ms else { continue };
        for log in *found {
            logs.entry(&log.file.shown_as).or_default().push(Use {
                cook: &card.cook,
                channel: log.channel.as_ref().map(|channel| channel.to_lowercase()),
                from,
                until: card.marks.slice_ms.or(card.marks.pull_ms),
            });
        }
    }
    let mut parts: BTreeMap<(String, String), LogPart> = BTreeMap::new();
    for (log, mut uses) in logs {
        uses.sort_by_key(|used| (used.from, used.cook));
        for (i, one) in uses.iter().enumerate() {
            let same = |other: &&Use<'_>| {
                let shared = one.channel.is_none()
                    || other.channel.is_none()
                    || one.channel == other.channel;
                shared && other.cook != one.cook && other.from > one.from
            };
            let Some(next) = uses[i + 1..].iter().find(same) else { continue };
            let border = match one.until {
                Some(until) if until > next.from => continue,
                Some(until) => until + (next.from - until) / 2,
                None => next.from,
            };
            let key = |cook: &str| (cook.to_owned(), log.to_owned());
            let part = parts.entry(key(one.cook)).or_default();
            part.until_ms = Some(part.until_ms.map_or(border, |known| known.max(border)));
            let part = parts.entry(key(next.cook)).or_default();
            part.from_ms = Some(part.from_ms.map_or(border, |known| known.min(border)));
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::list::LogFile;

    fn card(cook: &str, from: i64, pull: Option<i64>) -> Card {
        let mut card = Card { cook: cook.to_owned(), ..Card::default() };
        card.marks.meat_on_ms = Some(from);
        card.marks.pull_ms = pull;
        card
    }

    fn parts(uses: &[(Card, Option<&str>)]) -> Vec<(String, Option<i64>, Option<i64>)> {
        let found: Vec<Vec<FoundLog>> = uses
            .iter()
            .map(|(_, channel)| {
                vec![FoundLog {
                    file: LogFile::on_disk("a.csv".into(), "a.csv"),
                    channel: channel.map(str::to_owned),
                }]
            })
            .collect();
        let uses: Vec<(&Card, &[FoundLog])> =
            uses.iter().zip(&found).map(|((card, _), found)| (card, &found[..])).collect();
        share_out(&uses).into_iter().map(|((c, _), p)| (c, p.from_ms, p.until_ms)).collect()
    }

    #[test]
    fn cooks_that_follow_each_other_get_their_own_part() {
        let all = None;
        assert_eq!(
            parts(&[
                (card("b", 200, None), all),
                (card("a", 0, Some(100)), all),
                (card("c", 300, Some(400)), all)
            ]),
            [
                ("a".into(), None, Some(150)),
                ("b".into(), Some(150), Some(300)),
                ("c".into(), Some(300), None)
            ]
        );
    }

    #[test]
    fn cooks_of_one_fire_are_not_parted() {
        let flat = (card("a", 0, Some(100)), Some("Flat"));
        assert!(parts(&[flat.clone(), (card("b", 200, None), Some("Point"))]).is_empty());
        assert!(parts(&[flat.clone(), (card("b", 50, None), Some("flat"))]).is_empty());
        assert_eq!(parts(&[flat, (card("b", 200, None), Some("flat"))]).len(), 2);
    }
}
