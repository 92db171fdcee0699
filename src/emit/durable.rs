//! A file replaced in one step, and brought to the disk before and after.

use super::error::EmitError;
use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// Makes a new file with these bytes, and brings it to the disk.
pub(super) fn create(path: &Path, bytes: &[u8]) -> io::Result<File> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    Ok(file)
}

/// Gives a file other bytes, or makes it, in one step: what a merge of ledgers is written with.
///
/// # Errors
///
/// [`EmitError::Link`] or [`EmitError::NotAFile`] if something else has its name, [`EmitError::Write`] if it cannot be
/// written; the file is then as it was. [`EmitError::Unsettled`] if it was written, and that may not outlast a power cut.
pub fn replace_file(path: &Path, bytes: &[u8]) -> Result<(), EmitError> {
    match fs::symlink_metadata(path) {
        Ok(found) if found.is_symlink() => Err(EmitError::Link { path: path.to_owned() }),
        Ok(found) if !found.is_file() => Err(EmitError::NotAFile { path: path.to_owned() }),
        _ => replace(path, bytes),
    }
}

/// Gives a file other bytes, in one step: at every instant, a power cut included, it holds the old ones or the new
/// ones. It is made if it is not there; mode and owner are kept if it is.
///
/// The caller has made sure that `path` is a file or nothing, and that nobody else writes it.
pub(super) fn replace(path: &Path, bytes: &[u8]) -> Result<(), EmitError> {
    let write = |cause| EmitError::Write { path: path.to_owned(), cause };
    let next = beside(path).ok_or_else(|| write(io::ErrorKind::InvalidFilename.into()))?;
    let old = match fs::symlink_metadata(path) {
        Ok(old) => Some(old),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => None,
        Err(cause) => return Err(write(cause)),
    };
    remove_if_there(&next).map_err(write)?;
    let made = create(&next, bytes).and_then(|file| old.map_or(Ok(()), |old| resemble(&file, &old)));
    if let Err(cause) = made.and_then(|()| fs::rename(&next, path)) {
        let _left = remove_if_there(&next);
        return Err(write(cause));
    }
    sync_folder(parent(path)).map_err(|cause| EmitError::Unsettled { path: path.to_owned(), cause })
}

/// Takes away what a killed [`replace`] of a file left beside it, if it may.
pub(super) fn sweep(path: &Path) {
    let _left = beside(path).map(|next| remove_if_there(&next));
}

/// Where the next content of a file stands until it is complete.
fn beside(path: &Path) -> Option<PathBuf> {
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name()?);
    name.push(".housewright-next");
    Some(path.with_file_name(name))
}

fn remove_if_there(path: &Path) -> io::Result<()> {
    match fs::remove_file(path) {
        Err(cause) if cause.kind() != io::ErrorKind::NotFound => Err(cause),
        _ => Ok(()),
    }
}

/// Gives a new file mode and owner of the old one. Only root may give files away, so that it fails is normal.
fn resemble(file: &File, old: &Metadata) -> io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::{MetadataExt, fchown};
        let now = file.metadata()?;
        if (now.uid(), now.gid()) != (old.uid(), old.gid()) {
            let _not_ours_to_give = fchown(file, Some(old.uid()), Some(old.gid()));
        }
    }
    file.set_permissions(old.permissions())
}

/// The folder that a path is in; `.` for a bare name.
pub(super) fn parent(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Brings the names in a folder to the disk. A file system that cannot do so for a folder is left alone.
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    if !cfg!(unix) {
        return Ok(());
    }
    match File::open(folder)?.sync_all() {
        Err(cause) if matches!(cause.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => {
            Ok(())
        }
        synced => synced,
    }
}

/// All bytes of a file that is no link, up to one more than `most`, which shows that it is longer; `None` if there is none.
pub(super) fn read(path: &Path, most: usize) -> Result<Option<Vec<u8>>, EmitError> {
    let fault = |cause| EmitError::Read { path: path.to_owned(), cause };
    let length = match fs::symlink_metadata(path) {
        Ok(found) if found.is_symlink() => return Err(EmitError::Link { path: path.to_owned() }),
        Ok(found) if !found.is_file() => return Err(EmitError::NotAFile { path: path.to_owned() }),
        Ok(found) => found.len(),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(cause) => return Err(fault(cause)),
    };
    let most = u64::try_from(most).unwrap_or(u64::MAX).saturating_add(1);
    // Room for all of it and the look beyond its end, so that it never grows.
    let mut bytes = Vec::with_capacity(usize::try_from(length.saturating_add(1).min(most)).unwrap_or(0));
    File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes)).map_err(fault)?;
    Ok(Some(bytes))
}
