//! Appliances and ledger in, identities and next ledger out.

use super::entries::Ledger;
use super::identity::{DeviceTypes, EndpointNumber, Identity, UniqueId};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

/// An appliance that asks for its identities.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Applicant<'a> {
    /// Its key; no other applicant has it.
    pub key: &'a str,
    /// Key of the bridge that carries it.
    pub bridge: &'a str,
    /// The key that it had before.
    pub formerly: Option<&'a str>,
    /// Its parts, main part first. Empty for an appliance that is described but not shown to controllers: it
    /// keeps what it has, for the day on which it is shown again, and gets nothing new.
    pub parts: Vec<Part<'a>>,
}

/// A part of an appliance: what becomes one endpoint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part<'a> {
    /// Its name in the device class.
    pub name: &'a str,
    /// What kind of device it is. Another kind gets another identity, since controllers do not expect an endpoint
    /// to change what it is.
    pub device_types: DeviceTypes,
}

/// What a part was given: a number on the appliance's bridge, and a unique id.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Given {
    /// The endpoint number.
    pub number: EndpointNumber,
    /// The unique id.
    pub unique_id: UniqueId,
}

/// The identities of a list of appliances, and the ledger that remembers them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allocation {
    /// The next ledger; equal to the last one when nothing was given or taken.
    pub next: Ledger,
    given: Vec<Given>,
    starts: Vec<usize>,
}

impl Allocation {
    /// What the parts of the applicant at `position` of the list were given, in the order of its parts.
    pub fn of(&self, position: usize) -> &[Given] {
        let end = self.starts.get(position + 1).copied().unwrap_or(self.given.len());
        self.starts.get(position).and_then(|start| self.given.get(*start..end)).unwrap_or_default()
    }
}

/// A bridge has given all its numbers; none is ever given twice, so appliances must go to another bridge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exhausted {
    /// Key of the bridge.
    pub bridge: String,
}

/// Gives each appliance its identities.
///
/// An appliance that the ledger knows keeps what it has, part by part, if bridge and device types are the same;
/// a part that changed only its name keeps it too. Anything else gets the next number of its bridge and a fresh
/// unique id, in the order of keys. What is left over is retired.
///
/// `formerly` takes over what the old key has, unless the appliance's own key is known already (so that the line
/// may stand in the description for ever). A line that comes only after the build that retired the old key does
/// nothing: whether what was retired under a key years ago is still meant by it cannot be known. Then
/// [`Ledger::rename`] is what a person can do.
///
/// The ledger must be without problems and of this house.
///
/// # Errors
///
/// [`Exhausted`] if a bridge would need a number above 65534.
pub fn allocate(ledger: &Ledger, applicants: &[Applicant<'_>]) -> Result<Allocation, Exhausted> {
    let mut order: Vec<usize> = (0..applicants.len()).collect();
    order.sort_by_key(|position| applicants.get(*position).map(|applicant| applicant.key));
    let claims = Claims::settle(ledger, applicants, &order);
    let mut office = Office {
        last: ledger,
        next: Ledger { living: BTreeMap::new(), ..ledger.clone() },
        highest: ledger.highest(),
        seen: None,
    };
    for (key, parts) in &ledger.living {
        if !claims.taken.contains(key.as_str()) {
            for (part, identity) in parts {
                office.next.retire(key, part.clone(), identity.clone());
            }
        }
    }
    let mut identities: Vec<Vec<Given>> = vec![Vec::new(); applicants.len()];
    for position in order {
        if let (Some(applicant), Some(slot)) = (applicants.get(position), identities.get_mut(position)) {
            let source = claims.source.get(position).copied().flatten();
            *slot = office.serve(applicant, source)?;
        }
    }
    office.next.sort();
    let mut given = Vec::with_capacity(applicants.len());
    let mut starts = Vec::with_capacity(applicants.len());
    for parts in identities {
        starts.push(given.len());
        given.extend(parts);
    }
    Ok(Allocation { next: office.next, given, starts })
}

/// Which applicant takes over which key of the ledger.
struct Claims<'a> {
    /// For each applicant the key of the ledger whose identities it has.
    source: Vec<Option<&'a str>>,
    /// The keys that somebody has.
    taken: FxHashSet<&'a str>,
}

