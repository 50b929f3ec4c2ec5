use super::*;
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal, StandardNormal};
use std::f64::consts::TAU;

fn root_mean_square(errors: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = errors.fold((0.0, 0.0), |(sum, count), e| (sum + e * e, count + 1.0));
    f64::sqrt(sum / count)
}

fn rounded(quantum: f64) -> SmootherOptions {
    SmootherOptions { minimum_noise_sd: quantum / 12f64.sqrt(), ..SmootherOptions::default() }
}

fn every(seconds: f64, n: usize) -> Vec<f64> {
    (0..n).map(|i| i as f64 * seconds).collect()
}

/// Times about 10 s apart, irregular.
fn irregular(n: usize, generator: &mut ChaCha8Rng) -> Vec<f64> {
    (0..n).map(|i| i as f64 * 10.0 + generator.random_range(0.0..8.0)).collect()
}

const PERIOD: f64 = 7200.0;

/// A wave of amplitude 10 about 60, and its slope.
fn wave(t: f64) -> (f64, f64) {
    let angle = TAU / PERIOD * t;
    (60.0 + 10.0 * angle.sin(), 10.0 * TAU / PERIOD * angle.cos())
}

fn with_noise(times: &[f64], sd: f64, generator: &mut ChaCha8Rng) -> Vec<f64> {
    let noise = Normal::new(0.0, sd).unwrap();
    times.iter().map(|&t| wave(t).0 + noise.sample(generator)).collect()
}

/// Covariance of value or slope of an integrated Wiener process that starts at time zero, q = 1.
fn process_covariance((s, s_slope): (f64, bool), (t, t_slope): (f64, bool)) -> f64 {
    let m = s.min(t);
    match (s_slope, t_slope) {
        (false, false) => m.powi(3) / 3.0 + (s - t).abs() * m * m / 2.0,
        (true, true) => m,
        // Cov(∫₀ᵃ W, W_b) = ∫₀ᵃ min(u, b) du.
        (false, true) if t >= s => s * s / 2.0,
        (false, true) => t * t / 2.0 + t * (s - t),
        (true, false) => process_covariance((t, false), (s, true)),
    }
}

/// Best linear prediction with a line of unknown coefficients (universal kriging) by dense
/// matrices: the textbook formula, with nothing recursive in it. Source: Cressie (1993), Statistics
/// for Spatial Data, 3.4.
struct Dense {
    precision: DMatrix<f64>,
    line: DMatrix<f64>,
    bread: DMatrix<f64>,
    y: DVector<f64>,
    times: Vec<f64>,
    q: f64,
}

impl Dense {
    fn new(times: &[f64], y: &[f64], noise: &[f64], q: f64) -> Self {
        let n = times.len();
        let covariance = DMatrix::from_fn(n, n, |i, j| {
            q * process_covariance((times[i], false), (times[j], false))
                + if i == j { noise[i] } else { 0.0 }
        });
        let line = DMatrix::from_fn(n, 2, |i, j| if j == 0 { 1.0 } else { times[i] });
        let precision = covariance.try_inverse().unwrap();
        let bread = (line.transpose() * &precision * &line).try_inverse().unwrap();
        Self { precision, line, bread, y: DVector::from_column_slice(y), times: times.to_vec(), q }
    }

    fn predict(&self, at: f64, slope: bool) -> (f64, f64) {
        let c = DVector::from_iterator(
            self.times.len(),
            self.times.iter().map(|&t| self.q * process_covariance((at, slope), (t, false))),
        );
        let x = DVector::from_vec(if slope { vec![0.0, 1.0] } else { vec![1.0, at] });
        let beta = &self.bread * self.line.transpose() * &self.precision * &self.y;
        let weights = &self.precision * &c;
        let rest = &x - self.line.transpose() * &weights;
        let own = self.q * process_covariance((at, slope), (at, slope));
        (
            x.dot(&beta) + weights.dot(&(&self.y - &self.line * &beta)),
            own - c.dot(&weights) + (rest.transpose() * &self.bread * &rest)[(0, 0)],
        )
    }

