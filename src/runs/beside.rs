//! What the build beside a house says of the house's ledger, whoever asks: a check, a build or a review.

use super::build::BuildError;
use super::compare::chain;
use super::recall::{self, Doubt, RecallError, Recalled};
use crate::bridge::lower;
use crate::emit::{self, EmitError, Manifest};
use crate::resolve::Plan;
use crate::source::{FileKind, Sources};
use crate::{Inspection, ledger};
use std::path::{Path, PathBuf};

/// The house was built, and the ledger that remembers what was given then is gone.
#[derive(Debug, thiserror::Error)]
#[error("`{ledger}` is gone, and `{out}` holds a build of this house")]
pub struct LedgerLost {
    /// Where the ledger was.
    pub ledger: PathBuf,
    /// The folder of the build.
    pub out: PathBuf,
}

impl LedgerLost {
    pub(super) fn of(house: &Path, out: &Path) -> Self {
        Self { ledger: house.join(ledger::FILE_NAME), out: out.to_owned() }
    }

    /// What to do next.
    pub fn help(&self) -> String {
        format!(
            "take `{}` back from version control: without it every appliance would be a new one, and lose its rooms, \
             scenes and automations; or, if that is wanted, move `{}` away first",
            self.ledger.display(),
            self.out.display()
        )
    }
}

/// The ledger with what the build in a folder shows of identities: as a build over it has it. What cannot be read says
/// nothing: who compares with that build tells it.
pub(crate) fn recalled(inspection: &Inspection, out: &Path) -> Option<Recalled> {
    recall(inspection, out)?.ok()
}

/// The same, or why that build cannot be asked; none where there is nothing to ask.
fn recall(inspection: &Inspection, out: &Path) -> Option<Result<Recalled, RecallError>> {
    let plan = inspection.judged.plan()?;
    let id = plan.house.known_id()?;
    let last = emit::read_manifest(out).ok().filter(|last| last.house == id)?;
    let as_read = ledger_bytes(&inspection.sources)?;
    Some(recall::recall(out, &last, (&inspection.ledger, as_read), plan))
}

/// What is to say of the ledger beside the usual output folder of its house.
pub fn doubts(inspection: &Inspection, house: &Path) -> Vec<Doubt> {
    if let Some(lost) = doubt_of_lost_ledger(inspection, house, &usual_out(house)) {
        return vec![lost];
    }
    let doubted = inspection.judged.doubts_ledger(&inspection.sources);
    let Some(plan) = inspection.judged.plan().filter(|_| !doubted) else { return Vec::new() };
    let out = usual_out(house);
    let refused = refused(plan, &out);
    let mut doubts: Vec<Doubt> =
        refused.iter().map(|error| Doubt { message: chain(error), help: error.help() }).collect();
    let recalled = match recall(inspection, &out) {
        Some(Ok(recalled)) => recalled,
        Some(Err(cause)) => {
            let unread = BuildError::LastUnread { ledger: house.join(ledger::FILE_NAME), out, cause };
            doubts.push(Doubt { message: unread.to_string(), help: unread.help() });
            return doubts;
        }
        None => return doubts,
    };
    // Who has what after a build shows when it is given.
    let checked = inspection.judged.checked.as_ref().filter(|_| recalled.had_forgotten());
    let next =
        checked.and_then(|checked| lower(checked, &recalled.ledger).ok()).map(|lowered| lowered.ledger);
    doubts.extend(recalled.doubts(&out, next.as_ref()));
    doubts
}

/// What is to say where a ledger is gone: what the checks find then may come of nothing else.
pub fn doubt_of_lost_ledger(inspection: &Inspection, house: &Path, out: &Path) -> Option<Doubt> {
    lost_ledger(inspection, house, out).map(|lost| Doubt { message: lost.to_string(), help: lost.help() })
}

/// That the ledger is gone while a folder holds a build of this house, where it is so.
pub(crate) fn lost_ledger(inspection: &Inspection, house: &Path, out: &Path) -> Option<LedgerLost> {
    let id = inspection.judged.plan()?.house.known_id()?;
    // What is there and cannot be read (a folder, a link that is not followed, far too much) is told as what it is.
    let is_there = house.join(ledger::FILE_NAME).symlink_metadata().is_ok();
    if ledger_bytes(&inspection.sources).is_some() || is_there {
        return None;
    }
    let last = emit::read_manifest(out).ok()?;
    (last.house == id && lacks_ledger(&last, &inspection.sources)).then(|| LedgerLost::of(house, out))
}

/// Whether a house has a ledger.
pub(crate) fn has_ledger(inspection: &Inspection) -> bool {
    ledger_bytes(&inspection.sources).is_some()
}

/// Why a build into a folder would be refused for the build that is there: it is another house's, cannot be read, or has
/// something in it that no build has made. A folder that no build was ever in is not looked at: who builds elsewhere may have it
/// for something else.
fn refused(plan: &Plan, out: &Path) -> Option<EmitError> {
    match emit::last_build(out, plan.house.known_id()?) {
        Err(EmitError::Foreign { .. }) if emit::read_manifest(out).is_err() => None,
        Err(
            error @ (EmitError::OtherHouse { .. }
            | EmitError::Manifest { .. }
            | EmitError::NoManifest { .. }
            | EmitError::Foreign { .. }
            | EmitError::Read { .. }),
        ) => Some(error),
        Ok(_) | Err(_) => None,
    }
}

/// Whether a build had a ledger and its house has none now. The ledger is put in place before the build, so that a build
/// which was interrupted leaves no such state.
pub(super) fn lacks_ledger(last: &Manifest, sources: &Sources) -> bool {
    ledger_bytes(sources).is_none() && last.ledger.sha256 != emit::digest_source(&[])
}

/// The bytes of a house's ledger; none where it has none.
pub(super) fn ledger_bytes(sources: &Sources) -> Option<&[u8]> {
    sources.files().find(|file| sources.kind(*file) == FileKind::Ledger).map(|file| sources.bytes(file))
}

/// The output folder of a house where none is named: `build` beside the root file.
pub fn usual_out(house: &Path) -> PathBuf {
    house.join("build")
}
