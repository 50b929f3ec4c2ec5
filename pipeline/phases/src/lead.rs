//! Which of several meat channels is the core.

use crate::channels::Channel;
use crate::error::PhasesError;
use cook::LeadReason;

/// A channel that moves by less than this over the cook, °C, while another warms by
/// [`WARMS_C`]: nothing is plugged in, or the probe lies in ice. A thick cut's middle may stand still for
/// its first hour, but no other probe in it warms so far meanwhile. Common practice, no source.
const STANDS_STILL_C: f64 = 1.5;
/// What tells that the cook went on, °C.
const WARMS_C: f64 = 30.0;

/// The lead meat channel and why it was chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct LeadChoice {
    /// Its index in the slice given.
    pub index: usize,
    /// Its name.
    pub name: String,
    /// Why it was chosen.
    pub reason: LeadReason,
    /// Its highest reading where that is why, °C.
    pub highest_c: Option<f64>,
    /// Why, as a sentence for people.
    pub because: String,
}

/// Chooses the lead among the meat channels: the card's (`wanted`), else the one that is
/// last to arrive at `finish_c`. The cook is done when its slowest part is.
///
/// Only usable readings in `[from_ms, until_ms)` count. A channel that never arrives is
/// later than any that does; among several that never do, the one with the lowest maximum
/// is the lead. Channels without a usable reading there are passed over, and so is one that stands
/// still while another warms.
///
/// # Errors
/// [`PhasesError::NoMeatChannel`] and [`PhasesError::NoSuchChannel`].
pub fn lead_channel(
    meat: &[Channel],
    wanted: Option<&str>,
    (from_ms, until_ms): (i64, i64),
    finish_c: f64,
) -> Result<LeadChoice, PhasesError> {
    if let Some(wanted) = wanted {
        let found =
            meat.iter().position(|channel| channel.name.trim().eq_ignore_ascii_case(wanted.trim()));
        return match found {
            Some(index) => Ok(LeadChoice {
                index,
                name: meat[index].name.clone(),
                reason: LeadReason::ByCard,
                highest_c: None,
                because: "The season sheet names it.".into(),
            }),
            None => Err(PhasesError::NoSuchChannel {
                wanted: wanted.to_owned(),
                present: meat.iter().map(|channel| channel.name.clone()).collect(),
            }),
        };
    }
    let arrivals: Vec<(usize, Arrival)> = meat
        .iter()
        .enumerate()
        .filter_map(|(index, channel)| {
            Some((index, arrival(channel, from_ms, until_ms, finish_c)?))
        })
        .collect();
    let warms =
        arrivals.iter().any(|(index, _)| range(&meat[*index], from_ms, until_ms) >= WARMS_C);
    let arrivals: Vec<(usize, Arrival)> = arrivals
        .into_iter()
        .filter(|(index, _)| !warms || range(&meat[*index], from_ms, until_ms) >= STANDS_STILL_C)
        .collect();
    // The first of equals wins, so that the order of channels decides a tie.
    let last = arrivals.iter().rev().max_by(|a, b| a.1.order().cmp(&b.1.order()));
    let Some(&(index, arrival)) = last else { return Err(PhasesError::NoMeatChannel) };
    let n = arrivals.len();
    let (reason, highest_c, because) = match arrival {
        _ if n == 1 => (
            LeadReason::OnlyOne,
            None,
            "It is the only meat channel with readings in this cook.".into(),
        ),
        Arrival::At(_) => (
            LeadReason::LastToArrive,
            None,
            format!("Of {n} meat channels it is the last to arrive at {finish_c:.0} °C."),
        ),
        Arrival::Never { highest_c } => (
            LeadReason::Farthest,
            Some(highest_c),
            format!(
                "Of {n} meat channels it is the farthest from {finish_c:.0} °C: it never passed {highest_c:.1} °C."
            ),
        ),
    };
    Ok(LeadChoice { index, name: meat[index].name.clone(), reason, highest_c, because })
}

