//! What a team can close, drop, leave open and try next: the claims sorted, and what the season's
//! gaps suggest. Shared by the summary and the report for a wiki.

use cook::Units;

use crate::data::ReportData;
use crate::document::{Inlines, Section, agenda, bold, inlines};
use crate::names::{name_within, quantity_of};
use crate::units::count;
use crate::words::{self, plural};
use study::result::ClaimResult;
use study::result::trial::TrialState;
use study::{Standing, Verdict};

/// The claims sorted, and what to try.
#[derive(Debug, Default)]
pub(crate) struct Agenda<'a> {
    /// Confirmed on cooks that came after the claim, and worth acting on.
    pub(crate) settled: Vec<&'a ClaimResult>,
    /// Confirmed to be not worth arguing over.
    pub(crate) dropped: Vec<&'a ClaimResult>,
    /// Everything else, what could not be answered as it is asked among it.
    pub(crate) open: Vec<&'a ClaimResult>,
    /// What to try next, one sentence each.
    pub(crate) next: Vec<String>,
}

impl<'a> Agenda<'a> {
    pub(crate) fn new(data: &'a ReportData, units: Units) -> Self {
        let mut agenda = Self::default();
        for claim in data.study.claims.iter().filter(|claim| !data.is_tried(claim)) {
            let list = match (claim.verdict, claim.standing) {
                (Verdict::Yes | Verdict::Reverse, Standing::Confirmed) => &mut agenda.settled,
                (Verdict::TooSmallToMatter | Verdict::No, Standing::Confirmed) => {
                    &mut agenda.dropped
                }
                _ => &mut agenda.open,
            };
            list.push(claim);
        }
        agenda.next = next_claims(data);
        agenda.next.extend(next_from_charts(data, units));
        agenda.next.extend(next_from_gaps(data));
        agenda
    }
    /// What is settled, dropped and still open, each claim with its answer; `none` says of each that it
    /// is empty.
    pub(crate) fn answered(&self, none: [&'static str; 3], units: Units) -> [Section; 3] {
        let sorted = [
            ("settled", "Settled", &self.settled),
            ("dropped", "Dropped", &self.dropped),
            ("open", "Still open", &self.open),
        ];
        let section = |place: usize| {
            let (id, heading, claims) = sorted[place];
            let said = claims.iter().map(|claim| {
                let answer = Inlines::with_code(&answer(claim, units));
                inlines![bold(format!("“{}”", claim.says)), " ", answer]
            });
            Section::new(id, heading, vec![agenda(said, none[place])])
        };
        [section(0), section(1), section(2)]
    }
}

fn next_claims(data: &ReportData) -> Vec<String> {
    let mut said = Vec::new();
    for trial in data.study.trials.iter().filter(|trial| trial.state == TrialState::Running) {
        said.push(format!(
            "“{}”: go on drawing lots, {} of {} draws are complete and the next look is after {}.",
            trial.says,
            count(trial.complete),
            count(trial.planned),
            count(trial.next_look_at.unwrap_or(trial.planned))
        ));
    }
    for claim in data.study.claims.iter().filter(|claim| !data.is_tried(claim)) {
        said.extend(words::settles(claim).map(|what| format!("“{}”: {what}", claim.says)));
    }
    said
}

fn next_from_charts(data: &ReportData, units: Units) -> Vec<String> {
    let days = data.days();
    let mut said = Vec::new();
    for chart in &data.study.season.charts {
        let shown = |si: f64| quantity_of(&chart.measure).show(si, units);
        for shift in &chart.shifts {
            said.push(format!(
                "Find out what changed around {}: {} went from {} to {} there.",
                days.get(shift.cook.as_str()).copied().unwrap_or_default(),
                name_within(&chart.measure),
                shown(shift.before),
                shown(shift.after)
            ));
        }
    }
    said
}

fn next_from_gaps(data: &ReportData) -> Vec<String> {
    let with = |holds: &dyn Fn(&crate::data::CookReport) -> bool| {
        data.cooks.iter().filter(|cook| holds(cook)).count()
    };
    let gaps = [
        (
            with(&|cook| !cook.measures.wrap_time_known && cook.measures.wrap_method.is_some()),
            "has no usable wrap time: fill it in, and note wraps as they happen",
            "have no usable wrap time: fill them in, and note wraps as they happen",
        ),
        (
            with(&|cook| cook.measures.not_judged_reason.is_some()),
            "could not be judged: start the logger before the meat goes on, with the meat cold",
            "could not be judged: start the logger before the meat goes on, with the meat cold",
        ),
        (
            with(&|cook| {
                cook.measures.hold_observed_min.is_none() && cook.measures.rest_min.is_some()
            }),
            "was held without a probe in the meat: leave it in until the slice",
            "were held without a probe in the meat: leave it in until the slice",
        ),
    ];
    gaps.into_iter()
        .filter(|(cooks, ..)| *cooks > 0)
        .map(|(cooks, one, many)| {
            format!("{} {}.", plural(cooks, "cook"), if cooks == 1 { one } else { many })
        })
        .collect()
}

/// A claim's answer in one line.
fn answer(claim: &ClaimResult, units: Units) -> String {
    let refused = claim.verdict == Verdict::Refused;
    let said = if refused { words::why_refused(claim) } else { words::plain_finding(claim, units) };
    let rests_on = words::rests_on(claim, words::beside(claim, units));
    format!("{}. {said} {rests_on}", claim.verdict.heading()).trim_end().to_owned()
}
