//! Include patterns, and the walk through the house's folder that finds the files they match.
//!
//! A folder is listed once, for all the parts of the pattern that it can be reached by: what a walk costs grows with
//! the folder, however often the pattern says "any".

use std::collections::{BTreeMap, BTreeSet};
use std::io;

use globset::{GlobBuilder, GlobSet};

use super::Limits;
use super::folder::{Entry, Folder, Refusal, Way, join};

/// Why a pattern is not followed.
#[derive(Debug)]
pub(super) enum BadPattern {
    Unreadable,
    TooLong,
    TooManyParts,
}

/// The files that a pattern matches, and what was not looked through.
#[derive(Default)]
pub(super) struct Matches {
    pub(super) paths: BTreeSet<String>,
    /// The folders have more entries than allowed.
    pub(super) too_many: bool,
    /// Folders lie deeper within each other than `**` goes.
    pub(super) too_deep: bool,
    /// The first folder that the system would not list.
    pub(super) unreadable: Option<(String, io::Error)>,
}

/// What would be at a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum At {
    File,
    Folder,
}

/// Whether a path has characters that make it a pattern.
pub(super) fn is_pattern(path: &str) -> bool {
    path.contains(['*', '?', '[', '{'])
}

impl Folder<'_> {
    /// The files that a pattern matches, sorted. Names that begin with a dot match only a pattern that does.
    /// Each entry looked at counts against `budget`.
    pub(super) fn matches(
        &self,
        pattern: &str,
        limits: &Limits,
        budget: &mut usize,
    ) -> Result<Matches, BadPattern> {
        // Before anything is made of it: what is made of a long pattern is much larger.
        if pattern.len() > Limits::PATTERN_BYTES {
            return Err(BadPattern::TooLong);
        }
        if pattern.split('/').count() > Limits::PATTERN_PARTS {
            return Err(BadPattern::TooManyParts);
        }
        let parts = pattern.split('/').map(Part::new).collect::<Result<Vec<_>, _>>()?;
        let mut walk =
            Walk { folder: self, parts, deepest: limits.folders_deep, budget, found: Matches::default() };
        let mut open = vec![Reached { path: String::new(), deep: 0, parts: 1, way: Way::default() }];
        while let Some(reached) = open.pop() {
            open.extend(walk.look(&reached).into_iter().rev());
        }
        Ok(walk.found)
    }
}

/// One part of a pattern, between two slashes.
enum Part {
    Literal(String),
    AnyDepth,
    Pattern { glob: GlobSet, hidden: bool },
}

impl Part {
    fn new(text: &str) -> Result<Self, BadPattern> {
        if text == "**" {
            return Ok(Self::AnyDepth);
        }
        if !is_pattern(text) {
            return Ok(Self::Literal(text.to_owned()));
        }
        let glob = GlobBuilder::new(text).literal_separator(true).build();
        // A set of one: a pattern alone panics where it is more than its machine takes.
        let glob = glob.and_then(|glob| GlobSet::builder().add(glob).build());
        let glob = glob.map_err(|_| BadPattern::Unreadable)?;
        Ok(Self::Pattern { glob, hidden: text.starts_with('.') })
    }
}

/// A folder that was come to.
struct Reached {
    path: String,
    /// How many folders it lies in, within the house's.
    deep: usize,
    /// The parts of the pattern that what is in it may match next, a bit for each.
    parts: u64,
    way: Way,
}

/// Where to go on in a folder: parts of the pattern, and whether the house's folder is left in no case.
#[derive(Default)]
struct Onward {
    parts: u64,
    is_within: bool,
}

struct Walk<'w, 't> {
    folder: &'w Folder<'t>,
    /// At most as many as a number of 64 bits has.
    parts: Vec<Part>,
    /// Folders within each other that `**` goes down.
    deepest: usize,
    budget: &'w mut usize,
    found: Matches,
}

impl Walk<'_, '_> {
    /// Takes what matches in a folder, and gives the folders in it to look at next, sorted.
    fn look(&mut self, at: &Reached) -> Vec<Reached> {
        let parts = with_nothing_between(&self.parts, at.parts);
        let mut onward: BTreeMap<String, Onward> = BTreeMap::new();
        let mut is_listed = false;
        for (nth, part) in chosen(&self.parts, parts) {
            match part {
                Part::Literal(name) if nth + 1 < self.parts.len() => {
                    onward.entry(name.clone()).or_default().parts |= bit(nth + 1);
                }
                Part::Literal(name) => {
                    let path = join(&at.path, name);
                    if !matches!(self.folder.size(&path), Err(Refusal::Missing)) {
                        self.found.paths.insert(path);
                    }
                }
                Part::AnyDepth | Part::Pattern { .. } => is_listed = true,
            }
        }
        for (name, entry) in if is_listed { self.list(at) } else { Vec::new() } {
            let parts = self.entry(at, parts, &name, entry);
            if parts != 0 {
                let onward = onward.entry(name).or_default();
                onward.parts |= parts;
                onward.is_within |= entry == Entry::Folder;
            }
        }
        let reached = onward.into_iter().map(|(name, Onward { parts, is_within })| Reached {
            path: join(&at.path, &name),
            deep: at.deep + 1,
            parts,
            way: Way { is_within },
        });
        reached.collect()
    }

