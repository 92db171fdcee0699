//! The bridge definitions of a build that is there.

use super::digest::Digest;
use super::durable::read;
use super::error::EmitError;
use super::manifest::{MANIFEST_NAME, OutputFile, Program};
use super::verify::{ManifestError, first_foreign, read_manifest, read_with_digest, verify};
use crate::review::Unshown;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The ending of a bridge definition's name.
pub const BRIDGE_ENDING: &str = ".bridge.json";

/// The bridge definitions of the build in a folder, each with its name, in the order of names; none where nothing was
/// built yet. The manifest must be there and fit its files.
///
/// # Errors
/// [`EmitError::Manifest`] when manifest and files do not fit, [`EmitError::Read`] when one cannot be read.
pub fn read_definitions(folder: &Path) -> Result<Vec<(String, Vec<u8>)>, EmitError> {
    let cannot = |cause| EmitError::Manifest { folder: folder.to_owned(), cause };
    verify(folder).map_err(cannot)?;
    let manifest = read_manifest(folder).map_err(cannot)?;
    let named = manifest.outputs.iter().filter(|output| output.path.ends_with(BRIDGE_ENDING));
    named
        .map(|output| {
            let bytes = read(&folder.join(&output.path), as_built(output))?;
            Ok((output.path.clone(), bytes.unwrap_or_default()))
        })
        .collect()
}

/// How many bytes an output has.
fn as_built(output: &OutputFile) -> usize {
    usize::try_from(output.bytes).unwrap_or(usize::MAX)
}

/// What of the bridge definitions in a folder may be believed.
#[derive(Debug, Default)]
pub struct Believed {
    /// The definitions that were built, by name. Where the manifest itself cannot be read, all that are there.
    pub definitions: Vec<Definition>,
    /// What is wrong: name of a file, and how. Files that are no definitions are not looked at.
    pub faults: Vec<(String, ManifestError)>,
    /// The program that made the build, as its manifest says, and the manifest's own digest.
    pub made: Option<(Program, Digest)>,
    /// What the house described then and did not show, as the manifest says.
    pub unshown: Option<Vec<Unshown>>,
}

/// A bridge definition in a folder, which is read when it is its turn.
#[derive(Debug)]
pub struct Definition {
    /// Name of its file.
    pub name: String,
    path: PathBuf,
    /// As it was built, where that is known.
    built: Option<OutputFile>,
    /// How many bytes of it are read at most where that is not known.
    most: usize,
}

/// Finds as much of a build as can be read: a file that is not as it was built says nothing about the others. Where no manifest
/// says how long a definition is, one of more than `most` bytes is not read.
pub fn believed(folder: &Path, most: u64) -> Believed {
    let most = usize::try_from(most).unwrap_or(usize::MAX);
    let definition = |name: String, built| Definition { path: folder.join(&name), name, built, most };
    match read_with_digest(folder) {
        Ok((manifest, digest)) => {
            let foreign = match first_foreign(folder, Some(&manifest)) {
                Ok(foreign) => foreign.map(|name| (name.clone(), ManifestError::Foreign { name })),
                Err((name, cause)) => Some((name.clone(), ManifestError::Read { name, cause })),
            };
            let built = manifest.outputs.into_iter().filter(|output| output.path.ends_with(BRIDGE_ENDING));
            Believed {
                definitions: built.map(|output| definition(output.path.clone(), Some(output))).collect(),
                faults: foreign.into_iter().filter(|(name, _)| name.ends_with(BRIDGE_ENDING)).collect(),
                made: Some((manifest.program, digest)),
                unshown: Some(manifest.unshown),
            }
        }
        Err(fault) => Believed {
            definitions: lying_about(folder).into_iter().map(|name| definition(name, None)).collect(),
            faults: vec![(MANIFEST_NAME.to_owned(), fault)],
            made: None,
            unshown: None,
        },
    }
}

impl Definition {
    /// Its bytes, which must be those that the manifest has, where there is one.
    ///
    /// # Errors
    /// [`ManifestError`] when the file is gone or another one, or cannot be read.
    pub fn read(&self) -> Result<Vec<u8>, ManifestError> {
        let name = self.name.clone();
        let most = self.built.as_ref().map_or(self.most, as_built);
        let bytes = match read(&self.path, most) {
            Ok(Some(bytes)) if bytes.len() > most && self.built.is_none() => {
                return Err(ManifestError::Read { name, cause: io::ErrorKind::FileTooLarge.into() });
            }
            Ok(Some(bytes)) => bytes,
            Ok(None) => return Err(ManifestError::MissingOutput { name }),
            Err(EmitError::Read { cause, .. }) => return Err(ManifestError::Read { name, cause }),
            Err(_) => return Err(ManifestError::Foreign { name }),
        };
        let is_built =
            |output: &OutputFile| output.bytes == bytes.len() as u64 && output.sha256 == Digest::of(&bytes);
        if self.built.as_ref().is_none_or(is_built) {
            Ok(bytes)
        } else {
            Err(ManifestError::Changed { name })
        }
    }
}

/// Every bridge definition that lies in a folder without a manifest, by name.
fn lying_about(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let files = entries.filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()));
    let mut names: Vec<String> = files.filter_map(|entry| entry.file_name().into_string().ok()).collect();
    names.retain(|name| name.ends_with(BRIDGE_ENDING));
    names.sort();
    names
}
