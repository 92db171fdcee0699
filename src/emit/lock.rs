//! One build at a time in a folder.
//!
//! The lock is the operating system's, on a hidden file that is there only while somebody builds: a killed build
//! leaves the file but not the lock. Who gets the lock looks again whether the file is still the one at that name,
//! since the holder before takes the file away as its last deed.

use super::error::EmitError;
use std::ffi::OsStr;
use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

/// What to do when another build holds the lock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Patience {
    /// Wait until it is done.
    Wait,
    /// Give up at once.
    Refuse,
}

/// The right to build in a folder, until it is dropped.
///
/// A file system that knows no locks, and a folder of a house that cannot be written anyway, give a lock that
/// keeps nobody out; that the ledger is still as it was read is looked at before it is replaced all the same.
#[derive(Debug)]
#[must_use = "the lock ends when it is dropped"]
pub struct Lock {
    held: Option<(File, PathBuf)>,
}

impl Lock {
    /// Takes the lock of a house, given its folder. To be taken before the ledger is read and held until the build is
    /// in place, since two builds that read one ledger would both give its next number.
    ///
    /// # Errors
    ///
    /// [`EmitError::Busy`] if another build has it and `patience` is [`Patience::Refuse`]; [`EmitError::Write`] if the
    /// lock file cannot be made for another reason than the folder's permissions.
    pub fn of_house(folder: &Path, patience: Patience) -> Result<Self, EmitError> {
        match Self::take(folder.join(".housewright-lock"), folder, patience) {
            Err(EmitError::Write { cause, .. })
                if matches!(
                    cause.kind(),
                    io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem
                ) =>
            {
                Ok(Self { held: None })
            }
            taken => taken,
        }
    }

    /// Takes the lock of an output folder, which need not exist; its parent must.
    pub(super) fn of_output(parent: &Path, name: &OsStr, patience: Patience) -> Result<Self, EmitError> {
        let mut file = std::ffi::OsString::from(".");
        file.push(name);
        file.push(".housewright-lock");
        Self::take(parent.join(file), &parent.join(name), patience)
    }

    fn take(path: PathBuf, folder: &Path, patience: Patience) -> Result<Self, EmitError> {
        loop {
            let file = open(&path).map_err(|cause| EmitError::Write { path: path.clone(), cause })?;
            let locked = match patience {
                Patience::Wait => file.lock(),
                Patience::Refuse => match file.try_lock() {
                    Ok(()) => Ok(()),
                    Err(TryLockError::WouldBlock) => {
                        return Err(EmitError::Busy { folder: folder.to_owned() });
                    }
                    Err(TryLockError::Error(cause)) => Err(cause),
                },
            };
            match locked {
                Ok(()) if is_at(&file, &path) => return Ok(Self { held: Some((file, path)) }),
                Ok(()) => {}
                Err(cause) if cause.kind() == io::ErrorKind::Interrupted => {}
                Err(_no_locks_here) => return Ok(Self { held: None }),
            }
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        if let Some((file, path)) = self.held.take() {
            // Windows keeps the file: there it cannot be told whether the name still is this file.
            if cfg!(unix) {
                let _left = std::fs::remove_file(path);
            }
            drop(file);
        }
    }
}

fn open(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.create(true).truncate(false).write(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        // To open a pipe could wait for ever.
        let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
        options.custom_flags(flags.bits().cast_signed());
    }
    let file = options.open(path)?;
    if file.metadata()?.is_file() { Ok(file) } else { Err(io::Error::other("it is no file")) }
}

#[cfg(unix)]
fn is_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), std::fs::symlink_metadata(path)) {
        (Ok(held), Ok(there)) => (held.dev(), held.ino()) == (there.dev(), there.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_at(_file: &File, _path: &Path) -> bool {
    true
}
