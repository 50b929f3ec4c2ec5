//! Names of channels.

use super::plan::ChannelPlan;

/// Two columns of one name become `name` and `name (2)`.
pub(super) fn make_unique(channels: &mut [ChannelPlan]) {
    for i in 0..channels.len() {
        let wanted = channels[i].name.clone();
        let mut count = 1;
        while channels[..i].iter().any(|other| other.name.eq_ignore_ascii_case(&channels[i].name)) {
            count += 1;
            channels[i].name = format!("{wanted} ({count})");
        }
    }
}
