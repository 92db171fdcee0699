//! The two sides of a review, wherever they come from: build folders, bridge JSON files, houses, git revisions.
//!
//! A side that cannot be read whole is told as such; it is never taken for a side without appliances.

use crate::bridge::lower;
use crate::build::written;
use crate::emit::{self, BRIDGE_ENDING, Believed, ManifestError};
use crate::findings::Severity;
use crate::ledger::Ledger;
use crate::review::{self, ApplyError, Build, BuildFile, Review, Unread};
use crate::source::{self, Limits};
use crate::{Inspection, history};
use std::path::{Path, PathBuf};

/// One side of a review.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Side {
    /// A build folder, with its manifest.
    Folder(PathBuf),
    /// One bridge JSON.
    File(PathBuf),
    /// A house: its folder or its root file.
    House(PathBuf),
    /// A house as it was at a git revision.
    Revision {
        /// The revision, as git names it.
        revision: String,
        /// The house's folder in the work tree.
        house: PathBuf,
    },
}

/// A path that is no side of a review.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{word}` is no build folder, bridge JSON, house or `REVISION:HOUSE`")]
pub struct NoSide {
    /// As written.
    pub word: String,
}

impl Side {
    /// What a word of the command line means.
    ///
    /// # Errors
    /// [`NoSide`] when it is none of them.
    pub fn of(word: &str) -> Result<Self, NoSide> {
        let path = Path::new(word);
        if path.is_dir() {
            let has = |name: &str| path.join(name).is_file();
            let build = has(emit::MANIFEST_NAME) || !has("house.yaml");
            return Ok(if build { Self::Folder(path.to_owned()) } else { Self::House(path.to_owned()) });
        }
        if path.is_file() {
            let json = path.extension().is_some_and(|extension| extension == "json");
            return Ok(if json { Self::File(path.to_owned()) } else { Self::House(path.to_owned()) });
        }
        match word.split_once(':') {
            Some((revision, house)) if !revision.is_empty() => {
                let house = if house.is_empty() { "." } else { house };
                Ok(Self::Revision { revision: revision.to_owned(), house: house.into() })
            }
            Some(_) | None => Err(NoSide { word: word.to_owned() }),
        }
    }
}

/// What was read of a side.
#[derive(Debug, Default)]
struct Definitions {
    files: Vec<(String, Vec<u8>)>,
    unread: Vec<Unread>,
    next: Option<Ledger>,
}

/// Reviews two sides. A new side without a ledger of its own is built on the old side's.
pub fn compare(old: &Side, new: &Side, limits: &Limits) -> Review {
    let old = read(old, limits, None);
    let new = read(new, limits, old.next.as_ref());
    compared(old, new)
}

/// Reviews two sides, and gives the review as a JSON patch of the old side's bridge JSONs by their keys too.
///
/// # Errors
/// If the old side cannot be read whole.
pub fn compare_as_patch(
    old: &Side,
    new: &Side,
    limits: &Limits,
) -> Result<(Review, serde_json::Value), ApplyError> {
    let old = read(old, limits, None);
    let new = read(new, limits, old.next.as_ref());
    let definitions: Vec<_> = Build::read(&files(&old)).definitions().cloned().collect();
    let review = compared(old, new);
    let patch = review::json_patch(&review, &definitions)?;
    Ok((review, patch))
}

fn compared(old: Definitions, new: Definitions) -> Review {
    let (mut before, mut after) = review::read_both(&files(&old), &files(&new));
    let told =
        |build: &mut Build<'_>, unread: Vec<Unread>| unread.into_iter().for_each(|one| build.add_unread(one));
    told(&mut before, old.unread);
    told(&mut after, new.unread);
    review::review(&before, &after)
}

fn files(side: &Definitions) -> Vec<BuildFile<'_>> {
    side.files.iter().map(|(name, bytes)| BuildFile { name, bytes }).collect()
}

fn read(side: &Side, limits: &Limits, last: Option<&Ledger>) -> Definitions {
    match side {
        Side::Folder(folder) => {
            let (files, unread) = built(folder, &folder.display().to_string());
            Definitions { files, unread, next: None }
        }
        Side::File(path) => file(path, limits),
        Side::House(house) => house_side(house, &house.display().to_string(), limits, last),
        Side::Revision { revision, house } => {
            let name = format!("{revision}:{}", house.display());
            match history::at(revision, house, limits) {
                Ok(there) => {
                    let mut side = house_side(&there.path(), &name, limits, last);
                    for unread in &mut side.unread {
                        unread.why = there.without_path(&unread.why);
                    }
                    side
                }
                Err(error) => unread(&name, chain(&error), error.help().to_owned()),
            }
        }
    }
}

/// The definitions of a build folder that are as they were built, and what cannot be read or believed of the others.
pub(crate) fn built(folder: &Path, name: &str) -> (Vec<(String, Vec<u8>)>, Vec<Unread>) {
    let Believed { definitions, faults } = emit::read_believed(folder);
    let unread = |(file, fault): (String, ManifestError)| Unread {
        name: name.to_owned(),
        bridge: file.strip_suffix(BRIDGE_ENDING).map(str::to_owned),
        why: chain(&fault),
        help: fault.help(folder),
    };
    (definitions, faults.into_iter().map(unread).collect())
}

fn file(path: &Path, limits: &Limits) -> Definitions {
    let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    match source::read_single(path, limits) {
        Ok(bytes) => Definitions { files: vec![(name, bytes)], ..Definitions::default() },
        Err(cause) => unread(&name, cause.to_string(), "give a bridge JSON that can be read".to_owned()),
    }
}

fn house_side(house: &Path, name: &str, limits: &Limits, last: Option<&Ledger>) -> Definitions {
    let loaded = match source::load(house, limits) {
        Ok(loaded) => loaded,
        Err(error) => return unread(name, chain(&error), error.help().to_owned()),
    };
    let mut inspection = crate::inspect(loaded, limits);
    if let Some(last) =
        last.filter(|last| inspection.ledger.is_empty() && last.house() == inspection.ledger.house())
    {
        inspection.ledger = last.clone();
    }
    let Some(checked) = inspection.judged.checked.as_ref() else {
        return unread(
            name,
            first_error(&inspection),
            "`housewright check` shows what is wrong in it".to_owned(),
        );
    };
    match lower(checked, &inspection.ledger) {
        Ok(lowered) => {
            Definitions { files: written(&lowered), unread: Vec::new(), next: Some(lowered.ledger) }
        }
        Err(full) => unread(
            name,
            format!("the bridge `{}` has given all its endpoint numbers", full.bridge),
            "move appliances to another bridge".to_owned(),
        ),
    }
}

fn first_error(inspection: &Inspection) -> String {
    let errors = inspection.judged.findings.iter().filter(|finding| finding.severity == Severity::Error);
    let count = inspection.judged.summary.errors;
    match errors.clone().next() {
        Some(first) => {
            let place = first.primary.place;
            let at = inspection.sources.line_column(place.file, place.start);
            let path = inspection.sources.path(place.file);
            format!("the house has {count} errors, the first at {path}:{}: {}", at.line, first.message)
        }
        None => "the house has errors".to_owned(),
    }
}

fn unread(name: &str, why: String, help: String) -> Definitions {
    let unread = Unread { name: name.to_owned(), bridge: None, why, help };
    Definitions { unread: vec![unread], ..Definitions::default() }
}

fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(next) = cause {
        text = format!("{text}: {next}");
        cause = next.source();
    }
    text
}
