//! Definitions and methods, in words, with the constants that were used.

use cook::{PhaseDefinition, Units};
use maud::{Markup, html};

use crate::data::TextSection;
use crate::units::{Quantity, number};

/// The phase definition, the stall delay, what is known to limit them, and the study's own texts.
pub(super) fn methods(d: &PhaseDefinition, sections: &[TextSection], units: Units) -> Markup {
    let degrees = |c: f64| Quantity::Temperature.show(c, units);
    let apart = |c: f64| {
        let shown = Quantity::TemperatureDifference.difference(c, units);
        format!("{}\u{a0}{}", number(shown, 0), Quantity::Temperature.unit(units))
    };
    let minutes = |s: f64| format!("{}\u{a0}min", number(s / 60.0, 0));
    let share = format!("{:.2}", d.stall_fraction);
    let quantile = format!("{:.2}", d.reference_quantile);
    html! {
        h3 { "Marks and phases" }
        p {
            "The " dfn { "core" } " is the lead meat channel, the " dfn { "pit" } " the pit channel, both cleaned and on one \
             clock. Marks are instants: meat-on, wrap, pull, slice. Phases cover the cook between them without gap or \
             overlap: " dfn { "ramp" } " from meat-on to the first stall, " dfn { "stall" } ", " dfn { "push" }
            " from a stall’s end to the next stall or the pull, " dfn { "rest" } " from the pull to the slice or the log’s end, and "
            dfn { "unknown" } " where nothing can be judged. The dip of a probe that was pulled out to wrap is bridged first."
        }
        h3 { "When the meat is in stall" }
        ol {
            li { dfn { "Heating rate" } ": the least-squares slope of the core over ±" (minutes(d.slope_half_window_s)) ", the window cut at both ends." }
            li { dfn { "Lagged pit" } ": the pit through a first-order lag with a time constant of " (number(d.pit_lag_min, 0)) " min, since a thick cut answers its pit that late." }
            li {
                dfn { "Heating coefficient" } " k = heating rate / max(lagged pit − core, " (apart(d.minimum_gap_c)) "), in 1/h. \
                It asks how well the meat takes heat for the heat on offer, so a sagging fire is no stall and a bumped pit no end of one."
            }
            li {
                dfn { "Reference coefficient" } " k" sub { "ref" } ": the " (quantile) " quantile of k while the core climbs from "
                (degrees(d.reference_from_c)) " to " (degrees(d.reference_to_c)) ", where the lagged pit is more than " (apart(d.minimum_gap_c))
                " above the core. It needs a first core reading below " (degrees(d.reference_first_sample_below_c))
                "; otherwise it may be borrowed from the same team’s other cooks of the same cut and pit, and is then marked as borrowed, \
                with the spread of those cooks in the interval. With nothing to borrow no stall is judged."
            }
            li {
                "A sample cannot be judged while pit and lagged pit are more than " (apart(d.maximum_pit_change_c)) " apart or the lagged pit is at most "
                (apart(d.minimum_gap_c)) " above the core: it keeps the state of the last sample that could."
            }
            li {
                "The meat is " dfn { "in stall" } " where k < " (share) " · k" sub { "ref" } ", from the first core reading of "
                (degrees(d.stall_from_c)) " up to the first of " (degrees(d.stall_until_c)) " or the pull."
            }
            li {
                "Runs at most " (minutes(d.join_gap_s)) " apart are joined; a joined run is kept if at least " (minutes(d.minimum_stall_s))
                " of it are in stall. Each kept run is a stall; a wrap often makes two of one."
            }
        }
        p {
            dfn { "Stall length" } " is the minutes in stalls inside the log. Its 90 % interval bounds the whole cook’s. Where the log ends \
             in a stall the upper end is open: the length is written ≥ and analysed as a lower bound (right-censored), never dropped and never taken as final."
        }
        h3 { "Stall delay" }
        p {
            "The minutes from the first core reading of " (degrees(d.delay_from_c)) " to the first of " (degrees(d.finish_c))
            ", less the minutes that a piece heating at k" sub { "ref" } " all the way would need in the same pit: y′ = k" sub { "ref" }
            " · max(0, lagged pit − y), from " (degrees(d.delay_from_c)) ". It uses no threshold for what a stall is and may come out slightly negative. Where "
            (degrees(d.finish_c)) " is not reached it is a lower bound. Regressions use the stall delay; the stall length is there to describe. \
             k" sub { "ref" } " already carries thickness and early evaporation, so the delay is what comes on top of them."
        }
        h3 { "Known limits" }
        ul {
            li { "A probe well off the centre shifts both ends of the stall, by about 13 min earlier." }
            li { "A pull found from the log alone is taken from the pit channel; the core’s maximum would come about 16 min late, since it still rises after the pull." }
            li { "Cooks of one fire are not independent. Intervals are clustered by fire where the table says so." }
            li { "Who wraps, how and when is decided while cooking, often because of the stall. Plots and tables by wrap describe; only claims about wrapping strategies, or randomised arms, compare." }
            li { "These are one team’s cooks on its own pits: nothing here is known to hold for others." }
        }
        @for section in sections {
            h3 { (section.heading) }
            @for paragraph in &section.paragraphs { p { (paragraph) } }
            @if !section.sources.is_empty() {
                p.sources { "Sources: " @for (i, source) in section.sources.iter().enumerate() { @if i > 0 { "; " } (source) } "." }
            }
        }
    }
}
