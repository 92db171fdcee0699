//! The two sides of a review, wherever they come from: build folders, bridge JSON files, houses, git revisions.
//!
//! A side that cannot be read whole is told as such; it is never taken for a side without appliances.

use super::beside::{has_ledger, lost_ledger, recalled};
use super::definitions::written;
use super::forgotten::forgotten;
use super::history;
use super::unshown::unshown;
use crate::Inspection;
use crate::bridge::lower;
use crate::emit::{self, BRIDGE_ENDING, Digest, ManifestError};
use crate::findings::Severity;
use crate::ledger::{FILE_NAME, Ledger};
use crate::review::{
    self, ApplyError, Build, BuildFile, Compared, Origin, OriginKind, Review, Unread, Unshown,
};
use crate::source::{self, Limits};
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
    /// A house, a build folder or a bridge JSON as it was at a git revision.
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

    /// What is known of it before it is read.
    fn origin(&self) -> Origin {
        let (kind, given) = match self {
            Self::Folder(path) => (OriginKind::BuildFolder, path.display().to_string()),
            Self::File(path) => (OriginKind::BridgeJson, path.display().to_string()),
            Self::House(path) => (OriginKind::House, path.display().to_string()),
            Self::Revision { revision, house } => {
                (OriginKind::Revision, format!("{revision}:{}", house.display()))
            }
        };
        Origin::new(kind, Some(given))
    }
}

/// What was read of a side.
#[derive(Default)]
struct Definitions {
    files: Vec<BuildFile<'static>>,
    /// The ledger as its file has it; none where there is no such file.
    ledger: Option<Ledger>,
    /// The ledger as a build leaves it.
    next: Option<Ledger>,
    /// What is described and not shown, where that is known.
    unshown: Option<Vec<Unshown>>,
    /// Where the files lie until they are read, if they are of a revision.
    _there: Option<history::House>,
}

/// Reviews two sides. A house without a ledger of its own is built on the other side's; but a ledger that a revision or a
/// build had, and that is gone, is told.
pub fn compare(old: &Side, new: &Side, limits: &Limits) -> Review {
    let (old, new) = both(old, new, limits);
    reviewed(old, new, review::read_both).0
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
    let (old, new) = both(old, new, limits);
    // A patch is made of whole definitions.
    let (review, before) = reviewed(old, new, |old, new| (Build::read(old), Build::read(new)));
    let patch = review::json_patch(&review, &before.definitions())?;
    Ok((review, patch))
}

/// The review of two sides whose definitions are read in this way, and the old one as it was read.
fn reviewed(
    (old, old_origin): Told,
    (new, new_origin): Told,
    read: impl FnOnce(Vec<BuildFile<'static>>, Vec<BuildFile<'static>>) -> (Build, Build),
) -> (Review, Build) {
    let ledgers = old.ledger.as_ref().zip(new.next.as_ref());
    let lost = ledgers.and_then(|(before, after)| forgotten(before, after, &old_origin));
    let (before, after) = read(old.files, new.files);
    let (before, after) = (before.with_unshown(old.unshown), after.with_unshown(new.unshown));
    let compared = Some(Compared { old: old_origin, new: new_origin });
    let mut review = Review { compared, ..review::review(&before, &after) };
    review.unread.extend(lost.map(|lost| (review::Side::New, lost)));
    (review, before)
}

/// A side as it was read, and what it is.
type Told = (Definitions, Origin);

fn both(old: &Side, new: &Side, limits: &Limits) -> (Told, Told) {
    let folder = if let Side::Folder(folder) = old { Some(folder.as_path()) } else { None };
    let (mut before, mut origin) = read(old, limits, Last::default());
    if before.is_unbuilt() && may_have_ledger(new) {
        let after = read(new, limits, Last::default());
        if after.0.ledger.is_some() {
            // Nobody has seen the old side: it has what the new one has, and nothing of it can be lost.
            (before, origin) = read(old, limits, Last { ledger: after.0.next.as_ref(), ..Last::default() });
            origin.unbuilt = true;
            return ((before, origin), after);
        }
    }
    let is_revision = matches!(old, Side::Revision { .. });
    let last = Last {
        ledger: before.next.as_ref(),
        folder,
        ledger_of: before.ledger.as_ref().and(origin.given.as_deref()).filter(|_| is_revision),
    };
    let after = read(new, limits, last);
    ((before, origin), after)
}

/// Whether a side may be a house with a ledger.
fn may_have_ledger(side: &Side) -> bool {
    match side {
        Side::House(house) => folder_of(house).join(FILE_NAME).is_file(),
        Side::Revision { .. } => true,
        Side::Folder(_) | Side::File(_) => false,
    }
}

