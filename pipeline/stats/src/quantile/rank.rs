//! Intervals by inverting rank tests.

use super::simplex::{Problem, TIE, Vertex};
use crate::error::StatsError;
use crate::estimates::Interval;
use nalgebra::DVector;

/// The interval of one coefficient, the linear function `functional` of the parameters.
///
/// A value of the coefficient is rejected if, with it held fixed and the others refitted, the rank
/// score statistic t of its column exceeds `limit`. Walking from the estimate over the vertices of
/// the restricted fits, t jumps at some by a step that the basis gives; the end lies between the
/// last jump beyond which |t| is below the limit and the next, in proportion.
pub(super) fn interval(
    problem: &Problem<'_>,
    optimum: &Vertex,
    functional: &DVector<f64>,
    limit: f64,
) -> Result<Interval, StatsError> {
    Ok(Interval {
        lo: end(problem, optimum, functional, limit, -1.0)?,
        hi: end(problem, optimum, functional, limit, 1.0)?,
    })
}

fn end(
    problem: &Problem<'_>,
    optimum: &Vertex,
    functional: &DVector<f64>,
    limit: f64,
    sense: f64,
) -> Result<f64, StatsError> {
    let mut vertex = optimum.clone();
    // Value and |t| just beyond it: of the vertex before, and of the one under way, which may be
    // several in one place where rows are tied.
    let mut before: Option<(f64, f64)> = None;
    let mut here: Option<(f64, f64)> = None;
    let mut t = 0.0;
    let finish = |before: Option<(f64, f64)>, (at, beyond): (f64, f64)| match before {
        None => at,
        Some((inner, below)) => inner + (at - inner) * (limit - below) / (beyond - below),
    };
    // Every row can be met a few times at most before the end.
    for _ in 0..10 * problem.rows.count + 100 {
        let at = value(problem, &vertex, functional);
        // Dual values of the rows of the basis are −pull + t·rate, each within its bounds; the
        // coefficient rises as t falls.
        let rate = vertex.inverse.tr_mul(functional);
        let tied = here.is_some_and(|(last, _)| (at - last).abs() <= 4.0 * TIE * rate.norm());
        if let Some(last) = here.filter(|last| !tied && last.1 >= limit) {
            return Ok(finish(before, last));
        }
        let mut leave: Option<(f64, usize, f64)> = None;
        for (place, &row) in vertex.basis.iter().enumerate() {
            let change = -sense * rate[place];
            // Along this edge the coefficient stays where it is.
            if change.abs() <= 1e-10 * rate.amax() {
                continue;
            }
            let weight = problem.weights[row];
            let now = -vertex.pull[place] + t * rate[place];
            let bound = if change > 0.0 { problem.tau } else { problem.tau - 1.0 };
            let room = ((weight * bound - now) / change).max(0.0);
            if leave.is_none_or(|(least, _, _)| room < least) {
                // A row whose dual value is at its top comes to lie above the fit.
                leave = Some((room, place, -change.signum()));
            }
        }
        let Some((room, leaving, sign)) = leave else { break };
        t -= sense * room;
        // A vertex at which t stays as it was is passed over, so that the end does not depend on
        // which of several paths is taken.
        if room > 1e-9 * limit || here.is_none() {
            let place = if tied { here.map_or(at, |(first, _)| first) } else { at };
            if !tied {
                before = here;
            }
            here = Some((place, t.abs()));
        }
        let direction = vertex.inverse.column(leaving) * sign;
        let nearest =
            problem.crossings(&vertex, &direction).into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, _, entering)) = nearest else { break };
        let mut basis = vertex.basis;
        basis[leaving] = entering;
        vertex = problem.vertex(basis)?;
    }
    Ok(match here {
        Some(last) if last.1 >= limit => finish(before, last),
        _ => sense * f64::INFINITY,
    })
}

/// The coefficient at a vertex.
fn value(problem: &Problem<'_>, vertex: &Vertex, functional: &DVector<f64>) -> f64 {
    let outcome = DVector::from_fn(vertex.basis.len(), |a, _| problem.y[vertex.basis[a]]);
    functional.dot(&(&vertex.inverse * outcome))
}
