//! A build on its way into the output folder.

use super::digest::{Digest, Digesting, digest_source};
use super::durable::{create, read, replace, sweep, sync_folder};
use super::error::EmitError;
use super::last::BRIDGE_ENDING;
use super::lock::{Lock, Patience};
use super::manifest::{FORMAT, MANIFEST_NAME, Manifest, OutputFile, Program, SourceFile, VERSION};
use super::place::Site;
use super::verify::{ManifestError, first_foreign, is_output_name, read_with_digest, verify_files};
use crate::review::Unshown;
use crate::sort;
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use std::collections::BTreeMap;
use std::fmt;
use std::fs::{self, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread;

/// A finished build, to be put in place.
#[derive(Debug)]
pub struct Build<'a> {
    /// Version of each format in the build and in its sources, by the format's name.
    pub formats: BTreeMap<String, u32>,
    /// Every file that was read, the ledger left out.
    pub sources: Vec<SourceFile>,
    /// The ledger.
    pub ledger: LedgerText<'a>,
    /// What was made.
    pub outputs: Vec<Output<'a>>,
    /// The highest endpoint number that each bridge ever gave.
    pub numbers: BTreeMap<String, u16>,
    /// What is described and not shown, with the places that are kept for it.
    pub unshown: Vec<Unshown>,
}

/// The ledger of a build.
#[derive(Clone, Copy, Debug)]
pub struct LedgerText<'a> {
    /// Where it is.
    pub path: &'a Path,
    /// Its name in the manifest: the path in the house's folder.
    pub name: &'a str,
    /// Its bytes as they were read; none if there was none.
    pub as_read: Option<&'a [u8]>,
    /// What is to be there now; none if it has not changed.
    pub next: Option<&'a str>,
}

/// A file of a build.
#[derive(Debug)]
pub struct Output<'a> {
    /// Path in the output folder, with `/`. Parts begin with no dot.
    pub name: String,
    /// Whether it follows from the sources alone.
    pub role: Role,
    /// What is in it.
    pub content: Content<'a>,
}

/// What a file of a build depends on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// On the sources and the ledger.
    Made,
    /// On the build that is replaced, too. A build that changes nothing leaves such files as they are.
    Review,
}

/// What is in a file of a build.
pub enum Content<'a> {
    /// These bytes.
    Bytes(Vec<u8>),
    /// What this writes. It is called in parallel with others, once or twice, and writes the same each time.
    Written(Box<Writing<'a>>),
}

impl fmt::Debug for Content<'_> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bytes(bytes) => write!(formatter, "Bytes({})", bytes.len()),
            Self::Written(_) => formatter.write_str("Written"),
        }
    }
}

/// Writes the content of a file.
pub type Writing<'a> = dyn Fn(&mut (dyn Write + Send)) -> io::Result<()> + Send + Sync + 'a;

/// What came of a build.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// Whether it differs from the build that was there. If not, nothing was written.
    pub changed: bool,
    /// The manifest that is in the output folder now.
    pub manifest: Manifest,
    /// Where files are that somebody put into an output folder while it was being replaced.
    pub kept: Option<PathBuf>,
}

/// An output folder, looked at and locked.
#[derive(Debug)]
pub struct Target {
    site: Site,
    house: String,
    previous: Option<(Manifest, Digest)>,
    kept: Option<PathBuf>,
    _lock: Lock,
}

impl Target {
    /// Locks an output folder, puts right what an interrupted build left, and makes sure that nothing is in it but a
    /// build of this house. A folder that does not exist is made by the build.
    ///
    /// # Errors
    ///
    /// [`EmitError`] if a build cannot go there: another one is at work, it is no folder or a link, it holds what
    /// no build has made or another house's build, or it cannot be read or written.
    pub fn open(out: &Path, house: &str, patience: Patience) -> Result<Self, EmitError> {
        let site = Site::new(out)?;
        fs::create_dir_all(&site.parent)
            .map_err(|cause| EmitError::Write { path: site.parent.clone(), cause })?;
        let lock = Lock::of_output(&site.parent, &site.name, patience)?;
        let kept = site.recover()?;
        let previous = look(&site, house)?;
        Ok(Self { site, house: house.to_owned(), previous, kept, _lock: lock })
    }

    /// The manifest of the build that is there. Its files may have been changed since; [`verify`](super::verify) tells.
    pub fn previous(&self) -> Option<&Manifest> {
        self.previous.as_ref().map(|(manifest, _)| manifest)
    }

