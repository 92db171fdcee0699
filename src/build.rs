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
    // A first build changes nothing for a family that has seen none: there is nothing to stop it, or to list. Only a
    // review needs the definitions whole; without one they are never all in memory.
    let (review, gate, mut outputs) = if target.previous().is_some() {
        let (definitions, review) = rayon::scope(|_| {
            let definitions = written(&lowered);
            let review = against_last(order.out, &definitions);
            (definitions, review)
        });
        let gate = review::gate(&review, order.accepted, order.stop_at);
        if !gate.is_open() {
            return Ok(Built::Stopped { review: Box::new(review), gate });
        }
        let outputs = definitions.into_iter().map(|(name, bytes)| made(name, Content::Bytes(bytes)));
        (Some(review), Some(gate), outputs.collect())
    } else {
        (None, None, streamed(&lowered))
    };
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
    Ok(Built::Placed { outcome: Box::new(outcome), review, gate })
}

/// The text of each bridge definition.
pub fn written(lowered: &Lowered<'_>) -> Vec<(String, Vec<u8>)> {
    (0..lowered.len())
        .into_par_iter()
        .map(|bridge| {
            let mut text = Vec::new();
            // Writing into memory cannot fail.
            let _ = write(lowered, bridge, &mut text);
            (name(lowered, bridge), text)
        })
        .collect()
}

/// The bridge definitions as outputs that are made while they are written.
fn streamed<'a>(lowered: &'a Lowered<'_>) -> Vec<Output<'a>> {
    let output = |bridge| {
        made(
            name(lowered, bridge),
            Content::Written(Box::new(move |out: &mut (dyn Write + Send)| write(lowered, bridge, out))),
        )
    };
    (0..lowered.len()).map(output).collect()
}

fn made(name: String, content: Content<'_>) -> Output<'_> {
    Output { name, role: Role::Made, content }
}

fn name(lowered: &Lowered<'_>, bridge: usize) -> String {
    format!("{}{BRIDGE_ENDING}", lowered.key(bridge))
}

fn write(lowered: &Lowered<'_>, bridge: usize, out: &mut (dyn Write + Send)) -> io::Result<()> {
    let count = lowered.endpoints(bridge);
    emit::write_texts(out, &lowered.head(bridge), count, |at, text| lowered.write_endpoint(bridge, at, text))
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

fn papers<'a>(review: &Review) -> [Output<'a>; 3] {
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
