//! What a build shows that its ledger has forgotten, brought back.
//!
//! A ledger goes back to an older state when a commit is reverted or a branch is changed, and it loses lines when somebody
//! edits it. The build that is there is then a witness of what was given. It may be of another branch, though: so it teaches
//! the ledger what that has forgotten, and overrules nothing that stands there.

use super::entries::{Ledger, Owner, Parts};
use super::identity::{DeviceTypes, EndpointNumber, Identity, UniqueId};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The name of an appliance's top part where nobody says it, as in a build.
pub const TOP_PART: &str = "main";

/// The key below `retired:` of numbers that were given, and of which no line says to whom. No appliance can have it.
pub const UNKNOWN: &str = "(unknown)";

/// The part below [`UNKNOWN`].
const ENDPOINT: &str = "endpoint";

/// An identity of a build that the ledger does not have like this.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remembered {
    /// Whose it is in the build.
    pub owner: Owner,
    /// As the build has it.
    pub identity: Identity,
    /// What the ledger has instead, and what counts; none where it had forgotten the identity.
    pub instead: Option<Identity>,
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
    ///   appliance has another identity for it by now, the forgotten one is retired, unless it alone `fits` what is described:
    ///   then the other one is.
    /// - What it has otherwise than the build stays as the ledger has it: another branch was built there, or a hand changed
    ///   the file. A number of the build that nobody has in the ledger is not given to anybody else either.
    /// - A number that another appliance has in the ledger stays there: a merge has settled that.
    ///
    /// The ledger must be without problems and of the house of the build.
    pub fn remember(
        &self,
        built: impl IntoIterator<Item = (Owner, Identity)>,
        fits: impl Fn(&Owner, &Identity) -> bool,
    ) -> (Self, Vec<Remembered>) {
        let built: Vec<(Owner, Identity)> = built.into_iter().collect();
        let mut learner = Learner::new(self);
        learner.built = built.iter().map(|(_, identity)| identity.unique_id).collect();
        let mut remembered = Vec::new();
        for (owner, identity) in built {
            remembered.extend(learner.learn(owner, identity, &fits));
        }
        learner.ledger.sort();
        (learner.ledger, remembered)
    }

    /// Takes note that bridges gave numbers up to these, where the lines say less: no number up to them is given again. Gives
    /// those bridges, each with the number that the lines know and the one that was given.
    pub fn given_up_to<'b>(
        &mut self,
        numbers: impl IntoIterator<Item = (&'b str, EndpointNumber)>,
    ) -> Vec<(String, Option<EndpointNumber>, EndpointNumber)> {
        let highest = self.highest();
        let known = |bridge: &str| highest.get(bridge).copied();
        let numbers = numbers.into_iter().map(|(bridge, given)| (bridge.to_owned(), known(bridge), given));
        let unknown: Vec<_> =
            numbers.filter(|(_, known, given)| known.is_none_or(|known| known < *given)).collect();
        for (bridge, _, number) in &unknown {
            let unique_id = UniqueId::derive(&self.house, UNKNOWN, bridge, number.get().into());
            let device_types = DeviceTypes::new([]);
            let identity =
                Identity { bridge: Arc::from(bridge.as_str()), number: *number, device_types, unique_id };
            self.retire(UNKNOWN, ENDPOINT.to_owned(), identity);
        }
        if !unknown.is_empty() {
            self.sort();
        }
        unknown
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
        fits: impl Fn(&Owner, &Identity) -> bool,
    ) -> Option<Remembered> {
        let place = (Arc::clone(&identity.bridge), identity.number);
        let holder = self.numbers.get(&place).copied();
        let instead = match (self.ids.get(&identity.unique_id).cloned(), holder) {
            (Some(spot), holder) => {
                let known = self.at(&spot)?.clone();
                if known == identity {
                    return None;
                }
                if holder.is_none() {
                    self.never_again(&owner, &identity);
                }
                Some(known)
            }
            // Its number is not given again: the ledger has it already. Its unique id needs no line: ids are derived from the
            // key, the part and how often it began anew, and one that comes again comes to the appliance of that key alone;
            // if the other holder has that key, it is told that the build is numbered otherwise.
            (None, Some(holder)) => {
                let spot = self.ids.get(&holder).filter(|spot| spot.living && spot.key == owner.key)?.clone();
                Some(self.at(&spot)?.clone())
            }
            (None, None) => self.adopt(&owner, &identity, fits),
        };
        Some(Remembered { owner, identity, instead })
    }

    fn entries(&mut self, living: bool) -> &mut BTreeMap<String, Parts> {
        if living { &mut self.ledger.living } else { &mut self.ledger.retired }
    }

    fn at(&mut self, spot: &Spot) -> Option<&Identity> {
        self.entries(spot.living).get(&spot.key)?.get(spot.position).map(|(_, identity)| identity)
    }

    /// Takes in an identity that the ledger has never heard of, at a number that nobody has. Gives what the appliance has for
    /// it, if that stays.
    fn adopt(
        &mut self,
        owner: &Owner,
        identity: &Identity,
        fits: impl Fn(&Owner, &Identity) -> bool,
    ) -> Option<Identity> {
        let is_alike =
            |known: &Identity| known.bridge == identity.bridge && known.device_types == identity.device_types;
        let parts = self.ledger.living.get(&owner.key).map(Vec::as_slice).unwrap_or_default();
        let rival = parts.iter().position(|(part, known)| {
            *part == owner.part || is_alike(known) && !self.built.contains(&known.unique_id)
        });
        let Some((position, (part, known))) = rival.and_then(|at| Some((at, parts.get(at)?.clone()))) else {
            self.add(true, owner, identity);
            return None;
        };
        if is_alike(&known) || fits(owner, &known) || !fits(owner, identity) {
            self.add(false, owner, identity);
            return Some(known).filter(is_alike);
        }
        let slot = self.ledger.living.get_mut(&owner.key).and_then(|parts| parts.get_mut(position));
        if let Some(slot) = slot {
            *slot = (owner.part.clone(), identity.clone());
            self.note(identity, Spot { living: true, key: owner.key.clone(), position });
            self.add(false, &Owner { key: owner.key.clone(), part }, &known);
        }
        None
    }

    fn add(&mut self, living: bool, owner: &Owner, identity: &Identity) {
        let parts = self.entries(living).entry(owner.key.clone()).or_default();
        let position = parts.len();
        parts.push((owner.part.clone(), identity.clone()));
        self.note(identity, Spot { living, key: owner.key.clone(), position });
    }

    /// Retires a number that was built, and of whose unique id the ledger says something else: the line gets one that nobody
    /// has.
    fn never_again(&mut self, owner: &Owner, built: &Identity) {
        let derive = |it| UniqueId::derive(&self.ledger.house, &owner.key, &owner.part, it);
        let fresh = (0..=u32::MAX).map(derive).find(|id| !self.ids.contains_key(id));
        if let Some(unique_id) = fresh {
            self.add(false, owner, &Identity { unique_id, ..built.clone() });
        }
    }
}
