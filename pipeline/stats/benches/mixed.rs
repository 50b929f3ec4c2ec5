//! Mixed models: 100 000 rows in 1 000 groups, and the same with a second, crossed grouping of 100.
//! `benches/peers/mixed.R` at the top of the repository fits the same data with lme4.

use criterion::{Criterion, criterion_group, criterion_main};
use stats::{Design, Grouping, LinearMixed};
use std::hint::black_box;

const ROWS: usize = 100_000;

/// Numbers in [0, 1) from the multiplicative congruential generator of Park & Miller (1988),
/// Communications of the ACM 31, 1192–1201: the same in R, whose doubles hold its products exactly.
struct Uniform(u64);

impl Uniform {
    fn next(&mut self) -> f64 {
        self.0 = self.0 * 16_807 % 2_147_483_647;
        self.0 as f64 / 2_147_483_647.0
    }

    /// Twelve uniform numbers, less six: standard normal enough.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

fn mixed(criterion: &mut Criterion) {
    let mut uniform = Uniform(20_261);
    let first: Vec<f64> = (0..1000).map(|_| 3.0 * uniform.normal()).collect();
    let second: Vec<f64> = (0..100).map(|_| 2.0 * uniform.normal()).collect();
    let (mut x, mut z, mut y) = (Vec::new(), Vec::new(), Vec::new());
    let (mut fire, mut cook) = (Vec::new(), Vec::new());
    for _ in 0..ROWS {
        let own_fire = (uniform.next() * 1000.0) as usize;
        let own_cook = (uniform.next() * 100.0) as usize;
        let (own_x, own_z) = (uniform.normal(), uniform.next());
        x.push(own_x);
        z.push(own_z);
        y.push(
            5.0 + 2.0 * own_x - own_z + first[own_fire] + second[own_cook] + 4.0 * uniform.normal(),
        );
        fire.push(own_fire);
        cook.push(own_cook);
    }
    let design = || {
        Design::new(ROWS).intercept().unwrap().numeric("x", &x).unwrap().numeric("z", &z).unwrap()
    };
    let fire = Grouping { name: "fire", labels: &fire };
    let cook = Grouping { name: "cook", labels: &cook };
    let mut group = criterion.benchmark_group("mixed, 100 000 rows");
    group.sample_size(10);
    for (name, groupings) in
        [("1 000 groups", vec![fire]), ("1 000 groups crossed with 100", vec![fire, cook])]
    {
        let fit = LinearMixed::fit(&design(), &y, &groupings).unwrap();
        eprintln!(
            "{name}: log-likelihood {:.9}, variances {:?}, residual {}",
            fit.estimates.log_likelihood(),
            fit.random.iter().map(|r| r.variance).collect::<Vec<f64>>(),
            fit.residual_variance,
        );
        group.bench_function(name, |bench| {
            bench.iter(|| LinearMixed::fit(black_box(&design()), &y, &groupings).unwrap());
        });
    }
    group.finish();
}

criterion_group!(benches, mixed);
criterion_main!(benches);
