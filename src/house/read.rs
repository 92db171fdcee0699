//! From the documents of a house to the [`House`]: the files put together, every value with its place.

use super::cut_short;
use super::kept::Kept;
use super::model::{Appliance, Bridge, Bus, DescriptionFile, HouseHead, Room, VERSION};
use super::problem::{Keyed, Problem, ProblemKind};
use super::reread::{self, Doubts};
use crate::pieces;
use crate::source::{
    self, Document, Entries, FileId, FileKind, Given, Limits, Place, Scalar, Sources, Spanned, Tree,
    read_tree,
};
use rayon::prelude::*;
use rustc_hash::{FxBuildHasher, FxHashMap};

/// A house as written. Parts that could not be read are left out.
#[derive(Debug)]
pub struct House {
    /// Start of the root file: where what is missing is told.
    pub root: Place,
    /// What is true of the whole.
    pub head: HouseHead,
    /// Where the head stands.
    pub head_place: Option<Place>,
    /// The buses by key.
    pub buses: Vec<(Spanned<String>, Bus)>,
    /// The bridges by key.
    pub bridges: Vec<(Spanned<String>, Bridge)>,
    /// The rooms by key.
    pub rooms: Vec<(Spanned<String>, Room)>,
    /// Rules silenced in the whole house.
    pub allow: Vec<(Spanned<String>, Given<Scalar>)>,
    /// Whether a file could not be read: what is missing may stand there.
    pub unread: bool,
}

impl House {
    /// Its id, where one could be read that can be kept.
    pub fn known_id(&self) -> Option<&str> {
        self.head.id.here().map(|id| id.value.as_str()).filter(|id| is_fit_key(id))
    }
}

/// Puts the files of a description together. Never fails: broken parts are left out and told.
///
/// The trees are used up file by file, so that they need not all be kept.
pub fn read(sources: &Sources, documents: Vec<Document>) -> (House, Vec<source::Problem>, Vec<Problem>) {
    let (limits, kept) = (Limits::default(), Kept::default());
    let read = |document| FileRead::of(sources, document, &limits, &kept);
    let files = descriptions(documents).map(read).collect();
    gather(files, sources)
}

/// Files of a house that are read again at most. Who has more of them has enough to mend before the next check.
const MOST_READ_AGAIN: usize = 50;

/// The same, where `told` is what is known to be wrong with the files. A file in which more than one thing seems to be
/// wrong is read once more, with a line moved where that explains it; what then is no longer wrong is taken out.
///
/// `last` is what the last look has left, and what comes last is what this one leaves: nothing where nobody will look again.
pub fn read_with_lines_moved(
    sources: &Sources,
    documents: Vec<Document>,
    told: &mut Vec<source::Problem>,
    limits: &Limits,
    last: Option<&Kept>,
) -> (House, Vec<source::Problem>, Vec<Problem>, Kept) {
    let nothing = Kept::default();
    let read = |document| FileRead::of(sources, document, limits, last.unwrap_or(&nothing));
    let mut files: Vec<FileRead> = descriptions(documents).map(read).collect();
    let doubts = Doubts::of(told);
    let doubtful: Vec<&mut FileRead> =
        files.iter_mut().filter(|read| doubts.are_about(read)).take(MOST_READ_AGAIN).collect();
    let told_anew: Vec<_> = doubtful
        .into_par_iter()
        .filter_map(|read| {
            let (again, told) = doubts.read_again(sources, read, limits)?;
            *read = again;
            Some((read.start.file, told))
        })
        .collect();
    for (file, anew) in told_anew {
        told.retain(|problem| problem.place().file != file || !reread::is_of_writing(problem));
        told.extend(anew);
    }
    let kept = last.map(|last| last.next(&files, told, sources)).unwrap_or_default();
    let (house, source_problems, problems) = gather(files, sources);
    (house, source_problems, problems, kept)
}

