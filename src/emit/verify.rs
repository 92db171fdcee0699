//! An output folder against its manifest.

use super::digest::{Digest, Digesting};
use super::manifest::{FORMAT, MANIFEST_NAME, Manifest, OutputFile, VERSION};
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use serde::Deserialize;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

/// The longest manifest that is read, in bytes: 100,000 sources and as many outputs take a third of it.
const MANIFEST_BYTES: u64 = 64 << 20;

/// Why a folder is not a build as its manifest has it.
#[derive(Debug, thiserror::Error)]
pub enum ManifestError {
    /// There is no manifest, so it is no build.
    #[error("there is no `manifest.json`")]
    Missing,
    /// The manifest, or a file it names, cannot be read.
    #[error("cannot read `{name}`")]
    Read {
        /// The file, relative to the folder.
        name: String,
        /// Why.
        #[source]
        cause: io::Error,
    },
    /// The manifest ends too early.
    #[error("`manifest.json` is cut off")]
    CutOff,
    /// The manifest is longer than any build's.
    #[error("`manifest.json` is longer than {limit} bytes")]
    TooLong {
        /// The limit, in bytes.
        limit: u64,
    },
    /// It has the lines of two branches.
    #[error("`manifest.json` has the lines of two branches, that a merge left")]
    Unmerged,
    /// The manifest is no JSON, or lacks what a manifest has.
    #[error("`manifest.json` is damaged")]
    Damaged {
        /// What is wrong, with line and column.
        #[source]
        cause: serde_json::Error,
    },
    /// It is a JSON file of another kind.
    #[error("`manifest.json` is no manifest of a build but of the format `{found}`")]
    OtherFormat {
        /// The format it names.
        found: String,
    },
    /// A later program made it.
    #[error("`manifest.json` has version {found}; this program reads up to version {newest}")]
    Newer {
        /// Its version.
        found: u32,
        /// The newest version that is read.
        newest: u32,
    },
    /// A version that there never was.
    #[error("`manifest.json` has version {found}, which there never was")]
    NoSuchVersion {
        /// Its version.
        found: u32,
    },
    /// It names a file that would be outside of the folder.
    #[error("`manifest.json` names `{name}`, which cannot be an output")]
    BadName {
        /// The name.
        name: String,
    },
    /// A file that it names is not there.
    #[error("`{name}` is missing")]
    MissingOutput {
        /// The file.
        name: String,
    },
    /// A file is not what the build made.
    #[error("`{name}` is not as it was built")]
    Changed {
        /// The file.
        name: String,
    },
    /// A file that no build has made.
    #[error("`{name}` is not part of the build")]
    Foreign {
        /// The file.
        name: String,
    },
}

impl ManifestError {
    /// The file of the folder that it is about; `None` for the manifest itself.
    pub fn file(&self) -> Option<&str> {
        match self {
            Self::Read { name, .. }
            | Self::BadName { name }
            | Self::MissingOutput { name }
            | Self::Changed { name }
            | Self::Foreign { name } => Some(name),
            Self::Missing
            | Self::Unmerged
            | Self::CutOff
            | Self::TooLong { .. }
            | Self::Damaged { .. }
            | Self::OtherFormat { .. }
            | Self::Newer { .. }
            | Self::NoSuchVersion { .. } => None,
        }
    }

    /// What to do next.
    pub fn help(&self, folder: &Path) -> String {
        let folder = folder.display();
        match self {
            Self::Newer { .. } => "use the program that made the build, or a later one".to_owned(),
            Self::Foreign { name } => format!("move `{name}` out of `{folder}`"),
            Self::Missing => format!("give the output folder of a build; `{folder}` is none"),
            Self::MissingOutput { .. } | Self::Changed { .. } => format!(
                "take `{folder}` back from version control or the gateway; a build replaces it as it is, but sees a loss by \
                 `ledger.yaml` alone"
            ),
            Self::Read { .. } => "check that you may read it".to_owned(),
            Self::Unmerged => format!(
                "take the build of one side whole, the one that the gateways have: `git checkout --ours -- {folder}`, or \
                 `--theirs`; then build again. With `**/build/** -merge` in `.gitattributes` git leaves it whole itself"
            ),
            Self::CutOff
            | Self::TooLong { .. }
            | Self::Damaged { .. }
            | Self::OtherFormat { .. }
            | Self::NoSuchVersion { .. }
            | Self::BadName { .. } => {
                format!("something other than a build has written to it: {}", back(&folder))
            }
        }
    }
}

