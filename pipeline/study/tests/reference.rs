//! A claim on data sets whose mixed models lme4 and lmerTest fitted, by way of the measure table.

use columns::Table;
use std::fs;
use std::path::Path;
use study::result::Model;
use study::{Claims, Lock, MeasureTable, analysis};

fn read(part: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/stats");
    fs::read_to_string(root.join(part)).unwrap()
}

/// The columns of a set as text, renamed; one cook a row.
fn table(set: &str, names: &[(&str, &str)]) -> MeasureTable {
    let text = read(&format!("data/{set}.csv"));
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    let cooks: Vec<String> = (0..rows.len()).map(|row| format!("c{row:03}")).collect();
    let mut table = Table::new().with("cook", cooks.into());
    for (own, name) in names {
        let place = header.iter().position(|column| column == own).unwrap();
        let values: Vec<&str> = rows.iter().map(|row| row[place]).collect();
        table.push(*name, values.into());
    }
    MeasureTable::new(&table).unwrap()
}

fn mixed(table: &MeasureTable, claim: &str) -> Model {
    let claims = Claims::parse(claim, Path::new("claims.toml")).unwrap();
    let found =
        analysis::judge(table, &claims.claims[0], &Lock::default(), analysis::Evidence::default())
            .unwrap();
    assert!(!found.other_ways.is_empty(), "{:?}", found.notes);
    found.models.into_iter().find(|model| model.name == "mixed").unwrap()
}

fn close(found: f64, expected: f64, tolerance: f64) {
    let reach = tolerance * expected.abs();
    assert!((found - expected).abs() <= reach, "found {found}, expected {expected}");
}

fn number(value: &serde_json::Value) -> f64 {
    value.as_f64().unwrap()
}

/// Compares with the tolerances of `tests/reference/stats/README.md`.
fn agrees(
    model: &Model,
    expected: &serde_json::Value,
    terms: &[(&str, &str)],
    groups: &[(&str, &str)],
) {
    close(model.log_likelihood.unwrap(), number(&expected["loglik"]), 1e-6);
    for (own, theirs) in terms {
        let term = model.terms.iter().find(|term| term.term == *own).unwrap();
        close(term.estimate.unwrap(), number(&expected["fixed"][*theirs]), 1e-6);
        close(term.std_error.unwrap(), number(&expected["se"][*theirs]), 1e-5);
        close(term.df.unwrap(), number(&expected["satterthwaite_df"][*theirs]), 1e-3);
        close(term.p.unwrap(), number(&expected["satterthwaite_p"][*theirs]), 1e-3);
    }
    for (own, theirs) in groups {
        let variances = expected["varcomp"].as_array().unwrap();
        let theirs = variances.iter().find(|part| part["group"] == *theirs).unwrap();
        let own = match *own {
            "residual" => model.residual_variance.unwrap(),
            own => model.random.iter().find(|random| random.group == own).unwrap().variance,
        };
        close(own, number(&theirs["vcov"]), 1e-5);
    }
}

/// Belenky et al. (2003), as in lme4; figures of lme4 and lmerTest.
#[test]
fn a_random_intercept_agrees_with_lme4() {
    let names = [("Reaction", "minutes"), ("Days", "days"), ("Subject", "fire")];
    let table = table("sleepstudy", &names);
    let model = mixed(
        &table,
        "[[claim]]\nid = \"a\"\nsays = \"a\"\nkind = \"trend\"\noutcome = \"minutes\"\n\
         better = \"lower\"\nby = \"days\"\nper = 1\nmatters = 5\ngroup = [\"fire\"]\n",
    );
    let expected: serde_json::Value =
        serde_json::from_str(&read("expected/sleepstudy.json")).unwrap();
    agrees(
        &model,
        &expected["results"]["random_intercept"]["reml"],
        &[("(intercept)", "(Intercept)"), ("days", "Days")],
        &[("fire", "Subject"), ("residual", "Residual")],
    );
    assert_eq!((model.n, model.events), (180, 180));
}

/// Immer, Hayes & Powers (1934): places crossed with varieties; figures of lme4 and lmerTest.
#[test]
fn crossed_intercepts_agree_with_lme4() {
    let names = [("Y", "minutes"), ("Year", "year"), ("Loc", "place"), ("Var", "variety")];
    let table = table("immer_crossed", &names);
    let model = mixed(
        &table,
        "[[claim]]\nid = \"a\"\nsays = \"a\"\nkind = \"compare\"\noutcome = \"minutes\"\n\
         better = \"lower\"\nby = \"year\"\nlevels = [\"1932\", \"1931\"]\nmatters = 5\n\
         group = [\"place\", \"variety\"]\n",
    );
    let expected: serde_json::Value =
        serde_json::from_str(&read("expected/immer_crossed.json")).unwrap();
    agrees(
        &model,
        &expected["results"]["crossed_intercepts"]["reml"],
        &[("year[1932]", "Year1932")],
        &[("place", "Loc"), ("variety", "Var"), ("residual", "Residual")],
    );
}
