//! Local times to instants.

use crate::time::DAY_MS;
use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};

/// Neighbouring rows this close, ms, are one run of the logger.
const CONTINUOUS_MS: i64 = 10 * 60_000;
/// A clock that goes back at least this far, ms, was put back.
const PUT_BACK_MS: i64 = 30 * 60_000;

/// A zone's offsets over a span of time.
pub(crate) struct Zone {
    /// Instants from which each offset holds, ms UTC; the first is the beginning of time.
    starts: Vec<i64>,
    /// Offsets east of UTC, ms.
    offsets: Vec<i64>,
}

impl Zone {
    /// The offsets that local times from `first` to `last` (ms on their own clock) need.
    pub(crate) fn over(zone: &TimeZone, first: i64, last: i64) -> Self {
        let instant = |ms: i64| Timestamp::from_millisecond(ms).unwrap_or(Timestamp::UNIX_EPOCH);
        let from = instant(first - 2 * DAY_MS);
        let until = last + 2 * DAY_MS;
        let ms = |offset: Offset| i64::from(offset.seconds()) * 1000;
        let mut starts = vec![i64::MIN];
        let mut offsets = vec![ms(zone.to_offset(from))];
        for transition in zone.following(from) {
            if transition.timestamp().as_millisecond() > until {
                break;
            }
            starts.push(transition.timestamp().as_millisecond());
            offsets.push(ms(transition.offset()));
        }
        Self { starts, offsets }
    }

    /// The one offset over all of the span, where it is one, ms.
    pub(crate) fn only(&self) -> Option<i64> {
        if let [offset] = self.offsets[..] { Some(offset) } else { None }
    }

    /// The instants that a local time can mean: none in a gap, two in a fold.
    pub(crate) fn candidates(&self, local: i64) -> (Option<i64>, Option<i64>) {
        if let Some(offset) = self.only() {
            return (Some(local - offset), None);
        }
        let mut found = (None, None);
        let near = self.starts.partition_point(|&start| start <= local);
        for i in near.saturating_sub(3)..(near + 2).min(self.starts.len()) {
            let instant = local - self.offsets[i];
            let end = self.starts.get(i + 1).copied().unwrap_or(i64::MAX);
            if instant >= self.starts[i] && instant < end {
                if found.0.is_none() {
                    found.0 = Some(instant);
                } else {
                    found.1 = Some(instant);
                }
            }
        }
        found
    }
}

/// One local time (ms on its own clock) as an instant: the earlier one in a fold; in a
/// gap, the instant at which the clock would have shown it had it not been put forward.
pub(crate) fn instant_of(zone: &TimeZone, local: i64) -> i64 {
    let offsets = Zone::over(zone, local, local);
    if let (Some(instant), _) = offsets.candidates(local) {
        return instant;
    }
    let before = (1..offsets.starts.len())
        .find(|&i| local - offsets.offsets[i] < offsets.starts[i])
        .unwrap_or(offsets.starts.len())
        - 1;
    local - offsets.offsets[before]
}

/// What a zone's clock shows at an instant, in ms on that clock.
pub(crate) fn local_ms(zone: &TimeZone, instant: i64) -> i64 {
    let timestamp = Timestamp::from_millisecond(instant).unwrap_or(Timestamp::UNIX_EPOCH);
    instant + i64::from(zone.to_offset(timestamp).seconds()) * 1000
}

/// Why a local time has no instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Trouble {
    /// The clock never showed it.
    Gap,
    /// The clock showed it twice, and the rows around it are too mixed up to tell.
    Twice,
}

/// What the rows of a log cannot tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Question {
    /// The row at this index lies in a fold, and both instants fit.
    Fold(usize, [i64; 2]),
    /// The rows up to this index run through a gap as though there were none.
    Gap(usize),
}

/// Instants of local times in the order of the log.
///
/// A fold is resolved by the order: where the clock goes back, the rows before it are of
/// the first pass and the rows after it of the second; where it does not, a run of rows
/// in the fold belongs to the pass that it continues (within 10 minutes). Where neither
/// tells, it is a [`Question`]. Times in a gap are rejected; where the rows run on through
/// the gap, the clock does not follow daylight saving, and that is a question too.
pub(crate) fn resolve(zone: &Zone, local: &[i64]) -> Result<Vec<Result<i64, Trouble>>, Question> {
    let mut out = Vec::with_capacity(local.len());
    let mut i = 0;
    while i < local.len() {
        match zone.candidates(local[i]) {
            (Some(instant), None) => {
                out.push(Ok(instant));
                i += 1;
            }
            (None, _) => {
                let runs_on = |other: Option<&i64>| {
                    other.is_some_and(|other| (other - local[i]).abs() <= CONTINUOUS_MS)
                };
                let before = i.checked_sub(1).and_then(|b| local.get(b));
                let from_outside = out.last().is_some_and(Result::is_ok) && runs_on(before);
                let to_outside =
                    local.get(i + 1).is_some_and(|&next| zone.candidates(next).0.is_some())
                        && runs_on(local.get(i + 1))
                        && out.last() == Some(&Err(Trouble::Gap));
                if to_outside && !from_outside {
                    return Err(Question::Gap(i + 1));
                }
                out.push(Err(Trouble::Gap));
                i += 1;
            }
            (Some(_), Some(_)) => {
                let length =
                    local[i..].iter().take_while(|&&l| zone.candidates(l).1.is_some()).count();
                resolve_fold(zone, local, i, length, &mut out)?;
                i += length;
            }
        }
    }
    Ok(out)
}

