//! A channel that jumps to and fro between two levels has two sources: two devices in one file, or two
//! logs put together line by line.

use crate::finding::{Change, Finding, LEAVE_OUT};
use crate::{Season, say};
use columns::Quantity;
use cook::{Answer, Question, QuestionCode};

/// Why a cook is left out then.
const REASON: &str = "its log holds two sources under one name";

pub(crate) fn find(season: &Season<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        let Some(curve) = cook.curve else { continue };
        let Some(first) = curve.jumping.first() else { continue };
        let names: Vec<&str> = curve.jumping.iter().map(|one| one.channel.as_str()).collect();
        let apart = Quantity::TemperatureDifference;
        let units = season.units;
        let degrees = apart.difference(f64::from(first.apart) / 10.0, units);
        let name = &cook.card.cook;
        let question = Question::new(
            QuestionCode::TwoSources,
            &[name, &names.join(";")],
            format!("cook `{name}`: is {} one probe?", say::some_of(&names)),
            format!(
                "from reading to reading `{}` jumps by {degrees:.0} {} and back ({}): two devices, or two logs line by line, are under one name. Until this is answered, the readings are used as they are",
                first.channel,
                apart.unit(units),
                cook.card.logs.join("; ")
            ),
            vec![
                Answer::new(LEAVE_OUT, "the cook is left out; a file for each device mends it"),
                Answer::new("one", "the readings are used as they are"),
            ],
        )
        .at(cook.place("logs"));
        let question = Question { used: Some("one".to_owned()), ..question };
        let left_out = vec![(at, Change::Exclude(REASON.to_owned()))];
        findings.push(Finding {
            question,
            answered: vec![(LEAVE_OUT, left_out)],
            open: Vec::new(),
        });
    }
    findings
}
