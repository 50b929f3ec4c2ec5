//! The drawn part of the sample seasons: meat, weather, delays, scores; and the cooks run.

use crate::season::programme::{self, CHUCK_BELOW_LB, FirePlan, Quirk, TeamPit, WrapHabit};
use cook::{Celsius, CelsiusDifference, Kilograms, Metres, Millimetres, WrapMethod};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use simulate::decision::{CookPlan, Trigger, WrapStep};
use simulate::fire::run_fire;
use simulate::meat::Meat;
use simulate::pit::{Pit, PitChange};
use simulate::rest::{Rest, RestPlace};
use simulate::truth::{CookTruth, FireTruth};

/// The team's time zone.
pub(crate) fn zone() -> TimeZone {
    TimeZone::get("America/Chicago").expect("the zone is in the bundled database")
}

/// What taste truly gains from oak over hickory, points of nine.
pub(crate) const OAK_OVER_HICKORY: f64 = 0.2;
/// Clock time of a contest's turn-in, hours after midnight.
const TURN_IN_HOUR: f64 = 13.5;
/// Time kept for slicing and boxing before turn-in, min.
const BOXING_MIN: f64 = 30.0;

/// One fire of the seasons, run.
pub(crate) struct SampleFire {
    pub(crate) plan: &'static FirePlan,
    pub(crate) pit: Pit,
    /// Instant of lighting, ms UTC.
    pub(crate) lit_ms: i64,
    pub(crate) turn_in_ms: Option<i64>,
    pub(crate) seed: u64,
    pub(crate) wood: &'static str,
    pub(crate) water_pan: bool,
    pub(crate) weather: &'static str,
    pub(crate) fuel_lb: f64,
    pub(crate) fuel_at_s: Vec<(i64, f64)>,
    pub(crate) truth: FireTruth,
    pub(crate) cooks: Vec<SampleCook>,
}

/// What is known or drawn of one cook besides its curves.
pub(crate) struct SampleCook {
    pub(crate) id: String,
    pub(crate) channel: String,
    pub(crate) cut: &'static str,
    pub(crate) plan: CookPlan,
    pub(crate) arm: Option<&'static str>,
    pub(crate) grade: &'static str,
    pub(crate) supplier: &'static str,
    pub(crate) lot: String,
    pub(crate) cost: f64,
    pub(crate) raw_lb: f64,
    pub(crate) served_share: f64,
    pub(crate) thickness_in: f64,
    pub(crate) probe_offset_c: f64,
    pub(crate) dip: (f64, f64),
    pub(crate) scores: [f64; 3],
    pub(crate) end_reason: &'static str,
    pub(crate) exclude: &'static str,
    pub(crate) wrap_time_written: bool,
}

impl SampleFire {
    pub(crate) fn season(&self) -> i16 {
        self.plan.date.0
    }

    pub(crate) fn team_pit(&self) -> TeamPit {
        self.plan.pit
    }

    pub(crate) fn quirk(&self) -> Quirk {
        self.plan.quirk
    }

    pub(crate) fn date(&self) -> String {
        let (year, month, day) = self.plan.date;
        format!("{year:04}-{month:02}-{day:02}")
    }

    /// Date and pit: what the fire's logs and cooks are called after.
    pub(crate) fn stem(&self) -> String {
        format!("{}-{}", self.date(), self.team_pit().slug())
    }

    pub(crate) fn at_ms(&self, second: i64) -> i64 {
        self.lit_ms + second * 1_000
    }
}

/// Every fire of all seasons.
pub(crate) fn fires(seed: u64) -> Vec<SampleFire> {
    programme::fires().enumerate().map(|(index, plan)| fire(seed, index, plan)).collect()
}

/// A normal draw.
fn normal(random: &mut ChaCha8Rng, mean: f64, sd: f64) -> f64 {
    let draw: f64 = StandardNormal.sample(random);
    mean + sd * draw
}

/// A factor whose logarithm is normal.
fn factor(random: &mut ChaCha8Rng, log_sd: f64) -> f64 {
    normal(random, 0.0, log_sd).exp()
}

