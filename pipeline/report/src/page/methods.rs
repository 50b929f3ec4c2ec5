//! Definitions and methods, in words, with the constants that were used.

mod estimates;

use cook::{PhaseDefinition, Units};

use crate::document::{
    Block, Inlines, List, heading, inlines, list, paragraph, sources, subscript, term,
};
use crate::units::{Quantity, number};

/// The phase definition, the stall delay, and what is known to limit them.
pub(super) fn definitions(d: &PhaseDefinition, units: Units) -> Vec<Block> {
    let degrees = |c: f64| Quantity::Temperature.show(c, units);
    let apart = |c: f64| {
        let shown = Quantity::TemperatureDifference.difference(c, units);
        format!("{}\u{a0}{}", number(shown, 0), Quantity::Temperature.unit(units))
    };
    let minutes = |s: f64| format!("{}\u{a0}min", number(s / 60.0, 0));
    let share = format!("{:.2}", d.stall_fraction);
    let quantile = format!("{:.2}", d.reference_quantile);
    let k_ref = || inlines![" k", subscript("ref")];
    let numbered: Vec<Inlines> = vec![
        inlines![
            term("Heating rate"),
            format!(": the least-squares slope of the core over ±{}, the window cut at both ends.", minutes(d.slope_half_window_s))
        ],
        inlines![
            term("Lagged pit"),
            format!(": the pit through a first-order lag with a time constant of {} min, since a thick cut answers its pit that late.", number(d.pit_lag_min, 0))
        ],
        inlines![
            term("Heating coefficient"),
            format!(
                " k = heating rate / max(lagged pit − core, {}), in 1/h. \
                 It asks how well the meat takes heat for the heat on offer, so a sagging fire is no stall and a bumped pit no end of one.",
                apart(d.minimum_gap_c)
            )
        ],
        inlines![
            term("Reference coefficient"),
            k_ref(),
            format!(
                ": the {quantile} quantile of k while the core climbs from {} to {}, where the lagged pit is more than {} \
                 above the core. It needs a first core reading below {}; otherwise it may be borrowed from the same team’s other cooks \
                 of the same cut and pit, and is then marked as borrowed, \
                 with the spread of those cooks in the interval. With nothing to borrow no stall is judged.",
                degrees(d.reference_from_c),
                degrees(d.reference_to_c),
                apart(d.minimum_gap_c),
                degrees(d.reference_first_sample_below_c)
            )
        ],
        format!(
            "A sample cannot be judged while pit and lagged pit are more than {} apart or the lagged pit is at most {} above the core: \
             it keeps the state of the last sample that could.",
            apart(d.maximum_pit_change_c),
            apart(d.minimum_gap_c)
        )
        .into(),
        "Where nothing was logged for more than two hours and a stall begins or ends there, nothing tells when: it does so in the middle, and its interval takes in the whole of that time."
            .into(),
        inlines![
            "The meat is ",
            term("in stall"),
            format!(" where k < {share} ·"),
            k_ref(),
            format!(
                ", from the first core reading of {} up to the first of {} or the pull.",
                degrees(d.stall_from_c),
                degrees(d.stall_until_c)
            )
        ],
        format!(
            "Runs at most {} apart are joined; a joined run is kept if at least {} of it are in stall. \
             Each kept run is a stall; a wrap often makes two of one.",
            minutes(d.join_gap_s),
            minutes(d.minimum_stall_s)
        )
        .into(),
    ];
    let mut blocks = vec![
        heading("Marks and phases"),
        paragraph(inlines![
            "The ",
            term("core"),
            " is the lead meat channel, the ",
            term("pit"),
            " the pit channel, both cleaned and on one \
             clock. Marks are instants: meat-on, wrap, pull, slice. Phases cover the cook between them without gap or overlap: ",
            term("ramp"),
            " from meat-on to the first stall, ",
            term("stall"),
            ", ",
            term("push"),
            " from a stall’s end to the next stall or the pull, ",
            term("rest"),
            " from the pull to the slice or the log’s end, and ",
            term("unknown"),
            " where nothing can be judged. The dip of a probe that was pulled out to wrap is bridged first."
        ]),
        heading("When the meat is in stall"),
        Block::List(List { numbered: true, items: numbered, ..List::default() }),
        paragraph(inlines![
            term("Stall length"),
            " is the minutes in stalls inside the log. Its 90 % interval bounds the whole cook’s. Where the log ends \
             in a stall the upper end is open: the length is written ≥ and analysed as a lower bound (right-censored), never dropped and never taken as final."
        ]),
        heading("Stall delay"),
        paragraph(inlines![
            format!(
                "The minutes from the first core reading of {} to the first of {}, less the minutes that a piece heating at",
                degrees(d.delay_from_c),
                degrees(d.finish_c)
            ),
            k_ref(),
            " all the way would need in the same pit: y′ =",
            k_ref(),
            format!(
                " · max(0, lagged pit − y), from {}. It uses no threshold for what a stall is and may come out slightly negative. \
                 Where {} is not reached it is a lower bound. Regressions use the stall delay; the stall length is there to describe.",
                degrees(d.delay_from_c),
                degrees(d.finish_c)
            ),
            k_ref(),
            " already carries thickness and early evaporation, so the delay is what comes on top of them."
        ]),
        heading("Study clock"),
        paragraph(inlines![
            term("Clock zero"),
            format!(" is the first core reading of {}, the ", degrees(d.stall_from_c),),
            term("finish"),
            format!(
                " the first of {}, whatever the card’s target. Times to the wrap, the finish and tenderness count from clock zero, so that a cold start and a late log move none of them.",
                degrees(d.finish_c)
            )
        ]),
        heading("Known limits"),
    ];
    blocks.extend(list([
        "A probe well off the centre shifts both ends of the stall, by about 13 min earlier.",
        "A pull found from the log alone is taken from the pit channel; the core’s maximum would come about 16 min late, since it still rises after the pull.",
        "Cooks of one fire are not independent. Intervals are clustered by fire where the table says so.",
        "Who wraps, how and when is decided while cooking, often because of the stall. Plots and tables by wrap describe; only claims about wrapping strategies, or randomised arms, compare.",
        "These are one team’s cooks on its own pits: nothing here is known to hold for others.",
    ]));
    blocks
}

/// How the numbers were estimated.
pub(super) fn estimates() -> Vec<Block> {
    let mut blocks = Vec::new();
    for method in estimates::METHODS {
        blocks.push(heading(method.heading));
        blocks.extend(method.paragraphs.iter().copied().map(paragraph));
        if !method.sources.is_empty() {
            blocks.push(sources(format!("Sources: {}", method.sources.join(" "))));
        }
    }
    blocks
}