fn descriptions(documents: Vec<Document>) -> impl IndexedParallelIterator<Item = Document> {
    let documents: Vec<_> =
        documents.into_iter().filter(|document| document.kind == FileKind::Description).collect();
    documents.into_par_iter().with_max_len(1)
}

fn gather(files: Vec<FileRead>, sources: &Sources) -> (House, Vec<source::Problem>, Vec<Problem>) {
    let mut gathering = Gathering::default();
    let mut source_problems = Vec::new();
    for (position, mut read) in files.into_iter().enumerate() {
        source_problems.append(&mut read.problems);
        gathering.add(position == 0, read.start, read.description);
        gathering.unread |= read.is_partial;
        gathering.root_unread |= read.is_partial && position == 0;
    }
    let (house, mut problems) = gathering.finish();
    problems.append(&mut cut_short::look(&house, sources));
    (house, source_problems, problems)
}

/// A file of the description, read.
pub(super) struct FileRead {
    pub(super) start: Place,
    pub(super) description: Option<DescriptionFile>,
    pub(super) is_partial: bool,
    pub(super) problems: Vec<source::Problem>,
    /// Whether it is what the last look left.
    pub(super) unchanged: bool,
}

impl FileRead {
    fn of(sources: &Sources, document: Document, limits: &Limits, last: &Kept) -> Self {
        let (file, text) = (document.file, sources.source(document.file));
        let start = Place { file, start: 0, end: 0 };
        if let Some(held) = last.of(&document, sources) {
            let description = Some(held);
            return Self { start, description, is_partial: false, problems: Vec::new(), unchanged: true };
        }
        if document.unchanged {
            // Its places are to be told by another number.
            let (tree, _) = source::parse(text, file, limits);
            return Self::of_tree(tree.as_ref(), file, text);
        }
        Self::of_tree(document.tree.as_ref(), file, text)
    }

    pub(super) fn of_tree(tree: Option<&Tree>, file: FileId, text: &str) -> Self {
        let (description, problems) = tree.map_or((None, Vec::new()), |tree| read_tree(tree, file, text));
        let is_partial = tree.is_some_and(Tree::is_partial);
        let start = Place { file, start: 0, end: 0 };
        Self { start, description, is_partial, problems, unchanged: false }
    }
}

/// The house while its files are put together.
#[derive(Default)]
struct Gathering {
    root: Option<Place>,
    /// Whether the root file, or a part of it, could not be read.
    root_unread: bool,
    unread: bool,
    version: Given<Scalar>,
    head: Given<HouseHead>,
    buses: Vec<(Spanned<String>, Bus)>,
    bridges: Vec<(Spanned<String>, Bridge)>,
    rooms: Vec<(Spanned<String>, Room)>,
    allow: Vec<(Spanned<String>, Given<Scalar>)>,
    problems: Vec<Problem>,
}

impl Gathering {
    fn add(&mut self, is_root: bool, place: Place, file: Option<DescriptionFile>) {
        if is_root {
            self.root = Some(place);
            self.root_unread = file.is_none();
        }
        let Some(file) = file else {
            self.unread = true;
            return;
        };
        if is_root {
            self.version = file.housewright;
            self.head = file.house;
        } else {
            self.only_in_root("housewright", file.housewright.here().map(|version| version.place));
            self.only_in_root("house", file.house.here().map(|house| house.place));
        }
        keep(&mut self.buses, file.buses);
        keep(&mut self.bridges, file.bridges);
        keep(&mut self.rooms, file.rooms);
        if let Given::Here(allow) = file.allow {
            self.allow.extend(allow.value.0);
        }
    }

    fn only_in_root(&mut self, key: &'static str, place: Option<Place>) {
        if let Some(place) = place {
            self.problems.push(Problem { place, kind: ProblemKind::OnlyInRoot { key } });
        }
    }

