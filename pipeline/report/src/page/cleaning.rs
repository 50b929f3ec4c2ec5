//! What was done to a cook's readings: channels, corrections, and every action counted.

use cook::{ChannelPart, FlagKind, PhaseDefinition, Units};

use crate::data::{Cleaning, CookReport, Stretch};
use crate::document::{
    Block, Cell, Inlines, Mark, Table, heading, list, marked, numbers, paragraph, text,
};
use crate::units::{Quantity, count, number, signed};
use crate::words;

/// The section on a cook's readings.
pub(super) fn readings(
    cook: &CookReport,
    definition: &PhaseDefinition,
    units: Units,
) -> Vec<Block> {
    let flags: Vec<String> =
        cook.flags.iter().map(|f| format!("{} {}", count(f.count), f.label)).collect();
    let flags = if flags.is_empty() {
        String::new()
    } else {
        format!("Flagged while they were read: {}. ", words::listed(&flags))
    };
    let mut blocks = vec![paragraph(format!(
        "{} kept; {} of its logs rejected. {flags}The store keeps every reading as it was logged; what is left out below was not used for the phases.",
        words::plural(cook.readings, "reading"),
        words::plural(cook.rejected_rows, "row")
    ))];
    let to_check = &cook.cleaning.to_check;
    if let Some(sentences) = list(to_check.iter().map(|sentence| Inlines::with_code(sentence))) {
        blocks.extend([heading("To check"), sentences]);
    }
    blocks.push(heading("Channels"));
    blocks.extend(channels(&cook.cleaning, definition, units));
    blocks.extend([heading("Cleaning"), actions(&cook.cleaning, units)]);
    blocks
}

/// A difference of temperatures with its sign.
fn degrees_apart(c: f64, units: Units) -> String {
    let quantity = Quantity::TemperatureDifference;
    signed(quantity.value(c, units), quantity.decimals(units))
}

fn channels(cleaning: &Cleaning, definition: &PhaseDefinition, units: Units) -> Vec<Block> {
    if cleaning.channels.is_empty() {
        return vec![paragraph("Nothing is known of its channels.")];
    }
    let degrees = Quantity::TemperatureDifference.unit(units);
    let compared = cleaning.channels.iter().any(|channel| channel.part == ChannelPart::OtherMeat);
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
    let rows = cleaning.channels.iter().map(|channel| {
        let mut row: Vec<Cell> = vec![
            (&channel.channel).into(),
            words::part(channel.part).into(),
            count(channel.readings).into(),
            count(cleaning.removed(&channel.channel)).into(),
            words::correction(channel, units).into(),
        ];
        if compared {
            row.extend([
                channel.mean_difference_c.map(|c| degrees_apart(c, units)).into(),
                channel.difference_at_finish_c.map(|c| degrees_apart(c, units)).into(),
                channel.finish_after_lead_min.map(|m| signed(m, 0)).into(),
            ]);
        }
        row
    });
    let remark = if compared {
        "Differences are channel less lead, from meat-on to the pull. –: the lead itself, no meat, or it did not arrive."
    } else {
        ""
    };
    let table = Table::new("The channels", heads, rows.collect()).remark(remark);
    let sentences = words::channel_sentences(cleaning, definition.finish_c, units);
    sentences.into_iter().map(paragraph).chain([table.into()]).collect()
}

fn actions(cleaning: &Cleaning, units: Units) -> Block {
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    for &kind in FlagKind::ALL {
        for channel in &cleaning.channels {
            let of_it: Vec<&Stretch> = cleaning
                .stretches
                .iter()
                .filter(|s| s.row.flag == kind && s.row.channel == channel.channel)
                .collect();
            let Some(first) = of_it.first() else { continue };
            let longest = of_it.iter().map(|s| s.end_min - s.start_min).fold(0.0, f64::max);
            let sizes = of_it.iter().filter_map(|s| s.row.size_c);
            let largest = sizes.max_by(|a, b| a.abs().total_cmp(&b.abs()));
            let name = if first.row.used_as == first.row.channel {
                channel.channel.clone()
            } else {
                format!("{} as {}", channel.channel, first.row.used_as)
            };
            rows.push(vec![
                words::stretch_action(kind).into(),
                marked(Mark::Sign, words::stretch_sign(kind)).into(),
                name.into(),
                count(of_it.len()).into(),
                count(of_it.iter().map(|s| s.row.readings).sum::<i64>()).into(),
                number(longest, 0).into(),
                largest.map(|c| degrees_apart(c, units)).into(),
                (&first.start_local).into(),
            ]);
        }
    }
    if rows.is_empty() {
        return paragraph(
            "No reading was left out, no lid was seen open, and nothing was missing.",
        );
    }
    let columns = [
        text("Action"),
        text("Sign"),
        text("Channel"),
        numbers("Times", ""),
        numbers("Readings", ""),
        numbers("Longest", "min"),
        numbers("Largest", Quantity::TemperatureDifference.unit(units)),
        text("First at"),
    ];
    let remark = "Largest: how far readings lie off their course, or how far the pit fell. The sign is that of the drawing; –: says nothing here.";
    Table::new("What cleaning did, by action and channel", columns, rows).remark(remark).into()
}
