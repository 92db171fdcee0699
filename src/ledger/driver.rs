//! Ledgers brought together as texts: what a git merge driver and a command for an unmerged file do.

use super::entries::Ledger;
use super::format::write;
use super::identity::UniqueId;
use super::merge::{Built, Change, MergeError, merge};
use super::problem::Problem;
use super::read::read;
use super::resolve::{Keeps, resolve};
use super::unmerged::{Sides, unmerged_sides};
use crate::source::{self, FileId, Limits, parse};
use rustc_hash::FxHashSet;
use std::fmt;

/// A ledger as text, brought together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MergedText {
    /// The text of the ledger.
    pub text: String,
    /// What had to give way.
    pub changes: Vec<Change>,
}

/// Which of the texts it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Version {
    /// What both branches came from.
    Base,
    /// Of the branch that is merged into.
    Ours,
    /// Of the branch that is merged.
    Theirs,
    /// The one text there is.
    Both,
}

impl fmt::Display for Version {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Base => "the ledger that both branches came from",
            Self::Ours => "the ledger of the branch that is merged into",
            Self::Theirs => "the ledger of the branch that is merged",
            Self::Both => "the ledger",
        })
    }
}

/// Why texts could not be brought together.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MergeTextError {
    /// One of them is no ledger, or one that cannot be trusted.
    #[error("line {line} of {version} cannot be used")]
    Unreadable {
        /// Which one.
        version: Version,
        /// The first line with something wrong, from 1.
        line: usize,
        /// What the YAML reader says of it. The file of all places is 0.
        syntax: Vec<source::Problem>,
        /// What else is wrong with it.
        problems: Vec<Problem>,
    },
    /// The lines that git left of two branches are not two ledgers: it has merged others of their lines.
    #[error("the lines that git left of two branches are not two ledgers")]
    Tangled,
    /// They do not go together.
    #[error(transparent)]
    Merge(#[from] MergeError),
}

impl MergeTextError {
    /// What to do next.
    pub fn help(&self) -> &'static str {
        match self {
            Self::Unreadable { problems, .. }
                if problems.iter().any(|it| matches!(it, Problem::UnknownVersion { .. })) =>
            {
                "use the version of housewright that wrote it, or a later one"
            }
            Self::Unreadable { version: Version::Both, .. } => {
                "take `ledger.yaml` back from version control, then try again"
            }
            Self::Unreadable { .. } => "bring that branch's `ledger.yaml` into order there, then merge again",
            Self::Tangled => {
                "take the three ledgers from git: `git show OURS:./ledger.yaml > ours`, THEIRS into `theirs`, BASE into `base`. OURS and \
                 THEIRS are the two commits that were merged, `HEAD` and `MERGE_HEAD`, or `HEAD^1` and `HEAD^2` once the merge is \
                 committed, and BASE is what `git merge-base OURS THEIRS` says; `housewright ledger merge base ours theirs` then \
                 makes `ours` the ledger of both"
            }
            Self::Merge(MergeError::OtherHouse { .. }) => "merge only branches of one house",
            Self::Merge(MergeError::Exhausted { .. }) => "move appliances of this bridge to another one",
            Self::Merge(MergeError::Undecided { .. }) => {
                "name the folder of the build that the gateways have with `--out`; or, if you know which of the two they have, \
                 its key with `--keep`; or, if a number was changed by hand, take `ledger.yaml` back from version control"
            }
            Self::Merge(MergeError::OneId { .. }) => {
                "take the lines back from version control, or from the build that the gateways have: they were changed by hand"
            }
            Self::Merge(MergeError::NotTwice { .. }) => {
                "leave out `--keep`, or give the key as `ledger.yaml` has it"
            }
        }
    }
}

