//! A season from a notebook: twenty cooks of which no logger saw anything, read by hand a few times a
//! night, brought in as plain lines.

mod support;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use support::{cookstudy, expect_exit, rows, stderr, stdout, write};

const COOKS: usize = 20;

/// The core of a cook after so many hours, °F, on a pit of 250 °F: it warms by a coefficient of 0.17 1/h
/// less the stall's share of it from 150 to 165 °F, and the wrap ends that early.
fn core_f(hour: f64, wrapped: bool, slower: f64) -> f64 {
    let (pit, free, stalled) = (250.0_f64, 0.17 / slower, if wrapped { 0.09 } else { 0.04 });
    let hours = |from: f64, to: f64, k: f64| ((pit - from) / (pit - to)).ln() / k;
    let toward = |from: f64, k: f64, hours: f64| pit - (pit - from) * (-k * hours).exp();
    let stall = hours(40.0, 150.0, free);
    let push = stall + hours(150.0, 165.0, stalled);
    if hour < stall {
        toward(40.0, free, hour)
    } else if hour < push {
        toward(150.0, stalled, hour - stall)
    } else {
        toward(165.0, free, hour - push)
    }
}

/// A season folder with a sheet of twenty nights, and the notebook of each.
fn notebook(folder: &Path) -> String {
    let mut sheet = String::from(
        "cook,date,kind,pit,cut,trimmed_weight_lb,pit_setpoint_f,meat_on,wrap_method,pull,end_reason\n",
    );
    let mut lines = String::from("# what stood on the back of the rub box\n");
    for night in 0..COOKS {
        let (wrapped, readings) = (night % 2 == 0, [4, 8, 16][night % 3]);
        let slower = 1.0 + 0.02 * (night % 5) as f64;
        let mut long = 5.0;
        while core_f(long, wrapped, slower) < 200.0 {
            long += 0.25;
        }
        let clock = |hour: f64| {
            let minutes = (20.0 * 60.0 + hour * 60.0) as usize % 1440;
            format!("{}:{:02}", minutes / 60, minutes % 60)
        };
        let method = if wrapped { "foil" } else { "none" };
        writeln!(
            sheet,
            "n{night},2026-{:02}-{:02},practice,Barrel,brisket,{},250,20:00,{method},{},tender",
            3 + night / 4,
            1 + 7 * (night % 4),
            12 + night % 4,
            clock(long),
        )
        .unwrap();
        let mut noted: Vec<(f64, String)> = (0..readings)
            .map(|look| {
                let hour = (f64::from(look) + 0.6) / f64::from(readings) * long;
                (hour, format!("{:.0} flat", core_f(hour, wrapped, slower)))
            })
            .collect();
        noted.push((4.5, "bark nearly".into()));
        if wrapped {
            noted.push((6.0, "wrap foil".into()));
            noted.push((5.9, "bark set; dark all over".into()));
        }
        noted.push((long - 0.1, "probe test tender".into()));
        noted.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (hour, said) in noted {
            writeln!(lines, "n{night} {} {said}", clock(hour)).unwrap();
        }
    }
    let settings = folder.join("season.toml");
    let text = fs::read_to_string(&settings).unwrap();
    let zoned = text.lines().map(|line| match line.trim_start_matches("# ") {
        setting if setting.starts_with("time_zone =") => "time_zone = \"America/Chicago\"",
        _ => line,
    });
    fs::write(&settings, zoned.collect::<Vec<_>>().join("\n")).unwrap();
    write(folder, "sheet.csv", &sheet);
    lines
}

#[test]
fn a_season_without_a_log_runs_to_a_report_that_says_what_it_can_and_cannot() {
    let home = tempfile::tempdir().unwrap();
    expect_exit(&cookstudy(home.path(), &["new", "season"]), 0);
    let folder = home.path().join("season");
    let lines = notebook(&folder);
    write(&folder, "notebook.txt", &lines);
    write(
        &folder,
        "claims.toml",
        "[[claim]]\nid = \"foil-is-quicker\"\nsays = \"Wrapped cooks spend less time on the pit\"\nkind = \"compare\"\noutcome = \"total_min\"\nbetter = \"lower\"\nby = \"bark_at_wrap\"\nlevels = [\"set\", \"nearly\"]\nmatters = 30\n",
    );
    let noted = cookstudy(&folder, &["note", "--from", "notebook.txt"]);
    expect_exit(&noted, 0);
    assert_eq!(stdout(&noted).lines().count(), lines.lines().count() - 1);
    let again = cookstudy(&folder, &["note", "--from", "notebook.txt"]);
    expect_exit(&again, 0);
    assert_eq!(stdout(&again), "");

    let run = cookstudy(&folder, &["run", "."]);
    expect_exit(&run, 0);
    let measures = cookstudy(&folder, &["measures", "--store", "store", "--format", "csv"]);
    let measures = rows(&stdout(&measures));
    assert_eq!(measures.len(), COOKS);
    for row in &measures {
        assert_eq!(
            (&*row["core_by_hand"], &*row["pit_from_setpoint"]),
            ("true", "true"),
            "{row:?}"
        );
        let readings: usize = row["spot_readings"].parse().unwrap();
        assert!([4, 8, 16].contains(&readings));
        let number = |name: &str| row[name].parse::<f64>().unwrap();
        let width = number("stall_min_hi90") - number("stall_min_lo90");
        assert!(width > 20.0, "{readings} readings cannot tell a stall to {width} min");
        // What nobody saw is not given.
        for name in ["start_core_c", "lethality_log10", "carryover_c", "pit_sd_c"] {
            assert_eq!(row[name], "", "{name}");
        }
        assert!(number("clock_to_tender_min") > 0.0 && row["tender_reached"] == "true");
        let wrapped = row["wrap_method"] == "foil";
        assert_eq!(row["bark_at_wrap"], if wrapped { "set" } else { "" });
    }
    let report = fs::read_to_string(folder.join("out/report.md")).unwrap();
    assert!(report.contains("read by hand"), "{report}");

    let nothing = cookstudy(&folder, &["run", "."]);
    expect_exit(&nothing, 0);
    assert!(stderr(&nothing).contains("Nothing to do"), "{}", stderr(&nothing));
}