impl<'a> Claims<'a> {
    /// Old keys go first: who takes one displaces the applicant that bears it now, which may have an old key itself.
    fn settle(ledger: &Ledger, applicants: &[Applicant<'a>], order: &[usize]) -> Self {
        let lives = |key: &str| ledger.living.contains_key(key);
        let mut claims = Self { source: vec![None; applicants.len()], taken: FxHashSet::default() };
        let mut waiting: VecDeque<usize> = VecDeque::new();
        for position in order {
            if let Some(applicant) = applicants.get(*position)
                && applicant.formerly.is_some_and(lives)
                && !lives(applicant.key)
            {
                waiting.push_back(*position);
            }
        }
        let mut bearers: FxHashMap<&str, usize> = FxHashMap::default();
        if !waiting.is_empty() {
            bearers = applicants.iter().enumerate().map(|(position, it)| (it.key, position)).collect();
        }
        while let Some(position) = waiting.pop_front() {
            let old = applicants.get(position).and_then(|applicant| applicant.formerly);
            if let Some(old) = old.filter(|old| lives(old))
                && claims.taken.insert(old)
            {
                claims.give(position, old);
                waiting.extend(bearers.get(old));
            }
        }
        for (position, applicant) in applicants.iter().enumerate() {
            let free = claims.source.get(position).is_some_and(Option::is_none);
            if free && lives(applicant.key) && claims.taken.insert(applicant.key) {
                claims.give(position, applicant.key);
            }
        }
        claims
    }

    fn give(&mut self, position: usize, key: &'a str) {
        if let Some(source) = self.source.get_mut(position) {
            *source = Some(key);
        }
    }
}

/// Where numbers and unique ids are given out.
struct Office<'a> {
    last: &'a Ledger,
    next: Ledger,
    highest: BTreeMap<Arc<str>, EndpointNumber>,
    /// Every unique id that was ever given; made when the first fresh one is needed.
    seen: Option<FxHashSet<UniqueId>>,
}

impl Office<'_> {
    fn serve(&mut self, applicant: &Applicant<'_>, source: Option<&str>) -> Result<Vec<Given>, Exhausted> {
        let last = self.last;
        let had = source.and_then(|key| last.living.get(key)).map(Vec::as_slice).unwrap_or_default();
        if applicant.parts.is_empty() {
            // Also a key without anything is known from now on, so that its `formerly` is done with.
            self.next.known(applicant.key);
            for (part, identity) in had {
                self.next.live(applicant.key, part.clone(), identity.clone());
            }
            return Ok(Vec::new());
        }
        let kept = keep(applicant, had);
        let mut given = Vec::with_capacity(applicant.parts.len());
        for (part, kept) in applicant.parts.iter().zip(&kept) {
            if let Some((_, identity)) = kept.and_then(|position| had.get(position)) {
                given.push(self.enter(applicant.key, part.name, identity.clone()));
            } else {
                let fresh = self.fresh(applicant, part)?;
                given.push(self.enter(applicant.key, part.name, fresh));
            }
        }
        for (position, (part, identity)) in had.iter().enumerate() {
            if !kept.contains(&Some(position)) {
                self.next.retire(applicant.key, part.clone(), identity.clone());
            }
        }
        Ok(given)
    }

    fn enter(&mut self, key: &str, part: &str, identity: Identity) -> Given {
        let given = Given { number: identity.number, unique_id: identity.unique_id };
        self.next.live(key, part.to_owned(), identity);
        given
    }

    fn fresh(&mut self, applicant: &Applicant<'_>, part: &Part<'_>) -> Result<Identity, Exhausted> {
        let exhausted = || Exhausted { bridge: applicant.bridge.to_owned() };
        let (bridge, number) = match self.highest.get_key_value(applicant.bridge) {
            Some((bridge, highest)) => (Arc::clone(bridge), highest.next().ok_or_else(exhausted)?),
            None => (Arc::from(applicant.bridge), EndpointNumber::FIRST),
        };
        self.highest.insert(Arc::clone(&bridge), number);
        let last = self.last;
        let seen = self.seen.get_or_insert_with(|| {
            last.living().chain(last.retired()).map(|(_, _, identity)| identity.unique_id).collect()
        });
        let mut generation = 0;
        let mut unique_id = UniqueId::derive(&last.house, applicant.key, part.name, generation);
        while !seen.insert(unique_id) {
            generation += 1;
            unique_id = UniqueId::derive(&last.house, applicant.key, part.name, generation);
        }
        Ok(Identity { bridge, number, device_types: part.device_types.clone(), unique_id })
    }
}

/// For each part of an applicant the position of what it keeps: by its name, or else by being the same kind of device.
fn keep(applicant: &Applicant<'_>, had: &[(String, Identity)]) -> Vec<Option<usize>> {
    let fits = |part: &Part<'_>, identity: &Identity| {
        *identity.bridge == *applicant.bridge && identity.device_types == part.device_types
    };
    let mut kept: Vec<Option<usize>> = applicant
        .parts
        .iter()
        .map(|part| had.iter().position(|(name, identity)| name == part.name && fits(part, identity)))
        .collect();
    for (slot, part) in applicant.parts.iter().enumerate() {
        if kept.get(slot).is_some_and(Option::is_none) {
            let found = had.iter().enumerate().find(|(position, (name, identity))| {
                !kept.contains(&Some(*position))
                    && !applicant.parts.iter().any(|other| other.name == name)
                    && fits(part, identity)
            });
            if let (Some((position, _)), Some(place)) = (found, kept.get_mut(slot)) {
                *place = Some(position);
            }
        }
    }
    kept
}
