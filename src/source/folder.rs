//! The house's folder: paths within it, and reading that never leaves it.
//!
//! A folder is one on disk or one in memory (tests, examples, editors). Nothing is opened that lies outside of it,
//! be it by `..`, by an absolute path or through a link, and nothing that is not a regular file: opening a device
//! or a pipe could wait for ever.

use super::pattern::is_pattern;
use crate::sort;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{DirEntry, File};
use std::io::{self, Read};
use std::ops::Bound;
use std::path::{Path, PathBuf};

/// Why a file was not read.
#[derive(Debug)]
pub(super) enum Refusal {
    Missing,
    Outside,
    NotAFile,
    TooLarge,
    Unreadable(io::Error),
}

/// Where the files of a house come from.
pub(super) enum Folder<'t> {
    /// A folder on disk, by its canonical path.
    Disk(PathBuf),
    /// Texts by path.
    Memory(BTreeMap<&'t str, &'t str>),
}

/// The path within the house's folder that `written` means in the file `from`; none when it leaves the folder.
pub(crate) fn resolve(from: &str, written: &str) -> Option<String> {
    let drive = written.as_bytes().get(1) == Some(&b':');
    if written.starts_with(['/', '\\']) || drive {
        return None;
    }
    let mut parts: Vec<&str> = from.split('/').collect();
    parts.pop();
    for part in written.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

impl Folder<'_> {
    /// How long a file is.
    pub(super) fn size(&self, path: &str) -> Result<u64, Refusal> {
        match self {
            Self::Disk(folder) => Ok(confined(folder, path)?.1),
            Self::Memory(texts) => match texts.get(path) {
                Some(text) => Ok(text.len() as u64),
                None if texts.keys().any(|text| is_within(text, path)) => Err(Refusal::NotAFile),
                None => Err(Refusal::Missing),
            },
        }
    }

    /// The bytes of a file, at most `limit`.
    pub(super) fn read(&self, path: &str, limit: u64) -> Result<Vec<u8>, Refusal> {
        match self {
            Self::Disk(folder) => read_confined(folder, path, limit),
            Self::Memory(texts) => match texts.get(path) {
                None => Err(Refusal::Missing),
                Some(text) if text.len() as u64 > limit => Err(Refusal::TooLarge),
                Some(text) => Ok(text.as_bytes().to_vec()),
            },
        }
    }

    /// Patterns like one that matches no file: with the name of another folder in the place of the first that is not there, or
    /// with the ending of files that are in the last.
    pub(super) fn patterns_beside(&self, pattern: &str, budget: &mut usize) -> Vec<String> {
        let parts: Vec<&str> = pattern.split('/').collect();
        let Some((last, folders)) = parts.split_last() else { return Vec::new() };
        let mut within = String::new();
        for (nth, part) in folders.iter().enumerate() {
            if is_pattern(part) {
                return Vec::new();
            }
            let names = self.list(&within, Way::default(), budget).unwrap_or_default();
            if !names.iter().any(|(name, entry)| name == part && *entry != Entry::File) {
                let others =
                    names.iter().filter(|(name, entry)| *entry == Entry::Folder && !name.starts_with('.'));
                let rest = parts.get(nth + 1..).unwrap_or_default().join("/");
                return others.map(|(name, _)| join(&join(&within, name), &rest)).collect();
            }
            within = join(&within, part);
        }
        let Some((stem, ending)) = last.rsplit_once('.').filter(|(stem, _)| *stem == "*") else {
            return Vec::new();
        };
        let names = self.list(&within, Way::default(), budget).unwrap_or_default();
        let endings = names
            .iter()
            .filter(|(_, entry)| *entry == Entry::File)
            .filter_map(|(name, _)| name.rsplit_once('.'));
        let others: BTreeSet<&str> =
            endings.map(|(_, other)| other).filter(|other| *other != ending).collect();
        others.into_iter().map(|other| join(&within, &format!("{stem}.{other}"))).collect()
    }

    /// At most so many bytes from the start of a file; none of a link, and where they cannot be read.
    pub(super) fn start(&self, path: &str, limit: u64) -> Option<Vec<u8>> {
        match self {
            Self::Disk(folder) => {
                let is_file = folder.join(path).symlink_metadata().is_ok_and(|facts| facts.is_file());
                let (real, _) = confined(folder, path).ok().filter(|_| is_file)?;
                let mut start = Vec::new();
                File::open(real).ok()?.take(limit).read_to_end(&mut start).ok()?;
                Some(start)
            }
            Self::Memory(texts) => {
                let text = texts.get(path)?.as_bytes();
                Some(text.iter().copied().take(usize::try_from(limit).unwrap_or(usize::MAX)).collect())
            }
        }
    }

    /// The files in the folder where a path would be. Each entry looked at counts against `budget`.
    pub(super) fn beside(&self, path: &str, budget: &mut usize) -> Vec<String> {
        let folder = path.rsplit_once('/').map_or("", |(folder, _)| folder);
        let names = self.list(folder, Way::default(), budget).unwrap_or_default();
        let files = names.into_iter().filter(|(_, entry)| *entry == Entry::File);
        files.map(|(name, _)| join(folder, &name)).collect()
    }

    /// Names in a folder, each with whether it is a folder itself and not a link to one.
    pub(super) fn list(&self, path: &str, way: Way, budget: &mut usize) -> io::Result<Vec<(String, Entry)>> {
        let names = match self {
            Self::Disk(folder) => list_disk(folder, path, way, budget)?,
            Self::Memory(texts) => {
                let prefix = if path.is_empty() { String::new() } else { format!("{path}/") };
                let from = (Bound::Included(prefix.as_str()), Bound::Unbounded);
                let mut names = BTreeMap::new();
                for (text, _) in texts.range::<str, _>(from) {
                    let Some(rest) = text.strip_prefix(&prefix) else { break };
                    match rest.split_once('/') {
                        Some((name, _)) => names.insert(name.to_owned(), Entry::Folder),
                        None => names.insert(rest.to_owned(), Entry::File),
                    };
                }
                names.into_iter().collect()
            }
        };
        Ok(names)
    }
}

