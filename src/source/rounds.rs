//! The files of a house, read in rounds: all of a round in parallel, then, in order, what they name makes the next
//! round. The outcome does not depend on the number of threads or on the order of a directory.

use crate::sort;
use std::collections::BTreeSet;

use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

use super::file::{Last, ReadFile, Wanted, read_file, refused};
use super::folder::{Folder, resolve};
use super::load::{Loaded, ROOT};
use super::pattern::{BadPattern, Matches, is_pattern};
use super::sources::{Named, SourceFile};
use super::unreached;
use super::yaml::Weight;
use super::{Counted, Document, FileId, FileKind, Limits, Place, Problem, Sources};

/// Files that the house has by their names alone.
pub(super) const BY_NAME: [(&str, FileKind); 3] = [
    ("ledger.yaml", FileKind::Ledger),
    ("classes/*.yaml", FileKind::Class),
    ("words/*.yaml", FileKind::Words),
];

/// Files that are read at a time: what they have behind aliases and in lists is counted when they were read.
const BATCH: usize = 32;

/// One house being read. Files are numbered as they are found, and anew at the end.
pub(super) struct Loading<'l, 't> {
    folder: &'l Folder<'t>,
    limits: &'l Limits,
    last: Option<Last<'l>>,
    files: Vec<ReadFile>,
    problems: Vec<Problem>,
    /// Every path that was wanted, with its number if it could be read.
    seen: FxHashMap<String, Option<FileId>>,
    /// Includes that name one file: from, to, and where.
    includes: Vec<(FileId, String, Place)>,
    house_bytes_left: u64,
    classes_bytes_left: u64,
    left: Weight,
    entries_left: usize,
}

impl<'l, 't> Loading<'l, 't> {
    pub(super) fn new(folder: &'l Folder<'t>, limits: &'l Limits, last: Option<Last<'l>>) -> Self {
        Self {
            folder,
            limits,
            last,
            files: Vec::new(),
            problems: Vec::new(),
            seen: FxHashMap::default(),
            includes: Vec::new(),
            house_bytes_left: limits.house_bytes,
            classes_bytes_left: limits.classes_bytes,
            left: Weight {
                alias_nodes: limits.house_alias_nodes,
                alias_bytes: limits.house_alias_bytes,
                list_nodes: limits.list_nodes,
            },
            entries_left: limits.folder_entries,
        }
    }

    pub(super) fn run(mut self, root: &str) -> Loaded {
        let mut round = vec![Wanted { path: root.to_owned(), kind: FileKind::Description, named_at: None }];
        for (pattern, kind) in BY_NAME {
            let found = self.folder.matches(pattern, self.limits, &mut self.entries_left);
            let Ok(Matches { mut paths, unreadable, .. }) = found else { continue };
            let place = Place { file: FileId(0), start: 0, end: 0 };
            if kind == FileKind::Class {
                self.leave_out_classes(&mut paths, place);
            }
            if let Some((path, cause)) = unreadable {
                self.problems.push(Problem::Unreadable { place, path, cause: cause.kind().to_string() });
            }
            round.extend(paths.into_iter().map(|path| Wanted { path, kind, named_at: None }));
        }
        while !round.is_empty() {
            let first = self.files.len();
            self.read(round);
            round = self.named_by(first);
        }
        self.find_unreached();
        self.find_loops();
        self.finish()
    }

    /// Leaves out the classes beyond those that are allowed.
    fn leave_out_classes(&mut self, paths: &mut BTreeSet<String>, place: Place) {
        let limit = self.limits.classes;
        let Some(first) = paths.iter().nth(limit).cloned() else { return };
        paths.split_off(&first);
        let (counted, limit) = (Counted::Classes, limit as u64);
        self.problems.push(Problem::TooMany { place, counted, limit, path: Some(first) });
    }