    /// −2 × restricted log-likelihood, less a constant.
    fn criterion(&self) -> f64 {
        let residual_maker = &self.precision
            - &self.precision * &self.line * &self.bread * self.line.transpose() * &self.precision;
        let squares = (self.y.transpose() * residual_maker * &self.y)[(0, 0)];
        squares - self.precision.determinant().ln() - self.bread.determinant().ln()
    }
}

const UNEVEN: [f64; 12] = [2.0, 3.0, 3.5, 6.0, 7.0, 9.5, 10.0, 14.0, 15.0, 15.5, 18.0, 20.0];
const READINGS: [f64; 12] = [1.0, 2.2, 1.9, 3.5, 3.1, 5.0, 4.4, 4.6, 3.9, 4.1, 2.0, 1.4];

#[test]
fn equals_dense_prediction_everywhere() {
    for student_df in [None, Some(4.0)] {
        let options = SmootherOptions { minimum_noise_sd: 0.2, student_df };
        let smoother = Smoother::fit(&UNEVEN, &READINGS, &options).unwrap();
        let noise = smoother.reading_variances();
        let dense = Dense::new(&UNEVEN, &READINGS, &noise, smoother.process_variance());
        assert!(smoother.process_variance() > 1e-3, "the process must matter to this test");
        // Before, at and within the first gap, later gaps, at readings, after.
        let at = [0.5, 1.0, 2.0, 2.3, 2.9, 3.0, 3.2, 6.0, 8.1, 9.5, 12.0, 19.9, 20.0, 23.0];
        for (time, found) in at.iter().zip(smoother.at(&at).unwrap()) {
            let (value, value_variance) = dense.predict(*time, false);
            let (slope, slope_variance) = dense.predict(*time, true);
            for (what, found, expected) in [
                ("value", found.value, value),
                ("slope", found.slope, slope),
                ("value variance", found.value_variance, value_variance),
                ("slope variance", found.slope_variance, slope_variance),
            ] {
                let error = (found - expected).abs();
                assert!(error < 1e-8, "{what} at {time}: found {found}, expected {expected}");
            }
        }
        let readings = smoother.at(&UNEVEN).unwrap();
        assert_eq!(readings, smoother.at_readings());
    }
}

#[test]
fn variances_maximise_the_dense_likelihood() {
    let options = SmootherOptions { minimum_noise_sd: 0.0, student_df: None };
    let smoother = Smoother::fit(&UNEVEN, &READINGS, &options).unwrap();
    let at = |noise: f64, q: f64| Dense::new(&UNEVEN, &READINGS, &[noise; 12], q).criterion();
    let (noise, q) = (smoother.noise_sd().powi(2), smoother.process_variance());
    let best = at(noise, q);
    for (by_noise, by_q) in [(1.2, 1.0), (1.0 / 1.2, 1.0), (1.0, 1.2), (1.0, 1.0 / 1.2), (1.1, 1.1)]
    {
        let other = at(noise * by_noise, q * by_q);
        assert!(other > best, "{by_noise} {by_q}: {other} is below {best}");
    }
}

#[test]
fn passes_through_noise_free_readings() {
    for times in [every(10.0, 2000), irregular(2000, &mut ChaCha8Rng::seed_from_u64(5))] {
        let values: Vec<f64> = times.iter().map(|&t| wave(t).0).collect();
        let smoother = Smoother::fit(&times, &values, &SmootherOptions::default()).unwrap();
        for (point, value) in smoother.at_readings().iter().zip(&values) {
            assert!((point.value - value).abs() < 1e-4, "{} for {value}", point.value);
        }
        // Between readings and in slope, away from the ends where nothing holds the bend.
        let between: Vec<f64> = times[5..1990].iter().map(|t| t + 1.0).collect();
        for (point, &time) in smoother.at(&between).unwrap().iter().zip(&between) {
            let (value, slope) = wave(time);
            assert!((point.value - value).abs() < 1e-4);
            assert!((point.slope - slope).abs() < 1e-5, "{} for {slope}", point.slope);
        }
    }
}