/// Whether a file lies in a folder, at any depth.
fn is_within(file: &str, folder: &str) -> bool {
    file.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/'))
}

/// What a name in a folder is.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Entry {
    File,
    Folder,
    LinkToFolder,
    /// A link of which the system does not say where it leads: to a file or to a folder.
    Unclear,
}

/// How a folder was come to.
#[derive(Clone, Copy, Default)]
pub(super) struct Way {
    /// From a folder that lies within the house's, and by no link: it lies there too.
    pub(super) is_within: bool,
}

/// The path of a name in a folder.
pub(super) fn join(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}/{name}") }
}

/// The canonical path of a regular file within the folder, and its length.
fn confined(folder: &Path, path: &str) -> Result<(PathBuf, u64), Refusal> {
    let kind = |error: io::Error| {
        let missing = matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory);
        if missing { Refusal::Missing } else { Refusal::Unreadable(error) }
    };
    let real = folder.join(path).canonicalize().map_err(kind)?;
    if !real.starts_with(folder) {
        return Err(Refusal::Outside);
    }
    let facts = real.metadata().map_err(kind)?;
    if facts.is_file() { Ok((real, facts.len())) } else { Err(Refusal::NotAFile) }
}

fn read_confined(folder: &Path, path: &str, limit: u64) -> Result<Vec<u8>, Refusal> {
    let (real, length) = confined(folder, path)?;
    if length > limit {
        return Err(Refusal::TooLarge);
    }
    let file = File::open(real).map_err(Refusal::Unreadable)?;
    let mut bytes = Vec::with_capacity(usize::try_from(length).unwrap_or(0));
    // One byte more than allowed, to see a file that grows, or whose length is not told (`/proc`).
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes).map_err(Refusal::Unreadable)?;
    if bytes.len() as u64 > limit { Err(Refusal::TooLarge) } else { Ok(bytes) }
}

