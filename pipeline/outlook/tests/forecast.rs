//! Forecasts of cooks of known truth: the whole table is in docs/forecast.md, these are short runs.

mod backtest;

use backtest::{profiled, profiles, score};
use cook::{PhaseDefinition, PhaseKind, WrapMethod};
use outlook::course::STEP_MIN;
use outlook::{
    Ask, Basis, Course, OutlookError, Past, WhatIf, WrapClass, forecast, prior, what_if,
};

const DEFINITION: fn() -> PhaseDefinition = PhaseDefinition::default;

fn ask(course: &Course) -> Ask<'_> {
    Ask { course, planned: None, without_fire: None, level: 0.8 }
}

/// A cook of a profile team cut so many minutes after meat-on.
fn cut(minute: f64) -> Course {
    let team = profiles::Team::new(77, 0);
    let (course, _) = profiled(&team, 5_000..5_001).swap_remove(0);
    course.cut((minute / STEP_MIN) as usize, &DEFINITION())
}

#[test]
fn a_cut_course_is_the_course_of_the_cut_log() {
    let definition = DEFINITION();
    let team = profiles::Team::new(77, 1);
    let run = team.fire(5_001, profiles::Decision::AsTheTeam).swap_remove(0);
    let whole = run.recorded.course(&definition).unwrap();
    let minute = 360.0;
    let step = (minute / STEP_MIN) as usize;
    let until_ms = whole.meat_on_ms + (minute * 60_000.0) as i64;
    let readings = &run.recorded;
    let followed = Course::follow(
        &readings.readings,
        &readings.card,
        &readings.events,
        &[],
        until_ms,
        &definition,
    )
    .unwrap();
    let (now, then) = (followed.course, whole.cut(step, &definition));
    assert_eq!(now.last_step(), then.last_step());
    // Cleaning looks a few readings ahead, so that the last value may differ by its noise.
    for at in 0..step - 1 {
        assert!((now.core_c[at] - then.core_c[at]).abs() < 0.05, "core at step {at}");
        assert!((now.pit_c[at] - then.pit_c[at]).abs() < 0.05, "pit at step {at}");
    }
    assert_eq!(now.wraps, then.wraps);
    assert_eq!(now.setpoints, then.setpoints);
}

#[test]
fn forecasts_of_another_generator_are_nearer_than_a_slope_and_their_ranges_hold() {
    let definition = DEFINITION();
    let bundle = prior::bundled(&definition);
    let (mut own, mut alone) = (Vec::new(), Vec::new());
    for number in 0..3 {
        let team = profiles::Team::new(78, number);
        let past: Vec<Course> = profiled(&team, 0..30).into_iter().map(|cook| cook.0).collect();
        let with_own = Past::new(&past, &bundle, &definition);
        let without = Past::new(&[], &bundle, &definition);
        for (course, finish_min) in profiled(&team, 1_000..1_008) {
            own.extend(score::score(&with_own, &course, finish_min, 60.0, false, &past));
            alone.extend(score::score(&without, &course, finish_min, 60.0, false, &[]));
        }
    }
    for (scored, least_inside) in [(&own, 0.70), (&alone, 0.70)] {
        assert!(scored.len() > 200, "{}", scored.len());
        let off = score::median(scored.iter().map(score::Scored::off));
        let by_slope =
            score::median(scored.iter().filter_map(|s| Some((s.slope_min? - s.truth_min).abs())));
        assert!(off < 0.7 * by_slope, "{off} min off, the slope {by_slope}");
        let inside = score::share(scored.iter().map(score::Scored::inside));
        assert!(inside > least_inside, "{inside} inside");
    }
    let off = |scored: &[score::Scored]| score::median(scored.iter().map(score::Scored::off));
    assert!(off(&own) < off(&alone), "own cooks help: {} against {}", off(&own), off(&alone));
    let push: Vec<_> = own.iter().filter(|s| s.phase == PhaseKind::Push).collect();
    assert!(score::median(push.iter().map(|s| s.off())) < 20.0);
}

#[test]
fn without_own_cooks_the_bundled_ones_answer_and_say_so() {
    let definition = DEFINITION();
    let past = Past::new(&[], &prior::bundled(&definition), &definition);
    let answer = forecast(&past, &ask(&cut(300.0))).unwrap();
    assert_eq!(answer.basis, Basis::Bundled);
    assert_eq!(answer.alike, 0);
    assert!(answer.to_go.lo < answer.to_go.hours && answer.to_go.hours < answer.to_go.hi);
    assert!(answer.counted.iter().all(|counted| counted.bundled));
}

#[test]
fn a_cook_without_pit_reading_and_set_point_has_no_answer() {
    let definition = DEFINITION();
    let past = Past::new(&[], &prior::bundled(&definition), &definition);
    let mut blind = cut(300.0);
    blind.pit_c.fill(f64::NAN);
    blind.setpoints.clear();
    assert_eq!(forecast(&past, &ask(&blind)).unwrap_err(), OutlookError::NoPit);
    let mut cold = cut(300.0);
    cold.pit_c.fill(70.0);
    cold.setpoints = vec![(0.0, 70.0)];
    assert!(matches!(forecast(&past, &ask(&cold)), Err(OutlookError::PitTooCold { .. })));
    let none = Past::new(&[], &[], &definition);
    assert_eq!(forecast(&none, &ask(&cut(300.0))).unwrap_err(), OutlookError::NoPast);
    let mut done = cut(300.0);
    done.finish_min = Some(290.0);
    assert_eq!(forecast(&past, &ask(&done)).unwrap_err(), OutlookError::Done);
}

#[test]
fn a_hotter_pit_is_sooner_and_a_method_nobody_used_is_no_answer() {
    let definition = DEFINITION();
    let bundle = prior::bundled(&definition);
    let past = Past::new(&[], &bundle, &definition);
    let now = cut(300.0);
    let hotter = what_if(&past, &ask(&now), WhatIf::Raise(14.0)).unwrap();
    assert!(hotter.minus_as_is_min.is_none_or(|effect| effect.hours < 0.0));
    let unwrapped: Vec<Course> = bundle
        .into_iter()
        .filter(|course| course.wraps.iter().all(|(_, method)| *method != WrapMethod::Foil))
        .collect();
    let past = Past::new(&[], &unwrapped, &definition);
    let foil = what_if(&past, &ask(&now), WhatIf::Wrap(WrapClass::Foil));
    assert_eq!(foil.unwrap_err(), OutlookError::NoPast);
}

#[test]
fn plans_keep_their_certainty_on_other_fires_of_the_team() {
    let definition = DEFINITION();
    let bundle = prior::bundled(&definition);
    let (mut on_time, mut all) = (0, 0);
    for number in 0..4 {
        let team = profiles::Team::new(79, number);
        let own: Vec<Course> = profiled(&team, 0..30).into_iter().map(|cook| cook.0).collect();
        let past = Past::new(&own, &bundle, &definition);
        for (course, finish_min) in profiled(&team, 1_000..1_012) {
            let hours = past.hours(&outlook::Planned::of(&course), 0.8, 0.9, None).unwrap();
            assert!(hours.finish.lo < hours.finish.hours && hours.pull.hours < hours.pull_by);
            let pull_min = course.pull_min.unwrap().max(finish_min);
            on_time += usize::from(pull_min / 60.0 <= hours.pull_by);
            all += 1;
        }
        let (kept, checked, wait_h) = past.check_plans(0.9).unwrap();
        assert!(kept * 10 >= checked * 7 && wait_h > 0.0, "{kept} of {checked}");
    }
    assert!(all > 40 && on_time * 100 >= all * 80, "{on_time} of {all}");
}