/// Long enough (30 000) that the variances come from a thinned series in the second case.
#[test]
fn recovers_a_noisy_wave_with_honest_variances() {
    for n in [3000, 30_000] {
        let mut generator = ChaCha8Rng::seed_from_u64(3);
        let times = irregular(n, &mut generator);
        let values = with_noise(&times, 0.5, &mut generator);
        let smoother = Smoother::fit(&times, &values, &SmootherOptions::default()).unwrap();
        let points = smoother.at_readings();
        let value_error = |i: usize| points[i].value - wave(times[i]).0;
        let slope_error = |i: usize| points[i].slope - wave(times[i]).1;

        let values_rms = root_mean_square((0..n).map(value_error));
        assert!(values_rms < 0.5 / 5.0, "{values_rms}");
        let slopes_rms = root_mean_square((1..n - 1).map(slope_error));
        let raw_rms = root_mean_square((1..n - 1).map(|i| {
            (values[i + 1] - values[i - 1]) / (times[i + 1] - times[i - 1]) - wave(times[i]).1
        }));
        assert!(slopes_rms < raw_rms / 50.0, "{slopes_rms} against {raw_rms}");

        let in_sd = |error: f64, variance: f64| error / variance.sqrt();
        let value_spread =
            root_mean_square((0..n).map(|i| in_sd(value_error(i), points[i].value_variance)));
        let slope_spread =
            root_mean_square((0..n).map(|i| in_sd(slope_error(i), points[i].slope_variance)));
        // A wave bends more evenly than the process that the variances stand for, hence below one.
        assert!((0.7..1.2).contains(&value_spread), "{value_spread}");
        assert!((0.5..1.2).contains(&slope_spread), "{slope_spread}");
    }
}

#[test]
fn spikes_are_all_but_ignored() {
    let mut generator = ChaCha8Rng::seed_from_u64(11);
    let times = irregular(2000, &mut generator);
    let clean = with_noise(&times, 0.2, &mut generator);
    let mut spiked = clean.clone();
    for i in (7..2000).step_by(29) {
        spiked[i] += if i % 2 == 0 { 200.0 } else { -40.0 };
    }
    // Three in a row as well.
    for value in &mut spiked[1000..1003] {
        *value = 0.0;
    }
    let error = |values: &[f64], options: &SmootherOptions| {
        let smoother = Smoother::fit(&times, values, options).unwrap();
        let points = smoother.at_readings();
        (
            root_mean_square(points.iter().zip(&times).map(|(p, &t)| p.value - wave(t).0)),
            root_mean_square(points.iter().zip(&times).map(|(p, &t)| p.slope - wave(t).1)),
        )
    };
    let robust = SmootherOptions::default();
    let normal = SmootherOptions { student_df: None, ..robust };
    let without = error(&clean, &robust);
    let with = error(&spiked, &robust);
    assert!(with.0 < 1.3 * without.0, "{with:?} against {without:?}");
    assert!(with.1 < 1.3 * without.1, "{with:?} against {without:?}");
    assert!(error(&spiked, &normal).0 > 10.0 * with.0);
}

