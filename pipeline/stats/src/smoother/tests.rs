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

/// Variance that the bend gains per second after the first observation.
fn roughness(smoother: &Smoother) -> f64 {
    smoother.fitted.q[0] / smoother.unit.powi(5)
}

/// Value and variance of the normal observation that each observation came to.
fn sites(smoother: &Smoother) -> Vec<(f64, f64)> {
    smoother.fitted.nodes.iter().map(|node| (node.value, node.variance)).collect()
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

fn fitted(times: &[f64], values: &[f64], quantum: f64) -> Smoother {
    Smoother::fit(&gather(times, values, quantum, 1.0), &SmootherOptions::default()).unwrap()
}

/// Covariance of value or slope of a twice integrated Wiener process that starts at time zero with
/// q = 1: ∫₀ᵐ g(s − u) g(t − u) du with g(x) = x²/2 for the value and x for the slope, m = min(s, t),
/// by Gauss–Legendre quadrature with three points, exact for these polynomials of degree 4.
fn process_covariance((s, s_slope): (f64, bool), (t, t_slope): (f64, bool)) -> f64 {
    let m = s.min(t);
    let kernel = |x: f64, slope: bool| if slope { x } else { 0.5 * x * x };
    let root = 0.6_f64.sqrt();
    [(-root, 5.0 / 9.0), (0.0, 8.0 / 9.0), (root, 5.0 / 9.0)]
        .iter()
        .map(|(x, weight)| {
            let u = 0.5 * m * (1.0 + x);
            0.5 * m * weight * kernel(s - u, s_slope) * kernel(t - u, t_slope)
        })
        .sum()
}

/// Best linear prediction with a parabola of unknown coefficients (universal kriging) by dense
/// matrices: the textbook formula, with nothing recursive in it. Source: Cressie (1993), Statistics
/// for Spatial Data, 3.4.
struct Dense {
    precision: DMatrix<f64>,
    trend: DMatrix<f64>,
    bread: DMatrix<f64>,
    y: DVector<f64>,
    times: Vec<f64>,
    q: f64,
}

impl Dense {
    fn new(times: &[f64], sites: &[(f64, f64)], q: f64) -> Self {
        let n = times.len();
        let covariance = DMatrix::from_fn(n, n, |i, j| {
            q * process_covariance((times[i], false), (times[j], false))
                + if i == j { sites[i].1 } else { 0.0 }
        });
        let trend = DMatrix::from_fn(n, 3, |i, j| times[i].powi(j as i32));
        let precision = covariance.try_inverse().unwrap();
        let bread = (trend.transpose() * &precision * &trend).try_inverse().unwrap();
        let y = DVector::from_iterator(n, sites.iter().map(|site| site.0));
        Self { precision, trend, bread, y, times: times.to_vec(), q }
    }

    fn predict(&self, at: f64, slope: bool) -> (f64, f64) {
        let c = DVector::from_iterator(
            self.times.len(),
            self.times.iter().map(|&t| self.q * process_covariance((at, slope), (t, false))),
        );
        let x = DVector::from_vec(if slope {
            vec![0.0, 1.0, 2.0 * at]
        } else {
            vec![1.0, at, at * at]
        });
        let beta = &self.bread * self.trend.transpose() * &self.precision * &self.y;
        let weights = &self.precision * &c;
        let rest = &x - self.trend.transpose() * &weights;
        let own = self.q * process_covariance((at, slope), (at, slope));
        (
            x.dot(&beta) + weights.dot(&(&self.y - &self.trend * &beta)),
            own - c.dot(&weights) + (rest.transpose() * &self.bread * &rest)[(0, 0)],
        )
    }

    /// −2 × restricted log-likelihood, less a constant.
    fn criterion(&self) -> f64 {
        let residual_maker = &self.precision
            - &self.precision
                * &self.trend
                * &self.bread
                * self.trend.transpose()
                * &self.precision;
        let squares = (self.y.transpose() * residual_maker * &self.y)[(0, 0)];
        squares - self.precision.determinant().ln() - self.bread.determinant().ln()
    }
}

const UNEVEN: [f64; 14] =
    [2.0, 3.0, 3.5, 6.0, 7.0, 9.5, 10.0, 14.0, 15.0, 15.5, 18.0, 20.0, 21.0, 23.5];
const READINGS: [f64; 14] = [1.0, 2.2, 1.9, 3.5, 3.1, 5.0, 4.4, 4.6, 3.9, 4.1, 2.0, 1.4, 1.9, 3.3];

#[test]
fn equals_dense_prediction_everywhere() {
    for student_df in [None, Some(4.0)] {
        let options = SmootherOptions { student_df, ..SmootherOptions::default() };
        let observations = gather(&UNEVEN, &READINGS, 0.0, 0.1);
        let smoother = Smoother::fit(&observations, &options).unwrap();
        let q = roughness(&smoother);
        assert!(q > 1e-4, "the process must matter to this test");
        let dense = Dense::new(&UNEVEN, &sites(&smoother), q);
        // At, within and between readings; the vague start is ten times the spread and leaves a
        // trace of 1e-5.
        let at = [2.0, 2.3, 2.9, 3.0, 3.2, 6.0, 8.1, 9.5, 12.0, 19.9, 20.0, 23.5, 25.0];
        let values = smoother.values_at(&at).unwrap();
        for ((time, found), alone) in at.iter().zip(smoother.at(&at).unwrap()).zip(values) {
            let (value, value_variance) = dense.predict(*time, false);
            let (slope, slope_variance) = dense.predict(*time, true);
            for (what, found, expected) in [
                ("value", found.value, value),
                ("value alone", alone, value),
                ("slope", found.slope, slope),
                ("value variance", found.value_variance, value_variance),
                ("slope variance", found.slope_variance, slope_variance),
            ] {
                let error = (found - expected).abs();
                assert!(
                    error < 5e-4 * expected.abs().max(0.1),
                    "{what} at {time}: found {found}, expected {expected}"
                );
            }
        }
    }
}

#[test]
fn noise_and_roughness_maximise_the_dense_likelihood() {
    let mut generator = ChaCha8Rng::seed_from_u64(9);
    let times: Vec<f64> = (0..60).map(f64::from).collect();
    let values: Vec<f64> = times
        .iter()
        .map(|t| 8.0 * (t / 7.0).sin() + generator.sample::<f64, _>(StandardNormal))
        .collect();
    let options = SmootherOptions { student_df: None, ..SmootherOptions::default() };
    let smoother = Smoother::fit(&gather(&times, &values, 0.0, 0.1), &options).unwrap();
    let at = |noise: f64, q: f64| {
        let sites: Vec<(f64, f64)> = values.iter().map(|v| (*v, noise)).collect();
        Dense::new(&times, &sites, q).criterion()
    };
    let (noise, q) = (smoother.noise_sd().powi(2), roughness(&smoother));
    let best = at(noise, q);
    // The fixed point stops within 3 % of a step; steps of a fifth must be worse.
    for (by_noise, by_q) in [(1.2, 1.0), (1.0 / 1.2, 1.0), (1.0, 1.5), (1.0, 1.0 / 1.5)] {
        let other = at(noise * by_noise, q * by_q);
        assert!(other > best, "{by_noise} {by_q}: {other} is below {best}");
    }
}

#[test]
fn passes_through_noise_free_readings() {
    for times in [every(10.0, 2000), irregular(2000, &mut ChaCha8Rng::seed_from_u64(5))] {
        let values: Vec<f64> = times.iter().map(|&t| wave(t).0).collect();
        let smoother = fitted(&times, &values, 0.0);
        let between: Vec<f64> = times[5..1990].iter().map(|t| t + 1.0).collect();
        for (point, &time) in smoother.at(&between).unwrap().iter().zip(&between) {
            let (value, slope) = wave(time);
            assert!((point.value - value).abs() < 1e-4, "{} for {value}", point.value);
            assert!((point.slope - slope).abs() < 1e-5, "{} for {slope}", point.slope);
        }
    }
}

#[test]
fn recovers_a_noisy_wave_with_honest_variances() {
    let mut generator = ChaCha8Rng::seed_from_u64(3);
    let times = irregular(3000, &mut generator);
    let values = with_noise(&times, 0.5, &mut generator);
    let smoother = fitted(&times, &values, 0.0);
    // A Student scale of 4 degrees of freedom fitted to normal noise comes out up to a fifth small.
    assert!((0.4..0.52).contains(&smoother.noise_sd()), "{}", smoother.noise_sd());
    let points = smoother.at(&times).unwrap();
    let value_error = |i: usize| points[i].value - wave(times[i]).0;
    let slope_error = |i: usize| points[i].slope - wave(times[i]).1;
    let values_rms = root_mean_square((0..3000).map(value_error));
    assert!(values_rms < 0.5 / 8.0, "{values_rms}");
    let slopes_rms = root_mean_square((1..2999).map(slope_error));
    let raw_rms = root_mean_square((1..2999).map(|i| {
        (values[i + 1] - values[i - 1]) / (times[i + 1] - times[i - 1]) - wave(times[i]).1
    }));
    assert!(slopes_rms < raw_rms / 100.0, "{slopes_rms} against {raw_rms}");
    let in_sd = |error: f64, variance: f64| error / variance.sqrt();
    let spread =
        root_mean_square((0..3000).map(|i| in_sd(slope_error(i), points[i].slope_variance)));
    assert!((0.5..1.3).contains(&spread), "{spread}");
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
    let error = |values: &[f64]| {
        let points = fitted(&times, values, 0.0).at(&times).unwrap();
        root_mean_square(points.iter().zip(&times).map(|(p, &t)| p.slope - wave(t).1))
    };
    let (with, without) = (error(&spiked), error(&clean));
    assert!(with < 1.5 * without, "{with} against {without}");
}

/// Readings rounded to whole units of ramps from 2 to 60 units an hour, with and without noise that
/// dithers them; the slope is right to 3 % and 0.1 of a unit an hour away from the ends.
#[test]
fn slopes_of_rounded_ramps_are_right() {
    for (per_hour, seconds) in [(2.0, 10.0), (6.0, 60.0), (20.0, 10.0), (60.0, 10.0), (-20.0, 60.0)]
    {
        for noise_sd in [0.0, 0.05, 0.3] {
            let mut generator = ChaCha8Rng::seed_from_u64(1);
            let noise = Normal::new(0.0, noise_sd).unwrap();
            let times = every(seconds, (6.0 * 3600.0 / seconds) as usize);
            let values: Vec<f64> = times
                .iter()
                .map(|t| (120.3 + per_hour * t / 3600.0 + noise.sample(&mut generator)).round())
                .collect();
            let observations = gather(&times, &values, quantum(&values), 60.0);
            let smoother = Smoother::fit(&observations, &SmootherOptions::default()).unwrap();
            for point in smoother.at(&every(600.0, 36)[3..33]).unwrap() {
                let found = 3600.0 * point.slope;
                let most = 0.1 + 0.03 * per_hour.abs();
                assert!(
                    (found - per_hour).abs() < most,
                    "{found} for {per_hour} an hour, noise {noise_sd}"
                );
            }
        }
    }
}

/// Intervals against their moments by quadrature: a standard normal belief and the interval that
/// noise blurs, 20 000 points.
#[test]
fn an_interval_counts_as_what_it_says() {
    for (low, high, noise, mean, variance) in [
        (0.5_f64, 1.5_f64, 0.01_f64, 0.0_f64, 1.0_f64),
        (-0.5, 0.5, 0.04, 0.3, 0.1),
        (3.0, 4.0, 0.09, 0.0, 1.0),
    ] {
        let likelihood = |x: f64| {
            let sd = f64::sqrt(2.0 * noise);
            statrs::function::erf::erf((high - x) / sd) - statrs::function::erf::erf((low - x) / sd)
        };
        let (mut weight, mut first, mut second) = (0.0, 0.0, 0.0);
        for i in 0..20_000 {
            let x = mean + variance.sqrt() * (f64::from(i) / 1_000.0 - 10.0);
            let density = (-0.5 * (x - mean).powi(2) / variance).exp() * likelihood(x);
            weight += density;
            first += density * x;
            second += density * x * x;
        }
        let (m, v) = (first / weight, second / weight - (first / weight).powi(2));
        let (value, site) = fit::site_of(low, high, noise, mean, variance).unwrap();
        let joined = 1.0 / (1.0 / variance + 1.0 / site);
        assert!((joined - v).abs() < 1e-4 * v, "{joined} {v}");
        assert!((joined * (mean / variance + value / site) - m).abs() < 1e-4, "{m}");
    }
}

/// Draws must have the mean and the variance that the smoother states: 600 draws, so the mean of
/// each is known to 4 % of its standard deviation and the variance to 6 %; four such errors are
/// allowed over the instants.
#[test]
fn drawn_curves_have_the_stated_mean_and_variance() {
    let times: Vec<f64> = (0..80).map(|i| f64::from(i) * 60.0 + f64::from(i % 3) * 7.0).collect();
    let values: Vec<f64> = times
        .iter()
        .enumerate()
        .map(|(i, t)| 40.0 + 20.0 * (t / 900.0).sin() + if i % 2 == 0 { 0.3 } else { -0.3 })
        .collect();
    let smoother = fitted(&times, &values, 0.0);
    // Within the nodes' gaps of at most 20 s the drawn curve has no noise of its own.
    let at: Vec<f64> = (0..36).map(|i| f64::from(i) * 130.0).collect();
    let stated = smoother.at(&at).unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let mut sampler = smoother.sampler((0.0, 4_700.0), 20.0, 1.0, 1.0).unwrap();
    let draws: Vec<Vec<f64>> = (0..600)
        .map(|_| {
            let mut out = Vec::new();
            sampler.draw(&at, || rng.sample(StandardNormal), &mut out);
            out
        })
        .collect();
    for (index, point) in stated.iter().enumerate() {
        let column: Vec<f64> = draws.iter().map(|draw| draw[index]).collect();
        let mean = column.iter().sum::<f64>() / 600.0;
        let variance = column.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 599.0;
        assert!((mean - point.value).abs() < 4.0 * 0.041 * point.value_variance.sqrt());
        assert!((variance / point.value_variance - 1.0).abs() < 4.0 * 0.058, "{variance}");
    }
}

/// A calm series with one sharp bend: with roughness by stretches the calm part is smoothed harder.
#[test]
fn a_calm_stretch_is_smoothed_harder_than_a_bend() {
    let mut generator = ChaCha8Rng::seed_from_u64(21);
    let times = every(60.0, 800);
    let truth = |t: f64| 20.0 + 0.0002 * t + 0.002 * (t - 30_000.0).max(0.0);
    let values: Vec<f64> = times
        .iter()
        .map(|&t| truth(t) + 0.2 * generator.sample::<f64, _>(StandardNormal))
        .collect();
    let error = |window: Option<f64>| {
        let options = SmootherOptions { roughness_window: window, ..SmootherOptions::default() };
        let smoother = Smoother::fit(&gather(&times, &values, 0.0, 1.0), &options).unwrap();
        let points = smoother.at(&times[60..440]).unwrap();
        root_mean_square(points.iter().map(|point| point.slope - 0.0002))
    };
    let (one, own) = (error(None), error(Some(2_400.0)));
    assert!(own < 0.8 * one, "{own} against {one}");
}

#[test]
fn what_is_rounded_is_told() {
    assert!((quantum(&[20.0, 20.0, 20.5, 21.0, 20.5, 24.0]) - 0.5).abs() < 1e-12);
    assert_eq!(quantum(&[7.0; 5]), 0.0);
    let staircase: Vec<f64> = (0..200).map(|i| (f64::from(i) * 0.02).round()).collect();
    let times = every(60.0, 200);
    assert!(matches!(gather(&times, &staircase, 1.0, 60.0)[0].rounding, Rounding::Within { .. }));
    let mut generator = ChaCha8Rng::seed_from_u64(2);
    let dithered: Vec<f64> = (0..200)
        .map(|i| (f64::from(i) * 0.02 + generator.sample::<f64, _>(StandardNormal)).round())
        .collect();
    assert!(matches!(
        gather(&times, &dithered, 1.0, 60.0)[0].rounding,
        Rounding::Independent { .. }
    ));
}

#[test]
fn nonsense_is_an_error() {
    let observations = gather(&every(10.0, 3), &[1.0, 2.0, 3.0], 0.0, 1.0);
    let options = SmootherOptions::default();
    assert!(matches!(
        Smoother::fit(&observations, &options),
        Err(StatsError::TooFewRows { needed: 4, .. })
    ));
    let mut observations = gather(&every(10.0, 6), &[1.0; 6], 0.0, 1.0);
    observations[3].time = 0.0;
    assert!(matches!(
        Smoother::fit(&observations, &options),
        Err(StatsError::NotIncreasing { row: 3, .. })
    ));
    observations[3].time = 30.0;
    observations[4].value = f64::NAN;
    assert!(matches!(Smoother::fit(&observations, &options), Err(StatsError::NonFinite { .. })));
    observations[4].value = 1.0;
    for bad in [
        SmootherOptions { student_df: Some(0.0), ..options },
        SmootherOptions { roughness_window: Some(-1.0), ..options },
    ] {
        assert!(matches!(Smoother::fit(&observations, &bad), Err(StatsError::BadArgument { .. })));
    }
    let smoother = Smoother::fit(&observations, &options).unwrap();
    assert!(smoother.at(&[2.0, 1.0]).is_err() && smoother.values_at(&[f64::NAN]).is_err());
    assert!(smoother.sampler((0.0, 50.0), 0.0, 1.0, 1.0).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn never_panics_and_gives_finite_numbers(
        gaps in prop::collection::vec(1u16..4000, 4..80),
        levels in prop::collection::vec(-50.0f64..400.0, 80),
        rounded in any::<bool>(),
        window in prop_oneof![Just(None), Just(Some(1_000.0))],
    ) {
        let mut time = 0.0;
        let times: Vec<f64> = gaps.iter().map(|&gap| { time += f64::from(gap); time }).collect();
        let values: Vec<f64> =
            levels[..times.len()].iter().map(|v| if rounded { v.round() } else { *v }).collect();
        let observations = gather(&times, &values, quantum(&values), 60.0);
        prop_assume!(observations.len() >= 4);
        let options = SmootherOptions { roughness_window: window, ..SmootherOptions::default() };
        let smoother = Smoother::fit(&observations, &options).unwrap();
        for point in smoother.at(&times).unwrap() {
            prop_assert!(point.value.is_finite() && point.slope.is_finite());
            prop_assert!(point.value_variance >= 0.0 && point.slope_variance >= 0.0);
        }
        let mut out = Vec::new();
        let mut normal = ChaCha8Rng::seed_from_u64(1);
        let mut sampler = smoother.sampler((0.0, time), 300.0, 2.0, 1.0).unwrap();
        sampler.draw(&times, || normal.sample(StandardNormal), &mut out);
        prop_assert!(out.iter().all(|v| v.is_finite()));
    }

    #[test]
    fn scaling_scales(
        seed in any::<u64>(), shift in -100.0f64..100.0, a in 0.01f64..100.0, b in 0.01f64..100.0,
    ) {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        let times = irregular(60, &mut generator);
        let values = with_noise(&times, 1.0, &mut generator);
        let observations = gather(&times, &values, 0.0, 1.0);
        let moved: Vec<Observation> = observations
            .iter()
            .map(|o| Observation { time: o.time * b, value: shift + a * o.value, ..*o })
            .collect();
        let options = SmootherOptions::default();
        let plain = Smoother::fit(&observations, &options).unwrap().at(&times).unwrap();
        let scaled_times: Vec<f64> = times.iter().map(|t| t * b).collect();
        let scaled = Smoother::fit(&moved, &options).unwrap().at(&scaled_times).unwrap();
        for (p, s) in plain.iter().zip(&scaled) {
            prop_assert!((s.value - shift - a * p.value).abs() < 1e-4 * a * 100.0);
            prop_assert!((s.slope - a / b * p.slope).abs() < 1e-4 * a / b);
        }
    }
}

/// A ramp of 2 °C/h read every ten seconds for ten hours, with first-order autoregressive noise of
/// standard deviation 0.1 and this time constant, s.
fn ramp_with_slow_noise(constant_s: f64) -> (Vec<f64>, Vec<f64>) {
    let mut random = ChaCha8Rng::seed_from_u64(3);
    let kept = if constant_s > 0.0 { (-10.0 / constant_s).exp() } else { 0.0 };
    let mut noise = 0.0;
    (0..3_600)
        .map(|i| {
            let fresh: f64 = random.sample(StandardNormal);
            noise = kept * noise + (1.0 - kept * kept).sqrt() * 0.1 * fresh;
            let time = f64::from(i) * 10.0;
            (time, 40.0 + time / 1_800.0 + noise)
        })
        .unzip()
}

#[test]
fn blocks_grow_until_their_noise_is_independent() {
    let block = |constant_s: f64, quantum: f64| {
        let (times, values) = ramp_with_slow_noise(constant_s);
        independent_block(&times, &values, quantum, 60.0)
    };
    assert_eq!(block(0.0, 0.0), 60.0);
    // Correlation of neighbouring means of a first-order process over blocks B = b times its constant:
    // (1 − e^−b)²/(2(b − 1 + e^−b)), which is 0.56, 0.36 and 0.18 for b = 1, 2 and 4.
    assert!(block(60.0, 0.0) > 60.0);
    assert!(block(180.0, 0.0) >= 240.0);
    // A staircase: the noise does not reach over its steps.
    let (times, values) = ramp_with_slow_noise(180.0);
    let stairs: Vec<f64> = values.iter().map(|value| value.round()).collect();
    assert_eq!(independent_block(&times, &stairs, 1.0, 60.0), 60.0);
    // Too short to tell.
    assert_eq!(independent_block(&times[..50], &values[..50], 0.0, 60.0), 60.0);
}
