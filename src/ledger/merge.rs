//! Two branches that both gave endpoint numbers, brought together.
//!
//! The unit is the identity, found by its unique id: both sides know it or one does, and with the common base it
//! is plain which side changed it. Where both sides gave the same number, the branch that was not yet built gives way
//! and takes numbers above all that either side ever gave, so that no number that may have been seen by a controller
//! comes back as another appliance. Where both changed one identity, in use wins over retired: the next build
//! retires what the description no longer has, but could not give back what was lost here. Where both made one unique id for
//! two endpoints, the place of the one that gives way is retired.
//!
//! A commit that is taken over alone has a base that the built side has never seen. What the base alone has then comes in
//! retired, and gives way.

use super::allocate::Exhausted;
use super::entries::{Ledger, Owner};
use super::identity::{EndpointNumber, Identity, UniqueId};
use super::remember::UNKNOWN;
use super::three_way::{Places, displaced, three_way};
use crate::sort;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

/// Which side's build the gateways have, and which side gives way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Built {
    /// The branch that is merged into; in a rebase the one that is rebased onto.
    Ours,
    /// The branch that is merged.
    Theirs,
}

/// Two ledgers brought together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Merged {
    /// The ledger of both.
    pub ledger: Ledger,
    /// What had to give way, by key and part. Empty where nothing was in conflict.
    pub changes: Vec<Change>,
}

/// Something that gave way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// An appliance's part has another number than its branch gave it.
    Renumbered {
        /// Whose.
        owner: Owner,
        /// Key of the bridge.
        bridge: Arc<str>,
        /// The number that its branch gave it.
        from: EndpointNumber,
        /// The number that it has now.
        to: EndpointNumber,
    },
    /// A retired identity was forgotten: its number was given by the branch that was built.
    Forgotten {
        /// Whose it was.
        owner: Owner,
        /// What it was.
        identity: Identity,
    },
    /// Both branches gave an identity to another key; one of them has it.
    Disputed {
        /// Whose it is now.
        owner: Owner,
        /// Whose it is in the branch that gave way.
        other: Owner,
    },
    /// Both branches gave an identity to one part of an appliance; this one was retired.
    Retired {
        /// Whose.
        owner: Owner,
        /// What was retired.
        identity: Identity,
    },
}

impl Change {
    /// Whose identity gave way.
    pub fn owner(&self) -> &Owner {
        match self {
            Self::Renumbered { owner, .. }
            | Self::Forgotten { owner, .. }
            | Self::Disputed { owner, .. }
            | Self::Retired { owner, .. } => owner,
        }
    }
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Owner { key, part } = self.owner();
        match self {
            Self::Renumbered { bridge, from, to, .. } => {
                write!(f, "`{key}` ({part}) has endpoint {to} of `{bridge}` instead of {from}")
            }
            Self::Forgotten { identity: Identity { bridge, number, .. }, .. } => {
                write!(
                    f,
                    "endpoint {number} of `{bridge}`, which `{key}` ({part}) once had, belongs to another appliance"
                )
            }
            Self::Disputed { other, .. } => write!(
                f,
                "`{key}` ({part}) has what the other branch renamed to `{}`: describe it under one of the two keys; \
                 `housewright ledger rename` moves it",
                other.key
            ),
            Self::Retired { identity: Identity { bridge, number, .. }, .. } => {
                write!(f, "endpoint {number} of `{bridge}`, a second one for `{key}` ({part}), is retired")
            }
        }
    }
}