    fn finish(mut self) -> (House, Vec<Problem>) {
        let start = Place { file: source::FileId(0), start: 0, end: 0 };
        let root = self.root.unwrap_or(start);
        if !self.root_unread {
            self.look_at_version(root);
            self.look_at_head(root);
        }
        look_at_keys(&self.buses, Keyed::Bus, &mut self.problems);
        look_at_keys(&self.bridges, Keyed::Bridge, &mut self.problems);
        look_at_keys(&self.rooms, Keyed::Room, &mut self.problems);
        look_at_appliances(&self.rooms, &mut self.problems);
        self.look_at_bridges();
        look_at_reasons(&self.allow, &mut self.problems);
        let head_place = self.head.place();
        let head = self.head.into_here().map(|head| head.value).unwrap_or_default();
        let house = House {
            root,
            head,
            head_place,
            buses: self.buses,
            bridges: self.bridges,
            rooms: self.rooms,
            allow: self.allow,
            unread: self.unread,
        };
        (house, self.problems)
    }

    fn look_at_version(&mut self, root: Place) {
        let kind = match &self.version {
            Given::Absent => Some((root, ProblemKind::NoVersion)),
            Given::Broken(_) => None,
            Given::Here(version) if version.value.text == VERSION => None,
            Given::Here(version) => {
                Some((version.place, ProblemKind::UnknownVersion { text: version.value.text.clone() }))
            }
        };
        self.problems.extend(kind.map(|(place, kind)| Problem { place, kind }));
    }

    fn look_at_head(&mut self, root: Place) {
        let missing = |place, key| Problem { place, kind: ProblemKind::MissingInHouse { key } };
        match &self.head {
            Given::Absent => self.problems.push(missing(root, "house")),
            Given::Broken(_) => {}
            Given::Here(head) => {
                if matches!(head.value.id, Given::Absent) {
                    self.problems.push(missing(head.place, "id"));
                }
                if let Given::Here(id) = &head.value.id {
                    look_at_key(id, Keyed::House, &mut self.problems);
                }
                if matches!(head.value.name, Given::Absent) {
                    self.problems.push(missing(head.place, "name"));
                }
            }
        }
    }

    fn look_at_bridges(&mut self) {
        for (key, bridge) in &self.bridges {
            if matches!(bridge.name, Given::Absent) {
                let kind = ProblemKind::NoName { what: Keyed::Bridge, key: key.value.clone() };
                self.problems.push(Problem { place: key.place, kind });
            }
            if matches!(bridge.capacity, Given::Absent) {
                let kind = ProblemKind::NoCapacity { key: key.value.clone() };
                self.problems.push(Problem { place: key.place, kind });
            }
        }
    }
}

fn keep<T>(kept: &mut Vec<(Spanned<String>, T)>, entries: Given<Entries<T>>) {
    if let Given::Here(entries) = entries {
        kept.extend(
            entries
                .value
                .0
                .into_iter()
                .filter_map(|(key, value)| value.into_here().map(|value| (key, value.value))),
        );
    }
}

fn look_at_keys<T>(entries: &[(Spanned<String>, T)], what: Keyed, problems: &mut Vec<Problem>) {
    let mut first: FxHashMap<&str, Place> = FxHashMap::default();
    for (key, _) in entries.iter().filter(|(key, _)| !is_forgotten(key)) {
        look_at_key(key, what, problems);
        look_at_first(&mut first, key, what, problems);
    }
}

fn look_at_first<'a>(
    first: &mut FxHashMap<&'a str, Place>,
    key: &'a Spanned<String>,
    what: Keyed,
    problems: &mut Vec<Problem>,
) {
    match first.get(key.value.as_str()) {
        Some(&first) => {
            let kind = ProblemKind::KeyTwice { what, text: key.value.clone(), first };
            problems.push(Problem { place: key.place, kind });
        }
        None => {
            first.insert(&key.value, key.place);
        }
    }
}

