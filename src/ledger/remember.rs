//! What a build shows that its ledger has forgotten, or that was changed in it by hand, brought back.
//!
//! A ledger goes back to an older state when a commit is reverted or a branch is changed, and it loses lines when somebody
//! edits it. The build that is there is then the only witness of what was given.

use super::entries::{Ledger, Owner, Parts};
use super::identity::{DeviceTypes, EndpointNumber, Identity, UniqueId};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The name of an appliance's top part where nobody says it, as in a build.
pub const TOP_PART: &str = "main";

/// An identity that is back, or put right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remembered {
    /// Whose it is in the build.
    pub owner: Owner,
    /// As the build has it.
    pub identity: Identity,
    /// As the ledger had it; none where it had forgotten it.
    pub was: Option<Identity>,
}

/// Where an identity stands in a ledger.
#[derive(Clone)]
struct Spot {
    living: bool,
    key: String,
    position: usize,
}

/// A ledger that learns, with all that it knows by unique id and by number.
struct Learner {
    ledger: Ledger,
    ids: FxHashMap<UniqueId, Spot>,
    numbers: FxHashMap<(Arc<str>, EndpointNumber), UniqueId>,
    /// The unique ids of the build.
    built: FxHashSet<UniqueId>,
}

impl Ledger {
    /// The ledger with everything that a build shows and that it does not know, and what that is.
    ///
    /// - An identity that it has never heard of lives again, for whoever has that key or says that it had it; whether the
    ///   appliance is still described is found when identities are given, and what is left over is retired then. Where the
    ///   appliance has another identity of the kind by now, the forgotten one is retired.
    /// - An identity with another number or bridge is as it was built again: nothing but a hand changes one. The number that
    ///   stood there is not given to anybody else either. So is one with other device types, if `is_described` says that the
    ///   appliance is of those that were built; else two branches made it differently, and the ledger's holds.
    /// - A number that another appliance has in the ledger stays there: a merge has settled that.
    ///
    /// The ledger must be without problems and of the house of the build.
    pub fn remember(
        &self,
        built: impl IntoIterator<Item = (Owner, Identity)>,
        is_described: impl Fn(&Owner, &DeviceTypes) -> bool,
    ) -> (Self, Vec<Remembered>) {
        let built: Vec<(Owner, Identity)> = built.into_iter().collect();
        let mut learner = Learner::new(self);
        learner.built = built.iter().map(|(_, identity)| identity.unique_id).collect();
        let mut remembered = Vec::new();
        for (owner, identity) in built {
            remembered.extend(learner.learn(owner, identity, &is_described));
        }
        learner.ledger.sort();
        (learner.ledger, remembered)
    }

    /// Takes note that a bridge gave numbers up to this one. The lines of the ledger then say less than is known, and no
    /// number up to it is given again; this is not written into the file.
    pub fn given_up_to(&mut self, bridge: &str, number: EndpointNumber) {
        let known = self.given.entry(Arc::from(bridge)).or_insert(number);
        *known = number.max(*known);
    }
}

impl Learner {
    fn new(ledger: &Ledger) -> Self {
        let mut learner = Self {
            ledger: ledger.clone(),
            ids: FxHashMap::default(),
            numbers: FxHashMap::default(),
            built: FxHashSet::default(),
        };
        for (living, entries) in [(false, &ledger.retired), (true, &ledger.living)] {
            for (key, parts) in entries {
                for (position, (_, identity)) in parts.iter().enumerate() {
                    learner.note(identity, Spot { living, key: key.clone(), position });
                }
            }
        }
        learner
    }

    fn note(&mut self, identity: &Identity, spot: Spot) {
        self.numbers.insert((Arc::clone(&identity.bridge), identity.number), identity.unique_id);
        self.ids.insert(identity.unique_id, spot);
    }

