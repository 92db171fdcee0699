//! From a checked house to a build in its folder: lowering, the review against the build that is replaced, and the
//! files, all or nothing.

use crate::bridge::definition::VERSION as BRIDGE_VERSION;
use crate::bridge::{Lowered, definition, lower};
use crate::emit::{
    self, BRIDGE_ENDING, Content, EmitError, LedgerText, Lock, Outcome, Output, Patience, Role, SourceFile,
    Target,
};
use crate::ledger::{self, Exhausted};
use crate::review::{self, AcceptList, BuildFile, Consequence, Gate, Review, forms};
use crate::rules::Checked;
use crate::source::{FileKind, Sources};
use crate::{Inspection, compare, house};
use std::collections::BTreeMap;
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
    let lowered = lower(checked, &inspection.ledger)
        .map_err(|Exhausted { bridge }| BuildError::Exhausted { bridge })?;
    let target = Target::open(order.out, &checked.plan().house.id, Patience::Wait)?;
    let definitions = written(&lowered);
    // A first build changes nothing for a family that has seen none: there is nothing to stop it, or to list.
    let review = target.previous().is_some().then(|| against_last(order.out, &definitions));
    let gate = review.as_ref().map(|review| review::gate(review, order.accepted, order.stop_at));
    if let (Some(review), Some(gate)) = (&review, &gate)
        && !gate.is_open()
    {
        return Ok(Built::Stopped { review: Box::new(review.clone()), gate: gate.clone() });
    }
    let ledger_path = order.house.join(ledger::FILE_NAME);
    let next = (lowered.ledger != inspection.ledger).then(|| ledger::write(&lowered.ledger));
    let mut outputs: Vec<Output<'_>> = definitions
        .into_iter()
        .map(|(name, bytes)| Output { name, role: Role::Made, content: Content::Bytes(bytes) })
        .collect();
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
    Ok(Built::Placed { outcome: Box::new(outcome), review, gate })
}

/// The text of each bridge definition.
pub fn written(lowered: &Lowered<'_>) -> Vec<(String, Vec<u8>)> {
    (0..lowered.len())
        .map(|bridge| {
            let mut text = Vec::new();
            let count = lowered.endpoints(bridge);
            // Writing into memory cannot fail.
            let _ = emit::write_endpoints(&mut text, &lowered.head(bridge), count, |at| {
                lowered.endpoint(bridge, at)
            });
            (format!("{}{BRIDGE_ENDING}", lowered.key(bridge)), text)
        })
        .collect()
}

/// The review of definitions against the build in a folder. What cannot be read is told, never taken for no change.
pub fn against_last(out: &Path, definitions: &[(String, Vec<u8>)]) -> Review {
    let (last, unread) = compare::built(out, "the last build");
    let (mut old, new) = review::read_both(&files(&last), &files(definitions));
    unread.into_iter().for_each(|one| old.add_unread(one));
    review::review(&old, &new)
}

fn files(texts: &[(String, Vec<u8>)]) -> Vec<BuildFile<'_>> {
    texts.iter().map(|(name, bytes)| BuildFile { name, bytes }).collect()
}

fn papers(review: &Review) -> [Output<'static>; 3] {
    let output = |name: &str, text: String| Output {
        name: name.to_owned(),
        role: Role::Review,
        content: Content::Bytes(text.into_bytes()),
    };
    [
        output("review.md", forms::markdown(review)),
        output("review.json", forms::json(review)),
        output("review.html", forms::html(review)),
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
    let digest = |file| SourceFile {
        path: sources.path(file).to_owned(),
        sha256: emit::digest_source(sources.bytes(file)),
    };
    files.map(digest).collect()
}

fn ledger_bytes(sources: &Sources) -> Option<&[u8]> {
    sources.files().find(|file| sources.kind(*file) == FileKind::Ledger).map(|file| sources.bytes(file))
}

/// The output folder of a house where none is named: `build` beside the root file.
pub fn usual_out(house: &Path) -> PathBuf {
    house.join("build")
}
