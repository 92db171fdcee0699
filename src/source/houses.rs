//! Houses in the folders below a given one.

use std::collections::BTreeSet;
use std::fs::{DirEntry, File};
use std::io::ErrorKind::{NotADirectory, NotFound};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

/// How far below a given folder houses are looked for.
const DEEPEST: usize = 32;

/// How many folders are looked through.
const MOST_FOLDERS: usize = 200_000;

/// Why houses below a folder are not looked for.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TooMuch {
    /// A folder that lies too far below.
    #[error("`{}` is more than {DEEPEST} folders deep", .0.display())]
    Deep(PathBuf),
    /// A folder with too many folders in it.
    #[error("`{}` has more than {MOST_FOLDERS} folders in it", .0.display())]
    Many(PathBuf),
    /// A folder whose listing broke off: nobody knows what else is in it.
    #[error("the folders in `{}` cannot be listed: {}", .0.display(), .1)]
    Broken(PathBuf, io::ErrorKind),
}

/// Whether a folder is that of a house.
pub fn is_house(folder: &Path) -> bool {
    folder.join("house.yaml").is_file()
}

/// The first of what is in a folder, by name. What is hidden does not count: a new repository has some.
pub fn first_in(folder: &Path) -> Option<String> {
    let found = folder.read_dir().ok()?.filter_map(Result::ok);
    let names = found.map(|entry| entry.file_name().to_string_lossy().into_owned());
    names.filter(|name| !name.starts_with('.')).min()
}

/// How far above a path its house is looked for.
const HIGHEST: usize = 8;

/// The house that a path lies in, as a path from where the program runs: the nearest folder above it that has a root file.
pub fn house_around(path: &Path) -> Option<PathBuf> {
    let whole = path.canonicalize().ok()?;
    let named = path.ancestors().skip(1).map(|above| match above {
        here if here.as_os_str().is_empty() => PathBuf::from("."),
        above => above.to_owned(),
    });
    let further = (1..=HIGHEST).map(|levels| PathBuf::from(vec![".."; levels].join("/")));
    let is_above = |folder: &Path| folder.canonicalize().is_ok_and(|folder| whole.starts_with(folder));
    named.take(HIGHEST).chain(further).find(|folder| is_house(folder) && is_above(folder))
}

/// Whether a file begins as a root file does: one of the keys stands in it that no other file has.
///
/// # Errors
/// The system's, where the file cannot be read.
pub fn begins_a_house(file: &Path) -> io::Result<bool> {
    let mut start = Vec::new();
    File::open(file)?.take(LOOKED_AT).read_to_end(&mut start)?;
    let mut lines =
        start.split(|byte| *byte == b'\n').map(|line| line.strip_prefix(BYTE_ORDER_MARK).unwrap_or(line));
    Ok(lines.any(|line| ROOT_KEYS.iter().any(|key| line.starts_with(key))))
}

/// Bytes of a file that are looked at.
const LOOKED_AT: u64 = 1 << 20;
const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";
const ROOT_KEYS: [&[u8]; 2] = [b"housewright", b"house"];

/// Whether a folder is meant to be a house: what has the root file's name may be a link that leads nowhere.
fn is_meant_as_house(folder: &Path) -> bool {
    let found = folder.join("house.yaml").symlink_metadata();
    found.map_or_else(|cause| !matches!(cause.kind(), NotFound | NotADirectory), |_| true)
}

/// The folders of houses below a folder, by name. One that cannot be read is taken for a house, so that the reader says what
/// is wrong with it. Hidden folders are not looked through.
///
/// # Errors
/// More folders, or deeper ones, than are looked through; a listing that breaks off.
pub fn houses_below(folder: &Path) -> Result<Vec<PathBuf>, TooMuch> {
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let mut search = Search { whole, linked: BTreeSet::new(), left: MOST_FOLDERS, houses: Vec::new() };
    search.below(folder, DEEPEST)?;
    Ok(search.houses)
}

struct Search {
    /// All that is looked through, as the system calls it.
    whole: PathBuf,
    /// Folders that links lead to.
    linked: BTreeSet<PathBuf>,
    left: usize,
    houses: Vec<PathBuf>,
}

