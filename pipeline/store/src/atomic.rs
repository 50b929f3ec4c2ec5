//! Writing a file so that a crash leaves the old one or the new one.

use crate::error::StoreError;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// How the names of files that are being written begin.
const PARTIAL: &str = ".partial-";

/// Removes what a writer that was cut off left below a folder. Only its successor, who
/// holds the write lock, may do so. Links are not followed.
pub(crate) fn remove_partial_files_below(folder: &Path) {
    remove_partial_files(folder);
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            remove_partial_files_below(&entry.path());
        }
    }
}

/// Removes what a writer that was cut off left in a folder, and nothing below it.
pub fn remove_partial_files(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if entry.file_name().to_string_lossy().starts_with(PARTIAL) {
            let _ = fs::remove_file(path);
        }
    }
}

/// Writes `bytes` to `path` by a temporary file in the same folder, a sync and a rename.
/// Returns false, and leaves the file untouched, where it already holds these bytes.
///
/// # Errors
/// [`StoreError::Io`]; the old file is then still whole.
pub fn write_atomically(path: &Path, bytes: &[u8]) -> Result<bool, StoreError> {
    let Some(beside) = Beside::unless_equal(path, bytes)? else { return Ok(false) };
    beside.take_its_place()?;
    sync_folder(folder_of(path));
    Ok(true)
}

/// The same for a file that people keep: a link stays one, what it leads to is written, and a file that may not
/// be written is left alone.
///
/// # Errors
/// [`StoreError::Io`].
pub fn write_input(path: &Path, bytes: &[u8]) -> Result<bool, StoreError> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    if fs::metadata(&target).is_ok_and(|own| own.permissions().readonly()) {
        let why = "it is read-only; make it writable, or write the change by hand";
        return Err(StoreError::io(path, std::io::Error::other(why)));
    }
    write_atomically(&target, bytes)
}

/// The same for a page that somebody names: what is no page is never written over.
///
/// # Errors
/// [`StoreError::Io`].
pub fn write_page(path: &Path, html: &str) -> Result<bool, StoreError> {
    const HEAD: &[u8] = b"<!doctype html";
    let old = fs::read(path).unwrap_or_default();
    let is_page = old.get(..HEAD.len()).is_some_and(|head| head.eq_ignore_ascii_case(HEAD));
    if !old.is_empty() && !is_page {
        let why = "it is there already and is no HTML page; name another file";
        return Err(StoreError::io(path, std::io::Error::other(why)));
    }
    write_atomically(path, html.as_bytes())
}

/// A whole file that is to take the place of another, still beside it.
#[derive(Debug)]
pub(crate) struct Beside {
    file: NamedTempFile,
    path: PathBuf,
}

impl Beside {
    /// Begins a file for a path, unless what lies there has these bytes already.
    pub(crate) fn unless_equal(path: &Path, bytes: &[u8]) -> Result<Option<Self>, StoreError> {
        if holds(path, bytes) {
            return Ok(None);
        }
        Self::fill(path, |file| file.write_all(bytes)).map(Some)
    }

    /// Makes a file of what `fill` writes; where that fails, nothing is left of it.
    fn fill(
        path: &Path,
        fill: impl FnOnce(&mut File) -> std::io::Result<()>,
    ) -> Result<Self, StoreError> {
        let folder = folder_of(path);
        fs::create_dir_all(folder).map_err(|e| StoreError::io(folder, e))?;
        let mut file = tempfile::Builder::new()
            .prefix(PARTIAL)
            .tempfile_in(folder)
            .map_err(|e| StoreError::io(folder, e))?;
        fill(file.as_file_mut()).map_err(|e| StoreError::io(path, e))?;
        Ok(Self { file, path: path.to_owned() })
    }

    /// Syncs it and puts it in its place. The rename itself survives a power cut once the
    /// folder is synced too.
    pub(crate) fn take_its_place(self) -> Result<(), StoreError> {
        let Self { file, path } = self;
        file.as_file().sync_all().map_err(|e| StoreError::io(&path, e))?;
        set_ordinary_permissions(file.path());
        file.persist(&path).map_err(|e| StoreError::io(&path, e.error))?;
        Ok(())
    }
}

/// Whether a file has just these bytes.
pub(crate) fn holds(path: &Path, bytes: &[u8]) -> bool {
    fs::metadata(path).is_ok_and(|metadata| metadata.len() == bytes.len() as u64)
        && fs::read(path).is_ok_and(|old| old == bytes)
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Syncs a folder; not every system can.
pub(crate) fn sync_folder(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// Temporary files are private to their owner; what is kept should be as readable as any
/// other file.
#[cfg(unix)]
fn set_ordinary_permissions(path: &Path) {
    use std::os::unix::fs::PermissionsExt;
    let _ = fs::set_permissions(path, fs::Permissions::from_mode(0o644));
}

#[cfg(not(unix))]
fn set_ordinary_permissions(_path: &Path) {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_bytes_leave_the_file_untouched_and_nothing_lies_beside() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep/er/file.txt");
        assert!(write_atomically(&path, b"one").unwrap());
        assert!(!write_atomically(&path, b"one").unwrap());
        assert!(write_atomically(&path, b"two").unwrap());
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::read_dir(path.parent().unwrap()).unwrap().count(), 1);
    }

    #[test]
    fn what_people_keep_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sheet.csv");
        fs::write(&path, "cook,date\n").unwrap();
        assert!(
            write_page(&path, "<!doctype html>").unwrap_err().to_string().contains("no HTML page")
        );
        let page = folder.path().join("page.html");
        assert!(write_page(&page, "<!doctype html>1").unwrap());
        assert!(write_page(&page, "<!doctype html>2").unwrap());
        let mut rights = fs::metadata(&path).unwrap().permissions();
        rights.set_readonly(true);
        fs::set_permissions(&path, rights).unwrap();
        assert!(write_input(&path, b"x").unwrap_err().to_string().contains("read-only"));
        assert_eq!(fs::read_to_string(&path).unwrap(), "cook,date\n");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link() {
        let folder = tempfile::tempdir().unwrap();
        let (shared, link) = (folder.path().join("shared"), folder.path().join("link"));
        fs::write(&shared, "one").unwrap();
        std::os::unix::fs::symlink(&shared, &link).unwrap();
        assert!(write_input(&link, b"two").unwrap());
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&shared).unwrap(), "two");
    }

    #[test]
    fn leftovers_are_removed_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let deep = folder.path().join("readings/season=2025");
        fs::create_dir_all(&deep).unwrap();
        fs::write(deep.join(".partial-x1"), b"half").unwrap();
        fs::write(deep.join("a.parquet"), b"whole").unwrap();
        remove_partial_files_below(folder.path());
        let left: Vec<_> = fs::read_dir(&deep).unwrap().map(|e| e.unwrap().file_name()).collect();
        assert_eq!(left, ["a.parquet"]);
    }

    #[test]
    fn a_disk_that_is_full_in_mid_file_loses_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file");
        write_atomically(&path, b"old").unwrap();
        let beside = Beside::fill(&path, |file| {
            file.write_all(b"ne")?;
            Err(std::io::ErrorKind::StorageFull.into())
        });
        let error = beside.and_then(Beside::take_its_place);
        assert!(matches!(error, Err(StoreError::Io { path: named, .. }) if named == path));
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_place_that_cannot_be_written_is_an_error_and_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("file"), b"x").unwrap();
        assert!(write_atomically(&folder.path().join("file/inside"), b"y").is_err());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
