//! The third season: habit again, with what the second taught; more cuts on a fire.

use super::Quirk as Q;
use super::TeamPit::{LongTom, Pantry, Rumble};
use super::WrapHabit::{Bare, Boat, Foil, Paper};
use super::{BEND, FAIR, FORD, FirePlan, plan};

/// Its fires, in order of time.
pub(crate) const FIRES: [FirePlan; 25] = [
    plan((2026, 4, 4), LongTom, 6.0, 250.0, None, &[(12.0, Paper), (13.4, Foil)], Q::Plain),
    plan((2026, 4, 11), Pantry, 5.5, 230.0, None, &[(10.9, Bare)], Q::Plain),
    plan((2026, 4, 18), Rumble, 6.5, 305.0, None, &[(12.7, Foil), (11.4, Paper)], Q::Plain),
    plan((2026, 4, 24), Rumble, 18.0, 275.0, None, &[(9.2, Paper)], Q::SharesLog),
    plan((2026, 4, 25), Rumble, 14.0, 280.0, None, &[(10.0, Bare)], Q::Plain),
    plan((2026, 5, 1), LongTom, 21.5, 255.0, FAIR, &[(13.7, Foil), (12.9, Paper)], Q::Plain),
    plan(
        (2026, 5, 9),
        Pantry,
        5.5,
        265.0,
        None,
        &[(14.9, Foil), (13.1, Foil), (11.9, Boat)],
        Q::Plain,
    ),
    plan((2026, 5, 16), LongTom, 6.0, 240.0, None, &[(12.5, Paper)], Q::TwoLoggers),
    plan((2026, 5, 30), Rumble, 6.5, 325.0, None, &[(10.6, Foil)], Q::Plain),
    plan((2026, 6, 6), Pantry, 5.5, 225.0, None, &[(15.5, Paper), (9.5, Bare)], Q::Plain),
    plan(
        (2026, 6, 13),
        LongTom,
        5.5,
        250.0,
        None,
        &[(13.2, Foil), (12.6, Paper), (8.2, Foil)],
        Q::Plain,
    ),
    plan((2026, 6, 20), Rumble, 7.0, 290.0, None, &[(11.9, Foil)], Q::NoCard),
    plan((2026, 6, 27), Pantry, 6.0, 245.0, None, &[(12.2, Bare)], Q::LidLeftOpen),
    plan((2026, 7, 3), LongTom, 22.0, 260.0, BEND, &[(13.8, Foil), (14.0, Foil)], Q::Bump),
    plan((2026, 7, 18), Rumble, 6.0, 300.0, None, &[(10.7, Paper), (11.7, Foil)], Q::Plain),
    plan((2026, 7, 25), Pantry, 6.0, 235.0, None, &[(13.5, Paper)], Q::WrapTimeUnknown),
    plan((2026, 8, 8), LongTom, 6.0, 245.0, None, &[(16.4, Paper), (12.1, Bare)], Q::Plain),
    plan((2026, 8, 15), Rumble, 6.5, 310.0, None, &[(9.8, Foil), (10.4, Foil)], Q::Plain),
    plan(
        (2026, 8, 22),
        Pantry,
        5.5,
        255.0,
        None,
        &[(11.5, Foil), (12.8, Paper), (7.3, Bare)],
        Q::Plain,
    ),
    plan((2026, 8, 29), LongTom, 6.0, 270.0, None, &[(14.6, Foil)], Q::Sag),
    plan((2026, 9, 5), Rumble, 7.0, 265.0, None, &[(11.1, Bare)], Q::Plain),
    plan((2026, 9, 11), LongTom, 3.0, 245.0, FORD, &[(13.0, Paper), (13.6, Foil)], Q::OutOfTime),
    plan((2026, 9, 19), Pantry, 6.0, 285.0, None, &[(12.3, Foil), (10.8, Paper)], Q::Plain),
    plan((2026, 10, 3), Rumble, 6.5, 275.0, None, &[(11.8, Paper)], Q::LogEndsInStall),
    plan((2026, 10, 10), LongTom, 6.0, 250.0, None, &[(13.3, Foil), (12.4, Paper)], Q::Plain),
];
