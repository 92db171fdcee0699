//! The files of a new house.

use super::durable::{create, sync_folder};
use super::error::EmitError;
use super::manifest::MANIFEST_NAME;
use super::verify::is_output_name;
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};

/// Makes new files in a folder, and the folders on the way; all of them or none. No file is overwritten.
///
/// # Errors
///
/// [`EmitError::Exists`] if one of the files is there, [`EmitError::Write`] if one cannot be made. What was made before
/// is taken away again.
pub fn write_new(folder: &Path, files: &[(&str, &[u8])]) -> Result<(), EmitError> {
    for (name, _) in files {
        let path = folder.join(name);
        // A manifest is none of a build's outputs, and may be brought out of a revision.
        if !is_output_name(name) && *name != MANIFEST_NAME {
            return Err(EmitError::BadName { name: (*name).to_owned() });
        }
        if fs::symlink_metadata(&path).is_ok() {
            return Err(EmitError::Exists { path });
        }
    }
    let mut made = Made { files: Vec::new(), folders: Vec::new() };
    let written =
        files.iter().try_for_each(|(name, bytes)| made.write(folder, name, bytes)).and_then(|()| made.sync());
    if written.is_err() {
        made.undo();
    }
    written
}

/// Makes one new file in a folder, as [`write_new`] makes many.
///
/// # Errors
///
/// Those of [`write_new`].
pub fn write_new_file(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), EmitError> {
    write_new(folder, &[(name, bytes)])
}

/// Makes a file in a folder that is gone when the program ends: whatever name it has, and without waiting for the disk.
///
/// # Errors
///
/// [`EmitError::Outside`] if its name leads out of the folder, [`EmitError::Write`] if it cannot be made.
pub fn write_passing(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), EmitError> {
    let path = folder.join(name);
    if !Path::new(name).components().all(|part| matches!(part, Component::Normal(_))) {
        return Err(EmitError::Outside { path });
    }
    let written = fs::create_dir_all(path.parent().unwrap_or(folder)).and_then(|()| {
        let mut file = fs::OpenOptions::new().write(true).create_new(true).open(&path)?;
        io::Write::write_all(&mut file, bytes)
    });
    written.map_err(|cause| EmitError::Write { path, cause })
}

/// What has been made so far.
struct Made {
    files: Vec<PathBuf>,
    folders: Vec<PathBuf>,
}

impl Made {
    fn write(&mut self, folder: &Path, name: &str, bytes: &[u8]) -> Result<(), EmitError> {
        let path = folder.join(name);
        self.folder(path.parent().unwrap_or(folder))?;
        match create(&path, bytes) {
            Err(cause) if cause.kind() == io::ErrorKind::AlreadyExists => Err(EmitError::Exists { path }),
            made => {
                // Also one that could not be filled was made by us.
                self.files.push(path.clone());
                made.map(drop).map_err(|cause| EmitError::Write { path, cause })
            }
        }
    }

    fn folder(&mut self, folder: &Path) -> Result<(), EmitError> {
        let missing: Vec<&Path> =
            folder.ancestors().take_while(|it| !it.as_os_str().is_empty() && !it.exists()).collect();
        for folder in missing.into_iter().rev() {
            fs::create_dir(folder).map_err(|cause| EmitError::Write { path: folder.to_owned(), cause })?;
            self.folders.push(folder.to_owned());
        }
        Ok(())
    }

    fn sync(&self) -> Result<(), EmitError> {
        for folder in &self.folders {
            sync_folder(folder).map_err(|cause| EmitError::Write { path: folder.clone(), cause })?;
        }
        Ok(())
    }

    /// Takes everything away again, as far as it goes: the first fault is what is told.
    fn undo(&self) {
        for file in &self.files {
            let _left = fs::remove_file(file);
        }
        for folder in self.folders.iter().rev() {
            let _left = fs::remove_dir(folder);
        }
    }
}
