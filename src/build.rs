//! From a checked house to a build in its folder: lowering, the review against the build that is replaced, and the
//! files, all or nothing.

use crate::bridge::definition::VERSION as BRIDGE_VERSION;
use crate::bridge::{Lowered, definition, lower};
use crate::emit::{
    self, BRIDGE_ENDING, Content, EmitError, LedgerText, Lock, Manifest, Outcome, Output, Patience, Role,
    SourceFile, Target,
};
use crate::ledger::{self, Exhausted, Ledger};
use crate::recall::{self, RecallError, Recalled};
use crate::resolve::Plan;
use crate::review::{
    self, AcceptList, BuildFile, Compared, Consequence, Gate, Names, Origin, OriginKind, Review, Unshown,
    forms, review_ledgers,
};
use crate::rules::Checked;
use crate::source::{FileId, FileKind, Sources};
use crate::unshown::{hidden_since_when, unshown};
use crate::{Inspection, compare, house};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

pub use crate::recall::Doubt;

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
    #[error("the bridge `{bridge}` has given all its endpoint numbers")]
    Exhausted {
        /// Its key.
        bridge: String,
    },
    /// The house was built, and the ledger that remembers what was given then is gone.
    #[error("`{ledger}` is gone, and `{out}` holds a build of this house")]
    LedgerLost {
        /// Where the ledger was.
        ledger: PathBuf,
        /// The folder of the build.
        out: PathBuf,
    },
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
            Self::Exhausted { .. } => {
                "move appliances to another bridge: no number is ever given twice".to_owned()
            }
            Self::LedgerLost { ledger, out } => format!(
                "take `{}` back from version control: without it every appliance would be a new one, and lose its rooms, \
                 scenes and automations; or, if that is wanted, move `{}` away first",
                ledger.display(),
                out.display()
            ),
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
        return Err(ledger_lost(order.house, order.out));
    }
    let at = (order.house, order.out);
    let recalled = target.previous().map(|last| recall(inspection, checked.plan(), at, last)).transpose()?;
    let known = recalled.as_ref().map_or(&inspection.ledger, |recalled| &recalled.ledger);
    // What computes does so on the threads for it; this one may wait for the disk.
    let lowered = rayon::scope(|_| lower(checked, known))
        .map_err(|Exhausted { bridge }| BuildError::Exhausted { bridge })?;
    let doubts = recalled.iter().flat_map(|recalled| recalled.doubts(order.out, Some(&lowered.ledger)));
    let mut doubts: Vec<Doubt> = doubts.collect();
    let hidden = unshown(checked.plan(), &lowered.ledger);
    let judged = judge(&target, (checked.plan(), known), (&lowered, &hidden), order);
    doubts.extend(hidden_since_when(&hidden, &judged, order));
    if !judged.iter().all(|judged| judged.gate.is_open()) {
        return Ok(Built { outcome: None, judged, doubts });
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
    Ok(Built { outcome: Some(Box::new(outcome)), judged, doubts })
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

/// The ledger with what the build in a folder shows of identities: as a build over it has it. What cannot be read says
/// nothing.
pub(crate) fn recalled(inspection: &Inspection, out: &Path) -> Option<Recalled> {
    let plan = inspection.judged.plan()?;
    let id = plan.house.known_id()?;
    let last = emit::read_manifest(out).ok().filter(|last| last.house == id)?;
    let as_read = ledger_bytes(&inspection.sources)?;
    recall::recall(out, &last, (&inspection.ledger, as_read), plan).ok()
}

/// What is to say of the ledger beside the usual output folder of its house.
pub fn doubts(inspection: &Inspection, house: &Path) -> Vec<Doubt> {
    if let Some(lost) = doubt_of_lost_ledger(inspection, house, &usual_out(house)) {
        return vec![lost];
    }
    let doubted = inspection.judged.doubts_ledger(&inspection.sources);
    let Some(plan) = inspection.judged.plan().filter(|_| !doubted) else { return Vec::new() };
    let out = usual_out(house);
    if let Some(other) = build_of_another(plan, &out) {
        return vec![Doubt { message: other.to_string(), help: other.help() }];
    }
    let Some(recalled) = recalled(inspection, &out) else { return Vec::new() };
    // Who has what after a build shows when it is given.
    let checked = inspection.judged.checked.as_ref().filter(|_| recalled.had_forgotten());
    let next =
        checked.and_then(|checked| lower(checked, &recalled.ledger).ok()).map(|lowered| lowered.ledger);
    recalled.doubts(&out, next.as_ref())
}

/// What is to say where a ledger is gone: what the checks find then may come of nothing else.
pub fn doubt_of_lost_ledger(inspection: &Inspection, house: &Path, out: &Path) -> Option<Doubt> {
    lost_ledger(inspection, house, out).map(|lost| Doubt { message: lost.to_string(), help: lost.help() })
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

/// That the ledger is gone while a folder holds a build of this house, where it is so.
pub(crate) fn lost_ledger(inspection: &Inspection, house: &Path, out: &Path) -> Option<BuildError> {
    let id = inspection.judged.plan()?.house.known_id()?;
    // A link that is not followed is told as what it is.
    if ledger_bytes(&inspection.sources).is_some() || house.join(ledger::FILE_NAME).is_symlink() {
        return None;
    }
    let last = emit::read_manifest(out).ok()?;
    (last.house == id && lacks_ledger(&last, &inspection.sources)).then(|| ledger_lost(house, out))
}

/// Whether a house has a ledger.
pub(crate) fn has_ledger(inspection: &Inspection) -> bool {
    ledger_bytes(&inspection.sources).is_some()
}

/// That a folder holds the build of another house, as a build into it says.
fn build_of_another(plan: &Plan, out: &Path) -> Option<EmitError> {
    let (house, found) = (plan.house.known_id()?.to_owned(), emit::read_manifest(out).ok()?.house);
    (found != house).then(|| EmitError::OtherHouse { folder: out.to_owned(), found, house })
}

fn ledger_lost(house: &Path, out: &Path) -> BuildError {
    BuildError::LedgerLost { ledger: house.join(ledger::FILE_NAME), out: out.to_owned() }
}

/// Whether a build had a ledger and its house has none now. The ledger is put in place before the build, so that a build
/// which was interrupted leaves no such state.
fn lacks_ledger(last: &Manifest, sources: &Sources) -> bool {
    ledger_bytes(sources).is_none() && last.ledger.sha256 != emit::digest_source(&[])
}

/// The text of each bridge definition.
pub fn written(lowered: &Lowered<'_>) -> Vec<(String, Vec<u8>)> {
    let bridges = (0..lowered.len()).into_par_iter();
    bridges.map(|bridge| (name(lowered, bridge), text(lowered, bridge))).collect()
}

fn text(lowered: &Lowered<'_>, bridge: usize) -> Vec<u8> {
    let mut text = Vec::new();
    // Writing into memory cannot fail.
    let _ = write(lowered, bridge, &mut text);
    text
}

/// The bridge definitions as outputs that are made while they are written: they are never all in memory.
fn streamed<'a>(lowered: &'a Lowered<'_>) -> Vec<Output<'a>> {
    let output = |bridge| Output {
        name: name(lowered, bridge),
        role: Role::Made,
        content: Content::Written(Box::new(move |out: &mut (dyn Write + Send)| write(lowered, bridge, out))),
    };
    (0..lowered.len()).map(output).collect()
}

fn name(lowered: &Lowered<'_>, bridge: usize) -> String {
    format!("{}{BRIDGE_ENDING}", lowered.key(bridge))
}

fn write(lowered: &Lowered<'_>, bridge: usize, out: &mut (dyn Write + Send)) -> io::Result<()> {
    let count = lowered.endpoints(bridge);
    emit::write_texts(out, &lowered.head(bridge), count, |at, text| lowered.write_endpoint(bridge, at, text))
}

/// The review of what is to be built against the build in a folder. What cannot be read is told, never taken for no
/// change.
fn against_last(out: &Path, (lowered, hidden): (&Lowered<'_>, &[Unshown])) -> Review {
    let file = |bridge| BuildFile::when_due(&name(lowered, bridge), move || Ok(text(lowered, bridge)));
    let mut last = Origin::new(OriginKind::LastBuild, None);
    let (before, unshown) = compare::built(out, ("the last build", out), &mut last);
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
    files.into_par_iter().map(digest).collect()
}

fn ledger_bytes(sources: &Sources) -> Option<&[u8]> {
    sources.files().find(|file| sources.kind(*file) == FileKind::Ledger).map(|file| sources.bytes(file))
}

/// The output folder of a house where none is named: `build` beside the root file.
pub fn usual_out(house: &Path) -> PathBuf {
    house.join("build")
}