fn pick<T: Copy>(random: &mut ChaCha8Rng, from: &[T]) -> T {
    from[random.random_range(0..from.len())]
}

fn fire(seed: u64, index: usize, plan: &'static FirePlan) -> SampleFire {
    // A stream a fire: a change to one fire moves no draw of another.
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(1_000 + index as u64);
    let FirePlan { date: (year, month, day), pit: team_pit, hour, contest, cuts, quirk, .. } =
        *plan;

    let lead_h = 0.75 + 0.25 * random.random::<f64>();
    let meat_on_s = (lead_h * 360.0).round() as i64 * 10;
    let midnight = Date::constant(year, month, day);
    let local_ms = |days: i64, hours: f64| {
        let date = midnight.checked_add(jiff::Span::new().days(days)).expect("a date in range");
        let zoned = date.to_zoned_datetime(zone()).expect("a midnight that exists");
        zoned.timestamp().as_millisecond() + (hours * 60.0).round() as i64 * 60_000
    };
    let meat_on_ms = local_ms(0, hour + f64::from(random.random_range(0..25)) / 60.0);
    let lit_ms = meat_on_ms - meat_on_s * 1_000;
    let turn_in_ms = contest.map(|_| local_ms(i64::from(hour > 12.0), TURN_IN_HOUR));

    let (pit, weather, water_pan) = draw_pit(&mut random, plan, meat_on_s);
    let wood = pick(&mut random, &["oak", "oak", "hickory", "hickory", "hickory", "apple"]);
    let first_is_foil = random.random::<bool>();
    let mut cooks: Vec<SampleCook> = cuts
        .iter()
        .enumerate()
        .map(|(place, &(pounds, habit))| {
            let foil = (place == 0) == first_is_foil;
            let mut cook = draw_cook(&mut random, pounds, habit, foil, meat_on_s);
            cook.id = format!("{year:04}-{month:02}-{day:02}-{}-{}", team_pit.slug(), place + 1);
            cook.channel =
                if cuts.len() == 1 { "Meat".to_owned() } else { format!("Meat {}", place + 1) };
            if let Some(turn_in_ms) = turn_in_ms {
                let latest = (turn_in_ms - meat_on_ms) as f64 / 60_000.0 - BOXING_MIN - 5.0;
                cook.plan.pull.push(Trigger::Elapsed(latest));
            }
            if place == 0 && quirk == Quirk::WrapTimeUnknown {
                cook.wrap_time_written = false;
            }
            if place == 0 && quirk == Quirk::ProbeFails {
                cook.exclude = "probe cable failed after four hours";
            }
            cook
        })
        .collect();

    // Rests are known only once the pull is: a first run finds it, a second rests.
    let fire_seed = seed ^ (0x9E37_79B9 * (index as u64 + 1));
    let run = |cooks: &[SampleCook]| {
        let plans: Vec<CookPlan> = cooks.iter().map(|cook| cook.plan.clone()).collect();
        run_fire(&pit, &plans, fire_seed).expect("the programme's settings are in range")
    };
    let first = run(&cooks);
    for (cook, truth) in cooks.iter_mut().zip(&first.cooks) {
        if let Some(turn_in_ms) = turn_in_ms {
            let left = (turn_in_ms - lit_ms) as f64 / 60_000.0 - truth.pull_s as f64 / 60.0;
            cook.plan.rest.minutes = (left - BOXING_MIN).clamp(5.0, 600.0).floor();
        }
    }
    let truth = run(&cooks);
    for (cook, curve) in cooks.iter_mut().zip(&truth.cooks) {
        cook.end_reason = end_reason(cook, curve);
        cook.scores = scores(&mut random, cook, curve, wood);
    }
    let fuel_at_s = fuel(&mut random, team_pit, &truth);
    SampleFire {
        plan,
        lit_ms,
        turn_in_ms,
        seed: fire_seed,
        wood,
        water_pan,
        weather,
        fuel_lb: fuel_at_s.iter().map(|(_, pounds)| pounds).sum(),
        fuel_at_s,
        pit,
        truth,
        cooks,
    }
}

