//! From a path to the files of a house: what it includes, its address tables, its own classes and words, its ledger.

use std::collections::BTreeMap;
use std::io;
use std::path::Path;

use super::file::Last;
use super::folder::{Folder, Refusal};
use super::rounds::Loading;
use super::{Document, Limits, Problem, Sources};

/// The name of the root file in a house's folder.
pub(super) const ROOT: &str = "house.yaml";

/// What was read: the texts, what they say, and what is wrong with them.
pub type Loaded = (Sources, Vec<Document>, Vec<Problem>);

/// Why there is no house to read. Nothing else stops: what is wrong within files is told as problems.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// The path does not exist.
    #[error("there is no `{path}`")]
    Missing {
        /// The path as given.
        path: String,
    },
    /// A folder without a root file.
    #[error("`{path}` holds no `house.yaml`")]
    NoHouse {
        /// The folder as given.
        path: String,
    },
    /// Neither a folder nor a regular file.
    #[error("`{path}` is no regular file")]
    NotAFile {
        /// The path of the root file.
        path: String,
    },
    /// The root file is larger than a limit allows.
    #[error("`{path}` has more than {limit} bytes")]
    TooLarge {
        /// The path of the root file.
        path: String,
        /// Bytes allowed.
        limit: u64,
    },
    /// The root file is a link that leaves its folder.
    #[error("`{path}` is a link to a file outside its folder")]
    Outside {
        /// The path of the root file.
        path: String,
    },
    /// The system refused.
    #[error("cannot read `{path}`")]
    Unreadable {
        /// The path as given.
        path: String,
        /// The system's reason.
        #[source]
        cause: io::Error,
    },
}

impl LoadError {
    /// What to do next.
    #[must_use]
    pub fn help(&self) -> &'static str {
        match self {
            Self::Missing { .. } => "give the folder of a house, or its root file",
            Self::NoHouse { .. } => "give the folder that holds `house.yaml`, or a root file of another name",
            Self::NotAFile { .. } => "give the folder of a house, or its root file",
            Self::TooLarge { .. } => "is it a description? If so, raise the limits",
            Self::Outside { .. } => "give the file itself: what a house is made of lies in one folder",
            Self::Unreadable { .. } => "look at the file's permissions",
        }
    }
}

/// Reads a house: `root` is its folder, with a `house.yaml`, or its root file.
///
/// # Errors
/// When there is no root file, or it cannot be read at all. What is wrong within the files, and with files that
/// they name, is told as problems.
pub fn load(root: &Path, limits: &Limits) -> Result<Loaded, LoadError> {
    load_since(root, limits, None)
}

/// The same, after a last look at it: sound descriptions that have not changed are told as that, and not parsed.
///
/// # Errors
/// As [`load`].
pub fn load_since(root: &Path, limits: &Limits, last: Option<Last<'_>>) -> Result<Loaded, LoadError> {
    let shown = root.display().to_string();
    let refused = |cause: io::Error| {
        let path = shown.clone();
        if cause.kind() == io::ErrorKind::NotFound {
            LoadError::Missing { path }
        } else {
            LoadError::Unreadable { path, cause }
        }
    };
    let kind = root.metadata().map_err(refused)?;
    let mut file = shown.clone();
    let (folder, name) = if kind.is_dir() {
        file = root.join(ROOT).display().to_string();
        (root.to_owned(), ROOT.to_owned())
    } else {
        let name = root.file_name().and_then(|name| name.to_str());
        let name = name.ok_or_else(|| LoadError::NotAFile { path: shown.clone() })?;
        let folder = root.parent().filter(|folder| !folder.as_os_str().is_empty());
        (folder.unwrap_or(Path::new(".")).to_owned(), name.to_owned())
    };
    let folder = Folder::Disk(folder.canonicalize().map_err(refused)?);
    match folder.size(&name) {
        Ok(size) if size > limits.file_bytes => {
            return Err(LoadError::TooLarge { path: file, limit: limits.file_bytes });
        }
        Ok(_) => {}
        Err(Refusal::Missing) => return Err(LoadError::NoHouse { path: shown }),
        Err(Refusal::Outside) => return Err(LoadError::Outside { path: file }),
        Err(Refusal::NotAFile | Refusal::TooLarge) => return Err(LoadError::NotAFile { path: file }),
        Err(Refusal::Unreadable(cause)) => return Err(LoadError::Unreadable { path: file, cause }),
    }
    Ok(Loading::new(&folder, limits, last).run(&name))
}

impl Sources {
    /// Reads a house from texts with their paths, just as [`load`] reads one from disk. The root file is
    /// `house.yaml`, or the first text when none is called so.
    #[must_use]
    pub fn from_texts(texts: &[(&str, &str)]) -> Loaded {
        Self::from_texts_within(texts, &Limits::default())
    }

    /// Reads a house from texts in memory with other limits, as [`Sources::from_texts`] does.
    #[must_use]
    pub fn from_texts_within(texts: &[(&str, &str)], limits: &Limits) -> Loaded {
        let root = texts.iter().find(|(path, _)| *path == ROOT).or(texts.first());
        let root = root.map_or(ROOT, |(path, _)| *path);
        let folder = Folder::Memory(texts.iter().copied().collect::<BTreeMap<_, _>>());
        Loading::new(&folder, limits, None).run(root)
    }
}
