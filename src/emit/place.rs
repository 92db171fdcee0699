//! The output folder and its two hidden neighbours: how a finished build takes the place of the last one.
//!
//! | name | what it is |
//! | --- | --- |
//! | `NAME` | the output folder: one whole build, or nothing yet |
//! | `.NAME.housewright-next` | the build being made; right after the exchange the old build, until it is removed |
//! | `.NAME.housewright-last` | the old build, where the file system cannot exchange two names in one step |
//!
//! On such a file system (some network ones) there is an instant with no folder named `NAME`. Who is killed in it
//! leaves both builds whole under their hidden names, and the next build begins by putting the last one back.

use super::durable::{parent, sync_folder};
use super::error::EmitError;
use super::manifest::{MANIFEST_NAME, Manifest};
use super::verify::read_manifest;
use std::ffi::OsString;
use std::fs::{self, Metadata};
use std::io;
use std::path::{Path, PathBuf};

/// The output folder and the folder that it is in.
#[derive(Debug)]
pub(super) struct Site {
    pub(super) out: PathBuf,
    pub(super) parent: PathBuf,
    pub(super) name: OsString,
}

impl Site {
    pub(super) fn new(out: &Path) -> Result<Self, EmitError> {
        let name = out.file_name().ok_or_else(|| EmitError::NoName { folder: out.to_owned() })?;
        let parent = parent(out).to_owned();
        // Put together anew: with a `/` at its end the name of a link would be taken for what it leads to.
        let out = if out.parent() == Some(Path::new("")) { name.into() } else { parent.join(name) };
        Ok(Self { out, name: name.to_owned(), parent })
    }

    pub(super) fn next(&self) -> PathBuf {
        self.hidden("next")
    }

    fn last(&self) -> PathBuf {
        self.hidden("last")
    }

    fn hidden(&self, what: &str) -> PathBuf {
        let mut name = OsString::from(".");
        name.push(&self.name);
        name.push(".housewright-");
        name.push(what);
        self.parent.join(name)
    }

    /// What is at the output folder's name: nothing, or a folder on the same file system as its parent.
    pub(super) fn folder(&self) -> Result<Option<Metadata>, EmitError> {
        let path = || self.out.clone();
        let Some(found) = there(&self.out)? else { return Ok(None) };
        if found.is_symlink() {
            return Err(EmitError::Link { path: path() });
        }
        if !found.is_dir() {
            return Err(EmitError::NotAFolder { path: path() });
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            let around = fs::metadata(&self.parent)
                .map_err(|cause| EmitError::Read { path: self.parent.clone(), cause })?;
            if around.dev() != found.dev() {
                return Err(EmitError::MountPoint { folder: path() });
            }
        }
        Ok(Some(found))
    }

    /// Puts right what an interrupted build left. Tells where files went that somebody put into it.
    pub(super) fn recover(&self) -> Result<Option<PathBuf>, EmitError> {
        let (last, next) = (self.last(), self.next());
        let mut kept = None;
        if there(&last)?.is_some() {
            if there(&self.out)?.is_some() {
                kept = self.discard(&last)?;
            } else {
                self.rename(&last, &self.out)?;
                sync_folder(&self.parent).map_err(|cause| self.fault(cause))?;
            }
        }
        if there(&next)?.is_some() {
            kept = self.discard(&next)?.or(kept);
        }
        Ok(kept)
    }

    /// Puts the finished build at `next` in place and removes the old one. Tells where files went that somebody put
    /// into the old build in the last instant.
    pub(super) fn put_in_place(&self) -> Result<Option<PathBuf>, EmitError> {
        let next = self.next();
        if there(&self.out)?.is_none() {
            rename_to_nothing(&next, &self.out).map_err(|cause| self.fault(cause))?;
            sync_folder(&self.parent).map_err(|cause| self.fault(cause))?;
            return Ok(None);
        }
        let old = match exchange(&next, &self.out) {
            Ok(()) => next,
            Err(cause) if cannot_exchange(&cause) => {
                let last = self.last();
                self.rename(&self.out, &last)?;
                if let Err(fault) = self.rename(&next, &self.out) {
                    self.rename(&last, &self.out)?;
                    return Err(fault);
                }
                last
            }
            Err(cause) => return Err(self.fault(cause)),
        };
        sync_folder(&self.parent).map_err(|cause| self.fault(cause))?;
        // The build is in place; an old one that cannot be removed now is removed by the next build.
        Ok(self.discard(&old).unwrap_or_default())
    }