    /// Those of a round that were not wanted before. Where they are more than a house may have none is read but the root
    /// and the ledger: reading as many as there may be takes long, and the house is refused all the same.
    fn fresh(&mut self, round: Vec<Wanted>) -> Vec<Wanted> {
        let is_new = |wanted: &Wanted| {
            let is_new = !self.seen.contains_key(&wanted.path);
            if is_new {
                self.seen.insert(wanted.path.clone(), None);
            }
            is_new
        };
        let mut fresh: Vec<Wanted> = round.into_iter().filter(is_new).collect();
        let limit = self.limits.files;
        if let Some(beyond) = fresh.get(limit.saturating_sub(self.files.len())) {
            let place = beyond.named_at.unwrap_or(Place { file: FileId(0), start: 0, end: 0 });
            let (counted, path) = (Counted::Files, Some(beyond.path.clone()));
            self.problems.push(Problem::TooMany { place, counted, limit: limit as u64, path });
            let is_kept = |kind| matches!(kind, FileKind::Description | FileKind::Ledger);
            fresh.retain(|wanted| wanted.named_at.is_none() && is_kept(wanted.kind));
        }
        fresh
    }

    /// Reads a round of files, those that were not wanted before, in parallel.
    fn read(&mut self, round: Vec<Wanted>) {
        let mut admitted = Vec::new();
        for wanted in self.fresh(round) {
            if let Some(problem) = self.refuse(&wanted) {
                self.problems.push(problem);
                continue;
            }
            let file = FileId(u32::try_from(self.files.len() + admitted.len()).unwrap_or(u32::MAX));
            self.seen.insert(wanted.path.clone(), Some(file));
            admitted.push((file, wanted));
        }
        let mut admitted = admitted.into_iter();
        loop {
            let batch: Vec<(FileId, Wanted)> = admitted.by_ref().take(BATCH).collect();
            if batch.is_empty() {
                return;
            }
            let limits = Limits {
                alias_nodes: self.limits.alias_nodes.min(self.left.alias_nodes),
                alias_bytes: self.limits.alias_bytes.min(self.left.alias_bytes),
                ..*self.limits
            };
            let (folder, looking) = (self.folder, (&limits, self.last));
            let read: Vec<ReadFile> = batch
                .into_par_iter()
                .with_max_len(1)
                .map(|(file, wanted)| read_file(folder, looking, file, wanted))
                .collect();
            for mut file in read {
                self.weigh(&mut file);
                self.files.push(file);
            }
        }
    }

    /// Gives a file up that has more, behind its aliases or in its lists, than is left of what those of the house may have.
    fn weigh(&mut self, read: &mut ReadFile) {
        let (weight, left) = (read.source.weight, &mut self.left);
        let (counted, limit) = if weight.alias_nodes > left.alias_nodes {
            (Counted::AliasNodes, self.limits.house_alias_nodes as u64)
        } else if weight.alias_bytes > left.alias_bytes {
            (Counted::AliasBytes, self.limits.house_alias_bytes)
        } else if weight.list_nodes > left.list_nodes {
            (Counted::ListNodes, self.limits.list_nodes as u64)
        } else {
            left.alias_nodes -= weight.alias_nodes;
            left.alias_bytes -= weight.alias_bytes;
            left.list_nodes -= weight.list_nodes;
            return;
        };
        // No alias is followed from here on.
        *left = Weight { list_nodes: left.list_nodes, ..Weight::default() };
        let file = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        let place = Place { file, start: 0, end: 0 };
        read.problems.push(Problem::TooMany { place, counted, limit, path: None });
        read.source.named.clear();
        (read.tree, read.unchanged) = (None, false);
    }

