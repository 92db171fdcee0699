//! From a checked house to a build in its folder: lowering, the review against the build that is replaced, and the
//! files, all or nothing.

use crate::bridge::definition::VERSION as BRIDGE_VERSION;
use crate::bridge::{Lowered, definition, lower};
use crate::emit::{
    self, BRIDGE_ENDING, Content, EmitError, LedgerText, Lock, Manifest, Outcome, Output, Patience, Role,
    SourceFile, Target,
};
use crate::ledger::{self, Exhausted};
use crate::review::{self, AcceptList, BuildFile, Consequence, Gate, Review, forms};
use crate::rules::Checked;
use crate::source::{FileId, FileKind, Sources};
use crate::{Inspection, compare, house};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::io::{self, Write};
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
pub enum Built {
    /// It is in place.
    Placed {
        /// What was written.
        outcome: Box<Outcome>,
        /// What changed against the build before; none where there was no build before.
        review: Option<Review>,
        /// How the gate was passed; none where there was no build before.
        gate: Option<Gate>,
    },
    /// The gate is closed: nothing was written.
    Stopped {
        /// What would have changed.
        review: Box<Review>,
        /// What stopped it.
        gate: Gate,
    },
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
        }
    }
}

/// The lock of a house: to be taken before it is read, and held until its build is in place.
///
/// # Errors
/// [`EmitError`] when the lock cannot be had.
pub fn lock(house: &Path) -> Result<Lock, EmitError> {
    Lock::of_house(house, Patience::Wait)
}

/// Builds a checked house.
///
/// # Errors
/// [`BuildError`]; the last build and the ledger are whole in every case.
pub fn build(inspection: &Inspection, checked: &Checked, order: &Order<'_>) -> Result<Built, BuildError> {
    // What computes does so on the threads for it; this one may wait for the disk.
    let lowered = rayon::scope(|_| lower(checked, &inspection.ledger))
        .map_err(|Exhausted { bridge }| BuildError::Exhausted { bridge })?;
    let target = Target::open(order.out, &checked.plan().house.id, Patience::Wait)?;
    if target.previous().is_some_and(|last| lacks_ledger(last, &inspection.sources)) {
        return Err(ledger_lost(order.house, order.out));
    }
    // A first build changes nothing for a family that has seen none: there is nothing to stop it, or to list.
    let (review, gate) = if target.previous().is_some() {
        let mut review = rayon::scope(|_| against_last(order.out, &lowered));
        let gate = review::gate(&review, order.accepted, order.stop_at);
        review.note_reasons(&gate, order.accepted);
        if !gate.is_open() {
            return Ok(Built::Stopped { review: Box::new(review), gate });
        }
        (Some(review), Some(gate))
    } else {
        (None, None)
    };
    let mut outputs = streamed(&lowered);
    let ledger_path = order.house.join(ledger::FILE_NAME);
    let next =
        (lowered.ledger != inspection.ledger).then(|| rayon::scope(|_| ledger::write(&lowered.ledger)));
    outputs.extend(review.iter().flat_map(papers));
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
    };
    let outcome = target.put(&build)?;
    drop(build);
    Ok(Built::Placed { outcome: Box::new(outcome), review, gate })
}

/// That the ledger is gone while the usual output folder holds a build of this house, where it is so.
pub fn lost_ledger(inspection: &Inspection, house: &Path) -> Option<BuildError> {
    let id = inspection.judged.plan()?.house.known_id()?;
    if ledger_bytes(&inspection.sources).is_some() {
        return None;
    }
    let out = usual_out(house);
    let last = emit::read_manifest(&out).ok()?;
    (last.house == id && lacks_ledger(&last, &inspection.sources)).then(|| ledger_lost(house, &out))
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
fn against_last(out: &Path, lowered: &Lowered<'_>) -> Review {
    let file = |bridge| BuildFile::when_due(&name(lowered, bridge), move || Ok(text(lowered, bridge)));
    let (old, new) =
        review::read_both(compare::built(out, "the last build"), (0..lowered.len()).map(file).collect());
    review::review(&old, &new)
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