/// What to do about a manifest that cannot be used: without it nothing says what the build was.
pub(super) fn back(folder: &std::path::Display<'_>) -> String {
    format!(
        "take `{folder}` back from version control or the gateway; if it is lost, move it away, and the next build sees a \
         loss by `ledger.yaml` alone"
    )
}

/// Reads the manifest of an output folder, and believes it.
///
/// # Errors
///
/// [`ManifestError`] unless it is a manifest of a version that this program reads.
pub fn read_manifest(folder: &Path) -> Result<Manifest, ManifestError> {
    Ok(read_with_digest(folder)?.0)
}

/// Reads the manifest of an output folder and compares every file with it: each is there, has the digest, and
/// there is no other.
///
/// # Errors
///
/// [`ManifestError`]; of several faults the first by name.
pub fn verify(folder: &Path) -> Result<Manifest, ManifestError> {
    let manifest = read_manifest(folder)?;
    verify_files(folder, &manifest)?;
    Ok(manifest)
}

/// The manifest and the digest of its bytes.
pub(super) fn read_with_digest(folder: &Path) -> Result<(Manifest, Digest), ManifestError> {
    let fault = |cause| ManifestError::Read { name: MANIFEST_NAME.to_owned(), cause };
    let path = folder.join(MANIFEST_NAME);
    match fs::symlink_metadata(&path) {
        Ok(found) if found.is_file() => {}
        Ok(_) => return Err(ManifestError::Foreign { name: MANIFEST_NAME.to_owned() }),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => return Err(ManifestError::Missing),
        Err(cause) => return Err(fault(cause)),
    }
    let mut bytes = Vec::new();
    File::open(path).and_then(|file| file.take(MANIFEST_BYTES + 1).read_to_end(&mut bytes)).map_err(fault)?;
    if bytes.len() as u64 > MANIFEST_BYTES {
        return Err(ManifestError::TooLong { limit: MANIFEST_BYTES });
    }
    Ok((parse(&bytes)?, Digest::of(&bytes)))
}

/// Only what says which format a file has.
#[derive(Deserialize)]
struct Head {
    format: String,
    version: u32,
}

fn parse(bytes: &[u8]) -> Result<Manifest, ManifestError> {
    let fault = |cause: serde_json::Error| {
        if bytes.split(|byte| *byte == b'\n').any(|line| line.starts_with(b"<<<<<<< ")) {
            ManifestError::Unmerged
        } else if cause.is_eof() {
            ManifestError::CutOff
        } else {
            ManifestError::Damaged { cause }
        }
    };
    let head: Head = serde_json::from_slice(bytes).map_err(fault)?;
    if head.format != FORMAT {
        return Err(ManifestError::OtherFormat { found: head.format });
    }
    if head.version > VERSION {
        return Err(ManifestError::Newer { found: head.version, newest: VERSION });
    }
    if head.version == 0 {
        return Err(ManifestError::NoSuchVersion { found: head.version });
    }
    let manifest: Manifest = serde_json::from_slice(bytes).map_err(fault)?;
    match manifest.outputs.iter().find(|output| !is_output_name(&output.path)) {
        Some(output) => Err(ManifestError::BadName { name: output.path.clone() }),
        None => Ok(manifest),
    }
}

