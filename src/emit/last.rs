//! The bridge definitions of a build that is there.

use super::durable::read;
use super::error::EmitError;
use super::verify::{read_manifest, verify};
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
    let names =
        manifest.outputs.into_iter().map(|output| output.path).filter(|name| name.ends_with(BRIDGE_ENDING));
    names.map(|name| Ok((name.clone(), read(&folder.join(&name))?.unwrap_or_default()))).collect()
}
