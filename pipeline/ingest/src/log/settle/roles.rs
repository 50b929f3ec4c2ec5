//! Roles that no name says, by the readings.

use super::curve::{Curve, Looks};
use crate::log::finding::{Finding, Findings, Warning};
use crate::log::plan::channels::Said;
use crate::log::plan::decide::Plan;
use crate::log::reason::Reason;
use crate::log::rows::ledger::Rows;
use cook::Role;

/// Gives channels whose names say nothing the role that their readings show, where it is clear,
/// and tells of names and readings that contradict each other.
pub(crate) fn settle(_plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let mut findings = Findings::default();
    let lacks = |role: Role| !rows.readings.iter().any(|channel| channel.role == role);
    let (lacks_pit, lacks_meat) = (lacks(Role::Pit), lacks(Role::Meat));
    let curves: Vec<Option<Curve>> = rows.readings.iter().map(Curve::of).collect();
    let looks: Vec<Looks> =
        curves.iter().map(|c| c.as_ref().map_or(Looks::Unclear, Curve::looks)).collect();
    if lacks_pit || lacks_meat {
        for (i, role, because) in guesses(rows, lacks_pit, &curves, &looks) {
            let channel = &mut rows.readings[i];
            channel.role = role;
            let (name, header) = (channel.name.clone(), channel.header.clone());
            rows.guessed.push((header.clone(), role));
            findings.note(Finding::Role { name, header, role, because });
        }
    }
    let of = |role: Role, wanted: Looks| {
        let mut all = rows.readings.iter().zip(&looks);
        all.find(|(channel, looks)| channel.role == role && **looks == wanted)
            .map(|(channel, _)| channel.name.clone())
    };
    if let (Some(pit), Some(meat)) = (of(Role::Pit, Looks::Meat), of(Role::Meat, Looks::Pit)) {
        findings.note(Finding::SwappedProbes { pit: pit.clone(), meat: meat.clone() });
        findings.warn(Warning::SwappedProbes { pit, meat });
    }
    findings
}

/// Channels by index, with the roles that their readings show.
fn guesses(
    rows: &Rows<'_>,
    lacks_pit: bool,
    curves: &[Option<Curve>],
    looks: &[Looks],
) -> Vec<(usize, Role, Reason)> {
    let channels = &rows.readings;
    let said = |i: usize| rows.channels[i].said;
    let open = |i: usize| matches!(said(i), Said::Nobody | Said::WeakWord);
    let meats: Vec<usize> = (0..channels.len())
        .filter(|&i| looks[i] == Looks::Meat && (open(i) || channels[i].role == Role::Meat))
        .collect();
    let leads = |i: usize| {
        meats.iter().all(|&meat| match (&curves[i], &curves[meat]) {
            (Some(pit), Some(meat)) => pit.above(meat) >= 0.8,
            _ => false,
        })
    };
    let pits: Vec<usize> =
        (0..channels.len()).filter(|&i| looks[i] == Looks::Pit && open(i) && leads(i)).collect();
    let mut guesses = Vec::new();
    if let (&[pit], true) = (&pits[..], lacks_pit && !meats.is_empty()) {
        guesses.push((pit, Role::Pit, Reason::LikePit));
    }
    let has_pit = !lacks_pit || !guesses.is_empty();
    for (i, looks) in looks.iter().enumerate() {
        match looks {
            Looks::Meat if said(i) == Said::Nobody && has_pit => {
                guesses.push((i, Role::Meat, Reason::LikeMeat));
            }
            Looks::Ambient if said(i) == Said::Nobody && has_pit => {
                guesses.push((i, Role::Ambient, Reason::LikeAir));
            }
            _ => {}
        }
    }
    guesses
}