/// How far a channel's readings lie apart, °C.
fn range(channel: &Channel, from_ms: i64, until_ms: i64) -> f64 {
    let inside = channel.samples.view().within(from_ms, until_ms).temp_c.iter().copied();
    inside.clone().fold(f64::NEG_INFINITY, f64::max) - inside.fold(f64::INFINITY, f64::min)
}

#[derive(Clone, Copy)]
enum Arrival {
    At(i64),
    Never { highest_c: f64 },
}

impl Arrival {
    /// Later arrivals are greater; never is later still, and the lower the maximum the
    /// greater. Maxima are compared in hundredths of a °C.
    fn order(self) -> (bool, i64) {
        match self {
            Self::At(at_ms) => (false, at_ms),
            Self::Never { highest_c } => (true, -(highest_c * 100.0).round() as i64),
        }
    }
}

/// A channel arrives at the second of two readings in a row at or above the finish, so that
/// one spike is no arrival.
fn arrival(channel: &Channel, from_ms: i64, until_ms: i64, finish_c: f64) -> Option<Arrival> {
    let inside = channel.samples.view().within(from_ms, until_ms);
    if inside.is_empty() {
        return None;
    }
    let pair = inside.temp_c.windows(2).position(|pair| pair.iter().all(|&t| t >= finish_c));
    Some(match pair {
        Some(first) => Arrival::At(inside.at_ms[first + 1]),
        None => Arrival::Never {
            highest_c: inside.temp_c.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::OwnedSamples;
    use cook::Role;

    fn channel(name: &str, temps: &[f64]) -> Channel {
        let at_ms = (0..temps.len() as i64).map(|i| i * 60_000).collect();
        Channel {
            index: 0,
            name: name.into(),
            role: Role::Meat,
            samples: OwnedSamples { at_ms, temp_c: temps.to_vec() },
        }
    }

    fn choose(channels: &[Channel], wanted: Option<&str>) -> Result<LeadChoice, PhasesError> {
        lead_channel(channels, wanted, (0, i64::MAX), 88.0)
    }

    #[test]
    fn the_cards_channel_wins_and_a_wrong_name_lists_what_there_is() {
        let channels = [channel("Flat", &[90.0, 91.0]), channel("Point", &[80.0, 81.0])];
        let lead = choose(&channels, Some(" flat ")).unwrap();
        assert_eq!((lead.reason, lead.index), (LeadReason::ByCard, 0));
        let error = choose(&channels, Some("Neck")).unwrap_err();
        assert!(error.to_string().contains("Flat, Point"), "{error}");
    }

    #[test]
    fn the_last_to_arrive_leads_and_a_spike_is_no_arrival() {
        let early = channel("A", &[80.0, 88.0, 89.0, 90.0, 91.0]);
        let late = channel("B", &[80.0, 95.0, 80.0, 88.5, 89.0]);
        let lead = choose(&[early.clone(), late], None).unwrap();
        assert_eq!((lead.index, lead.reason), (1, LeadReason::LastToArrive));
        assert!(lead.because.contains("last to arrive"));
        let never = channel("C", &[70.0; 5]);
        let nearly = channel("D", &[87.0; 5]);
        let lead = choose(&[nearly, early, never], None).unwrap();
        assert_eq!(lead.name, "C");
        assert_eq!((lead.reason, lead.highest_c), (LeadReason::Farthest, Some(70.0)));
    }

    #[test]
    fn a_channel_that_stands_still_while_another_warms_is_passed_over() {
        let unplugged = channel("Probe 2", &[0.0, 0.0, 0.1, 0.0, 0.0]);
        let meat = channel("Probe 1", &[5.0, 30.0, 60.0, 88.0, 91.0]);
        let lead = choose(&[unplugged.clone(), meat], None).unwrap();
        assert_eq!((lead.index, lead.reason), (1, LeadReason::OnlyOne));
        // Where nothing warms, nothing tells that it is not the meat.
        let lead = choose(&[unplugged, channel("Probe 1", &[5.0, 9.0])], None).unwrap();
        assert_eq!(lead.reason, LeadReason::Farthest);
    }

    #[test]
    fn no_meat_channel_is_an_error() {
        assert_eq!(choose(&[], None), Err(PhasesError::NoMeatChannel));
    }
}
