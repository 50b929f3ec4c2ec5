use crate::reference::close;
use crate::{Design, ErrorKind, Estimate, INTERCEPT, LeastSquares, StatsError};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use std::path::PathBuf;

fn read(name: &str) -> Vec<Vec<String>> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/inference");
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_path(path.join(format!("{name}.csv")))
        .unwrap();
    reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect()
}

struct Cooks {
    fire: Vec<usize>,
    weight: Vec<f64>,
    pit: Vec<f64>,
    arm: Vec<String>,
    stall: Vec<f64>,
}

impl Cooks {
    fn read(name: &str) -> Self {
        let rows = read(name);
        let numbers =
            |at: usize| rows.iter().map(|row| row[at].parse().unwrap()).collect::<Vec<f64>>();
        Self {
            fire: rows.iter().map(|row| row[1].trim_start_matches('f').parse().unwrap()).collect(),
            weight: numbers(2),
            pit: numbers(3),
            arm: rows.iter().map(|row| row[4].clone()).collect(),
            stall: numbers(5),
        }
    }

    fn fit(&self) -> LeastSquares {
        let arm: Vec<&str> = self.arm.iter().map(String::as_str).collect();
        let design = Design::new(self.stall.len())
            .intercept()
            .unwrap()
            .factor("arm", &arm)
            .unwrap()
            .numeric("trimmed_weight_kg", &self.weight)
            .unwrap()
            .numeric("pit_early_c", &self.pit)
            .unwrap();
        LeastSquares::fit(&design, &self.stall, ErrorKind::Clustered(&self.fire)).unwrap()
    }

    fn in_order(&self, order: &[usize]) -> Self {
        Self {
            fire: order.iter().map(|&row| self.fire[row]).collect(),
            weight: order.iter().map(|&row| self.weight[row]).collect(),
            pit: order.iter().map(|&row| self.pit[row]).collect(),
            arm: order.iter().map(|&row| self.arm[row].clone()).collect(),
            stall: order.iter().map(|&row| self.stall[row]).collect(),
        }
    }
}

/// R 4.2.2, clubSandwich 0.5.8: see `tests/reference/inference/README.md`.
#[test]
fn errors_and_degrees_of_freedom_agree_with_r() {
    let expected = read("expected");
    assert_eq!(expected.len(), 12);
    for row in expected {
        let number = |at: usize| row[at].parse::<f64>().unwrap();
        let name = match row[1].as_str() {
            "(Intercept)" => INTERCEPT,
            "armb" => "arm[b]",
            other => other,
        };
        let found = Cooks::read(&row[0]).fit().estimates.term(name).unwrap();
        let about = |what: &str| format!("{} {name} {what}", row[0]);
        close(&about("estimate"), found.estimate, number(2), 1e-9);
        close(&about("standard error"), found.std_error, number(3), 1e-9);
        close(&about("degrees of freedom"), found.df, number(4), 1e-9);
        close(&about("p"), found.p_value(), number(5), 1e-9);
    }
}

#[test]
fn the_order_of_rows_does_not_matter() {
    let cooks = Cooks::read("unequal");
    let n = cooks.stall.len();
    let turned = cooks.in_order(&(0..n).map(|row| row * 7 % n).collect::<Vec<_>>());
    assert_ne!(n % 7, 0);
    let (first, second) = (cooks.fit().estimates.terms(), turned.fit().estimates.terms());
    for (a, b) in first.iter().zip(&second) {
        close(&a.name, b.coefficient.std_error, a.coefficient.std_error, 1e-12);
        close(&a.name, b.coefficient.df, a.coefficient.df, 1e-11);
    }
}

/// Two groups, one cook a fire: Welch's standard error √(s₁²/n₁ + s₂²/n₂); degrees of freedom as
/// Welch's formula gives them where both variances are equal, (1/n₁ + 1/n₂)² / (1/(n₁²(n₁ − 1)) +
/// 1/(n₂²(n₂ − 1))): Imbens & Kolesár (2016), section II.
#[test]
fn two_groups_of_single_cooks_are_welchs() {
    let y = [3.0, 5.0, 4.0, 12.0, 1.0, 9.0, 7.5];
    let group = ["a", "a", "a", "b", "b", "b", "b"];
    let design = Design::new(7).intercept().unwrap().factor("group", &group).unwrap();
    let fires: Vec<usize> = (0..7).collect();
    let fit = LeastSquares::fit(&design, &y, ErrorKind::Clustered(&fires)).unwrap();
    let found = fit.estimates.term("group[b]").unwrap();
    let variance = |values: &[f64]| {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (values.len() - 1) as f64
    };
    let (a, b) = (3.0_f64, 4.0_f64);
    let expected = (variance(&y[..3]) / a + variance(&y[3..]) / b).sqrt();
    close("standard error", found.std_error, expected, 1e-13);
    let below = 1.0 / (a * a * (a - 1.0)) + 1.0 / (b * b * (b - 1.0));
    close("degrees of freedom", found.df, (1.0 / a + 1.0 / b).powi(2) / below, 1e-12);
}

