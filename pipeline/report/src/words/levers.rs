//! What a lever does, in a sentence for anybody.

use crate::data::{Effect, LeverReport};
use crate::units::{count, number, signed};

/// What a dose does to the time to the finish, with its interval, cooks and fires; or why that is not
/// told.
pub(crate) fn lever_sentence(lever: &LeverReport) -> String {
    let Some(effect) = &lever.effect else {
        let reason = lever.reason.as_deref().unwrap_or("nothing could be estimated");
        return format!("Nothing is said of what {} does: {reason}.", lever.dose);
    };
    format!(
        "{}. Interval of 95\u{a0}% from {} to {}\u{a0}min; {} cooks on {} fires.",
        told(&lever.dose, effect),
        end(effect.lo),
        end(effect.hi),
        count(effect.cooks),
        count(effect.fires)
    )
}

fn end(value: Option<f64>) -> String {
    value.map_or_else(|| "–".to_owned(), |value| signed(value, 1))
}

fn told(dose: &str, effect: &Effect) -> String {
    let (Some(lo), Some(hi)) = (effect.lo, effect.hi) else {
        return format!("Nothing is said of what {dose} does");
    };
    let minutes = number(effect.estimate.abs(), 1);
    let widest = number(lo.abs().max(hi.abs()), 1);
    if lo > 0.0 {
        format!("In cooks alike up to then, {dose} put the finish off by {minutes}\u{a0}min")
    } else if hi < 0.0 {
        format!("In cooks alike up to then, {dose} brought the finish {minutes}\u{a0}min nearer")
    } else {
        format!(
            "The cooks cannot tell whether {dose} puts the finish off or brings it nearer; more than \
             {widest}\u{a0}min either way would not agree with them"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(lo: f64, estimate: f64, hi: f64) -> String {
        let (lo, hi) = (Some(lo), Some(hi));
        let effect = Effect { estimate, lo, hi, cooks: 60, fires: 40, ..Effect::default() };
        let effect = Some(effect);
        lever_sentence(&LeverReport { dose: "a spray".into(), effect, ..LeverReport::default() })
    }

    #[test]
    fn a_sentence_goes_no_further_than_its_interval() {
        assert!(said(1.0, 3.0, 5.0).contains("put the finish off by 3.0"));
        assert!(said(-5.0, -3.0, -1.0).contains("brought the finish 3.0"));
        let open = said(-2.0, 1.0, 4.0);
        assert!(open.contains("cannot tell") && open.contains("4.0\u{a0}min either way"), "{open}");
        let reason = Some("3 cooks with it".into());
        let refused = LeverReport { dose: "a spray".into(), reason, ..LeverReport::default() };
        let said = "Nothing is said of what a spray does: 3 cooks with it.";
        assert_eq!(lever_sentence(&refused), said);
    }
}
