//! Corrections: shown as a diff, and applied to a text. No byte outside of a replacement changes.

use std::collections::BTreeMap;

use super::{Around, Edit, unified};
use crate::source::{FileId, Place, Sources};

/// Why corrections were not made. No text was changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MendError {
    /// Two replacements touch the same bytes.
    #[error("two corrections change the same text of `{path}`")]
    Overlap {
        /// The file.
        path: String,
        /// What the earlier one replaces.
        first: Place,
        /// What the later one replaces.
        second: Place,
    },
    /// A replacement is not within its file, or begins or ends within a character.
    #[error("a correction does not fit `{path}`")]
    Outside {
        /// The file.
        path: String,
        /// What it would replace.
        place: Place,
    },
    /// The file is not written in UTF-8, so that its bytes are not those of its text.
    #[error("`{path}` is not written in UTF-8 and is not changed")]
    Encoding {
        /// The file.
        path: String,
    },
}

/// The new texts of the files that corrections change, by file. The same replacement asked for twice is made once.
///
/// # Errors
/// When two different replacements touch the same bytes, when one does not fit its file, and when a file is not
/// UTF-8. Nothing is changed then.
pub fn apply<'e>(
    edits: impl IntoIterator<Item = &'e Edit>,
    sources: &Sources,
) -> Result<BTreeMap<FileId, String>, MendError> {
    let mut by_file: BTreeMap<FileId, Vec<&(Place, String)>> = BTreeMap::new();
    for replacement in edits.into_iter().flat_map(|edit| &edit.replacements) {
        by_file.entry(replacement.0.file).or_default().push(replacement);
    }
    by_file
        .into_iter()
        .map(|(file, replacements)| Ok((file, replaced(file, replacements, sources)?)))
        .collect()
}

/// The corrections as a unified diff; empty when they change nothing.
///
/// # Errors
/// As [`apply`].
pub fn diff<'e>(edits: impl IntoIterator<Item = &'e Edit>, sources: &Sources) -> Result<String, MendError> {
    let mut out = String::new();
    for (file, new) in apply(edits, sources)? {
        let path = sources.path(file);
        let (before, after) = (format!("a/{path}"), format!("b/{path}"));
        let around = Around { names: Some((&before, &after)), ..Around::default() };
        out += &unified(sources.source(file), &new, around);
    }
    Ok(out)
}

/// The text of one file with its replacements made.
fn replaced(
    file: FileId,
    mut replacements: Vec<&(Place, String)>,
    sources: &Sources,
) -> Result<String, MendError> {
    let path = || sources.path(file).to_owned();
    if !sources.is_utf8(file) {
        return Err(MendError::Encoding { path: path() });
    }
    replacements.sort();
    replacements.dedup();
    let text = sources.source(file);
    let mut out = String::with_capacity(text.len());
    let mut last: Option<Place> = None;
    for (place, new) in replacements {
        if let Some(first) = last.filter(|last| touch(*last, *place)) {
            return Err(MendError::Overlap { path: path(), first, second: *place });
        }
        let kept_from = last.map_or(0, |last| last.end as usize);
        let kept = text.get(kept_from..place.start as usize);
        let fits = text.get(place.start as usize..place.end as usize).is_some();
        let Some(kept) = kept.filter(|_| fits) else {
            return Err(MendError::Outside { path: path(), place: *place });
        };
        out += kept;
        out += new;
        last = Some(*place);
    }
    out += text.get(last.map_or(0, |last| last.end as usize)..).unwrap_or("");
    Ok(out)
}

/// Whether two replacements, the earlier first, cannot both be made: they share bytes, or both insert at one point.
fn touch(first: Place, second: Place) -> bool {
    let both_empty = first.start == first.end && second.start == second.end;
    second.start < first.end || (both_empty && first.start == second.start)
}
