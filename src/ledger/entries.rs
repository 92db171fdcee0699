//! The ledger as data: every identity that the house has given, living or retired.

use super::identity::{EndpointNumber, Identity, UniqueId};
use crate::sort;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Whose an identity is: the key of an appliance and the name of one of its parts.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Owner {
    /// The appliance's key.
    pub key: String,
    /// The part's name.
    pub part: String,
}

/// The parts of an appliance, each with its identity.
pub(super) type Parts = Vec<(String, Identity)>;

/// Every identity that a house has given.
///
/// A ledger read from a file may hold what must not be, such as a number given twice; [`read`](super::read) then
/// says so, and only [`resolve`](super::resolve) may be called with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ledger {
    pub(super) house: String,
    pub(super) living: BTreeMap<String, Parts>,
    pub(super) retired: BTreeMap<String, Parts>,
}

/// Why a key cannot have what another one had.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RenameError {
    /// The old key is still in use, so nothing was lost.
    #[error("`{key}` still has its endpoints")]
    Lives {
        /// The old key.
        key: String,
    },
    /// What the old key had is another kind of device, or on another bridge.
    #[error("nothing that `{old}` had is of the bridge and device types of `{new}`")]
    Unlike {
        /// The old key.
        old: String,
        /// The new one.
        new: String,
    },
    /// The appliance has what it had first.
    #[error("`{key}` has an endpoint of its device type already, and no earlier one of that type is retired")]
    Has {
        /// Its key.
        key: String,
    },
    /// The ledger knows no such key.
    #[error("the ledger remembers nothing of `{key}`")]
    Unknown {
        /// The old key.
        key: String,
    },
}

impl RenameError {
    /// What to do next.
    pub fn help(&self) -> String {
        match self {
            Self::Lives { key } => format!("write `formerly: {key}` in the renamed appliance, then build"),
            Self::Unlike { new, .. } => format!(
                "an endpoint never becomes another kind of device: give `{new}` the class and bridge that the old one had, and \
                 try again"
            ),
            Self::Has { .. } => {
                "nothing of it is to be brought back: look at what stands below `retired:` in `ledger.yaml`"
                    .to_owned()
            }
            Self::Unknown { .. } => "look for the old key below `retired:` in `ledger.yaml`".to_owned(),
        }
    }
}

impl Ledger {
    /// The ledger of a house that was never built.
    pub fn new(house: impl Into<String>) -> Self {
        Self { house: house.into(), living: BTreeMap::new(), retired: BTreeMap::new() }
    }

    /// The id of the house whose ledger it is.
    pub fn house(&self) -> &str {
        &self.house
    }

    /// Whether it remembers nothing.
    pub fn is_empty(&self) -> bool {
        self.living.is_empty() && self.retired.is_empty()
    }

    /// How many appliances live.
    pub fn appliances(&self) -> usize {
        self.living.len()
    }

    /// The identity of a part of a living appliance.
    pub fn identity(&self, key: &str, part: &str) -> Option<&Identity> {
        self.living.get(key)?.iter().find(|(name, _)| name == part).map(|(_, identity)| identity)
    }

    /// All identities of a living appliance, by part.
    pub fn of(&self, key: &str) -> impl Iterator<Item = (&str, &Identity)> {
        self.living.get(key).into_iter().flatten().map(|(part, identity)| (part.as_str(), identity))
    }

    /// Whether an appliance of that key lives.
    pub fn lives(&self, key: &str) -> bool {
        self.living.contains_key(key)
    }

    /// Whether what `old` had, and no longer has, fits what `new` has or has nothing yet: [`rename`](Self::rename) would
    /// bring it back.
    pub fn is_lost(&self, old: &str, new: &str) -> bool {
        let Some(lost) = self.retired.get(old).filter(|_| !self.lives(old)) else { return false };
        let fits = |part: &str, lost: &Identity| {
            self.identity(new, part)
                .is_some_and(|it| it.bridge == lost.bridge && it.device_types == lost.device_types)
        };
        !self.lives(new) || lost.iter().any(|(part, lost)| fits(part, lost))
    }