    /// Puts a build in place, and its ledger before it.
    ///
    /// # Errors
    ///
    /// [`EmitError`]. The last build is whole and in place in every case; so is the ledger, which may have the
    /// numbers of this build already.
    pub fn put(mut self, build: &Build<'_>) -> Result<Outcome, EmitError> {
        check_names(&build.outputs)?;
        sweep(build.ledger.path);
        let mut manifest = self.manifest(build);
        if let Some((previous, _)) = &self.previous
            && manifest.is_from_same(previous)
            && build.ledger.next.is_none()
            && self.would_be_same(build, &manifest)?
        {
            return Ok(Outcome { changed: false, manifest: previous.clone(), kept: self.kept });
        }
        manifest.predecessor = self.previous.as_ref().map(|(_, digest)| *digest);
        let placed = self
            .stage(build, &mut manifest)
            .and_then(|()| keep_ledger(&build.ledger))
            .and_then(|()| look(&self.site, &self.house).map_err(|fault| late(fault, &build.ledger)))
            .and_then(|_| self.site.put_in_place());
        match placed {
            Ok(kept) => Ok(Outcome { changed: true, manifest, kept: kept.or(self.kept.take()) }),
            Err(fault) => {
                // What cannot be thrown away now is thrown away by the next build.
                let _left = self.site.discard(&self.site.next());
                Err(fault)
            }
        }
    }

    /// The manifest without its outputs.
    fn manifest(&self, build: &Build<'_>) -> Manifest {
        let mut sources = build.sources.clone();
        sources.sort();
        let ledger = build.ledger.next.map(str::as_bytes).or(build.ledger.as_read).unwrap_or_default();
        Manifest {
            format: FORMAT.to_owned(),
            version: VERSION,
            program: Program {
                name: env!("CARGO_PKG_NAME").to_owned(),
                version: env!("CARGO_PKG_VERSION").to_owned(),
            },
            house: self.house.clone(),
            formats: build.formats.clone(),
            sources,
            ledger: SourceFile { path: build.ledger.name.to_owned(), sha256: digest_source(ledger) },
            outputs: Vec::new(),
            numbers: build.numbers.clone(),
            unshown: build.unshown.clone(),
            predecessor: None,
        }
    }

    /// Whether the build that is there is whole and is this one.
    fn would_be_same(&self, build: &Build<'_>, manifest: &Manifest) -> Result<bool, EmitError> {
        let Some((previous, _)) = &self.previous else { return Ok(false) };
        if verify_files(&self.site.out, previous).is_err() {
            return Ok(false);
        }
        let outputs = produce(build, &self.site.out, |_| Ok(io::sink()), |_| Ok(()))?;
        Ok(Manifest { outputs, ..manifest.clone() }.is_same_build(previous))
    }

    /// Writes the whole build beside the output folder and brings it to the disk.
    fn stage(&self, build: &Build<'_>, manifest: &mut Manifest) -> Result<(), EmitError> {
        let next = self.site.next();
        let out = &self.site.out;
        let fault = |cause| EmitError::Write { path: out.clone(), cause };
        fs::create_dir(&next).map_err(fault)?;
        let mut folders: Vec<&str> = build
            .outputs
            .iter()
            .flat_map(|output| output.name.match_indices('/').filter_map(|(at, _)| output.name.get(..at)))
            .collect();
        folders.sort_unstable();
        folders.dedup();
        for inner in &folders {
            fs::create_dir(next.join(inner)).map_err(fault)?;
        }
        manifest.outputs = produce(
            build,
            out,
            |name| OpenOptions::new().write(true).create_new(true).open(next.join(name)),
            |file| file.sync_all(),
        )?;
        create(&next.join(MANIFEST_NAME), &manifest.to_bytes())
            .map_err(|cause| EmitError::Write { path: out.join(MANIFEST_NAME), cause })?;
        if let Some(old) = self.site.folder()? {
            fs::set_permissions(&next, old.permissions()).map_err(fault)?;
        }
        for inner in folders.iter().rev() {
            sync_folder(&next.join(inner)).map_err(fault)?;
        }
        sync_folder(&next).map_err(fault)
    }
}

/// What keeps a finished build from its place: the ledger was written before it, if it had anything new.
fn late(fault: EmitError, ledger: &LedgerText<'_>) -> EmitError {
    if ledger.next.is_some() { EmitError::Late { cause: Box::new(fault) } } else { fault }
}

/// Writes the ledger, if it is still what was read.
fn keep_ledger(ledger: &LedgerText<'_>) -> Result<(), EmitError> {
    let most = ledger.as_read.map_or(0, <[u8]>::len);
    if read(ledger.path, most)?.as_deref() != ledger.as_read {
        return Err(EmitError::Changed { path: ledger.path.to_owned() });
    }
    ledger.next.map_or(Ok(()), |text| replace(ledger.path, text.as_bytes()))
}

