//! From a checked house to a build in its folder: lowering, the review against the build that is replaced, and the
//! files, all or nothing.

use super::beside::{LedgerLost, lacks_ledger, ledger_bytes, lost_ledger, usual_out};
use super::compare;
use super::definitions::{name, streamed, text};
use super::recall::{self, Doubt, RecallError, Recalled};
use super::unshown::unshown;
use crate::bridge::definition::VERSION as BRIDGE_VERSION;
use crate::bridge::{Lowered, definition, lower};
use crate::emit::{
    self, Content, EmitError, LedgerText, Lock, Manifest, Outcome, Output, Patience, Role, SourceFile, Target,
};
use crate::findings::some;
use crate::ledger::{self, Exhausted, Ledger};
use crate::pieces;
use crate::resolve::Plan;
use crate::review::{
    self, AcceptList, BuildFile, Compared, Consequence, Gate, Names, Origin, OriginKind, Review, Unshown,
    forms, review_ledgers,
};
use crate::rules::Checked;
use crate::source::{FileId, FileKind, Limits, Sources};
use crate::{Inspection, house};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Where a build goes, and what stops it.
#[derive(Debug)]
pub struct Order<'a> {
    /// The house's folder.
    pub house: &'a Path,
    /// The output folder.
    pub out: &'a Path,
    /// Changes with this consequence or a worse one stop the build.
    pub stop_at: Option<Consequence>,
    /// What the owner agreed to.
    pub accepted: &'a AcceptList,
}

/// What came of it.
#[derive(Debug)]
pub struct Built {
    /// What was written; none where a gate is closed and nothing was.
    pub outcome: Option<Box<Outcome>>,
    /// What changed, and how the gate was passed. None where nothing was built before; two where the last build could not
    /// be read whole.
    pub judged: Vec<Judged>,
    /// What is to say of a ledger that is not as the last build left it.
    pub doubts: Vec<Doubt>,
    /// Every identity that the house has, or would have.
    pub ledger: Ledger,
}

/// A review of what is built, and what it means for the gate.
#[derive(Debug)]
pub struct Judged {
    /// Against what.
    pub against: Against,
    /// What changed.
    pub review: Review,
    /// What stops it.
    pub gate: Gate,
}

/// What a build is held against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// The build that it replaces.
    LastBuild,
    /// The ledger, which knows keys, bridges and device types only: the house was built, and no build that can be read is
    /// in the output folder.
    Ledger,
}