/// Why two ledgers cannot be brought together.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MergeError {
    /// They are of two houses.
    #[error("one ledger is of the house `{ours}`, the other of `{theirs}`")]
    OtherHouse {
        /// The id of the house of the one.
        ours: String,
        /// The id of the house of the other.
        theirs: String,
    },
    /// The numbers of a bridge do not suffice for both.
    #[error("bridge `{bridge}` has no endpoint number left that it never gave")]
    Exhausted {
        /// Key of the bridge.
        bridge: String,
    },
    /// Nothing says which of two appliances has a number.
    #[error("nothing says whether `{first}` or `{second}` has endpoint {number} of `{bridge}`")]
    Undecided {
        /// Key of the bridge.
        bridge: String,
        /// The number.
        number: EndpointNumber,
        /// Key of the one that has it.
        first: String,
        /// Key of the other one that has it.
        second: String,
    },
    /// A unique id stands at two endpoints: it was copied by hand, and which of them had another one is forgotten.
    #[error("the unique id {unique_id} stands at `{first}` and at `{second}`")]
    OneId {
        /// The unique id.
        unique_id: UniqueId,
        /// Key of the one.
        first: String,
        /// Key of the other.
        second: String,
    },
    /// An appliance was named to keep a number that nobody else has.
    #[error("`{key}` has no endpoint number that another appliance has too")]
    NotTwice {
        /// Its key.
        key: String,
    },
}

impl From<Exhausted> for MergeError {
    fn from(exhausted: Exhausted) -> Self {
        Self::Exhausted { bridge: exhausted.bridge }
    }
}

/// Brings the ledgers of two branches together. `base` is what both came from; without it, what only one side has
/// is new there.
///
/// # Errors
///
/// [`MergeError`] if they are of two houses or a bridge runs out of numbers.
pub fn merge(
    base: Option<&Ledger>,
    ours: &Ledger,
    theirs: &Ledger,
    built: Built,
) -> Result<Merged, MergeError> {
    if ours.house != theirs.house {
        return Err(MergeError::OtherHouse { ours: ours.house.clone(), theirs: theirs.house.clone() });
    }
    let (first, second) = match built {
        Built::Ours => (ours, theirs),
        Built::Theirs => (theirs, ours),
    };
    let empty = Ledger::new(ours.house.as_str());
    let before = base;
    let base = records(base.unwrap_or(&empty));
    let (first, second) = (records(first), records(second));
    let mut all: BTreeMap<UniqueId, [Option<&Record>; 3]> = BTreeMap::new();
    for (side, records) in [&base, &first, &second].into_iter().enumerate() {
        for record in records {
            if let Some(slot) = all.entry(record.identity.unique_id).or_default().get_mut(side) {
                *slot = Some(record);
            }
        }
    }
    let built = Places::of(&first);
    let mut kept: Vec<Record> = all
        .into_values()
        .filter_map(|[base, first, second]| three_way(base, first, second, &built))
        .collect();
    let displaced = displaced(&ours.house, &kept, [&base, &first, &second]);
    kept.extend(displaced);
    let mut merged = settle(&ours.house, kept)?;
    know(&mut merged.ledger, before, ours, theirs);
    know(&mut merged.ledger, before, theirs, ours);
    Ok(merged)
}

/// Keeps the keys that are known without having anything: those that a side has, unless the other one removed them.
pub(super) fn know(merged: &mut Ledger, base: Option<&Ledger>, side: &Ledger, other: &Ledger) {
    for (key, parts) in &side.living {
        let removed =
            !other.living.contains_key(key) && base.is_some_and(|base| base.living.contains_key(key));
        if parts.is_empty() && !removed {
            merged.known(key);
        }
    }
}

/// Who keeps a number that two have, best right first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Right {
    Base,
    Built,
    GivesWay,
}

/// One identity with its owner and state.
#[derive(Clone, Debug)]
pub(super) struct Record {
    pub(super) owner: Owner,
    pub(super) living: bool,
    pub(super) identity: Identity,
    pub(super) right: Right,
    /// Whether only the branch that gives way says whose it is.
    pub(super) moved: bool,
    /// Whose it is in the branch that gave way, where both gave it to another key.
    pub(super) other: Option<Owner>,
    /// The owner it goes back to if its own is taken.
    pub(super) before: Option<Owner>,
}

pub(super) fn records(ledger: &Ledger) -> Vec<Record> {
    let record = |living: bool| {
        move |(key, part, identity): (&str, &str, &Identity)| Record {
            owner: Owner { key: key.to_owned(), part: part.to_owned() },
            living,
            identity: identity.clone(),
            right: Right::GivesWay,
            moved: false,
            other: None,
            before: None,
        }
    };
    ledger.living().map(record(true)).chain(ledger.retired().map(record(false))).collect()
}

