//! A claim written into a season's claims file, and how likely it is to be answered.

use crate::error::StageError;
use crate::folder::read_season;
use crate::study_stage::LockFile;
use cook::Season;
use jiff::Timestamp;
use std::path::{Path, PathBuf};
use store::{Store, TableName, write_input};
use study::analysis::{Evidence, Foresight, foresee};
use study::claims::arguments::{Answered, Argument};
use study::{Claim, Claims, History, Lock, MeasureTable};

/// Cooks to come that a chance is said for.
const TO_COME: [usize; 3] = [12, 25, 60];

/// A claim that is not written down yet.
#[derive(Debug, Clone)]
pub struct DraftedClaim {
    /// The claim.
    pub claim: Claim,
    /// As it is to be written.
    pub text: String,
    /// The chance of an answer in so many cooks to come.
    pub chances: Vec<Foresight>,
    /// Why nothing is said of that.
    pub unforeseen: Option<String>,
    /// The file.
    pub path: PathBuf,
    whole: String,
}

/// Makes a claim of an argument; nothing is written.
///
/// # Errors
/// No season; a claims file that cannot be read or holds a claim of that name; what
/// [`Argument::written`] finds.
pub fn draft_claim(
    folder: &Path,
    argument: &Argument,
    answered: &Answered,
) -> Result<DraftedClaim, StageError> {
    let season = read_season(folder)?;
    let path = claims_path(folder, &season)?;
    let old = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => String::new(),
        Err(error) => return Err(StageError::io(&path, error)),
    };
    let (text, claims) = argument.written(answered, season.units, &path)?;
    let gap = if old.is_empty() || old.ends_with("\n\n") {
        ""
    } else if old.ends_with('\n') {
        "\n"
    } else {
        "\n\n"
    };
    let whole = format!("{old}{gap}{text}");
    // With those that are there already: a name that is taken is told here.
    Claims::parse(&whole, &path)?;
    let Some(claim) = claims.claims.into_iter().next() else {
        return Err(StageError::Usage { message: "the argument made no claim".into() });
    };
    let (chances, unforeseen) = match foreseen(folder, &season, &claim) {
        Ok(Some(chances)) => (chances, None),
        Ok(None) => (
            Vec::new(),
            Some(format!(
                "fewer than 8 cooks so far have `{}` and what it is compared by; nothing can be said of \
                 those to come",
                claim.outcome
            )),
        ),
        // What the store cannot tell keeps nobody from writing a claim down.
        Err(error) => (Vec::new(), Some(error.to_string())),
    };
    Ok(DraftedClaim { claim, text, chances, unforeseen, path, whole })
}

impl DraftedClaim {
    /// Writes the claims file with it at its end.
    ///
    /// # Errors
    /// [`StageError::Io`].
    pub fn write(&self) -> Result<(), StageError> {
        write_input(&self.path, self.whole.as_bytes())?;
        Ok(())
    }
}

fn claims_path(folder: &Path, season: &Season) -> Result<PathBuf, StageError> {
    let name = season.claims.as_deref().ok_or_else(|| StageError::Usage {
        message: format!(
            "{}: it names no claims file; write `claims = \"claims.toml\"`",
            folder.join("season.toml").display()
        ),
    })?;
    Ok(folder.join(name))
}

fn foreseen(
    folder: &Path,
    season: &Season,
    claim: &Claim,
) -> Result<Option<Vec<Foresight>>, StageError> {
    let root = folder.join("store");
    if !root.is_dir() {
        return Ok(None);
    }
    let store = Store::open(&root)?;
    let measures = MeasureTable::new(&store.read_table(TableName::Measures)?)?;
    let history = History::new(&store.read_table(TableName::History)?)?;
    let evidence = Evidence {
        history: Some(&history),
        seed: season.study.seed,
        horizon_min: season.study.horizon_min,
        ..Evidence::default()
    };
    let lock = folder.join("claims.lock");
    let share = if lock.is_file() {
        LockFile::read(&lock)?.lock.next_share(Timestamp::now())
    } else {
        Lock::default().next_share(Timestamp::now())
    };
    Ok(foresee(&measures, claim, share, evidence, &TO_COME)?)
}