    /// What speaks against reading a file, before it is opened.
    fn refuse(&mut self, wanted: &Wanted) -> Option<Problem> {
        // What is wrong with a file that nobody names shows at the start of the root file.
        let place = wanted.named_at.unwrap_or(Place { file: FileId(0), start: 0, end: 0 });
        let path = wanted.path.clone();
        let too_many = |counted, limit| {
            Some(Problem::TooMany { place, counted, limit, path: Some(wanted.path.clone()) })
        };
        let is_class = matches!(wanted.kind, FileKind::Class | FileKind::Words);
        let class_bytes = self.limits.class_bytes.min(self.limits.file_bytes);
        let file_bytes = if is_class { class_bytes } else { self.limits.file_bytes };
        match self.folder.size(&wanted.path) {
            Ok(size) if size > file_bytes.min(Limits::MOST_FILE_BYTES) => {
                too_many(Counted::FileBytes, file_bytes)
            }
            Ok(size) if size > self.house_bytes_left => {
                too_many(Counted::HouseBytes, self.limits.house_bytes)
            }
            Ok(size) if is_class && size > self.classes_bytes_left => {
                too_many(Counted::ClassesBytes, self.limits.classes_bytes)
            }
            Ok(size) => {
                self.house_bytes_left -= size;
                self.classes_bytes_left -= if is_class { size } else { 0 };
                None
            }
            Err(refusal) => {
                let mut problem = refused(refusal, place, path, wanted.kind, self.limits);
                if let Problem::MissingInclude { beside, .. } | Problem::MissingFile { beside, .. } =
                    &mut problem
                {
                    *beside = self.folder.beside(&wanted.path, &mut self.entries_left);
                }
                Some(problem)
            }
        }
    }

    /// The files that the files from number `first` on name, in the order of the texts.
    fn named_by(&mut self, first: usize) -> Vec<Wanted> {
        let mut wanted = Vec::new();
        let mut names = Vec::new();
        for (file, number) in self.files.iter().zip(0u32..).skip(first) {
            let placed = |named: &Named| {
                let place = Place { file: FileId(number), start: named.start, end: named.end };
                (place, named.path.clone(), named.kind)
            };
            names.extend(file.source.named.iter().map(placed));
        }
        for (place, written, kind) in names {
            let from = self.files.get(place.file.0 as usize).map_or("", |file| &file.source.path);
            let Some(path) = resolve(from, &written) else {
                self.problems.push(Problem::OutsideFolder { place, path: written, by_link: false });
                continue;
            };
            match kind {
                FileKind::Description if is_pattern(&path) => self.expand(&path, place, written, &mut wanted),
                FileKind::Description => {
                    self.includes.push((place.file, path.clone(), place));
                    wanted.push(Wanted { path, kind, named_at: Some(place) });
                }
                FileKind::Table | FileKind::Class | FileKind::Words | FileKind::Ledger => {
                    wanted.push(Wanted { path, kind, named_at: Some(place) });
                }
            }
        }
        wanted
    }

    fn expand(&mut self, pattern: &str, place: Place, written: String, wanted: &mut Vec<Wanted>) {
        let too_many = |counted, limit| Problem::TooMany { place, counted, limit, path: None };
        let found = match self.folder.matches(pattern, self.limits, &mut self.entries_left) {
            Ok(found) => found,
            Err(bad) => {
                self.problems.push(match bad {
                    BadPattern::Unreadable => Problem::BadPattern { place, pattern: written },
                    BadPattern::TooLong => too_many(Counted::PatternBytes, Limits::PATTERN_BYTES as u64),
                    BadPattern::TooManyParts => too_many(Counted::PatternParts, Limits::PATTERN_PARTS as u64),
                });
                return;
            }
        };
        if found.too_deep {
            self.problems.push(too_many(Counted::FoldersDeep, self.limits.folders_deep as u64));
        }
        if found.too_many {
            self.problems.push(too_many(Counted::FolderEntries, self.limits.folder_entries as u64));
        } else if let Some((path, cause)) = found.unreadable {
            let cause = cause.kind().to_string();
            self.problems.push(Problem::Unreadable { place, path, cause });
        } else if found.paths.is_empty() && !found.too_deep {
            let beside = self.folder.patterns_beside(pattern, &mut self.entries_left);
            self.problems.push(Problem::MissingInclude { place, pattern: written, beside });
        }
        let kind = FileKind::Description;
        wanted.extend(found.paths.into_iter().map(|path| Wanted { path, kind, named_at: Some(place) }));
    }