/// Makes a ledger of records in which owners and numbers may collide.
pub(super) fn settle(house: &str, mut records: Vec<Record>) -> Result<Merged, MergeError> {
    let rank = |record: &Record| (record.moved, record.right, record.identity.unique_id);
    sort::by(&mut records, |a, b| a.owner.cmp(&b.owner).then_with(|| rank(a).cmp(&rank(b))));
    let mut merged = Merged { ledger: Ledger::new(house), changes: Vec::new() };
    one_identity_each(&mut records, &mut merged.changes);
    one_owner_each(&mut records, &mut merged.changes)?;
    for record in records {
        if let Some(other) = record.other.filter(|_| record.living) {
            merged.changes.push(Change::Disputed { owner: record.owner.clone(), other });
        }
        let Owner { key, part } = record.owner;
        if record.living {
            merged.ledger.live(&key, part, record.identity);
        } else {
            merged.ledger.retire(&key, part, record.identity);
        }
    }
    merged.ledger.sort();
    sort::by(&mut merged.changes, |a, b| a.owner().cmp(b.owner()));
    Ok(merged)
}

/// Leaves each part of an appliance one living identity: of several, the one of best right.
fn one_identity_each(records: &mut [Record], changes: &mut Vec<Change>) {
    let mut bearer: FxHashMap<Owner, usize> = FxHashMap::default();
    let mut losers: Vec<usize> = Vec::new();
    for (position, record) in records.iter().enumerate().filter(|(_, record)| record.living) {
        // Those of an owner stand in the order of their right, so the first one wins.
        if bearer.contains_key(&record.owner) {
            losers.push(position);
        } else {
            bearer.insert(record.owner.clone(), position);
        }
    }
    for position in losers {
        let Some(record) = records.get_mut(position) else { continue };
        match record.before.take().filter(|owner| !bearer.contains_key(owner)) {
            Some(before) => {
                bearer.insert(before.clone(), position);
                record.owner = before;
            }
            None => {
                record.living = false;
                let (owner, identity) = (record.owner.clone(), record.identity.clone());
                changes.push(Change::Retired { owner, identity });
            }
        }
    }
}

/// Leaves each number of a bridge one owner: of several, the one of best right.
fn one_owner_each(records: &mut Vec<Record>, changes: &mut Vec<Change>) -> Result<(), Exhausted> {
    let mut highest: FxHashMap<Arc<str>, EndpointNumber> = FxHashMap::default();
    let mut holder: FxHashMap<(Arc<str>, EndpointNumber), Right> = FxHashMap::default();
    for Record { identity, right, .. } in records.iter() {
        let number = highest.entry(Arc::clone(&identity.bridge)).or_insert(identity.number);
        *number = identity.number.max(*number);
        let best = holder.entry((Arc::clone(&identity.bridge), identity.number)).or_insert(*right);
        *best = (*best).min(*right);
    }
    let mut held: FxHashMap<(Arc<str>, EndpointNumber), ()> = FxHashMap::default();
    let mut kept = Vec::with_capacity(records.len());
    for mut record in std::mem::take(records) {
        let identity = &mut record.identity;
        let place = (Arc::clone(&identity.bridge), identity.number);
        if holder.get(&place) == Some(&record.right) && held.insert(place, ()).is_none() {
            kept.push(record);
        } else if record.living {
            let bridge = Arc::clone(&identity.bridge);
            let exhausted = || Exhausted { bridge: bridge.to_string() };
            let number = highest.get_mut(&bridge).ok_or_else(exhausted)?;
            *number = number.next().ok_or_else(exhausted)?;
            let (from, to) = (identity.number, *number);
            identity.number = to;
            changes.push(Change::Renumbered { owner: record.owner.clone(), bridge, from, to });
            kept.push(record);
        } else if record.owner.key != UNKNOWN {
            changes.push(Change::Forgotten { owner: record.owner, identity: record.identity });
        }
    }
    *records = kept;
    Ok(())
}