/// The definition in whole matrices: A = (I − H)^−½ of each cluster.
fn by_definition(columns: &[Vec<f64>], y: &[f64], labels: &[usize], weights: &[f64]) -> (f64, f64) {
    let (n, k) = (y.len(), columns.len());
    let x = DMatrix::from_fn(n, k, |row, column| columns[column][row]);
    let bread = (x.transpose() * &x).try_inverse().unwrap();
    let rest = DMatrix::identity(n, n) - &x * &bread * x.transpose();
    let residuals = &rest * DVector::from_column_slice(y);
    let c = &bread * DVector::from_column_slice(weights);
    let mut known = labels.to_vec();
    known.sort_unstable();
    known.dedup();
    let mut variance = 0.0;
    let mut paths = Vec::new();
    for label in known {
        let rows: Vec<usize> = (0..n).filter(|&row| labels[row] == label).collect();
        let own = rest.select_rows(&rows).select_columns(&rows).symmetric_eigen();
        let powers = DMatrix::from_diagonal(&own.eigenvalues.map(|v| 1.0 / v.sqrt()));
        let adjust = &own.eigenvectors * powers * own.eigenvectors.transpose();
        let path = adjust * x.select_rows(&rows) * &c;
        variance += path.dot(&residuals.select_rows(&rows)).powi(2);
        paths.push(rest.select_columns(&rows) * path);
    }
    let trace: f64 = paths.iter().map(DVector::norm_squared).sum();
    let squares: f64 = paths.iter().flat_map(|a| paths.iter().map(move |b| a.dot(b).powi(2))).sum();
    (variance.sqrt(), trace * trace / squares)
}

#[test]
fn a_fire_that_alone_determines_a_coefficient_is_named() {
    let y = [1.0, 2.5, 2.0, 4.5, 4.0, 6.5];
    let fires = [0, 0, 1, 2, 2, 3];
    let fit = |wood: &[&str]| {
        let design = Design::new(6).intercept().unwrap().factor("wood", wood).unwrap();
        LeastSquares::fit(&design, &y, ErrorKind::Clustered(&fires))
    };
    // One cook has the level; two cooks of one fire have it.
    for (wood, rows) in [
        (["oak", "oak", "ash", "ash", "oak", "elm"], vec![5]),
        (["oak", "ash", "ash", "elm", "elm", "oak"], vec![3, 4]),
    ] {
        assert_eq!(fit(&wood).unwrap_err(), StatsError::FullLeverage { rows });
    }
    assert!(fit(&["oak", "ash", "ash", "oak", "ash", "oak"]).is_ok());
}

/// Hotelling's T² of two terms, from the terms' own figures.
#[test]
fn terms_tested_together_take_hotellings_degrees_of_freedom() {
    let fit = Cooks::read("thirty").fit();
    let names = ["trimmed_weight_kg", "pit_early_c"];
    let test = fit.estimates.joint_test(&names).unwrap();
    let covariance = fit.estimates.covariance().remove_row(0).remove_row(0);
    let block = covariance.remove_column(0).remove_column(0);
    let b = DVector::from_column_slice(&fit.estimates.coefficients()[2..]);
    let wald = (block.try_inverse().unwrap() * &b).dot(&b);
    let df = fit.estimates.term("pit_early_c").unwrap().df;
    close("degrees of freedom", test.residual_df, df - 1.0, 1e-12);
    close("F", test.f, wald / 2.0 * (df - 1.0) / df, 1e-10);
}

proptest! {
    /// Any design, any clusters, any combination.
    #[test]
    fn it_is_its_definition(
        rows in prop::collection::vec((-3.0..3.0f64, -3.0..3.0f64, -9.0..9.0f64, 0_usize..7), 16..40),
        weights in prop::collection::vec(-1.0..1.0f64, 3),
    ) {
        let columns = vec![
            vec![1.0; rows.len()],
            rows.iter().map(|row| row.0).collect::<Vec<f64>>(),
            rows.iter().map(|row| row.1).collect(),
        ];
        let y: Vec<f64> = rows.iter().map(|row| row.2).collect();
        let labels: Vec<usize> = rows.iter().map(|row| row.3).collect();
        let design = Design::new(y.len())
            .intercept().unwrap()
            .numeric("a", &columns[1]).unwrap()
            .numeric("b", &columns[2]).unwrap();
        let Ok(fit) = LeastSquares::fit(&design, &y, ErrorKind::Clustered(&labels)) else {
            return Ok(());
        };
        let Estimate { std_error, df, .. } = fit.estimates.linear_combination(&weights).unwrap();
        let (expected, expected_df) = by_definition(&columns, &y, &labels, &weights);
        prop_assert!((std_error / expected - 1.0).abs() < 1e-7, "{std_error} {expected}");
        prop_assert!((df / expected_df - 1.0).abs() < 1e-7, "{df} {expected_df}");
    }

    /// One row a cluster is HC2: Σ eᵢ²/(1 − hᵢ) xᵢxᵢ′ between the bread.
    #[test]
    fn single_rows_are_hc2(
        rows in prop::collection::vec((-3.0..3.0f64, -9.0..9.0f64), 6..20),
    ) {
        let n = rows.len();
        let x = DMatrix::from_fn(n, 2, |row, column| if column == 0 { 1.0 } else { rows[row].0 });
        let y: Vec<f64> = rows.iter().map(|row| row.1).collect();
        let column: Vec<f64> = rows.iter().map(|row| row.0).collect();
        let design = Design::new(n).intercept().unwrap().numeric("x", &column).unwrap();
        let labels: Vec<usize> = (0..n).rev().collect();
        let fit = LeastSquares::fit(&design, &y, ErrorKind::Clustered(&labels)).unwrap();
        let bread = (x.transpose() * &x).try_inverse().unwrap();
        let hat = &x * &bread * x.transpose();
        let mut middle = DMatrix::zeros(2, 2);
        for row in 0..n {
            let weight = fit.residuals[row].powi(2) / (1.0 - hat[(row, row)]);
            middle += x.row(row).transpose() * x.row(row) * weight;
        }
        let expected = &bread * middle * &bread;
        for (found, expected) in fit.estimates.covariance().iter().zip(expected.iter()) {
            prop_assert!((found - expected).abs() < 1e-8 * expected.abs().max(1e-3));
        }
    }
}