    /// Removes a folder of ours. Of a finished build only what its manifest names is removed; if there is more, the rest is
    /// kept beside the output folder under a name that can be seen.
    pub(super) fn discard(&self, folder: &Path) -> Result<Option<PathBuf>, EmitError> {
        let fault = |cause| EmitError::Remove { path: folder.to_owned(), cause };
        if !there(folder)?.is_some_and(|found| found.is_dir()) {
            fs::remove_file(folder).map_err(fault)?;
            return Ok(None);
        }
        make_writable(folder);
        let Ok(manifest) = read_manifest(folder) else {
            // Never finished: nothing but what a build was writing when it was interrupted.
            fs::remove_dir_all(folder).map_err(fault)?;
            return Ok(None);
        };
        remove_build(folder, &manifest).map_err(fault)?;
        match fs::remove_dir(folder) {
            Ok(()) => Ok(None),
            Err(cause) if cause.kind() == io::ErrorKind::DirectoryNotEmpty => {
                let kept = self.free_name()?;
                self.rename(folder, &kept)?;
                Ok(Some(kept))
            }
            Err(cause) => Err(fault(cause)),
        }
    }

    fn free_name(&self) -> Result<PathBuf, EmitError> {
        let mut number = 1;
        loop {
            let mut name = self.name.clone();
            name.push(format!(".kept-{number}"));
            let path = self.parent.join(name);
            if there(&path)?.is_none() {
                return Ok(path);
            }
            number += 1;
        }
    }

    fn rename(&self, from: &Path, to: &Path) -> Result<(), EmitError> {
        fs::rename(from, to).map_err(|cause| self.fault(cause))
    }

    fn fault(&self, cause: io::Error) -> EmitError {
        #[cfg(unix)]
        if matches!(cause.kind(), io::ErrorKind::ResourceBusy | io::ErrorKind::CrossesDevices) {
            return EmitError::MountPoint { folder: self.out.clone() };
        }
        EmitError::Place { path: self.out.clone(), cause }
    }
}

fn there(path: &Path) -> Result<Option<Metadata>, EmitError> {
    match fs::symlink_metadata(path) {
        Ok(found) => Ok(Some(found)),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(cause) => Err(EmitError::Read { path: path.to_owned(), cause }),
    }
}

/// Lets files be taken out of a folder of ours that has the permissions of a build which somebody protected. Where that
/// cannot be, the removal says so.
fn make_writable(folder: &Path) {
    #[cfg(unix)]
    if let Ok(found) = fs::symlink_metadata(folder) {
        use std::os::unix::fs::PermissionsExt;
        let mode = found.permissions().mode();
        if mode & 0o700 != 0o700 {
            let _unless_it_is_not_ours =
                fs::set_permissions(folder, fs::Permissions::from_mode(mode | 0o700));
        }
    }
    #[cfg(not(unix))]
    let _ = folder;
}

/// Removes the files that a build made, its manifest last, so that what remains is known until the end.
fn remove_build(folder: &Path, manifest: &Manifest) -> io::Result<()> {
    let gone = |removed: io::Result<()>| match removed {
        Err(cause) if !matches!(cause.kind(), io::ErrorKind::NotFound | io::ErrorKind::DirectoryNotEmpty) => {
            Err(cause)
        }
        _ => Ok(()),
    };
    let mut folders: Vec<&str> = Vec::new();
    for output in &manifest.outputs {
        gone(fs::remove_file(folder.join(&output.path)))?;
        folders.extend(output.path.match_indices('/').filter_map(|(at, _)| output.path.get(..at)));
    }
    folders.sort_unstable();
    folders.dedup();
    for inner in folders.iter().rev() {
        gone(fs::remove_dir(folder.join(inner)))?;
    }
    gone(fs::remove_file(folder.join(MANIFEST_NAME)))
}

#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
fn exchange(a: &Path, b: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE)?)
}

#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
fn exchange(_a: &Path, _b: &Path) -> io::Result<()> {
    Err(io::ErrorKind::Unsupported.into())
}

/// Renames a folder to a name that nothing has; unlike a plain rename it does not replace an empty folder of
/// somebody who was faster.
#[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
fn rename_to_nothing(from: &Path, to: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    match renameat_with(CWD, from, CWD, to, RenameFlags::NOREPLACE).map_err(io::Error::from) {
        Err(cause) if cannot_exchange(&cause) => fs::rename(from, to),
        renamed => renamed,
    }
}

#[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
fn rename_to_nothing(from: &Path, to: &Path) -> io::Result<()> {
    fs::rename(from, to)
}

/// What a kernel or file system says that does not know the flags of a rename.
fn cannot_exchange(cause: &io::Error) -> bool {
    matches!(cause.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported)
}