/// The pit of one fire, the weather in a word, and whether a water pan is in it.
fn draw_pit(random: &mut ChaCha8Rng, plan: &FirePlan, meat_on_s: i64) -> (Pit, &'static str, bool) {
    let FirePlan { date: (_, month, _), pit: team_pit, setpoint_f, quirk, .. } = *plan;
    let weather = pick(random, &["clear", "clear", "cloudy", "wind", "rain"]);
    let water_pan = random.random::<bool>();
    let (ripple_c, wander_c, convective) = team_pit.manners();
    let windy = if weather == "wind" { 1.4 } else { 1.0 };
    let summer = 1.0 - (f64::from(month) - 7.0).abs() / 4.0;
    let mut pit = Pit::steady(Celsius::from_fahrenheit(setpoint_f));
    pit.weather.mean = Celsius(normal(random, 11.0 + 12.0 * summer, 3.0));
    pit.altitude = Metres(225.0);
    pit.ripple_c = ripple_c;
    pit.ripple_period_min = random.random_range(13.0..24.0);
    pit.wander_c = wander_c * windy;
    pit.convective = convective * factor(random, 0.04);
    pit.added_humidity = 0.019 * factor(random, 0.15) + if water_pan { 0.008 } else { 0.0 };
    let hours = |hours: f64| meat_on_s + (hours * 360.0) as i64 * 10;
    match quirk {
        Quirk::Sag => pit.changes.push(PitChange::Sag {
            from_s: hours(4.5),
            until_s: hours(7.0),
            by: CelsiusDifference(24.0),
        }),
        Quirk::Bump => pit.changes.push(PitChange::Setpoint {
            at_s: hours(8.0),
            to: Celsius::from_fahrenheit(setpoint_f + 25.0),
        }),
        Quirk::FireOut => {
            pit.changes.push(PitChange::Out { from_s: hours(5.0), until_s: hours(6.5) });
        }
        Quirk::LidLeftOpen => {
            pit.changes.push(PitChange::Lid { at_s: hours(3.2), open_s: 360 });
        }
        _ => {}
    }
    (pit, weather, water_pan)
}

fn draw_cook(
    random: &mut ChaCha8Rng,
    pounds: f64,
    habit: WrapHabit,
    foil: bool,
    meat_on_s: i64,
) -> SampleCook {
    let mut meat = Meat::brisket(Kilograms::from_pounds(pounds));
    meat.thickness = Millimetres(meat.thickness.value() * factor(random, 0.05));
    meat.surface_moisture *= factor(random, 0.10);
    meat.wetness *= factor(random, 0.06);
    meat.start = Celsius(normal(random, 5.0, 1.2).clamp(2.0, 9.0));
    meat.probe_position = random.random_range(0.0..0.2);
    meat.drip_share = normal(random, 0.12, 0.012).clamp(0.07, 0.17);
    meat.tender_hours *= factor(random, 0.2);
    let thickness_in = meat.thickness.value() / 25.4 * 1.1 * factor(random, 0.04);

    let mut plan = CookPlan::unwrapped(meat, meat_on_s);
    let place = pick(
        random,
        &[RestPlace::cooler(), RestPlace::cooler(), RestPlace::counter(), RestPlace::holding_box()],
    );
    plan.rest = Rest { place, minutes: f64::from(random.random_range(4..13)) * 10.0 };
    plan.spritz_every_min = random.random_bool(0.4).then_some(75.0);
    plan.bark_noted_every_min = Some(45.0);
    // Bark needs the surface to dry, so a cut with much moisture is wrapped late.
    let bark = Trigger::Bark {
        core: Celsius(random.random_range(66.0..70.0)),
        moisture_left: random.random_range(0.32..0.50),
    };
    let at_160 = Trigger::Core(Celsius::from_fahrenheit(160.0));
    let delay_min = random.random_range(0.0..12.0);
    let arm = match habit {
        WrapHabit::Arm => Some(if foil { "foil-160" } else { "paper-160" }),
        _ => None,
    };
    let wrap = match habit {
        WrapHabit::Bare => None,
        WrapHabit::Paper => Some((WrapMethod::Paper, bark)),
        WrapHabit::Foil => Some((WrapMethod::Foil, bark)),
        WrapHabit::Boat => Some((WrapMethod::Boat, bark)),
        WrapHabit::Arm if foil => Some((WrapMethod::Foil, at_160)),
        WrapHabit::Arm => Some((WrapMethod::Paper, at_160)),
    };
    if let Some((method, when)) = wrap {
        plan.wraps.push(WrapStep { when: vec![when], delay_min, method });
    }
    let grade = pick(random, &["choice", "choice", "prime"]);
    let dollars = if grade == "prime" { 5.6 } else { 4.3 };
    let raw_lb = pounds / random.random_range(0.68..0.78);
    SampleCook {
        id: String::new(),
        channel: String::new(),
        cut: if pounds < CHUCK_BELOW_LB { "chuck" } else { "brisket" },
        plan,
        arm,
        grade,
        supplier: pick(random, &["county locker", "market hall"]),
        lot: format!("L{:03}", random.random_range(100..1000)),
        cost: raw_lb * dollars * factor(random, 0.05),
        raw_lb,
        served_share: random.random_range(0.86..0.95),
        thickness_in,
        probe_offset_c: normal(random, 0.0, 0.3),
        dip: (random.random_range(6.0..22.0), random.random_range(10.0..18.0)),
        scores: [0.0; 3],
        end_reason: "",
        exclude: "",
        wrap_time_written: true,
    }
}

