//! The bridge definitions of a build that is there.

use super::durable::read;
use super::error::EmitError;
use super::manifest::{MANIFEST_NAME, Manifest};
use super::verify::{ManifestError, faults, read_manifest, verify};
use std::fs;
use std::path::Path;

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
    named(&manifest)
        .map(|name| Ok((name.to_owned(), read(&folder.join(name))?.unwrap_or_default())))
        .collect()
}

fn named(manifest: &Manifest) -> impl Iterator<Item = &str> {
    manifest.outputs.iter().map(|output| output.path.as_str()).filter(|name| name.ends_with(BRIDGE_ENDING))
}

/// What of the bridge definitions in a folder can be read and believed.
#[derive(Debug, Default)]
pub struct Believed {
    /// The definitions that are as they were built, by name. Where the manifest itself cannot be read, all that are there.
    pub definitions: Vec<(String, Vec<u8>)>,
    /// What is wrong: name of a file, and how. Files that are no definitions are not looked at.
    pub faults: Vec<(String, ManifestError)>,
}

/// Reads as much of a build as can be read: a file that is not as it was built says nothing about the others.
pub fn read_believed(folder: &Path) -> Believed {
    let mut believed = Believed::default();
    let names: Vec<String> = match read_manifest(folder) {
        Ok(manifest) => {
            let about = faults(folder, &manifest).into_iter().filter_map(|fault| {
                let name = fault.file()?.to_owned();
                name.ends_with(BRIDGE_ENDING).then_some((name, fault))
            });
            believed.faults.extend(about);
            let names = named(&manifest).map(str::to_owned);
            names.filter(|name| !believed.faults.iter().any(|(faulty, _)| faulty == name)).collect()
        }
        Err(fault) => {
            believed.faults.push((MANIFEST_NAME.to_owned(), fault));
            lying_about(folder)
        }
    };
    for name in names {
        match read(&folder.join(&name)) {
            Ok(Some(bytes)) => believed.definitions.push((name, bytes)),
            Ok(None) => believed.faults.push((name.clone(), ManifestError::MissingOutput { name })),
            Err(EmitError::Read { cause, .. }) => {
                believed.faults.push((name.clone(), ManifestError::Read { name, cause }));
            }
            Err(_) => believed.faults.push((name.clone(), ManifestError::Foreign { name })),
        }
    }
    believed
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
