//! The parameters of a team. Every number of [`TeamModel::middling`] is made up: it is a team
//! that could exist, not one that was measured.

use crate::error::{SimulateError, within};
use crate::habit::{BumpHabit, Habit, WrapHabit};
use crate::meat::Cut;
use crate::strategy::Strategy;
use crate::team::TeamFire;
use cook::{Celsius, CelsiusDifference, Kilograms, Metres, WrapMethod};

/// A team: what it cooks, on what, when, and by what habits.
#[derive(Debug, Clone, PartialEq)]
pub struct TeamModel {
    /// Fires in a season.
    pub fires: usize,
    /// Probabilities of one, two, three… cooks on a fire.
    pub cooks_on_fire: Vec<f64>,
    /// Cuts and how often each.
    pub cuts: Vec<(Cut, f64, WeightModel)>,
    /// How pieces of one cut and weight differ.
    pub meat: MeatSpread,
    /// The pits and how often each is used.
    pub pits: Vec<(PitModel, f64)>,
    /// Probability of a water pan, and what it adds to the humidity ratio, kg/kg.
    pub water_pan: (f64, f64),
    /// The weather of the place.
    pub climate: Climate,
    /// Altitude of the place.
    pub altitude: Metres,
    /// Share of fires lit for a contest: meat on late in the evening, out of time by the
    /// next noon.
    pub contest_share: f64,
    /// Minutes after meat-on at which a contest's meat has to come off, tender or not.
    pub contest_pull_min: f64,
    /// The same in practice: when people go to bed.
    pub practice_pull_min: f64,
    /// Share of cooks that are sprayed, and how often, min.
    pub spritz: (f64, f64),
    /// What every cook does by habit.
    pub habit: Habit,
    /// Randomised blocks, if any.
    pub randomised: Option<Randomised>,
}

/// Weights of one cut: normal, between limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightModel {
    /// Mean.
    pub mean: Kilograms,
    /// Standard deviation.
    pub sd: Kilograms,
    /// No piece is lighter.
    pub least: Kilograms,
    /// No piece is heavier.
    pub most: Kilograms,
}

/// How pieces of one cut and weight differ: standard deviations of logarithms, else of the
/// quantity itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeatSpread {
    /// Of the logarithm of the effective thickness.
    pub thickness: f64,
    /// Of the logarithm of the moisture that can reach the surface.
    pub moisture: f64,
    /// Of the logarithm of the wetness.
    pub wetness: f64,
    /// Of the logarithm of the softening that tenderness needs.
    pub tender: f64,
    /// Mean and standard deviation of the temperature out of the fridge, °C; kept within
    /// 1–12 °C.
    pub start_c: (f64, f64),
    /// How far off centre a probe sits at most: uniform from 0.
    pub probe_off_centre: f64,
    /// How much more the ruler says than the effective thickness, and the standard deviation
    /// of its logarithm.
    pub ruler: (f64, f64),
}

/// A pit and its manners.
#[derive(Debug, Clone, PartialEq)]
pub struct PitModel {
    /// Its name.
    pub name: String,
    /// Set-points it is run at, one drawn for each fire.
    pub setpoints: Vec<Celsius>,
    /// Half height of the ripple, K.
    pub ripple_c: f64,
    /// Standard deviation of the wander in mild weather, K.
    pub wander_c: f64,
    /// Mean convective coefficient, W/(m²·K), and the standard deviation of its logarithm
    /// from fire to fire.
    pub convective: (f64, f64),
    /// How far the weather gets at it, 0–1.
    pub exposure: f64,
    /// What fuel and meat add to the humidity ratio, kg/kg, and the standard deviation of its
    /// logarithm from fire to fire.
    pub added_humidity: (f64, f64),
    /// Probability that the fire sags once, by 10–30 K for one to three hours.
    pub sags: f64,
    /// Probability that it goes out once, for a quarter to three quarters of an hour.
    pub goes_out: f64,
}

/// The weather of a place over the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climate {
    /// First and last day of the year on which a fire is lit.
    pub season: (u16, u16),
    /// Mean of the year.
    pub mean: Celsius,
    /// How far the warmest and coldest day lie from it.
    pub yearly_swing: CelsiusDifference,
    /// The warmest day of the year.
    pub warmest_day: u16,
    /// Standard deviation of a day's mean about the season's.
    pub sd: CelsiusDifference,
    /// How far a day's warmest and coldest hour lie from its mean.
    pub daily_swing: CelsiusDifference,
    /// Mean of how far the dew point lies below the day's mean (exponential).
    pub dew_point_below: CelsiusDifference,
    /// Median wind, m/s, and the standard deviation of its logarithm.
    pub wind: (f64, f64),
    /// Probability of rain, and its mean in mm/h (exponential).
    pub rain: (f64, f64),
}