/// The folder of a house that is given by it or by its root file.
fn folder_of(house: &Path) -> &Path {
    if house.is_dir() { house } else { house.parent().unwrap_or(house) }
}

impl Definitions {
    /// Whether it is a house that was never built.
    fn is_unbuilt(&self) -> bool {
        self.next.is_some() && self.ledger.is_none()
    }
}

/// What came before a side.
#[derive(Clone, Copy, Default)]
struct Last<'a> {
    /// The ledger that it left.
    ledger: Option<&'a Ledger>,
    /// The folder of the build, which may know what the side's own ledger has forgotten.
    folder: Option<&'a Path>,
    /// The revision whose ledger it was: the side must have one, too.
    ledger_of: Option<&'a str>,
}

fn read(side: &Side, limits: &Limits, last: Last<'_>) -> Told {
    let mut origin = side.origin();
    let name = origin.given.clone().unwrap_or_default();
    let read = match side {
        Side::Folder(folder) => match holds_house(folder) {
            Some(why) => Err(unread(&name, why, NAME_IT.to_owned())),
            None => Ok(folder_side(folder, (&name, folder), limits, &mut origin)),
        },
        Side::File(path) => file(path, limits, &mut origin),
        Side::House(house) => house_side(house, &name, limits, (last, None)),
        Side::Revision { revision, house } => match history::at(revision, house, limits) {
            Ok(there) => of_revision(there, &name, (limits, last), &mut origin),
            Err(error) => Err(unread(&name, chain(&error), error.help().to_owned())),
        },
    };
    let nothing = |unread| Definitions { files: vec![not_there(unread)], ..Definitions::default() };
    (read.unwrap_or_else(nothing), origin)
}

/// What to do where a folder of houses was given.
const NAME_IT: &str = "name the house itself";

/// What a folder is that is neither a build nor a house, and has a house somewhere below.
fn holds_house(folder: &Path) -> Option<String> {
    if folder.join(emit::MANIFEST_NAME).is_file() || source::is_house(folder) {
        return None;
    }
    let house = source::houses_below(folder).ok()?.into_iter().find(|house| source::is_house(house))?;
    Some(format!("it is neither a build nor a house, but holds the house `{}`", house.display()))
}

/// A house, a build folder or a bridge JSON of a revision.
fn of_revision(
    there: history::House,
    name: &str,
    (limits, last): (&Limits, Last<'_>),
    origin: &mut Origin,
) -> Result<Definitions, Unread> {
    let path = there.path();
    let side = Side::of(&path.display().to_string());
    origin.commit.clone_from(&there.commit);
    let read = match side {
        Ok(Side::File(path)) => {
            origin.kind = OriginKind::BridgeJson;
            file(&path, limits, origin)
        }
        Ok(Side::Folder(folder))
            if folder.join(emit::MANIFEST_NAME).is_file() && !folder.join("house.yaml").is_file() =>
        {
            origin.kind = OriginKind::BuildFolder;
            Ok(folder_side(&folder, (name, Path::new(name)), limits, origin))
        }
        _ => {
            origin.kind = OriginKind::House;
            house_side(&path, name, limits, (last, Some(&there)))
        }
    };
    match read {
        Ok(read) => Ok(Definitions { _there: Some(there), ..read }),
        Err(unread) => Err(Unread { why: there.without_path(&unread.why), ..unread }),
    }
}

fn folder_side(
    folder: &Path,
    (name, shown): (&str, &Path),
    limits: &Limits,
    origin: &mut Origin,
) -> Definitions {
    let (files, unshown) = built(folder, (name, shown), limits, origin);
    Definitions { files, unshown, ..Definitions::default() }
}

/// The definitions of a build folder, each of which can be had if it is as it was built, and what cannot be believed.
/// `shown` is the folder as people know it. What its manifest says of the build is noted in its origin; what it says of
/// appliances that were not shown is given.
pub(crate) fn built(
    folder: &Path,
    (name, shown): (&str, &Path),
    limits: &Limits,
    origin: &mut Origin,
) -> (Vec<BuildFile<'static>>, Option<Vec<Unshown>>) {
    let believed = emit::believed(folder, limits.file_bytes);
    if let Some((program, manifest)) = &believed.made {
        origin.program = Some(format!("{} {}", program.name, program.version));
        origin.sha256 = Some(manifest.to_string());
    }
    let (folder, side) = (shown.to_owned(), name.to_owned());
    let unread = move |file: &str, fault: &ManifestError| Unread {
        name: side.clone(),
        bridge: file.strip_suffix(BRIDGE_ENDING).map(str::to_owned),
        why: chain(fault),
        help: fault.help(&folder),
    };
    let mut files: Vec<_> =
        believed.faults.iter().map(|(file, fault)| not_there(unread(file, fault))).collect();
    files.extend(believed.definitions.into_iter().map(|definition| {
        let (name, unread) = (definition.name.clone(), unread.clone());
        BuildFile::when_due(&name, move || {
            definition.read().map_err(|fault| unread(&definition.name, &fault))
        })
    }));
    (files, believed.unshown)
}

/// A file that cannot be had.
fn not_there(unread: Unread) -> BuildFile<'static> {
    BuildFile::when_due("", || Err(unread))
}

