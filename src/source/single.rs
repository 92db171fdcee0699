//! A file that somebody names on the command line: a bridge JSON, an accept list, a ledger.

use super::Limits;
use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;

/// The bytes of a regular file, which has no more of them than the limits allow.
///
/// # Errors
/// What the system says; [`io::ErrorKind::InvalidInput`] for what is no regular file, [`io::ErrorKind::FileTooLarge`]
/// for one that is too large.
pub fn read_single(path: &Path, limits: &Limits) -> io::Result<Vec<u8>> {
    // Looked at before it is opened: to open a pipe would wait for its writer.
    let facts = path.metadata()?;
    if !facts.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "not a regular file"));
    }
    let too_large =
        || io::Error::new(io::ErrorKind::FileTooLarge, format!("more than {} bytes", limits.file_bytes));
    if facts.len() > limits.file_bytes {
        return Err(too_large());
    }
    let mut bytes = Vec::with_capacity(usize::try_from(facts.len()).unwrap_or(0));
    // One byte more than allowed, to see a file that grows, or whose length is not told (`/proc`).
    File::open(path)?.take(limits.file_bytes.saturating_add(1)).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limits.file_bytes { Err(too_large()) } else { Ok(bytes) }
}