/// Fires that are randomised blocks: as many cooks as arms, each arm once, by lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Randomised {
    /// Share of practice fires that are blocks.
    pub share: f64,
    /// The arms.
    pub arms: Vec<Strategy>,
}

impl TeamModel {
    /// A team of middling habits: briskets and some shoulders, three pits, a continental
    /// climate, no randomised blocks.
    ///
    /// Its habits confound. It wraps as the core climbs out of the stall, so who has a long
    /// stall wraps late; it waits longer with heavy cuts; and it raises the set-point with
    /// the wrap when the finish looks late. All of that shows in a log ([`WrapHabit::bark`]
    /// is 0).
    pub fn middling() -> Self {
        let fahrenheit =
            |degrees: &[f64]| degrees.iter().map(|&f| Celsius::from_fahrenheit(f)).collect();
        Self {
            fires: 60,
            cooks_on_fire: vec![0.5, 0.35, 0.15],
            cuts: vec![
                (
                    Cut::Brisket,
                    0.8,
                    WeightModel {
                        mean: Kilograms(5.5),
                        sd: Kilograms(0.8),
                        least: Kilograms(3.2),
                        most: Kilograms(7.5),
                    },
                ),
                (
                    Cut::Shoulder,
                    0.2,
                    WeightModel {
                        mean: Kilograms(3.8),
                        sd: Kilograms(0.5),
                        least: Kilograms(2.7),
                        most: Kilograms(5.0),
                    },
                ),
            ],
            meat: MeatSpread {
                thickness: 0.05,
                moisture: 0.12,
                wetness: 0.08,
                tender: 0.2,
                start_c: (5.0, 1.2),
                probe_off_centre: 0.15,
                ruler: (1.1, 0.04),
            },
            pits: vec![
                (
                    PitModel {
                        name: "offset".into(),
                        setpoints: fahrenheit(&[240.0, 250.0, 250.0, 265.0, 275.0]),
                        ripple_c: 3.5,
                        wander_c: 4.0,
                        convective: (10.0, 0.04),
                        exposure: 0.9,
                        added_humidity: (0.019, 0.15),
                        sags: 0.15,
                        goes_out: 0.03,
                    },
                    0.45,
                ),
                (
                    PitModel {
                        name: "drum".into(),
                        setpoints: fahrenheit(&[250.0, 275.0, 290.0]),
                        ripple_c: 1.5,
                        wander_c: 2.5,
                        convective: (9.2, 0.04),
                        exposure: 0.6,
                        added_humidity: (0.022, 0.15),
                        sags: 0.05,
                        goes_out: 0.02,
                    },
                    0.3,
                ),
                (
                    PitModel {
                        name: "cabinet".into(),
                        setpoints: fahrenheit(&[225.0, 240.0, 250.0]),
                        ripple_c: 0.8,
                        wander_c: 1.0,
                        convective: (9.5, 0.03),
                        exposure: 0.2,
                        added_humidity: (0.021, 0.12),
                        sags: 0.01,
                        goes_out: 0.01,
                    },
                    0.25,
                ),
            ],
            water_pan: (0.3, 0.008),
            climate: Climate {
                season: (75, 305),
                mean: Celsius(12.0),
                yearly_swing: CelsiusDifference(13.0),
                warmest_day: 200,
                sd: CelsiusDifference(4.0),
                daily_swing: CelsiusDifference(6.0),
                dew_point_below: CelsiusDifference(6.0),
                wind: (2.5, 0.5),
                rain: (0.15, 2.0),
            },
            altitude: Metres(225.0),
            contest_share: 0.25,
            contest_pull_min: 870.0,
            practice_pull_min: 1_260.0,
            spritz: (0.3, 75.0),
            habit: Habit {
                wrap: Some(WrapHabit {
                    methods: vec![(WrapMethod::Paper, 0.5), (WrapMethod::Foil, 0.5)],
                    from_core: Celsius(60.0),
                    around_core: Celsius(71.0),
                    rate_per_h: 1.5,
                    per_kelvin: 0.8,
                    per_rise: 0.0,
                    per_hour: 0.1,
                    per_kg: -0.2,
                    around_weight_kg: 5.5,
                    bark: 0.0,
                }),
                bump: Some(BumpHabit {
                    late_h_per_kg: 1.6,
                    with_late_wrap: 0.5,
                    with_wrap: 0.1,
                    late_rate_per_h: 0.05,
                    by: CelsiusDifference(14.0),
                }),
            },
            randomised: None,
        }
    }

