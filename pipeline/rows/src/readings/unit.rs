//! Whether readings that are said to be °C can be.

use crate::error::RowsError;
use cook::{Celsius, ChannelReadings, Flag, Role};
use std::ops::RangeInclusive;

// Common practice, no source: how hot pits are kept, and how cold meat goes on.
/// Pits are kept within this, °C.
const PIT_C: RangeInclusive<f64> = 75.0..=200.0;
/// Meat goes on below this, °C.
const START_C: f64 = 30.0;
/// Meat stays below this, °C: above, its water has boiled off.
const DONE_C: f64 = 112.0;

/// Refuses temperatures that are no cook's as °C and are one's as °F.
///
/// The pit is hotter than any that is kept, the meat began warmer than any that goes on, and as °F both are
/// usual. Without a pit it is the meat that passes what its water allows. `row` is the first of the cook's.
///
/// # Errors
/// Such temperatures, with a value of them.
pub fn expect_celsius(channels: &[ChannelReadings], row: u64) -> Result<(), RowsError> {
    let of = |role: Role| channels.iter().filter(move |c| c.role == role);
    let pit = of(Role::Pit).filter_map(|channel| quantile(channel, 0.5)).reduce(f64::max);
    let is_start = |celsius: f64| (-5.0..=START_C).contains(&celsius);
    let began = || of(Role::Meat).filter_map(first);
    let as_c = |fahrenheit: f64| Celsius::from_fahrenheit(fahrenheit).value();
    let no_raw_meat = began().all(|c| c > START_C) && began().any(|f| is_start(as_c(f)));
    let (what, value) = if let Some(pit) = pit {
        let is_usual = PIT_C.contains(&as_c(pit)) && (no_raw_meat || began().next().is_none());
        if pit <= *PIT_C.end() || !is_usual {
            return Ok(());
        }
        ("the pit stands at", pit)
    } else {
        let most = of(Role::Meat).filter_map(|channel| quantile(channel, 0.98));
        match most.reduce(f64::max) {
            Some(most) if most > DONE_C && no_raw_meat && as_c(most) <= DONE_C => {
                ("the meat comes to", most)
            }
            _ => return Ok(()),
        }
    };
    Err(RowsError::column(
        "temp_c",
        format!(
            "{what} {value:.1} °C, which is usual as °F: give °C, (F − 32) / 1.8; if it is °C, say so by `pit_setpoint_c` on the card"
        ),
    )
    .at_row(row))
}

fn good(channel: &ChannelReadings) -> impl Iterator<Item = f32> + '_ {
    let is_good = |(_, flag): &(&f32, &Flag)| !matches!(flag, Flag::OutOfRange);
    channel.temp_c.iter().zip(&channel.flag).filter(is_good).map(|(celsius, _)| *celsius)
}

fn first(channel: &ChannelReadings) -> Option<f64> {
    good(channel).next().map(f64::from)
}

fn quantile(channel: &ChannelReadings, share: f64) -> Option<f64> {
    /// So many readings show it.
    const MOST: usize = 1000;
    let step = channel.len().div_ceil(MOST).max(1);
    let mut sorted: Vec<f32> = good(channel).step_by(step).collect();
    sorted.sort_by(f32::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    Some(f64::from(sorted[(last as f64 * share).round() as usize]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn channel(role: Role, temp_c: &[f64]) -> ChannelReadings {
        let mut channel = ChannelReadings::new("x", role);
        for (n, celsius) in temp_c.iter().enumerate() {
            channel.at_ms.push(60_000 * n as i64);
            channel.temp_c.push(*celsius as f32);
            channel.flag.push(Flag::Good);
            channel.source.push(0);
            channel.line.push(0);
        }
        channel
    }

    #[test]
    fn fahrenheit_is_told_from_celsius() {
        let cook = |meat: &[f64], pit: &[f64]| {
            let channels = [channel(Role::Meat, meat), channel(Role::Pit, pit)];
            expect_celsius(&channels, 7)
        };
        let meat_f = [39.0, 80.0, 150.0, 165.0, 203.0];
        let error = cook(&meat_f, &[225.0, 250.0, 240.0]).unwrap_err().to_string();
        assert!(error.starts_with("column `temp_c`, row 7: the pit stands at 240.0 °C"), "{error}");
        // The same in °C; a pit that roasts; one that sears meat which was warm before.
        assert!(cook(&[4.0, 27.0, 66.0, 74.0, 95.0], &[107.0, 121.0, 116.0]).is_ok());
        assert!(cook(&[4.0, 60.0], &[230.0, 240.0]).is_ok());
        assert!(cook(&[20.0, 60.0], &[310.0, 320.0]).is_ok());
        // A probe that was left in the pit.
        assert!(cook(&[4.0, 66.0, 95.0, 118.0, 119.0, 118.0], &[120.0, 120.0]).is_ok());
        // Without a pit.
        assert!(expect_celsius(&[channel(Role::Meat, &meat_f)], 1).is_err());
        assert!(expect_celsius(&[channel(Role::Meat, &[4.0, 60.0, 118.0])], 1).is_ok());
        assert!(expect_celsius(&[], 1).is_ok());
    }
}