/// Why nothing was built.
#[derive(Debug, thiserror::Error)]
pub enum BuildError {
    /// Files could not be put in place.
    #[error(transparent)]
    Emit(#[from] EmitError),
    /// A bridge has no endpoint number left.
    #[error(transparent)]
    Exhausted(#[from] Exhausted),
    /// The ledger is gone.
    #[error(transparent)]
    LedgerLost(#[from] LedgerLost),
    /// The ledger is not as the last build left it, and what that build gave cannot be read.
    #[error("`{ledger}` is not as the build in `{out}` left it, and that build cannot be read: {cause}")]
    LastUnread {
        /// Where the ledger is.
        ledger: PathBuf,
        /// The folder of the build.
        out: PathBuf,
        /// What is wrong with the build.
        cause: RecallError,
    },
}

impl BuildError {
    /// What to do next.
    pub fn help(&self) -> String {
        match self {
            Self::Emit(error) => error.help(),
            Self::Exhausted(_) => {
                "move appliances to another bridge: no number is ever given twice".to_owned()
            }
            Self::LedgerLost(lost) => lost.help(),
            Self::LastUnread { out, .. } => format!(
                "take `{0}` back from version control or the gateway: it shows which endpoint numbers were given; or, if it is \
                 lost, move `{0}` away, and the ledger alone decides",
                out.display()
            ),
        }
    }
}

/// The lock of a house: to be taken before it is read, and held until its build is in place.
///
/// # Errors
/// [`EmitError`] when the lock cannot be had; [`EmitError::Busy`] while another build has it, unless one waits.
pub fn lock(house: &Path, patience: Patience) -> Result<Lock, EmitError> {
    Lock::of_house(house, patience)
}

/// Builds a checked house.
///
/// # Errors
/// [`BuildError`]; the last build and the ledger are whole in every case.
pub fn build(inspection: &Inspection, checked: &Checked, order: &Order<'_>) -> Result<Built, BuildError> {
    let target = Target::open(order.out, &checked.plan().house.id, Patience::Wait)?;
    if target.previous().is_some_and(|last| lacks_ledger(last, &inspection.sources)) {
        return Err(LedgerLost::of(order.house, order.out).into());
    }
    // Who builds elsewhere may have built here before.
    if let Some(lost) = lost_ledger(inspection, order.house, &usual_out(order.house)) {
        return Err(lost.into());
    }
    let at = (order.house, order.out);
    let recalled = target.previous().map(|last| recall(inspection, checked.plan(), at, last)).transpose()?;
    let known = recalled.as_ref().map_or(&inspection.ledger, |recalled| &recalled.ledger);
    // What computes does so on the threads for it; this one may wait for the disk.
    let lowered = rayon::scope(|_| lower(checked, known))?;
    let doubts = recalled.iter().flat_map(|recalled| recalled.doubts(order.out, Some(&lowered.ledger)));
    let mut doubts: Vec<Doubt> = doubts.collect();
    let hidden = unshown(checked.plan(), &lowered.ledger);
    let judged = judge(&target, (checked.plan(), known), (&lowered, &hidden), order);
    doubts.extend(hidden_since_when(&hidden, &judged, order));
    if !judged.iter().all(|judged| judged.gate.is_open()) {
        return Ok(Built { outcome: None, judged, doubts, ledger: lowered.ledger });
    }
    let review = judged.iter().find(|judged| judged.against == Against::LastBuild);
    let mut outputs = streamed(&lowered);
    let ledger_path = order.house.join(ledger::FILE_NAME);
    let next =
        (lowered.ledger != inspection.ledger).then(|| rayon::scope(|_| ledger::write(&lowered.ledger)));
    outputs.extend(review.iter().flat_map(|judged| papers(&judged.review)));
    let build = emit::Build {
        formats: formats(),
        sources: sources(&inspection.sources),
        ledger: LedgerText {
            path: &ledger_path,
            name: ledger::FILE_NAME,
            as_read: ledger_bytes(&inspection.sources),
            next: next.as_deref(),
        },
        outputs,
        numbers: highest(&lowered.ledger, target.previous()),
        unshown: hidden,
    };
    let outcome = target.put(&build)?;
    drop(build);
    Ok(Built { outcome: Some(Box::new(outcome)), judged, doubts, ledger: lowered.ledger })
}

fn recall(
    inspection: &Inspection,
    plan: &Plan,
    (house, out): (&Path, &Path),
    last: &Manifest,
) -> Result<Recalled, BuildError> {
    let as_read = ledger_bytes(&inspection.sources).unwrap_or_default();
    recall::recall(out, last, (&inspection.ledger, as_read), plan).map_err(|cause| BuildError::LastUnread {
        ledger: house.join(ledger::FILE_NAME),
        out: out.to_owned(),
        cause,
    })
}

/// The reviews that a build is judged by. A first build changes nothing for a family that has seen none: there is nothing to
/// stop it, or to list.
fn judge(
    target: &Target,
    (plan, known): (&Plan, &Ledger),
    (lowered, hidden): (&Lowered<'_>, &[Unshown]),
    order: &Order<'_>,
) -> Vec<Judged> {
    let mut judged = Vec::new();
    let mut is_whole = false;
    if target.previous().is_some() {
        let review = rayon::scope(|_| against_last(order.out, (lowered, hidden)));
        is_whole = review.unread.is_empty();
        judged.push(held(Against::LastBuild, review, order));
    }
    if !is_whole && !known.is_empty() {
        let review = review_ledgers(known, &lowered.ledger, &names(plan)).review;
        judged.push(held(Against::Ledger, review, order));
    }
    judged
}

/// What the house calls what stands in its ledger.
fn names(plan: &Plan) -> Names<'_> {
    let appliances = plan.appliances.iter().filter_map(|appliance| {
        let room = plan.rooms.get(appliance.room)?;
        let floor = room.floor.as_ref().map(|floor| floor.value.as_str());
        let place = (appliance.name.value.as_str(), room.name.value.as_str(), floor);
        Some((appliance.key.value.as_str(), place))
    });
    let bridges = plan.bridges.iter().map(|it| (it.key.value.as_str(), it.name.value.as_str()));
    Names { house: Some(&plan.house.name), bridges: bridges.collect(), appliances: appliances.collect() }
}

/// What is to say where a build is to stop and is held against its ledger alone: that keeps the place of what is not shown,
/// and knows nothing of whether the family had it until now.
fn hidden_since_when(unshown: &[Unshown], judged: &[Judged], order: &Order<'_>) -> Option<Doubt> {
    let by_ledger = judged.first().is_some_and(|judged| judged.against == Against::Ledger);
    let kept = unshown.iter().filter(|one| by_ledger && order.stop_at.is_some() && !one.kept.is_empty());
    let keys: Vec<String> = kept.map(|one| one.key.clone()).collect();
    let (verb, was) = if keys.len() == 1 { ("is", "it was") } else { ("are", "they were") };
    (!keys.is_empty()).then(|| Doubt {
        message: format!(
            "{} {verb} not shown, and without the last build nobody sees whether {was} until now",
            some(&keys)
        ),
        help: "keep the last build in the output folder, or look with `housewright review --since`"
            .to_owned(),
    })
}

fn held(against: Against, mut review: Review, order: &Order<'_>) -> Judged {
    let mut gate = review::gate(&review, order.accepted, order.stop_at);
    if against == Against::Ledger {
        // What a ledger does not show may have changed all the same.
        gate.problems.clear();
    }
    review.note_reasons(&gate, order.accepted);
    Judged { against, review, gate }
}

/// The highest number that each bridge ever gave, as the ledger and the last build know it.
fn highest(ledger: &Ledger, last: Option<&Manifest>) -> BTreeMap<String, u16> {
    let mut numbers = last.map(|last| last.numbers.clone()).unwrap_or_default();
    for (bridge, highest) in ledger.highest() {
        let number = numbers.entry(bridge.to_string()).or_default();
        *number = highest.get().max(*number);
    }
    numbers
}

/// The review of what is to be built against the build in a folder. What cannot be read is told, never taken for no
/// change.
fn against_last(out: &Path, (lowered, hidden): (&Lowered<'_>, &[Unshown])) -> Review {
    let file = |bridge| BuildFile::when_due(&name(lowered, bridge), move || Ok(text(lowered, bridge)));
    let mut last = Origin::new(OriginKind::LastBuild, None);
    let (before, unshown) = compare::built(out, ("the last build", out), &Limits::default(), &mut last);
    let (old, new) = review::read_both(before, (0..lowered.len()).map(file).collect());
    let (old, new) = (old.with_unshown(unshown), new.with_unshown(Some(hidden.to_vec())));
    let compared = Some(Compared { old: last, new: Origin::new(OriginKind::ThisBuild, None) });
    Review { compared, ..review::review(&old, &new) }
}

fn papers(review: &Review) -> [Output<'_>; 3] {
    let output = |name: &str, content| Output { name: name.to_owned(), role: Role::Review, content };
    [
        output("review.md", Content::Bytes(forms::markdown(review).into_bytes())),
        output(
            "review.json",
            Content::Written(Box::new(|out: &mut (dyn Write + Send)| forms::write_json(review, out))),
        ),
        output("review.html", Content::Bytes(forms::html(review).into_bytes())),
    ]
}

fn formats() -> BTreeMap<String, u32> {
    let house_version = house::model::VERSION.parse().unwrap_or(1);
    BTreeMap::from([
        ("housewright".to_owned(), house_version),
        ("housewright-ledger".to_owned(), ledger::VERSION),
        (definition::FORMAT.to_owned(), BRIDGE_VERSION),
    ])
}

fn sources(sources: &Sources) -> Vec<SourceFile> {
    let files = sources.files().filter(|file| sources.kind(*file) != FileKind::Ledger);
    let files: Vec<FileId> = files.collect();
    let digest = |file| SourceFile {
        path: sources.path(file).to_owned(),
        sha256: emit::digest_source(sources.bytes(file)),
    };
    pieces::some(files.len(), 1, |at| files.get(at).copied().map(digest))
}