    /// The fire at a place in the season with a seed.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`] for a setting of the team.
    pub fn fire(&self, seed: u64, index: usize) -> Result<TeamFire, SimulateError> {
        self.check()?;
        Ok(super::draw::fire(self, seed, index))
    }

    /// Every fire of the season with a seed.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`] for a setting of the team.
    pub fn season(&self, seed: u64) -> Result<Vec<TeamFire>, SimulateError> {
        self.check()?;
        Ok((0..self.fires).map(|index| super::draw::fire(self, seed, index)).collect())
    }

    /// Checks that every number can be worked with.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`], naming the setting.
    pub fn check(&self) -> Result<(), SimulateError> {
        let shares = |setting, shares: &mut dyn Iterator<Item = f64>| {
            let mut total = 0.0;
            for share in shares {
                within(setting, share, 0.0, 1.0)?;
                total += share;
            }
            within(setting, total, 1.0 - 1e-6, 1.0 + 1e-6)
        };
        shares("team.cooks_on_fire (probabilities)", &mut self.cooks_on_fire.iter().copied())?;
        shares("team.cuts (probabilities)", &mut self.cuts.iter().map(|(_, share, _)| *share))?;
        shares("team.pits (probabilities)", &mut self.pits.iter().map(|(_, share)| *share))?;
        for (_, _, weight) in &self.cuts {
            within("team.cuts.least (kg)", weight.least.value(), 0.5, weight.most.value())?;
            within("team.cuts.most (kg)", weight.most.value(), 0.5, 15.0)?;
            within("team.cuts.sd (kg)", weight.sd.value(), 0.0, 10.0)?;
            within("team.cuts.mean (kg)", weight.mean.value(), 0.5, 15.0)?;
        }
        let meat = &self.meat;
        for (setting, sd) in [
            ("team.meat.thickness", meat.thickness),
            ("team.meat.moisture", meat.moisture),
            ("team.meat.wetness", meat.wetness),
            ("team.meat.tender", meat.tender),
            ("team.meat.ruler", meat.ruler.1),
        ] {
            within(setting, sd, 0.0, 0.5)?;
        }
        within("team.meat.probe_off_centre", meat.probe_off_centre, 0.0, 0.9)?;
        for (pit, _) in &self.pits {
            within("team.pits.setpoints (count)", pit.setpoints.len() as f64, 1.0, 1e6)?;
            for setpoint in &pit.setpoints {
                within("team.pits.setpoints (°C)", setpoint.value(), 60.0, 200.0)?;
            }
            within("team.pits.sags", pit.sags, 0.0, 1.0)?;
            within("team.pits.goes_out", pit.goes_out, 0.0, 1.0)?;
        }
        let climate = &self.climate;
        let (first, last) = climate.season;
        within("team.climate.season (first day)", f64::from(first), 1.0, f64::from(last))?;
        within("team.climate.season (last day)", f64::from(last), 1.0, 365.0)?;
        within("team.climate.mean (°C)", climate.mean.value(), -10.0, 30.0)?;
        within("team.climate.wind (m/s)", climate.wind.0, 0.0, 15.0)?;
        within("team.climate.rain (probability)", climate.rain.0, 0.0, 1.0)?;
        within("team.contest_share", self.contest_share, 0.0, 1.0)?;
        within("team.contest_pull_min", self.contest_pull_min, 60.0, 2_400.0)?;
        within("team.practice_pull_min", self.practice_pull_min, 60.0, 2_400.0)?;
        within("team.spritz (share)", self.spritz.0, 0.0, 1.0)?;
        within("team.water_pan (probability)", self.water_pan.0, 0.0, 1.0)?;
        if let Some(randomised) = &self.randomised {
            within("team.randomised.share", randomised.share, 0.0, 1.0)?;
            within("team.randomised.arms (count)", randomised.arms.len() as f64, 2.0, 12.0)?;
            randomised.arms.iter().try_for_each(Strategy::check)?;
        }
        self.habit.check()
    }
}