/// One reading in ten 200 off at random, in a short, a middling and a thinned series.
#[test]
fn one_gross_error_in_ten_is_borne() {
    for n in [300, 3000, 30_000] {
        let mut generator = ChaCha8Rng::seed_from_u64(11);
        let times = irregular(n, &mut generator);
        let mut values = with_noise(&times, 0.2, &mut generator);
        for value in &mut values {
            if generator.random_bool(0.1) {
                *value += if generator.random_bool(0.7) { 200.0 } else { -200.0 };
            }
        }
        let smoother = Smoother::fit(&times, &values, &SmootherOptions::default()).unwrap();
        let points = smoother.at_readings();
        let error = root_mean_square(points.iter().zip(&times).map(|(p, &t)| p.value - wave(t).0));
        assert!(error < 0.06, "{n}: {error}");
        if n >= 3000 {
            // A tenth in the tails widens Student's scale by a third.
            assert!((0.2..0.3).contains(&smoother.noise_sd()), "{n}: {}", smoother.noise_sd());
        }
    }
}

#[test]
fn constants_and_lines_come_back() {
    let times = every(10.0, 500);
    for options in [SmootherOptions::default(), rounded(1.0)] {
        let flat = Smoother::fit(&times, &[71.3; 500], &options).unwrap();
        for point in flat.at_readings() {
            assert_eq!((point.value, point.slope), (71.3, 0.0));
        }
        assert_eq!(flat.process_variance(), 0.0);
        assert_eq!(flat.noise_sd(), options.minimum_noise_sd);

        let line: Vec<f64> = times.iter().map(|t| 20.0 + 0.003 * t).collect();
        let smoother = Smoother::fit(&times, &line, &options).unwrap();
        for point in smoother.at(&[-100.0, 3.0, 2500.0, 9000.0]).unwrap() {
            assert!((point.slope - 0.003).abs() < 1e-12);
        }
    }
}

/// On a line the variances are those of least squares: σ²/Σ(t − t̄)² for the slope.
#[test]
fn a_line_has_the_variances_of_least_squares() {
    let times = every(10.0, 100);
    let line: Vec<f64> = times.iter().map(|t| 0.5 * t).collect();
    let smoother = Smoother::fit(&times, &line, &rounded(1.0)).unwrap();
    let middle = 495.0;
    let squares: f64 = times.iter().map(|t| (t - middle) * (t - middle)).sum();
    let point = smoother.at(&[middle]).unwrap()[0];
    assert!((point.slope_variance * squares * 12.0 - 1.0).abs() < 1e-9);
    assert!((point.value_variance * 100.0 * 12.0 - 1.0).abs() < 1e-9);
}

/// Readings rounded to whole units of ramps from 2 to 60 units an hour, one every 10 s or 60 s,
/// with and without noise that dithers them.
#[test]
fn slopes_of_rounded_ramps_are_right() {
    for (per_hour, seconds) in [(2.0, 10.0), (6.0, 10.0), (20.0, 10.0), (60.0, 10.0), (-20.0, 60.0)]
    {
        for noise_sd in [0.0, 0.05, 0.3] {
            let mut generator = ChaCha8Rng::seed_from_u64(1);
            let noise = Normal::new(0.0, noise_sd).unwrap();
            let times = every(seconds, (6.0 * 3600.0 / seconds) as usize);
            let values: Vec<f64> = times
                .iter()
                .map(|t| (120.3 + per_hour * t / 3600.0 + noise.sample(&mut generator)).round())
                .collect();
            let smoother = Smoother::fit(&times, &values, &rounded(1.0)).unwrap();
            for point in smoother.at_readings() {
                let found = 3600.0 * point.slope;
                assert!(
                    (found - per_hour).abs() < 0.06,
                    "{found} for {per_hour} an hour, noise {noise_sd}"
                );
            }
        }
    }
}