/// A key lives for twenty years in files, ledgers and gateways: ASCII lower-case letters, digits and single hyphens,
/// starting with a letter, at most 64 bytes.
pub fn is_fit_key(text: &str) -> bool {
    let mut bytes = text.bytes();
    bytes.next().is_some_and(|first| first.is_ascii_lowercase())
        && bytes.all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
        && !text.ends_with('-')
        && !text.contains("--")
        && text.len() <= 64
}

/// Whether the line with a key was forgotten, which has been told.
fn is_forgotten(key: &Spanned<String>) -> bool {
    key.value.is_empty() && key.place.start == key.place.end
}

fn look_at_key(key: &Spanned<String>, what: Keyed, problems: &mut Vec<Problem>) {
    if !is_fit_key(&key.value) {
        let kind = ProblemKind::UnfitKey { what, text: key.value.clone() };
        problems.push(Problem { place: key.place, kind });
    }
}

fn look_at_appliances(rooms: &[(Spanned<String>, Room)], problems: &mut Vec<Problem>) {
    let each = || {
        pieces::flat(rooms.len(), pieces::HEAVY, |range, told| {
            for (_, room) in rooms.get(range).unwrap_or_default() {
                look_at_given_reasons(&room.allow, told);
                appliances_of(room).for_each(|(key, appliance)| look_at_appliance(key, appliance, told));
            }
        })
    };
    let (mut each, mut twice) = rayon::join(each, || used_twice(rooms));
    problems.append(&mut each);
    problems.append(&mut twice);
}

fn appliances_of(room: &Room) -> impl Iterator<Item = &(Spanned<String>, Given<Appliance>)> {
    let appliances = room.appliances.here().into_iter().flat_map(|entries| &entries.value.0);
    appliances.filter(|(key, _)| !is_forgotten(key))
}

/// Keys that several appliances have.
fn used_twice(rooms: &[(Spanned<String>, Room)]) -> Vec<Problem> {
    let of_rooms = rooms.iter().filter_map(|(_, room)| room.appliances.here());
    let count = of_rooms.map(|entries| entries.value.0.len()).sum();
    let mut first: FxHashMap<&str, Place> = FxHashMap::with_capacity_and_hasher(count, FxBuildHasher);
    let mut problems = Vec::new();
    for (key, _) in rooms.iter().flat_map(|(_, room)| appliances_of(room)) {
        look_at_first(&mut first, key, Keyed::Appliance, &mut problems);
    }
    problems
}

fn look_at_appliance(key: &Spanned<String>, appliance: &Given<Appliance>, problems: &mut Vec<Problem>) {
    look_at_key(key, Keyed::Appliance, problems);
    let Given::Here(appliance) = appliance else { return };
    if matches!(appliance.value.name, Given::Absent) {
        let kind = ProblemKind::NoName { what: Keyed::Appliance, key: key.value.clone() };
        problems.push(Problem { place: key.place, kind });
    }
    if matches!(appliance.value.class, Given::Absent) {
        let points = appliance.value.points.here().into_iter().flat_map(|points| &points.value.0);
        let points = points.map(|(name, _)| name.value.clone()).collect();
        let name = appliance.value.name.here().map_or_else(String::new, |name| name.value.clone());
        let kind = ProblemKind::NoClass { key: key.value.clone(), name, points };
        problems.push(Problem { place: key.place, kind });
    }
    look_at_given_reasons(&appliance.value.allow, problems);
}

fn look_at_given_reasons(allow: &Given<Entries<Scalar>>, problems: &mut Vec<Problem>) {
    if let Given::Here(allow) = allow {
        look_at_reasons(&allow.value.0, problems);
    }
}

fn look_at_reasons(allow: &[(Spanned<String>, Given<Scalar>)], problems: &mut Vec<Problem>) {
    for (rule, reason) in allow {
        let said = match reason {
            Given::Absent => false,
            Given::Broken(_) => false,
            Given::Here(reason) => !reason.value.text.trim().is_empty(),
        };
        if !said {
            let kind = ProblemKind::NoReason { rule: rule.value.clone() };
            problems.push(Problem { place: rule.place, kind });
        }
    }
}