    fn learn(
        &mut self,
        owner: Owner,
        identity: Identity,
        is_described: impl Fn(&Owner, &DeviceTypes) -> bool,
    ) -> Option<Remembered> {
        let holds = |known: &Identity| {
            known.device_types == identity.device_types || is_described(&owner, &identity.device_types)
        };
        let place = (Arc::clone(&identity.bridge), identity.number);
        let holder = self.numbers.get(&place).copied();
        let found = self.ids.get(&identity.unique_id).cloned();
        let was = match (found, holder) {
            (Some(spot), holder) => {
                let known = self.at(&spot)?.clone();
                let other = holder.filter(|holder| *holder != identity.unique_id);
                if let Some(retired) = other.and_then(|other| self.own_retired(other, &owner)) {
                    self.replace(&spot, &identity);
                    let unique_id = other.unwrap_or(identity.unique_id);
                    self.replace(&retired, &Identity { unique_id, ..known.clone() });
                    return Some(Remembered { owner, identity, was: Some(known) });
                }
                let is_anothers = other.is_some();
                if known == identity || is_anothers || (holder.is_some() && !holds(&known)) {
                    return None;
                }
                self.replace(&spot, &identity);
                if holder.is_none() {
                    self.never_again(&owner, known.clone());
                }
                Some(known)
            }
            (None, Some(holder)) => {
                let spot = self.ids.get(&holder)?.clone();
                let known = self.at(&spot)?.clone();
                if !spot.living || spot.key != owner.key || !holds(&known) {
                    return None;
                }
                self.ids.remove(&holder);
                self.replace(&spot, &identity);
                Some(known)
            }
            (None, None) => {
                self.adopt(&owner, &identity);
                None
            }
        };
        Some(Remembered { owner, identity, was })
    }

    /// Where an identity stands that the same part had, and that is retired: a number that stood there by hand, or before the
    /// ledger went back. The two may exchange their numbers.
    fn own_retired(&mut self, id: UniqueId, owner: &Owner) -> Option<Spot> {
        let spot = self.ids.get(&id).filter(|spot| !spot.living && spot.key == owner.key)?.clone();
        let parts = self.entries(false).get(&spot.key)?;
        parts.get(spot.position).filter(|(part, _)| *part == owner.part).map(|_| spot)
    }

    fn entries(&mut self, living: bool) -> &mut BTreeMap<String, Parts> {
        if living { &mut self.ledger.living } else { &mut self.ledger.retired }
    }

    fn at(&mut self, spot: &Spot) -> Option<&Identity> {
        self.entries(spot.living).get(&spot.key)?.get(spot.position).map(|(_, identity)| identity)
    }

    fn replace(&mut self, spot: &Spot, identity: &Identity) {
        let slot = self.entries(spot.living).get_mut(&spot.key).and_then(|it| it.get_mut(spot.position));
        if let Some((_, known)) = slot {
            known.clone_from(identity);
        }
        self.note(identity, spot.clone());
    }

    fn adopt(&mut self, owner: &Owner, identity: &Identity) {
        let parts = self.ledger.living.get(&owner.key).map(Vec::as_slice).unwrap_or_default();
        let has_other = parts.iter().any(|(part, known)| {
            // One behind another bridge, or of another kind, is none that the appliance can keep beside this one: which of
            // them is as described shows when identities are given.
            let is_alike = known.bridge == identity.bridge && known.device_types == identity.device_types;
            is_alike && (*part == owner.part || !self.built.contains(&known.unique_id))
        });
        self.add(!has_other, owner, identity);
    }

    fn add(&mut self, living: bool, owner: &Owner, identity: &Identity) {
        let parts = self.entries(living).entry(owner.key.clone()).or_default();
        let position = parts.len();
        parts.push((owner.part.clone(), identity.clone()));
        self.note(identity, Spot { living, key: owner.key.clone(), position });
    }

    /// Retires a number that stood in the ledger by hand: it may have been built elsewhere. Its unique id is in use, so it
    /// gets one that nobody has.
    fn never_again(&mut self, owner: &Owner, known: Identity) {
        let derive = |it| UniqueId::derive(&self.ledger.house, &owner.key, &owner.part, it);
        let fresh = (0..=u32::MAX).map(derive).find(|id| !self.ids.contains_key(id));
        if let Some(unique_id) = fresh {
            self.add(false, owner, &Identity { unique_id, ..known });
        }
    }
}