/// A ramp of 20 units an hour, a plateau of 2, a ramp of 12, rounded to whole units: the curve
/// stays within half a unit of the truth and the slope within a tenth of the step between ramps.
#[test]
fn rounded_plateau_is_followed() {
    let softly = |hours: f64| 0.15 * (hours / 0.15).exp().ln_1p();
    let truth = |t: f64| {
        let hours = t / 3600.0;
        10.0 + 20.0 * hours - 18.0 * softly(hours - 3.0) + 10.0 * softly(hours - 7.0)
    };
    for seconds in [10.0, 60.0] {
        let times = every(seconds, (36_000.0 / seconds) as usize);
        let values: Vec<f64> = times.iter().map(|&t| truth(t).round()).collect();
        let smoother = Smoother::fit(&times, &values, &rounded(1.0)).unwrap();
        let points = smoother.at_readings();
        let slope_error =
            root_mean_square(points.iter().zip(&times).map(|(point, &t)| {
                3600.0 * point.slope - 1800.0 * (truth(t + 1.0) - truth(t - 1.0))
            }));
        assert!(slope_error < 0.4, "{slope_error}");
        for (point, &t) in points.iter().zip(&times) {
            assert!((point.value - truth(t)).abs() < 0.5);
        }
    }
}

#[test]
fn bad_input_is_named() {
    let fit = |times: &[f64], values: &[f64]| {
        Smoother::fit(times, values, &SmootherOptions::default()).unwrap_err()
    };
    assert!(matches!(fit(&[], &[]), StatsError::Empty { .. }));
    assert!(matches!(fit(&[0.0, 1.0], &[1.0, 2.0]), StatsError::TooFewRows { needed: 3, .. }));
    assert!(matches!(fit(&[0.0, 1.0], &[1.0]), StatsError::LengthMismatch { .. }));
    assert!(matches!(
        fit(&[0.0, 1.0, 2.0], &[1.0, f64::NAN, 2.0]),
        StatsError::NonFinite { row: 1, .. }
    ));
    assert_eq!(
        fit(&[0.0, 1.0, 1.0], &[1.0; 3]).to_string(),
        "the times must increase: the value at position 2 is not after the one before it"
    );
    assert!(matches!(fit(&[0.0, 1.0, 2.0, 1e12], &[1.0; 4]), StatsError::BadArgument { .. }));
    for options in [
        SmootherOptions { minimum_noise_sd: -1.0, student_df: None },
        SmootherOptions { minimum_noise_sd: f64::NAN, student_df: None },
        SmootherOptions { minimum_noise_sd: 0.0, student_df: Some(0.0) },
    ] {
        assert!(Smoother::fit(&[0.0, 1.0, 2.0], &[1.0; 3], &options).is_err());
    }
    let smoother = Smoother::fit(&[0.0, 1.0, 2.0], &[1.0; 3], &SmootherOptions::default()).unwrap();
    assert!(smoother.at(&[1.0, 0.5]).is_err());
    assert!(smoother.at(&[f64::INFINITY]).is_err());
    assert_eq!(smoother.at(&[]).unwrap(), []);
}

fn series() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    let gap = prop_oneof![Just(10.0), 0.001f64..0.01, 1.0f64..60.0, 1e3f64..1e5];
    let value = prop_oneof![Just(20.0), Just(21.0), -50.0f64..300.0, 19.0f64..23.0];
    prop::collection::vec((gap, value), 3..60).prop_map(|rows| {
        let mut time = 0.0;
        rows.into_iter()
            .map(|(gap, value)| {
                time += gap;
                (time, value)
            })
            .unzip()
    })
}

