//! The second season: on most fires a coin decides which cut goes into paper and which into foil,
//! both at 160 °F.

use super::Quirk as Q;
use super::TeamPit::{LongTom, Pantry, Rumble};
use super::WrapHabit::{Arm, Bare, Foil, Paper};
use super::{BEND, FAIR, FORD, FirePlan, plan};

/// Its fires, in order of time.
pub(crate) const FIRES: [FirePlan; 26] = [
    plan((2025, 4, 5), Pantry, 6.0, 250.0, None, &[(12.1, Arm), (12.6, Arm)], Q::Plain),
    plan((2025, 4, 12), Rumble, 6.5, 300.0, None, &[(10.8, Bare)], Q::Plain),
    plan((2025, 4, 19), Rumble, 6.5, 275.0, None, &[(11.0, Arm), (10.3, Arm)], Q::Plain),
    plan((2025, 4, 26), LongTom, 6.0, 240.0, None, &[(11.4, Arm), (11.9, Arm)], Q::Plain),
    plan((2025, 5, 2), LongTom, 21.5, 250.0, FAIR, &[(13.2, Arm), (13.0, Arm)], Q::Plain),
    plan((2025, 5, 10), Rumble, 6.0, 290.0, None, &[(9.6, Arm), (10.2, Arm)], Q::Plain),
    plan((2025, 5, 17), Pantry, 5.5, 235.0, None, &[(14.1, Arm), (13.6, Arm)], Q::ProbesSwapped),
    plan((2025, 5, 24), Pantry, 5.5, 225.0, None, &[(11.3, Bare)], Q::ProbeFails),
    plan((2025, 5, 31), LongTom, 6.0, 265.0, None, &[(12.8, Arm), (12.2, Arm)], Q::Gap),
    plan((2025, 6, 7), Rumble, 7.0, 315.0, None, &[(11.5, Arm), (12.0, Arm)], Q::Plain),
    plan((2025, 6, 14), Pantry, 6.0, 300.0, None, &[(13.4, Foil)], Q::Plain),
    plan((2025, 6, 21), LongTom, 5.5, 245.0, None, &[(15.2, Arm), (14.7, Arm)], Q::TwoLogs),
    plan((2025, 6, 28), Rumble, 6.5, 280.0, None, &[(10.5, Arm), (11.1, Arm)], Q::Plain),
    plan((2025, 7, 4), LongTom, 22.0, 255.0, BEND, &[(12.5, Arm), (13.5, Arm)], Q::Sag),
    plan((2025, 7, 12), Pantry, 5.5, 260.0, None, &[(9.3, Arm), (8.8, Arm)], Q::Plain),
    plan((2025, 7, 19), Rumble, 6.0, 295.0, None, &[(13.1, Arm), (12.3, Arm)], Q::Plain),
    plan((2025, 7, 26), Pantry, 6.0, 250.0, None, &[(9.8, Bare)], Q::LogStartsLate),
    plan((2025, 8, 2), LongTom, 6.0, 230.0, None, &[(10.7, Arm), (11.6, Arm)], Q::Plain),
    plan((2025, 8, 9), Pantry, 5.5, 295.0, None, &[(14.4, Arm), (13.7, Arm)], Q::Plain),
    plan((2025, 8, 16), Rumble, 6.5, 270.0, None, &[(12.9, Arm), (13.3, Arm)], Q::Spikes),
    plan((2025, 8, 23), Rumble, 7.0, 300.0, None, &[(8.4, Bare)], Q::Plain),
    plan((2025, 8, 30), Pantry, 6.0, 245.0, None, &[(11.8, Arm), (10.9, Arm)], Q::Plain),
    plan((2025, 9, 6), LongTom, 6.0, 225.0, None, &[(11.7, Arm), (10.9, Arm)], Q::Plain),
    plan((2025, 9, 12), LongTom, 21.0, 250.0, FORD, &[(13.9, Arm), (14.3, Arm)], Q::Plain),
    plan((2025, 9, 20), Pantry, 6.0, 225.0, None, &[(10.0, Paper)], Q::Plain),
    plan((2025, 10, 4), Rumble, 6.5, 285.0, None, &[(12.4, Arm), (11.2, Arm)], Q::Plain),
];
