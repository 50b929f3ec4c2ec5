//! What was done to a cook's readings: channels, corrections, and every action counted.

use cook::{PhaseDefinition, Units};
use maud::{Markup, html};

use super::table::{Notes, numbers, table, text};
use super::{Numbering, with_code};
use crate::data::{ChannelPart, Cleaning, CookReport, Stretch, StretchKind};
use crate::units::{Quantity, count, number, signed};
use crate::words;

/// The section on a cook's readings.
pub(super) fn readings(
    cook: &CookReport,
    definition: &PhaseDefinition,
    units: Units,
    numbering: &Numbering,
) -> Markup {
    let cleaning = &cook.cleaning;
    html! {
        p {
            (words::plural(cook.readings, "reading")) " kept; "
            (words::plural(cook.rejected_rows, "row")) " of its logs rejected. "
            @if !cook.flags.is_empty() {
                @let flags: Vec<String> = cook.flags.iter().map(|f| format!("{} {}", count(f.count), f.label)).collect();
                "Flagged while they were read: " (words::listed(&flags)) ". "
            }
            "The store keeps every reading as it was logged; what is left out below was not used for the phases."
        }
        @if !cleaning.to_check.is_empty() {
            h3 { "To check" }
            ul { @for sentence in &cleaning.to_check { li { (with_code(sentence)) } } }
        }
        h3 { "Channels" }
        (channels(cleaning, definition, units, numbering))
        h3 { "Cleaning" }
        (actions(cleaning, units, numbering))
    }
}

fn channels(
    cleaning: &Cleaning,
    definition: &PhaseDefinition,
    units: Units,
    numbering: &Numbering,
) -> Markup {
    if cleaning.channels.is_empty() {
        return html! { p { "Nothing is known of its channels." } };
    }
    let degrees = Quantity::TemperatureDifference.unit(units);
    let compared =
        cleaning.channels.iter().any(|channel| matches!(channel.part, ChannelPart::OtherMeat));
    let mut heads = vec![
        text("Channel"),
        text("Part"),
        numbers("Readings", ""),
        numbers("Left out", ""),
        text("Correction"),
    ];
    if compared {
        heads.extend([
            numbers("Mean, against the lead", degrees),
            numbers("Where the lead finishes", degrees),
            numbers("Finish, after the lead", "min"),
        ]);
    }
    let notes = Notes::default();
    let difference = |value: Option<f64>| {
        let shown = value.map(|c| {
            let decimals = Quantity::TemperatureDifference.decimals(units);
            signed(Quantity::TemperatureDifference.value(c, units), decimals)
        });
        notes.or_missing(shown, None)
    };
    let rows: Vec<Vec<Markup>> = cleaning
        .channels
        .iter()
        .map(|channel| {
            let mut row = vec![
                html! { (channel.name) },
                html! { (words::part(channel.part)) },
                html! { (count(channel.readings)) },
                html! { (count(channel.removed)) },
                html! { (words::correction(channel.correction, units)) },
            ];
            if compared {
                row.extend([
                    difference(channel.mean_difference_c),
                    difference(channel.difference_at_finish_c),
                    notes.or_missing(channel.finish_after_lead_min.map(|m| signed(m, 0)), None),
                ]);
            }
            row
        })
        .collect();
    let sentences = words::channel_sentences(cleaning, definition.finish_c, units);
    html! {
        @for sentence in &sentences { p { (sentence) } }
        (table(numbering, "The channels", &heads, &rows, &notes, compared.then_some(
            "Differences are channel less lead, from meat-on to the pull. –: the lead itself, no meat, or it did not arrive.",
        )))
    }
}

fn actions(cleaning: &Cleaning, units: Units, numbering: &Numbering) -> Markup {
    let heads = [
        text("Action"),
        text("Sign"),
        text("Channel"),
        numbers("Times", ""),
        numbers("Readings", ""),
        numbers("Longest", "min"),
        numbers("Largest", Quantity::TemperatureDifference.unit(units)),
        text("First at"),
    ];
    let notes = Notes::default();
    let mut rows: Vec<Vec<Markup>> = Vec::new();
    for kind in StretchKind::ALL {
        for channel in &cleaning.channels {
            let of_it: Vec<&Stretch> = cleaning
                .stretches
                .iter()
                .filter(|s| s.kind == kind && s.channel == channel.name)
                .collect();
            let Some(first) = of_it.first() else { continue };
            let longest = of_it.iter().map(|s| s.end_min - s.start_min).fold(0.0, f64::max);
            let largest = of_it
                .iter()
                .filter_map(|s| s.size_c)
                .max_by(|a, b| a.abs().total_cmp(&b.abs()))
                .map(|c| {
                    let decimals = Quantity::TemperatureDifference.decimals(units);
                    signed(Quantity::TemperatureDifference.value(c, units), decimals)
                });
            rows.push(vec![
                html! { (words::stretch_action(kind)) },
                html! { span aria-hidden="true" { (words::stretch_sign(kind)) } },
                html! {
                    (channel.name)
                    @if first.used_as != first.channel { " as " (first.used_as) }
                },
                html! { (count(of_it.len())) },
                html! { (count(of_it.iter().map(|s| s.readings).sum())) },
                html! { (number(longest, 0)) },
                notes.or_missing(largest, None),
                html! { (first.start_local) },
            ]);
        }
    }
    html! {
        @if rows.is_empty() { p { "No reading was left out, no lid was seen open, and nothing was missing." } } @else {
            (table(numbering, "What cleaning did, by action and channel", &heads, &rows, &notes, Some(
                "Largest: how far readings lie off their course, or how far the pit fell. The sign is that of the drawing; –: says nothing here.",
            )))
        }
    }
}
