//! The accept list: changes that the owner agreed to, by appliance and kind, each with its reason and used once.
//!
//! Format, version 1:
//!
//! ```yaml
//! housewright-accept: 1
//! appliances:
//!   pantry-light:
//!     removed: the owner had it taken out
//! bridges:
//!   wharf:
//!     bridge-renamed: agreed on site
//! house:
//!   matter-edition: the gateway was updated
//! ```
//!
//! A review tells a change that happened to several appliances alike once; each of them needs an entry all the same.
//!
//! An entry agrees to a kind of change, not to its values: a setpoint that was agreed to as 22 °C lets one of 29 °C through.

mod read;

pub use read::{AcceptFault, AcceptReading, accept_schema, read_accept_list};

use crate::findings::nearest_sorted;
use crate::review::change::{Change, Kind, Member, Review, Subject};
use crate::source::{Limits, Spanned};
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// What an entry is about.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum AcceptSubject {
    /// The house as a whole.
    House,
    /// The bridge with this key.
    Bridge(String),
    /// The appliance with this key, old or new.
    Appliance(String),
}

impl AcceptSubject {
    /// Its key.
    fn key(&self) -> Option<&str> {
        match self {
            Self::House => None,
            Self::Bridge(key) | Self::Appliance(key) => Some(key),
        }
    }
}

/// One agreed change.
#[derive(Clone, Debug, PartialEq)]
pub struct AcceptEntry {
    /// What it is about.
    pub subject: AcceptSubject,
    /// Which kind of change, with the place of the word.
    pub kind: Spanned<Kind>,
    /// Why the owner agreed.
    pub reason: String,
}

/// All agreed changes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AcceptList {
    /// In the order of the file.
    pub entries: Vec<AcceptEntry>,
}

/// An entry that agrees to nothing, as a fact with its index in [`AcceptList::entries`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AcceptProblem {
    /// There is no such change.
    Unused {
        /// The entry.
        entry: usize,
        /// The key nearest to the entry's of those that have such a change, if one is near. It is not looked for where more
        /// problems come before than are told.
        nearest: Option<String>,
    },
    /// Another entry already agrees to this change.
    AgreedTwice {
        /// The entry.
        entry: usize,
        /// The entry that agrees to it.
        first: usize,
    },
}

impl AcceptProblem {
    /// What is wrong, with the entry's own words.
    pub fn message(&self, list: &AcceptList) -> String {
        let (entry, why) = match self {
            Self::Unused { entry, .. } => (*entry, "but nothing of the kind changed"),
            Self::AgreedTwice { entry, .. } => (*entry, "which another entry agrees to already"),
        };
        match list.entries.get(entry) {
            Some(agreed) => {
                let what = match &agreed.subject {
                    AcceptSubject::House => "of the house".to_owned(),
                    AcceptSubject::Bridge(key) => format!("of the bridge `{key}`"),
                    AcceptSubject::Appliance(key) => format!("of `{key}`"),
                };
                format!("the accept list agrees to `{}` {what}, {why}", agreed.kind.value.name())
            }
            None => format!("the accept list agrees to something, {why}"),
        }
    }

    /// The index of the entry in [`AcceptList::entries`]; its `kind` has the place.
    pub fn entry(&self) -> usize {
        match self {
            Self::Unused { entry, .. } | Self::AgreedTwice { entry, .. } => *entry,
        }
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        match self {
            Self::Unused { nearest: Some(key), .. } => {
                format!("write `{key}` if you mean that one, else take the entry out: each is for one change")
            }
            Self::Unused { nearest: None, .. } | Self::AgreedTwice { .. } => {
                "take the entry out: each is for one change, and is done with when that is built".to_owned()
            }
        }
    }
}

/// What the entries of a list agree to.
pub(super) struct Uses {
    /// Change and entry. Several entries agree to a change of several appliances.
    pub(super) accepted: Vec<(usize, usize)>,
    /// Changes of several appliances of which only some are agreed to, with the keys of the others.
    pub(super) partly: Vec<(usize, Vec<String>)>,
    /// Entries without a change.
    pub(super) problems: Vec<AcceptProblem>,
}

/// A member of a change: the change, and its position there.
type At = (usize, usize);

