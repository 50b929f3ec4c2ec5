//! The cautions that every page carries.

use crate::document::{Block, Caution, heading, inlines, link, paragraph};

/// The short form, near the top.
pub(super) fn short(more: Option<&str>) -> Caution {
    let said = "Undercooked or badly held meat makes people ill, fire burns, and carbon monoxide kills. \
                These pages describe curves of past cooks; they do not find any food fit to eat. \
                Your local food code and licensed practice decide.";
    let more = more.map(|address| inlines![" ", link(address, "All cautions"), "."]);
    Caution { is_brief: false, text: inlines![said, more] }
}

/// One line under the title of the season report, where the verdicts come first.
pub(super) fn line(more: Option<&str>) -> Caution {
    let said = "Nothing here says that food may be eaten; your local food code and licensed practice decide.";
    let more = more.map(|address| inlines![" ", link(address, "All cautions"), "."]);
    Caution { is_brief: true, text: inlines![said, more] }
}

/// The short form for a report that stands alone, without the cautions in full.
pub(super) fn in_brief() -> Caution {
    let said = "Undercooked or badly held meat makes people ill, fire burns, and carbon monoxide kills. \
                This page describes curves of past cooks; it does not find any food fit to eat. \
                Local food codes and licensed practice decide.";
    Caution { is_brief: false, text: said.into() }
}

/// The standing cautions in full.
pub(super) fn standing() -> Vec<Block> {
    vec![
        heading("Undercooked or badly held food"),
        paragraph(
            "A probe reads the temperature at its tip and nowhere else; it may be off, misplaced or late. A curve in this \
             report does not show that a piece of meat was cooked through, rested, held hot, cooled or reheated well \
             enough to eat, and a finding about stalls or times is no advice to shorten any of them. Times and \
             temperatures for cooking, holding and cooling are set by your local food code; where other people eat, \
             follow it and the practice of those licensed under it. Check with a thermometer that you have tested \
             in ice water, and when in doubt throw the food away.",
        ),
        heading("Fire"),
        paragraph(
            "A lit pit needs someone awake with it, clear ground around it and water or an extinguisher within reach. \
             Hot fat flares when a wrap tears or a lid opens. Ash holds fire for days: keep it in closed metal, away from \
             walls.",
        ),
        heading("Carbon monoxide"),
        paragraph(
            "Charcoal, wood and gas give off carbon monoxide, which nobody can smell. Never burn them in a house, \
             garage, tent, trailer or vehicle, nor close to an open window or air intake, and never bring a cooling fire \
             inside. Headache, dizziness or nausea near a fire: get everyone into the open air and call for help.",
        ),
    ]
}
