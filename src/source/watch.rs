//! Whether the files of a house have changed since they were read: what the system says of them, looked at again and
//! again.
//!
//! By looking and not by being told: that is the same on every system and on network disks, and an editor that writes a
//! new file and renames it over the old one is seen like any other. A house of 100,000 appliances takes some
//! milliseconds to look at.

use super::{Limits, Sources, unreached};
use rustc_hash::{FxHashMap, FxHashSet};
use std::fs::Metadata;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// How coarse the times of files can be: a file that changes again so soon may show the time it had.
const TICK: Duration = Duration::from_millis(20);

/// What the files of a house looked like when they were read.
#[derive(Clone, Debug)]
pub struct Watch {
    folder: PathBuf,
    /// Files, by their paths in the house's folder.
    files: Vec<(String, Option<Stamp>)>,
    /// Folders in which files can come or go.
    folders: Vec<(String, Option<Stamp>)>,
    /// Whether one of them was changed so shortly before it was read that a later change may not show.
    unsettled: bool,
}

/// What changes whenever a file does.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Stamp {
    changed: Option<SystemTime>,
    bytes: u64,
    /// On Unix, which file it is and when anything about it changed.
    inode: (u64, i64, i64),
}

/// What is different.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Changed {
    /// Files that were read and are not as they were, by their paths in the house's folder.
    pub files: Vec<String>,
    /// Whether files or folders came or went, which may have nothing to do with the house, or a file was changed while
    /// it was read.
    pub others: bool,
}

impl Changed {
    /// Whether nothing is different.
    pub fn is_none(&self) -> bool {
        self.files.is_empty() && !self.others
    }
}

impl Watch {
    /// What the files of a house look like: those that were read, and every folder in the house's own in which a file
    /// could come; hidden folders and those of builds are left out. `root` is the house's folder or its root file, `begun` the time
    /// before the files were read, `now` the time after it.
    pub fn new(root: &Path, sources: &Sources, limits: &Limits, begun: SystemTime, now: SystemTime) -> Self {
        let name = root.file_name().filter(|_| !root.is_dir());
        let folder = match (name, root.parent()) {
            (None, _) => root,
            (Some(_), Some(parent)) if !parent.as_os_str().is_empty() => parent,
            // A name alone is one where the program runs.
            (Some(_), _) => Path::new("."),
        };
        let mut names: Vec<String> = sources.files().map(|file| sources.path(file).to_owned()).collect();
        if names.is_empty() {
            names.push(name.map_or("house.yaml".into(), |name| name.to_string_lossy().into_owned()));
        }
        let mut inner = vec![String::new()];
        let mut entries_left = limits.folder_entries;
        let mut beside = Vec::new();
        folders(folder, "", limits.folders_deep, &mut entries_left, (&mut inner, &mut beside));
        // What nothing includes is looked at too: it may become a part of the description.
        let known: FxHashSet<&str> = names.iter().map(String::as_str).collect();
        beside.retain(|path| !known.contains(path.as_str()));
        names.append(&mut beside);
        let mut watch = Self {
            folder: folder.to_owned(),
            files: stamps(folder, names.into_iter()),
            folders: stamps(folder, inner.into_iter()),
            unsettled: false,
        };
        let late = |(_, stamp): &(String, Option<Stamp>)| {
            let changed = stamp.as_ref().and_then(|stamp| stamp.changed);
            changed.is_some_and(|changed| changed + TICK >= begun && changed <= now)
        };
        watch.unsettled = watch.files.iter().chain(&watch.folders).any(late);
        watch
    }

    /// The same files as they are now.
    #[must_use]
    pub fn anew(&self) -> Self {
        let now =
            |of: &[(String, Option<Stamp>)]| stamps(&self.folder, of.iter().map(|(path, _)| path.clone()));
        Self {
            folder: self.folder.clone(),
            files: now(&self.files),
            folders: now(&self.folders),
            unsettled: false,
        }
    }

    /// The files of a watch before this one that are different in this one, or gone from it.
    pub fn changed_since(&self, before: &Self) -> Vec<String> {
        let now: FxHashMap<&str, &Option<Stamp>> =
            self.files.iter().map(|(path, stamp)| (path.as_str(), stamp)).collect();
        let differs = |(path, stamp): &&(String, Option<Stamp>)| now.get(path.as_str()) != Some(&stamp);
        before.files.iter().filter(differs).map(|(path, _)| path.clone()).collect()
    }

    /// What is different now. A file that is not there is different from one that was, and the same as one that was not.
    pub fn changed(&self) -> Changed {
        let differs = |(path, before): &&(String, Option<Stamp>)| stamp(&self.folder.join(path)) != *before;
        Changed {
            files: self.files.iter().filter(differs).map(|(path, _)| path.clone()).collect(),
            others: self.unsettled || self.folders.iter().any(|folder| differs(&folder)),
        }
    }
}

fn stamps(folder: &Path, paths: impl Iterator<Item = String>) -> Vec<(String, Option<Stamp>)> {
    paths
        .map(|path| {
            let stamp = stamp(&folder.join(&path));
            (path, stamp)
        })
        .collect()
}

fn stamp(path: &Path) -> Option<Stamp> {
    let data = path.metadata().ok()?;
    Some(Stamp { changed: data.modified().ok(), bytes: data.len(), inode: inode(&data) })
}

#[cfg(unix)]
fn inode(data: &Metadata) -> (u64, i64, i64) {
    use std::os::unix::fs::MetadataExt as _;
    (data.ino(), data.ctime(), data.ctime_nsec())
}

#[cfg(not(unix))]
fn inode(_data: &Metadata) -> (u64, i64, i64) {
    (0, 0, 0)
}

/// All folders within a folder and the YAML files in them, but for hidden ones, links, and those that hold a build.
fn folders(
    root: &Path,
    within: &str,
    deep: usize,
    entries_left: &mut usize,
    (found, beside): (&mut Vec<String>, &mut Vec<String>),
) {
    let Ok(entries) = root.join(within).read_dir() else { return };
    for entry in entries.flatten() {
        *entries_left = entries_left.saturating_sub(1);
        if *entries_left == 0 {
            return;
        }
        let Some(name) = entry.file_name().to_str().map(str::to_owned) else { continue };
        let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
        if name.starts_with('.') || is_folder && entry.path().join("manifest.json").is_file() {
            continue;
        }
        let path = if within.is_empty() { name } else { format!("{within}/{name}") };
        if !is_folder {
            beside.extend(Some(path).filter(|path| unreached::is_yaml(path)));
            continue;
        }
        found.push(path.clone());
        if deep > 1 {
            folders(root, &path, deep - 1, entries_left, (found, beside));
        }
    }
}