/// Compares the files of a folder with a manifest. What is not part of the build is told before any file is opened: a pipe
/// or a link with the name of an output may have no end. Of several faults of outputs the first by name is told.
pub(super) fn verify_files(folder: &Path, manifest: &Manifest) -> Result<(), ManifestError> {
    match first_foreign(folder, Some(manifest)) {
        Ok(None) => {}
        Ok(Some(name)) => return Err(ManifestError::Foreign { name }),
        Err((name, cause)) => return Err(ManifestError::Read { name, cause }),
    }
    let fault = |output: &OutputFile| {
        let name = output.path.clone();
        match digest_of_file(&folder.join(&name), output.bytes) {
            Ok(digest) if digest == Some(output.sha256) => None,
            Ok(_) => Some(ManifestError::Changed { name }),
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
                Some(ManifestError::MissingOutput { name })
            }
            Err(cause) => Some(ManifestError::Read { name, cause }),
        }
    };
    // The first in order, so that the same one is told on every machine.
    manifest.outputs.par_iter().find_map_first(fault).map_or(Ok(()), Err)
}

/// The digest of a file that has so many bytes; none of one that has more or fewer, which is not read to its end.
fn digest_of_file(path: &Path, bytes: u64) -> io::Result<Option<Digest>> {
    let file = File::open(path)?;
    if file.metadata()?.len() != bytes {
        return Ok(None);
    }
    let mut digesting = Digesting::new(io::sink());
    let mut file = file.take(bytes.saturating_add(1));
    let mut buffer = vec![0; 1 << 17];
    loop {
        let count = file.read(&mut buffer)?;
        let Some(bytes) = buffer.get(..count).filter(|bytes| !bytes.is_empty()) else { break };
        io::Write::write_all(&mut digesting, bytes)?;
    }
    let (_, digest, read) = digesting.finish();
    Ok((read == bytes).then_some(digest))
}

/// The first thing in a folder, by name, that the manifest does not have; without a manifest the first thing.
pub(super) fn first_foreign(
    folder: &Path,
    manifest: Option<&Manifest>,
) -> Result<Option<String>, (String, io::Error)> {
    let mut files: FxHashSet<&str> = FxHashSet::default();
    let mut folders: FxHashSet<&str> = FxHashSet::default();
    if let Some(manifest) = manifest {
        files.insert(MANIFEST_NAME);
        for output in &manifest.outputs {
            files.insert(&output.path);
            folders.extend(output.path.match_indices('/').filter_map(|(at, _)| output.path.get(..at)));
        }
    }
    let mut waiting = vec![String::new()];
    let mut first: Option<String> = None;
    while let Some(inner) = waiting.pop() {
        let fault = |cause| (inner.clone(), cause);
        for entry in fs::read_dir(folder.join(&inner)).map_err(fault)? {
            let entry = entry.map_err(fault)?;
            let kind = entry.file_type().map_err(fault)?;
            let own = entry.file_name().to_string_lossy().into_owned();
            let name = if inner.is_empty() { own } else { format!("{inner}/{own}") };
            if kind.is_dir() && folders.contains(name.as_str()) {
                waiting.push(name);
            } else if !(kind.is_file() && files.contains(name.as_str())) {
                first = Some(first.map_or(name.clone(), |first| first.min(name)));
            }
        }
    }
    Ok(first)
}

/// Whether a name is a file in the output folder, on every system.
pub(super) fn is_output_name(name: &str) -> bool {
    name != MANIFEST_NAME
        && name.len() <= 1024
        && name.split('/').all(|part| {
            !part.is_empty()
                && part.len() <= 255
                && !part.starts_with('.')
                && !part.ends_with(['.', ' '])
                && !part.contains(['\\', '\u{fffd}', ':', '*', '?', '"', '<', '>', '|'])
                && !part.chars().any(char::is_control)
                && !is_device(part)
        })
}

/// Whether a name is one of a device on some systems, whatever its ending and its capitals.
fn is_device(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or_default().trim_end().to_ascii_lowercase();
    let is_numbered =
        |device: &str| stem.strip_prefix(device).is_some_and(|rest| matches!(rest.as_bytes(), [b'1'..=b'9']));
    matches!(stem.as_str(), "con" | "prn" | "aux" | "nul") || is_numbered("com") || is_numbered("lpt")
}
