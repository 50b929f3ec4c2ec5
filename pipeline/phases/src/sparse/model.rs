//! What a core does on a pit, in nine numbers.
//!
//! The core takes heat by a coefficient k of the heat on offer, as in the definition: dT/dt = k·(L − T)
//! with L the lagged pit. k grows to its full value while the heat works its way in; it falls to a share
//! of that as the core passes the stall's temperature; it comes back after a while, or some time after
//! the wrap, to about what it was. Each number has a prior that says what a night may bring; they were
//! set on simulated cooks of known truth that no score is taken from.

/// Step of the model, ms.
pub(super) const STEP_MS: i64 = 120_000;
/// Standard deviation of one reading by hand, °C: another spot of the meat, a thermometer read in smoke;
/// and what the model itself leaves out. Student's t with 4 degrees of freedom has this scale.
pub(super) const READING_SD_C: f64 = 1.3;
const READING_DF: f64 = 4.0;
/// So many readings of a night are worth no less than independent ones; more of them share this weight.
const INDEPENDENT: f64 = 9.0;
/// How many numbers.
pub(super) const NUMBERS: usize = 9;

/// What is known of a cook.
#[derive(Debug, Clone)]
pub(super) struct Night {
    /// Hours since meat-on and °C.
    pub(super) readings: Vec<(f64, f64)>,
    /// The pit on the model's grid, °C; not a number where nothing is known.
    pub(super) pit_c: Vec<f64>,
    pub(super) pit_sd_c: f64,
    /// When it was wrapped, h since meat-on.
    pub(super) wrap_h: Option<f64>,
    /// Whether in foil, which lets no vapour out.
    pub(super) in_foil: bool,
    /// Time constant of the lagged pit, h.
    pub(super) lag_h: f64,
}

/// The numbers as independent standard normal scores.
pub(super) type Scores = [f64; NUMBERS];

/// The model of one cook.
#[derive(Debug)]
pub(super) struct Model<'a> {
    night: &'a Night,
    lagged_c: Vec<f64>,
    step_h: f64,
}

/// The numbers in their units.
struct Numbers {
    start_c: f64,
    /// Full coefficient, 1/h, and how long it takes to grow, h.
    k_per_h: f64,
    grow_h: f64,
    /// Core at which it falls, °C, over how many, and to which share.
    stall_c: f64,
    width_c: f64,
    share: f64,
    /// How long after that core, or after the wrap, it comes back, h, and to which share.
    after_h: f64,
    back: f64,
    pit_offset_c: f64,
}

impl<'a> Model<'a> {
    pub(super) fn new(night: &'a Night) -> Self {
        let step_h = STEP_MS as f64 / 3.6e6;
        let gain = 1.0 - (-step_h / night.lag_h).exp();
        let mut level = night.pit_c.first().copied().unwrap_or(f64::NAN);
        let lagged_c = night
            .pit_c
            .iter()
            .map(|pit| {
                level += gain * (pit - level);
                level
            })
            .collect();
        Self { night, lagged_c, step_h }
    }

    fn numbers(&self, z: &Scores) -> Numbers {
        // Unwrapped meat comes back when it is dry, wrapped meat sooner: in foil soon after.
        let (after_h, after_spread) = match self.night.wrap_h {
            None => (4.0, 0.6),
            Some(_) if self.night.in_foil => (0.5, 0.8),
            Some(_) => (1.6, 0.9),
        };
        Numbers {
            start_c: 7.0 + 4.0 * z[0],
            k_per_h: 0.17 * (0.35 * z[1]).exp(),
            grow_h: 1.0 * (0.5 * z[2]).exp(),
            stall_c: 66.0 + 4.5 * z[3],
            width_c: 2.5 * (0.5 * z[4]).exp(),
            share: 1.0 / (1.0 + (1.7 - 1.1 * z[5]).exp()),
            after_h: after_h * (after_spread * z[6]).exp(),
            back: (0.35 * z[7]).exp(),
            pit_offset_c: self.night.pit_sd_c * z[8],
        }
    }

    /// Core and pit on the model's grid, °C.
    pub(super) fn curves(&self, z: &Scores) -> (Vec<f64>, Vec<f64>) {
        let numbers = self.numbers(z);
        let mut core = Vec::with_capacity(self.lagged_c.len());
        self.run(&numbers, |temp_c| core.push(temp_c));
        let pit = self.night.pit_c.iter().map(|pit| pit + numbers.pit_offset_c).collect();
        (core, pit)
    }

    fn run(&self, numbers: &Numbers, mut each: impl FnMut(f64)) {
        let mut temp_c = numbers.start_c;
        let mut fell_h = f64::INFINITY;
        for (index, lagged_c) in self.lagged_c.iter().enumerate() {
            each(temp_c);
            let hour = index as f64 * self.step_h;
            if fell_h.is_infinite() && temp_c >= numbers.stall_c {
                fell_h = hour;
            }
            let grown = 1.0 - (-hour / numbers.grow_h).exp();
            let fallen = logistic((temp_c - numbers.stall_c) / numbers.width_c);
            let from_h = self.night.wrap_h.map_or(fell_h, |wrap_h| wrap_h.min(fell_h + 12.0));
            let over = (hour - from_h - numbers.after_h) / (0.15 + 0.15 * numbers.after_h);
            let come_back = if over.is_finite() { logistic(over) } else { 0.0 };
            let stalled = 1.0 - (1.0 - numbers.share) * fallen;
            let share = stalled + (numbers.back - stalled) * come_back;
            let rate = numbers.k_per_h * grown * share;
            // The exact solution over a step with the coefficient held.
            let gap = lagged_c + numbers.pit_offset_c - temp_c;
            temp_c += gap * (1.0 - (-rate * self.step_h).exp());
        }
    }

    /// Logarithm of prior times likelihood, up to a constant.
    pub(super) fn log_density(&self, z: &Scores) -> f64 {
        let prior: f64 = z.iter().map(|score| -0.5 * score * score).sum();
        let numbers = self.numbers(z);
        let readings = &self.night.readings;
        let (mut next, mut before, mut hour) = (0, numbers.start_c, 0.0);
        let mut likelihood = 0.0;
        self.run(&numbers, |temp_c| {
            while next < readings.len() && readings[next].0 <= hour {
                let share =
                    ((readings[next].0 - (hour - self.step_h)) / self.step_h).clamp(0.0, 1.0);
                let there = before + (temp_c - before) * share;
                let off = (readings[next].1 - there) / READING_SD_C;
                likelihood -= 0.5 * (READING_DF + 1.0) * (off * off / READING_DF).ln_1p();
                next += 1;
            }
            before = temp_c;
            hour += self.step_h;
        });
        // What the model leaves out is the same in readings that lie close: many of them know less than
        // as many that are independent.
        let weight = (INDEPENDENT / readings.len() as f64).min(1.0);
        let all = prior + weight * likelihood;
        if all.is_finite() { all } else { f64::NEG_INFINITY }
    }
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}
