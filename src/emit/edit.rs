//! Corrections of a file of the house.

use super::durable::{read, replace};
use super::error::EmitError;
use crate::sort;
use std::fs;
use std::ops::Range;
use std::path::Path;

/// Changes the given ranges of bytes of a file of the house, and no other byte, in one step.
///
/// `as_read` is the file as it was when the corrections were found. The order of the edits does not matter; two
/// insertions at one place are made in the order in which they are given. A link to another file of the house is
/// followed, and that file is changed.
///
/// # Errors
///
/// [`EmitError::Changed`] if the file is not as it was read, [`EmitError::Edits`] if edits overlap or lie outside of it,
/// [`EmitError::Outside`] if it leads out of the house's folder, or that it cannot be read or written.
pub fn write_edits(
    house: &Path,
    file: &Path,
    as_read: &[u8],
    edits: &[(Range<usize>, &str)],
) -> Result<(), EmitError> {
    let real = |path: &Path| {
        fs::canonicalize(path).map_err(|cause| EmitError::Read { path: path.to_owned(), cause })
    };
    let real_file = real(file)?;
    if !real_file.starts_with(real(house)?) {
        return Err(EmitError::Outside { path: file.to_owned() });
    }
    if read(&real_file, as_read.len())?.as_deref() != Some(as_read) {
        return Err(EmitError::Changed { path: file.to_owned() });
    }
    let edited = edited(as_read, edits).ok_or_else(|| EmitError::Edits { path: file.to_owned() })?;
    replace(&real_file, &edited)
}

fn edited(text: &[u8], edits: &[(Range<usize>, &str)]) -> Option<Vec<u8>> {
    let mut edits: Vec<&(Range<usize>, &str)> = edits.iter().collect();
    sort::by_key(&mut edits, |(range, _)| (range.start, range.end));
    let mut result = Vec::with_capacity(text.len());
    let mut done = 0;
    for (range, with) in edits {
        result.extend_from_slice(text.get(done..range.start)?);
        result.extend_from_slice(with.as_bytes());
        // A range that ends before it starts is no range.
        done = text.get(range.clone()).map(|_| range.end)?;
    }
    result.extend_from_slice(text.get(done..)?);
    Some(result)
}