/// The manifest of the build in an output folder, and nothing else in it: what a build that goes there begins with. Nothing is
/// written or locked, and what an interrupted build left stays.
///
/// # Errors
///
/// [`EmitError`] for which a build would be refused.
pub fn last_build(out: &Path, house: &str) -> Result<Option<Manifest>, EmitError> {
    Ok(look(&Site::new(out)?, house)?.map(|(manifest, _)| manifest))
}

/// The manifest of the build in an output folder, once it is sure that nothing else is there.
fn look(site: &Site, house: &str) -> Result<Option<(Manifest, Digest)>, EmitError> {
    let folder = || site.out.clone();
    if site.folder()?.is_none() {
        return Ok(None);
    }
    let manifest = match read_with_digest(&site.out) {
        Ok(manifest) => Some(manifest),
        Err(ManifestError::Missing | ManifestError::OtherFormat { .. }) => None,
        Err(cause) => return Err(EmitError::Manifest { folder: folder(), cause }),
    };
    let foreign = first_foreign(&site.out, manifest.as_ref().map(|(manifest, _)| manifest))
        .map_err(|(name, cause)| EmitError::Read { path: site.out.join(name), cause })?;
    if let Some(found) = foreign {
        if manifest.is_none() && found.ends_with(BRIDGE_ENDING) {
            return Err(EmitError::NoManifest { folder: folder(), found });
        }
        return Err(EmitError::Foreign { folder: folder(), found });
    }
    match &manifest {
        Some((manifest, _)) if manifest.house != house => Err(EmitError::OtherHouse {
            folder: folder(),
            found: manifest.house.clone(),
            house: house.to_owned(),
        }),
        _ => Ok(manifest),
    }
}

fn check_names(outputs: &[Output<'_>]) -> Result<(), EmitError> {
    let mut seen = FxHashSet::default();
    for Output { name, .. } in outputs {
        if !is_output_name(name) {
            return Err(EmitError::BadName { name: name.clone() });
        }
        if !seen.insert(name.to_lowercase()) {
            return Err(EmitError::SameName { name: name.clone() });
        }
    }
    Ok(())
}

/// How many files that are written may wait to be brought to the disk.
const MOST_OPEN: usize = 32;

/// Writes all outputs, in parallel, and closes each with a thread of its own that may wait for the disk while others are
/// being written; gives what the manifest says of each, by name.
fn produce<W: Write + Send>(
    build: &Build<'_>,
    out: &Path,
    open: impl Fn(&str) -> io::Result<W> + Sync,
    close: impl Fn(W) -> io::Result<()> + Sync,
) -> Result<Vec<OutputFile>, EmitError> {
    let mut outputs: Vec<&Output<'_>> = build.outputs.iter().collect();
    sort::by(&mut outputs, |a, b| a.name.cmp(&b.name));
    let (written, to_close) = mpsc::sync_channel(MOST_OPEN);
    // Collected before the first fault is taken, so that the same one is told each time.
    let (made, closed) = thread::scope(|scope| {
        let closing = thread::Builder::new().spawn_scoped(scope, || -> Vec<(usize, io::Result<()>)> {
            to_close.into_iter().map(|(at, inner)| (at, close(inner))).collect()
        })?;
        let made =
            outputs.par_iter().enumerate().with_max_len(1).map_with(written, |written, (at, output)| {
                let (inner, made) = produce_one(output, &open)?;
                written.send((at, inner)).map_err(|_| io::Error::from(io::ErrorKind::BrokenPipe))?;
                Ok(made)
            });
        let made: Vec<io::Result<OutputFile>> = made.collect();
        let closed = closing.join().map_err(|_| io::Error::from(io::ErrorKind::BrokenPipe))?;
        Ok((made, closed))
    })
    .map_err(|cause| EmitError::Write { path: out.to_owned(), cause })?;
    let mut faults: BTreeMap<usize, io::Error> =
        closed.into_iter().filter_map(|(at, closed)| Some((at, closed.err()?))).collect();
    made.into_iter()
        .zip(outputs)
        .enumerate()
        .map(|(at, (made, output))| {
            let made = made.and_then(|made| faults.remove(&at).map_or(Ok(made), Err));
            made.map_err(|cause| EmitError::Write { path: out.join(&output.name), cause })
        })
        .collect()
}

fn produce_one<W: Write + Send>(
    output: &Output<'_>,
    open: impl Fn(&str) -> io::Result<W>,
) -> io::Result<(W, OutputFile)> {
    let mut writer = BufWriter::with_capacity(1 << 16, Digesting::new(open(&output.name)?));
    match &output.content {
        Content::Bytes(bytes) => writer.write_all(bytes)?,
        Content::Written(write) => write(&mut writer)?,
    }
    let (inner, sha256, bytes) = writer.into_inner().map_err(io::IntoInnerError::into_error)?.finish();
    let made = OutputFile { path: output.name.clone(), sha256, bytes, review: output.role == Role::Review };
    Ok((inner, made))
}