proptest! {
    #[test]
    fn whatever_the_readings_no_nan_comes_out(
        (times, values) in series(),
        minimum_noise_sd in prop_oneof![Just(0.0), Just(0.289), 0.0f64..5.0],
        student_df in prop_oneof![Just(None), Just(Some(4.0)), Just(Some(1.0))],
    ) {
        let options = SmootherOptions { minimum_noise_sd, student_df };
        let smoother = Smoother::fit(&times, &values, &options).unwrap();
        let last = times[times.len() - 1];
        let at: Vec<f64> = (-10..=110).map(|i| f64::from(i) * last / 100.0).collect();
        for point in smoother.at(&at).unwrap().iter().chain(&smoother.at_readings()) {
            prop_assert!(point.value.is_finite() && point.slope.is_finite(), "{point:?}");
            prop_assert!(point.value_variance >= 0.0 && point.value_variance.is_finite());
            prop_assert!(point.slope_variance >= 0.0 && point.slope_variance.is_finite());
            prop_assert!(point.covariance.is_finite());
        }
        prop_assert!(smoother.noise_sd() >= minimum_noise_sd * (1.0 - 1e-12));
    }

    /// Whole seconds, so that a shift loses no digit of the times.
    #[test]
    fn shifting_time_changes_nothing(
        gaps in prop::collection::vec(1u32..100, 3..60),
        seed in any::<u64>(),
        shift in -2_000_000_000i64..2_000_000_000,
    ) {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        let mut time = 0.0;
        let times: Vec<f64> = gaps
            .iter()
            .map(|&gap| {
                time += f64::from(gap);
                time
            })
            .collect();
        let values = with_noise(&times, 1.0, &mut generator);
        let moved: Vec<f64> = times.iter().map(|t| t + shift as f64).collect();
        let options = SmootherOptions::default();
        let plain = Smoother::fit(&times, &values, &options).unwrap();
        let other = Smoother::fit(&moved, &values, &options).unwrap();
        prop_assert_eq!(plain.at_readings(), other.at_readings());
    }

    #[test]
    fn scaling_scales(
        seed in any::<u64>(), shift in -100.0f64..100.0, a in 0.01f64..100.0, b in 0.01f64..100.0,
        minimum_noise_sd in prop_oneof![Just(0.0), Just(1.5)],
    ) {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        let times = irregular(50, &mut generator);
        let values = with_noise(&times, 1.0, &mut generator);
        let options = SmootherOptions { minimum_noise_sd, student_df: None };
        let scaled_options = SmootherOptions { minimum_noise_sd: a * minimum_noise_sd, ..options };
        let plain = Smoother::fit(&times, &values, &options).unwrap();
        let scaled_times: Vec<f64> = times.iter().map(|t| t * b).collect();
        let scaled_values: Vec<f64> = values.iter().map(|v| shift + v * a).collect();
        let scaled = Smoother::fit(&scaled_times, &scaled_values, &scaled_options).unwrap();
        for (p, s) in plain.at_readings().iter().zip(scaled.at_readings()) {
            prop_assert!((s.value - shift - a * p.value).abs() < 1e-5 * a);
            prop_assert!((s.slope - a / b * p.slope).abs() < 1e-6 * a / b);
        }
    }
}

/// Draws must have the mean and the variance that the smoother states: 400 draws, so the mean of
/// each is known to 5 % of its standard deviation and the variance to 7 %; four such errors are
/// allowed over 40 instants.
#[test]
fn drawn_curves_have_the_stated_mean_and_variance() {
    let times: Vec<f64> = (0..80).map(|i| f64::from(i) * 60.0 + f64::from(i % 3) * 7.0).collect();
    let values: Vec<f64> = times
        .iter()
        .enumerate()
        .map(|(i, t)| 40.0 + 20.0 * (t / 900.0).sin() + if i % 2 == 0 { 0.3 } else { -0.3 })
        .collect();
    let smoother = Smoother::fit(&times, &values, &SmootherOptions::default()).unwrap();
    let at: Vec<f64> = (-2..38).map(|i| f64::from(i) * 130.0).collect();
    let stated = smoother.at(&at).unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let draws: Vec<Vec<f64>> =
        (0..400).map(|_| smoother.draw(&at, || rng.sample(StandardNormal)).unwrap()).collect();
    for (index, point) in stated.iter().enumerate() {
        let column: Vec<f64> = draws.iter().map(|draw| draw[index]).collect();
        let mean = column.iter().sum::<f64>() / 400.0;
        let variance = column.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 399.0;
        assert!((mean - point.value).abs() < 4.0 * 0.05 * point.value_variance.sqrt());
        assert!((variance / point.value_variance - 1.0).abs() < 4.0 * 0.071, "{variance}");
    }
}
