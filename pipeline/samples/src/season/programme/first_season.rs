//! The first season: wraps by habit.

use super::Quirk as Q;
use super::TeamPit::{LongTom, Pantry, Rumble};
use super::WrapHabit::{Bare, Boat, Foil, Paper};
use super::{BEND, FAIR, FORD, FirePlan, plan};

/// Its fires, in order of time.
pub(crate) const FIRES: [FirePlan; 25] = [
    plan((2024, 4, 6), LongTom, 6.0, 250.0, None, &[(12.4, Paper)], Q::Plain),
    plan((2024, 4, 13), Rumble, 6.5, 290.0, None, &[(10.1, Foil)], Q::Plain),
    plan((2024, 4, 20), Pantry, 5.5, 225.0, None, &[(11.2, Bare), (8.6, Paper)], Q::Plain),
    plan((2024, 4, 27), LongTom, 6.0, 270.0, None, &[(13.6, Paper)], Q::Sag),
    plan((2024, 5, 3), LongTom, 21.5, 250.0, FAIR, &[(13.1, Paper), (12.0, Foil)], Q::Plain),
    plan((2024, 5, 11), Pantry, 6.0, 230.0, None, &[(9.4, Bare)], Q::Gap),
    plan((2024, 5, 18), Rumble, 7.0, 300.0, None, &[(11.6, Foil)], Q::Plain),
    plan(
        (2024, 5, 25),
        LongTom,
        5.0,
        250.0,
        None,
        &[(14.2, Paper), (12.7, Bare), (6.8, Foil)],
        Q::Plain,
    ),
    plan((2024, 6, 1), Pantry, 5.5, 240.0, None, &[(13.9, Paper), (10.4, Bare)], Q::Plain),
    plan((2024, 6, 8), Pantry, 6.0, 225.0, None, &[(10.6, Paper)], Q::WrapTimeUnknown),
    plan((2024, 6, 15), Rumble, 6.5, 325.0, None, &[(12.6, Foil), (9.9, Foil)], Q::Plain),
    plan((2024, 6, 22), Rumble, 6.5, 275.0, None, &[(9.0, Bare)], Q::LidLeftOpen),
    plan((2024, 6, 29), LongTom, 6.0, 245.0, None, &[(15.8, Paper)], Q::FireOut),
    plan((2024, 7, 5), LongTom, 22.0, 250.0, BEND, &[(12.9, Paper), (11.8, Paper)], Q::Bump),
    plan((2024, 7, 13), Rumble, 7.0, 285.0, None, &[(11.3, Paper), (7.0, Bare)], Q::Plain),
    plan((2024, 7, 20), Pantry, 6.0, 285.0, None, &[(13.0, Foil)], Q::Plain),
    plan((2024, 8, 3), Rumble, 6.0, 300.0, None, &[(12.2, Paper)], Q::Plain),
    plan((2024, 8, 10), Pantry, 5.0, 235.0, None, &[(16.2, Foil), (12.8, Boat)], Q::Plain),
    plan((2024, 8, 17), LongTom, 6.5, 240.0, None, &[(10.3, Bare)], Q::LogEndsInStall),
    plan((2024, 8, 31), Pantry, 5.5, 235.0, None, &[(14.8, Paper), (7.1, Bare)], Q::Plain),
    plan((2024, 9, 7), Rumble, 6.5, 310.0, None, &[(11.1, Foil)], Q::ProbeSticks),
    plan((2024, 9, 13), LongTom, 3.0, 240.0, FORD, &[(13.8, Bare), (12.3, Paper)], Q::OutOfTime),
    plan((2024, 9, 28), Rumble, 7.0, 265.0, None, &[(11.0, Boat)], Q::Spikes),
    plan((2024, 10, 5), LongTom, 6.0, 255.0, None, &[(14.5, Paper), (13.3, Foil)], Q::Plain),
    plan((2024, 10, 12), Pantry, 6.0, 250.0, None, &[(9.7, Paper)], Q::NoLog),
];