/// What the team writes down as the reason of the end.
fn end_reason(cook: &SampleCook, truth: &CookTruth) -> &'static str {
    let latest = cook.plan.pull.last().copied();
    let minutes = (truth.pull_s - truth.meat_on_s) as f64 / 60.0;
    match latest {
        Some(Trigger::Elapsed(limit)) if minutes + 0.5 >= limit => "out-of-time",
        _ => "tender",
    }
}

/// Bark, tenderness and taste of nine, as the mean of a table of judges.
fn scores(random: &mut ChaCha8Rng, cook: &SampleCook, truth: &CookTruth, wood: &str) -> [f64; 3] {
    let method = truth.wraps.first().map(|wrap| &wrap.1);
    let softened = match method {
        Some(WrapMethod::Foil) => 1.1,
        Some(WrapMethod::Boat) => 0.2,
        Some(_) => 0.3,
        None => 0.0,
    };
    let bark = 8.0 - 1.6 * truth.moisture_left_at_wrap - softened + normal(random, 0.0, 0.4);
    let off = (truth.softness.max(0.05).ln()).abs().min(2.0);
    let rested = (cook.plan.rest.minutes / 60.0).min(2.0);
    let tenderness = 7.3 - 1.5 * off + 0.2 * rested + normal(random, 0.0, 0.5);
    let from_wood = if wood == "oak" { OAK_OVER_HICKORY } else { 0.0 };
    let from_grade = if cook.grade == "prime" { 0.3 } else { 0.0 };
    let taste = 6.6 + from_wood + from_grade + normal(random, 0.0, 0.6);
    [bark, tenderness, taste].map(|score| (score.clamp(1.0, 9.0) * 10.0).round() / 10.0)
}

/// Fuel put on, seconds since lighting and pounds.
fn fuel(random: &mut ChaCha8Rng, team_pit: TeamPit, truth: &FireTruth) -> Vec<(i64, f64)> {
    let last_pull = truth.cooks.iter().map(|cook| cook.pull_s).max().unwrap_or(0);
    let (every_s, pounds) = match team_pit {
        TeamPit::LongTom => (4_500, 5.0),
        TeamPit::Rumble => (21_600, 8.0),
        TeamPit::Pantry => (18_000, 6.0),
    };
    (0..last_pull - 3_600)
        .step_by(every_s)
        .map(|at| (at, (pounds * factor(random, 0.1) * 2.0).round() / 2.0))
        .collect()
}
