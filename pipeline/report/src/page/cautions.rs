//! The cautions that every page carries, and the season's own.

use maud::{Markup, html};

use super::Anchors;
use crate::data::Caution;

/// The short form, near the top.
pub(super) fn short(more: Option<&str>) -> Markup {
    html! {
        aside.caution aria-label="Caution" {
            p {
                strong { "Caution." }
                " Undercooked or badly held meat makes people ill, fire burns, and carbon monoxide kills. "
                "These pages describe curves of past cooks; they do not find any food fit to eat. "
                "Your local food code and licensed practice decide."
                @if let Some(address) = more { " " a href=(address) { "All cautions" } "." }
            }
        }
    }
}

/// One line under the title of the season report, where the verdicts come first.
pub(super) fn line(more: &str) -> Markup {
    html! {
        aside.caution.brief aria-label="Caution" {
            p {
                strong { "Caution." }
                " Nothing here says that food may be eaten; your local food code and licensed practice decide. "
                a href=(more) { "All cautions" } "."
            }
        }
    }
}

/// The standing cautions in full.
pub(super) fn standing() -> Markup {
    html! {
        h3 { "Undercooked or badly held food" }
        p {
            "A probe reads the temperature at its tip and nowhere else; it may be off, misplaced or late. A curve in this \
             report does not show that a piece of meat was cooked through, rested, held hot, cooled or reheated well \
             enough to eat, and a finding about stalls or times is no advice to shorten any of them. Times and \
             temperatures for cooking, holding and cooling are set by your local food code; where other people eat, \
             follow it and the practice of those licensed under it. Check with a thermometer that you have tested \
             in ice water, and when in doubt throw the food away."
        }
        h3 { "Fire" }
        p {
            "A lit pit needs someone awake with it, clear ground around it and water or an extinguisher within reach. \
             Hot fat flares when a wrap tears or a lid opens. Ash holds fire for days: keep it in closed metal, away from \
             walls."
        }
        h3 { "Carbon monoxide" }
        p {
            "Charcoal, wood and gas give off carbon monoxide, which nobody can smell. Never burn them in a house, \
             garage, tent, trailer or vehicle, nor close to an open window or air intake, and never bring a cooling fire \
             inside. Headache, dizziness or nausea near a fire: get everyone into the open air and call for help."
        }
    }
}

/// The season's own cautions.
pub(super) fn of_season(cautions: &[Caution], anchors: &Anchors) -> Markup {
    html! {
        @if !cautions.is_empty() {
            h3 { "In these cooks" }
            ul {
                @for caution in cautions {
                    li {
                        @if let Some(cook) = &caution.cook {
                            a href={ "#" (anchors.of(cook)) } { (cook) } ": "
                        }
                        (caution.text)
                    }
                }
            }
        }
    }
}
