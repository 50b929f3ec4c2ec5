//! What a lever does, in a sentence for anybody.

use crate::units::{count, number, signed};
use study::result::Ratio;
use study::result::lever::{Lever, LeverEffect, LeverKind};

/// The term of the Cox model that the doses are.
const DOSES: &str = "doses_so_far";

/// What is done, for instance `Spraying`.
pub(crate) fn lever_name(kind: LeverKind) -> &'static str {
    match kind {
        LeverKind::SetpointRaised => "Raising the set-point",
        LeverKind::Spritz => "Spraying",
        LeverKind::LidOpened => "Opening the lid",
        LeverKind::LidMinutes => "Minutes of open lid, as noted",
    }
}

/// One dose of it with its article.
pub(crate) fn lever_dose(kind: LeverKind) -> &'static str {
    match kind {
        LeverKind::SetpointRaised => "a raised set-point",
        LeverKind::Spritz => "a spray",
        LeverKind::LidOpened => "an opened lid",
        LeverKind::LidMinutes => "a minute of open lid",
    }
}

/// Hazard ratio of finishing per dose: the association of the Cox model.
pub(crate) fn hazard_ratio(lever: &Lever) -> Option<Ratio> {
    let cox = lever.models.iter().find(|model| model.name == "cox")?;
    let doses = cox.terms.iter().find(|term| term.term == DOSES)?;
    doses.ratio()
}

/// What a dose does to the time to the finish, with its interval, cooks and fires; or why that is not
/// told.
pub(crate) fn lever_sentence(lever: &Lever) -> String {
    let dose = lever_dose(lever.lever);
    let Some(effect) = &lever.per_dose_min else {
        let reason = lever.per_dose_reason.as_deref().unwrap_or("nothing could be estimated");
        return format!("Nothing is said of what {dose} does: {reason}.");
    };
    format!(
        "{}. Interval of 95\u{a0}% from {} to {}\u{a0}min; {} cooks on {} fires.",
        told(dose, effect),
        signed(effect.lo, 1),
        signed(effect.hi, 1),
        count(effect.cooks),
        count(effect.fires)
    )
}

fn told(dose: &str, effect: &LeverEffect) -> String {
    let (lo, hi) = (effect.lo, effect.hi);
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
    use crate::samples::spray;

    fn said(lo: f64, estimate: f64, hi: f64) -> String {
        lever_sentence(&spray(Some([estimate, lo, hi]), None))
    }

    #[test]
    fn a_sentence_goes_no_further_than_its_interval() {
        assert!(said(1.0, 3.0, 5.0).contains("put the finish off by 3.0"));
        assert!(said(-5.0, -3.0, -1.0).contains("brought the finish 3.0"));
        let open = said(-2.0, 1.0, 4.0);
        assert!(open.contains("cannot tell") && open.contains("4.0\u{a0}min either way"), "{open}");
        let refused = spray(None, Some("3 cooks with it"));
        let said = "Nothing is said of what a spray does: 3 cooks with it.";
        assert_eq!(lever_sentence(&refused), said);
    }
}