fn file(path: &Path, limits: &Limits, origin: &mut Origin) -> Result<Definitions, Unread> {
    let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    match source::read_single(path, limits) {
        Ok(bytes) => {
            origin.sha256 = Some(Digest::of(&bytes).to_string());
            Ok(Definitions { files: vec![BuildFile::of(&name, bytes)], ..Definitions::default() })
        }
        Err(cause) => Err(unread(&name, cause.to_string(), "give a bridge JSON that can be read".to_owned())),
    }
}

/// A house; of a revision only if all of it could be had that it names.
fn house_side(
    house: &Path,
    name: &str,
    limits: &Limits,
    (last, there): (Last<'_>, Option<&history::House>),
) -> Result<Definitions, Unread> {
    let loaded = source::load(house, limits).map_err(|error| match holds_house(house) {
        Some(why) => unread(name, why, NAME_IT.to_owned()),
        None => unread(name, chain(&error), error.help().to_owned()),
    })?;
    if let Some((why, help)) = there.and_then(|there| there.lacks(&loaded.0)) {
        return Err(unread(name, why, help));
    }
    let mut inspection = crate::inspect(loaded, limits);
    let ledger = has_ledger(&inspection).then(|| inspection.ledger.clone());
    if let Some(fault) = ledger_lost(&inspection, house, name, last) {
        return Err(fault);
    }
    if let Some(last) =
        last.ledger.filter(|last| inspection.ledger.is_empty() && last.house() == inspection.ledger.house())
    {
        inspection.ledger = last.clone();
    }
    if let Some(recalled) = last.folder.and_then(|folder| recalled(&inspection, folder)) {
        inspection.ledger = recalled.ledger;
    }
    let checked = inspection.judged.checked.as_ref().ok_or_else(|| {
        let help = "`housewright check` shows what is wrong in it".to_owned();
        unread(name, first_error(&inspection), help)
    })?;
    let lowered = lower(checked, &inspection.ledger).map_err(|full| {
        let why = format!("the bridge `{}` has given all its endpoint numbers", full.bridge);
        unread(name, why, "move appliances to another bridge".to_owned())
    })?;
    let files = written(&lowered).into_iter().map(|(name, bytes)| BuildFile::of(&name, bytes)).collect();
    let unshown = Some(unshown(checked.plan(), &lowered.ledger));
    Ok(Definitions { files, ledger, next: Some(lowered.ledger), unshown, _there: None })
}

/// That a house had a ledger before, and has none now: it would not be built as it was.
fn ledger_lost(inspection: &Inspection, house: &Path, name: &str, last: Last<'_>) -> Option<Unread> {
    if let Some(lost) = last.folder.and_then(|out| lost_ledger(inspection, folder_of(house), out)) {
        return Some(unread(name, lost.to_string(), lost.help()));
    }
    let before = last.ledger_of.filter(|_| !has_ledger(inspection))?;
    let help = "take it back from version control: without it every appliance would be a new one, and lose its rooms, scenes \
                and automations";
    Some(unread(name, format!("`{FILE_NAME}` is gone, and `{before}` has one"), help.to_owned()))
}

fn first_error(inspection: &Inspection) -> String {
    let errors = inspection.judged.findings.iter().filter(|finding| finding.severity == Severity::Error);
    let count = inspection.judged.summary.errors;
    match errors.clone().next() {
        Some(first) => {
            let place = first.primary.place;
            let at = inspection.sources.line_column(place.file, place.start);
            let path = inspection.sources.path(place.file);
            let many = if count == 1 { "1 error".to_owned() } else { format!("{count} errors, the first") };
            format!("the house has {many} at {path}:{}: {}", at.line, first.message)
        }
        None => "the house has errors".to_owned(),
    }
}

fn unread(name: &str, why: String, help: String) -> Unread {
    Unread { name: name.to_owned(), bridge: None, why, help }
}

pub(super) fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(next) = cause {
        text = format!("{text}: {next}");
        cause = next.source();
    }
    text
}