impl AcceptList {
    /// Finds the change that each entry agrees to. A change that happened to several appliances alike needs an entry for each
    /// of them; one that several have together needs one.
    pub(super) fn uses(&self, review: &Review) -> Uses {
        let mut uses = Uses { accepted: Vec::new(), partly: Vec::new(), problems: Vec::new() };
        if self.entries.is_empty() {
            return uses;
        }
        let mut changes: FxHashMap<(Kind, AcceptSubject), At> = FxHashMap::default();
        // A key that an appliance has now is its own; one that it had is another's, if another has it now.
        for named in [subjects, former_subjects] {
            for (index, change) in review.changes.iter().enumerate() {
                for (member, subject) in named(change) {
                    changes.entry((change.kind, subject)).or_insert((index, member));
                }
            }
        }
        let keys = keys_of_kinds(&changes);
        let mut taken: BTreeMap<usize, BTreeMap<usize, usize>> = BTreeMap::new();
        for (entry, agreed) in self.entries.iter().enumerate() {
            let Some((change, member)) = changes.get(&(agreed.kind.value, agreed.subject.clone())) else {
                let is_told = uses.problems.len() < Limits::PROBLEMS_PER_FILE;
                let nearest = is_told.then(|| nearest_of(agreed, &keys)).flatten();
                uses.problems.push(AcceptProblem::Unused { entry, nearest });
                continue;
            };
            match taken.entry(*change).or_default().entry(*member) {
                Entry::Occupied(first) => {
                    uses.problems.push(AcceptProblem::AgreedTwice { entry, first: *first.get() });
                }
                Entry::Vacant(place) => {
                    place.insert(entry);
                }
            }
        }
        for (index, entries) in taken {
            let Some(change) = review.changes.get(index) else { continue };
            let others = || change.members().iter().enumerate().filter(|(at, _)| !entries.contains_key(at));
            if is_joint(change.kind) || others().next().is_none() {
                uses.accepted.extend(entries.values().map(|entry| (index, *entry)));
            } else {
                uses.partly.push((index, others().map(|(_, member)| member.key.clone()).collect()));
            }
        }
        uses
    }
}

/// Whether a change of several appliances is one thing that they have together.
fn is_joint(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Swap
            | Kind::KeysExchanged
            | Kind::KeyTaken
            | Kind::Split
            | Kind::SplitOff
            | Kind::Merged
            | Kind::MergedInto
            | Kind::BlockMoved
    )
}

/// The keys that have a change, for each kind of change, sorted.
fn keys_of_kinds(changes: &FxHashMap<(Kind, AcceptSubject), At>) -> FxHashMap<Kind, Vec<&str>> {
    let mut all: Vec<(Kind, &str)> =
        changes.keys().filter_map(|(kind, subject)| Some((*kind, subject.key()?))).collect();
    all.sort_unstable();
    let mut keys: FxHashMap<Kind, Vec<&str>> = FxHashMap::default();
    for (kind, key) in all {
        keys.entry(kind).or_default().push(key);
    }
    keys
}

/// The key that an entry probably means: the nearest of those that have such a change.
fn nearest_of(agreed: &AcceptEntry, keys: &FxHashMap<Kind, Vec<&str>>) -> Option<String> {
    nearest_sorted(agreed.subject.key()?, keys.get(&agreed.kind.value)?).map(str::to_owned)
}

/// What an entry names to mean this change, each with the position of the member.
fn subjects(change: &Change) -> Vec<(usize, AcceptSubject)> {
    match &change.subject {
        Subject::House => vec![(0, AcceptSubject::House)],
        Subject::Bridge { key, .. } => vec![(0, AcceptSubject::Bridge(key.clone()))],
        Subject::Appliances(members) => {
            let keys = members.iter().map(|member| AcceptSubject::Appliance(member.key.clone()));
            keys.enumerate().collect()
        }
    }
}

/// What an entry may name instead.
fn former_subjects(change: &Change) -> Vec<(usize, AcceptSubject)> {
    match &change.subject {
        Subject::House => Vec::new(),
        // Of a bridge that only has another key the endpoints went from the one key to the other.
        Subject::Bridge { key, .. } => {
            let other = change.differences.iter().map(|one| &one.bridge).find(|bridge| *bridge != key);
            other.map(|old| (0, AcceptSubject::Bridge(old.clone()))).into_iter().collect()
        }
        Subject::Appliances(members) => {
            let former = |(at, member): (usize, &Member)| {
                Some((at, AcceptSubject::Appliance(member.former_key.clone()?)))
            };
            members.iter().enumerate().filter_map(former).collect()
        }
    }
}