    /// Whether nothing that `new` has `fits` what it is, and something that `old` has does: then what is `new` now is what `old`
    /// was. So it is after a merge of a branch that renamed an appliance and one that gave it another class or bridge.
    pub fn fits_rather(&self, old: &str, new: &str, fits: impl Fn(&Identity) -> bool) -> bool {
        let has = |key: &str| self.of(key).any(|(_, identity)| fits(identity));
        !has(new) && has(old)
    }

    /// Whether something was taken from an appliance of that key.
    pub fn has_retired(&self, key: &str) -> bool {
        self.retired.contains_key(key)
    }

    /// The last retired identity of a part that `fits` what the part is, where nothing that the appliance has does:
    /// [`rename`](Self::rename) with its key twice would bring it back.
    pub fn left_behind(&self, key: &str, part: &str, fits: impl Fn(&Identity) -> bool) -> Option<&Identity> {
        if self.living.get(key).is_some_and(|parts| parts.iter().any(|(_, identity)| fits(identity))) {
            return None;
        }
        let retired = self.retired.get(key)?.iter().filter(|(name, identity)| name == part && fits(identity));
        retired.map(|(_, identity)| identity).max_by_key(|identity| identity.number)
    }

    /// The keys of all appliances that lived once, or do.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.living.keys().chain(self.retired.keys()).map(String::as_str)
    }

    /// All identities in use, by key and part.
    pub fn living(&self) -> impl Iterator<Item = (&str, &str, &Identity)> {
        flat(&self.living)
    }

    /// All identities that were taken from an appliance and are never given again, by key, bridge and number.
    pub fn retired(&self) -> impl Iterator<Item = (&str, &str, &Identity)> {
        flat(&self.retired)
    }

    /// For each bridge the highest number that it has ever given.
    pub fn highest(&self) -> BTreeMap<Arc<str>, EndpointNumber> {
        let mut highest: FxHashMap<&Arc<str>, EndpointNumber> = FxHashMap::default();
        for (_, _, identity) in self.living().chain(self.retired()) {
            let number = highest.entry(&identity.bridge).or_insert(identity.number);
            *number = identity.number.max(*number);
        }
        highest.into_iter().map(|(bridge, number)| (Arc::clone(bridge), number)).collect()
    }

    /// Which of the endpoints of an earlier build, given by bridge, number and unique id, this ledger has never
    /// heard of: the file went back to an older state after that build, and would give their numbers again.
    pub fn unknown_of<'a>(
        &self,
        built: impl IntoIterator<Item = (&'a str, u16, &'a str)>,
    ) -> Vec<(&'a str, u16, &'a str)> {
        let known: FxHashMap<UniqueId, &Identity> = self
            .living()
            .chain(self.retired())
            .map(|(_, _, identity)| (identity.unique_id, identity))
            .collect();
        built
            .into_iter()
            .filter(|(bridge, number, unique_id)| {
                UniqueId::parse(unique_id)
                    .and_then(|id| known.get(&id))
                    .is_none_or(|known| *known.bridge != **bridge || known.number.get() != *number)
            })
            .collect()
    }

    /// The ledger after a rename that `formerly` was not told of in time: `new` has what `old` had last, part by part, as far as
    /// it `fits` what it is now, and what `new` was given for that in the meantime is retired. With one key twice, after
    /// something that was changed, built and changed back: each part has what it had before what it has now.
    ///
    /// # Errors
    ///
    /// [`RenameError`] if `old` lives as another appliance, never had anything, or had nothing that fits.
    pub fn rename(
        &self,
        old: &str,
        new: &str,
        fits: impl Fn(&Identity) -> bool,
    ) -> Result<Self, RenameError> {
        if old == new {
            return self.taken_back(new, fits);
        }
        let mut next = self.clone();
        if next.living.contains_key(old) {
            return Err(RenameError::Lives { key: old.to_owned() });
        }
        let Some(mut lost) = next.retired.remove(old) else {
            return Err(RenameError::Unknown { key: old.to_owned() });
        };
        let now = next.living.remove(new).unwrap_or_default();
        if !lost.iter().any(|(_, identity)| fits(identity)) {
            return Err(RenameError::Unlike { old: old.to_owned(), new: new.to_owned() });
        }
        sort::by(&mut lost, |(a_part, a), (b_part, b)| (a_part, a.number).cmp(&(b_part, b.number)));
        while let Some((part, identity)) = lost.pop() {
            // Of each part the last one, which has the highest number, comes first.
            if fits(&identity) && next.identity(new, &part).is_none() {
                next.live(new, part, identity);
            } else {
                next.retire(old, part, identity);
            }
        }
        for (part, identity) in now {
            if next.identity(new, &part).is_none() {
                next.live(new, part, identity);
            } else {
                next.retire(new, part, identity);
            }
        }
        next.sort();
        Ok(next)
    }

    /// The ledger in which each part of an appliance has the last that it had before what it has now, as far as it `fits`.
    fn taken_back(&self, key: &str, fits: impl Fn(&Identity) -> bool) -> Result<Self, RenameError> {
        let mut next = self.clone();
        let Some(mut lost) = next.retired.remove(key) else {
            return Err(RenameError::Unknown { key: key.to_owned() });
        };
        sort::by_key(&mut lost, |(_, identity)| identity.number);
        let has_own =
            next.living.get(key).is_some_and(|parts| parts.iter().any(|(_, identity)| fits(identity)));
        let mut back: Vec<String> = Vec::new();
        while let Some((part, identity)) = lost.pop() {
            let now =
                next.living.get_mut(key).and_then(|parts| parts.iter_mut().find(|(name, _)| *name == part));
            let is_earlier = match &now {
                Some((_, now)) => !fits(now) || identity.number < now.number,
                None => true,
            };
            if !fits(&identity) || back.contains(&part) || !is_earlier {
                next.retire(key, part, identity);
                continue;
            }
            back.push(part.clone());
            match now {
                Some((_, now)) => {
                    let given = std::mem::replace(now, identity);
                    next.retire(key, part, given);
                }
                None => next.live(key, part, identity),
            }
        }
        next.sort();
        match (back.is_empty(), has_own) {
            (false, _) => Ok(next),
            (true, true) => Err(RenameError::Has { key: key.to_owned() }),
            (true, false) => Err(RenameError::Unlike { old: key.to_owned(), new: key.to_owned() }),
        }
    }

    pub(super) fn known(&mut self, key: &str) {
        self.living.entry(key.to_owned()).or_default();
    }

    pub(super) fn live(&mut self, key: &str, part: String, identity: Identity) {
        self.living.entry(key.to_owned()).or_default().push((part, identity));
    }

    pub(super) fn retire(&mut self, key: &str, part: String, identity: Identity) {
        self.retired.entry(key.to_owned()).or_default().push((part, identity));
    }

    /// Puts the identities below each key into the file's order.
    pub(super) fn sort(&mut self) {
        for parts in self.living.values_mut() {
            sort::by(parts, |a, b| a.0.cmp(&b.0));
        }
        for parts in self.retired.values_mut() {
            sort::by(parts, |(a_part, a), (b_part, b)| {
                (&a.bridge, a.number, a.unique_id, a_part).cmp(&(&b.bridge, b.number, b.unique_id, b_part))
            });
        }
    }
}

fn flat(
    entries: &BTreeMap<String, Vec<(String, Identity)>>,
) -> impl Iterator<Item = (&str, &str, &Identity)> {
    entries.iter().flat_map(|(key, parts)| {
        parts.iter().map(move |(part, identity)| (key.as_str(), part.as_str(), identity))
    })
}
