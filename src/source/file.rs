//! One file of a house, read, decoded and parsed; and what it names.

use rustc_hash::FxHashSet;

use super::encoding::{Guess, decode};
use super::folder::{Folder, Refusal};
use super::place::narrow;
use super::sources::{Named, SourceFile};
use super::yaml::Weight;
use super::{Counted, FileId, FileKind, Limits, Node, Place, Problem, Sources, Tree, parse, parse_around};

/// The last look at a house: what has not changed since need not be parsed again.
#[derive(Clone, Copy, Debug)]
pub struct Last<'a> {
    /// The files as they were.
    pub sources: &'a Sources,
    /// The descriptions in which nothing was wrong.
    pub sound: &'a FxHashSet<FileId>,
}

impl<'a> Last<'a> {
    /// What a sound description named that has not changed since, and its weight.
    fn unchanged(self, path: &str, text: &str) -> Option<(&'a [Named], Weight)> {
        let file = self.sources.find(path).filter(|file| self.sound.contains(file))?;
        let is_same = self.sources.kind(file) == FileKind::Description && self.sources.source(file) == text;
        is_same.then(|| (self.sources.named_in(file), self.sources.weight(file)))
    }
}

/// A file that is to be read.
pub(super) struct Wanted {
    pub(super) path: String,
    pub(super) kind: FileKind,
    /// Who names it. Files known by their names have nobody.
    pub(super) named_at: Option<Place>,
}

/// A file that was read.
pub(super) struct ReadFile {
    pub(super) source: SourceFile,
    pub(super) tree: Option<Tree>,
    /// Whether it is sound and as it was at the last look: it was not parsed.
    pub(super) unchanged: bool,
    pub(super) problems: Vec<Problem>,
}

/// A refusal of the folder as a problem.
pub(super) fn refused(
    refusal: Refusal,
    place: Place,
    path: String,
    kind: FileKind,
    limits: &Limits,
) -> Problem {
    match refusal {
        Refusal::Missing if kind == FileKind::Description => {
            Problem::MissingInclude { place, pattern: path, beside: Vec::new() }
        }
        Refusal::Missing => Problem::MissingFile { place, path, beside: Vec::new() },
        Refusal::Outside => Problem::OutsideFolder { place, path, by_link: true },
        Refusal::NotAFile => Problem::NotAFile { place, path },
        Refusal::TooLarge => {
            let limit = limits.file_bytes;
            Problem::TooMany { place, counted: Counted::FileBytes, limit, path: Some(path) }
        }
        Refusal::Unreadable(cause) => Problem::Unreadable { place, path, cause: cause.kind().to_string() },
    }
}

/// The files that a description names: includes and address tables.
fn named_in(root: Node) -> Vec<Named> {
    let mut names = Vec::new();
    let mut name = |node: Node, kind| {
        if let Some(text) = node.text().filter(|text| !text.is_empty()) {
            let Place { start, end, .. } = node.place();
            names.push(Named { start, end, path: text.to_owned(), kind });
        }
    };
    if let Some(include) = root.get("include") {
        include.items().chain([include]).for_each(|item| name(item, FileKind::Description));
    }
    for (_, bus) in root.get("buses").into_iter().flat_map(Node::entries) {
        bus.get("table").into_iter().for_each(|table| name(table, FileKind::Table));
    }
    names
}

/// Reads, decodes and parses one file. What cannot be read is an empty file with a problem.
pub(super) fn read_file(
    folder: &Folder,
    (limits, last): (&Limits, Option<Last<'_>>),
    file: FileId,
    wanted: Wanted,
) -> ReadFile {
    let start = Place { file, start: 0, end: 0 };
    let place = wanted.named_at.unwrap_or(start);
    let guess = if wanted.kind == FileKind::Table { Guess::AlsoOlder } else { Guess::Unicode };
    let (decoded, mut problems) =
        match folder.read(&wanted.path, limits.file_bytes.min(Limits::MOST_FILE_BYTES)) {
            Ok(bytes) => (decode(bytes, guess), Vec::new()),
            Err(refusal) => {
                let problem = refused(refusal, place, wanted.path.clone(), wanted.kind, limits);
                (decode(Vec::new(), guess), vec![problem])
            }
        };
    let known = last.filter(|_| wanted.kind == FileKind::Description && problems.is_empty());
    let known = known.and_then(|last| last.unchanged(&wanted.path, &decoded.text));
    let mut tree = None;
    if let Some((at, fault)) = decoded.fault {
        problems.push(Problem::NotText { place: character_at(file, &decoded.text, at), fault });
    } else if problems.is_empty() && known.is_none() {
        (tree, problems) = match wanted.kind {
            FileKind::Table => (None, problems),
            FileKind::Description => bounded(parse_around(&decoded.text, file, limits), file, limits),
            // Half a class or half a ledger would be taken for the whole.
            FileKind::Class | FileKind::Words | FileKind::Ledger => parse(&decoded.text, file, limits),
        };
    }
    let tree_of_description = tree.as_ref().filter(|_| wanted.kind == FileKind::Description);
    let (text, original) = (decoded.text, decoded.original);
    let (named, mut weight) = match (known, tree_of_description) {
        (Some((named, weight)), _) => (named.to_vec(), weight),
        (None, Some(tree)) => (named_in(tree.root(file, &text)), tree.weight),
        (None, None) => (Vec::new(), tree.as_ref().map_or_else(Weight::default, |tree| tree.weight)),
    };
    if wanted.kind != FileKind::Description {
        // Each of them has a limit of its own.
        weight.list_nodes = 0;
    }
    let (path, kind, marks) = (wanted.path, wanted.kind, std::sync::Mutex::default());
    let source = SourceFile { path, kind, text, original, marks, named, weight };
    ReadFile { source, tree, unchanged: known.is_some(), problems }
}

/// The tree of a description, unless a collection in it has more members than allowed: that is told then.
fn bounded(
    (tree, mut problems): (Option<Tree>, Vec<Problem>),
    file: FileId,
    limits: &Limits,
) -> (Option<Tree>, Vec<Problem>) {
    let Some((start, end)) = tree.as_ref().and_then(|tree| tree.beyond(limits.entries)) else {
        return (tree, problems);
    };
    let (place, limit) = (Place { file, start, end }, limits.entries as u64);
    problems.push(Problem::TooMany { place, counted: Counted::Entries, limit, path: None });
    (None, problems)
}

/// The place of the character at a byte.
fn character_at(file: FileId, text: &str, at: usize) -> Place {
    let length = text.get(at..).and_then(|rest| rest.chars().next()).map_or(0, char::len_utf8);
    Place { file, start: narrow(at), end: narrow(at + length) }
}