    /// Takes an entry that matches the pattern to its end; for a folder, the parts that what is in it may match.
    fn entry(&mut self, at: &Reached, parts: u64, name: &str, entry: Entry) -> u64 {
        let is_hidden = name.starts_with('.');
        let mut onward = 0;
        let mut is_found = false;
        for (nth, part) in chosen(&self.parts, parts) {
            match part {
                Part::AnyDepth if entry == Entry::Folder && !is_hidden => {
                    let is_too_deep = at.deep >= self.deepest;
                    self.found.too_deep |= is_too_deep;
                    onward |= if is_too_deep { 0 } else { bit(nth) };
                }
                Part::Pattern { glob, hidden } if (*hidden || !is_hidden) && glob.is_match(name) => {
                    let is_last = nth + 1 == self.parts.len();
                    match entry {
                        Entry::File => is_found |= is_last,
                        // Whatever it was meant for: read as that, it is told.
                        Entry::Unclear if is_last => is_found = true,
                        Entry::Folder | Entry::LinkToFolder if is_last => {}
                        Entry::Folder | Entry::LinkToFolder | Entry::Unclear => onward |= bit(nth + 1),
                    }
                }
                Part::Literal(_) | Part::AnyDepth | Part::Pattern { .. } => {}
            }
        }
        if is_found {
            self.found.paths.insert(join(&at.path, name));
        }
        onward
    }

    fn list(&mut self, at: &Reached) -> Vec<(String, Entry)> {
        let names = self.folder.list(&at.path, at.way, self.budget).unwrap_or_else(|cause| {
            self.found.unreadable.get_or_insert_with(|| (at.path.clone(), cause));
            Vec::new()
        });
        self.found.too_many |= *self.budget == 0;
        names
    }
}

/// Those parts of a pattern whose bits are set, each with its number.
fn chosen(parts: &[Part], bits: u64) -> impl Iterator<Item = (usize, &Part)> {
    parts.iter().enumerate().filter(move |(nth, _)| bits & bit(*nth) != 0)
}

fn bit(nth: usize) -> u64 {
    u32::try_from(nth).ok().and_then(|nth| 1_u64.checked_shl(nth)).unwrap_or_default()
}

/// The same parts, with those behind each `**`, which may stand for no folder. At the end of a pattern it means nothing by
/// itself: there is no file of that name.
fn with_nothing_between(parts: &[Part], bits: u64) -> u64 {
    let mut all = bits;
    for (nth, part) in parts.iter().enumerate() {
        if matches!(part, Part::AnyDepth) && all & bit(nth) != 0 && nth + 1 < parts.len() {
            all |= bit(nth + 1);
        }
    }
    all
}

/// Whether a pattern matches a file at a path, or may match one in the folder there.
pub(super) fn may_lead_to(pattern: &str, path: &str, there: At) -> bool {
    if pattern.len() > Limits::PATTERN_BYTES || pattern.split('/').count() > Limits::PATTERN_PARTS {
        return false;
    }
    let Ok(parts) = pattern.split('/').map(Part::new).collect::<Result<Vec<_>, _>>() else { return false };
    let (mut bits, mut is_matched) = (1, false);
    for name in path.split('/') {
        let is_hidden = name.starts_with('.');
        let before = chosen(&parts, with_nothing_between(&parts, bits));
        (bits, is_matched) = (0, false);
        for (nth, part) in before {
            let is_met = match part {
                Part::AnyDepth => {
                    bits |= if is_hidden { 0 } else { bit(nth) };
                    false
                }
                Part::Literal(literal) => literal == name,
                Part::Pattern { glob, hidden } => (*hidden || !is_hidden) && glob.is_match(name),
            };
            let is_last = nth + 1 == parts.len();
            is_matched |= is_met && is_last;
            bits |= if is_met && !is_last { bit(nth + 1) } else { 0 };
        }
    }
    match there {
        At::File => is_matched,
        At::Folder => bits != 0,
    }
}