/// The names in a folder; none where it is none, or lies outside of the house's.
fn list_disk(folder: &Path, path: &str, way: Way, budget: &mut usize) -> io::Result<Vec<(String, Entry)>> {
    let mut real = folder.join(path);
    if !way.is_within {
        match real.canonicalize() {
            Ok(found) if found.starts_with(folder) => real = found,
            Ok(_) => return Ok(Vec::new()),
            Err(cause) => return if is_none(&cause) { Ok(Vec::new()) } else { Err(cause) },
        }
    }
    let listing = match real.read_dir() {
        Ok(listing) => listing,
        // One that was just seen is there: it may not be read, or has a name that is no UTF-8.
        Err(cause) if way.is_within || !is_none(&cause) => return Err(cause),
        Err(_) => return Ok(Vec::new()),
    };
    names_of(listing, budget)
}

/// Whether it says that there is no such folder, and not that one cannot be read.
fn is_none(cause: &io::Error) -> bool {
    matches!(
        cause.kind(),
        io::ErrorKind::NotFound
            | io::ErrorKind::NotADirectory
            | io::ErrorKind::InvalidFilename
            | io::ErrorKind::InvalidInput
    )
}

/// The names of a listing. One that breaks off is an error: what is missing from it is not gone.
fn names_of(
    listing: impl Iterator<Item = io::Result<DirEntry>>,
    budget: &mut usize,
) -> io::Result<Vec<(String, Entry)>> {
    let mut names = Vec::new();
    for entry in listing {
        if *budget == 0 {
            break;
        }
        *budget -= 1;
        let entry = entry?;
        let kind = match entry.file_type() {
            Ok(kind) => kind,
            // It went while the others were listed.
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => continue,
            Err(cause) => return Err(cause),
        };
        // A name that is no UTF-8 is shown as well as it can be: what matches it is a file that cannot be read, and told.
        let name = entry.file_name().to_string_lossy().into_owned();
        let entry = if kind.is_dir() {
            Entry::Folder
        } else if kind.is_symlink() {
            led_to(&entry)
        } else {
            Entry::File
        };
        names.push((name, entry));
    }
    sort::by(&mut names, |a, b| a.0.cmp(&b.0));
    Ok(names)
}

/// What a link leads to; one that leads nowhere is taken for a file, which is then told as missing.
fn led_to(link: &DirEntry) -> Entry {
    match link.path().metadata() {
        Ok(facts) if facts.is_dir() => Entry::LinkToFolder,
        Err(cause) if !is_none(&cause) => Entry::Unclear,
        Ok(_) | Err(_) => Entry::File,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_listing_that_breaks_off_is_an_error() {
        let folder = tempfile::tempdir().unwrap();
        File::create(folder.path().join("kitchen.yaml")).unwrap();
        let broken = || std::iter::once(Err(io::Error::other("the disk")));
        let listing = || folder.path().read_dir().unwrap();
        assert_eq!(names_of(listing(), &mut 9).unwrap().len(), 1);
        assert!(names_of(listing().chain(broken()), &mut 9).is_err());
        assert!(names_of(broken().chain(listing()), &mut 9).is_err());
    }

    #[cfg(unix)]
    #[test]
    fn a_folder_that_is_there_and_cannot_be_read_is_not_an_empty_one() {
        let folder = tempfile::tempdir().unwrap();
        let whole = folder.path().canonicalize().unwrap();
        std::os::unix::fs::symlink("round", whole.join("round")).unwrap();
        let list = |path: &str| list_disk(&whole, path, Way::default(), &mut 9);
        assert!(list("round").is_err());
        assert!(list("nowhere").unwrap().is_empty());
        assert!(list(&"far".repeat(200)).unwrap().is_empty());
        assert!(list("").unwrap() == [("round".to_owned(), Entry::Unclear)]);
    }
}