    /// Tells what lies in the folder like a part of the description, and is included by nothing. Where an include was not
    /// followed, or a file not read, that is told already; beside a root file of another name another house may lie.
    fn find_unreached(&mut self) {
        if self.files.first().is_none_or(|root| root.source.path != ROOT) {
            return;
        }
        let is_read = |file: &ReadFile| file.source.kind != FileKind::Description || file.problems.is_empty();
        if !self.problems.is_empty() || !self.files.iter().all(is_read) {
            return;
        }
        let unreached = unreached::find(self.folder, self.limits, |path| self.seen.contains_key(path));
        let Some((paths, includes)) = unreached else { return };
        let of_root = self.files.first().map_or(&[][..], |root| &root.source.named);
        let last = of_root.iter().rfind(|named| named.kind == FileKind::Description);
        let (start, end) = last.map_or((0, 0), |last| (last.start, last.end));
        let place = Place { file: FileId(0), start, end };
        self.problems.push(Problem::NotIncluded { place, paths, includes, beside_others: last.is_some() });
    }

    /// Tells each include that closes a loop, going through the includes in the order of the files.
    fn find_loops(&mut self) {
        let mut edges: FxHashMap<FileId, Vec<(FileId, Place)>> = FxHashMap::default();
        for (from, path, place) in &self.includes {
            if let Some(Some(to)) = self.seen.get(path) {
                edges.entry(*from).or_default().push((*to, *place));
            }
        }
        let mut finished = FxHashSet::default();
        for root in 0..u32::try_from(self.files.len()).unwrap_or(u32::MAX) {
            // What is being read, each with the number of includes that were followed.
            let mut path = vec![(FileId(root), 0)];
            let mut on_path = FxHashSet::from_iter([FileId(root)]);
            while let Some((file, next)) = path.last_mut() {
                let edge =
                    edges.get(file).filter(|_| !finished.contains(file)).and_then(|edges| edges.get(*next));
                let Some((to, place)) = edge.copied() else {
                    finished.insert(*file);
                    on_path.remove(file);
                    path.pop();
                    continue;
                };
                *next += 1;
                if on_path.contains(&to) {
                    let file = self.files.get(to.0 as usize).map_or("", |file| &file.source.path);
                    self.problems.push(Problem::IncludeLoop { place, path: file.to_owned() });
                } else if !finished.contains(&to) {
                    on_path.insert(to);
                    path.push((to, 0));
                }
            }
        }
    }

    /// Numbers the files anew, the root first and the others by path, and puts the problems in their order.
    fn finish(self) -> Loaded {
        let mut order: Vec<usize> = (1..self.files.len()).collect();
        sort::by(&mut order, |a, b| self.path(*a).cmp(self.path(*b)));
        order.splice(0..0, (!self.files.is_empty()).then_some(0));
        let mut new_ids = vec![FileId(0); order.len()];
        for (id, old) in order.iter().enumerate() {
            if let Some(slot) = new_ids.get_mut(*old) {
                *slot = FileId(u32::try_from(id).unwrap_or(u32::MAX));
            }
        }
        let mut problems = self.problems;
        let mut read: Vec<Option<ReadFile>> = self.files.into_iter().map(Some).collect();
        let (mut files, mut documents) = (Vec::new(), Vec::new());
        for (id, old) in (0..).map(FileId).zip(order) {
            let Some(file) = read.get_mut(old).and_then(Option::take) else { continue };
            problems.extend(file.problems);
            documents.push(Document {
                file: id,
                kind: file.source.kind,
                tree: file.tree,
                unchanged: file.unchanged,
            });
            files.push(file.source);
        }
        for problem in &mut problems {
            problem.each_place(|place| {
                place.file = new_ids.get(place.file.0 as usize).copied().unwrap_or(place.file);
            });
        }
        sort::by_key(&mut problems, Problem::place);
        // What the house names elsewhere is not what was meant by a name of no file.
        let known: FxHashSet<&str> = files.iter().map(|file: &SourceFile| file.path.as_str()).collect();
        for problem in &mut problems {
            if let Problem::MissingInclude { beside, .. } | Problem::MissingFile { beside, .. } = problem {
                beside.retain(|path| !known.contains(path.as_str()));
            }
        }
        (Sources::new(files), documents, problems)
    }

    fn path(&self, number: usize) -> &str {
        self.files.get(number).map_or("", |file| &file.source.path)
    }
}
