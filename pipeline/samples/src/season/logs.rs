//! The team's logs as files, and how a card names them.

use crate::archive::Container;
use crate::dialect::Dialect;
use crate::season::draw::{SampleFire, zone};
use crate::season::programme::Quirk;
use crate::season::recordings::{Recording, recordings};
use simulate::measured::ReadingSet;

/// One log of the team's.
pub(crate) struct LogFile {
    /// Its name in the folder of logs.
    pub(crate) name: String,
    pub(crate) bytes: Vec<u8>,
}

/// The logs of all fires, and for each fire the names of those that its cooks are in.
pub(crate) fn logs(fires: &[SampleFire]) -> (Vec<LogFile>, Vec<Vec<String>>) {
    let mut files = Vec::new();
    let mut names = Vec::with_capacity(fires.len());
    let mut shared: Option<(String, Recording)> = None;
    for fire in fires {
        let mut named = Vec::new();
        for recording in recordings(fire) {
            let (stem, recording) = match shared.take() {
                Some((stem, before)) => (stem, joined(before, recording)),
                None => (format!("{}{}", fire.stem(), recording.suffix), recording),
            };
            named.push(format!("{stem}{}", recording.logger.dialect.ending()));
            if fire.quirk() == Quirk::SharesLog {
                shared = Some((stem, recording));
            } else {
                files.push(file(&stem, &recording));
            }
        }
        names.push(named);
    }
    (files, names)
}

/// Two recordings of one logger, one after the other.
fn joined(mut before: Recording, after: Recording) -> Recording {
    let ReadingSet { channels, rows, .. } = after.set;
    assert_eq!(before.set.channels, channels, "fires that share a log have the same channels");
    before.set.rows.extend(rows);
    before
}

fn file(stem: &str, recording: &Recording) -> LogFile {
    let dialect = &recording.logger.dialect;
    // Packed here, so that an archive calls the log inside by its own name.
    let plain = Dialect { container: Container::None, ..dialect.clone() };
    let written =
        plain.write(&recording.set, &zone()).expect("the programme's dates are in the calendar");
    LogFile {
        name: format!("{stem}{}", dialect.ending()),
        bytes: dialect.container.pack(&format!("{stem}{}", plain.ending()), written.bytes),
    }
}
