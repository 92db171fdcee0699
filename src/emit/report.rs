//! A report beside the house or elsewhere: a file of the user's choice, replaced only when it is a report as it was made.

use super::digest::Digest;
use super::durable::{read, replace};
use super::error::EmitError;
use std::io;
use std::path::Path;

/// What stands before and behind the digest of a report, at its end.
const BEFORE: &str = "<!-- sha256 ";
const BEHIND: &str = " -->\n";

/// The longest file that is taken for a report, in bytes: what is longer is none that was made here.
const LONGEST: usize = 256 << 20;

/// Writes a report, which begins with `mark`. A file that is there is replaced only when it is a report that nobody has
/// changed since it was made.
///
/// # Errors
///
/// [`EmitError::Theirs`] if the file is no report or was changed, [`EmitError::Link`] or [`EmitError::NotAFile`] if it is
/// no file, [`EmitError::Read`] and [`EmitError::Write`] if it cannot be read or written.
pub fn write_report(path: &Path, mark: &str, text: &str) -> Result<(), EmitError> {
    if let Err(cause) = path.symlink_metadata()
        && cause.kind() == io::ErrorKind::PermissionDenied
    {
        return Err(EmitError::Write { path: path.to_owned(), cause });
    }
    if let Some(there) = read(path, LONGEST)?
        && !there.is_empty()
        && !is_as_made(&there, mark)
    {
        return Err(EmitError::Theirs { path: path.to_owned() });
    }
    replace(path, format!("{text}{BEFORE}{}{BEHIND}", Digest::of(text.as_bytes())).as_bytes())
}

fn is_as_made(bytes: &[u8], mark: &str) -> bool {
    let text = if bytes.len() > LONGEST { None } else { std::str::from_utf8(bytes).ok() };
    let text = text.filter(|text| text.starts_with(mark));
    text.and_then(|text| text.strip_suffix(BEHIND)?.rsplit_once(BEFORE))
        .is_some_and(|(text, digest)| Digest::of(text.as_bytes()).to_string() == digest)
}