impl Search {
    fn below(&mut self, folder: &Path, deep: usize) -> Result<(), TooMuch> {
        let Ok(entries) = folder.read_dir() else {
            // It may have been taken for one by its root file.
            if self.houses.last().map(PathBuf::as_path) != Some(folder) {
                self.houses.push(folder.to_owned());
            }
            return Ok(());
        };
        let broken = |cause: io::Error| TooMuch::Broken(folder.to_owned(), cause.kind());
        for folder in folders_of(entries).map_err(broken)? {
            if folder.is_symlink() && !self.leads_on(&folder) {
                continue;
            }
            self.left = self.left.checked_sub(1).ok_or_else(|| TooMuch::Many(self.whole.clone()))?;
            let deep = deep.checked_sub(1).ok_or_else(|| TooMuch::Deep(folder.clone()))?;
            if is_meant_as_house(&folder) {
                self.houses.push(folder.clone());
            }
            self.below(&folder, deep)?;
        }
        Ok(())
    }

    /// Whether a link leads to a folder that is not looked through anyway, or was, and to none above: there would be no end.
    fn leads_on(&mut self, link: &Path) -> bool {
        link.canonicalize().is_ok_and(|real| {
            !real.starts_with(&self.whole) && !self.whole.starts_with(&real) && self.linked.insert(real)
        })
    }
}

/// The folders of a listing and the links to some, but for hidden ones, by name. A listing that breaks off is an error: what is
/// missing from it may be houses.
fn folders_of(entries: impl Iterator<Item = io::Result<DirEntry>>) -> io::Result<Vec<PathBuf>> {
    let mut folders = Vec::new();
    for entry in entries {
        let entry = entry?;
        if !entry.file_name().as_encoded_bytes().starts_with(b".") && is_folder(&entry)? {
            folders.push(entry.path());
        }
    }
    folders.sort();
    Ok(folders)
}

/// Whether an entry is a folder, or a link to one. One that went while the others were listed is none.
fn is_folder(entry: &DirEntry) -> io::Result<bool> {
    match entry.file_type() {
        Ok(kind) => Ok(kind.is_dir() || kind.is_symlink() && entry.path().is_dir()),
        Err(cause) if cause.kind() == NotFound => Ok(false),
        Err(cause) => Err(cause),
    }
}

#[cfg(unix)]
#[cfg(test)]
mod tests {
    use super::*;
    use std::os::unix::fs::symlink;

    /// The houses below a folder in which `make` made something.
    fn found(make: impl Fn(&Path)) -> Vec<String> {
        let folder = tempfile::tempdir().unwrap();
        let street = folder.path().join("street");
        std::fs::create_dir(&street).unwrap();
        make(&street);
        let houses = houses_below(&street).unwrap();
        let below = |house: &PathBuf| house.strip_prefix(&street).unwrap().display().to_string();
        houses.iter().map(below).collect()
    }

    fn house(folder: &Path) {
        std::fs::create_dir_all(folder).unwrap();
        std::fs::File::create(folder.join("house.yaml")).unwrap();
    }

    #[test]
    fn houses_are_found_however_deep_and_within_each_other() {
        let make = |street: &Path| {
            ["elm", "elm/shed", "a/b/c/d/e/oak", ".hidden/ash"].iter().for_each(|it| house(&street.join(it)));
        };
        assert_eq!(found(make), ["a/b/c/d/e/oak", "elm", "elm/shed"]);
    }

    #[test]
    fn a_root_file_that_leads_nowhere_is_meant_as_a_house() {
        let make = |street: &Path| {
            std::fs::create_dir(street.join("elm")).unwrap();
            symlink("nowhere", street.join("elm/house.yaml")).unwrap();
        };
        assert_eq!(found(make), ["elm"]);
    }

    #[test]
    fn links_are_followed_once_and_never_upwards() {
        let make = |street: &Path| {
            let above = street.parent().unwrap();
            house(&above.join("park/oak"));
            house(&street.join("elm"));
            symlink(above, street.join("all")).unwrap();
            symlink("elm", street.join("elm-again")).unwrap();
            symlink(above.join("park"), street.join("park")).unwrap();
            symlink(above.join("park"), street.join("park-again")).unwrap();
        };
        assert_eq!(found(make), ["elm", "park/oak"]);
    }

    #[test]
    fn a_listing_that_breaks_off_is_told() {
        let street = tempfile::tempdir().unwrap();
        house(&street.path().join("elm"));
        let listing = || street.path().read_dir().unwrap();
        assert_eq!(folders_of(listing()).unwrap().len(), 1);
        assert!(folders_of(listing().chain([Err(io::Error::other("the disk"))])).is_err());
    }

    #[test]
    fn what_is_too_deep_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let deep = (0..=DEEPEST).fold(folder.path().to_owned(), |path, _| path.join("a"));
        std::fs::create_dir_all(&deep).unwrap();
        assert_eq!(houses_below(folder.path()), Err(TooMuch::Deep(deep)));
    }
}