fn resolve_fold(
    zone: &Zone,
    local: &[i64],
    from: usize,
    length: usize,
    out: &mut Vec<Result<i64, Trouble>>,
) -> Result<(), Question> {
    let run = &local[from..from + length];
    let both = |l: i64| match zone.candidates(l) {
        (Some(first), Some(second)) => [first, second],
        _ => [l, l],
    };
    let back: Vec<usize> = (1..length).filter(|&i| run[i] < run[i - 1]).collect();
    let put_back: Vec<usize> =
        back.iter().copied().filter(|&i| run[i - 1] - run[i] >= PUT_BACK_MS).collect();
    let unclear =
        back.iter().any(|&i| (CONTINUOUS_MS / 2..PUT_BACK_MS).contains(&(run[i - 1] - run[i])));
    if put_back.len() > 1 || unclear {
        out.extend(std::iter::repeat_n(Err(Trouble::Twice), length));
        return Ok(());
    }
    if let [at] = put_back[..] {
        out.extend(run[..at].iter().map(|&l| Ok(both(l)[0])));
        out.extend(run[at..].iter().map(|&l| Ok(both(l)[1])));
        return Ok(());
    }
    let before = out.iter().rev().find_map(|instant| instant.ok());
    let after = local[from + length..].iter().find_map(|&l| zone.candidates(l).0);
    let follows = before.is_some_and(|b| (both(run[0])[0] - b).abs() <= CONTINUOUS_MS);
    let leads = after.is_some_and(|a| (a - both(run[length - 1])[1]).abs() <= CONTINUOUS_MS);
    match (follows, leads) {
        (true, false) => out.extend(run.iter().map(|&l| Ok(both(l)[0]))),
        (false, true) => out.extend(run.iter().map(|&l| Ok(both(l)[1]))),
        _ => return Err(Question::Fold(from, both(run[0]))),
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn local(text: &str) -> i64 {
        crate::time::parse_iso(text.as_bytes()).unwrap().ms
    }

    fn utc(text: &str) -> i64 {
        text.parse::<Timestamp>().unwrap().as_millisecond()
    }

    // 2026 in the United States: forward on 8 March, back on 1 November, at 02:00 local
    // (IANA time zone database, rule `US`, 2007 onwards).
    fn chicago(times: &[String]) -> (Zone, Vec<i64>) {
        let times: Vec<i64> = times.iter().map(|t| local(t)).collect();
        let zone = TimeZone::get("America/Chicago").unwrap();
        let (first, last) = (times.iter().min().unwrap(), times.iter().max().unwrap());
        (Zone::over(&zone, *first, *last), times)
    }

    fn november(clocks: &[&str]) -> Vec<String> {
        clocks.iter().map(|clock| format!("2026-11-01 {clock}")).collect()
    }

    #[test]
    fn a_clock_put_back_is_followed() {
        let (zone, times) = chicago(&november(&["00:55", "01:30", "01:05", "01:35", "02:05"]));
        // 01:30 to 01:05 is 25 minutes back: neither a swap nor surely the clock.
        assert_eq!(resolve(&zone, &times).unwrap()[1], Err(Trouble::Twice));
        let (zone, times) =
            chicago(&november(&["00:55", "01:05", "01:58", "01:02", "01:58", "02:03"]));
        let read: Vec<i64> =
            resolve(&zone, &times).unwrap().into_iter().map(Result::unwrap).collect();
        let meant = ["05:55", "06:05", "06:58", "07:02", "07:58", "08:03"]
            .map(|clock| utc(&format!("2026-11-01T{clock}:00Z")));
        assert_eq!(read, meant);
    }

    #[test]
    fn a_log_that_begins_or_ends_in_the_fold() {
        let (zone, times) = chicago(&november(&["01:50", "01:58", "02:03"]));
        assert_eq!(resolve(&zone, &times).unwrap()[0], Ok(utc("2026-11-01T07:50:00Z")));
        let (zone, times) = chicago(&november(&["00:55", "01:02"]));
        assert_eq!(resolve(&zone, &times).unwrap()[1], Ok(utc("2026-11-01T06:02:00Z")));
        let (zone, times) = chicago(&november(&["01:10", "01:20"]));
        assert!(matches!(resolve(&zone, &times), Err(Question::Fold(0, _))));
    }

    #[test]
    fn a_clock_that_is_not_put_back_is_a_question() {
        let clocks = ["00:55", "01:02", "01:09", "01:20", "01:40", "01:55", "02:03"];
        let (zone, times) = chicago(&november(&clocks));
        assert!(matches!(resolve(&zone, &times), Err(Question::Fold(1, _))));
    }

    #[test]
    fn a_time_in_the_gap_has_no_instant() {
        let march = |clocks: &[&str]| -> Vec<String> {
            clocks.iter().map(|clock| format!("2026-03-08 {clock}")).collect()
        };
        let (zone, times) = chicago(&march(&["01:58", "02:30", "03:01"]));
        assert_eq!(
            resolve(&zone, &times).unwrap(),
            [Ok(utc("2026-03-08T07:58:00Z")), Err(Trouble::Gap), Ok(utc("2026-03-08T08:01:00Z"))]
        );
        let (zone, times) = chicago(&march(&["01:58", "02:05", "02:30", "02:56", "03:01"]));
        assert!(matches!(resolve(&zone, &times), Err(Question::Gap(4))));
    }

    #[test]
    fn one_local_time() {
        let zone = TimeZone::get("America/Chicago").unwrap();
        let at = |text: &str| instant_of(&zone, local(text));
        assert_eq!(at("2026-05-02 06:00"), utc("2026-05-02T11:00:00Z"));
        assert_eq!(at("2026-11-01 01:30"), utc("2026-11-01T06:30:00Z"));
        assert_eq!(at("2026-03-08 02:30"), utc("2026-03-08T08:30:00Z"));
        assert_eq!(local_ms(&zone, utc("2026-05-02T11:00:00Z")), local("2026-05-02 06:00"));
    }
}
