//! Meats of one log: those that change places, and cooks that read the same one.

use super::groups::{Context, GroupResult};
use columns::{Pack, Packed};
use cook::Card;
use crosscheck::{MeatChannel, MeatsExchanged};
use phases::OwnedSamples;
use std::collections::BTreeMap;
use store::CookRecord;

/// Notices meats of different cooks in one log that change places, and puts them right where that
/// is answered. What is open is noted as well: the cooks are then looked at again at the next run.
pub(super) fn exchange_meats(
    logs: &mut BTreeMap<&str, ingest::Log>,
    cards: &[Card],
    context: &Context<'_>,
    answers: &mut BTreeMap<String, String>,
    result: &mut GroupResult,
) {
    for (name, log) in logs.iter_mut() {
        // The first cook that picks a channel is whose it is; of two that pick the same, another
        // check speaks.
        let mut owners: BTreeMap<usize, &str> = BTreeMap::new();
        for card in cards {
            let found = context.uses.get(&card.cook).into_iter().flatten();
            for found in found.filter(|found| found.file.shown_as == **name) {
                let Some(picked) = found.channel.as_deref() else { continue };
                for index in ingest::channels_called(&log.channels, picked) {
                    owners.entry(index).or_insert(&card.cook);
                }
            }
        }
        if owners.len() < 2 {
            continue;
        }
        let usable: Vec<(usize, OwnedSamples)> = owners
            .keys()
            .map(|index| {
                let channel = &log.channels[*index];
                let readings = channel.at_ms.iter().zip(&channel.temp_c).zip(&channel.flag);
                let (at_ms, temp_c) = readings
                    .filter(|(_, flag)| flag.usable())
                    .map(|((at_ms, temp_c), _)| (at_ms, f64::from(temp_c)))
                    .unzip();
                (*index, OwnedSamples { at_ms, temp_c })
            })
            .collect();
        let channels: Vec<MeatChannel<'_>> = usable
            .iter()
            .map(|(index, samples)| MeatChannel {
                name: &log.channels[*index].name,
                cook: owners[index],
                samples: samples.view(),
            })
            .collect();
        let found = crosscheck::meats_exchanged(name, &channels);
        let places: Vec<usize> = usable.iter().map(|(index, _)| *index).collect();
        for exchanged in found {
            let answer = context.options.answers.to(&exchanged.question).unwrap_or_default();
            answers.insert(exchanged.question.id.clone(), answer.to_owned());
            if answer.is_empty() {
                result.questions.push(exchanged.question);
            } else if MeatsExchanged::is_put_right_by(answer) {
                let (one, other) = exchanged.channels;
                let span = exchanged.start_ms..exchanged.end_ms;
                swap_readings(&mut log.channels, (places[one], places[other]), span);
            }
        }
    }
}

/// Exchanges the readings of two channels in a span of the log's time.
fn swap_readings(
    channels: &mut [ingest::LogChannel],
    (one, other): (usize, usize),
    span: std::ops::Range<i64>,
) {
    let (low, high) = (one.min(other), one.max(other));
    let (head, tail) = channels.split_at_mut(high);
    let (a, b) = (&mut head[low], &mut tail[0]);
    let inside = |at_ms: &Packed<i64>| {
        at_ms.partition_point(|at| at < span.start)..at_ms.partition_point(|at| at < span.end)
    };
    let (in_a, in_b) = (inside(&a.at_ms), inside(&b.at_ms));
    macro_rules! swap {
        ($($column:ident),*) => {$(
            let of_b = b.$column.range(in_b.clone());
            let with_b = with(&a.$column, in_a.clone(), of_b);
            b.$column = with(&b.$column, in_b.clone(), a.$column.range(in_a.clone()));
            a.$column = with_b;
        )*};
    }
    swap!(at_ms, temp_c, line, flag);
}

/// A column with other values in some places.
fn with<T: Pack>(
    column: &Packed<T>,
    places: std::ops::Range<usize>,
    values: impl Iterator<Item = T>,
) -> Packed<T> {
    let behind = column.range(places.end..column.len());
    column.range(0..places.start).chain(values).chain(behind).collect()
}

/// Cooks of one day that read the same meat channel of the same log: one cook counted twice,
/// or a channel that was not picked.
pub(super) fn shared_meat(
    records: &[CookRecord],
    context: &Context<'_>,
    logs: &BTreeMap<&str, ingest::Log>,
) -> Vec<String> {
    let mut users: BTreeMap<(&str, &str, Option<&str>), Vec<&str>> = BTreeMap::new();
    for record in records.iter().filter(|record| record.log_start_ms.is_some()) {
        for found in context.uses.get(&record.card.cook).into_iter().flatten() {
            let Some((name, log)) = logs.get_key_value(found.file.shown_as.as_str()) else {
                continue;
            };
            let picked = found.channel.as_deref();
            let meant = picked.map(|picked| ingest::channels_called(&log.channels, picked));
            let meat = log.channels.iter().enumerate().filter(|(index, channel)| {
                channel.role == cook::Role::Meat
                    && meant.as_ref().is_none_or(|meant| meant.contains(index))
            });
            for (_, channel) in meat {
                let key = (*name, channel.name.as_str(), record.card.date.as_deref());
                users.entry(key).or_default().push(&record.card.cook);
            }
        }
    }
    users
        .into_iter()
        .filter(|(_, cooks)| cooks.len() > 1)
        .map(|((log, channel, _), cooks)| {
            format!(
                "{log}: the cooks {} all read the meat channel `{channel}`; pick one for each with `{log}#Channel`",
                cooks.join(", ")
            )
        })
        .collect()
}