/// Three-way merge of texts, as git asks of a merge driver. An empty `base` is none: both branches made the file.
///
/// # Errors
///
/// [`MergeTextError`] if one of them is no sound ledger or they cannot be brought together. Git then leaves the conflict to
/// a person.
pub fn merge_texts(base: &str, ours: &str, theirs: &str, built: Built) -> Result<MergedText, MergeTextError> {
    let base = if base.trim().is_empty() { None } else { Some(sound(base, Version::Base)?) };
    let merged = merge(base.as_ref(), &sound(ours, Version::Ours)?, &sound(theirs, Version::Theirs)?, built)?;
    Ok(MergedText { text: write(&merged.ledger), changes: merged.changes })
}

/// Brings a ledger into order after a merge without this program: one in which git left the lines of both branches, or
/// one in which a merge of lines left numbers that were given twice. `built` is the branch that was built, where there are two;
/// `keeps` says who keeps a number, where there is one text.
///
/// # Errors
///
/// [`MergeTextError`] if it cannot be read otherwise.
pub fn resolve_text(text: &str, built: Built, keeps: Keeps<'_>) -> Result<MergedText, MergeTextError> {
    if let Some(Sides { ours, base, theirs }) = unmerged_sides(text) {
        // Lines outside the marks are of either branch, so that a side may have numbers and unique ids twice.
        let side = |text: &str| parted(text).ok_or(MergeTextError::Tangled);
        let base = base.as_deref().map(side).transpose()?;
        let merged = merge(base.as_ref(), &side(&ours)?, &side(&theirs)?, built)?;
        return Ok(MergedText { text: write(&merged.ledger), changes: merged.changes });
    }
    let (ledger, syntax, problems) = whole(text);
    match ledger {
        Some(ledger) if syntax.is_empty() => {
            let merged = resolve(&ledger, keeps)?;
            Ok(MergedText { text: write(&merged.ledger), changes: merged.changes })
        }
        _ => Err(unreadable(text, Version::Both, syntax, problems)),
    }
}

/// Reads the text of a ledger in which nothing is wrong.
///
/// # Errors
///
/// [`MergeTextError::Unreadable`] if something is.
pub fn sound_ledger(text: &str) -> Result<Ledger, MergeTextError> {
    sound(text, Version::Both)
}

fn sound(text: &str, version: Version) -> Result<Ledger, MergeTextError> {
    match whole(text) {
        (Some(ledger), syntax, problems) if syntax.is_empty() && problems.is_empty() => Ok(ledger),
        (_, syntax, problems) => Err(unreadable(text, version, syntax, problems)),
    }
}

/// Reads what git left of one side: a unique id that is in use and retired at once is in use.
fn parted(text: &str) -> Option<Ledger> {
    let (ledger, syntax, problems) = whole(text);
    let is_bearable =
        |it: &Problem| matches!(it, Problem::LivingAndRetired { .. } | Problem::SameNumber { .. });
    let mut ledger = ledger.filter(|_| syntax.is_empty() && problems.iter().all(is_bearable))?;
    let living: FxHashSet<UniqueId> = ledger.living().map(|(.., identity)| identity.unique_id).collect();
    for parts in ledger.retired.values_mut() {
        parts.retain(|(_, identity)| !living.contains(&identity.unique_id));
    }
    ledger.retired.retain(|_, parts| !parts.is_empty());
    Some(ledger)
}

fn unreadable(
    text: &str,
    version: Version,
    syntax: Vec<source::Problem>,
    problems: Vec<Problem>,
) -> MergeTextError {
    let places = syntax.iter().map(source::Problem::place).chain(problems.iter().map(Problem::place));
    let first = places.map(|place| place.start as usize).min().unwrap_or(0);
    let line = 1 + text.bytes().take(first).filter(|byte| *byte == b'\n').count();
    MergeTextError::Unreadable { version, line, syntax, problems }
}

fn whole(text: &str) -> (Option<Ledger>, Vec<source::Problem>, Vec<Problem>) {
    let file = FileId(0);
    let (tree, syntax) = parse(text, file, &Limits::default());
    let (ledger, problems) = read(text, file, tree.as_ref(), None);
    (ledger, syntax, problems)
}
